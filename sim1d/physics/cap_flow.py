"""Flow of liquid and gas through caps, restrictors and gaps. Pressures Pa absolute, differences Pa, flow kg/s."""

import math

from sim1d._jit import kernel
from sim1d.physics.smooth import step


@kernel
def orifice_mass_flow(discharge, area, density, pressure_drop):
    """Mass flow (kg/s) of a sharp orifice, Cd A (2 rho |dp|)^0.5 with the sign of dp.

    Below about 20 Pa it turns linear (creeping flow), so that the slope at rest is finite: dp/(dp^2 + 400)^(1/4). The
    difference is 0.1 % at 300 Pa. Bernoulli with a discharge coefficient (0.6 for a sharp hole, recalled).
    """
    root = math.sqrt(math.sqrt(pressure_drop * pressure_drop + 400.0))
    return discharge * area * math.sqrt(2.0 * density) * pressure_drop / root


@kernel
def lift_share(pressure_drop, opening, ramp):
    """Share (0 to 1) by which a spring valve is open: shut below `opening` Pa, full at `opening + ramp`.

    Ramp 10 to 20 kPa for a pressure cap (assumed); a cap reseats 5 to 15 % below its opening (assumed), which this law
    spreads over the ramp. New caps open at 0.85 to 1.15 of their rating (service manuals, read).
    """
    return step((pressure_drop - opening) / ramp)


@kernel
def weighted_share(pressure_drop, closing):
    """Share open of a weighted vacuum valve that hangs open at rest and is carried shut by outflow above `closing` Pa.

    Open under vacuum (negative `pressure_drop`), shut above `closing` (2 to 10 kPa assumed, no standard found).
    """
    return 1.0 - step(2.0 * pressure_drop / closing - 1.0)


@kernel
def cap_mass_flow(
    pressure_drop, density, discharge, area, opening, ramp, vacuum_discharge, vacuum_area, vacuum_opening, vacuum_ramp
):
    """Mass flow (kg/s) out of a cap with pressure and vacuum valve; negative when it draws back.

    `pressure_drop` Pa, inside less outside; `density` of what stands at the cap on the upstream side (liquid, or gas,
    for which this is good to 20 kPa; use `nozzle_mass_flow` beyond). Both openings positive.
    """
    out = lift_share(pressure_drop, opening, ramp)
    back = lift_share(-pressure_drop, vacuum_opening, vacuum_ramp)
    effective = out * discharge * area + back * vacuum_discharge * vacuum_area
    return orifice_mass_flow(1.0, effective, density, pressure_drop)


@kernel
def critical_ratio(gamma):
    """Throat over supply pressure at which a nozzle chokes, (2/(g+1))^(g/(g-1)): 0.5283 for air."""
    return (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))


@kernel
def nozzle_mass_flow(discharge, area, supply_pressure, supply_temperature, back_pressure, gas_constant, gamma):
    """Mass flow (kg/s) of an ideal gas through an orifice, choked below the critical ratio; 0 backwards.

    One-dimensional isentropic flow (NASA Glenn educational page read; Heywood app. C recalled). `gas_constant` J/(kg
    K). In the last 0.2 % of the pressure ratio the flow falls linearly to 0, where the true slope would be infinite.
    """
    if supply_pressure <= back_pressure:
        return 0.0
    ratio = max(back_pressure / supply_pressure, critical_ratio(gamma))
    taper = 1.0
    if ratio > 0.998:
        taper = (1.0 - ratio) / 0.002
        ratio = 0.998
    part = ratio ** (1.0 / gamma)
    speed = math.sqrt(2.0 * gamma / (gamma - 1.0) * (1.0 - ratio ** ((gamma - 1.0) / gamma)))
    return taper * discharge * area * supply_pressure * part * speed / math.sqrt(gas_constant * supply_temperature)


@kernel
def slot_mass_flow(width, height, length, supply_pressure, back_pressure, viscosity, gas_constant, temperature):
    """Mass flow (kg/s) of a gas film between lands, w h^3 (p0^2 - pb^2)/(24 mu R T L); 0 backwards.

    Isothermal laminar film (recalled). Rules below about 25 um; take the smaller of this and the nozzle.
    """
    squares = max(supply_pressure * supply_pressure - back_pressure * back_pressure, 0.0)
    return width * height**3 * squares / (24.0 * viscosity * gas_constant * temperature * length)
