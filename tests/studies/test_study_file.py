"""A study file: the five ways to write an axis, sampling, and every problem of a bad file at once."""

import json

import numpy as np
import pytest
from cheap import maker

from sim1d import DescriptionError
from studies import load_study
from studies.points import points_from_json
from studies.study import study_schema
from tests.studies.conftest import GRID, SAMPLE


def load(study_file, text=GRID, **fields):
    return load_study(study_file(text), maker(**fields))


def problems(study_file, text):
    with pytest.raises(DescriptionError) as caught:
        load(study_file, text)
    return caught.value.problems


def test_grid_has_a_dim_per_axis_and_si_coordinates(study_file):
    points = load(study_file).points
    assert points.dims == ("speed", "hose", "height") and points.shape == (4, 3, 5) and points.count == 60
    coordinates = points.coordinates()
    np.testing.assert_allclose(coordinates["height"][1], np.linspace(0.508, 1.016, 5))  # 20 to 40 in
    assert list(coordinates["height_label"][1]) == ["20 in", "25 in", "30 in", "35 in", "40 in"]
    assert list(coordinates["hose"][1]) == ["dash 12", "dash 16", "dash 20"]
    np.testing.assert_allclose(coordinates["speed"][1], [0.8, 1.0, 1.2, 1.4])


def test_one_axis_moves_several_paths_together(study_file):
    settings = load(study_file).points.settings(7)  # 7 = (0 * 3 + 1) * 5 + 2
    assert settings == {
        "pump.ratio": 0.8,
        "lines.upper.size": "dash 16",
        "lines.lower.size": "dash 16",
        "radiator.mount_height": "30 in",
    }


def test_parts_and_choices(study_file):
    text = """
car = "car.toml"
day = "day.toml"
[axes.radiator]
path = "radiator"
[axes.radiator.parts]
"one pass" = {core_passes = 1, mount_height = 0.5}
"two pass" = {core_passes = 2, mount_height = 0.6}
[axes.layout.choices]
"small and fast" = {"lines.upper.size" = "dash 12", "pump.ratio" = 1.2}
"large and slow" = {"lines.upper.size" = "dash 20", "pump.ratio" = 0.8}
"""
    points = load(study_file, text).points
    assert points.label(3) == "radiator two pass, layout large and slow"
    assert points.settings(3) == {
        "radiator": {"core_passes": 2, "mount_height": 0.6}, "lines.upper.size": "dash 20", "pump.ratio": 0.8,
    }  # fmt: skip


@pytest.mark.parametrize("method", ["sobol", "latin_hypercube"])
def test_sample_is_repeatable_and_stays_inside(study_file, method):
    text = SAMPLE.replace("sobol", method)
    points, again = load(study_file, text).points, load(study_file, text).points
    assert points.dims == ("sample",) and points.count == 32
    np.testing.assert_array_equal(points.matrix, again.matrix)
    heights = points.coordinates()["height"][1]
    assert heights.min() >= 0.508 and heights.max() <= 1.016 and len(set(heights)) == 32
    # a listed axis gets each of its choices in equal shares: 32 points over 4 speeds
    speeds = points.coordinates()["speed"][1]
    assert [int((speeds == value).sum()) for value in (0.8, 1.0, 1.2, 1.4)] == [8, 8, 8, 8]
    other = load(study_file, text.replace("seed = 7", "seed = 8")).points
    assert not np.array_equal(points.matrix, other.matrix)


@pytest.mark.parametrize("text", [GRID, SAMPLE], ids=["grid", "sample"])
def test_points_survive_study_json(study_file, text):
    study = load(study_file, text)
    back = points_from_json(json.loads(json.dumps(study.description())), study.points.matrix)
    assert [back.settings(flat) for flat in range(back.count)] == [study.points.settings(f) for f in range(back.count)]
    for name, (_, values, _) in study.points.coordinates().items():
        assert list(back.coordinates()[name][1]) == list(values)


def test_every_point_is_run_once_in_a_fixed_shuffled_order(study_file):
    order = load(study_file).points.order()
    assert sorted(order) == list(range(60)) and list(order) != sorted(order)
    np.testing.assert_array_equal(order, load(study_file).points.order())


def test_limits_are_si_and_win_over_those_of_the_car(study_file):
    limits = load(study_file, GRID + "bank_spread = 0.2\n").limits
    assert limits == {"bank_spread": 0.2, "metal_fail": pytest.approx(523.15), "suction_margin": 1.0}


BAD = """
titel = "a slip"
car = "no_such_car.toml"
outputs = ["peak_metal_temprature"]

[axes.speed]
path = "pump.ratio"
values = [1.0, 1.0]

[axes.height]
path = "radiator.mount_height"
low = "20 in"
high = "600 mm"
count = 5

[axes.both]
path = "a.b"
paths = ["c.d"]
values = [1]

[axes.cylinder]
path = "pump.ratio"
values = [1.0]

[axes.open]
path = "pump.ratio"
low = 1.0

[sample]
method = "sobol"
count = 100

[limits]
metal_fail = "20 psi"
"""


def test_all_problems_at_once_with_line_key_and_fix(study_file):
    found = {problem.where: problem for problem in problems(study_file, BAD)}
    lines = BAD.splitlines()
    wanted = {
        "titel": "titel", "car": "car =", "day": "", "outputs": "outputs", "axes.speed.values": "values = [1.0, 1.0]",
        "axes.height.high": 'high = "600 mm"', "axes.both.path": 'path = "a.b"', "axes.cylinder": "[axes.cylinder]",
        "axes.open.high": "[axes.open]", "sample.count": "count = 100", "limits.metal_fail": "metal_fail",
    }  # fmt: skip
    assert set(found) == set(wanted)
    for key, text in wanted.items():
        problem = found[key]
        assert problem.what and problem.fix and problem.file.endswith("study.toml"), key
        if text:
            assert lines[problem.line - 1].startswith(text), key
    assert "title" in found["titel"].fix and "64 or 128" in found["sample.count"].fix
    assert "peak_metal_temperature" in found["outputs"].fix


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ('path = "pump.ratio"', 'path = "pump.ration"', "axes.speed"),
        ("1.2, 1.4]", "1.2, 14.0]", "axes.speed"),
        ('"dash 20"]', '"dash 17"]', "axes.hose"),
        ("count = 5", "count = 1", "axes.height.count"),
        ("count = 5", "count = 5\nvalues = [1]", "axes.height"),
        ('high = "40 in"', 'high = "10 in"', "axes.height.high"),
        ("count = 5", "", "axes.height.count"),
        ("[axes.hose]", "[axes.Hose-size]", "axes.Hose-size"),
        ('path = "radiator.mount_height"', 'path = "pump.ratio"', "axes.height"),
        ("[limits]", "[limits]\nmetal = 500", "limits.metal"),
        ("[limits]", "[sample]\nmethod = 'halton'\ncount = 8\n[limits]", "sample.method"),
        ('title = "cheap grid"', 'outputs = ["pass_bank_flow"]', "limits.metal_fail"),
        ("values = [0.8, 1.0, 1.2, 1.4]", "values = 3", "axes.speed.values"),
        ("[axes.speed]", "[[axes.speed]]", "axes.speed"),
    ],
    ids=lambda value: str(value)[:24],
)  # fmt: skip
def test_one_slip_is_found_and_named(study_file, old, new, where):
    assert old in GRID
    assert where in {problem.where for problem in problems(study_file, GRID.replace(old, new, 1))}


def test_an_axis_that_moves_nothing_is_refused(study_file):
    (problem,) = problems(study_file, GRID.replace('path = "pump.ratio"', 'path = "idle"'))
    assert problem.where == "axes.speed" and "1 gives the same car as 0.8" in problem.what


def test_an_axis_that_undoes_another_is_refused(study_file):
    text = GRID.replace("[limits]", '[axes.core]\npath = "radiator"\nparts = {"a" = {core_passes = 1}}\n[limits]')
    found = problems(study_file, text)
    assert ["would undo height" in problem.what for problem in found] == [True]


@pytest.mark.parametrize("text", ["", "x = [", "axes = 3\ncar = 1\nday = []\n", '[axes]\nspeed = "fast"\n'])
def test_no_text_breaks_the_reader(study_file, text):
    assert problems(study_file, text)


def test_schema_lists_every_key_of_an_axis():
    schema = study_schema()
    assert set(schema["$defs"]["AxisTable"]["properties"]) == {
        *("path", "paths", "values", "low", "high", "count", "parts", "choices")
    }
    keys = {"car", "day", "axes", "sample", "uncertainty", "outputs", "limits", "title"}
    assert keys == set(schema["properties"])
