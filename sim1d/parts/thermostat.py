"""The thermostat and the plate that replaces it."""

from pydantic import model_validator

from sim1d.parts.base import Part, Port, PortRole, option, quantity
from sim1d.parts.plumbing_rows import write_plate, write_thermostat
from sim1d.units import BadValue, GaugePressure, Length, Number, Temperature, Volume

BEFORE = 2 / 3  # of the coolant in a housing stands before its element or plate, the rest behind it (assumed)
HOUSING = quantity("coolant in its housing", default=1.5e-4, low=1e-5, high=5e-3, source="assumed")


def housing_lumps(volume: float) -> dict[str, float]:
    """Coolant (m3) of a housing by the port behind which it stands."""
    return {"inlet": BEFORE * volume, "outlet": (1.0 - BEFORE) * volume}


class Thermostat(Part):
    """A thermostat in its housing; with `fitted = false` the housing stays, and so does a bypass it used to shut."""

    fitted: bool = option("the element is in its housing", default=True, source="written in the file")
    opens: Temperature = quantity(
        "temperature at which it begins to open",
        default=355.15,
        low=300.0,
        high=400.0,
        source="common practice, no source",
    )
    full: Temperature = quantity(
        "temperature at which it is fully open",
        default=367.15,
        low=300.0,
        high=420.0,
        source="common practice, no source",
    )
    bore: Length = quantity(
        "bore of the open element", default=0.030, low=0.005, high=0.08, source="common practice, no source"
    )
    bleed_hole: Length = quantity(
        "bore of the hole that lets air past the shut element",
        default=0.003,
        low=0.0005,
        high=0.015,
        source="common practice, no source",
    )
    loss_coefficient: Number = quantity(
        "loss coefficient of the open element on the speed in its bore",
        default=2.5,
        low=0.0,
        high=200.0,
        source="assumed",
        band=(1.5, 6.0),
    )
    bypass_bore: Length | None = quantity(
        "bore of its bypass port", default=None, low=0.002, high=0.06, source="left out: no bypass port"
    )
    bypass_foot: bool = option(
        "a foot on the element shuts the bypass as it opens", default=False, source="not said, so not relied on"
    )
    x: Length = quantity("x of its housing", low=-3.0, high=8.0)
    z: Length = quantity("z of its housing", low=0.0, high=3.0)
    volume: Volume = HOUSING
    working_pressure: GaugePressure | None = quantity(
        "rated working pressure", default=None, low=1e3, high=1e8, source="left out: unrated, margin unknown"
    )

    @model_validator(mode="after")
    def _opens_upward(self):
        if self.full <= self.opens:
            raise BadValue("is fully open at or below the temperature it begins to open", "let full be above opens")
        return self

    def lumps(self) -> dict[str, float]:
        """Coolant (m3) behind its inlet and its outlet."""
        return housing_lumps(self.volume)

    def ports(self) -> dict[str, Port]:
        found = {
            "inlet": Port(self.x, self.z, self.bore, PortRole.IN),
            "outlet": Port(self.x, self.z, self.bore, PortRole.OUT),
        }
        if self.bypass_bore is not None:
            found["bypass"] = Port(self.x, self.z, self.bypass_bore, PortRole.OUT, must_plumb=False)
        return found

    def write_rows(self, build, name: str) -> None:
        """Write the rows of this part under `name`; see `sim1d.build`."""
        write_thermostat(self, build, name)


class ThermostatPlate(Part):
    """A plate with a hole in place of a thermostat."""

    bore: Length = quantity("bore of its hole", low=0.003, high=0.06)
    thickness: Length = quantity("thickness of the plate", default=0.003, low=0.0005, high=0.02, source="assumed")
    x: Length = quantity("x of its housing", low=-3.0, high=8.0)
    z: Length = quantity("z of its housing", low=0.0, high=3.0)
    volume: Volume = HOUSING

    def lumps(self) -> dict[str, float]:
        """Coolant (m3) behind its inlet and its outlet."""
        return housing_lumps(self.volume)

    def ports(self) -> dict[str, Port]:
        return {
            "inlet": Port(self.x, self.z, self.bore, PortRole.IN),
            "outlet": Port(self.x, self.z, self.bore, PortRole.OUT),
        }

    def write_rows(self, build, name: str) -> None:
        """Write the rows of this part under `name`; see `sim1d.build`."""
        write_plate(self, build, name)
