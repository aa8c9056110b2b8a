"""Tees and Y-pieces: loss coefficients on the speed in the combined leg. Crane TP-410, 2009 edition.

q = branch flow over combined flow (0..1), b = branch over combined diameter, angle between branch and run in radians.
Read in the documentation of the public library `fluids`, which reproduces the printed examples 7.35 and 7.36. Single
coefficients may be negative (one stream drags the other along); what both streams lose together may not: see
`tee_dissipation`. Callers tell the direction of flow; a leg that flows the other way is another case, not a sign.
"""

import math

import numpy as np

from sim1d._jit import kernel

_ANGLE = np.array([math.radians(30.0), math.radians(45.0), math.radians(60.0), math.radians(90.0)])
_DRAG = np.array([1.74, 1.41, 1.0, 0.0])


@kernel
def converging_branch(flow_share, diameter_ratio, angle):
    """Branch of a joining tee: C [1 + (q/b^2)^2 - 2 (1 - q)^2 - (F/b^2) q^2], 30 to 90 degrees.

    C = 1 for b^2 <= 0.35, else 0.9 (1 - q) to q = 0.4 and 0.55 above (a printed jump of at most 0.02); F = 1.74, 1.41,
    1, 0 at 30, 45, 60, 90 degrees.
    """
    q = flow_share
    b2 = diameter_ratio * diameter_ratio
    c = 1.0
    if b2 > 0.35:
        c = 0.9 * (1.0 - q) if q <= 0.4 else 0.55
    drag = np.interp(angle, _ANGLE, _DRAG)
    return c * (1.0 + (q / b2) ** 2 - 2.0 * (1.0 - q) ** 2 - drag / b2 * q * q)


@kernel
def converging_run(flow_share, diameter_ratio, angle):
    """Run of a joining tee: 1.55 q - q^2 at 90 degrees, 1 - (1 - q)^2 - (F/b^2) q^2 for 30 to 60 degrees.

    Between 60 and 90 degrees the 60 degree form is used up to 75 degrees, as in `fluids`.
    """
    q = flow_share
    if angle > math.radians(75.0):
        return 1.55 * q - q * q
    drag = np.interp(angle, _ANGLE, _DRAG)
    return 1.0 - (1.0 - q) ** 2 - drag / (diameter_ratio * diameter_ratio) * q * q


@kernel
def diverging_branch(flow_share, diameter_ratio, angle):
    """Branch of a splitting tee: G [1 + H (q/b^2)^2 - J (q/b^2) cos(angle)].

    H, J = 0.3, 0 at 90 degrees with b > 2/3, else 1, 2. G at 60 degrees and below: b^2 <= 0.35: 1.1 - 0.7 q to q = 0.4,
    0.85 above; else 1 - 0.6 q to q = 0.6, 0.6 above. G at 90 degrees: 1 for b^2 <= 2/3, else 1 + 0.3 q^2.
    """
    q = flow_share
    b2 = diameter_ratio * diameter_ratio
    h, j = 0.3, 0.0
    if angle < math.radians(60.0) - 1e-9 or diameter_ratio <= 2.0 / 3.0:
        h, j = 1.0, 2.0
    if angle < math.radians(75.0):
        if b2 <= 0.35:
            g = 1.1 - 0.7 * q if q <= 0.4 else 0.85
        else:
            g = 1.0 - 0.6 * q if q <= 0.6 else 0.6
    elif b2 <= 2.0 / 3.0:
        g = 1.0
    else:
        g = 1.0 + 0.3 * q * q
    return g * (1.0 + h * (q / b2) ** 2 - j * (q / b2) * math.cos(angle))


@kernel
def diverging_run(flow_share, diameter_ratio):
    """Run of a splitting tee: M q^2, M = 0.4 for b^2 <= 0.4, else 2 (2 q - 1) to q = 0.5 and 0.3 (2 q - 1) above."""
    q = flow_share
    if diameter_ratio * diameter_ratio <= 0.4:
        return 0.4 * q * q
    return (2.0 if q <= 0.5 else 0.3) * (2.0 * q - 1.0) * q * q


@kernel
def tee_dissipation(flow_share, branch_loss, run_loss):
    """What both streams lose together, q K_branch + (1 - q) K_run; negative would create energy."""
    return flow_share * branch_loss + (1.0 - flow_share) * run_loss
