"""The same study on the workers of a distributed scheduler, with a point that kills them."""

import pytest
from cheap import maker
from test_resume import check_complete

from sim1d import Outcome
from studies import load_study, open_study, run
from studies.execute import CrewError
from tests.studies.conftest import GRID


@pytest.fixture(scope="module")
def cluster():
    import dask
    from distributed import LocalCluster

    local = {"dashboard_address": "127.0.0.1:0", "worker_dashboard_address": "127.0.0.1:0"}
    # one death is enough to blame: the batch is run alone afterwards anyway
    with dask.config.set({"distributed.scheduler.allowed-failures": 0}):
        with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1", **local) as cluster:
            yield cluster


def test_grid_on_a_cluster(study_file, tmp_path, cluster):
    study = load_study(study_file(), maker())
    tally = run(study, tmp_path / "out", scheduler=cluster.scheduler_address)
    assert tally.workers == 2 and tally.done == 60
    check_complete(study, tmp_path / "out")


def test_killer_on_a_cluster_is_found(study_file, tmp_path, cluster):
    text = GRID.replace("[0.8, 1.0, 1.2, 1.4]", "[0.8, 1.0, 1.2, 0.913]").replace("count = 5", "count = 2")
    text = text.replace('values = ["dash 12", "dash 16", "dash 20"]', 'values = ["dash 16"]')
    run(load_study(study_file(text), maker(dies=(0.913,))), tmp_path / "out", scheduler=cluster.scheduler_address)
    outcome = open_study(tmp_path / "out").outcome
    assert set(outcome.sel(speed=0.913).values.ravel()) == {Outcome.WORKER_DIED.value}
    assert set(outcome.drop_sel(speed=0.913).values.ravel()) == {Outcome.COMPLETED.value}


def test_no_scheduler_there_gives_one_sentence(study_file, tmp_path, monkeypatch):
    monkeypatch.setattr("studies.execute.CONNECT", 1.0)
    with pytest.raises(CrewError, match="no scheduler answers"):
        run(load_study(study_file(), maker()), tmp_path / "out", scheduler="tcp://127.0.0.1:9")
