"""temporary"""
from sim1d._jit import kernel
@kernel
def sudden_contraction(b):
    return 0.5 * (1.0 - b * b)
@kernel
def sudden_expansion(b):
    return (1.0 - b * b) ** 2
