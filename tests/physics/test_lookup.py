"""Reading of property tables: inverse pairs, ends, not-a-number."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from sim1d.physics import lookup
from sim1d.properties import Fluid, coolant_tables

TABLES = {
    "water": coolant_tables(Fluid.WATER),
    "half glycol": coolant_tables(Fluid.ETHYLENE_GLYCOL, 0.5),
}


@pytest.mark.parametrize("name", TABLES)
@settings(max_examples=200, deadline=None)
@given(temperature=st.floats(240.0, 540.0))
def test_enthalpy_returns_its_temperature(name, temperature):
    """Also beyond both ends of the grid, where both are straight lines."""
    liquid, by_enthalpy, _ = TABLES[name]
    enthalpy = lookup.enthalpy_of_temperature(liquid, temperature)
    assert abs(lookup.temperature_of_enthalpy(by_enthalpy, enthalpy) - temperature) < 1e-3


@pytest.mark.parametrize("name", TABLES)
@settings(max_examples=200, deadline=None)
@given(temperature=st.floats(290.0, 505.0))
def test_vapour_pressure_returns_its_temperature(name, temperature):
    liquid, _, by_pressure = TABLES[name]
    pressure = lookup.vapour_pressure(liquid, temperature)
    assert abs(lookup.saturation_temperature(by_pressure, pressure) - temperature) < 1e-3


@pytest.mark.parametrize("value", [-1e300, -5.0, 0.0, 1e9, 1e300, float("inf"), float("-inf")])
def test_no_number_reads_outside_a_table(value):
    liquid, _, by_pressure = TABLES["water"]
    index, share = lookup.row_of(liquid, value)
    assert 0 <= index <= len(liquid) - 2
    assert 0.0 <= share <= 1.0
    end = liquid[-1 if value > 300.0 else 0]
    assert lookup.density(liquid, value) == end.density
    assert lookup.vapour_pressure(liquid, value) == end.vapour_pressure
    assert lookup.saturation_temperature(by_pressure, value) == by_pressure.temperature[-1 if value > 300.0 else 0]


def test_not_a_number_stays_visible():
    liquid, by_enthalpy, by_pressure = TABLES["water"]
    index, _ = lookup.row_of(liquid, np.nan)
    assert index == 0
    assert np.isnan(lookup.density(liquid, np.nan))
    assert np.isnan(lookup.temperature_of_enthalpy(by_enthalpy, np.nan))
    assert np.isnan(lookup.saturation_temperature(by_pressure, np.nan))


@pytest.mark.parametrize("row", [0, 1, 80, 480, 1079, 1080])
def test_a_grid_point_gives_its_row(row):
    liquid = TABLES["water"].liquid
    temperature = liquid.temperature[row]
    for name in ("density", "specific_heat", "viscosity", "conductivity", "vapour_pressure", "surface_tension"):
        assert_allclose(getattr(lookup, name)(liquid, temperature), liquid[name][row], rtol=1e-12)
    for name in ("latent_heat", "vapour_density"):
        assert_allclose(getattr(lookup, name)(liquid, temperature), liquid[name][row], rtol=1e-12)


@pytest.mark.parametrize(
    ("celsius", "expected"),
    [(60, 5.233e-4), (80, 6.414e-4), (90, 6.966e-4), (100, 7.503e-4), (110, 8.038e-4)],
    ids=lambda value: f"IAPWS-95, computed: {value}",
)
def test_expansion_of_water(celsius, expected):
    # 0.3 %: the slope over one row of 0.25 K, and 200 kPa against 1 atm
    assert_allclose(lookup.expansion_coefficient(TABLES["water"].liquid, celsius + 273.15), expected, rtol=3e-3)


def test_tables_agree_with_the_library_between_grid_points():
    import CoolProp.CoolProp as backend

    liquid = TABLES["water"].liquid
    for temperature in np.linspace(280.1, 420.0, 15):
        pressure = max(200e3, 1.0001 * backend.PropsSI("P", "T", temperature, "Q", 0, "HEOS::Water"))
        for name, key in (("density", "D"), ("specific_heat", "C"), ("viscosity", "V"), ("conductivity", "L")):
            expected = backend.PropsSI(key, "T", temperature, "P", pressure, "HEOS::Water")
            assert_allclose(getattr(lookup, name)(liquid, temperature), expected, rtol=2e-5)
