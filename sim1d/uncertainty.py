"""Sampling of what nobody measured: the declared bands of a car, and the band that they leave on a number.

A band is the range within which a value that nobody measured may lie. What a car file leaves out is sampled over the
declared band itself; a value that the file gives keeps the relative half-width of that band, because giving a number is
not measuring it. Who measured it says so (`measured`) and the value stays. Every sample stays within the accepted range
of its field. Uniform in the band, all bands independent: scrambled Sobol' points of each part (`sobol`), seeded; every
column by the path of its input alone, so that two cars that share an input draw the same shares of its band.
"""

import math
import typing
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.errors import DescriptionError
from sim1d.inputs import inputs_of
from sim1d.parts.base import Part, facts
from sim1d.parts.engine_heat import heat_by_law
from sim1d.parts.line import Line, Wall
from sim1d.parts.sensor import Sensor, SensorKind
from sim1d.paths import split_path
from sim1d.sobol import Place, largest_correlation, shares

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day

SAMPLES = 32  # a 5th and a 95th percentile of 32 points have one or two points outside them: enough to read a gauge by
LOW, HIGH = 5.0, 95.0  # percentiles of a band
TANK_LIQUID = 0.05  # of the liquid in the tank, either way: assumed, a level read against a mark
HEAT_BAND = (0.65, 1.45)  # of the heat to coolant: the band of the law that gives it where the file does not
TEMPERATURE_ERROR = 2.0  # K, greatest error of a temperature sensor: assumed; IEC 60751 class B has 0.8 K at 95 degC
HEAT, OPENING, LIQUID = "engine.heat.to_coolant", "cap.opening", "expansion_tank.liquid"
SHARES = tuple(f"engine.heat.{name}_share" for name in ("roof", "port", "liner"))
WEIGHTS = "engine.heat.cylinder_weights"
DRAWN = "drawn."  # in front of the path of a drawn value in a table of samples
MATTERS = 0.7  # rank correlation from which an input is named: among a hundred inputs and 23 samples chance gives 0.6
OFFSET = "error of "  # in front of the name of a sensor whose reading, not whose place in the car, is sampled


@dataclass(frozen=True)
class Range:
    """What one value may be: its path, both ends (SI), and where the band comes from."""

    path: str
    low: float
    high: float
    origin: str


@dataclass(frozen=True)
class Sample:
    """One car out of the bands: what was drawn (by path, SI) and what each sensor shows beside the truth (Pa or K)."""

    number: int
    car: "Car"
    values: Mapping[str, float]
    sensor_error: Mapping[str, float]


@dataclass(frozen=True)
class Band:
    """Median, 5th and 95th percentile (SI) of `n` samples; `how` says of what. NaN where no sample has the number."""

    middle: float
    low: float
    high: float
    n: int
    how: str

    @property
    def half(self) -> float:
        """Half the width."""
        return (self.high - self.low) / 2


def strongest(samples: "Spread", values: np.ndarray, most: int = 3) -> list[tuple[str, float]]:
    """Inputs whose drawn values go with `values` (one for each sample), by rank correlation, the strongest first.

    Needs the drawn values in the table, under `DRAWN` + path. Each is named for what those before it leave over: with
    few samples the points of two inputs may go together by themselves. Only what chance would hardly give is named.
    """
    from scipy.stats import rankdata

    if len(values) < 8 or np.ptp(values) == 0.0:
        return []

    def unit(ranks: np.ndarray) -> np.ndarray:
        centred = ranks - ranks.mean()
        length = float(np.sqrt(centred @ centred))
        return centred / length if length > 1e-9 * len(ranks) else 0.0 * centred

    left = unit(rankdata(values))
    inputs = {name: unit(rankdata(drawn)) for name, drawn in samples.values.items() if name.startswith(DRAWN)}
    found: list[tuple[str, float]] = []
    while inputs and len(found) < most:
        name = max(inputs, key=lambda one: abs(float(inputs[one] @ left)))
        axis = inputs.pop(name)
        correlation = float(axis @ left)
        if abs(correlation) < MATTERS:
            break
        found.append((name.removeprefix(DRAWN), correlation))
        left = unit(left - correlation * axis)
        inputs = {other: unit(ranks - float(ranks @ axis) * axis) for other, ranks in inputs.items()}
    return found


class SampleFailed(Exception):
    """Raised by `evaluate` for a sample without a usable result; the text says why."""


@dataclass(frozen=True)
class Spread:
    """Numbers by name over the samples that gave a result (NaN where a sample lacks one), and those that failed."""

    values: Mapping[str, np.ndarray]
    asked: int
    failed: tuple[tuple[int, str], ...] = ()
    how: str = ""

    @property
    def counted(self) -> str:
        """How many samples stand behind a band, failures included."""
        if not self.failed:
            return f"{self.asked} samples"
        kinds: dict[str, int] = {}
        for _, why in self.failed:
            kinds[why] = kinds.get(why, 0) + 1
        reasons = "; ".join(f"{count}: {why}" for why, count in kinds.items())
        return f"{self.asked - len(self.failed)} of {self.asked} samples ({len(self.failed)} gave no result: {reasons})"

    def band(self, name: str) -> Band:
        """The band of a number; of none, where no sample has it."""
        return band_of(self.values.get(name, np.empty(0)), f"5th to 95th percentile of {self.counted}")


def band_of(values: np.ndarray | Sequence[float], how: str) -> Band:
    """Band of some values; those that are no numbers are left out and not counted."""
    known = np.asarray(values, dtype=float)
    known = known[np.isfinite(known)]
    if not known.size:
        return Band(math.nan, math.nan, math.nan, 0, how)
    low, middle, high = np.percentile(known, (LOW, 50.0, HIGH))
    return Band(float(middle), float(low), float(high), int(known.size), how)


def ranges(car: "Car", measured: Sequence[str] = ()) -> tuple[Range, ...]:
    """Every band of a car that acts on a run. `measured` are paths (* and ? allowed) of values that have none.

    Limits are judgements, not unknowns, and are left out; so is the leak law of a gasket that does not leak.
    """
    found: list[Range] = []
    rows = inputs_of(car)
    for row in rows:
        path, band = row["path"], row["band"]
        if band is None or path.startswith("limits.") or (
            path.startswith("head_gasket.") and not car.head_gasket.leaks
        ):  # fmt: skip
            continue
        if row["given"]:
            half = abs((band[1] - band[0]) / (band[1] + band[0]))
            reach = half * abs(row["value"])
            ends: tuple[float, float] = (row["value"] - reach, row["value"] + reach)
            origin = f"given, with the half-width ({half:.0%}) of the declared band"
        else:
            ends, origin = (float(band[0]), float(band[1])), "declared band"
        found.append(_held(car, path, ends[0], ends[1], origin))
    for holder in dict.fromkeys(row["path"].rpartition(".")[0] for row in rows):
        found += _left_out(car, holder)
    found += _of_its_own(car)
    found = [_as_measured(car, one) for one in found]
    return tuple(r for r in found if r.high > r.low and not any(fnmatchcase(r.path, one) for one in measured))


def _as_measured(car: "Car", one: Range) -> Range:
    """The band that was measured for a value, where the car file carries one and its value still lies in it."""
    band = car.bands.get(one.path)
    if band is None or not band[0] <= 0.5 * (one.low + one.high) <= band[1]:
        return one
    return Range(one.path, band[0], band[1], "measured: [bands] of the car file")


def _of_its_own(car: "Car") -> list[Range]:
    """Bands that no single field declares: heat by its law, the cap's opening, weights, the tank's liquid, errors."""
    heat = car.engine.heat.to_coolant
    middle = heat if heat is not None else heat_by_law(car.engine.rated_power)
    if heat is None:
        ends, origin = (middle * HEAT_BAND[0], middle * HEAT_BAND[1]), "band of the law"
    else:
        half = (HEAT_BAND[1] - HEAT_BAND[0]) / (HEAT_BAND[1] + HEAT_BAND[0])
        ends = (middle * (1.0 - half), middle * (1.0 + half))
        origin = f"given, with the half-width ({half:.0%}) of the band of the law"
    found = [_held(car, HEAT, *ends, origin)]
    low, high = (share * car.cap.opening for share in car.cap.band)
    found.append(_held(car, OPENING, low, high, "acceptance limits of its rating"))
    band = facts(type(car.engine.heat), "cylinder_weights").band
    if band is not None:
        found += [
            Range(f"{WEIGHTS}.{place}", band[0] * weight, band[1] * weight, "declared band")
            for place, weight in enumerate(_weights(car))
        ]
    tank = car.expansion_tank
    if tank is not None:
        low, high = (tank.liquid * (1.0 + side * TANK_LIQUID) for side in (-1.0, 1.0))
        found.append(Range(LIQUID, low, min(high, 0.999 * tank.volume), "assumed: 5 % either way"))
    for name, sensor in car.sensors.items():
        error = sensor.error if sensor.kind is SensorKind.PRESSURE else TEMPERATURE_ERROR
        found.append(Range(OFFSET + name, -error, error, "greatest error of the sensor"))
    return found


def _weights(car: "Car") -> tuple[float, ...]:
    """Weight of each cylinder's heat, left bank then right bank, front to rear."""
    given, count = car.engine.heat.cylinder_weights, car.engine.cylinders_per_bank
    return given if len(given) == 2 * count else (given * (2 * count) if len(given) == 1 else given * 2)


def _left_out(car: "Car", holder: str) -> list[Range]:
    """Bands of the values of one part that the file leaves to a rule."""
    part = _part(car, holder)
    found = []
    for name in type(part).model_fields:
        known = facts(type(part), name)
        if known.band is None or known.measure is None or getattr(part, name) is not None:
            continue
        if isinstance(part, Line) and part.wall not in (Wall.SMOOTH, Wall.CONVOLUTED):
            continue  # the band is that of hose; tube and casting are known
        if isinstance(part, Sensor) and part.kind is SensorKind.PRESSURE:
            continue  # the band is that of temperature sensors; 3 ms are too quick to matter
        found.append(_held(car, f"{holder}.{name}" if holder else name, *known.band, "declared band"))
    return found


def _part(car: "Car", path: str) -> Any:
    here: Any = car
    for key in split_path(path) if path else ():
        if isinstance(here, dict):
            here = here[key]
        elif here is car and key not in type(car).model_fields:
            here = car.pumps[key] if key in car.pumps else car.exchangers[key]
        else:
            here = getattr(here, key)
    return here


def _held(car: "Car", path: str, low: float, high: float, origin: str) -> Range:
    """The band within the range that the field accepts."""
    holder, _, name = path.rpartition(".")
    known = facts(type(_part(car, holder)), name)
    least = -math.inf if known.low is None else known.low
    most = math.inf if known.high is None else known.high
    return Range(path, min(max(low, least), most), max(min(high, most), least), origin)


def place_of(car: "Car", path: str) -> Place:
    """Where the points of an input come from: the group is the part that it belongs to, the number its place among all
    that a part of this kind may leave open, drawn or not. Cylinder weights and the error of a sensor stand apart.
    """
    if path.startswith(OFFSET):
        return Place(path, 0)
    group, _, name = path.rpartition(".")
    if group == WEIGHTS:
        return Place(group, int(name))
    group = _own_part(car, path)
    own = [one.removeprefix(f"{group}.") for one in (HEAT, OPENING, LIQUID) if one.startswith(f"{group}.")]
    names = list(dict.fromkeys([*own, *_with_bands(type(_part(car, group)))]))
    return Place(group, names.index(path.removeprefix(f"{group}.")))


def _own_part(car: "Car", path: str) -> str:
    """Path of the part of the car, itself no part of a part, that an input belongs to."""
    keys = split_path(path)
    tops = (".".join(keys[:count]) for count in range(1, len(keys)))
    return next(top for top in tops if isinstance(_part(car, top), Part))


def _with_bands(kind: type[Part]) -> Iterator[str]:
    """Names of the fields with a declared band of a kind of part, and paths of those of the parts in it."""
    for name, field_ in kind.model_fields.items():
        inner = list(_kinds(field_.annotation))
        for one in inner:
            yield from (f"{name}.{path}" for path in _with_bands(one))
        if not inner and facts(kind, name).band is not None:
            yield name


def _kinds(annotation: Any) -> Iterator[type[Part]]:
    """The kinds of part that an annotation names, in its order."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        yield annotation
    for inner in typing.get_args(annotation):
        yield from _kinds(inner)


def _points(car: "Car", bands: Sequence[Range], n: int, seed: int) -> np.ndarray:
    """(n, bands) shares of the bands of a car."""
    return shares([place_of(car, one.path) for one in bands], n, seed)


def described(car: "Car", n: int, seed: int, measured: Sequence[str] = ()) -> str:
    """How the samples of `draw` are spread, in words, with the measured correlation of their columns."""
    bands = ranges(car, measured)
    together = largest_correlation(_points(car, bands, n, seed))
    less = " (no power of two: less even)" if n & (n - 1) else ""
    return (
        f"{n} scrambled Sobol' points{less}, seed {seed}, uniform in {len(bands)} declared bands of the car, one "
        f"sequence for each part; greatest rank correlation of two bands {together:.2f}"
    )


def draw(car: "Car", n: int = SAMPLES, seed: int = 1, measured: Sequence[str] = ()) -> list[Sample]:
    """`n` samples of a car; the same seed gives the same ones. They are evenest where n is a power of two.

    Raises DescriptionError when a sample is no car (a rule between fields that the bands do not know).
    """
    if n < 1:
        raise ValueError(f"{n} samples are none")
    bands = ranges(car, measured)
    points = _points(car, bands, n, seed)
    low, high = np.array([r.low for r in bands]), np.array([r.high for r in bands])
    found = []
    for number, row in enumerate(points):
        drawn = {r.path: float(value) for r, value in zip(bands, low + row * (high - low), strict=True)}
        _add_up(car, drawn, bands)
        errors = {name: drawn.get(OFFSET + name, 0.0) for name in car.sensors}
        weights = [drawn.pop(f"{WEIGHTS}.{place}", weight) for place, weight in enumerate(_weights(car))]
        values: dict[str, Any] = {path: value for path, value in drawn.items() if not path.startswith(OFFSET)}
        kept = dict(drawn)
        if weights != list(_weights(car)):
            values[WEIGHTS] = weights
            kept |= {f"{WEIGHTS}.{place}": weight for place, weight in enumerate(weights)}
        found.append(Sample(number, car.with_values(values), kept, errors))
    return found


def sample(car: "Car", n: int = SAMPLES, seed: int = 1, measured: Sequence[str] = ()) -> "list[Car]":
    """The cars of `draw`."""
    return [one.car for one in draw(car, n, seed, measured)]


def _add_up(car: "Car", drawn: dict[str, float], bands: Sequence[Range]) -> None:
    """Move the heat's three shares within their bands until they add up to 1; each by its room in that direction."""
    room = {r.path: (r.low, r.high) for r in bands if r.path in SHARES}
    fixed = sum(float(getattr(car.engine.heat, path.rpartition(".")[2])) for path in SHARES if path not in room)
    short = 1.0 - fixed - sum(drawn[path] for path in room)
    gaps = {path: (high - drawn[path] if short > 0 else drawn[path] - low) for path, (low, high) in room.items()}
    total = sum(gaps.values())
    for path, gap in gaps.items():
        if total > 0.0:
            drawn[path] += short * gap / total


@dataclass
class _Kept:
    """What samples gave so far."""

    rows: list[Mapping[str, float]] = field(default_factory=list)
    failed: list[tuple[int, str]] = field(default_factory=list)


def spread(
    car: "Car", day: "Day", n: int, evaluate: Callable[[Sample, "Day"], Mapping[str, float]], *, seed: int = 1,
    measured: Sequence[str] = (), progress: Callable[[int, int], None] | None = None,
) -> Spread:  # fmt: skip
    """`evaluate` over `n` samples of a car, one after the other; `progress(done, all)` is called after each.

    `evaluate` gives numbers by name; what was drawn is kept beside them, under `DRAWN` + path. A sample for which it
    raises SampleFailed or DescriptionError is counted and reported with the reason, never dropped in silence.
    """
    kept = _Kept()
    samples = draw(car, n, seed, measured)
    for done, one in enumerate(samples, 1):
        try:
            row = evaluate(one, day)
            kept.rows.append({f"{DRAWN}{path}": value for path, value in one.values.items()} | dict(row))
        except SampleFailed as error:
            kept.failed.append((one.number, str(error)))
        except DescriptionError as error:
            kept.failed.append((one.number, error.problems[0].what))
        if progress is not None:
            progress(done, len(samples))
    names = dict.fromkeys(name for row in kept.rows for name in row)
    values = {name: np.array([row.get(name, math.nan) for row in kept.rows]) for name in names}
    return Spread(values, len(samples), tuple(kept.failed), described(car, n, seed, measured))
