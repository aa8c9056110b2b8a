"""How much of the engine's power reaches the coolant, and where it enters."""

from typing import Annotated

from pydantic import model_validator

from sim1d.parts.base import EACH_OR_ONE, Part, quantity
from sim1d.units import BadValue, Number, Power, Temperature

LAW = "assumed: 0.50 of brake power at 1 MW, falling with its fourth root; band x0.65 to x1.45"


class EngineHeat(Part):
    """Heat of the engine at rated speed and load. What nobody measured is assumed and carries a band."""

    to_coolant: Power | None = quantity(
        "heat to coolant at rated speed and load, all cylinders; left out: by law from rated power",
        default=None,
        low=1e3,
        high=3e6,
        source=LAW,
    )
    roof_share: Number = quantity(
        "share of the heat to coolant that enters by the chamber roof, exhaust bridge included",
        default=0.33,
        low=0.05,
        high=0.9,
        source="assumed; chosen low in its band, where a gas-side film law puts a large bore (calibration page)",
        band=(0.32, 0.52),
    )
    port_share: Number = quantity(
        "share of the heat to coolant that enters by the exhaust port walls",
        default=0.35,
        low=0.0,
        high=0.6,
        source="assumed; half of the head's heat by one magazine article, 0.2 of the total recalled from a textbook",
        band=(0.15, 0.35),
    )
    liner_share: Number = quantity(
        "share of the heat to coolant that enters by the liner; the three shares add up to 1",
        default=0.32,
        low=0.0,
        high=0.8,
        source="assumed; 0.3 recalled from a textbook",
        band=(0.23, 0.43),
    )
    bridge_multiplier: Number = quantity(
        "heat flux at the exhaust bridge over the mean of the chamber roof",
        default=1.6,
        low=1.0,
        high=4.0,
        source="assumed; chosen low in its band (calibration page)",
        band=(1.5, 2.5),
    )
    fuel_factor: Number = quantity(
        "gas-side heat at equal power over that of gasoline (E85 0.95, methanol 0.85 to 0.90, both assumed)",
        default=1.0,
        low=0.5,
        high=1.5,
        source="gasoline is the reference",
    )
    oil_share: Number = quantity(
        "heat that oil, pistons and valves carry into the block, over the heat to coolant",
        default=0.06,
        low=0.0,
        high=0.3,
        source="assumed; friction about 5 bar at 7500 rpm, half of it to the oil and most of that kept by the sump",
        band=(0.03, 0.10),
    )
    header_radiation: Power = quantity(
        "heat that the exhaust headers radiate onto the block at rated speed and load",
        default=8e3,
        low=0.0,
        high=5e4,
        source="assumed",
        band=(5e3, 2e4),
    )
    gas_temperature: Temperature = quantity(
        "effective temperature of the working gas, averaged with the film over the cycle",
        default=1350.0,
        low=900.0,
        high=1800.0,
        source="computed single-zone cycles with three published gas-side correlations give 1200 to 1490 K",
        band=(1275.0, 1425.0),
    )
    cylinder_weights: Annotated[tuple[Number, ...], EACH_OR_ONE] = quantity(
        "relative heat of the cylinders, front to rear: one for all, one per position, or left bank then right bank",
        default=(1.0,),
        low=0.2,
        high=3.0,
        source="assumed equal; air and fuel spread of a few per cent unless measured",
        band=(0.97, 1.03),
    )

    @model_validator(mode="after")
    def _shares_add_up(self):
        total = self.roof_share + self.port_share + self.liner_share
        if abs(total - 1.0) > 1e-6:
            raise BadValue(
                f"roof_share, port_share and liner_share add up to {total:.4g}", "let the three add up to exactly 1"
            )
        return self


def heat_by_law(rated_power: float) -> float:
    """Heat to coolant (W) at rated load from brake power (W): 0.50 (1 MW / power)^0.25 of it, for 0.1 to 3 MW.

    Assumed midway between a time-averaged correlation for the whole jacket (Taylor and Toong; exponent 0.75 on mass
    flow) and cycle calculations with gas-side correlations (Woschni 1967, Hohenberg 1979, Annand 1963); the spread of
    those is the band, x0.65 to x1.45.
    """
    return 0.50 * rated_power * (1e6 / rated_power) ** 0.25
