"""An axis: what one dimension of a study moves, and the choices along it.

Five ways to write one in a study file, each a table `[axes.NAME]`:

    path = "pump.ratio"            values = [0.9, 1.0, 1.1]            one value, a list of choices
    path = "radiator.mount_height" low = "20 in" high = "40 in" count = 5   a range, evenly spaced (or sampled)
    paths = ["lines.a.size", "lines.b.size"] values = ["dash 12", "dash 16"]  several values moved together
    path = "radiator"              parts = {"one pass" = {...}, "two pass" = {...}}   a whole part swapped
    choices = {"front only" = {"lines.a.size" = "dash 16", "pump.ratio" = 1.1}, ...}   any set of values per choice
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from pydantic import BaseModel, ConfigDict, Field

from sim1d import units

Value = bool | int | float | str | dict[str, Any] | list[Any]


class AxisTable(BaseModel):
    """One `[axes.NAME]` table as written."""

    model_config = ConfigDict(extra="forbid", strict=True)

    path: str | None = Field(default=None, description="path of the value that moves, for example pump.ratio")
    paths: list[str] | None = Field(default=None, min_length=1, description="several paths that take the same value")
    values: list[Value] | None = Field(default=None, min_length=1, description="the choices, SI numbers or text")
    low: float | str | None = Field(default=None, description="lower end of a range")
    high: float | str | None = Field(default=None, description="upper end of a range, in the same unit")
    count: int | None = Field(default=None, ge=2, description="points along the range; a sampled study takes none")
    parts: dict[str, dict[str, Any]] | None = Field(default=None, min_length=1, description="label = whole sub-table")
    choices: dict[str, dict[str, Any]] | None = Field(default=None, min_length=1, description="label = {path = value}")


@dataclass(frozen=True)
class Choice:
    """One place on an axis: the label a person reads, the values it sets, and its SI number (NaN: it has none)."""

    label: str
    settings: tuple[tuple[str, Any], ...]
    number: float = math.nan


@dataclass(frozen=True)
class Span:
    """A range: `low` and `high` in the unit of the file ("" is SI), and the same two in SI once the model read them."""

    paths: tuple[str, ...]
    low: float
    high: float
    unit: str = ""
    si_low: float = math.nan
    si_high: float = math.nan

    def at(self, share: float) -> Choice:
        """The choice at a share 0 to 1 of the range."""
        number = self.low + share * (self.high - self.low)
        value: Any = f"{number:.12g} {self.unit}" if self.unit else float(f"{number:.12g}")
        label = f"{number:.6g} {self.unit}".strip()
        si = self.si_low + share * (self.si_high - self.si_low)  # every unit is a scale and an offset to SI
        return Choice(label, tuple((path, value) for path in self.paths), si)


@dataclass(frozen=True)
class Axis:
    """One dimension of the study. `span` is set for a range; `choices` for everything that a full grid can walk."""

    name: str
    choices: tuple[Choice, ...]
    span: Span | None = None
    units: str = ""  # SI unit of the numbers, "" where unknown

    def __len__(self) -> int:
        return len(self.choices)

    @property
    def numeric(self) -> bool:
        """True when each choice has a number of its own, so that the numbers can serve as coordinate."""
        numbers = [choice.number for choice in self.choices]
        return all(math.isfinite(number) for number in numbers) and len(set(numbers)) == len(numbers)

    @property
    def paths(self) -> tuple[str, ...]:
        """Every path that the axis moves, in the order met."""
        ends = () if self.span is None else self.span.paths
        return tuple(dict.fromkeys([*ends, *(path for choice in self.choices for path, _ in choice.settings)]))

    def at(self, share: float) -> Choice:
        """Choice of a sampled point: anywhere in a range, else one of the listed choices in equal shares."""
        if self.span is not None:
            return self.span.at(share)
        return self.choices[min(int(share * len(self.choices)), len(self.choices) - 1)]


def label_of(value: Any) -> str:
    """Text of a value as it stands in tables and, where it has no number, as coordinate."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (int, float)):
        return f"{value:.6g}"
    return value if isinstance(value, str) else str(value)


def build_axis(name: str, table: AxisTable, sampled: bool) -> tuple[Axis | None, list[tuple[str, str, str]]]:
    """The axis that a table describes, or None and what is wrong as (key below the axis, what, fix)."""
    wrong = _clashes(table, sampled)
    if wrong:
        return None, wrong
    paths = tuple(table.paths or ([table.path] if table.path else []))
    if table.choices is not None:
        found = tuple(Choice(label, tuple(settings.items())) for label, settings in table.choices.items())
        return Axis(name, found), []
    if table.parts is not None:
        return Axis(name, tuple(Choice(label, ((paths[0], part),)) for label, part in table.parts.items())), []
    if table.values is not None:
        found = tuple(Choice(label_of(value), tuple((path, value) for path in paths)) for value in table.values)
        labels = [choice.label for choice in found]
        twice = sorted({label for label in labels if labels.count(label) > 1})
        if twice:
            return None, [("values", f"{', '.join(twice)} stands there twice", "name each value once")]
        return Axis(name, found), []
    span, wrong = _span(paths, table.low, table.high)
    if span is None:
        return None, wrong
    shares = np.linspace(0.0, 1.0, table.count) if table.count else np.array([0.0, 1.0])
    return Axis(name, tuple(span.at(float(share)) for share in shares), span), []


def _clashes(table: AxisTable, sampled: bool) -> list[tuple[str, str, str]]:
    """Keys that are missing or exclude each other."""
    wrong = []
    ranged = table.low is not None or table.high is not None
    kinds = [key for key in ("values", "parts", "choices") if getattr(table, key) is not None] + ["low"] * ranged
    if len(kinds) != 1:
        has = " and ".join(kinds) if kinds else "nothing"
        wrong.append(("", f"has {has} to walk along", "give exactly one of values, low with high, parts, choices"))
        return wrong
    if table.choices is not None:
        if table.path is not None or table.paths is not None:
            wrong.append(("path", "stands beside choices", "leave it out: each choice names its own paths"))
        empty = [label for label, settings in table.choices.items() if not settings]
        wrong += [(f"choices.{label}", "is empty", "set at least one path") for label in empty]
    elif (table.path is None) == (table.paths is None):
        wrong.append(("path", "needs path or paths, one of the two", 'write path = "pump.ratio"'))
    elif table.parts is not None and table.paths is not None:
        wrong.append(("paths", "moves several parts at once", "use path with parts, or choices"))
    if ranged:
        for key in ("low", "high"):
            if getattr(table, key) is None:
                wrong.append((key, "is missing", "a range needs both low and high"))
        if table.count is None and not sampled:
            wrong.append(("count", "is missing", "a full grid needs the number of points along the range"))
    elif table.count is not None:
        wrong.append(("count", "belongs to a range", "leave it out, or give low and high"))
    return wrong


def _span(paths: tuple[str, ...], low: Any, high: Any) -> tuple[Span | None, list[tuple[str, str, str]]]:
    ends = []
    for key, value in (("low", low), ("high", high)):
        try:
            ends.append(units.split(value) if isinstance(value, str) else (float(value), ""))
        except ValueError:
            return None, [(key, f'"{value}" does not start with a number', 'write a number (SI) or text like "30 in"')]
    (first, unit), (last, other) = ends
    if unit != other:
        return None, [("high", f'is in "{other}" and low in "{unit}"', "write both ends in the same unit")]
    if not (math.isfinite(first) and math.isfinite(last)) or first >= last:
        return None, [("high", f"{last:g} is not above low, {first:g}", "swap them, or widen the range")]
    return Span(paths, first, last, unit), []
