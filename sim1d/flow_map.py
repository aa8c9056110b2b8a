"""Where everything goes on the drawing of the layout: an oblique side view from x, z and the bank (no plotting here).

x runs rearward to the right and z up, in metres as in the car file. The banks lie behind each other in a true side
view, so the left bank is moved up and to the right, the right bank down and to the left by the same step; everything
that belongs to neither bank stays in place.
"""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from sim1d.reading_results import BANKS, bank_of, mean_over, names, passes, structured

if TYPE_CHECKING:
    import xarray as xr

ENGINE_HALF_HEIGHT = 0.065  # m on the drawing: half of a bank's box
SMALLEST = 0.05  # m on the drawing: half size of a part that has one point only


@dataclass
class Box:
    """A part: centre and half sizes on the drawing, m."""

    name: str
    kind: str
    x: float
    z: float
    half_width: float
    half_height: float
    note: str = ""


@dataclass
class Dot:
    """A cylinder: place on the drawing, flow (m3/s) and peak metal temperature (K)."""

    name: str
    x: float
    z: float
    flow: float
    metal: float


@dataclass
class Way:
    """A line as drawn: points (n, 2), flow (m3/s, along the points) and the temperature (K) of what flows."""

    name: str
    points: np.ndarray
    flow: float
    temperature: float
    blocked: bool
    label_at: tuple[float, float] = (0.0, 0.0)


@dataclass
class FlowMap:
    """The drawing: boxes, cylinders, lines, plugged openings, and the time span (s) that its values are means over."""

    boxes: list[Box] = field(default_factory=list)
    dots: list[Dot] = field(default_factory=list)
    ways: list[Way] = field(default_factory=list)
    plugs: list[tuple[str, float, float]] = field(default_factory=list)
    span: tuple[float, float] = (0.0, 0.0)
    title: str = ""


def flow_map(ds: "xr.Dataset") -> FlowMap:
    """Drawing of the layout with the means over the last pass (without a pass: over the last minute)."""
    time = ds["time"].values
    runs = passes(ds)
    span = runs[-1][1] if runs else slice(int(np.searchsorted(time, time[-1] - 60.0)), len(time))
    title = f"mean over the pass of round {runs[-1][0]}" if runs else "mean over the last minute"
    drawing = FlowMap(span=(float(time[span][0]), float(time[span][-1])), title=title)
    layout = structured(ds, "layout", {})
    nodes = layout.get("nodes", {})
    if not nodes:
        return drawing
    heights = [node["z"] for node in nodes.values()]
    step = 0.24 * max(max(heights) - min(heights), 0.3)
    places = {name: _place(name, node, step) for name, node in nodes.items()}
    _banks(ds, drawing, places, span)
    _parts(ds, drawing, nodes, places, span)
    _lines(ds, drawing, layout, places, span)
    for name in layout.get("plugged", []):
        found = _nearest_place(name, nodes, places)
        if found is not None:
            drawing.plugs.append((name.removeprefix("engine."), *found))
    _place_labels(drawing)
    return drawing


def _bank_in(name: str) -> str:
    """Bank that a point of the engine belongs to, or "" ("engine.left-3.head", "engine.right.rear" -> left, right)."""
    for bank in BANKS:
        if name.startswith((f"engine.{bank}.", f"engine.{bank}-")):
            return bank
    return ""


def _place(name: str, node: dict, step: float) -> tuple[float, float]:
    shift = {"left": 1.0, "right": -1.0}.get(_bank_in(name), 0.0)
    return node["x"] + 0.35 * step * shift, node["z"] + step * shift


def _nearest_place(name: str, nodes: dict, places: dict) -> tuple[float, float] | None:
    """Place of a plugged opening: its own point if it has one, else the end of its bank that its name says."""
    if name in places:
        return places[name]
    own = [places[other] for other in nodes if _bank_in(other) and _bank_in(other) == _bank_in(name)]
    if not own:
        return None
    xs = [x for x, _ in own]
    x = max(xs) if "rear" in name else min(xs) if "front" in name else sum(xs) / len(xs)
    return x, max(z for _, z in own)


def _banks(ds: "xr.Dataset", drawing: FlowMap, places: dict, span: slice) -> None:
    cylinders = names(ds, "cylinder")
    time = ds["time"].values[span]
    flow = mean_over(time, ds["cylinder_flow"].values[span])
    metal = ds["metal_temperature"].values.max(axis=(0, 2))
    for bank in BANKS:
        own = [i for i, name in enumerate(cylinders) if bank_of(name) == bank]
        heads = [f"engine.{cylinders[i]}.head" for i in own]
        if not own or any(head not in places for head in heads):
            continue
        spots = [places[head] for head in heads]
        xs, zs = [x for x, _ in spots], [z for _, z in spots]
        pitch = (xs[-1] - xs[0]) / max(len(xs) - 1, 1)
        z = sum(zs) / len(zs)
        half = (xs[-1] - xs[0]) / 2 + 0.55 * pitch
        drawing.boxes.append(Box(bank, "bank", (xs[0] + xs[-1]) / 2, z, half, ENGINE_HALF_HEIGHT))
        drawing.dots += [Dot(cylinders[i], x, z, float(flow[i]), float(metal[i])) for i, x in zip(own, xs, strict=True)]


def _parts(ds: "xr.Dataset", drawing: FlowMap, nodes: dict, places: dict, span: slice) -> None:
    points = names(ds, "point")
    time = ds["time"].values[span]
    temperature = mean_over(time, ds["coolant_temperature"].values[span])
    gauge = mean_over(time, ds["gauge_pressure"].values[span])
    groups: dict[str, list[str]] = {}
    for name in nodes:
        kind = name.split(".")[0]
        if kind not in ("engine", "lines"):
            groups.setdefault(kind, []).append(name)
    for kind, members in groups.items():
        xs, zs = [places[name][0] for name in members], [places[name][1] for name in members]
        lone = len(members) == 1 and "." not in members[0] and "tank" not in kind
        margin = 0.012 if lone else SMALLEST
        half_width = max((max(xs) - min(xs)) / 2, margin)
        half_height = max((max(zs) - min(zs)) / 2, margin)
        known = [points.index(name) for name in members if name in points]
        note = ""
        if known and not lone:
            hot, cold = temperature[known].max() - 273.15, temperature[known].min() - 273.15
            low, high = gauge[known].min() / 1000, gauge[known].max() / 1000
            range_t = f"{cold:.0f}" if round(cold) == round(hot) else f"{cold:.0f} to {hot:.0f}"
            range_p = f"{low:.0f}" if round(low) == round(high) else f"{low:.0f} to {high:.0f}"
            note = f"{range_t} C\n{range_p} kPa g"
        centre = (max(xs) + min(xs)) / 2, (max(zs) + min(zs)) / 2
        drawing.boxes.append(Box(kind, "junction" if lone else "part", *centre, half_width, half_height, note))


def _lines(ds: "xr.Dataset", drawing: FlowMap, layout: dict, places: dict, span: slice) -> None:
    column = {name: i for i, name in enumerate(names(ds, "line"))}
    points = names(ds, "point")
    time = ds["time"].values[span]
    flow = mean_over(time, ds["volume_flow"].values[span])
    temperature = mean_over(time, ds["coolant_temperature"].values[span])
    pairs: dict[frozenset, int] = {}
    for name, line in layout.get("lines", {}).items():
        start, end = str(line["from"]), str(line["to"])
        if start not in places or end not in places or name not in column:
            continue
        value = float(flow[column[name]])
        source = start if value >= 0 else end
        kelvin = float(temperature[points.index(source)]) if source in points else float("nan")
        ends = frozenset((places[start], places[end]))
        bend = 0.10 + 0.10 * pairs.get(ends, 0)  # two lines between the same places must not hide each other
        pairs[ends] = pairs.get(ends, 0) + 1
        curve = _curve(np.array(places[start]), np.array(places[end]), bend)
        drawing.ways.append(Way(name, curve, value, kelvin, bool(line.get("blocked"))))


def _curve(start: np.ndarray, end: np.ndarray, bend: float) -> np.ndarray:
    """A quadratic curve from start to end, bulging upward by `bend` of its length."""
    along = end - start
    across = np.array([-along[1], along[0]])
    if across[1] < 0:
        across = -across
    middle = (start + end) / 2 + bend * across
    t = np.linspace(0.0, 1.0, 40)[:, None]
    return (1 - t) ** 2 * start + 2 * t * (1 - t) * middle + t**2 * end


def _place_labels(drawing: FlowMap) -> None:
    """Put each label on its line where it lies farthest from labels, cylinders and parts that are already there."""
    taken = [(dot.x, dot.z) for dot in drawing.dots]
    taken += [(box.x, box.z) for box in drawing.boxes if box.kind != "bank"]
    for way in sorted(drawing.ways, key=lambda one: len(one.points) and -abs(one.flow)):
        candidates = way.points[[20, 15, 25, 11, 28, 8, 31]]
        if taken:
            others = np.array(taken)
            # labels are wide and low: a step sideways counts less than one up or down
            gap = [np.min(np.hypot((others[:, 0] - x) / 2.5, others[:, 1] - z)) for x, z in candidates]
        else:
            gap = [0.0] * len(candidates)
        best = candidates[next(i for i, value in enumerate(gap) if value >= min(0.035, max(gap)))]
        way.label_at = (float(best[0]), float(best[1]))
        taken.append(way.label_at)
