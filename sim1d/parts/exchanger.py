"""Heat exchangers other than the radiator: heater, oil cooler, turbo water lines, ice tank."""

from typing import Literal

from sim1d.parts.base import Part, Port, PortRole, option, quantity
from sim1d.parts.machine_rows import write_exchanger
from sim1d.units import (
    Compliance,
    Conductance,
    GaugePressure,
    HeatCapacity,
    Length,
    Number,
    Power,
    Temperature,
    Volume,
    VolumeFlow,
)


class Exchanger(Part):
    """What they share: one coolant passage, one lump on the other side, one conductance between."""

    x: Length = quantity("x of its ports", low=-3.0, high=8.0)
    z: Length = quantity("z of its ports", low=0.0, high=3.0)
    bore: Length = quantity(
        "bore of its ports", default=0.016, low=0.003, high=0.1, source="common practice, no source"
    )
    volume: Volume = quantity("coolant in it", default=3e-4, low=1e-5, high=0.05, source="assumed")
    loss_coefficient: Number = quantity(
        "loss coefficient on the speed in its ports",
        default=20.0,
        low=0.0,
        high=5e3,
        source="assumed",
        band=(8.0, 60.0),
    )
    conductance: Conductance = quantity(
        "conductance from coolant to the other side at the reference flow",
        default=300.0,
        low=0.0,
        high=2e4,
        source="assumed",
        band=(150.0, 600.0),
    )
    reference_flow: VolumeFlow = quantity(
        "coolant flow at which the conductance is given",
        default=1.7e-4,
        low=1e-6,
        high=0.02,
        source="assumed: 10 L/min",
    )
    side_capacity: HeatCapacity = quantity(
        "heat capacity of the other side", default=2e3, low=10.0, high=1e7, source="assumed"
    )
    side_temperature: Temperature | None = quantity(
        "temperature of the other side at the start",
        default=None,
        low=250.0,
        high=600.0,
        source="left out: of the coolant",
    )
    side_to_air: Conductance = quantity(
        "conductance from the other side to the ambient air", default=0.0, low=0.0, high=5e3, source="assumed: none"
    )
    rated_pressure: GaugePressure | None = quantity(
        "rated pressure", default=None, low=1e4, high=1e7, source="left out: unrated, margin unknown"
    )
    compliance: Compliance = quantity(
        "growth of its volume with pressure", default=2e-11, low=0.0, high=5e-9, source="assumed: a stiff part"
    )
    blocked: bool = option("fault or shut valve: no coolant passes", default=False, source="open")

    def ports(self) -> dict[str, Port]:
        return {
            "inlet": Port(self.x, self.z, self.bore, PortRole.IN),
            "outlet": Port(self.x, self.z, self.bore, PortRole.OUT),
        }

    @property
    def rated_heat(self) -> float:
        """Heat that enters the other side by itself at rated engine load, W."""
        return 0.0

    def write_rows(self, build, name: str) -> None:
        """Write the rows of this part under `name`; see `sim1d.build`."""
        write_exchanger(self, build, name)


class Heater(Exchanger):
    """The cabin heater; a high place that traps air unless it is open when filling."""

    kind: Literal["heater"] = option("heater", default="heater", source="name of its table")
    conductance: Conductance = quantity(
        "conductance from coolant to the other side at the reference flow",
        default=60.0,
        low=0.0,
        high=2e4,
        source="assumed: blower off",
        band=(20.0, 150.0),
    )
    side_to_air: Conductance = quantity(
        "conductance from the other side to the ambient air",
        default=20.0,
        low=0.0,
        high=5e3,
        source="assumed: blower off",
    )


class OilCooler(Exchanger):
    """An oil-to-water cooler: it brings the oil's heat into the coolant."""

    kind: Literal["oil_cooler"] = option("oil cooler", default="oil_cooler", source="name of its table")
    side_capacity: HeatCapacity = quantity(
        "heat capacity of the other side", default=1.4e4, low=10.0, high=1e7, source="assumed: 8 L of oil"
    )
    oil_heat: Power = quantity(
        "heat that enters the oil at rated speed and load",
        default=2.5e4,
        low=0.0,
        high=3e5,
        source="assumed",
        band=(1e4, 5e4),
    )

    @property
    def rated_heat(self) -> float:
        return self.oil_heat


class Turbo(Exchanger):
    """Water lines of a turbocharger: its hot bearing housing heats the coolant, mostly after the engine stops."""

    kind: Literal["turbo"] = option("turbo water lines", default="turbo", source="name of its table")
    bore: Length = quantity(
        "bore of its ports", default=0.008, low=0.003, high=0.1, source="common practice, no source"
    )
    volume: Volume = quantity("coolant in it", default=6e-5, low=1e-5, high=0.05, source="assumed")
    conductance: Conductance = quantity(
        "conductance from coolant to the other side at the reference flow",
        default=40.0,
        low=0.0,
        high=2e4,
        source="assumed",
        band=(15.0, 100.0),
    )
    side_capacity: HeatCapacity = quantity(
        "heat capacity of the other side", default=3e3, low=10.0, high=1e7, source="assumed: 6 kg of iron"
    )
    housing_heat: Power = quantity(
        "heat that enters the housing at rated speed and load",
        default=6e3,
        low=0.0,
        high=1e5,
        source="assumed",
        band=(2e3, 1.2e4),
    )

    @property
    def rated_heat(self) -> float:
        return self.housing_heat


class IceTank(Exchanger):
    """A tank of ice or cold water, or a pit chiller, that the coolant gives its heat to."""

    kind: Literal["ice_tank"] = option("ice tank", default="ice_tank", source="name of its table")
    conductance: Conductance = quantity(
        "conductance from coolant to the other side at the reference flow",
        default=800.0,
        low=0.0,
        high=2e4,
        source="assumed",
        band=(300.0, 2000.0),
    )
    side_capacity: HeatCapacity = quantity(
        "heat capacity of the other side; ice counts with its melting",
        default=8e4,
        low=10.0,
        high=1e7,
        source="assumed: 19 kg of water",
    )
    side_temperature: Temperature | None = quantity(
        "temperature of the other side at the start", default=275.0, low=250.0, high=600.0, source="assumed: iced water"
    )


AnyExchanger = Heater | OilCooler | Turbo | IceTank
