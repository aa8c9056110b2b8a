"""Pressure in a cylinder from closing to opening of its valves (one zone), and what a lifting head lets past.

Angles are of the crank, rad from firing top dead centre, negative before it. Pressures Pa absolute. Speed does not
enter the trace: per angle everything is quasi-steady, and the heat lost to the walls, which does depend on speed, is a
given share of the heat released.
"""

import math

from sim1d._jit import kernel
from sim1d.physics.ambient import AIR_GAS_CONSTANT, air_viscosity
from sim1d.physics.cap_flow import nozzle_mass_flow, slot_mass_flow

COMPLETENESS = 5.0  # exponent of the burning law at the end of its duration: 99.3 % burnt (Heywood 1988, recalled)
STEPS = 500  # of the closed part of a cycle, half a degree each: peak pressure within 1e-4, temperature 2e-5


@kernel
def cylinder_volume(angle, bore, stroke, rod, compression_ratio):
    """Volume (m3) above the piston at a crank angle (rad); `bore`, `stroke`, `rod` m, no offset of the pin.

    Heywood 1988 eq. 2.4 to 2.6 (recalled).
    """
    crank = 0.5 * stroke
    side = crank * math.sin(angle)
    travel = crank + rod - crank * math.cos(angle) - math.sqrt(rod * rod - side * side)
    area = 0.25 * math.pi * bore * bore
    return area * (stroke / (compression_ratio - 1.0) + travel)


@kernel
def cylinder_volume_rate(angle, bore, stroke, rod):
    """Slope of `cylinder_volume` (m3/rad)."""
    crank = 0.5 * stroke
    side = crank * math.sin(angle)
    return 0.25 * math.pi * bore * bore * (side + side * crank * math.cos(angle) / math.sqrt(rod * rod - side * side))


@kernel
def burnt_share(angle, start, duration, shape):
    """Share of the charge that has burnt, 1 - exp(-5 y^(m+1)), y = (angle - start)/duration; 0 before the start.

    Wiebe function, Heywood 1988 eq. 9.30 (recalled): `shape` m = 2 and 5 in the exponent are its usual values for spark
    ignition. `start` and `duration` rad; at y = 1 99.3 % has burnt.
    """
    place = max((angle - start) / duration, 0.0)
    return 1.0 - math.exp(-COMPLETENESS * place ** (shape + 1.0))


@kernel
def burning_rate(angle, start, duration, shape):
    """Slope of `burnt_share` (1/rad)."""
    place = (angle - start) / duration
    if place <= 0.0:
        return 0.0
    rise = COMPLETENESS * (shape + 1.0) / duration * place**shape
    return rise * math.exp(-COMPLETENESS * place ** (shape + 1.0))


@kernel
def specific_heat_ratio(temperature):
    """Ratio of specific heats of charge and burnt gas at a temperature (K): 1.40 - 7.18e-5 T, at least 1.22.

    A straight line through cold air and burnt gas of 2500 K (assumed; textbooks give 1.3 to 1.35 for compression and
    1.25 to 1.3 for expansion, recalled).
    """
    return max(1.40 - 7.18e-5 * temperature, 1.22)


@kernel
def trapped_charge(pressure, temperature, angle, bore, stroke, rod, compression_ratio):
    """Gas (kg) in the cylinder when the inlet closes at `angle`; ideal gas with the constant of air."""
    volume = cylinder_volume(angle, bore, stroke, rod, compression_ratio)
    return pressure * volume / (AIR_GAS_CONSTANT * temperature)


@kernel
def closed_cycle(
    pressure, temperature, first, last, bore, stroke, rod, compression_ratio, start_pressure, start_temperature,
    heat_per_charge, burn_start, burn_duration, burn_shape, heat_loss,
):  # fmt: skip
    """Fill `pressure` (Pa) and `temperature` (K), equally spaced from `first` (inlet closes) to `last` (exhaust opens).

    dp = (g - 1)/V dQ - g p/V dV with g of the local temperature, dQ = m q (1 - loss) dx: the first law for one zone of
    ideal gas (Heywood 1988 section 9.2, recalled); fourth-order Runge and Kutta at the spacing of the arrays.
    `heat_per_charge` q is released per kilogram of charge (J/kg); `heat_loss` is the share of it that walls take.
    """
    mass = trapped_charge(start_pressure, start_temperature, first, bore, stroke, rod, compression_ratio)
    heat = mass * heat_per_charge * (1.0 - heat_loss)
    step = (last - first) / (len(pressure) - 1)
    now = start_pressure
    pressure[0], temperature[0] = now, start_temperature
    for i in range(1, len(pressure)):
        angle = first + (i - 1) * step
        total, trial = 0.0, now
        for stage in range(4):  # slopes at the start, twice in the middle, at the end; weights 1, 2, 2, 1
            at = angle + (0.0 if stage == 0 else (step if stage == 3 else 0.5 * step))
            volume = cylinder_volume(at, bore, stroke, rod, compression_ratio)
            ratio = specific_heat_ratio(trial * volume / (mass * AIR_GAS_CONSTANT))
            burning = heat * burning_rate(at, burn_start, burn_duration, burn_shape)
            slope = ((ratio - 1.0) * burning - ratio * trial * cylinder_volume_rate(at, bore, stroke, rod)) / volume
            total += slope if stage == 0 or stage == 3 else 2.0 * slope
            trial = now + slope * (step if stage == 2 else 0.5 * step)
        now += step * total / 6.0
        pressure[i] = now
        volume = cylinder_volume(angle + step, bore, stroke, rod, compression_ratio)
        temperature[i] = now * volume / (mass * AIR_GAS_CONSTANT)


@kernel
def gasket_flow(
    pressure, temperature, back_pressure, lift_pressure, gap_rate, arc, land, groove, discharge, land_temperature
):  # fmt: skip
    """Gas (kg/s) past the gasket at one instant: through the gap under the lifted head and through an open groove.

    Gap `gap_rate` (p - `lift_pressure`) m over an `arc` m, 0 below; its flow is the smaller of a nozzle of that area
    and a film between lands `land` m wide. The film has the density of the hot gas and the viscosity of air halfway
    between gas and land, K (assumed; a film that cools to the land passes more, but never more than the nozzle, which
    passes 15 % more in a cycle with a largest gap of 27 um and less than that beyond). The `groove` (m2) is a nozzle.
    `discharge` is the coefficient of both nozzles.
    """
    ratio = specific_heat_ratio(temperature)
    flow = nozzle_mass_flow(discharge, groove, pressure, temperature, back_pressure, AIR_GAS_CONSTANT, ratio)
    gap = gap_rate * max(pressure - lift_pressure, 0.0)
    if gap > 0.0:
        viscosity = air_viscosity(0.5 * (temperature + land_temperature))
        area = arc * gap
        nozzle = nozzle_mass_flow(discharge, area, pressure, temperature, back_pressure, AIR_GAS_CONSTANT, ratio)
        film = slot_mass_flow(arc, gap, land, pressure, back_pressure, viscosity, AIR_GAS_CONSTANT, temperature)
        flow += min(nozzle, film)
    return flow


@kernel
def leak_per_cycle(
    pressure, temperature, step, speed, back_pressure, lift_pressure, gap_rate, arc, land, groove, discharge,
    land_temperature,
):  # fmt: skip
    """Gas (kg) past the gasket of one cylinder in one cycle of a trace by `closed_cycle`, `step` rad apart.

    The trapezoidal rule on `gasket_flow`. Time per angle is 1/`speed` (rad/s), so the mass per cycle falls as 1/speed
    and the rate, mass speed/(4 pi) for a four-stroke, is that of the trace alone. Leak in the open part of the cycle,
    when the cylinder is near manifold pressure, is left out, and so is coolant that a groove lets in.
    """
    total = 0.0
    for i in range(len(pressure)):
        flow = gasket_flow(
            pressure[i], temperature[i], back_pressure, lift_pressure, gap_rate, arc, land, groove, discharge,
            land_temperature,
        )  # fmt: skip
        total += 0.5 * flow if i == 0 or i == len(pressure) - 1 else flow
    return total * step / speed
