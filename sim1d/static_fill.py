"""The static fill: coolant is poured in, gas leaves while a dry way up to an open mouth is left, the rest is trapped.

A cavity fills only as long as a path for gas to an open mouth lies wholly above liquid; when its last path drowns, its
gas only shrinks, p0 + rho g h (Boyle, its vapour apart).
"""

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from sim1d.cavities import Cavity, Circuit
from sim1d.circuit import circuit_of
from sim1d.errors import DescriptionError, Problem
from sim1d.mouths import Mouth, bleed_places, cap_mouth, fill_places, mouth_at, mouths_of
from sim1d.pour import AMBIENT, Pour, pour_in
from sim1d.reading import nearest

if TYPE_CHECKING:
    from sim1d.car import Car


class Reason(Enum):
    """Why gas stays in a cavity; the value is what a user reads."""

    NONE = "full"
    DROWNED = "its last way for air drowned"
    TANK_GAS = "it hangs in the gas of the tank"
    ABOVE = "it lies above where pouring ends"
    CUT_OFF = "it is shut off"


@dataclass(frozen=True)
class Filled:
    """One cavity after the fill; volumes m3, heights m in the frame of the car.

    `capacity` is what it holds when full (the tank: its declared cold liquid); `gas` the gas left in it, where it is,
    `air` the same at ambient pressure. `level` is the surface at the middle of the cavity, None when it is dry; `sill`
    the opening whose drowning shut the gas in, at height `sill_z`.
    """

    name: str
    place: str
    capacity: float
    liquid: float
    gas: float
    air: float
    low: float
    high: float
    level: float | None
    reason: Reason
    sill: str = ""
    sill_z: float | None = None


@dataclass(frozen=True)
class Pocket:
    """Gas that was shut in as one: its cavities, volume (m3) and pressure (Pa absolute) then and at the end."""

    cavities: tuple[str, ...]
    sill: str
    sill_z: float
    shut_volume: float
    shut_pressure: float
    volume: float
    pressure: float


@dataclass(frozen=True)
class Fill:
    """Outcome of a static fill.

    `capacity` is `Car.volume`, `accepted` what was poured in, m3; their difference is `missing`: the gas that stands
    where coolant should, less what a tank above its mark holds too much. `surface` is where pouring ended (m, frame of
    the car, at the mouth).
    """

    at: str
    nose_up: float
    vacuum: float
    capacity: float
    accepted: float
    surface: float
    cavities: tuple[Filled, ...]
    pockets: tuple[Pocket, ...]

    @property
    def missing(self) -> float:
        """Coolant that it did not take, m3."""
        return self.capacity - self.accepted

    @property
    def air(self) -> dict[str, float]:
        """Air at ambient pressure (m3) by place of `car.cavities`, the tank's own gas left out; none below 1 uL."""
        found: dict[str, float] = {}
        for cavity in self.cavities:
            if cavity.air > 1e-9 and cavity.reason is not Reason.TANK_GAS:
                found[cavity.place] = found.get(cavity.place, 0.0) + cavity.air
        return found

    @property
    def trapped(self) -> float:
        """All air that stays, m3 at ambient pressure."""
        return sum(self.air.values())


def static_fill(
    car: "Car", *, at: str | None = None, nose_up: float | None = None, bleeds: tuple[str, ...] | None = None,
    vacuum: float | None = None, heater_open: bool | None = None,
) -> Fill:  # fmt: skip
    """Simulate the static fill of `car` as `car.fill` says, or as the arguments say instead.

    `at` is the place it is poured in at (None in the file: at the cap); afterwards it is filled up at the cap.
    `nose_up` rad, `vacuum` Pa below ambient. Raises DescriptionError for a place or bleed that the car does not have.
    """
    fill = car.fill
    nose_up = fill.nose_up if nose_up is None else nose_up
    vacuum = fill.vacuum if vacuum is None else vacuum
    at = fill.at if at is None else at
    bleeds = bleeds_of(car) if bleeds is None else bleeds
    _known(car, at, bleeds)
    circuit = circuit_of(car, angle=nose_up, heater_open=fill.heater_open if heater_open is None else heater_open)
    cap = cap_mouth(car, circuit)
    first = cap if at is None else mouth_at(car, circuit, at)
    opened = mouths_of(car, circuit, bleeds)
    pour = pour_in(circuit, first, cap, opened, vacuum)
    return _result(car, circuit, pour, first, cap, nose_up, vacuum)


def bleeds_of(car: "Car") -> tuple[str, ...]:
    """The bleeds that are opened: those the file names, in its order; or every bleed screw, the lowest first."""
    if car.fill.bleeds is not None:
        return car.fill.bleeds
    lines = [name for name in bleed_places(car) if name in car.lines]
    return tuple(sorted(lines, key=lambda name: (car.line_heights(name)[1], name)))


def _known(car: "Car", at: str | None, bleeds: tuple[str, ...]) -> None:
    problems = []
    places = fill_places(car)
    if at is not None and at not in places:
        problems.append(Problem("fill.at", f'there is no place "{at}" to fill it at', nearest(at, list(places))))
    known = bleed_places(car)
    for name in bleeds:
        if name not in known:
            what = f'"{name}" is neither a line with a bleed screw nor a plugged opening of a head'
            fix = nearest(name, list(known)) if known else 'put "bleed_screw" among the fittings of a line'
            problems.append(Problem("fill.bleeds", what, fix))
    if problems:
        raise DescriptionError(problems)


def _result(
    car: "Car", circuit: Circuit, pour: Pour, first: Mouth, cap: Mouth, nose_up: float, vacuum: float
) -> Fill:  # fmt: skip
    settled: dict[int, tuple[float, float]] = {}  # cavity -> liquid m3, pressure Pa absolute
    pockets = []
    for region in pour.regions:
        liquid, pressure = pour.settle(region)
        settled |= {i: (amount, pressure) for i, amount in liquid.items()}
        space = sum(circuit.cavities[i].volume for i in region.cavities)
        middle = circuit.cavities[region.cavities[0]].x
        height = circuit.car_height(region.sill_height, middle) if region.sill else float("nan")
        pockets.append(
            Pocket(
                tuple(circuit.cavities[i].name for i in region.cavities), region.sill, height, region.volume,
                region.pressure, space - sum(liquid.values()), pressure,
            )
        )  # fmt: skip
    found = []
    for i, cavity in enumerate(circuit.cavities):
        liquid_here, pressure = settled.get(i, (pour.liquid(i), AMBIENT))
        found.append(_filled(car, circuit, pour, i, cavity, liquid_here, pressure, cap))
    surfaces = [pour.surface(mouth.cavity) for mouth in (first, cap)]
    high = max((s for s in surfaces if s is not None), default=cap.level)
    mouth = cap if surfaces[1] == high else first
    return Fill(
        at=first.name, nose_up=nose_up, vacuum=vacuum, capacity=car.volume,
        accepted=sum(cavity.liquid for cavity in found),
        surface=circuit.car_height(high, circuit.cavities[mouth.cavity].x), cavities=tuple(found),
        pockets=tuple(pocket for pocket in pockets if pocket.volume > 1e-12),
    )  # fmt: skip


def _filled(
    car: "Car", circuit: Circuit, pour: Pour, i: int, cavity: Cavity, liquid: float, pressure: float, cap: Mouth
) -> Filled:  # fmt: skip
    gas = max(cavity.volume - liquid, 0.0)
    region = pour.shut_of[i]
    share = (pressure - circuit.vapour) / (AMBIENT - circuit.vapour) if region is not None else 1.0
    reason, sill, sill_z = Reason.NONE, "", None
    if gas > 1e-9:
        if cavity.name == "expansion_tank" or (region is None and _ends_in_tank(car, cavity.place)):
            reason = Reason.TANK_GAS
        elif region is None:
            reason, sill, sill_z = Reason.ABOVE, cap.name, circuit.car_height(cap.level, cavity.x)
        elif region.sill:
            reason, sill = Reason.DROWNED, region.sill
            sill_z = circuit.car_height(region.sill_height, cavity.x)
        else:
            reason = Reason.CUT_OFF
    tank = car.expansion_tank
    capacity = tank.liquid if tank is not None and cavity.name == "expansion_tank" else cavity.volume
    wet = liquid > 0.0 or pour.surface(i) is not None
    low, high = (circuit.car_height(height, cavity.x) for height in (cavity.low, cavity.high))
    level = None
    if wet:
        surface = (
            cavity.level(liquid)
            if cavity.volume > 0.0
            else min(max(pour.surface(i) or cavity.low, cavity.low), cavity.high)
        )
        level = circuit.car_height(surface, cavity.x)
    return Filled(
        cavity.name, cavity.place, capacity, liquid, gas, gas * share, low, high, level, reason, sill, sill_z
    )  # fmt: skip


def _ends_in_tank(car: "Car", place: str) -> bool:
    line = car.lines.get(place.removeprefix("lines.")) if place.startswith("lines.") else None
    return line is not None and any(port.startswith("expansion_tank.") for port in (line.start, line.end))
