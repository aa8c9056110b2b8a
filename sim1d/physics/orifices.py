"""temporary"""
from sim1d._jit import kernel
@kernel
def thick_hole_loss(x):
    y = min(x / 1.4, 1.0)
    c = max(1.0 - 0.5 * y**2.5 - 0.5 * y**3, 0.0) ** 4.5
    return 0.183 + c * 1.622**2 + (1 - c) * 1.387
