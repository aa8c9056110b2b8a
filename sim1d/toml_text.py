"""TOML files as people write them: read with care, find the line of a key, write back without losing the comments."""

import re
import tomllib
from pathlib import Path
from typing import Any

from sim1d.errors import DescriptionError, Problem

LARGEST = 2_000_000  # bytes; a description is a few thousand

_HEADER = re.compile(r"^\s*(\[\[?)\s*(.+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"""^\s*((?:"[^"]*"|'[^']*'|[\w-]+)(?:\s*\.\s*(?:"[^"]*"|'[^']*'|[\w-]+))*)\s*=""")
_PIECE = re.compile(r""""([^"]*)"|'([^']*)'|([\w-]+)""")


def read_toml(path: str | Path) -> tuple[dict[str, Any], str]:
    """Data and text of a TOML file. Raises DescriptionError for whatever keeps it from being read."""
    path = Path(path)

    def refuse(what: str, fix: str, line: int = 0):
        return DescriptionError([Problem("", what, fix, str(path), line)])

    try:
        if path.is_dir():
            raise refuse("is a folder", "name the file in it")
        if path.stat().st_size > LARGEST:
            raise refuse(f"has {path.stat().st_size / 1e6:.0f} MB", "name a description; those have a few kB")
        raw = path.read_bytes()
    except DescriptionError:
        raise
    except FileNotFoundError:
        raise refuse("there is no such file", "check the name, or write an example with: sim1d new DIR") from None
    except OSError as error:
        raise refuse(f"cannot be read: {error.strerror or error}", "check the name and its permissions") from None
    except ValueError:  # a zero byte in the name
        raise refuse("is no file name", "check the name") from None
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise refuse("is not UTF-8 text", "save it as plain UTF-8 text", line) from None
    if not text.strip():
        raise refuse("is empty", "write the description, or start from an example: sim1d new DIR")
    return parse_toml(text, str(path)), text


def parse_toml(text: str, file: str = "") -> dict[str, Any]:
    """Data of TOML text; raises DescriptionError with the line where it stops being TOML."""
    try:
        return tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"\(at line (\d+), column \d+\)", str(error))
        what = str(error).split(" (at ")[0]
        what = what[:1].lower() + what[1:]
        fix = 'write key = value, text in quotes ("30 in"), tables as [name]; each key once'
        raise DescriptionError(
            [Problem("", f"is not TOML: {what}", fix, file, int(found[1]) if found else 0)]
        ) from None
    except (RecursionError, ValueError):  # absurd nesting, integers of thousands of digits
        raise DescriptionError(
            [Problem("", "is not TOML that can be read", "write plain keys and values", file)]
        ) from None


def _pieces(dotted: str) -> list[str]:
    return [next(group for group in match.groups() if group is not None) for match in _PIECE.finditer(dotted)]


class Lines:
    """Where each key of a TOML text stands. Keys inside an inline table count as the line of that table's key."""

    def __init__(self, text: str):
        self.line_of: dict[tuple[str, ...], int] = {}
        counts: dict[tuple[str, ...], int] = {}
        table: tuple[str, ...] = ()
        inside = ""  # the quotes of an open multi-line string
        for number, line in enumerate(text.splitlines(), start=1):
            if inside:
                if inside in line:
                    inside = ""
                continue
            header = _HEADER.match(line)
            key = _KEY.match(line)
            if header and not key:
                table = tuple(_pieces(header[2]))
                if header[1] == "[[":
                    counts[table] = counts.get(table, -1) + 1
                    table = (*table, str(counts[table]))
                for depth in range(1, len(table) + 1):
                    self.line_of.setdefault(table[:depth], number)
                self.line_of[table] = number
            elif key:
                names = (*table, *_pieces(key[1]))
                for depth in range(len(table) + 1, len(names) + 1):
                    self.line_of.setdefault(names[:depth], number)
            for quotes in ('"""', "'''"):
                if line.count(quotes) % 2:
                    inside = quotes

    def find(self, keys: tuple[str | int, ...]) -> int:
        """Line of a key, or of the nearest table above it; 0 if not even that is there."""
        names = tuple(str(key) for key in keys)
        while names:
            if names in self.line_of:
                return self.line_of[names]
            names = names[:-1]
        return 0


def write_toml(path: str | Path, data: dict[str, Any], heading: str = "", template: str = "") -> None:
    """Write `data` as TOML. With the text of a file as `template`, its comments, order and untouched values stay."""
    import tomlkit

    if template:
        document = tomlkit.parse(template)
        _update(document, data)
    else:
        document = tomlkit.document()
        for line in heading.splitlines():
            document.add(tomlkit.comment(line))
        scalars = {key: value for key, value in data.items() if not isinstance(value, dict)}
        for key, value in [*scalars.items(), *((key, value) for key, value in data.items() if key not in scalars)]:
            document.add(key, value)
    Path(path).write_text(tomlkit.dumps(document), encoding="utf-8")


def _update(target: Any, data: dict[str, Any]) -> None:
    for key in [key for key in target if key not in data]:
        del target[key]
    for key, value in data.items():
        if isinstance(value, dict) and key in target and hasattr(target[key], "items"):
            _update(target[key], value)
        elif key not in target or target[key] != value:
            target[key] = value
