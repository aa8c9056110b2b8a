"""Lines: hoses, tubes and cast passages between two ports."""

import math
from enum import Enum

from pydantic import model_validator

from sim1d.parts.base import Part, option, quantity
from sim1d.parts.fitting import Fitting
from sim1d.parts.plumbing_rows import write_line
from sim1d.units import BadValue, GaugePressure, Length, LineSize, Number, PressureDifference, Stress


class Wall(Enum):
    """What a line is made of, as the coolant feels it."""

    SMOOTH = "smooth"  # elastomer or smooth-bore lined hose
    CONVOLUTED = "convoluted"  # corrugated bore
    TUBE = "tube"  # drawn metal tube
    CAST = "cast"  # passage in a casting or a block-mounted housing


# Sand-grain roughness (m) and friction over that of a round smooth bore. Roughness from published pipe tables (rubber
# 0.006 to 0.07 mm, drawn tube 0.0015 mm; cast iron 0.25 mm recalled); convoluted: "almost 100 % more" than pipe, one
# metal-hose bulletin, range 1.5 to 4.
ROUGHNESS = {Wall.SMOOTH: 1.0e-5, Wall.CONVOLUTED: 1.0e-5, Wall.TUBE: 1.5e-6, Wall.CAST: 2.5e-4}
FRICTION_MULTIPLIER = {Wall.SMOOTH: 1.0, Wall.CONVOLUTED: 2.0, Wall.TUBE: 1.0, Wall.CAST: 1.0}
# Effective modulus (Pa) of the wall: knitted or wire hose 20 to 100 MPa assumed, plain rubber 5 to 15 MPa published.
STIFFNESS = {Wall.SMOOTH: 2.0e7, Wall.CONVOLUTED: 2.0e7, Wall.TUBE: 7.0e10, Wall.CAST: 7.0e10}


class Line(Part):
    """A hose, tube or passage from one port or junction to another; two lines on one port are a tee."""

    start: str = option('port or junction it leaves, such as "engine.left.front"', alias="from")
    end: str = option('port or junction it enters, such as "radiator.inlet"', alias="to")
    size: LineSize | None = option(
        'size, such as "dash 16" or "1.5 in"', default=None, source="size or bore must be given"
    )
    bore: Length | None = quantity(
        "measured bore; wins over the size", default=None, low=0.001, high=0.15, source="left out: the bore of the size"
    )
    length: Length | None = quantity(
        "developed length",
        default=None,
        low=0.002,
        high=15.0,
        source="left out: distance between the ends plus slack",
    )
    slack: Length = quantity(
        "length beyond the straight distance between the ends, where no length is given",
        default=0.10,
        low=0.0,
        high=5.0,
        source="assumed: the way round other parts and across the car",
    )
    fixed_length: bool = option(
        "the length stays when a part at one end moves", default=False, source="a hose is cut to fit"
    )
    high_z: Length | None = quantity(
        "height of its highest point", default=None, low=0.0, high=3.0, source="left out: its higher end"
    )
    low_z: Length | None = quantity(
        "height of its lowest point", default=None, low=0.0, high=3.0, source="left out: its lower end"
    )
    wall: Wall = option("wall", default=Wall.SMOOTH, source="common practice, no source")
    roughness: Length | None = quantity(
        "sand-grain roughness of the bore", default=None, low=0.0, high=0.005, source="published pipe tables, by wall"
    )
    stiffness: Stress | None = quantity(
        "effective modulus of the wall",
        default=None,
        low=1e6,
        high=3e11,
        source="assumed by wall: 20 MPa for hose (plain rubber 5 to 15 published)",
        band=(5e6, 1e8),
    )
    wall_thickness: Length = quantity(
        "thickness of the wall", default=0.005, low=0.0005, high=0.03, source="common practice, no source"
    )
    collapse_pressure: PressureDifference | None = quantity(
        "suction below ambient at which it begins to go flat", default=None, low=5e2, high=1e6,
        source="left out: buckling of a long tube of its wall and stiffness (Timoshenko, recalled)",
    )  # fmt: skip
    wire_reinforced: bool = option(
        "a wire or spring keeps it open under suction", default=False, source="not said, so not relied on"
    )
    working_pressure: GaugePressure | None = quantity(
        "rated working pressure", default=None, low=1e3, high=1e8, source="left out: unrated, margin unknown"
    )
    fittings: tuple[Fitting, ...] = option("fittings along it, ends included", default=(), source="none listed")
    throat_share: Number = quantity(
        "bore of its hose ends over its own bore",
        default=0.8,
        low=0.2,
        high=1.0,
        source="recalled: hose-end nipples are 0.7 to 0.9 of the bore",
        band=(0.7, 0.9),
    )
    restrictor: Length | None = quantity(
        "bore of a restrictor in it", default=None, low=0.0005, high=0.15, source="left out: none"
    )
    insulated: bool = option("wrapped, so that it loses no heat to the air", default=False, source="bare")
    blocked: bool = option("fault: nothing passes", default=False, source="sound")

    @model_validator(mode="after")
    def _has_bore(self):
        if self.size is None and self.bore is None:
            raise BadValue("has neither size nor bore", 'give size = "dash 16" or, better, a measured bore = "22 mm"')
        if self.high_z is not None and self.low_z is not None and self.high_z < self.low_z:
            raise BadValue("high_z is below low_z", "give the highest point as high_z and the lowest as low_z")
        if self.start == self.end:
            raise BadValue(f'starts and ends at "{self.start}"', "connect two different ports")
        return self

    @property
    def inner_diameter(self) -> float:
        """Bore, m: measured if given, else that of the size."""
        if self.bore is not None:
            return self.bore
        assert self.size is not None  # _has_bore refused the rest
        return self.size.bore

    @property
    def area(self) -> float:
        """Section of its bore, m2."""
        return math.pi / 4 * self.inner_diameter**2

    @property
    def nominal_bore(self) -> float:
        """The optimistic bore, m: n/16 in of a dash size; equal to the bore where that was measured."""
        return self.size.nominal if self.bore is None and self.size is not None else self.inner_diameter

    @property
    def wall_roughness(self) -> float:
        """Sand-grain roughness, m."""
        return ROUGHNESS[self.wall] if self.roughness is None else self.roughness

    @property
    def friction_multiplier(self) -> float:
        """Wall friction over that of a round bore of that roughness."""
        return FRICTION_MULTIPLIER[self.wall]

    @property
    def modulus(self) -> float:
        """Effective modulus of the wall, Pa."""
        return STIFFNESS[self.wall] if self.stiffness is None else self.stiffness

    @property
    def is_soft(self) -> bool:
        """It can be sucked flat: a hose without wire, below the stiffness of a reinforced one."""
        return self.wall is Wall.SMOOTH and not self.wire_reinforced and self.modulus < 5e7

    def write_rows(self, build, name: str) -> None:
        """Write the rows of this part under `name`; see `sim1d.build`."""
        write_line(self, build, name, build.lengths[name])
