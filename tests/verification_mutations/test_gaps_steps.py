"""Choice, repetition and start of steps, by hand: mistakes here cost steps and hardly any accuracy.

The car is the shipped layout A or one with a recovery tank (invented data).
"""

import numpy as np
import pytest

from sim1d.core import stepper
from sim1d.core.books import ways_out
from sim1d.core.method import GAMMA
from sim1d.core.pace import KEEN, NEAR, SHARPER, TELLING, growth, sharpen
from sim1d.core.rhs import derivative_at
from sim1d.core.solver import EAGER, FIRST
from sim1d.core.sparse import analyse, factor, solve
from sim1d.core.stepper import ASTRAY

from .start import ANY, Start

# Parts of a step ------------------------------------------------------------------------------------------------------


def test_factors_and_solution_of_four_unknowns():
    """All coupled; factors in whole numbers, the matrix is their product: each row sums three entries either way."""
    lower = np.array([[2.0, 0.0, 0.0, 0.0], [4.0, 1.0, 0.0, 0.0], [6.0, 3.0, 5.0, 0.0], [8.0, 2.0, 7.0, 4.0]])
    upper = np.array([[1.0, 2.0, 3.0, 4.0], [0.0, 1.0, 5.0, 6.0], [0.0, 0.0, 1.0, 7.0], [0.0, 0.0, 0.0, 1.0]])
    rows, columns = np.indices((4, 4)).reshape(2, -1)
    structure = analyse(rows, columns, 4)
    np.testing.assert_array_equal(structure.order, range(4))
    values, x = np.zeros(structure.fill), np.array([1.0, -2.0, 3.0, -5.0])
    values[structure.slot] = (lower @ upper).ravel()
    factor(structure, values)
    wanted = np.tril(lower, -1) + np.triu(upper, 1) + np.diag(1.0 / lower.diagonal())
    np.testing.assert_allclose(values[structure.slot].reshape(4, 4), wanted, rtol=1e-14)
    right = lower @ upper @ x
    solve(structure, values, right, np.full(4, np.nan))
    np.testing.assert_allclose(right, x, rtol=1e-13)


def test_flows_that_are_given_are_taken_as_they_are():
    """At the flows of the network its laws miss nothing and the rates are the same, whatever the pumps did before.

    1 Pa more at a junction pushes into the branches that begin there, against those that end there.
    """
    start = Start("hot")
    size, branch = len(start.state), start.model.network.branch
    rate, pascal = np.zeros(size), np.full(len(branch), np.nan)
    start.work.pump_speed[:] = start.work.pump_power[:] = start.work.pump_current[:] = 7.0
    at = start.time, start.state, start.phase, *start.handles, rate
    assert derivative_at(*at, pascal)
    close = 1e-7 * np.abs(start.work.solver.loss).max()
    np.testing.assert_allclose(pascal, 0.0, atol=close)
    np.testing.assert_allclose(rate, start.arrays.rate, rtol=1e-6, atol=1e-9 * np.abs(rate).max())
    place = int(branch.end[branch.pump >= 0][0])
    start.work.pressure[place] += 1.0
    assert derivative_at(*at, pascal)
    wanted = (branch.start == place).astype(float) - (branch.end == place)
    np.testing.assert_allclose(pascal, wanted, atol=2.0 * close)


@pytest.mark.parametrize(("gauge", "full"), [(-1.0, 0.94), (1.0, 0.94), (1.0, 0.96)])
def test_caps_draw_below_ambient_and_a_recovery_tank_keeps_what_it_has_room_for(gauge, full):
    """1 Pa either side of ambient under the cap; a tank to just below and just above 95 % of its volume."""
    start = Start("cold", car="recovery")
    cap, ambient = start.model.cap[0], start.model.system[0].ambient_pressure
    start.work.absolute[cap.node] = ambient + gauge
    start.state[start.model.layout.ledger + 7] = full * start.work.density[cap.node] * cap.recovery
    closing = np.full(2, np.nan)
    ways_out(*start.handles, start.state, closing)
    np.testing.assert_array_equal(closing, [float(gauge < 0.0), float(full < 0.95)])


# What changes with time alone ----------------------------------------------------------------------------------------


def test_laws_drift_by_the_push_that_a_launch_gains():
    """From 10 to 12 m/s2 over the step: the column of a branch pushes with its density, length and 2 m/s2 more."""
    h = 0.3
    start = Start("hot", lasting=h, acceleration=(10.0, 12.0))
    step, node, branch = start.arrays, start.model.node, start.model.network.branch
    wanted = 2.0 * start.work.branch_density * (node.x[branch.end] - node.x[branch.start])
    assert start.advance(h)[0]
    assert np.abs(wanted).max() > 500.0
    np.testing.assert_allclose(h * step.drift, wanted, rtol=1e-12)


def test_load_that_rises_over_a_step_heats_by_its_mean():
    """Beside a load that stays: over a step too short to warm anything, half of what the rates gain from end to end."""
    h = 1e-3
    steady, rising = (Start("hot", lasting=h, load=(0.5, end)) for end in (0.5, 0.51))
    for start in (steady, rising):
        start.advance(h)
    gained = rising.arrays.trial - steady.arrays.trial
    end = rising.evaluate(rising.time + h, rising.state, np.zeros(len(rising.state)))
    wanted = 0.5 * h * (end - steady.arrays.rate)
    at = rising.model.layout
    assert wanted[at.ledger] > 0.1  # J
    assert gained[at.ledger] == pytest.approx(wanted[at.ledger], rel=0.02)
    metal = slice(at.metal, at.dry)
    np.testing.assert_allclose(gained[metal], wanted[metal], rtol=0.0, atol=0.02 * wanted[metal].max())


def test_flows_of_every_stage_are_those_of_its_time():
    """An engine that turns a hundredth faster at the end of a step too short to warm anything.

    Where laws are straight each stage has the flows of its own time, and the step ends with those of the end.
    """
    h = 1e-4
    start = Start("hot", lasting=h, speed=(600.0, 606.0))
    flow, pressure = start.work.flow.copy(), start.work.pressure.copy()
    start.advance(h)
    stages = start.method.a @ start.arrays.flow_u
    after, pressed = start.work.flow.copy(), start.work.pressure.copy()
    start.evaluate(start.time + h, start.state, np.zeros(len(start.state)))
    moved, lifted = start.work.flow - flow, start.work.pressure - pressure
    most = np.abs(moved).max()
    assert most > 0.005 * np.abs(flow).max() and np.abs(lifted).max() > 500.0
    np.testing.assert_allclose(stages, np.outer(start.method.time, moved), atol=0.05 * most)
    np.testing.assert_allclose(after - flow, moved, atol=2e-3 * most)
    np.testing.assert_allclose(pressed - pressure, lifted, atol=2e-3 * np.abs(lifted).max())


# The whole step -------------------------------------------------------------------------------------------------------


def test_a_step_that_is_tried_again_starts_from_the_flows_of_its_start():
    """Whatever flows and pressures an attempt leaves: the next one comes to the same."""
    start = Start("hot")
    assert start.phase.speed[0] != start.phase.speed[1]
    flow, pressure = start.work.flow.copy(), start.work.pressure.copy()
    tried = []
    for fresh in (True, False):
        start.advance(0.05, fresh)
        tried.append(start.arrays.trial[: start.model.layout.air].copy())
        np.testing.assert_array_equal(start.arrays.flow, flow)
        np.testing.assert_array_equal(start.arrays.pressure, pressure)
        start.work.flow[:], start.work.pressure[:] = -3.0 * flow, pressure - 5e4
    np.testing.assert_allclose(tried[1], tried[0], rtol=1e-6)


@pytest.fixture
def level_at_rest():
    """A car with a blocked line that resists nothing at rest, and the number of its branch."""
    start = Start("soak", tolerance=1.0, car="blocked")
    creeping, b = start.model.network.branch.creeping, int(np.argmax(start.model.network.branch.k_forward))
    was, creeping[b] = float(creeping[b]), 0.0
    start.evaluate(start.time, start.state, start.arrays.rate)
    yield start, b
    creeping[b] = was


def test_flows_that_cannot_be_mended_are_solved_for(level_at_rest):
    """0.1 mg/s too little in a blocked line is mended into flows that fit nowhere.

    However short the step, until the network is solved at its start: then the one that was asked for goes.
    """
    start, b = level_at_rest
    step, work, h = start.arrays, start.work, 1e-3
    flow, pressure = work.flow.copy(), work.pressure.copy()
    assert 0.0 < flow[b] < 1e-6
    work.flow[b] = 0.0
    at_rest = work.flow.copy()

    def begin() -> None:
        work.flow[:], work.pressure[:] = at_rest, pressure
        assert derivative_at(start.time, start.state, start.phase, *start.handles, step.rate, step.left)
        assert 0.01 < abs(step.left[b]) < 1.0  # Pa

    begin()
    assert start.advance(h)[1] > 1e6
    assert start.advance(1e-3 * h, fresh=False)[1] > 1e6
    begin()
    found, length, _ = start.march(h, 1.0)
    assert found and length == pytest.approx(h)
    np.testing.assert_allclose(step.flow, flow, atol=1e-9)
    step.left[:], step.rate[:] = 1.0, 0.0
    assert stepper.settles(start.time, start.state, start.phase, *start.handles, start.space.step)
    assert not step.left.any() and step.rate.any()  # nothing is left to mend


@pytest.mark.parametrize("share", [0.1, 1.0, 3.0])
def test_a_lag_fades_by_the_stability_function_of_the_method(share):
    """A thermometer that shows 1 K more, over this share of its time: what is left of it.

    By hand: order 3, a fourfold pole at 1/gamma, nothing left of the stiffest; so the numerator over (1 - gamma z)^4 is
    the series of exp(z) (1 - gamma z)^4 up to z^3. Nothing depends on a thermometer, which hangs on its place straight
    (but for a millionth of gas that gets there).
    """
    start = Start("cold")
    s = int(np.flatnonzero(start.model.sensor.pressure == 0)[0])
    lump = int(start.model.sensor.node[s])
    assert start.work.gas[lump] == start.work.void[lump] == 0.0
    place, z = start.model.layout.sensor + s, -share
    after = []
    for more in (0.0, 1.0):
        other = Start("cold", lasting=1.0)
        other.state[place] += more
        other.evaluate(other.time, other.state, other.arrays.rate)
        assert other.advance(share * start.model.sensor.time_constant[s])[0]
        after.append(other.arrays.trial[place])
    g = GAMMA
    first, second, third = 1.0 - 4.0 * g, 0.5 - 4.0 * g + 6.0 * g**2, 1.0 / 6.0 - 2.0 * g + 6.0 * g**2 - 4.0 * g**3
    left = (1.0 + first * z + second * z**2 + third * z**3) / (1.0 - g * z) ** 4
    assert after[1] - after[0] == pytest.approx(left, abs=1e-5)


# Length of steps -----------------------------------------------------------------------------------------------------


def test_after_a_refusal_the_next_step_is_no_longer():
    """An error of a tenth more than allowed asks for nearly nine tenths of the step; half of it at most is tried,
    which leaves so little that the next would grow again."""
    h = 0.2

    def other_than_lumps(tolerance: float) -> Start:
        start = Start("cold", tolerance)
        start.arrays.tolerance[start.model.layout.enthalpy : start.model.layout.lag] = ANY
        return start

    error = other_than_lumps(1.0).advance(h)[1]
    start = other_than_lumps(error / 1.1)
    succeeded, length, following = start.march(h, 1.0)
    assert succeeded and start.arrays.counters[2] == 1
    assert length == pytest.approx(0.5 * h)
    assert start.arrays.pace[1] < 0.9**3  # alone it would let the next be longer
    assert following == start.arrays.pace[2] == length


def test_a_stretch_starts_from_what_it_is_handed():
    """Rate and gauges from the evaluation at its start, none of the stretch before; its first step shows no pace."""
    start = Start("hot")
    rate = start.arrays.rate.copy()
    step = start.arrays
    for before in (step.rate, step.moved, step.sensed, step.pace, step.left):
        before[:] = -7.0
    start.solver(rate, 1.0)
    np.testing.assert_array_equal(start.arrays.pace[:2], [np.inf, 1.0])
    np.testing.assert_array_equal(start.arrays.rate, rate)
    np.testing.assert_array_equal(start.arrays.sensed, start.work.sensed)
    assert np.abs(start.work.sensed).max() > 0.0
    assert not step.left.any()  # the network was solved there


@pytest.mark.parametrize(
    ("by_jump", "before", "stretch", "taken"),
    [
        (0.1, np.inf, 1.0, 0.1), (0.1 * FIRST, np.inf, 1.0, FIRST), (0.1, 0.07, 1.0, 0.07), (0.1, np.inf, 0.03, 0.03),
        (0.1, 0.5 * FIRST, 1.0, FIRST),
    ],
)  # fmt: skip
def test_first_step_is_as_long_as_the_jump_of_the_rate_the_step_before_and_the_stretch_allow(
    by_jump, before, stretch, taken
):
    """What a stretch changes moves a state in `by_jump` s as far as a first step may; readings may jump at will."""
    start = Start("cold", 2.0)
    start.arrays.pace[2] = before
    at, rate = start.model.layout, start.arrays.rate.copy()
    rate[at.metal + 3] -= EAGER * 2.0 / by_jump
    rate[at.metal + 5] += 0.4 * EAGER * 2.0 / by_jump
    rate[at.sensor] += 1e9
    assert start.solver(rate, stretch).h == pytest.approx(taken)


@pytest.mark.parametrize("telling", [False, True])
def test_next_to_no_error_shows_no_exponent(telling):
    """A step three times longer left two and a half times as much: exponent 0.8, if the digits are there to tell."""
    last = (1.01 if telling else 0.99) * TELLING
    alone = growth(2.5 * last, 1.0, 1.0, np.inf)
    found = growth(2.5 * last, 0.3, last, 0.1)
    assert found > 1.3 * alone if telling else found == alone


def test_either_heat_makes_a_lump_count_more():
    """A cold circuit with one lump put near boiling and one of two walls of another near drying: those two lumps."""
    start = Start("cold")
    at, face, work = start.model.layout, start.model.face, start.work
    walls = {int(i): np.flatnonzero((face.node == i) & (face.dry >= 0)) for i in face.node[face.dry >= 0]}
    steep = next(i for i, faces in walls.items() if len(faces) > 1)
    warm = next(i for i in walls if i != steep)
    allowed = np.zeros(at.size)

    def sharper() -> dict[int, float]:
        still = np.zeros(at.size)
        sharpen(*start.handles, still, still, np.full(at.size, 2.0), allowed)
        lumps = allowed[at.enthalpy : at.lag]
        return {int(k): lumps[k] / 2.0 for k in np.flatnonzero(lumps != 2.0)}

    assert sharper() == {}
    work.hot[warm] = work.saturation[warm] - 0.99 * NEAR
    assert sharper() == {warm: pytest.approx(SHARPER)}
    for wall in walls[steep]:
        work.face_flux[walls[steep]] = 0.0
        work.face_flux[wall] = 1.01 * KEEN * work.face_critical[wall]
        assert sharper() == {warm: pytest.approx(SHARPER), steep: pytest.approx(SHARPER)}


def test_a_step_leaves_no_sliver_before_the_bound():
    """A thousandth of the way short goes all of it; a tenth short stays."""
    for proposed, taken in ((0.0999, 0.1), (0.09, 0.09), (0.5, 0.1)):
        start = Start("cold")
        succeeded, length, _ = start.march(proposed, 0.1)
        assert succeeded and length == pytest.approx(taken, rel=1e-9)


# Steps that their own error does not see ------------------------------------------------------------------------------


def test_a_lump_far_from_where_its_rate_takes_it_is_astray():
    """Of a lump that loses 1 W/K to the step's 2/h, so much of what it may be off: just less stays, just more does not.

    Measured in its state: the rate has changed by the state's error times both.
    """
    start = Start("cold", 1.0)
    start.advance(0.1)
    lump, h = 4, 0.5
    k = start.model.layout.enthalpy + lump
    entry = start.pattern.diagonal[k]
    start.arrays.values[entry] = -3.0
    for times, sign, found in ((0.99, 1.0, False), (1.01, 1.0, True), (1.01, -1.0, True)):
        start.arrays.moved[:] = start.arrays.rate
        start.arrays.moved[k] += sign * times * ASTRAY * (1.0 / (0.5 * h) + 3.0)
        assert stepper.astray(h, start.handles[0], *start.rest[2:]) is found


def test_a_step_that_goes_astray_is_taken_shorter():
    """A lump that may err by just what the step leaves, so its error has nothing against it; its rate has."""
    h, lump = 0.02, 4

    def allowing(tolerance: float) -> Start:
        start = Start("hot")
        start.arrays.tolerance[start.model.layout.enthalpy + lump] = tolerance
        return start

    enough = 1.01 * allowing(1.0).advance(h)[1]
    assert allowing(enough).advance(h)[0]
    start = allowing(enough)
    succeeded, length, _ = start.march(h, 1.0)
    assert succeeded and length < h and start.arrays.counters[2] > 0


def test_error_of_the_level_refuses_a_step():
    """No state counts: the step is refused where less than its error of the level is allowed, and by how much shows."""

    def tried(allowed: float) -> tuple[bool, float]:
        start = Start("hot")
        start.arrays.level[0] = allowed
        return start.advance(0.5)

    found = tried(1.0)[1]
    assert found > 0.0
    assert tried(1.1 * found)[0]
    assert tried(found / 2.0) == (False, pytest.approx(2.0, rel=1e-6))
