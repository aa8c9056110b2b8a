"""Named faults of a cooling system: each is one switch of the car or day file; dropping it gives the sound car back.

Sizes that a fault needs (how much air, how flat a hose) are constants beside it, each with its origin.
"""

from collections.abc import Callable, Iterator
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING

from sim1d.errors import DescriptionError, Problem
from sim1d.faults import circuit, gauges, machines
from sim1d.faults.fault import Fault
from sim1d.reading import nearest

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day

KINDS: tuple[Callable[["Car", "Day"], Iterator[Fault]], ...] = (
    circuit.gaskets,
    machines.pumps,
    machines.suction_hoses,
    circuit.tees,
    circuit.caps,
    circuit.pockets,
    circuit.fills,
    circuit.blocked,
    machines.fans,
    machines.run_on,
    gauges.sensors,
)


def faults_of(car: "Car", day: "Day") -> list[Fault]:
    """Every named fault for this car and day, in a fixed order; those that do not fit say why in `unfit`."""
    return [fault for kind in KINDS for fault in kind(car, day)]


def chosen(faults: list[Fault], wanted: list[str]) -> list[Fault]:
    """The faults of these names, in the order of `faults`; a name may hold * and ?. Raises DescriptionError."""
    known = [fault.name for fault in faults]
    problems = [
        Problem("--only", f'there is no fault "{name}" on this car', nearest(name, known))
        for name in wanted
        if not any(fnmatchcase(one, name) for one in known)
    ]
    if problems:
        raise DescriptionError(problems)
    return [fault for fault in faults if not wanted or any(fnmatchcase(fault.name, name) for name in wanted)]


__all__ = ["KINDS", "Fault", "chosen", "faults_of"]
