"""The store: a batch is kept whole or not at all, by one writer, and opens lazily."""

import json
import subprocess
import sys

import numpy as np
import pytest
from cheap import maker

import studies.store
from studies import load_study, open_study, run
from studies.batch import Record
from studies.dataset import NOT_RUN
from studies.store import Store, StoreError, differences
from studies.variables import Schema, Variable


def finished(study_file, tmp_path, **fields):
    study = load_study(study_file(), maker(**fields))
    run(study, tmp_path / "out", workers=0)
    return study, tmp_path / "out"


def record(index, **values):
    variables = tuple(Variable(name, "1") for name in values)
    count = len(index)
    columns = {name: np.full(count, value) for name, value in values.items()}
    texts = ["done"] * count, [""] * count, ["f"] * count
    return Record(np.array(index), *texts, np.ones(count), "here:1", "s", Schema(variables), columns)


@pytest.fixture
def store(tmp_path):
    store = Store(tmp_path / "store")
    with store.locked():
        store.create({"title": "t"}, None)
        yield store


def test_committed_batches_are_found_with_their_time(store):
    store.commit(record([3, 1]))
    store.commit(record([7]))
    journal = store.scan(10)
    assert list(np.flatnonzero(journal.done)) == [1, 3, 7]
    assert journal.pace == 1.0 and not journal.damaged


def test_a_half_written_batch_is_no_batch(store):
    (store.batches / "00000000-5-abc.npz.tmp").write_bytes(b"half")
    (store.batches / "00000005-5-abc.npz").write_bytes(b"not a batch")
    journal = store.scan(10)
    assert not journal.done.any() and len(journal.damaged) == 1
    store.clean()
    store.set_aside(journal.damaged)
    assert list(store.batches.iterdir()) == []
    assert [file.name for file in (store.folder / "damaged").iterdir()] == ["00000005-5-abc.npz"]


def test_batches_of_different_layouts_share_one_schema(store):
    store.commit(record([0], a=1.0))
    store.commit(record([1], b=2.0))
    assert {variable.name for variable in store.schema().variables} == {"a", "b"}


@pytest.mark.parametrize("error", [OSError(30, "Read-only file system"), OSError(28, "No space left on device")])
def test_a_disk_that_refuses_gives_one_sentence_and_keeps_what_is_there(store, monkeypatch, error):
    store.commit(record([0]))

    def refuse(*_):
        raise error

    monkeypatch.setattr(studies.store, "_sync", refuse)
    with pytest.raises(StoreError, match=f"{error.strerror}.*committed before is safe"):
        store.commit(record([1]))
    monkeypatch.undo()
    assert list(np.flatnonzero(store.scan(2).done)) == [0]


def test_a_folder_that_cannot_be_made_gives_one_sentence(study_file, tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StoreError, match="could not be written"):
        run(load_study(study_file(), maker()), tmp_path / "file" / "out", workers=0)


HOLD = """
import sys, time
from studies.store import Store
with Store(sys.argv[1]).locked():
    print("held", flush=True)
    time.sleep(60)
"""


def test_second_writer_is_refused_with_the_owner_and_kill_frees_the_lock(study_file, tmp_path, environment):
    folder = tmp_path / "out"
    command = [sys.executable, "-c", HOLD, str(folder)]
    child = subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True)
    try:
        assert child.stdout.readline() == "held\n"
        study = load_study(study_file(), maker())
        with pytest.raises(StoreError, match=f"process {child.pid} "):
            run(study, folder, workers=0)
    finally:
        child.kill()
        child.communicate()
    assert run(study, folder, workers=0).done == 60


def test_a_folder_with_other_files_is_left_alone(study_file, tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "thesis.txt").write_text("precious")
    with pytest.raises(StoreError, match="other files"):
        run(load_study(study_file(), maker()), folder, workers=0)
    assert [file.name for file in folder.iterdir()] == ["thesis.txt"]


def test_open_is_lazy_and_writes_nothing(study_file, tmp_path, monkeypatch):
    study, folder = finished(study_file, tmp_path)
    import shutil

    shutil.rmtree(folder / "dataset.zarr")  # as after a kill before compaction
    before = sorted(file.name for file in folder.rglob("*"))
    read = []
    real = np.load
    monkeypatch.setattr(np, "load", lambda *args, **kwargs: read.append(args[0]) or real(*args, **kwargs))
    ds = open_study(folder)
    assert ds.sizes["speed"] == 4 and not read
    assert np.isfinite(ds.peak_metal_temperature.values).all() and read
    assert sorted(file.name for file in folder.rglob("*")) == before


def test_journal_and_zarr_say_the_same(study_file, tmp_path):
    import shutil

    import xarray as xr

    study, folder = finished(study_file, tmp_path, fails=(1.2,))
    compacted = open_study(folder).load()
    shutil.rmtree(folder / "dataset.zarr")
    journal = open_study(folder).load()
    xr.testing.assert_equal(compacted, journal)
    assert compacted.attrs == journal.attrs


def test_dataset_holds_what_the_model_gave(study_file, tmp_path):
    study, folder = finished(study_file, tmp_path)
    ds = open_study(folder)
    assert ds.peak_metal_temperature.dims == ("speed", "hose", "height", "cylinder")
    assert ds.peak_gauge_pressure.dims == ("speed", "hose", "height", "point")
    assert ds.pass_bank_flow.dims == ("speed", "hose", "height", "bank")
    assert ds.outcome.dims == ("speed", "hose", "height")
    for flat in range(study.points.count):
        place = dict(zip(ds.outcome.dims, np.unravel_index(flat, study.points.shape), strict=True))
        summary = study.model.evaluate(study.points.settings(flat)).summary
        row = ds.isel(place)
        for cylinder, value in summary["peak_metal_temperature_K"].items():
            assert float(row.peak_metal_temperature.sel(cylinder=cylinder)) == value
        assert float(row.least_suction_margin.sel(pump="pump")) == summary["least_suction_margin_m"]["pump"]
        ready = summary["time_to_ready_s"]
        assert np.isnan(row.time_to_ready) if ready is None else float(row.time_to_ready) == ready
    assert ds.peak_gauge_pressure.attrs["units"] == "Pa" and ds.pass_bank_flow.attrs["units"] == "m3/s"
    assert float(ds.pass_bank_flow.sel(hose="dash 16", speed=1.0, height=0.635, method=None).sel(bank="left")) > 0


def test_points_that_are_not_done_are_nan_and_say_so(study_file, tmp_path):
    study, folder = finished(study_file, tmp_path)
    import shutil

    shutil.rmtree(folder / "dataset.zarr")
    victim = sorted((folder / "batches").iterdir())[0]
    with np.load(victim) as batch:
        index = batch["index"]
    victim.unlink()
    ds = open_study(folder)
    missing = ds.outcome.values.ravel() == NOT_RUN
    assert sorted(np.flatnonzero(missing)) == sorted(index)
    assert np.isnan(ds.peak_metal_temperature.values.reshape(60, 2)[missing]).all()


def test_opening_what_is_no_study_says_so(tmp_path):
    with pytest.raises(StoreError, match="holds no study"):
        open_study(tmp_path)


def test_differences_name_the_values():
    old = {"car": {"pump": {"ratio": 1.0}, "hose": [1, 2]}, "sources": "a"}
    new = {"car": {"pump": {"ratio": 1.1}, "hose": [1, 2]}, "sources": "a", "extra": 1}
    assert differences(old, new) == ["car.pump.ratio: 1.0 before, 1.1 now", "extra: absent before, 1 now"]
    assert differences(old, json.loads(json.dumps(old))) == []
