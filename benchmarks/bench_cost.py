"""How cost grows with the size of a model: cylinders (V4 to V12), cells of the lines, and hoses.

    python benchmarks/bench_cost.py

One round of the example day on variants of layout A. The exponent p of seconds ~ number^p is the slope of a straight
line through the logarithms; seconds are processor time, best of five. Against the number of states a dense matrix would
give 3, a fixed sparse pattern about 1.
"""

import copy
import sys
import time
import warnings
from collections.abc import Iterable
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402
from bench_round import first_round  # noqa: E402

import sim1d  # noqa: E402  (the project is on the path only now)
from sim1d.car import Car, build_car  # noqa: E402
from sim1d.pack import Packed, pack  # noqa: E402
from sim1d.simulation import History, integrate  # noqa: E402

CYLINDERS = (2, 3, 4, 5, 6)  # per bank
LINE_CELLS = (1, 2, 4, 8, 16, 32)
EXTRA_HOSES = (0, 8, 16, 32, 64)  # beside those of layout A, each of two lines, from a front vent to the tank
REPEATS = 5


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


def hosed(extra: int) -> Car:
    """Layout A with more bleed hoses, turn about from left and right head, each over a small tee."""
    data = copy.deepcopy(sim1d.load_car(sim1d.example_path("layout_a")).to_file())
    for number in range(extra):
        copied = dict(data["lines"][("left" if number % 2 == 0 else "right") + "_front_vent"])
        copied.pop("size", None)
        copied.pop("length", None)
        tee = f"tee_{number + 1}"
        data["junctions"][tee] = data["junctions"]["outlet_y"] | {"x": 0.4, "z": 0.95, "bore": 0.0028}
        data["lines"][f"to_{tee}"] = copied | {"bore": 0.0028, "to": tee}
        data["lines"][f"from_{tee}"] = copied | {"bore": 0.0028, "from": tee}
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


def table(title: str, cases: Iterable[tuple[int, Packed]]) -> float:
    """Print a row per case, by how many there are of what grows; the exponent of seconds against that number.

    Beside it those of seconds, and of seconds per step, against the number of states.
    """
    headings = f"{'states':>7s} {'branches':>9s} {'seconds':>9s} {'steps':>6s} {'ms a step':>10s} {'outcome':>12s}"
    print(f"\n{title:12s} {headings}")
    counts, states, seconds, per_step = [], [], [], []
    for count, packed in cases:
        spent, history = measured(packed)
        counts.append(count)
        states.append(packed.model.layout.size)
        seconds.append(spent)
        per_step.append(spent / history.steps)
        print(
            f"{count:<12d} {states[-1]:7d} {len(packed.model.network.branch):9d} {spent:9.3f} {history.steps:6d}"
            f" {1e3 * per_step[-1]:10.3f} {history.outcome.name:>12s}"
        )
    pairs = ((counts, seconds), (states, seconds), (states, per_step))
    found = [float(np.polyfit(np.log(sizes), np.log(values), 1)[0]) for sizes, values in pairs]
    print(f"seconds ~ {title}^{found[0]:.2f}; seconds ~ states^{found[1]:.2f}; a step ~ states^{found[2]:.2f}")
    return found[0]


def exponents() -> dict[str, float]:
    """Exponent of seconds against the number of what grows."""
    day = first_round()
    car = sim1d.load_car(sim1d.example_path("layout_a"))
    cases = {
        "cylinders": ((2 * count, pack(engine_of(count), day)) for count in CYLINDERS),
        "line cells": ((cells, pack(car, day, cells_per_line=cells)) for cells in LINE_CELLS),
        "hoses": ((len(hosed(extra).lines), pack(hosed(extra), day)) for extra in EXTRA_HOSES),
    }
    return {title: table(title, rows) for title, rows in cases.items()}


def main() -> None:
    """Measure and print."""
    warnings.simplefilter("ignore")
    exponents()


if __name__ == "__main__":
    main()
