"""A day at the track: the phases of every round, the weather, and the temperatures the car starts with."""

from collections.abc import Mapping
from enum import Enum
from pathlib import Path
from typing import Any

from pydantic import ValidationError, model_validator

from sim1d import paths
from sim1d.course import AccelerationCourse, LoadCourse, SpeedCourse, VelocityCourse
from sim1d.errors import DescriptionError, Problem
from sim1d.parts.base import Description, option, quantity
from sim1d.reading import problems_of
from sim1d.toml_text import Lines, read_toml, write_toml
from sim1d.units import AbsolutePressure, BadValue, Duration, Number, Temperature, Voltage


class Role(Enum):
    """What a phase is, so that results can speak of "the pass" and "the pit"."""

    WARM_UP = "warm_up"
    WAIT = "wait"
    BURNOUT = "burnout"
    STAGE = "stage"
    PASS = "pass"
    COAST = "coast"
    RETURN_ROAD = "return_road"
    SOAK = "soak"
    PIT = "pit"


class Until(Description):
    """A phase may end early: when a coolant point rises above or falls below a temperature."""

    point: str = option('port or cavity of the car, such as "engine.left.rear"')
    above: Temperature | None = quantity(
        "ends when the point is hotter", default=None, low=250.0, high=450.0, source="left out: below is given"
    )
    below: Temperature | None = quantity(
        "ends when the point is colder", default=None, low=250.0, high=450.0, source="left out: above is given"
    )

    @model_validator(mode="after")
    def _one_way(self):
        if (self.above is None) == (self.below is None):
            raise BadValue(
                "until needs either above or below", 'write until = {point = "radiator.inlet", above = "60 degC"}'
            )
        return self


class Phase(Description):
    """One stretch of the day. The engine runs if and only if its speed is above zero."""

    name: str = option("name of the phase")
    round: int = quantity("round that it belongs to", low=1, high=20)
    role: Role = option("what it is")
    duration: Duration = quantity("how long it lasts; with until, at most", low=0.01, high=86400.0)
    speed: SpeedCourse = option("engine speed: a value, {from, to} or {low, high, shifts}")
    load: LoadCourse = option(
        "share of the rated manifold pressure above idle: a value or {from, to}",
        default=LoadCourse.model_validate(0.0),
        source="idle",
    )
    car_speed: VelocityCourse = option(
        "car speed: a value or {from, to}", default=VelocityCourse.model_validate(0.0), source="standing"
    )
    acceleration: AccelerationCourse = option(
        "acceleration, positive when speeding up: a value or {from, to}",
        default=AccelerationCourse.model_validate(0.0),
        source="none",
    )
    supply_voltage: Voltage = quantity(
        "voltage of the supply", default=13.5, low=0.0, high=60.0, source="common practice, no source"
    )
    electric_pump: bool = option("electric pumps are switched on", default=False, source="off")
    fan: Number = quantity("share of full fan speed", default=0.0, low=0.0, high=1.0, source="off")
    until: Until | None = option("condition that ends it early", default=None, source="left out: it lasts its duration")

    @property
    def engine_runs(self) -> bool:
        """The engine turns at some time in the phase."""
        return self.speed.largest > 0.0


class Window(Description):
    """Coolant temperatures at which a car may stage."""

    least: Temperature = quantity("coldest coolant point", low=250.0, high=420.0)
    most: Temperature = quantity("hottest coolant point", low=250.0, high=420.0)

    @model_validator(mode="after")
    def _ordered(self):
        if self.least >= self.most:
            raise BadValue("least is not below most", "let least be the colder end of the window")
        return self


class Day(Description):
    """Ambient, start and phases. Read it with `load_day`."""

    name: str = option("name of the day", default="", source="no name")
    note: str = option("remarks, and where its numbers come from", default="", source="no remarks")
    ambient_temperature: Temperature = quantity("air temperature", low=243.15, high=333.15)
    ambient_pressure: AbsolutePressure = quantity(
        "air pressure at the track, not reduced to sea level",
        default=101325.0,
        low=5e4,
        high=1.1e5,
        source="standard atmosphere at sea level",
    )
    start_temperature: Temperature | None = quantity(
        "coolant at the start", default=None, low=243.15, high=400.0, source="left out: of the air"
    )
    metal_temperature: Temperature | None = quantity(
        "metal at the start", default=None, low=243.15, high=500.0, source="left out: of the coolant"
    )
    sealed_temperature: Temperature | None = quantity(
        "coolant when the cap was put on", default=None, low=243.15, high=400.0, source="left out: of the air"
    )
    staging_window: Window = option("coolant temperatures at which the car may stage")
    run_on: bool = option(
        "fault when false: no electric pump and no fan runs in soak, wait and pit after a pass",
        default=True,
        source="as the phases say",
    )
    phases: tuple[Phase, ...] = option("the phases in order")

    @model_validator(mode="after")
    def _rounds_in_order(self):
        if not self.phases:
            raise BadValue("the day has no phases", "add at least one table [[phases]]")
        rounds = [phase.round for phase in self.phases]
        if rounds != sorted(rounds) or rounds[0] != 1 or set(rounds) != set(range(1, rounds[-1] + 1)):
            raise BadValue(
                f"the rounds of the phases run {rounds}", "number the rounds 1, 2 ... in the order they are run"
            )
        return self

    @property
    def start(self) -> float:
        """Coolant temperature at the start, K."""
        return self.ambient_temperature if self.start_temperature is None else self.start_temperature

    @property
    def start_metal(self) -> float:
        """Metal temperature at the start, K."""
        return self.start if self.metal_temperature is None else self.metal_temperature

    @property
    def sealed_at(self) -> float:
        """Coolant temperature when the circuit was sealed at ambient pressure, K."""
        return self.ambient_temperature if self.sealed_temperature is None else self.sealed_temperature

    @property
    def without_run_on(self) -> frozenset[int]:
        """Numbers of the phases in which the missing run-on keeps electric pumps and fan off."""
        if self.run_on:
            return frozenset()
        return frozenset(number for number, phase in enumerate(self.phases) if self.stands_after_pass(number))

    def stands_after_pass(self, number: int) -> bool:
        """Phase `number` is a soak, wait or pit that a pass went before, in whatever round."""
        after = any(phase.role is Role.PASS for phase in self.phases[:number])
        return after and self.phases[number].role in (Role.SOAK, Role.WAIT, Role.PIT)

    @property
    def duration(self) -> float:
        """Longest duration of the day, s."""
        return sum(phase.duration for phase in self.phases)

    @property
    def rounds(self) -> int:
        """Number of rounds."""
        return self.phases[-1].round

    def to_file(self, *, defaults: bool = False) -> dict[str, Any]:
        """Plain data as it stands in a day file, SI; with `defaults`, every value that the file left out as well."""
        return self.model_dump(mode="json", by_alias=True, exclude_unset=not defaults, exclude_none=True)

    def with_value(self, path: str, value: Any) -> "Day":
        """A new day with one value changed; see `with_values`."""
        return self.with_values({path: value})

    def with_values(self, values: Mapping[str, Any]) -> "Day":
        """A new day with values changed by path ({"phases.pass.load": 0.9}: every phase of that name).

        Raises DescriptionError.
        """
        known = list(Day.model_fields)
        return build_day(paths.set_values(self.to_file(), values, known=known)) if values else self


def build_day(data: dict[str, Any], file: str = "", lines: Lines | None = None) -> Day:
    """A day from plain data; raises DescriptionError with all problems."""
    try:
        return Day.model_validate(data)
    except ValidationError as error:
        raise DescriptionError([problem for _, problem in problems_of(error, Day, data, file, lines)]) from None


def load_day(path: str | Path, overrides: Mapping[str, Any] | None = None) -> Day:
    """Read a day file; `overrides` are values by path that replace those of the file. Raises DescriptionError."""
    data, text = read_toml(path)
    return build_day(data, str(path), Lines(text)).with_values(overrides or {})


def save_day(day: Day, path: str | Path) -> None:
    """Write a day file in SI."""
    write_toml(path, day.to_file(), f"{day.name or 'A day'}: every number is SI unless it carries a unit.")


def check_points(day: Day, points: tuple[str, ...]) -> None:
    """Raise DescriptionError if a phase waits for a point that the car (its `points`) does not have."""
    problems = [
        Problem(
            f"phases.{i}.until.point", f'the car has no point "{phase.until.point}"', "use a port or cavity of the car"
        )
        for i, phase in enumerate(day.phases)
        if phase.until is not None and phase.until.point not in points
    ]
    if problems:
        raise DescriptionError(problems)
