"""Cars on which the kernels and the slow twin are compared: the three example layouts and variants of layout A."""

import copy
import dataclasses
from functools import cache
from typing import Any

from sim1d import tables
from sim1d.car import build_car, load_car
from sim1d.day import load_day
from sim1d.examples import example_path
from sim1d.pack import Packed, pack

ELECTRIC = {
    "kind": "electric", "rated_voltage": "13.5 V", "rated_current": "12 A", "reference_speed": "5000 rpm",
    "shutoff_pressure": "90 kPa", "runout_flow": "180 L/min", "suction_bore": "45 mm", "discharge_bore": "38 mm",
}  # fmt: skip


def line(start: str, end: str, bore: str = "25 mm") -> dict[str, Any]:
    """A plain hose."""
    return {"from": start, "to": end, "bore": bore, "slack": "0.1 m", "fittings": ["swept_90"]}


def electric(car: dict[str, Any]) -> None:
    """An electric pump in place of the belt pump."""
    car["pump"] = ELECTRIC | {"x": "0.06 m", "z": "0.45 m"}


def two_pumps(car: dict[str, Any]) -> None:
    """A remote electric pump behind the radiator, in series with the belt pump."""
    car["helper_pump"] = ELECTRIC | {"mount": "remote", "x": "-0.2 m", "z": "0.3 m"}
    del car["lines"]["lower"]
    car["lines"]["lower_one"] = line("radiator.outlet", "helper_pump.suction", "45 mm")
    car["lines"]["lower_two"] = line("helper_pump.discharge", "pump.suction", "38 mm")


def thermostat(car: dict[str, Any]) -> None:
    """A thermostat with a bypass that its foot shuts."""
    car["thermostat"] = {"x": "0.0 m", "z": "0.7 m", "bypass_bore": "16 mm", "bypass_foot": True}
    del car["lines"]["upper"]
    car["lines"]["to_thermostat"] = line("outlet_y", "thermostat.inlet", "38 mm")
    car["lines"]["upper"] = line("thermostat.outlet", "radiator.inlet", "38 mm")
    car["lines"]["bypass"] = line("thermostat.bypass", "pump.suction", "16 mm")


def heater(car: dict[str, Any]) -> None:
    """A heater between the outlets and the suction."""
    car["heater"] = {"x": "1.4 m", "z": "0.75 m", "side_to_air": "150 W/K"}
    car["lines"]["heater_in"] = line("outlet_y", "heater.inlet", "16 mm")
    car["lines"]["heater_out"] = line("heater.outlet", "pump.suction", "16 mm")


def cylinders(count: int):
    """Another number of cylinders per bank."""

    def change(car: dict[str, Any]) -> None:
        car["engine"]["cylinders_per_bank"] = count
        car["engine"]["gasket"]["hole_diameter"] = ["6.3 mm"] * count
        for sensor in ("left_rear", "right_rear"):
            car["sensors"][sensor]["at"] = f"engine.{sensor.split('_')[0]}-{count}.head"

    return change


def path(name: str):
    """Another way of the coolant through block and heads; the pump's hoses reach either inlet."""

    def change(car: dict[str, Any]) -> None:
        car["engine"]["coolant_path"] = name
        for side in ("left", "right"):
            car["lines"][f"pump_{side}"]["length"] = "0.4 m"

    return change


def glycol(car: dict[str, Any]) -> None:
    """Half ethylene glycol."""
    car["coolant"] = {"fluid": "ethylene_glycol", "fraction": 0.5}


def recovery(car: dict[str, Any]) -> None:
    """A recovery tank that gives the coolant back."""
    car["recovery_tank"] = {"kind": "recovery", "volume": "1.0 L", "liquid": "0.2 L"}


def tilting(car: dict[str, Any]) -> None:
    """The tank's lower port ahead of its middle, where a launch uncovers it."""
    car["expansion_tank"] |= {"length": "0.16 m", "fill_x": "0.92 m"}


def weighted(car: dict[str, Any]) -> None:
    """A weighted vacuum valve in the cap, over a tank that gives back."""
    car["cap"] |= {"vacuum_kind": "weighted", "vacuum_closing": "3 kPa"}
    recovery(car)


def soft(car: dict[str, Any]) -> None:
    """The suction hose without its wire, and soft."""
    car["lines"]["lower"] |= {"wire_reinforced": False, "collapse_pressure": "25 kPa"}
    car["lines"]["fill"] |= {"collapse_pressure": "28 kPa"}


def crest(car: dict[str, Any]) -> None:
    """The upper hose over a crest, the lower one through a sag."""
    car["lines"]["upper"] |= {"high_z": "0.80 m", "length": "0.9 m"}
    car["lines"]["lower"] |= {"low_z": "0.22 m", "length": "1.2 m"}


def still_fan(car: dict[str, Any]) -> None:
    """A fan that stands whatever is switched on."""
    car["radiator"]["fan"]["failed"] = True


def blocked(car: dict[str, Any]) -> None:
    """A rear outlet through which nothing passes."""
    car["lines"]["left_rear"]["blocked"] = True


def leaking(car: Packed) -> Packed:
    """Two cylinders whose gasket leaks, by an invented curve over manifold pressure: rows put in after packing."""
    pocket = list(car.model.pocket.node)
    leak, curve = tables.rows(tables.LEAK, 2), tables.rows(tables.LEAK_CURVE, 4)
    leak.pocket = [pocket.index(car.points.index(f"engine.{name}.head")) for name in ("left-2", "right-4")]
    leak.share = 0.75, 0.6
    curve.pressure, curve.mass = (5e4, 1.2e5, 1.9e5, 2.6e5), (0.0, 1e-7, 6e-7, 3e-6)
    return dataclasses.replace(car, model=car.model._replace(leak=leak, leak_curve=curve))


VARIANTS = {
    "electric pump": electric, "two pumps": two_pumps, "series": path("block_first_series"),
    "head first": path("head_first"), "thermostat": thermostat, "glycol": glycol, "heater": heater, "v6": cylinders(3),
    "v12": cylinders(6), "recovery": recovery, "tilting": tilting, "weighted": weighted, "soft": soft,
    "crest": crest, "still fan": still_fan, "blocked": blocked,
}  # fmt: skip
LAYOUTS = ("layout_a", "layout_b", "layout_c")


@cache
def packed(name: str) -> Packed:
    """The packed car of that name, on the example day."""
    day = load_day(example_path("race_day"))
    if name in LAYOUTS:
        return pack(load_car(example_path(name)), day)
    if name == "leaking":
        return leaking(packed("layout_a"))
    data = copy.deepcopy(load_car(example_path("layout_a")).to_file())
    VARIANTS[name](data)
    return pack(build_car(data), day)
