"""Film boiling against worked examples, and the dry share through burnout and recovery."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from sim1d.physics import boiling, lookup
from sim1d.physics import film_boiling as film
from sim1d.physics.ambient import radiation_coefficient
from sim1d.properties import Fluid, coolant_tables

LIQUID, _, BY_PRESSURE = coolant_tables(Fluid.WATER)


def saturated(gauge_psi):
    boils = lookup.saturation_temperature(BY_PRESSURE, 101325.0 + gauge_psi * 6894.757)
    place = lookup.row_of(LIQUID, boils)
    names = ("density", "vapour_density", "latent_heat", "surface_tension", "vapour_conductivity", "vapour_viscosity")
    return boils, *(lookup.value(LIQUID[name], *place) for name in names)


def test_least_flux_of_lienhard_9_8_read():
    assert_allclose(film.least_film_flux(958.2, 0.597, 2257e3, 0.0589), 18990.0, rtol=2e-3)


@pytest.mark.parametrize(("gauge", "expected"), [(0, 18990.0), (15, 35263.0)])
def test_least_flux_by_gauge_pressure_computed(gauge, expected):
    assert_allclose(film.least_film_flux(*saturated(gauge)[1:5]), expected, rtol=2e-3)


@pytest.mark.parametrize(("gauge", "expected"), [(0, 187.0), (15, 271.0)])
def test_berenson_collapse_computed(gauge, expected):
    boils, *properties = saturated(gauge)
    assert_allclose(boils - 273.15 + film.berenson_collapse(*properties), expected, atol=1.0)


def test_bromley_cylinder_of_incropera_10_2_read():
    """6 mm, 255 degC in water at 100 degC: 238 by convection, 21.3 by radiation, 254.2 together, 742 W/m."""
    convective = film.bromley_coefficient(155.0, 0.006, 957.9, 0.4902, 2257e3, 0.0299, 15.25e-6, 1980.0)
    radiative = radiation_coefficient(528.0, 373.0, 1.0)
    total = film.with_radiation(convective, radiative)
    assert_allclose(convective, 238.0, rtol=1e-3)
    assert_allclose(radiative, 21.3, rtol=3e-3)
    assert_allclose(total * math.pi * 0.006 * 155.0, 742.0, rtol=2e-3)
    root = brentq(lambda h: h ** (4 / 3) - convective ** (4 / 3) - radiative * h ** (1 / 3), convective, 2 * convective)
    assert_allclose(total, root, rtol=1e-10)


def test_with_radiation_ends():
    assert_allclose(film.with_radiation(200.0, 0.0), 200.0)
    assert_allclose(film.with_radiation(1e-6, 50.0), 50.0, rtol=1e-3)


def test_berenson_film_at_300_degc_computed():
    """180 to 230 W/(m2 K) without radiation at 1 to 2 atm."""
    for gauge in (0, 15):
        boils, *properties = saturated(gauge)
        assert 170.0 < film.berenson_coefficient(573.15 - boils, *properties, 2050.0) < 235.0
        assert (
            10.0
            < film.film_coefficient(573.15, boils, *properties)
            - film.berenson_coefficient(573.15 - boils, *properties, 2050.0)
            < 40.0
        )


def test_dry_share_target_limits():
    assert film.dry_share_target(0.5e6, 1e6, 420.0, 503.15, 40.0) < 1e-5
    assert_allclose(film.dry_share_target(2e6, 1e6, 420.0, 503.15, 40.0), 0.5, atol=1e-5)
    assert film.dry_share_target(20e6, 1e6, 510.0, 503.15, 40.0) == 1.0
    assert film.dry_share_target(-1e6, 1e6, 300.0, 503.15, 40.0) == 0.0
    assert film.dry_share_target(1e300, 1e6, 300.0, 503.15, 40.0) == pytest.approx(1.0)


@pytest.mark.parametrize("ratio", [0.0, 0.03, 0.0999, 0.1, 0.1001, 0.4, 1.0, 3.0])
@pytest.mark.parametrize("wall", [420.0, 480.0, 510.0])
def test_dry_share_target_is_its_formula(ratio, wall):
    """1 - touch (1 + ratio^16)^(-1/16), the cubic step of touch written out: far from drying too, to its digits."""
    x = min(max(1.0 + (wall - 503.15) / 40.0, 0.0), 1.0)
    wanted = 1.0 - (1.0 - x * x * (3.0 - 2.0 * x)) * (1.0 + ratio**16) ** (-1.0 / 16.0)
    found = film.dry_share_target(ratio * 1e6, 1e6, wall, 503.15, 40.0)
    assert_allclose(found, wanted, rtol=0.0, atol=4e-16)


def test_dry_share_target_is_smooth_and_rising():
    ratio = np.linspace(0.0, 3.0, 30001)
    target = np.array([film.dry_share_target(value * 1e6, 1e6, 430.0, 503.15, 40.0) for value in ratio])
    assert (np.diff(target) >= 0.0).all()
    assert np.abs(np.diff(target, 2)).max() < 1e-7  # curvature under 10: no corner at the critical flux
    wall = np.linspace(430.0, 520.0, 9001)
    target = np.array([film.dry_share_target(2e6, 1e6, value, 503.15, 40.0) for value in wall])
    assert (np.diff(target) >= 0.0).all()


def march(flux_in, seconds, cell, dry, critical=1.5e6):
    """A 2 mm aluminium cell (cp rho 2.49 MJ/m3K) under a heat flux, with its dry share as a state; explicit, 0.2 ms."""
    boils, *_ = saturated(15)
    group = boiling.forster_zuber_group(LIQUID, boils)
    for _ in range(round(seconds / 2e-4)):
        args = (363.15, boils, 8000.0, group, 0.7)
        wall, flux, _ = boiling.wetted_face(cell, 6.7e-6, *args, dry, 220.0, LIQUID)
        wet = boiling.wet_flux(wall, *args, LIQUID)[0]
        target = film.dry_share_target(wet, critical, wall, 503.15, 40.0)
        dry += 2e-4 * film.dry_share_rate(dry, target, 0.1)
        cell += 2e-4 * (flux_in - flux) / (2e-3 * 2.49e6)
    return cell, wall, flux, dry


def test_below_the_critical_flux_the_wall_stays_wet():
    _, wall, flux, dry = march(1.2e6, 4.0, 363.15, 0.0)
    assert_allclose(flux, 1.2e6, rtol=1e-3)
    assert dry < 0.02
    assert wall < 273.15 + 160.0


def test_past_the_critical_flux_the_metal_gets_hotter_and_recovers_only_below_collapse():
    cell, wall, flux, dry = march(2.0e6, 2.0, 363.15, 0.0)
    assert dry > 0.99 and wall > 503.15 + 100.0 and flux < 0.3e6  # burnout
    hotter = march(0.5e6, 0.2, cell, dry)
    assert hotter[3] > 0.99 and hotter[0] > cell  # far below the critical flux, yet the film holds: hysteresis
    cooled = march(0.0, 60.0, cell, dry)
    assert cooled[3] < 1e-3 and cooled[1] < 400.0  # it cools through collapse and rewets
