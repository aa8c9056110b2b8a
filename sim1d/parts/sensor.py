"""Sensors, and the engine protection cut that a controller makes of one."""

from enum import Enum

from pydantic import model_validator

from sim1d.parts.base import Part, option, quantity
from sim1d.parts.machine_rows import write_sensor
from sim1d.units import BadValue, Duration, GaugePressure, Length, Temperature

HOSE_WAVE = 60.0  # m/s, pressure wave in soft hose: Korteweg with 20 MPa of knitted hose, 17 ms a metre


class SensorKind(Enum):
    """What it measures."""

    TEMPERATURE = "temperature"
    PRESSURE = "pressure"


class Cut(Part):
    """When the controller cuts the engine: threshold, filter, sampling, persistence and lock-out."""

    pressure: GaugePressure | None = quantity(
        "threshold of a pressure sensor", default=None, low=0.0, high=2e6, source="left out: not this kind"
    )
    temperature: Temperature | None = quantity(
        "threshold of a temperature sensor", default=None, low=273.15, high=500.0, source="left out: not this kind"
    )
    filter: Duration = quantity(
        "time constant of the controller's filter", default=0.1, low=0.0, high=10.0, source="common practice, no source"
    )
    interval: Duration = quantity(
        "time from sample to sample", default=0.02, low=1e-3, high=5.0, source="common practice, no source"
    )
    persistence: int = quantity(
        "samples in a row above the threshold", default=5, low=1, high=1000, source="common practice, no source"
    )
    reaction: Duration = quantity(
        "time from the decision to the missing power", default=0.016, low=0.0, high=2.0, source="one cycle at 7500 rpm"
    )
    launch_lockout: Duration = quantity(
        "time from launch during which it does not cut", default=0.0, low=0.0, high=10.0, source="none"
    )


class Sensor(Part):
    """One sensor: what it measures, where, and how fast."""

    kind: SensorKind = option("what it measures")
    at: str = option('port, junction, line or cavity it sits in, such as "engine.left.rear" or "lines.upper"')
    z: Length | None = quantity("its height", default=None, low=0.0, high=3.0, source="left out: of its place")
    time_constant: Duration | None = quantity(
        "first-order time constant",
        default=None,
        low=1e-4,
        high=120.0,
        source="temperature 5 s assumed (15 s in one production data sheet); pressure 3 ms recalled",
        band=(2.0, 15.0),
    )
    hose: Length = quantity(
        "length of the soft hose from its place to the sensor (pressure sensors)", default=0.0, low=0.0, high=10.0,
        source="screwed in",
    )  # fmt: skip
    error: GaugePressure = quantity(
        "greatest error of a pressure sensor", default=5e3, low=0.0, high=1e5, source="assumed: 1 % of 500 kPa"
    )
    cut: Cut | None = option("the cut that acts on it", default=None, source="left out: it only shows")

    @model_validator(mode="after")
    def _cut_fits(self):
        if self.cut is None:
            return self
        wanted, other = ("pressure", "temperature") if self.kind is SensorKind.PRESSURE else ("temperature", "pressure")
        if getattr(self.cut, other) is not None or getattr(self.cut, wanted) is None:
            raise BadValue(
                f"the cut of a {self.kind.value} sensor has no {wanted} threshold", f"give cut.{wanted}, only"
            )
        return self

    @property
    def lag(self) -> float:
        """First-order time constant, s; the delay of a soft hose counts in."""
        own = 5.0 if self.kind is SensorKind.TEMPERATURE else 0.003
        own = self.time_constant if self.time_constant is not None else own
        return own + self.hose / HOSE_WAVE

    def write_rows(self, build, name: str) -> None:
        """Write the rows of this part under `name`; see `sim1d.build`."""
        write_sensor(self, build, name)
