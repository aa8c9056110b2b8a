"""How far the verdict on the example layouts moves with each input at both ends of its band.

    python benchmarks/bench_bands.py [--write]

Moves every input of layout A that carries a band, one at a time, the rest as in the file, and prints the tables of
docs/explanation/calibration.md; with --write it puts them there. A minute or two.
"""

import sys
import warnings
from collections.abc import Iterator
from dataclasses import dataclass

from pages import put, table

import sim1d
from sim1d.inputs import inputs_of

HEAT = "engine.heat."
SHARES = ("roof_share", "port_share", "liner_share")
TO_COOLANT_BAND = (0.65, 1.45)  # of the declared heat: the source of its default says so
CHOSEN = (
    *(HEAT + name for name in ("to_coolant", *SHARES, "bridge_multiplier")),
    *("engine.head.critical_heat_flux_factor", "engine.head.local_speed_factor"),
)
SMALL = 0.02  # of the boiling margin: an input that moves less, and no outcome, is only named
ZERO_C = 273.15
HEADINGS = (
    *("input", "value", "A ends", "least margin", "peak roof, degC", "peak bridge, degC", "s above red", "B ends"),
)


@dataclass(frozen=True)
class Run:
    """One row: what was moved and to what; layout A in numbers; how layout B ended."""

    path: str
    value: float | str
    outcome: str
    margin: float
    roof: float
    bridge: float
    seconds: float
    other: str

    def cells(self) -> tuple[str, ...]:
        """The row as text."""
        value = f"{self.value:g}" if isinstance(self.value, float) else self.value
        numbers = (f"{self.margin:.2f}", f"{self.roof:.0f}", f"{self.bridge:.0f}", f"{self.seconds:.1f}")
        return (f"`{self.path}`" if self.path else "all seven", value, self.outcome, *numbers, self.other)


def bands(car: sim1d.Car) -> Iterator[tuple[str, float]]:
    """(path, value) of both ends of every band of the inputs of `car`."""
    for row in inputs_of(car):
        if row["path"] == HEAT + "to_coolant":
            yield from ((row["path"], share * row["value"]) for share in TO_COOLANT_BAND)
        elif row["band"] is not None and not row["path"].startswith("limits."):
            yield from ((row["path"], value) for value in row["band"])


def settings(car: sim1d.Car, path: str, value: float) -> dict[str, float]:
    """The values to set: a share of the heat takes what it gains from the other two, in proportion."""
    name = path.removeprefix(HEAT)
    if not path.startswith(HEAT) or name not in SHARES:
        return {path: value}
    rest = {other: getattr(car.engine.heat, other) for other in SHARES if other != name}
    scale = (1.0 - value) / sum(rest.values())
    return {path: value} | {HEAT + other: round(share * scale, 9) for other, share in rest.items()}


def middle(car: sim1d.Car) -> dict[str, float]:
    """Every chosen input in the middle of its band, the declared heat as it is; the shares scaled to add up to 1."""
    ends: dict[str, list[float]] = {}
    for path, value in bands(car):
        ends.setdefault(path, []).append(value)
    found = {path: sum(ends[path]) / 2 for path in CHOSEN if path != HEAT + "to_coolant"}
    total = sum(found[HEAT + name] for name in SHARES)
    return found | {HEAT + name: round(found[HEAT + name] / total, 9) for name in SHARES}


def moved(path: str, value: float, cars: list[sim1d.Car]) -> list[sim1d.Car]:
    """The cars with one input moved; a line that layout B does not have is moved in A alone."""
    here = [not path.startswith("lines.") or path.split(".")[1] in car.lines for car in cars]
    return [car.with_values(settings(car, path, value)) if has else car for car, has in zip(cars, here, strict=True)]


def measure(path: str, value: float | str, cars: list[sim1d.Car], day: sim1d.Day) -> Run:
    """Simulate the day of both cars."""
    ds, other = (sim1d.simulate(car, day) for car in cars)
    numbers = sim1d.summarise(ds)
    peak = ds.metal_temperature.max(("time", "cylinder")) - ZERO_C
    margin = numbers["least_critical_heat_flux_margin"]
    roof, bridge = (float(peak.sel(spot=spot)) for spot in ("chamber_roof", "exhaust_bridge"))
    seconds = max(numbers["seconds_above_limit_s"].values())
    return Run(path, value, ending(ds), margin, roof, bridge, seconds, ending(other))


def ending(ds) -> str:
    """The outcome in a word or two; a day that stopped early says in which phase."""
    name = ds.attrs["outcome_name"].lower().replace("_", " ")
    if name == "completed":
        return name
    return f"{name}, round {int(ds['round'][-1])} {str(ds['phase'].values[-1])}"


def main() -> None:
    """Measure, print, and write where asked."""
    warnings.simplefilter("ignore")
    cars = [sim1d.load_car(sim1d.example_path(name)) for name in ("layout_a", "layout_b")]
    day = sim1d.load_day(sim1d.example_path("race_day"))
    base = measure("", "as in the file", cars, day)
    centre = measure("", "middle of the bands", [car.with_values(middle(car)) for car in cars], day)
    runs = []
    for path, value in bands(cars[0]):
        runs.append(measure(path, value, moved(path, value, cars), day))
        print(runs[-1].cells(), file=sys.stderr, flush=True)
    chosen = sorted((run for run in runs if run.path in CHOSEN), key=lambda run: CHOSEN.index(run.path))
    others = [run for run in runs if run.path not in CHOSEN]
    moving = {
        run.path
        for run in others
        if abs(run.margin - base.margin) >= SMALL or (run.outcome, run.other) != (base.outcome, base.other)
    }
    still = sorted({run.path for run in others} - moving)
    first = table(HEADINGS, [run.cells() for run in (base, centre, *chosen)])
    second = table(HEADINGS, [run.cells() for run in others if run.path in moving])
    named = ", ".join(f"`{path}`" for path in still)
    second += f"\nMove the margin by less than {SMALL:g} and no outcome: {named}.\n"
    print(first, second, sep="\n")
    if "--write" in sys.argv:
        put("explanation/calibration.md", "chosen", first)
        print(put("explanation/calibration.md", "others", second))


if __name__ == "__main__":
    main()
