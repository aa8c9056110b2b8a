"""What the kernels are given: the packed model, the layout of the state vector and the workspace of one evaluation.

State vector (SI), in this order: enthalpy of each coolant node (J/kg; of the vessel: J), steam share felt by the flow,
temperature of each metal, dry share of each face that can go dry, gas in each place where it can stand (kg), liquid
store of the vessel (kg), volume that gas and steam displace into the tank (m3), air dissolved in the coolant (kg), lift
of each cap, share of its head that each pump keeps, how far it has lost its prime, how flat each soft hose is, what
each sensor shows (K or Pa gauge), what each controller's filter holds, then the ledgers (see `LEDGERS`), which nothing
depends on.
"""

from typing import NamedTuple

import numpy as np

from sim1d._jit import kernel
from sim1d.core.handle import maker, register
from sim1d.core.hydraulics import Network, Workspace, workspace

LEDGERS = (
    "engine_heat",  # J from gas and friction into metal and coolant
    "pump_work",  # J of pump shaft work into the coolant
    "radiator_heat",  # J to the air through radiators
    "ambient_heat",  # J to still or passing air elsewhere
    "vented_heat",  # J carried out by coolant that left, less what was drawn back
    "coolant_out",  # kg through the cap, liquid and vapour
    "coolant_back",  # kg drawn back from the recovery tank
    "bottle",  # kg now in the recovery tank
    "air_in",  # kg drawn in by the vacuum valve
    "air_out",  # kg vented
    "leak_in",  # kg of permanent combustion gas past the head gasket
)


class Layout(NamedTuple):
    """Where each group of states begins; `size` is the vector's length, `ledger` the number of implicit states."""

    enthalpy: int
    lag: int
    metal: int
    dry: int
    air: int
    store: int
    displaced: int
    dissolved: int
    lift: int
    grip: int
    prime: int
    collapse: int
    sensor: int
    cut: int
    ledger: int
    size: int


class Model(NamedTuple):
    """The packed car and day: record tables of `sim1d.tables`, one row per thing."""

    network: Network
    node: np.recarray
    lag: np.recarray
    metal: np.recarray
    link: np.recarray
    face: np.recarray
    gas_face: np.recarray
    pocket: np.recarray
    air_way: np.recarray
    leak: np.recarray
    leak_curve: np.recarray
    collapse: np.recarray
    cap: np.recarray
    core: np.recarray
    radiator: np.recarray
    exchanger: np.recarray
    sensor: np.recarray
    cut: np.recarray
    valve: np.recarray
    drive: np.recarray
    system: np.recarray
    liquid: np.recarray
    by_enthalpy: np.recarray
    by_pressure: np.recarray
    layout: Layout


ModelHandle = register(Model)


@maker(Model)
@kernel
def make_model(*fields):
    """Handle of a `Model` from its fields."""
    return ModelHandle(*fields)


class Work(NamedTuple):
    """Arrays of one evaluation: start values on entry (they save time and change no answer), observations on exit."""

    solver: Workspace
    flow: np.ndarray  # (branch) kg/s
    pressure: np.ndarray  # (junction) Pa relative to the ground
    pump_speed: np.ndarray  # (pump) rad/s
    pump_power: np.ndarray  # (pump) W of shaft power
    pump_current: np.ndarray  # (pump) A
    pump_state: np.ndarray  # (pump) rad/s or V
    pump_grip: np.ndarray  # (pump) share of its head that it keeps
    pump_gas: np.ndarray  # (pump) gas by volume in what it draws
    opening: np.ndarray  # (branch) multiplier on loss coefficients and friction
    drive: np.ndarray  # (branch) Pa
    branch_density: np.ndarray  # (branch) kg/m3
    branch_viscosity: np.ndarray  # (branch) Pa s
    offset: np.ndarray  # (node) Pa above the pressure at the ground
    hot: np.ndarray  # (node) K, temperature of all-liquid coolant of that enthalpy
    temperature: np.ndarray  # (node) K
    absolute: np.ndarray  # (node) Pa absolute
    saturation: np.ndarray  # (node) K at the local pressure; infinite away from walls and from boiling
    density: np.ndarray  # (node) kg/m3 of the liquid
    viscosity: np.ndarray  # (node) Pa s of the liquid
    mixture: np.ndarray  # (node) kg/m3 with the lagged steam
    vapour: np.ndarray  # (node) Pa, vapour pressure of the liquid
    void: np.ndarray  # (node) steam by volume
    gas: np.ndarray  # (node) air and vapour of a gas space by volume, the tank's left out
    grid: np.ndarray  # (node) row of the liquid table
    share: np.ndarray  # (node) share of the next row
    enthalpy: np.ndarray  # (node) J/kg
    power: np.ndarray  # (node) W into the node
    metal_power: np.ndarray  # (metal) W into the metal
    face_temperature: np.ndarray  # (face) K
    face_flux: np.ndarray  # (face) W/m2 where it is wet
    face_critical: np.ndarray  # (face) W/m2, of those that can go dry
    face_speed: np.ndarray  # (face) m/s
    face_film: np.ndarray  # (face) W/(m2 K), single-phase
    face_slope: np.ndarray  # (face) W/(m2 K), of the flux where it is wet by the wall temperature
    face_over_film: np.ndarray  # (face) W/(m2 K) where it is dry
    core_inside: np.ndarray  # (core cell) W/K from coolant to metal
    core_outside: np.ndarray  # (core cell) W/K from metal to air
    exchange: np.ndarray  # (exchanger) W/K
    gas_conductance: np.ndarray  # (gas face) W/K from the gas to the cell behind the face
    gas_heat: np.ndarray  # (gas face) W
    gas_surface: np.ndarray  # (gas face) K
    pocket_volume: np.ndarray  # (pocket) m3
    free_gas: np.ndarray  # (pocket) gas by volume that can be carried or rise
    sensed: np.ndarray  # (sensor) Pa gauge or K that acts on each sensor
    way_out: np.ndarray  # (air way) 1/s, share of the gas at its start that goes to its end
    way_back: np.ndarray  # (air way) 1/s, and the other way round
    way_out_slope: np.ndarray  # (air way) 1/s, derivative of what goes by the gas at its start
    way_back_slope: np.ndarray  # (air way) 1/s, and of what comes back by the gas at its end
    passing: np.ndarray  # (pocket, 4) 1/m3, see `air.places_pass_on`
    through: np.ndarray  # (pocket) m3/s of coolant that passes the place
    level: np.ndarray  # [0] Pa absolute at the ground, [1] m surface in the tank, [2] Newton steps, [3] s it is of,
    # [4] m3 of liquid that rigid walls have no room for, [5] m3/Pa that all volumes give way
    total: np.ndarray  # W: [0] engine, [1] pump, [2] radiator, [3] ambient, [4] vented; see rhs.py


WorkHandle = register(Work)


@maker(Work)
@kernel
def make_work(solver, *fields):
    """Handle of a `Work` from its fields; the handle stands apart: among the others each call would cost half a ms."""
    return WorkHandle(solver, *fields)


def work_arrays(model: Model) -> Work:
    """A fresh workspace for `model` (deterministic start values)."""
    network = model.network
    n_branch, n_junction, n_pump = len(network.branch), len(network.junction), len(network.pump)
    n_node, n_metal, n_face = len(model.node), len(model.metal), len(model.face)
    n_gas, n_pocket = len(model.gas_face), len(model.pocket)

    def z(n: int) -> np.ndarray:
        return np.zeros(max(n, 1))

    arrays = [workspace(network), np.full(n_branch, 0.1), z(n_junction)]
    arrays += [z(n_pump) for _ in range(4)] + [np.ones(max(n_pump, 1)), z(n_pump)]
    arrays += [np.ones(n_branch), *(z(n_branch) for _ in range(3))]
    arrays += [*(z(n_node) for _ in range(11)), np.zeros(n_node, dtype=np.int64), *(z(n_node) for _ in range(3))]
    arrays += [z(n_metal), *(z(n_face) for _ in range(7)), z(len(model.core)), z(len(model.core))]
    arrays += [z(len(model.exchanger)), z(n_gas), z(n_gas), z(n_gas)]
    n_way = len(model.air_way)
    arrays += [z(n_pocket), z(n_pocket), z(len(model.sensor)), *(z(n_way) for _ in range(4))]
    arrays += [np.zeros((max(n_pocket, 1), 4)), z(n_pocket), z(8), z(16)]
    return Work._make(arrays)
