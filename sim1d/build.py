"""Where parts write their rows: names in, rows out. `pack` turns the finished build into tables.

A part calls the methods below with SI numbers and names; it never sees an index of another part. Junction and branch
names follow the ports (`engine.left.front`, `pump.suction`) and the lines (`lines.upper`).
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

CIRCLE = np.pi / 4.0


@dataclass
class Build:
    """Rows in the making. Every list holds plain dictionaries of the fields of one table of `sim1d.tables`."""

    cells_per_line: int = 6
    cells_per_core: int = 8
    boiling_factor: float = 1.0  # nucleate flux over that of water (mixture)
    critical_factor: float = 1.0  # critical heat flux over that of water (mixture)
    meetings: dict[str, int] = field(default_factory=dict)  # port -> lines that end in it
    lengths: dict[str, float] = field(default_factory=dict)  # line -> developed length, m
    y_blocks: frozenset[str] = frozenset()  # junctions with an easy angle
    plumbed: frozenset[str] = frozenset()  # ports that a line ends in
    junctions: dict[str, dict[str, Any]] = field(default_factory=dict)
    branches: dict[str, dict[str, Any]] = field(default_factory=dict)
    bare: set[str] = field(default_factory=set)  # junctions that hold no coolant of their own
    metals: dict[str, dict[str, Any]] = field(default_factory=dict)
    metal_start: dict[str, str] = field(default_factory=dict)  # metal -> junction whose temperature it starts with
    links: list[dict[str, Any]] = field(default_factory=list)
    faces: list[dict[str, Any]] = field(default_factory=list)
    gas_faces: list[dict[str, Any]] = field(default_factory=list)
    cores: list[dict[str, Any]] = field(default_factory=list)
    radiators: list[dict[str, Any]] = field(default_factory=list)
    exchangers: list[dict[str, Any]] = field(default_factory=list)
    pumps: dict[str, dict[str, Any]] = field(default_factory=dict)
    drives: list[dict[str, Any]] = field(default_factory=list)
    valves: list[dict[str, Any]] = field(default_factory=list)
    stations: list[dict[str, Any]] = field(default_factory=list)
    sensors: dict[str, dict[str, Any]] = field(default_factory=dict)
    caps: list[dict[str, Any]] = field(default_factory=list)
    cuts: dict[str, dict[str, Any]] = field(default_factory=dict)  # sensor -> filter of its controller
    collapses: list[dict[str, Any]] = field(default_factory=list)  # soft hoses: branch, suction, width
    lags: list[str] = field(default_factory=list)
    cylinders: list[dict[str, Any]] = field(default_factory=list)  # name, bank, node, branch, sign
    lines: dict[str, tuple[str, float]] = field(default_factory=dict)  # shown name -> (branch, sign)
    ratings: list[tuple[str, str, float]] = field(default_factory=list)  # junction, part, rated gauge pressure Pa
    vessel: dict[str, Any] = field(default_factory=dict)
    alias: dict[str, str] = field(default_factory=dict)  # cavity or port -> junction that stands for it
    metal_temperature: dict[str, float] = field(default_factory=dict)  # K at the start, where it is not the coolant's
    rating_liquid: tuple[float, float, float, float] = (965.0, 3.15e-4, 0.675, 4205.0)  # rho, mu, k, cp at 90 degC
    notes: list[str] = field(default_factory=list)

    def junction(
        self, name: str, x: float, z: float, volume: float = 0.0, *, growth: float = 0.0, compliance: float = 0.0,
        ambient: float = 0.0, ambient_moving: float = 0.0, steam: bool = False,
    ) -> str:  # fmt: skip
        """A lump of coolant (m3) at x, z (m), where branches meet. Naming it twice adds to its volume and walls.

        Left without a volume it is bare, the opening where a line begins: half a cell of every branch with cells that
        ends there is its lump, so that it adds no coolant to what parts and lines hold.
        `growth` 1/K, `compliance` m3/Pa, `ambient` W/K, `ambient_moving` 1/(m/s); `steam`: steam in it is felt by the
        flow and ends the run when it fills the lump.
        """
        if name in self.junctions:
            row = self.junctions[name]
            for key, value in (("volume", volume), ("compliance", compliance), ("ambient", ambient)):
                row[key] += value
        else:
            self.junctions[name] = dict(
                x=x,
                z=z,
                volume=volume,
                growth=growth,
                compliance=compliance,
                ambient=ambient,
                ambient_moving=ambient_moving,
            )
        if volume == 0.0:
            self.bare.add(name)
        if steam and name not in self.lags:
            self.lags.append(name)
        return name

    def branch(
        self, name: str, start: str, end: str, *, diameter: float, area: float | None = None, length: float = 0.0,
        count: float = 1.0, roughness: float = 0.0, friction_multiplier: float = 1.0, laminar_constant: float = 64.0,
        k: float = 0.0, k_reverse: float | None = None, loss_area: float | None = None, creeping: float = 0.0,
        pump: str = "", valve: int = -1, cells: int = 0, volume: float = 0.0, compliance: float = 0.0,
        ambient: float = 0.0, ambient_moving: float = 0.0, growth: float = 0.0,
    ) -> str:  # fmt: skip
        """A flow path between two junctions; `cells` lumps of coolant lie inside it.

        They share its `volume` (m3) and its walls with the bare junctions at its ends, which take half a cell each.
        """
        area = CIRCLE * diameter**2 if area is None else area
        if creeping == 0.0 and length == 0.0:
            # a short passage has a creeping limit too: that of a hole of its bore (Sampson 1891)
            creeping = 24.0 / diameter**3
        bare = [end for end in (start, end) if end in self.bare] if cells else []
        share = 0.5 / (cells + 0.5 * len(bare)) if cells else 0.0
        for port in bare:
            row = self.junctions[port]
            for key, value in (("volume", volume), ("compliance", compliance), ("ambient", ambient)):
                row[key] += share * value
            row.update(growth=growth, ambient_moving=ambient_moving)
        inside = 1.0 - share * len(bare)
        self.branches[name] = dict(
            start=start, end=end, length=length, diameter=diameter, area=area, count=count, roughness=roughness,
            friction_multiplier=friction_multiplier, laminar_constant=laminar_constant, k_forward=k,
            k_reverse=k if k_reverse is None else k_reverse, loss_area=area if loss_area is None else loss_area,
            creeping=creeping, pump=pump, valve=valve, cells=cells, volume=inside * volume,
            compliance=inside * compliance, ambient=inside * ambient, ambient_moving=ambient_moving,
            growth=growth, inside=inside, first=share if start in bare else 0.0,
        )  # fmt: skip
        return name

    def metal(
        self, name: str, capacity: float, starts_at: str, *, ambient: float = 0.0, ambient_moving: float = 0.0,
        friction_heat: float = 0.0,
    ) -> str:  # fmt: skip
        """A lump of metal (J/K) that starts the day at the temperature of junction `starts_at`."""
        self.metals[name] = dict(
            capacity=capacity, ambient=ambient, ambient_moving=ambient_moving, friction_heat=friction_heat
        )
        self.metal_start[name] = starts_at
        return name

    def link(self, a: str, b: str, conductance: float) -> None:
        """Conduction (W/K) between two metals."""
        self.links.append(dict(a=a, b=b, conductance=conductance))

    def face(self, metal: str, node: str, **fields: Any) -> None:
        """A wetted face; fields of FACE, `branch` by name, `dry` True when it can pass its critical heat flux."""
        self.faces.append(dict(metal=metal, node=node, **fields))

    def gas_face(self, metal: str, **fields: Any) -> None:
        """A face heated by the working gas; fields of GAS_FACE."""
        self.gas_faces.append(dict(metal=metal, **fields))

    def wall(
        self, name: str, starts_at: str, *, cells: int, thickness: float, area: float, conductivity: float, heat: float
    ) -> tuple[str, str, float]:
        """A wall as a column of `cells` equal lumps; `heat` is volumetric heat capacity (J/m3 K).

        Returns (gas-side lump, wet-side lump, half-cell resistance in m2 K/W); see heat conduction in docs.
        """
        step = thickness / cells
        names = [self.metal(f"{name}.{i + 1}", heat * area * step, starts_at) for i in range(cells)]
        for one, two in zip(names, names[1:], strict=False):
            self.link(one, two, conductivity * area / step)
        return names[0], names[-1], 0.5 * step / conductivity

    def show(self, line: str, branch: str, sign: float = 1.0) -> None:
        """List `branch` among the lines whose flow is a result."""
        self.lines[line] = (branch, sign)

    def rate(self, junction: str, part: str, pressure: float) -> None:
        """Rated gauge pressure (Pa) of a part, compared with the pressure at `junction`."""
        self.ratings.append((junction, part, pressure))
