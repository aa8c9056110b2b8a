"""An invented result dataset with the shape and names of a real one, made from formulas: fast, and its truth is known.

Nothing here is physics: each curve is only plausible enough to exercise summary, verdict, figures and report.
"""

import json

import numpy as np
import xarray as xr

from sim1d.crossings import seconds_above

PHASES = (  # name, role, seconds, engine speed rad/s, heat share
    ("warm-up", "warm_up", 300.0, 150.0, 0.05),
    ("wait", "wait", 600.0, 0.0, 0.0),
    ("burnout", "burnout", 5.0, 600.0, 0.5),
    ("stage", "stage", 20.0, 300.0, 0.1),
    ("pass", "pass", 6.0, 785.0, 1.0),
    ("coast", "coast", 15.0, 200.0, 0.02),
    ("return road", "return_road", 120.0, 120.0, 0.04),
    ("soak", "soak", 300.0, 0.0, 0.0),
    ("pit", "pit", 1500.0, 0.0, 0.0),
)
POINTS = {  # name: (x, z, kind, offset share of pump rise)
    "engine.left.inlet": (0.14, 0.55, "engine", 0.62),
    "engine.right.inlet": (0.14, 0.55, "engine", 0.62),
    **{
        f"engine.{b}-{i}.{p}": (
            0.2 + 0.115 * (i - 1),
            0.55 if p == "block" else 0.68,
            "engine",
            0.55 if p == "block" else 0.5,
        )
        for b in ("left", "right")
        for i in range(1, 5)
        for p in ("block", "head")
    },
    "engine.left.front": (0.14, 0.70, "engine", 0.46),
    "engine.right.front": (0.14, 0.70, "engine", 0.46),
    "engine.left.rear": (0.60, 0.70, "engine", 0.47),
    "engine.right.rear": (0.60, 0.70, "engine", 0.47),
    "collector": (-0.10, 0.74, "junction", 0.36),
    "radiator.inlet": (-0.45, 0.66, "radiator", 0.28),
    "radiator.outlet": (-0.45, 0.32, "radiator", 0.08),
    "pump.suction": (0.06, 0.45, "pump", 0.0),
    "pump.discharge": (0.06, 0.45, "pump", 0.7),
    "expansion_tank.fill": (0.75, 0.85, "expansion_tank", 0.0),
    "expansion_tank": (0.75, 0.90, "expansion_tank", 0.0),
}
LINES = {  # name: (from, to, share of flow, bore)
    "left_feed": ("pump.discharge", "engine.left.inlet", "left", 0.032),
    "right_feed": ("pump.discharge", "engine.right.inlet", "right", 0.032),
    "left_front": ("engine.left.front", "collector", "left_front", 0.025),
    "right_front": ("engine.right.front", "collector", "right_front", 0.025),
    "left_rear": ("engine.left.rear", "collector", "left_rear", 0.013),
    "right_rear": ("engine.right.rear", "collector", "right_rear", 0.013),
    "upper": ("collector", "radiator.inlet", "total", 0.038),
    "lower": ("radiator.outlet", "pump.suction", "total", 0.045),
    "make_up": ("expansion_tank.fill", "pump.suction", "zero", 0.019),
}  # fmt: skip
SPOTS = ("chamber_roof", "exhaust_bridge", "exhaust_port", "liner")
TERMS = ("engine_heat", "pump_work", "radiator_heat", "ambient_heat", "vented_heat", "coolant_out", "coolant_back",
         "bottle", "air_in", "air_out", "leak_in")  # fmt: skip
CAUSES = ("swell", "pump", "launch", "boiling", "gasket")
LOST_BY = (0.2, 0.0, 0.1, 0.7, 0.0)  # share of each in what a starved day loses
LIMITS = {
    "metal_amber": 503.15, "metal_red": 543.15, "metal_fail": 573.15, "liner": 453.15, "critical_heat_flux_margin": 1.2,
    "subcooling": 5.0, "suction_margin": 0.5, "bank_spread": 0.15, "cylinder_spread": 0.35, "coolant": 388.15,
    "pressure": None, "suction_pressure": -2e4, "rating_margin": 1.0,
}  # fmt: skip


def make(*, rounds: int = 2, starved: bool = False, window: tuple[float, float] = (303.15, 343.15)) -> xr.Dataset:
    """A day of `rounds` rounds; `starved` takes most of the flow from the left bank and dries its rear cylinder."""
    time, phase, role, number, speed, load = _day(rounds)
    n = len(time)
    cylinders = [f"{bank}-{i}" for bank in ("left", "right") for i in range(1, 5)]
    share = {"left": 0.08 if starved else 0.5, "right": 0.92 if starved else 0.5}
    bulk = _first_order(time, 318.0 + 60.0 * load + 30 * (speed > 0), np.where(load > 0.3, 20.0, 500.0), 303.15)
    total = 165.0 / 60000 * speed / 785.0 + 0.2 / 60000
    lost = np.cumsum(np.where((np.arange(n) > n // 2) & starved, 1e-3, 0.0)) * 0.2
    gauge_system = 54e3 * (bulk - 303.15) / 57.0
    rise = 140e3 * (speed / 785.0) ** 2
    points = list(POINTS)
    temperature = np.stack([_point_temperature(p, bulk, load, starved) for p in points], axis=1)
    gauge = np.stack([gauge_system + rise * POINTS[p][3] for p in points], axis=1)
    flows = {"total": total, "zero": 0 * total}
    for bank in ("left", "right"):
        flows |= {
            bank: total * share[bank],
            f"{bank}_front": total * share[bank] * 0.85,
            f"{bank}_rear": total * share[bank] * 0.15,
        }
    metal = np.empty((n, 8, 4))
    for c, name in enumerate(cylinders):
        hot = 1.0 + 0.02 * int(name[-1]) + (0.35 if starved and name.startswith("left") else 0.0)
        for s, peak in enumerate((130.0, 175.0, 110.0, 50.0)):
            metal[:, c, s] = bulk + _first_order(time, peak * load * hot, np.where(load > 0.3, 1.5, 4.0), 0.0)
    sub = 128.0 + 273.15 + 0.0002 * gauge_system - bulk
    subcooling = np.stack(
        [sub - (load * 25 if starved and c.startswith("left") else load * 5) for c in cylinders], axis=1
    )
    heat_share = np.maximum(load, 0.0145)
    weak = {c: 0.6 if starved and c == "left-4" else 1 - 0.02 * int(c[-1]) for c in cylinders}
    margin = np.stack([np.minimum(1.45 / heat_share * weak[c], 100) for c in cylinders], axis=1)
    dry = np.zeros((n, 8))
    dry[:, 3] = 0.6 * (load > 0.9) if starved else 0.0
    cylinder_flow = np.stack([total * share[c[:-2]] / 4 * (1.06 - 0.024 * int(c[-1])) for c in cylinders], axis=1)
    gas = np.zeros((n, len(points)))
    gas[:, points.index("engine.left-4.head")] = 0.3 * (load > 0.9) if starved else 0.0
    drawn = 0.01 * (load > 0.9)[:, None] if starved else np.zeros((n, 1))  # bubbles of the starved bank
    step = np.diff(time, prepend=time[0])
    heat = np.cumsum(350e3 * load * step)
    radiator = np.cumsum(np.maximum(bulk - 303.15, 0) * 120.0 * step)
    ledger = np.zeros((n, len(TERMS)))
    ledger[:, 0], ledger[:, 2], ledger[:, 3] = heat, 0.8 * radiator, 0.1 * radiator
    ledger[:, 5] = lost
    ds = xr.Dataset(
        {
            "coolant_temperature": (("time", "point"), temperature),
            "gauge_pressure": (("time", "point"), gauge),
            "gas_fraction": (("time", "point"), gas),
            "volume_flow": (("time", "line"), np.stack([flows[line[2]] for line in LINES.values()], axis=1)),
            "metal_temperature": (("time", "cylinder", "spot"), metal),
            "critical_heat_flux_margin": (("time", "cylinder"), margin),
            "subcooling": (("time", "cylinder"), subcooling),
            "dry_share": (("time", "cylinder"), dry),
            "cylinder_flow": (("time", "cylinder"), cylinder_flow),
            "sensor_temperature": (("time", "sensor"), temperature[:, [points.index("engine.left.front")] * 2]),
            "sensor_pressure": (("time", "sensor"), gauge[:, [points.index("engine.left.front")] * 2]),
            "pump_speed": (("time", "pump"), 0.9 * speed[:, None]),
            "pump_power": (("time", "pump"), (rise * total)[:, None] / 0.4),
            "pump_current": (("time", "pump"), 0 * speed[:, None]),
            "suction_margin": (("time", "pump"), (12.0 + gauge_system / 9500 - 4.0 * (speed / 785) ** 2)[:, None]),
            "system_pressure": (("time",), gauge_system),
            "tank_level": (("time",), 0.95 + 0.001 * (bulk - 303.15) - lost),
            "coolant_lost": (("time",), lost),
            "trapped_air": (("time",), np.full(n, 2e-4 if starved else 0.0)),
            "coolant_out": (("time", "cause"), lost[:, None] * np.array(LOST_BY)),
            "combustion_gas": (("time",), np.zeros(n)),
            "dissolved_air": (("time",), 3.2e-4 - 5e-6 * (bulk - 303.15)),
            "pump_grip": (("time", "pump"), 1.0 - (drawn / 0.06) ** 1.5),
            "pump_gas": (("time", "pump"), drawn),
            "engine_speed": (("time",), speed),
            "car_speed": (("time",), np.where(role == "pass", 60.0, 0.0)),
            "acceleration": (("time",), np.where(role == "pass", 20.0, 0.0)),
            "heat_to_coolant": (("time",), 350e3 * load),
            "radiator_heat": (("time",), np.maximum(bulk - 303.15, 0) * 120.0),
            "ledger": (("time", "term"), ledger),
            "energy_residual": ((), 3e-7), "coolant_residual": ((), 2e-9), "gas_residual": ((), 1e-9),
        },
        coords={
            "time": time, "point": points, "line": list(LINES), "cylinder": cylinders, "spot": list(SPOTS),
            "sensor": ["head_pressure", "head_temperature"], "pump": ["pump"], "cause": list(CAUSES),
            "term": list(TERMS), "phase": ("time", phase), "role": ("time", role), "round": ("time", number),
        },
    )  # fmt: skip
    _add_peaks(ds)
    ds.attrs = _attributes(starved, window)
    return ds


def _day(rounds: int):
    time, phase, role, number, speed, load = [], [], [], [], [], []
    start, before = 0.0, 0.0
    for k in range(1, rounds + 1):
        for name, kind, seconds, omega, share in PHASES if k == 1 else PHASES[2:]:
            count = 24 if seconds < 60 else 40
            t = np.linspace(0.0, 1.0, count)
            time.append(start + seconds * t**1.3)
            ramp = np.minimum(t * 8, 1.0)
            speed.append(np.where(ramp < 1, before + (omega - before) * ramp, omega))
            before = omega
            load.append(np.full(count, share))
            phase.append([name] * count)
            role.append([kind] * count)
            number.append([k] * count)
            start += seconds
    return (np.concatenate(time), np.concatenate(phase), np.concatenate(role), np.concatenate(number),
            np.concatenate(speed), np.concatenate(load))  # fmt: skip


def _first_order(time, target, constant, first):
    out = np.empty_like(time)
    value = first
    for i in range(len(time)):
        dt = 0.0 if i == 0 else time[i] - time[i - 1]
        value += (target[i] - value) * (1 - np.exp(-dt / constant[i]))
        out[i] = value
    return out


def _point_temperature(point, bulk, load, starved):
    if point.startswith("engine.left") and starved:
        return bulk + 35 * load
    if point.startswith("engine"):
        return bulk + 8 * load
    if "tank" in point:
        return 303.15 + 0.5 * (bulk - 303.15)
    return bulk - (4.0 if "outlet" in point or "suction" in point else 0.0) * (load > 0)


def _add_peaks(ds):
    metal = ds.metal_temperature.max("spot").values
    above = seconds_above(ds.time.values, metal, LIMITS["metal_red"])
    numbers = np.unique(ds["round"].values)
    inside = [ds["round"].values == k for k in numbers]
    ds["peak_metal_temperature"] = ("cylinder", metal.max(axis=0))
    ds["seconds_above_limit"] = ("cylinder", above.sum(axis=0))
    ds["peak_gauge_pressure"] = ("point", ds.gauge_pressure.values.max(axis=0))
    ds["seconds_above_limit_by_round"] = (
        ("cylinder", "round_number"),
        np.array([above[m[:-1]].sum(axis=0) for m in inside]).T,
    )
    ds.coords["round_number"] = numbers


def _attributes(starved, window):
    layout = {
        "nodes": {name: {"x": x, "z": z, "kind": kind} for name, (x, z, kind, _) in POINTS.items()},
        "lines": {
            name: {"from": a, "to": b, "bore_m": bore, "length_m": 0.6, "blocked": False}
            for name, (a, b, _, bore) in LINES.items()
        },
        "plugged": ["engine.left.rear_vent", "engine.right.rear_vent"],
    }  # fmt: skip
    outcome = "The whole day was simulated."
    ratings = {
        "radiator.inlet": {"part": "radiator", "pressure_Pa": 2.0e5},
        "upper": {"part": "lines.upper", "pressure_Pa": 3.45e5},
        "expansion_tank": {"part": "expansion_tank", "pressure_Pa": 1.5e5},
    }
    inputs = [
        {
            "path": "engine.heat.to_coolant",
            "value": 350e3,
            "unit": "W",
            "source": "assumed: 12 % of fuel power",
            "band": [245e3, 455e3],
        },
        {"path": "engine.heat.bridge_multiplier", "value": 1.5, "unit": "1", "source": "assumed", "band": [1.0, 2.0]},
        {"path": "cap.opening", "value": 152e3, "unit": "Pa", "source": "written in the file", "band": None},
    ]
    notes = ["Heat flux passed the critical value: metal from then on is an order of magnitude."] if starved else []
    return {
        "outcome": outcome, "outcome_name": "COMPLETED", "notes": json.dumps(notes), "limits": json.dumps(LIMITS),
        "ratings": json.dumps(ratings), "layout": json.dumps(layout), "car_file": 'name = "invented <car>"\n',
        "day_file": 'name = "invented day"\n', "versions": json.dumps({"numpy": "2"}), "inputs": json.dumps(inputs),
        "cuts": json.dumps([]), "cylinder_note": json.dumps({}), "staging_window": json.dumps(list(window)),
    }  # fmt: skip
