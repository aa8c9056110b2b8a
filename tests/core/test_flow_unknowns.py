"""Flows as unknowns of the stepper: against differences of the network's own laws, dense algebra, and their purpose."""

import numba
import numpy as np
import pytest

from sim1d.core import coolant
from sim1d.core.flow_unknowns import grounding, unknowns
from sim1d.core.handle import handle
from sim1d.core.hydraulics import CLOSE, solve_flows
from sim1d.core.method import coefficients
from sim1d.core.rhs import at, elapsed
from sim1d.core.sparse import factor, solve
from sim1d.core.stepper import assemble
from tests.reference.cars import packed
from tests.reference.point import Point
from tests.verification.steps import Stretch

CARS = ("layout_a", "layout_b", "layout_c")
POINTS = [("layout_a", "hot"), ("layout_a", "soak"), ("layout_b", "soak"), ("layout_c", "hot")]


class Whole(Point):
    """With the whole matrix, that of flows and pressures too."""

    def __init__(self, car: str, name: str):
        super().__init__(car, name)
        self.matrix = self.matrix_of(unknowns(self.model))
        self.branches = len(self.model.network.branch)
        self.flows = slice(self.n, self.n + self.branches)

    def solved(self, drive: np.ndarray) -> np.ndarray:
        """Flows (kg/s) of the network as it stands, under another drive (Pa)."""
        work, flow, pressure = self.work, self.work.flow.copy(), self.work.pressure.copy()
        for _ in range(3):
            assert solve_flows(
                handle(self.model.network), work.branch_density, work.branch_viscosity, drive, work.pump_state,
                work.pump_grip, work.opening, flow, pressure, work.pump_speed.copy(), work.pump_power.copy(),
                work.pump_current.copy(), CLOSE, handle(work.solver),
            )[0]  # fmt: skip
        return flow


@pytest.mark.parametrize(("car", "name"), POINTS)
def test_flows_answer_to_a_push_as_the_network_does(car, name):
    """Change of every flow by a push in one branch: eliminated from the matrix, and the network solved twice."""
    point = Whole(car, name)
    block = point.matrix[point.n :, point.n :]
    scale = np.abs(point.work.drive).max()
    for b in range(0, point.branches, 7):
        push = np.zeros(len(block))
        push[b] = -1.0  # the matrix holds the negative of the law's row
        given = np.linalg.solve(block, push)[: point.branches]
        step = 1e-5 * scale
        more, less = point.work.drive.copy(), point.work.drive.copy()
        more[b] += step
        less[b] -= step
        found = (point.solved(more) - point.solved(less)) / (2.0 * step)
        np.testing.assert_allclose(given, found, rtol=0.0, atol=0.01 * np.abs(found).max(), err_msg=f"branch {b}")


@pytest.mark.parametrize(("car", "name"), POINTS)
def test_weight_of_every_lump_is_the_difference_of_the_drive(car, name):
    """Drive of every branch by the state of every lump, density alone: the table is straight between its rows."""
    point = Whole(car, name)
    share = elapsed(point.phase, point.time)
    acceleration, surface = at(point.phase.acceleration, share), point.work.level[1]

    def drive(state: np.ndarray) -> np.ndarray:
        coolant.node_properties(*point.handles, state)
        coolant.branch_conditions(*point.handles, state, acceleration, surface)
        return point.work.drive.copy()

    for i in range(0, point.at.lag - point.at.enthalpy):
        step = 1.0  # J/kg
        if i == point.model.system[0].vessel:
            step *= coolant.vessel_mass(point.handles[0], point.state[point.at.store])
        more, less = point.state.copy(), point.state.copy()
        more[point.at.enthalpy + i] += step
        less[point.at.enthalpy + i] -= step
        found = (drive(more) - drive(less)) / (2.0 * step)
        given = point.matrix[point.flows, point.at.enthalpy + i]
        np.testing.assert_allclose(
            given, found, rtol=1e-3, atol=1e-9 * np.abs(found).max() + 1e-12, err_msg=f"lump {i}"
        )


@pytest.mark.parametrize(("car", "name"), POINTS)
def test_heat_carried_by_every_flow_is_the_difference_of_what_is_carried(car, name):
    """Column of every flow among the lumps: heat that arrives over mass, by half a per cent of the flow."""
    point = Whole(car, name)
    work = point.work
    mass = np.where(np.arange(len(point.model.node)) == point.model.system[0].vessel, 1.0, point.model.node.mass)
    width = float(point.model.system[0].donor_width)
    for b in range(point.branches):
        was, heat = float(work.flow[b]), []
        step = max(5e-3 * abs(was), 1e-3 * width)
        for sign in (1.0, -1.0):
            work.flow[b] = was + sign * step
            work.power[:] = 0.0
            coolant.carry(*point.handles)
            heat.append(work.power.copy())
        work.flow[b] = was
        found = (heat[0] - heat[1]) / (2.0 * step) / mass
        given = point.matrix[point.at.enthalpy : point.at.lag, point.n + b]
        np.testing.assert_allclose(given, found, rtol=1e-3, atol=1e-4 * np.abs(found).max(), err_msg=f"branch {b}")


@pytest.mark.parametrize("car", CARS)
def test_pressures_find_their_pivots(car):
    """The system without pivoting against dense algebra with it, over all lengths of step."""
    point = Whole(car, "hot")
    structure = point.pattern.structure
    rng = np.random.default_rng(2)
    for h in (0.5, 10.0, 300.0):
        scale = 1.0 / (h * coefficients().gamma)
        storage = np.zeros(structure.fill)
        assemble(handle(point.pattern), point.values, scale, storage)
        factor(handle(structure), storage)
        dense = -point.matrix.copy()
        dense[np.arange(point.n), np.arange(point.n)] += scale
        right = np.zeros(len(dense))
        right[: point.n] = rng.normal(size=point.n)
        found = right.copy()
        solve(handle(structure), storage, found, np.zeros(structure.n))
        wanted = np.linalg.solve(dense, right)
        size = np.maximum(np.abs(wanted), 1e-6 * np.abs(wanted).max())
        assert (np.abs(found - wanted) / size).max() < 1e-6


@pytest.mark.parametrize("car", CARS)
def test_every_pressure_hangs_on_a_branch_of_its_own(car):
    """As many branches as free pressures, none twice: a tree from the fixed ones."""
    model = packed(car).model
    pairs = grounding(model)
    free = int((model.network.structure.unknown >= 0).sum())
    assert len(pairs) == free == len(set(pairs[:, 0])) == len(set(pairs[:, 1]))


@pytest.mark.skipif(bool(numba.config.DISABLE_JIT), reason="a whole day takes too long without the compiler")
@pytest.mark.parametrize("steps", [3, 5])
def test_long_steps_know_how_warm_coolant_moves_the_flows(steps):
    """200 s of idling in the lanes in steps of 67 and 40 s: without the weight of the lumps the metals are off more."""
    known, unknown = (Stretch("wait", 200.0, 200.0, weightless=left_out) for left_out in (False, True))
    exact = known.after(400)
    off = [float(np.abs(piece.after(steps) - exact).max()) for piece in (known, unknown)]
    assert off[0] < 0.05 * off[1]
