"""Every random car and day ends with an outcome, finite numbers and closed ledgers; none with a collapsed step.

The property is the project's own (conservation and a defined end); the cases are invented. The profile is kept here:
300 examples, derandomised, so that a failure repeats.
"""

from functools import lru_cache

import numpy as np
from hypothesis import HealthCheck, given, settings

from sim1d.car import build_car, load_car
from sim1d.day import build_day
from sim1d.errors import DescriptionError, Outcome
from sim1d.examples import example_path
from sim1d.pack import pack
from sim1d.results import observe, residuals
from sim1d.simulation import integrate
from tests.system.random_cars import cars, days

ENDS = {Outcome.COMPLETED, Outcome.BOILED_OUT, Outcome.CIRCUIT_STARVED, Outcome.OVER_PRESSURE, Outcome.MELTED}
ENDS |= {Outcome.FROZEN}
seen: dict[str, int] = {}


@lru_cache
def example(name: str):
    return load_car(example_path(name))


@settings(
    max_examples=300, deadline=None, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)  # fmt: skip
@given(cars(), days())
def test_any_car_ends_with_an_outcome(car_values, day_data):
    name, values = car_values
    try:
        car = example(name).with_values(values)
    except DescriptionError as refused:  # the file's own checks may refuse a case, never crash
        assert refused.problems
        seen["refused"] = seen.get("refused", 0) + 1
        return
    history = integrate(pack(car, build_day(day_data)))
    seen[history.outcome.name] = seen.get(history.outcome.name, 0) + 1
    assert history.outcome in ENDS, (history.outcome, history.where)
    assert np.isfinite(history.states).all()
    observed = observe(history)
    assert all(np.isfinite(values).all() for values in observed.values())
    for what, value in residuals(history, observed).items():
        assert value < 1e-6, (what, value)


def test_the_cases_were_not_all_the_same():
    """Runs after the property: most cases simulate, and several kinds of end are among them."""
    if not seen:  # the property ran in another process
        return
    assert seen.get("refused", 0) < 30, seen
    assert len([name for name in seen if name != "refused"]) >= 4, seen


def test_an_example_can_be_rebuilt_from_its_own_data():
    car = example("layout_a")
    assert build_car(car.to_file()) == car
