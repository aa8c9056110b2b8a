"""Why coolant left: what stood behind the pressure under the cap while it passed.

While a cap is open the rise of the pressure under it is set apart twice: first into what a standing circuit in the same
state would show and what the pump and the acceleration add to that (the flows are solved again without them), then
the standing part by what took volume since the circuit was sealed: swell of the liquid, steam, combustion gas. Every
gram that passes is shared out by those parts; what only lowers the pressure gets nothing. A convention, as any sharing
of a joint cause is; it sums to what left.
"""

from enum import Enum
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.core.handle import handle
from sim1d.core.model import LEDGERS, work_arrays
from sim1d.core.rhs import flows
from sim1d.physics.ambient import AIR_GAS_CONSTANT

if TYPE_CHECKING:
    from sim1d.core.model import Work
    from sim1d.pack import Packed


class Cause(Enum):
    """What pushed coolant out."""

    SWELL = "swell"
    PUMP = "pump"
    LAUNCH = "launch"
    BOILING = "boiling"
    GASKET = "gasket"


CAUSES = tuple(Cause)


class Causes:
    """Shares of the causes at instants of one packed day."""

    def __init__(self, packed: "Packed") -> None:
        self.packed = packed
        self.work = work_arrays(packed.model)
        self.model_handle, self.work_handle = handle(packed.model), handle(self.work)
        liquid = packed.model.liquid
        self.cold = float(np.interp(packed.model.system[0].fill_temperature, liquid.temperature, liquid.density))

    def under_cap(self, time: float, state: np.ndarray, phase: Any) -> float:
        """Highest pressure (Pa absolute) under a cap with these drives."""
        flows(time, state, phase, self.model_handle, self.work_handle)
        return float(np.max(self.work.absolute[self.packed.model.cap.node]))

    def shares(self, time: float, state: np.ndarray, phase: Any, work: "Work") -> np.ndarray:
        """Share of each cause (in the order of `CAUSES`, sum 1) at a state evaluated in `work`."""
        model = self.packed.model
        rest = phase.copy()
        rest["acceleration"] = (0.0, 0.0)
        level = float(np.max(work.absolute[model.cap.node]))
        without_launch = self.under_cap(time, state, rest) if np.any(phase["acceleration"]) else level
        rest["speed"], rest["electric_pump"] = (0.0, 0.0), 0.0
        standing = self.under_cap(time, state, rest)
        node = model.node
        swell = float(np.sum(node.mass * (1.0 / work.density - 1.0 / self.cold)))
        steam = float(np.sum(work.void * node.volume))
        leaked = float(state[model.layout.ledger + LEDGERS.index("leak_in")])
        gas = leaked * AIR_GAS_CONSTANT * float(work.temperature[model.system[0].vessel]) / level
        volumes = np.maximum([swell, steam, gas], 0.0)
        rise = max(standing - model.system[0].ambient_pressure, 0.0)
        still = rise * volumes / max(float(volumes.sum()), 1e-12)
        parts = np.array(
            [still[0], max(without_launch - standing, 0.0), max(level - without_launch, 0.0), still[1], still[2]]
        )
        total = float(parts.sum())
        return parts / total if total > 0.0 else np.eye(len(CAUSES))[0]


def divided(total: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """Running sums (n, causes) of what left, `total` (n) shared by the causes at the end of each step."""
    weights = np.where(shares.sum(axis=1, keepdims=True) > 0.0, shares, np.eye(len(CAUSES))[0])
    return np.cumsum(np.diff(total, prepend=total[:1])[:, None] * weights, axis=0)
