"""Files of readings: TOML and CSV say the same, bad ones give every problem with its line."""

from pathlib import Path

import pytest

from sim1d.calibrate.reading_file import load_readings
from sim1d.calibrate.readings import KINDS, Bucket, Level, Squeeze
from sim1d.car import load_car
from sim1d.errors import DescriptionError
from sim1d.examples import example_path
from sim1d.parts.base import facts


@pytest.fixture(scope="module")
def car():
    return load_car(example_path("layout_a"))


TOML = """
[[readings]]
kind = "squeeze"
level = "brim"
pressed = "20 mL"
value = "6.9 kPa"
plus_minus = 200

[[readings]]
kind = "bucket"
where = "left_outlet"
height = "22 in"
speed = "1000 rpm"
value = "5.4 gpm"
plus_minus = "0.5 L/min"

[[readings]]
name = "warm, with a comma"
kind = "cool_down"
where = "gauge"
temperature = "90 degC"
air_temperature = "77 degF"
after = 120
electric_pump = false
value = "75 degC"
plus_minus = "1 degC"
"""
CSV = """# taken in the workshop
kind, name, where, level, pressed, height, speed, temperature, air_temperature, after, electric_pump, value, plus_minus
squeeze,,,brim,20 mL,,,,,,,6.9 kPa,200
bucket,,left_outlet,,,22 in,1000 rpm,,,,,5.4 gpm,0.5 L/min

cool_down,"warm, with a comma",gauge,,,,,90 degC,77 degF,120,false,75 degC,1 degC
"""


def write(folder, name, text):
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_csv_equals_toml(car, tmp_path):
    one = load_readings(write(tmp_path, "r.toml", TOML), car)
    two = load_readings(write(tmp_path, "r.csv", CSV), car)
    assert one.readings == two.readings
    squeeze, bucket, _ = one.readings
    assert isinstance(squeeze, Squeeze) and squeeze.level is Level.BRIM and squeeze.pressed == pytest.approx(2e-5)
    assert isinstance(bucket, Bucket) and bucket.height == pytest.approx(0.5588)
    assert bucket.value == pytest.approx(5.4 * 3.785411784e-3 / 60)


def test_the_example_is_read_and_says_that_it_is_invented(car):
    path = example_path("readings")
    assert "INVENTED DATA" in path.read_text()
    found = load_readings(path, car)
    assert {one.kind for one in found.readings} >= {
        "fill", "drain", "squeeze", "pump_start", "cap_tester", "boiling_check", "morning", "gauge", "bucket",
        "core_drop", "mixing", "settled", "cool_down",
    }  # fmt: skip


def test_every_default_says_where_it_comes_from():
    for kind in KINDS:
        for name in kind.model_fields:
            known = facts(kind, name)
            assert known.text and (known.required or known.source), f"{kind.__name__}.{name}"


def test_all_problems_at_once_with_their_lines(car, tmp_path):
    text = """name = "x"

[[readings]]
kind = "squeeze"
pressed = "100 mm"
value = "7 kPa"
plus_minus = "0.3 kPa"

[[readings]]
kind = "squeze"
value = 1.0

[[readings]]
kind = "pump_start"
speed = "2500 rpm"
cap = "on"
value = "10 mL"
plus_minus = "5 mL"

[[readings]]
kind = "fill"
litres = "12 L"
value = "12 L"
"""
    with pytest.raises(DescriptionError) as error:
        load_readings(write(tmp_path, "bad.toml", text), car)
    found = {(problem.line, problem.where): problem for problem in error.value.problems}
    assert (5, "readings.0.pressed") in found and "length" in found[5, "readings.0.pressed"].what
    assert any(line == 9 and "squeeze" in problem.fix for (line, _), problem in found.items())
    assert any(12 <= line <= 17 and "cap off" in problem.what for (line, _), problem in found.items())
    assert (22, "readings.3.litres") in found
    assert any(where == "readings.3.plus_minus" and "missing" in p.what for (_, where), p in found.items())
    assert all(problem.file.endswith("bad.toml") and problem.fix for problem in error.value.problems)


def test_what_the_car_does_not_have(car, tmp_path):
    text = """[[readings]]
kind = "gauge"
where = "pump.dicharge"
against = "engine.left.front"
speed = "3000 rpm"
value = "10 kPa"
plus_minus = "1 kPa"

[[readings]]
kind = "bucket"
where = "left_outlett"
height = "0.5 m"
value = "20 L/min"
plus_minus = "1 L/min"

[[readings]]
kind = "boiling_check"
where = "head_pressure"
value = "100 degC"
plus_minus = "1 degC"

[[readings]]
kind = "pump_start"
where = "engine.left-5.head"
speed = "2500 rpm"
value = "10 mL"
plus_minus = "5 mL"
"""
    with pytest.raises(DescriptionError) as error:
        load_readings(write(tmp_path, "places.toml", text), car)
    found = {(problem.line, problem.where): problem.fix for problem in error.value.problems}
    assert "pump.discharge" in found[3, "readings.0.where"]
    assert "left_outlet" in found[11, "readings.1.where"]
    assert (9, "readings.1.speed") in found  # a belt pump needs a speed
    assert (18, "readings.2.where") in found and "gauge" in found[18, "readings.2.where"]
    assert any(where == "readings.3.where" and "engine.left" in fix for (_, where), fix in found.items())


@pytest.mark.parametrize(
    ("text", "line", "word"),
    [
        ("kind,vallue,plus_minus\nfill,12 L,0.1 L\n", 1, "vallue"),
        ("kind,value,plus_minus\nfill,12 L,0.1 L,7\n", 2, "4 cells under 3 columns"),
        ("kind,value,value\nfill,12 L,0.1 L\n", 1, "twice"),
        ("# remarks\n\nkind,value,plus_minus\nfill,12 L,0.1 L\nfill,12 kg,0.1 L\n", 5, "mass"),
        ("kind,value,plus_minus\n", 0, "no readings"),
        ("", 0, "empty"),
    ],
)
def test_bad_csv(tmp_path, text, line, word):
    with pytest.raises(DescriptionError) as error:
        load_readings(write(tmp_path, "bad.csv", text))
    problem = error.value.problems[0]
    assert problem.line == line and word in str(problem)


@pytest.mark.parametrize("mark", [";", "\t"])
def test_a_spreadsheet_may_part_cells_its_own_way(tmp_path, mark):
    text = "kind,name,value,plus_minus,,\nfill,\"by bucket, twice\",12.8 L,0.1 L,,\n,,,,,\n"
    one = load_readings(write(tmp_path, "comma.csv", text))
    two = load_readings(write(tmp_path, "other.csv", text.replace("bucket,", "bucket#").replace(",", mark)
                              .replace("bucket#", "bucket,")))  # fmt: skip
    assert one.readings == two.readings and one.readings[0].name == "by bucket, twice"


def test_every_problem_of_a_csv_at_once(car, tmp_path):
    """A wrong column, a wrong unit, a wrong place: three rows, three kinds of trouble, one message."""
    text = (
        "kind,where,speeed,value,plus_minus\nfill,,,12 kg,0.1 L\nboiling_check,gaugge,,100 degC,1 degC\n"
        "cap_tester,,,150 kPa,2 kPa\ncap_tester,,,150 kPa\n"
    )
    with pytest.raises(DescriptionError) as error:
        load_readings(write(tmp_path, "bad.csv", text), car)
    found = {(problem.line, problem.where) for problem in error.value.problems}
    assert found == {(1, ""), (2, "readings.0.value"), (3, "readings.1.where"), (5, "readings.3.plus_minus")}
    assert all(problem.fix for problem in error.value.problems)


def test_the_csv_of_the_how_to_is_read(car, tmp_path):
    page = (Path(__file__).parents[2] / "docs" / "how-to" / "calibrate.md").read_text(encoding="utf-8")
    block = page.split("```csv\n")[1].split("```")[0]
    found = load_readings(write(tmp_path, "workshop.csv", block), car)
    assert {one.kind for one in found.readings} >= {"fill", "squeeze", "gauge", "cool_down"}


def test_missing_files(tmp_path):
    for name in ("none.toml", "none.csv"):
        with pytest.raises(DescriptionError, match="no such file"):
            load_readings(tmp_path / name)


def test_two_speeds_and_a_tap_without_zero(tmp_path):
    text = """[[readings]]
kind = "gauge"
where = "pump.discharge"
speed = "3000 rpm"
pump_speed = "2700 rpm"
value = "10 kPa"
plus_minus = "1 kPa"

[[readings]]
kind = "gauge"
where = "pump.discharge"
cap = "on"
speed = "3000 rpm"
value = "10 kPa"
plus_minus = "1 kPa"
"""
    with pytest.raises(DescriptionError) as error:
        load_readings(write(tmp_path, "two.toml", text))
    words = " ".join(str(problem) for problem in error.value.problems)
    assert "both speed and pump_speed" in words and "second tap" in words
