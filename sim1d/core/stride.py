"""Many steps in one call: the compiled loop that goes on until something happens that scipy has to look at.

`solve_ivp` looks for events between the ends of what the solver calls a step. A stride is such a step made of many of
the stepper's: it ends at the bound, when the record is full, or just before the first step on which a watched quantity
changes its side; that step is then handed over alone, so scipy finds the event between its two ends as in any method.
"""

from typing import NamedTuple

import numpy as np

from sim1d._jit import kernel
from sim1d.core.handle import maker, register
from sim1d.core.limits import limit_margin
from sim1d.core.sparse import copy
from sim1d.core.stepper import march


class Watched(NamedTuple):
    """What may end a stride besides the limits of the model."""

    until_node: int  # node whose temperature ends the phase; -1 none
    until_sign: float  # 1 when it has to rise to it, -1 to fall
    until_kelvin: float
    threshold: np.ndarray  # (cut) of the filtered reading; not-a-number where nobody listens


WatchedHandle = register(Watched)


@maker(Watched)
@kernel
def make_watched(*fields):
    """Handle of a `Watched` from its fields."""
    return WatchedHandle(*fields)


class Record(NamedTuple):
    """Steps of one stride, a row each; row 0 is the start."""

    time: np.ndarray  # (n + 1) s
    state: np.ndarray  # (n + 1, size)
    first: np.ndarray  # (n + 1, size) rate at the start of the step that ends here
    last: np.ndarray  # (n + 1, size) rate at its end
    ends: np.ndarray  # (2, 2) time (s) and margin to the limits where the last step kept and the one held back end


RecordHandle = register(Record)


@maker(Record)
@kernel
def make_record(*fields):
    """Handle of a `Record` from its fields."""
    return RecordHandle(*fields)


def record_arrays(size: int, steps: int) -> Record:
    """Room for so many steps."""
    state, first, last = (np.empty((steps + 1, size)) for _ in range(3))
    return Record(np.empty(steps + 1), state, first, last, np.full((2, 2), np.nan))


@kernel
def happens(old, new, model, work, limits, watched):
    """Whether anything watched changes its side on a step from `old` to `new` (states), and the margin to the limits.

    `work` must be of its end.
    """
    margin, _ = limit_margin(model, work, new, limits)
    if margin <= 0.0:
        return True, margin
    if watched.until_node >= 0:
        if watched.until_sign * (work.temperature[watched.until_node] - watched.until_kelvin) >= 0.0:
            return True, margin
    for c in range(len(watched.threshold)):
        place = model.layout.cut + c
        if (old[place] >= watched.threshold[c]) != (new[place] >= watched.threshold[c]):
            return True, margin
    return False, margin


@kernel
def keep(row, time, record, step):
    """Write the step that `step` holds into a row of the record and make its end the start of the next."""
    record.time[row] = time
    write(record.state, row, step.trial)
    write(record.first, row, step.rate)
    write(record.last, row, step.moved)
    copy(step.rate, step.moved)


@kernel
def write(table, row, values):
    """table[row] = values, element by element."""
    for k in range(len(values)):
        table[row, k] = values[k]


@kernel
def stride(bound, h, phase, model, work, pattern, method, step, limits, watched, record):
    """March from row 0 of `record` towards `bound`: (steps kept, time of a step held back or nan, next h, succeeded).

    Where the next step shows something that is watched and others came before it, it is held back: it stands in `step`
    (`keep` takes it). `step.rate` and `work` must hold the evaluation at row 0.
    """
    count = 0
    time = record.time[0]
    while time < bound and count + 1 < len(record.time):
        state = record.state[count]
        succeeded, new, h = march(time, state, h, bound, phase, model, work, pattern, method, step)
        if not succeeded:
            return count, np.nan, h, False
        last, margin = happens(state, step.trial, model, work, limits, watched)
        if last and count > 0:
            record.ends[1, 0], record.ends[1, 1] = new, margin
            return count, new, h, True
        count += 1
        record.ends[0, 0], record.ends[0, 1] = new, margin
        keep(count, new, record, step)
        time = new
        if last:
            break
    return count, np.nan, h, True
