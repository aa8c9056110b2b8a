"""Text with a unit: what goes in, and what is refused with advice."""

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from sim1d import display, units

# Exact by definition: inch 25.4 mm, US gallon 231 in3, pound-force 4.4482216152605 N, mechanical horsepower 550 ft
# lbf/s, standard gravity 9.80665 m/s2 (NIST Special Publication 811), degree Fahrenheit 5/9 K with 459.67 offset.
EXACT = [
    (units.Length, "30 in", 0.762),
    (units.Length, "1-1/4 in", 0.03175),
    (units.Length, "1 1/4 in", 0.03175),
    (units.Length, "7/8 in", 0.022225),
    (units.Length, ".5 mm", 0.0005),
    (units.Length, 0.3, 0.3),
    (units.Length, "12 µm", 1.2e-5),
    (units.Area, "4 in2", 4 * 0.0254**2),
    (units.Volume, "2.5 gal", 2.5 * 231 * 0.0254**3),
    (units.Volume, "16 oz", 231 * 0.0254**3 / 8),
    (units.Volume, "350 cc", 3.5e-4),
    (units.Temperature, "180 degF", (180 + 459.67) / 1.8),
    (units.Temperature, "180 F", (180 + 459.67) / 1.8),
    (units.Temperature, "-40 degC", 233.15),
    (units.Temperature, "82 °C", 355.15),
    (units.Temperature, "300 K", 300.0),
    (units.TemperatureDifference, "18 degF", 10.0),
    (units.TemperatureDifference, "10 degC", 10.0),
    (units.GaugePressure, "22 psi", 22 * 4.4482216152605 / 0.0254**2),
    (units.GaugePressure, "22 psig", 22 * 4.4482216152605 / 0.0254**2),
    (units.GaugePressure, "1.1 bar", 1.1e5),
    (units.AbsolutePressure, "230 kPa abs", 2.3e5),
    (units.AbsolutePressure, "14.7 psia", 14.7 * 4.4482216152605 / 0.0254**2),
    (units.Power, "1000 hp", 550 * 0.3048 * 4.4482216152605 * 1000),
    (units.RotationalSpeed, "7500 rpm", 7500 * math.pi / 30),
    (units.Velocity, "120 km/h", 120 / 3.6),
    (units.Velocity, "200 mph", 200 * 0.44704),
    (units.VolumeFlow, "55 gpm", 55 * 231 * 0.0254**3 / 60),
    (units.VolumeFlow, "100 L/min", 0.1 / 60),
    (units.VolumeFlow, "1.4 m3/s", 1.4),
    (units.Acceleration, "1.5 g", 1.5 * 9.80665),
    (units.Acceleration, "-9 m/s2", -9.0),
    (units.Mass, "5 g", 0.005),
    (units.Compliance, "0.5 mL/kPa", 5e-10),
    (units.GapRate, "1.5 um/bar", 1.5e-11),
    (units.Resistance, "20 mohm", 0.02),
    (units.Duration, "40 min", 2400.0),
    (units.Number, "35 %", 0.35),
    (units.Number, 2, 2.0),
]


@pytest.mark.parametrize(("kind", "text", "value"), EXACT, ids=[f"{item[1]}" for item in EXACT])
def test_text_is_converted(kind, text, value):
    assert TypeAdapter(kind).validate_python(text) == pytest.approx(value, rel=1e-12)


REFUSED = [
    (units.Length, "22 psi", "pressure", "in"),
    (units.Length, "30", "no unit", "30 in"),
    (units.Length, "", "number", "SI"),
    (units.Length, "thirty in", "number", "SI"),
    (units.Length, "30 inchez", "no known unit", "in"),
    (units.Length, "2,5 mm", "decimal comma", "2.5"),
    (units.Length, "1e999 m", "finite", "SI"),
    (units.Length, True, "True", "SI"),
    (units.Length, math.nan, "finite", "SI"),
    (units.Length, 10**400, "finite", "SI"),
    (units.Length, [1], "[1]", "SI"),
    (units.Length, "dash 16", "number", "SI"),
    (units.GaugePressure, "22 psia", "gauge", "psi"),
    (units.GaugePressure, "100 kPa abs", "gauge", "psi"),
    (units.AbsolutePressure, "22 psig", "absolute", "kPa"),
    (units.Acceleration, "5 kg", "mass", "g"),
    (units.Number, "0.5", "text", "without quotes"),
    (units.Power, "x" * 5000, "number", "hp"),
]


@pytest.mark.parametrize(("kind", "text", "what", "fix"), REFUSED, ids=[str(item[1])[:20] for item in REFUSED])
def test_refusal_says_what_would_be_right(kind, text, what, fix):
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(kind).validate_python(text)
    error = caught.value.errors()[0]["ctx"]["error"]
    assert isinstance(error, units.BadValue)
    assert what in error.what
    assert fix in error.fix
    assert len(str(error)) < 300


def test_gram_is_no_acceleration_elsewhere():
    assert TypeAdapter(units.Mass).validate_python("1 g") == pytest.approx(1e-3)


# Bores of the SAE 100R5 type, in inches, as a hose maker's selection table gives them.
@pytest.mark.parametrize(
    ("dash", "bore_in"), [(6, 5 / 16), (8, 13 / 32), (10, 1 / 2), (12, 5 / 8), (16, 7 / 8), (20, 9 / 8)]
)
def test_dash_size_is_no_nominal_bore(dash, bore_in):
    size = units.LineSize.read(f"dash {dash}")
    assert size.bore == pytest.approx(bore_in * 0.0254)
    assert size.nominal == pytest.approx(dash / 16 * 0.0254)
    assert size.bore < size.nominal
    assert units.LineSize.read(f"-{dash}") == size
    assert units.LineSize.read(str(size)) == size


def test_size_may_be_a_bore():
    assert units.LineSize.read("1.5 in").bore == pytest.approx(0.0381)
    assert units.LineSize.read(0.02).dash is None
    for wrong in ("dash 7", "dash", "22 psi", 3.0, None):
        with pytest.raises(units.BadValue):
            units.LineSize.read(wrong)


@given(st.floats(-500, 5000, allow_nan=False))
def test_fahrenheit_offset(value):
    kelvin = TypeAdapter(units.Temperature).validate_python(f"{value!r} degF")
    assert kelvin == pytest.approx((value + 459.67) / 1.8, abs=1e-9)


@given(st.text(max_size=40))
def test_no_text_breaks_the_door(text):
    try:
        value = TypeAdapter(units.Length).validate_python(text)
    except ValidationError as error:
        assert isinstance(error.errors()[0]["ctx"]["error"], units.BadValue)
    else:
        assert math.isfinite(value)


def test_common_units_are_what_pint_makes_of_them():
    registry = units._registry()
    for unit, (target, factor) in units._FACTORS.items():
        found = registry.Quantity(1.0, registry.Unit(unit)).to("dimensionless" if target == "1" else target)
        assert factor == pytest.approx(found.magnitude, rel=1e-14), unit
    for unit, (factor, offset) in units._OFFSETS.items():
        for number in (-40.0, 0.0, 180.0):
            found = registry.Quantity(number, registry.Unit(unit)).to("K").magnitude
            assert factor * number + offset == pytest.approx(found, rel=1e-14), unit
    known = {measure.unit for measure in units.MEASURES}
    assert {target for target, _ in units._FACTORS.values()} <= known | {"1"}


def test_numbers_and_common_units_do_not_import_pint():
    code = (
        "import sys; from pydantic import TypeAdapter; from sim1d import units;"
        "TypeAdapter(units.Length).validate_python(0.3); units.LineSize.read('dash 16');"
        "TypeAdapter(units.Length).validate_python('30 in'); TypeAdapter(units.Acceleration).validate_python('1 g');"
        "assert 'pint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_both_systems_are_shown():
    assert display.show_pressure(151684.66) == "151.7 kPa g (22 psi g)"
    assert display.show_pressure(101325, "abs") == "101.3 kPa abs (14.7 psi abs)"
    assert display.show_temperature(355.372) == "82.2 C (180 F)"
    assert display.show_flow(165 / 60000) == "165 L/min (43.6 US gal/min)"
    assert display.show_length(0.0381) == "38.1 mm (1.5 in)"
    assert display.show_volume(0.0122) == "12.2 L (3.22 US gal)"
    assert display.show_mass(0.5664) == "0.566 kg (1.249 lb)"
    assert display.show_rotation(7500 * math.pi / 30) == "7500 rpm"
    assert display.show_speed(200 * 0.44704) == "322 km/h (200 mph)"
