"""Bands of the headline numbers: percentiles, what widens them, failures, and the command.

A cheap evaluator reads the drawn car in place of a simulation; one test runs the real model on a short day.
"""

import json
import math
from dataclasses import dataclass

import numpy as np
import pytest
import xarray as xr
from scipy.stats import beta
from typer.testing import CliRunner

import sim1d
import studies.bands
from sim1d import DescriptionError, Outcome
from studies.bands import HOLDS, study_bands
from studies.bands_page import as_json, read_inputs, render, rows, write
from studies.batch import Evaluation
from studies.cli import app
from studies.influence import LEAST, rank
from tests.system.runs import example, race_day, short_round

HEAT = "engine.heat.to_coolant"
BOILED = f"{Outcome.BOILED_OUT.value} (in engine.left-1.head, at 12.0 s, in pass)"


@dataclass(frozen=True)
class Cheap:
    """Numbers from the heat of the drawn car alone; a share of the hottest samples boils, stops or raises."""

    boils_above: float = math.inf  # W
    raises_above: float = math.inf  # W
    never_ready_above: float = math.inf  # W

    def evaluate(self, settings):
        heat = settings["car"].engine.heat.to_coolant
        if heat > self.raises_above:
            raise ZeroDivisionError("no flow")
        summary = {
            "peak_metal_temperature_K": {"left-1": 400.0 + heat / 1e4, "right-4": 401.0 + heat / 1e4},
            "least_critical_heat_flux_margin": 5e5 / heat,
            "least_subcooling_K": {"left-1": 20.0, "right-4": 10.0},
            "peak_gauge_pressure_Pa": {"pump.suction": 1e4, "radiator.inlet": heat / 2.0},
            "time_to_ready_s": None if heat > self.never_ready_above else heat / 1e3,
            HOLDS: bool(heat < self.boils_above / 2.0),
        }
        return Evaluation(BOILED if heat > self.boils_above else Outcome.COMPLETED.value, summary)

    def source_hash(self):
        return "cheap"


def cheap(samples=64, seed=1, **fields):
    return study_bands(
        example("layout_a"), race_day(), samples, seed=seed, workers=0, evaluator=Cheap(**fields), cautions=("Hot.",)
    )


def number(result, name):
    return next(one for one in result.numbers if one.headline.name == name)


def heats(result):
    return result.inputs[:, result.paths.index(HEAT)]


@pytest.fixture(scope="module")
def plain():
    return cheap()


def test_bands_are_the_percentiles_of_numpy(plain):
    metal = number(plain, "peak_metal_temperature")
    low, middle, high = np.percentile(401.0 + heats(plain) / 1e4, (5.0, 50.0, 95.0))
    assert (metal.low, metal.middle, metal.high) == pytest.approx((low, middle, high), rel=1e-12)
    assert (metal.n, metal.lacking) == (64, 0) and plain.hottest == {"right-4": 64}
    assert number(plain, "least_subcooling").middle == 10.0
    assert number(plain, "peak_radiator_inlet_pressure").middle == pytest.approx(np.median(heats(plain)) / 2.0)


def test_every_input_is_spread_evenly_over_its_band(plain):
    # Owen 1995: a scrambled net of base 2 has one point in each half, quarter ... of every input
    for path, column in zip(plain.paths, plain.inputs.T, strict=True):
        if path == HEAT:
            ends = next(one for one in sim1d.uncertainty.ranges(example("layout_a")) if one.path == path)
            share = (column - ends.low) / (ends.high - ends.low)
            assert (np.histogram(share, 4, (0.0, 1.0))[0] == 16).all()
            return
    pytest.fail("the heat has no band")


def test_the_only_input_that_acts_ranks_first_with_all_of_the_variance(plain):
    first, *others = number(plain, "peak_metal_temperature").ranking.inputs
    assert first.path == HEAT and first.found and first.index > 0.9
    assert not any(one.found and one.index > 0.02 for one in others)
    assert number(plain, "least_subcooling").ranking.why_none == "the same in all samples"


def test_sensor_errors_are_no_inputs_of_a_run(plain):
    assert not [path for path in plain.paths if path.startswith(sim1d.uncertainty.OFFSET)]


def test_indices_are_those_of_the_closed_form():
    # y = a x1 + b x2, independent uniform: first-order index a2/(a2 + b2) (Saltelli et al. 2008, recalled)
    x = np.random.default_rng(3).random((1024, 6))
    found = {one.path: one for one in rank("abcdef", x, 3.0 * x[:, 1] + 1.0 * x[:, 4]).inputs}
    assert found["b"].index == pytest.approx(0.9, abs=0.02) and found["e"].index == pytest.approx(0.1, abs=0.02)
    assert found["b"].found and found["e"].found


def test_the_ranking_agrees_with_the_library_for_the_first_input():
    from SALib.analyze import rbd_fast

    x = np.random.default_rng(5).random((256, 3))
    y = np.exp(x[:, 0]) + 0.5 * x[:, 2]
    first = rank("abc", x, y, seed=7).inputs[0]
    own = rbd_fast.analyze({"num_vars": 1, "names": ["a"]}, x[:, :1], y, M=4, num_resamples=100, seed=7)
    assert (
        first.path == "a"
        and first.index == pytest.approx(own["S1"][0])
        and first.half == pytest.approx(own["S1_conf"][0])
    )


def test_noise_is_called_noise():
    # by construction about one number in 21 passes by chance; of 20 numbers four or more would be one chance in 70
    rng = np.random.default_rng(11)
    fooled = sum(rank("abcdefgh", rng.random((64, 8)), rng.random(64), seed).inputs[0].found for seed in range(20))
    assert fooled <= 3


def test_two_columns_that_go_together_are_named_together():
    x = np.random.default_rng(2).random((64, 4))
    x[:, 3] = x[:, 0] + 0.01 * x[:, 3]
    first = rank("abcd", x, x[:, 0]).inputs[0]
    assert {first.path, *first.together} == {"a", "d"}


def test_too_few_values_are_not_ranked():
    x = np.random.default_rng(2).random((LEAST, 2))
    y = x[:, 0].copy()
    assert rank("ab", x, y).inputs[0].path == "a"
    y[0] = math.nan
    assert not rank("ab", x, y).inputs and f"at least {LEAST}" in rank("ab", x, y).why_none


def test_failures_are_counted_and_give_no_number(plain):
    hot, hotter = np.quantile(heats(plain), (0.75, 0.9))
    result = cheap(boils_above=hot, raises_above=hotter)
    whole = heats(result) <= hot
    assert result.completed == whole.sum() < 64 and sum(result.outcomes.values()) == 64
    assert result.outcomes[Outcome.BOILED_OUT.value] == ((heats(result) > hot) & (heats(result) <= hotter)).sum()
    assert result.outcomes["Stopped by ZeroDivisionError: no flow"] == (heats(result) > hotter).sum()
    metal = number(result, "peak_metal_temperature")
    assert metal.n == whole.sum()
    assert metal.high == pytest.approx(np.percentile(401.0 + heats(result)[whole] / 1e4, 95.0))
    assert result.holding.judged == (heats(result) <= hotter).sum()  # one that boiled is judged, a crash is not
    assert "true band reaches further" in render(result) and BOILED in result.outcome


def test_a_number_that_some_samples_lack_says_so(plain):
    ready = number(cheap(never_ready_above=float(np.median(heats(plain)))), "time_to_ready")
    assert (ready.n, ready.lacking) == (32, 32)


def test_the_share_has_the_exact_binomial_band(plain):
    share = cheap(boils_above=2.0 * float(np.quantile(heats(plain), 0.25))).holding
    assert (share.holding, share.judged) == (16, 64)
    # Clopper and Pearson 1934: quantiles of beta distributions
    assert share.low == pytest.approx(beta.ppf(0.05, 16, 49)) and share.high == pytest.approx(beta.ppf(0.95, 17, 48))


def test_the_same_seed_gives_the_same_result(plain):
    assert as_json(cheap()) == as_json(plain)
    assert not np.array_equal(cheap(seed=2).inputs, plain.inputs)


def test_files(plain, tmp_path):
    write(plain, tmp_path / "out")
    data = json.loads((tmp_path / "out" / "bands.json").read_text())
    assert data["numbers"]["coolant_lost"]["middle"] is None and data["samples"] == 64
    with xr.open_dataset(tmp_path / "out" / "bands.nc", engine="h5netcdf") as ds:
        assert ds.peak_metal_temperature.units == "K" and ds.drawn.shape == (64, len(plain.paths))
        assert np.array_equal(ds.drawn.sel(input=HEAT).values, heats(plain))
    page = (tmp_path / "out" / "bands.html").read_text()
    assert "Hot." in page and "http" not in page and "<script" not in page and page.count("<svg") >= 4


def test_settings_reach_car_and_day():
    files = sim1d.example_path("layout_a"), None
    model = read_inputs(*files, ["pump.ratio=0.8", "ambient_temperature=40 degC"])
    assert model.car.pumps["pump"].ratio == 0.8 and model.day.ambient_temperature == pytest.approx(313.15)
    with pytest.raises(DescriptionError, match="no setting"):
        read_inputs(*files, ["pump.ratio"])


def test_a_real_run_on_a_short_day():
    result = study_bands(example("layout_a"), short_round(), 8, workers=0)
    assert result.asked == 8 and sum(result.outcomes.values()) == 8
    again = sim1d.summarise(sim1d.simulate(studies.bands._draw(example("layout_a"), 8, 1)[0].car, short_round()))
    assert result.table["pass_total_flow"][0] == pytest.approx(again["pass_total_flow_m3_s"])
    assert result.table["peak_metal_temperature"][0] == pytest.approx(max(again["peak_metal_temperature_K"].values()))
    assert "too few to rank" in rows(result)[2].inputs[0]


@pytest.fixture
def command(monkeypatch):
    real = study_bands

    def stand_in(fields):
        monkeypatch.setattr(
            studies.bands, "study_bands", lambda *args, **more: real(*args, **more, evaluator=Cheap(**fields))
        )

    def run(*words, **fields):
        stand_in(fields)
        return CliRunner().invoke(app, ["bands", *map(str, words), "--workers", "0", "--samples", "8"])

    return run


def test_command(command, tmp_path):
    car = sim1d.example_path("layout_a")
    shown = command(car, "-o", tmp_path / "out")
    assert shown.exit_code == 0 and "8 of 8 samples completed" in shown.stdout and "scald" in shown.stderr
    assert sorted(file.name for file in (tmp_path / "out").iterdir()) == ["bands.html", "bands.json", "bands.nc"]
    found = json.loads(command(car, "--json").stdout)
    assert found["numbers"]["peak_metal_temperature"]["n"] == 8


def test_exit_codes(command, tmp_path):
    car = sim1d.example_path("layout_a")
    none = command(car, boils_above=0.0)
    assert none.exit_code == 1 and "No sample completed" in none.stderr
    wrong = command(car, "--set", "pump.ratoi=1", "-o", tmp_path / "out")
    assert wrong.exit_code == 2 and "ratoi" in wrong.stderr and not (tmp_path / "out").exists()
    assert command(tmp_path / "missing.toml").exit_code == 2
    assert CliRunner().invoke(app, ["bands", str(car), "--samples", "1"]).exit_code == 2
