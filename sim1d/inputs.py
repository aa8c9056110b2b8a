"""What a result carries beside numbers: the inputs with their sources and bands, limits, ratings, the drawn layout."""

import json
from collections.abc import Iterator
from enum import Enum
from typing import TYPE_CHECKING, Any

from sim1d.parts.base import Part, facts
from sim1d.units import LineSize

if TYPE_CHECKING:
    from sim1d.build import Build
    from sim1d.car import Car
    from sim1d.day import Day


def inputs_of(car: "Car") -> list[dict[str, Any]]:
    """Every input of the car: {path, value, unit, text, source, band, given}."""
    return [_measured(car, row) for row in _walk(car, "")]


def _measured(car: "Car", row: dict[str, Any]) -> dict[str, Any]:
    """The row with the band that was measured in place of the declared one, if its value still lies in it."""
    band = car.bands.get(row["path"])
    if band is None or row["band"] is None or not band[0] <= row["value"] <= band[1]:
        return row
    return row | {"band": band, "source": "car file, band measured"}


def _walk(part: Any, path: str) -> Iterator[dict[str, Any]]:
    for name in type(part).model_fields:
        value = getattr(part, name)
        here = f"{path}.{name}" if path else name
        if path == "" and name in ("pumps", "exchangers"):
            for key, item in value.items():
                yield from _walk(item, key)
        elif isinstance(value, Part):
            yield from _walk(value, here)
        elif isinstance(value, dict):
            for key, item in value.items():
                if isinstance(item, Part):
                    yield from _walk(item, f"{here}.{key}")
        elif isinstance(value, (int, float)) and not isinstance(value, bool | Enum):
            yield _row(part, name, here, float(value))
        elif isinstance(value, LineSize):
            yield _row(part, name, here, value.bore)


def _row(part: Part, name: str, path: str, value: float) -> dict[str, Any]:
    known = facts(type(part), name)
    given = name in part.model_fields_set
    return dict(
        path=path, value=value, unit="" if known.measure is None else known.measure.unit, text=known.text,
        source="car file" if given else known.source, band=known.band, given=given,
    )  # fmt: skip


def attributes_of(car: "Car", day: "Day", build: "Build", names: list[str]) -> dict[str, Any]:
    """What the dataset carries beside numbers: inputs, limits, ratings and the drawn layout (JSON text)."""
    ratings: dict[str, dict[str, Any]] = {}
    for node, part, pressure in build.ratings:
        if node not in ratings or pressure < ratings[node]["pressure_Pa"]:
            ratings[node] = dict(part=part, pressure_Pa=pressure)
    layout = dict(
        nodes={n: dict(x=build.junctions[n]["x"], z=build.junctions[n]["z"], kind=n.split(".")[0]) for n in names},
        lines={
            n: {
                "from": line.start, "to": line.end, "bore_m": line.inner_diameter, "length_m": car.line_length(n),
                "blocked": line.blocked,
            }
            for n, line in car.lines.items()
        },
        plugged=sorted(car.plugged),
    )  # fmt: skip
    return dict(
        limits=json.dumps(car.limits.model_dump(mode="json")), ratings=json.dumps(ratings), layout=json.dumps(layout),
        car_name=car.name, day_name=day.name, car_file=json.dumps(car.to_file()), day_file=json.dumps(day.to_file()),
        staging_window=json.dumps([day.staging_window.least, day.staging_window.most]),
        inputs=json.dumps(inputs_of(car)), ambient_pressure_Pa=day.ambient_pressure,
    )  # fmt: skip
