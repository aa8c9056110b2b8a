"""Which inputs widen a number: first-order indices from the samples in hand, and what chance alone would give.

The first-order index of an input is the share of a number's variance that the input explains alone. It is estimated
from any sample by random balance designs with bias correction (SALib `rbd_fast`; Tarantola, Gatelli and Mara 2006,
Plischke 2010, Tissot and Prieur 2012; cited after SALib's own documentation).

Two ways to be misled are closed. Among many inputs some have a high index by chance: an input counts as found only
above the noise, which dummy inputs give. And among few points of many dimensions the columns of two inputs can go
together: each input is picked for what those before it leave over, and those that cannot be told from it are named.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

HARMONICS = 4  # a straight line has 99.8 % of its variance in these; more let in more noise at the same sample count
LEAST = 32  # values: the interval takes half of them, and 16 points have just twice the harmonics; assumed
MOST = 3  # inputs named
RESAMPLES = 100  # of the confidence interval: SALib's default
GROUPS = 20  # dummies per input: inputs that decide nothing exceed the greatest of them once in 21 numbers
TOGETHER = 0.5  # rank correlation of two columns from which they are not told apart; assumed
DEGREE = 3  # of the curve taken off for an input that was picked


@dataclass(frozen=True)
class Influence:
    """One input: its first-order index with the half-width of its 95 % interval (NaN where the values are too few kinds
    for one), and whether it stands above noise.

    `together`: inputs whose drawn values go with its own in these samples, so that either may be the one that acts.
    """

    path: str
    index: float
    half: float
    found: bool
    together: tuple[str, ...] = ()


@dataclass(frozen=True)
class Ranking:
    """The inputs with the largest indices, the strongest first; `noise` is what dummies reach; `why_none` if empty."""

    inputs: tuple[Influence, ...] = ()
    noise: float = float("nan")
    why_none: str = ""


def rank(paths: Sequence[str], inputs: np.ndarray, values: np.ndarray, seed: int = 1) -> Ranking:
    """Rank inputs (samples, paths) by what they explain of `values` (samples,); NaN values are left out."""
    known = np.isfinite(values)
    y, x = np.asarray(values, dtype=float)[known], np.asarray(inputs, dtype=float)[known]
    if len(y) < LEAST:
        return Ranking(why_none=f"{len(y)} values are too few to rank inputs: at least {LEAST}")
    if np.ptp(y) <= 1e-9 * np.abs(y).max():
        return Ranking(why_none="the same in all samples")
    moving = [place for place in range(x.shape[1]) if np.ptp(x[:, place]) > 0.0]
    if not moving:
        return Ranking(why_none="no input has a band")
    noise = _noise(y, len(moving), seed)
    left, open_ = y, list(moving)  # what the inputs picked so far leave over, and those not picked
    found: list[Influence] = []
    while open_ and len(found) < MOST:
        shares = _first_order(x[:, open_], left)
        best = int(np.argmax(shares))
        place = open_.pop(best)
        # inputs are drawn independently, so what another explains is not in this one's share: taking it off first
        # leaves the share of the whole variance as it is and its estimate less noisy
        rest = float(np.var(left) / np.var(y))
        index, half = _with_interval(x[:, place], left, seed)
        found.append(
            Influence(
                paths[place], index * rest, half * rest, bool(shares[best] > noise), _together(paths, x, place, moving)
            )
        )
        left = _without(x[:, place], left)
        if np.ptp(left) <= 1e-6 * np.ptp(y):
            break  # all explained
    return Ranking(tuple(found), noise)


def _first_order(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """First-order index of every column of x (n, k) for y (n,): SALib's `compute_first_order`, all columns at once."""
    from SALib.analyze import rbd_fast
    from scipy.signal import periodogram

    ordered = np.array([rbd_fast.permute_outputs(column, y) for column in x.T])
    _, power = periodogram(ordered)
    share = power[:, 1 : HARMONICS + 1].sum(axis=1) / power[:, 1:].sum(axis=1)
    return np.asarray(rbd_fast.unskew_S1(share, HARMONICS, len(y)))


def _with_interval(x: np.ndarray, y: np.ndarray, seed: int) -> tuple[float, float]:
    from SALib.analyze import rbd_fast

    problem = {"num_vars": 1, "names": ["x"]}
    with np.errstate(invalid="ignore", divide="ignore"):  # a resample may hold none of a few early ends: no interval
        found = rbd_fast.analyze(problem, x[:, None], y, M=HARMONICS, num_resamples=RESAMPLES, seed=seed)
    return float(found["S1"][0]), float(found["S1_conf"][0])


def _noise(y: np.ndarray, inputs: int, seed: int) -> float:
    """The greatest index of `GROUPS` times as many dummies as there are inputs."""
    rng = np.random.default_rng(seed)
    return float(_first_order(rng.random((len(y), GROUPS * inputs)), y).max())


def _without(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """What a smooth curve over x leaves of y."""
    curve = np.polynomial.Legendre.fit(x, y, DEGREE)
    return y - curve(x)


def _together(paths: Sequence[str], x: np.ndarray, place: int, moving: Sequence[int]) -> tuple[str, ...]:
    from scipy.stats import rankdata

    ranks = rankdata(x, axis=0)
    others = [other for other in moving if other != place]
    return tuple(
        paths[other] for other in others if abs(np.corrcoef(ranks[:, other], ranks[:, place])[0, 1]) >= TOGETHER
    )
