"""A batch: a few points evaluated one after the other in one worker, and the record that comes back.

This is the code that runs in a worker. It imports no scheduler and lets no failing point stop the others: the point is
kept with the sentence that says how it ended.
"""

import functools
import os
import pickle
import platform
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol, cast

import numpy as np

from studies.draws import Draws
from studies.variables import Schema, Variable, numbers


@dataclass(frozen=True)
class Evaluation:
    """What one point gave: how it ended, the summary (keys as in summary.json) and the fingerprint of its inputs."""

    outcome: str
    summary: Mapping[str, Any] = field(default_factory=dict)
    fingerprint: str = ""
    notes: str = ""


class Evaluator(Protocol):
    """What a worker needs: a point's settings in, its evaluation out. Must pickle."""

    def evaluate(self, settings: Mapping[str, Any]) -> Evaluation: ...

    def source_hash(self) -> str: ...


class Sampler(Evaluator, Protocol):
    """An evaluator that also knows the samples of a point; asked for only where a study has draws."""

    def evaluate_draws(self, settings: Mapping[str, Any], draws: Draws) -> Iterator[Evaluation]:
        """Every sample of a point, in order."""
        ...


@dataclass(frozen=True)
class Job:
    """What all batches of a study share, pickled once: the evaluator, the outputs to keep, the samples of a point."""

    evaluator: Evaluator
    outputs: tuple[str, ...] = ()  # names of variables to keep; empty: all
    draws: Draws | None = None

    def packed(self) -> bytes:
        return pickle.dumps(self)


@dataclass
class Record:
    """Result of a batch: row i belongs to point `index[i]`; a vector has one column per name in the schema.

    `draw_outcome` (n, draws) and `draws` (n, draws) or (n, draws, k): the same of every sample of a point, empty where
    a study has none.
    """

    index: np.ndarray  # (n,) flat index of each point
    outcome: list[str]
    notes: list[str]
    fingerprint: list[str]
    seconds: np.ndarray  # (n,) wall time of each point, s
    worker: str  # host:process
    source: str  # hash of the sources that the worker ran
    schema: Schema = field(default_factory=Schema)
    values: dict[str, np.ndarray] = field(default_factory=dict)  # (n,) or (n, k), NaN where a point has none
    draw_outcome: np.ndarray = field(default_factory=lambda: np.empty((0, 0), dtype=object))
    draws: dict[str, np.ndarray] = field(default_factory=dict)


@functools.lru_cache(maxsize=2)
def _job(packed: bytes) -> Job:
    return pickle.loads(packed)


def worker_name() -> str:
    """Where this process runs, as host:process."""
    return f"{platform.node()}:{os.getpid()}"


def packed_points(index: np.ndarray, settings: Sequence[Mapping[str, Any]]) -> bytes:
    """The points of a batch for the way to a worker: flat indices (n,) and the settings of each."""
    return pickle.dumps((index, list(settings)))


def evaluate_batch(packed: bytes, points: bytes) -> Record:
    """Evaluate packed points with a packed `Job`. Raises nothing for a point that fails."""
    job = _job(packed)
    index, settings = pickle.loads(points)
    runs: list[dict[Variable, Any]] = []
    done: list[Evaluation] = []
    drawn: list[tuple[str, dict[Variable, Any]]] = []  # of all points, one after the other
    seconds = np.zeros(len(index))
    for row, one in enumerate(settings):
        start = time.perf_counter()
        evaluation, found = _evaluate(job, one)
        drawn += _evaluate_draws(job, one)
        seconds[row] = time.perf_counter() - start
        runs.append(found)
        done.append(evaluation)
    schema = Schema.of([*runs, *(found for _, found in drawn)])
    samples = job.draws.samples if job.draws else 0
    columns = {variable: _column(variable, schema, [found for _, found in drawn]) for variable in schema.variables}
    return Record(
        index=np.asarray(index, dtype=np.int64),
        outcome=[item.outcome for item in done],
        notes=[item.notes for item in done],
        fingerprint=[item.fingerprint for item in done],
        seconds=seconds,
        worker=worker_name(),
        source=job.evaluator.source_hash(),
        schema=schema,
        values={variable.name: _column(variable, schema, runs) for variable in schema.variables},
        draw_outcome=np.array([outcome for outcome, _ in drawn], dtype=object).reshape(-1, samples)
        if samples
        else np.empty((0, 0), dtype=object),
        draws={
            variable.name: column.reshape(len(settings), samples, *column.shape[1:])
            for variable, column in columns.items()
        }
        if samples
        else {},
    )


def _evaluate(job: Job, settings: Mapping[str, Any]) -> tuple[Evaluation, dict[Variable, Any]]:
    try:
        evaluation = job.evaluator.evaluate(settings)
        return evaluation, _kept(job, evaluation)
    except Exception as error:  # whatever a point does, the study goes on and says so
        return Evaluation(f"Stopped by {type(error).__name__}: {error}"), {}


def _evaluate_draws(job: Job, settings: Mapping[str, Any]) -> list[tuple[str, dict[Variable, Any]]]:
    """Outcome and numbers of every sample of a point; the rest of them carry the reason where one of them raises."""
    if job.draws is None:
        return []
    found: list[tuple[str, dict[Variable, Any]]] = []
    try:
        for evaluation in cast(Sampler, job.evaluator).evaluate_draws(settings, job.draws):
            found.append((evaluation.outcome, _kept(job, evaluation)))
    except Exception as error:
        found += [(f"Stopped by {type(error).__name__}: {error}", {})] * (job.draws.samples - len(found))
    return found


def _kept(job: Job, evaluation: Evaluation) -> dict[Variable, Any]:
    found = numbers(evaluation.summary)
    if job.outputs:
        found = {variable: value for variable, value in found.items() if variable.name in job.outputs}
    return found


def _column(variable: Variable, schema: Schema, runs: Sequence[Mapping[Variable, Any]]) -> np.ndarray:
    if not variable.dimension:
        return np.array([run.get(variable, np.nan) for run in runs], dtype=float)
    names = schema.along(variable.dimension)
    return np.array([[run.get(variable, {}).get(name, np.nan) for name in names] for run in runs], dtype=float)


def guilty_record(flat: int, outcome: str, source: str) -> Record:
    """Record of the one point that killed its worker when it ran alone."""
    return Record(np.array([flat], dtype=np.int64), [outcome], [""], [""], np.zeros(1), "", source)


TARGET_SECONDS = 2.0  # of compute in a batch: hides the cost of a commit (1 ms) and loses little to a kill
MOST_POINTS = 2000  # in a batch, so that a record stays below a few MB


def batch_size(seconds_per_point: float | None, left: int, workers: int) -> int:
    """Points per batch: about 2 s of compute, but never so many that a worker stands idle at the end.

    With no time known yet, one point: the first wave is the measurement.
    """
    if seconds_per_point is None:
        return 1
    size = TARGET_SECONDS / max(seconds_per_point, 1e-6)
    fair = left / (4 * max(workers, 1))
    return int(min(max(1.0, min(size, fair)), MOST_POINTS))


def split(index: np.ndarray, size: int) -> list[np.ndarray]:
    """Cut indices into batches of `size`, order kept, the last one shorter."""
    return [index[first : first + size] for first in range(0, len(index), size)]


def halves(index: np.ndarray) -> list[np.ndarray]:
    """A batch of two points or more cut in two, to find the one that kills its worker."""
    middle = len(index) // 2
    return [index[:middle], index[middle:]]
