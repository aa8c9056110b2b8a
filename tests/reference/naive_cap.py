"""The cap of the slow twin: what leaves through the pressure valve and what the vacuum valve draws back."""

from dataclasses import dataclass, field

import numpy as np

from . import naive_laws as law
from .naive_heat import Moment

STEAM_CONSTANT = 461.52  # J/(kg K)
VACUUM_RAMP = 2000.0  # Pa from first opening to full lift of the vacuum valve
BOTTLE_LEFT = 0.02  # kg below which the dipping tube of an emptying recovery tank draws more and more air
LIFT_TIME = 0.05  # s for a pressure valve to follow
LAST_AIR = 1e-6  # kg of air in a gas space below which none of it leaves any more
BRIM = 0.05  # share of a recovery tank over which it begins to overflow


@dataclass
class Leak:
    """Rates through all caps together: kg/s, W."""

    air: np.ndarray  # (pocket) kg/s into each gas space
    lift: np.ndarray  # (cap) 1/s of the lift of each pressure valve
    power: dict[int, float] = field(default_factory=dict)  # W into a node
    coolant: float = 0.0  # kg/s into the store
    vented_heat: float = 0.0
    coolant_out: float = 0.0
    coolant_back: float = 0.0
    bottle: float = 0.0
    air_in: float = 0.0
    air_out: float = 0.0

    def give(self, node: int, watt: float) -> None:
        """Add W to a node."""
        self.power[node] = self.power.get(node, 0.0) + watt


def lifting(m: Moment, cap: np.record, lift: float) -> float:
    """Rate of the lift (1/s): it stays where it is between the ramp that opens (lower bound) and the one that shuts."""
    gauge = m.pressure[cap.node] - m.model.system[0].ambient_pressure
    low, high = (law.step((gauge - start) / cap.ramp) for start in (cap.opening, cap.reseat))
    held = min(max(lift, 0.0), 1.0)
    return (min(max(held, low), high) - held) / LIFT_TIME


def outflow(m: Moment, cap: np.record, lift: float, volume: float, air: float) -> tuple[float, float, float]:
    """Liquid, steam and air (kg/s) out of the cap; `volume` m3 and `air` kg of the gas under its seat.

    They pass the pressure valve, or a weighted vacuum valve that the outflow has not yet carried shut.
    """
    node = cap.node
    gauge = m.pressure[node] - m.model.system[0].ambient_pressure
    lift = min(max(lift, 0.0), 1.0)
    if cap.snaps > 0.0:
        lift = max(lift, law.weighted(gauge, cap.snaps))
    if lift == 0.0 or gauge <= 0.0:
        return 0.0, 0.0, 0.0
    gas_share = law.step(volume / m.model.pocket[cap.pocket].dead)
    rho = m.liquid.of("density", m.hot[node])
    liquid = (1.0 - gas_share) * law.orifice(cap.discharge, cap.area * lift, rho, gauge)
    vapour = min(m.liquid.of("vapour_pressure", m.hot[node]), 0.95 * m.pressure[node])  # Pa, Dalton
    rho_air = max(m.pressure[node] - vapour, 0.0) / (law.AIR_CONSTANT * m.temperature[node])
    rho_steam = vapour / (STEAM_CONSTANT * m.temperature[node])
    gas = gas_share * law.orifice(cap.discharge, cap.area * lift, rho_air + rho_steam, gauge) / (rho_air + rho_steam)
    return liquid, gas * rho_steam, gas * rho_air * law.step(air / LAST_AIR)


def inflow(m: Moment, cap: np.record, bottle: float) -> tuple[float, float]:
    """Coolant from the recovery tank and air from outside (kg/s) through the vacuum valve."""
    system = m.model.system[0]
    suction = system.ambient_pressure - m.pressure[cap.node]
    lift = 1.0 if cap.snaps > 0.0 else law.step((suction - cap.vacuum) / VACUUM_RAMP)  # weighted: hangs open
    if lift == 0.0 or suction <= 0.0:
        return 0.0, 0.0
    holds = law.step(bottle / BOTTLE_LEFT) if cap.recovery > 0.0 else 0.0
    rho = m.liquid.of("density", system.ambient_temperature)
    outside = law.air_density(system.ambient_pressure, system.ambient_temperature)
    back = holds * law.orifice(cap.discharge, cap.area * lift, rho, suction)
    return back, (1.0 - holds) * law.orifice(cap.discharge, cap.area * lift, outside, suction)


def cap_flows(
    m: Moment, lift: np.ndarray, air: np.ndarray, gas_volume: np.ndarray, bottle: float, vessel_by_store: float
) -> Leak:
    """All caps. Liquid leaves where the gas under the seat fills less than its dead volume, else gas with its vapour.

    What leaves or enters is booked on the store; `vessel_by_store` is the part of it that the vessel's mass feels
    (d m_v / d M, below 1 only where the store is nearly used up). The lump under the cap keeps its mass: the vessel
    makes up for what leaves there, with its own enthalpy.
    """
    system, liquid = m.model.system[0], m.liquid
    vessel = system.vessel
    leak = Leak(np.zeros(len(air)), np.zeros(len(lift)))
    for k, cap in enumerate(m.model.cap):
        node = cap.node
        leak.lift[k] = lifting(m, cap, lift[k])
        out, steam, air_out = outflow(m, cap, lift[k], gas_volume[cap.pocket], air[cap.pocket])
        back, air_in = inflow(m, cap, bottle)

        latent = steam * liquid.of("latent_heat", m.temperature[node])
        left = vessel_by_store * (out + steam)
        came = vessel_by_store * back
        cold = liquid.enthalpy(system.ambient_temperature)
        leak.give(node, -latent - left * m.enthalpy[node] + came * cold)  # through the cap
        leak.give(node, (left - came) * m.enthalpy[vessel])  # made up from the vessel
        leak.give(vessel, -(left - came) * m.enthalpy[vessel])
        leak.vented_heat += latent + left * m.enthalpy[node] - came * cold

        leak.air[cap.pocket] += air_in - air_out
        leak.coolant += back - out - steam
        leak.coolant_out += out + steam
        leak.coolant_back += back
        leak.air_in += air_in
        leak.air_out += air_out
        leak.bottle -= back
        if cap.recovery > 0.0:  # steam does not condense in it, and a full one overflows
            full = bottle / (liquid.of("density", m.hot[node]) * cap.recovery)
            leak.bottle += out * (1.0 - law.step((full - (1.0 - BRIM)) / BRIM))
    return leak
