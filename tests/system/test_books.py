"""Conservation is asserted in every run: a result whose books are open says so instead of its outcome."""

import json

import numpy as np
import pytest

from sim1d.car import load_car
from sim1d.core.model import LEDGERS
from sim1d.day import build_day, load_day
from sim1d.errors import Outcome
from sim1d.examples import example_path
from sim1d.pack import pack
from sim1d.results import dataset
from sim1d.simulation import integrate
from tests.system.standard_checks import coolant_out_has_causes


@pytest.fixture(scope="module")
def history():
    day = load_day(example_path("race_day")).to_file()
    day["phases"] = [dict(phase, duration=5.0) for phase in day["phases"] if phase["role"] == "pass"][:1]
    return integrate(pack(load_car(example_path("layout_a")), build_day(day)))


def test_a_sound_run_keeps_its_outcome(history):
    ds = dataset(history)
    assert ds.attrs["outcome_name"] == "COMPLETED"
    assert max(float(ds[f"{what}_residual"]) for what in ("energy", "coolant", "gas")) < 1e-12
    assert json.loads(ds.attrs["notes"]) is not None


@pytest.mark.parametrize(
    ("ledger", "what"),
    [("pump_work", "energy"), ("coolant_back", "coolant"), ("air_in", "gas"), ("leak_in", "gas")],
)
def test_a_leak_in_the_books_is_the_outcome(history, ledger, what):
    """A hundredth of a per cent of what is there is put into one ledger at the last instant."""
    states = history.states.copy()
    share = {"pump_work": 100.0, "coolant_back": 1e-3, "air_in": 1e-6, "leak_in": 1e-6}[ledger]  # J, kg, kg, kg
    states[-1, history.packed.model.layout.ledger + LEDGERS.index(ledger)] += share
    kept, history.states = history.states, states
    try:
        ds = dataset(history)
    finally:
        history.states = kept
    assert ds.attrs["outcome_name"] == Outcome.BOOKS_OPEN.name
    assert what in ds.attrs["outcome"]
    assert np.isfinite(float(ds[f"{what}_residual"]))


@pytest.mark.parametrize("group", ["air", "dissolved"])
def test_air_that_comes_from_nowhere_is_the_outcome(history, group):
    """Ten micrograms appear in the gas of a head, or dissolved in the coolant."""
    layout = history.packed.model.layout
    states = history.states.copy()
    states[-1, getattr(layout, group) + (5 if group == "air" else 0)] += 1e-8
    kept, history.states = history.states, states
    try:
        ds = dataset(history)
    finally:
        history.states = kept
    assert ds.attrs["outcome_name"] == Outcome.BOOKS_OPEN.name and "gas" in ds.attrs["outcome"]


def test_causes_that_do_not_add_up_are_seen(history):
    """A gram of coolant without a cause, or set down to a gasket that is sound."""
    ds = dataset(history)
    coolant_out_has_causes(ds)
    for cause, share in (("swell", 1e-3), ("gasket", 1e-3)):
        bad = ds.copy(deep=True)
        bad["coolant_out"].loc[{"cause": cause}] += share
        with pytest.raises(AssertionError):
            coolant_out_has_causes(bad)
