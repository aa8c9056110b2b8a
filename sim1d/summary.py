"""`summarise`: the numbers of a run that fit on a page, SI, ready for JSON."""

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.crossings import first_inside
from sim1d.reading_results import bank_flows, mean_over, names, passes, rated_parts, rounds_of, spread, structured
from sim1d.verdict import judge

if TYPE_CHECKING:
    import xarray as xr


def summarise(ds: "xr.Dataset") -> dict[str, Any]:
    """Summary of a run: flat keys with the SI unit as suffix, as written to summary.json.

    A value per cylinder, bank, point or pump is an object keyed by its name; pressures are gauge. Numbers cover the
    whole day, except `pass_...` (means over the last pass). `time_to_ready_s` is the longest of all passes, None when
    one of them was never ready again; `trapped_air_m3` is the greatest volume; `coolant_lost_kg` the loss at the end;
    `coolant_out_kg` what left through the cap, by cause, what the recovery tank gave back included.
    `rounds` holds the same per round (there `coolant_lost_kg` is what that round lost). A number that does not exist
    is None. `limits_failed` names every limit of the car file that the run breaks. `peak_rating_use` is the highest
    pressure over rating of any rated part, None where none is rated.
    """
    runs = passes(ds)
    everything = np.ones(ds.sizes["time"], dtype=bool)
    whole = _numbers(ds, everything, runs[-1:])
    ready = [time_to_ready(ds, place) for place in range(len(runs))]
    whole["time_to_ready_s"] = _longest(ready)
    if "liner" in names(ds, "spot"):
        liner = ds["metal_temperature"].values[:, :, names(ds, "spot").index("liner")]
        whole["peak_liner_temperature_K"] = _by(names(ds, "cylinder"), liner.max(axis=0))
    else:
        whole["peak_liner_temperature_K"] = {}
    whole["peak_rating_use"] = max((part["use"] for part in rated_parts(ds)), default=math.nan)
    for key in ("energy_residual", "coolant_residual", "gas_residual"):
        whole[key] = float(ds[key].values)
    rounds = []
    for number in rounds_of(ds):
        inside = ds["round"].values == number
        own = [place for place, (of, _) in enumerate(runs) if of == number]
        entry = {"round": number} | _numbers(ds, inside, [runs[place] for place in own][-1:])
        entry["time_to_ready_s"] = _longest([ready[place] for place in own])
        rounds.append(entry)
    verdict = judge(ds, whole)
    whole["outcome"] = str(ds.attrs.get("outcome", ""))
    whole["notes"] = structured(ds, "notes", [])
    whole["limits_failed"] = list(verdict.failures)
    whole["rounds"] = rounds
    return _json_safe(whole)


def _longest(times: list[float | None]) -> float | None:
    """The longest time; None when there is none, or when one never came."""
    known = [time for time in times if time is not None]
    return max(known) if known and len(known) == len(times) else None


def _numbers(ds: "xr.Dataset", inside: np.ndarray, last_pass: list[tuple[int, slice]]) -> dict[str, Any]:
    cylinders, points = names(ds, "cylinder"), names(ds, "point")
    metal = ds["metal_temperature"].values[inside].max(axis=2)
    gauge = ds["gauge_pressure"].values[inside]
    margin = ds["critical_heat_flux_margin"].values[inside]
    lost = ds["coolant_lost"].values
    first = int(np.flatnonzero(inside)[0])
    before = lost[first - 1] if first > 0 else 0.0  # the instant that ends the round before begins this one
    result: dict[str, Any] = {
        "peak_metal_temperature_K": _by(cylinders, metal.max(axis=0)),
        "seconds_above_limit_s": _by(cylinders, _seconds_above(ds, inside)),
        "peak_coolant_temperature_K": _most(ds["coolant_temperature"].values[inside]),
        "peak_gauge_pressure_Pa": _by(points, gauge.max(axis=0)),
        "least_gauge_pressure_Pa": _by(points, gauge.min(axis=0)),
        "peak_system_pressure_Pa": _most(ds["system_pressure"].values[inside]),
    }
    result |= pass_means(ds, last_pass)
    result |= {
        "least_suction_margin_m": _by(names(ds, "pump"), ds["suction_margin"].values[inside].min(axis=0)),
        "least_critical_heat_flux_margin": _least(margin),
        "least_cylinder_critical_heat_flux_margin": _by(cylinders, np.fmin.reduce(margin, axis=0)),
        "least_subcooling_K": _by(cylinders, ds["subcooling"].values[inside].min(axis=0)),
        "peak_dry_share": _by(cylinders, ds["dry_share"].values[inside].max(axis=0)) if "dry_share" in ds else {},
        "coolant_lost_kg": float(lost[inside][-1] - before),
        "coolant_out_kg": _by(names(ds, "cause"), _gained(ds["coolant_out"].values, inside)),
        "trapped_air_m3": _most(ds["trapped_air"].values[inside]),
        "combustion_gas_kg": float(_gained(ds["combustion_gas"].values, inside)),
        "peak_pump_gas": _by(names(ds, "pump"), ds["pump_gas"].values[inside].max(axis=0)),
        "least_pump_grip": _by(names(ds, "pump"), ds["pump_grip"].values[inside].min(axis=0)),
    }
    return result


def _gained(running: np.ndarray, inside: np.ndarray) -> np.ndarray:
    """Growth of a running sum over the instants inside."""
    first = int(np.flatnonzero(inside)[0])
    return running[inside][-1] - (running[first - 1] if first > 0 else 0.0 * running[0])


def pass_means(ds: "xr.Dataset", last_pass: list[tuple[int, slice]]) -> dict[str, Any]:
    """Mean flows over one pass (the first of the list, which may be empty): per bank and cylinder and their total,
    m3/s, and how uneven they are (range over mean)."""
    if not last_pass:
        empty: dict[str, Any] = dict.fromkeys(("pass_bank_flow_m3_s", "pass_cylinder_flow_m3_s"), {})
        return empty | dict.fromkeys(("pass_total_flow_m3_s", "pass_bank_spread", "pass_cylinder_spread"), math.nan)
    span = last_pass[0][1]
    time = ds["time"].values[span]
    banks = {bank: float(mean_over(time, flow[span])) for bank, flow in bank_flows(ds).items()}
    cylinders = _by(names(ds, "cylinder"), mean_over(time, ds["cylinder_flow"].values[span]))
    return {
        "pass_bank_flow_m3_s": banks,
        "pass_cylinder_flow_m3_s": cylinders,
        "pass_total_flow_m3_s": sum(banks.values()),
        "pass_bank_spread": spread(list(banks.values())),
        "pass_cylinder_spread": spread(list(cylinders.values())),
    }


def _seconds_above(ds: "xr.Dataset", inside: np.ndarray) -> np.ndarray:
    """Seconds above the red metal limit per cylinder: the dataset's own count for the day or for one round."""
    if inside.all():
        return ds["seconds_above_limit"].values
    number = int(ds["round"].values[inside][0])
    table = ds["seconds_above_limit_by_round"]
    column = list(ds["round_number"].values).index(number)
    return np.take(table.values, column, axis=table.dims.index("round_number"))


def time_to_ready(ds: "xr.Dataset", place: int) -> float | None:
    """Seconds from the stripe of a pass (its place in the day, from 0) until the car may stage again.

    Ready is the first moment after the pass, and before the next one, at which every coolant point lies inside the
    staging window (`crossings`); None when there is none, or the pass was not finished.
    """
    runs = passes(ds)
    end = runs[place][1].stop
    until = runs[place + 1][1].start if place + 1 < len(runs) else ds.sizes["time"]
    window = structured(ds, "staging_window", None)
    if window is None or end >= until:
        return None
    time, after = ds["time"].values, slice(end, until)
    ready = first_inside(time[after], ds["coolant_temperature"].values[after], *window)
    return None if ready is None else ready - float(time[end - 1])


def not_ready_because(ds: "xr.Dataset", place: int) -> str:
    """The coolant point that is farthest outside the staging window at the last instant before the next pass."""
    runs = passes(ds)
    until = runs[place + 1][1].start if place + 1 < len(runs) else ds.sizes["time"]
    window = structured(ds, "staging_window", None)
    if window is None:
        return ""
    coolant = ds["coolant_temperature"].values[until - 1]
    outside = np.maximum(coolant - window[1], window[0] - coolant)
    return names(ds, "point")[int(np.nanargmax(outside))]


def _most(values: np.ndarray) -> float:
    """Greatest of the values that are numbers; NaN when none is."""
    return float(np.fmax.reduce(values, axis=None)) if values.size else math.nan


def _least(values: np.ndarray) -> float:
    return float(np.fmin.reduce(values, axis=None)) if values.size else math.nan


def _by(labels: list[str], values: np.ndarray) -> dict[str, float]:
    return {label: float(value) for label, value in zip(labels, values, strict=True)}


def _json_safe(value: Any) -> Any:
    """The same with every NaN and infinity as None, and no numpy types."""
    if isinstance(value, dict):
        return {str(key): _json_safe(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_json_safe(item) for item in value]
    if isinstance(value, (float, np.floating)):
        return float(value) if math.isfinite(value) else None
    return value.item() if isinstance(value, np.generic) else value
