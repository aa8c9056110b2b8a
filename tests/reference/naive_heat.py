"""Heat of the slow twin: what every path brings to coolant and metal, one function per paragraph of section 5.

Each function adds W to `power` (coolant nodes) and `metal` (lumps of metal) of a `Heat`.
"""

import math
from dataclasses import dataclass

import numpy as np

from . import naive_laws as law

COLLAPSE_WIDTH = 40.0  # K below the collapse temperature over which a dry face wets again
DRY_LAG = 0.15  # s
SWELL_CORNER = 1e-7  # m3/s, 0.1 mL/s


@dataclass
class Moment:
    """What is known of one moment once flows and pressure level are."""

    model: object
    liquid: law.Liquid
    flow: np.ndarray  # (branch) kg/s
    branch_density: np.ndarray  # (branch) kg/m3
    enthalpy: np.ndarray  # (node) J/kg
    hot: np.ndarray  # (node) K of all-liquid coolant
    temperature: np.ndarray  # (node) K
    pressure: np.ndarray  # (node) Pa absolute
    void: np.ndarray  # (node) steam by volume in equilibrium
    steam: np.ndarray  # (node) steam by volume as the flow feels it
    gas: np.ndarray  # (node) share of a lump, and of its walls, that gas takes (the tank's left out)
    metal: np.ndarray  # (metal) K
    dry: np.ndarray  # (dry face) dry share
    speed: float  # rad/s, engine
    load: float
    car_speed: float  # m/s
    acceleration: float  # m/s2
    fan: float
    surface: float  # m above ground, of the tank's liquid


@dataclass
class Heat:
    """W into coolant and metal, the rate of the dry shares, and the totals that the ledgers gather."""

    power: np.ndarray
    metal: np.ndarray
    dry: np.ndarray
    engine: float = 0.0
    pump: float = 0.0
    radiator: float = 0.0
    ambient: float = 0.0


def advection(m: Moment, heat: Heat) -> None:
    """Every chain start - cells - end carries the enthalpy of the side it comes from."""
    width = m.model.system[0].donor_width
    for i, row in enumerate(m.model.network.branch):
        inside = range(row.cell_first, row.cell_first + row.cell_count) if row.cell_first >= 0 else range(0)
        chain = [row.start, *inside, row.end]
        ahead, back = law.ramp(m.flow[i], width), law.ramp(-m.flow[i], width)
        for before, after in zip(chain, chain[1:], strict=False):
            carried = ahead * m.enthalpy[before] - back * m.enthalpy[after]
            heat.power[before] -= carried
            heat.power[after] += carried


def combustion(m: Moment, heat: Heat) -> None:
    """Gas films (0.8 power of manifold pressure and speed), friction and header heat of the block."""
    system = m.model.system[0]
    manifold = system.idle_pressure + m.load * (system.rated_pressure - system.idle_pressure)
    phi = (max(manifold / system.rated_pressure, 0.0) * max(m.speed / system.rated_speed, 0.0)) ** 0.8
    for row in m.model.gas_face:
        film = row.conductance * phi
        q = film * (row.gas_temperature - m.metal[row.metal]) / (1.0 + film * row.half)
        heat.metal[row.metal] += q
        heat.engine += q
    rated = system.rated_speed * law.friction_pressure(system.rated_speed)
    for i, row in enumerate(m.model.metal):
        q = row.friction_heat * m.speed * law.friction_pressure(m.speed) / rated
        heat.metal[i] += q
        heat.engine += q


def conduction(m: Moment, heat: Heat) -> None:
    """Between lumps of metal."""
    for row in m.model.link:
        q = row.conductance * (m.metal[row.a] - m.metal[row.b])
        heat.metal[row.a] -= q
        heat.metal[row.b] += q


def wetted_faces(m: Moment, heat: Heat) -> None:
    """Metal to coolant through half a cell and the wet and dry parts of the face; the dry share follows its target."""
    liquid = m.liquid
    for row in m.model.face:
        hot, bulk = m.hot[row.node], m.temperature[row.node]
        rho, mu = liquid.of("density", hot), liquid.of("viscosity", hot)
        k, cp = liquid.of("conductivity", hot), liquid.of("specific_heat", hot)
        ts = liquid.boiling(m.pressure[row.node])
        speed = row.speed_factor * abs(m.flow[row.branch]) / (rho * row.flow_area)
        cell = m.metal[row.metal]
        floor = law.natural_coefficient(liquid, hot, cell - bulk, row.length)
        rise = liquid.between(lambda at: law.prandtl_rise(prandtl(liquid, at)), hot)
        forced = law.duct_coefficient(speed, rho, mu, k, cp, row.diameter, row.length, flat=False, rise=rise)
        h = row.enhancement * (forced**3 + floor**3) ** (1.0 / 3.0)
        reynolds = rho * speed * row.diameter / mu
        suppression = 1.0 / (1.0 + 2.53e-6 * reynolds**1.17)
        nucleate = law.forster_zuber_group(liquid, ts) * suppression * row.boiling_factor
        dry = min(max(m.dry[row.dry], 0.0), 1.0) if row.dry >= 0 else 0.0
        film = law.film_coefficient(liquid, max(cell, ts + 5.0), ts)  # at the cell: its error hardly matters
        wetted = 1.0 - m.gas[row.node]  # what stands in gas passes no heat; the metal behind carries the mean flux
        wall = law.wall_temperature(liquid, cell, wetted * row.half, bulk, ts, h, nucleate, dry, film)
        wet = law.wet_flux(liquid, wall, bulk, ts, h, nucleate)
        q = wetted * row.area * ((1.0 - dry) * wet + dry * film * (wall - bulk))
        heat.metal[row.metal] -= q
        heat.power[row.node] += q
        if row.dry >= 0:
            critical = law.critical_flux(
                liquid, ts, speed, ts - bulk, row.diameter, row.pool_factor, row.flow_factor,
            )  # fmt: skip
            critical *= 1.0 - 0.98 * law.step((m.steam[row.node] - 0.6) / 0.35)
            target = law.dry_target(wet, critical, wall, m.model.system[0].film_collapse, COLLAPSE_WIDTH)
            heat.dry[row.dry] = (target - m.dry[row.dry]) / DRY_LAG


def prandtl(liquid: law.Liquid, row: int) -> float:
    """Prandtl number at a row of the table."""
    at = liquid.grid[row]
    return float(at.specific_heat * at.viscosity / at.conductivity)


def exchangers(m: Moment, heat: Heat) -> None:
    """Coolant to the lump on the other side of a heater, oil cooler or tank wall."""
    for row in m.model.exchanger:
        conductance = row.conductance * (0.02 + abs(m.flow[row.branch]) / row.reference_flow) ** 0.8
        q = conductance * (m.metal[row.metal] - m.temperature[row.node])
        heat.metal[row.metal] -= q
        heat.power[row.node] += q


def tube_side(m: Moment, core: np.record, node: int) -> tuple[float, float]:
    """Conductance (W/K) of all tubes and capacity rate (W/K) of the coolant, at the temperature of a core cell."""
    liquid, hot, flow = m.liquid, m.hot[node], abs(m.flow[core.branch])
    rho, mu = liquid.of("density", hot), liquid.of("viscosity", hot)
    k, cp = liquid.of("conductivity", hot), liquid.of("specific_heat", hot)
    speed = flow / (rho * core.tube_flow_area)
    h = law.duct_coefficient(speed, rho, mu, k, cp, core.tube_diameter, core.tube_length, flat=True)
    return core.tube_area * h, flow * cp


def exact_cell(overall: float, air: float, coolant: float) -> float:
    """W/K from a mixed cell to the entering air that makes a row of upwind cells exact; faded out for a trickle."""
    taken = air * (1.0 - math.exp(-overall / air))
    ratio = taken / max(coolant, 1e-9 * taken)
    spread = ratio / (1.0 + ratio**4 / 16.0)
    return taken * math.expm1(spread) / spread


def radiators(m: Moment, heat: Heat) -> None:
    """Coolant - core metal - air. Tubes and air in series are scaled alike, so that a row of upwind cells is exact."""
    system = m.model.system[0]
    rho = law.air_density(system.ambient_pressure, system.ambient_temperature)
    mu = law.air_viscosity(system.ambient_temperature)
    for number, core in enumerate(m.model.radiator):
        cells = [cell for cell in m.model.core if cell.radiator == number]
        speed = law.face_speed(core, m.car_speed, m.fan * core.fan_works, rho)  # a failed fan stands
        air = rho * speed * core.face_area * law.AIR_HEAT  # W/K
        for cell in cells:
            inside, coolant = tube_side(m, core, cell.node)
            tubes, outside = cell.share * inside, 0.0
            if air > 1e-6:
                fins = law.core_air_conductance(core, max(speed, 1e-3), rho, mu)
                outside = cell.share * air * (1.0 - math.exp(-fins / air))
                overall = 1.0 / (1.0 / fins + 1.0 / inside)
                wanted = exact_cell(cell.share * overall, cell.share * air, coolant)
                scale = wanted * (1.0 / tubes + 1.0 / outside)
                tubes, outside = scale * tubes, scale * outside
            # gas in the inlet tank stands before as large a share of the tubes
            tubes *= 1.0 - m.gas[m.model.network.branch[core.branch].start]
            q = tubes * (m.temperature[cell.node] - m.metal[cell.metal])
            heat.power[cell.node] -= q
            heat.metal[cell.metal] += q
            q = (outside + cell.share * core.still) * (m.metal[cell.metal] - system.ambient_temperature)
            heat.metal[cell.metal] -= q
            heat.radiator += q


def ambient(m: Moment, heat: Heat) -> None:
    """Losses of hoses and metal to the air."""
    air = m.model.system[0].ambient_temperature
    for i, row in enumerate(m.model.node):
        q = row.ambient * (1.0 + row.ambient_moving * m.car_speed) * (m.temperature[i] - air)
        heat.power[i] -= q
        heat.ambient += q
    for i, row in enumerate(m.model.metal):
        q = row.ambient * (1.0 + row.ambient_moving * m.car_speed) * (m.metal[i] - air)
        heat.metal[i] -= q
        heat.ambient += q


def pumps(m: Moment, heat: Heat, shaft: dict[int, tuple[float, float, float]]) -> None:
    """The whole shaft power warms the coolant after the pump; `shaft`: branch -> speed, volume flow, density ratio."""
    for i, (speed, q, ratio) in shaft.items():
        row = m.model.network.branch[i]
        pump = m.model.network.pump[row.pump]
        torque = ratio * (pump.torque_constant * speed**2 + pump.torque_slope * speed * max(q, 0.0))
        heat.power[row.end] += torque * speed
        heat.pump += torque * speed


def swell(m: Moment, heat: Heat) -> None:
    """Liquid that swells out to the tank and shrinks back carries the difference of enthalpy between tie and tank.

    Call it last: it reads the power of every lump. A lump with steam in it does not swell any more, it boils.
    """
    system, liquid = m.model.system[0], m.liquid
    if system.tie < 0:
        return
    rate = 0.0  # m3/s
    for i in range(len(m.model.node)):
        if i == system.vessel or m.void[i] > 0.0:
            continue
        by_enthalpy = liquid.slope("density", m.hot[i]) / liquid.slope("enthalpy", m.hot[i])
        rate -= by_enthalpy / liquid.of("density", m.hot[i]) ** 2 * heat.power[i]
    moved = liquid.of("density", m.hot[system.tie]) * (math.hypot(rate, SWELL_CORNER) - SWELL_CORNER)
    q = moved * (m.enthalpy[system.tie] - m.enthalpy[system.vessel])
    heat.power[system.tie] -= q
    heat.power[system.vessel] += q
