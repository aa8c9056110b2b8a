"""Air and losses to it: handbook points, the public library `ht`, computed typical values."""

import ht
import numpy as np
import pytest
from numpy.testing import assert_allclose

from sim1d.physics import ambient


@pytest.mark.parametrize(
    ("kelvin", "conductivity", "kinematic", "prandtl"),
    [pytest.param(400.0, 0.0338, 26.4e-6, 0.69, id="Incropera table A.4 air 400 K, read")],
)
def test_air_properties(kelvin, conductivity, kinematic, prandtl):
    found = ambient.air_viscosity(kelvin)
    # 2 %: the hot end of both Sutherland fits; the book itself lies 1 % above the property library
    assert_allclose(ambient.air_conductivity(kelvin), conductivity, rtol=0.02)
    assert_allclose(found / ambient.air_density(101325.0, kelvin), kinematic, rtol=0.02)
    assert_allclose(found * ambient.AIR_SPECIFIC_HEAT / ambient.air_conductivity(kelvin), prandtl, rtol=0.02)


@pytest.mark.parametrize("kelvin", [260.0, 300.0, 340.0, 380.0])
def test_air_properties_equal_the_property_library(kelvin):
    import CoolProp.CoolProp as backend

    found = ambient.air_viscosity(kelvin), ambient.air_conductivity(kelvin), ambient.air_density(101325.0, kelvin)
    expected = [backend.PropsSI(name, "T", kelvin, "P", 101325.0, "Air") for name in "VLD"]
    assert_allclose(found, expected, rtol=0.015)
    assert_allclose(found[2], expected[2], rtol=2e-3)


def test_cylinder_of_the_librarys_docstring_read():
    assert_allclose(ambient.churchill_bernstein(6071.0, 0.7), 40.63708594124974, rtol=1e-12)


@pytest.mark.parametrize("number", [1e2, 1e5, 1e9])
def test_still_cylinder_equals_the_library(number):
    library = ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(0.7, number / 0.7)
    assert_allclose(ambient.churchill_chu_cylinder(number, 0.7), library, rtol=1e-4)


def test_plate_turns_turbulent_without_a_step():
    reynolds = np.geomspace(1e3, 1e7, 4000)
    nusselt = np.array([ambient.flat_plate(value, 0.7) for value in reynolds])
    assert (np.diff(nusselt) > 0.0).all()
    assert np.diff(np.log(nusselt)).max() < 0.006  # 0.0023 apart in ln Re: the slope just past the join is 2.3


HOSE = [(5.0, 37.0), (20.0, 84.0), (40.0, 132.0), (75.0, 203.0)]


@pytest.mark.parametrize(("speed", "expected"), HOSE)
def test_hose_of_46_mm_in_wind_computed(speed, expected):
    """90 degC in 30 degC air, without radiation."""
    assert_allclose(ambient.hose_coefficient(363.15, 303.15, speed, 101325.0, 0.046, 0.0), expected, rtol=0.01)


def test_hose_in_still_air_computed():
    """Natural 6.7 and radiation 7.6 W/(m2 K) at an emissivity of 0.9."""
    natural = ambient.hose_coefficient(363.15, 303.15, 0.0, 101325.0, 0.046, 0.0)
    assert_allclose(natural, 6.7, atol=0.1)
    assert_allclose(ambient.radiation_coefficient(363.15, 303.15, 0.9), 7.6, atol=0.05)
    whole = ambient.hose_coefficient(363.15, 303.15, 0.0, 101325.0, 0.046, 0.9)
    assert_allclose(whole - natural, ambient.radiation_coefficient(363.15, 303.15, 0.9))


@pytest.mark.parametrize(("speed", "expected"), [(0.0, 5.7), (40.0, 80.0), (75.0, 162.0)])
def test_engine_side_of_half_a_metre_computed(speed, expected):
    found = ambient.block_coefficient(363.15, 303.15, speed, 101325.0, 0.5, 0.0)
    assert_allclose(found, expected, rtol=0.05 if speed == 0.0 else 0.01)


def test_rubber_wall_in_series():
    """4 mm of 0.25 W/(m K) adds 62 W/(m2 K) on the mean wall; a 38/46 mm hose, a metre long."""
    bare = ambient.hose_conductance(1e9, 0.038, 0.046, 1.0, 0.25)
    assert_allclose(bare / (np.pi * 0.042), 62.5, rtol=5e-3)
    both = ambient.hose_conductance(30.0, 0.038, 0.046, 1.0, 0.25)
    assert_allclose(1.0 / both, 1.0 / bare + 1.0 / (30.0 * np.pi * 0.046), rtol=1e-6)
    assert ambient.hose_conductance(0.0, 0.038, 0.046, 1.0, 0.25) == 0.0


def test_coefficients_are_finite_at_equal_temperatures_and_no_wind():
    for law, size in ((ambient.hose_coefficient, 0.046), (ambient.block_coefficient, 0.5)):
        found = law(300.0, 300.0, 0.0, 101325.0, size, 0.0)
        assert 0.5 < found < 6.0
