"""Gas in the circuit against closed forms, each worked out beside its check.

Few places and ways of known size stand on a bench; flow, temperature and pressure are set by hand, so that every answer
is a formula of one line.
"""

import math
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp

from sim1d.core import air, rhs
from sim1d.core.books import sums
from sim1d.core.handle import handle
from sim1d.core.model import LEDGERS, work_arrays
from sim1d.physics.dissolved_air import air_solubility
from sim1d.simulation import integrate

sys.path.insert(0, str(Path(__file__).parents[1]))

from reference.bench import (  # noqa: E402  (the folder of the tests is on the path only now)
    AMBIENT,
    GRAVITY,
    PRESSURE,
    WARM,
    Bench,
    plain_way,
    pockets,
    smooth,
    stacked,
    volumes,
)
from reference.cars import packed  # noqa: E402
from reference.states import STATES  # noqa: E402

# Transport ----------------------------------------------------------------------------------------------------------


Q = 2e-4  # m3/s: 12 L/min


@pytest.mark.parametrize("car", ["layout_a", "layout_c", "leaking", "weighted", "tilting"])
@pytest.mark.parametrize("name", ["bubbles", "rising", "uncovered", "cap_gas", "vacuum", "gassy"])
def test_gas_is_conserved(car, name):
    """All places together gain what leaked in, was drawn in and came out of solution, less what was vented."""
    here = packed(car)
    state, phase, time = STATES[name](here)
    rate = np.empty(here.model.layout.size)
    assert rhs.derivative(time, state, phase, handle(here.model), handle(work_arrays(here.model)), rate)
    layout = here.model.layout
    gained = rate[layout.air : layout.store]
    ledger = dict(zip(LEDGERS, rate[layout.ledger :], strict=True))
    passed = ledger["leak_in"] + ledger["air_in"] - ledger["air_out"] - rate[layout.dissolved]
    assert np.abs(gained).max() > 0.0
    assert gained.sum() == pytest.approx(passed, rel=1e-12, abs=1e-14 * np.abs(gained).sum())  # round-off of the sum


def test_bubble_stays_volume_over_flow_in_every_place():
    """A trace of gas through a chain of mixed places: the first empties as exp(-Q t/V); mean and variance of the time
    of arrival at the end are sum V/Q and sum (V/Q)^2 (tanks in series; Levenspiel, Chemical Reaction Engineering,
    recalled).
    """
    chain = [2, 5, 9, 12, 30, 31]
    ways = [plain_way(a, b, a) for a, b in zip(chain, chain[1:], strict=False)]
    bench = Bench(pocket=pockets(), air_way=stacked(*ways))
    for a in chain[:-1]:
        bench.flow(a, Q)
    size = volumes(bench)[chain[:-1]]
    stay = size / Q
    start = np.zeros(len(bench.model.pocket))
    start[chain[0]] = 1e-9
    times = np.linspace(0.0, 20.0 * stay.sum(), 4001)
    held = bench.run(start, *times)
    np.testing.assert_allclose(held[:400, chain[0]], 1e-9 * np.exp(-times[:400] / stay[0]), rtol=1e-6, atol=1e-15)
    arrived = held[:, chain[-1]] / 1e-9
    assert arrived[-1] == pytest.approx(1.0, abs=1e-6)
    mean = np.trapezoid(1.0 - arrived, times)
    square = np.trapezoid(2.0 * times * (1.0 - arrived), times)
    assert mean == pytest.approx(stay.sum(), rel=1e-4)
    assert square - mean**2 == pytest.approx((stay**2).sum(), rel=1e-3)


def test_gas_in_a_loop_comes_to_one_share():
    """Round a closed loop for long the same share of gas stands everywhere, and none is lost."""
    loop = [1, 2, 4, 29]
    ways = [plain_way(a, b, a) for a, b in zip(loop, [*loop[1:], 1], strict=True)]
    bench = Bench(pocket=pockets(), air_way=stacked(*ways))
    for a in loop:
        bench.flow(a, Q)
    start = np.zeros(len(bench.model.pocket))
    start[2] = 2e-5
    end = bench.run(start, 100.0 * volumes(bench)[loop].sum() / Q)[-1]
    assert end.sum() == pytest.approx(2e-5, rel=1e-9)
    np.testing.assert_allclose(end[loop] / volumes(bench)[loop], 2e-5 / volumes(bench)[loop].sum(), rtol=1e-6)


def test_flow_leads_gas_whichever_way_it_runs():
    """Reversed flow takes it back: the same place, the same rate."""
    bench = Bench(pocket=pockets(), air_way=plain_way(1, 2, 0))
    bench.state[bench.layout.air + 1] = bench.state[bench.layout.air + 2] = 1e-5
    rates = []
    for q in (Q, -Q):
        bench.flow(0, q)
        rates.append(bench.ways()[[1, 2]])
    share = 1e-5 / bench.gas_density / volumes(bench)[[1, 2]]
    np.testing.assert_allclose(rates[0], Q * share[0] * bench.gas_density * np.array([-1, 1]), rtol=1e-6)
    np.testing.assert_allclose(rates[1], Q * share[1] * bench.gas_density * np.array([1, -1]), rtol=1e-6)


@pytest.mark.parametrize("held", [0.0, 5e-5])
@pytest.mark.parametrize("mass", [1e-17, 1e-30, 1e-310, 5e-324])
def test_a_trace_however_small_leaves_as_its_share_of_the_flow(mass, held):
    """Q/V of what is there, of the smallest number that a computer has as well; a dome holds its first trace."""
    bench = Bench(pocket=pockets(held=held, area=1e-3, clears=1.0), air_way=plain_way(1, 2, 0, spill=1e-4))
    bench.flow(0, Q)
    bench.state[bench.layout.air + 1] = mass
    gone = -bench.ways()[1]
    assert 0.0 <= gone <= Q / volumes(bench)[1] * mass * (1.0 + 1e-9)
    if held == 0.0 and mass > 1e-300:
        assert gone == pytest.approx(Q / volumes(bench)[1] * mass, rel=1e-9)


@pytest.mark.parametrize(("over", "passes"), [(0.75, 0.0), (0.9, smooth(0.25)), (1.0, 0.5), (1.3, 1.0)])
def test_way_down_asks_for_a_speed(over, passes):
    """Below 0.8 of the clearing speed nothing goes down, above 1.2 all of it, half of it at that speed."""
    bench = Bench(pocket=pockets(), air_way=plain_way(1, 2, 0, down_ab=0.4))
    bench.flow(0, over * 0.4 * 1e-3)
    bench.state[bench.layout.air + 1] = 1e-6
    gone = -bench.ways()[1] / bench.gas_density
    share = 1e-6 / bench.gas_density / volumes(bench)[1]
    assert gone == pytest.approx(passes * share * over * 0.4e-3, rel=1e-6)


@pytest.mark.parametrize(("over", "held"), [(0.7, 1.0), (1.0, 0.5), (1.3, 0.0)])
def test_dome_holds_its_gas_below_its_clearing_speed(over, held):
    """After twenty turns of its volume a place with a dome of 50 mL holds all of it, half of it, or none."""
    dome, area, clears = 5e-5, 2e-3, 0.3
    bench = Bench(
        pocket=pockets(held=dome, area=area, clears=clears), air_way=stacked(plain_way(3, 1, 0), plain_way(1, 2, 1))
    )
    q = over * clears * area
    bench.flow(0, q)
    bench.flow(1, q)
    full = dome * bench.gas_density
    start = np.zeros(len(bench.model.pocket))
    start[1] = full
    end = bench.run(start, 20.0 * volumes(bench)[1] / q)[-1]
    # the corner of what is free is rounded over 0.1 mL
    assert end[1] == pytest.approx(held * full, abs=3e-7 * bench.gas_density)
    assert end.sum() == pytest.approx(full, rel=1e-9)


def test_bubbles_rise_through_standing_coolant():
    """exp(-rise t/V) out of the lower place; what arrives stays, and none comes down again."""
    rise = 1e-5
    bench = Bench(pocket=pockets(), air_way=plain_way(1, 2, 0, rise=rise))
    start = np.zeros(len(bench.model.pocket))
    start[1] = 1e-9  # a trace: the upper place stays open
    stay = volumes(bench)[1] / rise
    end = bench.run(start, stay, 2 * stay)
    np.testing.assert_allclose(end[:, 1], 1e-9 * np.exp([-1.0, -2.0]), rtol=1e-5)
    np.testing.assert_allclose(end.sum(axis=1), 1e-9, rtol=1e-9)


def test_full_place_takes_no_more_bubbles():
    """Where gas stands already there is no liquid to change places with; a place that is full pushes gas out."""
    bench = Bench(pocket=pockets(), air_way=plain_way(1, 2, 0, rise=1e-5, spill=1e-4))
    full = volumes(bench) * bench.gas_density
    bench.state[bench.layout.air + 1] = 0.5 * full[1]
    bench.state[bench.layout.air + 2] = full[2]
    assert bench.ways()[1] == pytest.approx(1e-4 * air.PUSH * bench.gas_density, rel=1e-6)
    bench.state[bench.layout.air + 2] = 0.75 * full[2]
    risen = 1e-5 * 0.5 * 0.25 - 1e-4 * air.PUSH * 0.75**32
    assert bench.ways()[1] == pytest.approx(-risen * bench.gas_density, rel=1e-6)


def test_push_of_a_place_by_its_gas_share():
    """Hardly any below nine tenths (0.2 times 0.9^32: 0.7 percent), a fifth when full, and straight on from there."""
    assert air.pushed_out(0.9)[0] < 0.035 * air.PUSH
    assert air.pushed_out(0.8)[0] < 1e-3 * air.PUSH
    assert air.pushed_out(1.0)[0] == pytest.approx(air.PUSH)
    assert air.pushed_out(1.25)[0] == pytest.approx(air.PUSH * (1.0 + 32.0 / 4.0))
    for share in (0.5, 0.8, 0.93, 1.0 - 1e-6, 1.0 + 1e-6, 1.2):
        less, more = air.pushed_out(share - 1e-7)[0], air.pushed_out(share + 1e-7)[0]
        assert air.pushed_out(share)[1] == pytest.approx((more - less) / 2e-7, rel=1e-5, abs=1e-12)


def test_gas_squeezed_into_a_place_leaves_the_faster():
    """A place with a quarter more gas than it has room pushes at nine times the pace, but its flow takes it as full."""
    bench = Bench(pocket=pockets(), air_way=plain_way(1, 2, 0, spill=1e-4))
    full = volumes(bench)[1] * bench.gas_density
    gone = []
    for share in (1.0, 1.25):
        bench.state[bench.layout.air + 1] = share * full
        gone.append(-bench.ways()[1] / bench.gas_density)
    np.testing.assert_allclose(gone, 1e-4 * air.PUSH * np.array([1.0, 9.0]), rtol=1e-6)
    bench.flow(0, Q)
    pushed = gone[1]
    assert -bench.ways()[1] / bench.gas_density == pytest.approx(pushed + Q, rel=1e-6)

# The tank -----------------------------------------------------------------------------------------------------------

BORE, BASE, MIDDLE, LENGTH, HEIGHT = 0.019, 0.85, 0.96, 0.2, 0.2


def bare(x: float, surface: float, acceleration: float) -> float:
    """Share of an opening in the floor at `x` that stands in gas."""
    system = packed("layout_a").model.system.copy()
    system.tank_x, system.tank_length, system.tank_base, system.tank_height = MIDDLE, LENGTH, BASE, HEIGHT
    bench = Bench("layout_a", system=system)
    return air.uncovered(bench.handles[0], plain_way(1, 0, 0, x=x, z=BASE, bore=BORE)[0], surface, acceleration)


@pytest.mark.parametrize("away", [0.02, 0.05, 0.08])
def test_surface_tilts_by_45_degrees_at_one_g(away):
    """tan(tilt) = a/g: at 1 g the surface over an opening that far ahead of the middle sinks by just as much, and the
    opening is half bare where half a bore of liquid is left; behind the middle it rises. Braking is the mirror image.
    """
    level = BASE + away + 0.5 * BORE
    assert bare(MIDDLE - away, level, GRAVITY) == pytest.approx(0.5, abs=1e-9)
    assert bare(MIDDLE + away, level, -GRAVITY) == pytest.approx(0.5, abs=1e-9)
    assert bare(MIDDLE + away, level, GRAVITY) == bare(MIDDLE - away, level, -GRAVITY) == 0.0
    assert bare(MIDDLE - away, level, 0.0) == bare(MIDDLE, level, 3 * GRAVITY) == 0.0
    # where the wedge has run out of liquid
    assert bare(MIDDLE - away, level, 3 * GRAVITY) == 1.0


def test_level_tank_uncovers_its_opening_by_its_bore():
    """Bare when empty, covered under one bore of liquid, a cubic step between."""
    for depth in (0.0, 0.25, 0.5, 0.8, 1.0, 3.0):
        assert bare(MIDDLE, BASE + depth * BORE, 0.0) == pytest.approx(1.0 - smooth(depth), abs=1e-12)


def test_launch_draws_gas_into_a_forward_port():
    """The whole right-hand side: a lower port 40 mm ahead of the middle takes gas in at launch, none when braking."""
    here = packed("tilting")
    state, launch, time = STATES["uncovered"](here)
    work, rate = work_arrays(here.model), np.empty(here.model.layout.size)
    (way,) = (row for row in here.model.air_way if row.b == 0 and row.z < 0.9)
    found = {}
    for name, share in (("launch", 1.0), ("level", 0.0), ("braking", -1.0)):
        phase = launch.copy()
        phase["acceleration"] = share * np.array([30.0, 30.0])
        assert rhs.derivative(time, state, phase, handle(here.model), handle(work), rate)
        found[name] = rate[here.model.layout.air + way.a], work.flow[way.branch]
    assert found["launch"][1] < 0.0  # out of the tank
    assert found["launch"][0] > 1e-6 > 100 * abs(found["level"][0])
    assert abs(found["braking"][0]) < 1e-8


def test_displacement_follows_what_gas_and_steam_take():
    """dD/dt = (taken - D)/0.1 s: places outside the tank, steam, less the growth of the walls."""
    bench = Bench("layout_a")
    rng = np.random.default_rng(1)
    bench.work.void[:] = rng.uniform(0.0, 0.2, len(bench.work.void))
    bench.work.pocket_volume[:] = rng.uniform(0.0, 1e-4, len(bench.work.pocket_volume))
    node = bench.model.node
    taken = (bench.work.void * node.volume).sum() + bench.work.pocket_volume[1:].sum()
    taken -= (node.compliance * (PRESSURE - node.filled)).sum()
    at = bench.layout.displaced

    def rate(time: float, displaced: np.ndarray) -> np.ndarray:
        bench.state[at], out = displaced[0], np.zeros(bench.layout.size)
        air.displacement(*bench.handles, bench.state, out)
        return out[at : at + 1]

    answer = solve_ivp(rate, (0.0, 0.3), [0.0], t_eval=[0.1, 0.3], rtol=1e-10, atol=1e-16)
    np.testing.assert_allclose(answer.y[0], taken * (1.0 - np.exp([-1.0, -3.0])), rtol=1e-6)


# Dissolved air ------------------------------------------------------------------------------------------------------

# mL of air at 0 degC and 1 atm that a litre of water dissolves under 1 atm of air: handbook table (recalled)
TABLE = ((0.0, 29.2), (20.0, 18.7), (40.0, 14.2), (60.0, 12.2), (80.0, 11.3), (100.0, 11.1))


@pytest.mark.parametrize(("celsius", "millilitres"), TABLE, ids=[f"handbook, {t:.0f} degC, recalled" for t, _ in TABLE])
def test_solubility_of_the_handbook(celsius, millilitres):
    kilograms = millilitres * 1e-3 * 1.2929
    assert air_solubility(273.15 + celsius, AMBIENT) == pytest.approx(kilograms, rel=0.03)
    assert air_solubility(273.15 + celsius, 3 * AMBIENT) == pytest.approx(3 * air_solubility(273.15 + celsius, AMBIENT))


def test_solubility_of_its_two_gases():
    """Henry's constants of nitrogen and oxygen in water at 298 K, 6.4e-4 and 1.3e-3 mol/(kg bar) (recalled; good to
    5 %), each at its share of 1 atm of dry air."""
    nitrogen, oxygen = 0.79 * 6.4e-4 * 28.013e-3, 0.21 * 1.3e-3 * 31.999e-3  # kg/(kg bar)
    expected = (nitrogen + oxygen) * 1.01325 * PropsSI("D", "T", 298.15, "P", AMBIENT, "Water")
    assert air_solubility(298.15, AMBIENT) == pytest.approx(expected, rel=0.05)


def dissolving(bench: Bench, start: float, seconds: float) -> tuple[float, np.ndarray]:
    """Concentration (kg/m3) after a time at fixed temperature and pressure, and the gas of all places (kg)."""
    gas, dissolved = slice(bench.layout.air, bench.layout.store), bench.layout.dissolved
    first = bench.state.copy()
    first[dissolved] = start * bench.system.circuit_volume

    def rate(time: float, state: np.ndarray) -> np.ndarray:
        out = np.zeros_like(state)
        air.gas_places(*bench.handles, state)
        air.solution(*bench.handles, state, out)
        return out

    answer = solve_ivp(rate, (0.0, seconds), first, method="LSODA", rtol=1e-8, atol=1e-13)
    end = answer.y[:, -1]
    assert end[gas].sum() + end[dissolved] == pytest.approx(first[gas].sum() + first[dissolved], rel=1e-9)
    return end[dissolved] / bench.system.circuit_volume, end[gas]


def test_coolant_comes_to_its_solubility_from_both_sides():
    """Degassed and supersaturated coolant under the gas of a tank end at Henry's concentration."""
    equal = air_solubility(WARM, PRESSURE - 17e3)
    for start in (0.2 * equal, 2.0 * equal):
        bench = Bench("layout_a")
        bench.state[bench.layout.air] = 1.9e-3
        end, _ = dissolving(bench, start, 10 * bench.system.circuit_volume / (2e-5 * 0.01))  # ten times V/(k A)
        assert end == pytest.approx(equal, abs=1e-4)  # kg/m3, the width of the rounded corner


def test_supersaturated_coolant_gives_air_off_in_half_an_hour():
    """All places see the same excess: it dies away as exp(-t/T), T = 1800 s for the whole coolant."""
    equal = air_solubility(WARM, PRESSURE - 17e3)
    bench = Bench("layout_c")
    time = 1800.0
    end, gas = dissolving(bench, 3.0 * equal, time)
    assert end - equal == pytest.approx(2.0 * equal * math.exp(-1.0), rel=1e-3)
    np.testing.assert_allclose(gas / gas.sum(), volumes(bench) / volumes(bench).sum(), rtol=1e-6)


def test_degassed_coolant_takes_air_through_the_surface_it_touches():
    """(c_s - c) k A/V: 2e-5 m/s through the tank's 100 cm2, and through V^(2/3) of a bubble of 8 mL, 4 cm2."""
    equal = air_solubility(WARM, PRESSURE - 17e3)
    for car, place, size, surface in (("layout_a", 0, 1.3e-3, 0.01), ("layout_c", 5, 8e-6, 4e-4)):
        bench = Bench(car)
        bench.state[bench.layout.air + place] = size * bench.gas_density
        out = np.zeros(bench.layout.size)
        air.gas_places(*bench.handles, bench.state)
        air.solution(*bench.handles, bench.state, out)
        assert out[bench.layout.dissolved] == pytest.approx(equal * 2e-5 * surface, rel=1e-6)
        assert out[bench.layout.air + place] == -out[bench.layout.dissolved]


# Together -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("car", "name"), [("leaking", "gassy"), ("layout_c", "rising"), ("weighted", "drawing")])
def test_stepper_keeps_the_gas(car, name):
    """Two seconds of the day from such a state: gas, coolant and energy are there or in a ledger, to round-off."""
    here = packed(car)
    state, phase, _ = STATES[name](here)
    running = next(s for s in here.stretches if (s.speed[0] > 0.0) == bool(phase.speed[0] > 0.0))
    history = integrate(replace(here, stretches=(replace(running, duration=2.0, until=None),)), start=state)
    assert history.times[-1] == 2.0 and history.steps > 3
    layout = here.model.layout
    model = handle(here.model)
    closing = [layout.ledger + LEDGERS.index(term) for term in ("ambient_heat", "coolant_out", "air_out")]
    books = np.array([np.array(sums(model, state)) + state[closing] for state in history.states])
    weight = here.model.node.mass.copy()
    weight[here.model.system[0].vessel] = 1.0  # its state is its heat
    heat = weight @ history.states[0][: layout.lag]
    largest = [heat, here.coolant_filled, history.states[0][layout.air : layout.store].sum()]
    assert np.max(np.abs(books - books[0]) / largest) < 1e-11
    moved = history.states[-1][layout.air : layout.store] - history.states[0][layout.air : layout.store]
    assert np.abs(moved).max() > 1e-7
