"""The engine: two banks, their cylinders, and every opening a line can be connected to."""

import math
from enum import Enum

from pydantic import model_validator

from sim1d.parts.base import Names, Part, Port, PortRole, each, option, quantity
from sim1d.parts.engine_heat import EngineHeat, heat_by_law
from sim1d.parts.engine_passages import EngineBlock, EngineHead, Galleries, Gasket
from sim1d.units import AbsolutePressure, BadValue, Length, Number, Power, RotationalSpeed

BANKS = ("left", "right")
ARM = 0.25  # m, length of the intake passage from a front outlet to the middle (assumed)


class CoolantPath(Enum):
    """Which way coolant goes through block and heads."""

    BLOCK_FIRST_PARALLEL = "block_first_parallel"  # every cylinder has its own transfer holes up into the head
    BLOCK_FIRST_SERIES = "block_first_series"  # along the block, up at the rear, forward through the head
    HEAD_FIRST = "head_first"  # into the heads, down through the transfer holes, out of the block


class EnginePort(Part):
    """One kind of opening, the same on both banks. Where it sits is worked out unless the file says so."""

    present: bool = option("the castings have this opening", default=True, source="written in the file")
    throat: Length = quantity("bore of the opening itself, the smallest place", low=0.001, high=0.1)
    x: Length | None = quantity(
        "x of the opening", default=None, low=-2.0, high=6.0, source="by its place on the engine"
    )
    z: Length | None = quantity(
        "z of the opening", default=None, low=0.0, high=3.0, source="by its place on the engine"
    )
    thread: str = option("thread or flange, as the shop calls it", default="", source="not said")


class Engine(Part):
    """A V engine with two banks of two to six cylinders; left and right as the driver sees them, front at the pump."""

    cylinders_per_bank: int = quantity("cylinders of one bank", low=2, high=6)
    bore: Length = quantity("cylinder bore", low=0.04, high=0.2)
    stroke: Length = quantity("stroke", low=0.03, high=0.2)
    rod_length: Length | None = quantity(
        "length of the connecting rod", default=None, low=0.06, high=0.4, source="assumed: 1.55 strokes"
    )
    compression_ratio: Number = quantity("compression ratio", default=9.5, low=6.0, high=18.0, source="assumed")
    rated_speed: RotationalSpeed = quantity("engine speed at rated power", low=100.0, high=1500.0)
    rated_power: Power = quantity("brake power at rated speed", low=2e4, high=1e7)
    manifold_pressure: AbsolutePressure = quantity("manifold pressure at rated power", low=5e4, high=8e5)
    idle_manifold_pressure: AbsolutePressure = quantity(
        "manifold pressure at no load", default=4e4, low=1e4, high=1.1e5, source="common practice, no source"
    )
    coolant_path: CoolantPath = option(
        "way of the coolant through block and heads",
        default=CoolantPath.BLOCK_FIRST_PARALLEL,
        source="common practice, no source",
    )
    first_cylinder_x: Length = quantity(
        "x of the axis of the front cylinders", default=0.20, low=-1.0, high=5.0, source="assumed"
    )
    cylinder_pitch: Length | None = quantity(
        "distance between neighbouring cylinders of a bank",
        default=None,
        low=0.05,
        high=0.3,
        source="assumed: bore + 10 mm",
    )
    deck_z: Length = quantity("height of the deck (middle of the bore) above ground", low=0.1, high=2.0)
    block: EngineBlock = option("the block")
    head: EngineHead = option("the heads")
    gasket: Gasket = option("the transfer holes between them")
    galleries: Galleries = option(
        "the galleries that feed and gather", default=Galleries(), source="assumed, see its fields"
    )
    heat: EngineHeat = option(
        "heat to coolant and where it enters", default=EngineHeat(), source="assumed, see its fields"
    )
    front: EnginePort = option("head outlet at the front")
    middle: EnginePort | None = option(
        "head outlet between the middle cylinders", default=None, source="not on most heads"
    )
    rear: EnginePort | None = option("head outlet at the rear", default=None, source="not on all heads")
    front_vent: EnginePort | None = option(
        "small vent at the front of the head", default=None, source="not on all heads"
    )
    rear_vent: EnginePort | None = option("small vent at the rear of the head", default=None, source="not on all heads")
    inlet: EnginePort = option("coolant inlet of a bank, at the front of the block (head_first: of the head)")
    block_middle: EnginePort | None = option(
        "opening in the side of the block", default=None, source="not on all blocks"
    )
    block_rear: EnginePort | None = option("opening at the rear of the block", default=None, source="not on all blocks")
    intake_crossover: EnginePort | None = option(
        "passage of the intake manifold that joins both front outlets into one opening, engine.crossover",
        default=None,
        source="left out: the front outlets stay apart",
    )
    crossover_bore: Length = quantity(
        "bore of that passage from a front outlet to the middle", default=0.025, low=0.005, high=0.08, source="assumed"
    )
    plugged: Names = option(
        'openings that are closed, such as "left.rear"', default=(), source="every opening is plumbed or listed here"
    )
    numbering: dict[str, str] | None = option(
        'the maker\'s own numbers, such as {"left-1" = "1"}', default=None, source="bank and position from the front"
    )

    @property
    def cylinders(self) -> tuple[str, ...]:
        """Names left-1 ... left-n, right-1 ... right-n, counted from the front."""
        return tuple(f"{bank}-{i + 1}" for bank in BANKS for i in range(self.cylinders_per_bank))

    @property
    def displacement(self) -> float:
        """Swept volume of all cylinders, m3."""
        return 2 * self.cylinders_per_bank * math.pi / 4 * self.bore**2 * self.stroke

    @property
    def heat_to_coolant(self) -> float:
        """Heat to coolant at rated speed and load, W: declared, or by law; with the fuel's factor."""
        declared = self.heat.to_coolant
        return (heat_by_law(self.rated_power) if declared is None else declared) * self.heat.fuel_factor

    @property
    def cylinder_weights(self) -> tuple[float, ...]:
        """Relative heat in the order of `cylinders`, mean 1."""
        weights = self.heat.cylinder_weights
        if len(weights) != 2 * self.cylinders_per_bank:
            weights = each(weights, self.cylinders_per_bank) * 2
        return tuple(weight * len(weights) / sum(weights) for weight in weights)

    @property
    def pitch(self) -> float:
        """Distance between neighbouring cylinders, m."""
        return self.bore + 0.010 if self.cylinder_pitch is None else self.cylinder_pitch

    @property
    def rod(self) -> float:
        """Length of the connecting rod, m."""
        return 1.55 * self.stroke if self.rod_length is None else self.rod_length

    def cylinder_x(self, index: int) -> float:
        """x of a cylinder's axis, m; index from 0 at the front of a bank."""
        return self.first_cylinder_x + index * self.pitch

    @property
    def front_x(self) -> float:
        """x of the front face of the castings, m."""
        return self.first_cylinder_x - self.pitch / 2

    @property
    def rear_x(self) -> float:
        """x of the rear face of the castings, m."""
        return self.cylinder_x(self.cylinders_per_bank - 1) + self.pitch / 2

    @property
    def block_z(self) -> float:
        """Height of the middle of the open jackets, m."""
        return (self.deck_z + self.block_bottom_z) / 2

    @property
    def block_bottom_z(self) -> float:
        """Height of the lowest coolant in the block, m (a fill raises it)."""
        return self.deck_z - self.block.jacket_depth * (1.0 - self.block.fill)

    @property
    def head_z(self) -> float:
        """Height of the outlet gallery of the heads, m."""
        return self.deck_z + self.head.gallery_height

    @property
    def head_top_z(self) -> float:
        """Height of the highest coolant in the heads, m."""
        return self.deck_z + self.head.height

    @property
    def block_volume(self) -> float:
        """Coolant in the block, both banks, after the fill, m3."""
        return self.block.volume * (1.0 - self.block.fill)

    @property
    def crossover_volume(self) -> float:
        """Coolant in the intake passage that joins the front outlets, m3: both arms; 0 without one."""
        crossover = self.intake_crossover
        return 2 * ARM * math.pi / 4 * self.crossover_bore**2 if crossover is not None and crossover.present else 0.0

    @property
    def volume(self) -> float:
        """Coolant in the castings, m3: block, both heads and the passage between the front outlets."""
        return self.block_volume + 2 * self.head.volume + self.crossover_volume

    @property
    def hole_diameters(self) -> tuple[float, ...]:
        """Diameter of the transfer holes per position, front to rear, m."""
        return each(self.gasket.hole_diameter, self.cylinders_per_bank)

    @property
    def hole_counts(self) -> tuple[int, ...]:
        """Number of transfer holes per position, front to rear."""
        return each(self.gasket.hole_count, self.cylinders_per_bank)

    def ports(self) -> dict[str, Port]:
        """Openings by local name ("left.front"); with a crossover, "crossover" stands for both front outlets."""
        found: dict[str, Port] = {}
        middle_x = (self.front_x + self.rear_x) / 2
        inlet_z = self.head_z if self.coolant_path is CoolantPath.HEAD_FIRST else self.block_z
        outlet, vent, either = PortRole.OUT, PortRole.VENT, PortRole.EITHER
        places = (
            ("front", self.front, self.front_x, self.head_z, outlet),
            ("middle", self.middle, middle_x, self.head_z, outlet),
            ("rear", self.rear, self.rear_x, self.head_z, outlet),
            ("front_vent", self.front_vent, self.front_x, self.head_top_z, vent),
            ("rear_vent", self.rear_vent, self.rear_x, self.head_top_z, vent),
            ("inlet", self.inlet, self.front_x, inlet_z, PortRole.IN),
            ("block_middle", self.block_middle, middle_x, self.block_bottom_z, either),
            ("block_rear", self.block_rear, self.rear_x, self.block_z, either),
        )
        crossover = self.intake_crossover
        for bank in BANKS:
            for name, port, x, z, role in places:
                if port is not None and port.present and not (name == "front" and crossover):
                    found[f"{bank}.{name}"] = _place(port, x, z, role)
        if crossover is not None and crossover.present:
            found["crossover"] = _place(crossover, self.front_x, self.head_top_z, outlet)
        return found

    @model_validator(mode="after")
    def _fits_together(self):
        count = self.cylinders_per_bank
        for key, values in (("hole_diameter", self.gasket.hole_diameter), ("hole_count", self.gasket.hole_count)):
            if len(values) not in (1, count):
                raise BadValue(
                    f"gasket.{key} has {len(values)} values", f"give one value, or {count}: one per cylinder"
                )
        if sum(self.hole_counts) == 0:
            raise BadValue(
                "gasket.hole_count leaves no hole between block and head", "give at least one cylinder a hole"
            )
        if len(self.heat.cylinder_weights) not in (1, count, 2 * count):
            given = len(self.heat.cylinder_weights)
            raise BadValue(f"heat.cylinder_weights has {given} values", f"give 1, {count} or {2 * count} values")
        for name in self.numbering or {}:
            if name not in self.cylinders:
                raise BadValue(f'numbering names "{name}"', f"use the names {', '.join(self.cylinders)}")
        if self.head.gallery_height > self.head.height:
            raise BadValue(
                "head.gallery_height is above head.height", "let head.height be the highest coolant of the head"
            )
        return self

    def write_rows(self, build, name: str) -> None:
        """Write the rows of this part under `name`; see `sim1d.build`."""
        from sim1d.parts.engine_rows import write_engine

        write_engine(self, build, name)


def _place(port: EnginePort, x: float, z: float, role: PortRole) -> Port:
    return Port(
        x=x if port.x is None else port.x,
        z=z if port.z is None else port.z,
        bore=port.throat,
        role=role,
        thread=port.thread,
    )
