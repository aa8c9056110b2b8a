"""However a system fails, the run ends with a sentence that says what, where and when; numbers finite, ledgers closed.

Source: conservation, and the list of faults that common practice, no source, names. Invented cars.
"""

import re

import numpy as np
import pytest

from sim1d import Outcome
from tests.system import standard_checks
from tests.system.runs import (
    ELECTRIC,
    day_of,
    during,
    edited,
    electric,
    example,
    first_round,
    notes,
    phase,
    race_day,
    running_round,
    without_cut,
)

PLACE = re.compile(r"\((?P<where>.+), at (?P<when>[0-9.]+) s, in (?P<phase>[a-z -]+)\)$|\(at [0-9.]+ s, in [a-z -]+\)$")


def values(**changed):
    """Edit: values of layout A by path (dots as double underscores)."""
    return example("layout_a").with_values({path.replace("__", "."): value for path, value in changed.items()})


def emptied():
    """A dry tank and three quarters of every jacket and head passage full of air: 4.2 L of the 12 are missing."""
    car = example("layout_a")
    volumes = {"head": 0.75 * 0.75 * car.engine.head.volume / 4, "block": 0.75 * car.engine.block_volume / 8}
    air = {
        f'trapped_air."engine.{cylinder}.{part}"': volume
        for cylinder in car.engine.cylinders
        for part, volume in volumes.items()
    }
    return car.with_values({"expansion_tank.liquid": 0.0, **air})


def stopped_electric():
    return edited(example("layout_a"), electric, lambda data: data.update(pump={**ELECTRIC, "failed": True}))


CARS = {
    "over-filled": lambda: values(expansion_tank__liquid=1.99e-3),
    "over-filled, cap stuck shut": lambda: values(expansion_tank__liquid=1.99e-3, cap__condition="stuck_shut"),
    "empty": emptied,
    "starved bank": lambda: example("layout_b"),
    "starved bank, cap stuck shut": lambda: example("layout_b").with_values({"cap.condition": "stuck_shut"}),
    "cap stuck open": lambda: values(cap__condition="stuck_open"),
    "cap stuck open at a low radiator": lambda: example("layout_c").with_values({"cap.condition": "stuck_open"}),
    "cap stuck shut": lambda: values(cap__condition="stuck_shut"),
    "upper hose blocked": lambda: values(lines__upper__blocked=True),
    "lower hose blocked": lambda: values(lines__lower__blocked=True),
    "belt thrown": lambda: values(pump__belt_on=False),
    "electric pump failed": stopped_electric,
    "twice the heat": lambda: values(engine__heat__to_coolant=700e3),
}
DAYS = {"cap stuck open": race_day}
EXPECTED = {
    "over-filled": {"COMPLETED"},
    "over-filled, cap stuck shut": {"COMPLETED", "OVER_PRESSURE"},
    "empty": {"BOILED_OUT", "CIRCUIT_STARVED", "MELTED"},
    "starved bank": {"BOILED_OUT"},
    "starved bank, cap stuck shut": {"BOILED_OUT", "OVER_PRESSURE"},
    "cap stuck open": {"BOILED_OUT", "CIRCUIT_STARVED"},
    "cap stuck open at a low radiator": {"BOILED_OUT", "CIRCUIT_STARVED"},
    "cap stuck shut": {"COMPLETED"},
    "upper hose blocked": {"BOILED_OUT", "CIRCUIT_STARVED"},
    "lower hose blocked": {"BOILED_OUT", "CIRCUIT_STARVED"},
    "belt thrown": {"BOILED_OUT", "CIRCUIT_STARVED", "MELTED"},
    "electric pump failed": {"BOILED_OUT", "CIRCUIT_STARVED", "MELTED"},
    "twice the heat": {"MELTED", "BOILED_OUT"},
}


@pytest.fixture(scope="module", params=CARS)
def failed(request, simulated):
    """(name, dataset) of every faulty car."""
    return request.param, simulated(edited(CARS[request.param](), without_cut), DAYS.get(request.param, first_round)())


def test_outcome_is_the_expected_kind(failed):
    name, ds = failed
    assert ds.attrs["outcome_name"] in EXPECTED[name], ds.attrs["outcome"]


def test_outcome_says_what_where_and_when(failed):
    """The sentence of its kind; for a run that was cut short also the place and the instant at which its data end."""
    _, ds = failed
    outcome = Outcome[ds.attrs["outcome_name"]]
    assert ds.attrs["outcome"].startswith(outcome.value)
    if outcome is Outcome.COMPLETED:
        return
    found = PLACE.search(ds.attrs["outcome"])
    assert found, ds.attrs["outcome"]
    when = float(re.search(r"at ([0-9.]+) s", ds.attrs["outcome"]).group(1))
    assert when == pytest.approx(float(ds.time[-1]), abs=0.06)
    assert str(ds.phase.values[-1]) in ds.attrs["outcome"]
    if outcome in (Outcome.BOILED_OUT, Outcome.MELTED, Outcome.OVER_PRESSURE):
        assert found.group("where")


def test_place_is_a_place_of_the_car(failed):
    """A boiled-out place is a point of the result, full of steam there; molten metal is a cylinder, past its melting
    point.
    """
    _, ds = failed
    where = (PLACE.search(ds.attrs["outcome"]) or re.match("", "")).groupdict().get("where") or ""
    if ds.attrs["outcome_name"] == "BOILED_OUT":
        place = where.removeprefix("in ")
        assert float(ds.gas_fraction.sel(point=place)[-1]) > 0.8
    if ds.attrs["outcome_name"] == "MELTED":
        place = where.removeprefix("at cylinder ")
        assert float(ds.metal_temperature.sel(cylinder=place)[-1].max()) > 820.0


@pytest.mark.parametrize(
    "check",
    [standard_checks.ledgers_close, standard_checks.numbers_are_finite, standard_checks.values_are_possible,
     standard_checks.time_runs_forward, standard_checks.peaks_are_peaks],
    ids=lambda check: check.__name__,
)  # fmt: skip
def test_failed_run_is_still_sound(failed, check):
    check(failed[1])


def test_over_filled_spills_and_does_not_burst(simulated):
    """A tank filled to the brim pushes out what swells: the cap holds its pressure, and the loss is on the ledger."""
    ds = simulated(CARS["over-filled"](), first_round())
    assert float(ds.coolant_lost[-1]) > 0.05
    opening = example("layout_a").cap.opening
    assert float(ds.system_pressure.max()) < 1.3 * opening


def test_stuck_caps(simulated):
    """Stuck open, the tank stays near ambient and the circuit boils as an open pot; stuck shut, nothing is lost."""
    vented = simulated(CARS["cap stuck open"](), race_day())
    sealed = simulated(CARS["cap stuck shut"](), first_round())
    good = simulated(example("layout_a"), first_round())
    assert float(vented.system_pressure.max()) < 25e3 < float(good.system_pressure.max())
    assert float(vented.subcooling.min()) < float(good.subcooling.min()) - 5.0
    assert float(sealed.coolant_lost.max()) == 0.0


def test_blocked_hose_stops_the_flow(simulated):
    """Nothing passes the upper hose; in the pass all that is left goes round by the vents."""
    ds = during(simulated(CARS["upper hose blocked"](), first_round()), "pass")
    good = during(simulated(example("layout_a"), first_round()), "pass")
    assert float(abs(ds.volume_flow.sel(line="upper")).max()) < 1e-3 * float(good.volume_flow.sel(line="upper").mean())
    assert float(ds.volume_flow.sel(line="pump").mean()) < 0.3 * float(good.volume_flow.sel(line="pump").mean())


def test_thrown_belt_stops_the_pump(simulated):
    """The pump stands while the engine runs, and the gauge pressure at its two ports is the same but for buoyancy."""
    ds = simulated(CARS["belt thrown"](), first_round())
    assert float(ds.pump_speed.max()) == 0.0 and float(ds.engine_speed.max()) > 500.0
    assert float(ds.pump_power.max()) == 0.0
    ports = ds.gauge_pressure.sel(point=["pump.suction", "pump.discharge"]).values
    assert np.abs(np.diff(ports, axis=1)).max() < 500.0


def test_failed_electric_pump_draws_no_current_to_speak_of(simulated):
    """A motor that does not turn: no speed, no power at the shaft."""
    ds = simulated(CARS["electric pump failed"](), first_round())
    assert float(ds.pump_speed.max()) < 1.0 and float(ds.pump_power.max()) < 0.1


def test_phase_that_waits_in_vain_says_so(simulated):
    """A warm-up that does not reach its temperature lasts its whole time, the day goes on, and it leaves its note."""
    day = running_round()
    plain = simulated(example("layout_a"), day)
    never = {"phases.warm-up.until.above": 440.0, "phases.warm-up.duration": 40.0}
    waited = simulated(example("layout_a"), day.with_values(never))
    assert not any("not reached" in note for note in notes(plain))
    found = [note for note in notes(waited) if "not reached" in note]
    assert len(found) == 1 and "warm-up" in found[0] and "40 s" in found[0]
    warm = waited.time.values[waited.role.values == "warm_up"]
    assert warm[-1] == pytest.approx(40.0)
    assert waited.attrs["outcome_name"] == "COMPLETED"


def test_reached_temperature_ends_the_phase(simulated):
    """The phase ends at the instant at which the point passes its temperature (60 degC), within the root search."""
    ds = simulated(example("layout_a"), running_round())
    warm = np.flatnonzero(ds.role.values == "warm_up")
    point = ds.coolant_temperature.sel(point="engine.right.front").values[warm]
    assert point[-1] == pytest.approx(333.15, abs=0.02) and (point[:-1] < 333.15).all()


def test_condition_met_at_once_skips_the_phase(simulated):
    """A phase whose end condition holds from its start takes no time."""
    first = phase(100.0, speed=1500.0, name="warm-up", role="warm_up", until={"point": "pump.suction", "above": 310.0})
    ds = simulated(example("layout_a"), day_of(first, phase(5.0, name="rest"), start=330.0))
    assert float(ds.time[-1]) == pytest.approx(5.0)
