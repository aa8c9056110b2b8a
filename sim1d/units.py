"""The one door for people's units: text with a unit goes in, SI goes on (`sim1d.display` brings both out again).

A plain number is SI. Text carries its unit: "30 in", "22 psi", "180 degF", "2.5 gal", "1-1/4 in", "7500 rpm". Size
fields also take "dash 16". Common units are converted here; pint knows the rest, and says what a wrong one measures.
"""

import difflib
import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any

from pydantic_core import core_schema

PSI = 4.4482216152605 / 0.0254**2  # Pa, by definition: pound-force over square inch
STANDARD_GRAVITY = 9.80665  # m/s2, by definition

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_FRACTION = re.compile(r"^\s*([+-]?)(?:(\d+)[-\s]+)?(\d+)\s*/\s*(\d+)\s*(?=[^\d\s/])(.*?)\s*$")
_DECIMAL = re.compile(rf"^\s*({_NUMBER})\s*(.*?)\s*$")
# What most files are written in: SI unit as pint spells it, and factor, exact by definition (NIST Special Publication
# 811). pint reads everything else; it gives the same numbers, as a test holds, but takes half a second to start.
_LITRE, _INCH, _POUND_FORCE, _GALLON = 1e-3, 0.0254, 4.4482216152605, 231 * 0.0254**3
_FACTORS: dict[str, tuple[str, float]] = {
    **{"m": ("m", 1.0), "mm": ("m", 1e-3), "cm": ("m", 1e-2), "um": ("m", 1e-6)},
    **{"in": ("m", _INCH), "ft": ("m", 0.3048)},
    **{"m**2": ("m**2", 1.0), "cm**2": ("m**2", 1e-4), "mm**2": ("m**2", 1e-6), "in**2": ("m**2", _INCH**2)},
    **{"m**3": ("m**3", 1.0), "L": ("m**3", _LITRE), "mL": ("m**3", 1e-6), "cc": ("m**3", 1e-6)},
    **{"gal": ("m**3", _GALLON), "qt": ("m**3", _GALLON / 4)},
    **{"kg": ("kg", 1.0), "g": ("kg", 1e-3), "lb": ("kg", 0.45359237), "K": ("K", 1.0)},
    **{"delta_degC": ("K", 1.0), "delta_degF": ("K", 5 / 9)},
    **{"Pa": ("Pa", 1.0), "kPa": ("Pa", 1e3), "MPa": ("Pa", 1e6), "bar": ("Pa", 1e5), "psi": ("Pa", PSI)},
    **{"W": ("W", 1.0), "kW": ("W", 1e3), "hp": ("W", 550 * 0.3048 * _POUND_FORCE)},
    **{"rad/s": ("rad/s", 1.0), "rpm": ("rad/s", math.pi / 30)},
    **{"m/s": ("m/s", 1.0), "km/h": ("m/s", 1 / 3.6), "mph": ("m/s", 0.44704), "ft/s": ("m/s", 0.3048)},
    **{"m**3/s": ("m**3/s", 1.0), "L/min": ("m**3/s", _LITRE / 60), "gpm": ("m**3/s", _GALLON / 60)},
    **{"cfm": ("m**3/s", 0.3048**3 / 60), "s": ("s", 1.0), "min": ("s", 60.0), "h": ("s", 3600.0)},
    **{"rad": ("rad", 1.0), "deg": ("rad", math.pi / 180), "V": ("V", 1.0), "A": ("A", 1.0), "ohm": ("ohm", 1.0)},
    **{"m/s**2": ("m/s**2", 1.0), "standard_gravity": ("m/s**2", STANDARD_GRAVITY), "%": ("1", 1e-2)},
    **{"W/K": ("W/K", 1.0), "J/K": ("J/K", 1.0), "kJ/K": ("J/K", 1e3), "mL/kPa": ("m**3/Pa", 1e-9)},
}
_OFFSETS = {"degC": (1.0, 273.15), "degF": (5 / 9, 459.67 * 5 / 9)}  # K = factor * number + offset
_COMMON_UNITS = [unit.replace("**", "") for unit in (*_FACTORS, *_OFFSETS) if unit[:5] not in ("delta", "stand")]
_COMMON_UNITS += ["inHg", "kW/m2", "W/m2/K"]


class BadValue(ValueError):
    """A value that cannot be used: `what` is wrong with it and how to `fix` it (pydantic keeps the exception)."""

    def __init__(self, what: str, fix: str):
        self.what, self.fix = what, fix
        super().__init__(f"{what}. Fix: {fix}")

    def __reduce__(self):
        return type(self), (self.what, self.fix)


def shorten(value: Any) -> str:
    """A value as it would stand in Python, cut to 60 characters, so that a message never echoes a page of noise."""
    if isinstance(value, int) and abs(value) > 10**60:
        return "a number of that size"
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


@lru_cache(maxsize=1)
def _registry():
    import pint

    registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=False, cache_folder=None)
    for line in ("gpm = gallon / minute", "cfm = foot ** 3 / minute", "lpm = liter / minute"):
        registry.define(line)
    return registry


def split(text: str) -> tuple[float, str]:
    """Number and unit of "30 in", "1-1/4 in", "7/8 in" or "1.5e-3 m3"; ValueError if it starts with no number."""
    match = _FRACTION.match(text)
    if match and int(match[4]) != 0:
        sign = -1.0 if match[1] == "-" else 1.0
        return sign * (int(match[2] or 0) + int(match[3]) / int(match[4])), match[5]
    match = _DECIMAL.match(text)
    if not match:
        raise ValueError(text)
    return float(match[1]), match[2]


@dataclass(frozen=True)
class Measure:
    """What a number measures: the annotation that makes a pydantic field accept SI numbers and text with a unit.

    `unit` is the SI unit in pint's spelling; `aliases` are spellings that only make sense for this measure ("g" is
    standard gravity for an acceleration and nothing else); `forbidden` are spellings that belong to its look-alike.
    """

    name: str
    unit: str
    example: str
    aliases: tuple[tuple[str, str], ...] = ()
    forbidden: tuple[tuple[str, str], ...] = ()

    def read(self, value: Any) -> float:
        """SI value of a number or of text with a unit. Raises BadValue, which says what would be right."""
        if isinstance(value, bool) or not isinstance(value, (int, float, str)):
            raise BadValue(f"{shorten(value)} is not {self.phrase}", self.advice)
        if isinstance(value, str):
            return _read_text(self, value)
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise BadValue(f"{shorten(value)} is not a finite number", self.advice)
        return number

    @property
    def phrase(self) -> str:
        """The measure with its article: "a length", "an acceleration"."""
        return ("an " if self.name[0] in "aeio" else "a ") + self.name

    @property
    def advice(self) -> str:
        if self.unit == "1":
            return f"write a number without quotes, for example {self.example}"
        return f'write a number in SI ({self.unit}) or text with a unit, for example "{self.example}"'

    def __get_pydantic_core_schema__(self, source, handler):
        return core_schema.no_info_before_validator_function(self.read, handler(source))

    def __get_pydantic_json_schema__(self, schema, handler):
        text = {"type": "string", "examples": [self.example]}
        return {"anyOf": [{"type": "number"}, text], "unit": self.unit, "measure": self.name}


@lru_cache(maxsize=4096)
def _read_text(measure: Measure, text: str) -> float:
    shown = text if len(text) <= 60 else text[:57] + "..."  # never echo a page of noise
    try:
        number, unit = split(text)
    except ValueError:
        raise BadValue(f'"{shown}" does not start with a number', measure.advice) from None
    if re.match(r",\d", unit):
        raise BadValue(f'"{shown}" has a decimal comma', "write a decimal point: 2.5, not 2,5") from None
    if not math.isfinite(number):
        raise BadValue(f'"{shown}" is not a finite number', measure.advice)
    unit = re.sub(r"\s+", " ", unit.replace("°", "deg").replace("µ", "u").replace("²", "2").replace("³", "3")).strip()
    if not unit:
        if measure.unit == "1":
            raise BadValue(f'"{shown}" is text', "write the number without quotes")
        raise BadValue(f'"{shown}" has no unit', measure.advice)
    for spelling, reason in measure.forbidden:
        if unit == spelling:
            raise BadValue(f'"{shown}" does not fit: {reason}', measure.advice)
    unit = dict(measure.aliases).get(unit, unit)
    unit = re.sub(r"(?<![\w])(m|mm|cm|in|ft|s)([234])(?![\w])", r"\1**\2", unit)  # m3/s, in2, m/s2
    if measure.unit == "K" and unit in _OFFSETS:
        factor, offset = _OFFSETS[unit]
        return factor * number + offset
    target, factor = _FACTORS.get(unit, ("", 0.0))
    if target == measure.unit:
        return factor * number
    registry = _registry()
    try:
        quantity = registry.Quantity(number, registry.Unit(unit))
    except Exception:  # pint raises many kinds for text that is no unit
        near = difflib.get_close_matches(unit, _COMMON_UNITS, n=1, cutoff=0.5)
        hint = f'did you mean "{near[0]}"? ' if near else ""
        raise BadValue(f'"{unit[:40]}" is no known unit', hint + measure.advice) from None
    target = "dimensionless" if measure.unit == "1" else measure.unit
    try:
        return float(quantity.to(target).magnitude)
    except Exception:
        other = _name_of(quantity)
        raise BadValue(f'"{shown}" is {other}, not {measure.phrase}', measure.advice) from None


def _name_of(quantity) -> str:
    for measure in MEASURES:
        if measure.unit != "1" and quantity.check(_registry().Unit(measure.unit).dimensionality):
            return measure.phrase if "pressure" not in measure.name else "a pressure"
    return "something else"


_DEGREES = tuple((text, "degC") for text in ("C", "deg C", "celsius")) + tuple(
    (text, "degF") for text in ("F", "deg F", "fahrenheit")
)
_DELTAS = tuple((text, "delta_" + unit) for text, unit in (*_DEGREES, ("degC", "degC"), ("degF", "degF")))
_GAUGE = tuple((text, "psi") for text in ("psig", "psi g", "psi gauge")) + tuple(
    (f"{unit} {word}", unit) for unit in ("kPa", "Pa", "bar", "MPa") for word in ("g", "gauge")
)
_ABSOLUTE = tuple((text, "psi") for text in ("psia", "psi a", "psi abs", "psi absolute")) + tuple(
    (f"{unit} {word}", unit) for unit in ("kPa", "Pa", "bar", "MPa") for word in ("abs", "absolute", "a")
)
_NOT_ABSOLUTE = tuple((text, "this pressure is gauge (above ambient)") for text, _ in _ABSOLUTE)
_NOT_GAUGE = tuple((text, "this pressure is absolute (above vacuum)") for text, _ in _GAUGE)
_WATER = (("gal/min", "gallon/minute"), ("USgpm", "gpm"), ("l/min", "L/min"), ("lpm", "L/min"))

_length = Measure("length", "m", "30 in")
_area = Measure("area", "m**2", "4 in2")
_volume = Measure("volume", "m**3", "2.5 gal", aliases=(("oz", "floz"), ("l", "L")))
_temperature = Measure("temperature", "K", "180 degF", aliases=_DEGREES)
_temperature_difference = Measure("temperature difference", "K", "20 degF", aliases=_DELTAS)
_gauge_pressure = Measure("gauge pressure", "Pa", "22 psi", aliases=_GAUGE, forbidden=_NOT_ABSOLUTE)
_absolute_pressure = Measure("absolute pressure", "Pa", "101.3 kPa", aliases=_ABSOLUTE, forbidden=_NOT_GAUGE)
_pressure_difference = Measure("pressure difference", "Pa", "5 psi", forbidden=_NOT_ABSOLUTE + _NOT_GAUGE)
_power = Measure("power", "W", "1000 hp")
_rotational_speed = Measure("rotational speed", "rad/s", "7500 rpm")
_velocity = Measure("velocity", "m/s", "120 km/h", aliases=(("kmh", "km/h"), ("kph", "km/h")))
_volume_flow = Measure("volume flow", "m**3/s", "55 gpm", aliases=_WATER)
_duration = Measure("duration", "s", "6 s", aliases=(("sec", "s"),))
_mass = Measure("mass", "kg", "5 lb")
_angle = Measure("angle", "rad", "28 deg")
_heat_per_mass = Measure("heat per mass", "J/kg", "2.84 MJ/kg")
_acceleration = Measure(
    "acceleration", "m/s**2", "1.5 g", aliases=(("g", "standard_gravity"), ("gee", "standard_gravity"))
)
_voltage = Measure("voltage", "V", "13.5 V")
_current = Measure("current", "A", "12 A")
_resistance = Measure("electrical resistance", "ohm", "20 mohm")
_conductance = Measure("thermal conductance", "W/K", "300 W/K")
_heat_film = Measure("heat transfer coefficient", "W/m**2/K", "1500 W/m2/K")
_conductivity = Measure("thermal conductivity", "W/m/K", "150 W/m/K")
_heat_capacity = Measure("heat capacity", "J/K", "9 kJ/K")
_compliance = Measure("compliance", "m**3/Pa", "0.5 mL/kPa")
_stress = Measure("stress", "Pa", "20 MPa")
_density = Measure("density", "kg/m**3", "998 kg/m**3")
_gap_rate = Measure("gap per pressure", "m/Pa", "1.5 um/bar")
_number = Measure("number", "1", "0.8")

MEASURES = (
    *(_length, _area, _volume, _temperature, _gauge_pressure, _power, _rotational_speed, _velocity, _volume_flow),
    *(_duration, _mass, _angle, _heat_per_mass, _acceleration, _voltage, _current, _resistance, _conductance),
    *(_heat_film, _conductivity, _heat_capacity, _compliance, _density, _gap_rate, _number),
)

Length = Annotated[float, _length]
Area = Annotated[float, _area]
Volume = Annotated[float, _volume]
Temperature = Annotated[float, _temperature]
TemperatureDifference = Annotated[float, _temperature_difference]
GaugePressure = Annotated[float, _gauge_pressure]
AbsolutePressure = Annotated[float, _absolute_pressure]
PressureDifference = Annotated[float, _pressure_difference]
Power = Annotated[float, _power]
RotationalSpeed = Annotated[float, _rotational_speed]
Velocity = Annotated[float, _velocity]
VolumeFlow = Annotated[float, _volume_flow]
Duration = Annotated[float, _duration]
Mass = Annotated[float, _mass]
Angle = Annotated[float, _angle]
HeatPerMass = Annotated[float, _heat_per_mass]
Acceleration = Annotated[float, _acceleration]
Voltage = Annotated[float, _voltage]
Current = Annotated[float, _current]
Resistance = Annotated[float, _resistance]
Conductance = Annotated[float, _conductance]
HeatFilm = Annotated[float, _heat_film]
Conductivity = Annotated[float, _conductivity]
HeatCapacity = Annotated[float, _heat_capacity]
Compliance = Annotated[float, _compliance]
Stress = Annotated[float, _stress]
Density = Annotated[float, _density]
GapRate = Annotated[float, _gap_rate]
Number = Annotated[float, _number]


# Dash size n is n/16 in of tube outside diameter; the bore of a hose of that size is smaller. Bores of the SAE 100R5
# type (SAE J517), in inches: -6 to -20 read in a hose maker's selection table, -3 to -5, -24 and -32 recalled.
DASH_BORE_IN = {3: 1 / 8, 4: 3 / 16, 5: 1 / 4, 6: 5 / 16, 8: 13 / 32, 10: 1 / 2, 12: 5 / 8, 16: 7 / 8, 20: 9 / 8}
DASH_BORE_IN |= {24: 11 / 8, 32: 29 / 16}


@dataclass(frozen=True)
class LineSize:
    """Size of a line: bore (m) and, for a dash size, the optimistic nominal bore n/16 in (m) that is often quoted.

    A dash size is no measured bore: -16 is 22.2 mm in a hose of the SAE 100R5 type, 25.4 mm nominal, and the pressure
    drop differs by a factor 1.9. So a measured bore, where given, wins over the size.
    """

    bore: float
    nominal: float
    dash: int | None = None

    def __str__(self) -> str:
        return f"dash {self.dash}" if self.dash else f"{self.bore * 1000:g} mm"

    @classmethod
    def read(cls, value: Any) -> "LineSize":
        """Size from "dash 16", "-16", text with a length ("1.5 in", the bore) or metres. Raises BadValue."""
        if isinstance(value, LineSize):
            return value
        match = (
            re.fullmatch(r"\s*(?:dash\s*-?|-)\s*(\d+)\s*(?:AN)?\s*", value, re.I) if isinstance(value, str) else None
        )
        if match is None:
            try:
                bore = _length.read(value)
            except BadValue as error:
                fix = 'write a dash size ("dash 16") or a bore ("38 mm", "1.5 in", 0.038)'
                raise BadValue(error.what, fix) from None
            if not 0.001 <= bore <= 0.15:
                raise BadValue(f"a bore of {bore:g} m is no line", "give a bore between 1 mm and 150 mm")
            return cls(bore, bore)
        dash = int(match[1])
        if dash not in DASH_BORE_IN:
            sizes = ", ".join(str(size) for size in DASH_BORE_IN)
            raise BadValue(f"there is no dash {dash}", f"use one of dash {sizes}, or give the bore")
        return cls(DASH_BORE_IN[dash] * 0.0254, dash / 16 * 0.0254, dash)

    @classmethod
    def __get_pydantic_core_schema__(cls, source, handler):
        def write(size: "LineSize") -> str | float:
            return f"dash {size.dash}" if size.dash else size.bore

        return core_schema.no_info_plain_validator_function(
            cls.read, serialization=core_schema.plain_serializer_function_ser_schema(write)
        )

    @classmethod
    def __get_pydantic_json_schema__(cls, schema, handler):
        text = {"type": "string", "examples": ["dash 16", "38 mm", "1.5 in"]}
        return {"anyOf": [{"type": "number"}, text], "unit": "m", "measure": "line size"}
