"""Motor balance of an electric pump against its own equations and a closed-form circuit."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim1d.physics import motors, pumps

MOTOR = dict(
    torque_constant=3e-6, torque_slope=1.5e-3, motor_constant=0.0125, resistance=0.08, no_load_torque=0.03, drag=1e-5
)  # fmt: skip


def speed(voltage, q, ratio=1.0, **changes):
    return motors.motor_speed(voltage, q, ratio, *(MOTOR | changes).values())


@settings(max_examples=200, deadline=None)
@given(st.floats(0.5, 16.0), st.floats(-2e-3, 5e-3), st.floats(0.5, 1.1))
def test_torques_balance(voltage, q, ratio):
    w, by_flow = speed(voltage, q, ratio)
    current = motors.motor_current(voltage, w, MOTOR["motor_constant"], MOTOR["resistance"])
    load = pumps.shaft_torque(q, w, ratio, MOTOR["torque_constant"], MOTOR["torque_slope"])
    if w > 0.0:
        needed = MOTOR["no_load_torque"] + MOTOR["drag"] * w + load
        assert MOTOR["motor_constant"] * current == pytest.approx(needed, rel=1e-9)
    else:
        assert MOTOR["motor_constant"] * voltage / MOTOR["resistance"] <= MOTOR["no_load_torque"]
    if abs(q) > 1e-6:
        h = 1e-8
        difference = (speed(voltage, q + h, ratio)[0] - speed(voltage, q - h, ratio)[0]) / (2 * h)
        assert by_flow == pytest.approx(difference, rel=1e-4, abs=1e-2)


def test_switched_off_stands_and_draws_nothing():
    assert speed(0.0, 1e-3) == (0.0, 0.0)
    assert motors.motor_current(0.0, 0.0, 0.0125, 0.08) == 0.0


def test_too_little_voltage_to_break_away_draws_stall_current():
    w, _ = speed(0.1, 0.0)
    assert w == 0.0
    assert motors.motor_current(0.1, w, 0.0125, 0.08) == pytest.approx(1.25)


@pytest.mark.parametrize(
    ("voltage", "rpm", "amps"),
    [
        pytest.param(v, n, i, id=f"closed form of a square-law circuit, {v} V, derived")
        for v, n, i in [(11.0, 5563.6, 46.5), (12.0, 5945.3, 52.7), (13.5, 6495.6, 62.5), (14.4, 6814.2, 68.5)]
    ],
)
def test_square_law_circuit(voltage, rpm, amps):
    """H = 8 n^2 - 2e5 Q^2 m on a circuit of 8e5 Q^2 m, efficiency 0.45, density 1020, g 9.81: torque goes with w^2."""
    reference = 6000.0 * math.pi / 30.0
    flow = math.sqrt(8.0 / 1.0e6)
    torque = 1020.0 * 9.81 * flow * 8e5 * flow**2 / (0.45 * reference)
    w, _ = motors.motor_speed(voltage, 0.0, 1.0, torque / reference**2, 0.0, 0.0125, 0.08, 0.03, 0.0)
    assert w * 30.0 / math.pi == pytest.approx(rpm, rel=1e-5)
    assert motors.motor_current(voltage, w, 0.0125, 0.08) == pytest.approx(amps, abs=0.06)
