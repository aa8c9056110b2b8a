"""The stepper against independent integrators, against itself at tighter tolerance, and against its own theory.

Sources: BDF and Radau of scipy (methods of their own); order conditions of W-methods from Steihaug and Wolfbrandt,
Math. Comp. 33:521, 1979, and Rang and Angermann, BIT 45:761, 2005 (recalled); Kaps' problem, Dekker and Verwer 1984
(recalled), whose exact solution y1 = y2^2, y2 = exp(-t) does not depend on its stiffness.
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import BDF, Radau

from sim1d import Accuracy
from sim1d.core import method as w_method
from tests.system.runs import example, first_round, race_day, short_round

LOOSE = SimpleNamespace(name="LOOSE", value=8e-3)
TIGHT = SimpleNamespace(name="TIGHT", value=1e-5)  # a relative tolerance below any that a user can ask for


def peaks(ds) -> dict[str, float]:
    """Peak chamber roof and exhaust bridge (K) and peak pressures (Pa) of a run."""
    found = {spot: float(ds.metal_temperature.sel(spot=spot).max()) for spot in ("chamber_roof", "exhaust_bridge")}
    return found | {"tank": float(ds.system_pressure.max()), "anywhere": float(ds.gauge_pressure.max())}


def agree(one, two, kelvin: float = 0.5, pascal: float = 1e3) -> None:
    """Both runs end alike and their peaks agree."""
    assert one.attrs["outcome_name"] == two.attrs["outcome_name"] == "COMPLETED"
    assert float(one.time[-1]) == pytest.approx(float(two.time[-1]), abs=0.5)
    first, second = peaks(one), peaks(two)
    for name, value in first.items():
        assert abs(value - second[name]) < (kelvin if name in ("chamber_roof", "exhaust_bridge") else pascal), name


@pytest.mark.parametrize("method", [BDF, Radau])
def test_independent_integrator(method, simulated):
    """A method that shares nothing with ours but the right-hand side, at FINE accuracy, on the first round."""
    ours = simulated(example("layout_a"), first_round())
    agree(ours, simulated(example("layout_a"), first_round(), method=method, accuracy=Accuracy.FINE))


def test_conservation_without_help(simulated):
    """A method that closes no ledger by itself keeps energy to its tolerance, and better at a finer one: the sums close
    because the right-hand side conserves, not because the stepper was told to. Two tolerances far apart: what a single
    one leaves is chance within a factor of ten."""
    left = []
    for accuracy in (LOOSE, TIGHT):
        ds = simulated(example("layout_a"), short_round(), method=BDF, accuracy=accuracy)
        left.append(float(ds.energy_residual))
        assert float(ds.coolant_residual) < 1e-9 and float(ds.gas_residual) < 1e-9
    assert left[0] < 1e-3 and left[1] < 0.05 * left[0]


@pytest.mark.parametrize(("name", "kelvin", "pascal"), [("layout_a", 0.5, 1e3), ("layout_c", 3.0, 2e3)])
def test_normal_accuracy_is_enough(name, kelvin, pascal, simulated):
    """NORMAL against a hundred times tighter, whole day: 0.5 K of peak metal and 1 kPa of peak pressure.

    3 K and 2 kPa on layout C, whose walls pass the critical heat flux and whose cap lets coolant out and air in.
    """
    tight = simulated(example(name), race_day(), accuracy=TIGHT)
    agree(simulated(example(name), race_day()), tight, kelvin=kelvin, pascal=pascal)


def test_accuracy_settings_are_ordered(simulated):
    """Each finer setting takes more steps and comes closer to the tight run (layout A, shortest day with a pass)."""
    day = short_round()
    truth = peaks(simulated(example("layout_a"), day, accuracy=TIGHT))["exhaust_bridge"]
    runs = [simulated(example("layout_a"), day, accuracy=accuracy) for accuracy in Accuracy]
    steps = [ds.attrs["steps"] for ds in runs]
    errors = [abs(peaks(ds)["exhaust_bridge"] - truth) for ds in runs]
    assert [accuracy.name for accuracy in Accuracy] == ["COARSE", "NORMAL", "FINE"]
    assert steps[0] < steps[1] < steps[2]
    assert errors[2] < 0.02 and errors[1] < 0.2 and errors[0] < 0.5


def order_conditions() -> dict[str, tuple[float, float]]:
    """(value, wanted) of every order condition of a W-method up to order 3, its embedded method to order 2."""
    alpha, gamma, b, low = w_method._ALPHA, w_method._GAMMA, w_method._WEIGHTS, w_method._EMBEDDED
    a, g = alpha.sum(axis=1), gamma.sum(axis=1)
    return {
        "order 1": (b.sum(), 1.0),
        "order 2, alpha": (b @ a, 1 / 2),
        "order 2, gamma": (b @ g, 0.0),
        "order 3, alpha squared": (b @ a**2, 1 / 3),
        "order 3, alpha alpha": (b @ alpha @ a, 1 / 6),
        "order 3, alpha gamma": (b @ alpha @ g, 0.0),
        "order 3, gamma alpha": (b @ gamma @ a, 0.0),
        "order 3, gamma gamma": (b @ gamma @ g, 0.0),
        "embedded, order 1": (low.sum(), 1.0),
        "embedded, order 2, alpha": (low @ a, 1 / 2),
        "embedded, order 2, gamma": (low @ g, 0.0),
    }


@pytest.mark.parametrize("name", order_conditions())
def test_order_condition(name):
    """To round-off: a wrong coefficient shows here."""
    value, wanted = order_conditions()[name]
    assert value == pytest.approx(wanted, abs=4e-15)


def test_method_is_stiffly_accurate():
    """The last stage is the answer (b = last row of alpha + gamma, taken at time 1), so R(infinity) = 0."""
    whole = w_method._ALPHA + w_method._GAMMA
    np.testing.assert_allclose(whole[-1], w_method._WEIGHTS, atol=1e-15)
    assert w_method._ALPHA[-1].sum() == pytest.approx(1.0, abs=1e-15)
    assert 1.0 - w_method._WEIGHTS @ np.linalg.solve(whole, np.ones(4)) == pytest.approx(0.0, abs=1e-13)
    assert (np.diag(w_method._GAMMA) == w_method.GAMMA).all()


def kaps(stiffness: float):
    """Right-hand side and Jacobian of Kaps' problem."""

    def rate(y: np.ndarray) -> np.ndarray:
        return np.array([-(stiffness + 2.0) * y[0] + stiffness * y[1] ** 2, y[0] - y[1] - y[1] ** 2])

    def jacobian(y: np.ndarray) -> np.ndarray:
        return np.array([[-(stiffness + 2.0), 2.0 * stiffness * y[1]], [1.0, -1.0 - 2.0 * y[1]]])

    return rate, jacobian


def last_error(stiffness: float, steps: int, keep: np.ndarray) -> float:
    """Error at t = 1 of `steps` equal steps with the method's transformed coefficients and the kept part of the
    Jacobian.
    """
    method = w_method.coefficients()
    rate, jacobian = kaps(stiffness)
    h = 1.0 / steps
    y = np.ones(2)
    for _ in range(steps):
        u = np.zeros((4, 2))
        matrix = np.eye(2) / (h * method.gamma) - keep * jacobian(y)
        for i in range(4):
            right = rate(y + method.a[i, :i] @ u[:i]) + method.c[i, :i] @ u[:i] / h
            u[i] = np.linalg.solve(matrix, right)
        y = y + method.m @ u
    return float(np.abs(y - np.exp([-2.0, -1.0])).max())


FULL = np.ones((2, 2))
STIFF_PART = np.array([[1.0, 1.0], [0.0, 0.0]])  # the slow rows left out, as flows and level are left out of ours
DIAGONAL = np.array([[1.0, 0.0], [0.0, 0.0]])


@pytest.mark.parametrize(
    ("stiffness", "keep", "order"),
    [(1.0, FULL, 3), (1.0, STIFF_PART, 3), (1.0, DIAGONAL, 3), (1e6, FULL, 3), (1e6, STIFF_PART, 2)],
    ids=["mild-full", "mild-part", "mild-diagonal", "stiff-full", "stiff-part"],
)
def test_observed_order(stiffness, keep, order):
    """Order 3 with any Jacobian on a mild problem, and with all of it on a problem a million times stiffer.

    With its stiff part alone 2: order 3 there asks for b A (A + G)^-1 alpha^2 = 1/3 (Rang and Angermann), which cannot
    be had with three evaluations a step. Nothing worse happens: the errors fall, and no step has to be short.
    """
    errors = [last_error(stiffness, steps, keep) for steps in (20, 40, 80, 160)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert orders[-1] == pytest.approx(order, abs=0.15), orders
    assert (np.abs(orders - order) < 0.35).all(), orders


def test_two_stages_stand_in_one_place():
    """The last stage takes the evaluation of the one before it."""
    one, other = w_method._ALPHA[w_method.SHARED - 1], w_method._ALPHA[w_method.SHARED]
    assert (one == other).all() and w_method.SHARED == 3


def test_method_is_l_stable():
    """|R| <= 1 on the imaginary axis, so (no pole lies left of it) in the whole left half plane; 0 at infinity."""
    whole, b = w_method._ALPHA + w_method._GAMMA, w_method._WEIGHTS
    axis = 1j * np.concatenate([[0.0], np.geomspace(1e-3, 1e4, 400)])
    growth = [abs(1.0 + z * b @ np.linalg.solve(np.eye(4) - z * whole, np.ones(4))) for z in axis]
    assert max(growth) <= 1.0 + 1e-12 and growth[-1] < 1e-3


def drawn_error(steps: int) -> float:
    """Error at t = 1 of y' = z, 0 = z + y^2 + sin(t) (y (1 + t) - 1), whose answer is y = 1/(1 + t), z = -y^2."""
    method = w_method.coefficients()
    h = 1.0 / steps

    def missing(t: float, y: float, z: float) -> float:
        return z + y * y + math.sin(t) * (y * (1.0 + t) - 1.0)

    y, z = 1.0, -1.0
    for k in range(steps):
        t = k * h
        u = np.zeros((4, 2))
        by_y, later = 2.0 * y + math.sin(t) * (1.0 + t), missing(t + h, y, z) - missing(t, y, z)
        matrix = np.array([[1.0 / (h * method.gamma), -1.0], [-by_y, -1.0]])
        for i in range(4):
            at_y, at_z = (y, z) + method.a[i, :i] @ u[:i]
            right = np.array([at_z, missing(t + method.time[i] * h, at_y, at_z)])
            right[0] += method.c[i, :i] @ u[:i, 0] / h
            right[1] += method.slope[i] * later  # over the step, as the stepper takes it
            u[i] = np.linalg.solve(matrix, right)
        y, z = (y, z) + method.m @ u
    return max(abs(y - 0.5), abs(z + 0.25))


def test_an_equation_at_every_instant_is_of_the_same_order():
    """State and what follows it at once, as the flows do, both of order 3, though the equation changes with time."""
    errors = [drawn_error(steps) for steps in (20, 40, 80, 160)]
    assert np.log2(np.array(errors[:-1]) / errors[1:]) == pytest.approx(3.0, abs=0.15)
