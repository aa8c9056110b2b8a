"""The coolant."""

from enum import Enum

from pydantic import model_validator

from sim1d.parts.base import Part, option, quantity
from sim1d.units import BadValue, Number


class Fluid(Enum):
    """What is mixed with water."""

    WATER = "water"
    ETHYLENE_GLYCOL = "ethylene_glycol"
    PROPYLENE_GLYCOL = "propylene_glycol"


class Coolant(Part):
    """Water, alone or with glycol by volume at 20 degC. A concentrate is about 95 % glycol."""

    fluid: Fluid = option("water, or the glycol in it")
    fraction: Number = quantity(
        "glycol by volume of the mixture", default=0.0, low=0.0, high=0.6, source="none, as fits water"
    )

    @model_validator(mode="after")
    def _fraction_fits(self):
        if self.fluid is Fluid.WATER and self.fraction > 0:
            raise BadValue("water has no glycol fraction", 'leave fraction out, or say fluid = "ethylene_glycol"')
        if self.fluid is not Fluid.WATER and self.fraction < 0.1:
            raise BadValue(f"{self.fluid.value} has a fraction below 0.1", "give fraction from 0.1 to 0.6, by volume")
        return self

    @property
    def freezing(self) -> float:
        """Freezing point, K: ethylene glycol by volume from a web table; propylene 1 to 4 K higher, recalled."""
        table = {0.0: 0.0, 0.1: -3.5, 0.2: -8.5, 0.3: -16.0, 0.4: -25.0, 0.5: -37.0, 0.6: -52.0}
        if self.fluid is Fluid.PROPYLENE_GLYCOL:
            table = {0.0: 0.0, 0.1: -3.0, 0.2: -8.0, 0.3: -14.0, 0.4: -22.0, 0.5: -34.0, 0.6: -48.0}
        low = int(self.fraction * 10 + 1e-9) / 10
        high = min(0.6, round(low + 0.1, 1))
        share = 0.0 if high == low else (self.fraction - low) / (high - low)
        return 273.15 + table[round(low, 1)] + share * (table[high] - table[round(low, 1)])
