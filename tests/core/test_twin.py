"""The compiled kernels against the slow twin: two implementations of docs/explanation/model.md, one answer."""

import json
import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from sim1d.core.handle import handle
from sim1d.core.hydraulics import QUICK
from sim1d.core.model import work_arrays
from sim1d.core.rhs import derivative

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from reference import naive_air, naive_model  # noqa: E402  (the folder of the tests is on the path only now)
from reference.cars import LAYOUTS, VARIANTS, packed  # noqa: E402
from reference.states import STATES  # noqa: E402

# Relative: the kernel stops its wall balance at a step of 1e-4 K, which leaves 1e-7 of a boiling flux, and its flows at
# a Newton step of 1e-5, which leaves 1e-10; nothing else in it is iterated to less than 1e-9.
RELATIVE = 1e-6
# Absolute, for rates that are small differences of large terms: enthalpies near 3e5 J/kg carried by flows that balance
# to 1e-11 kg/s through lumps of 0.01 kg leave 3e-4 J/(kg s), which is 7e-8 K/s, and at the vessel and in the ledgers
# 1e-3 W of 1e5 W; metal cancels 1e5 W to 1e-7 of it through lumps of 1e5 J/K. Gas in one place is what many ways bring
# and take, 1e-3 kg/s each; displacement is 1e-3 m3 of stretched walls, gas and steam over 0.1 s, known to 1e-9. The
# others are not differences, but a grip, a prime or a hose at its target has a rate of round-off.
ABSOLUTE = dict(
    enthalpy=1e-3, lag=1e-8, metal=1e-7, dry=1e-8, air=1e-13, store=1e-12, displaced=1e-11, dissolved=1e-15, lift=1e-8,
    grip=1e-9, prime=1e-9, collapse=1e-8, sensor=1e-9, cut=1e-9, ledger=1e-3,
)  # fmt: skip

CASES = [
    *((car, state) for car in LAYOUTS for state in STATES),
    *((car, state) for car in VARIANTS for state in ("hot", "soak")),
    *(("recovery", state) for state in ("vacuum", "cap_liquid")),
    *(("glycol", state) for state in ("boiling", "dry", "cap_gas", "bubbles", "gassy")),
    *(("tilting", state) for state in ("uncovered", "low", "coast")),
    *(("weighted", state) for state in ("hanging", "drawing", "vacuum", "cap_between")),
    *(("soft", state) for state in ("flattened", "coast")),
    *(("crest", state) for state in ("bubbles", "rising")),
    *(("leaking", state) for state in ("hot", "coast", "bubbles")),
    ("still fan", "cold"),
    *(("two pumps", state) for state in ("gassy", "regaining")),
    *(("thermostat", state) for state in ("cold", "coast")),
    *(("electric pump", state) for state in ("cold", "coast")),
    *(("head first", state) for state in ("boiling",)),
]


def groups(layout) -> dict[str, slice]:
    """The groups of the state vector by name."""
    names = [name for name in layout._fields if name != "size"]
    ends = [*names[1:], "size"]
    return {name: slice(getattr(layout, name), getattr(layout, end)) for name, end in zip(names, ends, strict=True)}


class Kernel:
    """The compiled right-hand side with its own workspace."""

    def __init__(self, packed_car):
        self.arrays = work_arrays(packed_car.model)
        self.model, self.work = handle(packed_car.model), handle(self.arrays)
        self.size = packed_car.model.layout.size

    def rate(self, state: np.ndarray, phase: np.record, time: float) -> np.ndarray:
        """Rate of change of `state`; fails the test when the kernel found no answer.

        Four times: a run is content with flows within 1e-5, and from there every Newton step leaves the square of it.
        """
        rate = np.full(self.size, np.nan)
        for _ in range(4):
            assert derivative(time, state, phase, self.model, self.work, rate)
        return rate

    def first_rate(self, state: np.ndarray, phase: np.record, time: float) -> np.ndarray:
        """The rate as a run takes it."""
        rate = np.full(self.size, np.nan)
        assert derivative(time, state, phase, self.model, self.work, rate)
        return rate


@cache
def answer(car: str, state: str) -> naive_model.Answer:
    """What the twin says; worked out once for all tests."""
    here = packed(car)
    y, phase, time = STATES[state](here)
    return naive_model.derivative(here.model, phase, time, y)


@pytest.mark.parametrize(("car", "state"), CASES, ids=[f"{car}-{state}" for car, state in CASES])
def test_kernel_equals_twin(car, state):
    here = packed(car)
    y, phase, time = STATES[state](here)
    kernel = Kernel(here)
    rate = kernel.rate(y, phase, time)
    twin = answer(car, state)
    # flows: the kernel's last Newton step is at most 1e-5 of a flow and leaves the square of it
    np.testing.assert_allclose(kernel.arrays.flow, twin.flow, rtol=1e-8, atol=1e-11, err_msg="flow, kg/s")
    # level: the kernel stops at a change of 1e-9 of it
    np.testing.assert_allclose(kernel.arrays.level[0], twin.level, rtol=1e-8, err_msg="pressure level, Pa absolute")
    for name, part in groups(here.model.layout).items():
        np.testing.assert_allclose(rate[part], twin.rate[part], rtol=RELATIVE, atol=ABSOLUTE[name], err_msg=name)


def test_states_are_what_they_say():
    """The states reach the branches of the laws they are named for, or the comparison would prove less than it says."""
    here = packed("layout_a")
    found = {name: answer("layout_a", name) for name in STATES}
    at, system = here.model.layout, here.model.system[0]
    head, gallery = (here.points.index(f"engine.left-2.{place}") for place in ("head", "gallery"))
    assert 0.3 < found["boiling"].void[head] < 1.0 and found["boiling"].void[gallery] > 0.0
    assert found["cap_liquid"].leak.coolant_out > 10 * found["cap_liquid"].leak.air_out > 0
    assert found["cap_gas"].leak.air_out > found["cap_gas"].leak.coolant_out > 0
    assert found["vacuum"].level < system.ambient_pressure and found["vacuum"].leak.air_in > 0
    assert found["starved"].level < system.ambient_pressure
    assert np.max(np.abs(found["soak"].flow)) < 0.1 < np.max(np.abs(found["hot"].flow))
    assert np.any(found["dry"].moment.metal > system.film_collapse)
    assert np.any(found["dry"].rate[at.dry : at.air] > 0) and np.any(found["dry"].rate[at.dry : at.air] < 0)
    drawn = answer("recovery", "vacuum").leak
    assert drawn.coolant_back > 0 and drawn.air_in > 0
    valve = packed("thermostat").model.valve
    assert np.any((valve.opens < hottest("thermostat", valve)) & (hottest("thermostat", valve) < valve.full))


def test_states_of_the_gas_are_what_they_say():
    """The same for gas, caps, pumps, hoses and the tank's opening."""
    places = answer("layout_a", "bubbles").places
    assert np.sum(places.free[1:] > 0.85) >= 3 and np.sum(places.volume == 0.0) >= 5
    rising, node = answer("layout_a", "rising"), packed("layout_a").model.sensor.node
    assert 0.2 < np.max(rising.moment.gas[node]) < 0.9 and np.max(np.abs(rising.flow)) < 0.1
    dome = answer("layout_c", "rising").places
    held = packed("layout_c").model.pocket.held
    assert np.all((dome.free < dome.volume / 2.25e-4)[held > 0.0])
    assert 0.055 < answer("layout_a", "gassy").drawn[0] < 0.065
    grip, prime = (rates("layout_a", "regaining", group)[0] for group in ("grip", "prime"))
    drawn = answer("layout_a", "regaining").drawn[0]
    assert 0.015 < drawn < 0.025 and -1.7 < prime < -0.1
    with_head = (1.0 - (drawn / 0.06) ** 1.5) * 0.1 + 0.03 * 0.9  # a tenth of its prime is there
    assert 0.0 < grip < (with_head - 0.05) / 0.2 - 0.02
    for car, state, port in (("tilting", "uncovered", 0), ("layout_a", "low", 0)):
        found = answer(car, state)
        way = [row for row in packed(car).model.air_way if row.b == 0][port]
        assert 0.02 < naive_air.bare(found.moment, way) < 0.98
        assert found.flow[way.branch] < 0.0 < rates(car, state, "air")[way.a]  # drawn down out of the tank
    lifts = [rates("layout_a", f"cap_{name}", "lift")[0] for name in ("liquid", "between", "gas")]
    assert lifts[0] > 0.0 == lifts[1] > lifts[2] and answer("layout_a", "cap_between").leak.coolant_out > 0.0
    assert answer("weighted", "hanging").leak.air_out > 0.0 == answer("layout_a", "hanging").leak.air_out
    assert answer("weighted", "drawing").leak.coolant_back > 0.0 == answer("layout_a", "drawing").leak.air_in
    flat = rates("soft", "flattened", "collapse")
    assert np.any(flat > 0.1) and np.any(flat < -0.1) and np.all(flat > -6.0)  # neither round nor flat is the target
    assert rates("layout_a", "gassy", "dissolved")[0] < 0.0 < rates("layout_a", "bubbles", "dissolved")[0]
    assert answer("leaking", "hot").rate[-1] > 0.0 == answer("leaking", "coast").rate[-1]  # no load, no gas
    assert len(packed("crest").model.pocket) == len(packed("layout_a").model.pocket) + 1


def rates(car: str, state: str, group: str) -> np.ndarray:
    """Rates of a group of states by the twin."""
    return answer(car, state).rate[groups(packed(car).model.layout)[group]]


def hottest(car: str, valve: np.recarray) -> np.ndarray:
    """K at the element of each thermostat in the hot state."""
    return answer(car, "hot").moment.hot[valve.node]


@pytest.mark.parametrize("state", ["hot", "soak", "boiling", "bubbles"])
@pytest.mark.parametrize("car", LAYOUTS)
def test_flow_guess_changes_no_answer(car, state):
    """From a fresh workspace, from the answer itself and from a wild guess: the same rate."""
    here = packed(car)
    y, phase, time = STATES[state](here)
    kernel = Kernel(here)
    first = kernel.rate(y, phase, time)
    second = kernel.rate(y, phase, time)
    kernel.arrays.flow[:] = np.random.default_rng(3).uniform(-5.0, 5.0, len(kernel.arrays.flow))
    kernel.arrays.level[0] = 9e5
    third = kernel.rate(y, phase, time)
    for name, part in groups(here.model.layout).items():
        for other in (second, third):
            np.testing.assert_allclose(other[part], first[part], rtol=RELATIVE, atol=ABSOLUTE[name], err_msg=name)


@pytest.mark.parametrize("state", ["hot", "soak", "boiling"])
def test_how_near_a_run_is_content_with_flows(state):
    """One evaluation against the ones that follow it: flows to 1e-5 (`QUICK` squared) of the largest, level to 1e-5."""
    here = packed("layout_a")
    y, phase, time = STATES[state](here)
    kernel = Kernel(here)
    kernel.first_rate(y, phase, time)
    flow, level = kernel.arrays.flow.copy(), kernel.arrays.level[0]
    kernel.rate(y, phase, time)
    np.testing.assert_allclose(flow, kernel.arrays.flow, rtol=0.0, atol=QUICK**2 * np.abs(flow).max())
    assert level == pytest.approx(kernel.arrays.level[0], rel=1e-5)


def test_uncompiled_kernels_give_the_same_rate(tmp_path):
    """The same source with the compiler switched off, in a process of its own: a compiled cache cannot hide an edit."""
    here = packed("layout_a")
    y, phase, time = STATES["hot"](here)
    script = (
        "import json, sys; sys.path[:0] = sys.argv[1:3]\n"
        "import numpy as np\n"
        "from reference.cars import packed\n"
        "from reference.states import STATES\n"
        "from sim1d.core.model import work_arrays\n"
        "from sim1d.core.rhs import derivative\n"
        "here = packed('layout_a'); y, phase, time = STATES['hot'](here)\n"
        "rate = np.empty(here.model.layout.size)\n"
        "with np.errstate(all='ignore'):\n"
        "    work = work_arrays(here.model)\n"
        "    fine = all(derivative(time, y, phase, here.model, work, rate) for _ in range(4))\n"
        "print(json.dumps([bool(fine), rate.tolist()]))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(ROOT), str(ROOT / "tests")], capture_output=True, text=True, timeout=120,
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"}, cwd=tmp_path, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    fine, rate = json.loads(done.stdout.splitlines()[-1])
    assert fine
    compiled = Kernel(here).rate(y, phase, time)
    # the compiler may fuse a multiplication and an addition: rounding, which the iterations pass on
    for name, part in groups(here.model.layout).items():
        plain = np.array(rate)[part]
        np.testing.assert_allclose(plain, compiled[part], rtol=RELATIVE, atol=ABSOLUTE[name], err_msg=name)
