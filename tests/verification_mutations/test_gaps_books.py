"""Books of a step and its Jacobian, each worked out by hand: what no other test held on to when laws were broken.

The car is the shipped layout A and variants of it (invented data).
"""

import sys
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from sim1d.core.air import displacement, pump_grip, settle, soft_hoses
from sim1d.core.handle import handle
from sim1d.core.model import LEDGERS, work_arrays
from sim1d.core.pattern import jacobian_pattern
from sim1d.core.rhs import derivative
from sim1d.core.stepper import close_ledgers, jacobian, sums

sys.path.insert(0, str(Path(__file__).parents[1]))

# the folder of the tests is on the path only now
from reference.bench import Bench  # noqa: E402
from reference.cars import packed  # noqa: E402
from reference.states import STATES  # noqa: E402

ENERGY, COOLANT, GAS = range(3)  # the conserved sums


# Books ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("what", "ledger", "group", "amount"),
    [
        (ENERGY, "engine_heat", "enthalpy", 1e3), (ENERGY, "engine_heat", "metal", 1e3),
        (ENERGY, "pump_work", "enthalpy", 1e3), (ENERGY, "radiator_heat", "enthalpy", -1e3),
        (ENERGY, "vented_heat", "vessel", -1e3), (ENERGY, "engine_heat", "vessel", 1e3),
        (COOLANT, "coolant_back", "store", 0.1),
        (GAS, "air_in", "air", 1e-4), (GAS, "leak_in", "air", 1e-4), (GAS, "leak_in", "dissolved", 1e-4),
    ],
)  # fmt: skip
def test_what_comes_in_and_is_booked_changes_no_sum(what, ledger, group, amount):
    """J, kg and kg that come in (or leave, below zero): 1 kJ warms a lump by 1 kJ/m, a metal by 1 kJ/C; the vessel's
    state is its heat already."""
    bench = Bench("layout_a")
    at, model, place = bench.layout, bench.model, 3
    change = np.zeros(at.size)
    if group == "vessel":
        change[at.enthalpy + bench.system.vessel] = amount
    elif group == "enthalpy":
        assert bench.system.vessel != place
        change[at.enthalpy + place] = amount / model.node[place].mass
    elif group == "metal":
        change[at.metal + place] = amount / model.metal[place].capacity
    else:
        change[getattr(at, group)] = amount
    came = np.array(sums(bench.handles[0], change))
    assert came[what] == pytest.approx(amount)  # not booked yet: it came from nowhere
    change[at.ledger + LEDGERS.index(ledger)] = abs(amount)
    booked = np.array(sums(bench.handles[0], change))
    assert booked == pytest.approx(np.zeros(3), abs=1e-9 * abs(amount))


@pytest.mark.parametrize(("draws", "ledger", "sign"), [(True, "coolant_back", 1.0), (False, "coolant_out", -1.0)])
def test_recovery_tank_gives_what_comes_back_and_catches_what_leaves(draws, ledger, sign):
    """Books of a step: the store changed by 1 kg although the rates said 0.9; the ledger and the tank follow."""
    bench = Bench("recovery")
    at = {name: bench.layout.ledger + k for k, name in enumerate(LEDGERS)}
    step = np.zeros(bench.layout.size)
    step[bench.layout.store], step[at[ledger]], step[at["bottle"]] = sign, 0.9, -sign * 0.9
    close_ledgers(bench.handles[0], np.zeros(3), step, draws, 1.0)
    assert step[at[ledger]] == pytest.approx(1.0)
    assert step[at["bottle"]] == pytest.approx(-sign)


# Jacobian ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("law", "group"), [(displacement, "displaced"), (pump_grip, "grip"), (soft_hoses, "collapse")])
def test_jacobian_knows_how_a_state_answers_to_itself(law, group):
    """The difference of the full law by its own state is that of `settle`, which stands for it in the Jacobian."""
    bench = Bench("soft")
    k = getattr(bench.layout, group)
    slopes = []
    full, short = partial(law, *bench.handles), partial(settle, bench.handles[0])
    for one in (full, short):
        rates = []
        for value in (0.2, 0.3):
            bench.state[k] = value
            rate = np.zeros(bench.layout.size)
            one(bench.state, rate)
            rates.append(rate[k])
        slopes.append((rates[1] - rates[0]) / 0.1)
    assert slopes[0] < 0.0
    assert slopes[1] == pytest.approx(slopes[0])


def test_jacobian_knows_that_gas_is_kept():
    """Gas in layout A full of bubbles: what a place loses its neighbours gain, so every column of the gas sums to
    nothing; no place loses less, and none gains less, for more gas in it."""
    here = packed("layout_a")
    state, phase, time = STATES["bubbles"](here)
    model, work, pattern = handle(here.model), handle(work_arrays(here.model)), jacobian_pattern(here.model)
    at = here.model.layout
    base, bumped, moved = (np.zeros(at.size) for _ in range(3))
    assert derivative(time, state, phase, model, work, base)
    values = np.zeros(len(pattern.rows))
    jacobian(time, state, phase, model, work, handle(pattern), base, bumped, moved, values)
    gas = np.zeros((at.ledger, at.ledger))
    gas[pattern.rows, pattern.columns] = values
    gas = gas[at.air : at.store, at.air : at.store]
    apart = ~np.isin(np.arange(at.air, at.store), pattern.vent)  # but where a cap takes part
    own = np.diag(gas)
    assert np.count_nonzero(own[apart] < -1e-3) > 20
    assert gas[:, apart].sum(axis=0) == pytest.approx(0.0, abs=1e-9 * np.abs(own).max())
    assert (gas - np.diag(own))[:, apart].min() >= 0.0
