"""Sparse LU factors on a fixed pattern, without pivoting, for small systems (5 to 500 unknowns).

`analyse` runs once, in python: it orders the unknowns by minimum degree (Tinney and Walker, Proc. IEEE 55:1801, 1967;
recalled), finds the fill and writes down every multiply-add of the elimination as three storage positions. `factor` and
`solve` then follow that list: no search, no allocation, no work vector, one loop a row. Safe without pivoting for
matrices that are symmetric positive definite or diagonally dominant; anything else is the caller's judgement (see
`core.hydraulics` and `core.flow_unknowns`).
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
    column: np.ndarray  # (fill) unknown that an entry multiplies
    begin: np.ndarray  # (n + 1) first multiply-add of each row
    target: np.ndarray  # (multiply-adds) storage position that each one changes
    left: np.ndarray  # (multiply-adds) of the lower entry
    right: np.ndarray  # (multiply-adds) of the upper entry


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
    begin = np.zeros(n + 1, dtype=np.int64)
    work: list[tuple[int, int, int]] = []
    for r in range(n):
        work.extend((where[r, c], where[r, k], where[k, c]) for k in lower[r] for c in later[k])
        begin[r + 1] = len(work)
    slot = np.array([where[rank[i], rank[j]] for i, j in zip(rows, cols, strict=True)], dtype=np.uint32)
    steps = np.array(work, dtype=np.uint32).reshape(-1, 3)
    column = order[np.array(pivot, dtype=np.int64)].astype(np.uint32)
    return Structure(
        n, len(pivot), slot, order.astype(np.uint32), first, diagonal, column, begin,
        *(np.ascontiguousarray(steps[:, side]) for side in range(3)),
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
    target, left, right = structure.target, structure.left, structure.right
    first, diagonal, begin = structure.first, structure.diagonal, structure.begin
    for r in range(structure.n):
        for c in range(begin[r], begin[r + 1]):
            values[target[c]] -= values[left[c]] * values[right[c]]
        d = diagonal[r]
        inverse = 1.0 / values[d]
        values[d] = inverse
        for q in range(d + 1, first[r + 1]):
            values[q] *= inverse


@kernel
def solve(structure, values, rhs):
    """Replace `rhs` (length n, in the caller's own numbering) by the solution, from the factors in `values`."""
    column, order, first, diagonal = structure.column, structure.order, structure.first, structure.diagonal
    for r in range(structure.n):
        total = rhs[order[r]]
        d = diagonal[r]
        for p in range(first[r], d):
            total -= values[p] * rhs[column[p]]
        rhs[order[r]] = total * values[d]
    for r in range(structure.n - 1, -1, -1):
        total = rhs[order[r]]
        for q in range(diagonal[r] + 1, first[r + 1]):
            total -= values[q] * rhs[column[q]]
        rhs[order[r]] = total
