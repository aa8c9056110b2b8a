"""The limits that a layout of a study is held against: the number, the side, and what counts as one step.

The keys are those of `[limits]` in a car file; a study file may give its own, which win. `step` makes different
quantities comparable when layouts are ranked: a margin of one step is "just comfortable". Steps are assumed, not
measured; they change the order of layouts that hold all limits, never which ones hold them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel, ConfigDict, Field

from sim1d import display, units

if TYPE_CHECKING:
    import xarray as xr


class LimitsTable(BaseModel):
    """`[limits]` of a study file: each may be left out, and the car's own limit, if it has one, stands."""

    model_config = ConfigDict(extra="forbid", strict=True)

    metal_fail: units.Temperature | None = Field(default=None, description="hottest metal of any cylinder")
    seconds_above_red: units.Duration | None = Field(default=None, description="seconds of metal above metal_red")
    liner: units.Temperature | None = Field(default=None, description="hottest cylinder wall, for the oil film")
    critical_heat_flux_margin: units.Number | None = Field(default=None, description="least critical over actual flux")
    subcooling: units.TemperatureDifference | None = Field(default=None, description="least saturation above coolant")
    suction_margin: units.Length | None = Field(default=None, description="least suction head above required")
    bank_spread: units.Number | None = Field(default=None, description="difference of bank flows over their mean")
    cylinder_spread: units.Number | None = Field(default=None, description="range of cylinder flows over their mean")
    coolant: units.Temperature | None = Field(default=None, description="hottest coolant")
    pressure: units.GaugePressure | None = Field(default=None, description="highest pressure at any point, gauge")
    rating_margin: units.Number | None = Field(default=None, description="share of a part's rating that may be used")
    suction_pressure: units.GaugePressure | None = Field(default=None, description="lowest pressure at a suction")
    time_to_ready: units.Duration | None = Field(default=None, description="stripe to staging window, longest")
    coolant_lost: units.Mass | None = Field(default=None, description="coolant lost overboard in the day")

    def given(self) -> dict[str, float]:
        """The limits that the file gives, SI."""
        return {key: float(value) for key, value in self.model_dump().items() if value is not None}


@dataclass(frozen=True)
class Criterion:
    """One limit: the variables it needs, `most` (an upper limit) or not, the reading, the step (SI) and the unit."""

    key: str
    variable: str
    most: bool
    step: float
    units: str
    text: str

    def reading(self, study: "xr.Dataset", tail: str = "") -> "xr.DataArray":
        """The worst number of every point, over cylinders, points of the circuit or pumps; SI. `tail` "_draws": of
        every draw of every point."""
        values = study[self.variable + tail]
        dimension = next((str(dim) for dim in values.dims if dim in ("cylinder", "point", "pump")), None)
        if self.key == "suction_pressure":
            suction = [str(name) for name in study[dimension].values if str(name).endswith(".suction")]
            values = values.sel({dimension: suction})
        if dimension is None:
            return values
        return values.max(dimension, skipna=True) if self.most else values.min(dimension, skipna=True)

    def margin(self, reading: Any, limit: float) -> Any:
        """Room to the limit in steps; negative: the limit is broken."""
        return ((limit - reading) if self.most else (reading - limit)) / self.step


CRITERIA = {
    one.key: one
    for one in (
        Criterion("metal_fail", "peak_metal_temperature", True, 10.0, "K", "peak metal temperature"),
        Criterion("seconds_above_red", "seconds_above_limit", True, 5.0, "s", "seconds of hot metal"),
        Criterion("liner", "peak_liner_temperature", True, 5.0, "K", "peak cylinder wall temperature"),
        Criterion("critical_heat_flux_margin", "least_critical_heat_flux_margin", False, 0.1, "1", "heat flux margin"),
        Criterion("subcooling", "least_subcooling", False, 5.0, "K difference", "least subcooling"),
        Criterion("suction_margin", "least_suction_margin", False, 0.5, "m", "least suction margin"),
        Criterion("bank_spread", "pass_bank_spread", True, 0.05, "1", "spread of the banks' flows"),
        Criterion("cylinder_spread", "pass_cylinder_spread", True, 0.05, "1", "spread of the cylinders' flows"),
        Criterion("coolant", "peak_coolant_temperature", True, 5.0, "K", "peak coolant temperature"),
        Criterion("pressure", "peak_gauge_pressure", True, 10e3, "Pa", "peak pressure, gauge"),
        Criterion("rating_margin", "peak_rating_use", True, 0.05, "1", "pressure over the rating of the weakest part"),
        Criterion("suction_pressure", "least_gauge_pressure", False, 10e3, "Pa", "least suction pressure, gauge"),
        Criterion("time_to_ready", "time_to_ready", True, 60.0, "s", "time to ready"),
        Criterion("coolant_lost", "coolant_lost", True, 0.1, "kg", "coolant lost"),
    )
}


def unjudged(limits: Mapping[str, float], study: "xr.Dataset") -> list[str]:
    """Limits that are given and cannot be judged, because the study did not keep their number."""
    return [one.text for key, one in CRITERIA.items() if key in limits and one.variable not in study]


def active(limits: Mapping[str, float], study: "xr.Dataset") -> dict[Criterion, float]:
    """The criteria that have both a limit and a number in the study."""
    return {one: limits[key] for key, one in CRITERIA.items() if key in limits and one.variable in study}


shown = display.shown
