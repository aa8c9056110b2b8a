"""The headline numbers of a run: which value of the summary each is, which side of it is bad, and how it reads.

A run that ended early (boiled out, starved, burst, melted) has no peak of the day. Of a number that is an extreme or a
total of the day its own value is still a bound: the whole day would have been at least as bad. Of a mean over the last
pass it says nothing.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any

from sim1d.display import shown

SUFFIXES = ("_m3_s", "_m3", "_Pa", "_kg", "_m", "_K", "_s")  # units at the end of a key of the summary
RADIATOR_INLET = "radiator.inlet"


class Pick(Enum):
    """Which value of a summary entry is the headline."""

    ONLY = "the entry is one number"
    MOST = "largest over cylinders, points or pumps"
    LEAST = "smallest over them"
    RADIATOR_INLET = "the one at that point, where the circuit has it"
    LEAST_SUCTION = "smallest over the suctions of the pumps"


class Bad(Enum):
    """The side on which a number hurts."""

    HIGH = 1
    LOW = -1


@dataclass(frozen=True)
class Headline:
    """One number of a run.

    `key`: of the summary; `unit`: as in `display.shown`; `limit`: key of the check of the verdict that holds it against
    a limit ("" none); `bound`: the value of a run that ended early bounds that of the whole day.
    """

    name: str
    key: str
    pick: Pick
    text: str
    unit: str
    bad: Bad
    limit: str = ""
    bound: bool = True

    def of(self, summary: Mapping[str, Any]) -> float:
        """The number of one run (SI); NaN where it has none."""
        entry = summary.get(self.key)
        if self.pick is Pick.ONLY:
            return math.nan if entry is None else float(entry)
        entry = entry or {}
        if self.pick is Pick.RADIATOR_INLET:
            entry = {name: value for name, value in entry.items() if name == RADIATOR_INLET}
        elif self.pick is Pick.LEAST_SUCTION:
            entry = {name: value for name, value in entry.items() if name.endswith(".suction")}
        known = [value for value in entry.values() if value is not None]
        if not known:
            return math.nan
        return float(max(known) if self.pick in (Pick.MOST, Pick.RADIATOR_INLET) else min(known))

    def shown(self, value: float) -> str:
        """The number as text."""
        return shown(value, self.unit)


READY = "time_to_ready"
METAL = "peak_metal_temperature"
ONLY, MOST, LEAST = Pick.ONLY, Pick.MOST, Pick.LEAST
# in the order they decide: margin, subcooling and seconds above the limit before any peak
HEADLINES = (
    Headline(
        "least_critical_heat_flux_margin", "least_critical_heat_flux_margin", ONLY,
        "boiling margin (critical over actual heat flux), least", "1", Bad.LOW, "critical_heat_flux_margin",
    ),
    Headline("least_subcooling", "least_subcooling_K", LEAST, "subcooling, least", "K difference", Bad.LOW,
             "subcooling"),
    Headline("seconds_above_limit", "seconds_above_limit_s", MOST, "seconds above the metal limit", "s", Bad.HIGH,
             "metal_red"),
    Headline(METAL, "peak_metal_temperature_K", MOST, "hottest metal", "K", Bad.HIGH, "metal_fail"),
    Headline("peak_liner_temperature", "peak_liner_temperature_K", MOST, "hottest cylinder wall", "K", Bad.HIGH,
             "liner"),
    Headline("peak_coolant_temperature", "peak_coolant_temperature_K", ONLY, "hottest coolant", "K", Bad.HIGH,
             "coolant"),
    Headline("peak_rating_use", "peak_rating_use", ONLY, "peak at the weakest part, of its rating", "share", Bad.HIGH,
             "rating"),
    Headline("peak_system_pressure", "peak_system_pressure_Pa", ONLY, "peak system pressure", "Pa", Bad.HIGH),
    Headline("peak_radiator_inlet_pressure", "peak_gauge_pressure_Pa", Pick.RADIATOR_INLET,
             "peak pressure at the radiator inlet", "Pa", Bad.HIGH),
    Headline("peak_pressure", "peak_gauge_pressure_Pa", MOST, "highest pressure anywhere", "Pa", Bad.HIGH, "pressure"),
    Headline("least_suction_margin", "least_suction_margin_m", LEAST, "suction margin, least", "m", Bad.LOW,
             "suction_margin"),
    Headline("least_suction_pressure", "least_gauge_pressure_Pa", Pick.LEAST_SUCTION,
             "lowest pressure at a pump's suction", "Pa", Bad.LOW, "suction_pressure"),
    Headline("pass_total_flow", "pass_total_flow_m3_s", ONLY, "flow of both banks, last pass", "m3/s", Bad.LOW,
             bound=False),
    Headline("pass_bank_spread", "pass_bank_spread", ONLY, "bank split, last pass", "share", Bad.HIGH, "bank_spread",
             bound=False),
    Headline("pass_cylinder_spread", "pass_cylinder_spread", ONLY, "cylinder split, last pass", "share", Bad.HIGH,
             "cylinder_spread", bound=False),
    Headline(READY, "time_to_ready_s", ONLY, "ready again after, longest", "s long", Bad.HIGH, bound=False),
    Headline("coolant_lost", "coolant_lost_kg", ONLY, "coolant lost in the day", "kg", Bad.HIGH),
)  # fmt: skip


def headline_values(summary: Mapping[str, Any]) -> dict[str, float]:
    """Every headline number of one run by name (SI); NaN where the run has none."""
    return {one.name: one.of(summary) for one in HEADLINES}


def plain_key(key: str) -> str:
    """A key of the summary without its unit."""
    return next((key.removesuffix(suffix) for suffix in SUFFIXES if key.endswith(suffix)), key)


def bad_side(key: str) -> Bad | None:
    """The bad side of any number of the summary, by its key (with or without its unit); None where there is none.

    Residuals are those of the program and have none.
    """
    if key.startswith(("least_", "pass_")) and "spread" not in key:
        return Bad.LOW
    worse_high = ("peak_", "seconds_", "pass_", "time_to_ready", "coolant_lost", "coolant_out", "trapped_air")
    return Bad.HIGH if key.startswith((*worse_high, "combustion_gas")) else None


def is_bound(key: str) -> bool:
    """Whether the number of a run that ended early bounds that of the whole day: all but means of a pass."""
    return not key.startswith(("pass_", "time_to_ready"))
