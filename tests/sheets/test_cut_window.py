"""The window: its arithmetic on given numbers, no window, changes, rates, and the day with the engine cut."""

import math

import numpy as np
import pytest

from sim1d.cut_chain import Chain
from sim1d.cut_soak import CUT, day_with_cut
from sim1d.cut_trial import ahead, steepest
from sim1d.cut_window import (
    Change,
    Judgement,
    Places,
    Rate,
    Sampled,
    Terms,
    Window,
    rate_of_false_trips,
    rate_of_misses,
    reading_at_limit,
    single_changes,
)  # fmt: skip
from sim1d.day import Role
from sim1d.properties import Fluid, coolant_tables
from sim1d.sensor_sheet import acceleration_term

USUAL = Chain(0.003, 0.0, 0.1, 0.02, 5, 0.016)


def worked_case(sigma: float = 20e3 / 3.0) -> Terms:
    """An invented car by hand: a radiator of 200 kPa that lies 20 kPa below the head sensor at full speed, a ramp that
    overshoots 13 kPa, a sensor of 5 kPa; a hot round reads 135 kPa, with 20 kPa for all that nobody measured."""
    limit = reading_at_limit(200e3, -20e3)
    return Terms(limit=limit, ramp=13e3 / 0.2, lag=0.2, error=5e3, normal=135e3, launch=0.0, sigma=sigma)


def test_worked_window():
    """220 - 13 - 5 = 202 and 135 + 20 = 155 kPa gauge."""
    window = worked_case().window
    assert window.highest == pytest.approx(202e3) and window.lowest == pytest.approx(155e3)
    assert window.exists and window.width == pytest.approx(47e3)
    assert window.judge(178e3) is Judgement.INSIDE
    assert window.judge(150e3) is Judgement.TOO_LOW and window.judge(205e3) is Judgement.TOO_HIGH


def test_no_window_where_the_chain_is_slow_or_the_spread_wide():
    import dataclasses

    slow = dataclasses.replace(worked_case(), lag=1.0)  # 65 kPa/s for a second: 220 - 65 - 5 = 150 < 155
    assert slow.window.highest == pytest.approx(150e3) and not slow.window.exists
    assert slow.window.judge(152e3) is Judgement.NO_WINDOW
    assert not worked_case(sigma=25e3).window.exists
    assert worked_case().overshoot == pytest.approx(13e3)


def test_launch_term():
    """rho a dx of water at 95 degC: 961.9 kg/m3 times 9.80665 m/s2 is 9.43 kPa per metre and g (IAPWS-95, computed)."""
    liquid = coolant_tables(Fluid.WATER).liquid
    density = float(np.interp(368.15, liquid.temperature, liquid.density))
    assert acceleration_term(density, 9.80665, 1.0) == pytest.approx(9430.0, abs=10.0)
    assert acceleration_term(density, -9.80665, 0.5) == pytest.approx(-4715.0, abs=10.0)


def places(still: float, limit: float, n: int = 16) -> Places:
    def of(still: float, limit: float) -> Sampled:
        swing = np.linspace(-1e3, 1e3, n)
        return Sampled(np.full(n, limit), still + swing, still - 10e3 + swing, np.zeros(n))

    return Places(of(still, limit), {"radiator.inlet": of(still - 30e3, limit - 10e3), "pump.discharge":
                  of(still + 40e3, limit)}, "pump", np.full(n, limit + 80e3), of(still, limit))  # fmt: skip


def test_changes_are_ranked_and_the_right_ones_open_a_window():
    """Still 160, limit 165 kPa: a better place gives (130, 155), a stronger part (160, 245) before the other terms."""
    given = places(160e3, 165e3)
    terms = given.here.terms(60e3, USUAL.lag, 5e3)
    assert terms.launch == 0.0 and terms.normal == pytest.approx(160e3)  # acceleration lowers it: it does not count
    assert not terms.window.exists
    changes = single_changes(given, terms, USUAL)
    widths = [change.window.width for change in changes]
    assert widths == sorted(widths, reverse=True)
    found = {change.what: change.window for change in changes}
    stronger = next(window for what, window in found.items() if "weakest part" in what)
    assert stronger.width == pytest.approx(terms.window.width + 80e3) and stronger.exists
    assert found["the sensor at radiator.inlet"].width == pytest.approx(terms.window.width + 20e3)
    quick = found["a filter of 20 ms"]
    assert quick.highest - terms.window.highest == pytest.approx(60e3 * 0.08)
    assert isinstance(changes[0], Change)


def test_acceleration_counts_where_it_adds():
    sampled = Sampled(np.full(4, 300e3), np.full(4, 100e3), np.full(4, 112e3), np.zeros(4))
    terms = sampled.terms(0.0, 0.0, 0.0)
    assert (terms.normal, terms.launch, terms.sigma) == (100e3, 12e3, 0.0)
    assert terms.window.lowest == pytest.approx(112e3)


def test_rates_and_their_binomial_band():
    """Clopper-Pearson: none of n leaves at most 1 - (alpha/2)^(1/n), here 10.9 % of 32 (closed form)."""
    none = Rate(0, 32)
    assert none.band[0] == 0.0 and none.band[1] == pytest.approx(1.0 - 0.025 ** (1 / 32))
    assert math.isnan(Rate(0, 0).share) and Rate(0, 0).band == (0.0, 1.0)
    highest = np.array([100.0, 150.0, 180.0, math.nan])
    assert (rate_of_false_trips(highest, 150.0).count, rate_of_false_trips(highest, 150.0).n) == (2, 3)
    assert rate_of_misses(highest, 150.0) == Rate(1, 3)
    assert str(Rate(1, 4)).startswith("1 of 4 (")


def test_greatest_from_here_on():
    best, at = ahead(np.array([1.0, 5.0, 2.0, 4.0, 3.0]))
    assert list(best) == [5.0, 5.0, 4.0, 4.0, 3.0] and list(at) == [1, 1, 3, 3, 4]


def test_steepest_ramp_leaves_jumps_out():
    time = np.array([0.0, 1.0, 2.0, 2.0, 3.0, 4.0])
    place = np.array([0.0, 10e3, 20e3, 200e3, 230e3, 260e3])  # 10, then a jump, then 30 kPa/s
    assert steepest(time, place, [slice(0, 6)]) == pytest.approx(30e3)
    assert steepest(time, -place, [slice(0, 6)]) == 0.0


@pytest.mark.parametrize("share", [0.5, 0.25])
def test_day_with_cut_keeps_its_time_and_stops_the_engine(short_day, share):
    cut = day_with_cut(short_day, share)
    assert cut.duration == pytest.approx(short_day.duration)
    running = [phase for phase in cut.phases if phase.role is Role.PASS]
    assert sum(phase.duration for phase in running) == pytest.approx(6.0 * share)
    first = next(k for k, phase in enumerate(cut.phases) if phase.name == CUT)
    assert cut.phases[first].speed.ends[0] == pytest.approx(running[-1].speed.ends[1])
    assert all(phase.speed.largest == 0.0 and phase.load.largest == 0.0 for phase in cut.phases[first + 1 :])
    # the car goes on as it did: its speed has no step at the cut
    assert cut.phases[first].car_speed.ends[0] == pytest.approx(running[-1].car_speed.ends[1])


def test_window_is_data():
    assert Window(1.0, 3.0).width == 2.0 and not Window(3.0, 1.0).exists
