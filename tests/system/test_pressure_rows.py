"""Pressure of whole circuits: worked tables of a loop with its tank, a plugged outlet, and gas past the head gasket.

Loops by their drops alone (`NetworkBuilder`), the gas by the shipped car. Sources beside each test; "worked example"
is one calculated beforehand for the invented demo car, by hand or by a separate program, with the drops given there.
"""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from sim1d.core.handle import handle
from sim1d.core.model import LEDGERS, work_arrays
from sim1d.core.rhs import flows
from sim1d.gasket import leak_table
from sim1d.network import NetworkBuilder
from sim1d.pack import pack
from sim1d.physics import suction
from sim1d.properties import Fluid, coolant_tables
from sim1d.simulation import integrate
from tests.system.runs import day_of, edited, example, phase, rigid

PER_MINUTE = 60e3  # L/min in a m3/s
AMBIENT = 101325.0
WATER = coolant_tables(Fluid.WATER).liquid

# drops (kPa) round the loop at full speed, from the pump's discharge on; they add up to its rise of 100 kPa
LOOP = (
    ("discharge", "block", 15.0), ("block", "head", 25.0), ("head", "head outlet", 15.0),
    ("head outlet", "hot tank", 10.0), ("hot tank", "cold tank", 25.0), ("cold tank", "suction", 10.0),
)  # fmt: skip
PLACES = ("discharge", "block", "head", "head outlet", "hot tank", "cold tank", "suction")
TANK = 120.0  # kPa gauge


def loop_pressures(tee: str, tank: float = TANK, rise: float = 100.0, speed: float = 1.0) -> np.ndarray:
    """Gauge pressure (kPa) at PLACES when the tank at `tank` kPa ends at `tee`; `speed` is a share of full speed."""
    flow = 150.0 / PER_MINUTE
    net = NetworkBuilder()
    for place in PLACES:
        net.junction(place, pressure=tank * 1e3 if place == tee else None)
    net.pump("pump", "suction", "discharge", shutoff=1.2 * rise * 1e3, quadratic=0.2 * rise * 1e3 / flow**2)
    for start, end, drop in LOOP:
        net.resistance(f"{start}-{end}", start, end, quadratic=drop / 100.0 * rise * 1e3 / flow**2)
    pressure = net.solve(density=1000.0, viscosity=3e-4, speed={"pump": speed}).pressure
    return np.array([pressure[place] for place in PLACES]) / 1e3


@pytest.mark.parametrize(
    ("tee", "expected"),
    [
        ("suction", (220.0, 205.0, 180.0, 165.0, 155.0, 130.0, 120.0)),
        ("cold tank", (210.0, 195.0, 170.0, 155.0, 145.0, 120.0, 110.0)),
        ("hot tank", (185.0, 170.0, 145.0, 130.0, 120.0, 95.0, 85.0)),
        ("head outlet", (175.0, 160.0, 135.0, 120.0, 110.0, 85.0, 75.0)),
    ],
)
def test_worked_table_of_where_the_tank_ends(tee, expected):
    """Worked example: pump rise 100 kPa, tank 120 kPa gauge. The same engine and tank: the head reads 135 to 180."""
    assert_allclose(loop_pressures(tee), expected, rtol=1e-9)


@pytest.mark.parametrize("tee", ["suction", "hot tank"])
def test_offsets_of_the_pump_go_with_the_square_of_speed(tee):
    """At 40 % of full speed every offset from the tank is 0.16 of its own (affinity, closed form)."""
    assert_allclose(loop_pressures(tee, speed=0.4) - TANK, 0.16 * (loop_pressures(tee) - TANK), rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize(("tee", "discharge", "suction_side"), [("suction", 31.0, 18.0), ("discharge", 18.0, 5.0)])
def test_circulator_of_13_psi_on_a_tank_of_18(tee, discharge, suction_side):
    """Published example (hydronics, read): 18 psi static, 13 psi of pump, tank at the suction: 31 psi gauge at the
    boiler trips its 30 psi valve. With the tank at the discharge it would stay at 18 and the suction fall to 5."""
    pressure = loop_pressures(tee, tank=18.0, rise=13.0)  # any unit: the loop is linear in it
    assert_allclose(pressure[[0, -1]], (discharge, suction_side), rtol=1e-9)
    assert (pressure[0] > 30.0) == (tee == "suction")


def test_cold_start_with_the_tee_at_the_hot_tank_cavitates():
    """Worked example: tank at 0 gauge, full speed, tee at the hot tank: the suction stands at 66 kPa absolute, below
    the 84.6 that water of 95 degC needs; with the tee at the suction it keeps 101."""
    vapour = float(np.interp(368.15, WATER.temperature, WATER.vapour_pressure))
    density = float(np.interp(368.15, WATER.temperature, WATER.density))
    assert_allclose(vapour / 1e3, 84.6, atol=0.1)
    heads = {}
    for tee, absolute in (("hot tank", 66.3), ("suction", 101.3)):
        at = loop_pressures(tee, tank=0.0)[-1] + AMBIENT / 1e3
        assert_allclose(at, absolute, atol=0.1)
        heads[tee] = suction.available_head(at * 1e3, 0.0, vapour, density)
    assert heads["hot tank"] < 0.0 < heads["suction"]


def demo_banks(fronts: tuple[str, ...], vents: tuple[str, ...] = (), link: bool = False):
    """The demo loop by its drops: 30 kPa per bank at 75 L/min, outlet K 2 on 25 mm, vent K 16 on 5.6 mm, both to the
    upper hose, rear link K 10 on 10.9 mm, radiator 45 kPa at 150 L/min, pump 140 kPa (1 - (Q/300 L/min)^2)."""
    density = 965.0

    def square(drop: float, flow: float) -> float:
        return drop * 1e3 / (flow / PER_MINUTE) ** 2

    def bore(k: float, diameter: float) -> float:
        return k * density / 2 / (math.pi / 4 * diameter**2) ** 2

    net = NetworkBuilder()
    net.junction("suction", pressure=0.0)
    for name in ("discharge", "left", "right", "upper"):
        net.junction(name)
    net.pump("pump", "suction", "discharge", shutoff=140e3, quadratic=square(140.0, 300.0), density=density)
    for bank in ("left", "right"):
        net.resistance(f"{bank} bank", "discharge", bank, quadratic=square(30.0, 75.0))
    for bank in fronts:
        net.resistance(f"{bank} front", bank, "upper", quadratic=bore(2.0, 0.025))
    for bank in vents:
        net.resistance(f"{bank} vent", bank, "upper", quadratic=bore(16.0, 0.0056))
    if link:
        net.resistance("link", "left", "right", quadratic=bore(10.0, 0.0109))
    net.resistance("radiator", "upper", "suction", quadratic=square(45.0, 150.0))
    return net.solve(density=density, viscosity=3e-4)


def test_good_layout_by_its_drops():
    """Worked example: 165 L/min, even."""
    solution = demo_banks(("left", "right"))
    assert_allclose(solution["pump"] * PER_MINUTE, 165.0, rtol=0.01)
    assert_allclose(solution["left bank"], solution["right bank"], rtol=1e-9)


def test_one_outlet_plugged_by_its_drops():
    """Worked example: 121 L/min in all, 5 by the left bank and 117 by the right, the pump at 117 kPa; and the same by
    one equation for the split: both ways lose the same, w = (k_right/k_left)^0.5."""
    solution = demo_banks(("right",), vents=("left",))
    left, right, total = (solution[name] * PER_MINUTE for name in ("left bank", "right bank", "pump"))
    assert_allclose((left, right, total), (5.0, 117.0, 121.0), rtol=0.05)
    assert_allclose(solution.pressure["discharge"] / 1e3, 117.0, rtol=0.05)

    def loss(k, diameter):
        return k * 965.0 / 2 / (math.pi / 4 * diameter**2) ** 2 / PER_MINUTE**2 / 1e3  # kPa per (L/min)^2

    ways = [30.0 / 75.0**2 + loss(16.0, 0.0056), 30.0 / 75.0**2 + loss(2.0, 0.025)]
    together = sum(way**-0.5 for way in ways) ** -2
    flow = brentq(lambda q: 140.0 * (1.0 - (q / 300.0) ** 2) - (together + 45.0 / 150.0**2) * q**2, 1.0, 300.0)
    assert_allclose((left, right, total), (*(flow * (together / way) ** 0.5 for way in ways), flow), rtol=1e-6)


def test_linked_rears_by_their_drops():
    """Worked example: with the rear outlets joined by dash 8, 22 by the left bank and 110 by the right. 10 %: whether
    K 10 stood for one end of the link or for all of it was not written down (all of it: 24 and 107)."""
    solution = demo_banks(("right",), vents=("left",), link=True)
    assert_allclose(solution["left bank"] * PER_MINUTE, 22.0, rtol=0.10)
    assert_allclose(solution["right bank"] * PER_MINUTE, 110.0, rtol=0.10)


# Gas past the head gasket --------------------------------------------------------------------------------------------


def leaking(data) -> None:
    """One cylinder with an open groove, which leaks at any load."""
    data["head_gasket"] = {"leaks": True, "cylinders": ["left-4"], "gap_rate": 0.0, "groove": 2.5e-7}


def gas_in(history, k: int) -> float:
    """Gas (kg) in all places and dissolved at an instant."""
    layout = history.packed.model.layout
    state = history.states[k]
    return float(state[layout.air : layout.store].sum() + state[layout.dissolved])


def leaked_in(history, k: int) -> float:
    """Permanent combustion gas (kg) that came in so far."""
    return float(history.states[k][history.packed.model.layout.ledger + LEDGERS.index("leak_in")])


@pytest.fixture(scope="module")
def leak_history():
    """One second at rated speed and full load, then the engine off for 30 s; one cylinder leaks."""
    day = day_of(phase(1.0, speed=7500.0, load=1.0), phase(30.0))
    return integrate(pack(edited(example("layout_a"), leaking), day))


def test_leaked_gas_is_the_table_and_all_of_it_is_in_the_circuit(leak_history):
    """Conservation: what came in is what the circuit holds more (cap shut), and it is share times table times time."""
    car = example("layout_a")
    leaky = edited(car, leaking)
    table = leak_table(leaky.head_gasket, leaky.engine)
    rate = np.interp(car.engine.manifold_pressure, *table.T) * car.engine.rated_speed / (4.0 * math.pi)
    expected = 0.75 * rate * 1.0
    assert_allclose(leaked_in(leak_history, -1), expected, rtol=2e-3)  # the tolerance of a step
    held = gas_in(leak_history, -1) - gas_in(leak_history, 0)
    layout = leak_history.packed.model.layout
    for name in ("air_in", "air_out"):
        assert leak_history.states[-1][layout.ledger + LEDGERS.index(name)] == pytest.approx(0.0, abs=1e-9), name
    assert_allclose(held, leaked_in(leak_history, -1), rtol=1e-5)  # the tolerance of a step on 1.5 g of air


def test_leak_stops_with_the_engine_and_does_not_fall_back(leak_history):
    """Common practice, no source: the pressure of a leak stays after shut-off."""
    stopped = int(np.searchsorted(leak_history.times, 1.0, side="right"))
    assert leaked_in(leak_history, stopped) == leaked_in(leak_history, -1) > 1e-4


def test_sound_gasket_lets_nothing_in():
    day = day_of(phase(1.0, speed=7500.0, load=1.0))
    history = integrate(pack(example("layout_a"), day))
    assert leaked_in(history, -1) == 0.0
    assert_allclose(gas_in(history, -1), gas_in(history, 0), rtol=1e-9)


def test_cold_residual_of_leaked_gas():
    """140 mg more gas in 0.5 L at 293 K: +23.5 kPa when all is cold again (ideal gas, computed).

    The level of the whole rigid circuit, engine stopped, the tank filled to 0.5 L below its top.
    """

    def nearly_full(data) -> None:
        rigid(data)
        data["expansion_tank"]["liquid"] = data["expansion_tank"]["volume"] - 0.5e-3

    packed = pack(edited(example("layout_a"), nearly_full), day_of(phase(1.0), start=293.15, sealed=293.15))
    levels = []
    for more in (0.0, 140e-6):
        state = packed.start.copy()
        state[packed.model.layout.air] += more
        work = work_arrays(packed.model)
        assert flows(0.0, state, packed.stretches[0].row(0.0), handle(packed.model), handle(work))
        levels.append(work.level[0])
    assert_allclose((levels[1] - levels[0]) / 1e3, 23.5, rtol=0.01)
