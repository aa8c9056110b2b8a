"""What a car should show: one function for every kind of reading."""

from sim1d.calibrate import statics, warmth
from sim1d.calibrate.flow import Flows, NoFlow, flows_of, rise_at
from sim1d.calibrate.readings import (
    BoilingCheck,
    Bucket,
    CapTester,
    CoolDown,
    CoreDrop,
    Drain,
    Fill,
    Gauge,
    LevelDrop,
    Mixing,
    Morning,
    PumpStart,
    Reading,
    Running,
    Settled,
    Squeeze,
)
from sim1d.calibrate.statics import liquid_at, pressed_together
from sim1d.calibrate.subject import Subject
from sim1d.calibrate.warmth import RunFailed
from sim1d.core.coolant import GRAVITY
from sim1d.parts.pump import BeltPump

CANNOT = (NoFlow, RunFailed)  # what `predict` raises where a car has no answer


def engine_speed(subject: Subject, reading: Running) -> float:
    """Engine speed (rad/s) of a reading, from the pump's where that was read."""
    if reading.speed is not None:
        return reading.speed
    if reading.pump_speed is None:
        return 0.0
    belt = next(pump for pump in subject.car.pumps.values() if isinstance(pump, BeltPump))
    return reading.pump_speed / belt.speed_ratio


def running_flows(subject: Subject, reading: Running, opened: tuple[str, float] | None = None) -> Flows:
    """The network as the reading found it."""
    return flows_of(subject.car, engine_speed(subject, reading), reading.temperature, reading.voltage, opened)


def pump_start(subject: Subject, reading: PumpStart | LevelDrop) -> float:
    """Volume (m3) that the tank loses: V (1 - p1/p2) of every pocket of air, and what the walls take up."""
    found = running_flows(subject, reading)
    tank = subject.car.expansion_tank
    assert tank is not None  # place_problems refused the rest
    density = liquid_at(subject, reading.temperature, "density")
    drop = found.stretched
    for place, air in subject.air.items():
        if place == "expansion_tank":
            continue
        still = reading.ambient_pressure + density * GRAVITY * (tank.level_z - place_z(subject, place))
        drop += pressed_together(air, reading.ambient_pressure, still, rise_at(subject.car, found.rise, place))
    return drop


def place_z(subject: Subject, place: str) -> float:
    """Height of a cavity, m: the middle of its cavities in the circuit."""
    car = subject.car
    if place.startswith("lines."):
        low, high = car.line_heights(place.removeprefix("lines."))
        return high
    if place.startswith("engine."):
        return car.engine.head_top_z if place.endswith(".head") else car.engine.deck_z
    port = {"radiator.inlet_tank": "radiator.inlet", "radiator.outlet_tank": "radiator.outlet"}.get(place, place)
    for name in (port, f"{port}.outlet"):
        if name in car.ports:
            return car.ports[name].z
    return car.cap_z


def predict(reading: Reading, subject: Subject) -> float:
    """Value (SI) that `reading` would have on `subject`. Raises NoFlow or RunFailed where there is none."""
    match reading:
        case Fill():
            return statics.fill(subject, reading)
        case Drain():
            return statics.drain(subject, reading)
        case Squeeze():
            return statics.squeeze(subject, reading)
        case PumpStart():
            return pump_start(subject, reading)
        case LevelDrop():
            tank = subject.car.expansion_tank
            assert tank is not None  # place_problems refused the rest
            return pump_start(subject, reading) / tank.area
        case CapTester():
            return float(subject.car.cap.opens)
        case BoilingCheck():
            return statics.boiling_check(subject, reading)
        case Morning():
            return statics.morning(subject, reading)
        case Gauge():
            rise = running_flows(subject, reading).rise
            return rise[reading.where] - (rise[reading.against] if reading.against is not None else 0.0)
        case CoreDrop():
            rise = running_flows(subject, reading).rise
            return rise["radiator.inlet"] - rise["radiator.outlet"]
        case Bucket():
            return running_flows(subject, reading, (reading.where, reading.height)).flow[f"lines.{reading.where}"]
        case Mixing():
            return warmth.mixing(subject, reading)
        case Settled():
            return warmth.settled(subject, reading)
        case CoolDown():
            return warmth.cool_down(subject, reading)
    raise TypeError(f"no prediction for {type(reading).__name__}")
