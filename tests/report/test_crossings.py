"""Times and durations between the instants of a run, against closed forms on instants as far apart as a solver's."""

import math

import numpy as np
import pytest

from sim1d.crossings import PARTS, at_moments, finer, first_inside, seconds_above


def column(values) -> np.ndarray:
    return np.asarray(values, dtype=float)[:, None]


def test_a_straight_line_is_counted_to_the_last_digit():
    """From 0 to 10 in 4 s and back in 2 s: above 7.5 for a quarter of both."""
    time, values = np.array([0.0, 4.0, 6.0]), column([0.0, 10.0, 0.0])
    straight = np.vstack([seconds_above(time[k : k + 2], values[k : k + 2], 7.5) for k in (0, 1)])
    np.testing.assert_allclose(straight, [[1.0], [0.5]], rtol=1e-13)
    long = np.linspace(0.0, 8.0, 5)
    np.testing.assert_allclose(seconds_above(long, column(2.0 * long), 7.0), column([0.0, 0.5, 2.0, 2.0]), rtol=1e-12)


def test_what_rests_on_the_limit_is_not_above_it():
    time = np.array([0.0, 1.0, 2.0, 3.0])
    assert not seconds_above(time, column([5.0, 5.0, 5.0, 5.0]), 5.0).any()
    assert seconds_above(time, column([6.0, 6.0, 6.0, 6.0]), 5.0).sum() == 3.0
    assert seconds_above(time, column([5.0, 6.0, 6.0, 5.0]), 5.0).sum() == pytest.approx(3.0, abs=1e-12)


@pytest.mark.parametrize(("step", "left"), [(1.0, 0.06), (0.5, 0.012), (0.25, 0.004)])
def test_half_a_sine_above_its_sine_of_a_sixth(step, left):
    """sin(pi t / 6) is above 1/2 from t = 1 to t = 5; counted by instants a second apart it would be 4 or 5 s."""
    time = np.arange(0.0, 6.0 + step / 2, step) + 0.0
    time[1:-1] += 0.3 * step  # so that no instant meets a crossing
    found = seconds_above(time, column(np.sin(math.pi * time / 6.0)), 0.5).sum()
    assert found == pytest.approx(4.0, abs=left)


def test_cooling_in_steps_of_minutes_is_ready_when_it_is():
    """Newton's law of cooling, 110 degC to air of 30 degC in 500 s: below 65 degC after 500 ln(80/35) s."""
    tau, wanted = 500.0, 500.0 * math.log(80.0 / 35.0)
    time = np.array([0.0, 40.0, 120.0, 250.0, 380.0, 520.0, 700.0, 900.0])
    slow = 30.0 + 80.0 * np.exp(-time / tau)
    found = first_inside(time, np.column_stack([slow, 0.9 * slow]), 20.0, 65.0)
    assert found == pytest.approx(wanted, abs=2.0)
    instant = time[np.argmax(slow <= 65.0)]
    assert instant - wanted > 100.0  # what the instants alone would say


def test_every_value_must_be_inside_at_once():
    """One falls through the window while another still rises to it: never; a wider window has both for a while."""
    time = np.linspace(0.0, 10.0, 11)
    values = np.column_stack([10.0 - 2.0 * time, time])  # to each other at 10/3 s
    assert first_inside(time, values, 4.5, 5.0) is None
    assert first_inside(time, values, 3.0, 4.0) == pytest.approx(3.0, abs=1e-9)
    assert first_inside(time, values, -20.0, 20.0) == 0.0
    assert first_inside(time, np.full((11, 2), 3.5), 3.0, 4.0) == 0.0
    assert first_inside(time, np.full((11, 2), 4.5), 3.0, 4.0) is None


def test_a_jump_of_the_day_is_no_slope():
    """Two instants of one time: each side by itself, nothing lasts there."""
    time = np.array([0.0, 1.0, 2.0, 2.0, 3.0, 4.0])
    values = column([0.0, 0.0, 0.0, 10.0, 10.0, 10.0])
    np.testing.assert_array_equal(seconds_above(time, values, 5.0), column([0.0, 0.0, 0.0, 1.0, 1.0]))
    assert first_inside(time, values, 9.0, 11.0) == 2.0
    assert first_inside(time, values, 4.0, 6.0) is None


def test_nothing_goes_beyond_its_instants():
    """Between two instants nothing is higher or lower than they are, however steep it is beside them."""
    time = np.array([0.0, 10.0, 11.0, 40.0, 41.0])
    line = finer(time, column([0.0, 0.0, 10.0, 10.0, 0.0]))
    assert line.values.min() == 0.0 and line.values.max() == 10.0
    assert len(line.time) == 4 * PARTS + 1 and len(line.interval) == len(line.time) - 1
    assert not seconds_above(time, column([0.0, 0.0, 10.0, 10.0, 0.0]), 10.0).any()


def test_what_is_no_number_counts_for_nothing():
    time, values = np.array([0.0, 1.0, 2.0, 3.0]), column([6.0, np.nan, 6.0, 6.0])
    np.testing.assert_array_equal(seconds_above(time, values, 5.0), column([0.0, 0.0, 1.0]))
    assert first_inside(time, values, 5.0, 7.0) == 2.0
    assert first_inside(time[:1], values[:1], 5.0, 7.0) is None


def test_a_reading_that_cools_is_known_between_steps_of_minutes():
    """A thermometer in coolant that cools by 80 K in 500 s: straight lines are 1.5 K off, half of what shows."""
    time = np.array([0.0, 100.0, 300.0, 600.0, 900.0, 1200.0])
    moments = np.linspace(0.0, 1200.0, 97)
    truth, shown = (30.0 + 80.0 * np.exp(-t / 500.0) for t in (moments, time))
    straight = np.abs(np.interp(moments, time, shown) - truth).max()
    assert straight > 1.4
    assert np.abs(at_moments(time, shown, moments) - truth).max() < 0.25 * straight


def test_a_moment_at_a_jump_is_of_what_follows_and_one_outside_is_none():
    time = np.array([0.0, 1.0, 2.0, 2.0, 3.0, 5.0])
    values = np.array([0.0, 1.0, 2.0, 7.0, 8.0, np.nan])
    found = at_moments(time, values, np.array([-1.0, 0.5, 2.0, 2.5, np.nan, 6.0]))
    np.testing.assert_allclose(found, [np.nan, 0.5, 7.0, 7.5, np.nan, np.nan])
