"""The default tolerance and the cells as shipped leave less than half a kelvin and a kilopascal, on every example.

Against runs of the same car that are converged: at a tolerance of 1e-5, and on twice the cells. The bounds
are the promise of docs/explanation/accuracy.md.
"""

from functools import cache
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sim1d import Accuracy
from sim1d.cli import Exactness, Setting
from sim1d.results import dataset
from sim1d.simulation import LEFT, integrate
from sim1d.summary import summarise
from tests.verification.refinement import LAYOUTS, SHIPPED, TIGHT, TWICE, packed_on, peaks


@cache
def settled(name: str) -> tuple[float, float, float]:
    """Peak metal (K), peak pressure (kPa) and end (s) of a layout as shipped, at a tolerance of 1e-5."""
    return peaks(packed_on(name, SHIPPED), TIGHT).values


AROUND = (1.0, *np.linspace(0.85, 1.15, 24))


def about(setting: Accuracy, share: float) -> Any:
    """A setting that is a little off."""
    return SimpleNamespace(value=setting.value * share)


@pytest.mark.parametrize("name", LAYOUTS)
def test_tolerance_of_normal(name):
    """Also a little off its own value: where a wall dries out, the error of a single tolerance is chance."""
    kelvin, pascal = LEFT[Accuracy.NORMAL]
    for share in AROUND:
        metal, pressure, _ = peaks(packed_on(name, SHIPPED), about(Accuracy.NORMAL, share)).values
        assert abs(metal - settled(name)[0]) < kelvin <= 0.5, share
        assert abs(pressure - settled(name)[1]) * 1e3 < pascal <= 1e3, share


@cache
def counted(value: float) -> tuple[float, float, float, float]:
    """Of layout A: most seconds above the metal limit, longest time to ready (s), least margin and subcooling (K)."""
    told = summarise(dataset(integrate(packed_on("layout_a", SHIPPED), accuracy=SimpleNamespace(value=value))))
    return (
        max(told["seconds_above_limit_s"].values()), told["time_to_ready_s"], told["least_critical_heat_flux_margin"],
        min(told["least_subcooling_K"].values()),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("setting", "left"), [(Accuracy.NORMAL, (0.05, 3.0, 0.015, 0.3)), (Accuracy.FINE, (0.02, 1.0, 0.002, 0.05))]
)
def test_what_is_counted_and_least_is_little_off(setting, left):
    """Between steps of a second in a pass and of minutes in a pit (`crossings`); the least values stand at steps."""
    exact = counted(TIGHT.value)
    assert exact[0] > 5.0 and exact[1] > 900.0
    for share in AROUND[::4]:
        off = np.abs(np.subtract(counted(setting.value * share), exact))
        assert (off < left).all(), (share, off)


def test_no_step_opens_a_cap_that_stays_shut():
    """Layout C stands 4 kPa below the opening pressure of its cap while it soaks: nothing leaves, at any tolerance."""
    car = packed_on("layout_c", SHIPPED)
    for share in AROUND:
        ds = dataset(integrate(car, accuracy=about(Accuracy.NORMAL, share)))
        lost = ds.coolant_lost.where((ds["round"] == 1) & (ds.role == "soak"), drop=True)
        assert lost.sizes["time"] > 20
        assert float(lost[-1] - lost[lost.time >= float(lost.time[0]) + 10.0][0]) == 0.0, share


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
