"""The car as the readings see it: its description, the air in it, the offsets of its sensors, gas that came in."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sim1d.car import Car


@dataclass(frozen=True)
class Subject:
    """What predictions are made of.

    `air` is the air in the circuit by place of `car.cavities` (m3 at ambient pressure, cold); `offset` what each sensor
    shows above the truth (K); `gained` the gas that came in over a day of running (m3 at ambient pressure, 20 degC);
    `air_place` the cavity to which a fit books air whose place no reading names.
    """

    car: "Car"
    air: Mapping[str, float] = field(default_factory=dict)
    offset: Mapping[str, float] = field(default_factory=dict)
    gained: float = 0.0
    air_place: str = ""

    @property
    def hidden(self) -> float:
        """All air in the circuit outside the tank, m3."""
        return sum(self.air.values())


def chain_of(car: "Car", place: str) -> tuple[str, ...]:
    """Places that air of `place` spills to when it is full: the heads of its bank from there on, then the other bank.

    The order in which a head that is high at the rear fills with gas; a choice of bookkeeping, for pressures in one
    bank differ little.
    """
    names = [f"engine.{name}.head" for name in car.engine.cylinders]
    bank = place.rpartition("-")[0]
    own = [name for name in names if name.startswith(bank + "-")][::-1] if place in names else []
    own = own[own.index(place) :] + own[: own.index(place)] if own else []
    return (place, *(name for name in own if name != place), *(name for name in names if name not in own))


def spilled(car: "Car", place: str, volume: float, other: Mapping[str, float]) -> dict[str, float]:
    """Air by place with `volume` m3 booked to `place`, nine tenths of each cavity at the most, the rest spilled on."""
    found = {name: air for name, air in other.items() if name != place}
    left = volume
    for name in chain_of(car, place):
        taken = min(left, max(0.9 * car.room(name) - found.get(name, 0.0), 0.0))
        if taken > 0.0 or name == place:
            found[name] = found.get(name, 0.0) + taken
        left -= taken
        if left <= 0.0:
            break
    return found


def subject_of(car: "Car", place: str = "") -> Subject:
    """The car as its file stands: air as given there, else what its fill and purge leave."""
    from sim1d.fill import remaining_air

    air = dict(car.trapped_air) if "trapped_air" in car.model_fields_set else remaining_air(car)
    if not place:
        last = f"engine.left-{car.engine.cylinders_per_bank}.head"  # the rear of a head is where air is found last
        place = max(air, key=lambda name: air[name]) if air else last
    return Subject(car, air, air_place=place)
