"""Rotodynamic pumps: one curve for every speed, from shut-off through run-out to the stopped impeller."""

import math

from sim1d._jit import kernel


@kernel
def runout_flow(shutoff, linear, quadratic):
    """Flow (m3/s) at which shutoff - linear Q - quadratic Q^2 (Pa) reaches zero."""
    return 2.0 * shutoff / (linear + math.sqrt(linear * linear + 4.0 * quadratic * shutoff))


@kernel
def pump_rise(q, speed_ratio, density_ratio, shutoff, linear, quadratic, stopped):
    """Pressure rise (Pa) at volume flow `q` (m3/s) and its derivatives by q and by speed ratio.

    With n = `speed_ratio` (speed over that of the curve, negative counts as 0) and Qr the run-out flow at n = 1:

        rise / density_ratio = n^2 shutoff - n linear q - quadratic q|q| - (stopped - quadratic) e
        e = (q - n Qr)^2 beyond run-out (q > n Qr), -q^2 in reverse flow (q < 0), 0 between.

    Between rest and run-out this is the measured curve under the affinity laws; every term is of second degree in
    (n, q), so the laws hold for all flows and speeds, and at n = 0 it is the stopped impeller as a resistance,
    -stopped q|q|. Strictly falling in q for shutoff >= 0, linear >= 0, quadratic > 0, stopped > 0, with continuous
    slope. Shut-off Pa, linear Pa s/m3, quadratic and stopped Pa s2/m6. Sources: affinity laws (any text; check values
    in the tests); the two outer branches are a model that meets the stopped impeller in the limit.
    """
    n = max(speed_ratio, 0.0)
    edge = n * runout_flow(shutoff, linear, quadratic)
    rise = n * n * shutoff - n * linear * q - quadratic * q * abs(q)
    slope = -n * linear - 2.0 * quadratic * abs(q)
    by_speed = 2.0 * n * shutoff - linear * q
    more = stopped - quadratic
    if q > edge:
        beyond = q - edge
        rise -= more * beyond * beyond
        slope -= 2.0 * more * beyond
        if n > 0.0:
            by_speed += 2.0 * more * beyond * edge / n
    elif q < 0.0:
        rise += more * q * q
        slope += 2.0 * more * q
    return density_ratio * rise, density_ratio * slope, density_ratio * by_speed


@kernel
def shaft_torque(q, speed, density_ratio, torque_constant, torque_slope):
    """Shaft torque (N m) of the impeller: density_ratio (torque_constant w^2 + torque_slope w q), w = `speed` rad/s.

    The affinity form of a power coefficient linear in the flow coefficient, regular at zero flow; q (m3/s) below zero
    counts as zero. torque_constant N m s2, torque_slope N m s2/m3 (>= 0 keeps an electric pump's curve falling).
    """
    w = max(speed, 0.0)
    return density_ratio * w * (torque_constant * w + torque_slope * max(q, 0.0))


@kernel
def flow_coefficient(q, speed, diameter):
    """Q/(w D^3), dimensionless; q m3/s, speed rad/s, impeller diameter m."""
    return q / (speed * diameter * diameter * diameter)


@kernel
def head_coefficient(head, speed, diameter):
    """g H/(w D)^2, dimensionless; head m, speed rad/s, impeller diameter m, g = 9.80665 m/s2."""
    tip = speed * diameter
    return 9.80665 * head / (tip * tip)


@kernel
def power_coefficient(power, density, speed, diameter):
    """P/(rho w^3 D^5), dimensionless; power W, density kg/m3, speed rad/s, impeller diameter m."""
    return power / (density * speed**3 * diameter**5)
