"""The stepper as a scipy `OdeSolver`, so that `solve_ivp` drives it and events, dense output and bounds are scipy's."""

from typing import Any, NamedTuple

import numpy as np
from scipy.integrate import DenseOutput, OdeSolver

from sim1d.core.handle import handle
from sim1d.core.model import Model, Work
from sim1d.core.pattern import Pattern
from sim1d.core.stepper import StepWork
from sim1d.core.stride import Record, Watched, keep, record_arrays, stride

FIRST = 0.02  # s, first step of a stretch at least
# Over the first step, what the rate jumps by at the start of a stretch may move no state further than so many times
# what a step may be off (measured on a day of layout A: 10 takes 850 evaluations, 25 takes 814, 40 takes 838)
EAGER = 25.0
STEPS = 64  # of the stepper in one of scipy's at most


class Kernels(NamedTuple):
    """Handles of one packed car for the kernels, and the arrays behind the handle of the workspace."""

    model: Any
    work: Any
    pattern: Any
    method: Any
    limits: Any
    arrays: Work


class Room(NamedTuple):
    """Arrays and record of the stepper, and their handles; one set serves all stretches of a run."""

    arrays: StepWork
    record: Record
    step: Any
    rows: Any
    judged: int  # states whose error counts: the first ones, see `advance`


def room(model: Model, pattern: Pattern, tolerance: np.ndarray) -> Room:
    """Room for steps of `model` with errors up to `tolerance` (size)."""
    size, branches, junctions = len(tolerance), len(model.network.branch), len(model.network.junction)
    structure = pattern.structure
    arrays = StepWork._make(
        [
            *(np.zeros(size) for _ in range(4)), np.zeros((4, size)), np.zeros(len(pattern.rows)),
            np.zeros(structure.fill), np.zeros(structure.n), np.zeros(structure.n),
            np.ascontiguousarray(tolerance), np.array(tolerance), np.zeros(branches), np.zeros(junctions),
            np.zeros((4, branches)), np.zeros((4, junctions)), np.zeros(branches), np.zeros(branches),
            np.full(3, np.inf), np.zeros(3, dtype=np.int64), np.zeros(2), np.zeros(max(len(model.sensor), 1)),
            *(np.zeros(len(model.node)) for _ in range(4)),
        ]
    )  # fmt: skip
    record = record_arrays(size, STEPS)
    return Room(arrays, record, handle(arrays), handle(record), model.layout.sensor)


class LinearlyImplicit(OdeSolver):
    """ROS34PW2 on the compiled kernels (see `core.stepper`), a whole stride of its steps to one of scipy's.

    Parameters beyond those of `OdeSolver`: `kernels`, `phase` (one PHASE row), `room`, `watched` (what ends a stride),
    `rate` at `y0` (`kernels.work` must hold the evaluation there) and `log`, a list that gets the times and states of
    every step, (n) and (n, size), by strides. `room` remembers the stretch before: what the rate jumps by tells how
    long the first step may be.
    """

    def __init__(
        self, fun, t0, y0, t_bound, vectorized=False, *, kernels: Kernels, phase, room: Room, watched: Watched,
        rate: np.ndarray, log: list[tuple[np.ndarray, np.ndarray]] | None = None, **extraneous,
    ) -> None:  # fmt: skip
        super().__init__(fun, t0, y0, t_bound, vectorized)
        self.kernels, self.phase, self.log = kernels, phase, log
        self.arrays, self.record, self.step_work, self.rows, judged = room
        self.arrays.counters[:] = 0
        self.watched = handle(watched)
        jump = float((np.abs(rate - self.arrays.rate)[:judged] / self.arrays.allowed[:judged]).max())
        # never below the least: a stretch may begin where a reading crosses its threshold, and must get away from it
        self.h = min(max(min(EAGER / max(jump, 1.0e-9), self.arrays.pace[2]), FIRST), abs(t_bound - t0))
        self.arrays.pace[:2] = np.inf, 1.0  # what came before was another phase
        self.arrays.rate[:] = rate
        self.arrays.sensed[:] = kernels.arrays.sensed
        self.held = np.nan  # time of a step that is made but not handed over
        self.count = 0

    def _step_impl(self):
        k, record = self.kernels, self.record
        record.time[0], record.state[0] = self.t, self.y
        if np.isfinite(self.held):
            keep(1, self.held, self.rows, self.step_work)
            self.count, self.held = 1, np.nan
        else:
            self.count, self.held, self.h, succeeded = stride(
                self.t_bound, self.h, self.phase, k.model, k.work, k.pattern, k.method, self.step_work, k.limits,
                self.watched, self.rows,
            )  # fmt: skip
            if not self.count:
                return False, "the step size collapsed"
            self.h = self.h if succeeded else 0.0  # what went well is handed over; the next call says that no more does
        end = self.count
        if self.log is not None:
            self.log.append((record.time[1 : end + 1].copy(), record.state[1 : end + 1].copy()))
        self.t, self.y = float(record.time[end]), record.state[end].copy()
        self.nfev, self.njev = int(self.arrays.counters[0]), int(self.arrays.counters[1])
        return True, None

    def _dense_output_impl(self):
        return Stride(*(column[: self.count + 1].copy() for column in self.record))


class Stride(DenseOutput):
    """Cubics through the values and rates at both ends of each step of a stride."""

    def __init__(self, times, states, first, last):
        super().__init__(times[0], times[-1])
        self.times, self.states, self.first, self.last = times, states, first, last

    def _call_impl(self, t):
        if np.ndim(t) == 0:
            return self._piece(t)(t)
        return np.stack([self._piece(x)(x) for x in t], axis=-1)

    def _piece(self, t) -> "Hermite":
        """The step in which `t` lies; made when asked for, as the search for an event asks for one of many."""
        k = min(max(int(self.times.searchsorted(t)), 1), len(self.times) - 1)
        times, states = self.times, self.states
        return Hermite(times[k - 1], times[k], states[k - 1], states[k], self.first[k], self.last[k])


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
