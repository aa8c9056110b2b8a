"""The laws of the model and where each comes from, read from the docstrings in `sim1d/physics`."""

import ast
import re
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

NAMES_A_SOURCE = re.compile(
    r"\b(1[6-9]|20)\d\d\b|\b(recalled|assumed|common practice|Handbook|textbook|read:|read in)", re.I
)


class Law(NamedTuple):
    """One law: the file it stands in, its name in words, what it gives, and what its docstring says of its source."""

    topic: str
    name: str
    gives: str
    source: str


@lru_cache(maxsize=1)
def laws() -> tuple[Law, ...]:
    """Every documented law of the physics folder whose docstring names a source, an assumption or a recollection."""
    found = []
    for path in sorted((Path(__file__).parent / "physics").glob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if not isinstance(node, ast.FunctionDef) or node.name.startswith("_"):
                continue
            text = re.sub(r"\s+", " ", ast.get_docstring(node) or "").strip()
            sentences = re.split(r"(?<=[.)])\s+(?=[A-Z0-9+])", text)
            named = [sentence for sentence in sentences[1:] if NAMES_A_SOURCE.search(sentence)]
            if not named and NAMES_A_SOURCE.search(sentences[0]):
                named = sentences[:1]
            if named:
                found.append(
                    Law(path.stem.replace("_", " "), node.name.replace("_", " "), sentences[0], " ".join(named))
                )
    return tuple(found)
