"""The rounded corners: exact outside their width, continuous with continuous slope inside."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sim1d.physics import smooth

POINTS = np.linspace(-3.0, 3.0, 601)


def test_ramp_is_exact_outside_and_near_inside():
    values = np.array([smooth.ramp(x, 0.5) for x in POINTS])
    outside = np.abs(POINTS) >= 0.5
    assert_allclose(values[outside], np.maximum(POINTS[outside], 0.0), rtol=0, atol=0)
    excess = values - np.maximum(POINTS, 0.0)
    assert excess.min() >= 0.0
    assert excess.max() == pytest.approx(0.125)  # width / 4, at 0


@pytest.mark.parametrize(
    "law",
    [
        pytest.param(lambda x: smooth.ramp(x, 0.5), id="ramp"),
        pytest.param(lambda x: smooth.step(x), id="step"),
        pytest.param(lambda x: smooth.smooth_max(x, 0.3, 0.4), id="smooth max"),
    ],
)
def test_slope_does_not_jump(law):
    h = 1e-6
    slope = np.array([(law(x + h) - law(x - h)) / (2 * h) for x in np.linspace(-3.0, 3.0, 6001)])
    # steepest curvature of these laws is 6 (cubic step on a unit interval), grid step 1e-3
    assert np.abs(np.diff(slope)).max() < 6.5e-3


def test_ramp_slope_is_the_derivative_of_ramp():
    h = 1e-6
    for x in np.linspace(-2.0, 2.0, 41) + 0.003:
        assert smooth.ramp_slope(x, 0.5) == pytest.approx(
            (smooth.ramp(x + h, 0.5) - smooth.ramp(x - h, 0.5)) / (2 * h), abs=1e-6
        )


def test_smooth_max_bounds_the_larger():
    for a, b in [(1.0, 5.0), (5.0, 1.0), (2.0, 2.05)]:
        assert max(a, b) <= smooth.smooth_max(a, b, 0.2) <= max(a, b) + 0.05
