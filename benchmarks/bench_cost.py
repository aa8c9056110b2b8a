"""How cost grows with the size of a model: cylinders (V4 to V12) and cells of the lines.

    python benchmarks/bench_cost.py

One round of the example day on variants of layout A. The exponent p of seconds ~ states^p is the slope of a straight
line through the logarithms; seconds are processor time, best of five. A dense matrix would give 3, a fixed sparse
pattern about 1.
"""

import copy
import sys
import time
import warnings
from collections.abc import Iterable
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

import sim1d  # noqa: E402  (the project is on the path only now)
from sim1d.car import Car, build_car  # noqa: E402
from sim1d.day import build_day  # noqa: E402
from sim1d.pack import Packed, pack  # noqa: E402
from sim1d.simulation import History, integrate  # noqa: E402

CYLINDERS = (2, 3, 4, 5, 6)  # per bank
LINE_CELLS = (1, 2, 4, 8, 16, 32)
REPEATS = 5


def first_round() -> sim1d.Day:
    """Round 1 of the example day."""
    data = sim1d.load_day(sim1d.example_path("race_day")).to_file()
    data["phases"] = [phase for phase in data["phases"] if phase["round"] == 1]
    return build_day(data)


def engine_of(count: int) -> Car:
    """Layout A with `count` cylinders per bank, its heat and its volumes in proportion."""
    data = copy.deepcopy(sim1d.load_car(sim1d.example_path("layout_a")).to_file())
    engine, share = data["engine"], count / 4
    engine["cylinders_per_bank"] = count
    engine["rated_power"] *= share
    engine["heat"]["to_coolant"] *= share
    engine["block"]["volume"] *= share
    engine["head"]["volume"] *= share
    engine["gasket"]["hole_diameter"] = [engine["gasket"]["hole_diameter"][0]] * count
    for line in ("left_rear", "right_rear"):
        data["lines"][line].pop("length", None)
    for sensor in ("left_rear", "right_rear"):
        data["sensors"][sensor]["at"] = f"engine.{sensor.split('_')[0]}-{count}.head"
    return build_car(data)


def measured(packed: Packed) -> tuple[float, History]:
    """Processor seconds of a round (best of five, after one that compiles or loads) and its history."""
    history = integrate(packed)
    seconds = np.inf
    for _ in range(REPEATS):
        began = time.process_time()
        history = integrate(packed)
        seconds = min(seconds, time.process_time() - began)
    return seconds, history


def table(title: str, cases: Iterable[tuple[str, Packed]]) -> None:
    """Print one row per case, and the exponents of seconds and of seconds per step against the number of states."""
    headings = f"{'states':>7s} {'branches':>9s} {'seconds':>9s} {'steps':>6s} {'ms a step':>10s} {'outcome':>12s}"
    print(f"\n{title:12s} {headings}")
    states, seconds, per_step = [], [], []
    for name, packed in cases:
        spent, history = measured(packed)
        states.append(packed.model.layout.size)
        seconds.append(spent)
        per_step.append(spent / history.steps)
        print(
            f"{name:12s} {states[-1]:7d} {len(packed.model.network.branch):9d} {spent:9.3f} {history.steps:6d}"
            f" {1e3 * per_step[-1]:10.3f} {history.outcome.name:>12s}"
        )
    exponent, step_exponent = (np.polyfit(np.log(states), np.log(values), 1)[0] for values in (seconds, per_step))
    print(f"seconds ~ states^{exponent:.2f}; seconds a step ~ states^{step_exponent:.2f}")


def main() -> None:
    """Measure and print."""
    warnings.simplefilter("ignore")
    day = first_round()
    table("cylinders", ((f"V{2 * count}", pack(engine_of(count), day)) for count in CYLINDERS))
    car = sim1d.load_car(sim1d.example_path("layout_a"))
    table("line cells", ((f"{cells}", pack(car, day, cells_per_line=cells)) for cells in LINE_CELLS))


if __name__ == "__main__":
    main()
