"""The window of an engine protection cut: from the quietest threshold that no normal day trips to the highest safe one.

Highest safe threshold: what the sensor reads when a rated part reaches its allowed pressure, less the overshoot (worst
credible ramp times the lag of the chain), less the sensor's error. Gas that came past a gasket does not go back, so a
part counts at its worst instant from the trip to the end of the coast, braking included, against the sensor at the
trip. Lowest quiet threshold: the normal maximum, the term of the acceleration where it adds to it, and three standard
deviations over the samples. Where the first lies below the second there is no safe window.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from sim1d.cut_chain import Chain, quicker

SIGMAS = 3.0  # standard deviations of the normal maximum that a quiet threshold stands off


class Judgement(Enum):
    """Where a threshold lies; the value is how it reads."""

    INSIDE = "inside the window"
    TOO_LOW = "too low: a normal day may trip it"
    TOO_HIGH = "too high: a part may pass its allowed pressure before power is gone"
    NO_WINDOW = "no threshold is right: there is no safe window"


@dataclass(frozen=True)
class Window:
    """Lowest quiet and highest safe threshold, Pa gauge at the sensor."""

    lowest: float
    highest: float

    @property
    def width(self) -> float:
        """Highest less lowest, Pa; negative where there is no window."""
        return self.highest - self.lowest

    @property
    def exists(self) -> bool:
        """Some threshold is quiet and safe."""
        return self.width > 0.0

    def judge(self, threshold: float) -> Judgement:
        """Where a threshold (Pa gauge) lies."""
        if not self.exists:
            return Judgement.NO_WINDOW
        if threshold < self.lowest:
            return Judgement.TOO_LOW
        return Judgement.TOO_HIGH if threshold > self.highest else Judgement.INSIDE


@dataclass(frozen=True)
class Terms:
    """What a window is made of, SI; pressures gauge at the sensor.

    `limit` is the reading at which a rated part reaches its allowed pressure, `ramp` Pa/s and `lag` s give the
    overshoot, `error` is the sensor's; `normal` is the normal maximum without the acceleration, `launch` what the
    acceleration adds to it (never negative: a spinning wheel takes it away), `sigma` the standard deviation.
    """

    limit: float
    ramp: float
    lag: float
    error: float
    normal: float
    launch: float
    sigma: float

    @property
    def overshoot(self) -> float:
        """Pressure beyond the threshold when power is gone, Pa."""
        return self.ramp * self.lag

    @property
    def window(self) -> Window:
        """Lowest quiet and highest safe threshold."""
        return Window(self.normal + self.launch + SIGMAS * self.sigma, self.limit - self.overshoot - self.error)


def reading_at_limit(allowed: float, offset: float) -> float:
    """Reading (Pa) of a sensor when a part reaches `allowed`; `offset` is pressure at the part less at the sensor."""
    return allowed - offset


@dataclass(frozen=True)
class Rate:
    """How often something happened in `n` samples, with the exact binomial band (Clopper and Pearson, 95 %)."""

    count: int
    n: int

    @property
    def share(self) -> float:
        """Share of the samples; NaN of none."""
        return self.count / self.n if self.n else math.nan

    @property
    def band(self) -> tuple[float, float]:
        """Least and greatest share that the count allows; everything when nothing was sampled."""
        if not self.n:
            return 0.0, 1.0
        from scipy.stats import binomtest

        found = binomtest(self.count, self.n).proportion_ci(confidence_level=0.95, method="exact")
        return float(found.low), float(found.high)

    def __str__(self) -> str:
        if not self.n:
            return "not sampled"
        low, high = self.band
        return f"{self.count} of {self.n} ({low:.0%} to {high:.0%})"


@dataclass(frozen=True)
class Change:
    """One single change, in words, and the window that it would give."""

    what: str
    window: Window


@dataclass(frozen=True)
class Sampled:
    """What the samples say of one place of the sensor, arrays over samples (Pa gauge).

    `limit` as in Terms; `still` the normal maximum without acceleration, `moving` with it; `error` what the sensor
    itself was drawn to show beside the truth.
    """

    limit: np.ndarray
    still: np.ndarray
    moving: np.ndarray
    error: np.ndarray

    def terms(self, ramp: float, lag: float, error: float) -> Terms:
        """Terms of the window: 5th percentile of the limit, mean and deviation of the normal maximum."""
        added = np.maximum(self.moving - self.still, 0.0)
        maxima = self.still + added + self.error
        sigma = float(np.std(maxima, ddof=1)) if len(maxima) > 1 else 0.0
        return Terms(
            limit=float(np.percentile(self.limit, 5.0)), ramp=ramp, lag=lag, error=error,
            normal=float(np.mean(self.still + self.error)), launch=float(np.mean(added)), sigma=sigma,
        )  # fmt: skip


@dataclass(frozen=True)
class Places:
    """Samples of the sensor where it is, at other points, without the weakest part, and with launch locked out."""

    here: Sampled
    elsewhere: Mapping[str, Sampled]
    second_part: str
    second_limit: np.ndarray
    locked: Sampled


def single_changes(places: Places, terms: Terms, chain: Chain, most_points: int = 3) -> list[Change]:
    """Single changes on this car, best window first: chain, lock-out, place, weakest part, a log of one's own.

    Nothing is simulated again: these follow from the samples that are there.
    """
    found = [Change(what, replace(terms, lag=other.lag).window) for what, other in quicker(chain)]
    everything = chain
    for _ in range(4):
        for _, other in quicker(everything):
            everything = other
            break
    if everything.lag < chain.lag:
        found.append(Change(f"all of the chain quicker ({everything})", replace(terms, lag=everything.lag).window))
    found.append(Change("a lock-out of 1 s at launch", places.locked.terms(terms.ramp, terms.lag, terms.error).window))
    moved = [
        Change(f"the sensor at {point}", sampled.terms(terms.ramp, terms.lag, terms.error).window)
        for point, sampled in places.elsewhere.items()
    ]
    found += sorted(moved, key=lambda change: -change.window.width)[:most_points]
    if places.second_part:
        stronger = replace(terms, limit=float(np.percentile(places.second_limit, 5.0)))
        found.append(Change(f"the weakest part no weaker than the next ({places.second_part})", stronger.window))
    repeat = terms.error / math.sqrt(3.0)  # deviation of an error that is uniform within its bounds
    if repeat < terms.sigma:
        log = replace(terms, sigma=repeat)
        found.append(Change("the normal maximum read from logs of this car's own sound passes", log.window))
    return sorted(found, key=lambda change: -change.window.width)


def rate_of_false_trips(quiet: np.ndarray, threshold: float) -> Rate:
    """Normal days that a threshold trips; `quiet` is the highest threshold that each would trip."""
    known = quiet[~np.isnan(quiet)]
    return Rate(int(np.sum(known >= threshold)), len(known))


def rate_of_misses(caught: np.ndarray, threshold: float) -> Rate:
    """Leaking runs that reach a part's limit before power is gone; `caught` NaN where the limit is never reached."""
    known = caught[~np.isnan(caught)]
    return Rate(int(np.sum(known < threshold)), len(known))
