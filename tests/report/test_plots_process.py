"""Figures drawn by a second process are those drawn here, and what goes wrong there is made good here."""

import json
import pickle
import subprocess
import sys
import time
from pathlib import Path

import pytest
from synthetic import make

from sim1d import plots, plots_process
from sim1d.arrays import Arrays
from sim1d.plots_process import drawing

ROOT = Path(plots_process.__file__).parents[1]
NOT_FOR_FIGURES = {"matplotlib.pyplot", "numba", "pandas", "pydantic", "scipy", "xarray"}


@pytest.fixture(scope="module")
def run():
    return make(starved=True)


@pytest.fixture(scope="module")
def here(run):
    """The figures as this process draws them."""
    return plots.svgs(run)


@pytest.fixture(autouse=True)
def two_cores(monkeypatch):
    monkeypatch.setattr(plots_process, "_cores", lambda: 2)


@pytest.fixture
def drawn_here(monkeypatch, here):
    """How often this process drew, instead of the second one."""
    calls = []
    monkeypatch.setattr(plots, "svgs", lambda ds: calls.append(ds) or here)
    return calls


def test_second_process_draws_the_same_figures(run, here, drawn_here):
    with drawing() as figures:
        assert figures.begin(run)() == here
    assert not drawn_here


def test_second_process_imports_only_what_draws(run):
    code = (
        "import sys; from sim1d.plots_process import serve; serve()\n"
        f"print(sorted({NOT_FOR_FIGURES} & set(sys.modules)), 'matplotlib' in sys.modules, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], input=pickle.dumps(Arrays.of(run)), capture_output=True)
    assert done.stderr.decode().strip() == "[] True"


@pytest.mark.parametrize("code", ["raise SystemExit(3)", "import os; os.abort()"])
def test_failing_second_process_is_made_good_here(run, here, drawn_here, monkeypatch, code):
    monkeypatch.setattr(plots_process, "SERVE", code)
    with drawing() as figures:
        assert figures.begin(run)() == here
    assert len(drawn_here) == 1


def test_silent_second_process_is_not_waited_for_without_end(run, here, drawn_here, monkeypatch):
    monkeypatch.setattr(plots_process, "SERVE", "import time; time.sleep(600)")
    monkeypatch.setattr(plots_process, "LONGEST", 0.2)
    with drawing() as figures:
        assert figures.begin(run)() == here
    assert len(drawn_here) == 1 and figures._process.returncode != 0


def test_figures_are_drawn_here_where_no_process_can_be_started(run, here, drawn_here, monkeypatch):
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    with drawing() as figures:
        assert figures.begin(run)() == here
    assert len(drawn_here) == 1


def test_no_second_process_on_one_core_or_where_nobody_asks(run, here, drawn_here, monkeypatch):
    monkeypatch.setattr(plots_process, "_second_process", lambda: pytest.fail("started a process"))
    with drawing(wanted=False):
        pass
    monkeypatch.setattr(plots_process, "_cores", lambda: 1)
    with drawing() as figures:
        assert figures.begin(run)() == here


def test_error_is_that_of_drawing_here(run):
    with drawing() as figures, pytest.raises(KeyError, match="metal_temperature"):
        figures.begin(run.drop_vars("metal_temperature"))()


def test_warnings_of_the_second_process_are_shown(run, monkeypatch, capsys):
    answer = json.dumps({"metal": "<svg>"})
    code = f"import sys; sys.stdin.buffer.read(); sys.stderr.write('no such glyph'); sys.stdout.write({answer!r})"
    monkeypatch.setattr(plots_process, "SERVE", code)
    with drawing() as figures:
        assert figures.begin(run)() == {"metal": "<svg>"}
    assert capsys.readouterr().err == "no such glyph"


@pytest.mark.parametrize("begun", [False, True])
def test_second_process_has_ended_when_a_run_is_stopped(run, begun):
    with pytest.raises(KeyboardInterrupt), drawing() as figures:
        if begun:
            figures.begin(run)
        raise KeyboardInterrupt
    assert figures._process.returncode is not None  # set by waiting for it: it is no zombie either
    assert all(pipe.closed for pipe in (figures._process.stdin, figures._process.stdout, figures._process.stderr))


def test_second_process_ends_without_a_result_when_nothing_is_sent():
    command = [sys.executable, "-S", "-c", plots_process.SERVE, json.dumps([*sys.path, str(ROOT)])]
    done = subprocess.run(command, input=b"", capture_output=True)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_a_run_stopped_while_it_is_drawn_leaves_no_process(run, monkeypatch):
    def children(of):
        return [int(pid) for pid in Path(f"/proc/{of}/task/{of}/children").read_text().split()]

    slow = "import time; from sim1d import plots; plots.svgs = lambda *_: time.sleep(600); "
    monkeypatch.setattr(plots_process, "SERVE", plots_process.SERVE.replace("serve()", slow + "serve()"))
    with drawing() as figures:
        figures.begin(run)
        end = time.monotonic() + 60.0
        while not (copies := children(figures._process.pid)) and time.monotonic() < end:
            time.sleep(0.02)
        assert len(copies) == 1
    assert figures._process.returncode == 1 and not Path(f"/proc/{copies[0]}").exists()
