"""Running and resuming: a killed study loses nothing, doubles nothing and mixes nothing."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from cheap import maker

from sim1d import Outcome
from studies import load_study, open_study, run
from studies.batch import batch_size, halves, split
from studies.store import Store, StoreError
from tests.studies.conftest import GRID, HERE, SAMPLE

WORKER_DIED = Outcome.WORKER_DIED.value


def all_indices(folder):
    return np.concatenate([np.load(file)["index"] for file in Store(folder).files()])


def check_complete(study, folder):
    """0 lost, 0 double, 0 wrong: each point is there once, with the value that the model gives for it."""
    assert sorted(all_indices(folder)) == list(range(study.points.count))
    ds = open_study(folder)
    values = ds.peak_metal_temperature.values.reshape(study.points.count, -1)
    keys = ds.fingerprint.values.ravel()
    for flat in range(study.points.count):
        wanted = study.model.evaluate(study.points.settings(flat))
        assert list(values[flat]) == list(wanted.summary["peak_metal_temperature_K"].values())
        assert keys[flat] == wanted.fingerprint
    return ds


@pytest.mark.parametrize("workers", [0, 2], ids=["same process", "two processes"])
def test_grid_runs_to_the_end(study_file, tmp_path, workers):
    study = load_study(study_file(), maker())
    seen = []
    tally = run(study, tmp_path / "out", workers=workers, progress=lambda tally: seen.append(tally.done))
    assert (tally.done, tally.failed, tally.left) == (60, 0, 0) and seen == sorted(seen) and seen[-1] == 60
    check_complete(study, tmp_path / "out")


def test_sample_has_one_dim_and_its_coordinates(study_file, tmp_path):
    study = load_study(study_file(SAMPLE), maker())
    run(study, tmp_path / "out", workers=0)
    ds = check_complete(study, tmp_path / "out")
    assert ds.peak_metal_temperature.dims == ("sample", "cylinder") and ds.sizes["sample"] == 32
    assert ds.height.dims == ("sample",) and str(ds.height.attrs["units"]) == "m"


def test_same_point_twice_has_the_same_fingerprint(study_file, tmp_path):
    file = study_file()
    for name in ("one", "two"):
        run(load_study(file, maker()), tmp_path / name, workers=0)
    one, two = (open_study(tmp_path / name).fingerprint.values.ravel() for name in ("one", "two"))
    assert list(one) == list(two) and len(set(one)) == 60


def test_a_failing_point_is_kept_with_its_reason_and_does_not_stop_the_others(study_file, tmp_path):
    study = load_study(study_file(), maker(fails=(1.2,)))
    tally = run(study, tmp_path / "out", workers=0)
    assert (tally.done, tally.failed) == (60, 15)
    ds = open_study(tmp_path / "out")
    failed = ds.sel(speed=1.2)
    assert set(failed.outcome.values.ravel()) == {"Stopped by ZeroDivisionError: no flow at this ratio"}
    assert np.isnan(failed.peak_metal_temperature).all()
    assert np.isfinite(ds.drop_sel(speed=1.2).peak_metal_temperature).all()


def test_again_does_nothing(study_file, tmp_path):
    study = load_study(study_file(), maker())
    run(study, tmp_path / "out", workers=0)
    tally = run(study, tmp_path / "out", workers=0)
    assert (tally.before, tally.done) == (60, 0)


def test_point_that_kills_its_worker_is_found_and_the_rest_is_done(study_file, tmp_path):
    text = GRID.replace("[0.8, 1.0, 1.2, 1.4]", "[0.8, 1.0, 1.2, 0.913]").replace("count = 5", "count = 2")
    text = text.replace('values = ["dash 12", "dash 16", "dash 20"]', 'values = ["dash 16"]')
    study = load_study(study_file(text), maker(dies=(0.913,)))
    tally = run(study, tmp_path / "out", workers=2)
    assert (tally.done, tally.failed) == (8, 2)
    outcome = open_study(tmp_path / "out").outcome
    assert set(outcome.sel(speed=0.913).values.ravel()) == {WORKER_DIED}
    assert set(outcome.drop_sel(speed=0.913).values.ravel()) == {Outcome.COMPLETED.value}
    assert sorted(all_indices(tmp_path / "out")) == list(range(8))


def start(environment, file, folder, pause, workers):
    command = [sys.executable, str(HERE / "sweep_cheap.py"), str(file), str(folder), str(pause), str(workers)]
    return subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)


def wait_for_batches(folder, least, child, limit=30.0):
    end = time.monotonic() + limit
    while len(list((folder / "batches").glob("*.npz"))) < least:
        assert time.monotonic() < end and child.poll() is None, "the run ended or stood still before it could be killed"
        time.sleep(0.01)


def children_of(pid):
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                state = (entry / "stat").read_text().rsplit(")", 1)[1].split()
            except OSError:
                continue
            if int(state[1]) == pid and state[0] != "Z":
                found.append(int(entry.name))
    return found


def alive(pid):
    try:
        return (Path("/proc") / str(pid) / "stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


linux = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="looks into /proc")


@linux
def test_killed_again_and_again_then_resumed_nothing_is_lost_doubled_or_wrong(study_file, tmp_path, environment):
    file, folder = study_file(GRID.replace("count = 5", "count = 40")), tmp_path / "out"
    study = load_study(file, maker(pause=0.005))
    for least in (3, 10):
        child = start(environment, file, folder, 0.005, 2)
        wait_for_batches(folder, least, child)
        workers = children_of(child.pid)
        os.kill(child.pid, signal.SIGKILL)
        child.communicate()
        done = len(all_indices(folder))
        assert 0 < done < 480, "the kill must come in the middle"
        end = time.monotonic() + 5
        while any(alive(worker) for worker in workers):
            assert time.monotonic() < end, "workers must end with their parent"
            time.sleep(0.05)
    child = start(environment, file, folder, 0.0, 2)
    assert int(child.communicate(timeout=60)[0]) < 480
    # a pause is no input of the cheap model's numbers, so its identity is the same
    check_complete(load_study(file, maker()), folder)
    assert study.points.count == 480


@linux
def test_a_worker_killed_from_outside_costs_nothing(study_file, tmp_path, environment):
    file, folder = study_file(GRID.replace("count = 5", "count = 20")), tmp_path / "out"
    child = start(environment, file, folder, 0.02, 2)
    wait_for_batches(folder, 5, child)
    names = {pid: (Path("/proc") / str(pid) / "cmdline").read_text() for pid in children_of(child.pid)}
    worker = next(pid for pid, command in names.items() if "spawn_main" in command)
    os.kill(worker, signal.SIGKILL)
    assert int(child.communicate(timeout=60)[0]) == 240
    ds = check_complete(load_study(file, maker()), folder)
    assert set(ds.outcome.values.ravel()) == {Outcome.COMPLETED.value}


@pytest.mark.parametrize(
    ("change", "fields", "said"),
    [
        (("1.2, 1.4]", "1.2, 1.5]"), {}, "axes.speed.3.0: 1.4 before, 1.5 now"),
        (("", ""), {"gain": 1.5}, "car.gain: 1.0 before, 1.5 now"),
        (("", ""), {"sources": "edited"}, "sources: cheap sources before, edited now"),
        (('title = "cheap grid"', 'outputs = ["peak_metal_temperature", "least_suction_margin"]'), {}, "outputs"),
    ],
    ids=["axis", "car", "sources", "outputs"],
)
def test_resume_with_other_inputs_is_refused_with_the_difference(study_file, tmp_path, change, fields, said):
    folder = tmp_path / "out"
    run(load_study(study_file(), maker()), folder, workers=0)
    before = {file: file.stat().st_mtime_ns for file in folder.rglob("*") if file.is_file() and file.name != "lock"}
    with pytest.raises(StoreError) as refused:
        run(load_study(study_file(GRID.replace(*change) if change[0] else GRID), maker(**fields)), folder, workers=0)
    assert said in str(refused.value)
    after = {file: file.stat().st_mtime_ns for file in folder.rglob("*") if file.is_file() and file.name != "lock"}
    assert before == after


def test_limits_and_title_may_change_because_they_decide_no_number(study_file, tmp_path):
    folder = tmp_path / "out"
    run(load_study(study_file(), maker()), folder, workers=0)
    tally = run(load_study(study_file(GRID.replace("250 degC", "240 degC")), maker()), folder, workers=0)
    assert tally.done == 0 and '"metal_fail": 513.15' in open_study(folder).attrs["limits"]


def test_a_worker_with_other_sources_is_refused(study_file, tmp_path, monkeypatch):
    import studies.runner

    real = studies.runner.Job.packed
    other = load_study(study_file(), maker(sources="older")).model
    monkeypatch.setattr(studies.runner.Job, "packed", lambda job: real(type(job)(other, job.outputs)))
    with pytest.raises(StoreError, match="other sources"):
        run(load_study(study_file(), maker()), tmp_path / "out", workers=0)
    assert not Store(tmp_path / "out").files()


def test_only_the_outputs_asked_for_are_kept(study_file, tmp_path):
    text = GRID.split("[limits]")[0].replace('title = "cheap grid"', 'outputs = ["pass_bank_flow"]')
    run(load_study(study_file(text), maker()), tmp_path / "out", workers=0)
    ds = open_study(tmp_path / "out")
    assert set(ds.data_vars) == {"pass_bank_flow", "outcome", "notes", "fingerprint", "run_seconds"}


def test_batches_are_two_seconds_of_compute_and_share_the_end_fairly():
    assert batch_size(None, 1000, 2) == 1
    assert batch_size(0.02, 10_000, 2) == 100
    assert batch_size(60.0, 10_000, 2) == 1
    assert batch_size(0.02, 40, 2) == 5
    pieces = split(np.arange(10), 4)
    assert [list(piece) for piece in pieces] == [[0, 1, 2, 3], [4, 5, 6, 7], [8, 9]]
    assert [list(half) for half in halves(np.arange(5))] == [[0, 1], [2, 3, 4]]
