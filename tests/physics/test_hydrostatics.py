"""Columns of liquid: Boyle, tilt, air lock, and the starting column against its differential equation."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from sim1d.physics import hydrostatics


@pytest.mark.parametrize(("multiple", "degrees"), [(0.5, 26.6), (1.0, 45.0), (1.5, 56.3), (3.0, 71.6)])
def test_tilt(multiple, degrees):
    assert math.degrees(hydrostatics.surface_tilt(multiple * 9.80665)) == pytest.approx(degrees, abs=0.05)


def test_launch_moves_the_gauge():
    # 1 m of hose at 1.5 g: 14.7 kPa, higher at the rear end; and it falls when that end is higher up
    assert hydrostatics.column_push(1000.0, 0.0, 1.0, 1.5 * 9.80665) == pytest.approx(14.71e3, rel=1e-3)
    assert hydrostatics.column_push(1000.0, 1.0, 0.0, 0.0) == pytest.approx(-9806.65)
    assert hydrostatics.still_pressure(5e3, 1000.0, 0.8, 0.3) == pytest.approx(5e3 + 4903.3, rel=1e-4)


def test_surface_is_level_along_the_tilt():
    a = 4.0
    slope = math.tan(hydrostatics.surface_tilt(a))
    assert hydrostatics.column_push(1000.0, slope * 0.7, 0.7, a) == pytest.approx(0.0, abs=1e-9)


def test_surface_in_a_swirl_pot():
    """2 m/s round a radius of 40 mm: v^2/r is 10.2 g, so the surface there is that much steeper than level
    (forced vortex: dz/dr = v^2/(r g))."""
    assert math.tan(hydrostatics.surface_tilt(2.0**2 / 0.040)) == pytest.approx(10.2, rel=1e-3)


def test_trapped_pocket():
    """Boyle: 50 mL sealed at 1 atm, then 110 kPa gauge and 0.3 m of liquid: 23.64 mL, and back when released."""
    high = 101325.0 + 110e3 + 1000.0 * 9.80665 * 0.3
    small = hydrostatics.pocket_volume(50e-6, 101325.0, high)
    assert small == pytest.approx(23.64e-6, rel=3e-4)
    assert hydrostatics.pocket_volume(small, high, 101325.0) == pytest.approx(50e-6, rel=1e-12)


def test_sealed_gas():
    """0.5 L sealed at 20 C, squeezed to half at 95 C: 254.5 kPa absolute."""
    got = hydrostatics.sealed_gas_pressure(101325.0, 0.5e-3, 293.15, 0.25e-3, 368.15)
    assert got == pytest.approx(254.5e3, rel=1e-4)


def test_air_lock():
    # a series of inverted U's, 0.35 and 0.2 m of air in the downhill legs: 5.40 kPa
    assert hydrostatics.air_lock_pressure(1000.0, 0.35 + 0.2) == pytest.approx(5.40e3, rel=2e-3)


def test_column_starts_and_coasts():
    """4 m of 25.4 mm bore, 20 m of head, 84.853 L/min: 56.9 ms; start and coast-down solve I dQ/dt = dp - K Q|Q|."""
    density, head, flow = 1000.0, 1000.0 * 9.80665 * 20.0, 84.853 / 6e4
    inertance = density * 4.0 / (math.pi / 4 * 0.0254**2)
    tau = hydrostatics.column_time(inertance, flow, head)
    assert tau == pytest.approx(56.9e-3, rel=2e-3)
    k = head / flow**2
    times = np.linspace(0.0, 0.2, 11)

    def rate(_, q, push):
        return (push - k * q * np.abs(q)) / inertance

    start = solve_ivp(rate, (0.0, 0.2), [0.0], t_eval=times, args=(head,), rtol=1e-10, atol=1e-14).y[0]
    coast = solve_ivp(rate, (0.0, 0.2), [flow], t_eval=times, args=(0.0,), rtol=1e-10, atol=1e-14).y[0]
    starting = [hydrostatics.starting_flow(t, flow, tau) for t in times]
    coasting = [hydrostatics.coasting_flow(t, flow, tau) for t in times]
    assert starting == pytest.approx(start.tolist(), rel=1e-6, abs=1e-12)
    assert coasting == pytest.approx(coast.tolist(), rel=1e-6)
