"""Even and uneven feed along a gallery: closed forms for short, wide headers without friction.

Header momentum (1/rho) dp/dx = -theta W dW/dx on both sides, lateral loss zeta rho u^2/2; z runs 0..1 from the inlet of
the dividing header. a = theta_dividing/(zeta k), b = theta_combining r^2/(zeta k), k = (header area over all
laterals)^2, r = dividing over combining header area. Equations: Bajura and Jones, J. Fluids Eng. 98:654, 1976
(abstract read); Bassiouny and Martin, Chem. Eng. Sci. 39:693 and 701, 1984 (recalled); the solutions are derived from
them. They hold for laterals that together are no wider than the header (k >= 1); beyond, measured spread is larger. The
network has the same physics junction by junction (`core.hydraulics`); these forms are its yardstick.
"""

import math

from sim1d._jit import kernel


@kernel
def u_type_flow(z, a, b):
    """Lateral flow over its mean at `z` when inlet and outlet are at the same end: M cosh(M (1 - z))/sinh M, M^2 = b
    - a.

    For b < a the circular functions (M < pi), for b = a exactly 1.
    """
    square = b - a
    m = math.sqrt(abs(square))
    if m < 1e-6:
        return 1.0
    if square > 0.0:
        return m * math.cosh(m * (1.0 - z)) / math.sinh(m)
    return m * math.cos(m * (1.0 - z)) / math.sin(m)


@kernel
def z_type_flow(z, a, b):
    """Lateral flow over its mean at `z` when inlet and outlet are at opposite ends.

    -w' with w'' = M^2 w - b, w(0) = 1, w(1) = 0, M^2 = b - a; for b = a exactly 1 + b (z - 1/2).
    """
    square = b - a
    m = math.sqrt(abs(square))
    if m < 1e-4:
        return 1.0 + b * (z - 0.5)
    level = b / square
    if square > 0.0:
        s = -(level + (1.0 - level) * math.cosh(m)) / math.sinh(m)
        return -m * ((1.0 - level) * math.sinh(m * z) + s * math.cosh(m * z))
    s = -(level + (1.0 - level) * math.cos(m)) / math.sin(m)
    return -m * (-(1.0 - level) * math.sin(m * z) + s * math.cos(m * z))


@kernel
def even_draw_off_share():
    """Friction of a pipe drawn off evenly along its length to a dead end, over that of the full flow: 1/3 (exact)."""
    return 1.0 / 3.0


@kernel
def distributor_spread(friction, length, diameter, velocity, density, lateral_drop):
    """Share (0..1) by which the worst lateral of a dividing header differs, 1 - sqrt((dp0 - |dp|)/dp0).

    dp = (f L/(3 D) - 1) rho V^2/2: friction against recovery of the inlet dynamic head; f is Darcy's. Perry, Chemical
    Engineers' Handbook, pipe distributors (recalled, with Fanning's f and a recovery factor of 0.5). lateral_drop dp0
    Pa above |dp|.
    """
    drop = (friction * length / (3.0 * diameter) - 1.0) * 0.5 * density * velocity * velocity
    return 1.0 - math.sqrt(max(lateral_drop - abs(drop), 0.0) / lateral_drop)
