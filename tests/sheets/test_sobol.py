"""Sobol' points of each part: balanced inside a part, apart between parts, and the same whatever else is drawn."""

import numpy as np
import pytest
from scipy.stats import qmc

from sim1d.sobol import MOST, Place, largest_correlation, shares
from sim1d.uncertainty import WEIGHTS, described, draw, place_of, ranges
from tests.system.runs import example

LAYOUTS = ("layout_a", "layout_b", "layout_c")


def places(car):
    return [place_of(car, one.path) for one in ranges(car)]


def counts(points, *parts):
    return np.histogramdd(points, parts, [(0.0, 1.0)] * len(parts))[0]


def test_a_part_has_the_balance_of_a_net():
    """The first two columns of Sobol' are a (0, m, 2)-net (Niederreiter 1992, recalled): of 128 points one lies in
    each box of 2^-k by 2^-(7 - k). A hypercube has that for k = 0 and 7 alone."""
    for seed in range(5):
        points = shares([Place("engine", 0), Place("engine", 1)], 128, seed)
        for k in range(8):
            assert (counts(points, 2**k, 2 ** (7 - k)) == 1).all()


@pytest.mark.parametrize("n", [1, 2, 8, 16, 32, 64, 128, 512])
def test_every_column_has_one_point_in_each_of_n_equal_parts(n):
    asked = [Place(group, number) for group in ("a", "b") for number in range(40)]
    for column in shares(asked, n, 3).T:
        assert (counts(column[:, None], n) == 1).all()


def test_other_numbers_are_the_first_points_of_the_next_power_of_two():
    """Every two points that follow each other from an even place lie one in either half, so of 100 it is 50 and 50; and
    no part of 128 has two."""
    for column in shares([Place("a", number) for number in range(MOST)], 100, 1).T:
        assert (counts(column[:, None], 128) <= 1).all()
        assert (counts(column[:, None], 2) == 50).all()


def test_a_column_hangs_on_its_place_alone():
    """So two layouts that share an input draw the same shares of its band: differences between them are no noise."""
    a, b, c = Place("one", 0), Place("one", 5), Place("other", 0)
    for n in (16, 32, 100, 128):
        three, two = shares([a, b, c], n, 5), shares([c, a], n, 5)
        assert np.array_equal(three[:, [2, 0]], two) and not np.array_equal(three, shares([a, b, c], n, 6))
        assert not np.array_equal(three[:, 0], three[:, 2])


def test_no_two_inputs_share_a_column():
    for name in LAYOUTS:
        found = places(example(name))
        assert len(set(found)) == len(found)
        points = shares(found, 128, 1)
        assert len({column.tobytes() for column in points.T}) == len(found)


def test_inputs_that_are_known_move_no_other():
    car = example("layout_a")
    whole = draw(car, 32, 4)
    for known in (["engine.heat.to_coolant"], ["lines.upper.*", "pump.efficiency"]):
        for one, other in zip(whole, draw(car, 32, 4, known), strict=True):
            # the three shares of the heat are moved to add up to 1, which these do not touch
            assert other.values.items() <= one.values.items() and len(other.values) < len(one.values)


def test_a_part_that_two_layouts_share_draws_alike():
    one, other = example("layout_a"), example("layout_c")
    common = {band.path for band in ranges(one)} & {band.path for band in ranges(other)}
    assert len(common) > 50
    assert all(place_of(one, path) == place_of(other, path) for path in common)


def test_the_group_is_the_part_and_the_number_a_field_of_its_kind():
    car = example("layout_a")
    assert place_of(car, "engine.heat.to_coolant").group == place_of(car, "engine.head.enhancement").group == "engine"
    assert (
        place_of(car, "radiator.fins.air_factor").group == "radiator" and place_of(car, "pump.efficiency").number == 0
    )
    assert place_of(car, "lines.upper.stiffness").group == "lines.upper"
    assert place_of(car, f"{WEIGHTS}.3") == Place(WEIGHTS, 3)
    # a line that leaves nothing but its throat open has the same place for it
    assert place_of(car, "lines.upper.throat_share").number == place_of(car, "lines.pump_left.throat_share").number


def test_one_sequence_for_all_bands_would_not_do():
    """Over 2^m points the halves of a Sobol' column are one of 2^(m-1) patterns: more columns than that, and two agree.

    Counted on scipy's own sequence. With equal halves the rank correlation is 0.75 but for what the later bits give.
    """
    halves = qmc.Sobol(77, scramble=False).random_base2(7) >= 0.5
    assert len({column.tobytes() for column in halves.T}) <= 64
    for seed in range(5):
        assert largest_correlation(qmc.Sobol(77, scramble=True, rng=seed).random_base2(7)) > 0.7


@pytest.mark.parametrize("name", LAYOUTS)
def test_columns_come_apart(name):
    """Of 128 random ranks |r| has a standard deviation of 1/sqrt(127); the largest of 2,926 is near 3.7 of them."""
    found = places(example(name))
    engine = [one for one in found if one.group == "engine"]
    for seed in range(1, 6):
        assert largest_correlation(shares(found, 128, seed)) < 0.4
        assert largest_correlation(shares(engine, 128, seed)) < 0.2  # of a hypercube of 15 columns 0.23


def test_the_description_says_what_the_points_are():
    car = example("layout_a")
    whole, odd = described(car, 128, 1), described(car, 100, 1)
    assert whole.startswith("128 scrambled Sobol' points, seed 1") and "77 declared bands" in whole
    assert "100 scrambled Sobol' points (no power of two: less even)" in odd
    assert f"{largest_correlation(shares(places(car), 128, 1)):.2f}" in whole
