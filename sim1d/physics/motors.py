"""Direct-current motors that drive pumps: shaft speed from voltage and flow in closed form."""

import math

from sim1d._jit import kernel


@kernel
def motor_speed(
    voltage, q, density_ratio, torque_constant, torque_slope, motor_constant, resistance, no_load_torque, drag
):  # fmt: skip
    """Shaft speed w (rad/s) of an electric pump and its derivative by flow, (w, dw/dq), at volume flow `q` (m3/s).

    V = R i + k w and k i = T0 + b w + r (c w^2 + s w q) give, with B = k^2/R + b + r s q and C = k V/R - T0,
    r c w^2 + B w - C = 0: w = 2 C / (B + sqrt(B^2 + 4 r c C)) for C > 0, else the shaft stands. k = `motor_constant`
    V s, R = `resistance` ohm > 0, T0 = `no_load_torque` N m, b = `drag` N m s, c = `torque_constant` N m s2,
    s = `torque_slope` N m s2/m3, r = `density_ratio`. Reverse flow counts as none (see `shaft_torque`). Source: balance
    of torques of a permanent-magnet motor (any text); a brushless controller that holds speed is not covered.
    """
    drive = motor_constant * voltage / resistance - no_load_torque
    if voltage <= 0.0 or drive <= 0.0:
        return 0.0, 0.0
    linear = motor_constant * motor_constant / resistance + drag + density_ratio * torque_slope * max(q, 0.0)
    root = math.sqrt(linear * linear + 4.0 * density_ratio * torque_constant * drive)
    speed = 2.0 * drive / (linear + root)
    by_flow = -density_ratio * torque_slope * speed / root if q > 0.0 else 0.0
    return speed, by_flow


@kernel
def motor_current(voltage, speed, motor_constant, resistance):
    """Current (A) drawn at `voltage` (V) and `speed` (rad/s): (V - k w)/R; none when switched off (V <= 0)."""
    if voltage <= 0.0:
        return 0.0
    return (voltage - motor_constant * speed) / resistance
