"""A car at a state, from which single steps are tried by hand (invented data)."""

import sys
from pathlib import Path

import numpy as np

from sim1d.core import method, stepper
from sim1d.core.handle import handle
from sim1d.core.model import work_arrays
from sim1d.core.rhs import derivative
from sim1d.core.solver import Kernels, LinearlyImplicit, room
from sim1d.core.stride import Watched

sys.path.insert(0, str(Path(__file__).parents[1]))

# the folder of the tests is on the path only now
from reference.cars import packed  # noqa: E402
from reference.states import STATES  # noqa: E402

ANY = 1e30  # tolerance that every step meets


class Start:
    """A car at a state, its rate there, and room for steps that may err by so much of their measure.

    `ramps`: pairs of the phase, from the value at the start to that after `lasting` s; without `lasting` it stays.
    """

    def __init__(
        self, name: str, tolerance: float = ANY, car: str = "layout_a", lasting: float = 0.0,
        **ramps: tuple[float, float],
    ):  # fmt: skip
        found = packed(car)
        self.model, self.pattern = found.model, found.pattern
        self.state, phase, self.time = STATES[name](found)
        self.phase = phase.copy()
        if lasting:
            self.phase.start, self.phase.end = self.time, self.time + lasting
            for pair in ("speed", "load", "car_speed", "acceleration"):
                setattr(self.phase, pair, ramps.get(pair, (phase[pair][0],) * 2))
        self.work = work_arrays(self.model)
        self.space = room(self.model, self.pattern, np.full(self.model.layout.size, tolerance))
        self.arrays = self.space.arrays
        self.arrays.pace[:] = np.inf, 1.0, np.inf
        self.handles = handle(self.model), handle(self.work)
        self.evaluate(self.time, self.state, self.arrays.rate)
        self.arrays.sensed[:] = self.work.sensed
        self.method = method.coefficients()
        self.rest = *self.handles, handle(self.pattern), handle(self.method), self.space.step

    def evaluate(self, time: float, state: np.ndarray, rate: np.ndarray) -> np.ndarray:
        """Rate at a state, flows and pressures to the last digit."""
        for _ in range(4):
            assert derivative(time, state, self.phase, *self.handles, rate)
        return rate

    def advance(self, h: float, fresh: bool = True) -> tuple[bool, float]:
        """One attempt of a step."""
        return stepper.advance(self.time, self.state, h, self.phase, *self.rest, fresh)

    def march(self, h: float, stretch: float) -> tuple[bool, float, float]:
        """One step that is accepted, `h` s proposed and `stretch` s to go: (succeeded, its length, the next)."""
        found, end, following = stepper.march(self.time, self.state, h, self.time + stretch, self.phase, *self.rest)
        return found, end - self.time, following

    def solver(self, rate: np.ndarray, stretch: float) -> LinearlyImplicit:
        """A stretch of so many seconds that begins with this rate."""
        kernels = Kernels(*self.rest[:4], None, self.work)
        return LinearlyImplicit(
            lambda t, y: rate, self.time, self.state, self.time + stretch, kernels=kernels, phase=self.phase,
            room=self.space, watched=Watched(-1, 0.0, 0.0, np.array([np.nan])), rate=rate,
        )  # fmt: skip
