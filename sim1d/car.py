"""The whole description of a car: its parts, what joins them, and how it is read, changed and written."""

from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field, ValidationError, model_validator

from sim1d import paths, wiring
from sim1d.errors import DescriptionError, Problem
from sim1d.parts import EXCHANGERS, PARTS
from sim1d.parts.base import Description, Part, Port, option
from sim1d.parts.cap import Cap, CapPlace
from sim1d.parts.coolant import Coolant
from sim1d.parts.engine import Engine
from sim1d.parts.exchanger import Heater, IceTank, OilCooler, Turbo
from sim1d.parts.filling import Filling
from sim1d.parts.head_gasket import HeadGasket
from sim1d.parts.junction import Junction
from sim1d.parts.limits import Limits
from sim1d.parts.line import Line
from sim1d.parts.pump import BeltPump, ElectricPump
from sim1d.parts.radiator import Radiator
from sim1d.parts.sensor import Sensor
from sim1d.parts.tank import ExpansionTank, RecoveryTank
from sim1d.parts.thermostat import Thermostat, ThermostatPlate
from sim1d.reading import mend, problems_of
from sim1d.toml_text import Lines, read_toml, write_toml
from sim1d.units import Volume

AnyPump = Annotated[BeltPump | ElectricPump, Field(discriminator="kind")]
AnyExchanger = Annotated[Heater | OilCooler | Turbo | IceTank, Field(discriminator="kind")]


class Car(Description):
    """A frozen description of the cooling system of one car. Read it with `load_car`; change it with `with_value`."""

    name: str = option("name of the layout", default="", source="no name")
    note: str = option("remarks, and where its numbers come from", default="", source="no remarks")
    engine: Engine = option("the engine")
    pumps: dict[str, AnyPump] = option("pumps: every table named pump or something_pump")
    radiator: Radiator | None = option("the radiator", default=None, source="left out: none")
    expansion_tank: ExpansionTank | None = option("the tank under pressure", default=None, source="left out: none")
    recovery_tank: RecoveryTank | None = option("the vessel behind the cap", default=None, source="left out: none")
    cap: Cap = option("the pressure cap")
    coolant: Coolant = option("the coolant")
    thermostat: Thermostat | None = option("the thermostat and its housing", default=None, source="left out: none")
    thermostat_plate: ThermostatPlate | None = option(
        "a plate with a hole in its place", default=None, source="left out: none"
    )
    exchangers: dict[str, AnyExchanger] = Field(
        default_factory=dict, description="tables named heater, oil_cooler, turbo, ice_tank or something_heater ..."
    )
    lines: dict[str, Line] = option("hoses, tubes and passages by name")
    junctions: dict[str, Junction] = Field(default_factory=dict, description="tees and y-blocks by name")
    sensors: dict[str, Sensor] = Field(default_factory=dict, description="sensors by name")
    trapped_air: dict[str, Volume] = Field(
        default_factory=dict,
        description="air left in a cavity after the fill, at ambient pressure and start temperature; empty: none",
        json_schema_extra={"minimum": 0.0, "maximum": 0.02, "source": "left out: what the fill leaves"},
    )
    bands: dict[str, tuple[float, float]] = Field(
        default_factory=dict,
        description="band of a value that was measured, by its path: lower and upper end in SI, 95 %; sim1d calibrate "
        "writes it, and samples are drawn from it in place of the declared band",
        json_schema_extra={"source": "left out: none was measured"},
    )
    fill: Filling = option("how it is filled and bled", default=Filling(), source="see its fields")
    head_gasket: HeadGasket = option("leak law of the head gasket", default=HeadGasket(), source="sound")
    limits: Limits = option("limits that the layout is judged by", default=Limits(), source="see its fields")

    @model_validator(mode="before")
    @classmethod
    def _gather(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            return data
        gathered = {key: value for key, value in data.items() if key not in ("pumps", "exchangers")}
        pumps, exchangers = dict(data.get("pumps", {})), dict(data.get("exchangers", {}))
        for key in list(gathered):
            family = family_of(key)
            if family == "pump":
                pumps[key] = gathered.pop(key)
            elif family:
                table = gathered.pop(key)
                exchangers[key] = {"kind": family, **table} if isinstance(table, dict) else table
        return gathered | {"pumps": pumps, "exchangers": exchangers}

    @classmethod
    def file_keys(cls) -> list[str]:
        """Names of the tables and values that may stand at the top of a car file."""
        own = [name for name in cls.model_fields if name not in ("pumps", "exchangers")]
        return [*own, *(key for key in PARTS if key not in own)]

    # What joins the parts -----------------------------------------------------------------------------------------

    @cached_property
    def parts(self) -> dict[str, Part]:
        """Every part that has ports, by the name that lines use for it; junctions by their own name."""
        named: dict[str, Part | None] = {
            "engine": self.engine,
            **self.pumps,
            "radiator": self.radiator,
            "expansion_tank": self.expansion_tank,
            "thermostat": self.thermostat,
            "thermostat_plate": self.thermostat_plate,
            **self.exchangers,
            **self.junctions,
        }
        return {name: part for name, part in named.items() if part is not None}

    @cached_property
    def ports(self) -> dict[str, Port]:
        """Full name ("engine.left.front", "pump.suction", a junction's name) -> port; plugged ones included."""
        return {
            f"{name}.{local}" if local else name: port
            for name, part in self.parts.items()
            for local, port in part.ports().items()
        }

    @cached_property
    def plugged(self) -> frozenset[str]:
        """Full names of the plugged ports."""
        return frozenset(f"engine.{name}" for name in self.engine.plugged)

    @cached_property
    def lines_at(self) -> dict[str, tuple[str, ...]]:
        """Port -> names of the lines that end there (two or more are a tee)."""
        found: dict[str, tuple[str, ...]] = {}
        for name, line in self.lines.items():
            for port in (line.start, line.end):
                found[port] = (*found.get(port, ()), name)
        return found

    def distance(self, line: str) -> float:
        """Straight distance between the ends of a line in the plane of x and z, m."""
        start, end = self.ports[self.lines[line].start], self.ports[self.lines[line].end]
        return ((start.x - end.x) ** 2 + (start.z - end.z) ** 2) ** 0.5

    def line_length(self, line: str) -> float:
        """Developed length of a line, m: given, or the distance between its ends plus its slack."""
        part = self.lines[line]
        return part.length if part.length is not None else self.distance(line) + part.slack

    def line_heights(self, line: str) -> tuple[float, float]:
        """Lowest and highest z of a line, m; its ends count."""
        part = self.lines[line]
        ends = (self.ports[part.start].z, self.ports[part.end].z)
        low = min(ends) if part.low_z is None else min(part.low_z, *ends)
        high = max(ends) if part.high_z is None else max(part.high_z, *ends)
        return low, high

    def line_volume(self, line: str) -> float:
        """Coolant in a line, m3."""
        return self.lines[line].area * self.line_length(line)

    @cached_property
    def volume(self) -> float:
        """Coolant in the circuit when filled cold, m3: all that the parts and the lines hold, of the tank its liquid.

        The lumps of a packed car and the cavities of a static fill hold as much.
        """
        lines = sum(self.line_volume(name) for name in self.lines)
        tank = self.expansion_tank.liquid if self.expansion_tank is not None else 0.0
        radiator = self.radiator.volume if self.radiator is not None else 0.0
        pumps = sum(pump.volume for pump in self.pumps.values())
        housings = sum(part.volume for part in (self.thermostat, self.thermostat_plate) if part is not None)
        exchangers = sum(part.volume for part in self.exchangers.values())
        junctions = sum(junction.volume for junction in self.junctions.values())
        return self.engine.volume + radiator + pumps + housings + exchangers + junctions + lines + tank

    def room(self, place: str) -> float:
        """What a place of `cavities` holds, m3; a tank of the radiator without tubes. KeyError for another place."""
        part, _, local = place.partition(".")
        if part == "engine":
            count = self.engine.cylinders_per_bank
            if local == "crossover":
                return self.engine.crossover_volume
            whole = self.engine.head.volume if local.endswith(".head") else self.engine.block_volume / 2
            return whole / count
        if part == "lines":
            return self.line_volume(local)
        if part == "radiator" and self.radiator is not None:
            return self.radiator.tank_volume
        if part == "expansion_tank" and self.expansion_tank is not None:
            return self.expansion_tank.volume
        if part in self.exchangers:
            return self.exchangers[part].volume
        if part in self.junctions:
            return self.junctions[part].volume
        return self._halves[place]

    @cached_property
    def _halves(self) -> dict[str, float]:
        """Ports of pumps and housings with the coolant (m3) behind them."""
        housings = {"thermostat": self.thermostat, "thermostat_plate": self.thermostat_plate}
        parts = self.pumps | {name: part for name, part in housings.items() if part is not None}
        return {f"{name}.{end}": volume for name, part in parts.items() for end, volume in part.lumps().items()}

    @property
    def cap_z(self) -> float:
        """Height of the seat of the cap, m."""
        if self.cap.z is not None:
            return self.cap.z
        if self.cap.at is CapPlace.EXPANSION_TANK and self.expansion_tank is not None:
            return self.expansion_tank.top_z
        return self.radiator.top_z if self.radiator is not None else self.engine.head_top_z

    @cached_property
    def cavities(self) -> tuple[str, ...]:
        """Places inside parts where a sensor can sit or air can stay: engine.left-1.head, radiator.inlet_tank ...

        Pumps and housings are known by their ports.
        """
        cells = [f"engine.{name}.{place}" for name in self.engine.cylinders for place in ("block", "head")]
        tanks = ["radiator.inlet_tank", "radiator.outlet_tank"] if self.radiator is not None else []
        tank = ["expansion_tank"] if self.expansion_tank is not None else []
        crossover = ["engine.crossover"] if self.engine.crossover_volume > 0.0 else []
        lines = [f"lines.{name}" for name in self.lines]
        return (*cells, *crossover, *tanks, *tank, *self._halves, *self.exchangers, *self.junctions, *lines)

    @cached_property
    def points(self) -> tuple[str, ...]:
        """Every place a sensor can sit: the open ports, then the cavities."""
        ports = [name for name in self.ports if name not in self.plugged]
        return tuple(dict.fromkeys((*ports, *self.cavities)))

    # Reading, changing, writing -----------------------------------------------------------------------------------

    def to_file(self, *, defaults: bool = False) -> dict[str, Any]:
        """Plain data as it stands in a car file, SI; with `defaults`, every value that the file left out as well."""
        data = self.model_dump(mode="json", by_alias=True, exclude_unset=not defaults, exclude_none=True)
        pumps, exchangers = data.pop("pumps", {}), data.pop("exchangers", {})
        for table in exchangers.values():
            table.pop("kind", None)
        return data | pumps | exchangers

    def with_value(self, path: str, value: Any) -> "Car":
        """A new car with one value changed; see `with_values`."""
        return self.with_values({path: value})

    def with_values(self, values: Mapping[str, Any]) -> "Car":
        """A new car with values changed by path ({"pump.ratio": 0.9}); raises DescriptionError.

        A line whose end moves keeps its slack: its length changes by the change of distance, unless the file fixes it
        or the change itself says how long it is.
        """
        if not values:
            return self
        data = paths.set_values(self.to_file(), values, known=self.file_keys())
        for path in values:  # a new size is another hose: the measured bore of the old one goes
            table, name, *key = [*path.split("."), "", ""][:3]
            if table == "lines" and key == ["size"] and f"lines.{name}.bore" not in values:
                data["lines"][name].pop("bore", None)
        try:
            moved = self._moved_lengths(Car.model_validate(data), values)
        except (ValidationError, KeyError):  # a wrong value, or a line to a port that is not there: build_car says so
            moved = {}
        return build_car(paths.set_values(data, moved, known=self.file_keys()) if moved else data)

    def _moved_lengths(self, car: "Car", values: Mapping[str, Any]) -> dict[str, float]:
        """New lengths, by path, of the lines whose ends stand elsewhere in `car`: they keep their slack."""
        moved = {}
        for name, line in self.lines.items():
            other = car.lines.get(name)
            if line.length is None or line.fixed_length or other is None or f"lines.{name}.length" in values:
                continue
            change = car.distance(name) - self.distance(name)
            if abs(change) > 1e-12:
                moved[f"lines.{name}.length"] = line.length + change
        return moved


def family_of(key: str) -> str:
    """The repeatable kind that a table name belongs to: "booster_pump" -> "pump"; "" for all others."""
    for family in ("pump", *EXCHANGERS):
        if key == family or key.endswith("_" + family):
            return family
    return ""


def build_car(data: dict[str, Any], file: str = "", lines: Lines | None = None) -> Car:
    """A car from plain data; raises DescriptionError with all problems of its values and of its plumbing."""

    def place(problem: Problem) -> Problem:
        keys = tuple(paths.split_path(problem.where))
        return Problem(problem.where, problem.what, problem.fix, file, lines.find(keys) if lines else 0)

    try:
        car = Car.model_validate(data)
    except ValidationError as error:
        found = problems_of(error, Car, data, file, lines)
        rest = mend(data, found, Car)
        plumbing = wiring.plumbing_problems(rest) if rest is not None else []
        wrong = {problem.where for _, problem in found}
        extra = [place(item) for item in plumbing if item.where not in wrong]
        raise DescriptionError([*(problem for _, problem in found), *extra]) from None
    found_problems = [*wiring.plumbing_problems(car), *wiring.geometry_problems(car)]
    if found_problems:
        raise DescriptionError([place(problem) for problem in found_problems])
    return car


def load_car(path: str | Path, overrides: Mapping[str, Any] | None = None) -> Car:
    """Read a car file; `overrides` are values by path that replace those of the file: SI numbers or text with a unit.

    Raises DescriptionError with every problem found: file, line, path, what is wrong and what would be right.
    """
    data, text = read_toml(path)
    car = build_car(data, str(path), Lines(text))
    return car.with_values(overrides or {})


def save_car(car: Car, path: str | Path, template: str | Path | None = None) -> None:
    """Write a car file in SI. With an existing car file as `template`, its comments and untouched values stay."""
    heading = f"{car.name or 'A car'}: every number is SI (m, m3, K, Pa, W, rad/s) unless it carries a unit."
    if template is None:
        write_toml(path, car.to_file(), heading)
        return
    data, text = read_toml(template)
    write_toml(path, _keep_spelling(car.to_file(), build_car(data).to_file(), data), template=text)


def _keep_spelling(new: Any, old: Any, written: Any) -> Any:
    """`new`, but with the text of the file wherever the value did not change ("30 in" stays "30 in")."""
    if isinstance(new, dict) and isinstance(old, dict) and isinstance(written, dict):
        return {key: _keep_spelling(new[key], old.get(key), written.get(key, new[key])) for key in new}
    return written if new == old and written is not None else new
