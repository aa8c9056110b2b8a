"""Holes: the exact slow limit, two sources for thick edges against each other, the long hole, and `fluids`."""

import math

import fluids
import numpy as np
import pytest

from sim1d.physics import orifices


@pytest.mark.parametrize(
    ("ratio", "discharge"),
    [
        pytest.param(t, c, id=f"Rennels and Hudson 2012, t/d {t}, read")
        for t, c in [(0.0, 0.596), (0.5, 0.632), (1.0, 0.768), (1.4, 0.798), (3.0, 0.798)]
    ],
)
def test_thick_hole(ratio, discharge):
    assert orifices.discharge_of_loss(orifices.thick_hole_loss(ratio)) == pytest.approx(discharge, abs=6e-4)


def test_two_sources_for_thick_edges_agree():
    """Rennels (read) and Idelchik (recalled) are independent; 5.2 % apart at most up to t/d 2."""
    for ratio in np.linspace(0.0, 2.0, 81):
        one, other = orifices.thick_hole_loss(ratio), orifices.idelchik_hole_loss(ratio, 0.0)
        assert other == pytest.approx(one, rel=0.053)


def test_thickness_helps_without_a_jump():
    losses = np.array([orifices.thick_hole_loss(x) for x in np.linspace(0.0, 2.0, 2001)])
    assert np.all(np.diff(losses) <= 0.0)
    assert np.abs(np.diff(losses)).max() < 3e-3


@pytest.mark.parametrize(
    ("length", "reynolds", "expected"),
    [
        pytest.param(ratio, re, c, id=f"Lichtarowicz 1965, L/d {ratio:g}, Re {re:g}, recalled")
        for ratio, values in [(2.0, (0.428, 0.745, 0.808)), (4.0, (0.307, 0.686, 0.791)), (10.0, (0.165, 0.553, 0.739))]
        for re, c in zip((100.0, 1e3, 1e4), values, strict=True)
    ],
)
def test_long_hole(length, reynolds, expected):
    assert orifices.lichtarowicz_discharge(length, reynolds) == pytest.approx(expected, abs=1.1e-3)


@pytest.mark.parametrize("reynolds", [1e-3, 1e-4])
def test_slow_flow_is_sampsons(reynolds):
    """Sampson 1891, exact: dp = 24 mu Q/d^3 as Re goes to 0, with Cd = sqrt(Re/(12 pi))."""
    d, rho, mu = 0.008, 1020.0, 7e-4
    q = reynolds * mu * math.pi * d / (4 * rho)
    drop = orifices.hole_drop(q, rho, mu, d, 0.0, 0.62)
    assert drop == pytest.approx(24.0 * mu * q / d**3, rel=1e-3)
    speed = q / (math.pi / 4 * d * d)
    assert speed / math.sqrt(2 * drop / rho) == pytest.approx(math.sqrt(reynolds / (12 * math.pi)), rel=1e-3)


@pytest.mark.parametrize(("litres", "drop"), [(1.0, 146.4), (3.0, 1314.0), (6.0, 5254.0), (12.0, 21011.0)])
def test_hole_law_joins_both_limits(litres, drop):
    """8 mm hole, Cd 0.62: the two-term law derived from both exact limits; linear share 0.3 % at 1 L/min."""
    q = litres / 6e4
    got = orifices.hole_drop(q, 1020.0, 7e-4, 0.008, 0.0, 0.62)
    assert got == pytest.approx(drop, rel=4e-4)
    assert orifices.hole_drop(-q, 1020.0, 7e-4, 0.008, 0.0, 0.62) == -got


def test_creeping_constant_of_a_long_hole_is_the_tube():
    d = 0.004
    assert orifices.creeping_constant(d, 100 * d) == pytest.approx(128 * 100 * d / (math.pi * d**4), rel=0.01)


@pytest.mark.parametrize("ratio", [0.3, 0.5, 0.7])
def test_permanent_loss_in_a_pipe_agrees_with_fluids(ratio):
    pipe, c = 0.1, 0.61
    expected = fluids.flow_meter.discharge_coefficient_to_K(D=pipe, Do=ratio * pipe, C=c)
    assert orifices.pipe_orifice_loss(ratio, c) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("ratio", [0.3, 0.5])
def test_thin_plate_idelchik_against_the_metering_standard(ratio):
    """ISO 5167 coefficient at high Re as permanent loss: 305.1 at b 0.3, 29.81 at b 0.5 (computed with `fluids`)."""
    standard = {0.3: 305.1, 0.5: 29.81}[ratio]
    on_pipe = orifices.idelchik_hole_loss(0.0, ratio**2) / ratio**4
    assert on_pipe == pytest.approx(standard, rel=0.03)


def test_cavitation_number():
    assert orifices.cavitation_number(3.0e5, 1.5e5, 5.0e4) == pytest.approx(2.0 / 3.0)
    assert orifices.loss_of_discharge(0.5) == 4.0
