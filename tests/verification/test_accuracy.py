"""The default tolerance and the cells as shipped leave less than half a kelvin and a kilopascal, on every example.

Against runs of the same car that are converged: at a tolerance of 1e-5, and on twice the cells. The bounds
are the promise of docs/explanation/accuracy.md.
"""

from functools import cache
from types import SimpleNamespace
from typing import Any

import pytest

from sim1d import Accuracy
from sim1d.cli import Exactness, Setting
from sim1d.simulation import LEFT
from tests.verification.refinement import LAYOUTS, SHIPPED, TIGHT, TWICE, packed_on, peaks


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
    kelvin, pascal = LEFT[Accuracy.NORMAL]
    assert abs(metal - settled(name)[0]) < kelvin <= 0.5
    assert abs(pressure - settled(name)[1]) * 1e3 < pascal <= 1e3


@pytest.mark.parametrize("setting", [Accuracy.COARSE, Accuracy.FINE])
@pytest.mark.parametrize("name", LAYOUTS)
def test_what_the_other_settings_leave(name, setting):
    """As the command says it."""
    metal, pressure, _ = peaks(packed_on(name, SHIPPED), setting).values
    assert abs(metal - settled(name)[0]) < LEFT[setting][0]
    assert abs(pressure - settled(name)[1]) * 1e3 < LEFT[setting][1]


@pytest.mark.parametrize("name", LAYOUTS)
def test_cells_as_shipped(name):
    """Twice the cells of every kind leave the same."""
    metal, pressure, _ = peaks(packed_on(name, TWICE), TIGHT).values
    assert abs(metal - settled(name)[0]) < 0.5
    assert abs(pressure - settled(name)[1]) < 1.0


def test_the_command_says_what_is_left():
    """`--accuracy` has the names of the settings, and its help their measured errors."""
    help_text = Exactness.__metadata__[0].help
    assert [one.name for one in Setting] == [one.name for one in Accuracy]
    for one, (kelvin, pascal) in LEFT.items():
        assert f"{kelvin:g} K and {pascal / 1e3:g} kPa" in help_text and one.name.lower() in help_text
