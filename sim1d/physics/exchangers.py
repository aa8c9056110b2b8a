"""Effectiveness of heat exchangers from transfer units: eps(NTU, Cr), dimensionless, 0 <= Cr = Cmin/Cmax <= 1."""

import math

from sim1d._jit import kernel


@kernel
def crossflow_unmixed(transfer_units, capacity_ratio):
    """Cross flow, both streams unmixed, exact: Mason's series of 1955 (form as computed against the integral).

    eps = (1/(C N)) Sum_n (1 - e^-N Sum_0^n N^m/m!) (1 - e^-CN Sum_0^n (CN)^m/m!), summed until the terms vanish.
    Any NTU (above 100 the value at 100); 1e-9 accurate.
    """
    units = min(max(transfer_units, 0.0), 100.0)
    other = capacity_ratio * units
    if units < 1e-9:
        return units
    if other < 1e-9:
        return 1.0 - math.exp(-units)
    term = math.exp(-units)
    term_other = math.exp(-other)
    rest = 1.0 - term
    rest_other = 1.0 - term_other
    total = 0.0
    for index in range(1, 400):
        part = rest * rest_other
        total += part
        if part < 1e-13 * total and index > units:
            break
        term *= units / index
        term_other *= other / index
        rest = max(rest - term, 0.0)
        rest_other = max(rest_other - term_other, 0.0)
    return min(total / other, 1.0)


@kernel
def crossflow_unmixed_approximate(transfer_units, capacity_ratio):
    """Cross flow, both unmixed, closed form 1 - exp((N^0.22/C)(exp(-C N^0.78) - 1)).

    Incropera and DeWitt eq. 11.32 (recalled); -3.8 % at N 0.25, C 1 to +1.1 % at N 3, C 0.5 against the exact series.
    """
    units = max(transfer_units, 0.0)
    if units < 1e-9:
        return units
    if capacity_ratio < 1e-12:
        return 1.0 - math.exp(-units)
    return -math.expm1(units**0.22 / capacity_ratio * math.expm1(-capacity_ratio * units**0.78))


@kernel
def crossflow_one_mixed(transfer_units, capacity_ratio, largest_mixed):
    """Cross flow with one stream mixed; `largest_mixed` > 0.5 when it is the one of larger capacity rate.

    Larger mixed: (1 - exp(-C (1 - e^-N)))/C; smaller mixed: 1 - exp(-(1 - e^-CN)/C). Kays and London (recalled).
    """
    units = max(transfer_units, 0.0)
    if capacity_ratio < 1e-12:
        return 1.0 - math.exp(-units)
    if largest_mixed > 0.5:
        return -math.expm1(capacity_ratio * math.expm1(-units)) / capacity_ratio
    return -math.expm1(math.expm1(-capacity_ratio * units) / capacity_ratio)


@kernel
def counterflow(transfer_units, capacity_ratio):
    """Counter flow, (1 - e^(-N(1-C)))/(1 - C e^(-N(1-C))), N/(1+N) at C = 1. Kays and London (recalled)."""
    units = max(transfer_units, 0.0)
    gap = 1.0 - capacity_ratio
    if abs(gap) * max(units, 1.0) < 1e-7:
        return units / (1.0 + units)
    decay = math.exp(-units * gap)
    return (1.0 - decay) / (1.0 - capacity_ratio * decay)


@kernel
def parallel_flow(transfer_units, capacity_ratio):
    """Parallel flow, (1 - e^(-N(1+C)))/(1+C). Kays and London (recalled; worked example of Lienhard read)."""
    return (1.0 - math.exp(-max(transfer_units, 0.0) * (1.0 + capacity_ratio))) / (1.0 + capacity_ratio)


@kernel
def multipass(pass_effectiveness, passes, capacity_ratio):
    """Identical passes in counter arrangement, streams mixed between: (Z^n - 1)/(Z^n - C), Z = (1 - e C)/(1 - e).

    Kays and London (recalled). At C = 1: n e / (1 + (n-1) e).
    """
    if pass_effectiveness >= 1.0:
        return 1.0
    if abs(1.0 - capacity_ratio) < 1e-7:
        return passes * pass_effectiveness / (1.0 + (passes - 1.0) * pass_effectiveness)
    power = ((1.0 - pass_effectiveness * capacity_ratio) / (1.0 - pass_effectiveness)) ** passes
    return (power - 1.0) / (power - capacity_ratio)


@kernel
def cell_conductance(conductance, air_capacity, coolant_capacity):
    """Conductance (W/K) from a mixed coolant cell of a core to the entering air, so that a row of cells is exact.

    `conductance` UA of the cell's share, capacity rates m cp of its share of the air and of the whole coolant stream,
    all W/K. With e = 1 - exp(-UA/Ca) and x = e Ca/Cw, upwind cells need Cw (exp(x) - 1) instead of e Ca to give the
    steady heat of "air unmixed, coolant mixed" with any number of cells. For x above 1 (a trickle, where one cell is
    much too coarse) the correction is faded out again, so that a still core cools by e Ca.
    """
    if air_capacity <= 0.0 or conductance <= 0.0:
        return 0.0
    taken = air_capacity * (1.0 - math.exp(-conductance / air_capacity))
    ratio = taken / max(coolant_capacity, 1e-9 * taken + 1e-30)
    square = min(ratio * ratio, 1e100)
    spread = ratio / (1.0 + square * square / 16.0)
    if spread <= 0.0:
        return taken
    return taken * math.expm1(spread) / spread
