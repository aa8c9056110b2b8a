"""Combustion gas past a lifting head gasket: a leak law, off unless the file switches it on."""

from math import radians

from pydantic import model_validator

from sim1d.parts.base import Names, Part, option, quantity
from sim1d.units import AbsolutePressure, Angle, Area, BadValue, GapRate, HeatPerMass, Length, Number, Temperature


class Combustion(Part):
    """What makes the pressure in the cylinder; the engine gives the rest. Crank angles from firing top dead centre."""

    inlet_closes: Angle = quantity(
        "crank angle at which the inlet valves close and compression begins, negative: before firing top dead centre",
        default=radians(-130.0),
        low=radians(-180.0),
        high=radians(-60.0),
        source="assumed: 50 degrees after bottom dead centre",
        band=(radians(-140.0), radians(-110.0)),
    )
    exhaust_opens: Angle = quantity(
        "crank angle at which the exhaust valves open",
        default=radians(120.0),
        low=radians(60.0),
        high=radians(180.0),
        source="assumed: 60 degrees before bottom dead centre",
        band=(radians(95.0), radians(130.0)),
    )
    charge_temperature: Temperature = quantity(
        "temperature of the charge when the inlet valves close, residual gas mixed in",
        default=350.0,
        low=250.0,
        high=600.0,
        source="assumed",
        band=(320.0, 400.0),
    )
    charge_heat: HeatPerMass = quantity(
        "heat released per mass of charge, before losses to the walls",
        default=2.84e6,
        low=1e6,
        high=4e6,
        source="2.99 MJ per kg of air for a mixture with no air to spare, recalled heating values; 95 % of it burns, "
        "assumed; the charge is counted as air",
        band=(2.5e6, 2.99e6),
    )
    burn_start: Angle = quantity(
        "crank angle at which the charge begins to burn",
        default=radians(-22.0),
        low=radians(-60.0),
        high=radians(20.0),
        source="assumed: peak pressure then falls at 12 degrees after top dead centre",
        band=(radians(-30.0), radians(-15.0)),
    )
    burn_duration: Angle = quantity(
        "crank angle that 99.3 % of the burn takes",
        default=radians(50.0),
        low=radians(10.0),
        high=radians(120.0),
        source="assumed",
        band=(radians(40.0), radians(65.0)),
    )
    burn_shape: Number = quantity(
        "exponent m of the Wiebe function",
        default=2.0,
        low=0.5,
        high=5.0,
        source="Heywood 1988, recalled",
        band=(1.5, 3.0),
    )
    heat_loss: Number = quantity(
        "share of the heat released that the walls take while the valves are shut",
        default=0.12,
        low=0.0,
        high=0.5,
        source="assumed; falls as speed rises, which is left out",
        band=(0.08, 0.20),
    )

    @model_validator(mode="after")
    def _burns_while_shut(self):
        if not self.inlet_closes < self.burn_start < self.exhaust_opens:
            raise BadValue(
                "burn_start does not lie between inlet_closes and exhaust_opens",
                "let the charge begin to burn while all valves are shut",
            )
        return self


class HeadGasket(Part):
    """Lift and leak of the gasket: gap = gap_rate (cylinder pressure - lift_pressure), over an arc of the fire ring."""

    leaks: bool = option("the leak law acts", default=False, source="a sound gasket")
    cylinders: Names = option('cylinders that leak, such as "left-4"', default=(), source="left out: all, when it acts")
    lift_pressure: AbsolutePressure = quantity(
        "cylinder pressure at which the head begins to lift",
        default=9e6,
        low=2e6,
        high=4e7,
        source="assumed",
        band=(8e6, 1e7),
    )
    gap_rate: GapRate = quantity(
        "growth of the gap with cylinder pressure",
        default=1e-11,
        low=0.0,
        high=1e-9,
        source="assumed: 1 to 2 um/bar; 25 to 76 um of lift reported by one trade source",
        band=(1e-11, 2e-11),
    )
    arc: Length = quantity("arc of the fire ring that lifts", default=0.02, low=1e-3, high=0.3, source="assumed")
    land: Length = quantity("width of the sealing land", default=0.008, low=1e-3, high=0.05, source="assumed")
    groove: Area = quantity("open groove that leaks at any pressure", default=0.0, low=0.0, high=1e-5, source="none")
    discharge: Number = quantity(
        "discharge coefficient of gap and groove",
        default=0.7,
        low=0.3,
        high=1.0,
        source="assumed, between a sharp edge (0.6, recalled) and a rounded one (0.9)",
        band=(0.6, 0.9),
    )
    permanent_share: Number = quantity(
        "mass of the leaked gas that stays gas in the coolant",
        default=0.75,
        low=0.0,
        high=1.0,
        source="recalled: 13 % water condenses, 12 % carbon dioxide dissolves in part",
        band=(0.6, 0.9),
    )
    combustion: Combustion = option(
        "what makes the pressure in the cylinder", default=Combustion(), source="assumed, see its fields"
    )
