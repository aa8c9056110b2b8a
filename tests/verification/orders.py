"""Observed order of accuracy of every discretisation of the package, each against an exact solution.

    python -m tests.verification.orders [--write]

With --write the table goes into docs/explanation/verification.md. Half a minute. `tests/verification/test_orders.py`
holds the same ladders on fewer grids. Terms: code verification, observed order (ASME V&V 20, recalled).
"""

import sys
from collections.abc import Callable

from benchmarks.pages import put, table
from tests.verification import cores, cycles, hoses, lookups, steps, walls
from tests.verification.ladder import Ladder

PAGE, MARK = "explanation/verification.md", "orders"
PARTS: tuple[Callable[[bool], list[Ladder]], ...] = (
    walls.ladders, hoses.ladders, cores.ladders, lookups.ladders, steps.ladders, cycles.ladders,
)  # fmt: skip
HEADINGS = ("case", "against", "grids", "error, coarsest", "error, finest", "order of theory", "observed orders")


def measured(full: bool) -> list[Ladder]:
    """Every ladder, measured now."""
    return [ladder for part in PARTS for ladder in part(full)]


def row(ladder: Ladder, note: int) -> tuple[str, ...]:
    """One line of the page; `note` is the number of its remark, 0 for none."""
    unit = "" if ladder.unit == "1" else f" {ladder.unit}"
    grids = ", ".join(str(size) for size in ladder.sizes)
    ends = tuple(f"{error:.1e}{unit}" for error in (ladder.errors[0], ladder.errors[-1]))
    if ladder.theory is None:
        worst = f"below {ladder.exact:.0e}{unit}"
        theory, orders = (f"bounded, {worst}", "none") if note else (f"exact, {worst}", "any grid")
    else:
        theory, orders = f"{ladder.theory:g}", ", ".join(f"{order:.2f}" for order in ladder.orders)
    case = f"{ladder.case} ({note})" if note else ladder.case
    return case, ladder.against, grids, *ends, theory, orders


def text_of(ladders: list[Ladder]) -> str:
    """A table for each part, its remarks numbered below."""
    blocks, number = [], 0
    for part in dict.fromkeys(ladder.part for ladder in ladders):
        rows, notes = [], []
        for ladder in (one for one in ladders if one.part == part):
            if ladder.remark:
                number += 1
                notes.append(f"({number}) {ladder.remark}\n")
            rows.append(row(ladder, number if ladder.remark else 0))
        blocks.append(f"### {part[0].upper()}{part[1:]}\n\n" + "\n".join([table(HEADINGS, rows), *notes]))
    return "\n" + "\n".join(blocks) + "\n"


def main() -> int:
    """Measure, print, write where asked; 1 when an order is not that of theory."""
    ladders = measured(full=True)
    text = text_of(ladders)
    print(text)
    off = [ladder for ladder in ladders if not ladder.holds]
    for ladder in off:
        print(f"not as theory has it: {ladder.part}, {ladder.case}: {ladder.orders}", file=sys.stderr)
    if "--write" in sys.argv and not off:
        print(put(PAGE, MARK, text))
    return 1 if off else 0


if __name__ == "__main__":
    sys.exit(main())
