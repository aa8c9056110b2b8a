"""The stepper as a scipy `OdeSolver`, so that `solve_ivp` drives it and events, dense output and bounds are scipy's."""

from typing import Any, NamedTuple

import numpy as np
from scipy.integrate import DenseOutput, OdeSolver

from sim1d.core.handle import handle
from sim1d.core.model import Work
from sim1d.core.pattern import Pattern
from sim1d.core.stepper import StepWork, march


class Kernels(NamedTuple):
    """Handles of one packed car for the kernels, and the arrays behind the handle of the workspace."""

    model: Any
    work: Any
    pattern: Any
    method: Any
    arrays: Work


class LinearlyImplicit(OdeSolver):
    """ROS34PW2 on the compiled kernels (see `core.stepper`).

    Parameters beyond those of `OdeSolver`: `kernels`, `phase` (one PHASE row), `pattern`, `tolerance` ((size, 2)
    absolute and relative per state) and `first_step` (s).
    """

    def __init__(
        self, fun, t0, y0, t_bound, vectorized=False, *, kernels: Kernels, phase, pattern: Pattern,
        tolerance: np.ndarray, first_step: float = 1e-3, **extraneous,
    ) -> None:  # fmt: skip
        super().__init__(fun, t0, y0, t_bound, vectorized)
        self.kernels, self.phase = kernels, phase
        size = len(self.y)
        self.arrays = StepWork._make(
            [
                *(np.zeros(size) for _ in range(4)), np.zeros((4, size)), np.zeros(len(pattern.rows)),
                np.zeros(pattern.structure.fill), np.zeros(pattern.structure.n), np.ascontiguousarray(tolerance),
                np.zeros(4, dtype=np.int64), np.zeros_like(kernels.arrays.sensed),
            ]
        )  # fmt: skip
        self.step_work = handle(self.arrays)
        self.h = min(first_step, abs(t_bound - t0)) or first_step
        self.started = False
        self.y_old = self.y

    def _step_impl(self):
        a = self.arrays
        k = self.kernels
        done, t, h = march(
            self.t, self.y, self.h, self.t_bound, self.phase, k.model, k.work, k.pattern, k.method, self.step_work,
            self.started,
        )  # fmt: skip
        if not done:
            return False, "the step size collapsed"
        self.y_old, self.rate_old = self.y, a.rate.copy()  # of the sensors: the straight line that `gauges` drew
        self.y = a.trial.copy()
        self.t = t
        self.h = h
        a.rate[:] = a.moved
        self.started = True
        self.nfev, self.njev = int(a.counters[0]), int(a.counters[1])
        return True, None

    def _dense_output_impl(self):
        return Hermite(self.t_old, self.t, self.y_old, self.y, self.rate_old, self.arrays.rate.copy())


class Hermite(DenseOutput):
    """Cubic through the values and rates at both ends of a step."""

    def __init__(self, t_old, t, y_old, y, rate_old, rate):
        super().__init__(t_old, t)
        self.h = t - t_old
        self.y_old, self.y, self.rate_old, self.rate = y_old, y, rate_old, rate

    def _call_impl(self, t):
        x = (t - self.t_old) / self.h
        if np.ndim(t) > 0:
            x = x[None, :]
            y0, y1, f0, f1 = (v[:, None] for v in (self.y_old, self.y, self.rate_old, self.rate))
        else:
            y0, y1, f0, f1 = self.y_old, self.y, self.rate_old, self.rate
        return (
            (1 + 2 * x) * (1 - x) ** 2 * y0 + x**2 * (3 - 2 * x) * y1
            + self.h * (x * (1 - x) ** 2 * f0 - x**2 * (1 - x) * f1)
        )  # fmt: skip
