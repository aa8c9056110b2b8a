"""Length of the next step and where its error counts more, by hand."""

import numpy as np
import pytest

from sim1d.core.handle import handle
from sim1d.core.model import work_arrays
from sim1d.core.pace import (
    FASTEST,
    KEEN,
    LEAST_ORDER,
    LOOSER,
    NEAR,
    PLENTY,
    SAFETY,
    SHARPER,
    SLOWEST,
    WETTING,
    growth,
    sharpen,
)
from sim1d.core.rhs import derivative
from tests.reference.cars import packed
from tests.reference.states import STATES


def test_error_at_order_three_sets_the_step():
    """An eighth of the error is twice the step, less the safety."""
    assert growth(1.0 / 8.0, 1.0, 1.0, np.inf) == pytest.approx(2.0 * SAFETY)
    assert growth(8.0, 1.0, 1.0, np.inf) == pytest.approx(0.5 * SAFETY)


def test_growth_is_bounded():
    assert growth(0.0, 1.0, 1.0, np.inf) == FASTEST
    assert growth(1e9, 1.0, 1.0, np.inf) == SLOWEST


@pytest.mark.parametrize("order", [1.0, 2.0, 2.5, 4.0])
def test_exponent_is_the_one_that_was_seen(order):
    """A step three times longer left 3^order of the error: the next goes by that order, held between its bounds."""
    last, error = 0.3 / 3.0**order, 0.3
    used = min(max(order, LEAST_ORDER), 3.0)
    assert growth(error, 0.3, last, 0.1) == pytest.approx(SAFETY * error ** (-1.0 / used))


def test_a_step_no_longer_than_the_last_shows_no_exponent():
    assert growth(0.3, 0.1, 0.3, 0.1) == growth(0.3, 0.1, 1e-3, np.inf)


@pytest.mark.parametrize("name", ["hot", "boiling", "cold"])
def test_lumps_near_boiling_and_at_walls_near_drying_are_kept_sharper(name):
    car = packed("layout_a")
    model, at = car.model, car.model.layout
    state, phase, time = STATES[name](car)
    work, rate = work_arrays(model), np.zeros(at.size)
    handles = handle(model), handle(work)
    assert derivative(time, state, phase, *handles, rate)
    tolerance, allowed = np.arange(1.0, at.size + 1.0), np.zeros(at.size)
    still = np.zeros(at.size)
    state[at.air : at.store] = np.minimum(state[at.air : at.store], PLENTY)
    sharpen(*handles, state, still, tolerance, allowed)
    wanted = tolerance.copy()
    for f, face in enumerate(model.face):
        k = at.enthalpy + int(face.node)
        if face.dry < 0:
            continue
        room = work.saturation[face.node] - work.hot[face.node]
        used = work.face_flux[f] / work.face_critical[f]
        if room <= NEAR or used >= KEEN:
            assert allowed[k] == pytest.approx(SHARPER * tolerance[k])
        if allowed[k] < tolerance[k]:  # by this wall or by another of the lump
            wanted[k] = allowed[k]
        others = [g for g, one in enumerate(model.face) if one.node == face.node and one.dry >= 0]
        if room >= 1.25 * NEAR and all(work.face_flux[g] <= 0.75 * KEEN * work.face_critical[g] for g in others):
            assert allowed[k] == tolerance[k]
    for p, pocket in enumerate(model.pocket):  # gas counts as sharply as the lump that it stands in
        lump = at.enthalpy + int(pocket.node)
        wanted[at.air + p] *= allowed[lump] / tolerance[lump]
    np.testing.assert_array_equal(allowed, wanted)  # nothing but coolant at walls that can dry, and gas in it
    assert ((allowed < tolerance).any()) == (name != "cold")


def sharpened(state: np.ndarray, rate: np.ndarray) -> np.ndarray:
    """What each state of cold layout A may be off by, over its tolerance, if it stood at `state` with such a rate."""
    car = packed("layout_a")
    start, phase, time = STATES["cold"](car)
    work, allowed = work_arrays(car.model), np.zeros(len(start))
    handles = handle(car.model), handle(work)
    assert derivative(time, start, phase, *handles, np.zeros(len(start)))
    sharpen(*handles, state, rate, np.ones(len(start)), allowed)
    return allowed


def test_a_dry_share_counts_less_only_while_it_falls():
    """A wall that wets again ends wet whatever its share was on the way; one that dries runs away."""
    at = packed("layout_a").model.layout
    state, rate = np.zeros(at.size), np.zeros(at.size)
    state[at.dry : at.dry + 4] = 0.5, 0.5, 0.5, 0.0
    rate[at.dry : at.dry + 4] = -WETTING, 0.0, 1.0, -1.0
    np.testing.assert_allclose(sharpened(state, rate)[at.dry : at.dry + 4], [1.0 + 0.5 * LOOSER, 1.0, 1.0, 1.0])


@pytest.mark.parametrize(("mass", "times"), [(0.0, 1.0), (PLENTY, 1.0), (2.0 * PLENTY, 2.0), (50.0 * PLENTY, 50.0)])
def test_plenty_of_gas_counts_by_how_much_there_is(mass, times):
    at = packed("layout_a").model.layout
    state = np.zeros(at.size)
    state[at.air] = mass
    assert sharpened(state, np.zeros(at.size))[at.air] == pytest.approx(times)
