"""The frame of every figure: style, margins, and how it is written as SVG or PNG.

matplotlib is imported inside the functions, so that the command line starts without it. Figures are made without
pyplot: no window, no global state.
"""

import io
import re
from collections.abc import Callable, Sequence
from functools import wraps
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure

STYLE: Any = {
    "font.family": "sans-serif", "font.sans-serif": ["DejaVu Sans", "Verdana", "Arial"], "font.size": 9,
    "svg.fonttype": "none", "svg.hashsalt": "sim1d",
    "axes.spines.top": False, "axes.spines.right": False, "axes.edgecolor": "#7a8288", "axes.labelcolor": "#33393d",
    "axes.titlesize": 10, "axes.titleweight": "bold", "axes.titlelocation": "left", "axes.titley": 1.0,
    "axes.grid": True, "axes.axisbelow": True, "grid.color": "#e3e7ea", "grid.linewidth": 0.8,
    "xtick.color": "#555c61", "ytick.color": "#555c61", "lines.linewidth": 1.5,
    "legend.frameon": False, "legend.fontsize": 8,
}  # fmt: skip


def drawn(function: Callable[..., "Figure"]) -> Callable[..., "Figure"]:
    """Give a figure the package's style."""

    @wraps(function)
    def styled(*args: Any, **options: Any) -> "Figure":
        import matplotlib

        with matplotlib.rc_context(STYLE):
            return function(*args, **options)

    return styled


def to_svg(figure: "Figure") -> str:
    """The figure as SVG to stand inside a page: no header, no metadata, nothing that points elsewhere."""
    import matplotlib

    buffer = io.StringIO()
    with matplotlib.rc_context(STYLE):
        nothing = dict.fromkeys(("Creator", "Date", "Format", "Type"))
        # a figure with margins of its own needs no second drawing to find where its text ends
        tight = None if figure.get_layout_engine() is None else "tight"
        figure.savefig(buffer, format="svg", metadata=nothing, bbox_inches=tight)
    text = buffer.getvalue()
    text = text[text.index("<svg") :]
    text = re.sub(r'\s+xmlns(:\w+)?="[^"]*"', "", text)
    return re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.S)


def to_png(figure: "Figure", path: Any, dots_per_inch: int = 110) -> None:
    """Write the figure as PNG."""
    figure.savefig(path, format="png", dpi=dots_per_inch, bbox_inches="tight")


def measured(width: float, height: float) -> "Figure":
    """A figure that finds its margins itself, whatever stands in it."""
    from matplotlib.figure import Figure

    return Figure(figsize=(width, height), layout="constrained")


def framed(
    width: float, height: float, *, left: float = 0.75, right: float = 0.2, top: float = 0.3, bottom: float = 0.5,
    across: float = 0.0, down: float = 0.0,
) -> "Figure":  # fmt: skip
    """A figure whose margins are given, in inches; `across`, `down` between its plots, in widths and heights of them.

    matplotlib would find the margins itself by drawing everything three times, which takes as long as a day's run.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), layout=None)
    figure.subplots_adjust(
        left=left / width, right=1.0 - right / width, bottom=bottom / height, top=1.0 - top / height, wspace=across,
        hspace=down,
    )  # fmt: skip
    return figure


def warm_up() -> None:
    """Draw one small plot, which imports what any figure needs and finds its fonts."""
    figure = framed(2.0, 2.0)
    figure.add_subplot()
    to_svg(figure)


def text_width(texts: Sequence[str], points: float) -> float:
    """About how wide (inches) the longest line of `texts` is at a font size; DejaVu Sans, 0.58 em a letter."""
    lines = [line for text in texts for line in text.split("\n")]
    return max((len(line) for line in lines), default=0) * 0.58 * points / 72.0
