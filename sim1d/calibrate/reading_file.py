"""Readings from a file: TOML with [[readings]], or CSV with the same words as columns; all problems at once."""

import csv
import io
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from sim1d.calibrate.readings import (
    KINDS,
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
    data, lines = read_csv(path) if path.suffix.lower() == ".csv" else _read_toml(path)
    try:
        found = Readings.model_validate(data)
    except ValidationError as error:
        problems = problems_of(error, Readings, data, str(path), lines)
        raise DescriptionError([problem for _, problem in problems]) from None
    if car is not None:
        check_readings(found, car, str(path), lines)
    return found


def _read_toml(path: Path) -> tuple[dict[str, Any], Lines]:
    data, text = read_toml(path)
    return data, Lines(text)


def read_csv(path: Path) -> tuple[dict[str, Any], Rows]:
    """Rows of a CSV as the tables of a TOML file; empty cells are left out, plain numbers are SI.

    Lines that begin with # are remarks. Raises DescriptionError for what keeps it from being read.
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
    kept = [(number, line) for number, line in numbered if line.strip() and not line.lstrip().startswith("#")]
    if not kept:
        raise refuse("is empty", "write a line of column names, then one line per reading")
    reader = csv.reader(io.StringIO("\n".join(line for _, line in kept)), skipinitialspace=True)
    columns: list[str] = []
    readings: list[dict[str, Any]] = []
    numbers: list[int] = []
    problems: list[Problem] = []
    known = sorted({name for kind in KINDS for name in kind.model_fields})
    for cells in reader:
        line = kept[reader.line_num - 1][0]
        if not columns:
            columns = [cell.strip() for cell in cells]
            for column in columns:
                if column not in known:
                    problems.append(
                        Problem("", f'"{column}" is no known column', nearest(column, known), str(path), line)
                    )
            for column in {name for name in columns if columns.count(name) > 1}:
                problems.append(Problem("", f'column "{column}" is there twice', "keep one", str(path), line))
            continue
        if len(cells) > len(columns):
            what = f"has {len(cells)} cells under {len(columns)} columns"
            problems.append(Problem("", what, "write text with commas in quotes", str(path), line))
            continue
        readings.append({name: _cell(cell) for name, cell in zip(columns, cells, strict=False) if cell.strip()})
        numbers.append(line)
    if problems:
        raise DescriptionError(problems)
    return {"readings": readings}, Rows(numbers)


def _cell(text: str) -> Any:
    """A cell as TOML would give it: a plain number, true or false, else text."""
    text = text.strip()
    if text in ("true", "false"):
        return text == "true"
    try:
        return float(text)
    except ValueError:
        return text


def check_readings(found: Readings, car: "Car", file: str = "", lines: Lines | None = None) -> None:
    """Raise DescriptionError for every place, line, sensor or pump that a reading names and the car does not have."""
    problems: list[Problem] = []
    for number, reading in enumerate(found.readings):

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
    if problems:
        raise DescriptionError(problems)
