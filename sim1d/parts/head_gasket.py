"""Combustion gas past a lifting head gasket: a leak law, off unless the file switches it on."""

from sim1d.parts.base import Names, Part, option, quantity
from sim1d.units import AbsolutePressure, Area, GapRate, Length, Number


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
    permanent_share: Number = quantity(
        "mass of the leaked gas that stays gas in the coolant",
        default=0.75,
        low=0.0,
        high=1.0,
        source="recalled: 13 % water condenses, 12 % carbon dioxide dissolves in part",
        band=(0.6, 0.9),
    )
