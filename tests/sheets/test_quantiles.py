"""Quantiles over samples, some of which ended early: closed forms, an independent estimator, how often they cover."""

import math

import numpy as np
import pytest
from scipy import stats
from scipy.stats import qmc

from sim1d.bands import Share, quantile_text, share_of
from sim1d.headlines import HEADLINES, Bad, bad_side, headline_values
from sim1d.quantiles import Quantile, quantiles
from sim1d.sobol import Place, shares


def ends(found):
    return found.low.value, found.middle.value, found.high.value


def test_a_sum_of_two_bands_has_the_quantiles_of_the_triangle():
    """Two inputs uniform in 0 to 1: their sum has the triangular distribution, its 5 % quantile is sqrt(0.1)."""
    points = shares([Place("a", 0), Place("a", 1)], 4096, 1)
    found = quantiles(points.sum(axis=1), np.zeros(4096), Bad.HIGH)
    assert ends(found) == pytest.approx((math.sqrt(0.1), 1.0, 2.0 - math.sqrt(0.1)), abs=0.01)


def test_many_small_bands_add_up_to_a_normal_distribution():
    """A linear model of 40 inputs: mean and variance add up (sum of w/2, sum of w2/12), the sum is normal.

    Of 128 random samples the 5th percentile scatters by 0.19 of the standard deviation (the density there is 0.103:
    sqrt(0.05 0.95 / 128) / 0.103), that of a Latin supercube by less (Owen 1998, recalled).
    """
    places = [Place(f"part {k // 10}", k % 10) for k in range(40)]
    weights = np.linspace(0.5, 1.5, 40)
    middle, spread = weights.sum() / 2, math.sqrt((weights**2).sum() / 12)
    errors = []
    for seed in range(1, 21):
        found = quantiles(shares(places, 128, seed) @ weights, np.zeros(128), Bad.HIGH)
        errors.append((np.array(ends(found)) - (middle + spread * stats.norm.ppf([0.05, 0.5, 0.95]))) / spread)
    low, centre, high = np.sqrt(np.mean(np.square(errors), axis=0))
    assert max(low, high) < 0.19 and centre < 0.111  # sqrt(0.25 / 128) / 0.399 for the median
    assert np.abs(np.mean(errors, axis=0)).max() < 0.1  # no side is favoured


def test_where_inputs_of_a_part_multiply_the_band_scatters_less_than_that_of_a_hypercube():
    """Four inputs of one part multiply, beside 56 that add a little. A hypercube (scipy's) evens out what adds alone.

    Root mean square errors in standard deviations, 180 seeds: 0.14 (95th percentile) and 0.04 (5th), of the hypercube
    0.28 and 0.06, of random points 0.31 and 0.07.
    """
    strong = [Place("engine", k) for k in range(4)]
    weak = [Place(f"line {k // 2}", k % 2) for k in range(56)]

    def ends_of(points):
        product = np.prod(0.6 + 0.8 * points[:, :4], axis=1) + 0.01 * points[:, 4:].sum(axis=1)
        return np.percentile(product, (5.0, 95.0))

    truth = ends_of(np.random.default_rng(0).random((200_000, 60)))
    ours = [ends_of(shares([*strong, *weak], 128, seed)) - truth for seed in range(60)]
    hypercube = [ends_of(qmc.LatinHypercube(60, rng=seed).random(128)) - truth for seed in range(60)]
    ratio = np.sqrt(np.mean(np.square(ours), axis=0) / np.mean(np.square(hypercube), axis=0))
    assert (ratio < 0.85).all(), ratio


def test_a_band_covers_nine_tenths_of_new_samples():
    places, weights = [Place("part", k) for k in range(10)], np.arange(1.0, 11.0)
    fresh = np.random.default_rng(1).random((20000, 10)) @ weights
    inside = []
    for seed in range(20):
        found = quantiles(shares(places, 128, seed) @ weights, np.zeros(128), Bad.HIGH)
        inside.append(np.mean((fresh >= found.low.value) & (fresh <= found.high.value)))
    # of 128 random samples 1 - 2 (0.05 127 + 1) / 129 = 0.886, because percentiles are interpolated between samples
    assert np.mean(inside) == pytest.approx(0.9, abs=0.02)


@pytest.mark.parametrize("bad", [Bad.HIGH, Bad.LOW])
def test_early_ends_at_a_known_threshold_leave_the_quantiles_before_it_as_they_are(bad):
    """Every run past a threshold is cut there: the quantiles before it are exact, those past it are the threshold."""
    truth = np.random.default_rng(4).lognormal(0.0, 0.5, 500)
    threshold = float(np.quantile(truth, 0.8 if bad is Bad.HIGH else 0.2))
    early = truth > threshold if bad is Bad.HIGH else truth < threshold
    seen = np.where(early, threshold, truth)
    found = quantiles(seen, early, bad)
    assert found.middle == Quantile(pytest.approx(np.quantile(truth, 0.5)))
    good, hurt = (found.low, found.high) if bad is Bad.HIGH else (found.high, found.low)
    assert good.value == pytest.approx(np.quantile(truth, 0.05 if bad is Bad.HIGH else 0.95)) and not good.beyond
    assert hurt == Quantile(pytest.approx(threshold), True)
    assert (found.n, found.early) == (500, 100)


def test_the_quantiles_are_those_of_kaplan_and_meier_where_all_ends_are_at_one_value():
    """scipy's product-limit estimator (Kaplan and Meier 1958) treats an early end as a value above its own."""
    truth = np.random.default_rng(8).normal(10.0, 2.0, 101)
    early = truth > 12.0
    seen = np.where(early, 12.0, truth)
    curve = stats.ecdf(stats.CensoredData(uncensored=seen[~early], right=seen[early])).cdf
    found = quantiles(seen, early, Bad.HIGH)
    for percent, value in ((5.0, found.low.value), (50.0, found.middle.value)):
        at = curve.quantiles[np.searchsorted(curve.probabilities, percent / 100.0)]
        assert value == pytest.approx(at, abs=1e-9)  # 101 points: the 5th and 50th percentile are points themselves


def test_an_early_end_never_makes_a_band_kinder():
    """To mark any samples as early ends moves no quantile away from the bad side."""
    rng = np.random.default_rng(6)
    for _ in range(200):
        values = rng.normal(size=30)
        before = quantiles(values, np.zeros(30), Bad.HIGH)
        after = quantiles(values, rng.random(30) < rng.random(), Bad.HIGH)
        assert all(now >= was - 1e-12 for now, was in zip(ends(after), ends(before), strict=True))


def test_means_of_a_pass_have_no_bound_of_their_own():
    found = quantiles([1.0, 2.0, 3.0, 0.5], [False, False, False, True], Bad.HIGH, bound=False)
    assert found.high == Quantile(3.0, True)  # the worst whole day, not what the early end had so far
    none = quantiles([1.0, 2.0], [True, True], Bad.HIGH, bound=False)
    assert math.isnan(none.middle.value) and none.middle.beyond and none.early == 2


def test_lacking_numbers_are_left_out_and_nothing_has_no_band():
    assert quantiles([1.0, math.nan, 3.0], [False] * 3, Bad.HIGH).n == 2
    nothing = quantiles([math.nan], [False], Bad.LOW)
    assert nothing.n == 0 and math.isnan(nothing.middle.value) and not nothing.middle.beyond


def test_text_says_at_least_and_at_most():
    by = {one.name: one for one in HEADLINES}
    assert quantile_text(by["peak_metal_temperature"], Quantile(573.15, True)) == "at least 300.0 C (572 F)"
    assert quantile_text(by["least_subcooling"], Quantile(2.0, True)) == "at most 2.0 K (3.6 F)"
    assert quantile_text(by["time_to_ready"], Quantile(900.0, True)) == "not in this day"
    assert quantile_text(by["pass_total_flow"], Quantile(math.nan, True)) == "ended early"


def test_share_without_a_verdict_is_none():
    assert share_of(0, 0) == Share(0, 0, pytest.approx(math.nan, nan_ok=True), pytest.approx(math.nan, nan_ok=True))


def test_every_headline_is_bad_on_the_side_of_its_key():
    for one in HEADLINES:
        assert bad_side(one.key) is one.bad, one.name
    assert bad_side("energy_residual") is None
    assert math.isnan(headline_values({})["coolant_lost"])
