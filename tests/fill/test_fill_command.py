"""`sim1d fill` as a user runs it, and the plan behind it."""

import json
import re

import pytest
from typer.testing import CliRunner

from sim1d.car import load_car
from sim1d.cli import app
from sim1d.examples import example_path
from sim1d.fill_plan import as_data, fill_plan
from sim1d.fill_tests import pressure_test

A, C = str(example_path("layout_a")), str(example_path("layout_c"))
runner = CliRunner()


def call(*words):
    return runner.invoke(app, list(words))


def test_it_prints_what_decides_first_then_the_procedure_and_the_cautions():
    done = call("fill", C)
    assert done.exit_code == 0, done.output
    first = done.stdout.splitlines()[0]
    assert "of 11.94 L" in first and "air trapped" in first
    numbers = [int(n) for n in re.findall(r"^ ?(\d+)\. ", done.stdout, re.M)]
    assert numbers == list(range(1, len(numbers) + 1)) and len(numbers) >= 8
    for word in ("2500 rpm", "engine.left-4.head", "radiator.inlet", "Squeeze test", "Pump-start test", "Pressure test",
                 "kPa g", "psi g", "Do not open hot", "rulebook", "Better:"):  # fmt: skip
        assert word in done.stdout, word


def test_json_and_files_hold_the_same(tmp_path):
    printed = json.loads(call("fill", A, "--json").stdout)
    done = call("fill", A, "-o", str(tmp_path))
    assert done.exit_code == 0, done.output
    assert sorted(path.name for path in tmp_path.iterdir()) == ["fill.html", "fill.json"]
    assert json.loads((tmp_path / "fill.json").read_text()) == printed
    assert printed["remaining_m3"] == {} and sum(printed["trapped_m3"].values()) < 8e-5
    assert printed["cold_mark_m"] == pytest.approx(0.07)  # 0.7 L on 2.0 L/0.20 m
    page = (tmp_path / "fill.html").read_text()
    assert "http" not in page and "<svg" in page and page.count("<li>") > 15
    assert all(target.startswith("#") for target in re.findall(r"url\(([^)]*)\)", page))


def test_options_reach_the_fill():
    trapped = {}
    for words in ((), ("--nose-up", "8 deg"), ("--at", "outlet_y"), ("--set", "radiator.inlet_level=0.7")):
        done = call("fill", C, "--json", *words)
        assert done.exit_code == 0, done.output
        trapped[words[:1]] = sum(json.loads(done.stdout)["trapped_m3"].values())
    assert trapped[("--nose-up",)] < trapped[()] > trapped[("--at",)]
    assert trapped[("--set",)] > trapped[()]  # a lower inlet drowns earlier


def test_without_a_car_the_example_is_filled():
    assert call("fill").stdout.splitlines()[0] == call("fill", A).stdout.splitlines()[0]


@pytest.mark.parametrize(
    ("words", "advice"),
    [
        (("--at", "radiator.inlett"), "radiator.inlet"),
        (("--at", "moon"), "use one of"),
        (("--nose-up", "steep"), "Fix:"),
        (("--nose-up", "60 deg"), "Fix:"),
        (("--set", "fill.bleeds=['upper']"), "bleed"),
        (("-o", A), "folder"),
    ],
)
def test_bad_input_gives_two_and_words(words, advice):
    done = call("fill", A, *words)
    assert done.exit_code == 2 and done.stdout == ""
    assert "Traceback" not in done.output and "this is a fault" not in done.stderr
    assert advice in done.stderr


@pytest.mark.parametrize("letter", "abc")
def test_plan_is_finite_and_says_no_more_than_the_weakest_part_takes(letter):
    car = load_car(example_path(f"layout_{letter}"))
    plan = fill_plan(car)
    text = json.dumps(as_data(plan), allow_nan=False)
    assert text == json.dumps(as_data(fill_plan(car)), allow_nan=False)
    test = plan.test
    assert test.pressure <= 0.85 * car.cap.opening + 1e-6
    for one in plan.squeezes:
        low, middle, high = one.rise
        assert 0.0 < low <= middle <= high
        # it is in balance: walls and gas take the 100 mL
        gas = one.tank_gas + one.hidden[1]
        assert plan.compliance[1] * middle + gas * middle / (101325 + middle) == pytest.approx(1e-4, rel=1e-9)
        assert one.within == (middle <= test.pressure)
    for start in plan.pump_starts:
        low, middle, high = start.per_litre
        assert low <= middle <= high < 1e-3
        assert (middle > 0.0) == (start.rise > 0.0)


def test_pressure_test_stops_at_the_weakest_part():
    car = load_car(example_path("layout_a"))
    assert pressure_test(car).pressure == pytest.approx(0.85 * car.cap.opening)
    weak = pressure_test(car.with_value("radiator.rated_pressure", 1e5))
    assert weak.pressure == 1e5 and "radiator" in weak.set_by
    worn = pressure_test(car.with_value("cap.condition", "worn"))
    assert worn.pressure == pytest.approx(0.70 * car.cap.opening)
    bare = pressure_test(car.with_value("lines.upper.working_pressure", 9e4))
    assert bare.set_by == "the rating of lines.upper"


def test_the_mark_follows_the_tank():
    car = load_car(example_path("layout_a")).with_value("expansion_tank.liquid", 1e-3)
    plan = fill_plan(car)
    assert plan.mark == pytest.approx(0.10)
    assert any("10.0 cm (3.94 in)" in step for step in plan.steps)


def test_steps_name_what_the_file_declares():
    car = load_car(example_path("layout_c")).with_values(
        {
            "fill.nose_up": 0.1, "fill.at": "outlet_y", "fill.purge_time": 600.0, "fill.heat_cycles": 2,
            "fill.bleeds": ["engine.right.front_vent"],
        }
    )  # fmt: skip
    text = " ".join(fill_plan(car).steps)
    for word in ("nose up 5.7 degrees", "outlet_y", "10 min", "2 times", "engine.right.front_vent", "Car level"):
        assert word in text, word
    none = load_car(example_path("layout_c")).with_value("fill.heat_cycles", 0)
    assert "No purge is declared" in " ".join(fill_plan(none).steps)
