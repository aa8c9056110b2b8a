"""What the cells of the example layouts cost and leave: peaks of the race day on coarser and finer grids.

    python -m tests.verification.refinement [--write]

With --write the tables go into docs/explanation/verification.md. A few minutes. Terms: solution verification, grid
convergence index (Roache 1994; ASME V&V 20; recalled). The grids are refined here only: no default is changed.
"""

import math
import sys
import time
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any
from unittest import mock

import numpy as np

import sim1d
from benchmarks.pages import put, table
from sim1d.build import Build
from sim1d.pack import Packed, pack
from sim1d.results import dataset
from sim1d.simulation import integrate

PAGE = "explanation/verification.md"
LAYOUTS = ("layout_a", "layout_b", "layout_c")
TIGHT: Any = SimpleNamespace(name="1e-5", value=1e-5)
DECK = "engine.head.wall_cells"
SAFETY, WIDE = 1.25, 3.0  # factors of the grid convergence index: where the order is as expected, and where it is not
QUANTITIES = (("peak metal", "K", 3), ("peak pressure", "kPa gauge", 3), ("end of the run", "s", 2))


@dataclass(frozen=True)
class Grid:
    """Cells of every kind: in a line, in the core, through the fire deck, and in port and liner walls."""

    line: int = 6
    core: int = 8
    deck: int = 5
    wall: int = 2

    def text(self) -> str:
        """Line, core, deck, port and liner."""
        return f"{self.line}, {self.core}, {self.deck}, {self.wall}"


SHIPPED = Grid()
HALF, TWICE, FINEST = Grid(3, 4, 3, 1), Grid(12, 16, 10, 4), Grid(24, 32, 20, 8)
ALONE = {
    "lines as shipped, the rest finest": Grid(line=6, core=32, deck=20, wall=8),
    "core as shipped, the rest finest": Grid(line=24, core=8, deck=20, wall=8),
    "deck as shipped, the rest finest": Grid(line=24, core=32, deck=5, wall=8),
    "port and liner as shipped, the rest finest": Grid(line=24, core=32, deck=20, wall=2),
}


@contextmanager
def walls_of(cells: int) -> Iterator[None]:
    """Port and liner walls of `cells` cells: their number is a constant of `sim1d/parts/engine_metal.py`."""
    own = Build.wall

    def wall(build: Build, name: str, starts_at: str, **given: Any) -> tuple[str, str, float]:
        if name.endswith(".port") or ".liner." in name:
            given["cells"] = cells
        return own(build, name, starts_at, **given)

    with mock.patch.object(Build, "wall", wall):
        yield


def packed_on(name: str, grid: Grid) -> Packed:
    """A layout on its race day, on this grid."""
    car = sim1d.load_car(sim1d.example_path(name)).with_values({DECK: grid.deck})
    with walls_of(grid.wall):
        return pack(
            car, sim1d.load_day(sim1d.example_path("race_day")), cells_per_line=grid.line, cells_per_core=grid.core
        )


@dataclass(frozen=True)
class Peaks:
    """Hottest metal (K), highest gauge pressure (kPa), end of the run (s); size of the state vector and work (s)."""

    values: tuple[float, float, float]
    states: int
    seconds: float


def peaks(packed: Packed, accuracy: Any = TIGHT) -> Peaks:
    """Peaks of one run."""
    began = time.process_time()
    history = integrate(packed, accuracy=accuracy)
    seconds = time.process_time() - began
    ds = dataset(history)
    found = (float(ds.peak_metal_temperature.max()), float(ds.peak_gauge_pressure.max()) / 1e3, float(ds.time[-1]))
    return Peaks(found, len(packed.start), seconds)


def index_of(coarse: float, middle: float, fine: float) -> tuple[float, float]:
    """Observed order on three grids each twice as fine, and the grid convergence index of the coarse one.

    Not-a-number as order where the three do not approach from one side; the index is then thrice their largest
    difference. An order outside 0.5 to 2.5 is none that theory has: the factor is 3 then, and it counts as
    0.5 at least.
    """
    first, second = middle - coarse, fine - middle
    if first == 0.0 or second / first <= 0.0 or abs(second) >= abs(first):
        return math.nan, WIDE * max(abs(first), abs(second), abs(fine - coarse))
    order = math.log2(first / second)
    factor = SAFETY if 0.5 <= order <= 2.5 else WIDE
    growth = 2.0 ** max(order, 0.5)
    return order, factor * abs(first) * growth / (growth - 1.0)


def main() -> None:
    """Measure, print, write where asked."""
    warnings.simplefilter("ignore")
    cells: list[tuple[str, ...]] = []
    index: list[tuple[str, ...]] = []
    for name in LAYOUTS:
        peaks(packed_on(name, SHIPPED), sim1d.Accuracy.COARSE)  # compiles, or loads the cache
        grids = {"half of it": HALF, "as shipped": SHIPPED, "twice": TWICE, "four times (the values)": FINEST} | ALONE
        models = {label: packed_on(name, grid) for label, grid in grids.items()}
        found = {label: peaks(packed) for label, packed in models.items()}
        # the least of two runs at the setting that users get: what a grid costs them
        cost = {n: min(peaks(p, sim1d.Accuracy.NORMAL).seconds for _ in range(2)) for n, p in models.items()}
        truth = np.array(found["four times (the values)"].values)
        for label, one in found.items():
            off = np.array(one.values) - truth
            shown = tuple(
                f"{value:.{digits}f}" if label.endswith("(the values)") else f"{error:+.{digits}f}"
                for value, error, (_, _, digits) in zip(one.values, off, QUANTITIES, strict=True)
            )
            cells.append((name, label, grids[label].text(), f"{one.states}", f"{cost[label]:.2f}", *shown))
            print(cells[-1], file=sys.stderr, flush=True)
        normal = peaks(packed_on(name, SHIPPED), sim1d.Accuracy.NORMAL)
        for k, (quantity, unit, digits) in enumerate(QUANTITIES):
            three = [found[label].values[k] for label in ("as shipped", "twice", "four times (the values)")]
            order, band = index_of(three[0], three[1], three[2])
            index.append(
                (
                    name, f"{quantity}, {unit}", f"{three[0]:.{digits}f}", f"{order:.1f}" if order == order else "none",
                    f"{band:.{digits}f}", f"{abs(normal.values[k] - three[0]):.{digits}f}",
                )
            )  # fmt: skip
    names = tuple(f"{quantity}, {unit}" for quantity, unit, _ in QUANTITIES)
    columns = ("layout", "grid", "cells: line, core, deck, port and liner", "states", "processor seconds at `NORMAL`")
    first = table((*columns, *names), cells)
    headings = ("layout", "quantity", "as shipped", "observed order", "grid convergence index", "tolerance of `NORMAL`")
    second = table(headings, index)
    print(first, second, sep="\n")
    if "--write" in sys.argv:
        print(put(PAGE, "cells", first), put(PAGE, "index", second))


if __name__ == "__main__":
    main()
