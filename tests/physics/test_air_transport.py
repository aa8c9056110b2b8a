"""Air in bores and tanks against published thresholds; the clearing speeds are regression values, not validation."""

import math

import numpy as np
import pytest

from sim1d.physics import air_transport

WATER = dict(density=998.2, surface_tension=0.0728)  # 20 C


@pytest.mark.parametrize(
    ("density", "tension", "bore"),
    [
        pytest.param(998.2, 0.0728, 5.0e-3, id="Bretherton 1961, water 20 C, read"),
        pytest.param(965.3, 0.0608, 4.65e-3, id="Bretherton 1961, water 90 C"),
        pytest.param(1015.4, 0.047, 3.96e-3, id="Bretherton 1961, equal parts glycol and water 95 C"),
    ],
)
def test_vent_bore(density, tension, bore):
    least = air_transport.least_vent_bore(density, tension)
    assert least == pytest.approx(bore, rel=0.012)
    assert air_transport.eotvos(least, density, tension) == pytest.approx(3.37, rel=1e-3)
    assert air_transport.long_bubble_speed(0.99 * least, density, 3e-4, tension) == 0.0
    assert air_transport.long_bubble_speed(1.2 * least, density, 3e-4, tension) > 0.0


def test_long_bubble_in_a_wide_tube_is_the_inviscid_one():
    # 0.345 sqrt(gD), Wallis 1969 (recalled), once viscosity and surface tension no longer count
    d = 0.1
    got = air_transport.long_bubble_speed(d, 998.2, 1e-3, 0.0728)
    assert got == pytest.approx(0.345 * math.sqrt(9.80665 * d), rel=1e-6)


@pytest.mark.parametrize(
    ("bore", "speeds", "bubble"),
    [
        pytest.param(0.0103, (0.246, 0.304, 0.344, 0.372), 0.073, id="10.3 mm"),
        pytest.param(0.0222, (0.362, 0.446, 0.504, 0.546), 0.161, id="22.2 mm"),
        pytest.param(0.0381, (0.474, 0.585, 0.661, 0.715), 0.211, id="38.1 mm"),
    ],
)
def test_clearing_speeds_regression(bore, speeds, bubble):
    got = [air_transport.clearing_speed(bore, math.radians(s), 1.0) for s in (5.0, 22.5, 45.0, 90.0)]
    assert got == pytest.approx(speeds, abs=6e-4)
    assert air_transport.long_bubble_speed(bore, 998.2, 1.002e-3, 0.0728) == pytest.approx(bubble, abs=1.5e-3)


def test_clearing_speed_at_the_scale_of_the_tests():
    # Escarameia 2005 form (read), coefficients recalled: D 150 mm, 5 degrees, n = 1
    assert air_transport.clearing_speed(0.15, math.radians(5.0), 1.0) == pytest.approx(0.9405, rel=1e-3)
    # steps of the pocket number
    bands = [air_transport.clearing_speed(0.15, 0.1, n) for n in (0.05, 0.1, 0.2, 1.0)]
    assert bands == sorted(bands)
    assert air_transport.clearing_envelope(0.0222, math.pi / 2) == pytest.approx(0.502, abs=1e-3)


@pytest.mark.parametrize(("diameter", "speed"), [(0.1e-3, 0.0050), (0.2e-3, 0.0163), (0.5e-3, 0.0552), (1.0e-3, 0.112)])
def test_small_bubbles(diameter, speed):
    """Schiller and Naumann 1933 (recalled), water at 20 C; the balance of drag and buoyancy holds."""
    got = air_transport.small_bubble_speed(diameter, 998.2, 1.002e-3)
    assert got == pytest.approx(speed, rel=1e-2)  # listed to two or three digits
    reynolds = 998.2 * got * diameter / 1.002e-3
    drag = 24.0 / reynolds * (1 + 0.15 * reynolds**0.687) * 0.5 * 998.2 * got**2 * math.pi / 4 * diameter**2
    assert drag == pytest.approx(998.2 * 9.80665 * math.pi / 6 * diameter**3, rel=1e-9)


@pytest.mark.parametrize(("diameter", "speed"), [(2e-3, 0.287), (3e-3, 0.251), (5e-3, 0.2315), (10e-3, 0.252)])
def test_large_bubbles(diameter, speed):
    """Mendelson 1967 (recalled), water at 20 C."""
    assert air_transport.large_bubble_speed(diameter, 998.2, 0.0728) == pytest.approx(speed, rel=5e-3)


def test_gassy_pump():
    kept = np.array([air_transport.gassy_head(x) for x in np.linspace(0.0, 0.1, 101)])
    assert kept[0] == 1.0
    assert kept[20] > 0.8  # 2 %: work nearly unchanged (Murakami and Minemura 1974, abstract read)
    assert kept[-1] == 0.0
    assert np.all(np.diff(kept) <= 0.0)


def test_sweeping_speed_rule():
    assert air_transport.sweeping_speed() == pytest.approx(2 * 0.3048, rel=0.02)  # 2 ft/s
