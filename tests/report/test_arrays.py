"""A result as plain arrays is the dataset that it came from."""

import pickle

import numpy as np
import pytest
from synthetic import make

from sim1d.arrays import Arrays
from sim1d.output import write_netcdf


@pytest.fixture(scope="module")
def run():
    return make(starved=True)


def test_there_and_back_is_the_same_dataset(run):
    """xarray itself compares values, dimensions, coordinates and attributes; it passes over types and order."""
    back = Arrays.of(run).to_xarray()
    assert back.identical(run)
    assert list(back.variables) == list(run.variables) and set(back.indexes) == set(run.indexes)
    assert {name: one.dtype for name, one in back.variables.items()} == {
        name: one.dtype for name, one in run.variables.items()
    }


def test_a_changed_value_is_another_dataset(run):
    arrays = Arrays.of(run)
    lost = arrays.variables["coolant_lost"]
    arrays.variables["coolant_lost"] = lost._replace(values=lost.values + 1e-3)
    assert not arrays.to_xarray().identical(run)


def test_it_answers_as_the_dataset_does(run):
    arrays = Arrays.of(run)
    assert Arrays.of(arrays) is arrays
    assert arrays.sizes == dict(run.sizes) and arrays.coords == list(run.coords) and arrays.attrs == run.attrs
    assert "coolant_lost" in arrays and "no such name" not in arrays
    np.testing.assert_array_equal(arrays["time"].values, run["time"].values)
    with pytest.raises(KeyError):
        arrays["no such name"]


def test_it_is_sent_and_written_as_the_dataset_is(run, tmp_path):
    sent = pickle.loads(pickle.dumps(Arrays.of(run)))
    for name, result in (("plain", sent), ("dataset", run)):
        write_netcdf(result, tmp_path / name)
    assert (tmp_path / "plain").read_bytes() == (tmp_path / "dataset").read_bytes()
