"""The engine protection cut as the simulation follows it: when a controller acts, and what the engine does then."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from sim1d.stretches import Stretch

if TYPE_CHECKING:
    from sim1d.car import Car

RUN_DOWN = 2.0  # s for the engine to stop turning once it is cut (assumed: the car goes on without it)


@dataclass(frozen=True)
class Cut:
    """One cut: threshold on a sensor's filtered reading (Pa gauge or K) and the delays of the chain, all in s."""

    sensor: str
    threshold: float
    persistence: float  # from the crossing to the decision: half a sample, and the samples in a row
    reaction: float
    lockout: float  # after launch


@dataclass(eq=False)
class Watch:
    """What a controller has seen: since when its reading has been above the threshold, and when the engine stops.

    It is a terminal event of `solve_ivp`: the filtered reading crosses the threshold, upwards or, once it is above,
    downwards.
    """

    cut: Cut
    place: int  # of the filtered reading in the state
    above_since: float | None = None
    acts_at: float | None = None
    terminal: ClassVar[bool] = True

    @property
    def direction(self) -> int:
        """Of the crossing that is the next."""
        return 1 if self.above_since is None else -1

    def __call__(self, t: float, y: np.ndarray) -> float:
        """Filtered reading above the threshold (Pa or K)."""
        return float(y[self.place]) - self.cut.threshold

    def rises(self, time: float) -> None:
        """The filtered reading has crossed the threshold."""
        self.above_since = time
        self.acts_at = time + self.cut.persistence + self.cut.reaction

    def falls(self, time: float) -> None:
        """The reading is below it again: a decision that was made stays made."""
        decided = self.above_since is not None and time >= self.above_since + self.cut.persistence
        self.above_since = None
        if not decided:
            self.acts_at = None


def cuts_of(car: "Car") -> tuple[Cut, ...]:
    """The cuts of a car in the order of its sensors."""
    found = []
    for name, sensor in car.sensors.items():
        cut = sensor.cut
        if cut is None:
            continue
        threshold = cut.pressure if cut.pressure is not None else cut.temperature
        assert threshold is not None  # the sensor refused a cut of the other kind
        wait = cut.interval / 2 + (cut.persistence - 1) * cut.interval
        found.append(Cut(name, threshold, wait, cut.reaction, cut.launch_lockout))
    return tuple(found)


def stopped(stretch: Stretch, share: float, speed: float) -> list[Stretch]:
    """What is left of `stretch` after `share` of it with the engine cut at `speed` (rad/s): run-down, then standing."""
    left = stretch.duration * (1.0 - share)
    if left <= 0.0:
        return []

    def at(pair: tuple[float, float], part: float) -> float:
        return pair[0] + part * (pair[1] - pair[0])

    pieces: list[Stretch] = []
    begin, down = share, min(RUN_DOWN, left) if speed > 0.0 else 0.0
    for length, speeds in ((down, (speed, speed * (1.0 - down / RUN_DOWN))), (left - down, (0.0, 0.0))):
        if length <= 0.0:
            continue
        end = begin + length / stretch.duration
        changes: dict[str, Any] = dict(
            duration=length, speed=speeds, load=(0.0, 0.0),
            car_speed=(at(stretch.car_speed, begin), at(stretch.car_speed, end)),
            acceleration=(at(stretch.acceleration, begin), at(stretch.acceleration, end)),
        )  # fmt: skip
        pieces.append(replace(stretch, **changes))
        begin = end
    return pieces
