"""`open_study`: the results of a study as one lazy dataset, whether it is complete, under way or was killed."""

import json
import math
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.headlines import Bad, bad_side
from studies.draws import ENDS, band_table
from studies.points import points_from_json
from studies.store import DAMAGED, Store, writing
from studies.variables import Variable

if TYPE_CHECKING:
    import xarray as xr

Place = Callable[[Any, np.ndarray], np.ndarray]
NOT_RUN = "not run"  # outcome of a point that is not done yet
TEXTS = {
    "outcome": "how the run of the point ended",
    "notes": "notes of the run",
    "fingerprint": "hash of the packed inputs of the point",
}


class Scatter:
    """Reads one member of every batch and puts its rows where they belong among all points; reads once, then keeps."""

    def __init__(self, store: Store, count: int):
        self.store, self.count = store, count
        self.files = store.files()  # the state of the journal when the dataset was opened
        self._schemas: dict[str, Any] = {}

    def read(self, member: str, out: np.ndarray, place: Place | None = None) -> np.ndarray:
        """Fill `out` (count, ...) from `member`; `place` moves columns of a batch's schema to those of the dataset."""
        for file in self.files:
            try:
                with np.load(file, allow_pickle=False) as batch:
                    if member not in batch.files:
                        continue
                    rows = batch[member]
                    if place is not None:
                        rows = place(self._schema(str(batch["schema"])), rows)
                    out[batch["index"]] = rows
            except DAMAGED:
                continue  # a batch that cannot be read is a batch not done; `run` sets it aside and runs it again
        return out

    def _schema(self, key: str) -> Any:
        if key not in self._schemas:
            self._schemas[key] = self.store.schema_of(key)
        return self._schemas[key]


def _lazy(shape: tuple[int, ...], dtype: Any, load: Callable[[], np.ndarray]) -> Any:
    """An array that xarray reads on first use."""
    from xarray.backends import BackendArray
    from xarray.core import indexing

    class JournalArray(BackendArray):
        def __init__(self) -> None:
            self.shape, self.dtype = shape, np.dtype(dtype)
            self._data: np.ndarray | None = None

        def __getitem__(self, key: Any) -> Any:
            return indexing.explicit_indexing_adapter(key, self.shape, indexing.IndexingSupport.BASIC, self._get)

        def _get(self, key: Any) -> Any:
            if self._data is None:
                self._data = load().reshape(self.shape)
            return self._data[key]

    return indexing.LazilyIndexedArray(JournalArray())


def open_study(folder: Path | str) -> "xr.Dataset":
    """All results of a study folder: one dim per axis (or `sample`), then cylinder, point, bank or pump.

    SI; every variable has `units` and `long_name`. Nothing is loaded before it is used, nothing is locked and nothing
    is written, so a study under way can be looked at. Points not done are NaN with the outcome "not run"; failed ones
    are NaN with the sentence that says why. A study with [uncertainty] also has `NAME_draws` (..., draw),
    `draw_outcome`, and `NAME_low`, `NAME_middle`, `NAME_high` beside every number. Raises StoreError when the folder
    holds no study.

    >>> ds = open_study("out")                                        # doctest: +SKIP
    >>> ds.peak_metal_temperature.max("cylinder").sel(pump_ratio=1.0)  # doctest: +SKIP
    """
    import xarray as xr

    store = Store(folder)
    description = store.description()
    if store.zarr.is_dir():
        dataset = xr.open_zarr(store.zarr, consolidated=False, chunks=None)
        dataset.attrs.update(_attributes(description))  # title and limits may have changed since it was written
        return dataset
    return _from_journal(store, description)


def _attributes(description: dict[str, Any]) -> dict[str, str]:
    return {
        "title": description["title"],
        "limits": json.dumps(description["limits"]),
        "cautions": json.dumps(description["cautions"]),
        "identity": json.dumps(description["identity"]),
    }


def _from_journal(store: Store, description: dict[str, Any]) -> "xr.Dataset":
    import xarray as xr

    points = points_from_json(description, store.matrix())
    scatter, schema = Scatter(store, points.count), store.schema()
    variables: dict[str, Any] = {}
    for variable in schema.variables:
        names = schema.along(variable.dimension) if variable.dimension else ()
        dims = (*points.dims, variable.dimension) if variable.dimension else points.dims
        shape = (*points.shape, len(names)) if variable.dimension else points.shape
        about = {"units": variable.units, "long_name": variable.name.replace("_", " ")}
        variables[variable.name] = (dims, _lazy(shape, float, _reader(scatter, variable, names)), about)
    samples = description["identity"].get("uncertainty", {}).get("samples", 0)
    if samples:
        variables |= _drawn(scatter, schema, points, samples)
    for name, text in TEXTS.items():
        blank = NOT_RUN if name == "outcome" else ""
        texts = _lazy(points.shape, object, _text_reader(scatter, name, blank))
        variables[name] = (points.dims, texts, {"long_name": text})
    seconds = _lazy(points.shape, float, lambda: scatter.read("seconds", np.full(points.count, math.nan)))
    variables["run_seconds"] = (points.dims, seconds, {"units": "s", "long_name": "wall time of the run"})
    coordinates: dict[str, Any] = dict(points.coordinates())
    for dimension, names in schema.names:
        coordinates[dimension] = ((dimension,), np.array(names, dtype=object))
    return xr.Dataset(variables, coordinates, _attributes(description))


def _drawn(scatter: Scatter, schema: Any, points: Any, samples: int) -> dict[str, Any]:
    """`NAME_draws` of every variable and the outcome of every draw; `NAME_low`, `_middle`, `_high` of those that have a
    bad side (a residual has none)."""
    dims, shape = (*points.dims, "draw"), (*points.shape, samples)

    def outcome() -> np.ndarray:
        return scatter.read("draw_outcome", np.full((scatter.count, samples), NOT_RUN, dtype=object))

    found: dict[str, Any] = {"draw_outcome": (dims, _lazy(shape, object, outcome), {"long_name": "how the draw ended"})}
    for variable in schema.variables:
        names = schema.along(variable.dimension) if variable.dimension else ()
        tail, sizes = ((variable.dimension,), (len(names),)) if variable.dimension else ((), ())
        text = variable.name.replace("_", " ")
        read = _reader(scatter, variable, names, samples)
        about = {"units": variable.units, "long_name": f"{text}, every draw"}
        found[f"{variable.name}_draws"] = ((*dims, *tail), _lazy((*shape, *sizes), float, read), about)
        bad = bad_side(variable.name)
        for place, end in enumerate(ENDS if bad else ()):
            about = {"units": variable.units, "long_name": f"{text}, {ABOUT_ENDS[end]}; inf: those draws ended early"}
            load = _band_reader(read, outcome, variable.name, bad, place)
            array = _lazy((*points.shape, *sizes), float, load)
            found[f"{variable.name}_{end}"] = ((*points.dims, *tail), array, about)
    return found


ABOUT_ENDS = {"low": "5th percentile of the draws", "middle": "median of the draws", "high": "95th percentile"}


def _band_reader(
    read: Callable[[], np.ndarray], outcome: Callable[[], np.ndarray], name: str, bad: Bad | None, place: int
) -> Callable[[], np.ndarray]:
    assert bad is not None
    return lambda: band_table(read(), outcome(), name, bad)[place]


def _reader(scatter: Scatter, variable: Variable, names: tuple[str, ...], samples: int = 0) -> Callable[[], np.ndarray]:
    """Loads a variable of all points, or of all their draws."""
    member, inner = (f"d_{variable.name}", (samples,)) if samples else (f"v_{variable.name}", ())

    def place(schema: Any, rows: np.ndarray) -> np.ndarray:
        own = schema.along(variable.dimension)
        if own == names:
            return rows
        moved = np.full((*rows.shape[:-1], len(names)), math.nan)
        moved[..., [names.index(name) for name in own]] = rows
        return moved

    def load() -> np.ndarray:
        if not variable.dimension:
            return scatter.read(member, np.full((scatter.count, *inner), math.nan))
        return scatter.read(member, np.full((scatter.count, *inner, len(names)), math.nan), place)

    return load


def _text_reader(scatter: Scatter, member: str, blank: str) -> Callable[[], np.ndarray]:
    return lambda: scatter.read(member, np.full(scatter.count, blank, dtype=object))


def compact(store: Store) -> None:
    """Write the journal of a complete study as `dataset.zarr`: under another name first, then renamed."""
    dataset = _from_journal(store, store.description())
    partial = store.zarr.with_name(store.zarr.name + ".tmp")
    with writing(store.folder):
        shutil.rmtree(partial, ignore_errors=True)
        dataset.to_zarr(partial, mode="w", zarr_format=3, consolidated=False)
        for file in partial.rglob("*"):  # the rename must not reach the disk before what it names
            if file.is_file():
                with open(file, "rb") as handle:
                    os.fsync(handle.fileno())
        os.replace(partial, store.zarr)
