"""Heat goes from hot to cold: rest stays at rest, extremes only close in, entropy only grows.

Sources: the second law, and the maximum principle of heat conduction and upwind transport (any textbook). Runs without
sources: engine and pumps stand, so that no work and no gas heat enters.
"""

import numpy as np
import pytest

from sim1d.core.handle import handle
from sim1d.core.model import LEDGERS, work_arrays
from sim1d.core.rhs import derivative
from sim1d.pack import pack
from sim1d.simulation import Accuracy, integrate
from tests.system.runs import day_of, example, phase, race_day

LAYOUTS = ("layout_a", "layout_b", "layout_c")
AIR = 303.15  # K, ambient of `day_of`


class Moment:
    """One evaluation of the kernels at a state: rate and all observations, on tables shared with the caller."""

    def __init__(self, packed, phase_row):
        self.packed, self.phase = packed, phase_row
        self.work = work_arrays(packed.model)
        self.handles = handle(packed.model), handle(self.work)
        self.rate = np.empty(packed.model.layout.size)

    def at(self, time: float, state: np.ndarray):
        assert derivative(time, np.ascontiguousarray(state), self.phase, *self.handles, self.rate)
        return self.work


def uneven(packed, low: float, high: float, seed: int) -> np.ndarray:
    """The packed start with every lump of coolant and metal at a temperature of its own between `low` and `high` K."""
    draw = np.random.default_rng(seed)
    model, layout = packed.model, packed.model.layout
    table = model.liquid
    state = packed.start.copy()
    coolant = draw.uniform(low, high, len(model.node))
    heat = np.interp(coolant, table.temperature, table.enthalpy)
    vessel = model.system[0].vessel
    heat[vessel] *= model.node[vessel].mass + model.system[0].store
    state[layout.enthalpy : layout.lag] = heat
    state[layout.metal : layout.dry] = draw.uniform(low, high, len(model.metal))
    return state


def temperatures(moment: Moment, history) -> tuple[np.ndarray, np.ndarray]:
    """Coolant (time, lump) and metal (time, lump) temperatures, K."""
    layout = history.packed.model.layout
    coolant = [moment.at(t, y).temperature[: len(history.packed.model.node)].copy() for t, y in _instants(history)]
    return np.array(coolant), history.states[:, layout.metal : layout.dry]


def _instants(history):
    return zip(history.times, history.states, strict=True)


@pytest.mark.parametrize("name", LAYOUTS)
def test_rest_stays_at_rest(name):
    """Engine stopped, everything at the temperature of the air, sealed in it: after 600 s no state has moved.

    1e-6 of each state's own scale; enthalpies (0.05 J/kg is 1e-5 K) drift by the round-off of the pressure level.
    """
    packed = pack(example(name), day_of(phase(600.0)))
    history = integrate(packed, accuracy=Accuracy.FINE)  # at NORMAL three milligrams of gas may be somewhere else
    assert history.times[-1] == 600.0
    layout = packed.model.layout
    moved = np.abs(history.states - history.states[0]).max(axis=0)
    scale = {
        "coolant": (slice(layout.enthalpy, layout.lag), 1e-6 * np.abs(history.states[0, : layout.lag]).max()),
        "steam": (slice(layout.lag, layout.metal), 1e-12),
        "metal": (slice(layout.metal, layout.dry), 1e-6 * AIR),
        "dry share": (slice(layout.dry, layout.air), 1e-12),
        # the column presses air from the tank's gas into solution, some micrograms in ten minutes
        "air and liquid": (slice(layout.air, layout.lift), 2e-6),
        "lift, pumps and hoses": (slice(layout.lift, layout.sensor), 1e-6),
        "thermometers": (layout.sensor + np.flatnonzero(packed.model.sensor.pressure == 0), 1e-6 * AIR),
        "gauges": (layout.sensor + np.flatnonzero(packed.model.sensor.pressure == 1), 20.0),  # Pa, by that air
        "ledgers": (slice(layout.ledger, layout.size), 0.1),  # J and kg; the circuit holds 2 MJ per 30 K
    }
    for what, (part, allowed) in scale.items():
        assert (moved[part] <= allowed).all(), (what, moved[part].max())
    observed = Moment(packed, history.phases[0]).at(0.0, history.states[-1])
    assert np.abs(observed.flow).max() < 1e-9  # kg/s: nothing drives a flow
    # the tank (or the neck) is at ambient pressure, for it was sealed there; walls stretched by a metre of water: 1 kPa
    assert abs(observed.level[0] - packed.ambient) < 1e3


@pytest.mark.parametrize("seed", [7, 8, 9])
@pytest.mark.parametrize("name", LAYOUTS)
def test_extremes_close_in(name, seed):
    """No source: the hottest lump only cools, down to the air; the coldest only warms, up to it (maximum principle).

    Slack 0.05 K, five times the tolerance of a temperature at FINE accuracy.
    """
    packed = pack(example(name), day_of(phase(900.0)))
    history = integrate(packed, start=uneven(packed, 285.0, 350.0, seed), accuracy=Accuracy.FINE)
    coolant, metal = temperatures(Moment(packed, history.phases[0]), history)
    both = np.concatenate([coolant, metal], axis=1)
    hottest = np.maximum(both.max(axis=1), AIR)
    coldest = np.minimum(both.min(axis=1), AIR)
    risen = hottest - np.minimum.accumulate(hottest)
    fallen = np.maximum.accumulate(coldest) - coldest
    names = [*packed.points, *(["a metal"] * metal.shape[1])]
    up, down = int(risen.argmax()), int(fallen.argmax())
    assert risen[up] < 0.05, f"{names[both[up].argmax()]} warmed, {history.times[up]:.0f} s"
    assert fallen[down] < 0.05, f"{names[both[down].argmin()]} cooled, {history.times[down]:.0f} s"
    spread = np.ptp(both, axis=1)
    assert spread[-1] < 0.5 * spread[0]


@pytest.mark.parametrize("name", LAYOUTS)
def test_entropy_grows(name):
    """dS/dt = sum of power over temperature of every lump, plus what the air takes at its own temperature, is positive.

    At 40 drawn states of hot and cold lumps with the network at rest or driven by buoyancy; any pair of lumps that
    exchanged heat the wrong way round would have to be made up for by all others.
    """
    packed = pack(example(name), day_of(phase(10.0)))
    row = packed.stretches[0].row(0.0)
    moment = Moment(packed, row)
    model = packed.model
    for seed in range(40):
        state = uneven(packed, 305.0, 362.0, seed)
        work = moment.at(0.0, state)
        metal = state[model.layout.metal : model.layout.dry]
        gained = np.sum(work.power[: len(model.node)] / work.temperature[: len(model.node)])
        gained += np.sum(work.metal_power[: len(model.metal)] / metal)
        to_air = work.total[2] + work.total[3]
        assert gained + to_air / AIR > 0.0, seed


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_flux_runs_downhill(name):
    """Each wetted face, engine running: heat into the coolant where the wall is hotter, out of it where colder."""
    packed = pack(example(name), day_of(phase(10.0, speed=4000.0)))
    moment = Moment(packed, packed.stretches[0].row(0.0))
    model = packed.model
    for seed in range(20):
        state = uneven(packed, 305.0, 365.0, seed)
        work = moment.at(0.0, state)
        wall = state[model.layout.metal + model.face.metal]
        coolant = work.temperature[model.face.node]
        face = work.face_temperature[: len(model.face)]
        flux = work.face_flux[: len(model.face)]
        apart = np.abs(wall - coolant) > 1e-3
        assert (np.sign(flux) == np.sign(wall - coolant))[apart].all(), seed
        # the wetted surface lies between its metal and its coolant
        assert (face <= np.maximum(wall, coolant) + 1e-6).all() and (face >= np.minimum(wall, coolant) - 1e-6).all()
        gas = work.gas_heat[: len(model.gas_face)]
        assert (gas > 0.0).all(), "the working gas, 1,350 K, heats every face"


@pytest.mark.parametrize("name", LAYOUTS)
def test_ambient_heat_is_the_integral_of_its_flux(name):
    """The ledger that closes the energy balance is not just what was missing: it is the integral of the loss itself.

    The stepper lets the ledger of ambient heat close the sum of all energies. Here the loss is evaluated at every
    recorded instant and integrated by the trapezoidal rule, which leaves 2 % on these steps.
    """
    history = integrate(pack(example(name), race_day()))
    loss = np.empty(len(history.times))
    moments = [Moment(history.packed, row) for row in history.phases]
    for i, (time, state) in enumerate(_instants(history)):
        loss[i] = moments[history.stretch[i]].at(time, state).total[3]
    ledger = history.states[:, history.packed.model.layout.ledger + LEDGERS.index("ambient_heat")]
    passed = np.trapezoid(loss, history.times)
    assert passed == pytest.approx(ledger[-1], rel=0.02)
    assert ledger[-1] > 1e4  # J: enough to mean something
