"""From the history of states to the dataset: names come back, every observation is made by the kernels once more."""

import json
from collections.abc import Mapping
from importlib import metadata
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.arrays import Arrays, Variable
from sim1d.core.books import sums
from sim1d.core.coolant import GRAVITY
from sim1d.core.handle import handle
from sim1d.core.model import LEDGERS, work_arrays
from sim1d.core.rhs import at, derivative, elapsed
from sim1d.crossings import seconds_above
from sim1d.errors import Outcome
from sim1d.loss_causes import CAUSES, Causes, divided
from sim1d.pack import fingerprint_of

if TYPE_CHECKING:
    import xarray as xr

    from sim1d.simulation import History

SPOTS = ("chamber_roof", "exhaust_bridge", "exhaust_port", "liner")
CLOSED = 1e-6  # largest residual of a run whose books are closed
MARGIN_CEILING = 100.0  # margins above this say "no heat to speak of"


KEPT = (  # arrays of `Work` that observations are made of
    "absolute", "temperature", "void", "pocket_volume", "flow", "branch_density", "gas_surface", "face_flux",
    "face_critical", "saturation", "mixture", "vapour", "density", "pump_speed", "pump_power", "pump_current",
    "pump_grip", "pump_gas", "level", "total",
)  # fmt: skip


def observe(history: "History") -> dict[str, np.ndarray]:
    """Arrays over time of all that is observed, in the order of the tables (no names yet).

    The kernels evaluate every kept state once more; what they leave is copied as it is, and read column by column.
    """
    packed = history.packed
    model, layout = packed.model, packed.model.layout
    work = work_arrays(model)
    model_handle, work_handle = handle(model), handle(work)
    n, states = len(history.times), history.states
    kept = {name: np.empty((n, len(getattr(work, name)))) for name in KEPT}
    copies = [(kept[name], getattr(work, name)) for name in KEPT]
    closing, converged = np.empty((n, 3)), np.ones(n, dtype=bool)
    out_rate, out_shares = np.zeros(n), np.zeros((n, len(CAUSES)))
    share, rate = np.empty(n), np.empty(layout.size)
    causes, leaving = Causes(packed), layout.ledger + LEDGERS.index("coolant_out")
    for t in range(n):
        phase, state, time = history.phases[history.stretch[t]], states[t], history.times[t]
        converged[t] = derivative(time, state, phase, model_handle, work_handle, rate)
        share[t] = elapsed(phase, time)
        closing[t] = sums(model_handle, state)
        for table, array in copies:
            table[t] = array
        out_rate[t] = rate[leaving]
        if out_rate[t] > 1e-9:
            out_shares[t] = causes.shares(time, state, phase, work)
    drives = {
        name: at(np.array([phase[name] for phase in history.phases])[history.stretch].T, share)
        for name in ("speed", "car_speed", "acceleration")
    }
    observed = of_points(history, kept) | of_machines(history, kept, drives["acceleration"])
    return observed | drives | {
        "level": kept["level"][:, 1], "ledger": states[:, layout.ledger :], "sums": closing,
        "heat": kept["total"][:, 0], "radiator": kept["total"][:, 2], "converged": converged,
        "dissolved": states[:, layout.dissolved], "out_rate": out_rate, "out_shares": out_shares,
    }  # fmt: skip


def of_points(history: "History", kept: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """What is observed at points, in lines, of cylinders and of the gas."""
    packed = history.packed
    model, layout, n = packed.model, packed.model.layout, len(history.times)
    points, cylinders = len(model.network.junction), len(packed.cylinders)
    absolute, ambient = kept["absolute"], float(model.system[0].ambient_pressure)
    gas, trapped = kept["void"][:, :points].copy(), np.zeros(n)
    size, pocket_node = np.array(model.node.volume), np.array(model.pocket.node)
    for k in range(1 if model.system[0].tank_volume > 0 else 0, len(pocket_node)):
        i, volume = pocket_node[k], kept["pocket_volume"][:, k]
        if i < points:  # a crest inside a hose is no point
            gas[:, i] = np.minimum(gas[:, i] + volume / size[i], 1.0)
        trapped += volume
    density = kept["branch_density"]
    metal = np.empty((n, cylinders, len(SPOTS)))
    shown = np.flatnonzero(model.gas_face.spot >= 0)
    metal[:, model.gas_face.cylinder[shown], model.gas_face.spot[shown]] = kept["gas_surface"][:, shown]
    margin, dry = np.empty((n, cylinders)), np.zeros((n, cylinders))
    flux = np.maximum(kept["face_flux"], 1.0)
    for c in range(cylinders):
        faces = np.flatnonzero((model.face.cylinder == c) & (model.face.dry >= 0))
        least = np.min(kept["face_critical"][:, faces] / flux[:, faces], axis=1)
        margin[:, c] = np.minimum(least, MARGIN_CEILING)
        dry[:, c] = np.clip(np.max(history.states[:, layout.dry + model.face.dry[faces]], axis=1), 0.0, 1.0)
    head, line, past = packed.cylinder_node, packed.line_branch, packed.cylinder_branch
    return {
        "temperature": kept["temperature"][:, :points], "gauge": absolute[:, :points] - ambient, "gas": gas,
        "flow": packed.line_sign * kept["flow"][:, line] / density[:, line], "metal": metal, "margin": margin,
        "subcooling": kept["saturation"][:, head] - kept["temperature"][:, head],
        "cylinder_flow": packed.cylinder_sign * kept["flow"][:, past] / density[:, past], "dry": dry,
        "system": absolute[:, pocket_node[packed.system_pocket]] - ambient, "trapped": trapped,
    }  # fmt: skip


def of_machines(history: "History", kept: dict[str, np.ndarray], acceleration: np.ndarray) -> dict[str, np.ndarray]:
    """What is observed of pumps and sensors; `acceleration` (n) m/s2."""
    packed = history.packed
    model, layout, n = packed.model, packed.model.layout, len(history.times)
    pumps, sensors = len(model.network.pump), len(model.sensor)
    ambient = float(model.system[0].ambient_pressure)
    x, z = np.array(model.node.x), np.array(model.node.z)
    shown_temperature, shown_pressure = np.empty((n, sensors)), np.empty((n, sensors))
    for s, row in enumerate(model.sensor):
        i, reading = row.node, history.states[:, layout.sensor + s]
        column = kept["mixture"][:, i] * (GRAVITY * (z[i] - row.z) + acceleration * (row.x - x[i]))
        there = kept["absolute"][:, i] + column - ambient
        shown_pressure[:, s] = reading if row.pressure == 1 else there
        shown_temperature[:, s] = kept["temperature"][:, i] if row.pressure == 1 else reading
    suction = np.empty((n, pumps))
    for p in range(pumps):
        i = int(model.network.branch.start[packed.pump_branch[p]])
        # the network's pressures are total pressures: the velocity head at the eye is in them already
        available = (kept["absolute"][:, i] - kept["vapour"][:, i]) / (kept["density"][:, i] * GRAVITY)
        suction[:, p] = available - model.network.pump.suction_head_constant[p] * kept["pump_speed"][:, p] ** 2
    return {
        "sensor_temperature": shown_temperature, "sensor_pressure": shown_pressure, "suction": suction,
        "pump_speed": kept["pump_speed"][:, :pumps], "pump_power": kept["pump_power"][:, :pumps],
        "pump_current": kept["pump_current"][:, :pumps], "grip": kept["pump_grip"][:, :pumps],
        "drawn": kept["pump_gas"][:, :pumps],
    }  # fmt: skip


def dataset(history: "History") -> "xr.Dataset":
    """The result dataset: SI, every variable with `units` and `long_name`; inputs and outcome as attributes."""
    return arrays(history).to_xarray()


def arrays(history: "History") -> Arrays:
    """The same as plain arrays."""
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
    days = history.stretch_of_day()
    coordinates: dict[str, tuple[str, Any]] = {
        "point": ("point", points),
        "line": ("line", packed.lines),
        "cylinder": ("cylinder", packed.cylinders),
        "spot": ("spot", SPOTS),
        "sensor": ("sensor", packed.sensors),
        "pump": ("pump", packed.pumps),
        "cause": ("cause", [cause.value for cause in CAUSES]),
        "term": ("term", LEDGERS),
        "phase": ("time", [packed.stretches[k].name for k in days]),
        "role": ("time", [packed.stretches[k].role for k in days]),
        "round": ("time", rounds),
        "cylinder_bank": ("cylinder", [name.rsplit("-", 1)[0] for name in packed.cylinders]),
    }
    every = {"time": ("time", history.times), **coordinates}
    about = {"time": _about("s", "time since the start of the day")}
    found = {name: Variable(dims, data, _about(unit, text)) for name, (dims, data, unit, text) in variables.items()}
    found |= {name: Variable((dim,), np.array(values), about.get(name, {})) for name, (dim, values) in every.items()}
    found |= peaks(found, packed.red_limit)
    closed = residuals(history, o)
    for name, value in closed.items():
        found[name] = Variable((), np.array(value), _about("1", name.replace("_", " ")))
    attrs = attributes(history, o)
    still_open = [f"{name.replace('_', ' ')} {value:.1e}" for name, value in closed.items() if not value < CLOSED]
    if still_open and history.conserves:
        attrs["outcome_name"] = Outcome.BOOKS_OPEN.name
        attrs["outcome"] = f"{Outcome.BOOKS_OPEN.value} ({', '.join(still_open)})"
    return Arrays(found, [*every, "round_number"], attrs)


def peaks(variables: Mapping[str, Variable], red: float) -> dict[str, Variable]:
    """Peak metal temperature, seconds above the red limit and peak gauge pressure: over the day and per round."""
    metal, gauge = variables["metal_temperature"].values.max(axis=2), variables["gauge_pressure"].values
    seconds = seconds_above(variables["time"].values, metal, red)
    of_round = variables["round"].values
    numbers = np.unique(of_round)
    inside = [of_round == k for k in numbers]
    found = (
        ("peak_metal_temperature", "cylinder", metal.max(axis=0), [metal[m].max(axis=0) for m in inside],
         _about("K", "peak metal temperature")),
        ("seconds_above_limit", "cylinder", seconds.sum(axis=0), [seconds[m[:-1]].sum(axis=0) for m in inside],
         _about("s", f"seconds above {red:.1f} K")),
        ("peak_gauge_pressure", "point", gauge.max(axis=0), [gauge[m].max(axis=0) for m in inside],
         _about("Pa", "peak pressure, gauge")),
    )  # fmt: skip
    of_day = {name: Variable((dim,), values, about) for name, dim, values, _, about in found}
    by_round = {
        f"{name}_by_round": Variable((dim, "round_number"), np.array(rows).T, dict(about))
        for name, dim, _, rows, about in found
    }
    return of_day | by_round | {"round_number": Variable(("round_number",), numbers, {})}


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
