"""How long the next step may be, and where its error is measured more sharply or less.

Sharper where little heat makes much steam: there 300 J/kg are a tenth of a lump's volume, which moves the pressure and
the instant at which a wall dries (measured: docs/explanation/accuracy.md).
"""

import math

from sim1d._jit import kernel
from sim1d.physics.smooth import step

FASTEST = 4.0  # growth from step to step at most
SLOWEST = 0.2  # and at least
SAFETY = 0.9  # of the step that would just be accepted: common practice
ORDER = 3.0  # with which the error of a step goes, of a method of order 3 with an embedded one of order 2
LEAST_ORDER = 1.5  # as it is seen at worst: a wall that answers faster than the step leaves less (measured: 1 to 3)
LEAST_ERROR = 1.0e-4
TELLING = 1.0e-2  # a smaller error is a difference of digits that the flows do not have: it shows no order
NEAR = 10.0  # K below saturation (measured: 20 gains nothing)
KEEN = 0.15  # of the critical flux at a wall of the lump (with 0.2 one run of 25 of layout C misses its peak by 4 K)
FADING = 0.25  # of both, over which it sets in, so that round-off turns no step into another
SHARPER = 0.04  # of the tolerance of other lumps (0.1 leaves 1 K on layout C)
LOOSER = 30.0  # times looser is the share of a dry wall that wets again: it runs away no more
WETTING = 0.1  # 1/s of its fall from which that holds
PLENTY = 1.0e-4  # kg of gas from which its error counts by how much there is


@kernel
def growth(error, h, last_error, last_h):
    """Next step over this one (s) by the error of this one and the last, over what was allowed; `last_h` inf for none.

    The error of a step goes with a power of its length that stiff parts lower below the order: where a longer step has
    left hardly more, the exponent is the one that was seen, so that a phase gets up to its pace in few steps.
    """
    error = max(error, LEAST_ERROR)
    order = ORDER
    if h > 1.1 * last_h and last_error > TELLING:
        seen = math.log(error / last_error) / math.log(h / last_h)
        order = min(max(seen, LEAST_ORDER), ORDER)
    return min(max(SAFETY * error ** (-1.0 / order), SLOWEST), FASTEST)


@kernel
def sharpen(model, work, state, rate, tolerance, allowed):
    """Error (size) that each state may make on a step, into `allowed`: `tolerance`, less near boiling and drying.

    Gas counts as sharply as the lump that it stands in, but less where there is plenty; a dry share counts less while
    it falls. `state` and `rate` are those at the start of the step, `work` must be evaluated near its end.
    """
    for k in range(len(allowed)):
        allowed[k] = tolerance[k]
    base = model.layout.enthalpy
    for f in range(len(model.face)):
        if model.face[f].dry >= 0:
            i = model.face[f].node
            near = step((1.0 + FADING - (work.saturation[i] - work.hot[i]) / NEAR) / FADING)
            keen = step((work.face_flux[f] / (KEEN * work.face_critical[f]) - 1.0 + FADING) / FADING)
            share = 1.0 - (1.0 - SHARPER) * max(near, keen)
            allowed[base + i] = min(allowed[base + i], share * tolerance[base + i])
    drying = model.layout.dry
    for k in range(model.layout.air - drying):
        wetting = step(-rate[drying + k] / WETTING)
        allowed[drying + k] *= 1.0 + LOOSER * max(state[drying + k], 0.0) * wetting
    air = model.layout.air
    for p in range(len(model.pocket)):
        i = model.pocket[p].node
        allowed[air + p] *= max(state[air + p] / PLENTY, 1.0) * allowed[base + i] / tolerance[base + i]
