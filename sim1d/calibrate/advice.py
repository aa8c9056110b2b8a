"""Which reading would help most next: the greatest fall of the summed posterior variance (linearised, A-optimal)."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.calibrate.fit import STEP, StageFit, bears, gradient
from sim1d.calibrate.parameters import Parameter
from sim1d.calibrate.readings import (
    BoilingCheck,
    Bucket,
    CapTester,
    CoolDown,
    CoreDrop,
    Drain,
    Fill,
    Gauge,
    Level,
    Mixing,
    Morning,
    PumpStart,
    Settled,
    Squeeze,
    Stage,
)
from sim1d.calibrate.subject import Subject
from sim1d.parts.pump import BeltPump
from sim1d.parts.sensor import SensorKind

if TYPE_CHECKING:
    from sim1d.car import Car

SHOWN = 6
RPM = 0.10471975511965977  # rad/s


@dataclass(frozen=True)
class Advice:
    """A reading that is not there: in words, how much of the summed relative variance it takes away, what it tells."""

    text: str
    stage: Stage
    fall: float
    most: str


def candidates(car: "Car", place: str) -> list[tuple[str, Any]]:
    """Every kind at a sensible setting for this car, with what a careful builder reads it to (assumed)."""
    found: list[tuple[str, Any]] = [
        ("fill to the mark by bucket, to 0.1 L", Fill(kind="fill", value=0.0, plus_minus=1e-4)),
        ("drain everything into a bucket, to 0.1 L", Drain(kind="drain", value=0.0, plus_minus=1e-4)),
        ("cap on a tester, to 2 kPa", CapTester(kind="cap_tester", value=0.0, plus_minus=2e3)),
        (
            "pressure next morning at 20 degC, to 1 kPa",
            Morning(kind="morning", temperature=293.15, value=0.0, plus_minus=1e3),
        ),
        (
            "squeeze brim-full, 20 mL, to 0.5 kPa",
            Squeeze(kind="squeeze", level=Level.BRIM, pressed=2e-5, value=0.0, plus_minus=500.0),
        ),
        (
            "5 L at 85 degC into the drained cold engine, to 0.5 K",
            Mixing(kind="mixing", volume=5e-3, hot=358.15, temperature=293.15, value=300.0, plus_minus=0.5),
        ),
        (
            "settled temperature 60 s at idle after a pass of 6 s, to 1 K",
            Settled(
                kind="settled", temperature=333.15, speed=car.engine.rated_speed, load=1.0, duration=6.0, settle=60.0,
                settle_speed=100.0, value=350.0, plus_minus=1.0,
            ),
        ),
    ]  # fmt: skip
    drain_z = round(max(car.engine.deck_z - car.engine.block.jacket_depth, 0.0) + 0.02, 3)
    found.append(
        (f"drain through a plug at z = {drain_z:g} m, to 0.1 L",
         Drain(kind="drain", height=drain_z, value=0.0, plus_minus=1e-4))
    )  # fmt: skip
    if car.expansion_tank is not None:
        found.append(
            (
                "squeeze at the mark, 100 mL, to 0.3 kPa",
                Squeeze(kind="squeeze", pressed=1e-4, value=0.0, plus_minus=300.0),
            )
        )  # fmt: skip
    if car.pumps:
        found += _running(car, place)
    if car.radiator is not None and car.radiator.fan is not None:
        found.append(
            (
                "cool-down from 90 degC at idle with the fan on for 120 s, to 1 K",
                CoolDown(
                    kind="cool_down", temperature=363.15, air_temperature=293.15, after=120.0, speed=100.0,
                    value=340.0, plus_minus=1.0,
                ),
            )
        )  # fmt: skip
    for name, sensor in car.sensors.items():
        if sensor.kind is SensorKind.TEMPERATURE:
            found += [
                (f"{name} in boiling water, to 0.5 K",
                 BoilingCheck(kind="boiling_check", where=name, value=373.0, plus_minus=0.5)),
                (f"{name} 5 s after it is dipped into boiling water, to 2 K",
                 BoilingCheck(kind="boiling_check", where=name, after=5.0, value=340.0, plus_minus=2.0)),
            ]  # fmt: skip
    return found


def _running(car: "Car", place: str) -> list[tuple[str, Any]]:
    idle, fast = 1000.0 * RPM, 4000.0 * RPM
    found: list[tuple[str, Any]] = []
    if car.expansion_tank is not None:
        found.append(
            (
                f"pump start at 2500 rpm, air suspected in {place}, to 10 mL",
                PumpStart(kind="pump_start", where=place, speed=2500.0 * RPM, value=0.0, plus_minus=1e-5),
            )
        )  # fmt: skip
    for name, pump in car.pumps.items():
        speed = fast if isinstance(pump, BeltPump) else 0.0
        at = " at 4000 rpm" if isinstance(pump, BeltPump) else ""
        found.append(
            (
                f"two taps over {name}{at}, to 1 kPa",
                Gauge(
                    kind="gauge", where=f"{name}.discharge", against=f"{name}.suction", speed=speed, value=0.0,
                    plus_minus=1e3,
                ),
            )
        )  # fmt: skip
    if car.radiator is not None:
        found.append(
            ("core drop at 4000 rpm, to 1 kPa", CoreDrop(kind="core_drop", speed=fast, value=0.0, plus_minus=1e3))
        )
    outlets = [port for port in car.lines_at if port.startswith("engine.") and port.endswith((".front", ".rear"))]
    for port in outlets[:4]:
        first = next(iter(car.pumps))
        found.append(
            (
                f"two taps from {first}.discharge to {port} at 4000 rpm, to 1 kPa",
                Gauge(kind="gauge", where=f"{first}.discharge", against=port, speed=fast, value=0.0, plus_minus=1e3),
            )
        )  # fmt: skip
        line = car.lines_at[port][0]
        if car.lines[line].start == port:
            low = round(car.ports[port].z - 0.2, 3)
            found.append(
                (
                    f"line {line} into a bucket at z = {low:g} m, 1000 rpm, to 1 L/min",
                    Bucket(kind="bucket", where=line, height=low, speed=idle, value=0.0, plus_minus=1.0 / 60000.0),
                )
            )  # fmt: skip
    return found


def advise(subject: Subject, parameters: Sequence[Parameter], stages: Sequence[StageFit]) -> tuple[Advice, ...]:
    """The readings that would help most, best first.

    Adding row j (in standard deviations of the reading) to a stage with covariance C lowers trace(C) by
    |C j|^2/(1 + j C j); priors have variance 1. Sensors count where the readings named them.
    """
    found = []
    by_stage = {stage.stage: stage for stage in stages}
    for text, reading in candidates(subject.car, subject.air_place):
        stage = by_stage[reading.stage]
        own = [*stage.fitted, *stage.untold]
        told = len(stage.fitted)
        covariance = np.eye(len(own))
        covariance[:told, :told] = stage.covariance
        at = {one.key: float(z) for one, z in zip(stage.fitted, stage.z, strict=True)}
        mine = [k for k, one in enumerate(own) if bears(reading, one)]
        row = np.zeros(len(own))
        row[mine] = gradient(reading, subject, [own[k] for k in mine], at, STEP[reading.stage]) / reading.plus_minus
        if not row.any():
            continue
        lowered = covariance @ row
        each = lowered**2 / (1.0 + row @ lowered)
        best = int(np.argmax(each))
        found.append(Advice(text, reading.stage, float(each.sum()), own[best].title))
    found.sort(key=lambda one: (-one.fall, one.text))
    return tuple(found[:SHOWN])
