"""`sim1d calibrate` as a user runs it."""

import json
import re

import pytest
from typer.testing import CliRunner

from sim1d.car import load_car
from sim1d.cli import app
from sim1d.examples import example_path

A, READINGS = str(example_path("layout_a")), example_path("readings")
runner = CliRunner()


def call(*words):
    return runner.invoke(app, ["calibrate", *words])


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    folder = tmp_path_factory.mktemp("fitted")
    return call(A, str(READINGS), "-o", str(folder)), folder


def test_it_writes_a_car_a_page_and_data(done):
    result, folder = done
    assert result.exit_code == 0, result.output
    assert sorted(path.name for path in folder.iterdir()) == ["calibrate.html", "calibrate.json", "car.toml"]
    car = load_car(folder / "car.toml")
    data = json.loads((folder / "calibrate.json").read_text())
    by_path = {one["path"]: one for one in data["parameters"]}
    # the example was made with these (noise on the readings): inside the 95 % bands
    truth = {
        "cap.opening": 145e3, "radiator.core_loss_factor": 2.8, "engine.heat.to_coolant": 325e3,
        "pump.runout_flow": 0.0048, "offset of gauge": 1.4, "sensors.gauge.time_constant": 12.5,
        'trapped_air."engine.left-4.head"': 1.2e-4, "engine.block.volume": 3.35e-3,
    }  # fmt: skip
    for path, value in truth.items():
        low, high = by_path[path]["after_band_95"]
        assert low <= value <= high, path
    assert car.cap.opening == pytest.approx(by_path["cap.opening"]["after"], rel=1e-4)
    assert "# brake power" in (folder / "car.toml").read_text()  # comments stay
    assert data["cannot_tell"] and data["next_readings"]


def test_terminal_says_what_was_found_and_the_cautions(done):
    text = done[0].stdout
    assert text.startswith("18 of 18 readings used.")
    for word in ("run-out flow of pump", "These readings cannot tell", "help most next", "squeeze",
                 "Do not open hot", "rulebook", "behind a shield"):  # fmt: skip
        assert word in " ".join(text.split()), word


def test_page_is_whole(done):
    page = (done[1] / "calibrate.html").read_text()
    assert page.count("<tr>") > 35 and "http" not in page and "18 of 18 readings used" in page
    assert re.search(r"Caution|Do not open hot", page)


def test_a_rejected_reading_is_named_and_strict_fails(tmp_path):
    path = tmp_path / "r.csv"
    path.write_text(
        "kind,name,where,value,plus_minus\nboiling_check,on fire,gauge,130 degC,0.5 degC\n"
        "cap_tester,,,150 kPa,2 kPa\n"
    )
    shown = call(A, str(path))
    assert shown.exit_code == 0 and "rejected: on fire" in shown.stdout and "1 of 2 readings used" in shown.stdout
    assert call(A, str(path), "--strict").exit_code == 1
    data = json.loads(call(A, str(path), "--json").stdout)
    assert [bool(one["rejected"]) for one in data["readings"]] == [True, False]


def test_bad_files_give_two_and_every_problem(tmp_path):
    car, rows = tmp_path / "car.toml", tmp_path / "r.toml"
    car.write_text(example_path("layout_a").read_text().replace('ratio = 0.9 ', 'ratio = "fast" '))
    rows.write_text('[[readings]]\nkind = "fill"\nvalue = "12 kg"\nplus_minus = "0.1 L"\n')
    done = call(str(car), str(rows))
    assert done.exit_code == 2
    assert "car.toml:" in done.stderr and "r.toml:3" in done.stderr and "nothing was written" in done.stderr
    missing = call(A, str(tmp_path / "none.toml"))
    assert missing.exit_code == 2 and "no such file" in missing.stderr
    assert call(A, str(READINGS), "-o", A).exit_code == 2
