"""Louvered-fin laws at computed points of one geometry (both forms read in public code, the papers were not seen)."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sim1d.physics import louvered_fins

# louver angle deg; fin pitch, louver pitch, fin length, tube depth, louver length, tube pitch, fin thickness m
CORE = (28.0, 1.8e-3, 1.2e-3, 8e-3, 36e-3, 6.8e-3, 9.8e-3, 0.08e-3)
TUBE = (1.8e-3, 2.826e-3)  # tube thickness, hydraulic diameter m
POINTS = [
    (100.0, 0.03940, 0.1990),
    (180.0, 0.02954, 0.1412),
    (300.0, 0.02300, 0.1055),
    (500.0, 0.01790, 0.07903),
    (1000.0, 0.01275, 0.05604),
    (2000.0, 0.00908, 0.04153),
]


@pytest.mark.parametrize(("reynolds", "colburn", "friction"), POINTS)
def test_both_factors_at_computed_points(reynolds, colburn, friction):
    assert_allclose(louvered_fins.chang_wang(reynolds, *CORE), colburn, rtol=5e-4)
    assert_allclose(louvered_fins.chang_friction(reynolds, *CORE, *TUBE), friction, rtol=5e-4)


@pytest.mark.parametrize("reynolds", [50.0, 500.0, 4000.0])
def test_colburn_slope_is_exact(reynolds):
    assert_allclose(louvered_fins.chang_wang(reynolds, *CORE) * reynolds**0.49, 0.376234, rtol=1e-5)


def test_friction_falls_and_joins_at_the_amendments_ends():
    reynolds = np.linspace(10.0, 3000.0, 30000)
    friction = np.array([louvered_fins.chang_friction(value, *CORE, *TUBE) for value in reynolds])
    assert (np.diff(friction) < 0.0).all()
    steep = np.abs(np.diff(np.log(friction)))[reynolds[1:] > 100.0]
    assert steep.max() < 1e-3  # 0.1 of Reynolds number apart: no step at 130 or 230


@pytest.mark.parametrize("reynolds", [0.0, 1e-6, 1.0, 2.0, 2.5, 9.999])
def test_friction_is_finite_and_creeping_at_a_trickle(reynolds):
    friction = louvered_fins.chang_friction(reynolds, *CORE, *TUBE)
    assert np.isfinite(friction) and friction > 0.0
    if reynolds >= 1.0:
        assert_allclose(friction * reynolds, 10.0 * louvered_fins.chang_friction(10.0, *CORE, *TUBE))
