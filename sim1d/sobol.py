"""Points of a scrambled Sobol' sequence for far more inputs than one spreads well: one sequence for each part.

In few points the columns of a long sequence go together. The first bit of a column is one of 2^(m-1) patterns over 2^m
points, so of more than 64 columns of 128 points two always halve the points alike: a rank correlation of about 0.75,
whatever the scrambling, and 0.75 to 0.94 for the 60 to 77 bands of the examples (20 seeds). Latin supercube sampling
(Owen 1998, recalled) takes a sequence of few columns for each group of inputs and runs through every one in an order of
its own, drawn by chance: inside a group the points keep the balance of the sequence, and between groups they go
together as the columns of a Latin hypercube do: 0.26 to 0.38 for the same bands, of either.
"""

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

MOST = 16  # columns of a sequence: of 128 points two of 16 go together by 0.20 at the most, two of 24 by 0.38
POINTS = 8  # for each column: of 32 points two of four columns go together by 0.28 at the most, two of eight by 0.75


@dataclass(frozen=True)
class Place:
    """Where the points of an input come from: a group of inputs, and its place there, from 0."""

    group: str
    number: int


def shares(places: Sequence[Place], n: int, seed: int) -> np.ndarray:
    """(n, places) shares of each band, 0 to 1. A column hangs on its place, `n` and `seed` alone.

    The first n points of each sequence, which are evenest where n is a power of two: every column then has one point in
    each of n equal parts. A group of more than `MOST`, or n / `POINTS`, inputs has a second sequence, and so on.
    """
    most = min(MOST, max(1, n // POINTS))
    table, drawn = np.empty((n, len(places))), {}
    for place, one in enumerate(places):
        which, column = divmod(one.number, most)
        if (one.group, which) not in drawn:
            drawn[one.group, which] = _points(f"{one.group} {which}", most, n, seed)
        table[:, place] = drawn[one.group, which][:, column]
    return table


def _points(name: str, columns: int, n: int, seed: int) -> np.ndarray:
    """(n, columns) points of one sequence, in an order drawn by chance; always all, whichever are asked for."""
    from scipy.stats import qmc

    own = int.from_bytes(hashlib.blake2b(name.encode(), digest_size=8).digest(), "big")
    rng = np.random.default_rng([seed, own])
    # a power of two and cut: `random` would warn of any other number, as the docstring above and the result do
    points = qmc.Sobol(columns, scramble=True, rng=rng).random_base2(math.ceil(math.log2(n)))[:n]
    return np.asarray(rng.permutation(points))


def largest_correlation(table: np.ndarray) -> float:
    """Greatest rank correlation, by size, of two columns of a table (n, k); 0 where there are no two."""
    from scipy.stats import rankdata

    if table.shape[1] < 2 or len(table) < 3:
        return 0.0
    found = np.abs(np.corrcoef(rankdata(table, axis=0), rowvar=False))
    np.fill_diagonal(found, 0.0)
    return float(found.max())
