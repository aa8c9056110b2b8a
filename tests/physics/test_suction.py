"""Suction head against textbook examples."""

import math

import numpy as np
import pytest

from sim1d.physics import suction

FOOT = 0.3048
PSI = 6894.757293168361
POUND_PER_CUBIC_FOOT = 16.01846337396014


def test_munson_example_12_3():
    """Munson, Young, Okiishi example 12.3, read (7.65 ft): water 80 F, 0.5 ft3/s, 4 in pipe, losses 20, need 15 ft."""
    density = 62.22 * POUND_PER_CUBIC_FOOT
    speed = 0.5 * FOOT**3 / (math.pi / 4 * (FOOT / 3.0) ** 2)
    lost = 20.0 * speed**2 / (2 * 9.80665)
    still = suction.available_head(14.7 * PSI, 0.0, 0.5069 * PSI, density)
    assert (still - lost - 15.0 * FOOT) / FOOT == pytest.approx(7.65, rel=5e-3)


def test_available_head_counts_pressure_and_speed():
    """The speed head belongs to it: p + rho V^2/2 is constant along a lossless inlet, so the bore changes nothing."""
    density, total = 970.0, 1.2e5
    for v in (0.0, 2.0, 5.0):
        head = suction.available_head(total - 0.5 * density * v**2, v, 7.0e4, density)
        assert head == pytest.approx((total - 7.0e4) / (density * 9.80665), rel=1e-12)


def test_altitude_arasu_example_8_19():
    """Arasu example 8.19, read: barometer 0.75 to 0.62 m mercury, vapour 1800 to 830 Pa: 1.67 m lower, sigma 0.0921."""
    mercury = 13.6 * 1000.0 * 9.80665
    low = suction.available_head(0.75 * mercury, 0.0, 1800.0, 1000.0)
    high = suction.available_head(0.62 * mercury, 0.0, 830.0, 1000.0)
    assert low - high == pytest.approx(1.669, rel=2e-3)
    assert suction.thoma_number(0.0921 * 36.0, 36.0) == pytest.approx(0.0921)


def test_level_schaschke_example_9_6():
    """Schaschke example 9.6, read: 0.94 atm, vapour 18 kPa, density 970, need 5 m, lift 3 m, loss 0.5 m: 0.385 m."""
    still = suction.available_head(0.94 * 1.013e5, 0.0, 18.0e3, 970.0) * 9.80665 / 9.81
    assert 5.0 + 3.0 + 0.5 - still == pytest.approx(0.385, rel=5e-3)


def test_suction_specific_speed_example():
    """Published example, read: 3560 rpm, 400 gpm per eye, 18 ft: 8148; times 3.659e-4 it is dimensionless."""
    us = suction.suction_specific_speed_us(3560.0, 400.0, 18.0)
    assert us == pytest.approx(8148.0, rel=1e-4)
    si = suction.suction_specific_speed(3560.0 * math.pi / 30.0, 400.0 * 3.785411784e-3 / 60.0, 18.0 * FOOT)
    assert si / us == pytest.approx(3.659e-4, rel=1e-3)


@pytest.mark.parametrize(("rpm", "litres", "head"), [(6000.0, 200.0, 2.70), (7000.0, 150.0, 2.73)])
def test_required_head_estimates(rpm, litres, head):
    """Suction specific speed 8500 (usual range, read) turned into required head."""
    w, q = rpm * math.pi / 30.0, litres / 6e4
    got = suction.required_head_of_specific_speed(w, q, 8500.0 * 3.659e-4)
    assert got == pytest.approx(head, rel=5e-3)
    assert suction.suction_specific_speed(w, q, got) == pytest.approx(8500.0 * 3.659e-4, rel=1e-9)


def test_required_head_goes_with_the_square():
    assert suction.required_head(600.0, 1e-5) == pytest.approx(4.0 * suction.required_head(300.0, 1e-5))


def test_head_kept_meets_the_definition_and_has_no_step():
    assert suction.head_kept(4.0, 4.0) == pytest.approx(0.97)  # 3 % loss defines the required head
    assert suction.head_kept(10.0, 4.0) > 0.999
    x = np.linspace(0.3, 3.0, 5401)
    kept = np.array([suction.head_kept(value, 1.0) for value in x])
    assert np.all(np.diff(kept) >= 0.0)
    slope = np.diff(kept) / np.diff(x)
    assert np.abs(np.diff(slope)).max() < 0.05  # steepest slope is 3: a jump of slope would show
