"""Left and right are alike, and names are only names.

Source: symmetry of the description; nothing else. Where the engine stands, buoyancy decides which cylinders rise and
which sink: equal banks are then an unstable balance, as a real engine's, and round-off picks a side. So equality is
asked to 1e-6 while a pump turns, and the result of a whole round only to what that choice can move.
"""

import numpy as np
import pytest

from sim1d.day import build_day
from tests.system.runs import during, edited, example, first_round, mirrored, running_round

BY_CYLINDER = ("cylinder_flow", "metal_temperature", "subcooling", "critical_heat_flux_margin")


def both_banks(ds, name: str) -> tuple[np.ndarray, np.ndarray]:
    """Values of the left and the right bank, cylinder by cylinder."""
    banks = ds.cylinder_bank.values
    return tuple(ds[name].isel(cylinder=np.flatnonzero(banks == bank)).values for bank in ("left", "right"))


@pytest.mark.parametrize("name", BY_CYLINDER)
def test_equal_banks_stay_equal(name, simulated):
    """Layout A is drawn alike on both sides: both banks agree to 1e-6 through a round in which the engine turns."""
    ds = simulated(example("layout_a"), running_round())
    left, right = both_banks(ds, name)
    assert np.abs(left - right).max() <= 1e-6 * np.abs(left).max()
    assert np.ptp(left) > 0.0


def test_equal_banks_end_a_round_alike(simulated):
    """With the hours of standing in it: peaks of both banks within 0.05 K and their flows of the pass within 1e-4."""
    ds = simulated(example("layout_a"), first_round())
    left, right = both_banks(ds, "metal_temperature")
    assert np.abs(left.max(axis=(0, 2)) - right.max(axis=(0, 2))).max() < 0.05
    left, right = both_banks(during(ds, "pass"), "cylinder_flow")
    np.testing.assert_allclose(left, right, rtol=1e-4)


def test_mirrored_car_gives_the_mirrored_result(simulated):
    """Layout B with the right front outlet plugged in place of the left: the other bank starves, at the same time."""
    car, day = example("layout_b"), first_round()
    other = edited(car, lambda data: data.update(mirrored(data) | {"name": "mirrored"}))
    assert other != car and "right.front" in other.engine.plugged
    ds, image = simulated(car, day), simulated(other, build_day(mirrored(day.to_file())))
    assert image.attrs["outcome"] == mirrored(ds.attrs["outcome"])
    assert "left" in ds.attrs["outcome"]
    np.testing.assert_allclose(image.time.values[-1], ds.time.values[-1], rtol=1e-6)
    places = [mirrored(str(name)) for name in ds.cylinder.values]
    for name in BY_CYLINDER:
        at_peak = image[name].sel(cylinder=places)
        for one, two in ((ds[name].max("time"), at_peak.max("time")), (ds[name].min("time"), at_peak.min("time"))):
            np.testing.assert_allclose(two.values, one.values, rtol=1e-4, atol=1e-9, err_msg=name)
    points = [mirrored(str(name)) for name in ds.point.values]
    coolant = image.coolant_temperature.sel(point=points).max("time").values
    np.testing.assert_allclose(coolant, ds.coolant_temperature.max("time").values, atol=0.01)


def renamed(data) -> None:
    """Every line under another name, in the same order."""
    data["lines"] = {f"hose_{i}": line for i, line in enumerate(data["lines"].values())}


def reordered(data) -> None:
    """The lines in the opposite order."""
    data["lines"] = dict(reversed(data["lines"].items()))


def test_renaming_lines_changes_nothing(simulated):
    """Not one bit: a name never reaches the kernels."""
    day = running_round()
    ds, other = simulated(example("layout_a"), day), simulated(edited(example("layout_a"), renamed), day)
    for name in ("coolant_temperature", "gauge_pressure", "metal_temperature", "cylinder_flow", "tank_level", "ledger"):
        np.testing.assert_array_equal(other[name].values, ds[name].values, err_msg=name)
    np.testing.assert_array_equal(other.volume_flow.values, ds.volume_flow.values)


def test_reordering_lines_changes_nothing(simulated):
    """The order of a file shapes only the order of sums; what those move, a run that is content with flows within 1e-5
    may pass on, a hundred times smaller: 1e-7 of each quantity's own size."""
    day = running_round()
    ds, other = simulated(example("layout_a"), day), simulated(edited(example("layout_a"), reordered), day)
    np.testing.assert_allclose(other.time.values, ds.time.values, rtol=1e-7)
    for name, coordinate in (
        ("coolant_temperature", "point"), ("gauge_pressure", "point"), ("metal_temperature", "cylinder"),
        ("cylinder_flow", "cylinder"), ("volume_flow", "line"), ("system_pressure", None),
    ):  # fmt: skip
        same = other[name] if coordinate is None else other[name].sel({coordinate: ds[coordinate].values})
        assert np.abs(same.values - ds[name].values).max() <= 1e-7 * np.abs(ds[name].values).max(), name
