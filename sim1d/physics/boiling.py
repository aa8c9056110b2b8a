"""Nucleate boiling on a wetted wall: pool laws, onset, and the wall temperature that balances metal and coolant.

Heat fluxes in W/m2, temperatures in K, temperature differences (wall less saturation) in K.
"""

import math

from sim1d._jit import kernel, law
from sim1d.physics.lookup import row_of, value, vapour_pressure

GRAVITY = 9.80665  # m/s2


@kernel
def forster_zuber_group(liquid, saturation_temperature):
    """Property group A of Forster and Zuber's law q = A dT^1.24 dp^0.75 (see `forster_zuber`), SI.

    A = 0.00122 k^0.79 cp^0.45 rho^0.49 / (sigma^0.5 mu^0.29 hfg^0.24 rho_v^0.24), all at saturation. Once per node.
    """
    index, share = row_of(liquid, saturation_temperature)
    exponent = (
        0.79 * math.log(value(liquid.conductivity, index, share))
        + 0.45 * math.log(value(liquid.specific_heat, index, share))
        + 0.49 * math.log(value(liquid.density, index, share))
        - 0.50 * math.log(value(liquid.surface_tension, index, share))
        - 0.29 * math.log(value(liquid.viscosity, index, share))
        - 0.24 * math.log(value(liquid.latent_heat, index, share) * value(liquid.vapour_density, index, share))
    )
    return 0.00122 * math.exp(exponent)


@kernel
def forster_zuber(group, wall_superheat, pressure_rise):
    """Nucleate flux (W/m2) A dT^1.24 dp^0.75; dp (Pa) = saturation pressure at the wall less that of the liquid.

    Forster and Zuber 1955 as used by Chen 1966 (form read in the documentation of the public library `ht`). Pool laws
    differ by a factor of 5 at 30 K superheat; this one is the lowest and the one that flow boiling is correlated with.
    """
    if wall_superheat <= 0.0 or pressure_rise <= 0.0:
        return 0.0
    root = math.sqrt(pressure_rise)
    return group * wall_superheat**1.24 * root * math.sqrt(root)


@law
def chen_suppression(reynolds):
    """Share of pool nucleate boiling that survives a flow of liquid Reynolds number Re: 1 / (1 + 2.53e-6 Re^1.17).

    Chen 1966 (read in public reactor-code documentation); used with F = 1 in subcooled liquid.
    """
    return 1.0 / (1.0 + 2.53e-6 * reynolds**1.17)


@kernel
def rohsenow(
    wall_superheat,
    viscosity,
    latent_heat,
    density,
    vapour_density,
    surface_tension,
    specific_heat,
    prandtl,
    surface_constant,
    prandtl_power,
):
    """Pool flux (W/m2) mu hfg (g drho/sigma)^0.5 (cp dT / (Csf hfg Pr^n))^3; n = 1 water, 1.7 other liquids.

    Rohsenow 1952 (worked examples read in Incropera and in Kreith); +-100 % in q. Csf 0.013 on polished metal.
    """
    if wall_superheat <= 0.0:
        return 0.0
    ratio = specific_heat * wall_superheat / (surface_constant * latent_heat * prandtl**prandtl_power)
    return viscosity * latent_heat * math.sqrt(GRAVITY * (density - vapour_density) / surface_tension) * ratio**3


@kernel
def cooper(heat_flux, reduced_pressure, molar_mass, roughness):
    """Pool coefficient (W/(m2 K)) 55 pr^(0.12 - 0.4343 ln Rp) (-0.4343 ln pr)^-0.55 M^-0.5 q^0.67.

    `molar_mass` kg/kmol, `roughness` in micrometre (1 where unknown). Cooper 1984 (recalled). The constants 0.4343 turn
    ln into log10.
    """
    exponent = 0.12 - 0.4343 * math.log(roughness)
    spread = (-0.4343 * math.log(reduced_pressure)) ** -0.55
    return 55.0 * reduced_pressure**exponent * spread * heat_flux**0.67 / math.sqrt(molar_mass)


@kernel
def bergles_rohsenow_onset(heat_flux, pressure):
    """Wall superheat (K) at which water begins to boil, 0.556 (q / (1082 p^1.156))^(0.463 p^0.0234), p in bar absolute.

    `pressure` in Pa absolute, water at 1 to 138 bar. Bergles and Rohsenow 1964 (read in public reactor-code documents).
    """
    bar = pressure / 1e5
    return 0.556 * (heat_flux / (1082.0 * bar**1.156)) ** (0.463 * bar**0.0234)


@kernel
def davis_anderson_onset(heat_flux, saturation_temperature, conductivity, latent_heat, vapour_density, surface_tension):
    """Wall superheat (K) at which boiling begins, (8 sigma Tsat q / (k hfg rho_v))^0.5, any liquid.

    Davis and Anderson 1966 (read in public reactor-code documents). Within 7 % of Bergles and Rohsenow to 1 MW/m2.
    """
    return math.sqrt(
        8.0 * surface_tension * saturation_temperature * heat_flux / (conductivity * latent_heat * vapour_density)
    )


@kernel
def mixture_degradation(ideal_coefficient, heat_flux, boiling_range, density, latent_heat, mass_transfer):
    """Boiling coefficient of a mixture over the ideal one, 1 / (1 + (h/q) dT (1 - exp(-q / (rho hfg beta)))).

    `boiling_range` K is dew less bubble temperature, `mass_transfer` beta 3e-4 m/s (recalled, as the law). 1 for a pure
    liquid. Schluender 1982 (recalled).
    """
    transfer = 1.0 - math.exp(-heat_flux / (density * latent_heat * mass_transfer))
    return 1.0 / (1.0 + ideal_coefficient / heat_flux * boiling_range * transfer)


@law
def onset_temperature(bulk_temperature, saturation_temperature):
    """Wall temperature (K) from which bubbles count: saturation or, in superheated bulk, that; joined within 0.5 K."""
    lead = bulk_temperature - saturation_temperature
    return saturation_temperature + 0.5 * (lead + math.sqrt(lead * lead + 0.25))


@kernel
def wet_flux(wall_temperature, bulk_temperature, saturation_temperature, coefficient, group, suppression, liquid):
    """Flux (W/m2) from a wet wall, its slope (W/(m2 K)) and the nucleate part (W/m2), at a given wall temperature.

    (q_conv^2 + q_nb^2)^0.5 with q_conv = h (Tw - Tb) and q_nb = S A dT^1.24 dp^0.75: the addition of Bergles and
    Rohsenow 1964 with its onset put at saturation, where the nucleate flux is still negligible. A wall colder than the
    bulk is convection alone. dT counts from saturation or, in superheated bulk, from the bulk (joined within 0.5 K): a
    wall no hotter than its liquid makes no bubbles.
    """
    convective = coefficient * (wall_temperature - bulk_temperature)
    onset = onset_temperature(bulk_temperature, saturation_temperature)
    superheat = wall_temperature - onset
    if superheat <= 0.0:
        return convective, coefficient, 0.0
    start = vapour_pressure(liquid, onset)
    return _wet_flux(convective, superheat, onset, start, coefficient, group * suppression, liquid)


@law
def _wet_flux(convective, superheat, onset, start, coefficient, group, liquid):
    """`wet_flux` above the onset, with the saturation pressure `start` at the onset known."""
    wall_temperature = onset + superheat
    index, _ = row_of(liquid, wall_temperature)
    low = liquid[index]
    high = liquid[index + 1]
    steepness = (high.vapour_pressure - low.vapour_pressure) / (high.temperature - low.temperature)
    # continued in a straight line above the grid, so that the slope stays the true one
    rise = low.vapour_pressure + (wall_temperature - low.temperature) * steepness - start
    if rise <= 0.0:
        return convective, coefficient, 0.0
    root = math.sqrt(rise)
    nucleate = group * superheat**1.24 * root * math.sqrt(root)
    slope = nucleate * (1.24 / superheat + 0.75 * steepness / rise)
    total = math.sqrt(convective * convective + nucleate * nucleate)
    if total <= 0.0:
        return convective, coefficient, 0.0
    return total, (convective * coefficient + nucleate * slope) / total, nucleate


@kernel
def wetted_face(
    cell_temperature,
    half_resistance,
    bulk_temperature,
    saturation_temperature,
    coefficient,
    group,
    suppression,
    dry_share,
    film_coefficient,
    liquid,
):
    """Wall temperature (K), flux into the coolant (W/m2) and nucleate part (W/m2) that balance metal and coolant.

    Solves (Tc - Tw) / R = (1 - d) q_wet(Tw) + d h_film (Tw - Tb) for Tw, with q_wet of `wet_flux`.

    half_resistance R : m2 K/W between the metal cell's centre and the face (dx / 2k), >= 0.
    coefficient : W/(m2 K), single-phase convection. group : `forster_zuber_group` of the node. suppression : 0 to 1,
    with mixture and surface factors multiplied in. dry_share d : 0 to 1. film_coefficient : W/(m2 K).

    The residual is increasing and convex in Tw, so Newton from above falls monotonically on the root; it stops within
    1e-6 K (1 to 5 steps in practice, 12 at most). Valid for either sign of the flux; never fails: R = 0 gives Tw = Tc.
    """
    wall, flux, wet, _ = balanced_face(
        cell_temperature, half_resistance, bulk_temperature, saturation_temperature, coefficient, group * suppression,
        dry_share, film_coefficient, math.nan, liquid,
    )  # fmt: skip
    convective = coefficient * (wall - bulk_temperature)
    return wall, flux, (1.0 - dry_share) * math.sqrt(max(wet * wet - convective * convective, 0.0))


@law
def balanced_face(
    cell_temperature,
    half_resistance,
    bulk_temperature,
    saturation_temperature,
    coefficient,
    group,
    dry_share,
    film_coefficient,
    guess,
    liquid,
):
    """`wetted_face` for the kernels: (wall K, flux W/m2, flux where it is wet W/m2, slope of that W/(m2 K)).

    `group` holds the suppression; `guess` K is a wall temperature to start from, which changes no answer (out of range
    or not a number: none). The last Newton step is below 3 mK, so what is left is its square over the superheat.
    """
    wet = 1.0 - dry_share
    dry = dry_share * film_coefficient
    linear = wet * coefficient + dry
    wall = (cell_temperature + half_resistance * linear * bulk_temperature) / (1.0 + half_resistance * linear)
    if not group <= 0.0:  # not-a-number boils, and shows
        onset = onset_temperature(bulk_temperature, saturation_temperature)
        if not wall <= onset:
            return _boiling_face(
                cell_temperature, half_resistance, bulk_temperature, onset, coefficient, group, wet, dry, guess, wall,
                liquid,
            )  # fmt: skip
    return wall, linear * (wall - bulk_temperature), coefficient * (wall - bulk_temperature), coefficient


@law
def _boiling_face(cell, half_resistance, bulk, onset, coefficient, group, wet, dry, guess, highest, liquid):
    """`balanced_face` of a wall that would be at `highest` (K) without boiling, above the `onset` (K)."""
    start = vapour_pressure(liquid, onset)
    wall = highest
    if half_resistance > 0.0:
        if guess > onset and guess < highest:
            wall = guess
        else:
            linear = wet * coefficient + dry
            wall = _first_guess(wall, half_resistance, linear, wet, onset, bulk, start, group, liquid)
    total, slope = 0.0, 0.0
    for _ in range(12):
        total, slope, _ = _wet_flux(coefficient * (wall - bulk), wall - onset, onset, start, coefficient, group, liquid)
        whole = wet * total + dry * (wall - bulk)
        step = (half_resistance * whole + wall - cell) / (1.0 + half_resistance * (wet * slope + dry))
        new = min(max(wall - step, onset), highest)
        total += slope * (new - wall)  # the flux at the new wall, to second order in the step
        step = new - wall
        wall = new
        if abs(step) < 3.0e-3:
            break
    return wall, wet * total + dry * (wall - bulk), total, slope


@law
def _first_guess(highest, half_resistance, linear, wet, onset, bulk, start, scaled, liquid):
    """A wall temperature near the root: takes q_nb = c dT^2, exact at 20 K superheat, and adds convection linearly."""
    rise = vapour_pressure(liquid, onset + 20.0) - start
    root = math.sqrt(max(rise, 0.0))
    square = wet * scaled * 0.10256 * root * math.sqrt(root)  # 20^1.24 / 20^2
    # R c dT^2 + (1 + R h) dT - (1 + R h)(highest - onset) = 0: the linear balance holds at `highest`
    level = 1.0 + half_resistance * linear
    curve = 4.0 * half_resistance * square * level * (highest - onset)
    return onset + 2.0 * level * (highest - onset) / (level + math.sqrt(level * level + curve))
