"""Execution of batches by dask: in this process, on a pool of local processes, or on a distributed cluster.

The only file that knows dask. It places batches and hands every record to `commit` as it arrives; it keeps nothing. A
batch whose worker died is run alone and halved until the point that kills is found, which then is kept as such.
"""

import contextlib
import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from typing import Any, Protocol

import numpy as np

from studies.batch import Record, evaluate_batch, halves

WAVE = 64  # batches given to the local scheduler at once: bounds what it holds in memory
CONNECT = 15.0  # s to wait for a scheduler to answer
IN_FLIGHT = 2  # batches per remote thread: one runs, one waits
ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")  # read when a worker loads its libraries


class CrewError(RuntimeError):
    """The workers cannot be reached or cannot run the study; the text is one sentence for the user."""


@dataclass(frozen=True)
class Batch:
    """Indices of the points and the bytes that a worker needs to evaluate them."""

    index: np.ndarray
    job: bytes
    points: bytes


@dataclass
class Lost:
    """Batches without a record after a worker died: those that it may have held, and those that nobody had begun."""

    suspect: list[Batch] = field(default_factory=list)
    waiting: list[Batch] = field(default_factory=list)


Pull = Callable[[], Batch | None]
Commit = Callable[[Record], None]


class Crew(Protocol):
    """Who evaluates batches."""

    workers: int

    def work(self, pull: Pull, commit: Commit) -> Lost:
        """Evaluate batches taken from `pull`: all of them, a wave of them, or until a worker dies."""
        ...

    def alone(self, batch: Batch, commit: Commit) -> bool:
        """Evaluate one batch with nothing beside it; False when its worker died."""
        ...

    def close(self) -> None:
        """Let the workers go; what they had under way is not done."""
        ...


def run_batches(
    crew: Crew, pull: Pull, commit: Commit, cut: Callable[[np.ndarray], Batch], dead: Callable[[int], Record]
) -> None:
    """Evaluate everything that `pull` gives.

    `cut` makes a batch of some indices; `dead` makes the record of a point that killed its worker when it ran alone.
    """
    again: deque[Batch] = deque()
    more = True

    def pull_on() -> Batch | None:
        nonlocal more
        if again:
            return again.popleft()
        batch = pull()
        more = batch is not None
        return batch

    while more or again:
        lost = crew.work(pull_on, commit)
        again.extend(lost.waiting)
        suspects = lost.suspect
        while suspects:
            batch = suspects.pop()
            if crew.alone(batch, commit):
                continue
            if len(batch.index) == 1:
                commit(dead(int(batch.index[0])))
            else:
                suspects.extend(cut(half) for half in halves(batch.index))


@contextlib.contextmanager
def hire(workers: int | None, address: str | None) -> Iterator[Crew]:
    """The crew for `--workers` (None: one per core, 0: this process) or `--scheduler ADDRESS`; ended on leaving."""
    before = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update(dict.fromkeys(ONE_THREAD, "1"))
    crew: Crew
    try:
        if address is not None:
            crew = Cluster(address)
        elif workers == 0:
            crew = SameProcess()
        else:
            crew = LocalProcesses(workers or _cores())
        try:
            yield crew
        finally:
            crew.close()
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _cores() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


# this process --------------------------------------------------------------------------------------------------


class SameProcess:
    """Everything in the calling process, one batch after the other: for debuggers and profilers."""

    workers = 1

    def work(self, pull: Pull, commit: Commit) -> Lost:
        while (batch := pull()) is not None:
            commit(evaluate_batch(batch.job, batch.points))
        return Lost()

    def alone(self, batch: Batch, commit: Commit) -> bool:
        commit(evaluate_batch(batch.job, batch.points))
        return True

    def close(self) -> None:
        pass


# local processes -----------------------------------------------------------------------------------------------


class LocalProcesses:
    """A pool of spawned processes, one thread each, fed by dask's local scheduler; no socket is opened."""

    def __init__(self, workers: int):
        self.workers = workers
        self._pools: dict[int, ProcessPoolExecutor] = {}  # by size: the whole crew, and one worker for suspects
        self._measured = False
        self._others = set(multiprocessing.active_children())

    def work(self, pull: Pull, commit: Commit) -> Lost:
        wave: list[Batch] = []
        size = WAVE if self._measured else 2 * self.workers  # the first wave tells how large a batch should be
        while len(wave) < size and (batch := pull()) is not None:
            wave.append(batch)
        self._measured = True
        return self._compute(wave, self.workers, commit) if wave else Lost()

    def alone(self, batch: Batch, commit: Commit) -> bool:
        lost = self._compute([batch], 1, commit)
        return not (lost.suspect or lost.waiting)

    def close(self) -> None:
        for pool in self._pools.values():
            pool.shutdown(wait=False, cancel_futures=True)
        self._pools.clear()
        for process in set(multiprocessing.active_children()) - self._others:
            process.terminate()

    def _compute(self, wave: list[Batch], workers: int, commit: Commit) -> Lost:
        """Run batches on a pool; those without a record when the pool breaks are lost."""
        import dask
        from dask.callbacks import Callback

        pool = self._pools.get(workers) or _spawn(workers)
        self._pools[workers] = pool
        names = {f"batch-{number}": batch for number, batch in enumerate(wave)}
        call = dask.delayed(evaluate_batch, pure=False)
        tasks = [call(batch.job, batch.points, dask_key_name=name) for name, batch in names.items()]
        left, begun = dict(names), set()

        def begin(key: Any, graph: Any, state: Any) -> None:
            begun.add(key)

        def keep(key: Any, record: Any, graph: Any, state: Any, worker: Any) -> None:
            if key in left:  # the graph may hold other keys than ours
                commit(record)
                del left[key]
                state["cache"][key] = None  # committed, so it need not be held until the wave ends

        try:
            with Callback(pretask=begin, posttask=keep):
                dask.compute(*tasks, scheduler="processes", pool=pool, chunksize=1, optimize_graph=False)
        except BrokenProcessPool:
            self._pools.pop(workers).shutdown(wait=True, cancel_futures=True)
            return Lost(
                [batch for name, batch in left.items() if name in begun],
                [batch for name, batch in left.items() if name not in begun],
            )
        return Lost()


def _spawn(workers: int) -> ProcessPoolExecutor:
    # spawned, not forked: a fork copies threads' locks in whatever state they are
    return ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn"), initializer=_prepare_worker)


def _prepare_worker() -> None:
    """Leave Ctrl-C to the parent, and end with it: pool workers would outlive a killed parent for ever."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, daemon=True, name="end with parent").start()


# a cluster -----------------------------------------------------------------------------------------------------


class Cluster:
    """Workers of a running distributed scheduler. Only this process writes, so they need no shared disk."""

    def __init__(self, address: str):
        from distributed import Client

        try:
            self._client = Client(address, timeout=CONNECT, set_as_default=False)
        except (OSError, ValueError, TimeoutError) as error:
            raise CrewError(f"no scheduler answers at {address} ({error or type(error).__name__})") from None
        threads = self._client.nthreads()
        if not threads:
            self._client.close()
            raise CrewError(f"the scheduler at {address} has no workers: start some first")
        self.workers = sum(threads.values())

    def work(self, pull: Pull, commit: Commit) -> Lost:
        from distributed import as_completed

        pending: dict[Any, Batch] = {}
        lost = Lost()
        while len(pending) < IN_FLIGHT * self.workers and (batch := pull()) is not None:
            pending[self._submit(batch)] = batch
        queue = as_completed(list(pending), loop=self._client.loop)
        for future in queue:
            batch = pending.pop(future)
            if not self._take(future, commit):
                lost.suspect.append(batch)
            if not lost.suspect and (following := pull()) is not None:  # a suspect is cleared before more is begun
                submitted = self._submit(following)
                pending[submitted] = following
                queue.add(submitted)
        return lost

    def alone(self, batch: Batch, commit: Commit) -> bool:
        return self._take(self._submit(batch), commit)

    def close(self) -> None:
        self._client.close()

    def _submit(self, batch: Batch) -> Any:
        return self._client.submit(evaluate_batch, batch.job, batch.points, pure=False)

    def _take(self, future: Any, commit: Commit) -> bool:
        """Commit the record of a future; False when the scheduler blames its batch for dead workers."""
        from distributed import KilledWorker

        try:
            record = future.result()
        except KilledWorker:
            return False
        except ImportError as error:
            raise CrewError(f"a worker lacks what the study needs ({error}): install this package there") from error
        finally:
            future.release()
        commit(record)
        return True
