"""Rows of the parts, each worked out by hand: what no other test held on to when laws were broken.

Cars are the shipped layout A (invented data) and variants of it; the formulas are those of textbooks or of geometry,
written out beside each check and not taken from the functions under test.
"""

import copy
import math
from typing import Any

import numpy as np
import pytest

from sim1d.build import Build
from sim1d.car import build_car, load_car
from sim1d.examples import example_path
from sim1d.pack import build_rows
from sim1d.parts.engine_metal import REFERENCE_FACE
from sim1d.physics.motors import motor_current, motor_speed
from sim1d.physics.pumps import shaft_torque

from .cars import car_with

RPM = math.pi / 30.0
LITRE = 1e-3


def circle(diameter: float) -> float:
    """Area (m2)."""
    return math.pi / 4 * diameter**2


def rows_of(**changes: dict[str, Any]) -> Build:
    """What the parts of layout A write, with other values in its tables."""
    return build_rows(car_with(**changes))


@pytest.fixture(scope="module")
def rows() -> Build:
    """Rows of layout A as it is shipped."""
    return rows_of()


# Engine --------------------------------------------------------------------------------------------------------------


def test_passage_of_two_transfer_holes(rows):
    """Two holes of 6.3 mm through 10 mm: longer than 1.4 bores, so 1.57 velocity heads (Rennels and Hudson 2012, form
    read elsewhere); slow flow 24/d^3 + 128 t/(pi d^4) (Sampson 1891, Poiseuille), halved by the second hole; all on the
    speed in a head passage of 3.2 cm2, the block's jacket having 6 cm2."""
    passage = rows.branches["engine.left-2.passage"]
    holes = 2 * circle(6.3e-3)
    on_passage = 6.0 + 3.0 * (3.2 / 6.0) ** 2 + 1.57 * (3.2e-4 / holes) ** 2
    assert passage["k_forward"] == pytest.approx(on_passage, rel=1e-6)
    slow = 24.0 / 6.3e-3**3 + 128.0 * 0.010 / (math.pi * 6.3e-3**4)
    assert passage["creeping"] == pytest.approx(slow / 2, rel=1e-6)


def test_engine_holds_the_coolant_it_declares(rows):
    """3.2 L in the block, 1.2 L in each head; what stands in plumbed openings belongs to their hoses."""
    banks = ("engine.left", "engine.right")
    inside = {name: row["volume"] for name, row in rows.junctions.items() if name.startswith(banks)}
    block = sum(volume for name, volume in inside.items() if name.endswith(".block"))
    heads = sum(volume for name, volume in inside.items() if name.endswith((".head", ".gallery")))
    assert block == pytest.approx(3.2 * LITRE) and heads == pytest.approx(2.4 * LITRE)


def test_galleries_run_from_front_to_rear(rows):
    """The block gallery gives flow off (theta 1.05), the head's gathers it (2.6); each follows the one before."""
    stations = {row["branch"]: row for row in rows.stations if ".left." in row["branch"]}
    chain = [f"engine.left.block.{i}-{i + 1}" for i in (1, 2, 3)]
    assert [stations[name]["theta"] for name in chain] == [1.05] * 3
    assert [stations[name]["before"] for name in chain] == ["engine.left.inlet.throat", *chain[:-1]]
    assert [stations[name]["after"] for name in chain] == [*chain[1:], ""]
    upper = [f"engine.left.gallery.{i}-{i + 1}" for i in (1, 2, 3)]
    assert [stations[name]["theta"] for name in upper] == [2.6] * 3
    assert stations[upper[0]]["before"] == "engine.left.front.throat"
    assert stations[upper[-1]]["after"] == "engine.left.rear.throat"


def heat_by_spot(build: Build, gas: float = 1350.0) -> dict[tuple[int, int], float]:
    """Declared heat (W) by cylinder and spot, at the temperatures at which it is declared."""
    face = {0: "roof", 1: "bridge", 2: "port", 3: "liner", -1: "liner"}
    heat: dict[tuple[int, int], float] = {}
    for row in build.gas_faces:
        key = (row["cylinder"], min(row["spot"], 3) % 4)
        heat[key] = heat.get(key, 0.0) + row["conductance"] * (gas - REFERENCE_FACE[face[row["spot"]]])
    return heat


def test_heat_of_the_gas_is_the_heat_declared(rows):
    """350 kW in all, by spots 0.33, 0.35 and 0.32 of it, the same in all eight cylinders."""
    heat = heat_by_spot(rows)
    share = {spot: sum(value for (_, at), value in heat.items() if at == spot) / 350e3 for spot in range(4)}
    assert share[0] + share[1] == pytest.approx(0.33)
    assert (share[2], share[3]) == (pytest.approx(0.35), pytest.approx(0.32))
    cylinders = [sum(value for (which, _), value in heat.items() if which == number) for number in range(8)]
    assert cylinders == pytest.approx([350e3 / 8] * 8)


def test_each_cylinder_has_its_own_weight():
    weights = [1.0, 1.1, 0.9, 1.2]
    heat = heat_by_spot(rows_of(engine={"heat": {"cylinder_weights": weights}}))
    cylinders = [sum(value for (which, _), value in heat.items() if which == number) for number in range(4)]
    assert cylinders == pytest.approx([350e3 / 8 * weight / np.mean(weights) for weight in weights])


def test_bridge_takes_its_multiple_of_the_flux(rows):
    """1.6 times the roof's heat per area, and coolant there at 2.2 times the mean speed."""
    roof, bridge = (next(row for row in rows.gas_faces if row["spot"] == spot) for spot in (0, 1))
    # both are half a cell of the same deck: half is 1/(2 k area/step), so areas go as its inverse
    flux = [
        row["conductance"] * (1350.0 - REFERENCE_FACE[name]) * row["half"]
        for row, name in ((roof, "roof"), (bridge, "bridge"))
    ]
    assert flux[1] / flux[0] == pytest.approx(1.6)
    first = [row for row in rows.faces if row["metal"].startswith("left-1.")]
    speeds = {row["metal"].split(".")[1]: row["speed_factor"] for row in first}
    assert speeds["bridge"] == 2.2 and speeds["roof"] == 1.0


# Pumps ---------------------------------------------------------------------------------------------------------------


def test_shaft_of_the_belt_pump(rows):
    """Efficiency 0.40 at the flow of most hydraulic power, found on the curve itself: 140 kPa (1 - (Q/300 L/min)^2).
    No flow: 0.4 of that torque (assumed). Stopped: 8 velocity heads of its 32 mm outlet. Suction 4 m at full speed."""
    pump = rows.pumps["pump"]
    speed = 6750 * RPM
    flow = np.linspace(0.0, 5e-3, 100001)
    hydraulic = 140e3 * (1.0 - (flow / 5e-3) ** 2) * flow
    best = int(hydraulic.argmax())
    torque = shaft_torque(flow[best], speed, 1.0, pump["torque_constant"], pump["torque_slope"])
    assert torque * speed == pytest.approx(hydraulic[best] / 0.40, rel=1e-6)
    assert shaft_torque(0.0, speed, 1.0, pump["torque_constant"], 0.0) == pytest.approx(0.4 * torque, rel=1e-4)
    assert pump["stopped"] * 1e-6 == pytest.approx(8.0 * 998.0 / 2 * (1e-3 / circle(32e-3)) ** 2)
    assert pump["suction_head_constant"] * speed**2 == pytest.approx(4.0)


def electric(**values: float) -> dict[str, Any]:
    """Row of an electric pump in place of that of layout A: 13.5 V, 12 A, 5000 rev/min."""
    pump = {
        "kind": "electric", "rated_voltage": 13.5, "rated_current": 12.0, "reference_speed": 5000 * RPM,
        "shutoff_pressure": 90e3, "runout_flow": 3e-3, "suction_bore": 0.045, "discharge_bore": 0.038, "x": 0.06,
        "z": 0.45,
    }  # fmt: skip
    data = copy.deepcopy(load_car(example_path("layout_a")).to_file())
    data["pump"] = pump | values
    return build_rows(build_car(data)).pumps["pump"]


def test_electric_pump_meets_its_rated_point():
    """At its rated voltage, without wiring, it turns at its reference speed and draws its rated current."""
    pump = electric(wiring_resistance=0.0)
    best = 3e-3 / math.sqrt(3.0)
    speed, _ = motor_speed(
        13.5, best, 1.0, pump["torque_constant"], pump["torque_slope"], pump["motor_constant"], pump["resistance"],
        pump["no_load_torque"], 0.0,
    )  # fmt: skip
    assert speed == pytest.approx(5000 * RPM, rel=1e-9)
    assert motor_current(13.5, speed, pump["motor_constant"], pump["resistance"]) == pytest.approx(12.0, rel=1e-9)


def test_wiring_takes_voltage_away_and_leaves_the_motor_as_it_is():
    short, long = electric(wiring_resistance=0.0), electric(wiring_resistance=0.1)
    assert long["resistance"] - short["resistance"] == pytest.approx(0.1)
    assert {key: value for key, value in long.items() if key != "resistance"} == {
        key: value for key, value in short.items() if key != "resistance"
    }


# Tank, cap, exchanger ------------------------------------------------------------------------------------------------


def test_tank_holds_what_it_declares(rows):
    """0.7 L of coolant in 2.0 L: the lump at the lower port and the store above it together."""
    lump = rows.junctions["expansion_tank"]["volume"]
    assert lump + rows.vessel["liquid"] == pytest.approx(0.7 * LITRE)
    assert lump + rows.vessel["volume"] == pytest.approx(2.0 * LITRE)
    assert rows.vessel["area"] * 0.20 == pytest.approx(2.0 * LITRE)


def test_cap_and_its_recovery_tank():
    build = rows_of(
        cap={"seat_bore": 0.02, "opening": 150e3, "reseat_share": 0.9},
        recovery_tank={"kind": "recovery", "volume": 1.0 * LITRE, "liquid": 0.2 * LITRE},
    )
    (cap,) = build.caps
    assert cap["area"] == pytest.approx(math.pi * 0.01**2)
    assert cap["opening"] == pytest.approx(150e3) and cap["reseat"] == pytest.approx(135e3)
    assert (cap["recovery"], cap["bottle"]) == (pytest.approx(1.0 * LITRE), pytest.approx(0.2 * LITRE))


def test_reference_flow_of_a_heater_is_a_mass_flow():
    """10 L/min of hot water are 0.16 kg/s (965 kg/m3 at 90 degC, handbook)."""
    data = copy.deepcopy(load_car(example_path("layout_a")).to_file())
    hose = {"bore": 0.016, "slack": 0.1}
    data["heater"] = {"x": 1.4, "z": 0.75, "reference_flow": 10 / 60e3}
    data["lines"]["heater_in"] = hose | {"from": "outlet_y", "to": "heater.inlet"}
    data["lines"]["heater_out"] = hose | {"from": "heater.outlet", "to": "pump.suction"}
    row = next(row for row in build_rows(build_car(data)).exchangers if row["branch"] == "heater")
    assert row["reference_flow"] == pytest.approx(10 / 60e3 * 965.0, rel=0.01)


# Lines and thermostat ------------------------------------------------------------------------------------------------


def test_hose_with_narrow_ends_and_a_check_valve():
    """Two nipples of 0.8 of the bore, each a sharp contraction 0.5 (1 - b^2) and a sudden expansion (1 - b^2)^2 on the
    throat's speed, so over b^4 on the bore's (Crane TP-410, Borda and Carnot, recalled); a check valve 2.5 forward and
    250 000 back; a quarter of a velocity head at the y-block, either way."""
    hose = {"from": "outlet_y", "to": "radiator.inlet", "fittings": ["check_valve"], "throat_share": 0.8}
    build = rows_of(lines={"upper": hose})
    nipple = (0.5 * (1 - 0.64) + (1 - 0.64) ** 2) / 0.8**4
    upper = build.branches["lines.upper"]
    assert upper["k_forward"] == pytest.approx(2 * nipple + 2.5 + 0.25)
    # to the digit: a quarter would drown in the shut valve
    assert upper["k_reverse"] == pytest.approx(2 * nipple + 2.5e5 + 0.25, rel=1e-9)


def test_give_of_a_hose(rows):
    """Thick tube held in length, Poisson 0.5: dV/V = 3 b^2/(E (b^2 - a^2)) p (Roark, recalled), E 20 MPa, wall 5 mm."""
    upper = rows.branches["lines.upper"]
    a, b = 0.019, 0.024
    volume = circle(0.038) * 0.70
    assert upper["volume"] == pytest.approx(volume)
    assert upper["compliance"] == pytest.approx(3.0 * b**2 / (20e6 * (b**2 - a**2)) * volume)


def test_suction_that_flattens_a_hose():
    """Long tube: E t^3/(4 (1 - nu^2) R^3) with nu 0.5 is E (t/R)^3/3 (Timoshenko and Gere, recalled): 38 mm bore, 4 mm
    of 8 MPa rubber, R 21 mm."""
    build = rows_of(lines={"upper": {"wall_thickness": 0.004, "stiffness": 8e6}})
    row = next(row for row in build.collapses if row["branch"] == "lines.upper")
    assert row["suction"] == pytest.approx(8e6 * (4.0 / 21.0) ** 3 / 3.0)


def test_bare_hose_loses_heat_and_an_insulated_one_does_not(rows):
    """About 10 W/(m2 K) round a bare hose in still air (handbooks: 5 to 15 with radiation), 24 mm of outer radius."""
    assert rows.branches["lines.upper"]["ambient"] == pytest.approx(10.0 * math.pi * 0.048 * 0.70, rel=0.35)
    assert rows_of(lines={"upper": {"insulated": True}}).branches["lines.upper"]["ambient"] == 0.0


def test_bleed_hole_of_a_thermostat_counts_by_its_area():
    """3 mm in 30 mm: a hundredth."""
    data = copy.deepcopy(load_car(example_path("layout_a")).to_file())
    data["thermostat"] = {"x": 0.0, "z": 0.7, "bore": 0.030, "bleed_hole": 0.003}
    upper = data["lines"].pop("upper")
    data["lines"]["to_thermostat"] = upper | {"to": "thermostat.inlet"}
    data["lines"]["from_thermostat"] = upper | {"from": "thermostat.outlet"}
    (valve,) = build_rows(build_car(data)).valves
    assert valve["leak"] == pytest.approx(0.01) and valve["opens"] < valve["full"]


# Radiator ------------------------------------------------------------------------------------------------------------


def test_radiator_of_two_passes():
    """Half the tubes at a time; ports of 38 and 45 mm cost one and a half velocity heads of theirs on the tubes' speed
    (1.0 in, 0.5 out: textbook), which a pass of other ports changes by just that."""
    build = rows_of(radiator={"core_passes": 2, "vent_bore": 0.0056})
    row, branch = build.radiators[0], build.branches["radiator"]
    through = branch["count"] * branch["area"]
    assert row["tube_flow_area"] == pytest.approx(through)
    wide = rows_of(radiator={"core_passes": 2, "inlet_bore": 0.076}).branches["radiator"]
    saved = (through / circle(0.038)) ** 2 - (through / circle(0.076)) ** 2
    assert branch["k_forward"] - wide["k_forward"] == pytest.approx(saved)


def test_metal_and_still_air_of_a_radiator(rows):
    """Aluminium of 2700 kg/m3 and 900 J/(kg K): fins of one thickness and two sides, tubes round their walls.

    Still air: 8 W/(m2 K) on the face (assumed), half of it from the core and a quarter from each tank.
    """
    radiator = car_with().radiator
    tubes, fins, count = radiator.tubes, radiator.fins, radiator.tube_count
    fin_sides = count * radiator.tube_length / fins.pitch * 2 * fins.height * radiator.depth
    tube_metal = count * radiator.tube_length * tubes.perimeter * tubes.wall
    core = sum(row["capacity"] for name, row in rows.metals.items() if name.startswith("radiator.core."))
    assert core == pytest.approx(2700.0 * 900.0 * (fin_sides / 2 * fins.thickness + tube_metal))
    tanks = sum(rows.metals[f"radiator.{end}_metal"]["ambient"] for end in ("inlet", "outlet"))
    assert rows.radiators[0]["still"] + tanks == pytest.approx(8.0 * 0.60 * 0.42)


def test_failed_fan_is_still(rows):
    assert rows.radiators[0]["fan_works"] == 1.0
    assert rows_of(radiator={"fan": {"failed": True}}).radiators[0]["fan_works"] == 0.0
