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
from sim1d.bands import read_run
from sim1d.bands_file import load_bands
from studies.bands import evaluation_of, study_bands
from studies.bands_page import as_json, read_inputs, render, rows, write
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
        boils = heat > self.boils_above
        summary = {
            "outcome": BOILED if boils else Outcome.COMPLETED.value,
            "limits_failed": ["too hot"] if heat >= self.boils_above / 2.0 else [],
            "peak_metal_temperature_K": {"left-1": 400.0 + heat / 1e4, "right-4": 401.0 + heat / 1e4},
            "least_critical_heat_flux_margin": 5e5 / heat,
            "least_subcooling_K": {"left-1": 20.0, "right-4": 10.0},
            "peak_gauge_pressure_Pa": {"pump.suction": 1e4, "radiator.inlet": heat / 2.0},
            "time_to_ready_s": None if heat > self.never_ready_above or boils else heat / 1e3,
        }
        return evaluation_of(read_run(summary))

    def source_hash(self):
        return "cheap"


def cheap(samples=64, seed=1, **fields):
    return study_bands(
        example("layout_a"), race_day(), samples, seed=seed, workers=0, evaluator=Cheap(**fields), cautions=("Hot.",)
    )


def number(result, name):
    return result.bands.of(name)


def ends(one):
    return one.over.low.value, one.over.middle.value, one.over.high.value


def ranked(result, name):
    return result.rankings[name]


def heats(result):
    return result.inputs[:, result.paths.index(HEAT)]


@pytest.fixture(scope="module")
def plain():
    return cheap()


def test_bands_are_the_percentiles_of_numpy(plain):
    metal = number(plain, "peak_metal_temperature")
    low, middle, high = np.percentile(401.0 + heats(plain) / 1e4, (5.0, 50.0, 95.0))
    assert ends(metal) == pytest.approx((low, middle, high), rel=1e-12) and not metal.over.high.beyond
    assert (metal.over.n, metal.over.early, metal.lacking) == (64, 0, 0) and plain.bands.hottest == {"right-4": 64}
    assert number(plain, "least_subcooling").over.middle.value == 10.0
    inlet = number(plain, "peak_radiator_inlet_pressure").over.middle.value
    assert inlet == pytest.approx(np.median(heats(plain)) / 2.0)


def test_the_number_of_the_file_itself_stands_beside_the_middle(plain):
    own = example("layout_a").engine.heat.to_coolant
    assert number(plain, "peak_metal_temperature").nominal == pytest.approx(401.0 + own / 1e4)
    assert number(plain, "peak_metal_temperature").nominal_text in [row.own for row in rows(plain)]


def test_every_input_is_spread_evenly_over_its_band(plain):
    # a net of one dimension (Niederreiter 1992, recalled): of 2^m points one lies in each of 2^m equal parts
    bands = {one.path: one for one in sim1d.uncertainty.ranges(example("layout_a"))}
    for path, column in zip(plain.paths, plain.inputs.T, strict=True):
        if path not in sim1d.uncertainty.SHARES and path in bands:  # the three shares are moved to add up to 1
            share = (column - bands[path].low) / (bands[path].high - bands[path].low)
            assert (np.histogram(share, 64, (0.0, 1.0))[0] == 1).all(), path


def test_the_only_input_that_acts_ranks_first_with_all_of_the_variance(plain):
    first, *others = ranked(plain, "peak_metal_temperature").inputs
    assert first.path == HEAT and first.found and first.index > 0.9
    assert not any(one.found and one.index > 0.02 for one in others)
    assert ranked(plain, "least_subcooling").why_none == "the same in all samples"
    assert plain.bands.widened_by["peak_metal_temperature"][0] == HEAT


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


def test_a_few_early_ends_are_not_ranked(plain):
    few = cheap(boils_above=float(np.sort(heats(plain))[-3]))
    assert few.bands.early.count == 2 and few.early_ranking.why_none.startswith("2 samples differ")


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


def test_early_ends_stand_at_the_bad_end_and_lost_samples_nowhere(plain):
    hot, hotter = np.quantile(heats(plain), (0.75, 0.95))
    result = cheap(boils_above=hot, raises_above=hotter)
    lost, whole = heats(result) > hotter, heats(result) <= hot
    boiled = ~lost & ~whole
    assert result.bands.outcomes[Outcome.BOILED_OUT.value] == boiled.sum()
    assert result.bands.completed == whole.sum() and any("ZeroDivisionError" in text for text in result.bands.outcomes)
    metal = number(result, "peak_metal_temperature").over
    kept = np.sort(401.0 + heats(result)[~lost] / 1e4)
    # here an early end is hotter than every whole day, so up to the last whole day the quantiles are those of all
    assert metal.middle.value == pytest.approx(np.percentile(kept, 50.0)) and not metal.middle.beyond
    assert metal.low.value == pytest.approx(np.percentile(kept, 5.0))
    assert metal.high.beyond and metal.high.value <= np.percentile(kept, 95.0)
    assert metal.high.value >= 401.0 + heats(result)[whole].max() / 1e4
    assert (metal.n, metal.early) == (64 - lost.sum(), boiled.sum())
    margin = number(result, "least_critical_heat_flux_margin").over
    assert margin.low.beyond and not margin.high.beyond  # bad when low: the other end
    assert number(result, "time_to_ready").band_text.endswith("not in this day")
    assert result.bands.early.count == boiled.sum() and result.bands.early.judged == 64 - lost.sum()
    assert ranked(result, "peak_metal_temperature").inputs[0].path == HEAT
    assert result.early_ranking.inputs[0].path == HEAT
    page = render(result)
    assert "could not be computed" in page and "at least" in page and 'class="early"' in page
    assert "share of samples that end early" in page and BOILED in [run.outcome for run in result.runs]


def test_where_every_sample_ends_early_all_numbers_are_bounds(plain):
    result = cheap(boils_above=0.0)
    metal = number(result, "peak_metal_temperature")
    assert metal.over.low.beyond and metal.over.high.beyond and metal.nominal_early
    assert ends(metal) == pytest.approx(ends(number(plain, "peak_metal_temperature")))  # bounds: the values so far
    assert "at least" in metal.middle_text and "(ended early)" in metal.nominal_text
    assert result.bands.early.value == 1.0 and result.bands.of("time_to_ready") is None


def test_never_ready_is_the_bad_end_of_the_time_to_ready(plain):
    limit = float(np.median(heats(plain)))
    ready = number(cheap(never_ready_above=limit), "time_to_ready")
    assert (ready.over.n, ready.over.early, ready.lacking) == (64, 32, 0) and ready.over.high.beyond
    assert ready.over.low.value == pytest.approx(np.percentile(heats(plain) / 1e3, 5.0))
    assert ready.band_text.endswith("to not in this day")


def test_the_share_has_the_exact_binomial_band(plain):
    share = cheap(boils_above=2.0 * float(np.quantile(heats(plain), 0.25))).bands.holding
    assert (share.count, share.judged) == (16, 64)
    # Clopper and Pearson 1934: quantiles of beta distributions
    assert share.low == pytest.approx(beta.ppf(0.05, 16, 49)) and share.high == pytest.approx(beta.ppf(0.95, 17, 48))


def test_the_same_seed_gives_the_same_result(plain):
    assert as_json(cheap()) == as_json(plain)
    assert not np.array_equal(cheap(seed=2).inputs, plain.inputs)


def test_files(plain, tmp_path):
    write(plain, tmp_path / "out")
    data = json.loads((tmp_path / "out" / "bands.json").read_text())
    assert "coolant_lost" not in data["numbers"] and data["samples"] == 64
    assert load_bands(tmp_path / "out") == plain.bands and data["rankings"]["ended_early"]["why_none"]
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
    assert result.bands.asked == 8 and sum(result.bands.outcomes.values()) == 8
    again = sim1d.summarise(sim1d.simulate(sim1d.uncertainty.draw(example("layout_a"), 8, 1)[0].car, short_round()))
    assert result.column("pass_total_flow")[0] == pytest.approx(again["pass_total_flow_m3_s"])
    assert result.column("peak_metal_temperature")[0] == pytest.approx(max(again["peak_metal_temperature_K"].values()))
    own = sim1d.summarise(sim1d.simulate(example("layout_a"), short_round()))
    assert number(result, "pass_total_flow").nominal == pytest.approx(own["pass_total_flow_m3_s"])
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
    none = command(car, raises_above=0.0)
    assert none.exit_code == 1 and "No sample could be computed" in none.stderr
    assert command(car, boils_above=0.0).exit_code == 0
    wrong = command(car, "--set", "pump.ratoi=1", "-o", tmp_path / "out")
    assert wrong.exit_code == 2 and "ratoi" in wrong.stderr and not (tmp_path / "out").exists()
    assert command(tmp_path / "missing.toml").exit_code == 2
    assert CliRunner().invoke(app, ["bands", str(car), "--samples", "1"]).exit_code == 2
