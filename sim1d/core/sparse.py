"""Sparse LU factors on a fixed pattern, without pivoting, for small systems (5 to 500 unknowns).

`analyse` runs once, in python: it orders the unknowns by minimum degree (Tinney and Walker, Proc. IEEE 55:1801, 1967;
recalled), finds the fill and writes down what every multiply-add of the elimination changes. `factor` and `solve` then
follow that list: no search, no allocation. Safe without pivoting for matrices that are symmetric positive definite or
diagonally dominant; anything else is the caller's judgement (see `core.hydraulics` and `core.flow_unknowns`).
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from sim1d._jit import kernel
from sim1d.core.handle import maker, register


class Structure(NamedTuple):
    """Where everything stands in the value array (length `fill`) of one pattern of order `n`.

    Row r of the elimination order holds its lower entries at first[r]..diagonal[r] - 1, its pivot at diagonal[r] and
    its upper entries after it up to first[r + 1]. Positions that are read off a table to index another are unsigned:
    the compiler then need not ask for each whether it counts from the end.
    """

    n: int
    fill: int  # entries stored, fill-in included
    slot: np.ndarray  # (entries given) storage position of each (row, column) pair handed to `analyse`
    order: np.ndarray  # (n) unknown that is eliminated r-th
    first: np.ndarray  # (n + 1)
    diagonal: np.ndarray  # (n)
    column: np.ndarray  # (fill) row in which the unknown that an entry multiplies is eliminated
    begin: np.ndarray  # (n + 1) first run of each row: one lower entry times the upper ones of the row it stands for
    lower: np.ndarray  # (runs) storage position of the lower entry
    upper: np.ndarray  # (runs) of the first upper entry, the others follow
    span: np.ndarray  # (runs + 1) first target of each run
    target: np.ndarray  # (multiply-adds) storage position that each one changes


StructureHandle = register(Structure)


@maker(Structure)
@kernel
def make_structure(*fields):
    """Handle of a `Structure` from its fields."""
    return StructureHandle(*fields)


def analyse(rows: np.ndarray, cols: np.ndarray, n: int, after: np.ndarray | None = None) -> Structure:
    """Ordering and elimination list for a matrix of order `n` with entries at `rows[k]`, `cols[k]` (repeats allowed).

    The diagonal is always stored. `after` (m, 2): unknown after[i, 0] is eliminated later than after[i, 1] (for pivots
    that are only sound once others are gone). ValueError for an index outside 0..n-1 or contradictory `after`.
    """
    rows = np.ascontiguousarray(rows, dtype=np.int64)
    cols = np.ascontiguousarray(cols, dtype=np.int64)
    later = np.zeros((0, 2), dtype=np.int64) if after is None else np.ascontiguousarray(after, dtype=np.int64)
    for name, index in (("row", rows), ("column", cols), ("after", later)):
        if index.size and (index.min() < 0 or index.max() >= n):
            raise ValueError(f"a {name} index lies outside 0..{n - 1}")
    return _analyse(rows.tobytes(), cols.tobytes(), n, later.tobytes())


@lru_cache(maxsize=64)  # a sweep packs the same pattern again and again
def _analyse(row_bytes: bytes, column_bytes: bytes, n: int, after_bytes: bytes) -> Structure:
    rows = np.frombuffer(row_bytes, dtype=np.int64)
    cols = np.frombuffer(column_bytes, dtype=np.int64)
    after = np.frombuffer(after_bytes, dtype=np.int64).reshape(-1, 2)
    order, upper = _minimum_degree(rows, cols, n, after)
    rank = np.empty(n, dtype=np.int64)
    rank[order] = np.arange(n)
    # the pattern is made symmetric, so the lower part of row r mirrors the upper part of the columns before it
    later = [sorted(rank[j] for j in upper[i]) for i in order]
    lower: list[list[int]] = [[] for _ in range(n)]
    for r, row in enumerate(later):
        for c in row:
            lower[c].append(r)
    first = np.zeros(n + 1, dtype=np.int32)
    diagonal = np.zeros(n, dtype=np.int32)
    where: dict[tuple[int, int], int] = {}
    pivot: list[int] = []
    for r in range(n):
        for c in (*lower[r], r, *later[r]):
            where[r, c] = len(pivot)
            pivot.append(c)
        diagonal[r] = where[r, r]
        first[r + 1] = len(pivot)
    begin, span = [0], [0]
    runs: list[tuple[int, int]] = []
    target: list[int] = []
    for r in range(n):
        for k in lower[r]:
            if later[k]:
                runs.append((where[r, k], diagonal[k] + 1))
                target.extend(where[r, c] for c in later[k])
                span.append(len(target))
        begin.append(len(runs))
    slot = [where[rank[i], rank[j]] for i, j in zip(rows, cols, strict=True)]
    sides = np.array(runs, dtype=np.uint32).reshape(-1, 2)
    return Structure(
        n, len(pivot),
        *(np.array(part, dtype=np.uint32) for part in (slot, order, first, diagonal, pivot, begin)),
        *(np.ascontiguousarray(sides[:, side]) for side in (0, 1)),
        *(np.array(part, dtype=np.uint32) for part in (span, target)),
    )  # fmt: skip


def _minimum_degree(
    rows: np.ndarray, cols: np.ndarray, n: int, after: np.ndarray
) -> tuple[np.ndarray, list[set[int]]]:  # fmt: skip
    """Elimination order and, for each unknown, those after it that it is coupled to once all before it are gone."""
    near: list[set[int]] = [set() for _ in range(n)]
    for i, j in zip(rows.tolist(), cols.tolist(), strict=True):
        if i != j:
            near[i].add(j)
            near[j].add(i)
    waits: list[set[int]] = [set() for _ in range(n)]
    for late, early in after.tolist():
        waits[late].add(early)
    left = set(range(n))
    order = []
    while left:
        free = [i for i in left if not (waits[i] & left)]
        if not free:
            raise ValueError("the order asked for in `after` contradicts itself")
        chosen = min(free, key=lambda i: (len(near[i]), i))
        left.remove(chosen)
        order.append(chosen)
        for i in near[chosen]:
            near[i] |= near[chosen]
            near[i] -= {i, chosen}
    return np.array(order, dtype=np.int64), near


@kernel
def copy(target, source):
    """target[:] = source, element by element (numpy's form takes seconds to compile: the text of its shape errors)."""
    for k in range(len(source)):
        target[k] = source[k]


@kernel
def factor(structure, values):
    """Replace the matrix in `values` (length structure.fill) by its factors L U, U with ones on its diagonal.

    Crout's form; pivots are stored as reciprocals. Entry k of the pattern belongs at values[structure.slot[k]], all
    others at 0. A pivot of exactly zero gives infinities, never an exception.
    """
    lower, upper, span, target = structure.lower, structure.upper, structure.span, structure.target
    first, diagonal, begin = structure.first, structure.diagonal, structure.begin
    for r in range(structure.n):
        for run in range(begin[r], begin[r + 1]):
            times, q = values[lower[run]], upper[run]
            for c in range(span[run], span[run + 1]):
                values[target[c]] -= times * values[q]
                q += 1
        d = diagonal[r]
        inverse = 1.0 / values[d]
        values[d] = inverse
        for q in range(d + 1, first[r + 1]):
            values[q] *= inverse


@kernel
def solve(structure, values, rhs, room):
    """Replace `rhs` (length n, in the caller's own numbering) by the solution, from the factors in `values`.

    `room` (length n) is for the way there. Each row is summed in two halves: they need not wait for each other.
    """
    column, order, first, diagonal = structure.column, structure.order, structure.first, structure.diagonal
    for r in range(structure.n):
        even, odd = rhs[order[r]], 0.0
        d = diagonal[r]
        p = first[r]
        while p + 1 < d:
            even -= values[p] * room[column[p]]
            odd -= values[p + 1] * room[column[p + 1]]
            p += 2
        if p < d:
            even -= values[p] * room[column[p]]
        room[r] = (even + odd) * values[d]
    for r in range(structure.n - 1, -1, -1):
        even, odd = room[r], 0.0
        q, end = diagonal[r] + 1, first[r + 1]
        while q + 1 < end:
            even -= values[q] * room[column[q]]
            odd -= values[q + 1] * room[column[q + 1]]
            q += 2
        if q < end:
            even -= values[q] * room[column[q]]
        room[r] = even + odd
        rhs[order[r]] = room[r]
