"""Draws the pockets of a fill on the layout. It uses the figure's own methods only; `plots` knows matplotlib."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sim1d.circuit import corners
from sim1d.static_fill import Filled, Reason

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim1d.car import Car
    from sim1d.static_fill import Fill

LIQUID, AIR, EDGE, INK, PAPER = "#8fbbe0", "#e2604f", "#6f777d", "#22282c", "#f2f4f5"
HALF = 0.055  # m on the drawing: half width of a part that has no length along the car
BANK_STEP = 0.30  # of the height of the layout by which the banks are drawn apart
SHOWN = 5.0e-6  # m3 of air that is written beside its place


@dataclass(frozen=True)
class _Frame:
    """Where places go: the left bank is moved up and rearward, the right bank down and forward."""

    step: float

    def shift(self, name: str) -> tuple[float, float]:
        side = 1.0 if name.startswith(("engine.left", "left")) else -1.0 if name.startswith("engine.right") else 0.0
        return 0.35 * self.step * side, self.step * side


def draw_pockets(figure: "Figure", car: "Car", fill: "Fill") -> None:
    """Every cavity with its coolant and its air after the static fill, the surface, and what drowned."""
    ax = figure.add_subplot()
    ax.set_aspect("equal")
    ax.set_axis_off()
    heights = [port.z for port in car.ports.values()]
    frame = _Frame(BANK_STEP * max(max(heights) - min(heights), 0.3))
    found = {cavity.name: cavity for cavity in fill.cavities}
    labels: list[tuple[float, float]] = []
    for cavity in fill.cavities:
        if cavity.name.startswith("lines."):
            continue
        if cavity.capacity > 0.0:
            _part(ax, car, frame, cavity, fill.nose_up, labels)
    for name in car.lines:
        _line(ax, car, frame, name, found, fill.nose_up, labels)
    for name, junction in car.junctions.items():
        ax.plot([junction.x], [junction.z], marker="s", ms=6, color="#55606a", zorder=6)
        ax.annotate(name.replace("_", " "), (junction.x, junction.z), xytext=(0, -13), textcoords="offset points",
                    ha="center", fontsize=7, color="#55606a", zorder=7)  # fmt: skip
    for name, pump in car.pumps.items():
        port = pump.ports()["suction"]
        ax.plot([port.x], [port.z], marker="o", ms=13, color="white", markeredgecolor=EDGE, zorder=6)
        ax.annotate(name.replace("_", " "), (port.x, port.z), xytext=(0, -15), textcoords="offset points", ha="center",
                    fontsize=7, color=INK, zorder=7)  # fmt: skip
    _names(ax, car, frame)
    _sills(ax, car, frame, fill)
    _surface(ax, car, fill)
    ax.set_title(
        f"Static fill at {fill.at}: {fill.accepted * 1e3:.2f} L of {fill.capacity * 1e3:.2f} L go in, "
        f"{fill.trapped * 1e3:.2f} L of air is trapped.\nSide view, front at left; blue: coolant, red: air, in litres.",
        fontsize=9, fontweight="normal", loc="left",
    )  # fmt: skip
    ax.margins(0.05)


def _wet(cavity: Filled) -> float:
    """Share of its volume that is liquid, 0 to 1."""
    total = cavity.liquid + cavity.gas
    return cavity.liquid / total if total > 0.0 else 0.0


def _box_of(car: "Car", frame: _Frame, cavity: Filled) -> tuple[float, float, float, float]:
    """Left, right, bottom and top on the drawing."""
    name = cavity.name
    dx, dz = frame.shift(name)
    if name.startswith("engine."):
        index = int(name.split("-")[1].split(".")[0]) - 1
        engine = car.engine
        x, half = engine.cylinder_x(index), engine.pitch / 2
        low, high = (
            (engine.deck_z, engine.head_top_z) if name.endswith("head") else (engine.block_bottom_z, engine.deck_z)
        )
        return x - half + dx, x + half + dx, low + dz, high + dz
    if name.startswith("radiator.") and car.radiator is not None:
        order = ("radiator.inlet_tank", "radiator.core/1", "radiator.core/2", "radiator.outlet_tank")
        left = car.radiator.mount_x - 2 * HALF + order.index(name) * HALF
        return left, left + HALF, cavity.low, cavity.high
    if name == "expansion_tank" and car.expansion_tank is not None:
        half = car.expansion_tank.length_along / 2
        return car.expansion_tank.x - half, car.expansion_tank.x + half, cavity.low, cavity.high
    part = car.exchangers.get(name)
    x = part.x if part is not None else 0.0
    middle = (cavity.low + cavity.high) / 2
    return x - HALF, x + HALF, middle - HALF / 2, middle + HALF / 2


def _part(
    ax: "Axes", car: "Car", frame: _Frame, cavity: Filled, angle: float, labels: list[tuple[float, float]]
) -> None:  # fmt: skip
    left, right, low, high = _box_of(car, frame, cavity)
    tank_gas = cavity.reason is Reason.TANK_GAS
    ax.fill([left, right, right, left], [low, low, high, high], facecolor=PAPER if tank_gas else AIR, edgecolor=EDGE,
            lw=0.8, zorder=2)  # fmt: skip
    wet = _wet(cavity)
    if wet > 0.0:
        level = low + wet * (high - low)
        tilt = math.tan(angle) * (right - left) / 2 if 0.02 < wet < 0.98 else 0.0
        tops = [min(max(level + side * tilt, low), high) for side in (1.0, -1.0)]
        ax.fill([left, right, right, left], [low, low, tops[0], tops[1]], facecolor=LIQUID, edgecolor="none", zorder=3)
    ax.plot([left, right, right, left, left], [low, low, high, high, low], color=EDGE, lw=0.8, zorder=4)
    if cavity.air > SHOWN and not tank_gas:
        _label(ax, (left + right) / 2, low + 0.75 * (high - low), cavity.air, labels)


def _line(
    ax: "Axes", car: "Car", frame: _Frame, name: str, found: dict[str, Filled], nose_up: float,
    labels: list[tuple[float, float]],
) -> None:  # fmt: skip
    line = car.lines[name]
    first, last = frame.shift(line.start), frame.shift(line.end)
    pieces = [cavity for cavity in found.values() if cavity.place == f"lines.{name}"]
    width = 1.5 + 90.0 * line.inner_diameter
    path = corners(car, name)
    drawn, true = [], []
    for k, (x, z) in enumerate(path):
        share = k / (len(path) - 1)
        drawn.append((x + first[0] + share * (last[0] - first[0]), z + first[1] + share * (last[1] - first[1])))
        true.append(z * math.cos(nose_up) - x * math.sin(nose_up))
    for k, piece in enumerate(pieces):
        (x1, z1), (x2, z2) = drawn[k], drawn[k + 1]
        wet = _wet(piece)
        # coolant stands in the lower part of the piece, as the car stands
        lower, upper = ((x1, z1), (x2, z2)) if true[k] <= true[k + 1] else ((x2, z2), (x1, z1))
        at = lower[0] + wet * (upper[0] - lower[0]), lower[1] + wet * (upper[1] - lower[1])
        hangs = piece.reason is Reason.TANK_GAS
        ax.plot([x1, x2], [z1, z2], color=EDGE, lw=width + 1.2, solid_capstyle="round", zorder=1)
        ax.plot([at[0], upper[0]], [at[1], upper[1]], color=PAPER if hangs else AIR, lw=width, zorder=1.5,
                solid_capstyle="butt")  # fmt: skip
        ax.plot([lower[0], at[0]], [lower[1], at[1]], color=LIQUID, lw=width, solid_capstyle="butt", zorder=1.6)
        if piece.air > SHOWN and not hangs:
            _label(ax, (at[0] + upper[0]) / 2, (at[1] + upper[1]) / 2, piece.air, labels)


def _label(ax: "Axes", x: float, z: float, air: float, labels: list[tuple[float, float]]) -> None:
    while any(abs(x - other[0]) < 0.06 and abs(z - other[1]) < 0.022 for other in labels):
        z += 0.023
    labels.append((x, z))
    text = f"{air * 1e3:.2f}" if air >= 9.5e-5 else f"{air * 1e3:.3f}"
    look = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.8}
    ax.text(x, z, text, ha="center", va="center", fontsize=7, color=INK, zorder=9, bbox=look)


def _names(ax: "Axes", car: "Car", frame: _Frame) -> None:
    engine = car.engine
    for bank in ("left", "right"):
        dx, dz = frame.shift(f"engine.{bank}")
        ax.text(engine.rear_x + dx + 0.012, engine.deck_z + dz, f"{bank} bank\nheads over block", fontsize=7.5,
                va="center", color=INK)  # fmt: skip
    if car.radiator is not None:
        ax.text(car.radiator.mount_x, car.radiator.mount_height - 0.015, "radiator\n(inlet tank at left)", fontsize=7.5,
                ha="center", va="top", color=INK)  # fmt: skip
    if car.expansion_tank is not None:
        ax.text(car.expansion_tank.x, car.expansion_tank.top_z + 0.012, "expansion tank", fontsize=7.5, ha="center",
                va="bottom", color=INK)  # fmt: skip
    for name, part in car.exchangers.items():
        ax.text(part.x, part.z + 0.04, name.replace("_", " "), fontsize=7.5, ha="center", color=INK)


def _sills(ax: "Axes", car: "Car", frame: _Frame, fill: "Fill") -> None:
    """A triangle at every opening whose drowning shut gas in, where it is a port or junction with a place."""
    done = set()
    for pocket in fill.pockets:
        port = car.ports.get(pocket.sill)
        if port is None or pocket.sill in done or pocket.volume < SHOWN:
            continue
        done.add(pocket.sill)
        dx, dz = frame.shift(pocket.sill)
        ax.plot([port.x + dx], [port.z + dz], marker="v", ms=9, color=INK, zorder=10)
        ax.annotate(f"{pocket.sill} drowned", (port.x + dx, port.z + dz), xytext=(6, 9), textcoords="offset points",
                    fontsize=7.5, color=INK, zorder=10)  # fmt: skip


def _surface(ax: "Axes", car: "Car", fill: "Fill") -> None:
    """The surface where pouring ends, outside the banks, which are drawn out of place."""
    mouth = car.radiator.mount_x if car.radiator is not None else car.engine.front_x
    if car.expansion_tank is not None:
        mouth = car.expansion_tank.x
    xs = (mouth - 0.22, mouth + 0.22)
    zs = [fill.surface + (x - mouth) * math.tan(fill.nose_up) for x in xs]
    ax.plot(xs, zs, color=INK, ls="--", lw=1.0, zorder=8)
    ax.annotate(f"ends at z {fill.surface:.3f} m", (xs[0], zs[0]), xytext=(0, 4), textcoords="offset points",
                fontsize=7.5, color=INK, zorder=8)  # fmt: skip
