"""Swell, steam and flashing: computed numbers with the standard's water."""

import pytest
from numpy.testing import assert_allclose

from sim1d.physics import lookup, saturation
from sim1d.properties import Fluid, coolant_tables

WATER = coolant_tables(Fluid.WATER)


def swell(fluid, fraction, celsius):
    liquid, kelvin = coolant_tables(fluid, fraction).liquid, celsius + 273.15
    return saturation.swell_per_heat(
        lookup.expansion_coefficient(liquid, kelvin),
        lookup.density(liquid, kelvin),
        lookup.specific_heat(liquid, kelvin),
    )


@pytest.mark.parametrize(("celsius", "expected"), [(60, 0.127), (80, 0.157), (90, 0.1715), (100, 0.186), (110, 0.200)])
def test_water_swells_per_heat_computed(celsius, expected):
    """Millilitre per kilojoule, whatever the volume."""
    assert_allclose(swell(Fluid.WATER, 0.0, celsius) * 1e9, expected, rtol=0.01)


def test_half_glycol_swells_per_heat_computed():
    assert_allclose(swell(Fluid.ETHYLENE_GLYCOL, 0.5, 90.0) * 1e9, 0.2055, rtol=0.01)


def test_swell_of_a_pass():
    """350 kW into liquid at 90 degC swells 60 mL/s (computed)."""
    assert_allclose(350e3 * swell(Fluid.WATER, 0.0, 90.0) * 1e6, 60.0, rtol=0.01)


@pytest.mark.parametrize(
    ("kilopascal", "expected"), [(101.325, 0.742), (150, 0.521), (200, 0.402), (250, 0.329), (300, 0.280)]
)
def test_steam_per_heat_computed(kilopascal, expected):
    """Litre per kilojoule."""
    boils = lookup.saturation_temperature(WATER.by_pressure, kilopascal * 1e3)
    laws = (lookup.latent_heat, lookup.density, lookup.vapour_density)
    found = saturation.steam_per_heat(*(law(WATER.liquid, boils) for law in laws))
    assert_allclose(found * 1e6, expected, rtol=0.01)


@pytest.mark.parametrize(("gauge_kilopascal", "celsius"), [(78, 116.8), (93, 119.3), (103, 120.9), (123, 123.9)])
def test_boiling_point_at_cap_tolerance_computed(gauge_kilopascal, celsius):
    found = lookup.saturation_temperature(WATER.by_pressure, 101325.0 + gauge_kilopascal * 1e3)
    assert_allclose(found - 273.15, celsius, atol=0.1)


@pytest.mark.parametrize(("psi", "celsius"), [(15, 121.0), (22, 127.8), (30, 134.4)])
def test_boiling_point_at_sea_level_computed(psi, celsius):
    found = lookup.saturation_temperature(WATER.by_pressure, 101325.0 + psi * 6894.757)
    assert_allclose(found - 273.15, celsius, atol=0.1)


@pytest.mark.parametrize(("metres", "celsius"), [(0.0, 120.9), (1000.0, 119.1), (2000.0, 117.4)])
def test_boiling_point_under_a_103_kilopascal_cap_by_altitude_computed(metres, celsius):
    """Standard atmosphere, 101325 (1 - 2.25577e-5 z)^5.25588."""
    air = 101325.0 * (1.0 - 2.25577e-5 * metres) ** 5.25588
    found = lookup.saturation_temperature(WATER.by_pressure, air + 103.4e3)
    assert_allclose(found - 273.15, celsius, atol=0.15)


def test_hot_cap_flashes_computed():
    """A litre of water at 120 degC let down to 100 degC makes 3.7 % steam, some 60 litres."""
    share = saturation.flash_share(20.0, 4230.0, 2.257e6)
    assert_allclose(share, 0.037, atol=5e-4)
    assert_allclose(share * 0.943 / 0.598 * 1e3, 60.0, rtol=0.05)
    assert saturation.flash_share(-5.0, 4230.0, 2.257e6) == 0.0
    assert saturation.flash_share(1e9, 4230.0, 2.257e6) == 1.0


def test_evaporation_passes_continuously_through_saturation():
    assert saturation.evaporation_rate(2.2e6, 2.0, 2.2e6, 1.0) == 0.0
    assert saturation.evaporation_rate(2.2e6, 0.0, 2.2e6, 1.0) == pytest.approx(0.5)
    assert saturation.evaporation_rate(2.2e6, -2.0, 2.2e6, 1.0) == 1.0
    assert saturation.evaporation_rate(-2.2e6, -2.0, 2.2e6, 1.0) == 0.0
