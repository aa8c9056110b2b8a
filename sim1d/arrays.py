"""A result as plain arrays: all that a report asks of it, without xarray, whose import takes as long as a day's run."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

if TYPE_CHECKING:
    import xarray as xr


class Variable(NamedTuple):
    """Dimensions, values (SI) and attributes."""

    dims: tuple[str, ...]
    values: np.ndarray
    attrs: dict[str, Any]


class Arrays:
    """A result as plain arrays. What only reads `values`, `dims`, `sizes`, `coords` and `attrs` takes it for a dataset.

    `variables` holds every variable and coordinate by name, `coords` the names of coordinates; `sizes` of the
    dimensions and `attrs` are those of a dataset.
    """

    def __init__(self, variables: Mapping[str, Variable], coords: Iterable[str], attrs: Mapping[str, Any]):
        self.variables = dict(variables)
        named = set(coords)
        self.coords = [name for name in self.variables if name in named]
        self.sizes: dict[str, int] = {}
        for one in self.variables.values():
            self.sizes.update(zip(one.dims, one.values.shape, strict=True))
        self.attrs = dict(attrs)

    @classmethod
    def of(cls, result: "xr.Dataset | Arrays") -> "Arrays":
        """The plain arrays of a dataset, which are not copied."""
        if isinstance(result, Arrays):
            return result
        variables = {
            str(name): Variable(tuple(map(str, one.dims)), one.values, one.attrs)
            for name, one in result.variables.items()
        }
        return cls(variables, map(str, result.coords), {str(name): value for name, value in result.attrs.items()})

    def __getitem__(self, name: str) -> Variable:
        return self.variables[name]

    def __contains__(self, name: str) -> bool:
        return name in self.variables

    def to_xarray(self) -> "xr.Dataset":
        """The dataset: an index for each coordinate that is named as its dimension; variables in the same order.

        Made without the checks that would import dask (half a second).
        """
        import pandas as pd
        import xarray as xr

        found: dict[str, xr.Variable] = {}
        indexes = {}
        for name, (dims, values, attrs) in self.variables.items():
            if name in self.coords and dims == (name,):
                index = pd.Index(values, name=name)
                indexes[name] = xr.indexes.PandasIndex(index, name, coord_dtype=values.dtype)
                found[name] = indexes[name].create_variables()[name]
                found[name].attrs = attrs
            else:
                found[name] = xr.Variable(dims, values, attrs, fastpath=True)
        coords = xr.Coordinates({name: found[name] for name in self.coords}, indexes=indexes)
        data = {name: one for name, one in found.items() if name not in self.coords}
        return xr.Dataset(data, coords=coords, attrs=self.attrs)[list(found)]
