"""Wrong files: every problem at once, with file, line, path, what is wrong and what is right; never a traceback."""

import random
import re
from importlib import resources

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim1d.car import load_car
from sim1d.day import load_day
from sim1d.errors import DescriptionError

EXAMPLES = resources.files("sim1d") / "examples"
GOOD = (EXAMPLES / "layout_a.toml").read_text(encoding="utf-8")
DAY = (EXAMPLES / "race_day.toml").read_text(encoding="utf-8")


def problems_of(tmp_path, text, load=load_car):
    file = tmp_path / "broken.toml"
    file.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    with pytest.raises(DescriptionError) as caught:
        load(file)
    for problem in caught.value.problems:
        assert problem.file == str(file)
        assert problem.what
        assert problem.fix
    return caught.value.problems


def changed(old, new, text=GOOD):
    assert text.count(old) >= 1, old
    return text.replace(old, new, 1)


def line_of(text, start):
    return next(number for number, line in enumerate(text.splitlines(), 1) if line.startswith(start))


# (what is written, instead of what, path of the problem, a word of what is wrong, a word of what would be right)
CASES = {
    "wrong unit": ('\nbore = "38 mm"', '\nbore = "38 psi"', "lines.upper.bore", "pressure", "30 in"),
    "no unit": ('\nbore = "38 mm"', '\nbore = "38"', "lines.upper.bore", "no unit", "30 in"),
    "unknown key": ("ratio = 0.9", "ratoi = 0.9", "pump.ratoi", "no known key", '"ratio"'),
    "unknown table": ("[limits]", "[limit]", "limit", "no known key", '"limits"'),
    "unknown kind of pump": ('kind = "belt"', 'kind = "chain"', "pump", "kind", "belt"),
    "missing port": ('to = "radiator.inlet"', 'to = "radiator.inlett"', "lines.upper.to", "no port", "radiator.inlet"),
    "dangling line": ('from = "outlet_y"', 'from = "somewhere"', "lines.upper.from", "no port", "engine"),
    "line to a plugged port": ("plugged = []", 'plugged = ["left.front"]', "lines.left_outlet.from", "plugged", "take"),
    "unplumbed port": ("plugged = []", "plugged = []\n[engine.block_rear]\nthroat = 0.01\n", "engine.left.block_rear",
                       "neither plumbed nor plugged", "engine.plugged"),
    "plug without a port": ("plugged = []", 'plugged = ["left.reer"]', "engine.plugged", "no port", "left.rear"),
    "both ends at one port": ('to = "outlet_y"', 'to = "engine.left.front"', "lines.left_outlet", "starts and",
                              "two"),
    "negative length": ('length = "0.45 m"', "length = -0.45", "lines.left_outlet.length", "out of range", "give"),
    "too short for its ends": ('length = "1.2 m"', 'length = "0.5 m"', "lines.fill.length", "shorter", "slack"),
    "out of range": ("core_passes = 1", "core_passes = 7", "radiator.core_passes", "out of range", "1 to 2"),
    "number as text": ("core_passes = 1", 'core_passes = "one"', "radiator.core_passes", "whole number", "4"),
    "choice": ('fluid = "water"', 'fluid = "watre"', "coolant.fluid", "no choice", '"water"'),
    "full tank": ('liquid = "0.7 L"', 'liquid = "2.0 L"', "expansion_tank", "brim", "below volume"),
    "shares": ("roof_share = 0.33", "roof_share = 0.52", "engine.heat", "add up", "exactly 1"),
    "glycol in water": ('fluid = "water"', 'fluid = "water"\nfraction = 0.5', "coolant", "no glycol", "leave"),
    "sensor nowhere": ('at = "radiator.outlet"', 'at = "radiator.outle"', "sensors.radiator_out.at", "no place",
                       "radiator"),
    "table as value": ("[radiator.fan]", "[radiator]\nfan = 3\n[radiator.fan2]", "", "not TOML", "once"),
    "key given twice": ("ratio = 0.9", "ratio = 0.9\nratio = 1.0", "", "not TOML", "once"),
    "gauge and absolute": ('opening = "22 psi"', 'opening = "22 psia"', "cap.opening", "gauge", "22 psi"),
    "cap on no tank": ("[expansion_tank]", "[spare]\nx = 1\n[expansion_tankk]", "expansion_tankk", "no known key",
                       "expansion"),
    "no curve": ('shutoff_pressure = "140 kPa"', "", "pump", "no curve", "points"),
    "ratio and pulley": ("ratio = 0.9", 'ratio = 0.9\npump_pulley = "0.1 m"', "pump", "both", "ratio"),
    "hole counts": ("hole_count = 2", "hole_count = [2, 2]", "engine", "hole_count", "one per cylinder"),
    "air that does not fit": ("[sensors.gauge]", '[trapped_air]\n"engine.left-4.head" = "0.4 L"\n[sensors.gauge]',
                              'trapped_air."engine.left-4.head"', "do not fit", "at most"),
    "negative air": ("[sensors.gauge]", '[trapped_air]\n"engine.left-4.head" = "-0.1 L"\n[sensors.gauge]',
                     "trapped_air", "out of range", "0"),
    "negative holes": ("hole_count = 2", "hole_count = -2", "engine.gasket.hole_count", "out of range", "from 0"),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_problem_names_place_and_fix(tmp_path, name):
    old, new, where, what, fix = CASES[name]
    text = changed(old, new)
    if name in ("missing port", "dangling line"):
        text = re.sub(r'(\[lines\.upper\]\nfrom = )"outlet_y"', r'\1"outlet_y"', text)
    found = problems_of(tmp_path, text)
    fitting = [problem for problem in found if problem.where == where and what in problem.what and fix in problem.fix]
    assert fitting, [str(problem) for problem in found]
    # the line that is named is the one that was written wrong, or the head of its table
    written = text.splitlines()[fitting[0].line - 1] if fitting[0].line else ""
    last = where.rpartition(".")[2]
    assert where == "" or last in written or where.partition(".")[0] in written or "plugged" in fix


def test_line_number_is_exact(tmp_path):
    text = changed("ratio = 0.9", "ratoi = 0.9")
    found = {problem.where: problem for problem in problems_of(tmp_path, text)}
    assert found["pump.ratoi"].line == line_of(text, "ratoi")


def test_all_problems_come_at_once(tmp_path):
    text = changed("ratio = 0.9", "ratoi = 0.9")
    text = changed('fluid = "water"', 'fluid = "oil"', text)
    text = changed('opening = "22 psi"', 'opening = "22 mm"', text)
    text = changed('to = "radiator.inlet"', 'to = "radiator.inlett"', text)
    text = changed("core_passes = 1", "core_passes = 0", text)
    where = {problem.where for problem in problems_of(tmp_path, text)}
    assert {"pump.ratoi", "coolant.fluid", "cap.opening", "radiator.core_passes"} <= where


def test_plumbing_is_judged_although_a_value_is_wrong(tmp_path):
    text = changed('to = "radiator.inlet"', 'to = "radiator.inlett"')
    text = changed('wall = "cast"', 'wall = "brick"', text)
    where = {problem.where for problem in problems_of(tmp_path, text)}
    assert {"lines.upper.to", "lines.pump_left.wall", "radiator.inlet"} <= where


def test_plumbing_is_judged_although_a_required_value_is_wrong(tmp_path):
    text = changed('to = "radiator.inlet"', 'to = "radiator.inlett"')
    text = changed('\nbore = "105 mm"', '\nbor = "105 mm"', text)
    text = changed('opening = "22 psi"', 'opening = "22 mm"', text)
    text = changed('fluid = "water"', 'fluid = "oil"', text)
    text = changed('reference_speed = "6750 rpm"', 'reference_speed = "6750"', text)
    text = changed("ratio = 0.9", "ratoi = 0.9", text)
    where = {problem.where for problem in problems_of(tmp_path, text)}
    values = {"engine.bore", "engine.bor", "cap.opening", "coolant.fluid", "pump.reference_speed", "pump.ratoi"}
    assert where == values | {"lines.upper.to", "radiator.inlet"}


def test_same_two_ports_twice(tmp_path):
    text = GOOD + '\n[lines.twin]\nfrom = "radiator.inlet"\nto = "outlet_y"\nsize = "dash 16"\nslack = 0.5\n'
    found = problems_of(tmp_path, text)
    assert any(problem.where == "lines.twin" and "same two ports" in problem.what for problem in found)


def test_open_circuit(tmp_path):
    text = changed('from = "radiator.outlet"\nto = "pump.suction"', 'from = "radiator.outlet"\nto = "outlet_y"')
    text = changed('to = "pump.suction"', 'to = "expansion_tank.vent"', text)
    found = problems_of(tmp_path, text)
    assert any(problem.where == "pump.suction" for problem in found)
    assert any(problem.where == "pump" and "no way back" in problem.what for problem in found)


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (b"", "empty"),
        (b"\n \n", "empty"),
        (b"# nothing\n", "missing"),
        (b"[[[", "not TOML"),
        (b"name = \xff\xfe", "not UTF-8"),
        (b"GIF89a\x00\x01\x02", "not TOML"),
        (b"x = " + b"[" * 100_000, "not TOML"),
        (b"x = " + b"9" * 10_000, "not TOML"),
        (b"<html><body>not found</body></html>", "not TOML"),
        (b"lines = 3\nengine = 4\n", "no table"),
        (b"[engine]\nbore = {}\n", "not a length"),
    ],
    ids=lambda value: repr(value[:12]),
)
@pytest.mark.parametrize("load", [load_car, load_day])
def test_files_that_are_none(tmp_path, content, what, load):
    found = problems_of(tmp_path, content, load)
    if load is load_car or b"lines" not in content and b"bore" not in content:
        assert any(what in problem.what for problem in found), [str(problem) for problem in found]


def test_ten_megabytes_of_noise(tmp_path):
    noise = random.Random(1).randbytes(10_000_000)
    assert "MB" in problems_of(tmp_path, noise)[0].what
    assert problems_of(tmp_path, noise[:300_000])[0].what.startswith(("is not UTF-8", "is not TOML"))


@pytest.mark.parametrize("load", [load_car, load_day])
def test_no_file(tmp_path, load):
    for path, what in ((tmp_path, "folder"), (tmp_path / "none.toml", "no such file"), ("a\0b", "file name")):
        with pytest.raises(DescriptionError, match=what):
            load(path)


DAY_CASES = {
    "wrong unit": (
        'ambient_temperature = "30 degC"',
        'ambient_temperature = "30 psi"',
        "ambient_temperature",
        "pressure",
    ),
    "unknown role": ('role = "burnout"', 'role = "burn"', "phases.2.role", "no choice"),
    "negative duration": ('duration = "5 s"', 'duration = "-5 s"', "phases.2.duration", "out of range"),
    "saw without shifts": (", shifts = 2}", "}", "phases.4.speed", "lacks shifts"),
    "until both ways": ('above = "60 degC"', 'above = "60 degC", below = "50 degC"', "phases.0.until", "either"),
    "window turned round": ('least = "45 degC"', 'least = "95 degC"', "staging_window", "least is not below"),
    "rounds out of order": ("round = 2", "round = 7", "", "rounds"),
}


@pytest.mark.parametrize("name", DAY_CASES)
def test_day_problem_names_the_place(tmp_path, name):
    old, new, where, what = DAY_CASES[name]
    text = changed(old, new, DAY)
    found = problems_of(tmp_path, text, load_day)
    assert any(problem.where == where and what in problem.what for problem in found), [str(item) for item in found]
    if where.startswith("phases"):
        assert all(problem.line > line_of(text, "[[phases]]") - 1 for problem in found)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_no_damage_makes_a_traceback(tmp_path_factory, data):
    """Cutting a good file anywhere, or overwriting a stretch of it, gives a car or a DescriptionError."""
    start = data.draw(st.integers(0, len(GOOD) - 1))
    length = data.draw(st.integers(0, 400))
    text = GOOD[:start] + data.draw(st.text(max_size=20)) + GOOD[start + length :]
    file = tmp_path_factory.mktemp("damage") / "car.toml"
    file.write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        load_car(file)
    except DescriptionError as error:
        assert error.problems
