"""What readings may change: values of the car, its air, sensor offsets; each with its prior from a declared band.

A prior is normal in the value, or in its logarithm; half the width of its band is two standard deviations.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING, Any

from sim1d.calibrate.readings import BoilingCheck, Stage, Thermal
from sim1d.calibrate.subject import Subject, chain_of, spilled
from sim1d.parts.base import facts, measure_of
from sim1d.parts.line import Line, Wall
from sim1d.parts.sensor import SensorKind
from sim1d.units import Measure, TemperatureDifference, Volume

if TYPE_CHECKING:
    from sim1d.car import Car

CASTING = 0.15  # of the volume of block and heads, either way: assumed, taken from drawings or a data sheet
TANKS = 0.30  # of the tanks of a radiator: assumed, their shape is seldom known
MARK = 0.05  # of the liquid in the tank at its mark: assumed, a level read against a line
AIR = 4.0e-4  # m3 of hidden air: assumed, a gulp the size of one cylinder's passages and its hose
OFFSET = 2.0  # K of a temperature sensor: assumed; IEC 60751 class B has 0.8 K at 95 degC
GAINED = 2.0e-4  # m3 of gas gained: assumed, some hundred mL is what a leaking gasket leaves in a day
CURVE = 0.15  # of a pump's shut-off rise and run-out flow: assumed, wear, clearance and a catalogue's spread
HOLE = 0.10  # of the diameter of transfer holes: assumed, drilled and punched holes with burrs
HEAT = (0.65, 1.45)  # of the heat to coolant: the band of the law that gives it where the file does not
RATED = 0.15  # of the rated heat of a radiator: assumed, a bench against a car with bent fins and leaks round the core
SLOW = (0.5, 2.0)  # of the metal that follows slowly: assumed


class Slot(Enum):
    """Where a parameter acts."""

    CAR = "car"  # values of the car file, by path
    AIR = "air"  # hidden air at one place
    OFFSET = "offset"  # of a sensor; a car file has no place for it
    GAINED = "gained"  # gas that came in; a finding, no property of the car


@dataclass(frozen=True)
class Parameter:
    """One unknown: `value` in SI, or a factor on every target of `targets` (path, value in the file).

    `sd` is the prior standard deviation of its value, or of its logarithm (`log`); `low`, `high` what is accepted.
    """

    key: str
    title: str
    stage: Stage
    value: float
    sd: float
    low: float
    high: float
    origin: str
    measure: Measure | None
    log: bool = False
    slot: Slot = Slot.CAR
    targets: tuple[tuple[str, Any], ...] = ()
    factor: bool = False

    def at(self, z: float) -> float:
        """Value at `z` prior standard deviations from the prior."""
        found = self.value * math.exp(z * self.sd) if self.log else self.value + z * self.sd
        return min(max(found, self.low), self.high)

    def z_of(self, value: float) -> float:
        """Inverse of `at`."""
        return math.log(value / self.value) / self.sd if self.log else (value - self.value) / self.sd

    @property
    def bounds(self) -> tuple[float, float]:
        """Accepted range in prior standard deviations."""
        low = -math.inf if self.log and self.low <= 0.0 else self.z_of(self.low)
        return low, self.z_of(self.high)

    def changes(self, value: float) -> dict[str, Any]:
        """Values of the car file, by path."""
        if not self.factor:
            return {path: value for path, _ in self.targets}
        return {path: _times(base, value) for path, base in self.targets}

    def bands(self, low: float, high: float) -> dict[str, tuple[float, float]]:
        """Bands of the numbers of the car file, by path, when its own is `low` to `high`; a list has none."""
        if not self.factor:
            return {path: (_digits(low), _digits(high)) for path, _ in self.targets}
        numbers = {path: base for path, base in self.targets if isinstance(base, (int, float))}
        return {path: (_digits(base * low), _digits(base * high)) for path, base in numbers.items()}


def _times(base: Any, factor: float) -> Any:
    return [_digits(one * factor) for one in base] if isinstance(base, (list, tuple)) else _digits(base * factor)


def _digits(value: float) -> float:
    """Nine significant digits: what a file can show and no reading can tell apart."""
    return float(f"{value:.9g}")


def moved(base: Subject, values: Mapping[str, float], parameters: Sequence[Parameter]) -> Subject:
    """The subject with parameters (by key) at new values."""
    changes: dict[str, Any] = {}
    offset, gained, booked = dict(base.offset), base.gained, None
    for one in parameters:
        if one.key not in values:
            continue
        value = values[one.key]
        if one.slot is Slot.CAR:
            changes |= one.changes(value)
        elif one.slot is Slot.AIR:
            booked = value
        elif one.slot is Slot.OFFSET:
            offset[one.key.removeprefix("offset of ")] = value
        else:
            gained = value
    car = base.car.with_values(changes)
    air = base.air if booked is None else spilled(car, base.air_place, booked, base.air)
    return replace(base, car=car, air=air, offset=offset, gained=gained)


def parameters_of(base: Subject, readings: Sequence[Any] = ()) -> tuple[Parameter, ...]:
    """Every parameter that the readings of this package can bear on; sensors only where a reading names them."""
    found = [*_statics(base, readings), *_flow(base.car), *_heat(base.car)]
    return tuple(one for one in found if one.sd > 0.0 and one.low < one.high)


def _holder(car: "Car", path: str) -> tuple[Any, str]:
    """The part that holds the value at a path, and the name of its field."""
    here: Any = car
    *keys, name = path.split(".")
    for key in keys:
        if here is car and key in car.pumps:
            here = car.pumps[key]
        else:
            here = here[key] if isinstance(here, dict) else getattr(here, key)
    return here, name


def _known(car: "Car", path: str, title: str, stage: Stage, low: float, high: float, origin: str) -> Parameter:
    """A field whose relative band is `low` to `high`, in its logarithm; nothing where it is zero."""
    holder, name = _holder(car, path)
    known = facts(type(holder), name)
    value = getattr(holder, name)
    value = 0.0 if value is None else float(value)
    least = 0.0 if known.low is None else known.low
    most = math.inf if known.high is None else known.high
    if value <= 0.0:
        return Parameter(path, title, stage, 0.0, 0.0, 0.0, 0.0, origin, known.measure)
    sd = math.log(high / low) / 4.0
    return Parameter(
        path, title, stage, value, sd, max(least, value * 1e-2), min(most, value * 1e2), origin, known.measure,
        log=True, targets=((path, value),),
    )  # fmt: skip


def _declared(car: "Car", path: str, title: str, stage: Stage) -> Parameter:
    """A field with a band of its own: the relative width of that band round the value of the file."""
    holder, name = _holder(car, path)
    known = facts(type(holder), name)
    assert known.band is not None, path
    low, high = known.band
    return _known(car, path, title, stage, low, high, f"declared band, {high / low:.2g} from end to end")


def _statics(base: Subject, readings: Sequence[Any]) -> list[Parameter]:
    car, stage = base.car, Stage.STATICS
    cast = f"assumed: {CASTING:.0%} either way, from drawings or a data sheet"
    volume, kelvin = measure_of(Volume), measure_of(TemperatureDifference)
    found = [
        _known(car, "engine.block.volume", "coolant in the block", stage, 1 - CASTING, 1 + CASTING, cast),
        _known(car, "engine.head.volume", "coolant in one head", stage, 1 - CASTING, 1 + CASTING, cast),
    ]
    if car.radiator is not None:
        found += [
            _known(
                car, "radiator.tank_volume", "coolant in one tank of the radiator", stage, 1 - TANKS, 1 + TANKS,
                f"assumed: {TANKS:.0%} either way",
            ),
            _declared(car, "radiator.compliance", "give of the radiator", stage),
        ]  # fmt: skip
    soft = [
        name for name, line in car.lines.items()
        if line.stiffness is None and line.wall in (Wall.SMOOTH, Wall.CONVOLUTED)
    ]  # fmt: skip
    if soft:
        band = facts(Line, "stiffness").band
        assert band is not None
        targets = tuple((f"lines.{name}.stiffness", car.lines[name].modulus) for name in soft)
        found.append(
            Parameter(
                "hose stiffness", "stiffness of hoses over what is assumed by wall", stage, 1.0,
                math.log(band[1] / band[0]) / 4.0, 0.06, 15.0, "declared band of the stiffness of a hose", None,
                log=True, targets=targets, factor=True,
            )
        )  # fmt: skip
    tank = car.expansion_tank
    if tank is not None:
        found.append(
            Parameter(
                "expansion_tank.liquid", "liquid in the tank at its mark", stage, tank.liquid,
                max(MARK * tank.liquid / 2.0, 1e-6), 1e-4, 0.98 * tank.volume, f"assumed: {MARK:.0%} either way",
                volume, targets=(("expansion_tank.liquid", tank.liquid),),
            )
        )  # fmt: skip
    found.append(
        Parameter(
            f'trapped_air."{base.air_place}"', f"air hidden in {base.air_place}", stage,
            base.air.get(base.air_place, 0.0), AIR / 2.0, 0.0,
            0.8 * sum(min(car.room(name), 0.01) for name in chain_of(car, base.air_place)),
            "assumed: 0.4 L more or less than the fill leaves",
            volume, slot=Slot.AIR,
        )
    )  # fmt: skip
    found.append(
        _known(car, "cap.opening", "rating of the cap", stage, *car.cap.band, "declared band of a new cap")
    )
    found.append(
        Parameter(
            "gas gained", "gas that came in while it ran", stage, 0.0, GAINED / 2.0, 0.0, 0.01,
            "assumed: none, at most some hundred mL", volume, slot=Slot.GAINED,
        )
    )  # fmt: skip
    named = [
        one.where for one in readings if isinstance(one, (BoilingCheck, Thermal)) and one.where is not None
    ]
    for name in dict.fromkeys(named):
        sensor = car.sensors[name]
        if sensor.kind is not SensorKind.TEMPERATURE:
            continue
        found.append(
            Parameter(
                f"offset of {name}", f"what {name} shows above the truth", stage, 0.0, OFFSET / 2.0, -30.0, 30.0,
                f"assumed: {OFFSET:g} K either way", kelvin, slot=Slot.OFFSET,
            )
        )  # fmt: skip
        path = f"sensors.{name}.time_constant"
        band = facts(type(sensor), "time_constant").band
        assert band is not None
        found.append(
            Parameter(
                path, f"time constant of {name}", stage, sensor.lag, math.log(band[1] / band[0]) / 4.0, 0.05, 100.0,
                "declared band", facts(type(sensor), "time_constant").measure, log=True, targets=((path, sensor.lag),),
            )
        )  # fmt: skip
    return found


def _flow(car: "Car") -> list[Parameter]:
    stage, found = Stage.FLOW, []
    spread = f"assumed: {CURVE:.0%} either way"
    for name, pump in car.pumps.items():
        if pump.points:
            rows = {"rise": "rise", "flow": "flow"}
            for key, title in rows.items():
                targets = tuple(
                    (f"{name}.points.{i}.{key}", float(getattr(point, key))) for i, point in enumerate(pump.points)
                )
                found.append(
                    Parameter(
                        f"{name}.points {key}", f"{title} of the measured curve of {name} over what the file says",
                        stage, 1.0, math.log((1 + CURVE) / (1 - CURVE)) / 4.0, 0.2, 4.0, spread, None, log=True,
                        targets=targets, factor=True,
                    )
                )  # fmt: skip
        else:
            for key, title in (("shutoff_pressure", "shut-off rise"), ("runout_flow", "run-out flow")):
                found.append(_known(car, f"{name}.{key}", f"{title} of {name}", stage, 1 - CURVE, 1 + CURVE, spread))
    if car.radiator is not None:
        found.append(_declared(car, "radiator.core_loss_factor", "water-side loss of the core over the law", stage))
    found += [
        _declared(car, "engine.block.loss_coefficient", "loss coefficient of a block jacket", stage),
        _declared(car, "engine.head.loss_coefficient", "loss coefficient of a head passage", stage),
        Parameter(
            "engine.gasket.hole_diameter", "diameter of the transfer holes over what the file says", stage, 1.0,
            math.log((1 + HOLE) / (1 - HOLE)) / 4.0, 0.3, 2.0, f"assumed: {HOLE:.0%} either way", None, log=True,
            targets=(("engine.gasket.hole_diameter", list(car.engine.gasket.hole_diameter)),), factor=True,
        ),
    ]  # fmt: skip
    return found


def _heat(car: "Car") -> list[Parameter]:
    from sim1d.parts.engine_heat import heat_by_law

    stage, twice = Stage.HEAT, "assumed: twice or half"
    given = car.engine.heat.to_coolant
    heat = heat_by_law(car.engine.rated_power) if given is None else given
    path = "engine.heat.to_coolant"
    found = [
        Parameter(
            path, "heat to coolant at rated speed and load", stage, heat, math.log(HEAT[1] / HEAT[0]) / 4.0, 1e3, 3e6,
            "band of the law that gives it where the file does not",
            facts(type(car.engine.heat), "to_coolant").measure, log=True, targets=((path, heat),),
        ),
        _known(car, "engine.block.slow_mass", "slow metal of the block per cylinder", stage, *SLOW, twice),
        _known(car, "engine.head.slow_mass", "slow metal of a head per cylinder", stage, *SLOW, twice),
    ]  # fmt: skip
    if car.radiator is not None:
        found.append(_declared(car, "radiator.fins.air_factor", "air side of the core over the law", stage))
        if car.radiator.rated is not None:  # which sets the air side, whatever its factor: what is fitted is the rating
            found.append(
                _known(
                    car, "radiator.rated.heat", "rated heat of the radiator", stage, 1 - RATED, 1 + RATED,
                    f"assumed: {RATED:.0%} either way",
                )
            )  # fmt: skip
        if car.radiator.fan is not None and not car.radiator.fan.failed:
            found.append(_declared(car, "radiator.fan.flow", "free flow of the fan", stage))
            found.append(_declared(car, "radiator.fan.pressure", "pressure of the fan at no flow", stage))
    return found
