"""The analytic Jacobian against differences of the same laws at frozen flows, level, films and conductances.

What `core.slopes` leaves out is left out here too: flows and level stand still, and so do the films of walls and cores,
which hang on temperature. Everything else is differenced from the kernels of the right-hand side, entry by entry.
"""

import numpy as np
import pytest

from sim1d.core import coolant, engine, rhs
from sim1d.core.air import way_rates
from sim1d.core.pressure import local_states
from sim1d.core.radiator import ambient_losses
from sim1d.core.rhs import at, elapsed
from sim1d.physics.boiling import balanced_face
from sim1d.physics.film_boiling import dry_share_rate, dry_share_target
from tests.reference.point import Point

CASES = [("layout_a", name) for name in ("hot", "cold", "soak", "boiling", "dry", "rising", "gassy")]
CASES += [("layout_c", name) for name in ("hot", "dry")]


class Frozen(Point):
    """With the entries among states, and the rate at frozen flows, level and films."""

    def __init__(self, car: str, name: str):
        super().__init__(car, name)
        share = elapsed(self.phase, self.time)
        self.air, self.acceleration = at(self.phase.car_speed, share), at(self.phase.acceleration, share)
        self.matrix = self.matrix_of(self.n, slice(self.pattern.states))
        self.films = {
            name: getattr(self.work, name).copy()
            for name in ("face_film", "face_over_film", "core_inside", "core_outside", "exchange", "gas_conductance",
                         "face_critical", "gas", "void")
        }  # fmt: skip
        self.boiling = [self._boiling(f) for f in range(len(self.model.face))]
        way_rates(*self.handles, self.acceleration)

    def _boiling(self, f: int) -> float:
        """Nucleate group of a face with its suppression, as `wetted_faces` takes it (W/m2 at 1 K and 1 Pa)."""
        face, work, liquid = self.model.face[f], self.work, self.model.liquid
        i = face.node
        if max(self.state[self.at.metal + face.metal], work.temperature[i]) <= work.saturation[i]:
            return 0.0
        group = np.interp(work.saturation[i], liquid.temperature, liquid.boiling_group)
        viscosity = np.interp(work.hot[i], liquid.temperature, liquid.viscosity)
        reynolds = work.density[i] * work.face_speed[f] * face.diameter / viscosity
        return float(face.boiling_factor * group / (1.0 + 2.53e-6 * reynolds**1.17))

    def frozen_rate(self, state: np.ndarray) -> np.ndarray:
        """Rate of enthalpies, metals, dry shares and steam with films, flows and level as they were."""
        model, layout, work = self.model, self.at, self.work
        coolant.node_properties(*self.handles, state)
        local_states(*self.handles)
        work.power[:] = 0.0
        work.metal_power[:] = 0.0
        rate = np.zeros(layout.size)
        coolant.carry(*self.handles)
        engine.conduct(*self.handles, state)
        metal = state[layout.metal : layout.dry]
        for g, face in enumerate(model.gas_face):
            work.metal_power[face.metal] += self.films["gas_conductance"][g] * (
                face.gas_temperature - metal[face.metal]
            )
        for f, face in enumerate(model.face):
            i = face.node
            dry = min(max(state[layout.dry + face.dry], 0.0), 1.0) if face.dry >= 0 else 0.0
            wetted = 1.0 - self.films["gas"][i]
            wall, flux, wet, _ = balanced_face(
                metal[face.metal], wetted * face.half, work.temperature[i], work.saturation[i],
                self.films["face_film"][f], self.boiling[f], dry, self.films["face_over_film"][f], np.nan, model.liquid,
            )  # fmt: skip
            heat = flux * face.area * wetted
            work.metal_power[face.metal] -= heat
            work.power[i] += heat
            if face.dry >= 0:
                target = dry_share_target(
                    wet, self.films["face_critical"][f], wall, model.system[0].film_collapse, engine.COLLAPSE_WIDTH
                )
                rate[layout.dry + face.dry] += dry_share_rate(state[layout.dry + face.dry], target, engine.DRY_TIME)
        for table, conductance in ((model.exchanger, "exchange"), (model.core, "core_inside")):
            for k, row in enumerate(table):
                heat = self.films[conductance][k] * (work.temperature[row.node] - metal[row.metal])
                work.power[row.node] -= heat
                work.metal_power[row.metal] += heat
        for c, cell in enumerate(model.core):
            work.metal_power[cell.metal] -= self.films["core_outside"][c] * (
                metal[cell.metal] - model.system[0].ambient_temperature
            )
        ambient_losses(*self.handles, state, self.air)
        void = work.void.copy()
        work.void[:] = self.films["void"]  # a thermometer's pace is taken as it was
        rhs.divide(state, *self.handles, rate)
        for k, lag in enumerate(model.lag):
            rate[layout.lag + k] = (void[lag.node] - state[layout.lag + k]) / model.system[0].void_lag
        return rate

    def column(self, k: int, step: float) -> np.ndarray:
        """Difference of the frozen rate by state `k`; central, but of a dry share into the wall's range (0 to 1)."""
        high, low = self.state.copy(), self.state.copy()
        inside = not self.at.dry <= k < self.at.air
        high[k] += step if inside or self.state[k] < 0.5 else 0.0
        low[k] -= step if inside or self.state[k] >= 0.5 else 0.0
        return (self.frozen_rate(high) - self.frozen_rate(low))[: self.at.ledger] / (high[k] - low[k])


@pytest.mark.parametrize(("car", "name"), CASES, ids=[f"{car}-{name}" for car, name in CASES])
def test_every_entry_is_the_difference_of_its_law(car, name):
    """All entries of enthalpy, metal and dry columns; 2 % of the entry, or a thousandth of the row's own diagonal.

    Where a difference meets a corner (a table's row, the onset of steam) an entry may differ: one in a hundred at most.
    """
    case = Frozen(car, name)
    layout = case.at
    vessel = layout.enthalpy + case.model.system[0].vessel
    mass = coolant.vessel_mass(case.handles[0], case.state[layout.store])
    sizes = {k: 2.0 * (mass if k == vessel else 1.0) for k in range(layout.enthalpy, layout.lag)}
    sizes |= {k: 1e-3 for k in range(layout.metal, layout.dry)} | {k: 1e-5 for k in range(layout.dry, layout.air)}
    rows = np.r_[layout.enthalpy : layout.air, layout.sensor : layout.cut]
    wrong, entries = [], 0
    for k, size in sizes.items():
        found, given = case.column(k, size)[rows], case.matrix[rows, k]
        scale = np.abs(np.diag(case.matrix))[rows] * _unit(case, rows) / _unit(case, np.array([k]))
        entries += int(np.sum((found != 0.0) | (given != 0.0)))
        bad = np.abs(found - given) > 0.02 * np.maximum(np.abs(found), 0.05 * scale)
        wrong += [(int(r), k, float(a), float(b)) for r, a, b in zip(rows[bad], found[bad], given[bad], strict=True)]
    assert entries > 500
    assert len(wrong) <= 0.01 * entries, wrong[:12]


def _unit(case: Frozen, rows: np.ndarray) -> np.ndarray:
    """A size for each state, so that entries of different units compare: 4000 J/kg, 1 K, 0.01 of a share."""
    layout = case.at
    unit = np.ones(layout.size)
    unit[layout.enthalpy : layout.lag] = 4e3
    unit[layout.enthalpy + case.model.system[0].vessel] = 4e3
    unit[layout.lag : layout.metal] = unit[layout.dry : layout.air] = 0.01
    return unit[rows]


@pytest.mark.parametrize("name", ["hot", "cap_liquid", "hanging"])
def test_the_column_of_the_store_scales_that_of_the_vessel(name):
    """Heat H over mass m(s): what feels the temperature of the vessel feels the store by -h dm/ds of it."""
    case = Frozen("layout_a", name)
    layout = case.at
    vessel = layout.enthalpy + case.model.system[0].vessel
    store = case.state[layout.store]
    slope = coolant.vessel_mass_slope(case.handles[0], store)
    ratio = -case.state[vessel] / coolant.vessel_mass(case.handles[0], store) * slope
    rows = np.r_[layout.enthalpy : layout.dry]
    np.testing.assert_allclose(
        case.matrix[rows, layout.store], ratio * case.matrix[rows, vessel], rtol=1e-9, atol=1e-12
    )


@pytest.mark.parametrize("name", ["rising", "gassy", "hot"])
def test_gas_that_leaves_a_place_reaches_the_next(name):
    """Columns of the gas sum to nothing: what one place loses another gains."""
    case = Frozen("layout_a", name)
    block = case.matrix[case.at.air : case.at.store, case.at.air : case.at.store]
    assert np.abs(block).max() > 0.0
    assert np.abs(block.sum(axis=0)).max() <= 1e-12 * np.abs(block).max()


def test_heat_that_flows_is_in_no_column_lost():
    """Columns of enthalpy and metal, weighted by mass and capacity, sum to what goes to the air alone."""
    case = Frozen("layout_a", "hot")
    model, layout = case.model, case.at
    weight = np.zeros(layout.ledger)
    weight[layout.enthalpy : layout.lag] = model.node.mass
    weight[layout.enthalpy + model.system[0].vessel] = 1.0
    weight[layout.metal : layout.dry] = model.metal.capacity
    metals = np.arange(layout.metal, layout.dry)
    lost = -(weight @ case.matrix)[metals]
    expected = model.metal.ambient * (1.0 + model.metal.ambient_moving * case.air)
    for g, face in enumerate(model.gas_face):
        expected[face.metal] += case.films["gas_conductance"][g]
    for c, cell in enumerate(model.core):
        expected[cell.metal] += case.films["core_outside"][c]
    np.testing.assert_allclose(lost, expected, rtol=1e-9, atol=1e-9 * np.abs(expected).max())
