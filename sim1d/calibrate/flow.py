"""Flows of the car's own network, all coolant at one temperature, no air in it; a line may be opened into a bucket."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim1d import tables
from sim1d.core.coolant import GRAVITY
from sim1d.core.handle import handle
from sim1d.core.hydraulics import CLOSE, network_tables, solve_flows, workspace
from sim1d.pack import branches_of, build_rows, listed, nodes_of
from sim1d.parts.plumbing_rows import meeting_loss
from sim1d.physics.smooth import step
from sim1d.properties import Fluid, coolant_tables

if TYPE_CHECKING:
    from sim1d.car import Car

JET = 1.0  # velocity head that a free jet carries out of an open end, on the bore (any text)
BUCKET = "open end"


class NoFlow(ValueError):
    """The network has no solution as it is drawn; the text says why."""


@dataclass(frozen=True)
class Flows:
    """Volume flow (m3/s) by branch; rise (Pa) over rest by junction; what the walls take up of it (m3)."""

    flow: Mapping[str, float]
    rise: Mapping[str, float]
    stretched: float


def flows_of(
    car: "Car", speed: float, temperature: float, voltage: float = 13.5, opened: tuple[str, float] | None = None
) -> Flows:  # fmt: skip
    """Flows at engine speed (rad/s), coolant temperature (K) and voltage of the electric pumps, cap off, at the mark.

    `opened` names a line and the height (z, m) at which its far end pours into the open air; the port it led to is
    plugged, and the tank is kept at its mark. The same rows and kernels as a whole run. Raises NoFlow.
    """
    build = build_rows(car)
    if opened is not None:
        line, height = opened
        row = build.branches[f"lines.{line}"]
        change = JET - meeting_loss(build, car.lines[line].end)
        build.junction(BUCKET, car.ports[car.lines[line].end].x, height, 1e-9)
        row["end"] = BUCKET
        row["k_forward"] += change
        row["k_reverse"] += change
    node, index, cells, names = nodes_of(build)
    branch, number = branches_of(build, index, cells)
    ground = index[build.vessel["node"] if build.vessel else build.caps[0]["node"]]
    heights = np.array(node.z[: len(names)])
    surface = car.expansion_tank.level_z if car.expansion_tank is not None else float(heights[ground])
    heights[ground] = surface
    junction = tables.rows(tables.JUNCTION, len(names))
    junction.x, junction.z = node.x[: len(names)], heights
    junction.fixed[ground] = 1
    if opened is not None:
        junction.fixed[index[BUCKET]] = 1
    grid = coolant_tables(Fluid(car.coolant.fluid.value), car.coolant.fraction).liquid
    density = float(np.interp(temperature, grid.temperature, grid.density))
    viscosity = float(np.interp(temperature, grid.temperature, grid.viscosity))
    drive = -density * GRAVITY * (heights[branch.end] - heights[branch.start])
    opening = np.ones(len(branch))
    for b in np.flatnonzero(branch.valve >= 0):
        valve = build.valves[int(branch.valve[b])]
        share = float(step((temperature - valve["opens"]) / (valve["full"] - valve["opens"])))
        share = 1.0 - share if valve["invert"] else share
        opening[b] = (valve["leak"] + (1.0 - valve["leak"]) * share) ** -2
    pumps = list(build.pumps)
    state = np.array([voltage if build.pumps[name]["electric"] else 0.0 for name in pumps])
    for one in build.drives:
        state[pumps.index(one["pump"])] = one["ratio"] * speed
    try:
        network = network_tables(
            branch, junction, listed(tables.PUMP, list(build.pumps.values())),
            listed(tables.STATION, build.stations, branch=number, before=number, after=number),
        )  # fmt: skip
    except ValueError as error:
        raise NoFlow(f"the circuit is not whole: {error}") from None
    flow, pressure = np.full(len(branch), 0.1), np.zeros(len(names))
    out = [np.zeros(len(pumps)) for _ in range(3)]
    converged, _, _ = solve_flows(
        handle(network), np.full(len(branch), density), np.full(len(branch), viscosity), drive, state,
        np.ones(len(pumps)), opening, flow, pressure, *out, CLOSE, handle(workspace(network)),
    )  # fmt: skip
    if not converged:
        raise NoFlow("the flow network found no solution")
    rise = pressure + density * GRAVITY * (heights - surface)
    rise[ground] = 0.0
    walls = float(np.asarray(node.compliance[: len(names)]) @ rise)
    for name in cells:  # a line's wall feels the straight line between its ends: their mean
        row = build.branches[name]
        walls += row["compliance"] * 0.5 * float(rise[index[row["start"]]] + rise[index[row["end"]]])
    return Flows(
        {name: float(flow[b]) / density for name, b in number.items()},
        {name: float(rise[j]) for name, j in index.items()}, walls,
    )  # fmt: skip


def rise_at(car: "Car", rise: Mapping[str, float], place: str) -> float:
    """Rise (Pa) at a port, junction or cavity of the car; a line: the mean of its ends."""
    if place.startswith("lines."):
        line = car.lines[place.removeprefix("lines.")]
        return 0.5 * (rise[line.start] + rise[line.end])
    side = {"radiator.inlet_tank": "radiator.inlet", "radiator.outlet_tank": "radiator.outlet"}
    for name in (place, side.get(place, ""), f"{place}.outlet"):
        if name in rise:
            return rise[name]
    raise NoFlow(f'no pressure is known at "{place}"')
