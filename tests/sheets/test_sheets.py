"""The sheets against the run that they are made of, and the command that prints them."""

import json
import re
import shlex
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from sim1d.car import build_car
from sim1d.cli import app
from sim1d.cut_chain import chain_of, trips_at, watch
from sim1d.cut_trial import guards, leaking, leaking_run, listens
from sim1d.errors import DescriptionError
from sim1d.gauge_card import Instant, gauge_card, moments, not_normal, without_cuts
from sim1d.parts.sensor import SensorKind
from sim1d.prepare import prepared
from sim1d.reading_results import names, passes, structured
from sim1d.report import render as render_report
from sim1d.sensor_sheet import PressureFinding, TemperatureFinding, place_pressure, sensor_findings, sentences
from sim1d.sheets import SHEETS, as_data, gather, render
from sim1d.simulation import integrate, simulate
from sim1d.summary import summarise


@pytest.fixture(scope="module")
def card(material):
    return gauge_card(material.ds, material.car, material.samples)


def test_card_has_every_instant_in_order_of_time(card, material):
    order = [one.instant for one in moments(material.ds)]
    assert order == list(Instant)
    starts = [one.start for one in moments(material.ds)]
    assert starts == sorted(starts)
    assert {one.sensor for one in card.readings} == set(material.car.sensors)


def test_card_numbers_are_those_of_the_dataset(card, material):
    ds, time = material.ds, material.ds["time"].values
    span = passes(ds)[-1][1]
    column = names(ds, "sensor").index("head_pressure")
    pressure = ds["sensor_pressure"].values[:, column]
    found = {one.instant: one.value for one in card.readings if one.sensor == "head_pressure"}
    assert found[Instant.COLD] == pressure[0]
    assert found[Instant.STAGED] == pressure[span.start - 1]
    assert found[Instant.STRIPE] == pressure[span.stop - 1]
    assert found[Instant.LAUNCH] == pytest.approx(float(np.interp(time[span.start] + 0.2, time, pressure)), rel=1e-9)
    off = np.flatnonzero(ds["role"].values == "soak")
    assert found[Instant.SHUTDOWN] == pressure[off[0] : off[-1] + 1].max()
    later = float(np.interp(time[off[0]] + 300.0, time, pressure))
    assert found[Instant.FIVE_MINUTES] == pytest.approx(later, rel=1e-6)
    assert found[Instant.MORNING] == pressure[-1]
    gauge = names(ds, "sensor").index("gauge")
    shown = {one.instant: one.value for one in card.readings if one.sensor == "gauge"}
    assert shown[Instant.STRIPE] == ds["sensor_temperature"].values[span.stop - 1, gauge]


def test_next_morning_the_car_has_the_temperature_of_the_air(card, material):
    morning = [one for one in card.readings if one.instant is Instant.MORNING and one.kind is SensorKind.TEMPERATURE]
    for one in morning:
        assert one.value == pytest.approx(material.day.ambient_temperature, abs=1.0)


def test_offsets_are_differences_of_gauge_pressure(card, material):
    ds = material.ds
    stripe = passes(ds)[-1][1].stop - 1
    gauge = ds["gauge_pressure"].sel(point=["pump.suction", "engine.right.front"]).values[stripe]
    offset = next(one for one in card.offsets if one.sensor == "head_pressure" and one.point == "pump.suction")
    assert offset.stripe == pytest.approx(gauge[0] - gauge[1])
    back = next(one for one in card.offsets if one.sensor == "suction_pressure" and one.point == "engine.right.front")
    assert back.stripe == pytest.approx(-offset.stripe)


def test_bands_hold_the_normal_samples_and_say_how_many(card, material):
    assert not_normal(material.ds) == ""
    for one in card.readings:
        if one.band.n:
            assert one.band.low <= one.band.middle <= one.band.high
    assert str(material.samples.asked) in card.counted
    normal = material.samples.asked - len(material.samples.failed)
    assert max(one.band.n for one in card.readings) == normal


def test_findings_are_recomputed_from_the_dataset(material):
    ds = material.ds
    found = {one.sensor: one for one in sensor_findings(ds, material.car)}
    assert set(found) == set(material.car.sensors)
    gauge = found["gauge"]
    assert isinstance(gauge, TemperatureFinding)
    column = names(ds, "sensor").index("gauge")
    behind = ds["coolant_temperature"].values.max(axis=1) - ds["sensor_temperature"].values[:, column]
    assert gauge.worst[0].amount == pytest.approx(float(behind.max()))
    span = passes(ds)[-1][1]
    metal = ds["metal_temperature"].values.max(axis=(1, 2)) - ds["sensor_temperature"].values[:, column]
    assert gauge.in_pass[1].amount == pytest.approx(float(metal[span].max()))
    head = found["head_pressure"]
    assert isinstance(head, PressureFinding) and head.lag == pytest.approx(0.003)
    # by hand: the sensor sits at the front outlet, the gas in the tank at x = 0.96 m; launch 2.9 g, braking 1.4 g
    distance = material.car.ports["engine.right.front"].x - 0.96
    assert head.launch_error == pytest.approx(965.0 * 2.9 * 9.80665 * distance, rel=0.02)
    assert head.braking_error == pytest.approx(-head.launch_error * 1.4 / 2.9, rel=1e-6)
    assert head.weakest is not None and head.weakest.part == "radiator"
    assert all(sentences(one) for one in found.values())


def test_height_of_a_sensor_counts(material, car):
    """A gauge half a metre above its port reads rho g h less: 4.7 kPa with 965 kg/m3."""
    z = car.ports["engine.right.front"].z
    raised = car.with_value("sensors.head_pressure.z", z + 0.5)
    lower = place_pressure(material.ds, car, "head_pressure") - place_pressure(material.ds, raised, "head_pressure")
    assert lower[passes(material.ds)[-1][1]] == pytest.approx(965.0 * 9.80665 * 0.5, rel=0.03)


def test_a_sensor_in_gas_is_named(material, car):
    ds = material.ds.copy(deep=True)
    ds["gas_fraction"].loc[{"point": "engine.left-4.head"}] = 0.4
    found = next(one for one in sensor_findings(ds, car) if one.sensor == "left_rear")
    assert sentences(found)[0].startswith("GAS POCKET: up to 40%")


def test_the_reading_at_the_limit_takes_the_part_to_its_rating(material, car):
    """By another way: add what is missing to the gas at the trip, and the worst part is at its rating, not above."""
    ds = material.ds
    chain = material.cuts[0].cutting.chain
    place, heard = place_pressure(ds, car, "head_pressure"), listens(ds, chain.launch_lockout)
    reading = material.cuts[0].parts[0].reading
    span = passes(ds)[-1][1]
    coast = np.flatnonzero(np.isin(ds["role"].values, ["pass", "coast"]))
    radiator = [k for k, name in enumerate(names(ds, "point")) if name.startswith("radiator.")]
    worst = []
    for t in np.arange(span.start, span.stop)[heard[span]]:
        missing = reading - place[t]
        later = coast[coast >= t]
        drift = ds["system_pressure"].values[later] - ds["system_pressure"].values[t]
        worst.append(float((ds["gauge_pressure"].values[later][:, radiator] - drift[:, None]).max()) + missing)
    assert max(worst) == pytest.approx(200e3, abs=1.0)
    assert guards(ds)[0].span == span


def test_the_chain_followed_afterwards_agrees_with_the_cut_in_the_simulation(car, short_day):
    """The same leaking day, simulated with the cut acting and followed afterwards without it."""
    leaky = leaking(car, "right-4").with_values(
        {"head_gasket.gap_rate": 2e-11, "sensors.head_pressure.cut.pressure": 120e3}
    )
    acted = structured(simulate(leaky, short_day), "cuts", [])
    ds = simulate(without_cuts(leaky), short_day)
    cut = leaky.sensors["head_pressure"].cut
    assert cut is not None
    sheet_chain = chain_of(leaky.sensors["head_pressure"], cut)
    heard = listens(ds, sheet_chain.launch_lockout)
    seen = watch(ds["time"].values, place_pressure(ds, leaky, "head_pressure"), heard, sheet_chain)
    expected = trips_at(seen, 120e3, sheet_chain)
    assert acted and acted[0]["time_s"] == pytest.approx(expected, abs=0.05)  # sampling phase, interpolation


def test_leaking_run_starts_where_the_sound_one_launches(material, car, short_day):
    sound = without_cuts(car)
    history = integrate(prepared(sound, short_day))
    same = leaking_run(sound, short_day, history)  # no leak: it must repeat the pass
    assert set(same["role"].values) == {"pass", "coast"} and same.attrs["outcome_name"] == "COMPLETED"
    ds = material.ds
    span = passes(ds)[-1][1]
    there = ds["sensor_pressure"].values[span.stop - 1, 0]
    again = same["sensor_pressure"].values[same["role"].values == "pass"][-1, 0]
    assert again == pytest.approx(there, abs=500.0)
    leak = leaking_run(leaking(sound, "right-4"), short_day, history)
    assert float(leak["combustion_gas"][-1]) > 0.0 == float(same["combustion_gas"][-1])


def test_cut_sheet_is_consistent(material):
    assert [one.cutting.sensor for one in material.cuts] == ["head_pressure"]
    sheet = material.cuts[0]
    assert sheet.window == sheet.terms.window and sheet.cutting.threshold == 178e3
    assert sheet.judgement is sheet.window.judge(178e3)
    assert [one.reading for one in sheet.parts] == sorted(one.reading for one in sheet.parts)
    assert sheet.terms.ramp >= sheet.normal_ramp > 0.0 and sheet.leak_ramp > 0.0
    assert sheet.false_trips.n == material.samples.asked - len(material.samples.failed)
    assert sheet.changes and sheet.advice
    assert material.soak is not None and material.soak.metal_peak >= material.soak.metal_at_cut


def test_pages_are_whole_and_carry_cautions(material, tmp_path):
    for sheet in SHEETS:
        page = render(sheet, material)
        assert "http" not in page and "@page { size: A4" in page
        assert "Do not open hot" in page and "rulebook" in page and "nan" not in re.sub(r"<[^>]*>", " ", page)
    shutdown = render(SHEETS[2], material)
    assert "limits damage, it does not prevent it" in shutdown and "outruns every chain" in shutdown


def test_json_knows_no_nan(material):
    data = as_data(material)
    json.dumps(data, allow_nan=False)
    assert set(data) >= {sheet.key for sheet in SHEETS}
    assert data["shutdown"]["cuts"][0]["window"]["lowest"] == material.cuts[0].window.lowest


def test_report_of_a_run_says_what_the_sensors_miss(material):
    page = render_report(material.ds, summarise(material.ds))
    assert "What the sensors miss" in page and "misses the hottest metal" in page


def test_command_prints_and_writes(monkeypatch, tmp_path, material):
    asked = {}

    def gathered(car, day, n, *, measured, progress):
        asked.update(n=n, measured=list(measured), ratio=car.pumps["pump"].ratio)
        return material

    monkeypatch.setattr(import_module("sim1d.sheets"), "gather", gathered)
    words = ["sheets", "--samples", "7", "--set", "pump.ratio=0.8", "--measured", "cap.opening", "-o", str(tmp_path)]
    done = CliRunner().invoke(app, words)
    assert done.exit_code == 0, done.output
    assert asked == {"n": 7, "measured": ["cap.opening"], "ratio": 0.8}
    assert {path.name for path in tmp_path.iterdir()} == {*(sheet.file for sheet in SHEETS), "sheets.json"}
    for text in ("Gauge card", "next morning", "What the sensors miss", "Engine protection cut", "Do not open hot"):
        assert text in done.stdout
    again = CliRunner().invoke(app, ["sheets", "--json"])
    assert json.loads(again.stdout) == json.loads((tmp_path / "sheets.json").read_text())


def test_a_car_without_sensors_is_refused_with_words(car, short_day):
    bare = build_car({key: value for key, value in car.to_file().items() if key != "sensors"})
    with pytest.raises(DescriptionError, match="no sensor"):
        gather(bare, short_day, 2)


@pytest.mark.parametrize("page", ["read-the-gauge.md", "set-the-cut.md"])
def test_commands_of_the_how_to_pages_run(page, monkeypatch, tmp_path, material):
    """The gathering is replaced; files, paths, settings and options are those of the page."""
    text = (Path(__file__).parents[2] / "docs" / "how-to" / page).read_text(encoding="utf-8")
    monkeypatch.setattr(import_module("sim1d.sheets"), "gather", lambda *_, **__: material)
    monkeypatch.chdir(tmp_path)
    lines = [line.strip() for line in text.splitlines() if line.startswith(("    sim1d ", "    cd "))]
    assert len(lines) >= 4
    for line in lines:
        words = shlex.split(line)
        if words[0] == "cd":
            monkeypatch.chdir(words[1])
            continue
        done = CliRunner().invoke(app, words[1:])
        assert done.exit_code == 0, f"{line}\n{done.output}"
