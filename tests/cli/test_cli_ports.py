"""The choice of outlets: what is tried, how it is plumbed, and how it is ranked."""

import json
from importlib import import_module

import pytest
from synthetic import make
from typer.testing import CliRunner

from sim1d.car import load_car
from sim1d.cli import app
from sim1d.compare import Run
from sim1d.day import load_day
from sim1d.examples import example_path
from sim1d.ports_study import Choice, Pair, apply, choice_of, choices, collector_of, rank, with_points_that_stay
from sim1d.summary import summarise


@pytest.fixture(scope="module")
def car():
    return load_car(example_path("layout_a"))


def pair(front: Pair, rear: Pair) -> Choice:
    return Choice((("front", front), ("rear", rear)))


def test_every_choice_gives_both_banks_a_way_out(car):
    found = choices(car)
    assert len(found) == len(set(found)) > 20
    assert pair(Pair.NEITHER, Pair.NEITHER) not in found
    assert pair(Pair.LEFT, Pair.NEITHER) not in found  # the right bank would stand
    assert pair(Pair.LEFT, Pair.RIGHT) in found
    assert pair(Pair.RIGHT, Pair.JOINED) in found  # the left bank leaves through the right one
    assert pair(Pair.JOINED, Pair.JOINED) not in found


def test_choice_of_the_file_is_recognised(car):
    assert choice_of(car) == pair(Pair.BOTH, Pair.BOTH)
    assert choice_of(load_car(example_path("layout_b"))) == pair(Pair.RIGHT, Pair.NEITHER)
    assert collector_of(car) == "outlet_y"


def test_the_choice_of_the_file_is_tried_even_when_it_is_not_sensible():
    bad = load_car(example_path("layout_b"))
    assert choice_of(bad) == pair(Pair.RIGHT, Pair.NEITHER) in choices(bad)


def test_every_choice_can_be_plumbed_and_reads_back_as_itself(car):
    for choice in choices(car):
        assert choice_of(apply(car, choice)) == choice


def test_the_choice_of_the_file_changes_nothing(car):
    same = apply(car, choice_of(car))
    assert same.lines == car.lines and same.sensors == car.sensors and same.plugged == car.plugged


def test_a_plugged_outlet_loses_its_line_and_its_sensors(car):
    changed = apply(car, pair(Pair.LEFT, Pair.BOTH))
    assert "right_outlet" not in changed.lines and "left_outlet" in changed.lines
    assert "engine.right.front" in changed.plugged
    assert "head_pressure" not in changed.sensors and "left_rear" in changed.sensors


def test_new_hoses_have_the_bore_of_the_opening(car):
    changed = apply(load_car(example_path("layout_b")), pair(Pair.BOTH, Pair.JOINED))
    assert changed.lines["new_left_front"].bore == pytest.approx(0.025)
    link = changed.lines["new_rear_link"]
    assert {link.start, link.end} == {"engine.left.rear", "engine.right.rear"}
    assert link.bore == pytest.approx(car.engine.rear.throat)


def test_the_day_waits_for_a_point_that_no_choice_removes(car):
    day = with_points_that_stay(car, load_day(example_path("race_day")))
    points = {phase.until.point for phase in day.phases if phase.until}
    assert points == {"engine.right-1.head"} <= set(car.points)


def test_ranking_puts_held_limits_first_then_even_cylinders_and_margin(car):
    ds = make()
    good, bad = make(), make(starved=True)

    def run(ds, spread, margin):
        summary = summarise(ds) | {"pass_cylinder_spread": spread, "least_critical_heat_flux_margin": margin}
        return Run.of("x", ds, summary)

    stopped = Run.of("x", ds.assign_attrs(outcome_name="BOILED_OUT"), summarise(ds))
    best, even, safe = pair(Pair.BOTH, Pair.BOTH), pair(Pair.BOTH, Pair.LEFT), pair(Pair.BOTH, Pair.RIGHT)
    broken, gone = pair(Pair.LEFT, Pair.RIGHT), pair(Pair.RIGHT, Pair.LEFT)
    ranked = rank(
        [
            (gone, stopped),
            (broken, run(bad, 0.01, 9.0)),
            (even, run(good, 0.05, 1.3)),
            (safe, run(good, 0.20, 1.5)),
            (best, run(good, 0.04, 1.6)),
        ],
        even,
    )
    order = [item.choice for item in ranked]
    assert order[0] == best and set(order[1:3]) == {even, safe} and order[3:] == [broken, gone]
    assert [item.is_file for item in ranked].count(True) == 1 and [item.place for item in ranked] == [1, 2, 3, 4, 5]


def test_command_ranks_every_choice(monkeypatch, tmp_path, car):
    seen = []

    def simulate(changed, day, **_):
        seen.append(changed)
        return make()

    monkeypatch.setattr(import_module("sim1d.simulation"), "simulate", simulate)
    done = CliRunner().invoke(app, ["ports", str(example_path("layout_a")), "-o", str(tmp_path), "--json"])
    assert done.exit_code == 0, done.output
    data = json.loads(done.stdout)
    assert len(data["ranked"]) == len(seen) == len(choices(car)) and data["refused"] == []
    assert [item["place"] for item in data["ranked"]] == list(range(1, len(seen) + 1))
    assert json.loads((tmp_path / "ports.json").read_text()) == data
    page = (tmp_path / "ports.html").read_text()
    assert "http" not in page and "both plumbed" in page


def test_a_car_without_a_plumbed_outlet_is_refused_with_words(tmp_path):
    done = CliRunner().invoke(app, ["ports", str(tmp_path / "none.toml")])
    assert done.exit_code == 2 and "no such file" in done.stderr
