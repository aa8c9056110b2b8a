"""The faults of a car as a terminal shows them: one line each, the first limit to break on top."""

from rich.console import Console
from rich.table import Table
from rich.text import Text

from sim1d.cautions import RULES, SCALD
from sim1d.faults_study import BAND, FaultsResult, table

HEADS = {
    "fault": "fault", "limit": "first limit broken", "when": "when", "launch": "after launch",
    "alarm": "alarm that helps", "metal": "hottest metal", "lost": "lost",
}  # fmt: skip
SHARES = {"limit": 3, "when": 3, "alarm": 4}  # of the width that is left


def print_faults(console: Console, result: FaultsResult) -> None:
    """The run without a fault in one line, the table, the ends of runs that stopped, what does not fit, cautions."""
    broken = "; ".join(f"{item.title}, {item.when}" for item in result.broken)
    base = f"Breaks {len(result.broken)} without a fault: {broken}." if broken else "Every limit of harm holds."
    console.print(Text.assemble(("Without a fault: ", "bold"), f"{result.outcome} {base}"))
    rows = list(table(result))
    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for key, head in HEADS.items():
        shown.add_column(head, overflow="fold", ratio=SHARES.get(key), no_wrap=key in ("fault", "lost"))
    for row in rows:
        style = {"limit": "red" if row["when"] != "-" else "", "fault": "bold"}
        shown.add_row(*(Text(row[key], style=style.get(key, "")) for key in HEADS))
    console.print(shown)
    for row in rows:
        if row["end"] != "whole day":
            console.print(Text.assemble((f"{row['fault']}: ", "bold"), row["end"]))
    for fault in result.unfit:
        console.print(Text(f"does not fit: {fault.name} ({fault.unfit})", style="dim"))
    console.print(
        "Each fault is present from the start of the day, alone. A gauge helps when it differs visibly, before the "
        f"limit breaks, from what it shows on the sound car. {BAND}"
    )
    console.print(Text(f"Caution: never make a fault on a car to see it. {SCALD} {RULES}", style="dim"))
