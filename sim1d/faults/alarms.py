"""What the gauges of a car show of a fault, and how long before a limit: readings held against a sound run.

Two runs of one day differ in length (a phase may end at a temperature), so instants are matched by phase: the same
phase of the same round, the same time since it began.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim1d.crossings import at_moments
from sim1d.parts.sensor import Sensor, SensorKind
from sim1d.reading_results import names, when

if TYPE_CHECKING:
    import xarray as xr

    from sim1d.car import Car

VISIBLE_PRESSURE = 2e3  # Pa, least deviation that a log shows (assumed)
ERROR_SHARE = 0.5  # of a pressure sensor's greatest error: its own offset stays from run to run (assumed)
VISIBLE_TEMPERATURE = 3.0  # K (assumed: half a division of a dial)
HOLD = 0.2  # s that a deviation must stay to be seen (assumed: ten samples at 50 Hz)


@dataclass(frozen=True)
class Alarm:
    """What one sensor shows of a fault.

    Readings are Pa gauge or K, as `kind` says; `trace` holds (time s, shown, reference) for every kept instant, the
    reference NaN where the sound run has no such phase. `moved_at` is when it first differs visibly (s of the day),
    with both readings then; `lead` how long before the limit (s, below zero: after it); None where there is no such
    time. `at_limit` are both readings at the limit.
    """

    sensor: str
    place: str
    kind: SensorKind
    threshold: float
    moved_at: float | None
    moved_when: str
    moved: tuple[float, float] | None
    at_limit: tuple[float, float] | None
    lead: float | None
    trace: np.ndarray


def visible(sensor: Sensor) -> float:
    """Least deviation of a sensor that counts: Pa or K."""
    if sensor.kind is SensorKind.TEMPERATURE:
        return VISIBLE_TEMPERATURE
    return max(ERROR_SHARE * sensor.error, VISIBLE_PRESSURE)


def segments(ds: "xr.Dataset") -> dict[tuple[int, str, int], slice]:
    """(round, phase, how often the round had a phase of that name before) -> instants, for each phase that was run."""
    phase, number = ds["phase"].values, ds["round"].values
    found: dict[tuple[int, str, int], slice] = {}
    begin = 0
    for i in range(1, len(phase) + 1):
        if i < len(phase) and phase[i] == phase[begin] and number[i] == number[begin]:
            continue
        key = (int(number[begin]), str(phase[begin]))
        count = sum(other[:2] == key for other in found)
        found[(*key, count)] = slice(begin, i)
        begin = i
    return found


def matched(ds: "xr.Dataset", reference: "xr.Dataset") -> np.ndarray:
    """Time of `reference` (s) that each instant of `ds` is compared with; NaN in a phase that it did not run.

    Past the end of a phase that was shorter there, it is compared with that end.
    """
    time, there = ds["time"].values, reference["time"].values
    other = segments(reference)
    answer = np.full(len(time), np.nan)
    for key, span in segments(ds).items():
        if key in other:
            begin, end = there[other[key].start], there[other[key].stop - 1]
            answer[span] = np.minimum(begin + time[span] - time[span.start], end)
    return answer


def shown(ds: "xr.Dataset", sensor: str, kind: SensorKind) -> np.ndarray:
    """What a sensor shows over time: Pa gauge or K."""
    column = names(ds, "sensor").index(sensor)
    return ds["sensor_pressure" if kind is SensorKind.PRESSURE else "sensor_temperature"].values[:, column]


def first_held(time: np.ndarray, beyond: np.ndarray) -> int | None:
    """First index from which `beyond` stays true for `HOLD` seconds, or to the end; None where it never does."""
    begin = None
    for i, is_beyond in enumerate(beyond):
        if not is_beyond:
            begin = None
            continue
        begin = i if begin is None else begin
        if time[i] - time[begin] >= HOLD or i == len(time) - 1:
            return begin
    return None


def alarms(car: "Car", ds: "xr.Dataset", reference: "xr.Dataset", limit: int | None) -> tuple[Alarm, ...]:
    """One Alarm for each sensor of `car`; `limit` is the index along the time of `ds` at which a limit broke."""
    time, there = ds["time"].values, reference["time"].values
    instants = matched(ds, reference)
    found = []
    for name, sensor in car.sensors.items():
        own = shown(ds, name, sensor.kind)
        sound = at_moments(there, shown(reference, name, sensor.kind), instants)
        least = visible(sensor)
        index = first_held(time, np.abs(own - sound) > least)  # NaN is beyond nothing
        moved_at = float(time[index]) if index is not None else None
        found.append(
            Alarm(
                sensor=name, place=sensor.at, kind=sensor.kind, threshold=least, moved_at=moved_at,
                moved_when=when(ds, index) if index is not None else "",
                moved=(float(own[index]), float(sound[index])) if index is not None else None,
                at_limit=(float(own[limit]), float(sound[limit])) if limit is not None else None,
                lead=float(time[limit]) - moved_at if limit is not None and moved_at is not None else None,
                trace=np.column_stack([time, own, sound]),
            )
        )  # fmt: skip
    return tuple(found)
