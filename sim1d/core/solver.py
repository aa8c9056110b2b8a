"""The stepper as a scipy `OdeSolver`, so that `solve_ivp` drives it and events, dense output and bounds are scipy's."""

import math
from typing import Any, NamedTuple

import numpy as np
from scipy.integrate import DenseOutput, OdeSolver

from sim1d._jit import kernel
from sim1d.core.handle import handle
from sim1d.core.model import Model, Work
from sim1d.core.pattern import Pattern
from sim1d.core.sparse import copy
from sim1d.core.stepper import StepWork
from sim1d.core.stride import Record, Watched, keep, record_arrays, stride

FIRST = 0.02  # s, first step of a stretch at least
# Over the first step, what the rate jumps by at the start of a stretch may move no state further than so many times
# what a step may be off (measured on a round of layout A: 15 takes 332 evaluations, 25 takes 319, 40 takes 315)
EAGER = 40.0
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


def room(model: Model, pattern: Pattern, tolerance: np.ndarray, level: float = np.inf) -> Room:
    """Room for steps of `model` with errors up to `tolerance` (size), and of the pressure level up to `level` (Pa)."""
    size, branches, junctions = len(tolerance), len(model.network.branch), len(model.network.junction)
    structure = pattern.structure
    arrays = StepWork._make(
        [
            *(np.zeros(size) for _ in range(4)), np.zeros((4, size)), np.zeros(len(pattern.rows)),
            np.zeros(structure.fill), np.zeros(structure.n), np.zeros(structure.n),
            np.ascontiguousarray(tolerance), np.array(tolerance), np.full(1, level),
            np.zeros(branches), np.zeros(junctions),
            np.zeros((4, branches)), np.zeros((4, junctions)), *(np.zeros(branches) for _ in range(3)),
            np.full(3, np.inf), np.zeros(3, dtype=np.int64), np.zeros(2), np.zeros(max(len(model.sensor), 1)),
            *(np.zeros(len(model.node)) for _ in range(4)),
        ]
    )  # fmt: skip
    record = record_arrays(size, STEPS)
    return Room(arrays, record, handle(arrays), handle(record), model.layout.sensor)


@kernel
def begin(rate, work, step, judged):
    """Make `step` ready for a stretch that begins with `rate`, at which `work` must be evaluated.

    Returns how far the rate jumps there, in errors that a step may make per second.
    """
    jump = 0.0
    for k in range(judged):
        by = abs(rate[k] - step.rate[k]) / step.allowed[k]
        if by > jump or by != by:  # one that is not a number stays
            jump = by
    for k in range(len(step.counters)):
        step.counters[k] = 0
    step.pace[0], step.pace[1] = np.inf, 1.0  # what came before was another phase
    step.left[:] = 0.0
    copy(step.rate, rate)
    copy(step.sensed, work.sensed)
    return jump


class LinearlyImplicit(OdeSolver):
    """The stepper on the compiled kernels (see `core.stepper`), a whole stride of its steps to one of scipy's.

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
        self.kernels, self.phase, self.room, self.watched, self.log = kernels, phase, room, handle(watched), log
        jump = begin(rate, kernels.work, room.step, room.judged)
        # never below the least: a stretch may begin where a reading crosses its threshold, and must get away from it
        self.h = min(max(min(EAGER / max(jump, 1.0e-9), room.arrays.pace[2]), FIRST), abs(t_bound - t0))
        self.held = math.nan  # time of a step that is made but not handed over
        self.count = 0

    def _step_impl(self):
        k, room = self.kernels, self.room
        record = room.record
        record.time[0], record.state[0] = self.t, self.y
        if math.isfinite(self.held):
            keep(1, self.held, room.rows, room.step)
            self.count, self.held = 1, math.nan
        else:
            self.count, self.held, self.h, succeeded = stride(
                self.t_bound, self.h, self.phase, k.model, k.work, k.pattern, k.method, room.step, k.limits,
                self.watched, room.rows,
            )  # fmt: skip
            if not self.count:
                return False, "the step size collapsed"
            self.h = self.h if succeeded else 0.0  # what went well is handed over; the next call says that no more does
        made = slice(1, self.count + 1)
        times, states = record.time[made].copy(), record.state[made].copy()
        if self.log is not None:
            self.log.append((times, states))
        self.t, self.y = float(times[-1]), states[-1]
        self.nfev, self.njev, _ = room.arrays.counters.tolist()
        return True, None

    def _dense_output_impl(self):
        made = Stride(*(column[: self.count + 1].copy() for column in self.room.record[:4]))
        return made if self.count > 1 else made.piece(1)


class Stride(DenseOutput):
    """Cubics through the values and rates at both ends of each step of a stride."""

    def __init__(self, times, states, first, last):
        super().__init__(times[0], times[-1])
        self.times, self.states, self.first, self.last = times, states, first, last

    def _call_impl(self, t):
        if t.ndim == 0:
            return self._at(t)
        return np.stack([self._at(x) for x in t], axis=-1)

    def _at(self, t):
        """State at a time, by the step in which it lies; made when asked for, as most steps never are."""
        return self.piece(min(max(int(self.times.searchsorted(t)), 1), len(self.times) - 1))(t)

    def piece(self, k: int) -> "Hermite":
        """The cubic through step `k` (from 1)."""
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
        if t.ndim > 0:
            x = x[None, :]
            y0, y1, f0, f1 = (v[:, None] for v in (self.y_old, self.y, self.rate_old, self.rate))
        else:
            y0, y1, f0, f1 = self.y_old, self.y, self.rate_old, self.rate
        return (
            (1 + 2 * x) * (1 - x) ** 2 * y0 + x**2 * (3 - 2 * x) * y1
            + self.h * (x * (1 - x) ** 2 * f0 - x**2 * (1 - x) * f1)
        )  # fmt: skip
