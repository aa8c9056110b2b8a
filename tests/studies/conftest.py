"""What the tests of `studies` share: the folder of the cheap model on the path, and small study files."""

import os
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
ROOT = HERE.parent.parent
for folder in (HERE, ROOT):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))

GRID = """
title = "cheap grid"
car = "car.toml"
day = "day.toml"

[axes.speed]
path = "pump.ratio"
values = [0.8, 1.0, 1.2, 1.4]

[axes.hose]
paths = ["lines.upper.size", "lines.lower.size"]
values = ["dash 12", "dash 16", "dash 20"]

[axes.height]
path = "radiator.mount_height"
low = "20 in"
high = "40 in"
count = 5

[limits]
metal_fail = "250 degC"
suction_margin = "1 m"
"""

SAMPLE = GRID.replace("count = 5\n", "") + '\n[sample]\nmethod = "sobol"\ncount = 32\nseed = 7\n'


@pytest.fixture
def study_file(tmp_path):
    """Writes a study file with the car and day files it names, and gives its path."""

    def write(text: str = GRID, name: str = "study.toml") -> Path:
        (tmp_path / "car.toml").write_text('name = "cheap car"\n')
        (tmp_path / "day.toml").write_text('name = "cheap day"\n')
        file = tmp_path / name
        file.write_text(text)
        return file

    return write


@pytest.fixture
def environment():
    """Environment of a child process that can import the project and the cheap model."""
    paths = [str(HERE), str(ROOT), os.environ.get("PYTHONPATH", "")]
    return {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in paths if path)}
