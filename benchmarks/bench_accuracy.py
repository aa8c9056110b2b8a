"""What each accuracy setting costs and leaves: errors of the peaks of the three example layouts over the race day.

    python benchmarks/bench_accuracy.py [--write]

Errors are against the stepper at a tolerance of 1e-6, which itself is held against an independent method of scipy.
Where a wall dries out the error of one run is chance; so every setting runs at several tolerances about its own, and
the largest error counts.
With --write the table goes into docs/explanation/accuracy.md. A few minutes.
"""

import sys
import time
import warnings
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
from pages import put, table
from scipy.integrate import BDF

import sim1d
from sim1d.pack import Packed, pack
from sim1d.results import dataset
from sim1d.simulation import integrate

LAYOUTS = ("layout_a", "layout_b", "layout_c")
REFERENCE = cast(sim1d.Accuracy, SimpleNamespace(name="1e-6", value=1e-6))
AROUND = (1.0, 0.85, 0.93, 1.07, 1.15)  # tolerances that a setting is tried at, over its own
HEADINGS = ("layout", "setting", "steps", "seconds", "peak metal, K", "peak pressure, kPa gauge", "end of the run, s")


def peaks(packed: Packed, accuracy: Any, **options: Any) -> tuple[np.ndarray, int, float]:
    """(hottest metal K, highest gauge pressure kPa, end of the run s), steps and seconds of one run."""
    began = time.perf_counter()
    history = integrate(packed, accuracy=accuracy, **options)
    seconds = time.perf_counter() - began
    ds = dataset(history)
    found = [float(ds.peak_metal_temperature.max()), float(ds.peak_gauge_pressure.max()) / 1e3, float(ds.time[-1])]
    return np.array(found), history.steps, seconds


def main() -> None:
    """Measure, print, and write where asked."""
    warnings.simplefilter("ignore")
    day = sim1d.load_day(sim1d.example_path("race_day"))
    rows = []
    for name in LAYOUTS:
        packed = pack(sim1d.load_car(sim1d.example_path(name)), day)
        peaks(packed, sim1d.Accuracy.COARSE)  # compiles, or loads the cache
        truth, steps, seconds = peaks(packed, REFERENCE)
        shown = tuple(f"{value:.2f}" for value in truth)
        rows.append((name, "1e-6 (the values)", f"{steps}", f"{seconds:.2f}", *shown))
        runs: list[tuple[str, Any, dict[str, Any]]] = [(one.name, one, {}) for one in sim1d.Accuracy]
        if name != "layout_c":  # minutes: a multistep method starts anew at every touch of the cap
            runs.append(("FINE, BDF of scipy", sim1d.Accuracy.FINE, {"method": BDF}))
        for label, setting, options in runs:
            worst = np.zeros(3)
            for share in AROUND if not options else AROUND[:1]:
                nearby = SimpleNamespace(name=label, value=setting.value * share)
                found, count, passed = peaks(packed, nearby, **options)
                if share == 1.0:
                    steps, seconds = count, passed
                worst = np.where(np.abs(found - truth) > np.abs(worst), found - truth, worst)
            rows.append((name, label, f"{steps}", f"{seconds:.2f}", *(f"{value:+.3f}" for value in worst)))
            print(rows[-1], file=sys.stderr, flush=True)
    text = table(HEADINGS, rows)
    print(text)
    if "--write" in sys.argv:
        print(put("explanation/accuracy.md", "accuracy", text))


if __name__ == "__main__":
    main()
