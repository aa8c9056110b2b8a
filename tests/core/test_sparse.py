"""The fixed-pattern factors against dense linear algebra."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim1d.core.sparse import analyse, factor, solve


def random_matrix(n, density, seed):
    """Entries of a random diagonally dominant matrix, with repeats, and the dense matrix they add up to."""
    rng = np.random.default_rng(seed)
    count = max(int(density * n * n), n)
    rows = np.concatenate([rng.integers(0, n, count), np.arange(n)])
    cols = np.concatenate([rng.integers(0, n, count), np.arange(n)])
    entries = rng.normal(size=len(rows))
    dense = np.zeros((n, n))
    np.add.at(dense, (rows, cols), entries)
    extra = np.abs(dense).sum(axis=1) + 0.1
    entries[-n:] += extra
    dense[np.arange(n), np.arange(n)] += extra
    return rows, cols, entries, dense, rng


def factored(structure, entries):
    values = np.zeros(structure.fill)
    np.add.at(values, structure.slot, entries)
    factor(structure, values)
    return values


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 60), st.floats(0.01, 0.5), st.integers(0, 10**6))
def test_solves_like_dense_algebra(n, density, seed):
    rows, cols, entries, dense, rng = random_matrix(n, density, seed)
    structure = analyse(rows, cols, n)
    values = factored(structure, entries)
    for _ in range(2):  # one factorisation serves many right-hand sides
        x = rng.normal(size=n)
        rhs = dense @ x
        solve(structure, values, rhs, np.empty(structure.n))
        np.testing.assert_allclose(rhs, x, rtol=1e-10, atol=1e-10)


def test_chain_has_no_fill():
    n = 200
    rows = np.concatenate([np.arange(n), np.arange(n - 1), np.arange(1, n)])
    cols = np.concatenate([np.arange(n), np.arange(1, n), np.arange(n - 1)])
    structure = analyse(rows, cols, n)
    assert structure.fill == 3 * n - 2


def test_star_is_eliminated_from_its_tips():
    n = 40
    spokes = np.arange(1, n)
    structure = analyse(np.concatenate([spokes, 0 * spokes]), np.concatenate([0 * spokes, spokes]), n)
    assert structure.fill == 3 * n - 2
    assert structure.order[-1] == 0 or structure.order[-2] == 0


def test_absent_diagonal_is_stored():
    structure = analyse(np.array([0, 1]), np.array([1, 0]), 2)
    assert structure.fill == 4
    values = np.zeros(4)
    values[structure.slot] = [1.0, 2.0]
    values[structure.diagonal] = 5.0
    factor(structure, values)
    rhs = np.array([5.0 * 3.0 + 1.0 * 4.0, 2.0 * 3.0 + 5.0 * 4.0])
    solve(structure, values, rhs, np.empty(structure.n))
    np.testing.assert_allclose(rhs, [3.0, 4.0], rtol=1e-14)


def test_wanted_order_is_kept():
    rows, cols, entries, dense, rng = random_matrix(20, 0.2, 3)
    after = np.array([[0, j] for j in range(1, 10)])
    structure = analyse(rows, cols, 20, after)
    place = {int(i): r for r, i in enumerate(structure.order)}
    assert all(place[0] > place[j] for j in range(1, 10))
    x = rng.normal(size=20)
    rhs = dense @ x
    solve(structure, factored(structure, entries), rhs, np.empty(structure.n))
    np.testing.assert_allclose(rhs, x, rtol=1e-10)


def test_contradictory_order_and_bad_index_are_refused():
    i = np.array([0, 1])
    with pytest.raises(ValueError, match="contradicts"):
        analyse(i, i, 2, np.array([[0, 1], [1, 0]]))
    with pytest.raises(ValueError, match="column index"):
        analyse(i, i + 1, 2)


def test_zero_pivot_gives_no_exception():
    i = np.array([0, 1])
    structure = analyse(i, i, 2)
    values = np.zeros(2)
    rhs = np.ones(2)
    with np.errstate(divide="ignore", invalid="ignore"):  # numpy's warning, where the compiler is off
        factor(structure, values)
        solve(structure, values, rhs, np.empty(structure.n))
    assert not np.isfinite(rhs).any()
