"""Ways of gas and single kernels, each worked out by hand: what no other test held on to when laws were broken.

The car is the shipped layout A (invented data); the formulas stand beside each check.
"""

import math
import sys
from pathlib import Path
from typing import Any

import ht
import numpy as np
import pytest

from sim1d.core import rhs
from sim1d.core.air import gas_places
from sim1d.core.caps import caps
from sim1d.core.coolant import swell, vessel_mass, vessel_mass_slope
from sim1d.core.gauges import gauges
from sim1d.core.radiator import radiators
from sim1d.core.solver import room
from sim1d.day import load_day
from sim1d.examples import example_path
from sim1d.pack import Packed, pack
from sim1d.physics.convection import edwards, hausen
from sim1d.physics.film_boiling import berenson_coefficient
from sim1d.physics.saturation import steam_per_heat

from .cars import car_with

sys.path.insert(0, str(Path(__file__).parents[1]))

# the folder of the tests is on the path only now
from reference.bench import DENSITY, PRESSURE, WARM, Bench, plain_way, pockets, stacked  # noqa: E402

GRAVITY = 9.80665
LITRE = 1e-3


# Gas -----------------------------------------------------------------------------------------------------------------


def packed(**changes: dict[str, Any]) -> Packed:
    """Tables of layout A with other values, on the example day."""
    return pack(car_with(**changes), load_day(example_path("race_day")))


@pytest.fixture(scope="module")
def car() -> Packed:
    """Layout A as it is shipped, with 30 mL of air left in one head."""
    return pack(car_with(), load_day(example_path("race_day")), trapped_air={"engine.left-4.head": 30e-6})


def test_gas_of_the_tank_when_it_was_sealed(car):
    """1.3 L of moist air: (p - p_v) V/(R T)."""
    day = load_day(example_path("race_day"))
    vapour = float(np.interp(day.sealed_at, car.model.liquid.temperature, car.model.liquid.vapour_pressure))
    dry = (day.ambient_pressure - vapour) * 1.3 * LITRE / (287.05 * day.sealed_at)
    assert car.model.pocket.air[0] == pytest.approx(dry)


def test_air_that_the_fill_left_is_held_where_it_stands(car):
    """30 mL in a head: as much is held above every way out, and none elsewhere."""
    held = dict(zip((car.points[node] for node in car.model.pocket.node), car.model.pocket.held, strict=True))
    assert held.pop("engine.left-4.head") == pytest.approx(30e-6)
    assert not any(held.values())


def way(found: Packed, line: str):
    """The ways of gas of a line."""
    branch = found.line_branch[found.lines.index(line)]
    return [row for row in found.model.air_way if row.branch == branch]


def test_bubbles_rise_to_the_higher_end(car):
    """Every way that bubbles rise along leads up, and they rise from the radiator back up the upper hose."""
    node = car.model.node
    for row in car.model.air_way:
        if row.rise != 0.0 and row.b != 0:
            climbs = node.z[car.model.pocket.node[row.b]] - node.z[car.model.pocket.node[row.a]]
            assert climbs * row.rise > 0.0
    (upper,) = way(car, "upper")
    assert upper.rise != 0.0


def test_a_sag_holds_bubbles_back():
    """A hose that dips below both of its ends keeps standing coolant there; straight up it lets them through."""
    (straight,) = way(packed(), "lower")
    (sagging,) = way(packed(lines={"lower": {"low_z": 0.15, "length": 1.4}}), "lower")
    assert straight.rise != 0.0 == sagging.rise


def test_the_way_down_asks_for_a_speed(car):
    """Down the upper hose the flow must be faster than the published clearing speed times 1.1.

    sqrt(g D) (0.56 sqrt(sin slope) + 0.61) for a long pocket (Escarameia 2005, form read, coefficients recalled).
    """
    (upper,) = way(car, "upper")
    node, pocket = car.model.node, car.model.pocket.node
    drop = node.z[pocket[upper.a]] - node.z[pocket[upper.b]]
    assert drop > 0.0
    speed = 1.1 * math.sqrt(GRAVITY * 0.038) * (0.56 * math.sqrt(drop / 0.70) + 0.61)
    assert upper.down_ab == pytest.approx(speed, rel=1e-6)
    assert upper.down_ba < upper.down_ab


def test_the_way_up_asks_for_none(car):
    """Gas goes up by itself: from the radiator back up the upper hose any flow takes it along (model.md, section 6)."""
    (upper,) = way(car, "upper")
    assert upper.down_ba == 0.0


def test_a_share_of_the_leaked_gas_stays_gas():
    """0.75 of it (recalled: 13 % water condenses, 12 % carbon dioxide dissolves in part)."""
    leak = packed(head_gasket={"leaks": True, "cylinders": ["left-3"]}).model.leak
    assert list(leak.share) == [0.75]


# Kernels -------------------------------------------------------------------------------------------------------------


def test_steam_that_the_flow_feels_is_that_of_its_own_place():
    """Steam in one head of the right bank, which the flow does not feel yet: it comes within 0.1 s, there alone."""
    bench = Bench("layout_a")
    place = bench.packed.points.index("engine.right-3.head")
    bench.work.void[:] = 0.0
    bench.work.void[place] = 0.4
    rate = np.zeros(bench.layout.size)
    rhs.divide(bench.state, *bench.handles, rate)
    lagged = dict(zip(bench.model.lag.node.tolist(), rate[bench.layout.lag : bench.layout.metal], strict=True))
    assert lagged.pop(place) == pytest.approx(0.4 / 0.1)
    assert not any(lagged.values())


def test_steam_round_a_thermometer_slows_it():
    """By the share that is steam, as gas does: half of it dry, half as fast."""
    bench = Bench("layout_a")
    sensor = next(k for k, row in enumerate(bench.model.sensor) if row.pressure == 0)
    row = bench.model.sensor[sensor]
    bench.work.void[row.node] = 0.5
    rate = np.zeros(bench.layout.size)
    rhs.thermometers(*bench.handles, bench.state, rate)
    assert rate[bench.layout.sensor + sensor] == pytest.approx(0.5 * WARM / row.time_constant)


def test_column_under_a_sensor_weighs_what_its_mixture_weighs():
    """Half steam: 10 cm of it are half the weight."""
    here = Bench("layout_a").model
    table = here.sensor.copy()
    table.z[0] = here.node.z[table.node[0]] - 0.1
    bench = Bench("layout_a", sensor=table)
    bench.work.mixture[table.node[0]] = 0.5 * DENSITY
    bench.work.absolute[table.node[0]] = PRESSURE
    rate = np.zeros(bench.layout.size)
    rhs.pressure_sensors(*bench.handles, bench.state, 0.0, rate)
    shown = rate[bench.layout.sensor] * table.time_constant[0] + bench.system.ambient_pressure
    assert shown == pytest.approx(PRESSURE + 0.5 * DENSITY * GRAVITY * 0.1)


def test_cut_follows_the_sensor_it_is_told_to():
    """Its filter behind the fourth sensor, in the right-hand side and over a step, where it trails a still reading by
    exp(-h/T)."""
    table = Bench("layout_a").model.cut.copy()
    table.sensor[0] = 3
    bench = Bench("layout_a", cut=table)
    at, own = bench.layout.sensor, bench.layout.cut
    bench.state[at:own] = 310.0 + 10.0 * np.arange(own - at)
    rate = np.zeros(bench.layout.size)
    rhs.thermometers(*bench.handles, bench.state, rate)
    assert rate[own] == pytest.approx(340.0 / table["filter"][0])
    space = room(bench.model, bench.packed.pattern, np.ones(bench.layout.size))
    space.arrays.trial[:] = bench.state
    gauges(bench.state, 0.02, *bench.handles, space.step)
    assert space.arrays.trial[own] == pytest.approx(340.0 * (1.0 - math.exp(-0.02 / table["filter"][0])))


def test_as_much_flows_through_a_place_as_into_it():
    """One way in, one way out, 12 L/min: the speed that clears its dome is that of 12 L/min."""
    bench = Bench(pocket=pockets(), air_way=stacked(plain_way(3, 1, 0), plain_way(1, 2, 1)))
    bench.flow(0, 2e-4)
    bench.flow(1, 2e-4)
    gas_places(*bench.handles, bench.state)
    assert bench.work.through[1] == pytest.approx(2e-4)


def test_coolant_that_leaves_at_the_radiator_takes_its_own_heat_along():
    """Under a cap away from the tank the place stays full: as much comes from the tank, and what is gone from both
    together is what was carried out, at the enthalpy of the place (conservation of energy)."""
    table = Bench("layout_a").model.cap.copy()
    place = Bench("layout_a").packed.points.index("radiator.inlet")
    table.node = place
    table.pocket = list(Bench("layout_a").model.pocket.node).index(place)
    bench = Bench("layout_a", cap=table)
    vessel = bench.system.vessel
    bench.press(bench.system.ambient_pressure + table.opening[0] + table.ramp[0])
    bench.state[bench.layout.lift] = 1.0
    bench.work.power[:] = 0.0
    bench.work.enthalpy[:], bench.work.enthalpy[vessel] = 3.8e5, 1.2e5
    rate = np.zeros(bench.layout.size)
    carried = caps(*bench.handles, bench.state, rate)
    out = -rate[bench.layout.store]
    assert out > 0.1  # kg/s of liquid: there is no gas under it
    assert carried == pytest.approx(out * 3.8e5)
    assert bench.work.power[vessel] == pytest.approx(-out * 1.2e5)
    assert bench.work.power[place] == pytest.approx(out * (1.2e5 - 3.8e5))


def test_a_failed_fan_moves_no_air():
    """Switched on, in a standing car: the core loses what it loses in still air."""
    bench = Bench("still fan")
    bench.state[bench.layout.metal : bench.layout.dry] = WARM
    heat = radiators(*bench.handles, bench.state, 0.0, 1.0)
    still = bench.model.radiator.still[0] * (WARM - bench.system.ambient_temperature)
    assert still > 20.0  # W
    assert heat == pytest.approx(still)


def test_steam_takes_the_place_of_its_liquid():
    """A kilogram of half the density for 2 MJ: 2 L come, 1 L goes."""
    assert steam_per_heat(2e6, 1000.0, 500.0) == pytest.approx(1e-3 / 2e6)


def test_heat_makes_liquid_swell():
    """1 kW into one lump: beta/(rho cp) = -(d rho/dT)/(rho^2 dh/dT) times 1 kW, from the rows of the table."""
    bench = Bench("layout_a")
    place, table = bench.packed.points.index("engine.left-2.head"), bench.model.liquid
    row = int(np.searchsorted(table.temperature, WARM)) - 1
    bench.work.grid[:], bench.work.void[:], bench.work.power[:] = row, 0.0, 0.0
    bench.work.power[place] = 1e3
    expected = -(table.density[row + 1] - table.density[row]) / (table.enthalpy[row + 1] - table.enthalpy[row])
    found = swell(*bench.handles)
    assert found == pytest.approx(1e3 * expected / DENSITY**2)
    assert 0.1e-6 < found < 0.2e-6  # 0.12 mL/kJ for water at 57 degC (beta 5.0e-4 1/K, recalled)


@pytest.mark.parametrize("share", [-0.5, -0.7, -0.9, -1.1])
def test_slope_of_the_vessels_mass(share):
    """The slope is that of the mass, also where it rounds towards its floor (share of the lump that is lost)."""
    bench = Bench("layout_a")
    mass = bench.model.node[bench.system.vessel].mass
    low, high = (vessel_mass(bench.handles[0], (share + off) * mass) for off in (-1e-4, 1e-4))
    slope = vessel_mass_slope(bench.handles[0], share * mass)
    assert slope == pytest.approx((high - low) / (2e-4 * mass), abs=1e-9)


def test_superheated_vapour_carries_more_heat():
    """The film coefficient goes with (hfg + cp_v dT/2)^(1/4) (Berenson 1961, recalled): 2 MJ/kg and 200 K of 2 kJ/(kg
    K) are 2.2 MJ/kg."""
    bare, full = (berenson_coefficient(200.0, 950.0, 1.2, 2e6, 0.058, 0.03, 1.6e-5, cp) for cp in (0.0, 2e3))
    assert (full / bare) ** 4 == pytest.approx(1.1)


@pytest.mark.parametrize("reynolds", [20.0, 200.0, 2000.0])
def test_laminar_entry_of_a_pipe_is_that_of_the_library(reynolds):
    """A pipe of 10 mm, 0.3 m long, Prandtl number 3."""
    library = ht.conv_internal.laminar_entry_thermal_Hausen(Re=reynolds, Pr=3.0, L=0.3, Di=0.01)
    assert hausen(reynolds * 3.0 * 0.01 / 0.3) == pytest.approx(library, rel=1e-12)


@pytest.mark.parametrize(("graetz", "nusselt"), [(8.0, 7.54 + 0.24 / 1.064), (1000.0, 7.54 + 30.0 / 2.6)])
def test_laminar_entry_between_plates_by_hand(graetz, nusselt):
    """Whole cube roots: 2 and 10."""
    assert edwards(graetz) == pytest.approx(nusselt, rel=1e-12)
