"""How a driven value runs through a phase of the day: constant, a ramp, or the saw teeth of gear shifts."""

from typing import Any

from pydantic import model_serializer, model_validator

from sim1d.parts.base import Description, quantity
from sim1d.units import Acceleration, BadValue, Number, RotationalSpeed, Velocity

Piece = tuple[float, float, float, float]  # start time, end time (s from the start of the phase), value at both


class Course(Description):
    """A value over a phase. In a file: one value, {from, to}, or (speed only) {low, high, shifts}."""

    @model_validator(mode="before")
    @classmethod
    def _from_value(cls, value: Any) -> Any:
        if isinstance(value, dict) or isinstance(value, Course):
            return value
        return {"from": value, "to": value}

    @model_serializer(mode="plain")
    def _as_written(self) -> Any:
        start, end = self.ends
        return start if start == end else {"from": start, "to": end}

    @property
    def ends(self) -> tuple[float, float]:
        """Value at the start and at the end, SI."""
        return getattr(self, "start"), getattr(self, "end")  # noqa: B009  (fields of every subclass)

    def pieces(self, duration: float) -> list[Piece]:
        """Straight pieces that make up the course over `duration` seconds."""
        return [(0.0, duration, *self.ends)]

    @property
    def largest(self) -> float:
        """Greatest value, SI."""
        return max(self.ends)


class LoadCourse(Course):
    """Share of the rated manifold pressure above idle."""

    start: Number = quantity("load at the start", low=0.0, high=1.5, alias="from")
    end: Number = quantity("load at the end", low=0.0, high=1.5, alias="to")


class VelocityCourse(Course):
    """Speed of the car."""

    start: Velocity = quantity("car speed at the start", low=0.0, high=160.0, alias="from")
    end: Velocity = quantity("car speed at the end", low=0.0, high=160.0, alias="to")


class AccelerationCourse(Course):
    """Acceleration along the car: positive when it speeds up, negative under a parachute."""

    start: Acceleration = quantity("acceleration at the start", low=-80.0, high=80.0, alias="from")
    end: Acceleration = quantity("acceleration at the end", low=-80.0, high=80.0, alias="to")


class SpeedCourse(Course):
    """Engine speed. With shifts it climbs from `from` to `to` in every gear, all gears equally long."""

    start: RotationalSpeed = quantity("engine speed at the start", low=0.0, high=1500.0, alias="from")
    end: RotationalSpeed = quantity("engine speed at the end", low=0.0, high=1500.0, alias="to")
    shifts: int = quantity("gear shifts on the way", default=0, low=0, high=12, source="none")

    @model_validator(mode="before")
    @classmethod
    def _from_saw(cls, value: Any) -> Any:
        if not isinstance(value, dict) or not {"low", "high"} & set(value):
            return value
        missing = [key for key in ("low", "high", "shifts") if key not in value]
        if missing:
            raise BadValue(f"a saw lacks {missing[0]}", 'write {low = "6000 rpm", high = "7500 rpm", shifts = 2}')
        rest = {key: item for key, item in value.items() if key not in ("low", "high")}
        return {"from": value["low"], "to": value["high"], **rest}

    @model_validator(mode="after")
    def _rises(self):
        if self.shifts and self.start >= self.end:
            raise BadValue("a saw's low is not below its high", "let low be the speed after a shift, high before it")
        return self

    @model_serializer(mode="plain")
    def _as_written(self) -> Any:
        if self.shifts:
            return {"low": self.start, "high": self.end, "shifts": self.shifts}
        return self.start if self.start == self.end else {"from": self.start, "to": self.end}

    def pieces(self, duration: float) -> list[Piece]:
        """One straight piece per gear."""
        tooth = duration / (self.shifts + 1)
        return [(i * tooth, (i + 1) * tooth, self.start, self.end) for i in range(self.shifts + 1)]
