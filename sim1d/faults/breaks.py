"""When a run first breaks each of its limits: the verdict's limits of harm along time, with place and value."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim1d.crossings import seconds_above
from sim1d.display import show_pressure, show_temperature, show_temperature_difference
from sim1d.reading_results import names, passes, structured, when

if TYPE_CHECKING:
    import xarray as xr

TEASPOON = 5e-3  # kg of coolant through the cap from which it counts as opened (assumed: what a builder sees)
STOPPED, CAP_OPENS = "stopped", "cap_opens"


@dataclass(frozen=True)
class Break:
    """The first instant at which a limit is broken.

    `time` counts from the start of the day, `after_launch` from the start of the last pass begun by then (None before
    any), both s; `when` and `place` are words, `found` is the value at that instant against its limit.
    """

    key: str
    title: str
    found: str
    place: str
    when: str
    time: float
    after_launch: float | None
    index: int


def breaks(ds: "xr.Dataset") -> dict[str, Break]:
    """Every limit that the run breaks, by its key, at the first instant, in the order of time.

    These are the limits of harm: metal, boiling, coolant, pressures and suction; further the opening of the cap
    (`cap_opens`) and the end of a run that left the model (`stopped`). How even the flows are harms nothing by itself.
    """
    launches = [float(ds["time"].values[span.start]) for _, span in passes(ds)]
    found = []
    for key, title, index, place, text in _first(ds, structured(ds, "limits", {})):
        time = float(ds["time"].values[index])
        begun = [launch for launch in launches if launch <= time]
        after = time - begun[-1] if begun else None
        found.append(Break(key, title, text, place, when(ds, index), time, after, index))
    return {item.key: item for item in sorted(found, key=lambda item: item.index)}


Found = Iterator[tuple[str, str, int, str, str]]


def _first(ds: "xr.Dataset", limits: dict[str, float]) -> Found:
    """(key, title, index along time, place, value) of each limit that is broken."""
    yield from _of_cylinders(ds, limits)
    yield from _of_pressures(ds, limits)
    yield from _of_pumps(ds, limits)
    if "coolant" in limits:
        table = ds["coolant_temperature"].values
        yield from _crossing(
            "coolant", "Hottest coolant", table, limits["coolant"], 1, names(ds, "point"), show_temperature
        )
    out = ds["ledger"].values[:, names(ds, "term").index("coolant_out")]
    if out[-1] - out[0] > TEASPOON:
        index = int(np.argmax(out - out[0] > TEASPOON))
        pressure = show_pressure(float(ds["system_pressure"].values[index]))
        yield CAP_OPENS, "Coolant leaves through the cap", index, "the cap", f"system at {pressure}"
    if ds.attrs.get("outcome_name", "COMPLETED") != "COMPLETED":
        yield STOPPED, "The run stopped", ds.sizes["time"] - 1, "", str(ds.attrs["outcome"])


def _crossing(key: str, title: str, table: np.ndarray, limit: float, sign: int, labels: list[str], form) -> Found:
    """The first row of `table` (time, place) in which a value passes `limit`: above it (sign 1) or below it (-1)."""
    with np.errstate(invalid="ignore"):
        beyond = sign * (table - limit) > 0  # NaN is beyond nothing
    if table.size and beyond.any():
        index = int(np.argmax(beyond.any(axis=1)))
        place = int(np.nanargmax(sign * table[index]))
        bound = f"{'at most' if sign > 0 else 'at least'} {form(limit)}"
        yield key, title, index, labels[place], f"{form(float(table[index, place]))}, limit {bound}"


def _of_cylinders(ds: "xr.Dataset", limits: dict[str, float]) -> Found:
    cylinders, spots = names(ds, "cylinder"), names(ds, "spot")
    if not cylinders:
        return
    metal = ds["metal_temperature"].values
    hottest = metal.max(axis=2)
    if "metal_red" in limits:
        allowed = limits.get("seconds_above_red", 0.0)
        steps = seconds_above(ds["time"].values, hottest, limits["metal_red"])
        seconds = np.vstack([np.zeros(len(cylinders)), np.cumsum(steps, axis=0)])
        title = f"Seconds of metal above {show_temperature(limits['metal_red'])}"
        yield from _crossing("metal_red", title, seconds, allowed, 1, cylinders, "{:.1f} s".format)
    if "metal_fail" in limits:
        yield from _crossing(
            "metal_fail", "Hottest metal", hottest, limits["metal_fail"], 1, cylinders, show_temperature
        )
    if "liner" in limits and "liner" in spots:
        liner = metal[:, :, spots.index("liner")]
        yield from _crossing("liner", "Hottest cylinder wall", liner, limits["liner"], 1, cylinders, show_temperature)
    if "critical_heat_flux_margin" in limits:
        margin, least = ds["critical_heat_flux_margin"].values, limits["critical_heat_flux_margin"]
        yield from _crossing(
            "critical_heat_flux_margin", "Boiling margin", margin, least, -1, cylinders, "{:.2f}".format
        )
    if "subcooling" in limits:
        table, least = ds["subcooling"].values, limits["subcooling"]
        yield from _crossing("subcooling", "Subcooling", table, least, -1, cylinders, show_temperature_difference)


def _of_pressures(ds: "xr.Dataset", limits: dict[str, float]) -> Found:
    points, gauge = names(ds, "point"), ds["gauge_pressure"].values
    share = limits.get("rating_margin", 1.0)
    lines = structured(ds, "layout", {}).get("lines", {})
    uses, parts = [], []
    for place, rating in structured(ds, "ratings", {}).items():
        at = [place] if place in points else [lines[place]["from"], lines[place]["to"]] if place in lines else []
        columns = [points.index(point) for point in at if point in points]
        for entry in rating if isinstance(rating, list) else [rating]:
            if columns:
                uses.append(gauge[:, columns].max(axis=1) / float(entry["pressure_Pa"]))
                parts.append(str(entry.get("part", place)))
    if uses:
        table = np.column_stack(uses)
        yield from _crossing("rating", "Pressure over a part's rating", table, share, 1, parts, "{:.0%}".format)
    if limits.get("pressure") is not None:
        yield from _crossing("pressure", "Highest pressure", gauge, limits["pressure"], 1, points, show_pressure)


def _of_pumps(ds: "xr.Dataset", limits: dict[str, float]) -> Found:
    pumps, points = names(ds, "pump"), names(ds, "point")
    if "suction_margin" in limits and pumps:
        table, least = ds["suction_margin"].values, limits["suction_margin"]
        yield from _crossing("suction_margin", "Suction margin", table, least, -1, pumps, "{:.2f} m".format)
    suction = [i for i, point in enumerate(points) if point.endswith(".suction")]
    if "suction_pressure" in limits and suction:
        table, labels = ds["gauge_pressure"].values[:, suction], [points[i] for i in suction]
        least = limits["suction_pressure"]
        yield from _crossing("suction_pressure", "Pressure at a suction", table, least, -1, labels, show_pressure)
