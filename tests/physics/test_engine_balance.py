"""Cycle-averaged heat and friction against computed and recalled points."""

import pytest
from numpy.testing import assert_allclose

from sim1d.physics import engine_balance as law


@pytest.mark.parametrize(("power", "kilowatts"), [(750e3, 403.0), (1000e3, 500.0), (1500e3, 678.0), (2000e3, 841.0)])
def test_default_coolant_heat_by_brake_power_computed(power, kilowatts):
    assert_allclose(law.coolant_heat_ratio(power) * power / 1e3, kilowatts, rtol=2e-3)


@pytest.mark.parametrize("power", [750e3, 1000e3, 1500e3, 2000e3])
def test_default_lies_inside_the_share_of_released_heat_seen_on_engines(power):
    """12 to 27 % of fuel heat (read) at a brake efficiency of 0.28 on the released heat."""
    assert 0.115 < law.coolant_heat_ratio(power) * 0.28 < 0.27


def test_coolant_heat_scales_and_vanishes():
    assert law.coolant_heat(500e3, 0.0, 3e6) == 0.0
    assert law.coolant_heat(500e3, -1.0, 3e6) == 0.0
    assert_allclose(law.coolant_heat(500e3, 1.5e6, 3e6), 500e3 * 0.5**0.75)


@pytest.mark.parametrize(
    ("heating_value", "ratio"),
    [
        pytest.param(44.0, 14.7, id="gasoline"),
        pytest.param(26.9, 9.0, id="ethanol"),
        pytest.param(19.9, 6.46, id="methanol"),
    ],
)
def test_release_per_air_is_nearly_that_of_any_fuel_recalled(heating_value, ratio):
    assert_allclose(law.released_power(1.0, 1.0), heating_value / ratio * 1e6, rtol=0.035)


def test_release_is_limited_by_oxygen_when_rich_and_by_fuel_when_lean():
    assert law.released_power(1.0, 1.4) == law.released_power(1.0, 1.0)
    assert_allclose(law.released_power(1.0, 0.8), 0.8 * law.released_power(1.0, 1.0))


@pytest.mark.parametrize(
    ("speed", "bar"), [(2000.0, 1.47), (5000.0, 2.97), (8500.0, 5.86)], ids=lambda v: f"Heywood 13.6 {v}"
)
def test_friction_pressure_recalled(speed, bar):
    assert_allclose(law.friction_pressure(speed) / 1e5, bar, atol=5e-3)


@pytest.mark.parametrize(("speed", "kilowatts"), [(5000.0, 61.9), (8500.0, 207.0)])
def test_friction_power_of_five_litres_computed(speed, kilowatts):
    assert_allclose(law.friction_power(speed, 5e-3) / 1e3, kilowatts, rtol=5e-3)
