"""Nucleate boiling laws against published points, and the wall balance against its own equation."""

import ht
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from sim1d.physics import boiling, convection, lookup
from sim1d.properties import Fluid, coolant_tables

WATER = coolant_tables(Fluid.WATER)
LIQUID = WATER.liquid
BOILS = lookup.saturation_temperature(WATER.by_pressure, 101325.0 + 15.0 * 6894.757)  # K at 15 psi gauge
GROUP = boiling.forster_zuber_group(LIQUID, BOILS)


def at(temperature, *names):
    place = lookup.row_of(LIQUID, temperature)
    return tuple(lookup.value(LIQUID[name], *place) for name in names)


def pressure_rise(superheat, boils=BOILS):
    return lookup.vapour_pressure(LIQUID, boils + superheat) - lookup.vapour_pressure(LIQUID, boils)


@pytest.mark.parametrize(("superheat", "expected"), [(10, 0.121e6), (20, 0.529e6), (30, 1.304e6)])
def test_forster_zuber_at_15_psi_gauge_as_computed_with_the_library(superheat, expected):
    assert_allclose(boiling.forster_zuber(GROUP, superheat, pressure_rise(superheat)), expected, rtol=2e-3)


@pytest.mark.parametrize("superheat", [3.0, 12.0, 35.0])
def test_forster_zuber_equals_the_library(superheat):
    names = (
        "density",
        "vapour_density",
        "viscosity",
        "conductivity",
        "specific_heat",
        "latent_heat",
        "surface_tension",
    )
    density, vapour, viscosity, conductivity, heat, latent, tension = at(BOILS, *names)
    rise = pressure_rise(superheat)
    library = ht.boiling_nucleic.Forster_Zuber(
        rhol=density,
        rhog=vapour,
        mul=viscosity,
        kl=conductivity,
        Cpl=heat,
        Hvap=latent,
        sigma=tension,
        dPsat=rise,
        Te=superheat,
    )
    assert_allclose(boiling.forster_zuber(GROUP, superheat, rise), library * superheat, rtol=1e-9)


def test_forster_zuber_is_zero_without_superheat():
    assert boiling.forster_zuber(GROUP, 0.0, 0.0) == 0.0
    assert boiling.forster_zuber(GROUP, -5.0, -1e4) == 0.0


@pytest.mark.parametrize(
    ("speed", "expected"),
    [(0.5, 0.833), (1.0, 0.690), (2.0, 0.497), (4.0, 0.305)],
    ids=lambda v: f"Chen, computed: {v}",
)
def test_chen_suppression(speed, expected):
    density, viscosity = at(363.15, "density", "viscosity")
    assert_allclose(boiling.chen_suppression(density * speed * 0.01 / viscosity), expected, atol=1e-3)


@pytest.mark.parametrize(
    ("speed", "flux", "celsius"),
    [
        (0.5, 0.3e6, 131.5),
        (0.5, 1e6, 146.3),
        (0.5, 2e6, 157.3),
        (1.0, 1e6, 145.3),
        (1.0, 2e6, 158.0),
        (2.0, 1e6, 141.8),
    ],
    ids=lambda value: f"Chen subcooled at 90 degC, 10 mm, computed: {value}",
)
def test_parts_of_chen_sum_to_the_computed_flux(speed, flux, celsius):
    """Dittus-Boelter + S x Forster-Zuber at the tabulated wall temperature gives the flux (plain sum, 1 % in 0.1 K)."""
    density, viscosity, conductivity, heat = at(363.15, "density", "viscosity", "conductivity", "specific_heat")
    reynolds = density * speed * 0.01 / viscosity
    forced = convection.dittus_boelter(reynolds, heat * viscosity / conductivity) * conductivity / 0.01
    superheat = celsius + 273.15 - BOILS
    nucleate = boiling.forster_zuber(GROUP, superheat, pressure_rise(superheat))
    total = forced * (celsius - 90.0) + boiling.chen_suppression(reynolds) * nucleate
    assert_allclose(total, flux, rtol=0.01)


def test_rohsenow_pan_of_incropera_10_1_read():
    """dT 18 K, Csf 0.0128, Pr 1.76 on a 0.30 m pan: 59.13 kW."""
    flux = boiling.rohsenow(18.0, 279e-6, 2257e3, 957.9, 0.5956, 58.9e-3, 4217.0, 1.76, 0.0128, 1.0)
    assert_allclose(flux * np.pi / 4.0 * 0.30**2, 59.13e3, rtol=2e-3)


def test_rohsenow_equals_the_library():
    library = ht.boiling_nucleic.Rohsenow(
        rhol=957.854,
        rhog=0.595593,
        mul=2.79e-4,
        kl=0.68,
        Cpl=4217,
        Hvap=2.257e6,
        sigma=0.0589,
        Te=4.9,
        Csf=0.011,
        n=1.26,
    )
    prandtl = 4217.0 * 2.79e-4 / 0.68
    found = boiling.rohsenow(4.9, 2.79e-4, 2.257e6, 957.854, 0.595593, 0.0589, 4217.0, prandtl, 0.011, 1.26)
    assert_allclose(found, library * 4.9, rtol=1e-4)  # gravity to four digits there


@pytest.mark.parametrize(("superheat", "expected"), [(10, 0.232e6), (20, 1.86e6), (30, 6.26e6)])
def test_rohsenow_at_15_psi_gauge_computed(superheat, expected):
    names = (
        "viscosity",
        "latent_heat",
        "density",
        "vapour_density",
        "surface_tension",
        "specific_heat",
        "conductivity",
    )
    *first, heat, conductivity = at(BOILS, *names)
    prandtl = heat * first[0] / conductivity
    assert_allclose(boiling.rohsenow(superheat, *first, heat, prandtl, 0.013, 1.0), expected, rtol=5e-3)


def test_cooper_of_water_at_1_atm_computed():
    found = boiling.cooper(1e6, 101325.0 / 22.064e6, 18.015, 1.0)
    assert_allclose(found, 44579.0, rtol=1e-3)
    library = ht.boiling_nucleic.Cooper(P=101325.0, Pc=22.064e6, MW=18.015, q=1e6, Rp=1e-6)
    assert_allclose(found, library, rtol=1e-4)


def test_onset_of_bergles_and_rohsenow_read():
    """p 1 bar, q 1e5 W/m2, saturation 100 degC: 104.52092778452801 degC in a public reactor code."""
    assert_allclose(100.0 + boiling.bergles_rohsenow_onset(1e5, 1e5), 104.52092778452801, rtol=1e-12)


@pytest.mark.parametrize(
    ("gauge", "flux", "first", "second"),
    [(0, 1e5, 4.49, 4.39), (0, 1e6, 13.05, 13.88), (15, 1e5, 3.17, 3.16), (15, 1e6, 9.38, 9.98), (30, 1e6, 7.70, 8.23)],
)
def test_two_independent_onsets_agree(gauge, flux, first, second):
    """Both as computed, and within 7 % of each other."""
    pressure = 101325.0 + gauge * 6894.757
    boils = lookup.saturation_temperature(WATER.by_pressure, pressure)
    properties = at(boils, "conductivity", "latent_heat", "vapour_density", "surface_tension")
    found = boiling.bergles_rohsenow_onset(flux, pressure), boiling.davis_anderson_onset(flux, boils, *properties)
    assert_allclose(found, (first, second), atol=0.02)
    assert abs(found[1] / found[0] - 1.0) < 0.07


@pytest.mark.parametrize(("flux", "ideal", "expected"), [(2e5, 12e3, 0.553), (5e5, 22e3, 0.455), (1e6, 35e3, 0.418)])
def test_mixture_degradation_of_half_glycol_computed(flux, ideal, expected):
    found = boiling.mixture_degradation(ideal, flux, 50.5, 996.0, 2.174e6, 3e-4)
    assert_allclose(found, expected, rtol=5e-3)
    assert boiling.mixture_degradation(ideal, flux, 0.0, 996.0, 2.174e6, 3e-4) == 1.0


def test_wet_flux_slope_is_its_derivative():
    for wall in (350.0, 393.0, 396.0, 410.0, 440.0, 530.0):
        args = (363.15, BOILS, 8000.0, GROUP, 0.69, LIQUID)
        _, slope, _ = boiling.wet_flux(wall, *args)
        numeric = (boiling.wet_flux(wall + 1e-4, *args)[0] - boiling.wet_flux(wall - 1e-4, *args)[0]) / 2e-4
        assert_allclose(slope, numeric, rtol=1e-5)


@pytest.mark.parametrize("bulk", [300.0, 363.15, 393.0, BOILS, 395.0, 400.0])
def test_wet_flux_is_smooth_and_rising_in_wall_temperature(bulk):
    wall = np.linspace(280.0, 520.0, 24001)
    flux, slope, nucleate = np.array(
        [boiling.wet_flux(value, bulk, BOILS, 6000.0, GROUP, 0.7, LIQUID) for value in wall]
    ).T
    assert (np.diff(flux) > 0.0).all()
    # rows of the vapour pressure table give 1 % steps of slope every 0.25 K; a real corner would be of order one
    assert (np.abs(np.diff(slope)) < 0.02 * slope[1:]).all()
    assert (nucleate[wall <= max(bulk, BOILS)] == 0.0).all()
    assert (flux * (wall - bulk) >= 0.0).all()


FACE = {
    "cell": st.floats(260.0, 1200.0),
    "resistance": st.sampled_from([0.0, 1e-7, 6.7e-6, 1e-4, 1e-2]),
    "bulk": st.floats(270.0, 410.0),
    "coefficient": st.floats(0.0, 60e3),
    "suppression": st.floats(0.0, 1.0),
    "dry": st.floats(0.0, 1.0),
}


@settings(max_examples=500, deadline=None)
@given(**FACE)
def test_wetted_face_balances(cell, resistance, bulk, coefficient, suppression, dry):
    wall, flux, nucleate = boiling.wetted_face(
        cell, resistance, bulk, BOILS, coefficient, GROUP, suppression, dry, 200.0, LIQUID
    )
    wet = boiling.wet_flux(wall, bulk, BOILS, coefficient, GROUP, suppression, LIQUID)
    expected = (1.0 - dry) * wet[0] + dry * 200.0 * (wall - bulk)
    assert_allclose(flux, expected, rtol=1e-7, atol=1e-3)
    assert abs(cell - wall - resistance * flux) < 1e-6
    # the nucleate part is that of the last step but one, at most 1e-4 K away
    assert_allclose(nucleate, (1.0 - dry) * wet[2], rtol=1e-3, atol=0.1)
    assert min(cell, bulk) - 1e-9 <= wall <= max(cell, bulk) + 1e-9


@settings(max_examples=200, deadline=None)
@given(**FACE)
def test_wetted_face_rises_with_the_metal(cell, resistance, bulk, coefficient, suppression, dry):
    args = (resistance, bulk, BOILS, coefficient, GROUP, suppression, dry, 200.0, LIQUID)
    low, high = boiling.wetted_face(cell, *args), boiling.wetted_face(cell + 1.0, *args)
    assert high[0] > low[0]
    assert high[1] >= low[1]


def test_wetted_face_cools_metal_and_warms_it():
    args = (6.7e-6, 363.15, BOILS, 5000.0, GROUP, 0.7, 0.0, 200.0, LIQUID)
    wall, flux, nucleate = boiling.wetted_face(343.15, *args)
    assert flux < 0.0 and nucleate == 0.0 and 343.15 < wall < 363.15
    assert_allclose(flux, (343.15 - 363.15) / (6.7e-6 + 1.0 / 5000.0))
    assert boiling.wetted_face(363.15, *args)[1] == 0.0


def test_boiling_takes_over_from_speed_at_high_flux():
    """At 2 MW/m2 the wall hardly depends on speed (computed: 157 to 166 degC from 0.5 to 2 m/s)."""
    density, viscosity, conductivity, heat = at(363.15, "density", "viscosity", "conductivity", "specific_heat")
    walls = []
    for speed in (0.5, 2.0):
        reynolds = density * speed * 0.01 / viscosity
        forced = convection.gnielinski(reynolds, heat * viscosity / conductivity) * conductivity / 0.01
        cell = BOILS
        for _ in range(60):  # metal temperature that carries 2 MW/m2 through a half cell of 1 mm aluminium
            args = (1e-3 / 150.0, 363.15, BOILS, forced, GROUP, boiling.chen_suppression(reynolds), 0.0, 0.0, LIQUID)
            wall, flux, _ = boiling.wetted_face(cell, *args)
            cell += (2e6 - flux) * 2e-5
        assert_allclose(flux, 2e6, rtol=1e-6)
        walls.append(wall - 273.15)
    assert_allclose(walls, (159.8, 165.9), atol=0.2)
