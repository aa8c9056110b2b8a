"""Draws a flow map onto a figure. It uses the figure's own methods only; `plots` is the file that knows matplotlib."""

from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.display import US_GALLON
from sim1d.flow_map import Box, FlowMap, Way

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

NO_FLOW = 0.3 / 60000  # m3/s below which a line is drawn as standing: buoyancy moves 0.1 to 0.4 L/min
FILL = {"bank": "#eef1f3", "part": "#dfe7ee", "junction": "#55606a"}


def draw_map(figure: "Figure", drawing: FlowMap) -> "Axes":
    """Draw `drawing`: lines by flow (width) and coolant temperature (colour), cylinders by peak metal (colour)."""
    ax = figure.add_subplot()
    ax.set_aspect("equal")
    ax.set_axis_off()
    if not drawing.ways:
        ax.text(0.5, 0.5, "this result carries no layout to draw", ha="center", transform=ax.transAxes)
        return ax
    kelvin = np.array([way.temperature for way in drawing.ways if np.isfinite(way.temperature)]) - 273.15
    low, high = float(kelvin.min()), float(kelvin.max())
    high = max(high, low + 1.0)
    largest = max(max(abs(way.flow) for way in drawing.ways), 1e-9)
    scale = ax.scatter([], [], c=[], cmap="coolwarm", vmin=low, vmax=high)
    for box in drawing.boxes:
        _box(ax, box)
    for way in sorted(drawing.ways, key=lambda one: -abs(one.flow)):
        _way(ax, way, largest, scale)
    if drawing.dots:
        metal = [dot.metal - 273.15 for dot in drawing.dots]
        marks = ax.scatter(
            [dot.x for dot in drawing.dots], [dot.z for dot in drawing.dots], c=metal, cmap="YlOrRd", s=640, zorder=6,
            edgecolors="#4a5257", linewidths=0.9, vmin=min(metal) - 40, vmax=max(max(metal), min(metal) + 20),
        )  # fmt: skip
        middle = (min(metal) + max(metal)) / 2
        for dot, celsius in zip(drawing.dots, metal, strict=True):
            dark = celsius > middle + 0.1 * (max(metal) - min(metal)) and max(metal) - min(metal) > 5
            text = f"{dot.name[0].upper()}{dot.name.rpartition('-')[2]}\n{dot.flow * 60000:.3g}"
            ax.text(
                dot.x, dot.z, text, ha="center", va="center", fontsize=7, zorder=7, color="white" if dark else "#22282c"
            )
        _scale(figure, marks, 0.10, "peak metal of the cylinder, C")
    _scale(figure, scale, 0.52, "coolant in the line, C")
    for name, x, z in drawing.plugs:
        ax.plot([x], [z], marker="X", ms=8, color="#22282c", zorder=8)
        ax.annotate(
            f"{name} plugged", (x, z), xytext=(4, 6), textcoords="offset points", fontsize=7, color="#22282c", zorder=8
        )
    ax.set_title(
        f"Flow in L/min (US gal/min), {drawing.title}. "
        "Side view, front at left; left bank drawn higher, right bank lower.\n"
        "In the circles: cylinder and its flow. Dashed: next to no flow. Cross: plugged opening.",
        fontsize=9, fontweight="normal", loc="left",
    )  # fmt: skip
    ax.margins(0.06)
    return ax


def _scale(figure: "Figure", what: Any, bottom: float, text: str) -> None:
    """A colour scale in the right margin of the figure; `bottom` in its height."""
    figure.colorbar(what, cax=figure.add_axes((0.925, bottom, 0.013, 0.36)), label=text)


def _box(ax: "Axes", box: Box) -> None:
    left, right = box.x - box.half_width, box.x + box.half_width
    low, high = box.z - box.half_height, box.z + box.half_height
    ax.fill(
        [left, right, right, left],
        [low, low, high, high],
        facecolor=FILL[box.kind],
        edgecolor="#7a8288",
        lw=1.0,
        zorder=2,
    )
    name = box.name.replace("_", " ")
    if box.kind == "bank":
        ax.text(left + 0.008, low + 0.006, f"{name} bank", fontsize=8, color="#33393d", zorder=3, fontweight="bold")
    elif box.kind == "part":
        paper = {"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 0.8}
        look: dict[str, Any] = {
            "ha": "center",
            "va": "top",
            "fontsize": 7.5,
            "color": "#33393d",
            "zorder": 5,
            "bbox": paper,
        }
        ax.text(box.x, low - 0.012, f"{name}\n{box.note}", **look)
    else:
        ax.text(box.x, high + 0.008, name, ha="center", va="bottom", fontsize=7, color="#55606a", zorder=5)


def _way(ax: "Axes", way: Way, largest: float, scale) -> None:
    xs, zs = way.points[:, 0], way.points[:, 1]
    standing = way.blocked or abs(way.flow) < NO_FLOW
    colour = "#9aa3a9" if standing or not np.isfinite(way.temperature) else scale.to_rgba(way.temperature - 273.15)
    width = 1.2 if standing else 1.4 + 6.5 * (abs(way.flow) / largest) ** 0.5
    ax.plot(xs, zs, color="white", lw=width + 1.6, zorder=3, solid_capstyle="round")
    ax.plot(xs, zs, color=colour, lw=width, ls="--" if standing else "-", zorder=4, solid_capstyle="round")
    ax.plot(xs[[0, -1]], zs[[0, -1]], ls="none", marker="o", ms=3.2, color="#33393d", zorder=5)
    if not standing:
        at, onward = (27, 28) if way.flow > 0 else (28, 27)
        ax.annotate("", xy=(xs[onward], zs[onward]), xytext=(xs[at], zs[at]), zorder=5,
                    arrowprops={"arrowstyle": "-|>", "color": "#22282c", "lw": 0.8, "mutation_scale": 9})  # fmt: skip
    litres = abs(way.flow) * 60000
    text = "blocked" if way.blocked else f"{litres:.3g} ({litres / US_GALLON:.2g})"
    paper = {"facecolor": "white", "edgecolor": "#c9d0d5", "alpha": 0.9, "lw": 0.5, "boxstyle": "round,pad=0.18"}
    ax.text(*way.label_at, text, fontsize=7, ha="center", va="center", zorder=9, color="#22282c", bbox=paper)
