"""The inputs of a car as a list for the report: path, value, unit, source and band of every number."""

from collections.abc import Iterator
from enum import Enum
from typing import TYPE_CHECKING, Any

from sim1d.parts.base import Part, facts
from sim1d.units import LineSize

if TYPE_CHECKING:
    from sim1d.car import Car


def inputs_of(car: "Car") -> list[dict[str, Any]]:
    """Every input of the car: {path, value, unit, text, source, band, given}."""
    return list(_walk(car, ""))


def _walk(part: Part, path: str) -> Iterator[dict[str, Any]]:
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
