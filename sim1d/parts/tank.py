"""Tanks: the expansion tank under pressure, and the recovery tank or catch can behind the cap."""

import math
from enum import Enum

from pydantic import model_validator

from sim1d.parts.base import Part, Port, PortRole, option, quantity
from sim1d.parts.machine_rows import write_tank
from sim1d.units import BadValue, Compliance, GaugePressure, Length, Volume


class ExpansionTank(Part):
    """The tank under pressure whose gas takes the swell; upright with a constant section."""

    volume: Volume = quantity("inside volume, liquid and gas", low=1e-4, high=0.03)
    liquid: Volume = quantity("liquid in it when filled cold", low=0.0, high=0.03)
    base_z: Length = quantity("z of its bottom", low=0.0, high=3.0)
    height: Length = quantity("inside height", default=0.20, low=0.03, high=1.0, source="assumed")
    length: Length | None = quantity(
        "inside length along the car, for the tilt of its surface",
        default=None,
        low=0.02,
        high=1.0,
        source="left out: that of a square section",
    )
    x: Length = quantity("x of its middle", low=-3.0, high=8.0)
    fill_x: Length | None = quantity(
        "x of its lower port", default=None, low=-3.0, high=8.0, source="left out: below its middle"
    )
    fill_bore: Length = quantity(
        "bore of its lower port", default=0.019, low=0.004, high=0.06, source="common practice, no source"
    )
    vent_bore: Length = quantity(
        "bore of its upper port", default=0.0057, low=0.001, high=0.04, source="common practice, no source"
    )
    rated_pressure: GaugePressure | None = quantity(
        "rated pressure", default=None, low=1e4, high=2e6, source="left out: unrated, margin unknown"
    )
    compliance: Compliance = quantity(
        "growth of its volume with pressure", default=2e-11, low=0.0, high=5e-9, source="assumed: a welded can"
    )

    @model_validator(mode="after")
    def _holds_gas(self):
        if self.liquid >= self.volume:
            raise BadValue(
                "is full to the brim: no gas is left to take the swell",
                "let liquid be below volume, by a tenth of the fill",
            )
        return self

    @property
    def area(self) -> float:
        """Section of the tank, m2."""
        return self.volume / self.height

    @property
    def length_along(self) -> float:
        """Inside length along the car, m."""
        return math.sqrt(self.area) if self.length is None else self.length

    @property
    def gas(self) -> float:
        """Gas in it when filled cold, m3."""
        return self.volume - self.liquid

    @property
    def level_z(self) -> float:
        """Height of the cold surface, m."""
        return self.base_z + self.liquid / self.area

    @property
    def top_z(self) -> float:
        """Height of its top, m."""
        return self.base_z + self.height

    def ports(self) -> dict[str, Port]:
        fill_x = self.x if self.fill_x is None else self.fill_x
        return {
            "fill": Port(fill_x, self.base_z, self.fill_bore),
            "vent": Port(self.x, self.top_z, self.vent_bore, PortRole.IN, must_plumb=False),
        }

    def write_rows(self, build, name: str) -> None:
        """Write the rows of this part under `name`; see `sim1d.build`."""
        write_tank(self, build, name)


class OverflowKind(Enum):
    """What happens to coolant that left through the cap."""

    RECOVERY = "recovery"  # a dipping tube lets the vacuum valve draw it back
    CATCH = "catch"  # it is kept off the track and lost to the circuit


class RecoveryTank(Part):
    """The vessel behind the cap, at ambient pressure."""

    kind: OverflowKind = option("whether it gives coolant back")
    volume: Volume = quantity("volume", low=1e-5, high=0.02)
    liquid: Volume = quantity("coolant in it when cold", default=0.0, low=0.0, high=0.02, source="empty")

    @model_validator(mode="after")
    def _holds(self):
        if self.liquid > self.volume:
            raise BadValue("holds more liquid than its volume", "let liquid be at most volume")
        return self
