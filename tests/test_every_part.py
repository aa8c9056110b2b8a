"""Every part of the registry: each field has a meaning, a unit, a range and, with its default, a source."""

from enum import Enum
from importlib import resources
from typing import get_args

import pytest
from pydantic import BaseModel

from sim1d.car import Car, build_car, load_car
from sim1d.day import Day
from sim1d.parts import PARTS, PUMP_KINDS
from sim1d.parts.base import Part, facts, measure_of
from sim1d.units import LineSize, Measure

EXAMPLES = resources.files("sim1d") / "examples"


def inner_models(annotation):
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return {annotation}
    return set().union(*(inner_models(item) for item in get_args(annotation)))


def all_models():
    """Every part, and every group of fields inside one, once."""
    found, waiting = [], [*PARTS.values(), *PUMP_KINDS.values(), Car, Day]
    while waiting:
        model = waiting.pop(0)
        if model not in found:
            found.append(model)
            for field in model.model_fields.values():
                waiting += sorted(inner_models(field.annotation), key=lambda item: item.__name__)
    return found


MODELS = all_models()
FIELDS = [(model, name) for model in MODELS for name in model.model_fields]


def is_number(annotation):
    if annotation in (int, float):
        return True
    return any(is_number(item) for item in get_args(annotation) if not isinstance(item, (str, Measure)))


def test_the_registry_is_the_file():
    assert set(PARTS) <= set(Car.file_keys())
    assert all(issubclass(part, Part) for part in PARTS.values())


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_part_is_immutable_and_documented(model):
    assert model.model_config["frozen"]
    assert model.model_config["extra"] == "forbid"
    assert (model.__doc__ or "").strip()


@pytest.mark.parametrize(("model", "name"), FIELDS, ids=[f"{model.__name__}.{name}" for model, name in FIELDS])
def test_field_is_described(model, name):
    field, known = model.model_fields[name], facts(model, name)
    assert known.text, "a field needs a meaning"
    if isinstance(field.annotation, type) and issubclass(field.annotation, Enum | LineSize | BaseModel | bool | str):
        return
    if field.annotation is int or measure_of(field.annotation) or known.measure:
        if inner_models(field.annotation) or name == "trapped_air":
            return
        if name != "band":  # a pair of shares, ranged by its own type
            assert known.low is not None and known.high is not None, "a number needs a range"
            assert known.low < known.high
    if is_number(field.annotation) and field.annotation is not int and name != "bands":  # SI, of the value it is of
        assert known.measure or int in get_args(field.annotation), "a bare float: use a type of sim1d.units"


@pytest.mark.parametrize(("model", "name"), FIELDS, ids=[f"{model.__name__}.{name}" for model, name in FIELDS])
def test_default_has_a_source_and_lies_in_range(model, name):
    field, known = model.model_fields[name], facts(model, name)
    if field.is_required() or field.default_factory is not None:
        return
    assert known.source, "a default needs a source"
    default = field.default
    if isinstance(default, (int, float)) and not isinstance(default, bool):
        assert known.low is None or known.low <= default <= known.high
        if known.band is not None:
            low, high = known.band
            assert known.low <= low <= default <= high <= known.high, "the band holds the default and lies in the range"


def test_one_name_one_unit():
    """The same field name is measured in the same unit wherever it stands."""
    units = {}
    for model, name in FIELDS:
        measure = facts(model, name).measure
        if measure is not None:
            units.setdefault(name, {})[measure.unit] = model.__name__
    mixed = {name: found for name, found in units.items() if len(found) > 1}
    allowed = {"flow", "start", "end"}  # of coolant and of air; courses of load, speed and acceleration
    assert set(mixed) <= allowed, mixed


@pytest.mark.parametrize("name", ["layout_a", "layout_b", "layout_c"])
def test_example_builds_from_what_it_says(name):
    car = load_car(EXAMPLES / f"{name}.toml")
    assert build_car(car.to_file()) == car
    for part_name, part in car.parts.items():
        for port in part.ports().values():
            assert 0.001 <= port.bore <= 0.15, part_name
            assert 0.0 <= port.z <= 3.0, part_name


def test_every_part_is_used_somewhere():
    """A part that no example shows is built here from the least it needs, joined into a sound circuit."""
    data = load_car(EXAMPLES / "layout_a.toml").to_file()
    place = {"x": 0.4, "z": 0.5}
    data |= {
        "thermostat": {"fitted": True, "x": 0.0, "z": 0.72, "bypass_bore": 0.012, "bypass_foot": True},
        "thermostat_plate": {"bore": "25 mm", "x": -0.05, "z": 0.70},
        "heater": {"x": 1.2, "z": 0.7},
        "oil_cooler": place,
        "turbo": place,
        "ice_tank": place | {"bore": "25 mm"},
        "head_gasket": {"leaks": True, "cylinders": ["left-4"]},
    }
    lines = data["lines"]
    lines["upper"] |= {"from": "thermostat_plate.outlet"}
    lines["thermostat_in"] = {"from": "outlet_y", "to": "thermostat.inlet", "bore": "38 mm"}
    lines["thermostat_out"] = {"from": "thermostat.outlet", "to": "thermostat_plate.inlet", "bore": "38 mm"}
    lines["bypass"] = {"from": "thermostat.bypass", "to": "pump.suction", "bore": "12 mm"}
    for name in ("heater", "oil_cooler", "turbo", "ice_tank"):
        lines[f"{name}_in"] = {"from": "outlet_y", "to": f"{name}.inlet", "size": "dash 10"}
        lines[f"{name}_out"] = {"from": f"{name}.outlet", "to": "pump.suction", "size": "dash 10"}
    car = build_car(data)
    assert set(car.exchangers) == {"heater", "oil_cooler", "turbo", "ice_tank"}
    assert build_car(car.to_file()) == car
    used = {type(part) for part in (*car.parts.values(), *car.lines.values(), *car.sensors.values())}
    used |= {type(car.cap), type(car.coolant), type(car.limits), type(car.head_gasket), type(car.recovery_tank)}
    used |= {type(car.fill)}
    for key, part in PARTS.items():
        assert any(issubclass(item, part) for item in used), key
