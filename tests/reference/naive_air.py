"""Gas of the slow twin: where it stands, which ways it takes, and what the pumps, soft hoses and the tank make of it.

A place is a row of POCKET. Rates are plain arrays over places, kg/s; what one place loses another gains.
"""

import math
from dataclasses import dataclass

import numpy as np

from . import naive_laws as law
from .naive_heat import Moment

PRIME_LOST, PRIME_BACK = 0.06, 0.02  # gas by volume at the suction
PRIME_BAND = 0.01  # of gas by volume over which a pump makes up its mind
PRIME_TIME, GRIP_TIME = 0.5, 0.2  # s
LEAST_GRIP = 0.03  # share of its head that a pump without prime keeps
CLEARING_BAND = 0.4  # of a clearing speed, half of it on either side
SURFACE_TIME = 0.1  # s for the tank's surface and for a soft hose
PUSH, PUSH_POWER = 0.2, 32  # of what a way can spill, out of a full place; of the gas share below that
HELD_CORNER = 1e-7  # m3
SOLUTION_CORNER = 1e-4  # kg/m3
LAST_AIR = 1e-7  # kg below which a place dissolves no more
STANDING = 30.0  # rad/s of the engine from which on it leaks past its gasket in full
FLATTEST = 0.95  # a soft hose never shuts altogether


@dataclass
class Places:
    """Gas of every place at one moment."""

    air: np.ndarray  # kg, below zero by what the integration missed
    volume: np.ndarray  # m3, with its vapour
    free: np.ndarray  # gas that is free to move over the lump, over 1 if compressed; 1 for the tank: its openings tell
    flow: np.ndarray  # m3/s of coolant through the place


def has_tank(m: Moment) -> bool:
    """Whether the first place is the gas of a tank."""
    return bool(m.model.system[0].tank_volume > 0.0)


def cleared(speed: float, needed: float) -> float:
    """Share (0 to 1) of a pocket that a speed carries off where `needed` clears half of it."""
    return law.step((speed - needed) / (CLEARING_BAND * needed) + 0.5)


def places(m: Moment, air: np.ndarray, volume: np.ndarray) -> Places:
    """What stands where. A dome above every way out keeps its gas until the flow through its section clears it."""
    pocket, node = m.model.pocket, m.model.node
    flow = np.zeros(len(pocket))
    for way in m.model.air_way:  # half of what runs in and out is what runs through
        passing = abs(m.flow[way.branch]) / m.branch_density[way.branch]
        for end in (way.a, way.b):
            flow[end] += passing / 2.0
    free = np.zeros(len(pocket))
    for k, row in enumerate(pocket):
        held = 0.0
        if row.held > 0.0:
            held = row.held * (1.0 - cleared(flow[k] / row.area, row.clears))
        moving = law.ramp(volume[k] - held, HELD_CORNER) if held > 0.0 else volume[k]
        free[k] = moving / node[row.node].volume
    if has_tank(m):
        free[0] = 1.0
    return Places(air, volume, free, flow)


def dry_walls(m: Moment, volume: np.ndarray) -> np.ndarray:
    """(node) share of the walls that stands in gas: that of the lump, but the tank's gas lies above its lump."""
    dry = np.zeros(len(m.model.node))
    for k, row in enumerate(m.model.pocket):
        if k == 0 and has_tank(m):
            continue
        dry[row.node] = min(volume[k] / m.model.node[row.node].volume, 0.98)
    return dry


def bare(m: Moment, way: np.record) -> float:
    """Share of the tank's opening that stands in gas, its surface tilted about the middle by atan(a/g)."""
    system = m.model.system[0]
    floor, roof = system.tank_base, system.tank_base + system.tank_height
    half = system.tank_length / 2.0
    behind = max(-half, min(way.x - system.tank_x, half))
    surface = m.surface + behind * math.tan(math.atan2(m.acceleration, law.GRAVITY))
    surface = max(floor, min(surface, roof))
    covered = (surface - way.z) / way.bore  # bores of liquid above the lower lip
    return 1.0 - law.step(covered)


def swept(flow: float, needed: float, area: float) -> float:
    """m3/s of a flow (m3/s, away from its place) that takes gas along; a way down asks for a speed."""
    if flow <= 0.0:
        return 0.0
    return flow * (cleared(flow / area, needed) if needed > 0.0 else 1.0)


def pushed(free: float) -> float:
    """Share of what a way can spill that a place with so much free gas over its volume pushes out."""
    if free <= 1.0:
        return float(PUSH * free**PUSH_POWER)
    return PUSH + PUSH * PUSH_POWER * (free - 1.0)  # as steep as it was when full


def exchange(m: Moment, at: Places) -> np.ndarray:
    """kg/s into every place along the ways: carried, rising and spilling gas, at the density of where it leaves."""
    into = np.zeros(len(at.air))

    def move(start: int, end: int, flow: float, share: float) -> None:
        """Gas of a stream (m3/s) that holds a share of it. Less than none, an error of the integration, is repaid."""
        gas = at.air[start] * flow / m.model.node[m.model.pocket[start].node].volume
        if at.volume[start] > 0.0:
            gas = at.air[start] * flow * share / at.volume[start]
        into[start] -= gas
        into[end] += gas

    for way in m.model.air_way:
        a, b = way.a, way.b
        to_tank = has_tank(m) and b == 0
        q = m.flow[way.branch] / m.branch_density[way.branch]
        here, there = min(at.free[a], 1.0), bare(m, way) if to_tank else min(at.free[b], 1.0)
        move(a, b, swept(q, way.down_ab, way.area), here)
        move(b, a, swept(-q, way.down_ba, way.area), there)
        # what rises needs room at its end; in the tank there is always some
        if way.rise > 0.0:
            move(a, b, way.rise * (1.0 if to_tank else 1.0 - there), here)
        elif not to_tank:
            move(b, a, -way.rise * (1.0 - here), there)
        # a full place pushes gas out, but the tank does not into its hoses
        move(a, b, way.spill * pushed(at.free[a]), float(at.volume[a] > 0.0))
        if not to_tank:
            move(b, a, way.spill * pushed(at.free[b]), float(at.volume[b] > 0.0))
    return into


def out_of_solution(m: Moment, at: Places, dissolved: float) -> np.ndarray:
    """kg/s into every place out of its own coolant (negative: through its surface back into it)."""
    system = m.model.system[0]
    into = np.zeros(len(at.air))
    if system.release_time <= 0.0:
        return into
    concentration = max(dissolved, 0.0) / system.circuit_volume  # kg/m3
    for k, row in enumerate(m.model.pocket):
        vapour = m.liquid.of("vapour_pressure", m.hot[row.node])
        too_much = concentration - law.air_solubility(m.temperature[row.node], m.pressure[row.node] - vapour)
        into[k] = law.ramp(too_much, SOLUTION_CORNER) * m.model.node[row.node].volume / system.release_time
        if too_much < 0.0 and at.air[k] > 0.0:
            surface = system.tank_area if k == 0 and has_tank(m) else math.cbrt(at.volume[k]) ** 2
            fading = law.step(at.air[k] / LAST_AIR)
            into[k] -= fading * system.absorb_speed * surface * law.ramp(-too_much, SOLUTION_CORNER)
    return into


def past_the_gasket(m: Moment) -> np.ndarray:
    """kg/s of combustion gas that stays gas, into every place.

    The curve gives kg a cycle (two turns) at rated speed. A gap passes gas by the time that it is open, so another
    speed changes nothing, but an engine that stands leaks none: faded out below 30 rad/s.
    """
    into, system = np.zeros(len(m.model.pocket)), m.model.system[0]
    if len(m.model.leak) == 0:
        return into
    manifold = system.idle_pressure + m.load * (system.rated_pressure - system.idle_pressure)
    a_cycle = float(np.interp(manifold, m.model.leak_curve.pressure, m.model.leak_curve.mass))
    turns = system.rated_speed / (2.0 * math.pi)  # 1/s
    for row in m.model.leak:
        into[row.pocket] += row.share * a_cycle * turns / 2.0 * law.step(m.speed / STANDING)
    return into


def pump_states(
    m: Moment, at: Places, shaft: dict[int, tuple[float, float, float]], grip: np.ndarray, prime: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Rates of grip and lost prime (1/s) and the gas that every pump draws; `shaft`: branch -> speed, flow, ratio."""
    d_grip, d_prime, drawn = np.zeros(len(grip)), np.zeros(len(prime)), np.zeros(len(grip))
    free = {int(row.node): at.free[k] for k, row in enumerate(m.model.pocket)}
    for i, (speed, q, _) in shaft.items():
        row = m.model.network.branch[i]
        pump, suction = row.pump, int(row.end if q < 0.0 else row.start)
        gas = min(m.void[suction] + free.get(suction, 0.0), 1.0)
        drawn[pump] = gas

        liquid = m.liquid
        pressure = m.pressure[suction] - liquid.of("vapour_pressure", m.hot[suction])
        available = max(pressure / (liquid.of("density", m.hot[suction]) * law.GRAVITY), 0.01)
        required = m.model.network.pump[pump].suction_head_constant * speed**2
        kept = law.head_kept(available / required) if required > 0.05 else 1.0
        lost = min(max(prime[pump], 0.0), 1.0)
        primed = kept * max(law.gassy_head(gas), LEAST_GRIP)
        d_grip[pump] = (primed + lost * (LEAST_GRIP - primed) - grip[pump]) / GRIP_TIME

        turning = law.step(speed / 10.0)
        above = law.step((gas - PRIME_LOST) / PRIME_BAND + 0.5)
        below = law.step((gas - PRIME_BACK) / PRIME_BAND + 0.5)
        d_prime[pump] = turning * above * (1.0 - prime[pump]) - (1.0 - turning * below) * prime[pump]
        d_prime[pump] /= PRIME_TIME
    return d_grip, d_prime, drawn


def flattening(m: Moment, flat: np.ndarray) -> np.ndarray:
    """1/s by which every soft hose follows the suction at the end where it is greater."""
    rate = np.zeros(len(flat))
    for k, row in enumerate(m.model.collapse):
        branch = m.model.network.branch[row.branch]
        suction = m.model.system[0].ambient_pressure - min(m.pressure[branch.start], m.pressure[branch.end])
        rate[k] = (FLATTEST * law.step((suction - row.suction) / row.width) - flat[k]) / SURFACE_TIME
    return rate


def displacing(m: Moment, at: Places, displaced: float) -> float:
    """m3/s by which the volume that stands in the tank for gas, steam and stiff walls follows the one there is."""
    node = m.model.node
    taken = float(np.sum(m.void * node.volume) - np.sum(node.compliance * (m.pressure - node.filled)))
    taken += float(np.sum(at.volume[1:])) if has_tank(m) else float(np.sum(at.volume))
    return (taken - displaced) / SURFACE_TIME


def gauge_reading(m: Moment, sensor: np.record) -> float:
    """Pa gauge at the membrane of a pressure sensor: its place and the column of coolant up or back to it."""
    node = m.model.node[sensor.node]
    rho = m.liquid.of("density", m.hot[sensor.node]) * (1.0 - m.steam[sensor.node])
    column = rho * (m.acceleration * (sensor.x - node.x) - law.GRAVITY * (sensor.z - node.z))
    return m.pressure[sensor.node] + column - m.model.system[0].ambient_pressure


def sensor_rates(m: Moment, shown: np.ndarray) -> np.ndarray:
    """Rate of what every sensor shows (K/s or Pa/s); a thermometer in gas follows slower, twentyfold at most."""
    rate = np.zeros(len(shown))
    for k, row in enumerate(m.model.sensor):
        if row.pressure:
            there, wet = gauge_reading(m, row), 1.0
        else:
            there, wet = m.temperature[row.node], max(1.0 - m.gas[row.node] - m.void[row.node], 0.05)
        rate[k] = wet * (there - shown[k]) / row.time_constant
    return rate


def filter_rates(m: Moment, shown: np.ndarray, filtered: np.ndarray) -> np.ndarray:
    """Rate of every controller's filter: first order behind its sensor."""
    rate = np.zeros(len(filtered))
    for k, row in enumerate(m.model.cut):
        rate[k] = (shown[row.sensor] - filtered[k]) / row.filter
    return rate
