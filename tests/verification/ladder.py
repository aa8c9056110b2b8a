"""Errors of one discretisation on a ladder of grids, and the order at which they fall."""

import math
from dataclasses import dataclass

TOLERANCE = 0.1  # by which an observed order may differ from theory before the page has to say why


@dataclass(frozen=True)
class Ladder:
    """Errors against an exact solution on grids each `ratio` times finer than the one before.

    `sizes` are numbers of cells, rows or steps, coarsest first; `errors` are positive, in `unit`. `theory` is the order
    that the method promises here, None where any grid gives the exact answer (then `exact` is what round-off and the
    reference may leave). `remark` says why the theory of this case is not the nominal order of its method.
    """

    part: str
    case: str
    against: str
    unit: str
    sizes: tuple[int, ...]
    errors: tuple[float, ...]
    theory: float | None
    exact: float = 0.0
    remark: str = ""

    @property
    def orders(self) -> tuple[float, ...]:
        """Observed order between neighbours, ln(e1/e2)/ln(n2/n1)."""
        pairs = zip(self.sizes, self.sizes[1:], self.errors, self.errors[1:], strict=False)
        return tuple(math.log(one / two) / math.log(fine / coarse) for coarse, fine, one, two in pairs)

    @property
    def observed(self) -> float:
        """Order between the two finest grids (1)."""
        return self.orders[-1]

    @property
    def holds(self) -> bool:
        """The observed order is that of theory within `TOLERANCE`, or the error is none at all where it should be."""
        if self.theory is None:
            return max(self.errors) <= self.exact
        return abs(self.observed - self.theory) <= TOLERANCE


def doubled(first: int, count: int) -> tuple[int, ...]:
    """`count` sizes, each twice the one before."""
    return tuple(first * 2**k for k in range(count))
