"""The default tolerance and the cells as shipped leave less than half a kelvin and a kilopascal, on every example.

Against runs of the same car that are converged: at a tolerance of 1e-5, and on twice the cells. The bounds
are the promise of docs/explanation/accuracy.md.
"""

from functools import cache
from types import SimpleNamespace
from typing import Any

import pytest

from sim1d import Accuracy
from tests.verification.refinement import LAYOUTS, SHIPPED, TIGHT, packed_on, peaks

KELVIN, KILOPASCAL = 0.5, 1.0


@cache
def settled(name: str) -> tuple[float, float, float]:
    """Peak metal (K), peak pressure (kPa) and end (s) of a layout as shipped, at a tolerance of 1e-5."""
    return peaks(packed_on(name, SHIPPED), TIGHT).values


@pytest.mark.parametrize("share", [0.85, 1.0, 1.15])
@pytest.mark.parametrize("name", LAYOUTS)
def test_tolerance_of_normal(name, share):
    """Also a little off its own value: where a wall dries out, the error of a single tolerance is chance."""
    setting: Any = SimpleNamespace(value=Accuracy.NORMAL.value * share)
    metal, pressure, _ = peaks(packed_on(name, SHIPPED), setting).values
    assert abs(metal - settled(name)[0]) < KELVIN
    assert abs(pressure - settled(name)[1]) < KILOPASCAL
