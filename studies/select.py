"""Selection: which points hold the limits, and with how much room; what stops the others; which axis matters."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim1d import Outcome
from sim1d.headlines import Bad
from sim1d.quantiles import quantile_table
from studies.criteria import Criterion, active
from studies.draws import Comparison, compared, fates, judged_values
from studies.points import Points

if TYPE_CHECKING:
    import xarray as xr

BINS = 8  # of a sampled range, each with the same number of points, for the effect of its axis


@dataclass(frozen=True)
class Verdict:
    """Every point of a study against the limits, by flat index."""

    criteria: tuple[Criterion, ...]
    limits: tuple[float, ...]
    readings: np.ndarray  # (criteria, count), SI
    margins: np.ndarray  # (criteria, count), steps; NaN where the point gave no number
    completed: np.ndarray  # (count,) bool: the whole day was simulated
    drawn: "Drawn | None" = None  # the samples of every point, where the study has them

    @property
    def margin(self) -> np.ndarray:
        """Smallest margin of each point, in steps; -inf for a point that did not complete or lacks a number."""
        if not self.criteria:
            return np.where(self.completed, 0.0, -np.inf)
        worst = np.where(np.isnan(self.margins), -np.inf, self.margins).min(axis=0)
        return np.where(self.completed, worst, -np.inf)

    @property
    def holds(self) -> np.ndarray:
        """(count,) bool: completed, and every limit held."""
        return self.margin >= 0.0

    def binding(self, flat: int) -> Criterion | None:
        """The limit with the least room at a point; None when there is none or the point did not complete."""
        if not self.criteria or not self.completed[flat]:
            return None
        column = np.where(np.isnan(self.margins[:, flat]), -np.inf, self.margins[:, flat])
        return self.criteria[int(np.argmin(column))]

    def ranked(self) -> np.ndarray:
        """Flat indices of the points that completed and have every number that is judged, most room to the nearest
        limit first; the next nearest breaks a tie.

        With samples: first by the share of them that holds every limit, then by the median of their room. A point whose
        own run did not complete has no place, whatever its samples do.
        """
        if not self.criteria:
            return np.arange(0)
        sorted_margins = np.sort(np.where(np.isnan(self.margins), -np.inf, self.margins), axis=0)
        keys = [*-np.round(sorted_margins[::-1], 9), -self.margin]
        if self.drawn is not None:
            keys += [-np.nan_to_num(self.drawn.margin_band[1], nan=-np.inf), -np.nan_to_num(self.drawn.share, nan=-1.0)]
        order = np.lexsort(keys)
        return order[np.isfinite(self.margin[order])]


@dataclass(frozen=True)
class Drawn:
    """The samples of every point against the limits; the same draw at every point.

    `readings` (criteria, count, draws): inf on the bad side where a sample ended early. `margins` (count, draws): room
    to the nearest limit in steps, -inf where it ended early or lacks a number, NaN where it gave no verdict. `ended`
    (count, draws): ended early.
    """

    readings: np.ndarray
    margins: np.ndarray
    ended: np.ndarray
    bad: tuple[Bad, ...]

    @property
    def judged(self) -> np.ndarray:
        """(count,) samples with a verdict."""
        return (~np.isnan(self.margins)).sum(axis=1)

    @property
    def holding(self) -> np.ndarray:
        """(count,) samples that hold every limit."""
        return (self.margins >= 0.0).sum(axis=1)

    @property
    def share(self) -> np.ndarray:
        """(count,) share of the judged samples that hold every limit; NaN where none was judged."""
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.where(self.judged > 0, self.holding / self.judged, np.nan)

    @property
    def early(self) -> np.ndarray:
        """(count,) samples that ended early."""
        return self.ended.sum(axis=1)

    @property
    def margin_band(self) -> np.ndarray:
        """(3, count) 5th percentile, median and 95th of the room; -inf where samples that ended early stand."""
        return quantile_table(self.margins, np.isneginf(self.margins), Bad.LOW)

    def reading_band(self, row: int) -> np.ndarray:
        """(3, count) the same of the number of a criterion; inf on its bad side."""
        values = self.readings[row]
        return quantile_table(values, np.isinf(values), self.bad[row])

    def against(self, first: int, second: int) -> Comparison:
        """The room of two points over the same draws."""
        return compared(self.margins[first], self.margins[second])


def _drawn(study: "xr.Dataset", used: Mapping[Criterion, float]) -> Drawn | None:
    """The samples of a study dataset against the limits; None where it has none."""
    if "draw_outcome" not in study or not used:
        return None
    dims = study.draw_outcome.dims
    outcome = np.asarray(study.draw_outcome.values, dtype=object)
    outcome = outcome.reshape(-1, outcome.shape[-1])
    readings, margins = [], []
    for one, limit in used.items():
        values = one.reading(study, "_draws").transpose(*dims).values.reshape(outcome.shape)
        kept, beyond = judged_values(values, outcome, one.variable)
        side = np.inf if one.most else -np.inf
        reading = np.where(beyond, side, kept)
        readings.append(reading)
        margins.append(one.margin(reading, limit))
    whole, early = fates(outcome)
    worst = np.where(np.isnan(margins), -np.inf, margins).min(axis=0)
    return Drawn(
        np.array(readings),
        np.where(whole | early, worst, np.nan),
        early,
        tuple(Bad.HIGH if one.most else Bad.LOW for one in used),
    )


def judge(study: "xr.Dataset", limits: Mapping[str, float]) -> Verdict:
    """Hold every point of a study dataset against `limits` (criterion: SI number)."""
    used = active(limits, study)
    outcome = np.asarray(study.outcome.values, dtype=object).ravel()
    completed = np.array([str(text).startswith(Outcome.COMPLETED.value) for text in outcome], dtype=bool)
    dims = study.outcome.dims
    readings = [one.reading(study).transpose(*dims).values.ravel() for one in used]
    margins = [one.margin(values, limit) for (one, limit), values in zip(used.items(), readings, strict=True)]
    empty = np.empty((0, len(completed)))
    return Verdict(
        tuple(used),
        tuple(used.values()),
        np.array(readings) if readings else empty,
        np.array(margins) if margins else empty,
        completed,
        _drawn(study, used),
    )


@dataclass(frozen=True)
class Effect:
    """What moving along one axis alone does to a number, averaged over all other axes.

    `share` is the variance of the means over the variance of all points: on a complete grid the first-order index of
    the axis. `change` is the largest mean less the smallest, reached at the places `highest` and `lowest`.
    """

    axis: str
    share: float
    change: float
    lowest: str
    highest: str


def levels(points: Points, axis: int) -> tuple[np.ndarray, list[str]]:
    """Level of each point along an axis (count,) and the label of each level; a sampled range is cut into bins."""
    one = points.axes[axis]
    if points.matrix is None:
        return np.unravel_index(np.arange(points.count), points.shape)[axis], [choice.label for choice in one.choices]
    shares = points.matrix[:, axis]
    if one.span is None:
        count = len(one.choices)
        return np.minimum((shares * count).astype(int), count - 1), [choice.label for choice in one.choices]
    count = min(BINS, len(shares))
    place = np.empty(len(shares), dtype=int)
    place[np.argsort(shares, kind="stable")] = np.arange(len(shares)) * count // len(shares)
    return place, [f"about {one.at((level + 0.5) / count).label}" for level in range(count)]


def effects(points: Points, values: np.ndarray) -> list[Effect]:
    """Effect of each axis on a number (count,), largest share first. Points without the number are left out."""
    values = np.where(np.isfinite(values), values, np.nan)
    known = ~np.isnan(values)
    found = []
    for at, axis in enumerate(points.axes):
        place, labels = levels(points, at)
        counts = np.bincount(place[known], minlength=len(labels))
        if not counts.any():
            continue
        with np.errstate(invalid="ignore", divide="ignore"):
            means = np.bincount(place[known], weights=values[known], minlength=len(labels)) / counts
        seen = np.flatnonzero(counts)
        mean = values[known].mean()
        total = ((values[known] - mean) ** 2).sum()
        between = (counts[seen] * (means[seen] - mean) ** 2).sum()
        low, high = seen[np.argmin(means[seen])], seen[np.argmax(means[seen])]
        share = float(between / total) if total > 1e-24 * max(mean**2, 1e-300) * known.sum() else 0.0
        found.append(Effect(axis.name, share, float(means[high] - means[low]), labels[low], labels[high]))
    return sorted(found, key=lambda effect: -effect.share)


def stopped_by(verdict: Verdict) -> dict[str, int]:
    """How many completed points each limit alone or with others excludes, most first."""
    counts = {
        one.text: int((verdict.completed & ~(verdict.margins[row] >= 0)).sum())
        for row, one in enumerate(verdict.criteria)
    }
    return dict(sorted(counts.items(), key=lambda item: -item[1]))


def outcomes(study: "xr.Dataset") -> dict[str, int]:
    """Number of points by outcome; where and when a run ended (in brackets) is left out, so that alike ones count."""
    texts = np.asarray(study.outcome.values, dtype=object).ravel()
    counts: dict[str, int] = {}
    for text in texts:
        head = str(text).split(" (")[0]
        counts[head] = counts.get(head, 0) + 1
    return dict(sorted(counts.items(), key=lambda item: -item[1]))


def failures(study: "xr.Dataset", points: Points, most: int) -> Sequence[tuple[str, str]]:
    """The first points that ran and did not complete, with their outcome."""
    texts = np.asarray(study.outcome.values, dtype=object).ravel()
    good = (Outcome.COMPLETED.value, "not run")
    found = [flat for flat, text in enumerate(texts) if not str(text).startswith(good)]
    return [(points.label(flat), str(texts[flat])) for flat in found[:most]]
