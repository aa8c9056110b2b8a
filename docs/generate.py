"""Writes docs/reference/ from the code: what a file may hold, what a command takes, what a result carries.

    python docs/generate.py

tests/test_docs.py fails when a page is not what this script would write.
"""

import re
import types
import typing
from collections.abc import Iterator
from enum import Enum
from pathlib import Path
from typing import Any

import typer
from pydantic import BaseModel

from sim1d.car import Car
from sim1d.day import Day
from sim1d.parts import EXCHANGERS, PARTS, PUMP_KINDS
from sim1d.parts.base import Facts, facts
from sim1d.units import LineSize, Measure

FOLDER = Path(__file__).parent / "reference"
MADE = "<!-- written by docs/generate.py: change the code it reads, then run it again -->\n"
HEADINGS = ("key", "meaning", "unit", "range", "default", "source of the default", "band")

FILES_INTRO = """# What the files hold

TOML: one file for the car, one for the day, one for a study. A number is SI, or text with a unit (`"30 in"`,
`"22 psi"`, `"180 degF"`, `"2.5 gal"`, `"dash 16"`). Whether a pressure is gauge or absolute stands in the column of
units. The example files (`sim1d new DIR`) show the tables in use, and the JSON Schemas beside them let an editor
complete and check while typing.

**Range** is what the reader accepts (SI). **Source** says where the default comes from: a publication, "common
practice, no source", "recalled" (from memory) or "assumed". **Band** is the range (SI) in which a value that nobody
measured may lie. A key marked "required" has no default.
"""

COMMANDS_INTRO = """# Commands

The same is printed by `--help`. Results go to stdout, messages to stderr, progress to a terminal only. Exit codes: 0 is
done; 1 a limit is broken, under `--strict`; 2 the input cannot be used; 3 a fault of the program (`SIM1D_TRACEBACK=1`
shows where).
"""


def files_page() -> str:
    """docs/reference/files.md: every table and key of a car, day and study file."""
    from studies.axes import AxisTable
    from studies.criteria import LimitsTable
    from studies.draws import UncertaintyTable
    from studies.points import SampleTable
    from studies.study import StudyTable

    pieces = [MADE, FILES_INTRO, "\n## Car file\n", _table(Car, skip=("pumps", "exchangers"))]
    for key, part in PARTS.items():
        for name, model in PUMP_KINDS.items() if key == "pump" else [(key, part)]:
            title = f'pump]` with `kind = "{name}"' if key == "pump" else _heading(key)
            pieces += _section(title, model, key)
    pieces += ["\n## Day file\n", _table(Day)]
    for name in _tables_of(Day):
        model = _model_in(Day.model_fields[name].annotation)
        title = "[phases]]`" if name == "phases" else f"{name}]`"
        pieces += _section(title, model, name)
    pieces += ["\n## Study file\n", _plain_table(StudyTable)]
    tables = (
        *(("[axes.NAME]", AxisTable), ("[sample]", SampleTable)),
        *(("[uncertainty]", UncertaintyTable), ("[limits]", LimitsTable)),
    )
    for title, table in tables:
        pieces += [f"\n### `{title}`\n\n{_first(table)}\n", _plain_table(table)]
    return "\n".join(pieces).rstrip() + "\n"


def _heading(key: str) -> str:
    if key in ("lines", "junctions", "sensors"):
        return f"{key}.NAME]`"
    if key in EXCHANGERS:
        return f"{key}]`, `[NAME_{key}]`"
    return f"{key}]`"


def _section(title: str, model: type[BaseModel], path: str) -> Iterator[str]:
    """Heading, docstring and table of a model, then of the groups of fields inside it."""
    title = title if title.endswith("`") else title + "`"
    yield f"\n### `[{title}\n\n{_first(model)}\n"
    inner = {name: _model_in(model.model_fields[name].annotation) for name in _tables_of(model)}
    yield _table(model)
    alike: dict[type[BaseModel], list[str]] = {}
    for name, found in inner.items():
        alike.setdefault(found, []).append(f"{path}.{model.model_fields[name].alias or name}")
    for found, paths in alike.items():
        yield f"\n#### {', '.join(f'`[{one}]`' for one in paths)}\n\n{_first(found)}\n"
        yield _table(found)


def _first(model: type) -> str:
    return (model.__doc__ or "").strip().replace("\n    ", " ")


def _model_in(annotation: Any) -> Any:
    """The model inside `Model`, `Model | None` or `tuple[Model, ...]`; None for everything else."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if typing.get_origin(annotation) in (tuple, typing.Union, types.UnionType):
        return next((found for one in typing.get_args(annotation) if (found := _model_in(one))), None)
    return None


def _tables_of(model: type[BaseModel]) -> tuple[str, ...]:
    """Fields of a model that are tables of their own in a file."""
    return tuple(name for name, field in model.model_fields.items() if _model_in(field.annotation))


def _table(model: type[BaseModel], skip: tuple[str, ...] = ()) -> str:
    rows = [_row(model, name) for name in model.model_fields if name not in skip]
    return _rows(HEADINGS, rows)


def _rows(headings: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    lines = [headings, tuple("---" for _ in headings), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines) + "\n"


def _row(model: type[BaseModel], name: str) -> tuple[str, ...]:
    field, known = model.model_fields[name], facts(model, name)
    text = known.text + _choices(field.annotation)
    default = "required" if known.required else _shown(known.default)
    return (f"`{field.alias or name}`", text, _unit(known, field.annotation), _range(known), default, known.source,
            "" if known.band is None else f"{known.band[0]:g} to {known.band[1]:g}")  # fmt: skip


def _choices(annotation: Any) -> str:
    for one in (annotation, *typing.get_args(annotation)):
        if isinstance(one, type) and issubclass(one, Enum):
            return ": " + ", ".join(f"`{item.value}`" for item in one)
    return ""


def _unit(known: Facts, annotation: Any) -> str:
    measure: Measure | None = known.measure
    if _model_in(annotation):
        return "table"
    if measure is None:
        return "m or dash size" if LineSize in (annotation, *typing.get_args(annotation)) else ""
    kind = {"gauge pressure": " gauge", "absolute pressure": " absolute"}.get(measure.name, "")
    return measure.unit.replace("**", "") + kind


def _range(known: Facts) -> str:
    low, high = known.low, known.high
    if low is not None and high is not None:
        return f"{low:g} to {high:g}"
    return "" if low is None and high is None else f"from {low:g}" if high is None else f"to {high:g}"


def _shown(value: Any) -> str:
    if value is None or repr(value) == "PydanticUndefined":
        return "none"
    if isinstance(value, Enum):
        return f"`{value.value}`"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, BaseModel):
        return "as in its table"
    if isinstance(value, tuple):
        return ", ".join(_shown(one) for one in value) or "none"
    return f"{value:g}" if isinstance(value, (int, float)) else str(value) or "none"


def _plain_table(model: type[BaseModel]) -> str:
    """Key, meaning, unit and default of a table of a study file."""
    rows = []
    for name, field in model.model_fields.items():
        known = facts(model, name)
        default = "required" if known.required else "none" if not known.default else _shown(known.default)
        rows.append((f"`{name}`", known.text, _unit(known, field.annotation), default))
    return _rows(("key", "meaning", "unit", "default"), rows)


def commands_page() -> str:
    """docs/reference/commands.md: what --help says, command by command."""
    import sim1d.cli
    import studies.cli

    pieces = [MADE, COMMANDS_INTRO]
    for name, app in (("sim1d", sim1d.cli.app), ("studies", studies.cli.app)):
        group: Any = typer.main.get_command(app)
        pieces.append(f"## {name}\n\n{_one_line(group.help)}\n")
        for word, command in group.commands.items():
            given = [one for one in command.params if one.name != "help"]
            usage = [f"{name} {word}"] + ["[OPTIONS]"] * any(_is_option(one) for one in given)
            usage += [_word(one) if one.required else f"[{_word(one)}]" for one in given if not _is_option(one)]
            pieces.append(f"### {name} {word}\n\n    {' '.join(usage)}\n\n{_one_line(command.help)}\n")
            if given:
                pieces.append(_rows(("argument or option", "meaning", "default"), [_parameter(one) for one in given]))
    return "\n".join(pieces).rstrip() + "\n"


def _one_line(text: str | None) -> str:
    return " ".join((text or "").split())


def _is_option(one: Any) -> bool:
    return one.param_type_name == "option"


def _word(one: Any) -> str:
    """How an argument is called in the usage line."""
    return (one.metavar or one.name.upper()).strip("[]")


def _parameter(one: Any) -> tuple[str, str, str]:
    label = ", ".join(f"`{name}`" for name in one.opts) if _is_option(one) else f"`{_word(one)}`"
    if _is_option(one) and not one.is_flag:
        label += f" {_word(one)}"
    return label, one.help or "", "" if one.default in (None, False) else str(one.default)


def variables_table(ds: Any) -> str:
    """The variables and coordinates of a result dataset as they stand in docs/reference/results.md."""
    rows = []
    for name in (*ds.coords, *ds.data_vars):
        about = ds[name].attrs
        dims = ", ".join(str(dim) for dim in ds[name].dims) or "(one number)"
        rows.append((f"`{name}`", dims, about.get("units", ""), about.get("long_name", "names")))
    return _rows(("variable", "dims", "unit", "meaning"), rows)


def results_page() -> str:
    """docs/reference/results.md with its table of variables renewed; the words round it are written by hand."""
    import sim1d

    car, day = sim1d.load_car(sim1d.example_path("layout_a")), sim1d.load_day(sim1d.example_path("race_day"))
    begin, end = "<!-- variables -->\n", "<!-- end of variables -->"
    before, rest = (FOLDER / "results.md").read_text(encoding="utf-8").split(begin)
    return f"{before}{begin}{variables_table(sim1d.simulate(car, day))}{end}{rest.split(end)[1]}"


def write() -> list[Path]:
    """Write every generated page; returns their paths."""
    written = []
    for name in PAGES:
        path = FOLDER / name
        path.write_text(text_of(name), encoding="utf-8")
        written.append(path)
    return written


def text_of(name: str) -> str:
    """A generated page as it should stand in docs/reference/."""
    return re.sub(r"\n{3,}", "\n\n", PAGES[name]())


PAGES = {"files.md": files_page, "commands.md": commands_page, "results.md": results_page}

if __name__ == "__main__":
    for written_file in write():
        print(written_file)
