"""What the figures select from a run (the span around a pass, the points worth a curve), and units of second axes."""

from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.reading_results import names, position_of

if TYPE_CHECKING:
    import xarray as xr

PSI_PER_KPA = 1 / 6.894757293168


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


def to_psi(kilopascal: Any) -> Any:
    """kPa -> psi, of numbers or arrays (for a second axis)."""
    return kilopascal * PSI_PER_KPA


def to_kpa(psi: Any) -> Any:
    """psi -> kPa."""
    return psi / PSI_PER_KPA


def to_fahrenheit(celsius: Any) -> Any:
    """C -> F."""
    return celsius * 1.8 + 32


def to_celsius(fahrenheit: Any) -> Any:
    """F -> C."""
    return (fahrenheit - 32) / 1.8
