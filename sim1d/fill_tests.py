"""The bench tests that prove a fill: pressure hold, squeeze and pump start, with this car's own numbers."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sim1d.checks.ratings import rated_parts
from sim1d.parts.cap import CapCondition
from sim1d.parts.line import Wall
from sim1d.physics.elasticity import thick_tube_compliance
from sim1d.physics.gas_space import pump_start_drop, squeeze_rise_with_give
from sim1d.pour import AMBIENT, GRAVITY
from sim1d.purge import Purge

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.static_fill import Fill

SYRINGE = 1.0e-4  # m3 pressed in by the squeeze test
HOLD = 900.0  # s that the test pressure is held (common practice, no source: 10 to 15 minutes)
RISE_BAND = 0.25  # of the pump's rise at a place (assumed: curve and passages are declared, not measured)
HOSE_BAND = (0.2, 4.0)  # of the give of hoses: a wall of 100 to 5 MPa where 20 MPa are assumed
RADIATOR_BAND = (0.5, 2.5)  # of the give of a radiator: 0.1 to 0.5 mL/kPa where 0.2 are assumed


@dataclass(frozen=True)
class PressureTest:
    """The cold pressure test: gauge pressure (Pa), how long (s), what sets it, and the parts without a rating."""

    pressure: float
    hold: float
    set_by: str
    unrated: tuple[str, ...]


@dataclass(frozen=True)
class Squeeze:
    """What 100 mL pressed into the cold, closed circuit raise it by, Pa: least, middle, most.

    `hidden` is the air in the circuit outside the tank, m3: its most belongs to the least rise. `within` is False where
    the middle passes the test pressure; then `injected` m3 reach it.
    """

    state: str
    tank_gas: float
    hidden: tuple[float, float, float]
    rise: tuple[float, float, float]
    within: bool
    injected: float


@dataclass(frozen=True)
class PumpStart:
    """Fall of the level when the pump starts, cap off: m3 per litre of air hidden at a place; least, middle, most.

    `rise` is what the pump adds there at `speed`, Pa; `found` the fall (m3) for the air that the purge leaves there.
    """

    place: str
    speed: float
    rise: float
    per_litre: tuple[float, float, float]
    found: tuple[float, float, float]


def pressure_test(car: "Car") -> PressureTest:
    """Never above the lower end of the cap's band, nor above the weakest rated part."""
    cap = car.cap
    low = cap.opening * (cap.worn_share if cap.condition is CapCondition.WORN else cap.band[0])
    found = {"the lower end of the cap's band": low}
    unrated = []
    for path, rating, _ in rated_parts(car):
        part = path.rpartition(".")[0]
        if rating is None:
            unrated.append(part)
        else:
            found.setdefault(f"the rating of {part}", rating)
    set_by = min(found, key=lambda name: (found[name], name))
    return PressureTest(found[set_by], HOLD, set_by, tuple(unrated))


def give(car: "Car", purge: Purge) -> tuple[float, float, float]:
    """Compliance of the walls, m3/Pa: least, middle and most by the bands of hoses and radiator."""
    middle = purge.running.compliance
    hoses = 0.0
    for name, line in car.lines.items():
        if line.stiffness is None and line.wall in (Wall.SMOOTH, Wall.CONVOLUTED):
            bore = line.inner_diameter
            stretch = thick_tube_compliance(bore / 2, bore / 2 + line.wall_thickness, line.modulus)
            hoses += float(stretch) * car.line_volume(name)
    radiator = car.radiator.compliance if car.radiator is not None else 0.0
    rest = max(middle - hoses - radiator, 0.0)
    ends = [rest + HOSE_BAND[k] * hoses + RADIATOR_BAND[k] * radiator for k in range(2)]
    return ends[0], middle, ends[1]


def squeezes(car: "Car", purge: Purge, limit: float) -> tuple[Squeeze, ...]:
    """The squeeze test brim-full and, with a tank, at its cold mark: without hidden air and with what was found."""
    compliance = give(car, purge)
    found = (sum(purge.least.values()), sum(purge.remaining.values()), sum(purge.most.values()))
    states = [("brim-full, no air", 0.0, (0.0, 0.0, 0.0)), ("brim-full, with the air that is found", 0.0, found)]
    if car.expansion_tank is not None:
        gas = car.expansion_tank.gas
        states += [("tank at its cold mark, no air", gas, (0.0, 0.0, 0.0))]
        states += [("tank at its cold mark, with the air that is found", gas, found)]
    rows = []
    for state, gas, hidden in states:
        if hidden is found and found[2] < 1e-6:
            continue
        # little rise: much air and much give
        rise = tuple(
            float(squeeze_rise_with_give(gas + hidden[2 - k], SYRINGE, AMBIENT, compliance[2 - k])) for k in range(3)
        )
        reach = compliance[1] * limit + (gas + hidden[1]) * limit / (AMBIENT + limit)
        rows.append(Squeeze(state, gas, hidden, (rise[0], rise[1], rise[2]), rise[1] <= limit, reach))
    return tuple(rows)


def pump_starts(car: "Car", fill: "Fill", purge: Purge) -> tuple[PumpStart, ...]:
    """The pump-start test for the places that keep air; without any, for the rear of both heads."""
    places = [place for place, volume in purge.most.items() if volume >= 1e-6]
    if not places:
        last = car.engine.cylinders_per_bank
        places = [f"engine.{bank}-{last}.head" for bank in ("left", "right")]
    heights = {cavity.place: (cavity.low + cavity.high) / 2 for cavity in fill.cavities}
    density = 998.2  # kg/m3, water at 20 degC: the column of a few centimetres counts for under 1 %
    rows = []
    for place in places:
        rise = rise_at(car, purge.running.rise, place)
        still = AMBIENT + density * GRAVITY * (fill.surface - heights[place])
        drops = [
            float(pump_start_drop(1e-3, still, max(still + rise * factor, 0.1 * still)))
            for factor in (1.0 - RISE_BAND, 1.0, 1.0 + RISE_BAND)
        ]
        drops.sort()
        air = [band.get(place, 0.0) for band in (purge.least, purge.remaining, purge.most)]
        found = sorted(drop * volume / 1e-3 for drop, volume in zip(drops, air, strict=True))
        rows.append(
            PumpStart(place, purge.running.speed, rise, (drops[0], drops[1], drops[2]), (found[0], found[1], found[2]))
        )
    return tuple(rows)


def rise_at(car: "Car", rise: Mapping[str, float], place: str) -> float:
    """What the running pump adds to the pressure at a place of `car.cavities`, Pa (a line: the mean of its ends)."""
    if place.startswith("lines."):
        line = car.lines[place.removeprefix("lines.")]
        ends = [rise[port] for port in (line.start, line.end) if port in rise]
        return sum(ends) / len(ends) if ends else 0.0
    for name in (place, place.removesuffix("_tank"), f"{place}.outlet"):
        if name in rise:
            return rise[name]
    return 0.0
