"""Books of a step, each worked out by hand: what no other test held on to when laws were broken.

The car is the shipped layout A and a variant of it (invented data).
"""

import sys
from pathlib import Path

import numpy as np
import pytest

from sim1d.core.books import close_ledgers, sums
from sim1d.core.model import LEDGERS

sys.path.insert(0, str(Path(__file__).parents[1]))

# the folder of the tests is on the path only now
from reference.bench import Bench  # noqa: E402

ENERGY, COOLANT, GAS = range(3)  # the conserved sums


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


@pytest.mark.parametrize("count", [4, 5])
def test_every_metal_counts_in_the_energy(count):
    """An even and an odd number of them, a kilojoule into each by turns: 1 kJ/C warmer."""
    model = Bench("layout_a").model
    bench = Bench("layout_a", metal=model.metal[:count])
    for m in range(count):
        change = np.zeros(bench.layout.size)
        change[bench.layout.metal + m] = 1e3 / model.metal[m].capacity
        assert sums(bench.handles[0], change)[ENERGY] == pytest.approx(1e3)


@pytest.mark.parametrize(("draws", "ledger", "sign"), [(True, "coolant_back", 1.0), (False, "coolant_out", -1.0)])
def test_recovery_tank_gives_what_comes_back_and_catches_what_leaves(draws, ledger, sign):
    """Books of a step: the store changed by 1 kg although the rates said 0.9; the ledger and the tank follow."""
    bench = Bench("recovery")
    at = {name: bench.layout.ledger + k for k, name in enumerate(LEDGERS)}
    step = np.zeros(bench.layout.size)
    step[bench.layout.store], step[at[ledger]], step[at["bottle"]] = sign, 0.9, -sign * 0.9
    close_ledgers(bench.handles[0], np.zeros(3), step, np.array([draws, 1.0]))
    assert step[at[ledger]] == pytest.approx(1.0)
    assert step[at["bottle"]] == pytest.approx(-sign)
