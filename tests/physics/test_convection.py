"""Single-phase coefficients against worked examples and against the public library `ht`."""

import math

import ht
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from sim1d.physics import convection, lookup
from sim1d.properties import Fluid, coolant_tables


def water(celsius, fluid=Fluid.WATER, fraction=0.0):
    liquid = coolant_tables(fluid, fraction).liquid
    place = lookup.row_of(liquid, 273.15 + celsius)
    return tuple(
        lookup.value(liquid[name], *place) for name in ("density", "viscosity", "conductivity", "specific_heat")
    )


@pytest.mark.parametrize(
    ("reynolds", "prandtl", "conductivity", "diameter", "expected"),
    [
        pytest.param(14050.0, 4.85, 0.625, 0.025, 2250.0, id="Incropera example 11.1, read"),
        pytest.param(59567.0, 5.83, 0.613, 0.025, 7543.0, id="Incropera example 11.5, read"),
    ],
)
def test_dittus_boelter(reynolds, prandtl, conductivity, diameter, expected):
    nusselt = convection.dittus_boelter(reynolds, prandtl)
    assert_allclose(nusselt * conductivity / diameter, expected, rtol=1e-3)


@pytest.mark.parametrize("reynolds", [4e3, 1e4, 1e5, 1e6])
@pytest.mark.parametrize("prandtl", [0.7, 2.0, 30.0])
def test_turbulent_laws_equal_the_library(reynolds, prandtl):
    friction = convection.smooth_pipe_friction(reynolds)
    library = ht.conv_internal.turbulent_Gnielinski(reynolds, prandtl, friction)  # Darcy factor
    assert_allclose(convection.gnielinski(reynolds, prandtl), library, rtol=1e-12)
    library = ht.conv_internal.turbulent_Dittus_Boelter(reynolds, prandtl, heating=True, revised=True)
    assert_allclose(convection.dittus_boelter(reynolds, prandtl), library, rtol=1e-12)


JACKET = [  # 10 mm, 90 degC: speed, Dittus-Boelter, Gnielinski, Gnielinski with entry at L/D 10 (computed)
    (0.25, 2601.0, 2548.0, 3097.0),
    (0.5, 4529.0, 4656.0, 5659.0),
    (1.0, 7886.0, 8294.0, 10081.0),
    (2.0, 13730.0, 14675.0, 17837.0),
    (5.0, 28578.0, 31260.0, 37994.0),
]


@pytest.mark.parametrize(("speed", "simple", "developed", "short"), JACKET)
def test_jacket_table_of_water(speed, simple, developed, short):
    density, viscosity, conductivity, specific_heat = water(90.0)
    reynolds, prandtl = density * speed * 0.01 / viscosity, specific_heat * viscosity / conductivity
    assert_allclose(convection.dittus_boelter(reynolds, prandtl) * conductivity / 0.01, simple, rtol=2e-4)
    assert_allclose(convection.gnielinski(reynolds, prandtl) * conductivity / 0.01, developed, rtol=2e-4)
    found = convection.jacket_coefficient(speed, density, viscosity, conductivity, specific_heat, 0.01, 0.1, 0.0)
    assert_allclose(found, short, rtol=2e-4)


def test_half_glycol_takes_up_half_the_heat_of_water():
    """37 to 52 % of water's coefficient at equal speed above 0.5 m/s (computed with two property sources)."""
    for speed in (0.5, 1.0, 2.0, 5.0):
        pair = [
            convection.jacket_coefficient(speed, *water(90.0, fluid, fraction), 0.01, 0.1, 0.0)
            for fluid, fraction in ((Fluid.ETHYLENE_GLYCOL, 0.5), (Fluid.WATER, 0.0))
        ]
        assert 0.36 < pair[0] / pair[1] < 0.54


def test_entry_factor_falls_to_one_and_stays_below_two():
    assert_allclose(convection.entry_factor(0.01, 0.1), 1.0 + 0.1 ** (2.0 / 3.0))
    assert convection.entry_factor(0.01, 1e3) < 1.001
    assert convection.entry_factor(0.01, 0.0) == 2.0


@pytest.mark.parametrize("law", [convection.hausen, convection.edwards])
def test_laminar_laws_start_developed_and_rise(law):
    graetz = np.linspace(0.0, 1e4, 200)
    values = [law(value) for value in graetz]
    assert_allclose(values[0], {"hausen": 3.66, "edwards": 7.54}[law.__name__])
    assert (np.diff(values) > 0.0).all()


@pytest.mark.parametrize("flat", [0.0, 1.0])
def test_nusselt_rises_without_a_step_through_transition(flat):
    reynolds = np.linspace(1.0, 8000.0, 40001)
    values = np.array([convection.duct_nusselt(value, 3.0, 0.01, 0.3, flat) for value in reynolds])
    slope = np.diff(values) / np.diff(reynolds)
    assert (slope > 0.0).all()
    assert np.abs(np.diff(slope)).max() < 1e-4  # 1e-4 per 0.2 of Reynolds number: no corner at 2300 or 4000


@settings(max_examples=200, deadline=None)
@given(velocity=st.floats(-8.0, 8.0), floor=st.floats(0.0, 2000.0))
def test_jacket_coefficient_is_even_and_never_below_its_floor(velocity, floor):
    bulk = water(90.0)
    found = convection.jacket_coefficient(velocity, *bulk, 0.01, 0.1, floor)
    assert found >= floor
    assert found == convection.jacket_coefficient(-velocity, *bulk, 0.01, 0.1, floor)


def test_jacket_coefficient_has_no_corner_at_rest():
    bulk = water(90.0)
    rest, first, second = (convection.jacket_coefficient(speed, *bulk, 0.01, 0.1, 0.0) for speed in (0.0, 1e-5, 2e-5))
    assert_allclose((second - rest) / (first - rest), 4.0, rtol=0.01)  # quadratic: a corner would give 2


def test_tube_coefficient_of_the_core_example():
    """Flat tube 35.4 x 1.2 mm inside, 0.6 m, 95 degC, 40 tubes: 2324 laminar at 0.5 kg/s, 12 622 at 2 kg/s (computed).

    The second without entry correction: 2.5 % below.
    """
    bulk = water(95.0)
    area, diameter = 35.4e-3 * 1.2e-3, 4.0 * 35.4 * 1.2 / (2.0 * 36.6) * 1e-3
    speeds = [flow / bulk[0] / (40.0 * area) for flow in (0.5, 2.0)]
    found = [convection.tube_coefficient(speed, *bulk, diameter, 0.6) for speed in speeds]
    assert_allclose(found[0], 2324.0, rtol=1e-3)
    assert_allclose(found[1] / convection.entry_factor(diameter, 0.6), 12622.0, rtol=2e-3)


@pytest.mark.parametrize("number", [1e3, 1e6, 1e9, 1e11])
@pytest.mark.parametrize("prandtl", [0.7, 2.0, 7.0])
def test_vertical_plate_equals_the_library(number, prandtl):
    library = ht.conv_free_immersed.Nu_vertical_plate_Churchill(prandtl, number / prandtl)
    assert_allclose(convection.churchill_chu_plate(number, prandtl), library, rtol=1e-6)


def test_natural_coefficient_is_even_finite_and_held_below_one_kelvin():
    bulk = (*water(90.0), 6.97e-4)
    still = [convection.natural_convection_coefficient(value, 0.1, *bulk) for value in (-20.0, 20.0, 0.0, 1e-9, 1.0)]
    assert still[0] == still[1]
    assert_allclose(still[2], still[3])
    assert 0.85 < still[2] / still[4] < 1.0
    number = convection.rayleigh(math.sqrt(401.0), 0.1, *bulk)
    prandtl = bulk[3] * bulk[1] / bulk[2]
    assert_allclose(still[1], convection.churchill_chu_plate(number, prandtl) * bulk[2] / 0.1)
