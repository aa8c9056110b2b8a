"""Critical heat flux against worked examples, tables and its own limits."""

import math

import ht
import numpy as np
import pytest
from numpy.testing import assert_allclose

from sim1d.physics import critical_heat_flux as law
from sim1d.physics import lookup
from sim1d.properties import Fluid, coolant_tables

LIQUID, _, BY_PRESSURE = coolant_tables(Fluid.WATER)


def saturated(gauge_psi):
    boils = lookup.saturation_temperature(BY_PRESSURE, 101325.0 + gauge_psi * 6894.757)
    place = lookup.row_of(LIQUID, boils)
    names = ("density", "vapour_density", "latent_heat", "surface_tension")
    return boils, *(lookup.value(LIQUID[name], *place) for name in names)


def test_zuber_with_large_plate_constant():
    """Incropera 10.1 and Lienhard 9.5 (read): 1.26 MW/m2 with K 0.149; the library gives 1 258 539."""
    found = law.zuber(957.9, 0.5956, 2257e3, 58.9e-3, 0.149)
    assert_allclose(found, 1.26e6, rtol=2e-3)
    assert_allclose(found, ht.boiling_nucleic.Zuber(58.9e-3, 2257e3, 957.9, 0.5956, K=0.149), rtol=1e-4)


@pytest.mark.parametrize(("gauge", "expected"), [(0, 1.108e6), (15, 1.468e6), (20, 1.559e6), (30, 1.718e6)])
def test_zuber_by_gauge_pressure_computed(gauge, expected):
    assert_allclose(law.zuber(*saturated(gauge)[1:], 0.131), expected, rtol=1e-3)


@pytest.mark.parametrize(("subcooling", "expected"), [(20.0, 1.59), (40.0, 2.18), (0.0, 1.0), (-10.0, 1.0)])
def test_ivey_morris_at_15_psi_gauge_computed(subcooling, expected):
    boils, density, vapour, latent, _ = saturated(15)
    heat = lookup.specific_heat(LIQUID, boils)
    assert_allclose(law.ivey_morris(density, vapour, latent, heat, subcooling), expected, atol=5e-3)


@pytest.mark.parametrize(
    ("contact", "wall", "expected"), [(45.0, 0.0, 0.1500), (45.0, 90.0, 0.0851), (90.0, 0.0, 0.0745)]
)
def test_kandlikar_constant_computed(contact, wall, expected):
    assert_allclose(law.kandlikar_constant(math.radians(contact), math.radians(wall)), expected, atol=5e-5)


@pytest.mark.parametrize(
    ("speed", "inlet", "local"), [(0.5, 1.04, 2.45), (1.0, 1.69, 3.17), (2.0, 2.62, 4.12), (5.0, 4.40, 5.81)]
)
def test_hall_mudawar_at_15_psi_gauge_90_degc_computed(speed, inlet, local):
    """10 mm, L/D 10. The table took density and cp at the inlet: 1.5 % on the local form."""
    boils, density, vapour, latent, tension = saturated(15)
    cold, heat = lookup.density(LIQUID, 363.15), lookup.specific_heat(LIQUID, 363.15)
    quality = -heat * (boils - 363.15) / latent
    flux = law.hall_mudawar_inlet(speed * cold, 0.01, density, vapour, latent, tension, quality, 0.1)
    assert_allclose(flux / 1e6, inlet, rtol=0.01)
    flux = law.hall_mudawar_local(speed * cold, 0.01, density, vapour, latent, tension, quality)
    assert_allclose(flux / 1e6, local, rtol=0.015)


def whole(speed, subcooling=30.0, pool=1.0, flow=1.0):
    _, density, vapour, latent, tension = saturated(15)
    return law.critical_heat_flux(speed, density, vapour, latent, tension, 4205.0, subcooling, 0.01, pool, flow)


def test_joined_law_is_the_pool_at_rest_and_the_flow_at_speed():
    boils, density, vapour, latent, tension = saturated(15)
    pool = law.zuber(density, vapour, latent, tension, 0.131) * law.ivey_morris(density, vapour, latent, 4205.0, 30.0)
    assert whole(0.0) == pytest.approx(pool, rel=1e-14)
    flow = law.hall_mudawar_local(density * 5.0, 0.01, density, vapour, latent, tension, -4205.0 * 30.0 / latent)
    assert flow < whole(5.0) < 1.02 * flow
    assert max(whole(speed) / max(pool, flow_only(speed)) for speed in np.linspace(0.05, 5.0, 200)) < 1.19


def flow_only(speed):
    _, density, vapour, latent, tension = saturated(15)
    return law.hall_mudawar_local(density * speed, 0.01, density, vapour, latent, tension, -4205.0 * 30.0 / latent)


def test_joined_law_is_smooth_even_and_rising():
    speeds = np.linspace(0.0, 3.0, 6001)
    flux = np.array([whole(speed) for speed in speeds])
    slope = np.diff(flux) / np.diff(speeds)
    assert (slope >= 0.0).all()
    assert slope[0] / slope.max() < 0.1  # no corner at rest
    assert whole(-1.3) == whole(1.3)
    assert whole(1.0, subcooling=-5.0) == whole(1.0, subcooling=0.0)
    assert np.isfinite(whole(0.0)) and whole(1e-12) == pytest.approx(whole(0.0))


def test_factors_scale_their_own_part():
    assert_allclose(whole(0.0, pool=0.5), 0.5 * whole(0.0))
    assert_allclose(whole(3.0, pool=0.0, flow=0.5), 0.5 * whole(3.0, pool=0.0))
