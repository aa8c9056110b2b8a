"""Every discretisation falls with the order of its theory, on grids that take seconds; the page shows finer ones."""

import functools
import math

import pytest

from benchmarks.pages import DOCS
from tests.verification import orders, refinement
from tests.verification.ladder import Ladder

FAST = {part.__module__.rsplit(".", 1)[-1]: part for part in orders.PARTS}


@pytest.fixture(scope="module")
def measured():
    """Ladders of a part, measured once."""
    return functools.cache(lambda name: FAST[name](False))


@pytest.mark.parametrize("name", FAST)
def test_observed_order_is_that_of_theory(name, measured):
    ladders = measured(name)
    assert ladders
    for ladder in ladders:
        assert ladder.holds, f"{ladder.case}: {ladder.errors}, orders {ladder.orders}"


@pytest.mark.parametrize("name", FAST)
def test_a_ladder_that_could_not_fail_is_none(name, measured):
    """Errors above round-off wherever an order is read off, and falling by more than a fifth over the ladder."""
    for ladder in measured(name):
        if ladder.theory is not None:
            assert len(ladder.sizes) >= 3 and min(ladder.errors) > 1e-13
            assert ladder.errors[-1] < 0.8 * ladder.errors[0]


def test_the_order_of_a_power_is_its_exponent():
    """Closed form; a ladder off by more than 0.1 does not hold, nor does an inexact one that should be exact."""

    def ladder(power: float, theory: float | None) -> Ladder:
        sizes = (4, 8, 24)
        return Ladder("", "", "", "1", sizes, tuple(3.0 * n**-power for n in sizes), theory, exact=1e-6)

    assert ladder(1.7, 2.0).orders == pytest.approx((1.7, 1.7))
    assert ladder(1.95, 2.0).holds and not ladder(1.8, 2.0).holds and not ladder(2.2, 2.0).holds
    assert not ladder(2.0, None).holds and ladder(20.0, None).orders[0] == pytest.approx(20.0)


def test_grid_convergence_index_of_a_known_series():
    """f = 10 + h^2 on h = 1, 1/2, 1/4 (closed form): order 2, index 1.25 times the error of the coarse grid, 1."""
    order, band = refinement.index_of(11.0, 10.25, 10.0625)
    assert order == pytest.approx(2.0) and band == pytest.approx(1.25)
    order, band = refinement.index_of(11.0, 10.0, 10.5)
    assert math.isnan(order) and band == pytest.approx(3.0)


def test_grids_are_refined_where_they_say(monkeypatch):
    """Twice the cells of each kind, and only of that kind: the states that layout A gains."""
    counts = {}
    for name, grid in (
        ("shipped", refinement.SHIPPED), ("line", refinement.Grid(line=12)), ("core", refinement.Grid(core=16)),
        ("deck", refinement.Grid(deck=10)), ("wall", refinement.Grid(wall=4)),
    ):  # fmt: skip
        packed = refinement.packed_on("layout_a", grid)
        counts[name] = (len(packed.model.node), len(packed.model.metal))
    nodes, metals = counts["shipped"]
    wide = sum(1 for name in refinement.packed_on("layout_a", refinement.SHIPPED).points if name.endswith(" of 6)"))
    assert counts["deck"] == (nodes, metals + 8 * 2 * 5)  # roof and bridge of eight cylinders
    assert counts["wall"] == (nodes, metals + 8 * 3 * 2)  # port, upper and lower liner
    assert counts["core"] == (nodes + 8, metals + 8)
    assert counts["line"][1] == metals and counts["line"][0] >= nodes + wide


def test_page_has_a_line_for_every_case():
    text = (DOCS / orders.PAGE).read_text(encoding="utf-8")
    for module in (orders.walls, orders.hoses, orders.cores, orders.lookups, orders.steps, orders.cycles):
        assert f"### {module.PART[0].upper()}{module.PART[1:]}" in text
