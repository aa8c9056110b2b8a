"""Every named fault of a car on one day: which limit breaks first, how soon, and which gauge tells in time."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sim1d.display import show_pressure, show_temperature
from sim1d.errors import DescriptionError
from sim1d.faults import Fault, chosen, faults_of
from sim1d.faults.alarms import Alarm, alarms, matched
from sim1d.faults.breaks import STOPPED, TEASPOON, Break, breaks
from sim1d.parts.sensor import SensorKind
from sim1d.reading_results import names, passes, structured

if TYPE_CHECKING:
    import xarray as xr

    from sim1d.car import Car
    from sim1d.day import Day

BAND = "No band: one run each. Past the critical heat flux the seconds are an order of magnitude."
DRIVER = 1.0  # s that a driver needs to see a light and lift (assumed); less is time for a controller alone
SAME_METAL = 1.0  # K of peak metal below which a fault is said to have no effect: ten times the integration's error


@dataclass(frozen=True)
class Peak:
    """What a run came to: hottest metal (K), highest gauge pressure (Pa), their places, coolant lost (kg), cuts."""

    metal: float
    metal_at: str
    pressure: float
    pressure_at: str
    lost: float
    cuts: tuple[dict[str, Any], ...]

    @classmethod
    def of(cls, ds: "xr.Dataset") -> "Peak":
        """From a result dataset."""
        metal = ds["metal_temperature"].max("time")
        flat = int(metal.values.argmax())
        cylinder, spot = divmod(flat, metal.sizes["spot"])
        gauge = ds["gauge_pressure"].max("time").values
        at = int(gauge.argmax())
        place = f"{names(ds, 'cylinder')[cylinder]}, {names(ds, 'spot')[spot].replace('_', ' ')}"
        lost = float(ds["coolant_lost"].values[-1])
        cuts = tuple(structured(ds, "cuts", []))
        return cls(float(metal.values.flat[flat]), place, float(gauge[at]), names(ds, "point")[at], lost, cuts)


@dataclass(frozen=True)
class FaultRun:
    """One fault, simulated and held against the run without it (`against`: the name of that run).

    `limit` is the first limit that breaks here and not there; `sooner` holds (what breaks in both, how many seconds
    sooner here); `launches` are the starts of the passes (s of the day). `refused` says why it could not be simulated
    (then there is nothing else).
    """

    fault: Fault
    against: str
    outcome: str = ""
    completed: bool = False
    limit: Break | None = None
    sooner: tuple[tuple[Break, float], ...] = ()
    alarms: tuple[Alarm, ...] = ()
    launches: tuple[float, ...] = ()
    peak: Peak | None = None
    reference: Peak | None = None
    refused: str = ""

    @property
    def best(self) -> Alarm | None:
        """The sensor that differs visibly longest before the limit; None where none does so in time."""
        leading = [alarm for alarm in self.alarms if alarm.lead is not None and alarm.lead > 0]
        return max(leading, key=lambda alarm: alarm.lead or 0.0, default=None)

    @property
    def first(self) -> Alarm | None:
        """The sensor that differs first, limit or no limit."""
        moved = [alarm for alarm in self.alarms if alarm.moved_at is not None]
        return min(moved, key=lambda alarm: alarm.moved_at or 0.0, default=None)

    @property
    def has_effect(self) -> bool:
        """Something that a builder could notice is different: a limit, a gauge, metal, coolant or a cut."""
        if self.peak is None or self.reference is None:
            return False
        metal = abs(self.peak.metal - self.reference.metal) > SAME_METAL
        lost = abs(self.peak.lost - self.reference.lost) > TEASPOON
        cut = len(self.peak.cuts) != len(self.reference.cuts) or abs(self.cut_later or 0.0) > 0.01
        return bool(self.limit or self.sooner or self.first or metal or lost or cut)

    @property
    def cut_later(self) -> float | None:
        """How much later (s) the first cut acts than in the run without the fault; None where one of them has none."""
        if self.peak is None or self.reference is None or not self.peak.cuts or not self.reference.cuts:
            return None
        return float(self.peak.cuts[0]["time_s"] - self.reference.cuts[0]["time_s"])

    @property
    def helps(self) -> str:
        """Which alarm helps, in words."""
        if self.refused:
            return ""
        if self.limit is None:
            first = self.first
            return f"{first.sensor} moves, {first.moved_when}" if first else "no gauge shows it"
        best = self.best
        if best is None or best.lead is None:
            return "no gauge shows it in time"
        word = "" if best.lead >= DRIVER else ", time for a controller and not for a driver"
        return f"{best.sensor}, {seconds(best.lead)} before{word}"


@dataclass(frozen=True)
class FaultsResult:
    """The run without a fault, every fault that was simulated (first limit first), and those that do not fit."""

    outcome: str
    completed: bool
    broken: tuple[Break, ...]
    peak: Peak
    runs: tuple[FaultRun, ...]
    unfit: tuple[Fault, ...]


@dataclass(frozen=True)
class _Simulated:
    ds: "xr.Dataset"
    breaks: dict[str, Break]
    peak: Peak

    @classmethod
    def of(cls, car: "Car", day: "Day") -> "_Simulated":
        from sim1d.simulation import simulate

        ds = simulate(car, day)
        return cls(ds, breaks(ds), Peak.of(ds))


def faults_study(
    car: "Car", day: "Day", wanted: list[str] | None = None, progress: Callable[[int, int, str], None] | None = None
) -> FaultsResult:
    """Simulate `day` without a fault and with each of those named in `wanted` (left out: all that fit).

    `progress(done, all, name)` is called before each run. Raises DescriptionError for a name that does not exist, and
    for a car that cannot be simulated without a fault.
    """
    everything = faults_of(car, day)
    picked = chosen(everything, wanted or [])
    fitting = [fault for fault in picked if not fault.unfit]
    by_name = {fault.name: fault for fault in everything}
    done: dict[str, _Simulated] = {}
    count = len(fitting) + 1

    def simulated(number: int, name: str, key: str, a_car: "Car", a_day: "Day") -> _Simulated:
        if key not in done:
            if progress is not None:
                progress(number, count, name)
            done[key] = _Simulated.of(a_car, a_day)
        return done[key]

    base = simulated(0, "without a fault", "", car, day)
    runs = []
    for number, fault in enumerate(fitting, 1):
        under = None
        try:
            below = base
            for name in fault.on_top_of:
                other = by_name.get(name)
                if other is None or other.unfit:
                    continue
                there = simulated(number, fault.name, other.switch, *other.apply(_with_its_air(other, car), day))
                if under is None or there.peak.cuts:
                    under, below = other, there
                if there.peak.cuts:
                    break
            its_car, its_day = (car, day) if under is None else under.apply(_with_its_air(under, car), day)
            key = f"{under.switch if under else ''} {fault.switch}".strip()
            above = simulated(number, fault.name, key, *fault.apply(_with_its_air(fault, its_car), its_day))
        except DescriptionError as error:
            why = "; ".join(f"{problem.where}: {problem.what}" for problem in error.problems)
            runs.append(FaultRun(fault, under.name if under else "", refused=why))
            continue
        runs.append(compared(fault, under.name if under else "", car, above, below))
    runs.sort(key=lambda run: (run.limit.time if run.limit else math.inf, not run.has_effect))
    outcome, completed = str(base.ds.attrs.get("outcome", "")), STOPPED not in base.breaks
    unfit = tuple(fault for fault in picked if fault.unfit)
    return FaultsResult(outcome, completed, tuple(base.breaks.values()), base.peak, tuple(runs), unfit)


def _with_its_air(fault: Fault, car: "Car") -> "Car":
    """The car with the air that its fill leaves written down, where a fault adds more: a file's air replaces it."""
    from sim1d.fill import remaining_air

    adds = any(path.startswith("trapped_air.") for path, _ in fault.car_values)
    if not adds or "trapped_air" in car.model_fields_set:
        return car
    return car.with_values({f'trapped_air."{place}"': volume for place, volume in remaining_air(car).items()})


def compared(fault: Fault, against: str, car: "Car", run: _Simulated, below: _Simulated) -> FaultRun:
    """Hold a run with a fault against the one below it, without the fault."""
    new = [found for key, found in run.breaks.items() if key not in below.breaks]
    limit = new[0] if new else None
    instants = matched(run.ds, below.ds)
    sooner = []
    for key, found in run.breaks.items():
        other = below.breaks.get(key)
        if other is not None:
            seconds_sooner = other.time - float(instants[found.index])
            if seconds_sooner > DRIVER:
                sooner.append((found, seconds_sooner))
    return FaultRun(
        fault=fault, against=against, outcome=str(run.ds.attrs.get("outcome", "")),
        completed=STOPPED not in run.breaks, limit=limit, sooner=tuple(sooner),
        alarms=alarms(car, run.ds, below.ds, limit.index if limit else None), peak=run.peak, reference=below.peak,
        launches=tuple(float(run.ds["time"].values[span.start]) for _, span in passes(run.ds)),
    )  # fmt: skip


# Words and plain data --------------------------------------------------------------------------------------------


def seconds(value: float) -> str:
    """A duration as a person reads it: "0.42 s", "37 s", "14.2 min"."""
    if abs(value) >= 120:
        return f"{value / 60:.1f} min"
    return f"{value:.0f} s" if abs(value) >= 20 else f"{value:.2g} s"


def reading(value: float, kind: SensorKind) -> str:
    """What a gauge shows, in words."""
    return show_pressure(value) if kind is SensorKind.PRESSURE else show_temperature(value)


def table(result: FaultsResult) -> Iterator[dict[str, str]]:
    """Rows as text: fault, first limit broken and value, when, after start and launch, alarm, end, metal, lost."""
    for run in result.runs:
        row = {"fault": run.fault.name, "limit": "-", "when": "-", "day": "-", "launch": "-", "alarm": run.helps}
        row |= {"found": "", "end": run.refused and f"not simulated: {run.refused}", "metal": "-", "lost": "-"}
        if run.limit is not None:
            row |= {"limit": run.limit.title, "found": run.limit.found, "when": run.limit.when}
            row |= {"day": seconds(run.limit.time)}
            row |= {"launch": "before any" if run.limit.after_launch is None else seconds(run.limit.after_launch)}
        elif not run.refused:
            row["limit"] = "breaks no limit more" if run.has_effect else "no effect on this day"
        if run.sooner and run.limit is None:
            row["limit"] = "; ".join(f"{found.title} {seconds(early)} sooner" for found, early in run.sooner)
        if run.peak is not None:
            row["end"] = "whole day" if run.completed else run.outcome
            if run.peak.cuts:
                cut = run.peak.cuts[0]
                row["end"] += f"; cut on {cut['sensor']} in {cut['phase']} of round {cut['round']}"
                later = run.cut_later
                row["end"] += f", {later:+.2f} s" if later is not None else ""
            row |= {"metal": f"{run.peak.metal_at.split(',')[0]}, {show_temperature(run.peak.metal)}"}
            row |= {"lost": f"{run.peak.lost:.2f} kg"}
        yield row


def as_data(result: FaultsResult) -> dict[str, Any]:
    """The result as plain data for JSON, SI, gauge pressures; None where a number does not exist."""
    base = {
        "outcome": result.outcome,
        "completed": result.completed,
        "limits_broken": [_break(item) for item in result.broken],
        **_peak(result.peak),
    }
    return {
        "band": BAND,
        "without_fault": base,
        "faults": [_run(run) for run in result.runs],
        "does_not_fit": [{"name": fault.name, "title": fault.title, "why": fault.unfit} for fault in result.unfit],
    }


def _run(run: FaultRun) -> dict[str, Any]:
    fault = run.fault
    values = dict(fault.car_values) | {f"day.{path}": value for path, value in fault.day_values}
    data: dict[str, Any] = {
        "name": fault.name, "title": fault.title, "what": fault.what, "why": fault.why, "seen": fault.seen,
        "values": {path: list(value) if isinstance(value, tuple) else value for path, value in values.items()},
        "against": run.against or "without a fault",
    }  # fmt: skip
    if run.refused:
        return data | {"refused": run.refused}
    assert run.peak is not None  # only a refused run has none
    return data | {
        "outcome": run.outcome, "completed": run.completed, "has_effect": run.has_effect,
        "first_limit": _break(run.limit) if run.limit else None,
        "sooner": [_break(found) | {"sooner_s": early} for found, early in run.sooner],
        "alarm_that_helps": run.best.sensor if run.best else None, "helps": run.helps, "cut_later_s": run.cut_later,
        "gauges": [_alarm(alarm) for alarm in run.alarms], **_peak(run.peak),
    }  # fmt: skip


def _break(item: Break) -> dict[str, Any]:
    return {
        "limit": item.key, "title": item.title, "found": item.found, "place": item.place, "when": item.when,
        "time_s": item.time, "after_launch_s": item.after_launch,
    }  # fmt: skip


def _peak(peak: Peak) -> dict[str, Any]:
    return {
        "peak_metal_temperature_K": _number(peak.metal), "peak_metal_at": peak.metal_at,
        "peak_gauge_pressure_Pa": _number(peak.pressure), "peak_gauge_pressure_at": peak.pressure_at,
        "coolant_lost_kg": _number(peak.lost), "cuts": list(peak.cuts),
    }  # fmt: skip


def _alarm(alarm: Alarm) -> dict[str, Any]:
    unit = "Pa" if alarm.kind is SensorKind.PRESSURE else "K"
    moved, limit = alarm.moved or (math.nan, math.nan), alarm.at_limit or (math.nan, math.nan)
    return {
        "sensor": alarm.sensor, "at": alarm.place, "kind": alarm.kind.value, f"visible_from_{unit}": alarm.threshold,
        "moved_at_s": alarm.moved_at, "moved_when": alarm.moved_when or None,
        f"moved_shown_{unit}": _number(moved[0]), f"moved_without_{unit}": _number(moved[1]),
        f"at_limit_shown_{unit}": _number(limit[0]), f"at_limit_without_{unit}": _number(limit[1]),
        "lead_s": alarm.lead,
    }  # fmt: skip


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
