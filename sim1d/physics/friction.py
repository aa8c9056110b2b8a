"""Wall friction of round and flat ducts, and the pressure loss of one branch of the network.

Darcy friction factors throughout: dp = f (L/D) rho V^2/2 with Re = rho V D/mu.
"""

import math

from sim1d._jit import kernel

LAMINAR_TO = 900.0  # below this Reynolds number the turbulent term of Churchill's law is under 1e-14 of the laminar one


@kernel
def churchill(reynolds, relative_roughness, laminar_constant):
    """Friction factor times Reynolds number and Re times its derivative: (f Re, Re d(f Re)/dRe), both dimensionless.

    f = 8 [ (c/8 / Re)^12 + (A + B)^-3/2 ]^(1/12), A = (2.457 ln(1/((7/Re)^0.9 + 0.27 e/D)))^16, B = (37530/Re)^16.
    Churchill, Chem. Eng. 84(24):91, 1977 (read in the documentation of the public library `fluids`), where c = 64.
    Another `laminar_constant` c (flat ducts) scales the laminar term alone; the turbulent term keeps the Reynolds
    number on the hydraulic diameter. One smooth expression for all Re >= 0 (c at Re = 0), never falling with Re;
    0 <= relative_roughness <= 0.1, 40 <= c <= 100. Within 4 % of Colebrook above Re 4000; between 2000 and 4000 nature
    itself is not unique.
    """
    if reynolds < LAMINAR_TO:
        return laminar_constant, 0.0
    per_re = 1.0 / reynolds
    seven = math.exp(0.9 * math.log(7.0 * per_re))  # (7/Re)^0.9
    inside = seven + 0.27 * relative_roughness
    log_inside = -math.log(inside)
    a = 2.457 * log_inside
    a *= a
    a *= a
    a *= a
    a *= a
    b = 37530.0 * per_re
    b *= b
    b *= b
    b *= b
    b *= b
    sum_ab = a + b
    re2 = reynolds * (1.0 * reynolds)
    re4 = re2 * re2
    per_sum = 1.0 / sum_ab
    turbulent = re4 * re4 * re4 * per_sum * math.sqrt(per_sum)  # Re^12 (A + B)^-3/2
    c2 = laminar_constant * laminar_constant / 64.0
    c6 = c2 * c2 * c2
    whole = c6 * c6 + turbulent
    product = 8.0 * math.exp(math.log(whole) / 12.0)
    growth = 12.0 - 1.5 * (14.4 * a * seven / (inside * log_inside) - 16.0 * b) * per_sum  # d ln(turbulent)/d ln(Re)
    return product, product * turbulent * growth / (12.0 * whole)


@kernel
def churchill_friction(reynolds, relative_roughness):
    """Darcy friction factor of a round pipe by Churchill 1977 (see `churchill`), Re > 0."""
    product, _ = churchill(reynolds, relative_roughness, 64.0)
    return product / reynolds


@kernel
def colebrook(reynolds, relative_roughness):
    """Darcy friction factor of turbulent flow, 1/sqrt(f) = -2 log10( (e/D)/3.7 + 2.51/(Re sqrt f) ).

    Re > 4000, e/D < 0.05. Newton's method on 1/sqrt(f), which is convex there: five steps reach machine precision.
    Colebrook, J. Inst. Civ. Eng. 11:133, 1939 (recalled; agrees with the public library `fluids`).
    """
    rough = relative_roughness / 3.7
    smooth = 2.51 / reynolds
    root = 1.0 / math.sqrt(haaland(reynolds, relative_roughness))
    for _ in range(6):
        inside = rough + smooth * root
        error = root + 2.0 * math.log10(inside)
        root -= error / (1.0 + 2.0 / math.log(10.0) * smooth / inside)
    return 1.0 / (root * root)


@kernel
def haaland(reynolds, relative_roughness):
    """Darcy friction factor, 0.3086 / (log10( ((e/D)/3.7)^1.11 + 6.9/Re ))^2, within 2 % of Colebrook, Re > 4000.

    Haaland, J. Fluids Eng. 105:89, 1983 (form read in published course software).
    """
    root = math.log10((relative_roughness / 3.7) ** 1.11 + 6.9 / reynolds)
    return 0.3086 / (root * root)


@kernel
def rectangular_laminar_constant(aspect):
    """f Re of developed laminar flow in a rectangle, sides a <= b, aspect = a/b in 0..1 (96 plates, 56.92 square).

    96 (1 - 1.3553 a + 1.9467 a^2 - 1.7012 a^3 + 0.9564 a^4 - 0.2537 a^5) on the hydraulic diameter; within 0.05 % of
    the exact series. Shah and London, Laminar Flow Forced Convection in Ducts, 1978 (recalled).
    """
    series = 1.0 + aspect * (-1.3553 + aspect * (1.9467 + aspect * (-1.7012 + aspect * (0.9564 - 0.2537 * aspect))))
    return 96.0 * series


@kernel
def laminar_equivalent_reynolds(reynolds, aspect):
    """Reynolds number of the round pipe with the friction of a rectangular duct: Re (2/3 + 11/24 a (2 - a)).

    Jones, J. Fluids Eng. 98:173, 1976 (recalled). Not used by the network, which keeps Re on the hydraulic diameter:
    the choice moves the core drop by up to 43 % between Re 2000 and 4000 and is covered by the friction multiplier.
    """
    return reynolds * (2.0 / 3.0 + 11.0 / 24.0 * aspect * (2.0 - aspect))


@kernel
def branch_loss(
    w, density, viscosity, length, diameter, area, count, roughness, friction_multiplier, laminar_constant, k,
    loss_area, creeping,
):  # fmt: skip
    """Pressure loss of a branch and its slope: (dp Pa, d(dp)/dw Pa s/kg) at mass flow `w` (kg/s, any sign).

    For each of `count` equal paths, q = w/(density count):
    dp = friction_multiplier f (L/D) rho V|V|/2 + k rho U|U|/2 + creeping mu q, V = q/area, U = q/loss_area.
    dp is odd in w (for equal k) and strictly increasing as long as one of length and creeping is above 0; its slope
    is continuous and finite at rest. Wall friction by Churchill (`churchill`); the creeping term is the exact limit of
    slow flow through a hole, 24/d^3 (Sampson 1891), or any linear resistance in 1/m3.
    """
    to_path = 1.0 / (density * count)
    q = w * to_path
    linear = creeping * viscosity
    slope = linear
    dp = linear * q
    if length > 0.0:
        reynolds = density * abs(q) * diameter / (area * viscosity)
        product, growth = churchill(reynolds, roughness / diameter, laminar_constant)
        scale = friction_multiplier * viscosity * length / (2.0 * diameter * diameter * area)
        dp += scale * product * q
        slope += scale * (product + growth)
    square = 0.5 * k * density / (loss_area * loss_area)
    dp += square * q * abs(q)
    slope += 2.0 * square * abs(q)
    return dp, slope * to_path
