"""Orifices, valves and nozzles against hand numbers, and their ends."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sim1d.physics import cap_flow

AREA = math.pi / 4.0 * 0.006**2


@pytest.mark.parametrize(("drop", "millilitres"), [(20e3, 110.0), (50e3, 173.0), (100e3, 245.0)])
def test_overflow_tube_of_6_mm_computed(drop, millilitres):
    """Cd 0.6, 960 kg/m3: Bernoulli."""
    assert_allclose(cap_flow.orifice_mass_flow(0.6, AREA, 960.0, drop) / 960.0 * 1e6, millilitres, rtol=5e-3)


def test_orifice_is_odd_and_finite_in_slope_at_rest():
    assert cap_flow.orifice_mass_flow(0.6, AREA, 960.0, -5e3) == -cap_flow.orifice_mass_flow(0.6, AREA, 960.0, 5e3)
    drops = np.linspace(-100.0, 100.0, 20001)
    flow = np.array([cap_flow.orifice_mass_flow(0.6, AREA, 960.0, drop) for drop in drops])
    slope = np.diff(flow)
    assert (slope > 0.0).all() and slope.max() < 6.0 * slope.min()
    bernoulli = 0.6 * AREA * math.sqrt(2.0 * 960.0 * 300.0)
    assert_allclose(cap_flow.orifice_mass_flow(0.6, AREA, 960.0, 300.0), bernoulli, rtol=2e-3)


def test_spring_valve_is_shut_below_and_open_above():
    assert cap_flow.lift_share(100e3, 103e3, 15e3) == 0.0
    assert cap_flow.lift_share(103e3 + 7.5e3, 103e3, 15e3) == pytest.approx(0.5)
    assert cap_flow.lift_share(120e3, 103e3, 15e3) == 1.0


def test_weighted_valve_hangs_open_and_is_carried_shut():
    assert cap_flow.weighted_share(-5e3, 4e3) == 1.0
    assert cap_flow.weighted_share(0.0, 4e3) == 1.0
    assert cap_flow.weighted_share(4e3, 4e3) == 0.0


def test_cap_holds_then_blows_and_draws_back():
    def flow(drop):
        return cap_flow.cap_mass_flow(drop, 960.0, 0.6, AREA, 103e3, 15e3, 0.6, 0.2 * AREA, 5e3, 3e3)

    assert flow(0.0) == 0.0 and flow(100e3) == 0.0 and flow(-4e3) == 0.0
    assert_allclose(flow(130e3), cap_flow.orifice_mass_flow(0.6, AREA, 960.0, 130e3))
    assert_allclose(flow(-20e3), -0.2 * cap_flow.orifice_mass_flow(0.6, AREA, 960.0, 20e3))
    found = np.array([flow(drop) for drop in np.linspace(-30e3, 150e3, 9001)])
    assert (np.diff(found) >= 0.0).all()


def test_nozzle_of_nasa_glenn_read_and_computed():
    """1 mm2, 1 MPa, 300 K air, g 1.4: 2.3336e-3 kg/s; critical ratios 0.5283 (g 1.4), 0.5512 (g 1.27)."""
    assert_allclose(cap_flow.nozzle_mass_flow(1.0, 1e-6, 1e6, 300.0, 1e5, 287.0, 1.4), 2.3336e-3, rtol=1e-3)
    assert_allclose(cap_flow.critical_ratio(1.4), 0.5283, atol=5e-5)
    assert_allclose(cap_flow.critical_ratio(1.27), 0.5512, atol=5e-5)


def test_nozzle_chokes_and_closes():
    def flow(back):
        return cap_flow.nozzle_mass_flow(1.0, 1e-6, 2e5, 350.0, back, 287.0, 1.4)

    assert flow(2e5) == 0.0 and flow(3e5) == 0.0
    assert flow(0.0) == flow(0.5 * 2e5)
    # incompressible limit at 1 % of pressure drop
    assert_allclose(flow(1.98e5), 1e-6 * math.sqrt(2.0 * 2e5 / (287.0 * 350.0) * 2e3), rtol=0.01)
    back = np.linspace(0.0, 2e5, 40001)
    found = np.array([flow(value) for value in back])
    assert (np.diff(found) <= 1e-18).all()
    assert np.abs(np.diff(found)).max() < 0.02 * found.max()  # the end is steep, not infinite


def test_slot_film():
    """w h^3 (p0^2 - pb^2)/(24 mu R T L): incompressible limit w h^3 rho dp/(12 mu L) at a small difference."""
    found = cap_flow.slot_mass_flow(0.02, 20e-6, 8e-3, 1.01e5, 1e5, 4e-5, 287.0, 400.0)
    density = 1.005e5 / (287.0 * 400.0)
    assert_allclose(found, 0.02 * 20e-6**3 * density * 1e3 / (12.0 * 4e-5 * 8e-3), rtol=1e-6)
    assert cap_flow.slot_mass_flow(0.02, 20e-6, 8e-3, 1e5, 2e5, 4e-5, 287.0, 400.0) == 0.0
