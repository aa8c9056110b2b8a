"""What the figures select from a run: the span around a pass, and the points worth a curve."""

from typing import TYPE_CHECKING

import numpy as np

from sim1d.reading_results import names, position_of

if TYPE_CHECKING:
    import xarray as xr


def cylinders_per_bank(ds: "xr.Dataset") -> int:
    """Number of cylinders of one bank."""
    return max((position_of(name) for name in names(ds, "cylinder")), default=1)


def around_pass(ds: "xr.Dataset", span: slice, before: float = 12.0, after: float = 25.0) -> tuple[np.ndarray, slice]:
    """Seconds from the launch of a pass, and the indices that show it with `before` and `after` seconds around it."""
    time = ds["time"].values
    seconds = time - time[span.start]
    inside = np.flatnonzero((seconds >= -before) & (seconds <= time[span.stop - 1] - time[span.start] + after))
    return seconds, slice(int(inside[0]), int(inside[-1]) + 1)


def main_points(ds: "xr.Dataset", most: int = 9) -> list[str]:
    """Points worth a curve: suction, pump, radiator, tank and head outlets, and the hottest head of each bank."""
    points = names(ds, "point")
    wanted = [
        lambda p: p.endswith((".suction", ".discharge")),
        lambda p: p in ("radiator.inlet", "radiator.outlet"),
        lambda p: p == "expansion_tank",
        lambda p: p.startswith("engine.") and p.endswith((".front", "crossover")),
    ]
    chosen = [p for test in wanted for p in points if test(p)]
    peak = ds["coolant_temperature"].values.max(axis=0)
    hottest_first = sorted(points, key=lambda p: -peak[points.index(p)])
    for bank in ("left", "right"):
        chosen += [p for p in hottest_first if p.startswith(f"engine.{bank}-") and p.endswith(".head")][:1]
    return list(dict.fromkeys(chosen or hottest_first))[:most]
