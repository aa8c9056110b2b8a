"""The soak after a cut: the same day with the engine off from the middle of the last pass on.

A cut stops the belt pump with the engine: the heat in the metal then soaks into coolant that hardly moves. What the
phases of the day say of electric pump and fan still holds.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.cuts import RUN_DOWN
from sim1d.day import Day, Phase, Role, build_day
from sim1d.reading_results import names

if TYPE_CHECKING:
    import xarray as xr

CUT = "cut"  # names of the two pieces that take the place of the rest of the pass
ROLLING = "rolling"


@dataclass(frozen=True)
class Soak:
    """What a run with the engine cut does after the cut, SI: `at_cut` beside the worst later value and its delay, s.

    Metal and coolant K, pressure Pa gauge (the highest point), subcooling K (least of all cylinders), gas share.
    """

    metal_at_cut: float
    metal_peak: float
    metal_after: float
    metal_later: float
    coolant_peak: float
    coolant_after: float
    pressure_at_cut: float
    pressure_peak: float
    pressure_point: str
    pressure_after: float
    least_subcooling: float
    subcooling_after: float
    steam: float
    outcome: str


def day_with_cut(day: Day, share: float = 0.5) -> Day:
    """The day with the engine cut after `share` of its last pass: run-down, then standing to the end of that round.

    The car rolls on as the pass and coast say. Raises ValueError for a day without a pass.
    """
    passes = [k for k, phase in enumerate(day.phases) if phase.role is Role.PASS]
    if not passes:
        raise ValueError("the day has no pass")
    number = passes[-1]
    the_pass = day.phases[number]
    data = day.to_file()
    pieces = list(_before(the_pass, share * the_pass.duration))
    speed = pieces[-1]["speed"]["to"]
    left = (1.0 - share) * the_pass.duration
    down = min(RUN_DOWN, left)
    common = {key: value for key, value in data["phases"][number].items() if key not in ("until", "speed", "load")}
    for name, start, length, speeds in (
        (CUT, 0.0, down, {"from": speed, "to": speed * (1.0 - down / RUN_DOWN)}),
        (ROLLING, down, left - down, 0.0),
    ):
        if length < 0.01:
            continue
        begin = share * the_pass.duration + start
        moving = _moving(the_pass, begin, begin + length)
        pieces.append(
            common | {"name": name, "role": Role.COAST.value, "duration": length, "speed": speeds, "load": 0.0} | moving
        )
    rest = []
    for phase in data["phases"][number + 1 :]:
        kept = {key: value for key, value in phase.items() if key not in ("until", "speed", "load")}
        rest.append(kept | {"speed": 0.0, "load": 0.0})
    data["phases"] = [*data["phases"][:number], *pieces, *rest]
    return build_day(data)


def _before(phase: Phase, end: float) -> "list[dict[str, Any]]":
    """The straight pieces of a phase up to `end` s, as phases of their own."""
    common = phase.model_dump(mode="json", by_alias=True, exclude_unset=True, exclude_none=True)
    common.pop("until", None)
    load = phase.load.ends
    found = []
    for begin, stop, low, high in phase.speed.pieces(phase.duration):
        if begin >= end - 0.01:
            break
        last = min(stop, end)
        top = low + (high - low) * (last - begin) / (stop - begin)
        slope = (load[1] - load[0]) / phase.duration
        found.append(
            common
            | {
                "duration": last - begin,
                "speed": {"from": low, "to": top},
                "load": {"from": load[0] + slope * begin, "to": load[0] + slope * last},
            }
            | _moving(phase, begin, last)
        )
    return found


def _moving(phase: Phase, begin: float, end: float) -> dict[str, Any]:
    """Car speed and acceleration of a phase from `begin` to `end` s."""

    def part(ends: tuple[float, float]) -> dict[str, float]:
        slope = (ends[1] - ends[0]) / phase.duration
        return {"from": ends[0] + slope * begin, "to": ends[0] + slope * end}

    return {"car_speed": part(phase.car_speed.ends), "acceleration": part(phase.acceleration.ends)}


def soak_after(ds: "xr.Dataset") -> Soak | None:
    """What a run of `day_with_cut` does from the cut on; None for a run that ended before it."""
    time = ds["time"].values
    cut = np.flatnonzero(ds["phase"].values == CUT)
    if not len(cut):
        return None
    first = int(cut[0])
    after = slice(first, len(time))
    metal = ds["metal_temperature"].values.max(axis=(1, 2))
    hot = ds["coolant_temperature"].values.max(axis=1)
    gauge = ds["gauge_pressure"].values
    subcooling = ds["subcooling"].values.min(axis=1)

    def worst(values: np.ndarray, sign: float = 1.0) -> tuple[float, float]:
        k = int(np.argmax(sign * values[after]))
        return float(values[first + k]), float(time[first + k] - time[first])

    metal_peak, metal_after = worst(metal)
    later = int(np.searchsorted(time, time[first] + 60.0))
    coolant_peak, coolant_after = worst(hot)
    pressure_peak, pressure_after = worst(gauge.max(axis=1))
    index = int(np.searchsorted(time, time[first] + pressure_after))
    least, least_after = worst(subcooling, -1.0)
    return Soak(
        metal_at_cut=float(metal[first]), metal_peak=metal_peak, metal_after=metal_after,
        metal_later=float(metal[min(later, len(metal) - 1)]), coolant_peak=coolant_peak, coolant_after=coolant_after,
        pressure_at_cut=float(gauge[first].max()), pressure_peak=pressure_peak,
        pressure_point=names(ds, "point")[int(np.argmax(gauge[min(index, len(gauge) - 1)]))],
        pressure_after=pressure_after, least_subcooling=least, subcooling_after=least_after,
        steam=float(ds["gas_fraction"].values[after].max()), outcome=str(ds.attrs.get("outcome", "")),
    )  # fmt: skip
