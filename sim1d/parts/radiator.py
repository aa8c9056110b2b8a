"""The radiator: core, tanks, ports, fan and where it stands."""

import math
from enum import Enum

from pydantic import model_validator

from sim1d.parts.base import Part, Port, PortRole, option, quantity
from sim1d.parts.radiator_rows import write_radiator
from sim1d.units import (
    Angle,
    BadValue,
    Compliance,
    Conductivity,
    Current,
    GaugePressure,
    Length,
    Number,
    Power,
    PressureDifference,
    TemperatureDifference,
    Velocity,
    Volume,
    VolumeFlow,
)

EXAMPLE_CORE = "assumed: a common louvered-fin core"


class CoreFlow(Enum):
    """Which way the tubes run."""

    CROSSFLOW = "crossflow"
    DOWNFLOW = "downflow"


class Tubes(Part):
    """Flat tubes of the core, rounded at both ends."""

    count: int | None = quantity(
        "number of tubes, all passes", default=None, low=2, high=1000, source="left out: as many as the pitch allows"
    )
    pitch: Length = quantity("distance from tube to tube", default=0.0098, low=0.004, high=0.03, source=EXAMPLE_CORE)
    inner_width: Length = quantity(
        "inside width, along the air", default=0.0354, low=0.005, high=0.2, source=EXAMPLE_CORE
    )
    inner_height: Length = quantity("inside height", default=0.0012, low=0.0005, high=0.01, source=EXAMPLE_CORE)
    wall: Length = quantity("wall", default=0.0003, low=0.0001, high=0.002, source=EXAMPLE_CORE)

    @model_validator(mode="after")
    def _is_flat(self):
        if self.inner_height > self.inner_width:
            raise BadValue("inner_height is above inner_width", "give the larger inside measure as inner_width")
        if self.inner_height + 2 * self.wall >= self.pitch:
            raise BadValue("pitch leaves no room for fins", "give a pitch above inner_height + 2 wall")
        return self

    @property
    def area(self) -> float:
        """Flow area of one tube, m2."""
        return (self.inner_width - self.inner_height) * self.inner_height + math.pi / 4 * self.inner_height**2

    @property
    def perimeter(self) -> float:
        """Wetted perimeter of one tube, m."""
        return 2 * (self.inner_width - self.inner_height) + math.pi * self.inner_height

    @property
    def hydraulic_diameter(self) -> float:
        """Four areas over the perimeter, m."""
        return 4 * self.area / self.perimeter


class Fins(Part):
    """Louvered fins between the tubes, with the lengths of Chang and Wang 1997."""

    pitch: Length = quantity("fin pitch", default=0.0018, low=0.0005, high=0.005, source=EXAMPLE_CORE)
    height: Length = quantity("fin height from tube to tube", default=0.008, low=0.002, high=0.02, source=EXAMPLE_CORE)
    thickness: Length = quantity("fin thickness", default=8e-5, low=3e-5, high=5e-4, source=EXAMPLE_CORE)
    louver_pitch: Length = quantity("louver pitch", default=0.0012, low=0.0005, high=0.003, source=EXAMPLE_CORE)
    louver_length: Length = quantity("louver length", default=0.0068, low=0.001, high=0.02, source=EXAMPLE_CORE)
    louver_angle: Angle = quantity(
        "louver angle", default=math.radians(28), low=math.radians(8), high=math.radians(35), source=EXAMPLE_CORE
    )
    conductivity: Conductivity = quantity(
        "conductivity of the fin metal", default=200.0, low=20.0, high=400.0, source="recalled: thin aluminium sheet"
    )
    air_factor: Number = quantity(
        "air-side coefficient over that of the published law (dirt, damage, spread)",
        default=1.0,
        low=0.2,
        high=2.0,
        source="published law as it stands",
        band=(0.8, 1.2),
    )
    pressure_factor: Number = quantity(
        "air pressure drop over that of the published law",
        default=1.0,
        low=0.2,
        high=4.0,
        source="published law as it stands",
        band=(0.75, 1.25),
    )


class Rating(Part):
    """One rated point of the whole core; the air-side factor is set so that the core meets it."""

    heat: Power = quantity("heat given to the air", low=1e3, high=1e6)
    coolant_flow: VolumeFlow = quantity("coolant flow", low=1e-4, high=0.02)
    air_speed: Velocity = quantity("air speed at the face", low=0.5, high=60.0)
    temperature_difference: TemperatureDifference = quantity("coolant inlet above air inlet", low=5.0, high=120.0)


class Fan(Part):
    """An electric fan: pressure falls with the square of flow."""

    pressure: PressureDifference = quantity(
        "pressure at no flow", default=250.0, low=10.0, high=3000.0, source="assumed", band=(150.0, 400.0)
    )
    flow: VolumeFlow = quantity(
        "air flow at no pressure", default=1.4, low=0.05, high=10.0, source="assumed", band=(0.8, 2.0)
    )
    current: Current = quantity("current at full speed", default=20.0, low=0.5, high=200.0, source="assumed")
    failed: bool = option("fault: it stands still", default=False, source="sound")


class Radiator(Part):
    """A radiator with one or two passes; x is the same for all of it, heights count from `mount_height`."""

    width: Length = quantity("width of the core", low=0.05, high=2.0)
    core_height: Length = quantity("height of the core", low=0.05, high=2.0)
    depth: Length = quantity("depth of the core along the air", default=0.036, low=0.01, high=0.2, source=EXAMPLE_CORE)
    core_passes: int = quantity("passes of the coolant through the core", low=1, high=2)
    flow: CoreFlow = option("which way the tubes run", default=CoreFlow.CROSSFLOW, source="common practice, no source")
    mount_height: Length = quantity("z of the lower edge of the core", low=0.02, high=3.0)
    mount_x: Length = quantity(
        "x of the core", default=-0.30, low=-3.0, high=8.0, source="assumed: in front of the engine"
    )
    tubes: Tubes = option("tubes", default=Tubes(), source=EXAMPLE_CORE)
    fins: Fins = option("fins", default=Fins(), source=EXAMPLE_CORE)
    rated: Rating | None = option("a rated point, where one is known", default=None, source="left out: geometry alone")
    fan: Fan | None = option("its fan", default=None, source="left out: none")
    tank_volume: Volume = quantity(
        "coolant in each of the two tanks", default=6e-4, low=2e-5, high=1e-2, source="assumed"
    )
    inlet_bore: Length = quantity(
        "bore of the inlet", default=0.038, low=0.005, high=0.1, source="common practice, no source"
    )
    outlet_bore: Length = quantity(
        "bore of the outlet", default=0.045, low=0.005, high=0.1, source="common practice, no source"
    )
    vent_bore: Length | None = quantity(
        "bore of a vent at the top of the inlet tank", default=None, low=0.001, high=0.03, source="left out: no vent"
    )
    inlet_level: Number | None = quantity(
        "height of the inlet, 0 at the lower edge of the core, 1 at the upper",
        default=None,
        low=-0.2,
        high=1.2,
        source="assumed: 0.9",
    )
    outlet_level: Number | None = quantity(
        "height of the outlet, 0 at the lower edge of the core, 1 at the upper",
        default=None,
        low=-0.2,
        high=1.2,
        source="assumed: 0.1",
    )
    core_loss_factor: Number = quantity(
        "water-side pressure drop of the core over the computed one (one measured point fits it)",
        default=1.0,
        low=0.1,
        high=20.0,
        source="laws of flat tubes as they stand; the transition moves the drop by 43 %",
        band=(0.7, 1.4),
    )
    rated_pressure: GaugePressure | None = quantity(
        "rated (test) pressure", default=None, low=1e4, high=1e6, source="left out: unrated, margin unknown"
    )
    compliance: Compliance = quantity(
        "growth of its volume with pressure",
        default=2e-10,
        low=0.0,
        high=5e-9,
        source="assumed: 0.1 to 0.5 mL/kPa",
        band=(1e-10, 5e-10),
    )
    net_ram: Number = quantity(
        "pressure difference that driving makes across the core, over the dynamic pressure",
        default=0.5,
        low=0.0,
        high=1.5,
        source="assumed",
        band=(0.3, 0.8),
    )
    bay_loss: Number = quantity(
        "loss coefficient of grille and engine bay on the face speed",
        default=1.5,
        low=0.0,
        high=50.0,
        source="assumed",
        band=(0.8, 3.0),
    )

    @model_validator(mode="after")
    def _tubes_fit(self):
        if self.tubes.inner_width + 2 * self.tubes.wall > self.depth + 1e-9:
            raise BadValue("the tubes are wider than the core is deep", "give a depth of at least the tube width")
        if self.tube_count < 2 * self.core_passes:
            raise BadValue(
                f"has {self.tube_count} tubes for {self.core_passes} passes", "give at least two tubes per pass"
            )
        return self

    @property
    def stack(self) -> float:
        """Length along which the tubes are stacked, m."""
        return self.core_height if self.flow is CoreFlow.CROSSFLOW else self.width

    @property
    def tube_length(self) -> float:
        """Length of one tube, m."""
        return self.width if self.flow is CoreFlow.CROSSFLOW else self.core_height

    @property
    def tube_count(self) -> int:
        """Number of tubes, all passes."""
        return self.tubes.count if self.tubes.count is not None else int(self.stack / self.tubes.pitch + 1e-9)

    @property
    def volume(self) -> float:
        """Coolant in core and tanks, m3."""
        return self.tube_count * self.tube_length * self.tubes.area + 2 * self.tank_volume

    @property
    def face_area(self) -> float:
        """Face of the core, m2."""
        return self.width * self.core_height

    @property
    def top_z(self) -> float:
        """Height of the top of the core, m."""
        return self.mount_height + self.core_height

    def ports(self) -> dict[str, Port]:
        inlet = self.mount_height + (0.9 if self.inlet_level is None else self.inlet_level) * self.core_height
        outlet = self.mount_height + (0.1 if self.outlet_level is None else self.outlet_level) * self.core_height
        found = {
            "inlet": Port(self.mount_x, inlet, self.inlet_bore, PortRole.IN),
            "outlet": Port(self.mount_x, outlet, self.outlet_bore, PortRole.OUT),
        }
        if self.vent_bore is not None:
            found["vent"] = Port(self.mount_x, self.top_z, self.vent_bore, PortRole.VENT)
        return found

    def write_rows(self, build, name: str) -> None:
        """Write the rows of this part under `name`; see `sim1d.build`."""
        write_radiator(self, build, name)
