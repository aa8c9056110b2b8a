"""Where the fuel's heat goes, averaged over a cycle: heat to coolant from power, and friction. W, Pa, rad/s."""

from sim1d._jit import kernel


@kernel
def released_power(air_flow, equivalence):
    """Heat released (W) by a mixture on `air_flow` kg/s: 2.99 MJ per kg of air, less fuel when lean (equivalence < 1).

    Rich mixtures release what the oxygen allows. Within 3 % for gasoline, ethanol and methanol (recalled heating values
    over stoichiometric ratios: 44/14.7, 26.9/9.0, 19.9/6.46 MJ/kg).
    """
    return 2.99e6 * air_flow * min(equivalence, 1.0)


@kernel
def coolant_heat_ratio(brake_power):
    """Heat to coolant over brake power at full load, 0.50 (1 MW / P)^0.25.

    Assumed, midway between correlations that differ by 1.7; band x 0.65 to x 1.45. The power -0.25 is Taylor and
    Toong's. 500 kW to 3 MW.
    """
    return 0.50 * (1e6 / brake_power) ** 0.25


@kernel
def coolant_heat(reference_heat, released, reference_released):
    """Heat to coolant (W) at another release: Qref (P/Pref)^0.75 (Taylor and Toong, exponent read)."""
    return reference_heat * (max(released, 0.0) / reference_released) ** 0.75


@kernel
def friction_pressure(speed):
    """Friction mean effective pressure (Pa) at `speed` rev/min: 0.97 + 0.15 n + 0.05 n^2 bar, n in thousands.

    Motored with wide-open throttle, pumping included, to 6000 rev/min. Heywood 1988 eq. 13.6 (recalled).
    """
    thousands = speed / 1000.0
    return 1e5 * (0.97 + 0.15 * thousands + 0.05 * thousands * thousands)


@kernel
def friction_power(speed, displacement):
    """Friction power (W) of a four-stroke of `displacement` m3 at `speed` rev/min; half goes to oil (assumed)."""
    return friction_pressure(speed) * displacement * speed / 120.0
