"""What each gauge should read, cold to next morning: the expected value at the sensor with the band of the samples.

The card is that of a normal day: no cut acts, the coolant does not boil, no part goes above its rating. A sample whose
day is not normal is counted, with the reason, and gives no reading: what it shows is no gauge's normal.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from sim1d.car import Car, build_car
from sim1d.day import Day, Role, build_day
from sim1d.parts.sensor import SensorKind
from sim1d.reading_results import names, passes, rated_parts, structured
from sim1d.uncertainty import Band, Sample, SampleFailed, Spread

if TYPE_CHECKING:
    import xarray as xr

NIGHT = 36000.0  # s the car stands after the day: ten hours
SETTLED = 0.2  # s after the car moves at which launch is read: pump and column have stepped, the sensor has followed
FIVE_MINUTES = 300.0  # s
BOILS = 0.05  # K of subcooling below which a head is said to boil: the accuracy of the run


class Instant(Enum):
    """When a gauge is read; the value is how the card says it."""

    COLD = "cold, before the start"
    STAGED = "staged"
    LAUNCH = "launch"
    STRIPE = "stripe"
    SHUTDOWN = "after shutdown, highest"
    FIVE_MINUTES = "5 min after shutdown"
    MORNING = "next morning, cold"


@dataclass(frozen=True)
class Moment:
    """One instant of a day: a round (0: none) and the span of time, s, over which the highest reading counts."""

    instant: Instant
    round: int
    start: float
    end: float

    @property
    def key(self) -> str:
        """Name of it in tables of samples."""
        return f"{self.instant.name}.{self.round}"


@dataclass(frozen=True)
class Reading:
    """Expected reading of a sensor (Pa gauge or K) in one run of the file's values, and its band."""

    sensor: str
    kind: SensorKind
    instant: Instant
    round: int
    value: float
    band: Band


@dataclass(frozen=True)
class Offset:
    """Pressure at a point less that at the sensor's place (Pa), at launch and at the stripe of the last pass."""

    sensor: str
    point: str
    launch: float
    stripe: float
    launch_band: Band
    stripe_band: Band


@dataclass(frozen=True)
class GaugeCard:
    """The card: readings in order of time, offsets of the pressure sensors, and how many samples stand behind."""

    readings: tuple[Reading, ...]
    offsets: tuple[Offset, ...]
    counted: str
    how: str


def without_cuts(car: Car) -> Car:
    """The car as if no controller could stop the engine: what it would go through."""
    data = car.to_file()
    for sensor in data.get("sensors", {}).values():
        sensor.pop("cut", None)
    return build_car(data)


def with_night(day: Day) -> Day:
    """The day, and the car standing in the same air with everything off until next morning."""
    night = {"name": "night", "round": day.rounds, "role": Role.WAIT.value, "duration": NIGHT, "speed": 0.0}
    data = day.to_file()
    data["phases"] = [*data["phases"], night]
    return build_day(data)


def moments(ds: "xr.Dataset") -> list[Moment]:
    """The instants that a day has, in order: a day without a pass has none but cold and morning."""
    time, role, speed = ds["time"].values, ds["role"].values, ds["engine_speed"].values
    found = [Moment(Instant.COLD, 0, float(time[0]), float(time[0]))]
    runs = passes(ds)
    for place, (number, span) in enumerate(runs):
        until = runs[place + 1][1].start if place + 1 < len(runs) else len(time)
        launch, stripe = float(time[span.start]), float(time[span.stop - 1])
        if span.start > 0 and role[span.start - 1] != Role.PASS.value:
            found.append(Moment(Instant.STAGED, number, launch, launch))
        settled = min(launch + SETTLED, stripe)
        found.append(Moment(Instant.LAUNCH, number, settled, settled))
        found.append(Moment(Instant.STRIPE, number, stripe, stripe))
        standing = np.flatnonzero(speed[span.stop : until] <= 0.0) + span.stop
        if not len(standing):
            continue
        first = int(standing[0])
        running = np.flatnonzero(speed[first:until] > 0.0)
        last = int(running[0]) + first - 1 if len(running) else until - 1
        off, on = float(time[first]), float(time[last])
        found.append(Moment(Instant.SHUTDOWN, number, off, on))
        if off + FIVE_MINUTES <= on:
            found.append(Moment(Instant.FIVE_MINUTES, number, off + FIVE_MINUTES, off + FIVE_MINUTES))
    if str(ds["phase"].values[-1]) == "night":
        found.append(Moment(Instant.MORNING, 0, float(time[-1]), float(time[-1])))
    return found


def at(ds: "xr.Dataset", values: np.ndarray, moment: Moment) -> np.ndarray:
    """Values (first axis time) at a moment: the highest over its span. At a jump, those before it when staged."""
    time = ds["time"].values
    if moment.start == moment.end:
        after = int(np.searchsorted(time, moment.start, side="right"))
        before = int(np.searchsorted(time, moment.start, side="left"))
        if before < len(time) and time[before] == moment.start:  # kept: before the jump when staged or at the stripe
            return values[before if moment.instant is not Instant.COLD else 0]
        share = (moment.start - time[after - 1]) / (time[after] - time[after - 1])
        return (1.0 - share) * values[after - 1] + share * values[after]
    inside = (time >= moment.start) & (time <= moment.end)
    return values[inside].max(axis=0)


def shown(ds: "xr.Dataset", car: Car) -> np.ndarray:
    """(time, sensor) what every sensor shows: Pa gauge of a pressure sensor, K of a temperature sensor."""
    columns = [
        ds["sensor_pressure" if car.sensors[name].kind is SensorKind.PRESSURE else "sensor_temperature"].values[:, i]
        for i, name in enumerate(names(ds, "sensor"))
    ]
    return np.stack(columns, axis=1) if columns else np.empty((ds.sizes["time"], 0))


def not_normal(ds: "xr.Dataset") -> str:
    """Why the day of a run is not normal; empty when it is."""
    if ds.attrs.get("outcome_name", "COMPLETED") != "COMPLETED":
        return "the day stops before its end"
    share = structured(ds, "limits", {}).get("rating_margin", 1.0)
    if any(part["use"] > share for part in rated_parts(ds)):
        return "a part goes above its rating"
    if ds.sizes.get("cylinder", 0) and float(ds["subcooling"].min()) < BOILS:
        return "the coolant in a head boils"
    return ""


def numbers(ds: "xr.Dataset", car: Car, sensor_error: Mapping[str, float]) -> dict[str, float]:
    """Readings and offsets of one run by name, as a table of samples holds them; errors of the sensors added."""
    found: dict[str, float] = {}
    all_shown, sensors = shown(ds, car), names(ds, "sensor")
    for moment in moments(ds):
        values = at(ds, all_shown, moment)
        for name, value in zip(sensors, values, strict=True):
            found[f"reading.{name}.{moment.key}"] = float(value) + sensor_error.get(name, 0.0)
    for sensor, point, word, value in _offsets(ds, car):
        found[f"offset.{sensor}.{point}.{word}"] = value
    return found


def evaluate(one: Sample, ds: "xr.Dataset") -> dict[str, float]:
    """Numbers of a sample; raises SampleFailed where its day is not normal."""
    reason = not_normal(ds)
    if reason:
        raise SampleFailed(reason)
    return numbers(ds, one.car, one.sensor_error)


def _offsets(ds: "xr.Dataset", car: Car) -> Iterator[tuple[str, str, str, float]]:
    """(sensor, point, launch or stripe, Pa) of every point against every pressure sensor's place, last pass."""
    points, gauge = names(ds, "point"), ds["gauge_pressure"].values
    runs = passes(ds)
    last = runs[-1][0] if runs else 0
    wanted = {Instant.LAUNCH: "launch", Instant.STRIPE: "stripe"}
    for moment in moments(ds):
        if moment.round != last or moment.instant not in wanted:
            continue
        values = at(ds, gauge, moment)
        for name, sensor in car.sensors.items():
            if sensor.kind is not SensorKind.PRESSURE or sensor.at not in points:
                continue
            for point, value in zip(points, values - values[points.index(sensor.at)], strict=True):
                if point != sensor.at:
                    yield name, point, wanted[moment.instant], float(value)


def gauge_card(ds: "xr.Dataset", car: Car, samples: Spread) -> GaugeCard:
    """The card of one run (`ds`, from `with_night`) with the bands of `samples` (the numbers of `evaluate`)."""
    all_shown, sensors = shown(ds, car), names(ds, "sensor")
    readings = []
    for moment in moments(ds):
        values = at(ds, all_shown, moment)
        for name, value in zip(sensors, values, strict=True):
            band = samples.band(f"reading.{name}.{moment.key}")
            kind = car.sensors[name].kind
            readings.append(Reading(name, kind, moment.instant, moment.round, float(value), band))
    table: dict[tuple[str, str], dict[str, float]] = {}
    for sensor, point, word, value in _offsets(ds, car):
        table.setdefault((sensor, point), {})[word] = value
    offsets = tuple(
        Offset(
            sensor, point, both.get("launch", math.nan), both.get("stripe", math.nan),
            samples.band(f"offset.{sensor}.{point}.launch"), samples.band(f"offset.{sensor}.{point}.stripe"),
        )
        for (sensor, point), both in table.items()
    )  # fmt: skip
    return GaugeCard(tuple(readings), offsets, samples.counted, samples.how)
