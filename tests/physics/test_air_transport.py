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
        pytest.param(0.0127, (0.274, 0.338, 0.382, 0.413), 0.102, id="12.7 mm"),
        pytest.param(0.0159, (0.306, 0.378, 0.427, 0.462), 0.130, id="15.9 mm"),
        pytest.param(0.0222, (0.362, 0.446, 0.504, 0.546), 0.161, id="22.2 mm"),
        pytest.param(0.0286, (0.411, 0.507, 0.573, 0.620), 0.183, id="28.6 mm"),
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


@pytest.mark.parametrize(("litres", "cut"), [(10.0, 0.24e-3), (100.0, None)])
def test_swirl_pot_of_100_mm_keeps_what_rises_faster_than_the_flow_sinks(litres, cut):
    """Overflow criterion, rise > Q/A (closed form): 10 L/min removes bubbles above 0.24 mm, 100 L/min none up to 1 mm,
    and large ones outrun it by a tenth only. Water at 20 degC."""
    sinking = litres / 6e4 / (math.pi / 4 * 0.100**2)
    assert sinking == pytest.approx(0.0212 * litres / 10.0, rel=2e-3)
    if cut is None:
        assert air_transport.small_bubble_speed(1e-3, 998.2, 1.002e-3) < sinking
        assert sinking < air_transport.large_bubble_speed(5e-3, 998.2, 0.0728) < 1.1 * sinking
    else:
        assert air_transport.small_bubble_speed(0.96 * cut, 998.2, 1.002e-3) < sinking
        assert air_transport.small_bubble_speed(1.04 * cut, 998.2, 1.002e-3) > sinking


def test_gassy_head_is_its_formula():
    """1 - (x/0.06)^1.5, a model of low confidence, at a sixth, a third and at its end (closed form)."""
    found = [air_transport.gassy_head(share) for share in (0.01, 0.02, 0.06)]
    assert found == pytest.approx([1.0 - 6.0**-1.5, 1.0 - 3.0**-1.5, 0.0], abs=1e-12)


def test_gassy_pump():
    kept = np.array([air_transport.gassy_head(x) for x in np.linspace(0.0, 0.1, 101)])
    assert kept[0] == 1.0
    assert kept[20] > 0.8  # 2 %: work nearly unchanged (Murakami and Minemura 1974, abstract read)
    assert kept[-1] == 0.0
    assert np.all(np.diff(kept) <= 0.0)


def test_sweeping_speed_rule():
    assert air_transport.sweeping_speed() == pytest.approx(2 * 0.3048, rel=0.02)  # 2 ft/s


@pytest.mark.parametrize(
    ("bore", "litres"),
    [
        (10.3, 3.0),
        (12.7, 4.6),
        (15.9, 7.1),
        (19.0, 10.0),
        (22.2, 13.9),
        (25.0, 18.0),
        (28.6, 23.1),
        (32.0, 29.0),
        (38.1, 41.0),
    ],
)
def test_flow_that_sweeps_a_hose(bore, litres):
    """The rule times the area, L/min (closed form; listed to two or three digits)."""
    flow = air_transport.sweeping_speed() * math.pi / 4 * (bore * 1e-3) ** 2
    assert flow * 6e4 == pytest.approx(litres, rel=0.025)


@pytest.mark.parametrize(
    ("bore", "speed"),
    [(0.0103, 0.342), (0.0127, 0.379), (0.0159, 0.425), (0.0222, 0.502), (0.0286, 0.569), (0.0381, 0.657)],
)
def test_clearing_envelope_straight_down_regression(bore, speed):
    """Wisner, Mohsen and Kouwen 1975 (form read in a quotation), evaluated at 90 degrees."""
    assert air_transport.clearing_envelope(bore, math.pi / 2) == pytest.approx(speed, abs=6e-4)
