"""Cars with a blocked line: what seeps through, and that no setting of the integration loses its way on it.

Layout A and its faults (invented data). At the shares of `NORMAL` below each of these runs ended in the pit or in a
soak as one that could not go on, when a blocked line was a loss coefficient alone: level at rest and steep beside it.
"""

from types import SimpleNamespace
from typing import Any

import numba
import numpy as np
import pytest

from sim1d import Accuracy, load_car, load_day
from sim1d.errors import Outcome
from sim1d.examples import example_path
from sim1d.faults import faults_of
from sim1d.pack import Packed
from sim1d.physics.friction import branch_loss
from sim1d.prepare import prepared
from sim1d.simulation import integrate

LOST = {  # of a hundred evenly from 0.8 to 1.2
    "left_rear": np.linspace(0.8, 1.2, 100)[[26, 68, 73, 83]],
    "right_rear": np.linspace(0.8, 1.2, 100)[[9, 38, 45, 56, 65, 67]],
}
WATER = 970.0, 3.5e-4  # kg/m3 and Pa s, at 80 degC


def blocked(line: str) -> tuple[Packed, np.record]:
    """Layout A with a blocked line, and the row of that line."""
    car, day = load_car(example_path("layout_a")), load_day(example_path("race_day"))
    fault = next(one for one in faults_of(car, day) if one.name == f"blocked-outlet-{line}")
    found = prepared(*fault.apply(car, day))
    return found, found.model.network.branch[found.line_branch[found.lines.index(line)]]


def law(row: Any, flow: float, k: float | None = None) -> tuple[float, float]:
    """Pa at a flow (kg/s) and its slope (Pa s/kg)."""
    return branch_loss(
        flow, *WATER, row.length, row.diameter, row.area, row.count, row.roughness, row.friction_multiplier,
        row.laminar_constant, row.k_forward if k is None else k, row.loss_area, row.creeping if k is None else 0.0,
    )  # fmt: skip


def at_push(row: Any, pascal: float, k: float | None = None) -> float:
    """Flow (kg/s) at a push (Pa), by halving."""
    low, high = 0.0, 100.0
    for _ in range(200):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if law(row, middle, k)[0] < pascal else (low, middle)
    return low


@pytest.mark.parametrize("line", LOST)
def test_a_blocked_line_seeps_and_is_no_steeper_beside_rest(line):
    """Ten-thousandths of what an open one of k = 3 passes, at a pump's pressures and at those of warm coolant alike."""
    _, row = blocked(line)
    for pascal in (10.0, 1e3, 1e5):
        assert 0.0 < at_push(row, pascal) < 5e-4 * at_push(row, pascal, k=3.0)
    beside = at_push(row, 10.0)
    assert law(row, beside)[1] < 1.2 * law(row, 0.0)[1]


@pytest.mark.skipif(bool(numba.config.DISABLE_JIT), reason="whole days take too long without the compiler")
@pytest.mark.parametrize("seeps", [True, False])
@pytest.mark.parametrize("line", LOST)
def test_no_setting_loses_its_way(line, seeps):
    """Nor where nothing seeps at rest: the flows at the start of a step that comes to nothing are solved for."""
    found, row = blocked(line)
    if not seeps:
        found.model.network.branch.creeping[found.line_branch[found.lines.index(line)]] = 0.0
    for share in LOST[line]:
        run = integrate(found, accuracy=SimpleNamespace(name="x", value=share * Accuracy.NORMAL.value))
        assert run.outcome is Outcome.COMPLETED, (share, run.times[-1])
