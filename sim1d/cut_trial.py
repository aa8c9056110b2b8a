"""What one run says of a cut: the normal maximum, the reading at a part's limit, ramps, what acts in time.

A sound run of the whole day gives the first two; a run of its last pass and coast with the head gasket leaking, from
the state of the sound run at launch, gives the ramp and what a threshold would have caught.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sim1d.car import Car
from sim1d.crossings import pieces
from sim1d.cut_chain import Chain, highest_trip, watch
from sim1d.day import Day, Role
from sim1d.reading_results import names, passes, structured
from sim1d.sensor_sheet import densities, gas_x, place_pressure, rated_points

if TYPE_CHECKING:
    import xarray as xr

    from sim1d.simulation import History

LOCKOUT = 1.0  # s after launch of the lock-out that is tried
RAMP_SPAN = 0.2  # s over which a ramp is measured: longer than the step of a gear shift, short against a pass
BEFORE = 5.0  # s before the launch from which a controller is followed, so that its filter has settled


@dataclass(frozen=True)
class Trial:
    """What is asked of a run: sensors (name -> chain) and the parts that are left out one at a time (the weakest)."""

    chains: Mapping[str, Chain]
    weakest: Mapping[str, str]  # sensor -> part that governs it, "" where that is not known yet


def listens(ds: "xr.Dataset", lockout: float) -> np.ndarray:
    """(time) the cut acts: the engine turns, and launch is longer ago than the lock-out."""
    time, found = ds["time"].values, ds["engine_speed"].values > 0.0
    for _, span in passes(ds):
        inside = np.arange(span.start, span.stop)
        found[inside[time[inside] - time[span.start] < lockout]] = False
    return found


def excess(ds: "xr.Dataset", without: Collection[str] = ()) -> tuple[np.ndarray, list[tuple[str, str]]]:
    """(time) pressure of the worst rated part above the gas and its allowed pressure (Pa), and (part, point) of each.

    `without` names parts that are left out. -inf where nothing is rated.
    """
    points, gauge = names(ds, "point"), ds["gauge_pressure"].values
    share = structured(ds, "limits", {}).get("rating_margin", 1.0)
    rated = [entry for entry in rated_points(ds) if entry[0] not in without]
    if not rated:
        return np.full(len(gauge), -np.inf), [("", "")] * len(gauge)
    table = np.stack([gauge[:, points.index(point)] - share * rating for _, point, rating in rated], axis=1)
    worst = table.argmax(axis=1)
    return table.max(axis=1) - ds["system_pressure"].values, [rated[k][:2] for k in worst]


def ahead(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Greatest of the values from each instant on, and where it is."""
    best = np.empty(len(values))
    at = np.empty(len(values), dtype=int)
    last = len(values) - 1
    for i in range(last, -1, -1):
        later = i < last and best[i + 1] > values[i]
        best[i], at[i] = (best[i + 1], at[i + 1]) if later else (values[i], i)
    return best, at


def pass_and_coast(ds: "xr.Dataset") -> list[tuple[slice, slice]]:
    """(pass, pass and the coast after it) as indices, for every pass."""
    role = ds["role"].values
    found = []
    for _, span in passes(ds):
        end = span.stop
        while end < len(role) and role[end] == Role.COAST.value:
            end += 1
        found.append((span, slice(span.start, end)))
    return found


@dataclass(frozen=True)
class Guard:
    """What must stay below zero from each instant of a pass to the end of its coast: `worst` (Pa above the gas).

    `span` are the indices of the pass, `gas` the pressure of the gas in it; `part`, `point` and `index` say which part
    decides at each instant, where, and when.
    """

    span: slice
    gas: np.ndarray
    worst: np.ndarray
    part: list[tuple[str, str]]
    index: np.ndarray


def guards(ds: "xr.Dataset", without: Collection[str] = ()) -> list[Guard]:
    """A guard for every pass; `without` names parts that are left out."""
    over, parts = excess(ds, without)
    gas = ds["system_pressure"].values
    found = []
    for span, whole in pass_and_coast(ds):
        best, at = ahead(over[whole])
        count = span.stop - span.start
        index = whole.start + at[:count]
        found.append(Guard(span, gas[span], best[:count], [parts[i] for i in index], index))
    return found


def limit_of(guarded: list[Guard], place: np.ndarray, heard: np.ndarray) -> tuple[float, tuple[str, str], int]:
    """Lowest reading (Pa) in a pass from which a part will reach its allowed pressure; which part, and index of when.

    `place` is pressure at the sensor's place, `heard` when the cut listens. inf when nothing is rated.
    """
    least, part, index = np.inf, ("", ""), 0
    for guard in guarded:
        reading = np.where(heard[guard.span], place[guard.span] - guard.gas - guard.worst, np.inf)
        k = int(np.argmin(reading))
        if reading[k] < least:
            least, part, index = float(reading[k]), guard.part[k], int(guard.index[k])
    return least, part, index


def steepest(time: np.ndarray, place: np.ndarray, spans: list[slice], span: float = RAMP_SPAN) -> float:
    """Steepest rise (Pa/s) over `span` seconds within the stretches between jumps of some slices of time; 0: none."""
    found = 0.0
    for inside in spans:
        t, p = time[inside], place[inside]
        for start, end in pieces(t):
            piece = slice(start, end)
            if end - start < 2 or t[end - 1] - t[start] < span:
                continue
            grid = np.arange(float(t[start]), float(t[end - 1]) - span, span / 20)
            rise = np.interp(grid + span, t[piece], p[piece]) - np.interp(grid, t[piece], p[piece])
            found = max(found, float(rise.max(initial=0.0)) / span)
    return found


def sound_numbers(ds: "xr.Dataset", car: Car, trial: Trial) -> dict[str, float]:
    """What a sound run says: by "word.sensor" and, for a sensor put elsewhere, by "word.sensor.point"."""
    points, gauge = names(ds, "point"), ds["gauge_pressure"].values
    nodes = structured(ds, "layout", {}).get("nodes", {})
    density = densities(car, ds["coolant_temperature"].values)
    distance = np.array([nodes[point]["x"] - gas_x(car) for point in points])
    column = density * ds["acceleration"].values[:, None] * distance
    time = ds["time"].values
    spans = [span for span, _ in pass_and_coast(ds)]
    guarded = guards(ds)
    found: dict[str, float] = {}
    for name, chain in trial.chains.items():
        heard = listens(ds, chain.launch_lockout)
        locked = listens(ds, max(LOCKOUT, chain.launch_lockout))
        place = place_pressure(ds, car, name)
        own = column[:, points.index(car.sensors[name].at)]
        for word, when_heard in (("", heard), ("locked_", locked)):
            found[f"{word}moving.{name}"] = float(place[when_heard].max(initial=-np.inf))
            found[f"{word}still.{name}"] = float((place - own)[when_heard].max(initial=-np.inf))
            found[f"{word}limit.{name}"] = limit_of(guarded, place, when_heard)[0]
        if trial.weakest.get(name):
            found[f"second_limit.{name}"] = limit_of(guards(ds, {trial.weakest[name]}), place, heard)[0]
        for k, point in enumerate(points):
            if point == car.sensors[name].at:
                continue
            found[f"moving.{name}.{point}"] = float(gauge[heard, k].max(initial=-np.inf))
            found[f"still.{name}.{point}"] = float((gauge[:, k] - column[:, k])[heard].max(initial=-np.inf))
            found[f"limit.{name}.{point}"] = limit_of(guarded, gauge[:, k], heard)[0]
        found[f"quiet.{name}"] = highest_trip(watch(time, place, heard, chain), chain)
        found[f"normal_ramp.{name}"] = steepest(time, place, spans)
    return found


def leaking(car: Car, cylinder: str) -> Car:
    """The car with the leak law of its head gasket switched on, at the cylinders of the file or at `cylinder`."""
    values: dict[str, object] = {"head_gasket.leaks": True}
    if not car.head_gasket.cylinders and cylinder:
        values["head_gasket.cylinders"] = [cylinder]
    return car.with_values(values)


def worst_leak(car: Car) -> Car:
    """A leaking car with the earliest and widest lift of the declared bands: the worst credible ramp."""
    from sim1d.uncertainty import ranges

    bands = {one.path: one for one in ranges(car)}
    values = {}
    if "head_gasket.lift_pressure" in bands:
        values["head_gasket.lift_pressure"] = bands["head_gasket.lift_pressure"].low
    if "head_gasket.gap_rate" in bands:
        values["head_gasket.gap_rate"] = bands["head_gasket.gap_rate"].high
    return car.with_values(values)


def leaking_run(car: Car, day: Day, sound: "History") -> "xr.Dataset":
    """The last pass and its coast on a leaking car, from the state that the sound run has at launch."""
    from sim1d.prepare import prepared
    from sim1d.results import dataset
    from sim1d.simulation import integrate

    packed = prepared(car, day)
    stretches = packed.stretches
    last = max(k for k, stretch in enumerate(stretches) if stretch.role == Role.PASS.value)
    number = stretches[last].phase_number
    first = min(k for k, stretch in enumerate(stretches) if stretch.phase_number == number)
    end = last + 1
    while end < len(stretches) and stretches[end].role == Role.COAST.value:
        end += 1
    launch = int(np.flatnonzero(sound.stretch_of_day() == first)[0])
    kept = replace(packed, stretches=stretches[first:end], round_numbers=packed.round_numbers[first:end])
    return dataset(integrate(kept, start=sound.states[launch]))


def leak_numbers(ds: "xr.Dataset", car: Car, trial: Trial, sound: "xr.Dataset") -> dict[str, float]:
    """What a leaking run says of each sensor: its ramp, the highest threshold that acts in time, and that acts at all.

    `caught` is NaN where no part reaches its allowed pressure by the end of the coast. The coast of the sound run
    stands in where the leaking run ends before its own.
    """
    time, gas = ds["time"].values, ds["system_pressure"].values
    over, _ = excess(ds)
    coasts = [slice(span.stop, whole.stop) for span, whole in pass_and_coast(sound)]
    later = excess(sound)[0][coasts[-1]].max(initial=-np.inf) if coasts else -np.inf
    lost = gas + np.maximum(ahead(over)[0], later) > 0.0
    running = ds["role"].values == Role.PASS.value
    doom = float(time[lost & running][0]) if (lost & running).any() else np.nan
    found: dict[str, float] = {}
    for name, chain in trial.chains.items():
        place = place_pressure(ds, car, name)
        spans = [span for span, _ in pass_and_coast(ds)]
        found[f"ramp.{name}"] = steepest(time, place, spans)
        settled = replace(chain, launch_lockout=0.0)
        heard = listens(ds, chain.launch_lockout)
        # the trace before launch is what it starts from: a filter that had settled there
        seen = watch(np.r_[time[0] - BEFORE, time], np.r_[place[0], place], np.r_[False, heard], settled)
        found[f"seen.{name}"] = highest_trip(seen, chain)
        found[f"caught.{name}"] = highest_trip(seen, chain, doom) if np.isfinite(doom) else np.nan
    return found
