"""A study: a car, a day, the axes to walk, what to keep and the limits to hold; read from a TOML file."""

import difflib
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

import sim1d
from sim1d import DescriptionError, Problem, reading, toml_text
from studies.axes import Axis, AxisTable, build_axis
from studies.criteria import CRITERIA, LimitsTable
from studies.draws import Draws, UncertaintyTable
from studies.model import CarModel, Model
from studies.points import Points, SampleTable, axis_to_json, sample_matrix
from studies.variables import DIMENSIONS, KNOWN

BUILT_IN = "pump_hose_radiator"  # the example study, run when no file is named
MOST_GRID_POINTS = 10_000_000  # a slip of the pen, not a study: 10^7 runs of 20 ms are 28 core-hours
RESERVED = {"sample", "draw", "outcome", "notes", "fingerprint", "run_seconds", *DIMENSIONS.values(), *KNOWN}
Keys = tuple[str | int, ...]
Report = Callable[[Keys, str, str], None]
ModelMaker = Callable[[Path, Path], Model]


class StudyTable(BaseModel):
    """A study file as written; the axes are checked one by one, so that one wrong axis does not hide the next."""

    model_config = ConfigDict(extra="forbid", strict=True)

    title: str = Field(default="", description="one line for the head of the report")
    car: str = Field(description="car file, relative to this file, or the name of a built-in example")
    day: str = Field(description="day file, relative to this file, or the name of a built-in example")
    axes: dict[str, dict[str, Any]] = Field(min_length=1, description="one table per dimension of the study")
    sample: SampleTable | None = Field(default=None, description="absent: full grid")
    uncertainty: UncertaintyTable | None = Field(default=None, description="absent: one run of each point, no bands")
    outputs: list[str] = Field(default_factory=list, description="variables to keep; empty: all")
    limits: LimitsTable = Field(default_factory=LimitsTable, description="win over the limits of the car file")


@dataclass(frozen=True)
class Study:
    """A study ready to run: points, model, outputs and limits (SI)."""

    title: str
    file: str
    points: Points
    model: Model
    sample: Mapping[str, Any] | None
    outputs: tuple[str, ...]
    limits: Mapping[str, float]
    draws: Draws | None = None  # samples of each point; None: the numbers have no band

    @property
    def runs_per_point(self) -> int:
        """Simulations of one point."""
        return 1 + (self.draws.samples if self.draws else 0)

    def identity(self) -> dict[str, Any]:
        """Everything that decides a number of the study; a folder with another identity is not resumed."""
        return {
            **self.model.identity(),
            "axes": {axis.name: [[one.label, dict(one.settings)] for one in axis.choices] for axis in self.points.axes},
            "sample": dict(self.sample) if self.sample else None,
            "outputs": list(self.outputs),
            **({"uncertainty": asdict(self.draws)} if self.draws else {}),
        }

    def description(self) -> dict[str, Any]:
        """What `study.json` keeps: enough to open the results without the study file."""
        return {
            "title": self.title,
            "file": self.file,
            "axes": [axis_to_json(axis) for axis in self.points.axes],
            "limits": dict(self.limits),
            "cautions": list(self.model.cautions()),
            "identity": self.identity(),
        }


def load_study(file: Path | str | None = None, make_model: ModelMaker = CarModel.load) -> Study:
    """Read a study file; with none, the built-in example.

    `make_model(car_file, day_file)` builds what evaluates the points. Raises DescriptionError with every problem of the
    study, the car and the day at once.
    """
    path = Path(file) if file is not None else sim1d.example_path(BUILT_IN)
    problems: list[Problem] = []
    data, text = toml_text.read_toml(path)
    lines = toml_text.Lines(text)

    def report(where: Keys, what: str, fix: str) -> None:
        problems.append(Problem(reading.dotted(where), what, fix, str(path), lines.find(where)))

    table = _checked(StudyTable, data, (), report)
    model = _model(path, data, make_model, report, problems)
    sampled = data.get("sample") is not None
    axes: list[Axis] = []
    raw = data.get("axes")
    for name, entry in raw.items() if isinstance(raw, dict) else ():
        axis = _axis(name, entry, sampled, model, report)
        if axis is not None:
            axes.append(axis)
    _check_axes_together(axes, sampled, report)
    _check_outputs(data, report)
    if problems or table is None or model is None:
        raise DescriptionError(problems)
    matrix = None
    if table.sample is not None:
        matrix = sample_matrix(table.sample.method, table.sample.count, len(axes), table.sample.seed)
    return Study(
        title=table.title or path.stem.replace("_", " "),
        file=str(path),
        points=Points(tuple(axes), matrix),
        model=model,
        sample=table.sample.model_dump() if table.sample else None,
        outputs=tuple(table.outputs),
        limits={key: one for key, one in {**model.limits(), **table.limits.given()}.items() if key in CRITERIA},
        draws=Draws(table.uncertainty.samples, table.uncertainty.seed) if table.uncertainty else None,
    )


def study_schema() -> dict[str, Any]:
    """JSON Schema of a study file, axes included; shipped beside the examples, for an editor to complete and check."""
    schema = StudyTable.model_json_schema()
    axis = AxisTable.model_json_schema(ref_template="#/$defs/{model}")
    schema.setdefault("$defs", {}).update(axis.pop("$defs", {}))
    schema["$defs"]["AxisTable"] = axis
    schema["properties"]["axes"]["additionalProperties"] = {"$ref": "#/$defs/AxisTable"}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "A study"}


def _model(
    path: Path, data: Mapping[str, Any], make: ModelMaker, report: Report, problems: list[Problem]
) -> Model | None:
    files = []
    for key in ("car", "day"):
        name = data.get(key)
        if not isinstance(name, str):
            continue  # the check of the table says so
        beside = path.parent / name
        try:
            files.append(beside if beside.is_file() else sim1d.example_path(name))
        except KeyError as error:
            report((key,), f'there is no file "{name}" beside the study', f"correct the name: {error.args[0]}")
    if len(files) < 2:
        return None
    try:
        return make(files[0], files[1])
    except DescriptionError as error:
        problems.extend(error.problems)
        return None


def _axis(name: str, entry: Any, sampled: bool, model: Model | None, report: Report) -> Axis | None:
    where = ("axes", name)
    if not re.fullmatch(r"[a-z][a-z0-9_]*", name) or name in RESERVED:
        reason = "is the name of a result" if name in RESERVED else "is no plain name"
        report(where, f'"{name}" {reason}', "use small letters, digits and _, and no name of a result")
        return None
    table = _checked(AxisTable, entry, where, report) if isinstance(entry, dict) else None
    if table is None:
        return None
    axis, wrong = build_axis(name, table, sampled)
    for key, what, fix in wrong:
        report((*where, *key.split(".")) if key else where, what, fix)
    if axis is None or model is None:
        return None
    return _read_by_model(axis, model, where, report)


def _read_by_model(axis: Axis, model: Model, where: Keys, report: Report) -> Axis | None:
    """Try every choice on the car and take its SI number; a choice that the car refuses is a problem of the study."""
    choices, units, sound = [], "", True
    for choice in axis.choices:
        try:
            number, units = model.reading(choice.settings)
        except DescriptionError as error:
            sound = False
            for problem in error.problems:
                report(where, f"{choice.label}: {problem.where}: {problem.what}", problem.fix)
            continue
        choices.append(replace(choice, number=number))
    sound = sound and _choices_differ(axis, model, where, report)
    if not sound:
        return None
    span = axis.span
    if span is not None:
        span = replace(span, si_low=choices[0].number, si_high=choices[-1].number)
    return replace(axis, choices=tuple(choices), span=span, units=units)


def _choices_differ(axis: Axis, model: Model, where: Keys, report: Report) -> bool:
    """Report choices that make no difference to what is simulated: a value that something else overrides."""
    seen: dict[str, str] = {}
    for choice in axis.choices:
        try:
            key = model.fingerprint(choice.settings)
        except DescriptionError as error:
            for problem in error.problems:
                report(where, f"{choice.label}: {problem.where}: {problem.what}", problem.fix)
            return False
        if key in seen:
            what = f"{choice.label} gives the same car as {seen[key]}"
            report(where, what, "move a value that counts: another value in the file may win over this one")
            return False
        seen[key] = choice.label
    return True


def _check_axes_together(axes: list[Axis], sampled: bool, report: Report) -> None:
    for at, axis in enumerate(axes):
        for other in axes[:at]:
            for path in axis.paths:
                for before in other.paths:
                    if path == before:
                        what = f"moves {path} as {other.name} does"
                        report(("axes", axis.name), what, "move a value on one axis only")
                    elif before.startswith(path + "."):
                        fix = f"put [axes.{axis.name}] before [axes.{other.name}]"
                        report(("axes", axis.name), f"would undo {other.name}: {before} lies inside {path}", fix)
    count = math.prod(len(axis) for axis in axes)
    if not sampled and count > MOST_GRID_POINTS:
        report(("axes",), f"make a grid of {count:.3g} points", "use fewer values, or a [sample]")


def _check_outputs(data: Mapping[str, Any], report: Report) -> None:
    outputs, sample = data.get("outputs"), data.get("sample")
    if isinstance(outputs, list):
        for name in outputs:
            if isinstance(name, str) and name not in KNOWN:
                near = difflib.get_close_matches(name, KNOWN, n=1)
                fix = f"did you mean {near[0]}?" if near else f"use any of {', '.join(KNOWN)}"
                report(("outputs",), f'"{name}" is no result', fix)
        for key in data.get("limits") or {}:
            if outputs and key in CRITERIA and CRITERIA[key].variable not in outputs:
                fix = f'add "{CRITERIA[key].variable}" to outputs'
                report(("limits", key), "cannot be judged: its number is not kept", fix)
    if isinstance(sample, dict) and sample.get("method") == "sobol":
        count = sample.get("count")
        if isinstance(count, int) and count > 1 and count & (count - 1):
            lower = 1 << (count.bit_length() - 1)
            report(("sample", "count"), f"{count} Sobol points are not balanced", f"use {lower} or {2 * lower}")


def _checked(model: type[BaseModel], data: Any, where: Keys, report: Report) -> Any:
    try:
        return model.model_validate(data)
    except ValidationError as error:
        told = set()
        for keys, problem in reading.problems_of(error, model, data):
            if keys not in told:  # a value of two possible types is refused once for each
                told.add(keys)
                report((*where, *keys), problem.what, problem.fix)
        return None
