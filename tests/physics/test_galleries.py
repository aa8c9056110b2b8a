"""Closed forms of U- and Z-type galleries: listed values, limits, and the equations they solve."""

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from sim1d.physics import galleries

PLACES = (0.0, 0.25, 0.5, 0.75, 1.0)


@pytest.mark.parametrize(
    ("law", "a", "b", "expected"),
    [
        pytest.param(galleries.u_type_flow, 0.2, 0.9, (1.2231, 1.0737, 0.9714, 0.9118, 0.8922), id="U, derived"),
        pytest.param(galleries.z_type_flow, 0.2, 0.9, (0.7977, 0.8655, 0.9714, 1.1200, 1.3177), id="Z, derived"),
        pytest.param(galleries.u_type_flow, 0.3, 0.3, (1.0, 1.0, 1.0, 1.0, 1.0), id="U balanced, exact"),
        pytest.param(galleries.z_type_flow, 0.3, 0.3, (0.85, 0.925, 1.0, 1.075, 1.15), id="Z balanced, exact"),
        pytest.param(galleries.u_type_flow, 0.3, 0.1, (0.9324, 0.9765, 1.0084, 1.0277, 1.0341), id="U far-fed"),
    ],
)
def test_listed_values(law, a, b, expected):
    assert [law(z, a, b) for z in PLACES] == pytest.approx(expected, abs=6e-5)


@pytest.mark.parametrize(("a", "b"), [(0.2, 0.9), (0.9, 0.2), (0.5, 0.5001)])
@pytest.mark.parametrize("z_type", [False, True])
def test_solves_the_boundary_value_problem(a, b, z_type):
    """U: w'' = (b - a) w, Z: w'' = (b - a) w - b, w(0) = 1, w(1) = 0, v = -w' (Bajura-Jones form), solved by scipy."""
    source = b if z_type else 0.0
    places = np.linspace(0.0, 1.0, 41)
    solved = solve_bvp(
        lambda z, y: np.vstack([y[1], (b - a) * y[0] - source]),
        lambda one, two: np.array([one[0] - 1.0, two[0]]),
        places, np.vstack([1.0 - places, -np.ones_like(places)]), tol=1e-8,
    )  # fmt: skip
    law = galleries.z_type_flow if z_type else galleries.u_type_flow
    got = [law(z, a, b) for z in places]
    assert got == pytest.approx((-solved.sol(places)[1]).tolist(), abs=1e-6)


@pytest.mark.parametrize("law", [galleries.u_type_flow, galleries.z_type_flow])
def test_mean_is_one(law):
    places, weights = np.polynomial.legendre.leggauss(20)
    for a, b in [(0.2, 0.9), (1.5, 0.3), (0.4, 0.4)]:
        mean = 0.5 * sum(w * law(0.5 + 0.5 * z, a, b) for z, w in zip(places, weights, strict=True))
        assert mean == pytest.approx(1.0, abs=1e-9)


def test_distributor_spread():
    # friction cancels recovery at f L/(3 D) = 1: perfectly even
    assert galleries.distributor_spread(0.03, 10.0, 0.1, 2.0, 1000.0, 5e4) == pytest.approx(0.0, abs=1e-12)
    assert galleries.distributor_spread(0.0, 1.0, 0.1, 2.0, 1000.0, 2e4) == pytest.approx(1 - np.sqrt(0.9))
    assert galleries.even_draw_off_share() == pytest.approx(1 / 3)
