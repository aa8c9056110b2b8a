"""How much time the compiled kernels save: one right-hand side, kernel against the slow twin, and a whole round by it.

    python benchmarks/bench_twin.py [car]

Prints one line per state. One run on one machine: read the ratio, not the seconds.
"""

import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from reference import naive_model  # noqa: E402  (the folders are on the path only now)
from reference.cars import packed  # noqa: E402
from reference.states import STATES  # noqa: E402

from sim1d.core.handle import handle  # noqa: E402
from sim1d.core.model import work_arrays  # noqa: E402
from sim1d.core.rhs import derivative  # noqa: E402
from sim1d.simulation import integrate  # noqa: E402

CHOSEN = ("cold", "hot", "soak", "boiling", "dry")
REPEATS = 300  # evaluations of the kernel per state


def kernel_seconds(model, state: np.ndarray, phase: np.record, moment: float, cold: bool) -> float:
    """Mean seconds of one right-hand side; `cold`: flows from nothing every time, else from the last answer."""
    arrays = work_arrays(model)
    compiled, work = handle(model), handle(arrays)
    rate = np.empty(model.layout.size)
    derivative(moment, state, phase, compiled, work, rate)  # compiles, or loads the cache
    spent = 0.0
    for _ in range(REPEATS):
        if cold:
            arrays.flow[:] = 0.0
        began = time.perf_counter()
        derivative(moment, state, phase, compiled, work, rate)
        spent += time.perf_counter() - began
    return spent / REPEATS


def twin_seconds(model, state: np.ndarray, phase: np.record, moment: float) -> float:
    """Seconds of one right-hand side of the twin."""
    began = time.perf_counter()
    naive_model.derivative(model, phase, moment, state)
    return time.perf_counter() - began


def round_seconds(name: str) -> tuple[float, float]:
    """Prints the table of right-hand sides; seconds of one round with the kernels (measured) and with the twin.

    The twin's: the right-hand sides of that round times its mean over the states, Jacobians not counted.
    """
    here = packed(name)
    print(f"{name}: {here.model.layout.size} states, {len(here.model.network.branch)} branches")
    print(f"{'state':10}{'kernel warm us':>16}{'kernel cold us':>16}{'twin ms':>10}{'twin / warm':>13}")
    twins = []
    for state in CHOSEN:
        y, phase, moment = STATES[state](here)
        warm, cold = (kernel_seconds(here.model, y, phase, moment, flag) for flag in (False, True))
        twin = twin_seconds(here.model, y, phase, moment)
        twins.append(twin)
        print(f"{state:10}{1e6 * warm:16.1f}{1e6 * cold:16.1f}{1e3 * twin:10.1f}{twin / warm:13.0f}")
    integrate(here)  # compiles the stepper, or loads the cache
    spent = np.inf
    for _ in range(5):
        began = time.process_time()
        history = integrate(here)
        spent = min(spent, time.process_time() - began)
    rounds = max(int(here.round_numbers.max()), 1)
    print(f"day: {history.outcome.name.lower()}, {rounds} rounds, {history.steps} steps", end="")
    print(f", {history.evaluations} evaluations")
    return spent / rounds, history.evaluations * float(np.mean(twins)) / rounds


def main(name: str) -> None:
    """Print the table, then the day: measured with the kernels, estimated with the twin."""
    ours, twin = round_seconds(name)
    print(f"one round with the kernels, measured: {ours:.3f} s")
    print(f"one round with the twin, estimated: {twin / 60:.0f} min, Jacobians not counted; ratio {twin / ours:,.0f}")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "layout_a")
