"""The pressure level: one number fixed by all gas, steam, liquid and elastic volumes together.

Every volume is a falling function of pressure and the enclosed space a rising one, so the balance

    liquid(T) + steam(p) + gas(p) = rigid volume (T) + sum of compliance (p - p_fill)

has exactly one root for any state, an over-filled or boiling system included: the gas space cannot go negative and the
level cannot run away without the saturation temperature rising with it. With one gas space the level is pinned there;
with several the answer is the compliance-weighted mean of the point-of-no-pressure-change rule.
"""

from sim1d._jit import kernel
from sim1d.physics.lookup import row_of, saturation_temperature, value
from sim1d.physics.smooth import ramp, smooth_max

LOWEST = 2000.0  # Pa absolute: below this the tables of saturation end, and any real system has cavitated


@kernel
def steam_of(model, enthalpy, hot, pressure):
    """Steam of a lump: (steam by volume, temperature K, saturation temperature K).

    Homogeneous equilibrium of coolant of specific enthalpy `enthalpy` (J/kg) at `pressure` (Pa absolute); `hot` (K) is
    the temperature that all-liquid coolant of this enthalpy would have. The onset is rounded over 0.5 K.
    """
    saturation = saturation_temperature(model.by_pressure, max(pressure, LOWEST))
    if hot < saturation - 0.6:
        return 0.0, hot, saturation
    index, share = row_of(model.liquid, saturation)
    heat = value(model.liquid.specific_heat, index, share)
    excess = ramp(enthalpy - value(model.liquid.enthalpy, index, share), 0.5 * heat)
    latent = value(model.liquid.latent_heat, index, share)
    quality = min(excess / latent, 1.0)
    ratio = value(model.liquid.vapour_density, index, share) / value(model.liquid.density, index, share)
    void = quality / (quality + (1.0 - quality) * ratio)
    temperature = hot
    if excess > 0.0:
        # within 0.5 K of saturation the table of the liquid is straight enough to step back by excess over cp
        temperature = min(hot, saturation + (enthalpy - excess - value(model.liquid.enthalpy, index, share)) / heat)
    return void, temperature, saturation


@kernel
def gas_volume(air, temperature, pressure, vapour):
    """Volume (m3) of `air` kg at `temperature` K that shares `pressure` (Pa absolute) with its saturated vapour.

    Dalton and the ideal gas, R = 287.05 J/(kg K). Where the vapour alone would reach the pressure the volume is held at
    twenty times that of the dry gas: beyond that the steam of the lump itself takes over.
    """
    partial = smooth_max(pressure - vapour, 0.05 * pressure, 0.01 * pressure)
    return air * 287.05 * temperature / partial


@kernel
def excess_volume(model, work, state, level, rigid):
    """Volume (m3) that does not fit at `level` (Pa absolute at the ground): positive when the level must rise."""
    layout = model.layout
    total = rigid
    for i in range(len(model.node)):
        node = model.node[i]
        pressure = max(level + work.offset[i], LOWEST)
        total -= node.compliance * (level + work.offset[i] - node.filled)
        if work.vapour[i] * 1.3 > pressure:
            void, _, _ = steam_of(model, work.enthalpy[i], work.hot[i], pressure)
            total += void * node.volume
    for k in range(len(model.pocket)):
        air = state[layout.air + k]
        if air > 0.0:
            i = model.pocket[k].node
            total += gas_volume(air, work.hot[i], max(level + work.offset[i], LOWEST), work.vapour[i])
    return total


@kernel
def solve_level(model, work, state):
    """Pressure at the ground (Pa absolute) that makes all volumes fit: (level, converged).

    Bracketed Newton with a difference slope on a strictly falling function; the answer does not depend on the guess
    kept in `work.level[0]`. Fills absolute pressure, temperature, saturation and void of `work`.
    """
    layout = model.layout
    system = model.system[0]
    rigid = -system.tank_volume
    for i in range(len(model.node)):
        node = model.node[i]
        mass = node.mass
        if i == system.vessel:
            mass += state[layout.store]
        rigid += mass / work.density[i] - node.volume * (1.0 + node.growth * (work.hot[i] - system.fill_temperature))
    low, high = 1.0e3, 3.0e7
    guess = work.level[0]
    if not (guess > low and guess < high):
        guess = 1.5e5
    converged = False
    for _ in range(80):
        f = excess_volume(model, work, state, guess, rigid)
        if f > 0.0:
            low = guess
        else:
            high = guess
        step = 1.0e-5 * guess
        slope = (excess_volume(model, work, state, guess + step, rigid) - f) / step
        trial = guess - f / slope if slope < 0.0 else 0.5 * (low + high)
        if not (trial > low and trial < high):
            trial = (low * high) ** 0.5
        change = abs(trial - guess)
        guess = trial
        if change <= 1.0e-9 * guess or high - low <= 1.0e-10 * high:
            converged = True
            break
    work.level[0] = guess
    local_states(model, work)
    return converged


@kernel
def local_states(model, work):
    """Absolute pressure, steam share, temperature and saturation temperature of every lump at the level of `work`."""
    for i in range(len(model.node)):
        work.absolute[i] = work.level[0] + work.offset[i]
        pressure = max(work.absolute[i], LOWEST)
        work.void[i], work.temperature[i], work.saturation[i] = steam_of(model, work.enthalpy[i], work.hot[i], pressure)
