"""Small questions that summary, verdict, figures and report all ask of a result dataset."""

import json
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import xarray as xr

BANKS = ("left", "right")


def structured(ds: "xr.Dataset", name: str, default: Any) -> Any:
    """An attribute that holds JSON text, read; `default` where the dataset has none."""
    text = ds.attrs.get(name)
    if text is None or text == "":
        return default
    return json.loads(text) if isinstance(text, str) else text


def names(ds: "xr.Dataset", dimension: str) -> list[str]:
    """Labels along a dimension; empty where the dataset has no such dimension."""
    return [str(label) for label in ds[dimension].values] if dimension in ds.coords else []


def bank_of(cylinder: str) -> str:
    """ "left-3" -> "left"."""
    return cylinder.rpartition("-")[0]


def position_of(cylinder: str) -> int:
    """ "left-3" -> 3, counted from the front."""
    return int(cylinder.rpartition("-")[2])


def rounds_of(ds: "xr.Dataset") -> list[int]:
    """Numbers of the rounds in the order they were run."""
    return [int(number) for number in np.unique(ds["round"].values)]


def passes(ds: "xr.Dataset") -> list[tuple[int, slice]]:
    """(round, indices along time) of every stretch of consecutive instants whose role is `pass`.

    The last index of a slice is the stripe. Two passes of one round are two entries.
    """
    role, number = ds["role"].values, ds["round"].values
    inside = role == "pass"
    found = []
    start = None
    for i in range(len(inside) + 1):
        goes_on = i < len(inside) and inside[i]
        if start is not None and (not goes_on or number[i] != number[start]):
            found.append((int(number[start]), slice(start, i)))
            start = None
        if goes_on and start is None:
            start = i
    return found


def mean_over(time: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Mean over time (first axis, s) by the trapezoidal rule; instants need not be evenly spaced."""
    span = time[-1] - time[0]
    if span <= 0:
        return values[-1]
    return np.trapezoid(values, time, axis=0) / span


def bank_flows(ds: "xr.Dataset") -> dict[str, np.ndarray]:
    """Volume flow through each bank over time, m3/s.

    It is what the lines bring to the bank's supply side: its inlet and, where the coolant goes to the block first, the
    other openings of the block. What passes from one outlet of a head to another cools no cylinder and is not counted.
    A bank whose inlet no line reaches gets the sum over its cylinders.
    """
    layout = structured(ds, "layout", {})
    head_first = '"head_first"' in str(ds.attrs.get("car_file", ""))
    flow = ds["volume_flow"].values
    column = {label: i for i, label in enumerate(names(ds, "line"))}
    found = {}
    for bank in BANKS:
        supply: tuple[str, ...] = (f"engine.{bank}.inlet",)
        if not head_first:
            supply += (f"engine.{bank}.block_middle", f"engine.{bank}.block_rear")
        net = np.zeros(ds.sizes["time"])
        reached = False
        for label, line in layout.get("lines", {}).items():
            if label in column and not line.get("blocked"):
                ends = (str(line["from"]), str(line["to"]))
                net += flow[:, column[label]] * ((ends[1] in supply) - 1.0 * (ends[0] in supply))
                reached = reached or supply[0] in ends
        if not reached:
            own = [i for i, label in enumerate(names(ds, "cylinder")) if bank_of(label) == bank]
            net = ds["cylinder_flow"].values[:, own].sum(axis=1)
        found[bank] = net
    return found


def spread(values: list[float]) -> float:
    """(greatest - least) over the mean of the magnitudes; NaN without flow."""
    mean = float(np.mean(np.abs(values))) if values else 0.0
    return (max(values) - min(values)) / mean if mean > 0 else float("nan")


def when(ds: "xr.Dataset", index: int) -> str:
    """Where in the day an instant lies: "round 1, pass, 3.2 s in"."""
    phase, number = ds["phase"].values, ds["round"].values
    start = index
    while start > 0 and phase[start - 1] == phase[index] and number[start - 1] == number[index]:
        start -= 1
    seconds = float(ds["time"].values[index] - ds["time"].values[start])
    shown = f"{seconds / 60:.1f} min" if seconds >= 120 else f"{seconds:.1f} s"
    return f"round {int(number[index])}, {phase[index]}, {shown} in"


def rated_parts(ds: "xr.Dataset") -> list[dict[str, Any]]:
    """Every rated part with the greatest pressure at it: part, point, peak and rating (Pa gauge), use = peak / rating.

    A rating of a line is held against the higher of its two ends; a part that is rated at several points appears once,
    with the one that uses its rating most. The most used part comes first.
    """
    layout = structured(ds, "layout", {})
    points = names(ds, "point")
    gauge = ds["gauge_pressure"].values
    found: list[dict[str, Any]] = []
    for place, rating in structured(ds, "ratings", {}).items():
        line = layout.get("lines", {}).get(place)
        at = [place] if place in points else [line["from"], line["to"]] if line else []
        columns = [points.index(point) for point in at if point in points]
        for entry in rating if isinstance(rating, list) else [rating]:
            if not columns:
                continue
            index, which = np.unravel_index(int(np.nanargmax(gauge[:, columns])), (len(gauge), len(columns)))
            peak, rated = float(gauge[index, columns[which]]), float(entry["pressure_Pa"])
            found.append(
                {
                    "part": str(entry.get("part", place)),
                    "point": points[columns[which]],
                    "peak": peak,
                    "rating": rated,
                    "use": peak / rated,
                    "index": int(index),
                }
            )
    worst: dict[str, dict[str, Any]] = {}
    for one in sorted(found, key=lambda one: -one["use"]):
        worst.setdefault(one["part"], one)
    return list(worst.values())
