"""By how much a step gets the pressure level wrong: no state, but what opens caps and what a gauge shows.

The level makes all volumes fit (see `core.pressure`), so what a step leaves in gas, heat and coolant moves it by the
volume that this takes over the slope of the balance. Where a circuit holds little gas and steam, 20 mL of either are
kilopascals: within the tolerance of every state a step can open a cap that should have stayed shut, and coolant that
left does not come back (measured on layout C, which lost 20 g in a soak: docs/explanation/accuracy.md).
"""

from sim1d._jit import kernel
from sim1d.core.coolant import vessel_mass_slope
from sim1d.core.pressure import LEAST_DRY
from sim1d.physics.ambient import AIR_GAS_CONSTANT
from sim1d.physics.smooth import step as smooth_step

FAR = 0.4  # of its opening pressure, below which a cap counts as far from lifting
TRIFLE = 0.01  # of its tolerance: so small an error counts for nothing here (most do: it halves the cost)
NO_ROOM = 1.0e-8  # m3 of gas that none of its warmth would show by
LEAST_SPAN = 1.0e3  # Pa of that, for a cap that opens at nothing
LOOSER = 6.0  # times looser there (measured: none of it takes a tenth more evaluations on layout A and gains nothing)


@kernel
def left(u, weights, k):
    """Error that a step of stages `u` (4, size) leaves in state `k`, by the difference of its two methods."""
    return weights[0] * u[0, k] + weights[1] * u[1, k] + weights[2] * u[2, k] + weights[3] * u[3, k]


@kernel
def warmer(model, work, step, weights, i):
    """Error (K) of the temperature of lump `i`, all of it liquid; what the vessel has too much is also warmed."""
    layout = model.layout
    error = left(step.u, weights, layout.enthalpy + i)
    if i == model.system[0].vessel:
        more = left(step.u, weights, layout.store) * vessel_mass_slope(model, step.trial[layout.store])
        error -= work.enthalpy[i] * more
    return error * step.warming[i]


@kernel
def level_error(model, work, step, weights):
    """Error (Pa) of the level after the step that `step` holds, its end in `trial`; `work` must be of near there."""
    layout, liquid = model.layout, model.liquid
    vessel = model.system[0].vessel
    volume = left(step.u, weights, layout.store) / work.density[vessel]  # m3 that the errors take up
    for i in range(len(model.node)):
        k = layout.enthalpy + i
        if i != vessel and abs(left(step.u, weights, k)) < TRIFLE * step.tolerance[k] and step.steaming[i] == 0.0:
            continue
        node, low, high = model.node[i], liquid[work.grid[i]], liquid[work.grid[i] + 1]
        thinner = (low.density - high.density) / (high.temperature - low.temperature)  # kg/m3 by K
        mass = node.mass if i != vessel else node.mass + step.trial[layout.store]
        swelling = mass * thinner / work.density[i] ** 2 - node.volume * node.growth
        volume += swelling * warmer(model, work, step, weights, i)
        if step.steaming[i] > 0.0:
            heat = left(step.u, weights, k) * step.by_state[i]
            volume += node.volume * step.steaming[i] * heat
    for p in range(len(model.pocket)):
        i, k = model.pocket[p].node, layout.air + p
        gas, taken = left(step.u, weights, k), work.pocket_volume[p]
        if taken < NO_ROOM and abs(gas) < TRIFLE * step.tolerance[k]:
            continue
        low, high = liquid[work.grid[i]], liquid[work.grid[i] + 1]
        steeper = (high.vapour_pressure - low.vapour_pressure) / (high.temperature - low.temperature)  # Pa/K
        partial = max(work.absolute[i] - work.vapour[i], LEAST_DRY * work.absolute[i])
        volume += AIR_GAS_CONSTANT * work.hot[i] / partial * gas
        by_kelvin = taken * (1.0 / work.hot[i] + steeper / partial)
        volume += by_kelvin * warmer(model, work, step, weights, i)
    return abs(volume / work.level[5])  # of all volumes together: never nothing, or no level had been found


@kernel
def level_allowed(model, work, level):
    """Error (Pa) of the level that a step may make: `level` where a cap may open, `LOOSER` times that far from it."""
    near = 0.0
    for c in range(len(model.cap)):
        cap = model.cap[c]
        gauge = work.absolute[cap.node] - model.system[0].ambient_pressure
        near = max(near, smooth_step(1.0 - (cap.opening - gauge) / max(FAR * cap.opening, LEAST_SPAN)))
    return level * (LOOSER - (LOOSER - 1.0) * near)
