"""Bends and elbows: loss coefficients on the speed in the bore. Angles in radians, curvature: bend radius over bore."""

import math

import numpy as np

from sim1d._jit import kernel

# Crane TP-410, 90 degree bends: r/D and equivalent length L/D (recalled; agrees with the public library `fluids`)
_CURVATURE = np.array([1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0])
_LENGTH = np.array([20.0, 14.0, 12.0, 12.0, 14.0, 17.0, 24.0, 30.0])


@kernel
def rennels_bend(angle, curvature, friction):
    """Loss coefficient of a smooth round bend of `angle` (rad, to pi) with r/D = `curvature` >= 0.75.

    f a r/D + (0.10 + 2.4 f) sin(a/2) + 6.6 f (sqrt(sin(a/2)) + sin(a/2)) / (r/D)^(4 a/pi), f the Darcy friction
    factor of the straight bore (so Re counts). Rennels and Hudson, Pipe Flow, 2012, chapter 15 (read in the
    documentation of the public library `fluids`). Within about 20 % of the charts of Miller 1990.
    """
    half = math.sin(0.5 * angle)
    swirl = 6.6 * friction * (math.sqrt(half) + half) / curvature ** (4.0 * angle / math.pi)
    return friction * angle * curvature + (0.10 + 2.4 * friction) * half + swirl


@kernel
def ito_bend_90(curvature, reynolds):
    """Loss coefficient of a smooth 90 degree bend, r/D = `curvature` from 1 to 50, turbulent: Re (D/r)^2 > 360.

    0.00431 a 90 Re^-0.17 (r/D)^0.84 with a = 0.95 + 4.42 (r/D)^-1.96 below r/D 9.85, else 1. Ito, J. Basic Eng. 82:131,
    1960 (read in the source of the public library `fluids`).
    """
    alpha = 1.0
    if curvature < 9.85:
        alpha = 0.95 + 4.42 * curvature**-1.96
    return 0.00431 * alpha * 90.0 * reynolds**-0.17 * curvature**0.84


@kernel
def crane_bend(angle, curvature, rough_friction):
    """Loss coefficient of a round bend by equivalent length, r/D = `curvature` (held within 1 to 10).

    90 degrees: n fT with n from a table; other angles (a/90 - 1)(pi/4 fT r/D + K90/2) + K90, fT = `rough_friction` the
    fully rough Darcy factor of clean commercial steel of that size (`crane_rough_friction`). Crane TP-410, 2009
    (recalled). No dependence on Re; between 20 and 90 degrees the formula is the usual extension.
    """
    held = min(max(curvature, _CURVATURE[0]), _CURVATURE[-1])
    right = np.interp(held, _CURVATURE, _LENGTH) * rough_friction
    turns = angle / (0.5 * math.pi)
    return (turns - 1.0) * (0.25 * math.pi * rough_friction * held + 0.5 * right) + right


@kernel
def crane_rough_friction(diameter):
    """Fully rough Darcy friction factor of clean commercial steel, 0.25/(log10(e/(3.7 D)))^2 with e = 0.0457 mm.

    Nikuradse's rough-pipe law with the roughness of Moody's chart (recalled); `diameter` m.
    """
    logarithm = math.log10(4.57e-5 / (3.7 * diameter))
    return 0.25 / (logarithm * logarithm)


@kernel
def sharp_elbow(angle):
    """Loss coefficient of a mitred turn (drilled or forged elbow with a sharp inner corner), `angle` rad to 120
    degrees.

    0.42 sin(a/2) + 2.56 sin(a/2)^3: 1.20 for 90, 0.30 for 45 degrees. Rennels and Hudson, Pipe Flow, 2012, chapter 15
    (read in the source of the public library `fluids`). About five times a swept bend.
    """
    half = math.sin(0.5 * angle)
    return 0.42 * half + 2.56 * half * half * half
