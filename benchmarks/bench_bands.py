"""How far the verdict on the example layouts moves with each input at both ends of its band.

    python benchmarks/bench_bands.py [FIRST WORDS OF A PATH ...]

prints the tables of docs/explanation/calibration.md: every input of layout A that carries a band, one at a time, the rest as
in the file. With words, only the paths that begin with one of them. About a minute.
"""

import sys
import warnings
from collections.abc import Iterator
from dataclasses import dataclass

import sim1d
from sim1d.inputs import inputs_of

HEAT = "engine.heat."
SHARES = ("roof_share", "port_share", "liner_share")
TO_COOLANT_BAND = (0.65, 1.45)  # of the declared heat; the default's source says so
CHOSEN = (
    *(HEAT + name for name in ("to_coolant", *SHARES, "bridge_multiplier")),
    *("engine.head.critical_heat_flux_factor", "engine.head.local_speed_factor"),
)
ZERO_C = 273.15


@dataclass(frozen=True)
class Line:
    """One row: what was moved and to what; layout A in numbers; how layout B ended."""

    path: str
    value: float | None
    outcome: str
    margin: float
    roof: float
    bridge: float
    seconds: float
    other: str

    def __str__(self) -> str:
        value = "as in the file" if self.value is None else f"{self.value:g}"
        return (
            f"| {self.path} | {value} | {self.outcome} | {self.margin:.2f} | {self.roof:.0f} | {self.bridge:.0f} "
            f"| {self.seconds:.1f} | {self.other} |"
        )


HEADINGS = ("input", "value", "A ends", "least margin", "peak roof, degC", "peak bridge, degC", "s above red", "B ends")


def bands(car: sim1d.Car) -> Iterator[tuple[str, float]]:
    """(path, value) of both ends of every band of the inputs of `car`."""
    for row in inputs_of(car):
        if row["path"] == HEAT + "to_coolant":
            yield from ((row["path"], share * row["value"]) for share in TO_COOLANT_BAND)
        elif row["band"] is not None:
            yield from ((row["path"], value) for value in row["band"])


def settings(car: sim1d.Car, path: str, value: float) -> dict[str, float]:
    """The values to set: a share of the heat takes what it gains from the other two, in proportion."""
    name = path.removeprefix(HEAT)
    if not path.startswith(HEAT) or name not in SHARES:
        return {path: value}
    rest = {other: getattr(car.engine.heat, other) for other in SHARES if other != name}
    scale = (1.0 - value) / sum(rest.values())
    first, second = (round(share * scale, 9) for share in rest.values())
    return {path: value, **{HEAT + other: share for other, share in zip(rest, (first, second), strict=True)}}


def measure(path: str, value: float | None, cars: list[sim1d.Car], day: sim1d.Day) -> Line:
    """Simulate the day of both cars with one input moved."""
    moved = [car if value is None else car.with_values(settings(car, path, value)) for car in cars]
    ds, other = (sim1d.simulate(car, day) for car in moved)
    numbers = sim1d.summarise(ds)
    peak = ds.metal_temperature.max(("time", "cylinder")) - ZERO_C
    return Line(
        path=path,
        value=value,
        outcome=ending(ds),
        margin=numbers["least_critical_heat_flux_margin"],
        roof=float(peak.sel(spot="chamber_roof")),
        bridge=float(peak.sel(spot="exhaust_bridge")),
        seconds=max(numbers["seconds_above_limit_s"].values()),
        other=ending(other),
    )


def ending(ds) -> str:
    """The outcome in a word or two; a day that stopped early says in which phase."""
    name = ds.attrs["outcome_name"].lower().replace("_", " ")
    if name == "completed":
        return name
    return f"{name}, round {int(ds['round'][-1])} {str(ds['phase'].values[-1])}"


def main() -> None:
    """Print the tables."""
    warnings.simplefilter("ignore")
    cars = [sim1d.load_car(sim1d.example_path(name)) for name in ("layout_a", "layout_b")]
    day = sim1d.load_day(sim1d.example_path("race_day"))
    wanted = tuple(sys.argv[1:]) or ("",)
    ends = [(path, value) for path, value in bands(cars[0]) if path.startswith(wanted)]
    print("| " + " | ".join(HEADINGS) + " |")
    print("|---" * len(HEADINGS) + "|")
    print(measure("nothing", None, cars, day))
    for path, value in sorted(ends, key=lambda end: CHOSEN.index(end[0]) if end[0] in CHOSEN else len(CHOSEN)):
        print(measure(path, value, cars, day), flush=True)


if __name__ == "__main__":
    main()
