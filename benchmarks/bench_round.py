"""How long one round takes: the project's stepper against stock methods of scipy, packing, compiling, starting.

    python benchmarks/bench_round.py [--quick]

One full round of the example day (2,450 s) on layout A. Everything is measured in one run on one core, so ratios hold
where seconds do not; seconds are processor time of the process, the best of five or more, and the load of the machine
stands in the head. `--quick` leaves out the cold compilation.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))
# threads of the linear algebra spin while they wait, and processor time would count it: one thread, set before numpy
os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = os.environ["MKL_NUM_THREADS"] = "1"

import numpy as np  # noqa: E402
from scipy.integrate import BDF, LSODA  # noqa: E402

import sim1d  # noqa: E402
from sim1d.core.handle import handle  # noqa: E402
from sim1d.core.model import work_arrays  # noqa: E402
from sim1d.core.rhs import derivative  # noqa: E402
from sim1d.day import build_day  # noqa: E402
from sim1d.pack import Packed, pack  # noqa: E402
from sim1d.results import observe  # noqa: E402
from sim1d.simulation import History, integrate  # noqa: E402

TIGHT = cast(sim1d.Accuracy, SimpleNamespace(name="tight", value=1e-6))
REPEATS = 5


def best(function: Callable[[], Any], repeats: int = REPEATS) -> tuple[float, Any]:
    """Least processor time (s) of a call, and its last answer."""
    seconds, answer = np.inf, None
    for _ in range(repeats):
        began = time.process_time()
        answer = function()
        seconds = min(seconds, time.process_time() - began)
    return seconds, answer


def in_turn(functions: list[Callable[[], Any]], turns: int = REPEATS, slot: float = 0.5) -> list[tuple[float, Any]]:
    """`best` of several that shall be compared: each has `slot` s (or one call) in every turn.

    The clock of a shared machine changes within seconds; in turn it is the same for all.
    """
    found: list[tuple[float, Any]] = [(np.inf, None)] * len(functions)
    for _ in range(turns):
        for k, function in enumerate(functions):
            until = time.process_time() + slot
            while True:
                seconds, answer = best(function, 1)
                found[k] = min(found[k][0], seconds), answer
                if time.process_time() >= until:
                    break
    return found


def first_round() -> sim1d.Day:
    """Round 1 of the example day."""
    data = sim1d.load_day(sim1d.example_path("race_day")).to_file()
    data["phases"] = [phase for phase in data["phases"] if phase["round"] == 1]
    return build_day(data)


def peak_metal(history: History) -> np.ndarray:
    """Peak temperature (K) of every cylinder and spot."""
    return observe(history)["metal"].max(axis=0)


def methods(packed: Packed) -> list[tuple[str, float, History, float]]:
    """Every method on the same compiled right-hand side: name, seconds, history, error of peak metal (K)."""
    truth = peak_metal(integrate(packed, accuracy=TIGHT))
    cases: list[tuple[str, dict[str, Any]]] = [
        *((f"ours, {accuracy.name}", dict(accuracy=accuracy)) for accuracy in sim1d.Accuracy),
        ("scipy BDF, NORMAL", dict(method=BDF)),
        ("scipy BDF, FINE", dict(method=BDF, accuracy=sim1d.Accuracy.FINE)),
        ("scipy LSODA, NORMAL", dict(method=LSODA)),
    ]
    runs = [lambda options=options: integrate(packed, **options) for _, options in cases]  # type: ignore[misc]
    return [
        (name, seconds, history, float(np.abs(peak_metal(history) - truth).max()))
        for (name, _), (seconds, history) in zip(cases, in_turn(runs), strict=True)
    ]


def integrators(packed: Packed) -> None:
    """Table of methods: seconds, ratio to ours, steps, right-hand sides, error of peak metal to the tight run."""
    rows = methods(packed)
    ours, _, simulated = against_stock(rows)
    headings = f"{'seconds':>8s} {'ratio':>7s} {'steps':>6s} {'evaluations':>11s} {'peak metal error':>17s}"
    print(f"\n{'method':22s} {headings}")
    for name, seconds, history, error in rows:
        print(
            f"{name:22s} {seconds:8.3f} {seconds / ours:7.1f} {history.steps:6d} {history.evaluations:11d}"
            f" {error:15.4f} K"
        )
    print(f"reference: ours at a relative tolerance of {TIGHT.value:g}; evaluations as the method counts them")
    print(f"simulated over processor seconds, ours NORMAL: {simulated / ours:,.0f}")


def against_stock(rows: list[tuple[str, float, History, float]]) -> tuple[float, float, float]:
    """Seconds of ours at NORMAL, of the quickest stock method, and simulated seconds."""
    ours, history = next((seconds, history) for name, seconds, history, _ in rows if name == "ours, NORMAL")
    return ours, min(row[1] for row in rows if row[0].startswith("scipy")), float(history.times[-1])


def right_hand_sides(packed: Packed, history: History) -> None:
    """Seconds of one evaluation of the right-hand side in the pass and in the soak, called from Python."""
    model, work = handle(packed.model), handle(work_arrays(packed.model))
    rate = np.empty(packed.model.layout.size)
    names = np.array([packed.stretches[k].name for k in history.stretch_of_day()])
    for phase in ("pass", "soak", "pit"):
        index = int(np.flatnonzero(names == phase)[-1])
        row = history.phases[history.stretch[index]]
        state, moment = history.states[index], history.times[index]

        def many(state=state, moment=moment, row=row) -> None:
            for _ in range(1000):
                derivative(moment, state, row, model, work, rate)

        seconds, _ = best(many)
        print(f"right-hand sides per second, {phase:4s}: {1000 / seconds:10,.0f}")


def child(code: str, **environment: str) -> float:
    """Wall seconds of a fresh Python that runs `code`; it may keep and find byte code, as anybody's second run does."""
    inherited = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    began = time.perf_counter()
    subprocess.run(
        [sys.executable, "-c", code], check=True, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
        env={**inherited, **environment},
    )  # fmt: skip
    return time.perf_counter() - began


def help_seconds() -> float:
    """Wall seconds of `sim1d --help` in a fresh process."""
    asked = "import sys; sys.argv = ['sim1d', '--help']; from sim1d.cli import main; main()"
    return min(child(asked) for _ in range(REPEATS))


def run_seconds() -> float:
    """Wall seconds of `sim1d run` of the example day with its report in a fresh process, kernels in the cache."""
    with tempfile.TemporaryDirectory() as folder:
        files = [str(sim1d.example_path(name)) for name in ("layout_a", "race_day")]
        asked = f"import sys; sys.argv = {['sim1d', 'run', *files, '-o', folder]!r}; from sim1d.cli import main; main()"
        child(asked)  # compiles, or loads the cache
        return min(child(asked) for _ in range(REPEATS))


def starting(quick: bool) -> None:
    """Wall seconds of a fresh process: import, help, first simulation with a warm and with an empty cache."""
    imports = min(child("import sim1d") for _ in range(REPEATS))
    empty = min(child("pass") for _ in range(REPEATS))
    helps, runs = help_seconds(), run_seconds()
    warm = min(child("import sim1d; sim1d.warm_up()") for _ in range(REPEATS))
    print(f"\nfresh process, wall: python alone {empty:.2f} s, import sim1d {imports:.2f} s, --help {helps:.2f} s")
    print(f"first simulation with a warm cache of kernels {warm:.1f} s, run with its report {runs:.1f} s")
    if not quick:
        with tempfile.TemporaryDirectory() as folder:
            cold = child("import sim1d; sim1d.warm_up()", SIM1D_CACHE=folder)
        print(f"first simulation with an empty cache {cold:.1f} s, so {cold - warm:.1f} s of compilation")


def main() -> None:
    """Measure and print."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])  # type: ignore[union-attr]
    options.add_argument("--quick", action="store_true", help="leave out the cold compilation")
    quick = options.parse_args().quick
    warnings.simplefilter("ignore")
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "unknown"
    print(f"layout A, one round; load of the machine {load} on {os.cpu_count()} cores; {sys.version.split()[0]}")
    car, day = sim1d.load_car(sim1d.example_path("layout_a")), first_round()
    packed = pack(car, day)
    history = integrate(packed)  # compiles, or loads the cache
    seconds, _ = best(lambda: pack(car, day))
    layout = packed.model.layout
    print(f"states {layout.size}, branches {len(packed.model.network.branch)}, day {history.times[-1]:.0f} s")
    print(f"pack {seconds * 1e3:.0f} ms; observe {best(lambda: observe(history))[0] * 1e3:.0f} ms")
    integrators(packed)
    print()
    right_hand_sides(packed, history)
    starting(quick)
    versions = {name: __import__(name).__version__ for name in ("numpy", "scipy", "numba")}
    print(json.dumps(versions))


if __name__ == "__main__":
    main()
