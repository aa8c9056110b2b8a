"""The JSON Schemas that are shipped: valid, up to date, and in agreement with the reader."""

import json
import tomllib
from importlib import resources

import pytest

from sim1d.schema import car_schema, day_schema, write_schemas

jsonschema = pytest.importorskip("jsonschema")
EXAMPLES = resources.files("sim1d") / "examples"
SCHEMAS = {"layout_a": car_schema, "layout_b": car_schema, "layout_c": car_schema, "race_day": day_schema}


def errors(schema, data):
    return list(jsonschema.Draft202012Validator(schema).iter_errors(data))


@pytest.mark.parametrize("name", SCHEMAS)
def test_examples_fit(name):
    schema = SCHEMAS[name]()
    jsonschema.Draft202012Validator.check_schema(schema)
    assert errors(schema, tomllib.loads((EXAMPLES / f"{name}.toml").read_text(encoding="utf-8"))) == []


def test_shipped_files_are_up_to_date(tmp_path):
    for path in write_schemas(tmp_path):
        shipped = json.loads((EXAMPLES / path.name).read_text(encoding="utf-8"))
        assert shipped == json.loads(path.read_text(encoding="utf-8")), "run: python -m sim1d.schema sim1d/examples"


def test_mistakes_are_marked_while_typing():
    data = tomllib.loads((EXAMPLES / "layout_a.toml").read_text(encoding="utf-8"))
    data["pump"]["ratoi"] = 1
    assert errors(car_schema(), data)
    data["pump"].pop("ratoi")
    data["radiator"]["core_passes"] = 9
    assert errors(car_schema(), data)
    data["radiator"]["core_passes"] = 2
    data["second_pump"] = dict(data["pump"])
    assert errors(car_schema(), data) == []


def test_every_value_is_described():
    def values(schema):
        for model in schema["$defs"].values():
            for way in [model, *model.get("anyOf", [])]:
                yield from way.get("properties", {}).items()

    for schema in (car_schema(), day_schema()):
        for name, value in values(schema):
            assert value.get("description") or "$ref" in value, name
