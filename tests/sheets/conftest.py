"""One gathering of the sheets on a short day, shared by the tests. Invented data."""

import copy

import pytest

from sim1d.car import load_car
from sim1d.day import build_day, load_day
from sim1d.examples import example_path
from sim1d.sheets import gather

KEPT = ("burnout", "stage", "pass", "coast", "soak")


@pytest.fixture(scope="session")
def car():
    return load_car(example_path("layout_a"))


@pytest.fixture(scope="session")
def short_day():
    """Burnout to soak of one round, started warm: the shortest day with every instant of the card."""
    day = load_day(example_path("race_day"))
    data = copy.deepcopy(day.to_file())
    data["phases"] = [phase for phase in data["phases"] if phase["round"] == 1 and phase["role"] in KEPT]
    data["start_temperature"] = 333.15
    return build_day(data)


@pytest.fixture(scope="session")
def material(car, short_day):
    """Four samples: enough to see that bands, failures and rates come out, not to read them."""
    return gather(car, short_day, 4)
