"""What a car holds is declared once: lumps of the simulation, `Car.volume` and cavities of the static fill agree."""

import math

import numpy as np
import pytest

from sim1d.build import Build
from sim1d.car import build_car, load_car
from sim1d.circuit import circuit_of
from sim1d.day import Day
from sim1d.examples import example_path
from sim1d.fill import hanging_gas
from sim1d.pack import build_rows, nodes_of, pack
from sim1d.static_fill import Reason, static_fill

ROUND_OFF = 1e-14  # m3: sums of some seventy volumes of up to 2 L
LAYOUTS = ("layout_a", "layout_b", "layout_c")
RESIDUE = 98e3  # Pa below ambient: leaves layout C so little gas that no lump is emptied of coolant by it


def with_every_housing():
    """Layout A with a thermostat and its bypass, a heater, and a crossover in place of the front outlets."""
    data = load_car(example_path("layout_a")).to_file()
    data["engine"]["intake_crossover"] = {"throat": "32 mm"}
    for name in ("left_outlet", "right_outlet"):
        del data["lines"][name]
    for name in ("head_pressure", "gauge"):
        data["sensors"][name]["at"] = "engine.crossover"
    data["thermostat"] = {"x": 0.0, "z": 0.72, "bypass_bore": "16 mm"}
    data["heater"] = {"x": 0.9, "z": 0.70}
    data["lines"] |= {
        "cross": {"from": "engine.crossover", "to": "thermostat.inlet", "bore": "32 mm"},
        "warm": {"from": "thermostat.outlet", "to": "outlet_y", "bore": "32 mm"},
        "bypass": {"from": "thermostat.bypass", "to": "pump.suction", "bore": "16 mm", "length": 0.5},
        "heater_feed": {"from": "engine.right.rear", "to": "heater.inlet", "bore": 0.016, "length": 0.5},
        "heater_return": {"from": "heater.outlet", "to": "pump.suction", "bore": 0.016, "length": 1.5},
    }
    return build_car(data)


def cars():
    return {name: load_car(example_path(name)) for name in LAYOUTS} | {"every housing": with_every_housing()}


CARS = cars()
COLD = 293.15
DAY = Day.model_validate(  # no phase of it waits for a place that only one of the cars has
    dict(
        ambient_temperature=COLD, start_temperature=COLD, sealed_temperature=COLD,
        staging_window=dict(least=COLD, most=COLD + 50.0),
        phases=[dict(name="stand", round=1, role="soak", duration=1.0, speed=0.0)],
    )
)  # fmt: skip


def inside(car):
    """Coolant and the tank's gas, m3."""
    return car.volume + (car.expansion_tank.gas if car.expansion_tank is not None else 0.0)


@pytest.mark.parametrize("name", CARS)
@pytest.mark.parametrize("cells", [6, 2, 24])
def test_lumps_hold_what_the_car_holds(name, cells):
    """Liquid and gas, whatever the cells of a line: nothing is added where branches meet."""
    car = CARS[name]
    model = pack(car, DAY, cells_per_line=cells).model
    assert np.sum(model.node.volume) + model.system[0].tank_volume == pytest.approx(inside(car), abs=ROUND_OFF)
    assert model.system[0].circuit_volume == pytest.approx(car.volume, abs=ROUND_OFF)
    assert np.min(model.node.volume) > 0.0


@pytest.mark.parametrize("name", CARS)
def test_cavities_of_the_fill_hold_what_the_car_holds(name):
    car = CARS[name]
    assert sum(cavity.volume for cavity in circuit_of(car).cavities) == pytest.approx(inside(car), abs=ROUND_OFF)
    fill = static_fill(car)
    assert fill.capacity == car.volume
    assert sum(cavity.liquid + cavity.gas for cavity in fill.cavities) == pytest.approx(inside(car), abs=ROUND_OFF)


@pytest.mark.parametrize("name", CARS)
def test_parts_hold_as_much_in_the_lumps_as_in_the_cavities(name):
    """Place by place: castings, pumps, housings, tees and the crossover."""
    car = CARS[name]
    lumps = {name: row["volume"] for name, row in build_rows(car).junctions.items()}
    circuit = circuit_of(car)
    for name in car.engine.cylinders:
        lumps[f"engine.{name}.head"] += lumps[f"engine.{name}.gallery"]
    places = (set(car.cavities) & set(circuit.index) & set(lumps)) - {"expansion_tank"}  # its lump is the wet bottom
    assert {"pump.suction", "pump.discharge", "outlet_y", "engine.left-1.head"} <= places
    for place in places:
        held = circuit.cavities[circuit.index[place]].volume
        assert lumps[place] == pytest.approx(held, abs=ROUND_OFF)
        assert car.room(place) == pytest.approx(held, abs=ROUND_OFF)


@pytest.mark.parametrize(("name", "vacuum"), [("layout_a", 0.0), ("layout_b", 0.0), ("layout_c", RESIDUE)])
def test_cold_coolant_is_what_the_fill_took(name, vacuum):
    """Mass of the packed car over that of the static fill, with the gas that it left in place: water at 20 degC,
    998.21 kg/m3 at 1 atm (IAPWS-95), a twentieth of a kg/m3 more at the pressure of the tables."""
    car = CARS[name]
    fill = static_fill(car, vacuum=vacuum)
    gas = {}
    for cavity in fill.cavities:
        if cavity.reason is not Reason.TANK_GAS and cavity.gas > 0.0:
            gas[cavity.place] = gas.get(cavity.place, 0.0) + cavity.gas
    packed = pack(car, DAY, trapped_air=gas, hanging_gas=hanging_gas(car))
    assert fill.accepted > 0.98 * car.volume and sum(gas.values()) > 2e-5
    assert packed.coolant_filled == pytest.approx(998.21 * fill.accepted, rel=1e-4)
    liquid = packed.model.liquid
    density = np.interp(COLD, liquid.temperature, liquid.density)
    assert packed.coolant_filled == pytest.approx(density * fill.accepted, rel=1e-8)


def test_a_port_takes_half_a_cell_of_its_hose():
    """By hand: 65 mL in a hose of six cells from a bare port to a part of 150 mL are 6.5 cells of 10 mL; 2.6 m of rise
    put the middles of the cells at 0.4, 0.8 ... 2.4 m."""
    build = Build()
    build.junction("port", 0.0, 0.0)
    build.junction("part", 0.0, 2.6, 150e-6)
    build.branch("hose", "port", "part", diameter=0.02, cells=6, volume=65e-6, compliance=13e-12, ambient=1.3)
    node, index, cells, _ = nodes_of(build)
    first, count = cells["hose"]
    assert node.volume[index["port"]] == pytest.approx(5e-6) and node.volume[index["part"]] == pytest.approx(150e-6)
    assert node.volume[first : first + count] == pytest.approx([10e-6] * 6)
    assert node.z[first : first + count] == pytest.approx([0.4, 0.8, 1.2, 1.6, 2.0, 2.4])
    assert node.compliance[index["port"]] == pytest.approx(1e-12) and np.sum(node.compliance) == pytest.approx(13e-12)
    assert node.ambient[index["port"]] == pytest.approx(0.1) and np.sum(node.ambient) == pytest.approx(1.3)


def test_volumes_that_the_file_leaves_out():
    """By hand: pump 0.3 L and housing 0.15 L (assumed), a tee of three bores, two arms of 0.25 m and 25 mm."""
    car = CARS["every housing"]
    assert car.pumps["pump"].volume == pytest.approx(0.3e-3) and car.thermostat.volume == pytest.approx(0.15e-3)
    assert car.junctions["outlet_y"].volume == pytest.approx(3 * math.pi / 4 * 0.038**3)
    assert car.engine.crossover_volume == pytest.approx(2 * 0.25 * math.pi / 4 * 0.025**2)
    more = car.with_values({"pump.volume": 0.5e-3, "thermostat.volume": 0.1e-3})
    assert more.volume - car.volume == pytest.approx(0.15e-3)
