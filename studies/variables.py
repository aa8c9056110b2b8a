"""Which numbers of a run a study keeps: one variable per key of the run's summary, with its unit and its dimension.

A key of the summary carries the unit as suffix (`peak_metal_temperature_K`); a study variable carries it in its
attributes (`peak_metal_temperature`, units "K"). A value per cylinder, point, bank or pump becomes a vector.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

SUFFIXES = {  # longest first: _m3_s before _s
    "_m3_s": "m3/s",
    "_rad_s": "rad/s",
    "_kg_s": "kg/s",
    "_W_m2": "W/m2",
    "_m3": "m3",
    "_Pa": "Pa",
    "_kg": "kg",
    "_m": "m",
    "_K": "K",
    "_s": "s",
    "_W": "W",
    "_J": "J",
    "_A": "A",
}
DIMENSIONS = {  # variables whose summary value is an object: what its keys name
    "peak_metal_temperature": "cylinder",
    "seconds_above_limit": "cylinder",
    "pass_cylinder_flow": "cylinder",
    "least_subcooling": "cylinder",
    "least_cylinder_critical_heat_flux_margin": "cylinder",
    "peak_dry_share": "cylinder",
    "peak_liner_temperature": "cylinder",
    "peak_gauge_pressure": "point",
    "least_gauge_pressure": "point",
    "pass_bank_flow": "bank",
    "least_suction_margin": "pump",
    "peak_pump_gas": "pump",
    "least_pump_grip": "pump",
    "coolant_out": "cause",
}
SCALARS = (
    *("peak_coolant_temperature", "peak_system_pressure", "pass_total_flow", "least_critical_heat_flux_margin"),
    *("coolant_lost", "trapped_air", "combustion_gas", "time_to_ready"),
    *("energy_residual", "coolant_residual", "gas_residual"),
    *("pass_bank_spread", "pass_cylinder_spread", "peak_rating_use"),
)
KNOWN = (*DIMENSIONS, *SCALARS)  # what `outputs` of a study file may name
NOT_KEPT = ("outcome", "notes", "rounds")


@dataclass(frozen=True)
class Variable:
    """One kept number: its name, SI unit ("1" for none) and the dimension it has beside the axes ("" for a scalar)."""

    name: str
    units: str
    dimension: str = ""


def variable_of(key: str, value: Any) -> Variable | None:
    """The variable that a key of the summary feeds, or None when it holds no number (text, the list of rounds)."""
    if key in NOT_KEPT or not (value is None or isinstance(value, (bool, int, float, Mapping))):
        return None
    name, units = key, "1"
    for suffix, text in SUFFIXES.items():
        if key.endswith(suffix):
            name, units = key.removesuffix(suffix), text
            break
    if isinstance(value, Mapping):
        return Variable(name, units, DIMENSIONS.get(name, f"{name}_item"))
    return Variable(name, units)


def numbers(summary: Mapping[str, Any]) -> dict[Variable, float | dict[str, float]]:
    """All numbers of a summary by variable; a value that does not exist (never ready: None) becomes NaN."""
    found: dict[Variable, float | dict[str, float]] = {}
    for key, value in summary.items():
        variable = variable_of(key, value)
        if variable is None:
            continue
        if isinstance(value, Mapping):
            if any(isinstance(entry, (Mapping, list, tuple, str)) for entry in value.values()):
                continue  # deeper than one level: no number of this study
            found[variable] = {str(name): _number(entry) for name, entry in value.items()}
        else:
            found[variable] = _number(value)
    return found


def _number(value: Any) -> float:
    return math.nan if value is None else float(value)


@dataclass(frozen=True)
class Schema:
    """Variables of a set of points and the names along each dimension, in the order they were met."""

    variables: tuple[Variable, ...] = ()
    names: tuple[tuple[str, tuple[str, ...]], ...] = ()

    @classmethod
    def of(cls, runs: Iterable[Mapping[Variable, Any]]) -> "Schema":
        variables: dict[str, Variable] = {}
        names: dict[str, dict[str, None]] = {}
        for run in runs:
            for variable, value in run.items():
                variables.setdefault(variable.name, variable)
                if variable.dimension:
                    names.setdefault(variable.dimension, {}).update(dict.fromkeys(value))
        return cls(tuple(variables.values()), tuple((dim, tuple(keys)) for dim, keys in names.items()))

    def joined(self, other: "Schema") -> "Schema":
        """Both together: a study that swaps parts may have points that other layouts lack."""
        known = {variable.name for variable in self.variables}
        names = {dim: dict.fromkeys(keys) for dim, keys in self.names}
        for dim, keys in other.names:
            names.setdefault(dim, {}).update(dict.fromkeys(keys))
        extra = tuple(variable for variable in other.variables if variable.name not in known)
        return Schema((*self.variables, *extra), tuple((dim, tuple(keys)) for dim, keys in names.items()))

    def along(self, dimension: str) -> tuple[str, ...]:
        return dict(self.names).get(dimension, ())

    def as_json(self) -> dict[str, Any]:
        return {
            "variables": [[item.name, item.units, item.dimension] for item in self.variables],
            "names": {dim: list(keys) for dim, keys in self.names},
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> "Schema":
        variables = tuple(Variable(*item) for item in data["variables"])
        return cls(variables, tuple((dim, tuple(keys)) for dim, keys in data["names"].items()))
