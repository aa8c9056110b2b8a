"""The coefficients of the stepper's method, and the form that it is computed in.

A W-method (Steihaug and Wolfbrandt 1979; Hairer and Wanner II, IV.7; both recalled): order 3 for any approximation of
the Jacobian, stiffly accurate, L-stable, with an embedded method of order 2. Its last stage stands where the one before
it does, so a step costs three evaluations of the rate, the one at its end counted. The coefficients are this project's
own: with that and the order conditions given, gamma must be 1/2 and one number is free, the time of the second stage
(1/4: the least error on the example layouts). The conditions are verified by a test. One more, which a very stiff
system with a Jacobian that leaves out slow rows asks for to be of order 3 and not 2, cannot be had at this price:
ROS34PW2 of Rang and Angermann (BIT 45:761, 2005) has it, and takes half as many evaluations again for the same error.
"""

from typing import NamedTuple

import numpy as np

from sim1d._jit import kernel
from sim1d.core.handle import maker, register

GAMMA = 1 / 2
_ALPHA = np.array(
    [
        [0.0, 0.0, 0.0, 0.0],
        [1 / 4, 0.0, 0.0, 0.0],
        [-7 / 5, 12 / 5, 0.0, 0.0],
        [-7 / 5, 12 / 5, 0.0, 0.0],
    ]
)
_GAMMA = np.array(
    [
        [GAMMA, 0.0, 0.0, 0.0],
        [-3 / 8, GAMMA, 0.0, 0.0],
        [21 / 40, -9 / 10, GAMMA, 0.0],
        [37 / 30, -68 / 45, -2 / 9, GAMMA],
    ]
)
_WEIGHTS = np.array([-1 / 6, 8 / 9, -2 / 9, GAMMA])
_EMBEDDED = np.array([-1 / 4, 1.0, 0.0, 1 / 4])
SHARED = 3  # stage that stands where the one before it does


class Coefficients(NamedTuple):
    """The method in the form that needs no product with the Jacobian (Hairer and Wanner II, IV.7; recalled)."""

    gamma: float
    time: np.ndarray  # (4) stage times
    slope: np.ndarray  # (4) weights of what changes with time alone
    a: np.ndarray  # (4, 4)
    c: np.ndarray  # (4, 4)
    m: np.ndarray  # (4)
    error: np.ndarray  # (4) m less the embedded one


CoefficientsHandle = register(Coefficients)


@maker(Coefficients)
@kernel
def make_coefficients(*fields):
    """Handle of a `Coefficients` from its fields."""
    return CoefficientsHandle(*fields)


def coefficients() -> Coefficients:
    """Transformed coefficients of the method."""
    inverse = np.linalg.inv(_GAMMA)
    # round-off above the diagonal would let the stages of the attempt before in
    a, c = np.tril(_ALPHA @ inverse, -1), np.tril(np.eye(4) / GAMMA - inverse, -1)
    return Coefficients(
        GAMMA, _ALPHA.sum(axis=1), _GAMMA.sum(axis=1), a, c, _WEIGHTS @ inverse, (_WEIGHTS - _EMBEDDED) @ inverse,
    )  # fmt: skip
