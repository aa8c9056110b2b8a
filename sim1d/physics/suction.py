"""Cavitation at the pump's eye: net positive suction head available and required."""

import math

from sim1d._jit import kernel


@kernel
def available_head(pressure, velocity, vapour_pressure, density):
    """Net positive suction head available (m): (p + rho V^2/2 - pv)/(rho g) at the impeller eye.

    `pressure` Pa absolute, `velocity` m/s, `vapour_pressure` Pa absolute at the local temperature, g = 9.80665 m/s2.
    """
    return (pressure + 0.5 * density * velocity * velocity - vapour_pressure) / (density * 9.80665)


@kernel
def required_head(speed, suction_head_constant):
    """Net positive suction head required (m, 3 % loss of head): constant times w^2, `speed` rad/s.

    The affinity law; slowing down, measurements fall more nearly with w^1.5 (a pump maker's newsletter, 2007, read), so
    the square is optimistic below the speed at which the constant was taken.
    """
    return suction_head_constant * speed * speed


@kernel
def required_head_of_specific_speed(speed, flow, suction_specific_speed):
    """Required head (m) from speed (rad/s), best-point flow (m3/s) and dimensionless suction specific speed.

    (w sqrt(Q)/S)^(4/3)/g. Usual S = 3.1 to 4.0 (8500 to 11000 in rpm, US gpm and feet; read); crude inlets 1.8 to 2.6
    (recalled).
    """
    return (speed * math.sqrt(flow) / suction_specific_speed) ** (4.0 / 3.0) / 9.80665


@kernel
def suction_specific_speed(speed, flow, head):
    """Dimensionless w sqrt(Q)/(g NPSH)^(3/4); speed rad/s, flow m3/s, head m."""
    return speed * math.sqrt(flow) / (9.80665 * head) ** 0.75


@kernel
def suction_specific_speed_us(speed_rpm, flow_gpm, head_ft):
    """n sqrt(Q)/NPSH^(3/4) in rpm, US gallons per minute and feet, as pump makers print it."""
    return speed_rpm * math.sqrt(flow_gpm) / head_ft**0.75


@kernel
def thoma_number(available, head):
    """Available suction head over pump head (Thoma's sigma), both m."""
    return available / head


@kernel
def head_kept(available, required):
    """Share of the head that a cavitating pump keeps: 1 - 0.03 x^-8 for x = available/required >= 0.8, down to 0.2.

    Only the 3 % at x = 1 (definition) and full suppression near x = 2.5 to 4 (read) are published; the exponent 8 and
    the fall to 0.2 at x = 0.5 (cubic, slopes joined) are a model, low confidence. Both heads m, required > 0.
    """
    x = available / required
    if x >= 0.8:
        return 1.0 - 0.03 * x**-8.0
    if x <= 0.5:
        return 0.2
    edge = 1.0 - 0.03 * 0.8**-8.0
    steep = 0.24 * 0.8**-9.0 * 0.3  # slope at x = 0.8 over the width of the cubic
    t = (x - 0.5) / 0.3
    return 0.2 + (edge - 0.2) * t * t * (3.0 - 2.0 * t) + steep * t * t * (t - 1.0)
