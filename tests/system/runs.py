"""Cars, days and runs that the system tests share. Invented data; SI throughout."""

import copy
import json
import math
from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
import xarray as xr

from sim1d.car import Car, build_car, load_car
from sim1d.day import Day, build_day, load_day
from sim1d.examples import example_path

RPM = math.pi / 30.0  # rad/s in a rev/min
ELECTRIC = {
    "kind": "electric", "rated_voltage": 13.5, "rated_current": 12.0, "reference_speed": 5000 * RPM,
    "shutoff_pressure": 90e3, "runout_flow": 180 / 60e3, "suction_bore": 0.045, "discharge_bore": 0.038, "x": 0.06,
    "z": 0.45,
}  # fmt: skip
HOSE = {"bore": 0.0254, "slack": 0.1, "fittings": ["swept_90"], "working_pressure": 345e3}
VENTS = ("left.front_vent", "left.rear_vent", "right.front_vent", "right.rear_vent")


@cache
def example(name: str) -> Car:
    """A shipped car."""
    return load_car(example_path(name))


@cache
def race_day() -> Day:
    """The shipped day of two rounds."""
    return load_day(example_path("race_day"))


def only(keep: Callable[[dict[str, Any]], bool], **values: Any) -> Day:
    """The shipped day with only those of its phases that `keep` accepts, and other values at its top."""
    data = copy.deepcopy(race_day().to_file())
    data["phases"] = [phase for phase in data["phases"] if keep(phase)]
    return build_day(data | values)


@cache
def first_round() -> Day:
    """Round 1 of the shipped day."""
    return only(lambda phase: phase["round"] == 1)


@cache
def running_round() -> Day:
    """Round 1 without the phases in which the engine stands."""
    return only(lambda phase: phase["round"] == 1 and phase["role"] not in ("wait", "soak"))


@cache
def short_round() -> Day:
    """Burnout to return road, started warm: the shortest day with a pass."""
    roles = ("burnout", "stage", "pass", "coast", "return_road")
    return only(lambda phase: phase["round"] == 1 and phase["role"] in roles, start_temperature=333.15)


def phase(duration: float, speed: float = 0.0, name: str = "run", role: str = "wait", **values: Any) -> dict[str, Any]:
    """One phase: `duration` s at `speed` rev/min of the engine."""
    return {"name": name, "round": 1, "role": role, "duration": duration, "speed": speed * RPM} | values


def day_of(*phases: dict[str, Any], start: float = 303.15, sealed: float = 303.15, **values: Any) -> Day:
    """A day of those phases in air of 30 degC; `start` and `sealed` K."""
    data = {
        "name": "test day", "ambient_temperature": 303.15, "start_temperature": start, "sealed_temperature": sealed,
        "staging_window": {"least": 318.15, "most": 348.15}, "phases": list(phases),
    }  # fmt: skip
    return build_day(data | values)


def edited(car: Car, *edits: Callable[[dict[str, Any]], None]) -> Car:
    """A car built from the plain data of another after every edit was applied to it."""
    data = copy.deepcopy(car.to_file())
    for edit in edits:
        edit(data)
    return build_car(data)


def mirrored(value: Any) -> Any:
    """The same plain data with left and right exchanged, in keys and values."""
    if isinstance(value, str):
        return value.replace("left", "\0").replace("right", "left").replace("\0", "right")
    if isinstance(value, dict):
        return {mirrored(key): mirrored(item) for key, item in value.items()}
    return [mirrored(item) for item in value] if isinstance(value, list) else value


def without_vents(data: dict[str, Any]) -> None:
    """Every vent plugged: the tank hangs on its lower line alone, a dead leg."""
    data["engine"]["plugged"] = [*data["engine"]["plugged"], *VENTS]
    data["lines"] = {name: line for name, line in data["lines"].items() if not name.endswith("vent")}
    data["radiator"].pop("vent_bore", None)


def bled(data: dict[str, Any]) -> None:
    """No air in the circuit, whatever its fill would leave."""
    data["trapped_air"] = {}


def rigid(data: dict[str, Any]) -> None:
    """Lines of the stiffest wall, tanks and radiator without give: all that yields is gas."""
    for line in data["lines"].values():
        line["stiffness"] = 3e11
    data["radiator"]["compliance"] = 0.0
    if "expansion_tank" in data:
        data["expansion_tank"]["compliance"] = 0.0


def fill_to(port: str) -> Callable[[dict[str, Any]], None]:
    """The tank's lower line ends at `port`; long enough for any of them."""

    def edit(data: dict[str, Any]) -> None:
        data["lines"]["fill"] |= {"to": port, "length": 2.5}

    return edit


def electric(data: dict[str, Any]) -> None:
    """An electric pump in place of the belt pump."""
    data["pump"] = dict(ELECTRIC)


def without_cut(data: dict[str, Any]) -> None:
    """No sensor cuts the engine: what goes wrong goes on."""
    for sensor in data.get("sensors", {}).values():
        sensor.pop("cut", None)


def linked_rears(data: dict[str, Any]) -> None:
    """Both rear outlets joined by a hose (on a car that plugs them)."""
    data["engine"]["plugged"] = [name for name in data["engine"]["plugged"] if not name.endswith(".rear")]
    data["lines"]["rear_link"] = {**HOSE, "from": "engine.left.rear", "to": "engine.right.rear", "bore": 0.0109}


def values(ds: xr.Dataset, variable: str, *points: str, at: int = -1) -> np.ndarray:
    """Values of a variable over `point`s at one instant."""
    return ds[variable].sel(point=list(points)).values[at]


def during(ds: xr.Dataset, role: str) -> xr.Dataset:
    """The instants of all phases of a role."""
    return ds.isel(time=np.flatnonzero(ds.role.values == role))


def notes(ds: xr.Dataset) -> list[str]:
    """Notes of a run."""
    return json.loads(ds.attrs["notes"])
