"""Where the model ends: the margins that a run may not use up, as numbers that a compiled loop can watch."""

from typing import NamedTuple

import numpy as np

from sim1d._jit import kernel
from sim1d.core.handle import maker, register

SUPERCOOLED = 1.0  # K below the freezing point at which the run ends (tables of mixtures are that good)


class Limits(NamedTuple):
    """What one car stands at most."""

    dry_void: float  # steam by volume at which a place counts as boiled out
    starved_volume: float  # m3 of gas in the circuit at which it counts as starved
    melting: float  # K of a face on the gas side
    freezing: float  # K of the coolant
    rated_node: np.ndarray  # (rated part) coolant node whose pressure it stands
    rated_stop: np.ndarray  # (rated part) Pa gauge


LimitsHandle = register(Limits)


@maker(Limits)
@kernel
def make_limits(*fields):
    """Handle of a `Limits` from its fields."""
    return LimitsHandle(*fields)


@kernel
def gas_in_circuit(model, work):
    """Volume (m3) of gas spaces outside the tank, and of what the tank's own has outgrown. Needs `work` evaluated."""
    total = 0.0
    for k in range(len(model.pocket)):
        volume = work.pocket_volume[k]
        if k == 0 and model.system[0].tank_volume > 0.0:
            volume = max(volume - model.system[0].tank_volume, 0.0)
        total += volume
    return total


@kernel
def worse(margin, least):
    """Whether `margin` is the smaller one; one that is not a number is, and stays so."""
    return margin < least or margin != margin


@kernel
def limit_margin(model, work, state, limits):
    """Smallest margin (1) to where the model ends, and which of five it is; -1 where a state is not a number.

    0 boiled out, 1 starved, 2 over pressure, 3 melted, 4 frozen. Needs `work` evaluated at `state`.
    """
    layout = model.layout
    least, which = 1.0, 0
    for k in range(layout.lag, layout.metal):
        margin = limits.dry_void - state[k]
        if worse(margin, least):
            least, which = margin, 0
    margin = 1.0 - gas_in_circuit(model, work) / limits.starved_volume
    if worse(margin, least):
        least, which = margin, 1
    for k in range(len(limits.rated_node)):
        gauge = work.absolute[limits.rated_node[k]] - model.system[0].ambient_pressure
        margin = 1.0 - gauge / limits.rated_stop[k]
        if worse(margin, least):
            least, which = margin, 2
    for g in range(len(model.gas_face)):
        margin = 1.0 - work.gas_surface[g] / limits.melting
        if worse(margin, least):
            least, which = margin, 3
    for i in range(len(model.node)):
        margin = (work.temperature[i] - limits.freezing + SUPERCOOLED) / 20.0
        if worse(margin, least):
            least, which = margin, 4
    return (least if np.isfinite(least) else -1.0), which
