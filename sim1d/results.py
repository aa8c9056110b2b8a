"""From the history of states to the dataset: names come back, every observation is made by the kernels once more."""

import json
from importlib import metadata
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.core.coolant import GRAVITY
from sim1d.core.handle import handle
from sim1d.core.model import LEDGERS, work_arrays
from sim1d.core.rhs import at, derivative, elapsed
from sim1d.core.stepper import sums
from sim1d.errors import Outcome
from sim1d.loss_causes import CAUSES, Causes, divided
from sim1d.pack import fingerprint_of

if TYPE_CHECKING:
    import xarray as xr

    from sim1d.simulation import History

SPOTS = ("chamber_roof", "exhaust_bridge", "exhaust_port", "liner")
CLOSED = 1e-6  # largest residual of a run whose books are closed
MARGIN_CEILING = 100.0  # margins above this say "no heat to speak of"


def observe(history: "History") -> dict[str, np.ndarray]:
    """Arrays over time of all that is observed, in the order of the tables (no names yet)."""
    packed = history.packed
    model, layout = packed.model, packed.model.layout
    work = work_arrays(model)
    model_handle, work_handle = handle(model), handle(work)
    n = len(history.times)
    points, lines = len(model.network.junction), len(packed.line_branch)
    pumps, sensors, cylinders = len(model.network.pump), len(model.sensor), len(packed.cylinders)
    o: dict[str, np.ndarray] = {
        "temperature": np.empty((n, points)), "gauge": np.empty((n, points)), "gas": np.empty((n, points)),
        "flow": np.empty((n, lines)), "metal": np.empty((n, cylinders, len(SPOTS))), "margin": np.empty((n, cylinders)),
        "subcooling": np.empty((n, cylinders)), "cylinder_flow": np.empty((n, cylinders)),
        "dry": np.zeros((n, cylinders)),
        "sensor_temperature": np.empty((n, sensors)), "sensor_pressure": np.empty((n, sensors)),
        "pump_speed": np.empty((n, pumps)), "pump_power": np.empty((n, pumps)), "pump_current": np.empty((n, pumps)),
        "suction": np.empty((n, pumps)), "system": np.empty(n), "level": np.empty(n), "trapped": np.zeros(n),
        "ledger": np.empty((n, len(LEDGERS))), "sums": np.empty((n, 3)), "speed": np.empty(n), "car_speed": np.empty(n),
        "heat": np.empty(n), "radiator": np.empty(n), "converged": np.ones(n, dtype=bool),
        "acceleration": np.empty(n), "grip": np.empty((n, pumps)), "drawn": np.empty((n, pumps)),
        "dissolved": np.empty(n), "out_rate": np.zeros(n), "out_shares": np.zeros((n, len(CAUSES))),
    }  # fmt: skip
    rate = np.empty(layout.size)
    ambient = model.system[0].ambient_pressure
    shown = np.flatnonzero(model.gas_face.spot >= 0)
    gas_cylinder, gas_spot = model.gas_face.cylinder[shown], model.gas_face.spot[shown]
    hot_faces = [np.flatnonzero((model.face.cylinder == c) & (model.face.dry >= 0)) for c in range(cylinders)]
    pocket_node = model.pocket.node
    causes = Causes(packed)
    for t in range(n):
        phase = history.phases[history.stretch[t]]
        state = history.states[t]
        time = history.times[t]
        o["converged"][t] = derivative(time, state, phase, model_handle, work_handle, rate)
        share = elapsed(phase, time)
        acceleration = at(phase.acceleration, share)
        o["acceleration"][t] = acceleration
        o["speed"][t] = at(phase.speed, share)
        o["car_speed"][t] = at(phase.car_speed, share)
        o["temperature"][t] = work.temperature[:points]
        o["gauge"][t] = work.absolute[:points] - ambient
        gas = work.void[:points].copy()
        for k in range(1 if model.system[0].tank_volume > 0 else 0, len(pocket_node)):
            i = pocket_node[k]
            if i < points:  # a crest inside a hose is no point
                gas[i] = min(gas[i] + work.pocket_volume[k] / model.node.volume[i], 1.0)
            o["trapped"][t] += work.pocket_volume[k]
        o["gas"][t] = gas
        density = work.branch_density[packed.line_branch]
        o["flow"][t] = packed.line_sign * work.flow[packed.line_branch] / density
        o["metal"][t, gas_cylinder, gas_spot] = work.gas_surface[shown]
        for c, faces in enumerate(hot_faces):
            flux = np.maximum(work.face_flux[faces], 1.0)
            o["margin"][t, c] = min(np.min(work.face_critical[faces] / flux), MARGIN_CEILING)
            o["dry"][t, c] = np.clip(np.max(state[layout.dry + model.face.dry[faces]]), 0.0, 1.0)
        head = packed.cylinder_node
        o["subcooling"][t] = work.saturation[head] - work.temperature[head]
        branch = packed.cylinder_branch
        o["cylinder_flow"][t] = packed.cylinder_sign * work.flow[branch] / work.branch_density[branch]
        for s in range(sensors):
            row = model.sensor[s]
            i = row.node
            head_pressure = work.mixture[i] * (
                GRAVITY * (model.node[i].z - row.z) + acceleration * (row.x - model.node[i].x)
            )
            reading = state[layout.sensor + s]
            there = work.absolute[i] + head_pressure - ambient
            o["sensor_pressure"][t, s] = reading if row.pressure == 1 else there
            o["sensor_temperature"][t, s] = work.temperature[i] if row.pressure == 1 else reading
        for p in range(pumps):
            b = packed.pump_branch[p]
            i = model.network.branch[b].start
            # the network's pressures are total pressures: the velocity head at the eye is in them already
            available = (work.absolute[i] - work.vapour[i]) / (work.density[i] * GRAVITY)
            needed = model.network.pump[p].suction_head_constant * work.pump_speed[p] ** 2
            o["suction"][t, p] = available - needed
        o["pump_speed"][t], o["pump_power"][t], o["pump_current"][t] = (
            work.pump_speed[:pumps], work.pump_power[:pumps], work.pump_current[:pumps],
        )  # fmt: skip
        o["system"][t] = work.absolute[pocket_node[packed.system_pocket]] - ambient
        o["level"][t] = work.level[1]
        o["ledger"][t] = state[layout.ledger :]
        o["sums"][t] = sums(model_handle, state)
        o["heat"][t], o["radiator"][t] = work.total[0], work.total[2]
        o["grip"][t] = work.pump_grip[:pumps]
        o["drawn"][t] = work.pump_gas[:pumps]
        o["dissolved"][t] = state[layout.dissolved]
        o["out_rate"][t] = rate[layout.ledger + LEDGERS.index("coolant_out")]
        if o["out_rate"][t] > 1e-9:
            o["out_shares"][t] = causes.shares(time, state, phase, work)
    return o


def dataset(history: "History") -> "xr.Dataset":
    """The result dataset: SI, every variable with `units` and `long_name`; inputs and outcome as attributes."""
    import xarray as xr

    packed = history.packed
    o = observe(history)
    points = packed.points[: len(packed.model.network.junction)]
    lost = o["ledger"][:, LEDGERS.index("coolant_out")] - o["ledger"][:, LEDGERS.index("coolant_back")]
    bottle = o["ledger"][:, LEDGERS.index("bottle")]
    lost = lost - (bottle - bottle[0])  # what stood in the recovery tank at the start was never lost
    out = divided(o["ledger"][:, LEDGERS.index("coolant_out")], o["out_shares"])
    rounds = packed.round_numbers[history.stretch_of_day()]
    variables: dict[str, tuple[tuple[str, ...], np.ndarray, str, str]] = {
        "coolant_temperature": (("time", "point"), o["temperature"], "K", "coolant temperature"),
        "gauge_pressure": (("time", "point"), o["gauge"], "Pa", "coolant pressure, gauge"),
        "gas_fraction": (("time", "point"), o["gas"], "1", "air and steam by volume"),
        "volume_flow": (("time", "line"), o["flow"], "m3/s", "volume flow, positive from its first to its second end"),
        "metal_temperature": (("time", "cylinder", "spot"), o["metal"], "K", "temperature of the gas-side face"),
        "critical_heat_flux_margin": (
            ("time", "cylinder"),
            o["margin"],
            "1",
            "critical over actual heat flux, worst face",
        ),
        "subcooling": (("time", "cylinder"), o["subcooling"], "K", "local saturation less local coolant temperature"),
        "dry_share": (
            ("time", "cylinder"),
            o["dry"],
            "1",
            "largest share of roof or bridge past the critical heat flux",
        ),
        "cylinder_flow": (("time", "cylinder"), o["cylinder_flow"], "m3/s", "flow past the chamber of each cylinder"),
        "sensor_temperature": (("time", "sensor"), o["sensor_temperature"], "K", "temperature shown by the sensor"),
        "sensor_pressure": (("time", "sensor"), o["sensor_pressure"], "Pa", "pressure at the sensor, gauge"),
        "pump_speed": (("time", "pump"), o["pump_speed"], "rad/s", "pump shaft speed"),
        "pump_power": (("time", "pump"), o["pump_power"], "W", "pump shaft power"),
        "pump_current": (("time", "pump"), o["pump_current"], "A", "motor current"),
        "suction_margin": (("time", "pump"), o["suction"], "m", "available less required net positive suction head"),
        "system_pressure": (("time",), o["system"], "Pa", packed.system_text),
        "tank_level": (("time",), o["level"], "m", "height of the liquid surface above ground"),
        "coolant_lost": (("time",), lost, "kg", "coolant lost overboard"),
        "trapped_air": (("time",), o["trapped"], "m3", "air trapped in the circuit outside the tank"),
        "coolant_out": (("time", "cause"), out, "kg", "coolant that left through the cap so far, by cause"),
        "combustion_gas": (
            ("time",),
            o["ledger"][:, LEDGERS.index("leak_in")],
            "kg",
            "permanent combustion gas that came past the head gasket so far",
        ),
        "dissolved_air": (("time",), o["dissolved"], "kg", "air dissolved in the coolant"),
        "pump_grip": (("time", "pump"), o["grip"], "1", "share of its head that a pump keeps"),
        "pump_gas": (("time", "pump"), o["drawn"], "1", "gas by volume in what a pump draws"),
        "engine_speed": (("time",), o["speed"], "rad/s", "engine speed"),
        "car_speed": (("time",), o["car_speed"], "m/s", "car speed"),
        "acceleration": (("time",), o["acceleration"], "m/s2", "acceleration of the car, positive at launch"),
        "heat_to_coolant": (("time",), o["heat"], "W", "heat of gas and friction into metal and coolant"),
        "radiator_heat": (("time",), o["radiator"], "W", "heat to the air through radiators"),
        "ledger": (("time", "term"), o["ledger"], "J or kg", "integrals over the boundary, see the term"),
    }
    time_attributes = {"units": "s", "long_name": "time since the start of the day"}
    ds = xr.Dataset(
        {
            name: (dims, data, {"units": unit, "long_name": text})
            for name, (dims, data, unit, text) in variables.items()
        },
        coords={
            "time": ("time", history.times, time_attributes),
            "point": list(points),
            "line": list(packed.lines),
            "cylinder": list(packed.cylinders),
            "spot": list(SPOTS),
            "sensor": list(packed.sensors),
            "pump": list(packed.pumps),
            "cause": [cause.value for cause in CAUSES],
            "term": list(LEDGERS),
            "phase": ("time", [packed.stretches[k].name for k in history.stretch_of_day()]),
            "role": ("time", [packed.stretches[k].role for k in history.stretch_of_day()]),
            "round": ("time", rounds),
            "cylinder_bank": ("cylinder", [name.rsplit("-", 1)[0] for name in packed.cylinders]),
        },
    )
    peaks(ds, packed.red_limit)
    closed = residuals(history, o)
    for name, value in closed.items():
        ds[name] = ((), value, {"units": "1", "long_name": name.replace("_", " ")})
    ds.attrs = attributes(history, o)
    still_open = [f"{name.replace('_', ' ')} {value:.1e}" for name, value in closed.items() if not value < CLOSED]
    if still_open and history.conserves:
        ds.attrs["outcome_name"] = Outcome.BOOKS_OPEN.name
        ds.attrs["outcome"] = f"{Outcome.BOOKS_OPEN.value} ({', '.join(still_open)})"
    return ds


def peaks(ds: Any, red: float) -> None:
    """Peak metal temperature, seconds above the red limit and peak gauge pressure: over the day and per round."""
    metal = ds.metal_temperature.max("spot")
    seconds = ((metal[:-1].data > red) * np.diff(ds.time.data)[:, None]).astype(float)
    numbers = np.unique(ds["round"].data)
    ds["peak_metal_temperature"] = ("cylinder", metal.max("time").data, _about("K", "peak metal temperature"))
    ds["seconds_above_limit"] = ("cylinder", seconds.sum(axis=0), _about("s", f"seconds above {red:.1f} K"))
    ds["peak_gauge_pressure"] = ("point", ds.gauge_pressure.max("time").data, _about("Pa", "peak pressure, gauge"))
    inside = [ds["round"].data == k for k in numbers]
    rounds = {"round_number": numbers}
    for name, dim, values in (
        ("peak_metal_temperature_by_round", "cylinder", [metal.data[m].max(axis=0) for m in inside]),
        ("seconds_above_limit_by_round", "cylinder", [seconds[m[:-1]].sum(axis=0) for m in inside]),
        ("peak_gauge_pressure_by_round", "point", [ds.gauge_pressure.data[m].max(axis=0) for m in inside]),
    ):
        base = ds[name.removesuffix("_by_round")]
        ds[name] = ((dim, "round_number"), np.array(values).T, dict(base.attrs))
    ds.coords.update(rounds)


def _about(unit: str, text: str) -> dict[str, str]:
    return {"units": unit, "long_name": text}


def residuals(history: "History", o: dict[str, np.ndarray]) -> dict[str, float]:
    """Closure of energy, coolant and gas over the day (relative to heat in, coolant filled, gas at the start)."""
    packed = history.packed
    ledger = o["ledger"]
    # the three sums leave out the ledgers that close them: ambient heat, coolant out, air out
    energy = o["sums"][:, 0] + ledger[:, LEDGERS.index("ambient_heat")]
    coolant = o["sums"][:, 1] + ledger[:, LEDGERS.index("coolant_out")]
    gas = o["sums"][:, 2] + ledger[:, LEDGERS.index("air_out")]
    heat = max(float(ledger[-1, 0] + ledger[-1, 1]), 1e3)
    leaked = float(ledger[-1, LEDGERS.index("leak_in")])
    return {
        "energy_residual": float(np.max(np.abs(energy - energy[0]))) / heat,
        "coolant_residual": float(np.max(np.abs(coolant - coolant[0]))) / packed.coolant_filled,
        "gas_residual": float(np.max(np.abs(gas - gas[0]))) / max(packed.gas_filled + leaked, 1e-6),
    }


def attributes(history: "History", o: dict[str, np.ndarray]) -> dict[str, Any]:
    """Outcome, notes, inputs and versions: a result carries what made it."""
    packed = history.packed
    notes = [*packed.notes, *history.notes]
    if o["suction"].size and np.min(o["suction"]) < 0:
        notes.append("A pump lacks suction head and cavitates: the head it keeps is a model of low confidence.")
    if np.max(o["drawn"], initial=0.0) > 0.06:
        notes.append("A pump draws gas and may lose its prime (6 % by volume, 3 to 10): low confidence.")
    if np.max(o["dry"]) > 0.05:
        notes.append("Heat flux passed the critical value: metal temperatures from then on are an order of magnitude.")
    if np.max(o["temperature"]) > 373.15 and packed.extrapolated:
        notes.append("Glycol properties are extrapolated above 100 degC.")
    if history.states[:, packed.model.layout.store].min() < -1e-6:
        notes.append("More coolant left than the tank held: air stands in the circuit.")
    if not o["converged"].all():
        notes.append("The flow network was not solved to tolerance at some instants.")
    versions = {name: metadata.version(name) for name in ("numpy", "scipy", "numba", "xarray")}
    return {
        "outcome": history.outcome.value + (f" ({history.where})" if history.where else ""),
        "outcome_name": history.outcome.name,
        "notes": json.dumps(notes),
        "evaluations": history.evaluations,
        "steps": history.steps,
        "states": packed.model.layout.size,
        "cuts": json.dumps(history.cuts),
        "fingerprint": fingerprint_of(packed),
        "versions": json.dumps(versions),
        **packed.attributes,
    }
