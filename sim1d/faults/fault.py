"""What a named fault is: a change of values by path, like `--set`, with what it does and who notices."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from sim1d.errors import DescriptionError, Problem

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day


@dataclass(frozen=True)
class Fault:
    """One named fault.

    `car_values` and `day_values` are (path, value) pairs in SI; `what` says what happens, `why` why it matters, `seen`
    how it is noticed. `unfit` says why this car and day cannot have it (then it has no values). `on_top_of` names
    other faults without which it does no harm: it is judged together with the first of them that makes a cut act (else
    the first that fits), against that one alone.
    """

    name: str
    title: str
    what: str
    why: str
    seen: str
    car_values: tuple[tuple[str, Any], ...] = ()
    day_values: tuple[tuple[str, Any], ...] = ()
    unfit: str = ""
    on_top_of: tuple[str, ...] = ()

    @property
    def switch(self) -> str:
        """What is set, as it would stand behind `--set`: paths and values, several joined by "and"."""
        pairs = [*self.car_values, *((f"day.{path}", value) for path, value in self.day_values)]
        return " and ".join(f"{path}={_text(value)}" for path, value in pairs)

    def apply(self, car: "Car", day: "Day") -> "tuple[Car, Day]":
        """The car and day with the fault. Raises DescriptionError when they cannot have it."""
        if self.unfit:
            raise DescriptionError([Problem(self.name, self.unfit, "choose another fault")])
        return car.with_values(dict(self.car_values)), day.with_values(dict(self.day_values))


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:.6g}"
    return "[" + ", ".join(f'"{item}"' for item in value) + "]" if isinstance(value, (list, tuple)) else str(value)


def named(kind: str, name: str, all_names: list[str], *, always: bool = False) -> str:
    """Name of a fault: that of its kind, with the part behind it where the car has several (or `always`)."""
    return f"{kind}-{name}" if name and (always or len(all_names) > 1) else kind


def unless(fault: Fault, unfit: str) -> Fault:
    """The fault, or the same without values where `unfit` says why this car cannot have it."""
    why = fault.unfit or unfit
    return replace(fault, car_values=(), day_values=(), unfit=why) if why else fault
