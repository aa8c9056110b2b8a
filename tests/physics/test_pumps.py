"""Pump curve: affinity laws, published points, and the way through reverse flow, run-out and standstill."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim1d.physics import pumps

GPM = 3.785411784e-3 / 60.0  # US gallon per minute, m3/s
FOOT = 0.3048
HORSEPOWER = 745.6998715822702
RPM = math.pi / 30.0
CURVE = dict(shutoff=2.0e5, linear=2.0e6, quadratic=2.0e10, stopped=1.2e11)


def rise(q, n, ratio=1.0, **curve):
    row = CURVE | curve
    return pumps.pump_rise(q, n, ratio, row["shutoff"], row["linear"], row["quadratic"], row["stopped"])


def test_affinity_crane_example_7_33():
    """Crane TP-410 example 7.33, read: 400 gpm, 126 ft, 17.5 hp at 3500 rpm, 194.3 gpm, 29.73 ft, 2.005 hp at 1700."""
    n = 1700.0 / 3500.0
    q, head = 400.0 * GPM, 126.0 * FOOT * 998.0 * 9.80665
    linear = 0.3 * head / q
    quadratic = 0.2 * head / q**2
    curve = dict(shutoff=head * 1.5, linear=linear, quadratic=quadratic, stopped=5.0 * quadratic)
    assert rise(q, 1.0, **curve)[0] == pytest.approx(head, rel=1e-12)
    slow = rise(q * n, n, **curve)[0]
    assert q * n / GPM == pytest.approx(194.29, rel=1e-3)
    assert slow / (998.0 * 9.80665 * FOOT) == pytest.approx(29.726, rel=1e-3)
    w = 3500.0 * RPM
    torque = 17.5 * HORSEPOWER / w
    constant, slope = 0.6 * torque / w**2, 0.4 * torque / (w * q)
    assert pumps.shaft_torque(q, w, 1.0, constant, slope) == pytest.approx(torque, rel=1e-12)
    power = pumps.shaft_torque(q * n, w * n, 1.0, constant, slope) * w * n
    assert power / HORSEPOWER == pytest.approx(2.005, rel=1e-3)


def test_coefficients_munson_example_12_5():
    """Munson, Young, Okiishi example 12.5, read: coefficients .0625, .19, .014 of an 8 in wheel at 1200 rpm."""
    w, d = 1200.0 * RPM, 8.0 * 0.0254
    flow, head, power = 0.065897, 12.622, 9619.0  # m3/s, m, W: 1044.5 gpm, 41.41 ft, 12.90 hp
    assert pumps.flow_coefficient(flow, w, d) == pytest.approx(0.0625, rel=1e-3)
    assert pumps.head_coefficient(head, w, d) == pytest.approx(0.19, rel=1e-3)
    assert pumps.power_coefficient(power, 999.0, w, d) == pytest.approx(0.014, rel=2e-3)
    assert flow / GPM == pytest.approx(1044.0, rel=1e-3)
    assert head / FOOT == pytest.approx(41.4, rel=1e-3)
    assert power / HORSEPOWER == pytest.approx(13.0, rel=1e-2)


@settings(max_examples=300, deadline=None)
@given(st.floats(-0.02, 0.02), st.floats(0.0, 2.5), st.sampled_from([4e9, 2e10, 1.2e11]), st.floats(0.1, 3.0))
def test_second_degree_falling_and_exact_slopes(q, n, stopped, scale):
    value, by_q, by_n = rise(q, n, stopped=stopped)
    assert rise(scale * q, scale * n, stopped=stopped)[0] == pytest.approx(scale**2 * value, rel=1e-9, abs=1e-6)
    h = 1e-7
    up, down = rise(q + h, n, stopped=stopped)[0], rise(q - h, n, stopped=stopped)[0]
    assert up < down
    assert by_q == pytest.approx((up - down) / (2 * h), rel=1e-4, abs=2e4)  # abs: 1e-7 m3/s across a corner of slope
    if n > 1e-3:
        h = 1e-5
        difference = (rise(q, n + h, stopped=stopped)[0] - rise(q, n - h, stopped=stopped)[0]) / (2 * h)
        assert by_n == pytest.approx(difference, rel=1e-4, abs=20.0)


def test_standing_pump_is_its_stopped_resistance():
    for q in (-5e-3, -1e-5, 0.0, 1e-5, 5e-3):
        value, slope, _ = rise(q, 0.0)
        assert value == pytest.approx(-1.2e11 * q * abs(q), rel=1e-12)
        assert slope == pytest.approx(-2.4e11 * abs(q), rel=1e-12)


def test_slowing_down_reaches_the_standstill_without_a_step():
    standing = rise(2e-3, 0.0)[0]
    speeds = np.array([1e-2, 1e-3, 1e-4])
    gap = [abs(rise(2e-3, n)[0] - standing) for n in speeds]
    assert gap[0] > gap[1] > gap[2]
    assert gap[2] < 1e-3 * abs(standing)


def test_runout_ends_the_curve():
    edge = pumps.runout_flow(CURVE["shutoff"], CURVE["linear"], CURVE["quadratic"])
    assert rise(edge, 1.0)[0] == pytest.approx(0.0, abs=1e-6)
    assert rise(1.01 * edge, 1.0)[0] < 0.0


def test_density_scales_rise_and_torque():
    assert rise(1e-3, 0.8, ratio=0.9)[0] == pytest.approx(0.9 * rise(1e-3, 0.8)[0], rel=1e-12)
    assert pumps.shaft_torque(1e-3, 300.0, 0.9, 1e-6, 1e-3) == pytest.approx(
        0.9 * pumps.shaft_torque(1e-3, 300.0, 1.0, 1e-6, 1e-3), rel=1e-12
    )
