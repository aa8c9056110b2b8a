"""Tees: printed examples, agreement with `fluids`, and no tee may create energy."""

import math

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim1d.physics import tees

RIGHT, SLANTED = math.pi / 2, math.pi / 4


def test_crane_example_7_35():
    """Crane TP-410 example 7.35, read: joining 90 degree tee, 300 and 100 gpm: -0.04026 and 0.3258."""
    q = 0.00633 / (0.018917 + 0.00633)
    assert tees.converging_branch(q, 1.0, RIGHT) == pytest.approx(-0.0404, rel=1e-2)
    assert tees.converging_run(q, 1.0, RIGHT) == pytest.approx(0.3258, rel=1e-2)


def test_crane_example_7_36():
    """Crane TP-410 example 7.36, read: splitting 45 degree wye, 400 and 250 gpm: 0.4640 and -0.06809."""
    q = 250.0 / 650.0
    assert tees.diverging_branch(q, 1.0, SLANTED) == pytest.approx(0.4640, rel=1e-2)
    assert tees.diverging_run(q, 1.0) == pytest.approx(-0.06809, rel=1e-2)


def test_even_split_of_an_equal_tee():
    """Computed with `fluids` from the Crane 2009 forms: joining 0.413 and 0.525, splitting 1.156 and 0."""
    got = (
        tees.converging_branch(0.5, 1.0, RIGHT),
        tees.converging_run(0.5, 1.0, RIGHT),
        tees.diverging_branch(0.5, 1.0, RIGHT),
        tees.diverging_run(0.5, 1.0),
    )
    assert got == pytest.approx((0.4125, 0.525, 1.155625, 0.0), abs=1e-9)


@settings(max_examples=200, deadline=None)
@given(st.floats(0.01, 0.99), st.floats(0.4, 1.0), st.sampled_from([30.0, 45.0, 60.0, 90.0]))
def test_agrees_with_fluids(q, ratio, degrees):
    rows = dict(D_run=0.1, D_branch=0.1 * ratio, Q_run=1.0 - q, Q_branch=q, angle=degrees)
    angle = math.radians(degrees)
    lib = fluids.fittings
    assert tees.converging_branch(q, ratio, angle) == pytest.approx(lib.K_branch_converging_Crane(**rows), abs=1e-9)
    assert tees.converging_run(q, ratio, angle) == pytest.approx(lib.K_run_converging_Crane(**rows), abs=1e-9)
    assert tees.diverging_branch(q, ratio, angle) == pytest.approx(lib.K_branch_diverging_Crane(**rows), abs=1e-9)
    assert tees.diverging_run(q, ratio) == pytest.approx(lib.K_run_diverging_Crane(**rows), abs=1e-9)


@pytest.mark.parametrize(
    ("branch", "run", "angle"),
    [
        pytest.param(tees.converging_branch, tees.converging_run, RIGHT, id="joining 90"),
        pytest.param(tees.converging_branch, tees.converging_run, SLANTED, id="joining 45"),
        pytest.param(tees.diverging_branch, lambda q, b, _: tees.diverging_run(q, b), RIGHT, id="splitting 90"),
    ],
)
def test_every_tee_dissipates(branch, run, angle):
    """First law: what both streams lose together is above 0 at all flow shares and sizes."""
    for ratio in np.linspace(0.4, 1.0, 13):
        for q in np.linspace(0.001, 0.999, 1000):
            assert tees.tee_dissipation(q, branch(q, ratio, angle), run(q, ratio, angle)) > 0.0


def test_printed_jump_of_the_joining_branch_is_small():
    for ratio in (0.6, 0.8, 1.0):
        jump = tees.converging_branch(0.4, ratio, RIGHT) - tees.converging_branch(0.4 + 1e-12, ratio, RIGHT)
        assert abs(jump) < 0.02
