"""What the fill of a car leaves in it, and whether another way of filling would leave less."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sim1d.circuit import circuit_of
from sim1d.mouths import bleed_places, fill_places
from sim1d.purge import air_left
from sim1d.static_fill import bleeds_of, static_fill

if TYPE_CHECKING:
    from sim1d.car import Car

LEAST = 1.0e-6  # m3 of air that is worth a name
ANGLES = (-12.0, -6.0, 0.0, 6.0, 12.0)  # degrees nose up that are tried: what a jack and two stands allow (assumed)
WORTH = 2.0e-5  # m3: a way that leaves less by no more than this is not worth a change


def remaining_air(car: "Car") -> dict[str, float]:
    """Air (m3 at ambient pressure, cold) by place of `car.cavities` that the declared fill, purge and top-ups leave.

    The middle of the band; places with less than 1 mL are left out. Deterministic. Raises DescriptionError for a fill
    place or bleed that the car does not have.
    """
    fill = static_fill(car)
    if fill.trapped < LEAST:
        return {}
    return {place: volume for place, volume in air_left(car, fill).items() if volume >= LEAST}


def hanging_gas(car: "Car") -> float:
    """Gas (m3) in the lines that end in the tank's gas, above its cold surface: it is one with the tank's own.

    The static fill leaves it there; a pump that runs pushes it into the tank, and coolant of the tank takes its place.
    """
    tank = car.expansion_tank
    if tank is None:
        return 0.0
    lines = {f"lines.{name}" for name, line in car.lines.items() if "expansion_tank.vent" in (line.start, line.end)}
    here = [cavity for cavity in circuit_of(car).cavities if cavity.place in lines]
    return sum(cavity.volume - cavity.held(tank.level_z) for cavity in here)


@dataclass(frozen=True)
class Manner:
    """A way to fill: where (None: at the cap), nose up (rad), which bleeds are open, and the air it leaves (m3)."""

    at: str | None
    nose_up: float
    bleeds: tuple[str, ...]
    trapped: float


def other_manners(car: "Car") -> tuple[Manner, ...]:
    """Ways of static filling that trap less than the declared one, the best first.

    Tried are other angles and high places to pour in at, each as declared and with every plugged opening of the heads
    taken out as a bleed; of ways that leave the same, the one with the least effort.
    """
    declared = static_fill(car)
    own = bleeds_of(car)
    plugs = tuple(name for name in bleed_places(car) if name in car.plugged)
    choices = [own, (*own, *(name for name in plugs if name not in own))]
    found: list[Manner] = []
    for at in dict.fromkeys([car.fill.at, *_high_places(car)]):
        for degrees in ANGLES:
            angle = math.radians(degrees)
            for bleeds in dict.fromkeys(choices):
                opened = tuple(name for name in bleeds if name != at)
                if at == car.fill.at and abs(angle - car.fill.nose_up) < 1e-9 and opened == own:
                    continue
                trapped = static_fill(car, at=at, nose_up=angle, bleeds=opened).trapped
                if trapped < declared.trapped - WORTH:
                    found.append(Manner(at, angle, opened, trapped))
    found.sort(key=lambda one: (round(one.trapped, 5), len(one.bleeds), abs(one.nose_up), one.at or ""))
    best: dict[float, Manner] = {}
    for manner in found:
        best.setdefault(round(manner.trapped, 5), manner)
    return tuple(best.values())


def _high_places(car: "Car") -> list[str]:
    """Places worth trying: junctions, and openings of heads and radiator, from the height of the cap up."""
    known = set(fill_places(car))
    ports = [name for name in (*car.junctions, *bleed_places(car), *car.ports) if name in known and name in car.ports]
    keep = [name for name in ports if name in car.junctions or name.partition(".")[0] in ("engine", "radiator")]
    high = sorted({name for name in keep if car.ports[name].z >= car.cap_z - 0.005}, key=lambda n: (-car.ports[n].z, n))
    return high[:6]
