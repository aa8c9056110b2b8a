"""Writing results: everything under temporary names first, renamed when all of it is there."""

import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.arrays import Arrays
from sim1d.errors import DescriptionError, Problem

if TYPE_CHECKING:
    import xarray as xr


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


def write_netcdf(ds: "xr.Dataset | Arrays", path: Path) -> None:
    """Write a dataset of numbers and text as netCDF-4, which is HDF5 with a scale for every dimension.

    The same content as `ds.to_netcdf` gives, a second sooner: that one starts dask and loads its cluster.
    """
    import h5py

    result = Arrays.of(ds)
    alone = "This is a netCDF dimension but not a netCDF variable. %10d"
    with h5py.File(path, "w", track_order=True) as file:
        scales = {}
        for number, (dim, size) in enumerate(result.sizes.items()):
            known = dim in result.variables
            scales[dim] = _dataset(file, dim, result[dim].values if known else np.zeros(size, dtype=">f4"))
            scales[dim].make_scale(dim if known else alone % size)
            scales[dim].attrs["_Netcdf4Dimid"] = np.int32(number)
        beside = [name for name in result.coords if name not in result.sizes]
        for name, variable in result.variables.items():
            node = scales.get(name)
            if node is None:
                node = _dataset(file, name, variable.values)
                for axis, dim in enumerate(variable.dims):
                    node.dims[axis].attach_scale(scales[dim])
            near = [other for other in beside if set(result[other].dims) <= set(variable.dims)]
            if name not in result.coords and near:
                node.attrs["coordinates"] = " ".join(near)
            node.attrs.update(variable.attrs)
        file.attrs.update(result.attrs)


def _dataset(file: Any, name: str, values: np.ndarray) -> Any:
    """A dataset of the file; text goes in as UTF-8 of any length."""
    import h5py

    if values.dtype.kind in "UO":
        return file.create_dataset(name, data=values.astype(object), dtype=h5py.string_dtype(), track_order=True)
    return file.create_dataset(name, data=values, track_order=True)
