"""Bends against the public library `fluids`, the charts it tabulates, and each other."""

import math

import fluids
import pytest

from sim1d.physics import bends, friction

BORE = 0.0222


@pytest.mark.parametrize("degrees", [30.0, 45.0, 90.0, 180.0])
@pytest.mark.parametrize("curvature", [0.75, 1.5, 3.0, 5.0])
def test_rennels_agrees_with_fluids(degrees, curvature):
    f = 0.021
    expected = fluids.fittings.bend_rounded(
        Di=BORE, angle=degrees, fd=f, Re=5e4, bend_diameters=curvature, method="Rennels"
    )
    assert bends.rennels_bend(math.radians(degrees), curvature, f) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("reynolds", "expected"),
    [pytest.param(re, k, id=f"Rennels 45/90/180 at Re {re:g}, read") for re, k in
     [(1e4, (0.24, 0.34, 0.40)), (5e4, (0.18, 0.25, 0.31)), (2e5, (0.14, 0.21, 0.26))]],
)  # fmt: skip
def test_swept_bend_table(reynolds, expected):
    f = friction.colebrook(reynolds, 1.5e-6 / BORE)
    got = [bends.rennels_bend(math.radians(a), 1.5, f) for a in (45.0, 90.0, 180.0)]
    assert got == pytest.approx(expected, abs=0.006)


@pytest.mark.parametrize(
    ("reynolds", "curvature"), [(r, c) for r in (1e4, 5e4, 2e5) for c in (1.0, 1.5, 3.0, 12.0) if r / c**2 > 360.0]
)
def test_ito_agrees_with_fluids(reynolds, curvature):
    expected = fluids.fittings.bend_rounded(Di=BORE, angle=90, Re=reynolds, bend_diameters=curvature, method="Ito")
    assert bends.ito_bend_90(curvature, reynolds) == pytest.approx(expected, rel=1e-9)


def test_three_sources_for_a_swept_bend_agree():
    """Rennels, Ito and Crane are independent; Re 5e4, r/D 1.5: 0.25, 0.26 and 0.33 (Crane knows no Re)."""
    f = friction.colebrook(5e4, 1.5e-6 / BORE)
    rennels = bends.rennels_bend(math.pi / 2, 1.5, f)
    assert bends.ito_bend_90(1.5, 5e4) == pytest.approx(rennels, rel=0.1)
    assert bends.crane_bend(math.pi / 2, 1.5, bends.crane_rough_friction(BORE)) == pytest.approx(rennels, rel=0.35)


def test_crane_bend_and_rough_friction():
    assert bends.crane_rough_friction(0.0525) == pytest.approx(fluids.fittings.ft_Crane(0.0525), rel=0.02)
    for curvature, length in [(1.0, 20.0), (2.0, 12.0), (6.0, 17.0), (10.0, 30.0)]:
        assert bends.crane_bend(math.pi / 2, curvature, 0.02) == pytest.approx(length * 0.02, rel=1e-12)
    got = [bends.crane_bend(math.radians(a), 1.5, bends.crane_rough_friction(BORE)) for a in (45.0, 90.0, 180.0)]
    assert got == pytest.approx([0.23, 0.33, 0.52], abs=0.006)


def test_sharp_elbow():
    """Rennels and Hudson 2012, read: 1.20 for 90 and 0.30 for 45 degrees; several times a swept bend."""
    assert bends.sharp_elbow(math.pi / 2) == pytest.approx(1.20, abs=0.005)
    assert bends.sharp_elbow(math.pi / 4) == pytest.approx(0.304, abs=0.002)
    assert bends.sharp_elbow(math.pi / 2) > 4.0 * bends.rennels_bend(math.pi / 2, 1.5, 0.021)
