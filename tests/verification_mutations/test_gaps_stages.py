"""Stages of a step, flows that a step takes as they nearly fit, and what a stride says of its end, by hand.

The car is the shipped layout A (invented data).
"""

import numpy as np
import pytest

from sim1d.core import method as w_method
from sim1d.core.handle import handle
from sim1d.core.limits import Limits
from sim1d.core.rhs import derivative_at, derivative_near, unbalance
from sim1d.core.stride import Watched, stride

from .start import Start


def off(b: int, by: float) -> tuple[Start, bool, np.ndarray, np.ndarray]:
    """A hot engine with the flow of one branch off by this share: the car, whether the flow is taken as it is, what
    the laws are said to miss (Pa), and what they missed before."""
    start = Start("hot")
    at = start.time, start.state, start.phase, *start.handles
    start.work.flow[b] *= 1.0 + by
    given, said, missed = start.work.flow.copy(), *np.full((2, len(start.work.flow)), np.nan)
    unbalance(*at, missed)
    assert derivative_near(*at, np.zeros(len(start.state)), said)
    return start, bool((start.work.flow == given).all()), said, missed


def branches(least: float, most: float) -> list[int]:
    """Those that carry a share of the largest flow between these two, away from the momentum of galleries."""
    start = Start("hot")
    network, share = start.model.network, np.abs(start.work.flow) / np.abs(start.work.flow).max()
    along = {int(b) for name in ("branch", "before", "after") for b in network.station[name]}
    found = [int(b) for b in np.flatnonzero((share > least) & (share < most)) if b not in along]
    assert len(found) > 1
    return found[:: len(found) - 1]


# Stages of a step -----------------------------------------------------------------------------------------------------


def test_a_step_costs_three_evaluations_as_its_last_stage_stands_where_the_one_before_does():
    method = w_method.coefficients()
    last = len(method.time) - 1
    assert last == w_method.SHARED
    np.testing.assert_array_equal(w_method._ALPHA[last], w_method._ALPHA[last - 1])
    assert method.time[last] == method.time[last - 1]
    start = Start("hot")
    assert start.march(0.01, 1.0)[0]
    assert start.arrays.counters.tolist() == [3, 1, 0]


def test_a_step_forgets_flows_that_do_not_fit_at_its_start():
    """Flows of an engine that turned a thousandth faster, over a step too short to warm anything.

    A method that leaves nothing of the stiffest carries heat as if flows had fitted all along: so it does in the lump
    that they would have warmed or cooled the most, and ends with those that fit. By its own coefficients a step that
    does not know what the laws miss carries a sixth of the difference.
    """
    start, exact = (Start("hot", lasting=1.0, speed=(speed, speed)) for speed in (600.6, 600.0))
    gap = np.abs(start.work.flow - exact.work.flow).max()
    assert gap > 5e-4 * np.abs(exact.work.flow).max()
    start.phase.speed = 600.0, 600.0
    at = start.time, start.state, start.phase, *start.handles
    assert derivative_at(*at, start.arrays.rate, start.arrays.left)
    h, lumps = 1e-5, slice(start.model.layout.lag)
    excess = h * (start.arrays.rate - exact.arrays.rate)[lumps]
    most = np.abs(excess).argmax()
    assert abs(excess[most]) > 1e-3  # J/kg
    for car in (start, exact):
        assert car.advance(h)[0]
    moved = (start.arrays.trial - exact.arrays.trial)[lumps]
    assert moved[most] == pytest.approx(0.0, abs=0.02 * abs(excess[most]))
    np.testing.assert_allclose(start.work.flow, exact.work.flow, rtol=0.0, atol=0.01 * gap)


def test_a_step_hands_on_the_rate_at_its_end_and_what_the_laws_miss_there():
    """At the time, the state and the flows that it leaves. Gauges have rates of their own (a straight line)."""
    start = Start("hot")
    succeeded, length, _ = start.march(0.05, 1.0)
    assert succeeded and start.phase.speed[0] != start.phase.speed[1]
    step, rated = start.arrays, slice(start.model.layout.sensor)
    rate, pascal = np.zeros(len(start.state)), np.zeros(len(start.work.flow))
    assert derivative_at(start.time + length, step.trial, start.phase, *start.handles, rate, pascal)
    most = np.abs(pascal).max()
    assert most > 1e-6 * np.abs(start.work.solver.loss).max()
    np.testing.assert_allclose(step.left, pascal, atol=1e-4 * most)
    np.testing.assert_allclose(step.moved[rated], rate[rated], rtol=1e-6, atol=1e-9 * np.abs(rate[rated]).max())


@pytest.mark.parametrize("group", ["metal", "sensor"])
def test_an_attempt_that_blows_up_leaves_nothing_to_the_next(group):
    """A rate without bound, of a metal, on which much depends, or of a sensor, on which nothing does.

    With the true rate the next attempt comes to the same as one with nothing before it.
    """
    clean, start = Start("hot"), Start("hot")
    assert clean.advance(0.01)[0]
    true = start.arrays.rate.copy()
    start.arrays.rate[getattr(start.model.layout, group)] = np.inf
    with np.errstate(invalid="ignore", over="ignore"):
        assert start.advance(0.01) == (False, 10.0)
    for left in (start.arrays.u, start.arrays.flow_u, start.arrays.pressure_u):
        assert np.isfinite(left).all()
    start.arrays.rate[:] = true
    assert start.advance(0.01, fresh=False)[0]
    np.testing.assert_allclose(start.arrays.trial, clean.arrays.trial, rtol=1e-6, atol=1e-15)


@pytest.mark.parametrize(("group", "wild"), [("store", 1e12), ("metal", 1e20), ("lag", 1e300)])
def test_an_attempt_that_goes_wild_leaves_nothing_to_the_next(group, wild):
    """Its stages are numbers, however large: what comes before a stage alone weighs in it."""
    clean, start = Start("hot", 1.0), Start("hot", 1.0)
    clean.advance(0.01)
    true = start.arrays.rate.copy()
    start.arrays.rate[getattr(start.model.layout, group)] = wild
    with np.errstate(over="ignore", invalid="ignore"):
        assert not start.advance(0.01)[0]
    start.arrays.rate[:] = true
    start.advance(0.01, fresh=False)
    np.testing.assert_allclose(start.arrays.trial, clean.arrays.trial, rtol=1e-6, atol=1e-15)


# Flows that nearly fit ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("by", [-0.05, 0.05])
def test_flows_off_by_a_twentieth_are_taken_and_what_they_miss_is_said(by):
    for b in branches(0.12, 0.14):
        _, taken, said, missed = off(b, by)
        assert taken
        assert np.abs(missed).max() > 10.0
        np.testing.assert_array_equal(said, missed)


@pytest.mark.parametrize("by", [-0.5, 0.5])
def test_flows_off_by_half_are_solved_for_and_miss_nothing(by):
    """Of a branch by its own flow: this one carries an eighth of the largest."""
    for b in branches(0.12, 0.14):
        start, taken, said, missed = off(b, by)
        assert not taken
        assert np.abs(missed).max() > 10.0
        assert not said.any()
        np.testing.assert_allclose(start.work.flow, Start("hot").work.flow, rtol=0.01)


@pytest.mark.parametrize("by", [-0.5, 0.5])
def test_a_branch_that_carries_next_to_nothing_asks_for_no_solution(by):
    """Off by half of what it carries, which is a fortieth of the largest flow at most."""
    assert all(off(b, by)[1] for b in branches(0.0, 0.025))


# What a stride says of its end ----------------------------------------------------------------------------------------


def strided(threshold: float) -> tuple[Start, int, float]:
    """A stride of 1 s that ends where the first filtered reading crosses `threshold`: (car, steps, held back).

    The share of steam of a lump, which lags and fades, is nearer to its limit than anything else.
    """
    start = Start("cold", lasting=2.0)
    at, record = start.model.layout, start.space.record
    start.state[at.lag + 2], start.state[at.cut] = 0.2, start.state[at.sensor + start.model.cut.sensor[0]] - 1e4
    start.evaluate(start.time, start.state, start.arrays.rate)
    limits = Limits(
        dry_void=0.3, starved_volume=1e3, melting=1e9, freezing=100.0, rated_node=np.array([0]),
        rated_stop=np.array([1e12]),
    )  # fmt: skip
    watched = handle(Watched(-1, 0.0, 0.0, np.array([threshold])))
    record.time[0], record.state[0] = start.time, start.state
    count, held, _, succeeded = stride(
        start.time + 1.0, 0.02, start.phase, *start.rest, handle(limits), watched, start.space.rows
    )
    assert succeeded
    return start, count, held


def test_a_stride_says_the_margins_where_its_last_step_and_the_one_held_back_end():
    """Read from the states; the reading first crosses nothing, then the middle of the third step."""
    whole, count, held = strided(np.nan)
    at, record = whole.model.layout, whole.space.record
    margin = 0.3 - record.state[: count + 1, at.lag : at.metal].max(axis=1)
    assert count > 3 and np.isnan(held) and (np.diff(margin[:4]) > 1e-3).all()
    assert record.ends[0].tolist() == [record.time[count], pytest.approx(margin[count])]
    reading = record.state[:, at.cut]
    cut, count, held = strided(0.5 * (reading[2] + reading[3]))
    assert (count, held) == (2, record.time[3])
    wanted = [[record.time[k], margin[k]] for k in (2, 3)]
    np.testing.assert_allclose(cut.space.record.ends, wanted, rtol=1e-9)
