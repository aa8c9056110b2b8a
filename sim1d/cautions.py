"""What is printed under every result: cautions, with this run's own numbers in them where that helps."""

from typing import TYPE_CHECKING

import numpy as np

from sim1d.display import show_pressure
from sim1d.reading_results import names, structured

if TYPE_CHECKING:
    import xarray as xr

SCALD = (
    "Do not open hot: coolant above 60 C (140 F) scalds within seconds, and superheated coolant flashes to steam when "
    "the pressure goes. No cap, bleed screw or line is opened above 50 C (122 F) or while a gauge shows pressure."
)
RULES = (
    "The sanctioning body's current rulebook and the track override every number here (coolant type, catch can, fans, "
    "cut devices, lines near the driver); where they leave a question, qualified people decide."
)


def cautions(ds: "xr.Dataset") -> list[str]:
    """The cautions of a run, complete sentences: always the same ones, adapted to the sensors and parts of the car."""
    found = [
        "This is a lumped estimate. Confirm it with a cold pressure test and a log taken at low power before a pass.",
        *_gauges(ds),
        "Do not raise a cap or a cut because this run says so: the weakest rated part governs. Test cold, full of "
        "water, with the air out and behind a shield, never above the lowest rating in the circuit.",
        *_unrated(ds),
        SCALD,
        "Air left in the circuit makes the temperatures here worthless: fill and bleed first.",
        *_glycol(ds),
        RULES,
        *_cut(ds),
        "A normal pressure trace is no proof that the head gasket is sound.",
        "Belts, fans and pumps may start by themselves; coolant conducts electricity, is slippery under tyres, and "
        "glycol is poisonous: collect it.",
    ]
    return found


def _gauges(ds: "xr.Dataset") -> list[str]:
    """Where the highest pressure is, and what each pressure sensor shows at most."""
    gauge = ds["gauge_pressure"].values
    highest = int(np.argmax(gauge.max(axis=0)))
    text = f"The highest pressure is at {names(ds, 'point')[highest]}: {show_pressure(float(gauge.max()))}."
    shown = ds["sensor_pressure"].values if "sensor_pressure" in ds else np.empty((0, 0))
    seen = [
        f"{name} shows at most {show_pressure(float(np.nanmax(shown[:, i])))}"
        for i, name in enumerate(names(ds, "sensor"))
        if "pressure" in name and shown.size and np.isfinite(shown[:, i]).any()
    ]
    return [
        text + (" Your gauge sits elsewhere: " + "; ".join(seen) + "." if seen else " Your gauge may sit elsewhere.")
    ]


def _unrated(ds: "xr.Dataset") -> list[str]:
    """Lines that no rating covers: their margin is unknown."""
    rated = {str(entry.get("part")) for entry in structured(ds, "ratings", {}).values()}
    known = {
        item["path"].rsplit(".", 1)[0]
        for item in structured(ds, "inputs", [])
        if item["path"].endswith("working_pressure")
    }
    lines = structured(ds, "layout", {}).get("lines", {})
    unrated = [name for name in lines if f"lines.{name}" not in rated | known]
    if not unrated:
        return []
    return [f"Without a rating, and so with unknown margin: lines {', '.join(unrated)}."]


def _glycol(ds: "xr.Dataset") -> list[str]:
    text = str(ds.attrs.get("car_file", ""))
    if "glycol" not in text or float(ds["coolant_temperature"].values.max()) < 373.15:
        return []
    return ["Glycol properties above 100 C (212 F) are extrapolated."]


def _cut(ds: "xr.Dataset") -> list[str]:
    """How far pressure runs on while a cut is still deciding, from the steepest rise at a sensor in this run."""
    time = ds["time"].values
    shown = ds["sensor_pressure"].values if "sensor_pressure" in ds else np.empty((len(time), 0))
    if not shown.shape[1] or len(time) < 3:
        return []
    role = ds["role"].values
    step = np.diff(time)
    inside = (role[1:] == "pass") & (role[:-1] == "pass") & (step > 0.05)
    rises = np.diff(shown, axis=0)[inside] / step[inside, None]
    if not rises.size or not np.isfinite(rises).any():
        return []
    steepest = max(float(np.nanmax(rises)), 0.0)
    return [
        "An engine cut limits damage, it does not prevent it: within a pass the pressure at a sensor rises here by up "
        f"to {show_pressure(steepest, '')} per second, so every 0.1 s of sensor, filter and decision costs "
        f"{show_pressure(0.1 * steepest, '')} beyond the threshold. A cut at speed is a hazard of its own."
    ]
