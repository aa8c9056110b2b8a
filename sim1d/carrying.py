"""What running coolant carries: the way air would leave a cavity by, whether the speed there clears it, where it goes.

Air below the lower edge of the passage that coolant leaves by is pushed out ahead of it; air above that edge must be
swept. The published criteria scatter: above all of them it clears, below all it never does, in between perhaps.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from sim1d.cavities import Cavity, Circuit, Opening
from sim1d.physics.air_transport import clearing_envelope, clearing_speed, sweeping_speed
from sim1d.physics.hydrostatics import air_lock_pressure

SAFETY = 1.1  # on Escarameia's clearing speed (recalled)
# gas by volume in what leaves a pocket: slow, middle, quick (assumed; a pump loses its prime from about 5 % on)
CARRIED = (0.02, 0.05, 0.20)
NO_FLOW = 5.0e-6  # m3/s, 0.3 L/min: below it a passage counts as standing
LEVEL = 0.005  # m: a rise or fall below this is level
NOTHING = 1.0e-12  # m3
LONG_BUBBLE = 0.345  # of sqrt(g D): rise speed of a long bubble in a wide tube (Wallis 1969, recalled)
COUNTER = 0.25  # share of a tube's section that a train of rising long bubbles fills (assumed)


class Clears(Enum):
    """Whether the flow carries a pocket off; the value is what a user reads."""

    SURELY = "clears"
    PERHAPS = "perhaps clears"
    NEVER = "never clears"


@dataclass(frozen=True)
class Way:
    """The way air would leave a cavity by: where to, volume flow (m3/s), speed and criteria (m/s).

    `rises`: the passage leads up, so that air goes by itself. `edge` (m): gas below it is pushed out ahead.
    """

    to: int
    name: str
    flow: float
    speed: float
    needed: tuple[float, float]
    rises: bool
    edge: float

    @property
    def verdict(self) -> Clears:
        if self.rises or self.speed > self.needed[1]:
            return Clears.SURELY
        return Clears.NEVER if self.speed < self.needed[0] else Clears.PERHAPS

    def share(self, band: int) -> float:
        """Part of the swept air that clears: 0 optimist, 1 middle, 2 pessimist."""
        verdict = self.verdict
        if verdict is not Clears.PERHAPS:
            return 1.0 if verdict is Clears.SURELY else 0.0
        low, high = self.needed
        return (1.0, (self.speed - low) / (high - low), 0.0)[band]


def criteria(bore: float, slope: float, volume: float) -> tuple[float, float]:
    """Lowest and highest published speed (m/s) that clears `volume` m3 of air down a bore (m) at `slope` rad."""
    number = 4.0 * volume / (math.pi * bore**3)
    found = (SAFETY * clearing_speed(bore, slope, number), clearing_envelope(bore, slope), sweeping_speed())
    return min(found), max(found)


def _outward(opening: Opening, cavity: int, flow: Mapping[str, float]) -> float:
    value = opening.sign * flow.get(opening.branch, 0.0)
    return value if opening.a == cavity else -value


def _slope(piece: Cavity, circuit: Circuit, inlet: float) -> tuple[float, float]:
    """Fall (m) of a piece of hose from the end at height `inlet`, and its slope below horizontal, rad (>= 0)."""
    assert piece.run is not None
    start, end, length = piece.run
    fall = start - end if abs(start - inlet) <= abs(end - inlet) else end - start
    return fall, math.asin(min(max(fall, 0.0) / max(length, abs(fall), 1e-6), 1.0))


def way_out(circuit: Circuit, flow: Mapping[str, float], i: int, volume: float) -> Way | None:
    """The best way for `volume` m3 of air to leave cavity `i` with the flow, or by itself where it can rise."""
    cavity = circuit.cavities[i]
    found: list[Way] = []
    for number in circuit.beside[i]:
        opening = circuit.openings[number]
        out = _outward(opening, i, flow)
        if not opening.liquid:
            continue
        j = circuit.other(opening, i)
        there = circuit.cavities[j]
        bore, area = opening.bore, opening.area
        middle = 0.5 * (opening.invert + opening.crown)
        edge = opening.sill
        if cavity.run is not None:  # a hose: its own run decides
            inlet = cavity.run[0] + cavity.run[1] - _nearest(cavity.run, middle)
            fall, slope = _slope(cavity, circuit, inlet)
            edge = cavity.low
        elif there.run is not None:
            fall, slope = _slope(there, circuit, _nearest(there.run, middle))
        else:
            upward = opening.invert >= cavity.high - LEVEL and there.high > cavity.high + LEVEL
            downward = opening.invert <= cavity.low + LEVEL and there.low < cavity.low - LEVEL
            fall, slope = (-1.0, 0.0) if upward else (1.0, math.pi / 2) if downward else (0.0, 0.0)
        if out < NO_FLOW:  # nothing flows that way: air may still rise there by itself
            floating = LONG_BUBBLE * math.sqrt(9.80665 * bore)
            wide = opening.gas and bore >= circuit.least_bore and opening.crown >= cavity.high - bore
            if not wide or fall > -LEVEL or area <= 0.0 or -out / area > floating:
                continue
            out = COUNTER * area * floating
        low, high = criteria(bore, slope, volume)
        speed = out / area
        top = min(edge + bore, cavity.high) if cavity.run is None else cavity.high
        rises = fall < -LEVEL
        if cavity.run is None and cavity.volume > 0.0 and cavity.high - top > bore:
            # the way out lies far below the top: air must be drawn straight down through the cavity itself
            section = cavity.volume / (cavity.high - cavity.low)
            own = criteria(math.sqrt(4.0 * section / math.pi), math.pi / 2, volume)
            if (out / section) / own[0] < speed / low:
                speed, low, high = out / section, *own
            rises = False
        found.append(Way(j, opening.name, out, speed, (low, high), rises, edge))
    if not found:
        return None
    return max(found, key=lambda way: (way.rises, way.speed / way.needed[1], way.flow))


def _nearest(run: tuple[float, float, float], height: float) -> float:
    return run[0] if abs(run[0] - height) <= abs(run[1] - height) else run[1]


def air_lock(circuit: Circuit, flow: Mapping[str, float], gas: Mapping[int, float]) -> float:
    """Pressure (Pa) that pushes coolant past the air in downhill legs, on the worst way round the circuit."""
    falls: dict[int, float] = {}
    for i, volume in gas.items():
        cavity = circuit.cavities[i]
        if cavity.run is None or volume < 0.5 * cavity.volume:  # less than half full of gas: coolant runs beneath it
            continue
        forward = flow.get(cavity.place, 0.0) >= 0.0
        fall = (cavity.run[0] - cavity.run[1]) * (1.0 if forward else -1.0)
        if fall > LEVEL:
            falls[i] = fall * volume / cavity.volume
    starts = [i for i, cavity in enumerate(circuit.cavities) if cavity.name.endswith(".discharge")]
    columns = [_column(circuit, flow, start, falls) for start in starts]
    return air_lock_pressure(circuit.density, max(columns, default=0.0))


def _column(circuit: Circuit, flow: Mapping[str, float], start: int, falls: Mapping[int, float]) -> float:
    """Sum of falls (m) met when following the strongest flow from `start`."""
    total, here = 0.0, start
    seen: set[int] = set()
    while here not in seen:
        seen.add(here)
        total += falls.get(here, 0.0)
        ways = [
            (_outward(circuit.openings[k], here, flow), circuit.other(circuit.openings[k], here))
            for k in circuit.beside[here]
        ]
        ways = [way for way in ways if way[0] > NO_FLOW and way[1] not in seen]
        if not ways:
            break
        here = max(ways)[1]
    return total


def carry_off(
    circuit: Circuit, flow: Mapping[str, float], air: Mapping[int, float], outs: Mapping[int, str], time: float,
    band: int,
) -> tuple[dict[int, float], float]:  # fmt: skip
    """Air (m3) by cavity that is left after `time` s of running, and what has left; the two add up to what was there.

    Every pocket gives what its way out clears in that time to the place it leads to, which gives it on by its own rule;
    what still goes round at the end settles in the highest place it came by.
    """
    cavities = circuit.cavities
    # pressed gas is a little more at ambient pressure than its cavity holds: it has room where it is
    room = [max(cavity.volume, air.get(i, 0.0)) for i, cavity in enumerate(cavities)]
    ways = {i: way_out(circuit, flow, i, volume) for i, volume in air.items()}
    keeps_own: dict[int, float] = {}
    for i, volume in air.items():
        way = ways[i]
        goes = 0.0 if way is None else _leaves(cavities[i], way, volume, 0.0, time, band)
        keeps_own[i] = 0.0 if i in outs else volume - goes
    left, gone = dict(keeps_own), 0.0
    for first in sorted(air, key=lambda i: (-cavities[i].high, i)):
        way, here, seen = ways[first], first, [first]
        moving = air[first] - keeps_own[first]
        while moving > NOTHING:
            if here in outs:
                gone += moving
                break
            if len(seen) > 1:
                way = way_out(circuit, flow, here, moving)
                held = left.get(here, 0.0)
                leaving = 0.0 if way is None else _leaves(cavities[here], way, moving, held, time, band)
                keeps = min(moving - leaving, max(room[here] - held, 0.0))
                left[here] = held + keeps
                moving -= keeps
            if moving > NOTHING and (way is None or way.to in seen):
                rest = _settle(circuit, room, left, seen, moving)
                left[first] += rest  # what finds no room never left
                break
            if way is not None:
                here = way.to
                seen.append(here)
    return {i: volume for i, volume in left.items() if volume > NOTHING}, gone


def _leaves(cavity: Cavity, way: Way, volume: float, held: float, time: float, band: int) -> float:
    """Part (m3) of the air in a cavity that leaves it in `time` s; `held` m3 of it stays there already."""
    above = min(max(cavity.volume - cavity.held(way.edge) - held, 0.0), volume)
    wanted = volume - above + way.share(band) * above
    return min(wanted, CARRIED[2 - band] * way.flow * time)


def _settle(circuit: Circuit, room: list[float], left: dict[int, float], seen: list[int], volume: float) -> float:
    """Put air into the highest places among `seen` as far as they have room; returns what found none."""
    for i in sorted(seen, key=lambda i: (-circuit.cavities[i].high, i)):
        put = min(max(room[i] - left.get(i, 0.0), 0.0), volume)
        if put > 0.0:
            left[i] = left.get(i, 0.0) + put
            volume -= put
    return volume


def destination(circuit: Circuit, flow: Mapping[str, float], i: int, volume: float, outs: Mapping[int, str]) -> str:
    """Where air that leaves a cavity ends: a mouth, or the next place that does not let it go on."""
    seen = [i]
    while True:
        way = way_out(circuit, flow, seen[-1], volume)
        if way is None or (len(seen) > 1 and way.verdict is Clears.NEVER):
            return f"to {circuit.cavities[seen[-1]].place or circuit.cavities[seen[-1]].name}"
        if way.to in outs:
            return outs[way.to]
        if way.to in seen:
            return "round the circuit"
        seen.append(way.to)
