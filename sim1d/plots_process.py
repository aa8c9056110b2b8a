"""The figures of a run, drawn by a second process while the first one simulates, writes and judges.

Importing matplotlib and drawing takes as long as importing the solver and simulating; on two cores they go side by
side. Where there is one core, or the second process does not answer as it should, the first one draws: the figures are
the same, and an error is that of drawing them here.
"""

import gc
import json
import os
import pickle
import signal
import subprocess
import sys
import traceback
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, cast

from sim1d import plots, plots_frame
from sim1d.arrays import Arrays

if TYPE_CHECKING:
    import xarray as xr

LONGEST = 120.0  # s that an answer is waited for: figures take one, the first search for fonts on a slow disk a minute
AT_ONCE = 5.0  # s within which a process that is told to end does so, unless it hangs
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}  # of linear algebra
SERVE = "import json, sys; sys.path[:] = json.loads(sys.argv[1]); from sim1d.plots_process import serve; serve()"


def serve() -> None:
    """The second process: makes ready, reads `Arrays` on stdin to its end, answers on stdout with the figures as JSON.

    An empty stdin says that the run ended without a result.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # a stopped run ends this process itself
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    gc.disable()  # it lives for one set of figures, and looking for garbage takes a tenth of its time
    plots_frame.warm_up()
    sent = sys.stdin.buffer.read()
    if sent:
        json.dump(_drawn_by_two(cast("xr.Dataset", pickle.loads(sent))), sys.stdout)
    gc.freeze()  # Python itself looks for it once more at the end, and the first process waits for that


def _drawn_by_two(ds: "xr.Dataset") -> dict[str, str]:
    """Every figure; a copy of this process, made when all is imported and read, draws every other one.

    For the first process has little left to do then. This one has a single thread (see `ONE_THREAD`), so that a copy
    of it is sound; on a Mac a copy may not use the libraries of the system.
    """
    keys = list(plots.FIGURES)
    if not hasattr(os, "fork") or sys.platform == "darwin":
        return plots.svgs(ds)
    reading, writing = os.pipe()
    copy = os.fork()
    if copy == 0:
        try:
            with open(writing, "w", encoding="ascii") as answer:
                json.dump(plots.svgs(ds, keys[1::2]), answer)
        except Exception:
            traceback.print_exc()
        finally:
            os._exit(0)  # what it did not answer tells the rest
    os.close(writing)
    try:
        found = plots.svgs(ds, keys[::2])
        with open(reading, encoding="ascii") as answer:
            return found | json.load(answer)
    finally:
        os.kill(copy, signal.SIGKILL)  # it is of no use any more, whether it has ended or not
        os.waitpid(copy, 0)


class Drawing:
    """Draws the figures of one run; made by `drawing`."""

    def __init__(self, process: "subprocess.Popen[bytes] | None"):
        self._process = process
        self._threads = ThreadPoolExecutor(1)

    def begin(self, ds: "xr.Dataset") -> Callable[[], dict[str, str]]:
        """Begin to draw; the function that it returns gives the figures (key to SVG), and waits for them if it must."""
        answer = None if self._process is None else self._threads.submit(self._ask, self._process, Arrays.of(ds))
        return lambda: _read(answer) or plots.svgs(ds)

    @staticmethod
    def _ask(process: "subprocess.Popen[bytes]", arrays: Arrays) -> tuple[int, bytes, bytes]:
        answer, said = process.communicate(pickle.dumps(arrays), timeout=LONGEST)
        return process.returncode, answer, said

    def close(self) -> None:
        """End the second process, whatever it is doing."""
        if self._process is not None:
            with self._process:  # closes its pipes and waits for its end
                self._process.terminate()
                try:
                    self._process.wait(AT_ONCE)
                except subprocess.TimeoutExpired:
                    self._process.kill()
                self._threads.shutdown()  # nobody reads the pipes any more


@contextmanager
def drawing(wanted: bool = True) -> Iterator[Drawing]:
    """What draws the figures of a run that is about to begin; `wanted` says whether anybody will ask for them.

    The second process, where there is a core for it, makes ready at once and has ended when the context is left.
    """
    one = Drawing(_second_process() if wanted and _cores() > 1 else None)
    try:
        yield one
    finally:
        one.close()


def _cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _second_process() -> "subprocess.Popen[bytes] | None":
    """A fresh interpreter, which unlike a fork shares no thread and no lock with this one, that serves figures.

    It finds its modules where this one does. None where no process can be started.
    """
    pipe = subprocess.PIPE
    try:
        # -S: the paths are given, and looking for them once more takes as long as starting
        command = [sys.executable, "-S", "-c", SERVE, json.dumps([*sys.path, str(Path(__file__).parents[1])])]
        return subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe, env=os.environ | ONE_THREAD)
    except OSError:
        return None


def _read(answer: "Future[tuple[int, bytes, bytes]] | None") -> dict[str, str] | None:
    """The figures that came, with the warnings that came with them; None where they did not come whole.

    What the second process said of its failure is shown where tracebacks are asked for: drawing here repeats it.
    """
    if answer is None:
        return None
    try:
        code, text, said = answer.result()
    except (subprocess.TimeoutExpired, OSError):
        return None
    if code == 0 or os.environ.get("SIM1D_TRACEBACK") == "1":
        sys.stderr.write(said.decode(errors="replace"))
    return json.loads(text) if code == 0 else None
