"""Every speed that the project reaches for, in one table: what is measured here and now, the target, met or not.

    python benchmarks/bench_all.py

One core of this machine, the best of several; processor time where seconds of the process count, wall time where a user
waits. What the single benchmarks print on the way goes to stderr. Five to ten minutes.
"""

import os
import sys
import warnings
from collections.abc import Iterator
from contextlib import redirect_stdout
from dataclasses import dataclass

from bench_round import (  # before numpy: it sets one thread
    against_stock,
    best,
    first_round,
    help_seconds,
    methods,
    run_seconds,
)

import sim1d
from sim1d.pack import pack
from sim1d.simulation import integrate

ROUND, STATES = 0.012, 200  # s of a full round, with at least so many states
TWIN, STOCK = 3000.0, 25.0  # times quicker than the plain Python twin, than the best stock method of scipy
AIR, EXPONENT = 1.5, 1.1  # times dearer with air and a leaking gasket; of seconds against what grows
HELP, SECOND_RUN = 0.3, 3.0  # s, wall
HEADINGS = ("what", "measured", "target", "met")


@dataclass(frozen=True)
class Reach:
    """One line: a measured value against its target; `least` where more is better."""

    what: str
    value: float
    target: float
    form: str
    least: bool = False

    def cells(self) -> tuple[str, ...]:
        """The line as text."""
        met = self.value >= self.target if self.least else self.value <= self.target
        word = "at least" if self.least else "at most"
        return (
            self.what,
            self.form.format(self.value),
            f"{word} {self.form.format(self.target)}",
            "yes" if met else "NO",
        )


def reaches() -> Iterator[Reach]:
    """Measure one after the other."""
    from bench_air import compared
    from bench_cost import exponents
    from bench_twin import round_seconds

    packed = pack(sim1d.load_car(sim1d.example_path("layout_a")), first_round())
    integrate(packed)  # compiles, or loads the cache
    seconds, history = best(lambda: integrate(packed), 15)
    size = packed.model.layout.size
    whole = f"one full round of layout A ({history.times[-1]:,.0f} s simulated, {history.steps} steps)"
    yield Reach(whole, 1e3 * seconds, 1e3 * ROUND, "{:.1f} ms")
    yield Reach("states of that model", size, STATES, "{:.0f}", least=True)
    ours, twin = round_seconds("layout_a")
    yield Reach("a round by the plain Python twin (estimated) over ours", twin / ours, TWIN, "{:,.0f}", least=True)
    ours, stock, _ = against_stock(methods(packed))
    yield Reach(
        "best stock method of scipy, same right-hand side, over ours", stock / ours, STOCK, "{:.1f}", least=True
    )
    times, _, _ = compared()
    yield Reach(
        "the round with air and a leaking gasket over that without", times["both"] / times["as it is"], AIR, "{:.2f}"
    )
    for what, exponent in exponents().items():
        yield Reach(f"exponent of seconds against the number of {what}", exponent, EXPONENT, "{:.2f}")
    yield Reach("sim1d --help, fresh process", help_seconds(), HELP, "{:.2f} s")
    yield Reach("second sim1d run with its report, fresh process", run_seconds(), SECOND_RUN, "{:.2f} s")


def main() -> None:
    """Measure and print."""
    from pages import table

    warnings.simplefilter("ignore")
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "unknown"
    rows = []
    with redirect_stdout(sys.stderr):
        for reach in reaches():
            rows.append(reach.cells())
            print(" | ".join(rows[-1]), flush=True)
    print(table(HEADINGS, rows))
    print(f"load of the machine at the start {load} on {os.cpu_count()} cores")


if __name__ == "__main__":
    main()
