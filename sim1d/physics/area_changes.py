"""Changes of bore, entries and exits: loss coefficients on the speed in the smaller bore.

`diameter_ratio` b = smaller over larger diameter, 0 to 1; cone angles are the full angle in radians.
"""

import math

from sim1d._jit import kernel


@kernel
def sudden_expansion(diameter_ratio):
    """(1 - b^2)^2: Borda and Carnot, from the momentum balance (exact for uniform speed)."""
    free = 1.0 - diameter_ratio * diameter_ratio
    return free * free


@kernel
def crane_contraction(diameter_ratio):
    """Sharp contraction, 0.5 (1 - b^2). Crane TP-410, 2009 (recalled; agrees with the public library `fluids`)."""
    return 0.5 * (1.0 - diameter_ratio * diameter_ratio)


@kernel
def rennels_contraction(diameter_ratio):
    """Sharp contraction, 0.0696 (1 - b^5) l^2 + (l - 1)^2 with the jet ratio l = 1 + 0.622 (1 - 0.215 b^2 - 0.785 b^5).

    Up to 38 % above `crane_contraction`. Rennels and Hudson, Pipe Flow, 2012, chapter 10 (read in the documentation of
    the public library `fluids`).
    """
    b2 = diameter_ratio * diameter_ratio
    b5 = b2 * b2 * diameter_ratio
    jet = 1.0 + 0.622 * (1.0 - 0.215 * b2 - 0.785 * b5)
    return 0.0696 * (1.0 - b5) * jet * jet + (jet - 1.0) * (jet - 1.0)


@kernel
def rounded_contraction(diameter_ratio, radius_ratio):
    """Contraction with a corner radius of `radius_ratio` = r/d on the smaller bore, 0 <= r/d <= 1; b = 0: an entry.

    0.0696 (1 - 0.569 r/d)(1 - sqrt(r/d) b)(1 - b^5) l^2 + (l - 1)^2, l = 1 + 0.622 (1 - 0.30 sqrt(r/d) - 0.70 r/d)^4
    (1 - 0.215 b^2 - 0.785 b^5). Rennels and Hudson, Pipe Flow, 2012, chapter 10 (read in the source of `fluids`).
    """
    b2 = diameter_ratio * diameter_ratio
    b5 = b2 * b2 * diameter_ratio
    root = math.sqrt(radius_ratio)
    edge = 1.0 - 0.30 * root - 0.70 * radius_ratio
    jet = 1.0 + 0.622 * edge * edge * edge * edge * (1.0 - 0.215 * b2 - 0.785 * b5)
    friction = 0.0696 * (1.0 - 0.569 * radius_ratio) * (1.0 - root * diameter_ratio) * (1.0 - b5) * jet * jet
    return friction + (jet - 1.0) * (jet - 1.0)


@kernel
def conical_contraction(diameter_ratio, angle):
    """Cone that narrows: 0.8 sin(a/2)(1 - b^2) to 45 degrees, 0.5 sqrt(sin(a/2))(1 - b^2) above.

    The two pieces meet within 1.1 % at 45 degrees. Crane TP-410, 2009 (read in the source of `fluids`).
    """
    half = math.sin(0.5 * angle)
    free = 1.0 - diameter_ratio * diameter_ratio
    if angle <= 0.25 * math.pi:
        return 0.8 * half * free
    return 0.5 * math.sqrt(half) * free


@kernel
def conical_expansion(diameter_ratio, angle):
    """Cone that widens: 2.6 sin(a/2)(1 - b^2)^2 to 45 degrees, the sudden expansion above.

    Crane TP-410, 2009 (recalled; agrees with the public library `fluids`).
    """
    free = 1.0 - diameter_ratio * diameter_ratio
    return min(2.6 * math.sin(0.5 * angle), 1.0) * free * free


@kernel
def sharp_entry():
    """Flush sharp-edged entry from a large space, 0.50: Crane, Idelchik, Blevins (recalled); Rennels has 0.57."""
    return 0.50


@kernel
def inward_entry():
    """Pipe that projects into the space it draws from, 0.78: Crane TP-410 (recalled)."""
    return 0.78


@kernel
def tank_exit(laminar_share):
    """Discharge into a large space: the kinetic energy factor, 1.06 turbulent (recalled), 2.0 laminar (exact parabola).

    `laminar_share` 0..1 mixes the two.
    """
    return 1.06 + laminar_share * (2.0 - 1.06)
