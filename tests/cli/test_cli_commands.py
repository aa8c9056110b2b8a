"""The commands as a user runs them. Most replace the simulation by an invented dataset; those named `real` do not."""

import json
import pickle
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
import xarray as xr
from synthetic import make
from typer.testing import CliRunner

from sim1d.arrays import Arrays
from sim1d.cli import app
from sim1d.examples import example_path
from sim1d.plots import FIGURES

CAR, DAY = str(example_path("layout_a")), str(example_path("race_day"))
runner = CliRunner()


def call(*words: str):
    return runner.invoke(app, list(words))


@pytest.fixture
def invented(monkeypatch):
    """Replace the simulation; returns a switch for the starved layout and the calls that were made."""
    state = {"starved": False, "calls": []}

    def simulate(car, day, *, progress=None, **options):
        state["calls"].append((car, day))
        if progress is not None:
            progress("pass", 0.5, 100.0)
        return Arrays.of(make(starved=state["starved"]))

    monkeypatch.setattr(import_module("sim1d.simulation"), "simulate_arrays", simulate)
    return state


def python(*words: str, **options) -> subprocess.CompletedProcess:
    return subprocess.run([sys.executable, *words], capture_output=True, text=True, timeout=300, **options)


# Help and start -------------------------------------------------------------------------------------------------


def test_help_lists_the_commands_and_only_those_that_exist():
    text = call("--help").output
    for command in ("new", "check", "run", "compare", "ports"):
        assert f"\n  {command} " in text
        assert call(command, "--help").exit_code == 0


def test_help_imports_nothing_heavy():
    code = (
        "import sys\n"
        "from sim1d.cli import app\n"
        "try:\n    app(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'matplotlib', 'xarray', 'scipy', 'numba', 'CoolProp', 'pint', 'pydantic', 'jinja2'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)\n"
    )
    done = python("-c", code)
    assert done.stderr.strip() == "[]", done.stderr


def test_a_run_without_a_report_does_not_import_matplotlib():
    modules = "terminal, sim1d.verdict, sim1d.summary, sim1d.compare, sim1d.report"
    code = f"import sys; import sim1d.{modules}; print('matplotlib' in sys.modules)"
    assert python("-c", code).stdout.strip() == "False"


def test_a_run_with_a_report_leaves_matplotlib_to_a_second_process_and_needs_no_xarray(tmp_path):
    kept = tmp_path / "arrays"
    kept.write_bytes(pickle.dumps(Arrays.of(make())))
    code = (
        "import pickle, sys\n"
        "import sim1d.plots_process, sim1d.simulation\n"
        "sim1d.plots_process._cores = lambda: 2\n"
        f"sim1d.simulation.simulate_arrays = lambda *_, **__: pickle.load(open({str(kept)!r}, 'rb'))\n"
        "from sim1d.cli import app\n"
        f"try:\n    app(['run', {CAR!r}, {DAY!r}, '-o', {str(tmp_path)!r}])\nexcept SystemExit:\n    pass\n"
        "slow = {'matplotlib', 'distributed', 'zarr', 'h5netcdf', 'tomlkit', 'xarray', 'pandas'}\n"
        "print(sorted(slow & set(sys.modules)), file=sys.stderr)\n"
    )
    done = python("-c", code)
    assert done.stderr.splitlines()[-1] == "[]", done.stderr
    assert (tmp_path / "report.html").read_text(encoding="utf-8").count("<svg") == len(FIGURES)


# new ------------------------------------------------------------------------------------------------------------


def test_new_writes_files_that_load_and_overwrites_nothing(tmp_path):
    folder = tmp_path / "car"
    first = call("new", str(folder))
    assert first.exit_code == 0, first.output
    names = {path.name for path in folder.iterdir()}
    assert {"layout_a.toml", "race_day.toml", "car.schema.json", "day.schema.json"} <= names
    assert not [name for name in names if name.endswith(".part")]
    (folder / "layout_a.toml").write_text("mine")
    second = call("new", str(folder))
    assert second.exit_code == 2 and "layout_a.toml" in second.stderr
    assert (folder / "layout_a.toml").read_text() == "mine"


def test_new_refuses_a_file_in_the_way(tmp_path):
    (tmp_path / "x").write_text("")
    done = call("new", str(tmp_path / "x"))
    assert done.exit_code == 2 and "is a file" in done.stderr and "Traceback" not in done.output


# check ----------------------------------------------------------------------------------------------------------


def test_check_names_faults_and_is_strict_only_when_told():
    bad = str(example_path("layout_b"))
    plain = call("check", bad)
    assert plain.exit_code == 0 and "FAULT" in plain.stdout and "fix:" in plain.stdout
    assert call("check", bad, "--strict").exit_code == 1
    rows = json.loads(call("check", bad, "--json").stdout)
    assert {"rule", "where", "why", "fix", "severity"} == set(rows[0])
    assert any(row["severity"] == "fault" for row in rows)


# run ------------------------------------------------------------------------------------------------------------


def test_run_prints_the_verdict_on_stdout_and_messages_on_stderr(invented):
    done = call("run")
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith("ALL LIMITS HELD")
    assert "Boiling margin" in done.stdout.splitlines()[1]
    assert "built-in example" in done.stderr and "built-in example" not in done.stdout


def test_strict_gives_one_for_a_broken_limit_and_zero_for_a_held_one(invented):
    assert call("run", "--strict").exit_code == 0
    invented["starved"] = True
    assert call("run").exit_code == 0
    broken = call("run", "--strict")
    assert broken.exit_code == 1 and "BROKEN" in broken.stdout


def test_json_is_the_summary_and_nothing_else(invented):
    done = call("run", CAR, DAY, "--json")
    summary = json.loads(done.stdout)
    assert summary["limits_failed"] == [] and "peak_metal_temperature_K" in summary


def test_output_folder_gets_result_summary_and_report(invented, tmp_path):
    folder = tmp_path / "deep" / "out"
    done = call("run", CAR, DAY, "-o", str(folder))
    assert done.exit_code == 0, done.output
    assert sorted(path.name for path in folder.iterdir()) == ["report.html", "result.nc", "summary.json"]
    with xr.open_dataset(folder / "result.nc") as ds:
        assert ds.sizes["cylinder"] == 8 and ds.attrs["outcome_name"] == "COMPLETED"
    summary = json.loads((folder / "summary.json").read_text())
    assert summary == json.loads(call("run", CAR, DAY, "--json").stdout)
    assert "<figure" in (folder / "report.html").read_text()


def test_a_run_without_samples_says_that_it_has_no_band_and_the_command(invented):
    done = call("run", CAR, DAY, "--set", "pump.ratio=1.1")
    words = " ".join(done.stdout.split())
    assert f"no band: this is one run of the file's own values. sim1d run {CAR} {DAY}" in words
    assert "--set 'pump.ratio=1.1' --bands 128 gives every one its middle and band" in words
    known = json.loads(call("run", CAR, DAY, "--json").stdout)["bands"]
    assert "one run" in known["why_none"] and known["command"].endswith("--bands 128")


def test_bands_are_kept_shown_again_and_refused_when_stale(invented, tmp_path, monkeypatch):
    monkeypatch.setattr("sim1d._jit.source_hash", lambda: "these sources")
    folder = tmp_path / "out"
    first = call("run", CAR, DAY, "--bands", "20", "-o", str(folder))
    assert first.exit_code == 0, first.output
    assert "20 of 20 samples completed" in first.stdout and len(invented["calls"]) == 21
    assert "have no band" not in first.stdout and (folder / "bands.json").is_file()
    kept = json.loads((folder / "summary.json").read_text())["bands"]
    assert kept == json.loads((folder / "bands.json").read_text()) and kept["samples"] == 20

    again = call("run", CAR, DAY, "-o", str(folder))
    assert len(invented["calls"]) == 22, "stored bands are shown without running a sample"
    assert "20 of 20 samples completed" in again.stdout
    page = (folder / "report.html").read_text()
    assert "Headline numbers with their bands" in page and "no band" not in page

    other = call("run", CAR, DAY, "-o", str(folder), "--set", "pump.ratio=1.3")
    words = " ".join(other.stdout.split())
    assert other.exit_code == 0 and "another car or day" in words and "These numbers have no band" in words
    assert "no band" in (folder / "report.html").read_text()

    monkeypatch.setattr("sim1d._jit.source_hash", lambda: "other sources")
    assert "the program itself changed since" in " ".join(call("run", CAR, DAY, "-o", str(folder)).stdout.split())


def test_asked_for_bands_of_another_car_are_refused_before_anything_runs(invented, tmp_path, monkeypatch):
    monkeypatch.setattr("sim1d._jit.source_hash", lambda: "these sources")
    folder = tmp_path / "out"
    assert call("run", CAR, DAY, "--bands", "20", "-o", str(folder)).exit_code == 0
    count = len(invented["calls"])
    refused = call("run", CAR, DAY, "--bands-from", str(folder), "--set", "pump.ratio=1.3")
    assert refused.exit_code == 2 and "another car or day" in refused.stderr and len(invented["calls"]) == count
    given = call("run", CAR, DAY, "--bands-from", str(folder), "--set", "engine.head.enhancement=1.3")
    assert given.exit_code == 2  # a value that is given has a band of its own, though the physics may be the same
    assert call("run", CAR, DAY, "--bands-from", str(folder / "bands.json")).exit_code == 0
    assert call("run", CAR, DAY, "--bands-from", str(tmp_path / "none")).exit_code == 2
    (tmp_path / "other.json").write_text('{"format": 0}')
    wrong = call("run", CAR, DAY, "--bands-from", str(tmp_path / "other.json"))
    assert wrong.exit_code == 2 and "format 0" in wrong.stderr
    both = call("run", CAR, DAY, "--bands-from", str(folder), "--bands", "20")
    assert both.exit_code == 2 and "give one of them" in both.stderr


def test_a_failing_write_leaves_no_half_result(invented, tmp_path, monkeypatch):
    def fail(*_, **__):
        raise OSError(28, "No space left on device", "disk")

    monkeypatch.setattr("sim1d.report.render", lambda *_: "page")
    monkeypatch.setattr("sim1d.output.write_netcdf", fail)
    done = call("run", CAR, DAY, "-o", str(tmp_path / "out"))
    assert done.exit_code == 2 and "No space left" in done.stderr
    assert list((tmp_path / "out").iterdir()) == []


def test_set_reaches_car_and_day(invented):
    done = call(
        "run",
        CAR,
        DAY,
        "--set",
        "pump.ratio=0.8",
        "--set",
        "ambient_temperature=95 degF",
        "--set",
        "day.phases.pass.duration=7 s",
    )
    assert done.exit_code == 0, done.output
    car, day = invented["calls"][0]
    assert car.pumps["pump"].ratio == 0.8
    assert day.ambient_temperature == pytest.approx(308.15)
    assert {phase.duration for phase in day.phases if phase.name == "pass"} == {7.0}


# bad input ------------------------------------------------------------------------------------------------------


def test_all_problems_of_both_files_are_printed_at_once_and_nothing_is_written(tmp_path, invented):
    car = tmp_path / "car.toml"
    text = (
        Path(CAR)
        .read_text()
        .replace('bore = "105 mm"', 'bore = "105 psi"')
        .replace("compression_ratio = 9.5", "compression_ratio = 950")
    )
    car.write_text(text)
    day = tmp_path / "day.toml"
    day.write_text(Path(DAY).read_text().replace('ambient_temperature = "30 degC"', 'ambient_temprature = "30 degC"'))
    done = call("run", str(car), str(day), "-o", str(tmp_path / "out"))
    assert done.exit_code == 2 and done.stdout == ""
    line = 1 + text.splitlines().index('bore = "105 psi"')
    assert f"{car}:{line}" in done.stderr and "engine.bore" in done.stderr
    assert "engine.compression_ratio" in done.stderr and "ambient_temprature" in done.stderr
    assert done.stderr.count("Fix:") >= 3 and "Traceback" not in done.stderr
    assert not (tmp_path / "out").exists() and invented["calls"] == []


BAD = {
    "missing": None,
    "folder": "folder",
    "empty": b"",
    "binary": bytes(range(256)),
    "no toml": b"engine = [1,",
    "wrong kind": b"engine = 3\npump = 'x'\n",
    "day for a car": None,
}


@pytest.mark.parametrize("kind", BAD)
@pytest.mark.parametrize("command", ["check", "run", "ports", "compare"])
def test_bad_files_give_two_and_words(kind, command, tmp_path):
    path = tmp_path / "car.toml"
    if kind == "folder":
        path.mkdir()
    elif kind == "day for a car":
        path = Path(DAY)
    elif BAD[kind] is not None:
        path.write_bytes(BAD[kind])
    more = [CAR] if command == "compare" else []
    done = call(command, str(path), *more)
    assert done.exit_code == 2, done.output
    assert str(path) in done.stderr and "Traceback" not in done.output and done.stdout == ""
    assert "this is a fault of the program" not in done.stderr


@pytest.mark.parametrize(
    "setting",
    ["pump.ratio", "=3", "pump.ratio=", "pump.rato=0.9", "pump.ratio=fast", "lines.no.bore=3", "phases.nap.load=1"],
)
def test_bad_settings_give_two_and_say_what_would_be_right(setting, invented):
    done = call("run", CAR, DAY, "--set", setting)
    assert done.exit_code == 2 and "Fix:" in done.stderr and invented["calls"] == []


def test_a_file_where_the_output_folder_should_be_is_refused_before_the_run(tmp_path, invented):
    (tmp_path / "out").write_text("")
    done = call("run", "-o", str(tmp_path / "out"))
    assert done.exit_code == 2 and invented["calls"] == []


def test_a_fault_of_the_program_is_told_apart(monkeypatch):
    def broken(*_, **__):
        raise RuntimeError("inner")

    monkeypatch.setattr(import_module("sim1d.simulation"), "simulate_arrays", broken)
    done = call("run")
    assert done.exit_code == 3 and "fault of the program" in done.stderr and "inner" in done.stderr


# compare --------------------------------------------------------------------------------------------------------


def test_compare_puts_cars_side_by_side(invented, tmp_path):
    other = str(example_path("layout_b"))
    done = call("compare", CAR, other, "-o", str(tmp_path))
    assert done.exit_code == 0, done.output
    assert "layout_a" in done.stdout and "layout_b" in done.stdout
    assert "a study with [uncertainty] compares" in " ".join(done.stdout.split())  # not taken for a style
    summaries = json.loads((tmp_path / "compare.json").read_text())
    assert list(summaries) == ["layout_a", "layout_b"]
    page = (tmp_path / "compare.html").read_text()
    assert "http" not in page and "layout_b" in page
    days = {id(day) for _, day in invented["calls"]}
    assert len(days) == 1  # the same day for both


def test_compare_is_strict_about_any_of_them_and_needs_two(invented):
    invented["starved"] = True
    assert call("compare", CAR, CAR, "--strict").exit_code == 1
    assert call("compare", CAR).exit_code == 2


# the real thing -------------------------------------------------------------------------------------------------


def test_real_run_in_a_process_of_its_own(tmp_path):
    """A short day through the installed entry, so that what users type is what is tested."""
    settings = [
        "--set",
        "phases.pit.duration=700 s",
        "--set",
        "phases.lanes.duration=30 s",
        "--set",
        "phases.soak.duration=30 s",
    ]
    done = python("-m", "sim1d", "run", CAR, DAY, *settings, "-o", str(tmp_path), cwd=Path(__file__).parents[2])
    assert done.returncode == 0, done.stderr
    summary = json.loads((tmp_path / "summary.json").read_text())
    assert len(summary["rounds"]) == 2 and summary["energy_residual"] < 1e-4
    assert summary["pass_total_flow_m3_s"] * 60000 == pytest.approx(170, rel=0.15)
    assert "\x1b[" not in done.stdout  # no colours where no terminal reads them
    assert (tmp_path / "report.html").stat().st_size > 2e5
