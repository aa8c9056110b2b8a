"""`[uncertainty]` of a study: every point is also run with samples of what nobody measured, the same at every point.

A value that an axis sets is known there and is not sampled. Every other declared band of the car is; the share of its
band that a sample draws hangs on the path of the input, the number of samples and the seed alone, so that two points
differ by what the axes changed and not by the draw (common random numbers; Glasserman and Yao 1992, recalled).
"""

from dataclasses import dataclass

import numpy as np
from pydantic import BaseModel, ConfigDict, Field

from sim1d import Outcome
from sim1d.bands import is_early
from sim1d.headlines import READY, Bad
from sim1d.quantiles import quantile_table

LEAST = 6  # samples: of fewer not even all on one side tell two points apart (2 / 2^6 = 0.03)
SURE = 0.05  # two points are told apart below this chance of as one-sided a count: common practice
ENDS = ("low", "middle", "high")


class UncertaintyTable(BaseModel):
    """`[uncertainty]` of a study file: present, every number of a point gets a band from samples of the car."""

    model_config = ConfigDict(extra="forbid", strict=True)

    samples: int = Field(ge=LEAST, le=10_000, description="runs of each point beside its own, evenest a power of two")
    seed: int = Field(default=1, ge=0, description="of the random numbers: the same seed, the same draws")


@dataclass(frozen=True)
class Draws:
    """How many samples of each point, and the seed."""

    samples: int
    seed: int = 1


def fates(outcome: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which draws ran their whole day, and which ended early; the others gave no verdict."""
    whole = np.vectorize(lambda text: str(text).startswith(Outcome.COMPLETED.value), otypes=[bool])(outcome)
    return whole, np.vectorize(is_early, otypes=[bool])(outcome)


def judged_values(values: np.ndarray, outcome: np.ndarray, name: str) -> tuple[np.ndarray, np.ndarray]:
    """Values (..., draws[, names]) with those of draws without a verdict as NaN, and which stand at the bad end.

    `outcome` (..., draws). A car that was never ready again stands at the bad end of its time to ready.
    """
    whole, early = fates(outcome)
    if values.ndim > outcome.ndim:
        early, whole = early[..., None], whole[..., None]
    beyond = np.broadcast_to(early, values.shape).copy()
    if name == READY:
        beyond |= whole & ~np.isfinite(values)
    return np.where(early | whole, values, np.nan), beyond


def band_table(values: np.ndarray, outcome: np.ndarray, name: str, bad: Bad) -> np.ndarray:
    """(3, ...[, names]) 5th percentile, median and 95th over the draws; plus or minus inf where draws that ended early
    stand, NaN where no draw has the number."""
    kept, beyond = judged_values(values, outcome, name)
    axis = outcome.ndim - 1
    return quantile_table(np.moveaxis(kept, axis, -1), np.moveaxis(beyond, axis, -1), bad)


@dataclass(frozen=True)
class Comparison:
    """Two points over the same draws: in how many the first has more room, in how many the second, and the chance of so
    one-sided a count if neither were better (sign test, two-sided; Arbuthnot 1710, recalled)."""

    better: int
    worse: int
    judged: int
    chance: float

    @property
    def apart(self) -> bool:
        """The draws tell the two apart."""
        return self.chance < SURE

    @property
    def text(self) -> str:
        """In words, from the side of the second point."""
        count = f"less room in {self.better}, more in {self.worse} of {self.judged}"
        return count if self.apart else f"not told apart ({count})"


def compared(first: np.ndarray, second: np.ndarray) -> Comparison:
    """Compare the margins (draws,) of two points; -inf: ended early, NaN: no verdict, then the draw does not count."""
    from scipy.stats import binomtest

    known = ~(np.isnan(first) | np.isnan(second))
    better, worse = int((first[known] > second[known]).sum()), int((first[known] < second[known]).sum())
    chance = float(binomtest(better, better + worse).pvalue) if better + worse else 1.0
    return Comparison(better, worse, int(known.sum()), chance)
