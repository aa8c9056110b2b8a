"""By how much a step gets the pressure level wrong, against the level that is found when its error is made."""

import numpy as np
import pytest

from sim1d.core.level_error import FAR, LOOSER, level_allowed, level_error
from sim1d.core.method import coefficients
from tests.reference.point import Point


class Erring(Point):
    """With the stages of a step whose error can be written."""

    def __init__(self, car: str, name: str):
        super().__init__(car, name)
        self.room.arrays.tolerance[:] = 1e-6
        self.room.arrays.trial[:] = self.state

    def level(self, state: np.ndarray) -> float:
        """Pressure level (Pa) at a state."""
        self.evaluate(state)
        return float(self.work.level[0])

    def estimated(self, error: np.ndarray) -> float:
        """What is said of a step that leaves `error` (size) in the states."""
        weights = coefficients().error
        self.room.arrays.u[:] = weights[:, None] / (weights @ weights) * error
        self.level(self.state)
        return float(level_error(*self.handles, self.room.step, weights))

    def found(self, error: np.ndarray) -> float:
        """How far the level goes with it, half either way."""
        return abs(self.level(self.state + 0.5 * error) - self.level(self.state - 0.5 * error))


@pytest.mark.parametrize("name", ["hot", "gassy", "boiling", "cold"])
@pytest.mark.parametrize("car", ["layout_a", "layout_b", "layout_c"])
def test_error_of_the_level_is_that_of_the_balance(car, name):
    """Gas, coolant and the heat of lumps with and without gas or steam, one by one and all at once."""
    point = Erring(car, name)
    at, vessel = point.at, int(point.model.system[0].vessel)
    errors = np.zeros(at.size)
    errors[at.enthalpy : at.lag] = 20.0  # J/kg, 5 mK
    errors[at.enthalpy + vessel] = 20.0  # J
    errors[at.air : at.store] = 1e-3 * point.state[at.air : at.store]
    errors[at.store] = 1e-5
    alone = [at.store, *range(at.air, at.store, 5), *range(at.enthalpy, at.lag, 9)]
    for chosen in ([k] for k in (*alone, at.enthalpy + vessel)):
        error = np.zeros(at.size)
        error[chosen] = errors[chosen]
        found = point.found(error)
        assert point.estimated(error) == pytest.approx(found, rel=0.05, abs=0.02), chosen
    assert point.estimated(errors) == pytest.approx(point.found(errors), rel=0.05)


def test_errors_that_cancel_move_no_level():
    """A milligram that is in one place of a cold circuit instead of another of the same heat and height."""
    point = Erring("layout_c", "cold")
    at = point.at
    error = np.zeros(at.size)
    error[at.air + 2], error[at.air + 5] = 1e-6, -1e-6
    both = point.estimated(error)
    error[at.air + 5] = 0.0
    assert both < 0.1 * point.estimated(error)


@pytest.mark.parametrize(("short", "times"), [(0.0, 1.0), (-20e3, 1.0), (FAR, LOOSER), (0.9, LOOSER)])
def test_far_from_lifting_more_is_allowed(short, times):
    """At the opening pressure and over it, and short of it by so much of it."""
    point = Erring("layout_a", "cold")
    cap = point.model.cap[0]
    short = short * cap.opening if short > 0.0 else short
    point.work.absolute[cap.node] = point.model.system[0].ambient_pressure + cap.opening - short
    assert level_allowed(*point.handles, 50.0) == pytest.approx(50.0 * times)
