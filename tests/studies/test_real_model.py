"""The real thing: the built-in study on the built-in car, through the public names of `sim1d`."""

import json

import numpy as np
import pytest

import sim1d
from sim1d import DescriptionError, Outcome
from studies import load_study, open_study, run
from studies.model import CarModel
from studies.study import study_schema
from studies.variables import KNOWN, numbers

TWO_POINTS = """
car = "layout_a"
day = "short.toml"
[axes.pump_speed]
path = "pump.ratio"
values = [0.8, 1.0]
"""

SHORT_DAY = """
name = "a pass and a minute after it"
ambient_temperature = "30 degC"
start_temperature = "60 degC"
[staging_window]
least = "45 degC"
most = "75 degC"
[[phases]]
name = "pass"
role = "pass"
round = 1
duration = "6 s"
speed = {low = "6000 rpm", high = "7500 rpm", shifts = 2}
load = 1.0
[[phases]]
name = "after"
role = "wait"
round = 1
duration = "60 s"
speed = "1500 rpm"
"""


@pytest.fixture(scope="module")
def model():
    return CarModel.load(sim1d.example_path("layout_a"), sim1d.example_path("race_day"))


def test_built_in_study_is_a_grid_of_150_layouts_that_all_build(model):
    study = load_study()
    assert study.points.dims == ("pump_speed", "hose", "radiator_height")
    assert all(have >= least for have, least in zip(study.points.shape, (6, 5, 5), strict=True))
    for flat in (0, study.points.count // 2, study.points.count - 1):
        car, _ = study.model.apply(study.points.settings(flat))
        bores = {car.lines[name].inner_diameter for name in ("left_outlet", "right_outlet", "upper", "lower")}
        assert len(bores) == 1  # one size for all main hoses, and no bore of the old hoses left


def test_a_size_replaces_the_bore_that_was_measured(model):
    car, _ = model.apply({"lines.upper.size": "dash 16"})
    assert model.car.lines["upper"].inner_diameter == pytest.approx(0.038)
    assert car.lines["upper"].inner_diameter == pytest.approx(7 / 8 * 0.0254)  # SAE J517, 100R5 type
    both, _ = model.apply({"lines.upper.size": "dash 16", "lines.upper.bore": "22.5 mm"})
    assert both.lines["upper"].inner_diameter == pytest.approx(0.0225)


def test_readings_are_si_with_their_unit(model):
    assert model.reading((("radiator.mount_height", "11 in"),)) == (pytest.approx(0.2794), "m")
    assert model.reading((("pump.ratio", 0.8),)) == (0.8, "1")
    assert model.reading((("lines.upper.size", "dash 16"),)) == (pytest.approx(0.022225), "m")
    number, unit = model.reading((("day.ambient_temperature", "40 degC"),))
    assert (number, unit) == (pytest.approx(313.15), "K")
    with pytest.raises(DescriptionError):
        model.reading((("pump.no_such_value", 1.0),))


def test_same_settings_same_fingerprint_and_every_input_counts(model):
    first = model.fingerprint({"pump.ratio": 0.8})
    assert first == model.fingerprint({"pump.ratio": 0.8})
    others = [{"pump.ratio": 0.9}, {"lines.upper.size": "dash 20"}, {"day.ambient_temperature": "40 degC"}]
    assert len({first, *(model.fingerprint(one) for one in others)}) == 4


def test_impossible_layout_is_an_outcome(model):
    result = model.evaluate({"pump.ratio": -5.0})
    assert result.outcome.startswith(Outcome.BAD_DESCRIPTION.value) and "pump.ratio" in result.outcome
    assert not result.summary


def test_two_points_through_the_store(tmp_path):
    (tmp_path / "short.toml").write_text(SHORT_DAY)
    (tmp_path / "study.toml").write_text(TWO_POINTS)
    study = load_study(tmp_path / "study.toml")
    run(study, tmp_path / "out", workers=0)
    ds = open_study(tmp_path / "out")
    direct = study.model.evaluate({"pump.ratio": 0.8})
    row = ds.sel(pump_speed=0.8)
    assert str(row.outcome.values) == direct.outcome
    for name, value in direct.summary["peak_metal_temperature_K"].items():
        assert float(row.peak_metal_temperature.sel(cylinder=name)) == pytest.approx(value, abs=0.05)
    flow = ds.pass_bank_flow.sum("bank")
    assert float(flow.sel(pump_speed=1.0)) > float(flow.sel(pump_speed=0.8)) > 0
    assert str(row.fingerprint.values) == study.model.fingerprint({"pump.ratio": 0.8})
    # every number of the summary has a name that `outputs` of a study file may use, and comes with a unit
    found = numbers(direct.summary)
    assert {variable.name for variable in found} <= set(KNOWN)
    assert all(variable.units != "1" or variable.name.endswith(UNITLESS) for variable in found)
    assert np.isfinite(ds.peak_rating_use.values).all()


UNITLESS = ("margin", "spread", "residual", "share", "use", "gas", "grip")


def test_shipped_schema_is_the_one_of_the_code():
    shipped = sim1d.example_path("pump_hose_radiator").with_name("study.schema.json")
    assert json.loads(shipped.read_text()) == study_schema()
