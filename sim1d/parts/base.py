"""What every part shares: immutable fields that carry their meaning, unit, range, source and band; and its ports."""

import typing
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined, core_schema

from sim1d.display import show
from sim1d.units import BadValue, LineSize, Measure


def quantity(
    text: str,
    *,
    default: Any = PydanticUndefined,
    low: float | None = None,
    high: float | None = None,
    source: str = "",
    band: tuple[float, float] | None = None,
    alias: str | None = None,
) -> Any:
    """A field that holds a number; its unit comes from the annotated type of `sim1d.units`.

    `low` and `high` are the range that is accepted (SI, ends included). Every default says in `source` where it comes
    from; `band` is the range (SI) within which a value that nobody measured may lie, sampled by studies.
    """
    if default is not PydanticUndefined and not source:
        raise TypeError(f"the default of '{text}' needs a source")
    extra: dict[str, Any] = {"source": source}
    extra |= {key: value for key, value in (("minimum", low), ("maximum", high), ("band", band)) if value is not None}
    return Field(default=default, description=text, json_schema_extra=extra, alias=alias)


def option(text: str, *, default: Any = PydanticUndefined, source: str = "", alias: str | None = None) -> Any:
    """A field that holds no number: a name, a choice, a switch, a list of names or another part."""
    extra: dict[str, Any] = {"source": source} if source else {}
    if isinstance(default, (dict, list)):
        raise TypeError(f"the default of '{text}' must be immutable")
    return Field(default=default, description=text, json_schema_extra=extra, alias=alias)


@dataclass(frozen=True)
class Facts:
    """What is known of a field: meaning, measure (None: no number), accepted range (SI), source and band."""

    text: str
    measure: Measure | None
    low: float | None
    high: float | None
    source: str
    band: tuple[float, float] | None
    required: bool
    default: Any


def measure_of(annotation: Any) -> Measure | None:
    """The measure somewhere inside a type: `Length | None`, `tuple[Length, ...]` and `Length` all give length."""
    for item in getattr(annotation, "__metadata__", ()):
        if isinstance(item, Measure):
            return item
    for inner in typing.get_args(annotation):
        found = measure_of(inner)
        if found:
            return found
    return None


def facts(part: type[BaseModel], name: str) -> Facts:
    """The facts of a field of a part."""
    return _facts_of(part.model_fields[name])


def _facts_of(field: FieldInfo) -> Facts:
    extra = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
    measure = next((item for item in field.metadata if isinstance(item, Measure)), None) or measure_of(field.annotation)
    return Facts(
        text=field.description or "",
        measure=measure,
        low=typing.cast(float | None, extra.get("minimum")),
        high=typing.cast(float | None, extra.get("maximum")),
        source=str(extra.get("source", "")),
        band=typing.cast(tuple[float, float] | None, extra.get("band")),
        required=field.is_required(),
        default=field.default,
    )


def _numbers(value: Any) -> Iterator[float]:
    if isinstance(value, bool | Enum):
        return
    if isinstance(value, (int, float)):
        yield value
    elif isinstance(value, LineSize):
        yield value.bore
    elif isinstance(value, tuple | list):
        for item in value:
            yield from _numbers(item)
    elif isinstance(value, dict):
        for item in value.values():
            yield from _numbers(item)


class Description(BaseModel):
    """What a builder writes in a file: immutable, SI inside, unknown keys refused, numbers held within their range."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True, use_attribute_docstrings=False)

    @field_validator("*", mode="after")
    @classmethod
    def _within_range(cls, value: Any, info: ValidationInfo) -> Any:
        known = _facts_of(cls.model_fields[info.field_name or ""])
        for number in _numbers(value) if known.low is not None or known.high is not None else ():
            too_low, too_high = (
                known.low is not None and number < known.low,
                known.high is not None and number > known.high,
            )
            if too_low or too_high:
                raise BadValue(f"{show(number, known.measure)} is out of range for: {known.text}", _range(known))
        return value


class Part(Description):
    """A description of something a builder buys or bolts on."""

    def write_rows(self, build: Any, name: str) -> None:
        """Write the rows of this part under `name`; see `sim1d.build`. A part without rows writes none."""

    def ports(self) -> dict[str, "Port"]:
        """Local name -> port, in the frame of the car; a part that has none gives an empty dict."""
        return {}


def _range(known: Facts) -> str:
    low = "" if known.low is None else show(known.low, known.measure)
    high = "" if known.high is None else show(known.high, known.measure)
    if low and high:
        return f"give a value from {low} to {high}"
    return f"give at least {low}" if low else f"give at most {high}"


class PortRole(Enum):
    """Which way coolant is meant to go through a port, seen from the part."""

    OUT = "out"
    IN = "in"
    VENT = "vent"
    EITHER = "either"


@dataclass(frozen=True)
class Port:
    """An opening that a line can be connected to: x (m rearward), z (m above ground), throat bore (m).

    `must_plumb` ports are a problem when they are neither plumbed nor plugged; the others count as closed then.
    """

    x: float
    z: float
    bore: float
    role: PortRole = PortRole.EITHER
    must_plumb: bool = True
    thread: str = ""


class _EachOrOne:
    """Marks a tuple that may be written as one value for all, or as a list with one value each."""

    def __get_pydantic_core_schema__(self, source, handler):
        def gather(value):
            return value if isinstance(value, (list, tuple)) else (value,)

        def write(value):
            return value[0] if len(value) == 1 else list(value)

        return core_schema.no_info_before_validator_function(
            gather, handler(source), serialization=core_schema.plain_serializer_function_ser_schema(write)
        )

    def __get_pydantic_json_schema__(self, schema, handler):
        array = handler(schema)
        return {"anyOf": [array["items"], array]} if "items" in array else array


EACH_OR_ONE = _EachOrOne()
Counts = Annotated[tuple[int, ...], EACH_OR_ONE]
Names = tuple[str, ...]


def each(values: tuple, count: int) -> tuple:
    """`values` stretched to `count`: one value stands for all."""
    return values * count if len(values) == 1 else values
