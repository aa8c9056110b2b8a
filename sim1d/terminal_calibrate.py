"""A calibration as a terminal shows it: what was rejected, both tables, what cannot be told, what helps next."""

from rich.console import Console
from rich.table import Table
from rich.text import Text

from sim1d.calibrate.study import Calibration
from sim1d.calibrate.words import CAUTIONS, advice_lines, parameter_row, reading_row, untold_lines

READINGS = {
    "name": "reading", "value": "measured", "plus_minus": "plus-minus", "after": "predicted after",
    "residual": "residual",
}  # fmt: skip
PARAMETERS = {"title": "value", "before": "before", "after": "after", "band": "95 % band", "ratio": "width/prior"}


def print_calibration(console: Console, result: Calibration) -> None:
    """Rejected readings first, then the tables, sentences and cautions."""
    rejected = result.rejected
    used = len(result.judged) - len(rejected)
    console.print(Text(f"{used} of {len(result.judged)} readings used.", style="bold"))
    for one in rejected:
        row = reading_row(one)
        console.print(Text.assemble((f"rejected: {row['name']}, {row['value']}: ", "red"), f"{row['rejected']}."))
    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for head in PARAMETERS.values():
        shown.add_column(head, overflow="fold")
    for value in result.fitted:
        if value.told:
            cells = parameter_row(value)
            title = cells["title"] + (f" ({cells['note']})" if cells["note"] else "")
            shown.add_row(title, *(cells[key] for key in PARAMETERS if key != "title"))
    if any(value.told for value in result.fitted):
        console.print(shown)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for head in READINGS.values():
        table.add_column(head, overflow="fold")
    for one in result.judged:
        cells = reading_row(one)
        style = "red" if one.rejected else ""
        table.add_row(*(Text(cells[key], style=style) for key in READINGS))
    console.print(table)
    console.print("Residuals are predicted less measured, in units of plus-minus (one standard deviation).")
    for title, lines in (
        ("These readings cannot tell", untold_lines(result)),
        ("What would help most next", advice_lines(result)),
    ):
        if lines:
            console.print(Text(f"{title}:", style="bold"))
            for line in lines:
                console.print(Text(f"  {line}"))
    for text in CAUTIONS:
        console.print(Text(f"Caution: {text}", style="dim"))
