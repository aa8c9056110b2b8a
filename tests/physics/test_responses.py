"""Closed forms against their published digits and, independently, against numerical integration."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.special import gammainc

from sim1d.physics import responses
from sim1d.physics.ambient import radiation_coefficient

SLAB = (0.01, 1.5e6, 1e4, 150.0, 6.01829561868e-5, 60)  # thickness, flux, coefficient, conductivity, diffusivity, terms


@pytest.mark.parametrize(
    ("time", "face", "wetted"),
    [
        (0.1, 27.68, 0.08),
        (0.25, 43.77, 2.61),
        (0.5, 62.26, 11.87),
        (1.0, 90.98, 32.18),
        (2.0, 135.23, 64.94),
        (4.0, 190.21, 105.68),
        (8.0, 233.77, 137.97),
    ],
)
def test_deck_under_flux_computed(time, face, wetted):
    assert_allclose(responses.slab_flux_convection(time, 0.0, *SLAB), face, atol=6e-3)
    assert_allclose(responses.slab_flux_convection(time, 0.01, *SLAB), wetted, atol=6e-3)


def test_deck_under_flux_by_finite_volumes():
    """200 cells integrated by a stiff method: the series itself is not trusted."""
    thickness, flux, coefficient, conductivity, diffusivity, _ = SLAB
    cells = 200
    width = thickness / cells
    link, capacity = conductivity / width, conductivity / diffusivity * width
    out = 1.0 / (1.0 / coefficient + 0.5 * width / conductivity)

    def rate(_, rise):
        flow = np.concatenate(([flux], link * (rise[:-1] - rise[1:]), [out * rise[-1]]))
        return (flow[:-1] - flow[1:]) / capacity

    options = {"method": "LSODA", "rtol": 1e-8, "atol": 1e-8, "lband": 1, "uband": 1}
    solution = solve_ivp(rate, (0.0, 2.0), np.zeros(cells), **options)
    face = solution.y[0, -1] + flux * 0.5 * width / conductivity
    assert_allclose(responses.slab_flux_convection(2.0, 0.0, *SLAB), face, rtol=1e-4)


def test_deck_starts_cold_and_ends_at_the_steady_drop():
    assert abs(responses.slab_flux_convection(0.0, 0.0, *SLAB[:-1], 4000)) < 0.01
    assert_allclose(responses.slab_flux_convection(100.0, 0.0, *SLAB), 250.0)
    assert_allclose(responses.slab_flux_convection(100.0, 0.01, *SLAB), 150.0)


@pytest.mark.parametrize(("biot", "root"), [(0.667, 0.7362), (1.333, 0.9511), (0.4, 0.5932), (0.313, 0.53189)])
def test_slab_eigenvalues_computed(biot, root):
    assert_allclose(responses.biot_root(biot, 0), root, atol=6e-5)
    for index in range(5):
        found = responses.biot_root(biot, index)
        assert_allclose(found * math.sin(found), biot * math.cos(found), atol=1e-12)


def test_pipe_wall_of_incropera_5_4_read():
    """40 mm steel, k 63.9, alpha 18.8e-6, h 500, oil of 60 on a wall of -20 degC, 8 min.

    42.9 and 45.2 degC by one term and rounded numbers (read), 43.02 and 45.36 exactly (computed).
    """
    found = [60.0 - 80.0 * responses.slab_cooling(480.0, x, 0.04, 500.0, 63.9, 18.8e-6, 20) for x in (0.0, 0.04)]
    assert_allclose(found, (43.017, 45.364), atol=0.05)
    assert_allclose(found, (42.9, 45.2), atol=0.25)


def test_thick_copper_of_incropera_5_10_read():
    """k 401, alpha 117e-6, 300 kW/m2 for 120 s from 20 degC: 120.03 at the surface, 45.41 degC at 150 mm."""
    found = [20.0 + responses.semi_infinite_flux(120.0, x, 3e5, 401.0, 117e-6) for x in (0.0, 0.15)]
    assert_allclose(found, (120.0266, 45.4060), atol=1e-4)


def test_thermocouple_bead_of_incropera_5_1_read():
    """h 400, rho 8500, c 400: 0.706 mm for a time constant of 1 s; 25 to 199 of 200 degC in 5.2 s (ln 175)."""
    constant = 8500.0 * 400.0 * 7.06e-4 / (6.0 * 400.0)
    assert_allclose(constant, 1.0, rtol=1e-3)
    assert_allclose(responses.lumped(math.log(175.0), 25.0, 200.0, 1.0), 199.0)


def test_thermocouple_with_radiation_of_incropera_5_2_read():
    """Gas 200 degC, duct 400 degC, emissivity 0.9: 218.7 degC."""
    found = brentq(lambda t: 400.0 * (473.15 - t) + radiation_coefficient(t, 673.15, 0.9) * (673.15 - t), 400.0, 673.0)
    assert_allclose(found - 273.15, 218.7, atol=0.1)


def test_cured_panel_of_incropera_5_3_read():
    """3 mm aluminium, emissivity 0.8, h 40 at 175 degC then 10 at 25 degC.

    123 s to 150 degC, 300 s more, cooled to 37 degC after 987 s in all (read). Material 177, 875, 2770 recalled.
    """
    capacity = 2770.0 * 875.0 * 1.5e-3

    def rate(coefficient, surroundings):
        return lambda _, t: (
            (coefficient + radiation_coefficient(t[0], surroundings, 0.8)) * (surroundings - t[0]) / capacity
        ).reshape(1)

    def reach(value):
        def event(_, t):
            return t[0] - value

        event.terminal = True
        return event

    options = {"rtol": 1e-10, "atol": 1e-8}
    curing = solve_ivp(rate(40.0, 448.15), (0.0, 500.0), np.array([298.15]), events=reach(423.15), **options)
    assert_allclose(curing.t[-1], 123.08, atol=0.1)
    held = solve_ivp(rate(40.0, 448.15), (0.0, 300.0), curing.y[:, -1], **options)
    cooling = solve_ivp(rate(10.0, 298.15), (0.0, 3000.0), held.y[:, -1], events=reach(310.15), **options)
    assert_allclose(curing.t[-1] + 300.0 + cooling.t[-1], 986.3, atol=0.5)


TWO = (3e5, 20e3, 45e3, 4000.0, 9000.0, 360.0)


@pytest.mark.parametrize(
    ("time", "first", "second"),
    [
        (1.0, 373.63268, 360.56827),
        (4.0, 402.77412, 365.84542),
        (8.0, 426.34012, 374.01583),
        (30.0, 464.12495, 391.31136),
    ],
)
def test_two_nodes_computed(time, first, second):
    assert_allclose(responses.two_nodes(time, *TWO), (first, second), atol=1e-5)


def test_two_nodes_against_integration_and_ends():
    heat, first, second, between, outside, sink = TWO
    solution = solve_ivp(
        lambda _, t: [
            (heat - between * (t[0] - t[1])) / first,
            (between * (t[0] - t[1]) - outside * (t[1] - sink)) / second,
        ],
        (0.0, 8.0),
        [sink, sink],
        rtol=1e-11,
        atol=1e-9,
    )
    assert_allclose(responses.two_nodes(8.0, *TWO), solution.y[:, -1], rtol=1e-9)
    assert_allclose(responses.two_nodes(0.0, *TWO), (360.0, 360.0))
    assert_allclose(responses.two_nodes(1e3, *TWO), (468.3333, 393.3333), atol=1e-4)


def test_isolated_pair_computed():
    assert_allclose(responses.isolated_pair(5.0, 400.0, 360.0, 20e3, 45e3, 4000.0), 378.83967, atol=1e-5)


def test_mixed_tank_and_hose_delay_computed():
    assert_allclose(responses.mixed_tank(40.0, 25.0, 90.0, 2e-3, 0.05e-3), 66.088, atol=1e-3)
    assert_allclose(responses.plug_delay(math.pi / 4.0 * 0.038**2 * 1.2, 2e-3), 0.6805, atol=1e-4)


@pytest.mark.parametrize(("cells", "at_delay", "early"), [(1, 0.6321, 0.59), (10, 0.5421, 0.41), (50, 0.5188, 0.25)])
def test_row_of_cells_computed(cells, at_delay, early):
    assert_allclose(responses.cell_row(1.0, 1.0, cells), at_delay, atol=1e-4)
    assert_allclose(responses.cell_row(0.9, 1.0, cells), early, atol=5e-3)
    for time in (0.3, 1.0, 1.7):
        assert_allclose(responses.cell_row(time, 1.0, cells), gammainc(cells, cells * time), rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize(("constant", "shown"), [(2.0, 30.2), (5.0, 20.0), (10.0, 12.5), (15.0, 9.0)])
def test_gauge_trails_a_pass_computed(constant, shown):
    """5 K/s for 8 s: what a sensor shows of the true 40 K."""
    assert_allclose(40.0 - responses.ramp_lag(8.0, 5.0, constant), shown, atol=0.06)


@pytest.mark.parametrize(("radius", "rise"), [(10e-3, 16.7), (15e-3, 37.5), (20e-3, 66.7), (30e-3, 150.0)])
def test_dry_spot_computed(radius, rise):
    assert_allclose(responses.dry_spot_rise(1e6, radius, 150.0, 10e-3), rise, atol=0.05)


def test_pit_cool_down_computed():
    """102 kJ/K through 805 W/K, 110 to 50 degC in 30 degC air: 176 s."""
    assert_allclose(responses.lumped(176.0, 110.0, 30.0, 102e3 / 805.0), 50.0, atol=0.1)
