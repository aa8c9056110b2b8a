"""The table of mutations in docs/explanation/mutations.md."""

import re
from collections.abc import Iterable
from pathlib import Path

from benchmarks.pages import DOCS, put, table

from .bench import Verdict
from .mutations import MUTATIONS

PAGE, NAME = "explanation/mutations.md", "mutations"
WANTED = 0.95  # of all mutations
HEADINGS = ("mutation", "file", "what is broken", "killed by")
ROW = re.compile(r"^\| `(\w+)` \| (`\S+`) \| (.*) \| (`[^|]*`|\*\*survived\*\*: [^|]*) \|$", re.M)


def row(verdict: Verdict) -> tuple[str, ...]:
    """Name and place of a mutation, what it breaks, who saw it."""
    mutation = verdict.mutation
    why = mutation.survives or "not explained"
    outcome = f"`{short(verdict.killer)}`" if verdict.killed else f"**survived**: {why}"
    what = f"{mutation.law} ({mutation.damage.value})"
    cells = (f"`{mutation.name}`", f"`{mutation.file.removeprefix('sim1d/')}`", what, outcome)
    return tuple(cell.replace("|", "/") for cell in cells)


def short(killer: str) -> str:
    """A test as `file::function[case]`, without its folders."""
    path, _, function = killer.partition("::")
    return f"{Path(path).name}::{function}" if function else killer


def share(verdicts: list[Verdict]) -> float:
    """Killed over all, the survivors counted whether explained or not."""
    return sum(one.killed for one in verdicts) / len(verdicts)


def shown(text: str) -> dict[str, tuple[str, ...]]:
    """The rows of a page by the name of their mutation."""
    return {found[1]: (f"`{found[1]}`", found[2], found[3], found[4]) for found in ROW.finditer(text)}


def text(rows: Iterable[tuple[str, ...]]) -> str:
    """The share killed and the table."""
    rows = list(rows)
    killed = sum(not cells[-1].startswith("**survived**") for cells in rows)
    return f"{killed} of {len(rows)} killed ({killed / len(rows):.1%}).\n\n" + table(HEADINGS, rows)


def write(verdicts: Iterable[Verdict]) -> Path:
    """Put these verdicts into the page, beside those of other mutations that stand there; returns its path."""
    rows = shown((DOCS / PAGE).read_text(encoding="utf-8")) | {one.mutation.name: row(one) for one in verdicts}
    return put(PAGE, NAME, text(rows[one.name] for one in MUTATIONS if one.name in rows))
