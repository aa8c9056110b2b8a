"""Wall friction against exact laws, textbook examples and the public library `fluids`."""

import math

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from sim1d.physics import friction


def pipe_drop(q, density, viscosity, length, diameter, roughness=0.0, **more):
    """Pressure drop (Pa) and slope of a plain round pipe at volume flow q."""
    row = dict(count=1.0, friction_multiplier=1.0, laminar_constant=64.0, k=0.0, creeping=0.0) | more
    area = math.pi / 4 * diameter**2
    return friction.branch_loss(
        q * density, density, viscosity, length, diameter, area, row["count"], roughness, row["friction_multiplier"],
        row["laminar_constant"], row["k"], area, row["creeping"],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("reynolds", "roughness", "expected"),
    [
        pytest.param(1e5, 1e-4, 0.0185139, id="Colebrook 1939 solved by an independent root finder"),
        pytest.param(1e5, 0.0, 0.017990, id="Colebrook 1939 smooth, by fluids Clamond"),
        pytest.param(2.7e5, 8e-4, 0.019844, id="Colebrook 1939 rough, by fluids Clamond"),
    ],
)
def test_colebrook_points(reynolds, roughness, expected):
    assert friction.colebrook(reynolds, roughness) == pytest.approx(expected, rel=3e-5)

    def colebrook(f):
        return 1 / math.sqrt(f) + 2 * math.log10(roughness / 3.7 + 2.51 / (reynolds * math.sqrt(f)))

    assert friction.colebrook(reynolds, roughness) == pytest.approx(brentq(colebrook, 1e-3, 0.2, xtol=1e-15), rel=1e-12)


@settings(max_examples=200, deadline=None)
@given(st.floats(3.7, 8.0), st.floats(-6.0, -1.4))
def test_laws_agree_with_fluids(log_reynolds, log_roughness):
    reynolds, roughness = 10.0**log_reynolds, 10.0**log_roughness
    law, library = friction, fluids.friction
    assert law.colebrook(reynolds, roughness) == pytest.approx(library.Clamond(reynolds, roughness), rel=1e-9)
    assert law.haaland(reynolds, roughness) == pytest.approx(library.Haaland(reynolds, roughness), rel=1e-3)
    assert law.churchill_friction(reynolds, roughness) == pytest.approx(
        library.Churchill_1977(reynolds, roughness), rel=1e-9
    )


@pytest.mark.parametrize("roughness", [0.0, 1e-4, 1e-3])
def test_churchill_stays_near_colebrook(roughness):
    for reynolds in np.geomspace(4000.0, 1e7, 60):
        ratio = friction.churchill_friction(reynolds, roughness) / friction.colebrook(reynolds, roughness)
        assert abs(ratio - 1.0) < 0.04


@pytest.mark.parametrize(
    ("reynolds", "expected"),
    [pytest.param(r, f, id=f"Churchill 1977 at Re {r:g}, read") for r, f in [(2300.0, 0.03084), (3000.0, 0.04297)]]
    + [pytest.param(1e4, 0.031002, id="Churchill 1977 at Re 1e4, read"), pytest.param(1000.0, 0.064, id="64/Re")],
)
def test_churchill_points(reynolds, expected):
    assert friction.churchill_friction(reynolds, 0.0) == pytest.approx(expected, rel=2e-4)


def test_law_has_no_step_where_the_turbulent_term_is_left_out():
    below, above = friction.LAMINAR_TO * (1 - 1e-12), friction.LAMINAR_TO * (1 + 1e-12)
    for constant in (56.9, 64.0, 96.0):
        assert friction.churchill(above, 0.0, constant)[0] == pytest.approx(
            friction.churchill(below, 0.0, constant)[0], rel=1e-13
        )
        assert abs(friction.churchill(above, 0.0, constant)[1]) < 1e-9


@pytest.mark.parametrize(
    ("given_", "exact", "book"),
    [
        pytest.param(
            dict(q=2e-5, density=900.0, viscosity=0.4, length=10.0, diameter=0.02), 20372.0, 20.4e3,
            id="Munson Young Okiishi example 8.2 (Hagen-Poiseuille), read",
        ),
        pytest.param(
            dict(q=3.0 * math.pi / 4 * 0.04**2, density=1252.0, viscosity=0.3073, length=70.0, diameter=0.04),
            1290.66e3, 1291e3, id="Cengel Cimbala example 8-1, glycerin (properties recalled), read",
        ),
    ],
)  # fmt: skip
def test_laminar_examples(given_, exact, book):
    drop, slope = pipe_drop(**given_)
    poiseuille = 128 * given_["viscosity"] * given_["length"] * given_["q"] / (math.pi * given_["diameter"] ** 4)
    assert drop == pytest.approx(poiseuille, rel=1e-12)
    assert drop == pytest.approx(exact, rel=5e-5)
    assert drop == pytest.approx(book, rel=3e-3)
    assert slope * given_["q"] * given_["density"] == pytest.approx(drop, rel=1e-12)


@pytest.mark.parametrize(
    ("given_", "book", "tolerance"),
    [
        pytest.param(
            dict(q=6e-3, density=999.1, viscosity=1.138e-3, length=60.0, diameter=0.05, roughness=2e-6), 96.5e3, 0.015,
            id="Cengel Cimbala example 8-3, water at 15 C (properties recalled), read",
        ),
        pytest.param(
            dict(q=0.05, density=1000.0, viscosity=1.14e-3, length=300.0, diameter=0.15, roughness=1.5e-4),
            1000.0 * 9.81 * 16.81, 0.015, id="Massey Ward-Smith example 7.1, read",
        ),
    ],
)  # fmt: skip
def test_turbulent_examples(given_, book, tolerance):
    assert pipe_drop(**given_)[0] == pytest.approx(book, rel=tolerance)


def test_crane_example_7_1_friction_factor():
    # Crane TP-410 example 7.1, read: Re 100 600, smooth, f 0.0179
    assert friction.colebrook(100600.0, 0.0) == pytest.approx(0.0179, rel=5e-3)
    assert friction.churchill_friction(100600.0, 0.0) == pytest.approx(0.0179, rel=5e-3)


@pytest.mark.parametrize(
    ("aspect", "expected"),
    [
        pytest.param(a, c, id=f"Shah London 1978, aspect {a}, recalled")
        for a, c in [(0.0, 96.0), (0.05, 89.94), (0.125, 82.36), (0.25, 72.94), (0.5, 62.23), (1.0, 56.92)]
    ],
)
def test_rectangular_ducts(aspect, expected):
    assert friction.rectangular_laminar_constant(aspect) == pytest.approx(expected, abs=0.01)


def test_two_routes_to_the_laminar_rectangle_agree():
    # Jones 1976 against Shah and London 1978 at aspect 0.0566: 64/fRe = 0.7174 against 0.7171
    assert friction.laminar_equivalent_reynolds(1.0, 0.0566) == pytest.approx(
        64.0 / friction.rectangular_laminar_constant(0.0566), rel=6e-4
    )


def test_laminar_constant_scales_slow_flow_alone():
    slow = dict(q=1e-6, density=1000.0, viscosity=1e-3, length=1.0, diameter=0.01)
    fast = slow | dict(q=1e-3)
    assert pipe_drop(**slow, laminar_constant=96.0)[0] == pytest.approx(1.5 * pipe_drop(**slow)[0], rel=1e-12)
    assert pipe_drop(**fast, laminar_constant=96.0)[0] == pytest.approx(pipe_drop(**fast)[0], rel=1e-6)


@settings(max_examples=300, deadline=None)
@given(
    w=st.floats(-6.0, 2.0), sign=st.sampled_from([-1.0, 1.0]), viscosity=st.floats(-4.0, -1.0),
    diameter=st.floats(-2.7, -1.0), length=st.sampled_from([0.0, 0.1, 5.0]), k=st.floats(0.0, 1e4),
    rough=st.floats(0.0, 0.05), constant=st.floats(50.0, 100.0), count=st.sampled_from([1.0, 60.0]),
)  # fmt: skip
def test_loss_is_odd_increasing_and_its_slope_exact(w, sign, viscosity, diameter, length, k, rough, constant, count):
    d = 10.0**diameter
    area = math.pi / 4 * d * d
    creeping = 24.0 / d**3 if length == 0.0 else 0.0
    fixed = (1000.0, 10.0**viscosity, length, d, area, count, rough * d, 1.3, constant, k, 0.7 * area, creeping)
    flow = sign * 10.0**w
    drop, slope = friction.branch_loss(flow, *fixed)
    assert friction.branch_loss(-flow, *fixed)[0] == -drop
    assert drop * sign > 0.0
    assert slope > 0.0
    h = 1e-5 * abs(flow)
    difference = friction.branch_loss(flow + h, *fixed)[0] - friction.branch_loss(flow - h, *fixed)[0]
    # the slope turns within a tenth of Re near 2500: central differences of 1e-5 are good to (1e-4)^2 and round-off
    assert slope == pytest.approx(difference / (2 * h), rel=1e-6)


def test_slope_at_rest_is_finite_and_that_of_slow_flow():
    drop, slope = pipe_drop(0.0, 1000.0, 1e-3, 1.0, 0.01)
    assert drop == 0.0
    assert slope == pytest.approx(128 * 1e-3 / (math.pi * 0.01**4 * 1000.0), rel=1e-12)


def test_equal_paths_share_the_flow():
    one = pipe_drop(1e-5, 1000.0, 7e-4, 0.6, 0.002, k=1.5)
    sixty = pipe_drop(60e-5, 1000.0, 7e-4, 0.6, 0.002, k=1.5, count=60.0)
    assert sixty[0] == pytest.approx(one[0], rel=1e-12)
    assert sixty[1] == pytest.approx(one[1] / 60.0, rel=1e-12)
