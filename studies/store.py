"""The store: a folder that is a journal of finished batches, written by one process and read by any.

    study.json             what the study is, and the identity of everything that decides its numbers
    sample.npy             shares of the sampled points (sampled studies only)
    schemas/<hash>.json    variables and names that batches hold, written before the first batch that needs it
    batches/<first>-<count>-<id>.npz   one finished batch; the rename from .tmp is the commit
    dataset.zarr           all of it in the dims of the study, once complete
    lock, owner.json       the kernel's lock of the writing process and, for people, who holds it

A batch that is there is whole; one that is not there was never done. So a killed run loses at most the batches under
way, and the same command goes on with the rest.
"""

import contextlib
import hashlib
import json
import os
import platform
import shutil
import time
import uuid
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from studies.batch import Record
from studies.variables import Schema

FORMAT = 1  # of the folder; a change that older code cannot read counts it up
DAMAGED = (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile)


class StoreError(RuntimeError):
    """The study folder cannot be used as asked; the text is one sentence for the user, with what is safe."""


@dataclass
class Journal:
    """What a scan of the batches found: which points are done, in which files, and how long they took."""

    done: np.ndarray  # (count,) bool
    files: list[Path] = field(default_factory=list)
    seconds: float = 0.0  # compute in all batches
    damaged: list[Path] = field(default_factory=list)

    @property
    def pace(self) -> float | None:
        """Mean seconds of compute per point, None while nothing is done."""
        count = int(self.done.sum())
        return self.seconds / count if count else None


class Store:
    """A study folder. Reading needs nothing but the path; writing needs `locked()` around it."""

    def __init__(self, folder: Path | str):
        self.folder = Path(folder)
        self.batches = self.folder / "batches"
        self.schemas = self.folder / "schemas"
        self.zarr = self.folder / "dataset.zarr"
        self._known: set[str] = set()

    # reading ---------------------------------------------------------------------------------------------------

    @property
    def exists(self) -> bool:
        return (self.folder / "study.json").is_file()

    def description(self) -> dict[str, Any]:
        """`study.json`. Raises StoreError when the folder holds no study, or one of another format."""
        try:
            data = json.loads((self.folder / "study.json").read_text(encoding="utf-8"))
        except FileNotFoundError:
            raise StoreError(f"{self.folder} holds no study: there is no study.json in it.") from None
        except (OSError, ValueError) as error:
            raise StoreError(f"{self.folder / 'study.json'} cannot be read: {error}") from None
        if data.get("format") != FORMAT:
            raise StoreError(f"{self.folder} was written in format {data.get('format')}, this program reads {FORMAT}.")
        return data

    def matrix(self) -> np.ndarray | None:
        """Shares of the sampled points, None for a grid."""
        file = self.folder / "sample.npy"
        return np.load(file, allow_pickle=False) if file.is_file() else None

    def files(self) -> list[Path]:
        """Finished batches in a fixed order."""
        return sorted(self.batches.glob("*.npz"))

    def schema(self) -> Schema:
        """Variables and names of all batches together."""
        found = Schema()
        for file in sorted(self.schemas.glob("*.json")):
            found = found.joined(Schema.from_json(json.loads(file.read_text(encoding="utf-8"))))
        return found

    def schema_of(self, key: str) -> Schema:
        return Schema.from_json(json.loads((self.schemas / f"{key}.json").read_text(encoding="utf-8")))

    def scan(self, count: int) -> Journal:
        """Read the indices of every batch. A batch that cannot be read counts as not done and is listed."""
        journal = Journal(np.zeros(count, dtype=bool))
        for file in self.files():
            try:
                with np.load(file, allow_pickle=False) as batch:
                    index, seconds = batch["index"], float(batch["seconds"].sum())
                journal.done[index] = True
            except (*DAMAGED, IndexError):
                journal.damaged.append(file)
                continue
            journal.files.append(file)
            journal.seconds += seconds
        return journal

    # writing ---------------------------------------------------------------------------------------------------

    @contextlib.contextmanager
    def locked(self) -> Iterator[None]:
        """Hold the folder for writing; the kernel frees the lock when the process ends, however it ends.

        Raises StoreError naming the owner when another process holds it, or when the folder cannot be written.
        """
        from filelock import FileLock, Timeout

        with writing(self.folder):
            self.folder.mkdir(parents=True, exist_ok=True)
            lock = FileLock(self.folder / "lock", timeout=0)
            try:
                lock.acquire()
            except Timeout:
                owner = self._owner()
                raise StoreError(f"{self.folder} is being written by {owner}: wait for it, or stop it.") from None
        try:
            with writing(self.folder):
                about = {"pid": os.getpid(), "host": platform.node(), "since": time.strftime("%Y-%m-%d %H:%M:%S")}
                _write_json(self.folder / "owner.json", about)
            yield
        finally:
            with contextlib.suppress(OSError):
                (self.folder / "owner.json").unlink()
            lock.release()

    def writer(self) -> str:
        """Who says to be writing, in words; after a kill it may be gone (only the lock itself knows)."""
        return f"last written by {self._owner()}" if (self.folder / "owner.json").is_file() else "nobody writes"

    def _owner(self) -> str:
        try:
            about = json.loads((self.folder / "owner.json").read_text(encoding="utf-8"))
            return f"process {about['pid']} on {about['host']} since {about['since']}"
        except (OSError, ValueError, KeyError):
            return "another process"

    def create(self, description: Mapping[str, Any], matrix: np.ndarray | None) -> None:
        """Write what the study is; `study.json` comes last, so a folder with it is complete."""
        with writing(self.folder):
            self.batches.mkdir(exist_ok=True)
            self.schemas.mkdir(exist_ok=True)
            if matrix is not None:
                partial = self.folder / "sample.npy.tmp"
                with open(partial, "wb") as handle:
                    np.save(handle, matrix)
                    _sync(handle)
                os.replace(partial, self.folder / "sample.npy")
            self.describe(description)

    def describe(self, description: Mapping[str, Any]) -> None:
        """Replace `study.json`."""
        with writing(self.folder):
            _write_json(self.folder / "study.json", {"format": FORMAT, **description})

    def clean(self) -> None:
        """Remove what a killed run left half written, and set damaged batches aside."""
        with writing(self.folder):
            for file in (*self.folder.glob("*.tmp"), *self.batches.glob("*.tmp"), *self.schemas.glob("*.tmp")):
                shutil.rmtree(file) if file.is_dir() else file.unlink()

    def set_aside(self, files: list[Path]) -> None:
        """Move unreadable batches to `damaged/`, so that their points are run again."""
        with writing(self.folder):
            for file in files:
                (self.folder / "damaged").mkdir(exist_ok=True)
                os.replace(file, self.folder / "damaged" / file.name)

    def commit(self, record: Record) -> None:
        """Keep a batch for good: when this returns, no kill can lose it. Raises StoreError when the disk refuses."""
        with writing(self.folder):
            text = json.dumps(record.schema.as_json())
            key = hashlib.blake2b(text.encode(), digest_size=8).hexdigest()
            if key not in self._known:
                if not (self.schemas / f"{key}.json").is_file():
                    _write_json(self.schemas / f"{key}.json", record.schema.as_json())
                self._known.add(key)
            name = f"{record.index[0]:08d}-{len(record.index)}-{uuid.uuid4().hex[:12]}.npz"
            partial = self.batches / (name + ".tmp")
            with open(partial, "wb") as handle:
                members = {
                    "index": record.index,
                    "outcome": np.array(record.outcome, dtype=np.str_),
                    "notes": np.array(record.notes, dtype=np.str_),
                    "fingerprint": np.array(record.fingerprint, dtype=np.str_),
                    "seconds": record.seconds,
                    "worker": np.array(record.worker),
                    "source": np.array(record.source),
                    "schema": np.array(key),
                }
                values = {f"v_{variable}": column for variable, column in record.values.items()}
                if record.draws:
                    values |= {f"d_{variable}": column for variable, column in record.draws.items()}
                    values["draw_outcome"] = record.draw_outcome.astype(np.str_)
                np.savez(handle, **members, **values)  # type: ignore[arg-type]  # text is stored as unicode, never pickled
                _sync(handle)
            os.replace(partial, self.batches / name)


@contextlib.contextmanager
def writing(folder: Path) -> Iterator[None]:
    """Turn a disk that is full or cannot be written into one sentence that says what is safe."""
    try:
        yield
    except OSError as error:
        reason = error.strerror or str(error)
        raise StoreError(
            f"{folder} could not be written ({reason}). Every batch committed before is safe; "
            "make room or choose another folder, then give the same command again."
        ) from error


def _sync(handle: Any) -> None:
    handle.flush()
    os.fsync(handle.fileno())


def _write_json(file: Path, data: Mapping[str, Any]) -> None:
    partial = file.with_name(file.name + ".tmp")
    with open(partial, "w", encoding="utf-8") as handle:
        json.dump(data, handle, indent=1, allow_nan=False)
        _sync(handle)
    os.replace(partial, file)


# identity ------------------------------------------------------------------------------------------------------


def flat(data: Any, prefix: str = "") -> dict[str, Any]:
    """Nested tables and lists as one table of dotted paths, for comparing two descriptions value by value."""
    if isinstance(data, Mapping) and data:
        return {path: one for key, value in data.items() for path, one in flat(value, f"{prefix}{key}.").items()}
    if isinstance(data, (list, tuple)) and data:
        return {path: one for key, value in enumerate(data) for path, one in flat(value, f"{prefix}{key}.").items()}
    return {prefix.removesuffix("."): data}


def differences(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    """One line for every value that differs between two identities: "car.pump.ratio: 1.0 before, 1.1 now"."""
    before, now = flat(old), flat(new)
    lines = []
    for path in dict.fromkeys([*before, *now]):
        if before.get(path, "absent") != now.get(path, "absent"):
            lines.append(f"{path}: {before.get(path, 'absent')} before, {now.get(path, 'absent')} now")
    return lines


def canonical(data: Any) -> Any:
    """As it reads back from JSON: tuples become lists, so that two identities compare."""
    return json.loads(json.dumps(data))
