"""JSON Schema of the files a builder writes, so that an editor completes and checks while typing."""

import json
from pathlib import Path
from typing import Any

from sim1d.car import Car
from sim1d.day import Day
from sim1d.parts import EXCHANGERS

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def car_schema() -> dict[str, Any]:
    """Schema of a car file. Tables of a family (pump, booster_pump ...) are matched by the end of their name."""
    schema = Car.model_json_schema(by_alias=True)
    properties = schema["properties"]
    pumps = properties.pop("pumps")["additionalProperties"]
    exchangers = properties.pop("exchangers")["additionalProperties"]
    by_kind = exchangers["discriminator"]["mapping"]
    families = {"pump": pumps} | {name: {"$ref": by_kind[name]} for name in EXCHANGERS}
    schema["patternProperties"] = {f"^([A-Za-z0-9_-]+_)?{name}$": inner for name, inner in families.items()}
    schema["required"] = [name for name in schema["required"] if name != "pumps"]
    for inner in (schema["$defs"][by_kind[name].rsplit("/", 1)[1]] for name in EXCHANGERS):
        inner["properties"].pop("kind")  # the name of the table says it
    fitting = schema["$defs"]["Fitting"]
    schema["$defs"]["Fitting"] = {"anyOf": [{"$ref": "#/$defs/FittingKind"}, fitting]}
    return _finish(schema, "A car's cooling system")


def day_schema() -> dict[str, Any]:
    """Schema of a day file. Courses may be one value, {from, to} or, for engine speed, {low, high, shifts}."""
    schema = Day.model_json_schema(by_alias=True)
    for name in ("LoadCourse", "VelocityCourse", "AccelerationCourse", "SpeedCourse"):
        course = schema["$defs"][name]
        one = course["properties"]["from"]
        ways = [{key: value for key, value in one.items() if key in ("anyOf", "minimum", "maximum")}, dict(course)]
        if name == "SpeedCourse":
            ways.append(_saw(one, course["properties"]["shifts"]))
        schema["$defs"][name] = {"description": course.get("description", ""), "anyOf": ways}
    return _finish(schema, "A day at the track")


def _saw(speed: dict[str, Any], shifts: dict[str, Any]) -> dict[str, Any]:
    properties = {"low": speed, "high": speed, "shifts": {key: shifts[key] for key in shifts if key != "default"}}
    return {"type": "object", "properties": properties, "required": list(properties), "additionalProperties": False}


def _finish(schema: dict[str, Any], title: str) -> dict[str, Any]:
    _drop(schema, "title")
    _drop(schema, "discriminator")  # a word of another standard; editors stumble over its mapping
    schema["properties"]["$schema"] = {"type": "string", "description": "place of this schema, for the editor"}
    return {"$schema": DIALECT, "title": title, **schema}


def _drop(item: Any, word: str) -> None:
    if isinstance(item, dict):
        if not isinstance(item.get(word), dict) or word == "discriminator":
            item.pop(word, None)
        for inner in item.values():
            _drop(inner, word)
    elif isinstance(item, list):
        for inner in item:
            _drop(inner, word)


def write_schemas(folder: str | Path) -> list[Path]:
    """Write car.schema.json and day.schema.json into a folder; returns their paths."""
    written = []
    for name, schema in (("car", car_schema()), ("day", day_schema())):
        path = Path(folder) / f"{name}.schema.json"
        path.write_text(json.dumps(schema, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
        written.append(path)
    return written


if __name__ == "__main__":
    import sys

    for written_file in write_schemas(sys.argv[1] if len(sys.argv) > 1 else "."):
        print(written_file)
