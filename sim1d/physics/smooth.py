"""Rounded corners: continuous functions with continuous slope for laws that would otherwise jump.

Every blend of the kernels is one of these; the width is an argument and its reason stands with the caller.
"""

from sim1d._jit import kernel


@kernel
def ramp(x, width):
    """Positive part of `x` with the corner rounded: 0 for x <= -width, x for x >= width, a parabola between.

    Continuous with continuous slope, never below max(x, 0), at most width/4 above it (at x = 0). `width` > 0, in the
    unit of `x`.
    """
    if x >= width:
        return x
    if x <= -width:
        return 0.0 * x
    return (x + width) * (x + width) / (4.0 * width)


@kernel
def ramp_slope(x, width):
    """Derivative of `ramp` with respect to `x`: 0 below -width, 1 above width, straight between."""
    return min(max((x + width) / (2.0 * width), 0.0), 1.0)


@kernel
def step(x):
    """Cubic step: 0 for x <= 0, 1 for x >= 1, 3 x^2 - 2 x^3 between, with zero slope at both ends."""
    share = min(max(x, 0.0), 1.0)
    return share * share * (3.0 - 2.0 * share)


@kernel
def smooth_max(a, b, width):
    """Larger of `a` and `b` with the corner rounded over |a - b| < width; at most width/4 above the true maximum."""
    return b + ramp(a - b, width)
