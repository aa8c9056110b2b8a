"""The pressure cap: a pressure valve and a vacuum valve in one."""

from enum import Enum

from pydantic import model_validator

from sim1d.parts.base import Part, option, quantity
from sim1d.units import BadValue, GaugePressure, Length, Number, PressureDifference


class CapPlace(Enum):
    """Where the cap sits."""

    EXPANSION_TANK = "expansion_tank"  # on its top
    RADIATOR = "radiator"  # on its inlet tank


class CapCondition(Enum):
    """State of the cap."""

    GOOD = "good"
    WORN = "worn"
    STUCK_SHUT = "stuck_shut"
    STUCK_OPEN = "stuck_open"


class VacuumValve(Enum):
    """Kind of its vacuum valve."""

    SPRUNG = "sprung"  # shut at rest; opens at its suction
    WEIGHTED = "weighted"  # hangs open at rest and vents until outflow snaps it shut


class Cap(Part):
    """A pressure cap. Its rating is a band: service manuals accept 0.85 to 1.15 of it new, 0.70 worn."""

    opening: GaugePressure = quantity("rated opening pressure", low=0.0, high=6e5)
    at: CapPlace = option("where it sits")
    z: Length | None = quantity(
        "z of its seat", default=None, low=0.0, high=3.0, source="left out: top of the tank or of the core"
    )
    band: tuple[Number, Number] = quantity(
        "opening of a new cap over its rating, least and most",
        default=(0.85, 1.15),
        low=0.3,
        high=2.0,
        source="acceptance limits of four car service manuals",
    )
    worn_share: Number = quantity(
        "opening of a worn cap over its rating",
        default=0.70,
        low=0.1,
        high=1.0,
        source="rejection limits of four car service manuals",
    )
    ramp: PressureDifference = quantity(
        "rise from first opening to full lift", default=1.5e4, low=1e3, high=1e5, source="assumed", band=(1e4, 2e4)
    )
    reseat_share: Number = quantity(
        "pressure at which it shuts over that at which it opens",
        default=0.90,
        low=0.5,
        high=1.0,
        source="assumed",
        band=(0.85, 0.95),
    )
    vacuum: PressureDifference = quantity(
        "suction below ambient at which the vacuum valve opens",
        default=5e3,
        low=0.0,
        high=5e4,
        source="recalled: 2 to 10 kPa",
        band=(2e3, 1e4),
    )
    vacuum_kind: VacuumValve = option(
        "kind of its vacuum valve", default=VacuumValve.SPRUNG, source="common practice, no source"
    )
    vacuum_closing: PressureDifference = quantity(
        "pressure above ambient that snaps a weighted vacuum valve shut", default=3e3, low=2e2, high=3e4,
        source="assumed: no standard value found", band=(1e3, 1e4),
    )  # fmt: skip
    seat_bore: Length = quantity(
        "bore of the way out, seat or overflow tube",
        default=0.006,
        low=0.001,
        high=0.03,
        source="common practice, no source",
    )
    discharge: Number = quantity(
        "discharge coefficient of the way out",
        default=0.6,
        low=0.1,
        high=1.0,
        source="sharp-edged hole, textbook value",
    )
    condition: CapCondition = option("state of the cap", default=CapCondition.GOOD, source="sound")

    @model_validator(mode="after")
    def _band_is_ordered(self):
        if self.band[0] > self.band[1]:
            raise BadValue("band is not ordered", "give least first, then most")
        return self

    @property
    def opens(self) -> float:
        """Pressure at which it opens in its present condition, Pa gauge (very high when stuck shut)."""
        if self.condition is CapCondition.STUCK_SHUT:
            return 1e7
        if self.condition is CapCondition.STUCK_OPEN:
            return 0.0
        return self.opening * (self.worn_share if self.condition is CapCondition.WORN else 1.0)

    @property
    def opens_at_most(self) -> float:
        """Highest pressure at which a cap of this rating may open, Pa gauge."""
        return max(self.opens, self.opening * self.band[1])
