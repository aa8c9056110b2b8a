"""Gas spaces: hand numbers of a closed system and of the bench tests."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from sim1d.physics import gas_space, lookup
from sim1d.properties import Fluid, coolant_tables

LIQUID = coolant_tables(Fluid.WATER).liquid
ATMOSPHERE, COLD, AIR = 101325.0, 293.15, 287.05


def vapour(celsius):
    return lookup.vapour_pressure(LIQUID, celsius + 273.15)


def expansion(celsius):
    return lookup.density(LIQUID, COLD) / lookup.density(LIQUID, celsius + 273.15) - 1.0


def closed(
    gas_litres, liquid_celsius, gas_celsius=None, wet=True, metal=0.0, compliance=0.0, exponent=1.0, litres=12.0
):
    """Gauge pressure (kPa) of a system sealed at 20 degC, 0 gauge: liquid swells, metal and hoses give way."""
    start, swell = gas_litres * 1e-3, litres * 1e-3 * expansion(liquid_celsius)
    growth = litres * 1e-3 * metal

    def left(pressure):
        volume = start - swell + growth + compliance * (pressure - ATMOSPHERE)
        if gas_celsius is None:  # dry and cold
            return gas_space.polytropic_pressure(ATMOSPHERE, start, volume, exponent) - pressure
        mass = gas_space.gas_mass(ATMOSPHERE, vapour(20.0), start, AIR, COLD)
        return gas_space.gas_pressure(mass, AIR, gas_celsius + 273.15, volume, vapour(gas_celsius)) - pressure

    return (brentq(left, ATMOSPHERE, 3e6) - ATMOSPHERE) / 1e3


@pytest.mark.parametrize(
    ("gas", "celsius", "isothermal", "adiabatic", "warm", "hot"),
    [
        (0.6, 80, 120, 201, 137, 206),
        (0.8, 95, 132, 223, 149, 269),
        (1.0, 80, 49, 75, 63, 123),
        (1.0, 95, 83.9, 134, 99, 210),
        (1.5, 95, 44, 66, 58, 161),
        (2.0, 95, 30, 44, 43, 144),
        (1.0, 110, 149, 258, 167, 361),
        (3.0, 110, 25, 37, 38, 203),
    ],
)
def test_twelve_litres_sealed_cold_computed(gas, celsius, isothermal, adiabatic, warm, hot):
    """Dry isothermal, dry adiabatic, wet tank at 40 degC, wet tank as hot as the liquid; kPa gauge."""
    found = (
        closed(gas, celsius),
        closed(gas, celsius, exponent=1.4),
        closed(gas, celsius, gas_celsius=40.0),
        closed(gas, celsius, gas_celsius=celsius),
    )
    # 1.2 %: the tables' expansion is rounded to four digits
    assert_allclose(found, (isothermal, adiabatic, warm, hot), atol=0.7, rtol=0.012)


@pytest.mark.parametrize(
    ("gas", "celsius", "expected"),
    [(0.6, 80, 183), (0.8, 95, 196), (1.0, 80, 102), (1.0, 95, 141), (1.0, 110, 216), (1.5, 95, 96), (2.0, 95, 80)],
)
def test_tank_of_70_degrees_computed(gas, celsius, expected):
    """Wet gas at 70 degC over hotter liquid, 12 L sealed at 20 degC; kPa gauge, tolerance as above."""
    assert_allclose(closed(gas, celsius, gas_celsius=70.0), expected, atol=0.7, rtol=0.012)


@pytest.mark.parametrize(
    ("gas", "celsius", "expected"),
    [(0.6, 80, 148), (0.8, 95, 206), (1.0, 80, 107), (1.0, 95, 178), (1.0, 110, 287), (1.5, 95, 149), (2.0, 95, 136)],
)
def test_metal_and_hoses_relieve_computed(gas, celsius, expected):
    """Metal 0.3 %, hoses 0.3 mL/kPa, tank at the liquid's temperature. The table's rounding leaves 2 kPa."""
    found = closed(gas, celsius, gas_celsius=celsius, metal=0.003, compliance=0.3e-9)
    assert_allclose(found, expected, atol=2.0)


@pytest.mark.parametrize(("gas_celsius", "expected"), [(48.0, 54.0), (87.0, 115.1)])
def test_demo_tank_balance_computed(gas_celsius, expected):
    """12.2 L, 1.3 L gas, metal 0.002, hoses 0.8 mL/kPa, liquid 87 degC."""
    found = closed(1.3, 87.0, gas_celsius=gas_celsius, metal=0.002, compliance=0.8e-9, litres=12.2)
    assert_allclose(found, expected, atol=1.0)


@pytest.mark.parametrize(
    ("kilopascal", "celsius", "expected"),
    [
        (101.325, 60, 1.38),
        (101.325, 80, 2.21),
        (101.325, 95, 7.44),
        (150, 60, 0.86),
        (150, 80, 1.16),
        (150, 95, 1.90),
        (150, 105, 4.39),
        (200, 60, 0.62),
        (200, 80, 0.78),
        (200, 95, 1.08),
        (200, 105, 1.61),
        (200, 115, 4.25),
        (250, 95, 0.75),
        (250, 115, 1.62),
    ],
)
def test_trapped_air_grows_computed(kilopascal, celsius, expected):
    found = gas_space.air_growth(ATMOSPHERE, vapour(20.0), COLD, kilopascal * 1e3, vapour(celsius), celsius + 273.15)
    assert_allclose(found, expected, rtol=0.01)


@pytest.mark.parametrize(("litres", "expected"), [(1.3, 8.44), (1.7, 6.33)])
def test_squeeze_by_a_syringe_of_100_millilitres(litres, expected):
    """Boyle's law by hand, kPa; and back again."""
    rise = gas_space.squeeze_rise(litres * 1e-3, 1e-4, ATMOSPHERE)
    assert_allclose(rise / 1e3, expected, atol=0.05)
    assert_allclose(gas_space.squeezed_volume(1e-4, ATMOSPHERE, ATMOSPHERE + rise), litres * 1e-3)


def test_squeeze_against_walls_that_give():
    """By hand: 1 L of gas from 100 to 200 kPa loses 0.5 L (Boyle), walls of 1 mL/kPa take 0.1 L: 0.6 L in, 100 kPa."""
    assert_allclose(gas_space.squeeze_rise_with_give(1e-3, 0.6e-3, 100e3, 1e-9), 100e3, rtol=1e-12)
    assert_allclose(gas_space.squeeze_rise_with_give(0.0, 1e-4, ATMOSPHERE, 1e-9), 100e3, rtol=1e-12)  # dV/C
    assert_allclose(gas_space.squeeze_rise_with_give(1.3e-3, 1e-4, ATMOSPHERE, 0.0), 8443.75, rtol=1e-9)  # 101325/12
    assert gas_space.squeeze_rise_with_give(1e-4, 2e-4, ATMOSPHERE, 0.0) == np.inf  # liquid in a rigid box


@pytest.mark.parametrize("gas", [1e-9, 1e-6, 1e-4, 1.3e-3, 3e-2])
@pytest.mark.parametrize("compliance", [1e-12, 1e-10, 1e-8])
@pytest.mark.parametrize("injected", [1e-6, 1e-4, 2e-3])
def test_squeeze_keeps_the_ideal_gas(gas, compliance, injected):
    """p V of the gas before and after (isothermal), the volume from scipy's own root of the wall's balance."""
    rise = gas_space.squeeze_rise_with_give(gas, injected, ATMOSPHERE, compliance)
    left = brentq(  # gas volume that keeps p V while the wall takes the rest
        lambda v: compliance * (ATMOSPHERE * gas / v - ATMOSPHERE) - (injected - gas + v), 1e-9 * gas, gas, xtol=1e-300,
        rtol=1e-14,
    )  # fmt: skip
    assert_allclose(rise, ATMOSPHERE * (gas / left - 1.0), rtol=1e-6)


def test_pump_start_drops_the_level():
    """0.4 L trapped, 101.3 to 161.3 kPa absolute: 149 mL (Boyle by hand)."""
    assert_allclose(gas_space.pump_start_drop(0.4e-3, 101.3e3, 161.3e3) * 1e6, 149.0, atol=1.0)


def test_launch_pressure_of_hot_water():
    """1 g over 1 m of water at 95 degC: 9.43 kPa, computed."""
    found = gas_space.acceleration_pressure(lookup.density(LIQUID, 368.15), 9.80665, 1.0)
    assert_allclose(found / 1e3, 9.43, atol=0.02)


@pytest.mark.parametrize(
    ("compliances", "offsets", "expected"),
    [((1.0, 1.0), (60e3, 0.0), 30e3), ((1.0, 0.0), (60e3, 0.0), 60e3), ((0.0, 2.0), (60e3, 0.0), 0.0)],
    ids=["equal pockets at head and suction", "pocket in the head alone", "tank at the suction alone"],
)
def test_pin_is_the_weighted_mean(compliances, offsets, expected):
    assert_allclose(gas_space.pin_offset(compliances[0], offsets[0], compliances[1], offsets[1]), expected)


def test_cold_residual_of_leaked_gas_computed():
    """140 mg of combustion gas in 0.5 L at 293 K: +23.5 kPa."""
    alone = gas_space.gas_pressure(140e-6, 287.0, 293.0, 0.5e-3, 0.0)
    assert_allclose(alone / 1e3, 23.5, rtol=0.01)


def test_mass_volume_and_pressure_are_one_law():
    mass = gas_space.gas_mass(2e5, 7e4, 1e-3, AIR, 363.15)
    assert_allclose(gas_space.gas_pressure(mass, AIR, 363.15, 1e-3, 7e4), 2e5)
    assert_allclose(gas_space.gas_volume(mass, AIR, 363.15, 2e5, 7e4), 1e-3)
    assert gas_space.gas_mass(5e4, 7e4, 1e-3, AIR, 363.15) == 0.0
    assert np.isfinite(gas_space.gas_volume(mass, AIR, 363.15, 7e4, 7e4))


@pytest.mark.parametrize(("exponent", "expected"), [(1.0, 5.0), (1.4, 3.57)])
def test_compliance_of_a_litre_at_200_kilopascal(exponent, expected):
    """mL per kPa, and the slope of the law it linearises."""
    found = gas_space.gas_compliance(1e-3, 2e5, 0.0, exponent)
    assert_allclose(found * 1e9, expected, atol=0.01)
    step = 1e-3 - 1e-8
    rise = gas_space.polytropic_pressure(2e5, 1e-3, step, exponent) - 2e5
    assert_allclose(1e-8 / rise, found, rtol=1e-4)
