"""Writing results: everything under temporary names first, renamed when all of it is there."""

import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from sim1d.errors import DescriptionError, Problem


def json_text(value: Any) -> str:
    """JSON as the package writes it; raises ValueError for a number that JSON does not know."""
    return json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def refuse_bad_folder(folder: Path) -> None:
    """Raise DescriptionError if results could not be written to `folder`; creates nothing."""
    if folder.exists() and not folder.is_dir():
        raise DescriptionError([Problem("-o", f"{folder} is a file", "name a folder; it is made where it is missing")])
    existing = next((parent for parent in (folder, *folder.absolute().parents) if parent.exists()), None)
    if existing is None or not existing.is_dir() or not os.access(existing, os.W_OK):
        raise DescriptionError([Problem("-o", f"{folder} cannot be written", "name a folder that you may write to")])


def write_all(folder: Path, files: Mapping[str, str | Callable[[Path], Any]]) -> list[Path]:
    """Write `files` (name -> text, or a function that writes to a path) into `folder`; returns their paths.

    A file takes its name only when all of them are complete, so that a stopped run leaves nothing that looks finished.
    Existing files of the same names are replaced.
    """
    folder.mkdir(parents=True, exist_ok=True)
    waiting = {name: folder / f".{name}.{os.getpid()}.part" for name in files}
    try:
        for name, content in files.items():
            if isinstance(content, str):
                waiting[name].write_text(content, encoding="utf-8")
            else:
                content(waiting[name])
        for name, path in waiting.items():
            os.replace(path, folder / name)
    finally:
        for path in waiting.values():
            path.unlink(missing_ok=True)
    return [folder / name for name in files]
