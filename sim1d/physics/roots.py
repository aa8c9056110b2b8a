"""Cube root by arithmetic alone: the library's is a call that took a quarter of the time of all wetted walls."""

import numpy as np

from sim1d._jit import law

TWO_THIRDS_OF_BIAS = 0x2A9F76253119D328  # of the exponent, less what halves the error of the first guess


@law
def cube_root(x):
    """Cube root of `x` > 0 within 1e-14 of itself; not-a-number stays itself, 0 gives 5e-104.

    The bits of a floating number count its logarithm within a few per cent: a third of them is a root within 3.2 %
    (Kahan, recalled). Two of Halley's steps, r (r^3 + 2 x) / (2 r^3 + x), each cube what is missing.
    """
    root = np.int64(np.float64(x).view(np.int64) // 3 + TWO_THIRDS_OF_BIAS).view(np.float64)
    for _ in range(2):
        cube = root * root * root
        root *= (cube + 2.0 * x) / (2.0 * cube + x)
    return root
