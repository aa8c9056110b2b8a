"""Quantiles of a number over samples of which some ended early.

A sample that ended early stands at the bad end: worse than every sample that ran through. So a quantile that falls
among those has no value, only a bound: at least (or, of a number that is bad when low, at most) so much. The bound is
the worst number of a whole day, or the quantile with every early end counted at its own value, whichever is worse; the
second holds because the whole day would have been at least as bad.
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim1d.headlines import Bad
from sim1d.uncertainty import HIGH, LOW


@dataclass(frozen=True)
class Quantile:
    """A value (SI; NaN: none), or, where samples that ended early stand there (`beyond`), the bound towards bad."""

    value: float
    beyond: bool = False


@dataclass(frozen=True)
class Quantiles:
    """Median, 5th and 95th percentile of `n` samples, `early` of which ended early and stand at the bad end."""

    middle: Quantile
    low: Quantile
    high: Quantile
    n: int
    early: int


NONE = Quantiles(Quantile(math.nan), Quantile(math.nan), Quantile(math.nan), 0, 0)


def quantiles(values: Any, early: Any, bad: Bad, bound: bool = True) -> Quantiles:
    """Quantiles of `values` (n,), of which those marked `early` (n,) ended early.

    A whole sample without a number (NaN) is left out. `bound`: the value of an early end bounds that of a whole day;
    else nothing is known of it but its side.
    """
    side = bad.value
    numbers = side * np.asarray(values, dtype=float)
    stopped = np.asarray(early, dtype=bool)
    whole = np.sort(numbers[~stopped & np.isfinite(numbers)])
    count = int(stopped.sum())
    bounds = np.where(np.isfinite(numbers[stopped]), numbers[stopped], -np.inf) if bound else np.full(count, -np.inf)
    at_bounds = np.sort(np.concatenate([whole, bounds]))
    total = len(at_bounds)
    if not total or not np.isfinite(at_bounds).any():
        unknown = Quantile(math.nan, True)
        return NONE if not count else Quantiles(unknown, unknown, unknown, total, count)

    def at(percent: float) -> Quantile:
        place = (percent if side > 0 else 100.0 - percent) / 100.0 * (total - 1)
        first = math.floor(place)
        share = place - first
        last = first + (share > 1e-9)
        if last < len(whole):
            return Quantile(side * float(whole[first] + (whole[last] - whole[first]) * share))
        own, following = float(at_bounds[first]), float(at_bounds[last])
        if math.isfinite(own):
            own += (following - own) * share
        least = max(own, float(whole[-1]) if len(whole) else -math.inf)
        return Quantile(side * least if math.isfinite(least) else math.nan, True)

    return Quantiles(at(50.0), at(LOW), at(HIGH), total, count)


def quantile_table(values: np.ndarray, early: np.ndarray, bad: Bad) -> np.ndarray:
    """(3, ...) 5th percentile, median and 95th over the last axis of `values`; inf towards bad where early ends stand.

    As `quantiles`, for many numbers at once and without bounds. NaN: a sample without the number, left out, unless it
    is `early` (same shape).
    """
    numbers = np.where(early, np.inf, bad.value * np.asarray(values, dtype=float))
    ordered = np.sort(numbers, axis=-1)  # NaN last
    count = (~np.isnan(ordered)).sum(axis=-1)
    found = []
    for percent in (LOW, 50.0, HIGH):
        place = (percent if bad is Bad.HIGH else 100.0 - percent) / 100.0 * np.maximum(count - 1, 0)
        first = np.floor(place).astype(int)
        share = place - first
        last = first + (share > 1e-9)
        below, above = (np.take_along_axis(ordered, at[..., None], axis=-1)[..., 0] for at in (first, last))
        with np.errstate(invalid="ignore"):
            between = np.where(np.isinf(above), above, below + (above - below) * share)
        found.append(np.where(count > 0, bad.value * between, np.nan))
    return np.array(found)
