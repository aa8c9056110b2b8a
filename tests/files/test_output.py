"""Results on disk: what is written is read back by xarray, a reader from outside."""

import numpy as np
import pytest
import xarray as xr

from sim1d.output import write_all, write_netcdf


@pytest.fixture
def ds():
    time = ("time", np.array([0.0, 1.5, 4.0]), {"units": "s"})
    return xr.Dataset(
        {
            "heat": (("time",), np.array([1.0, np.nan, -3.0]), {"units": "W", "long_name": "heat, in W"}),
            "flow": (("time", "line"), np.arange(6.0).reshape(3, 2), {"units": "m3/s"}),
            "count": (("line",), np.array([1, -2]), {}),
            "nothing": (("pump",), np.zeros(0), {"units": "W"}),
            "bare": (("corner",), np.array([7.0, 8.0]), {}),
            "closes": ((), np.array(1e-12), {"units": "1"}),
        },
        coords={
            "time": time, "line": ["upper", "Rücklauf"], "pump": np.array([], dtype="<U4"),
            "phase": ("time", ["pass", "pass", "soak"]), "round": ("time", [1, 1, 2]),
        },
        attrs={"outcome": "the day was simulated", "steps": 416, "limits": '{"coolant": 388.15}'},
    )  # fmt: skip


def test_netcdf_holds_what_the_dataset_holds(ds, tmp_path):
    write_netcdf(ds, tmp_path / "own.nc")
    ds.to_netcdf(tmp_path / "reference.nc", engine="h5netcdf")
    own, reference = (xr.load_dataset(tmp_path / name, engine="h5netcdf") for name in ("own.nc", "reference.nc"))
    xr.testing.assert_identical(own, reference)
    assert set(own.coords) == set(ds.coords) and list(own.data_vars) == list(ds.data_vars)
    for name in ("heat", "flow", "count", "round"):
        assert own[name].dtype == ds[name].dtype and np.array_equal(own[name], ds[name], equal_nan=True)
    assert "coordinates" not in own["count"].attrs and own["bare"].dims == ("corner",)


def test_a_file_that_cannot_be_written_takes_the_others_with_it(ds, tmp_path):
    def fail(path):
        write_netcdf(ds, path)
        raise OSError(28, "No space left on device", "disk")

    with pytest.raises(OSError):
        write_all(tmp_path / "out", {"summary.json": "{}", "result.nc": fail})
    assert list((tmp_path / "out").iterdir()) == []
