"""Fittings on a line: bends, adapters, valves and couplings, with their loss coefficients."""

from enum import Enum
from typing import Any

from pydantic import model_validator

from sim1d.parts.base import Part, option, quantity
from sim1d.units import Length, Number


class FittingKind(Enum):
    """What a fitting is."""

    STRAIGHT = "straight"
    SWEPT_45 = "swept_45"
    SWEPT_90 = "swept_90"
    SWEPT_180 = "swept_180"
    FORGED_45 = "forged_45"
    FORGED_90 = "forged_90"
    REDUCER = "reducer"
    ADAPTER = "adapter"
    BULKHEAD = "bulkhead"
    CHECK_VALVE = "check_valve"
    QUICK_DISCONNECT = "quick_disconnect"
    DRAIN = "drain"
    BLEED_SCREW = "bleed_screw"
    RESTRICTOR = "restrictor"


# Loss coefficient on the speed in the line's bore. Bends: computed from published bend laws (Miller 1990, Ito 1960,
# Rennels and Hudson 2012) at 22 mm bore and Reynolds 1e4 to 2e5: swept r/D 1.5 to 3; forged or drilled with a sharp
# inner corner 0.9 to 1.4. No measured hose-end was found. The rest: common practice, no source. A reducer, an adapter,
# a bulkhead and a restrictor cost what their bore costs; that comes from the bore, not from this table.
LOSS = {
    FittingKind.STRAIGHT: 0.05,
    FittingKind.SWEPT_45: 0.17,
    FittingKind.SWEPT_90: 0.25,
    FittingKind.SWEPT_180: 0.32,
    FittingKind.FORGED_45: 0.33,
    FittingKind.FORGED_90: 1.2,
    FittingKind.REDUCER: 0.0,
    FittingKind.ADAPTER: 0.05,
    FittingKind.BULKHEAD: 0.05,
    FittingKind.CHECK_VALVE: 2.5,
    FittingKind.QUICK_DISCONNECT: 6.0,
    FittingKind.DRAIN: 0.1,
    FittingKind.BLEED_SCREW: 0.05,
    FittingKind.RESTRICTOR: 0.0,
}
CHECK_VALVE_REVERSE = 2.5e5  # loss coefficient of a shut check valve: a leak of one part in 300 of the forward flow


class Fitting(Part):
    """One fitting; in a file its kind alone will do: fittings = ["swept_90", "check_valve"]."""

    kind: FittingKind = option("what it is")
    bore: Length | None = quantity(
        "smallest bore inside it", default=None, low=0.001, high=0.15, source="left out: the throat of the line"
    )
    loss_coefficient: Number | None = quantity(
        "measured loss coefficient on the speed in the line's bore",
        default=None,
        low=0.0,
        high=1e4,
        source="left out: by kind, computed from published bend laws or common practice",
    )

    @model_validator(mode="before")
    @classmethod
    def _from_kind(cls, value: Any) -> Any:
        return {"kind": value} if isinstance(value, str | FittingKind) else value

    @property
    def forward(self) -> float:
        """Loss coefficient from start to end of the line, on the speed in its bore."""
        return LOSS[self.kind] if self.loss_coefficient is None else self.loss_coefficient

    @property
    def reverse(self) -> float:
        """Loss coefficient from end to start."""
        return CHECK_VALVE_REVERSE if self.kind is FittingKind.CHECK_VALVE else self.forward
