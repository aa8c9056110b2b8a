"""Every example and several variants pass every standard check; the same run twice is the same, bit for bit."""

import numpy as np
import pytest

import sim1d
from tests.reference import cars as reference
from tests.system import standard_checks
from tests.system.runs import edited, example, first_round, race_day

LAYOUTS = ("layout_a", "layout_b", "layout_c")
VARIANTS = tuple(reference.VARIANTS)


def case(name: str):
    """Car and day: the layouts run both rounds, the variants of layout A the first."""
    if name in LAYOUTS:
        return example(name), race_day()
    return edited(example("layout_a"), reference.VARIANTS[name]), first_round()


@pytest.fixture(scope="module", params=[*LAYOUTS, *VARIANTS])
def run(request, simulated):
    """One dataset per case, shared by all checks."""
    return simulated(*case(request.param))


@pytest.mark.parametrize("check", standard_checks.ALL, ids=lambda check: check.__name__)
def test_standard_check(run, check):
    check(run)


def spoiled(ds, check: str):
    """A copy of a run with one thing wrong that `check` is there to see."""
    bad = ds.copy(deep=True)
    half = ds.sizes["time"] // 2
    if check == "ledgers_close":
        bad["energy_residual"][...] = 2e-6
    elif check == "ledgers_match_their_fluxes":
        bad["heat_to_coolant"][...] *= 1.05
    elif check == "numbers_are_finite":
        bad["suction_margin"][half] = np.nan
    elif check == "variables_are_described":
        bad["tank_level"].attrs["units"] = "mm"
    elif check == "time_runs_forward":
        bad = bad.isel(time=[0, half, half - 2])
    elif check == "values_are_possible":
        bad["gas_fraction"][half] = 1.01
    elif check == "peaks_are_peaks":
        bad["peak_metal_temperature"][3] -= 0.001
    elif check == "heat_follows_temperature":
        bad["radiator_heat"][half] *= -1.0
    return bad


@pytest.mark.parametrize("check", standard_checks.ALL, ids=lambda check: check.__name__)
def test_standard_check_can_fail(check, simulated):
    ds = simulated(*case("layout_a"))
    check(ds)
    with pytest.raises(AssertionError):
        check(spoiled(ds, check.__name__))


@pytest.mark.parametrize("name", [*LAYOUTS, "v6", "v12"])
def test_cylinders_and_points_are_those_of_the_car(name, simulated):
    car, day = case(name)
    ds = simulated(car, day)
    standard_checks.cylinders_are_named(ds, car.engine.cylinders_per_bank)
    # every place of the car file that a line ends in or a cylinder has is a point of the result
    wanted = {*(port for port in car.lines_at), *(f"engine.{name}.head" for name in car.engine.cylinders)}
    assert wanted <= {str(point) for point in ds.point.values}
    assert set(car.lines) <= {str(line) for line in ds.line.values}
    assert list(ds.sensor.values) == list(car.sensors)
    assert list(ds.pump.values) == list(car.pumps)


@pytest.mark.parametrize("name", LAYOUTS)
def test_run_twice_is_bitwise_equal(name, simulated):
    """No hidden state: workspace, cache and warm start change nothing (a project's own promise)."""
    car, day = case(name)
    first, second = simulated(car, day), sim1d.simulate(car, day)
    for key in first.data_vars:
        np.testing.assert_array_equal(first[key].values, second[key].values, err_msg=key)
    assert first.attrs == second.attrs


def test_layouts_end_as_their_files_say(simulated):
    """Layout A holds its limits, B starves its left bank, C keeps air: what the heads of the example files announce."""
    outcome = {name: simulated(*case(name)).attrs["outcome_name"] for name in LAYOUTS}
    assert outcome["layout_a"] == "COMPLETED"
    assert outcome["layout_b"] == "BOILED_OUT"
    good = simulated(*case("layout_a"))
    red = example("layout_a").limits.metal_red
    assert float(good.metal_temperature.sel(spot="chamber_roof").max()) < red
    assert float(good.critical_heat_flux_margin.min()) > 1.0
