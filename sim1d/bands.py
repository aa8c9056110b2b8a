"""Bands of the headline numbers of a day: sample the car, read every run, keep the result beside what it belongs to.

A result carries the identity of the car, the bands and the day it was made of, so that a later run of the same shows it
and a run of any other refuses it, saying why.
"""

import hashlib
import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.errors import DescriptionError, Outcome
from sim1d.headlines import HEADLINES, READY, Headline, headline_values
from sim1d.quantiles import Quantile, Quantiles, quantiles
from sim1d.uncertainty import described, draw, ranges

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day

SAMPLES = 128  # a power of two, evenest of Sobol' points; six of them lie outside either end of a band
# the model failed, not the car: such a sample says nothing and is left out
NO_VERDICT = (
    Outcome.NETWORK_FAILED, Outcome.BOOKS_OPEN, Outcome.STEP_FAILED, Outcome.BAD_DESCRIPTION, Outcome.WORKER_DIED,
)  # fmt: skip
CONFIDENCE = 0.90  # of the band on a share: as wide as 5th to 95th percentile


@dataclass(frozen=True)
class Identity:
    """What a result belongs to: hash of the packed car and day, of the bands, and of the sources of the physics."""

    fingerprint: str
    ranges: str
    sources: str


@dataclass(frozen=True)
class SampleRun:
    """One sample over the day: outcome (a sentence), headline numbers (SI, NaN: none), hottest cylinder, and whether
    it completed and held every limit (None: no verdict)."""

    outcome: str
    numbers: Mapping[str, float] = field(default_factory=dict)
    hottest: str = ""
    holds: bool | None = None

    @property
    def completed(self) -> bool:
        """The whole day was simulated."""
        return self.outcome.startswith(Outcome.COMPLETED.value)

    @property
    def early(self) -> bool:
        """The car did not last the day."""
        return is_early(self.outcome)


@dataclass(frozen=True)
class Share:
    """A count of samples out of those judged, with the exact binomial band of the share (Clopper and Pearson 1934)."""

    count: int
    judged: int
    low: float
    high: float

    @property
    def value(self) -> float:
        """The share; NaN when none was judged."""
        return self.count / self.judged if self.judged else math.nan


@dataclass(frozen=True)
class NumberBand:
    """A headline number: that of the file's own values (NaN: none; `nominal_early`: that run ended early), and its
    quantiles over the samples. `lacking` counts the completed samples without such a number, which are left out."""

    headline: Headline
    nominal: float
    nominal_early: bool
    over: Quantiles
    lacking: int = 0

    @property
    def middle_text(self) -> str:
        """The median as text."""
        return quantile_text(self.headline, self.over.middle)

    @property
    def band_text(self) -> str:
        """The band as text, its worse end "at least" or "at most" where samples ended early."""
        low, high = (quantile_text(self.headline, one) for one in (self.over.low, self.over.high))
        return low if low == high else f"{low} to {high}"

    @property
    def nominal_text(self) -> str:
        """The number of the file's own values as text."""
        if math.isnan(self.nominal):
            return "not in this day" if self.headline.name == READY else "-"
        return self.headline.shown(self.nominal) + (" (ended early)" if self.nominal_early else "")


@dataclass(frozen=True)
class Bands:
    """The bands of a car and a day. `outcomes` counts the samples by how they ended; `widened_by`: for a headline, the
    paths of the inputs that widen it most, where that was ranked."""

    car: str
    day: str
    identity: Identity
    seed: int
    asked: int
    how: str
    nominal_outcome: str
    outcomes: Mapping[str, int]
    numbers: tuple[NumberBand, ...]
    holding: Share
    early: Share
    hottest: Mapping[str, int]
    widened_by: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def completed(self) -> int:
        """Samples whose day ran to its end."""
        return self.outcomes.get(Outcome.COMPLETED.value, 0)

    @property
    def usable(self) -> int:
        """Samples that say something: completed, or ended early."""
        return self.early.judged

    def of(self, name: str) -> NumberBand | None:
        """The band of a headline; None where no sample has the number."""
        return next((one for one in self.numbers if one.headline.name == name), None)

    def of_limit(self, key: str) -> NumberBand | None:
        """The band of the number that a check of the verdict holds against its limit."""
        return next((one for one in self.numbers if one.headline.limit == key), None)

    @property
    def counted(self) -> str:
        """How many samples stand behind the bands, how many held every limit, how many ended early and how."""
        lines = [
            f"{self.completed} of {self.asked} samples completed; {share_text(self.holding)} hold every limit; "
            f"{share_text(self.early)} ended early"
        ]
        return "; ".join(line.removesuffix(".") for line in (*lines, *self.how_ended()))

    def how_ended(self) -> list[str]:
        """How the samples that did not complete ended, most frequent first: "12: Coolant boiled ..."."""
        return [f"{count}: {text}" for text, count in self.outcomes.items() if text != Outcome.COMPLETED.value]


@dataclass(frozen=True)
class NoBands:
    """Why the numbers of a run have no band, and the command that gives them one."""

    why: str
    command: str

    def __str__(self) -> str:
        return f"These numbers have no band: {self.why}. {self.command} gives every one its middle and band."


NOT_SAMPLED = NoBands("this is one run of the file's own values", "sim1d run CAR DAY --bands 128")


def quantile_text(headline: Headline, one: Quantile) -> str:
    """A quantile as text."""
    if one.beyond and headline.name == READY:
        return "not in this day"
    if math.isnan(one.value):
        return "ended early" if one.beyond else "-"
    word = "" if not one.beyond else "at least " if headline.bad.value > 0 else "at most "
    return word + headline.shown(one.value)


def share_text(share: Share) -> str:
    """A share and its binomial band: "61 % (54 to 68 %)"."""
    if not share.judged:
        return "-"
    return f"{100 * share.value:.0f} % ({100 * share.low:.0f} to {100 * share.high:.0f} %)"


def sentence(outcome: str) -> str:
    """How a run ended without where and when, which differ from sample to sample."""
    return next((one.value for one in Outcome if outcome.startswith(one.value)), outcome)


def is_early(outcome: str) -> bool:
    """A run that ended before its day because the car did not last: no completed one and none that the model lost."""
    known = any(outcome.startswith(one.value) for one in Outcome)
    without = (Outcome.COMPLETED, *NO_VERDICT)
    return known and not any(outcome.startswith(one.value) for one in without)


def read_run(summary: Mapping[str, Any]) -> SampleRun:
    """A run out of its summary."""
    outcome = str(summary["outcome"])
    completed = outcome.startswith(Outcome.COMPLETED.value)
    metal = {name: value for name, value in summary["peak_metal_temperature_K"].items() if value is not None}
    holds = completed and not summary["limits_failed"] if completed or is_early(outcome) else None
    return SampleRun(outcome, headline_values(summary), max(metal, key=metal.__getitem__, default=""), holds)


def sample_run(car: "Car", day: "Day") -> SampleRun:
    """Simulate one car over a day and read it; a car that the bands make impossible is an outcome, not an error."""
    from sim1d.simulation import simulate
    from sim1d.summary import summarise

    try:
        return read_run(summarise(simulate(car, day)))
    except DescriptionError as error:
        reason = "; ".join(f"{problem.where}: {problem.what}" for problem in error.problems)
        return SampleRun(f"{Outcome.BAD_DESCRIPTION.value} ({reason[:500]})")


def bands_of(car: "Car", day: "Day", runs: Sequence[SampleRun], nominal: SampleRun, seed: int = 1) -> Bands:
    """Bands from the runs of the samples `draw(car, len(runs), seed)`, in any order, and the run of the file itself."""
    kept = [one for one in runs if one.completed or one.early]
    early = np.array([one.early for one in kept], dtype=bool)
    judged = [one.holds for one in runs if one.holds is not None]
    return Bands(
        car=str(car.name),
        day=str(day.name),
        identity=identity_of(car, day),
        seed=seed,
        asked=len(runs),
        how=described(car, len(runs), seed) + "; the day is as given",
        nominal_outcome=nominal.outcome,
        outcomes=dict(Counter(sentence(one.outcome) for one in runs).most_common()),
        numbers=tuple(
            found for one in HEADLINES if (found := _number_band(one, kept, early, nominal)) is not None
        ),
        holding=share_of(sum(judged), len(judged)),
        early=share_of(int(early.sum()), len(kept)),
        hottest=dict(Counter(one.hottest for one in kept if one.completed and one.hottest).most_common()),
    )  # fmt: skip


def _number_band(one: Headline, kept: Sequence[SampleRun], early: np.ndarray, nominal: SampleRun) -> NumberBand | None:
    values = np.array([run.numbers.get(one.name, math.nan) for run in kept])
    own = nominal.numbers.get(one.name, math.nan)
    if not np.isfinite(values).any() and math.isnan(own):
        return None  # the circuit or the day has no such number
    beyond = is_beyond(one, values, early)
    lacking = int((~beyond & ~np.isfinite(values)).sum())
    return NumberBand(one, own, nominal.early, quantiles(values, beyond, one.bad, one.bound), lacking)


def is_beyond(one: Headline, values: np.ndarray, early: np.ndarray) -> np.ndarray:
    """Samples that stand at the bad end: those that ended early, and those that were never ready again."""
    return early | ~np.isfinite(values) if one.name == READY else early


def share_of(count: int, judged: int) -> Share:
    """A share with its exact binomial band."""
    from scipy.stats import binomtest

    if not judged:
        return Share(0, 0, math.nan, math.nan)
    ends = binomtest(count, judged).proportion_ci(CONFIDENCE, method="exact")
    return Share(count, judged, float(ends.low), float(ends.high))


def run_bands(
    car: "Car", day: "Day", nominal: SampleRun, samples: int = SAMPLES, *, seed: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> Bands:  # fmt: skip
    """Draw `samples` cars and simulate them one after the other; `progress(done, all)` is called after each."""
    runs = []
    for one in draw(car, samples, seed):
        runs.append(sample_run(one.car, day))
        if progress is not None:
            progress(len(runs), samples)
    return bands_of(car, day, runs, nominal, seed)


def identity_of(car: "Car", day: "Day") -> Identity:
    """The identity of a car, its bands and a day."""
    from sim1d._jit import source_hash
    from sim1d.prepare import fingerprint

    text = repr([(one.path, one.low, one.high) for one in ranges(car)])
    return Identity(
        str(fingerprint(car, day)), hashlib.blake2b(text.encode(), digest_size=8).hexdigest(), str(source_hash())
    )


def why_stale(found: Bands, now: Identity) -> str:
    """Why bands are not those of a car and day; "" where they are."""
    if found.identity.fingerprint != now.fingerprint:
        return f'it was made of another car or day ("{found.car}", "{found.day}", or values changed since)'
    if found.identity.ranges != now.ranges:
        return "the bands of the inputs changed since: another value is given, or left out"
    if found.identity.sources != now.sources:
        return "the program itself changed since"
    return ""
