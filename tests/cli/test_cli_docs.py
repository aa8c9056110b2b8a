"""Every `sim1d` command that the tutorial and the how-to print is run as it stands, one after the other."""

import os
import shlex
from importlib import import_module
from pathlib import Path

import pytest
from synthetic import make
from typer.testing import CliRunner

from sim1d.arrays import Arrays
from sim1d.cli import app

DOCS = Path(__file__).parents[2] / "docs"


def commands(page: Path) -> list[str]:
    lines = page.read_text(encoding="utf-8").splitlines()
    return [line.strip() for line in lines if line.startswith(("    sim1d ", "    cd "))]


@pytest.mark.parametrize("name", ["tutorials/first-run.md", "how-to/size-a-hose.md"])
def test_commands_of_the_docs_run(name, tmp_path, monkeypatch):
    """The simulation itself is replaced; files, paths, settings and options are those of the page."""
    monkeypatch.setattr(import_module("sim1d.simulation"), "simulate_arrays", lambda *_, **__: Arrays.of(make()))
    monkeypatch.chdir(tmp_path)
    found = commands(DOCS / name)
    assert len(found) >= 5
    for text in found:
        words = shlex.split(text.split("#")[0])
        if words[0] == "cd":
            os.chdir(words[1])
            continue
        done = CliRunner().invoke(app, words[1:])
        assert done.exit_code == 0, f"{text}\n{done.output}"
