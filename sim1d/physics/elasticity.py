"""Elastic and thermal growth of hoses and metal, wave speed, and the stress in simple shells. Pa, m, K."""

import math

from sim1d._jit import kernel


@kernel
def thick_tube_compliance(inner_radius, outer_radius, modulus):
    """Relative volume growth per pressure (1/Pa) of an incompressible thick tube held in length: 3 b^2/(E (b^2-a^2)).

    Lame, plane strain, Poisson 0.5 (Roark, recalled). Rubber 5 to 15 MPa (read), knitted hose 20 to 100 MPa (assumed).
    Stiffness grows with the rate: measured dynamic moduli are higher than static ones.
    """
    square = outer_radius * outer_radius
    return 3.0 * square / (modulus * (square - inner_radius * inner_radius))


@kernel
def thin_tube_compliance(diameter, thickness, modulus, poisson):
    """Relative volume growth per pressure (1/Pa) of a thin tube anchored in length, (D/(E t))(1 - nu^2) (Korteweg)."""
    return diameter / (modulus * thickness) * (1.0 - poisson * poisson)


@kernel
def wave_speed(density, bulk_modulus, wall_compliance, gas_share, gas_pressure, exponent):
    """Speed (m/s) of a pressure wave in a tube of bubbly liquid, (rho (1/K + wall + gas/(n p)))^-0.5.

    `wall_compliance` 1/Pa as above, `gas_share` by volume at `gas_pressure` Pa absolute, `exponent` n 1.4 for a fast
    wave, 1 for a slow one. Korteweg, Wood (recalled). Density is that of the mixture within (1 - gas_share).
    """
    mixture = density * (1.0 - gas_share)
    gas = gas_share / (exponent * gas_pressure)
    return 1.0 / math.sqrt(mixture * ((1.0 - gas_share) / bulk_modulus + wall_compliance + gas))


@kernel
def metal_growth(expansion, temperature_rise):
    """Relative growth of a cavity in metal, 3 alpha dT; alpha 23e-6 aluminium, 11e-6 iron, 12e-6 steel (recalled)."""
    return 3.0 * expansion * temperature_rise


@kernel
def hoop_stress(pressure, diameter, thickness):
    """Stress (Pa) round a thin tube, p D/(2 t), D the inner diameter."""
    return pressure * diameter / (2.0 * thickness)


@kernel
def clamped_plate_stress(pressure, width, thickness):
    """Largest stress (Pa) of a long flat wall clamped on both sides, `width` m apart: 0.5 p b^2/t^2.

    Roark (recalled).
    """
    ratio = width / thickness
    return 0.5 * pressure * ratio * ratio
