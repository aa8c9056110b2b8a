"""From pressure to missing power: the delays behind an engine protection cut, and what it makes of a trace.

The delays follow one another: soft hose, sensor, the controller's filter, half a sampling interval on average, the
samples in a row, the reaction. On a long steady ramp first-order lags delay by their time constant exactly, so that
pressure overshoots the threshold by ramp times the sum. A short ramp overshoots less.
"""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.signal import lfilter

from sim1d.parts.sensor import HOSE_WAVE, Cut, Sensor

if TYPE_CHECKING:
    from collections.abc import Iterator

STEP = 0.01  # s, longest step at which a trace is filtered


@dataclass(frozen=True)
class Chain:
    """Delays of one chain, s: sensor and filter first order, the hose pure; `persistence` samples in a row."""

    sensor: float
    hose: float
    filter: float
    interval: float
    persistence: int
    reaction: float
    launch_lockout: float = 0.0

    @property
    def parts(self) -> tuple[tuple[str, float], ...]:
        """What delays, and by how much (s), in order."""
        return (
            ("soft hose", self.hose),
            ("sensor", self.sensor),
            ("controller's filter", self.filter),
            ("half a sampling interval", self.interval / 2),
            (f"{self.persistence} samples in a row", (self.persistence - 1) * self.interval),
            ("reaction of the engine", self.reaction),
        )

    @property
    def lag(self) -> float:
        """Sum of all delays, s."""
        return sum(delay for _, delay in self.parts)

    def overshoot(self, ramp: float) -> float:
        """Pressure (Pa) beyond the threshold when power is gone, on a long steady ramp (Pa/s)."""
        return ramp * self.lag

    def __str__(self) -> str:
        return f"{1000 * self.filter:g} ms filter, {self.persistence} in a row at {1 / self.interval:g} Hz"


def chain_of(sensor: Sensor, cut: Cut) -> Chain:
    """The chain of a sensor and the cut on it."""
    hose = sensor.hose / HOSE_WAVE
    return Chain(
        sensor.lag - hose, hose, cut.filter, cut.interval, cut.persistence, cut.reaction, cut.launch_lockout
    )  # fmt: skip


def quicker(chain: Chain) -> "Iterator[tuple[str, Chain]]":
    """Single changes that shorten a chain, in words, with the chain that they give."""
    if chain.filter > 0.02:
        yield "a filter of 20 ms", replace(chain, filter=0.02)
    if chain.persistence > 2:
        yield "2 samples in a row", replace(chain, persistence=2)
    if chain.interval > 0.01:
        yield "a sample every 10 ms", replace(chain, interval=0.01)
    if chain.hose > 0.0:
        yield "the sensor screwed in, without its hose", replace(chain, hose=0.0)
    if chain.sensor > 0.0031:
        yield "a sensor of 3 ms", replace(chain, sensor=0.003)


@dataclass(frozen=True)
class Seen:
    """What the controller holds at its samples: times (s), filtered readings, and the greatest value that every one of
    the last `persistence` samples reached (-inf where the cut does not listen)."""

    time: np.ndarray
    filtered: np.ndarray
    held: np.ndarray


def first_order(time: np.ndarray, values: np.ndarray, tau: float) -> np.ndarray:
    """First-order lag of a trace that is straight between evenly spaced times; exact; starts settled."""
    if tau <= 0.0 or len(time) < 2:
        return values
    step = (time[1] - time[0]) / tau
    decay = np.exp(-step)
    new = 1.0 - (1.0 - decay) / step  # weight of the value at the end of a step, the rest falls to that at its start
    old = 1.0 - decay - new
    out, _ = lfilter([new, old], [1.0, -decay], values, zi=[values[0] - new * values[0]])
    return out


def watch(
    time: np.ndarray, place: np.ndarray, listens: np.ndarray, chain: Chain, after: float = 0.0, until: float = np.inf
) -> Seen:
    """What the controller makes of the pressure (Pa) at the sensor's place, from `after` to `until` (s).

    `time` may be uneven and may hold an instant twice, at a jump; `listens` says at each time whether the cut acts.
    """
    begin, end = max(after, float(time[0])), min(until, float(time[-1]))
    fine = chain.interval / max(int(np.ceil(chain.interval / STEP)), 1)
    each = round(chain.interval / fine)
    grid = begin + fine * np.arange(max(int((end - begin) / fine) + 1, 1))
    signal = np.interp(grid - chain.hose, time, place)
    signal = first_order(grid, first_order(grid, signal, chain.sensor), chain.filter)
    at, filtered = grid[::each], signal[::each]
    place_of = np.clip(np.searchsorted(time, at, side="right") - 1, 0, len(time) - 1)
    open_ = np.where(listens[place_of], filtered, -np.inf)
    held = open_.copy()
    for back in range(1, chain.persistence):
        held[back:] = np.minimum(held[back:], open_[:-back])
    held[: chain.persistence - 1] = -np.inf
    return Seen(at, filtered, held)


def trips_at(seen: Seen, threshold: float, chain: Chain) -> float:
    """When power is gone (s), the reaction included; infinite when the cut never decides."""
    over = np.flatnonzero(seen.held >= threshold)
    return float(seen.time[over[0]] + chain.reaction) if len(over) else np.inf


def highest_trip(seen: Seen, chain: Chain, before: float = np.inf) -> float:
    """Highest threshold at which power is gone before an instant (s); -inf when none is."""
    inside = seen.time + chain.reaction <= before
    return float(seen.held[inside].max()) if inside.any() else -np.inf
