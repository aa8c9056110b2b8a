"""What each sensor misses: hot spots (temperature); other points, the weakest part, lag and launch (pressure).

Everything is read from one run; nothing is sampled here.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim1d.car import Car
from sim1d.core.coolant import GRAVITY
from sim1d.display import show_pressure, show_temperature_difference
from sim1d.parts.sensor import Sensor, SensorKind
from sim1d.physics.elasticity import wave_speed
from sim1d.properties import Fluid, coolant_tables
from sim1d.reading_results import names, passes, structured, when
from sim1d.units import PSI

if TYPE_CHECKING:
    import xarray as xr

POCKET = 0.05  # share of gas at a sensor's place from which it is said to sit in gas: assumed, as in the verdict
SETTLED = 0.2  # s after the car moves at which launch is read
HOSE_WALL = 2.85e-7  # 1/Pa, growth of a soft hose: thin tube of 38 mm, 5 mm wall, 20 MPa (assumed), Poisson 0.5
BULK_MODULUS = 2.08e9  # Pa, water at 95 degC (IAPWS-95, computed)
BUBBLES = 0.01  # gas by volume at which the delay of a hose is shown beside the clean one


@dataclass(frozen=True)
class Miss:
    """By how much a reading lies below the hottest of something (K): where that was, when, and why it missed it.

    `lag` is the part of it that the sensor's own slowness makes (its place less its reading); the rest is its place.
    """

    what: str
    where: str
    when: str
    amount: float
    lag: float


@dataclass(frozen=True)
class TemperatureFinding:
    """A temperature sensor: its place, time constant (s), gas round it in the passes (share, when), and what it
    misses.

    `worst` are over the whole day, `in_pass` within the passes (empty without one): hottest coolant, hottest metal.
    """

    sensor: str
    at: str
    time_constant: float
    gas: float
    gas_when: str
    worst: tuple[Miss, ...]
    in_pass: tuple[Miss, ...]


@dataclass(frozen=True)
class Weakest:
    """The part that a pressure sensor must speak for: rating (Pa gauge) and pressure there less at the sensor (Pa)."""

    part: str
    point: str
    rating: float
    at_launch: float
    at_stripe: float
    at_peak: float
    peak_when: str


@dataclass(frozen=True)
class PressureFinding:
    """A pressure sensor: offsets (Pa) of every other point from it, the weakest part, lag (s) and launch error (Pa).

    `launch` and `stripe` are pressure at the point less that at the sensor's place, last pass; `launch_error` is what
    the acceleration of launch adds to its reading against the gas in the tank, `density acceleration distance`;
    `braking_error` the same at the hardest braking. `hose_delay` is of its soft hose, clean and with bubbles.
    """

    sensor: str
    at: str
    lag: float
    hose_delay: float
    hose_delay_bubbles: float
    launch: dict[str, float]
    stripe: dict[str, float]
    weakest: Weakest | None
    launch_error: float
    braking_error: float


SensorFinding = TemperatureFinding | PressureFinding


def acceleration_term(density: float, acceleration: float, distance: float) -> float:
    """Pressure (Pa) that an acceleration (m/s2) adds at a point `distance` m behind the gas: density a distance."""
    return density * acceleration * distance


def gas_x(car: Car) -> float:
    """Where along the car (m rearward) acceleration leaves the pressure as it is: at the gas, m."""
    if car.expansion_tank is not None:
        return car.expansion_tank.x
    return car.radiator.mount_x if car.radiator is not None else car.engine.front_x


def densities(car: Car, temperature: np.ndarray) -> np.ndarray:
    """Density (kg/m3) of the coolant of a car at temperatures, K."""
    liquid = coolant_tables(Fluid(car.coolant.fluid.value), car.coolant.fraction).liquid
    return np.interp(temperature, liquid.temperature, liquid.density)


def density_at(car: Car, temperature: float) -> float:
    """The same at one temperature."""
    return float(densities(car, np.array([temperature]))[0])


def place_pressure(ds: "xr.Dataset", car: Car, name: str) -> np.ndarray:
    """(time) Pa gauge at a pressure sensor without its lag: that of its point, at its own height."""
    sensor = car.sensors[name]
    points = names(ds, "point")
    here = ds["gauge_pressure"].values[:, points.index(sensor.at)]
    node = structured(ds, "layout", {}).get("nodes", {}).get(sensor.at)
    if sensor.z is None or node is None:
        return here
    temperature = ds["coolant_temperature"].values[:, points.index(sensor.at)]
    return here + densities(car, temperature) * GRAVITY * (node["z"] - sensor.z)


def sensor_findings(ds: "xr.Dataset", car: Car) -> list[SensorFinding]:
    """What every sensor of the car misses in one run, in the order of the file."""
    points = names(ds, "point")
    found: list[SensorFinding] = []
    for name, sensor in car.sensors.items():
        if sensor.at not in points:
            continue
        if sensor.kind is SensorKind.TEMPERATURE:
            found.append(_temperature(ds, name, sensor))
        else:
            found.append(_pressure(ds, car, name, sensor))
    return found


def _temperature(ds: "xr.Dataset", name: str, sensor: Sensor) -> TemperatureFinding:
    points = names(ds, "point")
    column = points.index(sensor.at)
    reading = ds["sensor_temperature"].values[:, names(ds, "sensor").index(name)]
    coolant = ds["coolant_temperature"].values
    inside = np.zeros(len(reading), dtype=bool)
    for _, span in passes(ds):
        inside[span] = True
    working = inside if inside.any() else ds["engine_speed"].values > 0.0
    gas = ds["gas_fraction"].values[:, column] * working  # gas that stands there while the car cools misleads nobody
    fullest = int(np.argmax(gas))
    everything = np.ones(len(reading), dtype=bool)

    def misses(where: np.ndarray) -> tuple[Miss, ...]:
        if not where.any():
            return ()
        instants = np.flatnonzero(where)
        found = []
        t, p = _worst(coolant[instants] - reading[instants, None])
        lag = float(coolant[instants[t], column] - reading[instants[t]])
        found.append(
            Miss("hottest coolant", points[p], when(ds, int(instants[t])),
                 float(coolant[instants[t], p] - reading[instants[t]]), lag)
        )  # fmt: skip
        cylinders, spots = names(ds, "cylinder"), names(ds, "spot")
        if cylinders:
            metal = ds["metal_temperature"].values[instants]
            t, c, s = _worst(metal - reading[instants, None, None])
            lag = float(coolant[instants[t], column] - reading[instants[t]])
            place = f"{cylinders[c]}, {spots[s].replace('_', ' ')}"
            amount = float(metal[t, c, s] - reading[instants[t]])
            found.append(Miss("hottest metal", place, when(ds, int(instants[t])), amount, lag))
        return tuple(found)

    return TemperatureFinding(
        name, sensor.at, sensor.lag, float(gas[fullest]), when(ds, fullest), misses(everything), misses(inside)
    )


def _worst(values: np.ndarray) -> tuple[int, ...]:
    filled = np.where(np.isfinite(values), values, -np.inf)
    return tuple(int(i) for i in np.unravel_index(int(np.argmax(filled)), values.shape))


def _pressure(ds: "xr.Dataset", car: Car, name: str, sensor: Sensor) -> PressureFinding:
    points, time = names(ds, "point"), ds["time"].values
    gauge, place = ds["gauge_pressure"].values, place_pressure(ds, car, name)
    offsets = gauge - place[:, None]
    runs = passes(ds)
    launch: dict[str, float] = {}
    stripe: dict[str, float] = {}
    at_launch = at_stripe = int(np.argmax(place))
    if runs:
        span = runs[-1][1]
        at_launch = min(int(np.searchsorted(time, time[span.start] + SETTLED)), span.stop - 1)
        at_stripe = span.stop - 1
        for index, table in ((at_launch, launch), (at_stripe, stripe)):
            table |= {p: float(v) for p, v in zip(points, offsets[index], strict=True) if p != sensor.at}
    density = density_at(car, float(ds["coolant_temperature"].values[at_launch, points.index(sensor.at)]))
    distance = car.ports[sensor.at].x if sensor.at in car.ports else _x_of(ds, sensor.at)
    distance -= gas_x(car)
    terms = acceleration_term(density, 1.0, distance) * ds["acceleration"].values
    speeding, braking = int(np.argmax(ds["acceleration"].values)), int(np.argmin(ds["acceleration"].values))
    bubbly = wave_speed(density, BULK_MODULUS, HOSE_WALL, BUBBLES, 2.0e5, 1.4)
    clean = wave_speed(density, BULK_MODULUS, HOSE_WALL, 0.0, 2.0e5, 1.4)
    return PressureFinding(
        sensor=name, at=sensor.at, lag=sensor.lag, hose_delay=sensor.hose / clean,
        hose_delay_bubbles=sensor.hose / bubbly, launch=launch, stripe=stripe,
        weakest=_weakest(ds, points, gauge, place, at_launch, at_stripe), launch_error=float(terms[speeding]),
        braking_error=float(terms[braking]),
    )  # fmt: skip


def _x_of(ds: "xr.Dataset", point: str) -> float:
    return float(structured(ds, "layout", {}).get("nodes", {}).get(point, {}).get("x", 0.0))


def rated_points(ds: "xr.Dataset") -> list[tuple[str, str, float]]:
    """(part, point, rating Pa gauge) of every rated part at each of its points; the lower rating where two meet."""
    points, lines = names(ds, "point"), structured(ds, "layout", {}).get("lines", {})
    found: dict[tuple[str, str], float] = {}
    for place, rating in structured(ds, "ratings", {}).items():
        line = lines.get(place)
        at = [place] if place in points else [line["from"], line["to"]] if line else []
        for entry in rating if isinstance(rating, list) else [rating]:
            for point in at:
                if point in points:
                    key = (str(entry.get("part", place)), point)
                    found[key] = min(found.get(key, np.inf), float(entry["pressure_Pa"]))
    return [(part, point, rating) for (part, point), rating in found.items()]


def _weakest(
    ds: "xr.Dataset", points: list[str], gauge: np.ndarray, place: np.ndarray, at_launch: int, at_stripe: int
) -> Weakest | None:
    """The rated part that uses most of its rating."""
    rated = rated_points(ds)
    if not rated:
        return None

    def use(entry: tuple[str, str, float]) -> float:
        return float(gauge[:, points.index(entry[1])].max()) / entry[2]

    part, point, rating = max(rated, key=use)
    column = gauge[:, points.index(point)]
    peak = int(np.argmax(column))
    offset = column - place
    return Weakest(
        part, point, rating, float(offset[at_launch]), float(offset[at_stripe]), float(offset[peak]), when(ds, peak)
    )


def side(value: float) -> str:
    """A difference of pressure (Pa) in words: "39 kPa (5.7 psi) below"."""
    return f"{abs(value) / 1e3:.0f} kPa ({abs(value) / PSI:.1f} psi) {'above' if value >= 0 else 'below'}"


def sentences(finding: SensorFinding) -> list[str]:
    """A finding in words, a sentence each; differences in kPa and K."""
    if isinstance(finding, TemperatureFinding):
        found = []
        if finding.gas > POCKET:
            found.append(
                f"GAS POCKET: up to {finding.gas:.0%} gas round its tip ({finding.gas_when}): it shows gas, late and "
                "too cool, while the metal runs away. Bleed it or move it."
            )
        for title, misses in (("In a pass", finding.in_pass), ("Over the day", finding.worst)):
            for miss in (one for one in misses if title == "In a pass" or one not in finding.in_pass):
                found.append(
                    f"{title}: misses the {miss.what} ({miss.where}) by {show_temperature_difference(miss.amount)}, of "
                    f"which its own lag {show_temperature_difference(miss.lag)}; {miss.when}."
                )
        return found
    found = []
    if finding.weakest is not None:
        weak = finding.weakest
        found.append(
            f"Weakest part {weak.part} (at {weak.point}, rated {show_pressure(weak.rating)}): its pressure is "
            f"{side(weak.at_launch)} this sensor's at launch, {side(weak.at_stripe)} it at the stripe, "
            f"{side(weak.at_peak)} it at the part's own peak ({weak.peak_when})."
        )
    found.append(
        f"Lag {1000 * finding.lag:.0f} ms"
        + (
            f", of it the soft hose {1000 * finding.hose_delay:.0f} ms (with 1 % of bubbles "
            f"{1000 * finding.hose_delay_bubbles:.0f} ms)"
            if finding.hose_delay > 0
            else " (screwed in)"
        )
        + "."
    )
    found.append(
        f"Launch changes its reading by {show_pressure(finding.launch_error, '')} against the gas in the tank, the "
        f"hardest braking by {show_pressure(finding.braking_error, '')}."
    )
    return found
