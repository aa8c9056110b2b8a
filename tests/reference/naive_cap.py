"""The cap of the slow twin: what leaves through the pressure valve and what the vacuum valve draws back."""

from dataclasses import dataclass, field

import numpy as np

from . import naive_laws as law
from .naive_heat import Moment

VACUUM_RAMP = 2000.0  # Pa from first opening to full lift of the vacuum valve


@dataclass
class Leak:
    """Rates through all caps together: kg/s, W."""

    air: np.ndarray  # (pocket) kg/s into each gas space
    power: dict[int, float] = field(default_factory=dict)  # W into a node
    coolant: float = 0.0  # kg/s into the store
    vented_heat: float = 0.0
    coolant_out: float = 0.0
    coolant_back: float = 0.0
    bottle: float = 0.0
    air_in: float = 0.0
    air_out: float = 0.0


BOTTLE_LEFT = 0.02  # kg over which the dipping tube of an emptying recovery tank begins to draw air


def cap_flows(m: Moment, air: np.ndarray, bottle: float) -> Leak:
    """Liquid leaves where the gas under the seat is below its dead volume, else gas with its vapour."""
    system, liquid = m.model.system[0], m.liquid
    leak = Leak(np.zeros(len(air)))
    for cap in m.model.cap:
        node, pocket = cap.node, m.model.pocket[cap.pocket]
        drop = m.pressure[node] - system.ambient_pressure
        hot, enthalpy = m.hot[pocket.node], m.enthalpy[node]
        vapour = liquid.of("vapour_pressure", hot)
        part = law.smooth_max(m.pressure[pocket.node] - vapour, 0.05 * m.pressure[pocket.node], 0.01 * m.pressure[node])
        volume = air[cap.pocket] * law.AIR_CONSTANT * hot / part
        dryness = law.step(volume / pocket.dead - 0.5)

        lift = law.step((drop - cap.opening) / cap.ramp)
        out = (1.0 - dryness) * lift * law.orifice(cap.discharge, cap.area, liquid.of("density", m.hot[node]), drop)
        rho_air, rho_vapour = part / (law.AIR_CONSTANT * hot), liquid.of("vapour_density", hot)
        gas = dryness * lift * law.orifice(cap.discharge, cap.area, rho_air + rho_vapour, drop)
        air_out = gas * rho_air / (rho_air + rho_vapour)
        steam_out = gas - air_out

        suction = law.step((-drop - cap.vacuum) / VACUUM_RAMP)
        holds = law.step(bottle / BOTTLE_LEFT) if cap.recovery > 0.0 else 0.0
        cold = system.ambient_temperature
        back = holds * suction * law.orifice(cap.discharge, cap.area, liquid.of("density", cold), -drop)
        rho_outside = law.air_density(system.ambient_pressure, cold)
        air_in = (1.0 - holds) * suction * law.orifice(cap.discharge, cap.area, rho_outside, -drop)

        lost = out * enthalpy + steam_out * (enthalpy + liquid.of("latent_heat", hot)) - back * liquid.enthalpy(cold)
        leak.power[node] = leak.power.get(node, 0.0) - lost
        leak.air[cap.pocket] += air_in - air_out
        leak.coolant += back - out - steam_out
        leak.vented_heat += lost
        leak.coolant_out += out + steam_out
        leak.coolant_back += back
        leak.air_in += air_in
        leak.air_out += air_out
        if cap.recovery > 0.0:
            leak.bottle += out + steam_out - back
    return leak
