"""Published values against the package's own: the registry of docs/explanation/validation.md.

    python -m tests.verification.published [--write]

With --write the tables go into the page. `tests/verification/test_published.py` asks every record and holds the page
against them. A record names a publication; numbers that were only computed, by whomever, are no validation and are not
here. Terms: validation (ASME V&V 20, NASA-STD-7009; recalled).
"""

import sys

from benchmarks.pages import DOCS, put, table
from tests.verification import (
    published_engine,
    published_heat,
    published_hydraulics,
    published_properties,
    published_pumps,
)  # fmt: skip
from tests.verification.record import Basis, Published, Section

PAGE, MARK = "explanation/validation.md", "published"
HEADINGS = ("what", "printed", "ours", "difference", "passes within", "source", "read or recalled")

RECORDS: tuple[Published, ...] = tuple(
    record
    for module in (
        published_properties, published_hydraulics, published_pumps, published_heat, published_engine,
    )
    for record in module.records()
)  # fmt: skip


def number(value: float) -> str:
    """Five figures at most, without an exponent."""
    digits = f"{value:.5g}"
    return f"{value:.0f}" if "e" in digits and abs(value) >= 1.0 else digits


def difference(record: Published, ours: float) -> str:
    """In kelvin for a temperature in degC, else per cent of the printed value."""
    if record.unit == "degC":
        return f"{ours - record.printed:+.2f} K"
    return f"{100.0 * (ours / record.printed - 1.0):+.2f} %"


def row(record: Published) -> tuple[str, ...]:
    """One line of the page."""
    ours = record.ours()
    unit = "" if record.unit == "1" else f" {record.unit}"
    shown = 100.0 * record.within / abs(record.printed)
    within = f"{record.within:.2g} K" if record.unit == "degC" else f"{shown:.2g} %"
    return (
        record.what, f"{number(record.printed)}{unit}", f"{number(ours)}{unit}", difference(record, ours),
        f"{within}, {record.why}" if record.why else within, record.source, record.basis.value,
    )  # fmt: skip


def text() -> str:
    """All tables, a heading for each section."""
    counts = {basis: sum(record.basis is basis for record in RECORDS) for basis in Basis}
    blocks = [
        f"{len(RECORDS)} values: {counts[Basis.READ]} read, {counts[Basis.RECALLED]} recalled.\n",
    ]
    for section in Section:
        rows = [row(record) for record in RECORDS if record.section is section]
        blocks.append(f"## {section.value}\n\n{table(HEADINGS, rows)}")
    return "\n" + "\n".join(blocks) + "\n"


def on_the_page() -> str:
    """What the page shows now between its two markers."""
    page = (DOCS / PAGE).read_text(encoding="utf-8")
    return page.split(f"<!-- {MARK} -->\n")[1].split(f"<!-- end of {MARK} -->")[0]


def main() -> None:
    """Print, and write where asked."""
    found = text()
    print(found)
    if "--write" in sys.argv:
        print(put(PAGE, MARK, found))


if __name__ == "__main__":
    main()
