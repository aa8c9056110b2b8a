"""The points of a study: a full grid or a low-discrepancy sample, counted by one flat index."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from pydantic import BaseModel, ConfigDict, Field

from studies.axes import Axis, Choice, Span

METHODS = ("sobol", "latin_hypercube")


class SampleTable(BaseModel):
    """`[sample]` of a study file: present, the axes are sampled; absent, the study walks the full grid."""

    model_config = ConfigDict(extra="forbid", strict=True)

    method: str = Field(pattern="^(sobol|latin_hypercube)$", description="sobol or latin_hypercube")
    count: int = Field(ge=2, le=10_000_000, description="number of points; a power of two for sobol")
    seed: int = Field(default=1, ge=0, description="of the random numbers: the same seed, the same points")


def sample_matrix(method: str, count: int, dimensions: int, seed: int) -> np.ndarray:
    """(count, dimensions) shares in [0, 1): scrambled Sobol points or a Latin hypercube, both from scipy."""
    from scipy.stats import qmc

    if method == "sobol":
        return qmc.Sobol(dimensions, scramble=True, rng=seed).random(count)
    return qmc.LatinHypercube(dimensions, rng=seed).random(count)


@dataclass(frozen=True)
class Points:
    """Every point of the study by flat index, 0 to `count` - 1; the last axis of a grid moves fastest."""

    axes: tuple[Axis, ...]
    matrix: np.ndarray | None = None  # (count, axes) shares of a sample; None: full grid

    @property
    def sampled(self) -> bool:
        return self.matrix is not None

    @property
    def dims(self) -> tuple[str, ...]:
        return ("sample",) if self.sampled else tuple(axis.name for axis in self.axes)

    @property
    def shape(self) -> tuple[int, ...]:
        if self.matrix is not None:
            return (len(self.matrix),)
        return tuple(len(axis) for axis in self.axes)

    @property
    def count(self) -> int:
        return int(np.prod(self.shape, dtype=np.int64))

    def choices(self, flat: int) -> tuple[Choice, ...]:
        """The choice on each axis. Raises IndexError outside 0 to count - 1."""
        if not 0 <= flat < self.count:
            raise IndexError(f"point {flat} of {self.count}")
        if self.matrix is not None:
            return tuple(axis.at(float(share)) for axis, share in zip(self.axes, self.matrix[flat], strict=True))
        place = np.unravel_index(flat, self.shape)
        return tuple(axis.choices[int(where)] for axis, where in zip(self.axes, place, strict=True))

    def settings(self, flat: int) -> dict[str, Any]:
        """Path to value of one point; where two axes move the same path, the later axis wins."""
        found: dict[str, Any] = {}
        for choice in self.choices(flat):
            for path, value in choice.settings:
                found.pop(path, None)  # keep the order of setting: a part first, then a value inside it
                found[path] = value
        return found

    def label(self, flat: int) -> str:
        """The point in words: "pump_ratio 1.1, hose dash 16"."""
        return ", ".join(f"{axis.name} {one.label}" for axis, one in zip(self.axes, self.choices(flat), strict=True))

    def order(self) -> np.ndarray:
        """Order of evaluation: shuffled, always the same, so that a half-done study already spans the whole space."""
        return np.random.default_rng(1).permutation(self.count)

    def coordinates(self) -> dict[str, tuple[tuple[str, ...], np.ndarray, Mapping[str, Any]]]:
        """Coordinates of the dataset as (dims, values, attrs).

        An axis whose choices have numbers is indexed in SI with the text beside it (`NAME_label`); one without, or with
        dash sizes, is indexed by its text, with the number, where it has one, beside it (`NAME_number`).
        """
        found: dict[str, tuple[tuple[str, ...], np.ndarray, Mapping[str, Any]]] = {}
        columns = self._columns()
        for axis, (labels, numbers) in zip(self.axes, columns, strict=True):
            dims = self.dims if self.sampled else (axis.name,)
            about = {"long_name": axis.name.replace("_", " "), "paths": ", ".join(axis.paths)}
            if axis.numeric and not _named(axis):
                found[axis.name] = (dims, numbers, {**about, "units": axis.units or "1"})
                found[f"{axis.name}_label"] = (dims, labels, about)
            else:
                found[axis.name] = (dims, labels, about)
                if np.isfinite(numbers).any():
                    found[f"{axis.name}_number"] = (dims, numbers, {**about, "units": axis.units or "1"})
        return found

    def _columns(self) -> list[tuple[np.ndarray, np.ndarray]]:
        if self.matrix is None:
            rows = [axis.choices for axis in self.axes]
        else:
            rows = [tuple(axis.at(float(share)) for share in self.matrix[:, at]) for at, axis in enumerate(self.axes)]
        return [
            (np.array([one.label for one in row], dtype=object), np.array([one.number for one in row], dtype=float))
            for row in rows
        ]


def _named(axis: Axis) -> bool:
    """True when people call the choices by name, not by number: dash sizes."""
    return any(choice.label.lower().startswith("dash") for choice in axis.choices)


# study.json ----------------------------------------------------------------------------------------------------


def axis_to_json(axis: Axis) -> dict[str, Any]:
    span = axis.span
    return {
        "name": axis.name,
        "units": axis.units,
        "choices": [[one.label, dict(one.settings), _or_none(one.number)] for one in axis.choices],
        "span": span
        and [list(span.paths), span.low, span.high, span.unit, _or_none(span.si_low), _or_none(span.si_high)],
    }


def _or_none(number: float) -> float | None:
    return number if math.isfinite(number) else None


def _or_nan(number: float | None) -> float:
    return math.nan if number is None else number


def points_from_json(description: Mapping[str, Any], matrix: np.ndarray | None) -> Points:
    """The points of a study folder from its `study.json` and sample."""
    axes = []
    for one in description["axes"]:
        choices = tuple(
            Choice(label, tuple(settings.items()), _or_nan(number)) for label, settings, number in one["choices"]
        )
        span = None
        if one["span"]:
            paths, low, high, unit, si_low, si_high = one["span"]
            span = Span(tuple(paths), low, high, unit, _or_nan(si_low), _or_nan(si_high))
        axes.append(Axis(one["name"], choices, span, one["units"]))
    return Points(tuple(axes), matrix)
