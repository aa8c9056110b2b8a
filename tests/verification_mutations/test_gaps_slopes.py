"""Entries of the Jacobian, each law by itself: what differences over whole columns (tests/core/test_slopes.py) let by.

A wrong entry changes no answer to first order, the stepper is a W-method: nothing but a test of the entry sees it. The
cars are the shipped layout A and variants of it (invented data). Differences are central unless a check says otherwise.
"""

import sys
from pathlib import Path

import numpy as np
import pytest

from sim1d.core import rhs
from sim1d.core.air import air_ways, displacement, gas_places, pump_grip, soft_hoses
from sim1d.core.caps import caps
from sim1d.core.coolant import node_properties
from sim1d.core.handle import handle
from sim1d.core.model import work_arrays
from sim1d.core.pattern import jacobian_pattern
from sim1d.core.pressure import local_states, solve_level
from sim1d.core.slopes import heating, jacobian
from sim1d.core.solver import room
from sim1d.core.stepper import assemble

sys.path.insert(0, str(Path(__file__).parents[1]))

# the folder of the tests is on the path only now
from reference.cars import packed  # noqa: E402
from reference.states import STATES  # noqa: E402


class Point:
    """A packed car at a state: the evaluation there, and the Jacobian as a matrix of all states but the ledgers."""

    def __init__(self, car: str, name: str, **tables_of_own: np.recarray):
        self.packed = packed(car)
        self.state, self.phase, self.time = STATES[name](self.packed)
        self.model = self.packed.model._replace(**tables_of_own)
        self.at, self.work = self.model.layout, work_arrays(self.model)
        self.handles = handle(self.model), handle(self.work)
        assert rhs.derivative(self.time, self.state, self.phase, *self.handles, np.zeros(self.at.size))
        self.pattern = jacobian_pattern(self.model)
        self.room = room(self.model, self.pattern, np.ones(self.at.size))
        share = rhs.elapsed(self.phase, self.time)
        self.air, self.acceleration = rhs.at(self.phase.car_speed, share), rhs.at(self.phase.acceleration, share)
        self.matrix = self.entries()

    def entries(self) -> np.ndarray:
        """Jacobian at the state, by what `work` holds."""
        values = self.room.arrays.values
        jacobian(self.time, self.state, self.phase, *self.handles, handle(self.pattern), self.room.step, values)
        matrix = np.zeros((self.at.ledger, self.at.ledger))
        frozen = slice(self.pattern.states)
        np.add.at(matrix, (self.pattern.rows[frozen], self.pattern.columns[frozen]), values[frozen])
        return matrix

    def slope(self, law, column: int, step: float) -> np.ndarray:
        """Difference of the rates that `law(state, rate)` gives, by one state."""
        rates = []
        for sign in (1.0, -1.0):
            state, rate = self.state.copy(), np.zeros(self.at.size)
            state[column] += sign * step
            law(state, rate)
            rates.append(rate)
        return ((rates[0] - rates[1]) / (2.0 * step))[: self.at.ledger]


# States that follow something ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("law", "group"),
    [(displacement, "displaced"), (pump_grip, "grip"), (pump_grip, "prime"), (soft_hoses, "collapse")],
)
def test_a_state_that_follows_answers_to_itself(law, group):
    """Surface, grip, prime and a soft hose: by the difference of the law itself, -1 over its time."""
    point = Point("soft", "flattened")
    k = getattr(point.at, group)
    slope = point.slope(lambda state, rate: law(*point.handles, state, rate), k, 0.01)
    assert slope[k] < 0.0
    assert point.matrix[k, k] == pytest.approx(slope[k])


def test_sensors_and_filters_answer_to_their_readings():
    """Every sensor to itself, wet or in gas, and a cut's filter to its own sensor, here the fourth."""
    table = packed("layout_a").model.cut.copy()
    table.sensor[0] = 3
    point = Point("layout_a", "rising", cut=table)
    model, at = point.model, point.at
    wet = 1.0 - np.minimum(point.work.gas + point.work.void, 0.95)[model.sensor.node]
    assert wet.min() < 0.95
    pace = np.where(model.sensor.pressure == 1, 1.0, wet) / model.sensor.time_constant
    block = point.matrix[at.sensor : at.ledger, at.sensor : at.ledger]
    expected = -np.diag([*pace, 1.0 / table["filter"][0]])
    expected[-1, 3] = 1.0 / table["filter"][0]
    assert block == pytest.approx(expected)


def test_lagging_steam_answers_to_the_heat_of_its_lump():
    """In boiling lumps at a level that stands still: d(void)/dh over the time of the lag."""
    point = Point("layout_a", "boiling")
    model, at = point.model, point.at
    boiling = 0
    for k, node in enumerate(model.lag.node):
        if not 0.01 < point.work.void[node] < 0.95:
            continue
        boiling += 1

        def steam(state, rate, k=k, node=node):
            node_properties(*point.handles, state)
            local_states(*point.handles)
            rate[at.lag + k] = point.work.void[node] / model.system[0].void_lag

        slope = point.slope(steam, at.enthalpy + node, 4.0)[at.lag + k]
        assert slope > 0.0
        assert point.matrix[at.lag + k, at.enthalpy + node] == pytest.approx(slope, rel=0.01)
        assert point.matrix[at.lag + k, at.lag + k] == pytest.approx(-1.0 / model.system[0].void_lag)
    assert boiling > 0


# Heat ----------------------------------------------------------------------------------------------------------------


def test_temperature_of_a_lump_answers_to_its_state():
    """dT/dh = 1/cp, of the vessel, whose state is its heat, over its mass besides; and a watt is 1/m, there 1."""
    point = Point("layout_a", "hot")
    model, at, arrays = point.model, point.at, point.room.arrays
    heating(*point.handles, point.state, point.room.step)
    vessel = model.system[0].vessel
    place = point.packed.points.index("engine.left-2.head")
    mass = model.node[vessel].mass + point.state[at.store]
    assert mass > 0.4 * model.node[vessel].mass  # it does not round towards its floor
    specific = np.interp(point.work.temperature, model.liquid.temperature, model.liquid.specific_heat)
    assert arrays.warming[place] == pytest.approx(1.0 / specific[place], rel=1e-3)
    assert arrays.warming[vessel] == pytest.approx(1.0 / (specific[vessel] * mass), rel=1e-3)
    assert arrays.per_power[place] == pytest.approx(1.0 / model.node[place].mass)
    assert arrays.per_power[vessel] == 1.0
    assert (arrays.by_state[place], arrays.by_state[vessel]) == pytest.approx((1.0, 1.0 / mass))


def test_a_heater_answers_to_both_of_its_sides():
    """C dT/dt = UA (Tc - T) - loss T, UA by the flow at the moment: dh/dt by T, dT/dt by h (over cp) and by T itself.

    The same for the tanks of the radiator, which are exchangers to their own metal.
    """
    point = Point("heater", "hot")
    model, at = point.model, point.at
    assert len(model.exchanger) > 1
    for row in model.exchanger:
        metal = model.metal[row.metal]
        conductance = row.conductance * (0.02 + abs(point.work.flow[row.branch]) / row.reference_flow) ** 0.8
        specific = np.interp(point.work.temperature[row.node], model.liquid.temperature, model.liquid.specific_heat)
        h, m = at.enthalpy + row.node, at.metal + row.metal
        assert row.node != model.system[0].vessel
        assert point.matrix[h, m] == pytest.approx(conductance / model.node[row.node].mass)
        assert point.matrix[m, h] == pytest.approx(conductance / (metal.capacity * specific), rel=1e-3)
        loss = metal.ambient * (1.0 + metal.ambient_moving * point.air)
        assert point.matrix[m, m] == pytest.approx(-(conductance + loss) / metal.capacity)


def test_a_core_answers_to_coolant_and_air():
    """C dT/dt = UA_i (Tc - T) - UA_o (T - Ta): dh/dt by T, dT/dt by h (over cp) and by T itself."""
    point = Point("layout_a", "hot")
    model, at, work = point.model, point.at, point.work
    assert len(model.core) > 2
    for c, cell in enumerate(model.core):
        capacity, inside = model.metal[cell.metal].capacity, work.core_inside[c]
        specific = np.interp(work.temperature[cell.node], model.liquid.temperature, model.liquid.specific_heat)
        h, m = at.enthalpy + cell.node, at.metal + cell.metal
        assert inside > 10.0 and work.core_outside[c] > 10.0  # W/K
        assert point.matrix[h, m] == pytest.approx(inside / model.node[cell.node].mass)
        assert point.matrix[m, h] == pytest.approx(inside / (capacity * specific), rel=1e-3)
        assert point.matrix[m, m] == pytest.approx(-(inside + work.core_outside[c]) / capacity)


def test_a_dry_face_answers_through_the_film_over_it():
    """No part of it wet: area/(1/h + R) of the film h and half a cell R, less what is in gas, over the lump's mass."""
    point = Point("layout_a", "dry")
    model, at, faces = point.model, point.at, point.model.face
    point.state[at.dry : at.air] = 1.0
    assert rhs.derivative(point.time, point.state, point.phase, *point.handles, np.zeros(at.size))
    matrix, expected = point.entries(), {}
    for f, face in enumerate(faces):
        wetted = 1.0 - point.work.gas[face.node]
        film = point.work.face_over_film[f] if face.dry >= 0 else np.nan
        conductance = face.area * wetted / (1.0 / film + wetted * face.half) / model.node[face.node].mass
        place = at.enthalpy + face.node, at.metal + face.metal
        expected[place] = expected.get(place, 0.0) + conductance
    dry = {place: value for place, value in expected.items() if np.isfinite(value)}
    assert len(dry) > 8
    for place, value in dry.items():
        assert matrix[place] == pytest.approx(value, rel=1e-6)


# Gas -----------------------------------------------------------------------------------------------------------------


def test_gas_answers_to_gas():
    """Places full of bubbles: what passes between them at still flows and level, and every column of it sums to
    nothing; no place loses less, and none gains less, for more gas in it."""
    point = Point("layout_a", "bubbles")
    at = point.at
    apart = ~np.isin(np.arange(at.air, at.store), point.pattern.vent)  # but where a cap takes part
    gas = point.matrix[at.air : at.store, at.air : at.store]
    own = np.diag(gas)
    assert np.count_nonzero(own[apart] < -1e-3) > 20
    assert gas[:, apart].sum(axis=0) == pytest.approx(0.0, abs=1e-9 * np.abs(own).max())
    assert (gas - np.diag(own))[:, apart].min() >= 0.0

    def ways(state, rate):
        gas_places(*point.handles, state)
        air_ways(*point.handles, state, point.acceleration, rate)

    # a place that is all gas passes on a fixed volume: there the entry is the loss over what there is, on purpose
    some = np.flatnonzero(apart & (point.work.free_gas < 1.0))
    assert len(some) > 30
    for k in some:
        found = point.slope(ways, at.air + k, 1e-3 * max(point.state[at.air + k], 1e-9))[at.air : at.store]
        assert gas[:, k] == pytest.approx(found, rel=0.02, abs=0.02 * np.abs(found).max())


# Caps ----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("car", "name"),
    [("layout_a", "cap_gas"), ("layout_a", "cap_liquid"), ("weighted", "hanging"), ("weighted", "drawing")],
)
def test_a_working_cap_answers_through_the_level(car, name):
    """Lift, store and gas under the cap, the level solved anew; by the store a millionth of a kilogram each way."""
    point = Point(car, name)
    at = point.at

    def venting(state, rate):
        node_properties(*point.handles, state)
        solve_level(*point.handles, state)
        gas_places(*point.handles, state)
        caps(*point.handles, state, rate)

    rows = [at.lift, at.store]
    seen = 0
    for k, step in ((at.lift, 1e-5), (at.store, 1e-5), (at.air, 1e-5 * point.state[at.air])):
        if k == at.lift and not 1e-4 < point.state[k] < 1.0:
            continue  # shut: a lift below nothing is none
        found = point.slope(venting, k, step)[rows]
        seen += np.count_nonzero(found)
        assert point.matrix[rows, k] == pytest.approx(found, rel=0.03, abs=1e-3 * np.abs(found).max())
    assert seen >= 2


@pytest.mark.parametrize("name", ["cap_gas", "boiling"])
def test_entries_leave_the_evaluation_as_it_was(name):
    """The stepper reads flows, level and temperatures afterwards: none may be those of a state that was tried."""
    point = Point("layout_a", name)
    names = ("flow", "temperature", "absolute", "saturation", "void", "pocket_volume", "free_gas", "density")
    assert rhs.derivative(point.time, point.state, point.phase, *point.handles, np.zeros(point.at.size))
    before = {field: getattr(point.work, field).copy() for field in names}
    level = point.work.level[0]
    point.entries()
    for field, was in before.items():
        np.testing.assert_allclose(getattr(point.work, field), was, rtol=1e-8, atol=1e-14, err_msg=field)
    assert point.work.level[0] == pytest.approx(level, rel=1e-8)


# What the stepper solves ---------------------------------------------------------------------------------------------


def test_stepper_solves_with_scale_less_the_jacobian():
    """Storage of (1/(h gamma)) M - J, entry by entry: M has ones for states, nothing for flows and pressures."""
    point = Point("layout_a", "hot")
    structure, values = point.pattern.structure, np.random.default_rng(3).normal(size=len(point.pattern.rows))
    storage = np.zeros(structure.fill)
    assemble(handle(point.pattern), values, 7.0, storage)
    own = (point.pattern.rows == point.pattern.columns) & (point.pattern.rows < point.at.ledger)
    assert storage[structure.slot] == pytest.approx(7.0 * own - values)
    assert storage.sum() == pytest.approx(7.0 * point.at.ledger - values.sum())
