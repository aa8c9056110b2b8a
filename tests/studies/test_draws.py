"""Samples of every point of a study: the same draws everywhere, bands of a closed form, what cannot be told apart.

The cheap model multiplies its flow by a known share in each draw, so every band has a closed form.
"""

import itertools
import math

import numpy as np
import pytest
from cheap import draw_shares, maker
from scipy import stats
from typer.testing import CliRunner

import sim1d
from sim1d import DescriptionError
from studies.cli import app
from studies.dataset import open_study
from studies.draws import Draws, compared
from studies.model import CarModel
from studies.report import NO_SAMPLES, as_json, summarise, write_report
from studies.runner import run
from studies.select import judge
from studies.store import StoreError
from studies.study import load_study
from tests.studies.conftest import GRID
from tests.system.runs import example, short_round

SAMPLES = 21  # 21 points: the 5th, 50th and 95th percentile are points 1, 10 and 19 themselves
DRAWN = GRID + f"\n[uncertainty]\nsamples = {SAMPLES}\nseed = 3\n"


@pytest.fixture
def done(study_file, tmp_path):
    """Runs the cheap study with samples and gives its folder."""
    numbers = itertools.count()

    def make(text=DRAWN, **fields):
        folder = tmp_path / f"out{next(numbers)}"
        run(load_study(study_file(text), maker(**fields)), folder, workers=0)
        return folder

    return make


def test_every_number_has_the_band_of_the_closed_form(done):
    study = open_study(done())
    assert study.draw_outcome.dims == ("speed", "hose", "height", "draw")
    gain = np.sort(0.8 + 0.4 * draw_shares(SAMPLES, 3))
    for at, end in ((1, "low"), (10, "middle"), (19, "high")):
        assert study[f"pass_bank_flow_{end}"].values == pytest.approx(study.pass_bank_flow.values * gain[at], rel=1e-12)
    # metal = 480 + a/flow + 10 height: hottest where the flow is least
    height = study.height.values[None, None, :]
    above = study.peak_metal_temperature.sel(cylinder="left-1").transpose("speed", "hose", "height").values - 480.0
    high = study.peak_metal_temperature_high.sel(cylinder="left-1").transpose("speed", "hose", "height").values
    assert high == pytest.approx(480.0 + (above - 10.0 * height) / gain[1] + 10.0 * height, rel=1e-12)
    assert study.peak_metal_temperature_high.units == "K"
    # a car of 1.4 was never ready again: at the bad end, in every draw
    assert (
        np.isinf(study.time_to_ready_high.sel(speed=1.4)).all() and np.isnan(study.time_to_ready.sel(speed=1.4)).all()
    )


def test_a_study_without_samples_has_no_band_and_says_so(done):
    folder = done(GRID)
    assert not [name for name in open_study(folder) if str(name).endswith(("_low", "_draws"))]
    summary, file = write_report(folder)
    assert summary.uncertain == NO_SAMPLES and not summary.draws
    assert "These numbers have no band" in file.read_text()


def test_early_ends_stand_at_the_bad_end_and_lost_draws_nowhere(done):
    study = open_study(done(boils=0.8, lost=0.1))
    early = sum(share > 0.8 for share in draw_shares(SAMPLES, 3))
    kept = np.sort([0.8 + 0.4 * share for share in draw_shares(SAMPLES, 3) if 0.1 <= share <= 0.8])
    flow = study.pass_bank_flow
    assert np.isneginf(study.pass_bank_flow_low).all()  # bad when low: more than one in twenty ended early
    place = 0.5 * (len(kept) + early - 1)  # of the median, from the good end
    falling = kept[::-1]
    middle = falling[int(place)] + (falling[math.ceil(place)] - falling[int(place)]) * (place % 1.0)
    assert study.pass_bank_flow_middle.values == pytest.approx(flow.values * middle)
    drawn = judge(study, {"suction_margin": -10.0}).drawn
    assert (drawn.early == early).all() and (drawn.judged == len(kept) + early).all()
    assert (drawn.holding == len(kept)).all()


def test_points_are_told_apart_by_their_common_draws(done):
    """The draws scatter ten times as far as two heights differ, and still every draw tells the two apart."""
    study = open_study(done())
    verdict = judge(study, {"metal_fail": 900.0})
    margins = verdict.drawn.margins.reshape(4, 3, 5, SAMPLES)
    low, high = margins[0, 0, 0], margins[0, 0, 1]
    assert np.ptp(low) > 10.0 * abs((low - high).mean())
    assert compared(low, high).apart and compared(low, high).better == SAMPLES
    same = compared(low, low)
    assert not same.apart and same.chance == 1.0 and same.text.startswith("not told apart")


def test_the_chance_is_that_of_the_binomial_distribution():
    first = np.zeros(16)
    second = np.where(np.arange(16) < 12, -1.0, 1.0)
    found = compared(first, second)
    # sign test: twice the tail of 16 fair coins, P(at least 12) = 2517/65536
    assert (found.better, found.worse, found.judged) == (12, 4, 16) and found.chance == pytest.approx(2 * 2517 / 65536)
    assert not found.apart
    second[12] = -1.0
    assert compared(first, second).apart  # 13 of 16: 2 x 697/65536 = 0.02
    lost = compared(np.full(4, math.nan), np.zeros(4))
    assert lost.judged == 0 and not lost.apart
    assert compared(np.full(8, -math.inf), np.full(8, -math.inf)).chance == 1.0  # both ended early: neither is better
    assert found.chance == pytest.approx(stats.binomtest(12, 16).pvalue)


def test_ranking_goes_by_the_samples_that_hold(done):
    folder = done()
    summary, _, _, verdict = summarise(folder)
    shares = [verdict.drawn.share[flat] for flat in verdict.ranked()]
    assert shares == sorted(shares, reverse=True) and shares[0] > shares[-1]
    first, *others = summary.layouts
    assert first.against == "first" and any("of 21" in one.against for one in others)
    assert first.samples.endswith("of 21") and "(" in first.room and "[" in first.readings[0]
    assert "21 samples of each point" in summary.draws and "uncertain" in as_json(summary)
    page = write_report(folder)[1].read_text()
    assert "against the first, draw by draw" in page and "margin of the best layouts with its band" in page


def test_a_point_whose_own_run_stops_is_not_ranked_whatever_its_samples_do(done):
    study = open_study(done()).load()
    limits = {"metal_fail": 900.0}
    before = judge(study, limits)
    best = int(before.ranked()[0])
    assert before.drawn.share[best] == 1.0
    outcome = study.outcome.values.ravel().copy()
    outcome[best] = f"{sim1d.Outcome.BOILED_OUT.value} (in pass)"
    stopped = judge(study.assign(outcome=(study.outcome.dims, outcome.reshape(study.outcome.shape))), limits)
    assert stopped.drawn.share[best] == 1.0 and not stopped.holds[best]
    assert list(stopped.ranked()) == [flat for flat in before.ranked() if flat != best]


def test_the_command_says_the_cost_first_and_resumes_only_the_same_samples(study_file, tmp_path, monkeypatch):
    import studies.study

    monkeypatch.setattr(studies.study, "load_study", lambda file: load_study(file, maker()))
    folder = tmp_path / "out"
    words = ["run", str(study_file(DRAWN)), "-o", str(folder), "--workers", "0"]
    said = CliRunner().invoke(app, words)
    assert said.exit_code == 0, said.output
    assert "60 points of 22 runs (its own and 21 samples): 1320 runs of about" in said.stderr
    with pytest.raises(StoreError, match="uncertainty.samples: 21 before, 8 now"):
        run(load_study(study_file(DRAWN.replace("= 21", "= 8")), maker()), folder, workers=0)
    shown = CliRunner().invoke(app, ["report", str(folder)])
    assert shown.exit_code == 0 and "samples that hold" in " ".join(shown.stdout.split())


def test_a_stopped_study_shows_no_band_for_points_not_run(study_file, tmp_path):
    class Stop(Exception):
        pass

    def stop(tally):
        if tally.done:
            raise Stop

    with pytest.raises(Stop):
        run(load_study(study_file(DRAWN), maker()), tmp_path / "half", workers=0, progress=stop)
    study = open_study(tmp_path / "half")
    known = np.isfinite(study.least_suction_margin)
    assert (np.isfinite(study.least_suction_margin_low) == known).all() and 0 < known.sum() < known.size
    run(load_study(study_file(DRAWN), maker()), tmp_path / "half", workers=0)
    assert np.isfinite(open_study(tmp_path / "half").least_suction_margin_low).all()


def test_too_few_samples_are_refused_with_the_line(study_file):
    with pytest.raises(DescriptionError) as refused:
        load_study(study_file(GRID + "\n[uncertainty]\nsamples = 3\n"), maker())
    [problem] = refused.value.problems
    assert problem.where == "uncertainty.samples" and problem.line > 0


def test_what_an_axis_sets_is_known_and_all_else_is_drawn_alike():
    """Two settings of a real car: the same shares of every other band; the value that the axis sets stays."""
    heat = "engine.heat.to_coolant"
    model = CarModel(example("layout_a"), short_round())
    cars = {}
    for value in (300e3, 350e3):
        seen = []
        stand_in = lambda self, settings, seen=seen: seen.append(self.car)  # noqa: E731
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(CarModel, "evaluate", stand_in)
            list(model.evaluate_draws({heat: value}, Draws(6)))
        cars[value] = seen
        assert [car.engine.heat.to_coolant for car in seen] == [value] * 6
    for one, other in zip(*cars.values(), strict=True):
        assert one.engine.heat.roof_share == other.engine.heat.roof_share
        assert one.with_value(heat, 1e5) == other.with_value(heat, 1e5)
    factors = {car.engine.head.critical_heat_flux_factor for car in cars[300e3]}
    assert len(factors) == 6


def test_a_real_point_and_its_samples():
    model = CarModel(example("layout_a"), short_round())
    found = list(model.evaluate_draws({"pump.ratio": 1.0}, Draws(6)))
    again = sim1d.uncertainty.sample(example("layout_a").with_value("pump.ratio", 1.0), 6, 1, measured=["pump.ratio"])
    own = sim1d.summarise(sim1d.simulate(again[2], short_round()))
    assert found[2].summary["pass_total_flow_m3_s"] == pytest.approx(own["pass_total_flow_m3_s"])
    refused = list(model.evaluate_draws({"pump.ratio": -1.0}, Draws(6)))
    assert len(refused) == 6 and refused[0].outcome.startswith(sim1d.Outcome.BAD_DESCRIPTION.value)
