"""What the study says of a fault: which limit, when, which gauge, how long before; its page and its command."""

import json
from importlib import import_module
from xml.etree import ElementTree

import numpy as np
import pytest
import xarray as xr
from synthetic import make
from typer.testing import CliRunner

from sim1d.cli import app
from sim1d.day import save_day
from sim1d.errors import DescriptionError
from sim1d.faults import sparkline
from sim1d.faults.alarms import (
    HOLD,
    VISIBLE_PRESSURE,
    VISIBLE_TEMPERATURE,
    Alarm,
    alarms,
    first_held,
    matched,
    segments,
    visible,
)
from sim1d.faults.page import render_faults
from sim1d.faults_study import BAND, as_data, faults_study, seconds, table
from sim1d.parts.sensor import Sensor, SensorKind

TEMPERATURE, PRESSURE = SensorKind.TEMPERATURE, SensorKind.PRESSURE


def shown(time, phase, number, pressure, temperature):
    """A dataset with two sensors, `p` (Pa) and `t` (K)."""
    blank = np.full(len(time), np.nan)
    return xr.Dataset(
        {
            "sensor_pressure": (("time", "sensor"), np.column_stack([pressure, blank])),
            "sensor_temperature": (("time", "sensor"), np.column_stack([blank, temperature])),
        },
        coords={"time": time, "sensor": ["p", "t"], "phase": ("time", phase), "round": ("time", number)},
    )


class Sensors:
    """Stands for a car: sensors alone."""

    sensors = {
        "p": Sensor(kind=PRESSURE, at="pump.suction", error=5e3),
        "t": Sensor(kind=TEMPERATURE, at="radiator.outlet"),
    }


# Matching and seeing -----------------------------------------------------------------------------------------------


def test_phases_of_one_name_are_told_apart():
    ds = shown(
        np.arange(6.0), ["wait", "pass", "wait", "pass", "pass", "wait"], [1, 1, 1, 1, 2, 2], np.zeros(6), np.zeros(6)
    )
    assert list(segments(ds)) == [
        (1, "wait", 0), (1, "pass", 0), (1, "wait", 1), (1, "pass", 1), (2, "pass", 0), (2, "wait", 0),
    ]  # fmt: skip


def test_instants_are_matched_by_phase_not_by_clock():
    """The warm-up lasts 100 s without the fault and 160 s with it; both then take a pass of 6 s."""
    time = np.array([0.0, 50.0, 100.0, 100.0, 106.0])
    sound = shown(time, ["warm"] * 3 + ["pass"] * 2, [1] * 5, 0 * time, 0 * time)
    late = np.array([0.0, 80.0, 160.0, 160.0, 163.0, 166.0])
    faulty = shown(late, ["warm"] * 3 + ["pass"] * 3, [1] * 6, 0 * late, 0 * late)
    np.testing.assert_allclose(matched(faulty, sound), [0, 80, 100, 100, 103, 106])
    np.testing.assert_allclose(matched(sound, faulty), [0, 50, 100, 160, 166])
    lost = shown(late, ["warm"] * 3 + ["soak"] * 3, [1] * 6, 0 * late, 0 * late)
    assert np.isnan(matched(lost, sound)[3:]).all()


def test_alarms_tell_when_how_much_and_how_long_before():
    """Pressure leaves the sound 1 kPa/s ramp by 1 kPa/s more from 10 s on: 2.5 kPa apart at 12.5 s. Limit at 20 s."""
    time = np.arange(0.0, 30.0, 0.1)
    phase, number = ["pass"] * len(time), [1] * len(time)
    sound = shown(time, phase, number, 1e3 * time, 300 + 0 * time)
    faulty = shown(time, phase, number, 1e3 * time + 1e3 * np.maximum(time - 10, 0), 300 + 2.9 * (time > 5))
    p, t = alarms(Sensors(), faulty, sound, 200)
    assert p.threshold == 2.5e3 and p.moved_at == pytest.approx(12.6) and p.lead == pytest.approx(20.0 - 12.6)
    assert p.moved == pytest.approx((15.2e3, 12.6e3)) and p.at_limit == pytest.approx((30e3, 20e3))
    assert t.moved_at is None and t.lead is None and t.at_limit == pytest.approx((302.9, 300.0))
    late = alarms(Sensors(), faulty, sound, 100)[0]
    assert late.lead == pytest.approx(10.0 - 12.6)  # too late
    assert [a.lead for a in alarms(Sensors(), faulty, sound, None)] == [None, None]


def test_a_run_against_itself_moves_no_gauge(runs, layout_a):
    ds = runs(layout_a)
    assert [alarm.moved_at for alarm in alarms(layout_a, ds, ds, None)] == [None] * len(layout_a.sensors)


def test_visible_is_half_the_error_or_the_display():
    assert visible(Sensors.sensors["p"]) == 2.5e3 and visible(Sensors.sensors["t"]) == VISIBLE_TEMPERATURE
    assert visible(Sensor(kind=PRESSURE, at="x", error=1e3)) == VISIBLE_PRESSURE


def test_a_flicker_is_not_seen():
    time = np.arange(0.0, 2.0, 0.05)
    beyond = (time > 0.5) & (time < 0.5 + 0.9 * HOLD)
    assert first_held(time, beyond) is None
    beyond |= time > 1.42
    assert time[first_held(time, beyond)] == pytest.approx(1.45)
    assert first_held(time, np.zeros(40, dtype=bool)) is None
    assert first_held(time, np.ones(40, dtype=bool)) == 0


# The study ---------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def result(layout_a, short_day):
    wanted = ["thrown-belt", "cap-stuck-shut", "slow-cut-*", "dead-pump", "cap-stuck-open", "dry-*-left*"]
    calls = []
    found = faults_study(layout_a, short_day, wanted, lambda done, count, name: calls.append((done, count, name)))
    assert calls[0] == (0, 7, "without a fault") and all(done < count for done, count, _ in calls)
    # a dry pocket and the sensor in it are one run; the slow cut needs one below it, two where the first cuts nothing
    assert len(calls) in (1 + 4 + 2, 1 + 4 + 3)
    return found


def test_the_first_limit_comes_first(result):
    names = [run.fault.name for run in result.runs]
    assert names[0] == "thrown-belt" and names[-1] in ("cap-stuck-shut", "slow-cut-head_pressure")
    times = [run.limit.time for run in result.runs if run.limit]
    assert times == sorted(times) and len(times) >= 3
    assert [fault.name for fault in result.unfit] == ["dead-pump"]
    assert result.completed and result.broken == ()


def test_a_thrown_belt_is_told_by_pressure_in_time(result):
    run = result.runs[0]
    assert run.best is not None and run.best.kind is PRESSURE and run.best.lead > 1.0
    assert run.helps.startswith(run.best.sensor) and "before" in run.helps
    assert run.limit.after_launch is None or run.limit.after_launch < 6.0


def test_no_effect_is_said(result):
    shut = next(run for run in result.runs if run.fault.name == "cap-stuck-shut")
    assert not shut.has_effect and shut.limit is None and shut.helps == "no gauge shows it"
    rows = {row["fault"]: row for row in table(result)}
    assert rows["cap-stuck-shut"]["limit"] == "no effect on this day"


def test_what_only_hides_is_judged_on_top_of_what_it_hides(layout_a, short_day):
    """Where the first of the telling faults makes no cut act, the next that does is taken."""
    quick = layout_a.with_value("sensors.head_pressure.cut.pressure", 9e4)
    run = faults_study(quick, short_day, ["slow-cut-*"]).runs[0]
    assert run.against == "gasket-leak" and run.cut_later == pytest.approx(0.4, abs=0.4) and run.cut_later > 0
    never = layout_a.with_value("sensors.head_pressure.cut.pressure", 9e5)
    run = faults_study(never, short_day, ["slow-cut-*"]).runs[0]
    assert run.against == "gasket-leak" and run.cut_later is None and not run.has_effect


def test_plain_data_is_json_and_has_no_band(result):
    data = json.loads(json.dumps(as_data(result), allow_nan=False))
    assert data["band"] == BAND and "order of magnitude" in BAND
    first = data["faults"][0]
    assert first["values"] == {"pump.belt_on": False} and first["first_limit"]["time_s"] > 0
    assert {gauge["sensor"] for gauge in first["gauges"]} == {
        "head_pressure", "suction_pressure", "left_rear", "right_rear", "gauge", "radiator_out",
    }  # fmt: skip
    leading = [gauge for gauge in first["gauges"] if (gauge["lead_s"] or 0) > 0]
    assert first["alarm_that_helps"] == max(leading, key=lambda gauge: gauge["lead_s"])["sensor"]
    assert data["does_not_fit"] == [
        {"name": "dead-pump", "title": "Failed electric pump", "why": "no pump is electric"}
    ]


def test_a_name_that_does_not_exist_is_refused_before_any_run(layout_a, short_day):
    with pytest.raises(DescriptionError, match="cap-stuck-open"):
        faults_study(layout_a, short_day, ["cap-stuk-open"], lambda *_: pytest.fail("it ran"))


def test_a_fault_that_cannot_be_simulated_says_why(layout_a, short_day):
    """The day waits at a port that stays, so here a hose that may not change its length is made too short to move."""
    from dataclasses import replace

    study = import_module("sim1d.faults_study")
    faults = study.faults_of(layout_a, short_day)
    bad = replace(next(f for f in faults if f.name == "thrown-belt"), car_values=(("lines.fill.length", 0.1),))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(study, "faults_of", lambda *_: [bad])
        run = faults_study(layout_a, short_day, ["thrown-belt"]).runs[0]
    assert "lines.fill.length" in run.refused and run.peak is None and not run.has_effect
    assert "not simulated" in next(table(study.FaultsResult("", True, (), result_peak(), (run,), ())))["end"]


def result_peak():
    return import_module("sim1d.faults_study").Peak(500.0, "left-1, roof", 1e5, "pump.suction", 0.0, ())


@pytest.mark.parametrize(
    ("value", "text"), [(0.42, "0.42 s"), (6.04, "6 s"), (37.4, "37 s"), (852.0, "14.2 min"), (-3.0, "-3 s")]
)
def test_durations_read_well(value, text):
    assert seconds(value) == text


def test_a_pocket_comes_on_top_of_what_the_fill_leaves(short_day, monkeypatch):
    """A file that says which air is left replaces what the fill would leave; a fault only adds to it."""
    from sim1d.car import load_car
    from sim1d.examples import example_path
    from sim1d.faults import faults_of
    from sim1d.fill import remaining_air

    car = load_car(example_path("layout_b"))
    left = remaining_air(car)
    assert left and "trapped_air" not in car.model_fields_set
    seen = []
    monkeypatch.setattr(import_module("sim1d.simulation"), "simulate", lambda car, day, **_: seen.append(car) or make())
    names = [fault.name for fault in faults_of(car, short_day) if fault.name.startswith("dry-pocket")]
    bare_car = car.with_value("sensors", {})
    faults_study(bare_car, short_day, names)
    assert "trapped_air" not in seen[0].model_fields_set
    for place, volume in left.items():
        assert all(one.trapped_air[place] == pytest.approx(volume) for one in seen[1:])
    assert seen[1].trapped_air["engine.left-4.head"] == pytest.approx(2e-4)


# Page and command --------------------------------------------------------------------------------------------------


def test_the_page_stands_alone_and_has_every_fault(result):
    page = render_faults("Faults", result)
    assert "http" not in page and "@import" not in page and "<script" not in page
    for run in result.runs:
        assert f'id="{run.fault.name}"' in page and run.fault.what.split("'")[0] in page
    assert BAND in page and "no pump is electric" in page and "scalds" in page
    assert page.count("<svg") >= 6


def test_pictures_are_well_formed_and_keep_the_extremes():
    time = np.linspace(0.0, 100.0, 2000)
    own = np.zeros(2000)
    own[777], own[1234] = 9e4, -9e4
    alarm = Alarm("p <&>", "x", PRESSURE, 2e3, 38.9, "", (9e4, 0.0), None, None, np.column_stack([time, own, 0 * own]))
    span = sparkline.window(time, [50.0], None)
    assert (span.begin, span.end, span.launch) == (0.0, 100.0, None)
    kept = sparkline.thinned(time, own, np.arange(2000))
    assert {777, 1234} <= set(kept) and len(kept) <= sparkline.KEPT + 2
    drawing = ElementTree.fromstring(sparkline.picture(alarm, span, 60.0))
    assert drawing.get("aria-label") == "p <&>"
    points = [pair.split(",") for pair in drawing.findall("polyline")[1].get("points").split()]
    heights = [float(y) for _, y in points]
    assert min(heights) == pytest.approx(sparkline.TOP, abs=0.1)
    assert max(heights) == pytest.approx(sparkline.HEIGHT - sparkline.BOTTOM, abs=0.1)


def test_the_window_lies_round_the_launch_that_matters():
    time = np.array([0.0, 3000.0])
    assert sparkline.window(time, [700.0, 2900.0], 703.0).launch == 700.0
    assert sparkline.window(time, [700.0, 2900.0], 2890.0).launch == 2900.0
    assert sparkline.window(time, [700.0, 2900.0], 1500.0).launch is None
    last = sparkline.window(time, [2990.0], 2992.0)
    assert last.end == 3000.0 and "10 s after" in last.text


@pytest.fixture
def invented(monkeypatch):
    """Replace the simulation: the sound car holds, a car with a fault has a starved bank."""
    monkeypatch.setattr(import_module("sim1d.simulation"), "warm_up", lambda **_: 0.0)
    monkeypatch.setattr(
        import_module("sim1d.simulation"), "simulate", lambda car, day, **_: make(starved=car.head_gasket.leaks)
    )


def bare(tmp_path, layout_a):
    """A car whose sensors the invented dataset has."""
    from sim1d.car import build_car, save_car

    data = layout_a.to_file()
    names = [str(name) for name in make()["sensor"].values]
    data["sensors"] = {name: {"kind": "temperature", "at": "engine.left.front"} for name in names}
    save_car(build_car(data), tmp_path / "car.toml")
    return str(tmp_path / "car.toml")


def call(*words):
    return CliRunner().invoke(app, ["faults", *words])


def test_the_command_prints_a_table_and_writes_both_files(invented, tmp_path, layout_a):
    car = bare(tmp_path, layout_a)
    done = call(car, "--only", "gasket-leak", "--only", "dead-fan", "--only", "dead-pump", "-o", str(tmp_path / "out"))
    assert done.exit_code == 0, done.output
    assert "gasket-leak" in done.output and "no pump is electric" in done.output and "order of magnitude" in done.output
    assert "Do not open hot" in " ".join(done.output.split())
    data = json.loads((tmp_path / "out" / "faults.json").read_text())
    assert [fault["name"] for fault in data["faults"]] == ["gasket-leak", "dead-fan"]
    assert data["faults"][0]["first_limit"] and not data["faults"][1]["has_effect"]
    assert "<html" in (tmp_path / "out" / "faults.html").read_text()


def test_the_command_prints_json(invented, tmp_path, layout_a):
    done = call(bare(tmp_path, layout_a), "--only", "dead-fan", "--json")
    assert json.loads(done.stdout)["faults"][0]["values"] == {"radiator.fan.failed": True}


def test_the_command_refuses_what_it_does_not_know(invented, tmp_path):
    done = call("--only", "no-such-fault", "-o", str(tmp_path / "out"))
    assert done.exit_code == 2 and "--only" in done.output and not (tmp_path / "out").exists()
    (tmp_path / "file").write_text("")
    assert call("-o", str(tmp_path / "file")).exit_code == 2


def test_a_setting_acts_below_every_fault(invented, tmp_path, layout_a):
    done = call(bare(tmp_path, layout_a), "--set", "radiator.fan.failed=true", "--only", "dead-fan", "--json")
    assert "already" in json.loads(done.stdout)["does_not_fit"][0]["why"]


def test_the_real_thing(tmp_path, short_day):
    """From files to a page with the simulation itself."""
    save_day(short_day, tmp_path / "day.toml")
    from sim1d.examples import example_path

    car = str(example_path("layout_a"))
    done = call(car, str(tmp_path / "day.toml"), "--only", "thrown-belt", "-o", str(tmp_path / "out"))
    assert done.exit_code == 0, done.output
    assert "thrown-belt" in done.output and "Every limit of harm holds" in done.output
    assert "Thrown pump belt" in (tmp_path / "out" / "faults.html").read_text()
