"""A radiator core and its air: surfaces, overall conductance, pressure drop and the air speed that settles."""

import math

from sim1d._jit import kernel


@kernel
def fin_efficiency(coefficient, conductivity, thickness, length):
    """Efficiency tanh(ml)/(ml) of a straight fin of `length` m from root to its adiabatic middle, m^2 = 2h/(k t).

    Incropera and DeWitt (recalled). `length` is half the fin height between two tubes.
    """
    product = length * math.sqrt(2.0 * coefficient / (conductivity * thickness))
    if product < 1e-4:
        return 1.0 - product * product / 3.0
    return math.tanh(product) / product


@kernel
def surface_efficiency(fin_share, efficiency):
    """Efficiency of the whole air surface, 1 - (Af/A)(1 - eta_f); `fin_share` Af/A is 0.8 to 0.9 in a louvered core."""
    return 1.0 - fin_share * (1.0 - efficiency)


@kernel
def fin_area(face_width, tube_count, tube_depth, fin_pitch, fin_length):
    """Fin surface (m2), both sides, one row of fins per tube; `face_width` is the length of the tubes."""
    return tube_count * face_width / fin_pitch * 2.0 * fin_length * tube_depth


@kernel
def bare_tube_area(face_width, tube_count, tube_depth, fin_pitch, fin_thickness):
    """Tube surface left bare between the fins (m2), both flat sides."""
    return 2.0 * tube_count * tube_depth * face_width * (1.0 - fin_thickness / fin_pitch)


@kernel
def free_flow_share(fin_length, tube_pitch, fin_thickness, fin_pitch):
    """Free flow area over face area of a core, (Fl/Tp)(1 - df/Fp): the air is that much faster between the fins."""
    return fin_length / tube_pitch * (1.0 - fin_thickness / fin_pitch)


@kernel
def air_coefficient(colburn, mass_flux, specific_heat, prandtl):
    """Coefficient (W/(m2 K)) from a Colburn factor: h = j G cp / Pr^(2/3), G kg/(m2 s) between the fins."""
    return colburn * mass_flux * specific_heat / prandtl ** (2.0 / 3.0)


@kernel
def core_drop(friction, area_ratio, density, core_velocity):
    """Pressure drop of the air (Pa), f (A/Ac) rho V^2/2: core friction alone; entry, exit and heating are under 5 %."""
    return 0.5 * friction * area_ratio * density * core_velocity * core_velocity


@kernel
def overall_conductance(air_conductance, wall_resistance, tube_coefficient, tube_area):
    """Overall UA (W/K): 1/(1/(eta h A)_air + R_wall + 1/(h A)_tube), R_wall in K/W. 0 when either side is 0."""
    inside = tube_coefficient * tube_area
    if air_conductance <= 0.0 or inside <= 0.0:
        return 0.0
    return 1.0 / (1.0 / air_conductance + wall_resistance + 1.0 / inside)


@kernel
def fan_pressure_rise(flow, speed_share, shutoff_pressure, free_flow, loss_cap):
    """Pressure rise (Pa) of `fan_curve`."""
    return fan_curve(flow, speed_share, shutoff_pressure, free_flow, loss_cap)[0]


@kernel
def fan_curve(flow, speed_share, shutoff_pressure, free_flow, loss_cap):
    """Pressure rise of a fan (Pa) and its slope by the flow, dp0 (s^2 - (Q/Q0)^2) by the affinity laws.

    The rise is negative where it windmills, the slope (Pa s/m3) never positive.

    `speed_share` s 0 to 1, `free_flow` Q0 m3/s. A fan pushed far past Q0 would choke the core; flaps and the gap round
    the shroud let air by, so the loss saturates at `loss_cap` Pa (assumed: the shut-off pressure).
    """
    if shutoff_pressure <= 0.0 or free_flow <= 0.0:
        return 0.0, 0.0
    share = flow / free_flow
    rise = shutoff_pressure * (speed_share * speed_share - share * share)
    slope = -2.0 * shutoff_pressure * share / free_flow
    if rise >= 0.0:
        return rise, slope
    part = loss_cap / (loss_cap - rise)
    return rise * part, slope * part * part


@kernel
def face_velocity(
    car_speed,
    fan_share,
    drop_linear,
    drop_quadratic,
    net_pressure_coefficient,
    system_loss,
    fan_pressure,
    fan_flow,
    fan_cap,
    face_area,
    density,
):
    """Air speed at the core's face (m/s) that balances ram, fan, core and ducting.

    0.5 rho V^2 Cp + dp_fan(Q) = (a u + b u^2) + K 0.5 rho u^2, Q = u A. `drop_linear` a Pa s/m and `drop_quadratic` b
    Pa s2/m2 describe the core at this density; `net_pressure_coefficient` Cp (inlet less outlet) and `system_loss` K
    are inputs (0.5 and 1.5 assumed). `car_speed` of either sign counts by its square when moving forward, else 0. The
    residual rises with u, so the root is one; Newton kept in a bracket, 1e-12 relative. 0 with neither ram nor fan.
    """
    forward = max(car_speed, 0.0)
    ram = 0.5 * density * forward * forward * net_pressure_coefficient
    drive = ram + max(fan_pressure, 0.0) * fan_share * fan_share
    square = drop_quadratic + 0.5 * density * system_loss
    if drive <= 0.0:
        return 0.0
    low = 0.0
    high = 2.0 * drive / (drop_linear + math.sqrt(drop_linear * drop_linear + 4.0 * square * drive))  # fan without loss
    speed = high
    for _ in range(60):
        flow = speed * face_area
        fan, fan_slope = fan_curve(flow, fan_share, fan_pressure, fan_flow, fan_cap)
        residual = (drop_linear + square * speed) * speed - ram - fan
        if residual > 0.0:
            high = speed
        else:
            low = speed
        slope = drop_linear + 2.0 * square * speed
        slope -= face_area * fan_slope
        step = residual / slope
        if abs(step) <= 3e-7 * (speed + 1e-6):  # what is left goes with its square
            return speed - step
        speed -= step
        if speed <= low or speed >= high:
            speed = 0.5 * (low + high)
    return speed
