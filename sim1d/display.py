"""Numbers as a workshop reads them: SI and US units side by side, "g" or "abs" behind every pressure."""

import math

from sim1d.units import PSI, STANDARD_GRAVITY, Measure

US_GALLON = 3.785411784  # L, exact
POUND = 0.45359237  # kg, exact


def show_pressure(value: float, kind: str = "g") -> str:
    """Pa -> "152 kPa g (22.0 psi g)"; `kind` is "g" (gauge), "abs" or "" (a difference)."""
    tail = f" {kind}" if kind else ""
    return f"{value / 1000:.4g} kPa{tail} ({value / PSI:.3g} psi{tail})"


def show_temperature(value: float) -> str:
    """K -> "82.2 C (180 F)"."""
    celsius = value - 273.15
    return f"{celsius:.1f} C ({celsius * 1.8 + 32:.0f} F)"


def show_temperature_difference(value: float) -> str:
    """K -> "22.0 K (39.6 F)"."""
    return f"{value:z.1f} K ({value * 1.8:z.1f} F)"  # z: what rounds to zero has no sign


def show_flow(value: float) -> str:
    """m3/s -> "165 L/min (43.6 US gal/min)"."""
    return f"{value * 60000:.3g} L/min ({value * 60000 / US_GALLON:.3g} US gal/min)"


def show_length(value: float) -> str:
    """m -> "38 mm (1.5 in)"; from 1 m in metres and feet."""
    if abs(value) >= 1:
        return f"{value:.3g} m ({value / 0.3048:.3g} ft)"
    return f"{value * 1000:.3g} mm ({value / 0.0254:.3g} in)"


def show_volume(value: float) -> str:
    """m3 -> "12.2 L (3.22 US gal)"."""
    return f"{value * 1000:.3g} L ({value * 1000 / US_GALLON:.3g} US gal)"


def show_mass(value: float) -> str:
    """kg -> "0.566 kg (1.248 lb)"."""
    return f"{value:.3f} kg ({value / POUND:.3f} lb)"


def show_power(value: float) -> str:
    """W -> "350 kW (469 hp)"."""
    return f"{value / 1000:.4g} kW ({value / 745.69987158227:.4g} hp)"


def show_speed(value: float) -> str:
    """m/s -> "120 km/h (74.6 mph)"."""
    return f"{value * 3.6:.3g} km/h ({value / 0.44704:.3g} mph)"


def show_rotation(value: float) -> str:
    """rad/s -> "7500 rpm"."""
    return f"{value * 30 / math.pi:.0f} rpm"


_SHOWN = {
    "length": show_length,
    "volume": show_volume,
    "temperature": show_temperature,
    "temperature difference": show_temperature_difference,
    "gauge pressure": show_pressure,
    "absolute pressure": lambda value: show_pressure(value, "abs"),
    "pressure difference": lambda value: show_pressure(value, ""),
    "power": show_power,
    "velocity": show_speed,
    "volume flow": show_flow,
    "rotational speed": show_rotation,
    "acceleration": lambda value: f"{value:.3g} m/s2 ({value / STANDARD_GRAVITY:.3g} g)",
    "duration": lambda value: f"{value:g} s",
    "angle": lambda value: f"{math.degrees(value):.3g} deg",
    "number": lambda value: f"{value:g}",
}


def show(value: float, measure: Measure | None) -> str:
    """A value in SI as a person reads it; falls back to the SI unit where there is no workshop unit."""
    if measure is None:
        return f"{value:g}"
    return _SHOWN.get(measure.name, lambda number: f"{number:.4g} {measure.unit}")(value)


def shown(value: float, unit: str) -> str:
    """A number of a result as a person reads it, SI and workshop units; "-" for NaN. Every "Pa" is gauge.

    `unit` is the SI unit of the number, or one of "K difference", "share" (a share of 1) and "s long" (minutes).
    """
    if value != value:
        return "-"
    writers = {
        "K": show_temperature,
        "K difference": show_temperature_difference,
        "Pa": show_pressure,
        "m": show_length,
        "m3/s": show_flow,
        "m3": show_volume,
        "s": lambda number: f"{number:.1f} s" if abs(number) < 100 else f"{number:.0f} s",
        "s long": lambda number: f"{number / 60:.1f} min",
        "share": lambda number: f"{number:.0%}",
        "1": lambda number: f"{number:.2f}",
        "kg": show_mass,
    }
    return writers.get(unit, lambda number: f"{number:.4g} {unit}")(value)
