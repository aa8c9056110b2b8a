"""Columns of liquid: standing, tilted by acceleration, holding a pocket of gas, and starting to move."""

import math

from sim1d._jit import kernel


@kernel
def column_push(density, rise, run, acceleration):
    """Pressure (Pa) that a standing column adds from its start to its end: rho (a run - g rise).

    `rise` m up, `run` m rearward, `acceleration` m/s2, positive when the car speeds up (pressure grows rearward).
    """
    return density * (acceleration * run - 9.80665 * rise)


@kernel
def still_pressure(gas_pressure, density, surface_height, height):
    """Pressure (Pa, gauge or absolute like `gas_pressure`) at `height` in liquid at rest under a surface (m)."""
    return gas_pressure + density * 9.80665 * (surface_height - height)


@kernel
def surface_tilt(acceleration):
    """Tilt (rad) of a free surface under longitudinal acceleration (m/s2): atan(a/g), up at the rear when positive."""
    return math.atan2(acceleration, 9.80665)


@kernel
def pocket_volume(volume, pressure, new_pressure):
    """Volume (m3) of a trapped pocket taken from `pressure` to `new_pressure` (Pa absolute) (Boyle)."""
    return volume * pressure / new_pressure


@kernel
def sealed_gas_pressure(pressure, volume, temperature, new_volume, new_temperature):
    """Pressure (Pa absolute) of sealed dry gas after a change of volume (m3) and temperature (K); add vapour apart."""
    return pressure * volume / new_volume * new_temperature / temperature


@kernel
def air_lock_pressure(density, trapped_height):
    """Pressure (Pa) a pump must give to push liquid past air in downhill legs, `trapped_height` m of air in all."""
    return density * 9.80665 * trapped_height


@kernel
def column_time(inertance, flow, driving_pressure):
    """Time constant (s) of a loop that starts against square-law resistance: I Qs/dp.

    I = sum of rho L/A (kg/m4), Qs steady flow (m3/s), dp driving pressure (Pa). About 0.06 s for a coolant loop,
    which is why flows are solved as steady.
    """
    return inertance * flow / driving_pressure


@kernel
def starting_flow(time, steady_flow, time_constant):
    """Flow (m3/s) of a rigid column started from rest against a square law: Qs tanh(t/tau) (exact)."""
    return steady_flow * math.tanh(time / time_constant)


@kernel
def coasting_flow(time, initial_flow, time_constant):
    """Flow (m3/s) of a rigid column whose drive is gone: Q0/(1 + t/tau), tau = I/(K Q0) of dp = K Q^2 (exact)."""
    return initial_flow / (1.0 + time / time_constant)
