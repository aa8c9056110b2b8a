"""Does the layout hold its limits? The numbers that decide, each held against its limit, with place and time."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.display import show_flow, show_pressure, show_temperature, show_temperature_difference
from sim1d.reading_results import bank_of, names, position_of, rated_parts, structured, when

if TYPE_CHECKING:
    import xarray as xr

STARVED = 0.75  # share of the mean flow below which a cylinder is called starved: assumed, well outside a good layout
DRY = 0.05  # dry share of a face from which film boiling is worth a word: assumed
GAS = 0.05  # gas fraction from which gas in a passage is worth a word: assumed


@dataclass(frozen=True)
class Check:
    """One number against its limit, in words: title, what was found, the limit, whether it holds, where and when."""

    key: str
    title: str
    found: str
    limit: str
    held: bool
    place: str

    def __str__(self) -> str:
        return f"{self.title}: {self.found} (limit: {self.limit}), {self.place}"


@dataclass(frozen=True)
class Verdict:
    """What a builder reads first.

    `outcome` is the sentence of the run, `completed` whether the whole day was simulated; `checks` come in the order
    they are read: margin, subcooling and seconds above the limit before peaks. `hottest` says which cylinder and why.
    """

    outcome: str
    completed: bool
    checks: tuple[Check, ...]
    hottest: str
    why: tuple[str, ...]

    @property
    def failures(self) -> tuple[str, ...]:
        """Every limit that does not hold, in words; a run that stopped early is one of them."""
        stopped = () if self.completed else (f"the run stopped: {self.outcome}",)
        return stopped + tuple(str(check) for check in self.checks if not check.held)

    @property
    def held(self) -> bool:
        """The whole day was simulated and every limit holds."""
        return not self.failures

    @property
    def short(self) -> str:
        """Two words for a table: "held", "3 broken", "stopped early"."""
        if not self.completed:
            return "stopped early"
        return "held" if self.held else f"{len(self.failures)} broken"


def judge(ds: "xr.Dataset", numbers: dict[str, Any]) -> Verdict:
    """Hold a run against the limits of its car file. `numbers` are those of `summarise` over the whole day."""
    limits = structured(ds, "limits", {})
    checks = [
        *_boiling(ds, limits),
        *_metal(ds, numbers, limits),
        *_coolant(ds, limits),
        *_pressures(ds, limits),
        *_suction(ds, limits),
        *_evenness(numbers, limits),
    ]
    hottest, why = hottest_cylinder(ds, numbers)
    completed = ds.attrs.get("outcome_name", "COMPLETED") == "COMPLETED"
    return Verdict(str(ds.attrs.get("outcome", "")), completed, tuple(checks), hottest, why)


def _worst(values: np.ndarray, sign: float) -> tuple[int, ...]:
    """Indices of the greatest (sign 1) or least (sign -1) value that is a number."""
    filled = np.where(np.isfinite(values), sign * values, -np.inf)
    return tuple(int(i) for i in np.unravel_index(int(np.argmax(filled)), values.shape))


def _boiling(ds: "xr.Dataset", limits: dict[str, float]) -> list[Check]:
    found = []
    cylinders = names(ds, "cylinder")
    if "critical_heat_flux_margin" in limits and cylinders:
        margin = ds["critical_heat_flux_margin"].values
        t, c = _worst(margin, -1)
        value, limit = margin[t, c], limits["critical_heat_flux_margin"]
        found.append(
            Check(
                "critical_heat_flux_margin",
                "Boiling margin (critical over actual heat flux)",
                f"{value:.2f}",
                f"at least {limit:.2f}",
                bool(value >= limit),
                f"{cylinders[c]}, {when(ds, t)}",
            )
        )
    if "subcooling" in limits and cylinders:
        subcooling = ds["subcooling"].values
        t, c = _worst(subcooling, -1)
        value, limit = subcooling[t, c], limits["subcooling"]
        found.append(
            Check(
                "subcooling",
                "Subcooling (saturation less coolant)",
                show_temperature_difference(value),
                f"at least {show_temperature_difference(limit)}",
                bool(value >= limit),
                f"{cylinders[c]}, {when(ds, t)}",
            )
        )
    return found


def _metal(ds: "xr.Dataset", numbers: dict[str, Any], limits: dict[str, float]) -> list[Check]:
    found = []
    cylinders, spots = names(ds, "cylinder"), names(ds, "spot")
    metal = ds["metal_temperature"].values
    peak = numbers["peak_metal_temperature_K"]
    if "metal_red" in limits and cylinders:
        seconds = numbers["seconds_above_limit_s"]
        worst = max(seconds, key=lambda name: (seconds[name], peak[name]))
        allowed = limits.get("seconds_above_red", 0.0)
        t, s = _worst(metal[:, cylinders.index(worst)], 1)
        found.append(
            Check(
                "metal_red",
                f"Seconds of metal above {show_temperature(limits['metal_red'])}",
                f"{seconds[worst]:.1f} s",
                f"at most {allowed:g} s",
                bool(seconds[worst] <= allowed),
                f"{worst}, hottest {spots[s].replace('_', ' ')} at {show_temperature(peak[worst])}, {when(ds, t)}",
            )
        )
    if "metal_fail" in limits and cylinders:
        worst = max(peak, key=lambda name: peak[name])
        t, s = _worst(metal[:, cylinders.index(worst)], 1)
        found.append(
            Check(
                "metal_fail",
                "Hottest metal",
                show_temperature(peak[worst]),
                f"at most {show_temperature(limits['metal_fail'])}",
                bool(peak[worst] <= limits["metal_fail"]),
                f"{worst}, {spots[s].replace('_', ' ')}, {when(ds, t)}",
            )
        )
    if "liner" in limits and "liner" in spots:
        liner = metal[:, :, spots.index("liner")]
        t, c = _worst(liner, 1)
        found.append(
            Check(
                "liner",
                "Hottest cylinder wall",
                show_temperature(liner[t, c]),
                f"at most {show_temperature(limits['liner'])}",
                bool(liner[t, c] <= limits["liner"]),
                f"{cylinders[c]}, {when(ds, t)}",
            )
        )
    return found


def _coolant(ds: "xr.Dataset", limits: dict[str, float]) -> list[Check]:
    if "coolant" not in limits:
        return []
    coolant = ds["coolant_temperature"].values
    t, p = _worst(coolant, 1)
    value, limit = coolant[t, p], limits["coolant"]
    place = f"at {names(ds, 'point')[p]}, {when(ds, t)}"
    title = "Hottest coolant"
    bound = f"at most {show_temperature(limit)}"
    return [Check("coolant", title, show_temperature(value), bound, bool(value <= limit), place)]


def _pressures(ds: "xr.Dataset", limits: dict[str, float]) -> list[Check]:
    found = []
    rated = rated_parts(ds)
    share = limits.get("rating_margin", 1.0)
    if rated:
        worst = rated[0]
        allowed = share * worst["rating"]
        bound = f"at most {show_pressure(allowed)}" + (f", {share:.0%} of its rating" if share < 1 else ", its rating")
        found.append(
            Check(
                "rating",
                f"Pressure at the weakest part: {worst['part']}",
                f"{show_pressure(worst['peak'])}, {worst['use']:.0%} of its rating",
                bound,
                bool(worst["peak"] <= allowed),
                f"at {worst['point']}, {when(ds, worst['index'])}",
            )
        )
    if limits.get("pressure") is not None:
        gauge = ds["gauge_pressure"].values
        t, p = _worst(gauge, 1)
        value, limit = gauge[t, p], limits["pressure"]
        found.append(
            Check(
                "pressure",
                "Highest pressure anywhere",
                show_pressure(value),
                f"at most {show_pressure(limit)}",
                bool(value <= limit),
                f"at {names(ds, 'point')[p]}, {when(ds, t)}",
            )
        )
    return found


def _suction(ds: "xr.Dataset", limits: dict[str, float]) -> list[Check]:
    found = []
    pumps = names(ds, "pump")
    if "suction_margin" in limits and pumps:
        margin = ds["suction_margin"].values
        t, p = _worst(margin, -1)
        value, limit = margin[t, p], limits["suction_margin"]
        found.append(
            Check(
                "suction_margin",
                "Suction margin (head available less required)",
                f"{value:.2f} m ({value / 0.3048:.1f} ft)",
                f"at least {limit:.2f} m ({limit / 0.3048:.1f} ft)",
                bool(value >= limit),
                f"{pumps[p]}, {when(ds, t)}",
            )
        )
    points = names(ds, "point")
    suction = [i for i, point in enumerate(points) if point.endswith(".suction")]
    if "suction_pressure" in limits and suction:
        gauge = ds["gauge_pressure"].values[:, suction]
        t, p = _worst(gauge, -1)
        value, limit = gauge[t, p], limits["suction_pressure"]
        found.append(
            Check(
                "suction_pressure",
                "Lowest pressure at a pump's suction",
                show_pressure(value),
                f"at least {show_pressure(limit)}",
                bool(value >= limit),
                f"at {points[suction[p]]}, {when(ds, t)}",
            )
        )
    return found


def _evenness(numbers: dict[str, Any], limits: dict[str, float]) -> list[Check]:
    found = []
    for key, title, flows in (
        ("bank_spread", "Bank split (difference over mean)", numbers["pass_bank_flow_m3_s"]),
        ("cylinder_spread", "Cylinder split (range over mean)", numbers["pass_cylinder_flow_m3_s"]),
    ):
        value = numbers[f"pass_{key}"]
        if key not in limits or value is None or math.isnan(value):
            continue
        if key == "bank_spread":
            place = ", ".join(f"{bank} {show_flow(flow)}" for bank, flow in flows.items())
        else:
            least, most = min(flows, key=flows.get), max(flows, key=flows.get)
            place = f"least {least} {show_flow(flows[least])}, most {most} {show_flow(flows[most])}"
        bound = f"at most {limits[key]:.0%}"
        found.append(
            Check(key, title, f"{value:.0%}", bound, bool(value <= limits[key]), f"{place}, mean of the last pass")
        )
    return found


def hottest_cylinder(ds: "xr.Dataset", numbers: dict[str, Any]) -> tuple[str, tuple[str, ...]]:
    """The cylinder with the hottest metal, and the reasons that the run shows for it, the strongest first."""
    peak = numbers["peak_metal_temperature_K"]
    if not peak:
        return "", ()
    hottest = max(peak, key=peak.get)
    bank, position = bank_of(hottest), position_of(hottest)
    why = []
    dry = numbers["peak_dry_share"].get(hottest, 0.0)
    if dry > DRY:
        others = sum(share > DRY for share in numbers["peak_dry_share"].values()) - 1
        also = (
            ""
            if others == 0
            else ", as in every other cylinder"
            if others == len(peak) - 1
            else f", as in {others} others"
        )
        why.append(f"dry: {dry:.0%} of its roof or bridge was past the critical heat flux (film boiling){also}")
    gas = _gas_at(ds, hottest)
    if gas > GAS:
        why.append(f"air or steam filled up to {gas:.0%} of the passage past its chamber")
    flows = numbers["pass_cylinder_flow_m3_s"]
    if flows:
        mean = float(np.mean(list(flows.values())))
        own = flows[hottest]
        if own < STARVED * mean:
            banks = numbers["pass_bank_flow_m3_s"]
            of_bank = banks.get(bank, math.nan) / max(sum(banks.values()), 1e-12)
            share = f", its bank has {of_bank:.0%} of all flow" if of_bank < 0.4 else ""
            why.append(f"starved: {show_flow(own)} in the last pass against a mean of {show_flow(mean)}{share}")
        elif own < 0.97 * mean:
            why.append(f"{1 - own / mean:.0%} less flow than the mean cylinder ({show_flow(own)} of {show_flow(mean)})")
    last = max(position_of(name) for name in peak if bank_of(name) == bank)
    if position == last:
        why.append(f"rear: the last cylinder of the {bank} bank")
    elif position == 1:
        why.append(f"front: the first cylinder of the {bank} bank")
    span = max(peak.values()) - min(peak.values())
    if span < 3.0:
        why.append(f"all cylinders lie within {show_temperature_difference(span)}")
    return hottest, tuple(why)


def _gas_at(ds: "xr.Dataset", cylinder: str) -> float:
    """Greatest gas fraction at the head passage of a cylinder."""
    points = names(ds, "point")
    own = [i for i, point in enumerate(points) if point == f"engine.{cylinder}.head"]
    return float(ds["gas_fraction"].values[:, own].max()) if own else 0.0
