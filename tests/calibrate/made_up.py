"""Readings made up from a car whose truth is known: predictions of the true car plus seeded normal noise."""

from sim1d.calibrate.parameters import moved, parameters_of
from sim1d.calibrate.predictions import predict
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
    Readings,
    Settled,
    Squeeze,
)
from sim1d.calibrate.subject import subject_of

RPM = 0.10471975511965977
PLACE = "engine.left-4.head"
C = 273.15

STATICS = [
    Fill(kind="fill", value=0.0, plus_minus=1e-4),
    Drain(kind="drain", height=0.50, value=0.0, plus_minus=1e-4),
    Squeeze(kind="squeeze", pressed=1e-4, value=0.0, plus_minus=300.0),
    Squeeze(kind="squeeze", level=Level.BRIM, pressed=2e-5, value=0.0, plus_minus=200.0),
    PumpStart(kind="pump_start", where=PLACE, speed=2500 * RPM, value=0.0, plus_minus=5e-6),
    CapTester(kind="cap_tester", value=0.0, plus_minus=2e3),
    BoilingCheck(kind="boiling_check", where="gauge", ambient_pressure=99.0e3, value=373.0, plus_minus=0.5),
    BoilingCheck(kind="boiling_check", where="gauge", ambient_pressure=99.0e3, after=10.0, value=350.0, plus_minus=1.0),
    Morning(kind="morning", temperature=15 + C, value=0.0, plus_minus=500.0),
]
FLOW = [
    Gauge(kind="gauge", where="pump.discharge", against="pump.suction", speed=3000 * RPM, value=0.0, plus_minus=800.0),
    Gauge(kind="gauge", where="pump.discharge", against="pump.suction", speed=5000 * RPM, value=0.0, plus_minus=800.0),
    Gauge(kind="gauge", where="pump.discharge", against="engine.left.front", speed=5000 * RPM, value=0.0,
          plus_minus=800.0),
    CoreDrop(kind="core_drop", speed=4000 * RPM, value=0.0, plus_minus=400.0),
    Bucket(kind="bucket", where="left_outlet", height=0.55, speed=1000 * RPM, value=0.0, plus_minus=0.5 / 60000),
]  # fmt: skip
HEAT = [
    Mixing(kind="mixing", volume=6e-3, hot=85 + C, temperature=18 + C, value=310.0, plus_minus=0.5),
    Settled(kind="settled", temperature=60 + C, speed=7000 * RPM, load=0.9, duration=6.0, settle=60.0,
            settle_speed=100.0, value=350.0, plus_minus=1.0),
    CoolDown(kind="cool_down", where="gauge", temperature=90 + C, air_temperature=25 + C, after=120.0, speed=1000 * RPM,
             value=340.0, plus_minus=1.0),
    CoolDown(kind="cool_down", where="gauge", temperature=90 + C, air_temperature=25 + C, after=240.0, speed=1000 * RPM,
             value=340.0, plus_minus=1.0),
]  # fmt: skip


def truth(car, readings, rng=None, values=None):
    """A true car: every parameter drawn from its prior (or given by key), as (subject, values by key)."""
    base = subject_of(car, PLACE)
    parameters = parameters_of(base, readings)
    drawn = {}
    for one in parameters:
        z = float(rng.normal()) if rng is not None else 0.0
        low, high = one.bounds
        drawn[one.key] = one.at(min(max(z, low), high)) if rng is not None else one.at(0.0)
    drawn |= values or {}
    return moved(base, drawn, parameters), drawn


def noisy(readings, subject, rng=None):
    """The readings with the values that the subject has, plus noise of their plus-minus."""
    found = []
    for one in readings:
        value = predict(one, subject) + (rng.normal() * one.plus_minus if rng is not None else 0.0)
        low = 0.0 if one.kind in ("fill", "drain", "bucket") else -1e12
        found.append(one.model_copy(update={"value": max(float(value), low)}))
    return Readings.model_construct(name="", note="", readings=tuple(found))
