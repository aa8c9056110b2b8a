"""The sheets of a car: one gathering of runs, and a registry of the pages that are made of it.

A sheet is a row of `SHEETS`: a key, a title, a file, a template, and what it takes from the material. A new sheet that
needs other runs adds a field to `Material` and fills it in `gather`.
"""

import dataclasses
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d import gauge_card
from sim1d.car import Car
from sim1d.cautions import cautions
from sim1d.cut_sheet import CutSheet, Cutting, cut_sheet, cuttings, governing_part
from sim1d.cut_soak import Soak, day_with_cut, soak_after
from sim1d.cut_trial import Trial, leak_numbers, leaking, leaking_run, sound_numbers, worst_leak
from sim1d.day import Day, Role
from sim1d.errors import DescriptionError, Problem
from sim1d.gauge_card import GaugeCard, with_night, without_cuts
from sim1d.parts.sensor import SensorKind
from sim1d.reading_results import names
from sim1d.sensor_sheet import SensorFinding, sensor_findings
from sim1d.uncertainty import SAMPLES, Sample, Spread, ranges, spread

if TYPE_CHECKING:
    import xarray as xr

    from sim1d.simulation import History

NIGHTS = 8  # samples that also stand until next morning: a night costs more steps than the day
STILL_CUT = (
    "A cut limits damage, it does not prevent it: what the metal has taken is taken. A sudden failure (a burst hose, a "
    "cracked head, a gasket blown through) outruns every chain. A cut at speed is a hazard of its own; whether, how "
    "and when an engine may be cut is said by the rulebook and the track."
)
NOT_MEASURED = (
    "Computed from a description, not measured. A reading outside its band says that this car, its fill or its sensor "
    "is not as described; a reading inside it does not prove that all is well."
)


@dataclass(frozen=True)
class Material:
    """What the sheets are made of: the car and day as given, one run of the file's values (no cut acts, sound gasket,
    a night after the day), the samples, the worst leaking run, and the run with the engine cut."""

    car: Car
    day: Day
    ds: "xr.Dataset"
    samples: Spread
    bands: int
    findings: tuple[SensorFinding, ...]
    cuts: tuple[CutSheet, ...]
    leak: "xr.Dataset | None"
    soak: Soak | None
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Shutdown:
    """The shutdown sheet: one cut for each sensor that can cut, the soak after it, what stands in the way of more."""

    cuts: tuple[CutSheet, ...]
    soak: Soak | None
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Sheet:
    """One page: its key (in JSON), title, file, template, and the content it takes from the material."""

    key: str
    title: str
    file: str
    template: str
    content: Callable[[Material], Any]
    words: str


def _gauge_card(material: Material) -> GaugeCard:
    return gauge_card.gauge_card(material.ds, material.car, material.samples)


def _sensors(material: Material) -> tuple[SensorFinding, ...]:
    return material.findings


def _shutdown(material: Material) -> Shutdown:
    return Shutdown(material.cuts, material.soak, material.notes)


SHEETS = (
    Sheet("gauge_card", "Gauge card", "gauge_card.html", "sheets_card.html", _gauge_card, NOT_MEASURED),
    Sheet("sensors", "What the sensors miss", "sensors.html", "sheets_sensors.html", _sensors, NOT_MEASURED),
    Sheet("shutdown", "Engine protection cut", "shutdown.html", "sheets_shutdown.html", _shutdown, STILL_CUT),
)


def _run(car: Car, day: Day) -> "tuple[History, xr.Dataset]":
    from sim1d.prepare import prepared
    from sim1d.results import dataset
    from sim1d.simulation import integrate

    history = integrate(prepared(car, day))
    return history, dataset(history)


def gather(
    car: Car, day: Day, n: int = SAMPLES, *, seed: int = 1, measured: Sequence[str] = (),
    progress: Callable[[str, float], None] | None = None,
) -> Material:  # fmt: skip
    """Simulate what the sheets need: the car as described, `n` samples of it, sound and leaking, and a cut.

    `progress(text, share done)` is called between runs. Raises DescriptionError for a car without sensors.
    """
    if not car.sensors:
        raise DescriptionError([Problem("sensors", "the car has no sensor", "add a table [sensors.NAME]")])
    tell = progress or (lambda text, share: None)
    notes = []
    sound = without_cuts(car)
    if car.head_gasket.leaks:
        notes.append("The file's head gasket leaks: the gauge card is that of the same car with a sound one.")
        sound = sound.with_value("head_gasket.leaks", False)
    night = with_night(day)
    tell("the day as described", 0.0)
    history, ds = _run(sound, night)
    found = cuttings(car)
    chains = {one.sensor: one.chain for one in found}
    has_pass = any(phase.role is Role.PASS for phase in day.phases)
    weakest = {one.sensor: governing_part(ds, sound, one) if has_pass else "" for one in found}
    trial = Trial(chains if has_pass else {}, weakest)
    leaky, leak, ramps = sound, None, dict[str, float]()
    if trial.chains and ds.attrs["outcome_name"] == "COMPLETED":
        tell("a leaking gasket", 0.02)
        leaky = leaking(without_cuts(car), _hottest(ds))
        leak = leaking_run(worst_leak(leaky), day, history)
        numbers = leak_numbers(leak, sound, trial, ds)
        ramps = {name: numbers[f"ramp.{name}"] for name in chains}

    def evaluate(one: Sample, _: Day) -> Mapping[str, float]:
        whole = night if one.number < NIGHTS else day
        own = one.car if not one.car.head_gasket.leaks else one.car.with_value("head_gasket.leaks", False)
        past, result = _run(own, whole)
        row = gauge_card.evaluate(one, result)
        row |= {f"error.{name}": error for name, error in one.sensor_error.items()}
        if leak is not None:
            row |= sound_numbers(result, own, trial)
            row |= leak_numbers(leaking_run(one.car, day, past), own, trial, result)
        return row

    samples = spread(
        leaky, day, n, evaluate, seed=seed, measured=measured,
        progress=lambda done, count: tell(f"sample {done} of {count}", 0.05 + 0.85 * done / count),
    )  # fmt: skip
    tell("the cut", 0.92)
    sheets = []
    case = sound_numbers(ds, sound, trial) if trial.chains else {}
    for one in found if leak is not None else []:
        sheet = cut_sheet(ds, sound, one, samples, ramps[one.sensor], trial, day, case)
        if sheet is None:
            notes.append(f"{one.sensor}: no window, because no part is rated or no sample is a normal day.")
        else:
            sheets.append(sheet)
    reason = gauge_card.not_normal(ds)
    if reason:
        notes.append(f"The day as described is not a normal one: {reason}. Its readings are no card to go by.")
    notes += _why_no_cut(car, ds, found, has_pass)
    soak = soak_after(_run(sound, day_with_cut(day))[1]) if has_pass else None
    tell("done", 1.0)
    return Material(
        car, day, ds, samples, len(ranges(leaky, measured)), tuple(sensor_findings(ds, car)), tuple(sheets), leak, soak,
        tuple(notes),
    )  # fmt: skip


def _why_no_cut(car: Car, ds: "xr.Dataset", found: Sequence[Cutting], has_pass: bool) -> list[str]:
    """What stands in the way of a window, in words."""
    reasons = []
    if not found:
        reasons.append("No pressure sensor is described, so there is nothing that a pressure cut could act on.")
    if not has_pass:
        reasons.append("The day has no pass, so neither a normal maximum nor a leak can be found.")
    if ds.attrs["outcome_name"] != "COMPLETED":
        reasons.append(f"The day as described stops: {ds.attrs['outcome']} Mend that before thinking of a cut.")
    for name, sensor in car.sensors.items():
        if sensor.kind is SensorKind.TEMPERATURE and sensor.cut is not None:
            reasons.append(
                f"{name} cuts on temperature: no window is found for it; the sensor sheet says how late it is."
            )
    return reasons


def _hottest(ds: "xr.Dataset") -> str:
    """The cylinder with the hottest metal: where a gasket is taken to lift."""
    metal = ds["metal_temperature"].values.max(axis=(0, 2))
    return names(ds, "cylinder")[int(np.argmax(metal))] if len(metal) else ""


def render(sheet: Sheet, material: Material) -> str:
    """HTML of one sheet: self-contained, made to be printed on A4, with the cautions of the run."""
    from sim1d import plots_sheets, report

    content = sheet.content(material)
    figures = plots_sheets.figures(sheet.key, material.ds, material.leak, content)
    name = material.car.name or "the car"
    return report._page(
        sheet.template,
        title=f"{sheet.title}: {name}",
        sheet=sheet,
        content=content,
        day=material.day.name,
        samples=material.samples,
        figures=figures,
        notes=material.notes,
        cautions=cautions(material.ds),
        invented="invented" in f"{material.car.note} {material.day.note}".lower(),
        **report_words(),
    )


def report_words() -> dict[str, Any]:
    """Functions and constants that the templates of the sheets use."""
    from sim1d import display, terminal_sheets

    return dict(
        show_pressure=display.show_pressure, show_difference=display.show_temperature_difference,
        show_temperature=display.show_temperature, words=terminal_sheets, isnan=math.isnan,
    )  # fmt: skip


def as_data(material: Material) -> dict[str, Any]:
    """Every sheet as plain data for JSON, SI; a number that does not exist is None."""
    found: dict[str, Any] = {sheet.key: plain(sheet.content(material)) for sheet in SHEETS}
    found["samples"] = {
        "asked": material.samples.asked, "failed": [list(one) for one in material.samples.failed],
        "how": material.samples.how, "bands": material.bands,
    }  # fmt: skip
    found["cautions"] = [*cautions(material.ds), *(sheet.words for sheet in SHEETS)]
    return found


def plain(value: Any) -> Any:
    """Dataclasses, enums, tuples and numpy numbers as JSON knows them; properties of a window spelled out."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {item.name: plain(getattr(value, item.name)) for item in dataclasses.fields(value)}
    if isinstance(value, Enum):
        return value.name.lower()
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, (float, np.floating)):
        return float(value) if math.isfinite(value) else None
    return value.item() if isinstance(value, np.generic) else value
