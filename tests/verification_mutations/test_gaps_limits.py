"""Margins to where the model ends, and what ends a stride of steps, each worked out by hand.

The car is the shipped layout A (invented data), two of its sensors with a cut; every limit here is made up.
"""

import sys
from pathlib import Path

import numpy as np
import pytest

from sim1d.core.handle import handle
from sim1d.core.limits import Limits, limit_margin
from sim1d.core.model import Model, work_arrays
from sim1d.core.solver import room
from sim1d.core.stride import Watched, happens, keep
from sim1d.day import load_day
from sim1d.examples import example_path
from sim1d.pack import pack

from .cars import car_with

sys.path.insert(0, str(Path(__file__).parents[1]))

# the folder of the tests is on the path only now
from reference.bench import Bench  # noqa: E402

LIMITS = Limits(
    dry_void=0.9, starved_volume=1e-3, melting=600.0, freezing=250.0, rated_node=np.array([2, 5]),
    rated_stop=np.array([2e5, 1e5]),
)  # fmt: skip
LITRE = 1e-3


def still() -> Bench:
    """Every lump at 330 K and the pressure of the air, no gas, no steam, every gas face at 300 K."""
    bench = Bench("layout_a")
    bench.press(bench.system.ambient_pressure)
    bench.work.gas_surface[:] = 300.0
    return bench


# Margins -------------------------------------------------------------------------------------------------------------


def test_boiled_out_is_the_greatest_share_of_steam_that_lags():
    bench = still()
    bench.state[bench.layout.lag + 2] = 0.85
    assert limit_margin(*bench.handles, bench.state, handle(LIMITS)) == (pytest.approx(0.05), 0)


def test_starved_counts_the_gas_of_the_circuit_and_what_the_tank_has_outgrown():
    """0.7 L in a head and 0.2 L more than the tank holds, of 1 L."""
    bench = still()
    bench.work.pocket_volume[0] = bench.system.tank_volume + 0.2 * LITRE
    bench.work.pocket_volume[3] = 0.7 * LITRE
    assert limit_margin(*bench.handles, bench.state, handle(LIMITS)) == (pytest.approx(0.1), 1)
    bench.work.pocket_volume[0] = 0.5 * bench.system.tank_volume  # it fits
    assert limit_margin(*bench.handles, bench.state, handle(LIMITS)) == (pytest.approx(0.3), 1)


def test_a_rated_part_counts_gauge_pressure_at_its_own_place():
    """98 kPa over the air at the second part, which stands 100."""
    bench = still()
    bench.work.absolute[5] += 98e3
    assert limit_margin(*bench.handles, bench.state, handle(LIMITS)) == (pytest.approx(0.02), 2)
    bench.work.absolute[5] -= 98e3
    bench.work.absolute[2] += 98e3  # the first stands 200
    assert limit_margin(*bench.handles, bench.state, handle(LIMITS)) == (pytest.approx(0.5), 3)


def test_melted_is_the_hottest_face_of_the_gas_side():
    bench = still()
    bench.work.gas_surface[4] = 594.0
    assert limit_margin(*bench.handles, bench.state, handle(LIMITS)) == (pytest.approx(0.01), 3)


def test_frozen_is_a_kelvin_below_the_freezing_point():
    bench = still()
    bench.work.temperature[7] = 249.2
    assert limit_margin(*bench.handles, bench.state, handle(LIMITS)) == (pytest.approx(0.2 / 20.0), 4)


def test_what_is_not_a_number_has_left_the_model():
    bench = still()
    bench.work.temperature[:] = np.nan
    assert limit_margin(*bench.handles, bench.state, handle(LIMITS))[0] == -1.0


def test_one_lump_that_is_not_a_number_has_left_the_model():
    bench = still()
    bench.work.temperature[7] = np.nan
    assert limit_margin(*bench.handles, bench.state, handle(LIMITS))[0] == -1.0


# Strides -------------------------------------------------------------------------------------------------------------


def watch_nothing(cuts: int) -> Watched:
    """No end temperature, and nobody listens to any cut."""
    return Watched(-1, 0.0, 0.0, np.full(cuts, np.nan))


class Two:
    """A car with two cuts, nowhere near a limit: its state before and after a step."""

    def __init__(self) -> None:
        cut = {"pressure": "150 kPa", "filter": "0.1 s"}
        self.packed = pack(car_with(sensors={"suction_pressure": {"cut": cut}}), load_day(example_path("race_day")))
        self.model: Model = self.packed.model
        assert len(self.model.cut) == 2
        self.work = work_arrays(self.model)
        self.work.temperature[:], self.work.absolute[:] = 330.0, self.model.system[0].ambient_pressure
        self.old, self.new = np.zeros(self.model.layout.size), np.zeros(self.model.layout.size)

    def shown(self, watched: Watched) -> tuple[bool, float]:
        """Whether the step shows anything, and the margin to the limits at its end."""
        return happens(self.old, self.new, handle(self.model), handle(self.work), handle(LIMITS), handle(watched))

    def happens(self, watched: Watched) -> bool:
        """Whether the step shows anything."""
        return bool(self.shown(watched)[0])


@pytest.fixture(scope="module")
def module_two() -> Two:
    return Two()


@pytest.fixture
def two(module_two: Two) -> Two:
    """The car with states of nothing."""
    module_two.old[:] = module_two.new[:] = 0.0
    module_two.work.temperature[:] = 330.0
    return module_two


def test_a_step_on_which_nothing_crosses_is_no_end(two):
    assert not two.happens(watch_nothing(2))
    assert not two.happens(Watched(4, 1.0, 331.0, np.array([1e5, 1e5])))
    assert not two.happens(Watched(4, -1.0, 329.0, np.array([1e5, 1e5])))


def test_a_limit_ends_a_stride(two):
    two.new[two.model.layout.lag] = 0.95
    assert two.happens(watch_nothing(2))


@pytest.mark.parametrize("kelvin", [329.0, 331.0])
def test_the_margin_at_the_end_of_a_step_is_said_whether_it_ends_a_phase_or_not(two, kelvin):
    """0.9 of steam is the limit, 0.75 is there."""
    two.new[two.model.layout.lag + 1] = 0.75
    assert two.shown(Watched(4, 1.0, kelvin, np.full(2, np.nan))) == (kelvin < 330.0, pytest.approx(0.15))


def test_a_phase_ends_when_its_place_has_warmed_or_cooled(two):
    """Of that place, and in that direction."""
    two.work.temperature[4] = 340.0
    assert two.happens(Watched(4, 1.0, 339.0, np.full(2, np.nan)))
    assert not two.happens(Watched(3, 1.0, 339.0, np.full(2, np.nan)))
    assert two.happens(Watched(4, -1.0, 341.0, np.full(2, np.nan)))
    assert not two.happens(Watched(4, 1.0, 341.0, np.full(2, np.nan)))


@pytest.mark.parametrize("cut", [0, 1])
def test_a_reading_that_crosses_its_own_threshold_ends_a_stride(two, cut):
    """Upward and downward; where nobody listens to that controller, it does not."""
    place = two.model.layout.cut + cut
    threshold = np.array([1.2e5, 1.5e5])
    two.old[place], two.new[place] = threshold[cut] - 1e3, threshold[cut] + 1e3
    assert two.happens(Watched(-1, 0.0, 0.0, threshold))
    two.old[place], two.new[place] = two.new[place], two.old[place]
    assert two.happens(Watched(-1, 0.0, 0.0, threshold))
    threshold[cut] = np.nan
    assert not two.happens(Watched(-1, 0.0, 0.0, threshold))


def test_a_step_is_written_with_the_rates_of_both_of_its_ends(two):
    """And its end is the start of the next."""
    size = two.model.layout.size
    space = room(two.model, two.packed.pattern, np.ones(size))
    space.record.state[:] = 0.0  # the room is handed out as it is
    space.arrays.trial[:], space.arrays.rate[:], space.arrays.moved[:] = 1.0, 2.0, 3.0
    keep(2, 0.7, space.rows, space.step)
    record = space.record
    assert (record.time[2], record.state[2, 5], record.first[2, 5], record.last[2, 5]) == (0.7, 1.0, 2.0, 3.0)
    assert (space.arrays.rate == 3.0).all()
    assert not record.state[1].any() and not record.state[3].any()
