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
    place: np.ndarray, labels: Sequence[str], values: np.ndarray, limit: float | None, name: str, text: str, unit: str
) -> str:
    """PNG (data URI) of a number along one axis: mean over all other axes, range of all points, and the limit."""
    figure, axes = _figure(2.6)
    seen = [level for level in range(len(labels)) if np.isfinite(values[place == level]).any()]
    groups = [values[(place == level) & np.isfinite(values)] for level in seen]
    axes.fill_between(
        seen, [group.min() for group in groups], [group.max() for group in groups], alpha=0.25, label="all points"
    )
    axes.plot(seen, [group.mean() for group in groups], marker="o", label="mean over the other axes")
    if limit is not None and np.isfinite(limit):
        axes.axhline(limit, color="firebrick", linestyle="--", label="limit")
    _ticks(axes.xaxis, labels)
    axes.tick_params(labelsize=8)
    axes.set_xlabel(name.replace("_", " "))
    axes.set_ylabel(f"{text}, {unit}" if unit else text, fontsize=8)
    axes.grid(alpha=0.3)
    axes.legend(fontsize=7)
    return _png(figure)
