"""`run`: evaluate what is left of a study and keep it; the same call again resumes."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from sim1d import Outcome
from studies.batch import Job, Record, batch_size, guilty_record, packed_points
from studies.dataset import compact
from studies.execute import Batch, hire, run_batches
from studies.store import Store, StoreError, canonical, differences
from studies.study import Study, load_study


@dataclass
class Tally:
    """How far a study is: points in all, done before this run, done and failed in this run, and the rate."""

    total: int
    before: int
    done: int = 0
    failed: int = 0
    workers: int = 1
    started: float = field(default_factory=time.monotonic)

    @property
    def left(self) -> int:
        return self.total - self.before - self.done

    @property
    def rate(self) -> float:
        """Points per second of wall time in this run."""
        return self.done / max(time.monotonic() - self.started, 1e-9)


Progress = Callable[[Tally], None]


@dataclass(frozen=True)
class Cost:
    """What a run is about to take: points left, simulations of each, seconds of one (measured), workers."""

    points: int
    runs_per_point: int
    seconds_per_run: float
    workers: int

    @property
    def text(self) -> str:
        """In words."""
        runs = self.points * self.runs_per_point
        seconds = runs * self.seconds_per_run / max(self.workers, 1)
        time = f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"
        if seconds > 7200:
            time = f"{seconds / 3600:.1f} h"
        own = "run" if self.runs_per_point == 1 else f"runs (its own and {self.runs_per_point - 1} samples)"
        return (
            f"{self.points} points of {self.runs_per_point} {own}: {runs} runs of about {self.seconds_per_run:.2g} s "
            f"on {self.workers} worker(s), about {time}."
        )


def run(
    study: Study | Path | str | None,
    folder: Path | str,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    progress: Progress | None = None,
    announce: Callable[[Cost], None] | None = None,
) -> Tally:
    """Evaluate every point of a study that `folder` does not hold yet, then write `dataset.zarr` there.

    `study` is a `Study`, a study file, or None for the built-in example. `workers` local processes are used (None: one
    per core, 0: this process), or the workers of the distributed `scheduler` at an address. `progress` is called after
    every batch; `announce` once, before the first: one run of the study's own car is timed for it. A killed run loses
    the batches under way and nothing else.

    Raises DescriptionError (wrong file, nothing written), StoreError (the folder is locked, holds another study or
    cannot be written) and CrewError (no workers). In a script, call it below `if __name__ == "__main__":`, because
    local workers start by importing the script.
    """
    if not isinstance(study, Study):
        study = load_study(study)
    store = Store(folder)
    _refuse_other_content(store)
    with store.locked():
        tally, todo, pace = _prepare(study, store)
        if progress is not None:
            progress(tally)
        if len(todo):
            _evaluate(study, store, todo, pace, tally, workers, scheduler, progress, announce)
        if not store.zarr.is_dir():
            compact(store)
    return tally


def _refuse_other_content(store: Store) -> None:
    own = {"lock", "owner.json", "batches", "schemas", "sample.npy"}
    if store.folder.is_dir() and not store.exists:
        names = sorted(entry.name for entry in store.folder.iterdir())
        others = [name for name in names if name not in own and not name.endswith(".tmp")]
        if others:
            raise StoreError(f"{store.folder} holds other files ({others[0]} ...): name a new or empty folder.")
    elif store.folder.exists() and not store.folder.is_dir():
        raise StoreError(f"{store.folder} is a file: name a folder.")


def _prepare(study: Study, store: Store) -> tuple[Tally, np.ndarray, float | None]:
    """Create the folder or check that it holds this study; the points that are left, in order, and the pace so far."""
    description = canonical(study.description())
    if not store.exists:
        store.create(description, study.points.matrix)
    else:
        old = store.description()
        changed = differences(old["identity"], description["identity"])
        if changed:
            shown = "\n  ".join(changed[:20] + ([f"... and {len(changed) - 20} more"] if len(changed) > 20 else []))
            raise StoreError(
                f"{store.folder} holds a study with other inputs, which would mix two studies:\n  {shown}\n"
                "Name a new folder, or restore the inputs."
            )
        if {**old, "format": None} != {**description, "format": None}:  # limits or title: they decide no number
            store.describe(description)
    store.clean()
    if store.zarr.is_dir():
        return Tally(study.points.count, study.points.count), np.array([], dtype=int), None
    journal = store.scan(study.points.count)
    store.set_aside(journal.damaged)
    order = study.points.order()
    todo = order[~journal.done[order]]
    return Tally(study.points.count, int(journal.done.sum())), todo, journal.pace


def _evaluate(
    study: Study, store: Store, todo: np.ndarray, pace: float | None, tally: Tally,
    workers: int | None, scheduler: str | None, progress: Progress | None, announce: Callable[[Cost], None] | None,
) -> None:  # fmt: skip
    study.model.warm_up()
    source = study.model.source_hash()
    job = Job(study.model, study.outputs, study.draws).packed()
    good = Outcome.COMPLETED.value
    seconds, taken = [pace] if pace is not None else [], 0

    def cut(index: np.ndarray) -> Batch:
        return Batch(index, job, packed_points(index, [study.points.settings(int(flat)) for flat in index]))

    def pull() -> Batch | None:
        nonlocal taken
        if taken >= len(todo):
            return None
        size = batch_size(float(np.median(seconds[-200:])) if seconds else None, len(todo) - taken, tally.workers)
        index = todo[taken : taken + size]
        taken += len(index)
        return cut(index)

    def commit(record: Record) -> None:
        if record.source != source:
            raise StoreError(
                f"worker {record.worker} runs other sources than this process: update it, or start again if they were "
                "edited meanwhile. Batches before it are safe."
            )
        store.commit(record)
        seconds.append(float(record.seconds.mean()))
        tally.done += len(record.index)
        tally.failed += sum(not outcome.startswith(good) for outcome in record.outcome)
        if progress is not None:
            progress(tally)

    def dead(flat: int) -> Record:
        return guilty_record(flat, Outcome.WORKER_DIED.value, source)

    with hire(workers, scheduler) as crew:
        tally.workers = crew.workers
        if announce is not None:
            announce(Cost(len(todo), study.runs_per_point, _seconds_of_a_run(study, pace), crew.workers))
        tally.started = time.monotonic()
        run_batches(crew, pull, commit, cut, dead)


def _seconds_of_a_run(study: Study, pace: float | None) -> float:
    """Seconds of one simulation: those of the points done before, else of the study's own car, timed here."""
    if pace is not None:
        return pace / study.runs_per_point
    start = time.perf_counter()
    study.model.evaluate({})
    return time.perf_counter() - start
