"""Hoses, waves and shells against hand numbers."""

import math

import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from sim1d.physics import elasticity

INNER, OUTER = 0.019, 0.024


@pytest.mark.parametrize(("modulus", "percent", "off"), [(5e6, 16.0, 0.1), (20e6, 4.02, 5e-3), (100e6, 0.80, 5e-3)])
def test_hose_38_by_5_mm_grows_at_100_kilopascal_computed(modulus, percent, off):
    """Lame, plane strain, Poisson 0.5; and 0.547 mL/kPa for 1.2 m at 20 MPa."""
    share = elasticity.thick_tube_compliance(INNER, OUTER, modulus)
    assert_allclose(share * 1e5 * 100.0, percent, atol=off)
    volume = math.pi * INNER**2 * 1.2
    assert_allclose(elasticity.thick_tube_compliance(INNER, OUTER, 20e6) * volume * 1e9, 0.547, rtol=2e-3)


def test_thick_tube_follows_from_energy():
    """Work p dV/2 equals the strain energy of an incompressible tube with radial displacement c/r, by quadrature."""
    modulus, growth = 20e6, 1e-6  # c in m2: u = c / r; plane strain: e_theta = c/r2 = -e_r
    shear = modulus / 3.0
    energy, _ = quad(lambda r: 2.0 * shear * (growth / r**2) ** 2 * 2.0 * math.pi * r, INNER, OUTER)
    volume_change = 2.0 * math.pi * growth  # per length: 2 pi a u(a)
    pressure = 2.0 * energy / volume_change
    share = volume_change / (math.pi * INNER**2) / pressure
    assert_allclose(elasticity.thick_tube_compliance(INNER, OUTER, modulus), share, rtol=1e-9)


def test_thin_limit_of_the_thick_tube():
    thick = elasticity.thick_tube_compliance(0.1, 0.1002, 20e6)
    assert_allclose(thick, elasticity.thin_tube_compliance(0.2, 0.0002, 20e6, 0.5), rtol=5e-3)


@pytest.mark.parametrize(("modulus", "speed"), [(5e6, 30.0), (20e6, 60.0), (100e6, 135.0)])
def test_wave_in_a_hose_computed(modulus, speed):
    """Korteweg with the thin wall, water at 95 degC."""
    wall = elasticity.thin_tube_compliance(0.038, 0.005, modulus, 0.5)
    assert_allclose(elasticity.wave_speed(961.9, 1.0 / 4.819e-10, wall, 0.0, 250e3, 1.4), speed, rtol=0.012)


@pytest.mark.parametrize(("gas", "speed"), [(0.0, 1479.0), (1e-3, 559.0), (1e-2, 190.0), (0.1, 64.0)])
def test_wave_in_bubbly_water_computed(gas, speed):
    """Wood, water at 95 degC, 250 kPa absolute, adiabatic bubbles."""
    assert_allclose(elasticity.wave_speed(961.9, 1.0 / 4.819e-10, 0.0, gas, 250e3, 1.4), speed, rtol=0.012)


@pytest.mark.parametrize(
    ("alpha", "percent"), [pytest.param(23.3e-6, 0.63, id="aluminium"), pytest.param(10.7e-6, 0.29, id="iron")]
)
def test_cavity_grows_over_90_kelvin_computed(alpha, percent):
    assert_allclose(elasticity.metal_growth(alpha, 90.0) * 100.0, percent, atol=0.005)


def test_shell_stresses_computed():
    """60 mm flat side at 200 kPa: 40 MPa in 3 mm, 29 MPa in 3.5 mm; 38 mm hose, 5 mm wall: 0.76 MPa."""
    assert_allclose(elasticity.clamped_plate_stress(200e3, 0.06, 0.003), 40e6)
    assert_allclose(elasticity.clamped_plate_stress(200e3, 0.06, 0.0035), 29.4e6, rtol=1e-3)
    assert_allclose(elasticity.hoop_stress(200e3, 0.038, 0.005), 0.76e6)
