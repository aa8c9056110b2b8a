"""Figures of a study. The only file of `studies` that knows matplotlib, which is imported when a figure is drawn."""

import base64
import io
from collections.abc import Sequence
from typing import Any

import numpy as np

WIDTH = 6.2  # in, of one figure on the page


def _figure(height: float) -> tuple[Any, Any]:
    from matplotlib.figure import Figure  # no pyplot: no window system, no global state

    figure = Figure(figsize=(WIDTH, height), layout="constrained")
    return figure, figure.subplots()


def _png(figure: Any) -> str:
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=110, metadata={"Software": None})
    return "data:image/png;base64," + base64.b64encode(buffer.getvalue()).decode()


def _ticks(axis: Any, labels: Sequence[str]) -> None:
    step = max(1, -(-len(labels) // 12))  # at most a dozen labels
    axis.set_ticks(range(0, len(labels), step), labels[::step])


def heat_map(
    values: np.ndarray, columns: Sequence[str], rows: Sequence[str], names: tuple[str, str], title: str, text: str
) -> str:
    """PNG (data URI) of a table of margins (rows, columns): blue holds, red does not, the number in each cell."""
    figure, axes = _figure(0.9 + 0.42 * max(len(rows), 4))
    finite = np.abs(values[np.isfinite(values)])
    limit = max(float(np.quantile(finite, 0.9)), 1e-9) if finite.size else 1.0
    image = axes.imshow(
        np.clip(np.where(np.isfinite(values), values, np.nan), -limit, limit),
        cmap="RdBu", vmin=-limit, vmax=limit, aspect="auto", origin="lower",
    )  # fmt: skip
    axes.set_facecolor("0.8")
    if len(rows) * len(columns) <= 150:
        for row, column in np.ndindex(values.shape):
            value = values[row, column]
            dark = np.isfinite(value) and abs(value) > 0.7 * limit
            shown = f"{value:.1f}" if np.isfinite(value) else "stopped"
            axes.text(column, row, shown, ha="center", va="center", fontsize=7, color="white" if dark else "black")
    _ticks(axes.xaxis, columns)
    _ticks(axes.yaxis, rows)
    axes.tick_params(labelsize=8)
    axes.set_xlabel(names[0].replace("_", " "))
    axes.set_ylabel(names[1].replace("_", " "))
    axes.set_title(title, fontsize=10)
    figure.colorbar(image, ax=axes, label=text)
    return _png(figure)


def bands(
    place: np.ndarray, labels: Sequence[str], values: np.ndarray, limit: float | None, name: str, text: str, unit: str,
    spread: np.ndarray | None = None,
) -> str:  # fmt: skip
    """PNG (data URI) of a number along one axis: mean over all other axes, range of all points, and the limit.

    `spread` (3, points): low end, middle and high end of the band of every point; drawn as the median of each over the
    other axes, with an arrow where that end stands among samples that ended early (inf).
    """
    figure, axes = _figure(2.6)
    seen = [level for level in range(len(labels)) if np.isfinite(values[place == level]).any()]
    groups = [values[(place == level) & np.isfinite(values)] for level in seen]
    axes.fill_between(
        seen, [group.min() for group in groups], [group.max() for group in groups], alpha=0.25, label="all points"
    )
    axes.plot(seen, [group.mean() for group in groups], marker="o", label="mean over the other axes")
    if spread is not None:
        low, middle, high = (_level_median(one, place, seen) for one in spread)
        _bars(
            axes,
            np.array(seen, dtype=float),
            low,
            middle,
            high,
            "band of the samples (median point)",
            np.append(values, np.nan if limit is None else limit),
        )
    if limit is not None and np.isfinite(limit):
        axes.axhline(limit, color="firebrick", linestyle="--", label="limit")
    _ticks(axes.xaxis, labels)
    axes.tick_params(labelsize=8)
    axes.set_xlabel(name.replace("_", " "))
    axes.set_ylabel(f"{text}, {unit}" if unit else text, fontsize=8)
    axes.grid(alpha=0.3)
    axes.legend(fontsize=7)
    return _png(figure)


def _level_median(values: np.ndarray, place: np.ndarray, seen: Sequence[int]) -> np.ndarray:
    """Median of the numbers at each level; inf keeps its side, NaN is left out."""
    found = []
    for level in seen:
        known = values[(place == level) & ~np.isnan(values)]
        found.append(float(np.sort(known)[(len(known) - 1) // 2]) if len(known) else np.nan)
    return np.array(found)


def _bars(
    axes: Any, at: np.ndarray, low: np.ndarray, middle: np.ndarray, high: np.ndarray, label: str, also: np.ndarray,
    flat: bool = False,
) -> None:  # fmt: skip
    """Error bars from low to high with a stroke at the middle; an end at inf becomes an arrow beyond all that is drawn,
    `also` included. `flat`: along x."""
    ends = np.concatenate([low, middle, high, also])
    finite = ends[np.isfinite(ends)]
    if not finite.size:
        return
    reach = max(float(np.ptp(finite)), 1e-9 * max(abs(float(finite.max())), 1.0))
    edges = float(finite.min()) - 0.1 * reach, float(finite.max()) + 0.1 * reach
    first, last = (np.clip(one, *edges) for one in (low, high))
    known = ~(np.isnan(low) | np.isnan(high))
    draw = axes.hlines if flat else axes.vlines
    draw(at[known], first[known], last[known], color="0.25", linewidth=1.4, label=label)
    for end, place, marker in ((low, first, "<" if flat else "v"), (high, last, ">" if flat else "^")):
        for shape, chosen in ((marker, np.isinf(end)), ("|" if flat else "_", np.isfinite(end))):
            x, y = (place[chosen], at[chosen]) if flat else (at[chosen], place[chosen])
            axes.plot(x, y, linestyle="none", marker=shape, color="firebrick" if shape == marker else "0.25")
    inside = np.isfinite(middle)
    x, y = (middle[inside], at[inside]) if flat else (at[inside], middle[inside])
    axes.plot(x, y, linestyle="none", marker="|" if flat else "_", markersize=12, color="0.25")


def ranking(labels: Sequence[str], own: np.ndarray, band: np.ndarray, apart: Sequence[bool]) -> str:
    """PNG (data URI) of the margin of the best layouts, the first on top: dot of the file's values, band of samples.

    `band` (3, layouts): low end, median, high end, steps. A hollow dot: not told apart from the first.
    """
    figure, axes = _figure(1.1 + 0.3 * len(labels))
    at = -np.arange(len(labels), dtype=float)
    _bars(axes, at, band[0], band[1], band[2], "band and median of the samples", np.append(own, 0.0), flat=True)
    for row, value in enumerate(own):
        filled = "tab:blue" if apart[row] or row == 0 else "white"
        axes.plot(value, at[row], marker="o", color="tab:blue", markerfacecolor=filled, linestyle="none")
    axes.plot([], [], "o", color="tab:blue", label="values of the file")
    axes.plot([], [], "o", color="tab:blue", markerfacecolor="white", label="not told apart from the first")
    if not np.isfinite(band[0]).all():
        axes.plot([], [], linestyle="none", marker="<", color="firebrick", label="samples that ended early")
    axes.axvline(0.0, color="firebrick", linestyle="--", label="limit")
    axes.set_yticks(at, [label if len(label) <= 44 else label[:43] + "..." for label in labels])
    axes.tick_params(labelsize=7)
    axes.set_xlabel("margin to the nearest limit, steps", fontsize=8)
    axes.grid(alpha=0.3, axis="x")
    figure.legend(fontsize=7, loc="outside lower center", ncols=2)
    return _png(figure)
