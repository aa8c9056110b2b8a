"""What a study evaluates: the one file of `studies` that drives the simulation.

A `Model` is all that the rest of the package asks for, so a test can put a cheap function in its place.
"""

import functools
import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any, Protocol

import sim1d
from sim1d import DescriptionError, Outcome, cautions, uncertainty
from studies.batch import Evaluation, Sampler
from studies.draws import Draws

Settings = Sequence[tuple[str, Any]]
VERSIONS = ("numpy", "scipy", "numba", "CoolProp")  # libraries that shape a number
DAY = "day."  # prefix of a path that moves a value of the day


class Model(Sampler, Protocol):
    """Evaluates points and knows what decides their numbers."""

    def reading(self, settings: Settings) -> tuple[float, str]:
        """SI number (NaN: none) and unit of the first value set. Raises DescriptionError for a refused value."""
        ...

    def fingerprint(self, settings: Mapping[str, Any] | Settings) -> str:
        """Hash of all that decides the numbers of a point; equal hashes are equal runs. Raises DescriptionError."""
        ...

    def identity(self) -> dict[str, Any]:
        """JSON-able description of inputs, sources and versions."""
        ...

    def limits(self) -> dict[str, float]:
        """Limits of the car by criterion, SI."""
        ...

    def cautions(self) -> Sequence[str]:
        """Sentences that stand under every report."""
        ...

    def warm_up(self) -> None:
        """Compile and cache what workers would otherwise each do again."""
        ...


@dataclass(frozen=True)
class CarModel:
    """Points of a real study: settings on a car and a day, simulated and summarised by `sim1d`."""

    car: Any
    day: Any

    @classmethod
    def load(cls, car_file: Path, day_file: Path) -> "CarModel":
        """Read both files. Raises DescriptionError with the problems of both."""
        problems: list[sim1d.Problem] = []
        found = []
        for load, file in ((sim1d.load_car, car_file), (sim1d.load_day, day_file)):
            try:
                found.append(load(file))
            except DescriptionError as error:
                problems.extend(error.problems)
        if problems:
            raise DescriptionError(problems)
        return cls(*found)

    def apply(self, settings: Mapping[str, Any] | Settings) -> tuple[Any, Any]:
        """Car and day with the settings made, in their order. Raises DescriptionError for one that is refused."""
        of_car, of_day = {}, {}
        for path, value in dict(settings).items():
            if path.startswith(DAY):
                of_day[path.removeprefix(DAY)] = value
            else:
                of_car[path] = value
        for path in [path for path in of_car if path.startswith("lines.") and path.endswith(".size")]:
            # the bore in the file was measured on the hose that the new size replaces
            of_car.setdefault(path.removesuffix("size") + "bore", None)
        return (
            self.car.with_values(of_car) if of_car else self.car,
            self.day.with_values(of_day) if of_day else self.day,
        )

    def evaluate(self, settings: Mapping[str, Any]) -> Evaluation:
        """Simulate one point. A description that the point makes impossible is an outcome, not an error."""
        try:
            car, day = self.apply(settings)
            run = sim1d.simulate(car, day)
        except DescriptionError as error:
            return _refused(error)
        fingerprint = _text(run.attrs.get("fingerprint") or sim1d.fingerprint(car, day))
        summary = sim1d.summarise(run)
        notes = "; ".join(str(note) for note in json.loads(run.attrs.get("notes") or "[]"))
        return Evaluation(str(run.attrs["outcome"]), summary, fingerprint, notes)

    def evaluate_draws(self, settings: Mapping[str, Any], draws: Draws) -> Iterator[Evaluation]:
        """Simulate samples of one point. What the settings set is known and is not drawn."""
        try:
            car, day = self.apply(settings)
            cars = uncertainty.sample(car, draws.samples, draws.seed, measured=list(settings))
        except DescriptionError as error:
            yield from [_refused(error)] * draws.samples
            return
        for one in cars:
            yield CarModel(one, day).evaluate({})

    def fingerprint(self, settings: Mapping[str, Any] | Settings) -> str:
        return _text(sim1d.fingerprint(*self.apply(settings)))

    def reading(self, settings: Settings) -> tuple[float, str]:
        car, day = self.apply(settings)
        path, _ = settings[0]
        if path.startswith(DAY):
            return _number_at(day, path.removeprefix(DAY))
        return _number_at(car, path)

    def identity(self) -> dict[str, Any]:
        return {
            "car": self.car.to_file(defaults=True),
            "day": self.day.to_file(defaults=True),
            "tables": _text(sim1d.fingerprint(self.car, self.day)),
            "sources": self.source_hash(),
            "versions": {name: metadata.version(name) for name in VERSIONS},
        }

    def limits(self) -> dict[str, float]:
        limits = getattr(self.car, "limits", None)
        found = limits.model_dump() if limits is not None else {}
        return {key: float(value) for key, value in found.items() if isinstance(value, (int, float))}

    def cautions(self) -> Sequence[str]:
        return (
            cautions.SCALD,
            "Never test with more pressure than the weakest part in the circuit is rated for.",
            "These are estimates for layouts as described: check the one you build with gauges before you rely on it.",
            cautions.RULES,
        )

    def source_hash(self) -> str:
        return _sources()

    def warm_up(self) -> None:
        sim1d.warm_up(self.car, self.day)


def _refused(error: DescriptionError) -> Evaluation:
    reason = "; ".join(f"{problem.where}: {problem.what}" for problem in error.problems)
    return Evaluation(f"{Outcome.BAD_DESCRIPTION.value} ({reason[:500]})")


@functools.lru_cache(maxsize=1)
def _sources() -> str:
    """Hash of the sources as they were when this process first asked, which is when it loaded them."""
    return _text(sim1d.source_hash())


def _text(value: Any) -> str:
    return value.hex() if isinstance(value, bytes) else str(value)


def _number_at(part: Any, path: str) -> tuple[float, str]:
    """SI number and unit of the value at a path of a description, (NaN, "") where it is no number."""
    unit = ""
    for key in path.split("."):
        field = getattr(type(part), "model_fields", {}).get(key)
        unit = next((item.unit for item in getattr(field, "metadata", ()) if hasattr(item, "unit")), "")
        if isinstance(part, Mapping):
            part = part.get(key)
        elif isinstance(part, (list, tuple)):
            part = part[int(key)] if key.isdigit() and int(key) < len(part) else None
        elif not hasattr(part, key):  # tables of a family stand side by side in the file, gathered in the description
            part = {**getattr(part, "pumps", {}), **getattr(part, "exchangers", {})}.get(key)
        else:
            part = getattr(part, key)
    if hasattr(part, "bore"):  # a line size: a dash size stands for a bore
        return float(part.bore), "m"
    if isinstance(part, (int, float)) and not isinstance(part, bool):
        return float(part), unit.replace("**", "") or "1"
    return math.nan, ""
