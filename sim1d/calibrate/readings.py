"""Bench and driveway readings: what a builder measured, one frozen description per kind.

`plus_minus` is one standard deviation: two of three repeats fall within it.
"""

from enum import Enum
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field, model_validator

from sim1d.parts.base import Description, option, quantity
from sim1d.units import (
    AbsolutePressure,
    BadValue,
    Duration,
    GaugePressure,
    Length,
    Number,
    PressureDifference,
    RotationalSpeed,
    Temperature,
    TemperatureDifference,
    Voltage,
    Volume,
    VolumeFlow,
)

COLD = 293.15  # K, a workshop
ATMOSPHERE = 101325.0


class Stage(Enum):
    """Order of the fit: what stands still first, then what flows, then heat."""

    STATICS = "statics"
    FLOW = "flow"
    HEAT = "heat"


class CapState(Enum):
    """The cap while a reading is taken."""

    ON = "on"
    OFF = "off"


class Level(Enum):
    """How far the circuit is filled."""

    MARK = "mark"  # the tank at its cold mark
    BRIM = "brim"  # no gas left in the tank


class Reading(Description):
    """What every reading carries."""

    stage: ClassVar[Stage]
    title: ClassVar[str]
    cap_needed: ClassVar[CapState | None] = None

    name: str = option("what tables call it", default="", source="left out: its kind and place")
    note: str = option("remarks", default="", source="no remarks")
    ambient_pressure: AbsolutePressure = quantity(
        "air pressure where it was taken, not reduced to sea level", default=ATMOSPHERE, low=5e4, high=1.1e5,
        source="standard atmosphere at sea level",
    )  # fmt: skip
    cap: CapState | None = option(
        "cap on or off while it was taken", default=None, source="left out: as the kind needs it"
    )

    @model_validator(mode="after")
    def _cap_fits(self) -> "Reading":
        if self.cap is not None and self.cap_needed is not None and self.cap is not self.cap_needed:
            needed = self.cap_needed.value
            raise BadValue(f"{self.title} is taken with the cap {needed}", f'write cap = "{needed}" or leave it out')
        return self


class Running(Reading):
    """A reading with the pump running in neutral: engine or pump speed, and how warm the coolant is."""

    stage = Stage.FLOW
    speed: RotationalSpeed | None = quantity(
        "engine speed", default=None, low=0.0, high=1500.0,
        source="left out: pump_speed is given, or a pump is electric",
    )  # fmt: skip
    pump_speed: RotationalSpeed | None = quantity(
        "speed of the belt pump", default=None, low=0.0, high=3000.0, source="left out: speed is given"
    )
    voltage: Voltage = quantity(
        "voltage at the electric pumps (0: off)", default=13.5, low=0.0, high=60.0, source="common practice, no source"
    )
    temperature: Temperature = quantity(
        "coolant temperature", default=COLD, low=263.15, high=393.15, source="a workshop at 20 degC"
    )

    @model_validator(mode="after")
    def _one_speed(self) -> "Running":
        if self.speed is not None and self.pump_speed is not None:
            raise BadValue("gives both speed and pump_speed", "give the one that was read")
        return self


class Fill(Reading):
    """Litres that the circuit took, measured by bucket, top-ups included."""

    stage, title, cap_needed = Stage.STATICS, "a fill", CapState.OFF
    kind: Literal["fill"] = option("litres accepted")
    level: Level = option("filled to the mark or to the brim", default=Level.MARK, source="the cold mark")
    value: Volume = quantity("litres taken", low=0.0, high=0.1)
    plus_minus: Volume = quantity("one standard deviation", low=1e-6, high=0.01)


class Drain(Reading):
    """Litres that ran out of the lowest drain that was opened, into a bucket."""

    stage, title, cap_needed = Stage.STATICS, "a drain", CapState.OFF
    kind: Literal["drain"] = option("litres that ran out")
    height: Length | None = quantity(
        "z of the drain: coolant above it runs out", default=None, low=0.0, high=3.0, source="left out: all runs out"
    )
    level: Level = option("how full it was", default=Level.MARK, source="the cold mark")
    value: Volume = quantity("litres that ran out", low=0.0, high=0.1)
    plus_minus: Volume = quantity("one standard deviation", low=1e-6, high=0.01)


class Squeeze(Reading):
    """Rise of pressure when a syringe presses coolant into the cold, closed circuit, engine off."""

    stage, title, cap_needed = Stage.STATICS, "a squeeze", CapState.ON
    kind: Literal["squeeze"] = option("pressure rise when a volume is pressed in")
    pressed: Volume = quantity("volume pressed in", low=1e-6, high=0.005)
    level: Level = option("how full it was", default=Level.MARK, source="the cold mark")
    value: PressureDifference = quantity("rise", low=-1e5, high=1e6)
    plus_minus: PressureDifference = quantity("one standard deviation", low=10.0, high=5e4)


class PumpStart(Running):
    """Fall of the level when the pump starts, cap off, cold: it presses hidden air together and stretches walls."""

    stage, title, cap_needed = Stage.STATICS, "a pump start", CapState.OFF
    kind: Literal["pump_start"] = option("volume that the tank loses when the pump starts")
    where: str | None = option(
        "cavity where air is suspected, such as engine.left-4.head", default=None,
        source="left out: where the fill left it",
    )  # fmt: skip
    value: Volume = quantity("volume that the tank lost", low=-0.005, high=0.01)
    plus_minus: Volume = quantity("one standard deviation", low=1e-7, high=0.002)


class LevelDrop(Running):
    """The same as a pump start, read as the fall of the surface in the tank."""

    stage, title, cap_needed = Stage.STATICS, "a level drop", CapState.OFF
    kind: Literal["level_drop"] = option("fall of the surface when the pump starts")
    where: str | None = option(
        "cavity where air is suspected, such as engine.left-4.head", default=None,
        source="left out: where the fill left it",
    )  # fmt: skip
    value: Length = quantity("fall of the surface", low=-0.5, high=1.0)
    plus_minus: Length = quantity("one standard deviation", low=1e-5, high=0.1)


class CapTester(Reading):
    """Pressure at which a tester opens the cap."""

    stage, title = Stage.STATICS, "a cap test"
    kind: Literal["cap_tester"] = option("opening pressure on a tester")
    value: GaugePressure = quantity("opening pressure", low=0.0, high=2e6)
    plus_minus: GaugePressure = quantity("one standard deviation", low=10.0, high=5e4)


class BoilingCheck(Reading):
    """A temperature sensor held into boiling water in the open."""

    stage, title = Stage.STATICS, "a boiling check"
    kind: Literal["boiling_check"] = option("a sensor in boiling water")
    where: str = option("name of the sensor")
    after: Duration | None = quantity(
        "time since it was dipped", default=None, low=0.0, high=3600.0, source="left out: settled"
    )
    temperature: Temperature = quantity(
        "what it had before", default=COLD, low=243.15, high=393.15, source="a workshop at 20 degC"
    )
    value: Temperature = quantity("what it shows", low=243.15, high=673.15)
    plus_minus: TemperatureDifference = quantity("one standard deviation", low=0.01, high=20.0)


class Morning(Reading):
    """Pressure in the closed circuit next morning, before the cap is touched."""

    stage, title, cap_needed = Stage.STATICS, "a morning pressure", CapState.ON
    kind: Literal["morning"] = option("gauge pressure next morning")
    temperature: Temperature = quantity("coolant in the morning", low=243.15, high=333.15)
    sealed_temperature: Temperature = quantity(
        "coolant when the cap was put on", default=COLD, low=243.15, high=373.15, source="a workshop at 20 degC"
    )
    value: GaugePressure = quantity("pressure", low=-1.1e5, high=1e6)
    plus_minus: GaugePressure = quantity("one standard deviation", low=10.0, high=5e4)


class Gauge(Running):
    """Pressure with the pump running less that at rest, cap off; with a second tap, the difference of the two."""

    title = "a gauge"
    kind: Literal["gauge"] = option("pressure at a point while the pump runs")
    where: str = option("port or junction of the first tap, such as pump.discharge")
    against: str | None = option("port or junction of a second tap", default=None, source="left out: one tap")
    value: PressureDifference = quantity(
        "rise over rest at the first tap, less that at the second (gauges zeroed with the pump at rest)",
        low=-1e6, high=3e6,
    )  # fmt: skip
    plus_minus: PressureDifference = quantity("one standard deviation", low=10.0, high=1e5)

    @model_validator(mode="after")
    def _has_a_zero(self) -> "Gauge":
        if self.against is None and self.cap is CapState.ON:
            raise BadValue(
                "one tap with the cap on shows the level of the whole circuit as well",
                "take the cap off while cold, or give a second tap as against",
            )
        return self


class Bucket(Running):
    """Flow out of one line opened at its end, into a bucket at idle; make-up is poured into the tank."""

    title, cap_needed = "a bucket", CapState.OFF
    kind: Literal["bucket"] = option("flow out of one opened line")
    where: str = option("name of the line whose far end (its to) is opened; the port it leaves is plugged")
    height: Length = quantity("z of the open end", low=0.0, high=3.0)
    value: VolumeFlow = quantity("flow", low=0.0, high=0.1)
    plus_minus: VolumeFlow = quantity("one standard deviation", low=1e-8, high=0.01)


class CoreDrop(Running):
    """Pressure difference from inlet to outlet of the radiator."""

    title = "a core drop"
    kind: Literal["core_drop"] = option("pressure difference over the radiator")
    value: PressureDifference = quantity("inlet less outlet, gauges zeroed at rest", low=-1e6, high=1e6)
    plus_minus: PressureDifference = quantity("one standard deviation", low=10.0, high=1e5)


class Thermal(Reading):
    """A temperature read with a sensor of the car, or the mean of the coolant."""

    stage = Stage.HEAT
    where: str | None = option(
        "sensor that was read; its delay and its offset count", default=None, source="left out: mean of all coolant"
    )
    value: Temperature = quantity("temperature", low=243.15, high=473.15)
    plus_minus: TemperatureDifference = quantity("one standard deviation", low=0.01, high=20.0)


class Settled(Thermal):
    """Settled temperature after a pass: its heat over the heat capacity of coolant and metal."""

    title, cap_needed = "a settled temperature", CapState.ON
    kind: Literal["settled"] = option("settled temperature after a pass")
    temperature: Temperature = quantity("coolant and metal before the pass", low=243.15, high=393.15)
    air_temperature: Temperature = quantity("air", default=COLD, low=243.15, high=333.15, source="20 degC")
    speed: RotationalSpeed = quantity("engine speed in the pass", low=50.0, high=1500.0)
    load: Number = quantity("share of the rated manifold pressure above idle", low=0.0, high=1.5)
    duration: Duration = quantity("length of the pass", low=0.5, high=120.0)
    car_speed: Number = quantity("mean speed of the car, m/s", default=0.0, low=0.0, high=200.0, source="standing")
    settle: Duration = quantity("time from the end of the pass to the reading", low=1.0, high=1800.0)
    settle_speed: RotationalSpeed = quantity(
        "engine speed meanwhile (0: off)", default=0.0, low=0.0, high=1000.0, source="shut off"
    )
    electric_pump: bool = option("electric pumps run throughout", default=True, source="common practice, no source")
    fan: Number = quantity("share of full fan speed while it settles", default=0.0, low=0.0, high=1.0, source="off")


class Mixing(Thermal):
    """Hot litres poured into a cold, drained engine and moved about: what the metal takes up."""

    title, cap_needed = "a mixing", CapState.OFF
    kind: Literal["mixing"] = option("hot litres into a cold engine")
    volume: Volume = quantity("hot coolant poured in, measured hot", low=1e-4, high=0.05)
    hot: Temperature = quantity("its temperature", low=303.15, high=373.15)
    temperature: Temperature = quantity("metal and remaining coolant before", low=243.15, high=333.15)
    left: Volume = quantity(
        "cold coolant that the drain left inside", default=0.0, low=0.0, high=0.02, source="drained dry"
    )


class CoolDown(Thermal):
    """Cool-down with the fan on: temperature some time after a start from even heat."""

    title, cap_needed = "a cool-down", CapState.ON
    kind: Literal["cool_down"] = option("temperature after some time with the fan on")
    temperature: Temperature = quantity("coolant and metal at the start", low=293.15, high=398.15)
    air_temperature: Temperature = quantity("air", low=243.15, high=333.15)
    after: Duration = quantity("time since the start", low=1.0, high=7200.0)
    speed: RotationalSpeed = quantity(
        "engine speed (0: off)", default=0.0, low=0.0, high=1000.0, source="shut off"
    )
    fan: Number = quantity("share of full fan speed", default=1.0, low=0.0, high=1.0, source="full")
    electric_pump: bool = option("electric pumps run", default=True, source="common practice, no source")
    voltage: Voltage = quantity(
        "voltage of the supply", default=13.5, low=0.0, high=60.0, source="common practice, no source"
    )


KINDS: tuple[type[Reading], ...] = (
    Fill, Drain, Squeeze, PumpStart, LevelDrop, CapTester, BoilingCheck, Morning, Gauge, Bucket, CoreDrop, Settled,
    Mixing, CoolDown,
)  # fmt: skip
AnyReading = Annotated[
    Fill | Drain | Squeeze | PumpStart | LevelDrop | CapTester | BoilingCheck | Morning | Gauge | Bucket | CoreDrop
    | Settled | Mixing | CoolDown,
    Field(discriminator="kind"),
]  # fmt: skip


class Readings(Description):
    """All readings of a car."""

    name: str = option("name of the session", default="", source="no name")
    note: str = option("remarks, and who took them", default="", source="no remarks")
    readings: tuple[AnyReading, ...] = option("the readings, one table [[readings]] each")

    @model_validator(mode="after")
    def _some(self) -> "Readings":
        if not self.readings:
            raise BadValue("there are no readings", "add at least one table [[readings]]")
        return self


def value_of(reading: Any) -> float:
    """The measured value, SI."""
    return float(reading.value)


def sigma_of(reading: Any) -> float:
    """Its standard deviation, SI."""
    return float(reading.plus_minus)


def label_of(reading: Any, number: int) -> str:
    """Its name, or number, kind and place: "3 gauge pump.discharge"."""
    if reading.name:
        return str(reading.name)
    place = getattr(reading, "where", None)
    return f"{number + 1} {reading.kind}" + (f" {place}" if place else "")
