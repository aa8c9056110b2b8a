"""temporary"""
from sim1d._jit import kernel
@kernel
def rectangular_laminar_constant(a):
    return 96.0 * (1 - 1.3553 * a + 1.9467 * a**2 - 1.7012 * a**3 + 0.9564 * a**4 - 0.2537 * a**5)
@kernel
def tube_end_losses(s):
    return 0.42 * (1 - s * s) + (1 - s) ** 2
