"""The computed core example, and the balance of ram, fan and core."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from sim1d.physics import ambient, convection, core_air, exchangers, lookup, louvered_fins
from sim1d.properties import Fluid, coolant_tables

CORE = (28.0, 1.8e-3, 1.2e-3, 8e-3, 36e-3, 6.8e-3, 9.8e-3, 0.08e-3)
WIDTH, HEIGHT, TUBES = 0.6, 0.4, 40
AIR_DENSITY = ambient.air_density(101325.0, 303.15)


def core(face_speed, coolant_flow):
    """Heat (W), UA (W/K) and air-side drop (Pa) of the example core: 95 degC water, 30 degC air."""
    fins = core_air.fin_area(WIDTH, TUBES, 0.036, 1.8e-3, 8e-3)
    area = fins + core_air.bare_tube_area(WIDTH, TUBES, 0.036, 1.8e-3, 0.08e-3)
    free = core_air.free_flow_share(8e-3, 9.8e-3, 0.08e-3, 1.8e-3) * TUBES * 9.8e-3 / HEIGHT
    viscosity, conductivity = ambient.air_viscosity(303.15), ambient.air_conductivity(303.15)
    speed = face_speed / free
    reynolds = AIR_DENSITY * speed * 1.2e-3 / viscosity
    colburn = louvered_fins.chang_wang(reynolds, *CORE)
    film = core_air.air_coefficient(colburn, AIR_DENSITY * speed, 1006.0, viscosity * 1006.0 / conductivity)
    efficiency = core_air.surface_efficiency(fins / area, core_air.fin_efficiency(film, 200.0, 0.08e-3, 4e-3))
    liquid = coolant_tables(Fluid.WATER).liquid
    place = lookup.row_of(liquid, 368.15)
    bulk = [lookup.value(liquid[name], *place) for name in ("density", "viscosity", "conductivity", "specific_heat")]
    passage, diameter = 35.4e-3 * 1.2e-3, 4.0 * 35.4 * 1.2 / 73.2 * 1e-3
    inside = convection.tube_coefficient(coolant_flow / bulk[0] / (TUBES * passage), *bulk, diameter, WIDTH)
    tube_area = TUBES * 73.2e-3 * WIDTH
    conductance = core_air.overall_conductance(
        efficiency * film * area, 0.3e-3 / (200.0 * tube_area), inside, tube_area
    )
    air, water = AIR_DENSITY * face_speed * WIDTH * HEIGHT * 1006.0, coolant_flow * bulk[3]
    heat = exchangers.crossflow_unmixed(conductance / min(air, water), min(air, water) / max(air, water))
    friction = louvered_fins.chang_friction(reynolds, *CORE, 1.8e-3, 2.826e-3)
    drop = core_air.core_drop(friction, area / (free * WIDTH * HEIGHT), AIR_DENSITY, speed)
    return heat * min(air, water) * 65.0, conductance, drop


@pytest.mark.parametrize(
    ("face_speed", "flow", "conductance", "kilowatts", "drop"),
    [
        (2, 2.0, 963, 29.3, 28),
        (4, 2.0, 1318, 48.5, 75),
        (6, 2.0, 1574, 62.9, 136),
        (10, 2.0, 1953, 84.5, 292),
        (6, 0.5, 1197, 46.1, 136),
    ],
)
def test_core_example_computed(face_speed, flow, conductance, kilowatts, drop):
    """Two independent codings of the same laws with slightly different air and tube areas: 5 % on UA, 2.5 % on heat."""
    found = core(float(face_speed), flow)
    assert_allclose(found[0] / 1e3, kilowatts, rtol=0.025)
    assert_allclose(found[1], conductance, rtol=0.045)
    assert_allclose(found[2], drop, rtol=0.035)


def test_surfaces_of_the_example():
    """9.42 m2 of air surface, computed; 9.33 here with the bare tube under the fins' feet taken off."""
    fins = core_air.fin_area(WIDTH, TUBES, 0.036, 1.8e-3, 8e-3)
    assert_allclose(fins + core_air.bare_tube_area(WIDTH, TUBES, 0.036, 1.8e-3, 0.08e-3), 9.42, rtol=0.01)


def test_fin_efficiency_limits():
    assert core_air.fin_efficiency(0.0, 200.0, 1e-4, 4e-3) == 1.0
    assert_allclose(core_air.fin_efficiency(100.0, 200.0, 1e-4, 1.0), 1.0 / math.sqrt(2.0 * 100.0 / (200.0 * 1e-4)))
    close = [core_air.fin_efficiency(value, 200.0, 1e-4, 4e-3) for value in (1e-3 * 0.625 * 0.99, 1e-3 * 0.625 * 1.01)]
    assert_allclose(close[0], close[1], rtol=1e-6)


def test_overall_conductance_is_zero_without_either_side():
    assert core_air.overall_conductance(0.0, 1e-4, 1e4, 1.0) == 0.0
    assert core_air.overall_conductance(1e3, 1e-4, 0.0, 1.0) == 0.0
    assert_allclose(core_air.overall_conductance(1e3, 1e-3, 1e3, 1.0), 1e3 / 3.0)


# least squares of a u + b u^2 on core loss factors 11.6/6.2/4.8/4.0/3.4 at 2/6/10/15/22 m/s (computed)
LINEAR, QUADRATIC = 10.879217, 1.58973577
UNCAPPED = 1e12


def air_speed(car_speed, fan, cap=UNCAPPED, share=1.0):
    return core_air.face_velocity(
        car_speed, share, LINEAR, QUADRATIC, 0.5, 1.5, fan, 1.4, cap, WIDTH * HEIGHT, AIR_DENSITY
    )


@pytest.mark.parametrize(
    ("car_speed", "with_fan", "without"),
    [(0, 4.5, 0.0), (10, 4.8, 1.9), (20, 5.5, 4.9), (40, 7.9, 11.5), (75, 13.3, 24.2)],
)
def test_air_speeds_computed(car_speed, with_fan, without):
    """250 Pa, 1.4 m3/s, Cp 0.5, K 1.5. The core's drop is a two-term fit here: 3 %."""
    assert_allclose(air_speed(float(car_speed), 250.0), with_fan, rtol=0.03)
    assert_allclose(air_speed(float(car_speed), 0.0), without, rtol=0.03, atol=1e-12)


def test_a_capped_windmilling_fan_no_longer_chokes_the_core():
    free = air_speed(75.0, 0.0)
    assert air_speed(75.0, 250.0) < 0.6 * free
    assert 0.85 * free < air_speed(75.0, 250.0, cap=250.0) < free


@settings(max_examples=300, deadline=None)
@given(car_speed=st.floats(0.0, 130.0), share=st.floats(0.0, 1.0), fan=st.floats(0.0, 2000.0), cap=st.floats(10.0, 1e4))
def test_air_speed_balances_the_pressures(car_speed, share, fan, cap):
    found = air_speed(car_speed, fan, cap, share)

    def residual(speed):
        gain = 0.25 * AIR_DENSITY * car_speed**2
        gain += core_air.fan_pressure_rise(speed * WIDTH * HEIGHT, share, fan, 1.4, cap)
        return LINEAR * speed + QUADRATIC * speed**2 + 0.75 * AIR_DENSITY * speed**2 - gain

    if car_speed == 0.0 and share * share * fan == 0.0:
        assert found == 0.0
    else:
        assert_allclose(found, brentq(residual, 0.0, 200.0, xtol=1e-13), rtol=1e-7, atol=1e-9)


def test_air_speed_rises_smoothly_with_car_speed_and_ignores_reverse():
    speeds = np.linspace(0.0, 80.0, 8001)
    found = np.array([air_speed(speed, 250.0, 250.0) for speed in speeds])
    slope = np.diff(found)
    assert (slope >= 0.0).all()
    assert np.abs(np.diff(slope)).max() < 2e-5  # m/s per (1 cm/s)^2: no corner where the fan begins to windmill
    assert air_speed(-5.0, 0.0) == 0.0


def test_fan_laws():
    assert core_air.fan_pressure_rise(0.0, 1.0, 250.0, 1.4, 250.0) == 250.0
    assert core_air.fan_pressure_rise(0.7, 0.5, 250.0, 1.4, 250.0) == pytest.approx(
        0.0
    )  # affinity: half speed, half flow
    assert -250.0 < core_air.fan_pressure_rise(1e3, 0.0, 250.0, 1.4, 250.0) < -249.0
    assert core_air.fan_pressure_rise(1.0, 1.0, 0.0, 0.0, 250.0) == 0.0
