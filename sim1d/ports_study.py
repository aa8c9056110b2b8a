"""Which head outlets to use: every sensible choice of plumbed, joined and plugged, simulated and ranked.

A choice says for each kind of outlet (front, middle, rear) what becomes of the pair: both plumbed, one side plumbed and
the other plugged, both joined to each other by a hose and to nothing else, joined with one side going on, or both
plugged. Vents stay as the car file has them. Left out is a choice that leaves a bank no way out but its vents, unless
it is the one of the car file.
"""

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Any

from sim1d.compare import Run
from sim1d.errors import DescriptionError

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day

KINDS = ("front", "middle", "rear")
BANKS = ("left", "right")


class Pair(Enum):
    """What becomes of one kind of outlet; the value is how it reads."""

    BOTH = "both plumbed"
    LEFT = "left plumbed, right plugged"
    RIGHT = "right plumbed, left plugged"
    JOINED = "joined to each other"
    JOINED_LEFT = "joined, left goes on"
    JOINED_RIGHT = "joined, right goes on"
    NEITHER = "both plugged"

    @property
    def plumbed(self) -> tuple[str, ...]:
        """Banks whose outlet has a hose to the collector."""
        return {
            Pair.BOTH: BANKS,
            Pair.LEFT: ("left",),
            Pair.RIGHT: ("right",),
            Pair.JOINED_LEFT: ("left",),
            Pair.JOINED_RIGHT: ("right",),
        }.get(self, ())

    @property
    def joined(self) -> bool:
        """The two outlets are connected to each other."""
        return self in (Pair.JOINED, Pair.JOINED_LEFT, Pair.JOINED_RIGHT)


@dataclass(frozen=True)
class Choice:
    """One choice: (kind of outlet, what becomes of the pair) for each kind that the heads have."""

    pairs: tuple[tuple[str, Pair], ...]

    def __str__(self) -> str:
        return "; ".join(f"{kind}: {pair.value}" for kind, pair in self.pairs)

    def sensible(self, crossover: bool) -> bool:
        """Each bank has a hose of its own, or is joined to one that has; or a plumbed `crossover` drains both."""
        if crossover:
            return True
        open_banks = {bank for _, pair in self.pairs for bank in pair.plumbed}
        if any(pair.joined for _, pair in self.pairs) and open_banks:
            return True
        return open_banks == set(BANKS)


@dataclass(frozen=True)
class Ranked:
    """A simulated choice; `place` counts from 1, `is_file` marks the choice that the car file makes."""

    place: int
    choice: Choice
    run: Run
    is_file: bool


@dataclass(frozen=True)
class PortsResult:
    """All choices in order of merit, and those that could not be simulated with the reason."""

    ranked: tuple[Ranked, ...]
    refused: tuple[tuple[Choice, str], ...]


def outlet_kinds(car: "Car") -> list[str]:
    """Kinds of outlet that both heads have an opening for."""
    ports = car.engine.ports()
    return [kind for kind in KINDS if all(f"{bank}.{kind}" in ports for bank in BANKS)]


def choices(car: "Car") -> list[Choice]:
    """Every sensible choice for the outlets of this engine, and the one that the car makes, sensible or not."""
    kinds = outlet_kinds(car)
    combined = (Choice(tuple(zip(kinds, pairs, strict=True))) for pairs in itertools.product(Pair, repeat=len(kinds)))
    crossover = "engine.crossover" in car.lines_at
    as_filed = choice_of(car)
    return [choice for choice in combined if kinds and (choice.sensible(crossover) or choice == as_filed)]


def choice_of(car: "Car") -> Choice:
    """The choice that the car makes as it is described."""
    return Choice(tuple((kind, _pair_of(car, kind)) for kind in outlet_kinds(car)))


def _pair_of(car: "Car", kind: str) -> Pair:
    ports = {bank: f"engine.{bank}.{kind}" for bank in BANKS}
    joined = any({line.start, line.end} == set(ports.values()) for line in car.lines.values())
    going_on = []
    for bank, port in ports.items():
        other = ports["right" if bank == "left" else "left"]
        if any(port in (line.start, line.end) and other not in (line.start, line.end) for line in car.lines.values()):
            going_on.append(bank)
    for pair in Pair:
        if pair.joined == joined and set(pair.plumbed) == set(going_on):
            return pair
    return Pair.BOTH  # joined, and both go on: read as both plumbed


def collector_of(car: "Car") -> str:
    """Where the outlets are led to: the far end of the widest outlet line. Raises DescriptionError without one."""
    from sim1d.errors import Problem

    ports = {f"engine.{bank}.{kind}" for bank in BANKS for kind in KINDS} | {"engine.crossover"}
    found = [line for line in car.lines.values() if (line.start in ports) != (line.end in ports)]
    if not found:
        what, fix = "no head outlet is plumbed", "plumb one outlet, so that the others can follow it"
        raise DescriptionError([Problem("lines", what, fix)])
    widest = max(found, key=lambda line: line.inner_diameter)
    return widest.end if widest.start in ports else widest.start


def apply(car: "Car", choice: Choice) -> "Car":
    """The car with that choice of outlets. Raises DescriptionError when the rest of the plumbing does not allow it.

    Lines that the file has stay as they are. A new line runs straight to where the widest outlet line leads, with 0.1 m
    of slack and the bore of the opening; a joining hose has the same bore. Lines and sensors of plugged outlets go.
    """
    from sim1d.car import build_car

    data = car.to_file()
    lines: dict[str, Any] = data["lines"]
    collector = collector_of(car)
    plugged = [name for name in car.engine.plugged if name.split(".")[-1] not in {kind for kind, _ in choice.pairs}]
    removed = []
    for kind, pair in choice.pairs:
        ports = {bank: f"engine.{bank}.{kind}" for bank in BANKS}
        throat = min(car.ports[port].bore for port in ports.values())
        for name in [*lines]:
            ends = {lines[name]["from"], lines[name]["to"]}
            at = {bank for bank, port in ports.items() if port in ends}
            keep = pair.joined if len(at) == 2 else all(bank in pair.plumbed for bank in at)
            if at and not keep:
                removed.append(name)
                del lines[name]
        for bank, port in ports.items():
            used = [line for line in lines.values() if port in (line["from"], line["to"])]
            if bank in pair.plumbed and not any(set(ports.values()) != {line["from"], line["to"]} for line in used):
                lines[f"new_{bank}_{kind}"] = {"from": port, "to": collector, "bore": throat}
            elif bank not in pair.plumbed and not pair.joined:
                plugged.append(f"{bank}.{kind}")
        if pair.joined and not any(set(ports.values()) == {line["from"], line["to"]} for line in lines.values()):
            lines[f"new_{kind}_link"] = {"from": ports["left"], "to": ports["right"], "bore": throat, "slack": 0.4}
    data["engine"]["plugged"] = plugged
    gone = {f"engine.{name}" for name in plugged} | {f"lines.{name}" for name in removed}
    data["sensors"] = {name: sensor for name, sensor in data.get("sensors", {}).items() if sensor["at"] not in gone}
    _drop_loose_junctions(data)
    return build_car(data)


def with_points_that_stay(car: "Car", day: "Day") -> "Day":
    """The day with every `until` at a head outlet moved to the nearest cylinder: all choices run the same day."""
    from sim1d.day import build_day

    last = car.engine.cylinders_per_bank
    nearest = {"front": 1, "middle": (last + 1) // 2, "rear": last}
    moved = {f"engine.{bank}.{kind}": f"engine.{bank}-{i}.head" for bank in BANKS for kind, i in nearest.items()}
    data = day.to_file()
    for phase in data["phases"]:
        if "until" in phase:
            phase["until"]["point"] = moved.get(phase["until"]["point"], phase["until"]["point"])
    return build_day(data)


def _drop_loose_junctions(data: dict[str, Any]) -> None:
    """Junctions that no line reaches any more go with their lines."""
    reached = {end for line in data["lines"].values() for end in (line["from"], line["to"])}
    data["junctions"] = {name: junction for name, junction in data.get("junctions", {}).items() if name in reached}


def rank(runs: list[tuple[Choice, Run]], as_filed: Choice) -> list[Ranked]:
    """Order of merit: choices that hold every limit first, then those that finished the day, then the rest.

    Within each group the sum of two places decides: even cylinders (small spread of flow) and boiling margin (large).
    """
    spread = {choice: run.summary["pass_cylinder_spread"] for choice, run in runs}
    margin = {choice: run.summary["least_critical_heat_flux_margin"] for choice, run in runs}

    def places(values: dict[Choice, float | None], most: bool) -> dict[Choice, int]:
        known = sorted((value for value in values.values() if value is not None), reverse=most)
        return {choice: known.index(value) if value is not None else len(values) for choice, value in values.items()}

    even, safe = places(spread, False), places(margin, True)

    def merit(item: tuple[Choice, Run]) -> tuple:
        choice, run = item
        group = 0 if run.verdict.held else 1 if run.verdict.completed else 2
        return group, even[choice] + safe[choice], safe[choice], str(choice)

    ordered = sorted(runs, key=merit)
    return [Ranked(place, choice, run, choice == as_filed) for place, (choice, run) in enumerate(ordered, 1)]


def ports_study(car: "Car", day: "Day", progress: Callable[[int, int, str], None] | None = None) -> PortsResult:
    """Simulate `day` for every sensible choice of outlets; `progress(done, all, choice)` is called before each."""
    collector_of(car)  # says at once what is wrong, where nothing is plumbed
    day = with_points_that_stay(car, day)
    finished: list[tuple[Choice, Run]] = []
    refused: list[tuple[Choice, str]] = []
    wanted = choices(car)
    for number, choice in enumerate(wanted):
        if progress is not None:
            progress(number, len(wanted), str(choice))
        try:
            finished.append((choice, _simulated(apply(car, choice), day, str(choice))))
        except DescriptionError as error:
            refused.append((choice, "; ".join(f"{problem.where}: {problem.what}" for problem in error.problems)))
    return PortsResult(tuple(rank(finished, choice_of(car))), tuple(refused))


def _simulated(car: "Car", day: "Day", name: str) -> Run:
    from sim1d.simulation import simulate
    from sim1d.summary import summarise

    ds = simulate(car, day)
    return Run.of(name, ds, summarise(ds))


def table(result: PortsResult) -> Iterator[dict[str, str]]:
    """Rows of the ranking as text: place, choice, verdict, cylinder split, margin, bank flows, hottest."""
    for item in result.ranked:
        summary = item.run.summary
        margin, uneven = summary["least_critical_heat_flux_margin"], summary["pass_cylinder_spread"]
        hottest = item.run.verdict.hottest
        banks = "/".join(f"{flow * 60000:.0f}" for flow in summary["pass_bank_flow_m3_s"].values())
        metal = summary["peak_metal_temperature_K"].get(hottest)
        yield {
            "place": f"{item.place}" + (" (file)" if item.is_file else ""),
            "choice": str(item.choice),
            "verdict": item.run.verdict.short,
            "cylinders": "-" if uneven is None else f"{uneven:.0%}",
            "margin": "-" if margin is None else f"{margin:.2f}",
            "banks": banks or "-",
            "hottest": "-" if metal is None else f"{hottest} {metal - 273.15:.0f} C",
        }


def as_data(result: PortsResult) -> dict[str, Any]:
    """The ranking as plain data for JSON: the summary of each choice, and why others could not be simulated."""
    ranked = [
        {
            "place": item.place,
            "choice": {kind: pair.name.lower() for kind, pair in item.choice.pairs},
            "text": str(item.choice),
            "as_in_file": item.is_file,
            "held": item.run.verdict.held,
            "summary": item.run.summary,
        }
        for item in result.ranked
    ]
    return {"ranked": ranked, "refused": [{"text": str(choice), "why": why} for choice, why in result.refused]}
