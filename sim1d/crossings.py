"""A run between its instants: what it shows at any moment, when something passes a limit, and for how long.

Instants are the ends of the integrator's steps: a second apart in a pass, minutes in a soak. Counted by instants, the
time until a car may stage again is off by such a step. Between them a monotone cubic is taken (Fritsch and Carlson,
SIAM J. Numer. Anal. 17:238, 1980, recalled; scipy's `PchipInterpolator`): it goes beyond no instant, so nothing is
claimed that no step has seen, and it wants no rates, which over a step of minutes say nothing of what answers at once.
"""

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from scipy.interpolate import PchipInterpolator

SHORT = 0.05  # s, parts that an interval is cut into, straight within
PARTS = 20  # of an interval at most: of the bend of a cubic over it they leave a four-hundredth


class Finer(NamedTuple):
    """A run between its instants too."""

    time: np.ndarray  # (m) s
    values: np.ndarray  # (m, ...)
    interval: np.ndarray  # (m - 1) number of the interval between instants of the run in which each one lies


def pieces(time: np.ndarray) -> Iterator[tuple[int, int]]:
    """First instant and the one past the last of every stretch between two jumps, at which an instant stands twice."""
    return pairwise([0, *(int(k) + 1 for k in np.flatnonzero(np.diff(time) <= 0.0)), len(time)])


def finer(time: np.ndarray, values: np.ndarray) -> Finer:
    """`values` (n, ...) at the instants `time` (n, s, not falling) and between them.

    Where an instant stands twice the day jumps: each side is taken by itself. So are values that are not all numbers:
    straight.
    """
    times, found, intervals = [], [], []
    for first, end in pieces(time):
        t, y = time[first:end], values[first:end]
        parts = np.clip(np.ceil(np.diff(t) / SHORT), 1, PARTS).astype(int)
        inside = np.repeat(np.arange(len(parts)), parts)
        share = (np.arange(len(inside)) - np.repeat(np.cumsum(parts) - parts, parts)) / np.repeat(parts, parts)
        if not is_straight(y):
            at = np.append(t[inside] + share * np.diff(t)[inside], t[-1])
            t, y = at, curve(t, y)(at)
            intervals.append(first + inside)
        else:
            intervals.append(first + np.arange(len(t) - 1))
        times.append(t)
        found.append(y)
        intervals.append(np.array([end - 1]))  # to the other side of the jump
    return Finer(np.concatenate(times), np.concatenate(found), np.concatenate(intervals)[:-1])


def is_straight(values: np.ndarray) -> bool:
    """Whether no cubic goes through `values` (n, ...): too few of them, or not all are numbers."""
    return len(values) < 3 or not np.isfinite(values).all()


def curve(time: np.ndarray, values: np.ndarray) -> "PchipInterpolator":
    """The cubic through `values` (n, ...) at the rising instants `time` (n, s)."""
    from scipy.interpolate import PchipInterpolator

    return PchipInterpolator(time, values, axis=0)


def at_moments(time: np.ndarray, values: np.ndarray, moments: np.ndarray) -> np.ndarray:
    """`values` (n) of a run at any `moments` (m, s): (m). Not-a-number where a moment is none or lies outside the run.

    At a jump it is what follows.
    """
    found = np.full(len(moments), np.nan)
    for first, end in pieces(time):
        t, y = time[first:end], values[first:end]
        inside = (moments >= t[0]) & (moments <= t[-1])
        if not inside.any():
            continue
        at = moments[inside]
        found[inside] = np.interp(at, t, y) if is_straight(y) else curve(t, y)(at)
    return found


def seconds_above(time: np.ndarray, values: np.ndarray, limit: float) -> np.ndarray:
    """Seconds above `limit` of `values` (n, k) in each interval between the instants `time` (n, s): (n - 1, k).

    What rests on the limit is not above it; nor is what is not a number at either side.
    """
    line = finer(time, values)
    start, end = line.values[:-1] - limit, line.values[1:] - limit
    higher, lower = np.maximum(start, end), np.minimum(start, end)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(lower > 0.0, 1.0, higher / (higher - lower))
    above = np.where(higher > 0.0, share, 0.0) * np.diff(line.time)[:, None]
    found = np.zeros((max(len(time) - 1, 0), values.shape[1]))
    np.add.at(found, line.interval, above)
    return found


def first_inside(time: np.ndarray, values: np.ndarray, low: float, high: float) -> float | None:
    """First moment (s) from time[0] on at which all of `values` (n, k) lie from `low` to `high`; None without one.

    What is not a number is never inside.
    """
    line = finer(time, values)
    start, change = line.values[:-1], np.diff(line.values, axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        to_low, to_high = (low - start) / change, (high - start) / change
    rests, lies = change == 0.0, (start >= low) & (start <= high)
    enters = np.where(rests, np.where(lies, 0.0, np.inf), np.minimum(to_low, to_high)).max(axis=1, initial=0.0)
    leaves = np.where(rests, np.where(lies, 1.0, -np.inf), np.maximum(to_low, to_high)).min(axis=1, initial=1.0)
    found = np.flatnonzero((enters <= leaves) & (np.diff(line.time) > 0.0))  # in a jump nothing is on its way
    if not len(found):
        return None
    k = found[0]
    return float(line.time[k] + enters[k] * (line.time[k + 1] - line.time[k]))
