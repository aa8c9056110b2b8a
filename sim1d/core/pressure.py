"""The pressure level: one number fixed by all gas, steam, liquid and elastic volumes together.

Every volume is a falling function of pressure and the enclosed space a rising one, so the balance

    liquid(T) + steam(p) + gas(p) = rigid volume (T) + sum of compliance (p - p_fill)

has exactly one root for any state, an over-filled or boiling system included: the gas space cannot go negative and the
level cannot run away without the saturation temperature rising with it. With one gas space the level is pinned there;
with several the answer is the compliance-weighted mean of the point-of-no-pressure-change rule.
"""

import numpy as np

from sim1d._jit import kernel
from sim1d.physics.ambient import AIR_GAS_CONSTANT
from sim1d.physics.lookup import row_of, saturation_temperature, value
from sim1d.physics.smooth import ramp, smooth_max

LEVEL_CLOSE = 1.0e-9  # share of the level at which the search stops
NEAR_BOILING = 1.05  # vapour pressure over pressure at 0.6 K below saturation, at most
FLOOR_ROUNDED = 0.06  # share of the pressure that dry gas must hold for `gas_volume` to be Dalton's law unrounded
LEAST_DRY = 0.05  # of the pressure, that of dry gas at least
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
    partial = smooth_max(pressure - vapour, LEAST_DRY * pressure, 0.01 * pressure)
    return air * AIR_GAS_CONSTANT * temperature / partial


@kernel
def excess_volume(model, work, state, level, rigid, give, boils_below):
    """Volume (m3) that does not fit at `level` (Pa absolute at the ground), positive when it must rise, and its slope.

    `rigid` m3 holds all that does not hang on the level, `give` m3/Pa is the compliance of all walls together; no lump
    boils above `boils_below` Pa.
    """
    layout = model.layout
    total = rigid - give * level
    slope = -give
    if level < boils_below:
        for i in range(len(model.node)):
            pressure = max(level + work.offset[i], LOWEST)
            if work.vapour[i] * NEAR_BOILING > pressure:
                void, _, _ = steam_of(model, work.enthalpy[i], work.hot[i], pressure)
                if void > 0.0 and pressure > LOWEST:
                    more = 1.0e-5 * pressure
                    less, _, _ = steam_of(model, work.enthalpy[i], work.hot[i], pressure + more)
                    slope += (less - void) / more * model.node[i].volume
                total += void * model.node[i].volume
    for k in range(len(model.pocket)):
        air = state[layout.air + k]
        if air > 0.0:
            i = model.pocket[k].node
            pressure = max(level + work.offset[i], LOWEST)
            partial = pressure - work.vapour[i]
            if partial > FLOOR_ROUNDED * pressure and pressure > LOWEST:  # `gas_volume` off its floor, and its slope
                per_partial = 1.0 / partial
                volume = air * AIR_GAS_CONSTANT * work.hot[i] * per_partial
                total += volume
                slope -= volume * per_partial
            else:
                volume = gas_volume(air, work.hot[i], pressure, work.vapour[i])
                total += volume
                if pressure > LOWEST:
                    more = 1.0e-5 * pressure
                    slope += (gas_volume(air, work.hot[i], pressure + more, work.vapour[i]) - volume) / more
    return total, slope


@kernel
def solve_level(model, work, state):
    """Pressure at the ground (Pa absolute) that makes all volumes fit: (level, converged).

    Bracketed Newton on a strictly falling function; the answer does not depend on the guess kept in `work.level[0]`.
    Fills absolute pressure, temperature, saturation and void of `work`.
    """
    rigid = work.level[4] - model.system[0].tank_volume
    give = 0.0
    boils_below = 0.0
    for i in range(len(model.node)):
        node = model.node[i]
        rigid -= node.compliance * (work.offset[i] - node.filled)
        give += node.compliance
        boils_below = max(boils_below, work.vapour[i] * NEAR_BOILING - work.offset[i])
    low, high = 1.0e3, 3.0e7
    guess = work.level[0]
    if not (guess > low and guess < high):
        guess = 1.5e5
    converged, slope = False, 0.0
    for _ in range(80):
        f, slope = excess_volume(model, work, state, guess, rigid, give, boils_below)
        if f > 0.0:
            low = guess
        else:
            high = guess
        step = f / slope if slope < 0.0 else np.inf
        trial = guess - step
        close = abs(step) <= LEVEL_CLOSE * guess  # before the bracket is asked: on the root itself it says no
        if not close and not (trial > low and trial < high):
            trial = (low * high) ** 0.5
        guess = trial
        if close or high - low <= 1.0e-10 * high:
            converged = True
            break
    work.level[0] = guess
    work.level[5] = slope
    local_states(model, work)
    return converged


@kernel
def local_states(model, work):
    """Absolute pressure, steam share, temperature and saturation temperature of every lump at the level of `work`.

    Saturation is taken where something hangs on it: near boiling and at a wetted wall. It is infinite elsewhere.
    """
    for i in range(len(model.node)):
        work.absolute[i] = work.level[0] + work.offset[i]
        pressure = max(work.absolute[i], LOWEST)
        work.void[i], work.temperature[i], work.saturation[i] = 0.0, work.hot[i], np.inf
        if not work.vapour[i] * NEAR_BOILING <= pressure:
            boiling = steam_of(model, work.enthalpy[i], work.hot[i], pressure)
            work.void[i], work.temperature[i], work.saturation[i] = boiling
    for f in range(len(model.face)):
        i = model.face[f].node
        if work.saturation[i] == np.inf:
            work.saturation[i] = saturation_temperature(model.by_pressure, max(work.absolute[i], LOWEST))
