"""Reading, changing and writing a day."""

from importlib import resources

import pytest

from sim1d.car import load_car
from sim1d.day import Role, check_points, load_day, save_day
from sim1d.errors import DescriptionError

EXAMPLES = resources.files("sim1d") / "examples"


@pytest.fixture
def day():
    return load_day(EXAMPLES / "race_day.toml")


def test_two_rounds_of_a_full_day(day):
    assert day.rounds == 2
    assert day.duration == pytest.approx(2 * 2446)
    roles = [phase.role for phase in day.phases if phase.round == 1]
    assert roles == [
        Role.WARM_UP,
        Role.WAIT,
        Role.BURNOUT,
        Role.STAGE,
        Role.PASS,
        Role.COAST,
        Role.RETURN_ROAD,
        Role.SOAK,
        Role.PIT,
    ]


def test_engine_runs_by_speed_alone(day):
    assert [phase.engine_runs for phase in day.phases[:9]] == [True, False, True, True, True, True, True, False, True]


def test_round_trip(day, tmp_path):
    save_day(day, tmp_path / "day.toml")
    assert load_day(tmp_path / "day.toml") == day


def test_courses(day):
    teeth = day.phases[4].speed.pieces(6.0)
    assert len(teeth) == 3
    assert [piece[:2] for piece in teeth] == [(0.0, 2.0), (2.0, 4.0), (4.0, 6.0)]
    assert all(low < high for _, _, low, high in teeth)
    assert day.phases[2].speed.pieces(5.0) == [(0.0, 5.0, *day.phases[2].speed.ends)]
    assert day.phases[0].load.ends == (0.05, 0.05)


def test_kinematics_of_the_pass_agree(day):
    """The speed at the stripe is the integral of the declared acceleration, and the car then stops on the coast."""
    passing, coast = day.phases[4], day.phases[5]
    gained = sum(passing.acceleration.ends) / 2 * passing.duration
    assert gained == pytest.approx(passing.car_speed.end, rel=0.02)
    lost = sum(coast.acceleration.ends) / 2 * coast.duration
    assert passing.car_speed.end + lost == pytest.approx(coast.car_speed.end, abs=6.0)


def test_a_name_sets_every_round(day):
    changed = day.with_value("phases.pass.load", 0.9)
    assert [phase.load.start for phase in changed.phases if phase.name == "pass"] == [0.9, 0.9]
    once = day.with_value("phases.4.load", 0.9)
    assert [phase.load.start for phase in once.phases if phase.name == "pass"] == [0.9, 1.0]
    with pytest.raises(DescriptionError, match="passs"):
        day.with_value("phases.passs.load", 0.9)


def test_scalar_start_values(day):
    assert day.start == day.start_metal == pytest.approx(303.15)
    assert day.with_value("start_temperature", "60 degC").start_metal == pytest.approx(333.15)
    assert day.sealed_at == pytest.approx(293.15)


def test_waiting_points_exist_in_every_example(day):
    for name in ("layout_a", "layout_b", "layout_c"):
        check_points(day, load_car(EXAMPLES / f"{name}.toml").points)
    with pytest.raises(DescriptionError, match="no point"):
        check_points(day, ("pump.suction",))
