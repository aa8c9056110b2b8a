"""Runs shared by the system tests: each car and day is simulated once in a session.

None of them may end because the numbers gave up: a test that looks at its last values would not see it.
"""

import json

import pytest

import sim1d


@pytest.fixture(scope="session")
def simulated():
    """`simulated(car, day, **options)`: the dataset of `sim1d.simulate`, kept for whoever asks again."""
    memory = {}

    def run(car, day, **options):
        key = (json.dumps(car.to_file()), json.dumps(day.to_file()), repr(sorted(options.items())))
        if key not in memory:
            memory[key] = sim1d.simulate(car, day, **options)
            assert memory[key].attrs["outcome_name"] not in ("STEP_FAILED", "NETWORK_FAILED"), memory[key].outcome
        return memory[key]

    return run
