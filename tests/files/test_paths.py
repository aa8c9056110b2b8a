"""Paths into plain data."""

import pytest

from sim1d import paths
from sim1d.errors import DescriptionError

DATA = {
    "pump": {"ratio": 0.9},
    "lines": {"upper": {"size": "dash 16"}},
    "holes": [1, 2, 3],
    "phases": [{"name": "pass", "load": 1.0}, {"name": "pit", "load": 0.0}, {"name": "pass", "load": 1.0}],
    "trapped_air": {"engine.left-4.head": 2e-4},
}


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("pump.ratio", 0.9),
        ("lines.upper.size", "dash 16"),
        ("holes.2", 3),
        ("phases.0.load", 1.0),
        ("phases.pass.load", 1.0),
        ('trapped_air."engine.left-4.head"', 2e-4),
    ],
)
def test_get(path, value):
    assert paths.get_value(DATA, path) == value


def test_set_leaves_the_original_alone():
    changed = paths.set_values(DATA, {"pump.ratio": "1.1", "holes.0": 9, "phases.pit.load": 0.2}, known=["pump"])
    assert changed["pump"]["ratio"] == 1.1
    assert changed["holes"] == [9, 2, 3]
    assert changed["phases"][1]["load"] == 0.2
    assert DATA["pump"]["ratio"] == 0.9
    assert DATA["holes"] == [1, 2, 3]


def test_set_makes_tables_on_the_way():
    changed = paths.set_values(DATA, {"cap.opening": "22 psi"}, known=["cap"])
    assert changed["cap"] == {"opening": "22 psi"}


@pytest.mark.parametrize(
    "path", ["", ".", "pump..ratio", "pmp.ratio", "holes.9", "phases.none.load", "pump.ratio.more"]
)
def test_paths_that_lead_nowhere(path):
    with pytest.raises(DescriptionError) as caught:
        paths.get_value(DATA, path)
    assert caught.value.problems[0].fix


def test_all_wrong_paths_come_at_once():
    with pytest.raises(DescriptionError) as caught:
        paths.set_values(DATA, {"pmp.ratio": 1, "holes.9": 1}, known=["pump"])
    assert len(caught.value.problems) == 2
    assert 'did you mean "pump"' in caught.value.problems[0].fix


def test_entries_of_one_name_must_agree():
    data = {"phases": [{"name": "pass", "load": 1.0}, {"name": "pass", "load": 0.5}]}
    with pytest.raises(DescriptionError, match="more than one value"):
        paths.get_value(data, "phases.pass.load")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.9", 0.9),
        ("true", True),
        ("[1, 2]", [1, 2]),
        ("22 psi", "22 psi"),
        ('"left"', "left"),
        ("dash 16", "dash 16"),
        (3, 3),
    ],
)
def test_values_from_a_command_line(text, value):
    assert paths.read_value(text) == value
