"""What gas costs: one round of layout A as it is, and with air in both rear heads and a leaking gasket.

    python benchmarks/bench_air.py

Prints processor seconds, steps and their ratio, all measured in this run on one core; the best of five. A minute.
"""

import time
from collections.abc import Mapping

from pages import table

import sim1d
from sim1d.pack import pack
from sim1d.simulation import integrate

ACTIVE: dict[str, Mapping[str, object]] = {
    "as it is": {},
    "0.1 L of air in each rear head": {"trapped_air": {"engine.left-4.head": 1e-4, "engine.right-4.head": 1e-4}},
    "a gasket that lifts at left-4": {"head_gasket.leaks": True, "head_gasket.cylinders": ["left-4"]},
    "both": {
        "trapped_air": {"engine.left-4.head": 1e-4, "engine.right-4.head": 1e-4},
        "head_gasket.leaks": True,
        "head_gasket.cylinders": ["left-4"],
    },
}


def compared() -> tuple[dict[str, float], dict[str, int], float]:
    """Least seconds and steps of a round by case, and the simulated seconds."""
    day = sim1d.load_day(sim1d.example_path("race_day"))
    day = day.model_copy(update={"phases": tuple(phase for phase in day.phases if phase.round == 1)})
    car = sim1d.load_car(sim1d.example_path("layout_a"))
    packed = {name: pack(car.with_values(values), day) for name, values in ACTIVE.items()}
    best: dict[str, float] = {}
    steps: dict[str, int] = {}
    simulated = 0.0
    for _ in range(6):  # in turns, so that a busy machine hits all alike; the first compiles
        for name, item in packed.items():
            began = time.process_time()
            history = integrate(item)
            best[name] = min(best.get(name, 1e9), time.process_time() - began)
            steps[name], simulated = history.steps, float(history.times[-1])
    return best, steps, simulated


def main() -> None:
    """Measure and print."""
    best, steps, simulated = compared()
    base = best["as it is"]
    rows = [(name, f"{best[name]:.3f}", str(steps[name]), f"{best[name] / base:.2f}") for name in best]
    print(table(("one round of layout A", "s", "steps", "ratio"), rows))
    print(f"simulated to {simulated:.0f} s")


if __name__ == "__main__":
    main()
