"""What the laws of branches gain with time alone: closed forms, and differences of the laws from instant to instant."""

import numpy as np
import pytest

from sim1d.core.drift import drift
from sim1d.core.rhs import unbalance
from tests.reference.point import Point
from tests.reference.states import COAST, IDLE, PASS, moment

LAUNCH = moment(speed=(600.0, 600.0), acceleration=(10.0, 12.0))  # of two seconds
RISE = moment(speed=(500.0, 620.0))


def gained(point: Point, phase: np.record) -> np.ndarray:
    """Pa/s of every branch in a phase."""
    found = np.full(len(point.model.network.branch), np.nan)
    drift(phase, *point.handles, found)
    return found


def missed(point: Point, phase: np.record, time: float) -> np.ndarray:
    """Pa that every branch misses at a time, at the state and flows of the point."""
    found = np.zeros(len(point.model.network.branch))
    unbalance(time, point.state, phase, *point.handles, found)
    return found


def test_columns_push_by_their_density_and_length_as_the_car_speeds_up_faster():
    """Momentum of a still column, dp = rho a dx (any text): from 10 to 12 m/s2 in two seconds, 1 m/s3."""
    point = Point("layout_a", "hot")
    branch, node = point.model.network.branch, point.model.node
    wanted = point.work.branch_density * (node.x[branch.end] - node.x[branch.start])
    assert np.abs(wanted).max() > 300.0
    np.testing.assert_allclose(gained(point, LAUNCH), wanted, rtol=1e-12)


def test_shut_off_pressure_goes_with_the_square_of_speed():
    """Affinity laws (any text): without flow the rise of n^2 times the shut-off pressure gains 2 n of it by n."""
    point = Point("layout_a", "hot")
    network, work = point.model.network, point.work
    missed(point, RISE, 0.0)  # pumps as at 500 rad/s
    b = int(np.flatnonzero(network.branch.pump >= 0)[0])
    pump = network.pump[network.branch.pump[b]]
    ratio = float(point.model.drive.ratio[point.model.drive.pump == network.branch.pump[b]][0])
    work.flow[b] = 0.0
    work.pump_grip[:] = 0.7
    found = gained(point, RISE)
    turns, per_second = ratio * 500.0 / pump.speed, ratio * 60.0 / pump.speed
    rise = 0.7 * pump.shutoff * work.branch_density[b] / pump.density
    assert found[b] == pytest.approx(2.0 * turns * rise * per_second, rel=1e-12)
    assert not found[network.branch.pump < 0].any()


@pytest.mark.parametrize("phase", [PASS, COAST, RISE], ids=["pass", "coast", "rise"])
@pytest.mark.parametrize("car", ["layout_a", "layout_c", "two pumps"])
def test_gain_is_the_difference_of_what_is_missed(car, phase):
    """Over 2 ms half way, flows held; one of the two pumps is electric and does not notice how the engine turns."""
    point = Point(car, "hot")
    before, after = missed(point, phase, 0.999), missed(point, phase, 1.001)
    wanted = (after - before) / 2e-3
    missed(point, phase, 1.0)
    assert np.abs(wanted).max() > 100.0
    np.testing.assert_allclose(gained(point, phase), wanted, rtol=1e-5, atol=1e-3)


@pytest.mark.parametrize("phase", [IDLE, moment()], ids=["idle", "soak"])
def test_nothing_is_gained_where_nothing_changes(phase):
    """A load that rises turns no pump faster; nor does a phase without length."""
    point = Point("layout_c", "hot")
    assert not gained(point, phase).any()
    short = PASS.copy()
    short.end = short.start
    assert not gained(point, short).any()
