"""The day as straight stretches between two jumps: each is integrated without a restart."""

from collections.abc import Callable
from dataclasses import dataclass
from operator import attrgetter
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d import tables

if TYPE_CHECKING:
    from sim1d.day import Day, Phase


ROW = np.dtype((np.record, tables.PHASE))
CONDITIONS = attrgetter(*(tables.PHASE.names or ())[2:])  # of a stretch, which knows all but its start and its end


@dataclass(frozen=True)
class Stretch:
    """One straight piece of a phase between two jumps: integrated without a restart."""

    name: str
    round: int
    role: str
    phase_number: int
    duration: float
    limit: float  # s, longest duration of the whole phase
    last: bool
    speed: tuple[float, float]
    load: tuple[float, float]
    car_speed: tuple[float, float]
    acceleration: tuple[float, float]
    voltage: float
    electric_pump: bool
    fan: float
    until: tuple[int, float, float] | None  # node, sign, K

    def row(self, start: float) -> Any:
        """The PHASE record that begins at `start` (s)."""
        return np.array((start, start + self.duration, *CONDITIONS(self)), ROW)[()]  # a field at a time is slow


def stretches_of(day: "Day", point: Callable[[str], int]) -> list[Stretch]:
    """The day as straight pieces."""
    found = []
    no_run_on = day.without_run_on
    for number, phase in enumerate(day.phases):
        off = number in no_run_on
        pieces = phase.speed.pieces(phase.duration)
        for k, (begin, end, low, high) in enumerate(pieces):
            until = None
            if phase.until is not None:
                sign = 1.0 if phase.until.above is not None else -1.0
                kelvin = phase.until.above if phase.until.above is not None else phase.until.below
                assert kelvin is not None  # Until refuses neither and both
                until = (point(phase.until.point), sign, kelvin)
            found.append(
                Stretch(
                    name=phase.name, round=phase.round, role=phase.role.value, phase_number=number,
                    duration=end - begin, limit=phase.duration, last=k == len(pieces) - 1, speed=(low, high),
                    load=_part(phase, phase.load.ends, begin, end),
                    car_speed=_part(phase, phase.car_speed.ends, begin, end),
                    acceleration=_part(phase, phase.acceleration.ends, begin, end), voltage=phase.supply_voltage,
                    electric_pump=phase.electric_pump and not off, fan=0.0 if off else phase.fan, until=until,
                )
            )  # fmt: skip
    return found


def _part(phase: "Phase", ends: tuple[float, float], begin: float, end: float) -> tuple[float, float]:
    """Values of a ramp over the whole phase at `begin` and `end`."""
    slope = (ends[1] - ends[0]) / phase.duration
    return ends[0] + slope * begin, ends[0] + slope * end
