"""The chain behind a cut: sums of delays, exact lags on ramps, what a trace would have tripped."""

import numpy as np
import pytest

from sim1d.cut_chain import Chain, chain_of, first_order, highest_trip, quicker, trips_at, watch
from sim1d.parts.sensor import HOSE_WAVE, Cut, Sensor, SensorKind
from sim1d.physics.elasticity import thin_tube_compliance, wave_speed

SENSOR = 0.005  # s, the slow end of pressure transducers (1 to 5 ms recalled)
FAST = Chain(SENSOR, 0.0, 0.010, 0.01, 2, 0.016)
USUAL = Chain(SENSOR, 0.0, 0.100, 0.02, 5, 0.016)
SLOW = Chain(SENSOR, 0.0, 0.500, 0.10, 5, 0.016)
# kPa beyond the threshold at 60, 150 and 400 kPa/s, from a calculation of its own of the same three chains on ramps
# that begin 80 kPa below the threshold or so (computed; how it averaged over the sampling phase is not known)
KNOWN = [(FAST, (2.8, 6.9, 18.0)), (USUAL, (13.0, 32.0, 82.0)), (SLOW, (55.0, 137.0, 306.0))]
RAMPS = (60e3, 150e3, 400e3)


def ramp(rate, start=2.0, span=30.0):
    time = np.array([0.0, start, start + span])
    return time, np.array([0.0, 0.0, rate * span]), np.ones(3, dtype=bool)


@pytest.mark.parametrize("chain, lag", [(FAST, 0.046), (USUAL, 0.211), (SLOW, 0.971)])
def test_delays_add_up(chain, lag):
    """By hand: 5 + 10 + 5 + 10 + 16, 5 + 100 + 10 + 80 + 16 and 5 + 500 + 50 + 400 + 16 ms."""
    assert chain.lag == pytest.approx(lag)
    assert chain.overshoot(60e3) == pytest.approx(60e3 * lag)


@pytest.mark.parametrize("chain, known", KNOWN)
def test_overshoot_of_known_chains(chain, known):
    """Followed sample by sample, averaged over the phase of the sampling, on a ramp that starts 80 kPa below."""
    for rate, expected in zip(RAMPS, known, strict=True):
        found = []
        for share in (np.arange(10) + 0.5) / 10:
            time, place, heard = ramp(rate, 2.0 + share * chain.interval)
            gone = trips_at(watch(time, place, heard, chain), 80e3, chain)
            found.append(np.interp(gone, time, place) - 80e3)
        assert np.mean(found) / 1e3 == pytest.approx(expected, rel=0.06)
        assert np.mean(found) <= chain.overshoot(rate) * 1.001  # a steady ramp is the most that it can be


@pytest.mark.parametrize("tau", [0.003, 0.1, 2.0])
def test_first_order_lag_on_a_ramp_is_exactly_tau(tau):
    """Closed form: a settled first-order lag follows a ramp R t at R (t - tau), and before that at
    R (t - tau (1 - exp(-t/tau)))."""
    time = np.arange(0.0, 40.0 * tau, tau / 7)
    rate = 150e3
    found = first_order(time, rate * time, tau)
    assert found == pytest.approx(rate * (time - tau * (1.0 - np.exp(-time / tau))), rel=1e-9, abs=1e-6)
    assert rate * time[-1] - found[-1] == pytest.approx(tau * rate, rel=1e-9)


def test_two_lags_and_a_hose_delay_by_their_sum_on_a_long_ramp():
    chain = Chain(0.02, 0.05, 0.1, 0.01, 1, 0.0)
    time, place, heard = ramp(100e3)
    seen = watch(time, place, heard, chain)
    late = np.interp(seen.time[-1], time, place) - seen.filtered[-1]
    assert late == pytest.approx(100e3 * 0.17, rel=1e-6)


def test_persistence_wants_samples_in_a_row():
    chain = Chain(0.0, 0.0, 0.0, 0.1, 3, 0.0)
    time = np.arange(0.0, 2.0, 0.1)
    place = np.zeros_like(time)
    place[[3, 4, 6, 7, 8]] = 200e3  # two in a row, then three
    seen = watch(time, place, np.ones(len(time), dtype=bool), chain)
    assert trips_at(seen, 150e3, chain) == pytest.approx(0.8)
    assert highest_trip(seen, chain) == pytest.approx(200e3)
    assert highest_trip(seen, chain, before=0.75) == pytest.approx(0.0)
    assert trips_at(seen, 250e3, chain) == np.inf


def test_a_cut_that_does_not_listen_never_trips():
    chain = Chain(0.003, 0.0, 0.01, 0.01, 2, 0.016)
    time, place, _ = ramp(100e3)
    assert trips_at(watch(time, place, np.zeros(3, dtype=bool), chain), 1e3, chain) == np.inf


def test_chain_of_a_sensor_in_the_file():
    sensor = Sensor(kind=SensorKind.PRESSURE, at="x", hose=3.0)
    chain = chain_of(sensor, Cut(pressure=150e3))
    assert chain.hose == pytest.approx(0.05) and chain.sensor == pytest.approx(0.003)
    assert chain.lag == pytest.approx(0.003 + 0.05 + 0.1 + 0.01 + 0.08 + 0.016)
    shorter = dict(quicker(chain))
    assert all(other.lag < chain.lag for other in shorter.values()) and any("hose" in what for what in shorter)


def test_hose_delay_is_that_of_a_pressure_wave():
    """Korteweg, thin tube 38 mm x 5 mm, 20 MPa, Poisson 0.5, water at 95 degC (962 kg/m3, 2.08 GPa): 17 ms a metre."""
    wall = thin_tube_compliance(0.038, 0.005, 20e6, 0.5)
    assert wave_speed(962.0, 2.08e9, wall, 0.0, 2e5, 1.4) == pytest.approx(HOSE_WAVE, rel=0.01)
