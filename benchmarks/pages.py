"""Puts a measured table into a page of the documentation, between its two markers."""

from pathlib import Path

DOCS = Path(__file__).parents[1] / "docs"


def table(headings: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    """A table in Markdown."""
    lines = [headings, tuple("---" for _ in headings), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines) + "\n"


def put(page: str, name: str, text: str) -> Path:
    """Replace what stands between `<!-- name -->` and `<!-- end of name -->` in a page of docs/; returns its path."""
    path = DOCS / page
    begin, end = f"<!-- {name} -->\n", f"<!-- end of {name} -->"
    before, rest = path.read_text(encoding="utf-8").split(begin)
    path.write_text(f"{before}{begin}{text}{end}{rest.split(end)[1]}", encoding="utf-8")
    return path
