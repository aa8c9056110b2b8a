"""Readings from a file: TOML with [[readings]], or CSV with the same words as columns; all problems at once."""

import csv
import io
from collections.abc import Mapping
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter, ValidationError

from sim1d.calibrate.readings import (
    KINDS,
    AnyReading,
    BoilingCheck,
    Bucket,
    CoolDown,
    CoreDrop,
    Gauge,
    LevelDrop,
    PumpStart,
    Readings,
    Running,
    Thermal,
)
from sim1d.errors import DescriptionError, Problem
from sim1d.parts.pump import BeltPump
from sim1d.parts.sensor import SensorKind
from sim1d.reading import Keys, dotted, nearest, problems_of
from sim1d.toml_text import Lines, read_toml

if TYPE_CHECKING:
    from sim1d.car import Car


class Rows(Lines):
    """Where each row of a CSV stands: readings.3 is on its line."""

    def __init__(self, numbers: list[int]):
        super().__init__("")
        self.line_of = {("readings", str(i)): number for i, number in enumerate(numbers)}


def load_readings(path: str | Path, car: "Car | None" = None) -> Readings:
    """Read a file of readings; with a car, what they name must be there. Raises DescriptionError with all problems."""
    path = Path(path)
    lines: Lines
    if path.suffix.lower() == ".csv":
        data, lines, problems = read_csv(path)
    else:
        data, text = read_toml(path)
        lines, problems = Lines(text), []
    found = None
    try:
        found = Readings.model_validate(data)
        rows = dict(enumerate(found.readings))
    except ValidationError as error:
        problems += [problem for _, problem in problems_of(error, Readings, data, str(path), lines)]
        rows = _sound(data)
    if car is not None:
        problems += place_problems(rows, car, str(path), lines)
    if problems or found is None:
        raise DescriptionError(problems)
    return found


def _sound(data: dict[str, Any]) -> dict[int, Any]:
    """The readings, by number, that can be read beside others that cannot: what they name is judged all the same."""
    adapter: TypeAdapter[Any] = TypeAdapter(AnyReading)
    found = {}
    tables = data.get("readings")
    for number, table in enumerate(tables if isinstance(tables, list) else []):
        try:
            found[number] = adapter.validate_python(table)
        except ValidationError:
            continue
    return found


def read_csv(path: Path) -> tuple[dict[str, Any], Rows, list[Problem]]:
    """Rows of a CSV as the tables of a TOML file, their lines, and what is wrong with its shape.

    Empty cells and columns are left out, plain numbers are SI, lines that begin with # are remarks. Cells stand apart
    by commas, semicolons or tabs, whichever the line of names has most of. Raises DescriptionError for what keeps it
    from being read.
    """

    def refuse(what: str, fix: str, line: int = 0) -> DescriptionError:
        return DescriptionError([Problem("", what, fix, str(path), line)])

    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise refuse("there is no such file", "check the name, or write an example with: sim1d new DIR") from None
    except UnicodeDecodeError:
        raise refuse("is not UTF-8 text", "save it as plain UTF-8 text") from None
    except OSError as error:
        raise refuse(f"cannot be read: {error.strerror or error}", "check the name and its permissions") from None
    numbered = enumerate(text.splitlines(), 1)
    kept = [
        (number, line) for number, line in numbered if line.strip(" ,;\t") and not line.lstrip().startswith(("#", '"#'))
    ]  # fmt: skip
    if not kept:
        raise refuse("is empty", "write a line of column names, then one line per reading")
    apart = max(",;\t", key=kept[0][1].count)
    reader = csv.reader(io.StringIO("\n".join(line for _, line in kept)), skipinitialspace=True, delimiter=apart)
    columns: list[str] = []
    readings: list[dict[str, Any]] = []
    numbers: list[int] = []
    problems: list[Problem] = []
    known = sorted({name for kind in KINDS for name in kind.model_fields})
    for cells in reader:
        line = kept[reader.line_num - 1][0]
        if not columns:
            columns = [cell.strip() for cell in cells]
            named = [column for column in columns if column]
            for column in named:
                if column not in known:
                    problems.append(
                        Problem("", f'"{column}" is no known column', nearest(column, known), str(path), line)
                    )
            for column in {name for name in named if named.count(name) > 1}:
                problems.append(Problem("", f'column "{column}" is there twice', "keep one", str(path), line))
            continue
        filled = [(name, cell) for name, cell in zip_longest(columns, cells) if cell is not None and cell.strip()]
        if any(not name for name, _ in filled):
            what = f"has {len(cells)} cells under {len(columns)} columns"
            if len(cells) <= len(columns):
                what = "has a cell under a column without a name"
            problems.append(Problem("", what, "write text with commas in quotes", str(path), line))
        readings.append({name: _cell(cell) for name, cell in filled if name in known})
        numbers.append(line)
    return {"readings": readings}, Rows(numbers), problems


def _cell(text: str) -> Any:
    """A cell as TOML would give it: a plain number, true or false, else text."""
    text = text.strip()
    if text in ("true", "false"):
        return text == "true"
    try:
        return float(text)
    except ValueError:
        return text


def place_problems(
    readings: Mapping[int, Any], car: "Car", file: str = "", lines: Lines | None = None
) -> list[Problem]:  # fmt: skip
    """A problem for every place, line, sensor or pump that a reading (by its number) names and the car has not."""
    problems: list[Problem] = []
    for number, reading in readings.items():

        def bad(key: str, what: str, fix: str, number: int = number) -> None:
            keys: Keys = ("readings", number, key)
            problems.append(Problem(dotted(keys), what, fix, file, lines.find(keys) if lines else 0))

        if isinstance(reading, Running):
            belts = [pump for pump in car.pumps.values() if isinstance(pump, BeltPump)]
            if not car.pumps:
                bad("kind", "the car has no pump", "leave this reading out")
            elif belts and reading.speed is None and reading.pump_speed is None:
                bad("speed", "is missing: the pump is driven by a belt", 'write speed = "900 rpm" or pump_speed')
            elif reading.pump_speed is not None and (not belts or belts[0].speed_ratio <= 0.0):
                bad("pump_speed", "the car has no belt pump that turns", "leave it out")
        if isinstance(reading, (PumpStart, LevelDrop)):
            places = [place for place in car.cavities if place != "expansion_tank"]
            if car.expansion_tank is None:
                bad("kind", "the car has no tank whose level could fall", "leave this reading out")
            if reading.where is not None and reading.where not in places:
                bad("where", f'the car has no cavity "{reading.where}"', nearest(reading.where, places))
        if isinstance(reading, Gauge):
            plumbed = {*car.lines_at, *car.junctions} - car.plugged
            open_ports = [port for port in car.ports if port in plumbed]
            for key, port in (("where", reading.where), ("against", reading.against)):
                if port is not None and port not in open_ports:
                    bad(key, f'the car has no open port "{port}"', nearest(port, open_ports))
        if isinstance(reading, Bucket) and reading.where not in car.lines:
            bad("where", f'the car has no line "{reading.where}"', nearest(reading.where, list(car.lines)))
        if isinstance(reading, (CoreDrop, CoolDown)) and car.radiator is None:
            bad("kind", "the car has no radiator", "leave this reading out")
        if isinstance(reading, (BoilingCheck, Thermal)) and reading.where is not None:
            thermometers = [name for name, one in car.sensors.items() if one.kind is SensorKind.TEMPERATURE]
            if reading.where not in thermometers:
                what = f'the car has no temperature sensor "{reading.where}"'
                bad("where", what, nearest(reading.where, thermometers))
    return problems
