"""The leak table of a head gasket: its grid, its ends, and the errors that its docstring admits."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from pydantic import ValidationError

from sim1d import gasket
from sim1d.car import load_car
from sim1d.errors import DescriptionError
from sim1d.examples import example_path
from sim1d.parts.head_gasket import Combustion, HeadGasket

ENGINE = load_car(example_path("layout_a")).engine  # 105 x 100 mm, ratio 9.5, 230 kPa absolute at 7500 rev/min
CYCLES = ENGINE.rated_speed / (4.0 * math.pi)  # per second
LIFTING = HeadGasket(leaks=True, lift_pressure=1e7)
GROOVED = HeadGasket(leaks=True, gap_rate=0.0, groove=2.5e-7)


def test_grid_is_uniform_and_spans_idle_to_over_boost():
    table = gasket.leak_table(LIFTING, ENGINE)
    assert table.shape == (gasket.POINTS, 2)
    assert_allclose(table[[0, -1], 0], [0.8 * ENGINE.idle_manifold_pressure, 1.2 * ENGINE.manifold_pressure])
    assert_allclose(np.diff(table[:, 0]), table[1, 0] - table[0, 0], rtol=1e-9)
    assert (np.diff(table[:, 1]) >= 0.0).all() and table[0, 1] == 0.0 < table[-1, 1]


def test_sound_gasket_leaks_nothing():
    table = gasket.leak_table(HeadGasket(groove=1e-6), ENGINE)
    assert table.shape == (gasket.POINTS, 2) and (table[:, 1] == 0.0).all()


@pytest.mark.parametrize(
    ("changes", "milligram_per_second", "millilitre"),
    [
        ({"lift_pressure": 1e7}, 69.0, 29.0),
        ({"lift_pressure": 1e7, "gap_rate": 2e-11}, 150.0, 64.0),
        ({"lift_pressure": 8e6}, 172.0, 73.0),
        ({"gap_rate": 0.0, "groove": 1e-7}, 74.0, 31.0),
        ({"gap_rate": 0.0, "groove": 2.5e-7}, 185.0, 78.0),
        ({"gap_rate": 0.0, "groove": 1e-6}, 742.0, 313.0),
    ],
)
def test_rate_at_full_load_computed_beforehand(changes, milligram_per_second, millilitre):
    """Per leaking cylinder; volume of the dry gas at 250 kPa absolute and 95 degC. 3 %: see the test of the cycle."""
    table = gasket.leak_table(HeadGasket(leaks=True, **changes), ENGINE)
    rate = np.interp(ENGINE.manifold_pressure, *table.T) * CYCLES
    assert_allclose(rate * 1e6, milligram_per_second, rtol=0.03)
    assert_allclose(rate * 287.05 * 368.15 / 250e3 * 1e6, millilitre, rtol=0.03)


def test_groove_leaks_at_idle_and_a_lifting_head_does_not():
    """0.25 mm2: 35 mg/s against 150 kPa absolute at idle, computed beforehand at a manifold pressure that was not
    written down; 40 to 50 kPa absolute give 30 to 38."""
    idle = [gasket.leak_of(GROOVED, ENGINE, p, back_pressure=150e3) * CYCLES * 1e6 for p in (40e3, 50e3)]
    assert idle[0] < 35.0 < idle[1] < 40.0
    assert gasket.leak_of(LIFTING, ENGINE, ENGINE.idle_manifold_pressure) == 0.0


def test_head_lifts_where_peak_pressure_reaches_it():
    """Closed form: the trace scales with the manifold pressure, so the leak begins at its share of lift over peak."""
    _, trace, _ = gasket.cylinder_trace(LIFTING, ENGINE, ENGINE.manifold_pressure)
    begins = ENGINE.manifold_pressure * LIFTING.lift_pressure / trace.max()
    assert gasket.leak_of(LIFTING, ENGINE, 0.999 * begins) == 0.0 < gasket.leak_of(LIFTING, ENGINE, 1.002 * begins)


@pytest.mark.parametrize(
    ("part", "share", "most"),
    [(LIFTING, 1.0, 2e-4), (GROOVED, 1.0, 0.03), (GROOVED, 40.0 / 230.0, 0.15)],
    ids=["lifting head", "groove at full load", "groove at idle"],
)
def test_back_pressure_hardly_matters(part, share, most):
    """150 to 400 kPa absolute in the coolant, the whole range of a circuit, against the typical value."""
    manifold = share * ENGINE.manifold_pressure
    typical = gasket.leak_of(part, ENGINE, manifold)
    for back in (150e3, 400e3):
        assert 0.0 < abs(gasket.leak_of(part, ENGINE, manifold, back) / typical - 1.0) < most


@pytest.mark.parametrize(
    "part", [LIFTING, GROOVED, HeadGasket(leaks=True, lift_pressure=8e6, gap_rate=2e-11), HeadGasket(leaks=True)]
)
def test_straight_lines_between_the_rows_are_good_to_one_per_cent_of_full_load(part):
    table = gasket.leak_table(part, ENGINE)
    full = gasket.leak_of(part, ENGINE, ENGINE.manifold_pressure)
    between = np.linspace(table[0, 0], table[-1, 0], 301)
    exact = [gasket.leak_of(part, ENGINE, float(p)) for p in between]
    assert_allclose(np.interp(between, *table.T), exact, atol=0.01 * full)


def test_temperature_of_the_land_hardly_matters(monkeypatch):
    before = gasket.leak_of(LIFTING, ENGINE, ENGINE.manifold_pressure)
    monkeypatch.setattr(gasket, "LAND_TEMPERATURE", gasket.LAND_TEMPERATURE + 100.0)
    assert 0.0 < 1.0 - gasket.leak_of(LIFTING, ENGINE, ENGINE.manifold_pressure) / before < 3e-3


def test_every_number_of_the_combustion_moves_the_leak():
    """A value of the file that does nothing would be a promise that is not kept."""
    base = gasket.leak_of(LIFTING, ENGINE, ENGINE.manifold_pressure)
    changes = dict(
        inlet_closes=math.radians(-120.0), charge_temperature=400.0, charge_heat=2.5e6, burn_start=math.radians(-15.0),
        burn_duration=math.radians(65.0), burn_shape=3.0, heat_loss=0.2,
    )  # fmt: skip
    for name, value in changes.items():
        other = HeadGasket(leaks=True, lift_pressure=1e7, combustion=Combustion(**{name: value}))
        assert gasket.leak_of(other, ENGINE, ENGINE.manifold_pressure) < 0.9 * base, name
    short = HeadGasket(leaks=True, gap_rate=0.0, groove=2.5e-7, combustion=Combustion(exhaust_opens=math.radians(95.0)))
    assert gasket.leak_of(short, ENGINE, 230e3) < gasket.leak_of(GROOVED, ENGINE, 230e3)


def test_what_cannot_be_is_refused():
    with pytest.raises(ValidationError, match="all valves are shut"):
        Combustion.model_validate({"inlet_closes": "-60 deg", "burn_start": "-60 deg"})
    car = load_car(example_path("layout_a"))
    with pytest.raises(DescriptionError, match="engine.rod_length"):
        gasket.leak_table(LIFTING, car.engine.model_copy(update={"rod_length": 0.05}))


def test_angles_and_heat_are_read_with_their_units():
    read = Combustion.model_validate({"burn_start": "-25 deg", "charge_heat": "2.7 MJ/kg"})
    assert_allclose([read.burn_start, read.charge_heat], [math.radians(-25.0), 2.7e6])
