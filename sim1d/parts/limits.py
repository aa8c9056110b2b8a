"""The limits that a layout is judged by."""

from pydantic import model_validator

from sim1d.parts.base import Part, quantity
from sim1d.units import BadValue, Duration, GaugePressure, Length, Number, Temperature, TemperatureDifference

METAL = "assumed from published limits: 300 degC for water-cooled aluminium, strength a third of cold at 300 degC"


class Limits(Part):
    """Limits of metal, boiling, suction, evenness and pressure. Ratings stand on the parts."""

    metal_amber: Temperature = quantity("metal to watch", default=503.15, low=350.0, high=800.0, source=METAL)
    metal_red: Temperature = quantity(
        "metal that damages; seconds above it are counted", default=543.15, low=350.0, high=800.0, source=METAL
    )
    seconds_above_red: Duration = quantity(
        "seconds above metal_red that a day may bring, any cylinder",
        default=10.0,
        low=0.0,
        high=3600.0,
        source="assumed: two passes and their coasts; damage is time at temperature, and no public number was found",
    )
    metal_fail: Temperature = quantity("metal that fails", default=573.15, low=350.0, high=800.0, source=METAL)
    liner: Temperature = quantity(
        "cylinder wall, for the oil film",
        default=453.15,
        low=350.0,
        high=700.0,
        source="textbook limit 160 to 180 degC",
    )
    critical_heat_flux_margin: Number = quantity(
        "least critical heat flux over actual", default=1.0, low=0.5, high=10.0, source="assumed", band=(1.0, 1.5)
    )
    subcooling: TemperatureDifference = quantity(
        "least local saturation above local coolant", default=5.0, low=-20.0, high=100.0, source="assumed"
    )
    suction_margin: Length = quantity(
        "least suction head available above required",
        default=0.5,
        low=-5.0,
        high=50.0,
        source="common practice, no source",
    )
    bank_spread: Number = quantity(
        "greatest difference of the banks' flows over their mean", default=0.15, low=0.0, high=2.0, source="assumed"
    )
    cylinder_spread: Number = quantity(
        "greatest difference of the cylinders' flows over their mean", default=0.35, low=0.0, high=3.0, source="assumed"
    )
    coolant: Temperature = quantity("hottest coolant", default=388.15, low=320.0, high=450.0, source="assumed")
    pressure: GaugePressure | None = quantity(
        "highest pressure anywhere", default=None, low=1e4, high=2e6, source="left out: the ratings of the parts"
    )
    suction_pressure: GaugePressure = quantity(
        "lowest pressure at a pump's suction",
        default=-2e4,
        low=-1e5,
        high=5e5,
        source="assumed: a soft hose goes flat below",
    )
    rating_margin: Number = quantity(
        "share of a part's rating that may be used", default=1.0, low=0.3, high=1.0, source="the rating as it stands"
    )

    @model_validator(mode="after")
    def _ordered(self):
        if not self.metal_amber <= self.metal_red <= self.metal_fail:
            raise BadValue("metal_amber, metal_red and metal_fail are not in order", "let them rise in this order")
        return self
