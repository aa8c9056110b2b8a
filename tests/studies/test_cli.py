"""The command: exit codes, what goes to which stream, the report."""

import json
import re

import pytest
from cheap import maker
from typer.testing import CliRunner

import studies.study
from studies import load_study, run
from studies.cli import app
from tests.studies.conftest import GRID


@pytest.fixture
def command(monkeypatch):
    real = studies.study.load_study
    monkeypatch.setattr(studies.study, "load_study", lambda file: real(file, maker(fails=(1.2,))))
    return lambda *words: CliRunner().invoke(app, [str(word) for word in words])


def test_run_status_report(command, study_file, tmp_path):
    folder = tmp_path / "out"
    done = command("run", study_file(), "-o", folder, "--workers", "0")
    assert done.exit_code == 0 and done.stdout.strip() == str(folder)
    assert "60 points" in done.stderr and "15 of this run did not complete" in done.stderr
    found = json.loads(command("status", folder, "--json").stdout)
    assert (found["total"], found["done"], found["failed"], found["left"], found["complete"]) == (60, 60, 15, 0, True)
    shown = command("status", folder)
    assert shown.exit_code == 0 and "ZeroDivisionError" in shown.stdout
    report = command("report", folder, "--best", "3")
    assert report.exit_code == 0 and "hold every limit" in report.stdout and "Hot coolant scalds" in report.stderr
    data = json.loads(command("report", folder, "--json", "--best", "3").stdout)
    assert len(data["layouts"]) == 3 and data["layouts"][0]["holds"]


def test_report_page_is_one_file_without_network_or_script(command, study_file, tmp_path):
    folder = tmp_path / "out"
    text = GRID.replace('title = "cheap grid"', 'title = "<b>bold & brave</b>"')
    command("run", study_file(text), "-o", folder, "--workers", "0")
    command("report", folder)
    page = (folder / "report.html").read_text()
    assert "<b>bold" not in page and "&lt;b&gt;bold &amp; brave" in page
    assert not re.findall(r"""(?:src|href)\s*=\s*["'](?!data:)""", page) and "<script" not in page
    assert page.count("data:image/png;base64,") >= 4 and "Hot coolant scalds." in page and "ZeroDivisionError" in page


def test_strict_fails_only_when_no_layout_holds(command, study_file, tmp_path):
    command("run", study_file(), "-o", tmp_path / "a", "--workers", "0")
    assert command("report", tmp_path / "a", "--strict").exit_code == 0
    command("run", study_file(GRID.replace("250 degC", "100 degC")), "-o", tmp_path / "b", "--workers", "0")
    assert command("report", tmp_path / "b", "--strict").exit_code == 1
    assert command("report", tmp_path / "b").exit_code == 0


def test_bad_study_exits_2_and_writes_nothing(command, study_file, tmp_path):
    bad = study_file(GRID.replace("dash 20", "dash 19").replace("count = 5", "count = 0"))
    result = command("run", bad, "-o", tmp_path / "out")
    assert result.exit_code == 2 and not (tmp_path / "out").exists() and result.stdout == ""
    for text in ("dash 19", "axes.height.count", "nothing was written"):
        assert text in result.stderr


@pytest.mark.parametrize("word", ["status", "report"])
def test_no_study_exits_2(command, tmp_path, word):
    result = command(word, tmp_path)
    assert result.exit_code == 2 and "holds no study" in result.stderr


def test_changed_inputs_exit_2_with_the_difference(command, study_file, tmp_path):
    run(load_study(study_file(), maker(gain=2.0)), tmp_path / "out", workers=0)
    result = command("run", study_file(), "-o", tmp_path / "out", "--workers", "0")
    assert result.exit_code == 2 and "car.gain: 2.0 before, 1.0 now" in result.stderr


def test_a_half_done_study_can_be_looked_at(command, study_file, tmp_path):
    import shutil

    folder = tmp_path / "out"
    command("run", study_file(), "-o", folder, "--workers", "0")
    shutil.rmtree(folder / "dataset.zarr")
    for file in sorted((folder / "batches").iterdir())[::2]:
        file.unlink()
    found = json.loads(command("status", folder, "--json").stdout)
    assert 0 < found["left"] < 60 and not found["complete"]
    assert command("report", folder).exit_code == 0
    assert "This study is not complete" in (folder / "report.html").read_text()


def test_help_starts_without_the_heavy_libraries():
    import subprocess
    import sys

    heavy = ("xarray", "dask", "scipy", "numba", "matplotlib", "zarr")
    code = f"import sys, studies.cli; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
