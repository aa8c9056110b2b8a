"""Area changes against textbook examples and the public library `fluids`."""

import math

import fluids
import pytest

from sim1d.physics import area_changes


def test_borda_carnot_coulson_example_3_6():
    """Coulson and Richardson example 3.6, read: 7.2 m3/h from 40 to 50 mm loses 16.7 mm of water."""
    speed = 7.2 / 3600.0 / (math.pi / 4 * 0.04**2)
    lost = area_changes.sudden_expansion(0.8) * speed**2 / (2 * 9.81)
    assert lost == pytest.approx(16.73e-3, rel=1e-3)


def test_cone_cengel_example_8_6():
    """Cengel and Cimbala example 8-6, read: 60 to 90 mm cone at 7 m/s, K 0.133, p1 150 kPa, p2 168 kPa."""
    k = area_changes.conical_expansion(60.0 / 90.0, math.radians(20.0))
    assert k == pytest.approx(0.133, rel=0.05)
    v1 = 7.0
    v2 = v1 * (60.0 / 90.0) ** 2
    after = 150e3 + 1000.0 * (1.06 * (v1**2 - v2**2) / 2 - 0.133 * v1**2 / 2)
    assert after == pytest.approx(168e3, rel=5e-3)


@pytest.mark.parametrize("ratio", [0.5, 0.7, 0.8])
def test_against_fluids(ratio):
    assert area_changes.rennels_contraction(ratio) == pytest.approx(
        fluids.fittings.contraction_sharp(Di1=1.0, Di2=ratio, method="Rennels"), rel=1e-9
    )
    assert area_changes.rounded_contraction(ratio, 0.1) == pytest.approx(
        fluids.fittings.contraction_round(Di1=1.0, Di2=ratio, rc=0.1 * ratio, method="Rennels"), rel=1e-9
    )
    for degrees in (20.0, 44.0, 60.0, 120.0):
        assert area_changes.conical_contraction(ratio, math.radians(degrees)) == pytest.approx(
            fluids.fittings.contraction_conical_Crane(Di1=1.0, Di2=ratio, angle=degrees), rel=1e-9
        )
        assert area_changes.conical_expansion(ratio, math.radians(degrees)) == pytest.approx(
            fluids.fittings.diffuser_conical(Di1=ratio, Di2=1.0, angle=degrees, method="Crane"), rel=5e-3
        )
    assert area_changes.sudden_expansion(ratio) == pytest.approx(
        fluids.fittings.diffuser_sharp(Di1=ratio, Di2=1.0, method="Rennels"), rel=1e-9
    )


@pytest.mark.parametrize(
    ("ratio", "expansion", "crane", "rennels"),
    [(0.5, 0.5625, 0.375, 0.4956), (0.7, 0.2601, 0.255, 0.3509), (0.8, 0.1296, 0.180, 0.2303)],
)
def test_table_of_three_laws(ratio, expansion, crane, rennels):
    got = (
        area_changes.sudden_expansion(ratio),
        area_changes.crane_contraction(ratio),
        area_changes.rennels_contraction(ratio),
    )
    assert got == pytest.approx((expansion, crane, rennels), abs=1e-4)


def test_ends_of_the_range():
    assert area_changes.sudden_expansion(0.0) == 1.0  # into a large space: all kinetic energy
    assert area_changes.rennels_contraction(0.0) == pytest.approx(0.57, abs=0.001)  # Rennels' sharp entry, read
    sharp = area_changes.rennels_contraction(0.0)
    assert area_changes.rounded_contraction(0.0, 0.0) == pytest.approx(sharp, rel=1e-12)
    assert area_changes.rounded_contraction(0.0, 0.1) == pytest.approx(
        fluids.fittings.entrance_rounded(Di=0.1, rc=0.01, method="Rennels"), rel=1e-9
    )
    step = area_changes.crane_contraction(0.6)
    assert area_changes.conical_contraction(0.6, math.pi) == pytest.approx(step, rel=1e-12)
    for law in (area_changes.sudden_expansion, area_changes.crane_contraction, area_changes.rennels_contraction):
        assert law(1.0) == pytest.approx(0.0, abs=1e-12)


def test_entries_and_exits():
    assert area_changes.sharp_entry() == 0.5
    assert area_changes.inward_entry() > area_changes.sharp_entry()
    assert area_changes.tank_exit(0.0) == 1.06
    assert area_changes.tank_exit(1.0) == 2.0
