"""What must hold for every run of every car: closed ledgers, finite numbers, names, units, dimensions and signs.

Source of each check: conservation of energy, coolant and gas and the second law, which hold for any circuit; names,
units and dimensions from the table of results that the documentation promises.
"""

import json

import numpy as np
import xarray as xr

CLOSED = 1e-6  # relative residual that any run may leave (the project's own promise; 1e-14 is usual)

# variable: (dimensions, unit); the table of docs/reference/results.md
PROMISED = {
    "coolant_temperature": (("time", "point"), "K"),
    "gauge_pressure": (("time", "point"), "Pa"),
    "gas_fraction": (("time", "point"), "1"),
    "volume_flow": (("time", "line"), "m3/s"),
    "metal_temperature": (("time", "cylinder", "spot"), "K"),
    "critical_heat_flux_margin": (("time", "cylinder"), "1"),
    "subcooling": (("time", "cylinder"), "K"),
    "dry_share": (("time", "cylinder"), "1"),
    "cylinder_flow": (("time", "cylinder"), "m3/s"),
    "sensor_temperature": (("time", "sensor"), "K"),
    "sensor_pressure": (("time", "sensor"), "Pa"),
    "pump_speed": (("time", "pump"), "rad/s"),
    "pump_power": (("time", "pump"), "W"),
    "pump_current": (("time", "pump"), "A"),
    "suction_margin": (("time", "pump"), "m"),
    "pump_grip": (("time", "pump"), "1"),
    "pump_gas": (("time", "pump"), "1"),
    "tank_level": (("time",), "m"),
    "coolant_lost": (("time",), "kg"),
    "coolant_out": (("time", "cause"), "kg"),
    "trapped_air": (("time",), "m3"),
    "combustion_gas": (("time",), "kg"),
    "dissolved_air": (("time",), "kg"),
    "system_pressure": (("time",), "Pa"),
    "peak_metal_temperature": (("cylinder",), "K"),
    "seconds_above_limit": (("cylinder",), "s"),
    "peak_gauge_pressure": (("point",), "Pa"),
    "energy_residual": ((), "1"),
    "coolant_residual": ((), "1"),
    "gas_residual": ((), "1"),
}
CAUSES = ["swell", "pump", "launch", "boiling", "gasket"]
SPOTS = ["chamber_roof", "exhaust_bridge", "exhaust_port", "liner"]
LOWEST, HIGHEST = 230.0, 900.0  # K: nothing in a car's cooling circuit leaves this range before a run ends


def ledgers_close(ds: xr.Dataset) -> None:
    """Energy, coolant and gas: what is there at the end is what was there and what passed the boundary."""
    for name in ("energy_residual", "coolant_residual", "gas_residual"):
        assert 0.0 <= float(ds[name]) < CLOSED, (name, float(ds[name]))


def ledgers_match_their_fluxes(ds: xr.Dataset) -> None:
    """Heat in and radiator heat of the ledgers are the time integrals of the fluxes shown, to what the trapezoidal rule
    leaves on the recorded instants (2 %, and 1 kJ for days of hardly any heat)."""
    time = ds.time.values
    for term, flux in (("engine_heat", "heat_to_coolant"), ("radiator_heat", "radiator_heat")):
        passed = ds.ledger.sel(term=term).values
        integral = np.trapezoid(ds[flux].values, time)
        assert abs(integral - (passed[-1] - passed[0])) < 0.02 * np.ptp(passed) + 1e3, (term, integral, passed[-1])


def numbers_are_finite(ds: xr.Dataset) -> None:
    """No NaN and no infinity anywhere: the documentation names no variable that may have one in a run."""
    for name, variable in {**ds.data_vars, **ds.coords}.items():
        if variable.dtype.kind in "fiu":
            assert np.isfinite(variable.values).all(), name


def variables_are_described(ds: xr.Dataset) -> None:
    """Every promised variable with its dimensions and unit; every variable at all with unit and long name."""
    for name, (dims, unit) in PROMISED.items():
        assert ds[name].dims == dims, name
        assert ds[name].attrs["units"] == unit, name
    for name, variable in ds.data_vars.items():
        assert variable.attrs.get("units"), name
        assert len(variable.attrs.get("long_name", "")) > 3, name
    assert list(ds.spot.values) == SPOTS and list(ds.cause.values) == CAUSES
    assert ds.phase.dims == ds["round"].dims == ("time",)
    assert set(ds.attrs) >= {"outcome", "outcome_name", "notes", "versions", "car_file", "day_file"}


def cylinders_are_named(ds: xr.Dataset, per_bank: int) -> None:
    """left-1 ... right-n, counted from the front."""
    expected = [f"{bank}-{i + 1}" for bank in ("left", "right") for i in range(per_bank)]
    assert list(ds.cylinder.values) == expected


def time_runs_forward(ds: xr.Dataset) -> None:
    """Instants never step back; the two sides of a jump of the day share one instant."""
    step = np.diff(ds.time.values)
    assert (step >= 0.0).all()
    assert (np.diff(ds["round"].values) >= 0).all()


def coolant_out_has_causes(ds: xr.Dataset) -> None:
    """All that left through the cap is set down to causes, none of it comes back, and no sound gasket pushes it."""
    out = ds.ledger.sel(term="coolant_out").values
    np.testing.assert_allclose(ds.coolant_out.sum("cause").values, out - out[0], rtol=1e-9, atol=1e-12)
    # three times the tolerance of a step at NORMAL accuracy: a valve that shuts within a step
    assert (np.diff(ds.coolant_out.values, axis=0) > -3e-3).all()
    if float(ds.combustion_gas[-1]) == 0.0:
        assert not ds.coolant_out.sel(cause="gasket").values.any()
    assert (np.diff(ds.combustion_gas.values) >= 0.0).all()


def values_are_possible(ds: xr.Dataset) -> None:
    """Shares between 0 and 1, absolute pressures and temperatures of this world, a pump that takes power."""
    gas = ds.gas_fraction.values
    assert gas.min() >= 0.0 and gas.max() <= 1.0
    for name in ("coolant_temperature", "metal_temperature", "sensor_temperature"):
        assert LOWEST < float(ds[name].min()) and float(ds[name].max()) < HIGHEST, name
    assert float(ds.gauge_pressure.min()) > -ds.attrs["ambient_pressure_Pa"], "an absolute pressure below zero"
    amounts = ("pump_power", "pump_current", "pump_speed", "critical_heat_flux_margin", "trapped_air", "dissolved_air")
    for name in amounts:
        assert float(ds[name].min()) >= 0.0, name
    for name, slack in (("pump_grip", 0.0), ("pump_gas", 0.0), ("dry_share", 0.01)):  # a state, to tolerance
        assert -slack <= float(ds[name].min()) and float(ds[name].max()) <= 1.0 + slack, name
    coolant_out_has_causes(ds)
    # what left is not un-left, except by a recovery tank, to three times the tolerance of a step at NORMAL accuracy
    if '"recovery"' not in ds.attrs["car_file"]:
        assert (np.diff(ds.coolant_lost.values) >= -3e-3).all()


def peaks_are_peaks(ds: xr.Dataset) -> None:
    """The peaks are those of the curves, over the day and as the largest of the rounds."""
    hottest = ds.metal_temperature.max(("time", "spot"))
    np.testing.assert_array_equal(ds.peak_metal_temperature.values, hottest.values)
    np.testing.assert_array_equal(ds.peak_metal_temperature_by_round.max("round_number").values, hottest.values)
    np.testing.assert_array_equal(ds.peak_gauge_pressure.values, ds.gauge_pressure.max("time").values)


def heat_follows_temperature(ds: xr.Dataset) -> None:
    """Second law at the boundary: the radiator gives heat while all coolant is hotter than the air, and takes none in;
    the working gas gives heat to any metal colder than itself whenever the engine turns, and none when it stands."""
    stands = ds.engine_speed.values == 0.0
    assert (np.abs(ds.heat_to_coolant.values[stands]) < 1e-9).all()
    assert (ds.heat_to_coolant.values[~stands] > 0.0).all()
    air = json.loads(ds.attrs["day_file"])["ambient_temperature"]
    hot = ds.coolant_temperature.values.min(axis=1) > air + 0.1
    assert (ds.radiator_heat.values[hot] > 0.0).all()


ALL = (
    ledgers_close, ledgers_match_their_fluxes, numbers_are_finite, variables_are_described, time_runs_forward,
    values_are_possible, peaks_are_peaks, heat_follows_temperature,
)  # fmt: skip
