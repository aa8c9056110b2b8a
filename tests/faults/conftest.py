"""What the tests of the faults share: example cars, one with electric pumps, a short hot day, and its runs."""

import sys
from pathlib import Path

import pytest

from sim1d.car import load_car
from sim1d.day import build_day, load_day
from sim1d.examples import example_path

sys.path.insert(0, str(Path(__file__).parent.parent / "report"))

MOTOR = {  # invented: a pump that would do in the pit and is short in a pass
    "kind": "electric", "rated_voltage": 13.5, "rated_current": 30.0, "reference_speed": 600.0,
    "shutoff_pressure": 9e4, "runout_flow": 4.5e-3, "mount": "remote", "x": 0.06, "z": 0.45,
}  # fmt: skip


@pytest.fixture(scope="session")
def day():
    return load_day(example_path("race_day"))


@pytest.fixture(scope="session")
def layout_a():
    return load_car(example_path("layout_a"))


@pytest.fixture(scope="session")
def electric(layout_a):
    """Layout A with an electric pump in place of the belt pump."""
    data = layout_a.to_file()
    data["pump"] = MOTOR
    from sim1d.car import build_car

    return build_car(data)


@pytest.fixture(scope="session")
def short_day(day):
    """A staged pass from 45 degC, seven minutes after it, and a second pass: seconds instead of hours."""
    data = day.to_file()
    keep = {"burnout": 5.0, "stage": 20.0, "pass": 6.0, "coast": 15.0, "return road": 30.0, "soak": 150.0, "pit": 240.0}
    phases = []
    for phase in data["phases"]:
        if phase["name"] in keep and (phase["round"] == 1 or phase["role"] in ("stage", "pass", "coast")):
            phases.append(phase | {"duration": keep[phase["name"]], "electric_pump": phase["role"] != "soak"})
    return build_day(data | {"phases": phases, "start_temperature": 318.15, "name": "short day"})


class Runs:
    """Runs of the short day by their values: each is simulated once for all tests."""

    def __init__(self, day):
        self.day, self.done = day, {}

    def __call__(self, car, fault=None, day=None):
        from sim1d.simulation import simulate

        day = self.day if day is None else day
        if fault is not None:
            car, day = fault.apply(car, day)
        key = (repr(car.to_file()), repr(day.to_file()))
        if key not in self.done:
            self.done[key] = simulate(car, day)
        return self.done[key]


@pytest.fixture(scope="session")
def runs(short_day):
    return Runs(short_day)
