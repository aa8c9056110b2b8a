"""Choice, repetition and start of steps, by hand: mistakes here cost steps and no accuracy, so nothing else sees them.

The car is the shipped layout A (invented data).
"""

import sys
from pathlib import Path

import numpy as np
import pytest

from sim1d.core import stepper
from sim1d.core.handle import handle
from sim1d.core.model import work_arrays
from sim1d.core.pace import KEEN, NEAR, SHARPER, TELLING, growth, sharpen
from sim1d.core.rhs import derivative
from sim1d.core.solver import Kernels, LinearlyImplicit, room
from sim1d.core.stride import Watched

sys.path.insert(0, str(Path(__file__).parents[1]))

# the folder of the tests is on the path only now
from reference.cars import packed  # noqa: E402
from reference.states import STATES  # noqa: E402

ANY = 1e30  # tolerance that every step meets


class Start:
    """Layout A at a state, its rate there, and room for steps that may err by so much of their measure."""

    def __init__(self, name: str, tolerance: float = ANY):
        car = packed("layout_a")
        self.model, self.pattern = car.model, car.pattern
        self.state, self.phase, self.time = STATES[name](car)
        self.work = work_arrays(self.model)
        self.space = room(self.model, self.pattern, np.full(self.model.layout.size, tolerance))
        self.arrays = self.space.arrays
        self.arrays.pace[:] = np.inf, 1.0
        self.handles = handle(self.model), handle(self.work)
        for _ in range(3):  # flows to the last digit
            assert derivative(self.time, self.state, self.phase, *self.handles, self.arrays.rate)
        self.arrays.sensed[:] = self.work.sensed
        self.method = stepper.coefficients()
        self.rest = *self.handles, handle(self.pattern), handle(self.method), self.space.step

    def advance(self, h: float, fresh: bool) -> tuple[bool, float]:
        """One attempt of a short step."""
        return stepper.advance(self.time, self.state, h, self.phase, *self.rest, fresh, False)

    def march(self, h: float, stretch: float) -> tuple[bool, float, float]:
        """One step that is accepted, `h` s proposed and `stretch` s to go: (succeeded, its length, the next)."""
        found, end, following = stepper.march(
            self.time, self.state, h, self.time + stretch, self.phase, *self.rest, True
        )
        return found, end - self.time, following


@pytest.mark.parametrize(
    ("proposed", "stretch", "wide"), [(2.0, 10.0, True), (0.5, 10.0, False), (2.0, 0.5, False)], ids=str
)
def test_a_step_solves_for_the_flows_when_it_is_long(proposed, stretch, wide):
    """By the entries that stand in the Jacobian; lengths in those at which a step becomes a long one."""
    start = Start("hot")
    assert start.march(proposed * stepper.WIDE, stretch * stepper.WIDE)[0]
    of_flows = start.arrays.values[len(start.pattern.structure.slot) :]
    assert bool(of_flows.any()) == wide
    assert start.arrays.values[: len(start.pattern.structure.slot)].any()


def test_a_step_that_is_tried_again_starts_from_the_flows_of_its_start():
    """Whatever flows an attempt leaves: the next has as many Newton steps as one that nothing came before."""
    start = Start("hot")
    begun = start.work.flow.copy()
    tried = []
    for fresh in (True, False):
        before = start.work.level[2]
        start.advance(0.05, fresh)
        tried.append((start.work.level[2] - before, start.arrays.trial.copy()))
        np.testing.assert_array_equal(start.arrays.flow[0], begun)
        start.work.flow[:] = -3.0 * begun
    assert 0 < tried[1][0] <= tried[0][0]
    layout = start.model.layout
    first, second = (state[layout.metal : layout.dry] for _, state in tried)
    np.testing.assert_allclose(second, first, rtol=1e-6)


def test_flows_are_guessed_on_a_straight_line():
    """0.2 and -0.1 kg/s at the start, 0.5 and -0.4 at the second stage; stages three and four, the last at the end."""
    times = stepper.coefficients().time
    known, flow = np.array([[0.2, -0.1], [0.0, 0.0]]), np.array([0.5, -0.4])
    stepper.guess_flows(flow, known, 2, times)
    np.testing.assert_array_equal(known, [[0.2, -0.1], [0.5, -0.4]])
    assert flow == pytest.approx(np.array([0.2, -0.1]) + times[2] / times[1] * np.array([0.3, -0.3]))
    flow[:] = 7.0  # what the third stage found is not asked
    stepper.guess_flows(flow, known, 3, times)
    assert times[3] == pytest.approx(1.0)
    assert flow == pytest.approx(np.array([0.2, -0.1]) + np.array([0.3, -0.3]) / times[1])


def test_after_a_refusal_the_next_step_is_no_longer():
    """An error of one and a half times what is allowed: half the step leaves so little that it would grow again."""
    h = 0.2
    error = Start("cold", 1.0).advance(h, True)[1]
    start = Start("cold", error / 1.5)
    succeeded, length, following = start.march(h, 1.0)
    assert succeeded and start.arrays.counters[2] == 1
    assert length == pytest.approx(h / 2.0)
    assert start.arrays.pace[1] < 0.9**3  # alone it would let the next be longer
    assert following == length


@pytest.mark.parametrize("handed", [True, False])
def test_a_stretch_starts_from_what_it_is_handed(handed):
    """Rate and gauges from the evaluation at its start, none of the stretch before; its first step shows no pace."""
    start = Start("hot")
    rate = start.arrays.rate.copy()
    for left in (start.arrays.rate, start.arrays.moved, start.arrays.sensed, start.arrays.pace):
        left[:] = -7.0
    kernels = Kernels(*start.rest[:4], None, start.work)
    solver = LinearlyImplicit(
        lambda t, y: rate, start.time, start.state, start.time + 1.0, kernels=kernels, phase=start.phase,
        room=start.space, watched=Watched(-1, 0.0, 0.0, np.array([np.nan])), rate=rate if handed else None,
    )  # fmt: skip
    np.testing.assert_array_equal(start.arrays.pace, [np.inf, 1.0])
    assert solver.started == handed
    if handed:
        np.testing.assert_array_equal(start.arrays.rate, rate)
        np.testing.assert_array_equal(start.arrays.sensed, start.work.sensed)
        assert np.abs(start.work.sensed).max() > 0.0


@pytest.mark.parametrize("telling", [False, True])
def test_next_to_no_error_shows_no_exponent(telling):
    """A step three times longer left two and a half times as much: exponent 0.8, if the digits are there to tell."""
    last = (1.01 if telling else 0.99) * TELLING
    alone = growth(2.5 * last, 1.0, 1.0, np.inf)
    found = growth(2.5 * last, 0.3, last, 0.1)
    assert found > 1.3 * alone if telling else found == alone


def test_either_heat_makes_a_lump_count_more():
    """A cold circuit with one lump put near boiling and one of two walls of another near drying: those two lumps."""
    start = Start("cold")
    at, face, work = start.model.layout, start.model.face, start.work
    walls = {int(i): np.flatnonzero((face.node == i) & (face.dry >= 0)) for i in face.node[face.dry >= 0]}
    steep = next(i for i, faces in walls.items() if len(faces) > 1)
    warm = next(i for i in walls if i != steep)
    allowed = np.zeros(at.size)

    def sharper() -> dict[int, float]:
        sharpen(*start.handles, np.full(at.size, 2.0), allowed)
        return {int(k) - at.enthalpy: allowed[k] / 2.0 for k in np.flatnonzero(allowed != 2.0)}

    assert sharper() == {}
    work.hot[warm] = work.saturation[warm] - 0.99 * NEAR
    assert sharper() == {warm: pytest.approx(SHARPER)}
    for wall in walls[steep]:
        work.face_flux[walls[steep]] = 0.0
        work.face_flux[wall] = 1.01 * KEEN * work.face_critical[wall]
        assert sharper() == {warm: pytest.approx(SHARPER), steep: pytest.approx(SHARPER)}


def test_a_step_leaves_no_sliver_before_the_bound():
    """A thousandth of the way short goes all of it; a tenth short stays."""
    for proposed, taken in ((0.0999, 0.1), (0.09, 0.09), (0.5, 0.1)):
        start = Start("cold")
        succeeded, length, _ = start.march(proposed, 0.1)
        assert succeeded and length == pytest.approx(taken, rel=1e-9)
