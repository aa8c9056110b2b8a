"""The shutdown sheet of one sensor: the window with its terms, the threshold of the file, rates, changes, advice."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sim1d.car import Car
from sim1d.cut_chain import Chain, chain_of
from sim1d.cut_trial import Trial, guards, limit_of, listens, sound_numbers
from sim1d.cut_window import (
    Change,
    Judgement,
    Places,
    Rate,
    Sampled,
    Terms,
    Window,
    rate_of_false_trips,
    rate_of_misses,
    single_changes,
)  # fmt: skip
from sim1d.day import Day
from sim1d.display import show_pressure
from sim1d.errors import DescriptionError
from sim1d.parts.cap import CapPlace
from sim1d.parts.sensor import Cut, SensorKind
from sim1d.reading_results import names, when
from sim1d.sensor_sheet import place_pressure, rated_points, sensor_findings
from sim1d.uncertainty import Band, Spread, band_of, strongest

if TYPE_CHECKING:
    import xarray as xr

FASTER = (60e3, 150e3, 400e3)  # Pa/s, ramps at which the overshoot is shown beside the worst credible one: assumed
NOTHING = 500.0  # Pa of acceleration on a reading that is not worth a word: a tenth of a sensor's error (assumed)
MORE_GAS = 1.5  # times the tank's volume that is tried where there is no window


@dataclass(frozen=True)
class Cutting:
    """A sensor that cuts, or could: its chain, whether the file gives it, and the threshold of the file (Pa gauge)."""

    sensor: str
    at: str
    chain: Chain
    given: bool
    threshold: float | None


@dataclass(frozen=True)
class PartLimit:
    """A rated part as this sensor sees it: allowed pressure there and the reading at which it is reached, Pa gauge."""

    part: str
    point: str
    allowed: float
    reading: float
    when: str


@dataclass(frozen=True)
class CutSheet:
    """Everything about the cut of one sensor; see docs/explanation/cut-window.md.

    `parts` and `changes` come in order; `tried` is the threshold that the rates hold for; `faster` are (ramp Pa/s,
    overshoot Pa); `unknowns` the inputs that the spread of the normal maximum goes with (path, rank correlation).
    """

    cutting: Cutting
    terms: Terms
    window: Window
    judgement: Judgement | None
    tried: float | None
    parts: tuple[PartLimit, ...]
    limit_band: Band
    normal_band: Band
    normal_ramp: float
    leak_ramp: float
    cap_reads: float | None
    faster: tuple[tuple[float, float], ...]
    false_trips: Rate
    misses: Rate
    acts: Rate
    unknowns: tuple[tuple[str, float], ...]
    changes: tuple[Change, ...]
    advice: tuple[str, ...]


def cuttings(car: Car) -> list[Cutting]:
    """The pressure sensors that cut; where none does, the first at the engine (or the first) with the usual chain."""
    gauges = {name: s for name, s in car.sensors.items() if s.kind is SensorKind.PRESSURE and s.at in car.points}
    cutting = [
        Cutting(name, s.at, chain_of(s, s.cut), True, s.cut.pressure)
        for name, s in gauges.items()
        if s.cut is not None
    ]
    if cutting or not gauges:
        return cutting
    name = next((name for name, s in gauges.items() if s.at.startswith("engine")), next(iter(gauges)))
    return [Cutting(name, gauges[name].at, chain_of(gauges[name], Cut()), False, None)]


def governing_part(ds: "xr.Dataset", car: Car, cutting: Cutting) -> str:
    """The part that limits a sensor in one run; "" when none is rated."""
    place = place_pressure(ds, car, cutting.sensor)
    return limit_of(guards(ds), place, listens(ds, cutting.chain.launch_lockout))[1][0]


def part_limits(ds: "xr.Dataset", car: Car, cutting: Cutting) -> tuple[PartLimit, ...]:
    """Every rated part and the reading at which it will reach its allowed pressure, lowest reading first."""
    place = place_pressure(ds, car, cutting.sensor)
    heard = listens(ds, cutting.chain.launch_lockout)
    allowed: dict[str, float] = {}
    for part, _, rating in rated_points(ds):
        allowed[part] = min(allowed.get(part, np.inf), rating * car.limits.rating_margin)
    found = []
    everything = set(allowed)
    for part in allowed:
        reading, (_, point), index = limit_of(guards(ds, everything - {part}), place, heard)
        if np.isfinite(reading):
            found.append(PartLimit(part, point, allowed[part], reading, when(ds, index)))
    return tuple(sorted(found, key=lambda one: one.reading))


def _sampled(samples: Spread, name: str, point: str = "", word: str = "") -> Sampled:
    tail = f"{name}.{point}" if point else name
    values = samples.values
    return Sampled(
        values[f"{word}limit.{tail}"], values[f"{word}still.{tail}"], values[f"{word}moving.{tail}"],
        values[f"error.{name}"],
    )  # fmt: skip


def cut_sheet(
    ds: "xr.Dataset", car: Car, cutting: Cutting, samples: Spread, worst_ramp: float, trial: Trial, day: Day,
    case: Mapping[str, float],
) -> CutSheet | None:  # fmt: skip
    """The sheet of one sensor; None when no sample is normal or no part is rated.

    `ds` is the run of the file's values, `case` its numbers (`sound_numbers`), `worst_ramp` (Pa/s) that of the worst
    leak; `samples` hold the numbers of `sound_numbers` and `leak_numbers` and "error.SENSOR".
    """
    name = cutting.sensor
    here = samples.values.get(f"limit.{name}", np.empty(0))
    if not here.size or not np.isfinite(here).all():
        return None
    leak_ramp = max(worst_ramp, float(np.nanmax(samples.values[f"ramp.{name}"])))
    normal_ramp = float(np.nanmax(samples.values[f"normal_ramp.{name}"]))
    error = car.sensors[name].error
    places = Places(
        here=_sampled(samples, name),
        elsewhere={
            point: _sampled(samples, name, point)
            for point in names(ds, "point")
            if point != cutting.at and np.isfinite(samples.values[f"limit.{name}.{point}"]).all()
        },
        second_part=governing_second(ds, car, cutting, trial.weakest.get(name, "")),
        second_limit=samples.values.get(f"second_limit.{name}", here),
        locked=_sampled(samples, name, word="locked_"),
    )
    terms = places.here.terms(max(leak_ramp, normal_ramp), cutting.chain.lag, error)
    window = terms.window
    changes = single_changes(places, terms, cutting.chain)
    if not window.exists:
        changes = sorted(
            [*changes, *_simulated_again(car, day, cutting, terms, trial, case)], key=lambda one: -one.window.width
        )
    tried = cutting.threshold
    if tried is None and window.exists:
        tried = (window.lowest + window.highest) / 2
    drawn = places.here.error
    quiet = samples.values[f"quiet.{name}"] + drawn
    maxima = np.maximum(places.here.still, places.here.moving) + drawn
    return CutSheet(
        cutting=cutting, terms=terms, window=window,
        judgement=None if cutting.threshold is None else window.judge(cutting.threshold), tried=tried,
        parts=part_limits(ds, car, cutting), limit_band=band_of(here, f"of {samples.counted}"),
        normal_band=band_of(maxima, f"of {samples.counted}"), normal_ramp=normal_ramp, leak_ramp=leak_ramp,
        cap_reads=_cap_reads(ds, car, cutting), faster=tuple((r, cutting.chain.overshoot(r)) for r in FASTER),
        false_trips=Rate(0, 0) if tried is None else rate_of_false_trips(quiet, tried),
        misses=Rate(0, 0) if tried is None else rate_of_misses(samples.values[f"caught.{name}"] + drawn, tried),
        acts=Rate(0, 0) if tried is None else _acts(samples.values[f"seen.{name}"] + drawn, tried),
        unknowns=tuple(strongest(samples, maxima)), changes=tuple(changes),
        advice=tuple(_advice(ds, car, cutting, case)),
    )  # fmt: skip


def _acts(seen: np.ndarray, threshold: float) -> Rate:
    known = seen[~np.isnan(seen)]
    return Rate(int(np.sum(known >= threshold)), len(known))


def governing_second(ds: "xr.Dataset", car: Car, cutting: Cutting, weakest: str) -> str:
    """The part that would limit the sensor if the weakest did not."""
    if not weakest:
        return ""
    place = place_pressure(ds, car, cutting.sensor)
    found = limit_of(guards(ds, {weakest}), place, listens(ds, cutting.chain.launch_lockout))
    return found[1][0] if np.isfinite(found[0]) else ""


def _cap_reads(ds: "xr.Dataset", car: Car, cutting: Cutting) -> float | None:
    """Highest reading in a pass at which the cap begins to open, Pa gauge: its opening less its offset."""
    point = "expansion_tank" if car.cap.at is CapPlace.EXPANSION_TANK else "radiator.inlet_tank"
    points = names(ds, "point")
    if point not in points:
        point = "radiator.inlet"
    guarded = guards(ds)
    if point not in points or not guarded:
        return None
    span = guarded[-1].span
    offset = place_pressure(ds, car, cutting.sensor)[span] - ds["gauge_pressure"].values[span, points.index(point)]
    return car.cap.opens + float(offset.max())


def _simulated_again(
    car: Car, day: Day, cutting: Cutting, terms: Terms, trial: Trial, case: Mapping[str, float]
) -> list[Change]:
    """Changes of the plumbing that move the window, each simulated once; the spread of the samples stays."""
    from sim1d.simulation import simulate

    name = cutting.sensor
    found = []
    for what, values in _plumbing(car):
        try:
            changed = car.with_values(values)
            other = sound_numbers(simulate(changed, day), changed, replace(trial, weakest={}))
        except (DescriptionError, KeyError):
            continue

        def moved(word: str, other: Mapping[str, float] = other) -> float:
            return other[f"{word}.{name}"] - case[f"{word}.{name}"]

        shifted = replace(terms, limit=terms.limit + moved("limit"), normal=terms.normal + moved("still"))
        found.append(Change(what, shifted.window))
    return found


def _plumbing(car: Car) -> "list[tuple[str, dict[str, object]]]":
    """Changes of the plumbing that may open a window: where the tank is teed, and how much gas it holds."""
    found: list[tuple[str, dict[str, object]]] = []
    tank = car.expansion_tank
    if tank is None:
        return found
    suction = next((f"{pump}.suction" for pump in car.pumps), "")
    for line_name, line in car.lines.items():
        ends = (line.start, line.end)
        if "expansion_tank.fill" in ends and suction and suction not in ends:
            end = "to" if line.start == "expansion_tank.fill" else "from"
            found.append((f"the tank's tee at the suction ({suction})", {f"lines.{line_name}.{end}": suction}))
    volume = min(MORE_GAS * tank.volume, 0.03)
    what = f"a tank of {volume * 1000:.2g} L with the same liquid (more gas)"
    found.append((what, {"expansion_tank.volume": volume}))
    return found


def _advice(ds: "xr.Dataset", car: Car, cutting: Cutting, case: Mapping[str, float]) -> list[str]:
    """What launch and parachute do to the reading, and whether a lock-out helps."""
    finding = next(one for one in sensor_findings(ds, car) if one.sensor == cutting.sensor)
    launch = getattr(finding, "launch_error", 0.0)
    braking = getattr(finding, "braking_error", 0.0)
    name = cutting.sensor
    found = []
    gained = max(case[f"still.{name}"], case[f"moving.{name}"]) - max(
        case[f"locked_still.{name}"], case[f"locked_moving.{name}"]
    )
    if launch > NOTHING:
        found.append(
            f"Launch lifts the reading by {show_pressure(launch, '')} as long as it lasts; a lock-out of 1 s at launch "
            f"lowers the normal maximum by {show_pressure(max(gained, 0.0), '')}."
        )
    elif launch > -NOTHING:
        found.append("Launch does not move the reading (the sensor sits beside the gas): no lock-out for its sake.")
    else:
        found.append(
            f"Launch lowers the reading by {show_pressure(-launch, '')} (the sensor sits ahead of the gas): no "
            "lock-out is needed for its sake, and the cut hears a rise late by that much. A spinning wheel takes it "
            "away."
        )
    if cutting.chain.launch_lockout > 0.0:
        found.append(
            f"Locked out for {cutting.chain.launch_lockout:g} s from launch: a gasket that lifts there is not heard."
        )
    if braking > NOTHING:
        found.append(
            f"Under the parachute the reading rises by {show_pressure(braking, '')} with the engine at idle: let the "
            "cut not act in the coast, where it saves nothing."
        )
    elif braking > -NOTHING:
        found.append("The parachute does not move the reading: no lock-out for its sake.")
    else:
        found.append(f"The parachute lowers the reading by {show_pressure(-braking, '')}: no lock-out for its sake.")
    return found
