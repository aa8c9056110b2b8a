"""Readings that cannot be: no car like this one could show them, so no fit may bend to them.

The limits are wide: the most that capacity, pump, cap or boiling could give with every value at the far end of its
prior (three standard deviations).
"""

from collections.abc import Sequence

from sim1d.calibrate.parameters import Parameter, moved
from sim1d.calibrate.predictions import engine_speed
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
    LevelDrop,
    Mixing,
    Morning,
    PumpStart,
    Reading,
    Running,
    Settled,
    Squeeze,
)
from sim1d.calibrate.statics import boiling_point, liquid_at, taken
from sim1d.calibrate.subject import Subject
from sim1d.core.coolant import GRAVITY
from sim1d.display import show_flow, show_pressure, show_temperature, show_volume
from sim1d.properties import Fluid, coolant_tables

FAR = 3.0  # prior standard deviations
SENSOR_BROKEN = 10.0  # K from the boiling point: five times the greatest error that is assumed of a sensor
CAP_RANGE = (0.3, 2.0)  # of the rating: what the description of a cap accepts as its band


def impossible(reading: Reading, subject: Subject, parameters: Sequence[Parameter]) -> str:
    """Why no car like this one could show it; "" where it could."""
    off = 3.0 * float(getattr(reading, "plus_minus", 0.0))
    value = float(getattr(reading, "value", 0.0))
    match reading:
        case Fill() | Drain():
            most = _capacity(subject, parameters)
            if value - off > most:
                return f"{show_volume(value)} is more than circuit and tank can hold: {show_volume(most)} at the most"
            if isinstance(reading, Fill) and value + off < 0.3 * subject.car.volume:
                return f"{show_volume(value)} is less than a third of the circuit: most of it was full already"
        case Squeeze():
            if value + off <= 0.0:
                return "pressing coolant in cannot lower the pressure"
            tank = subject.car.expansion_tank
            gas = tank.volume if tank is not None else 0.0
            if value - off > subject.car.cap.opening * subject.car.cap.band[1] * 1.5:
                return f"{show_pressure(value, '')} is more than the cap holds"
            if reading.level is Level.MARK and gas and reading.pressed > gas:
                return "more was pressed in than the tank holds"
        case PumpStart() | LevelDrop():
            tank = subject.car.expansion_tank
            assert tank is not None  # place_problems refused the rest
            area = 1.0 if isinstance(reading, PumpStart) else tank.area  # a level drop is a length
            lost = value * area
            if lost - off * area > tank.liquid:
                return f"the tank cannot lose {show_volume(lost)}: it holds {show_volume(tank.liquid)}"
            if value + off < 0.0:
                return "a pump that starts cannot raise the level unless it sucks on air: look for air at its inlet"
        case CapTester():
            low, high = (share * subject.car.cap.opening for share in CAP_RANGE)
            if not low <= value <= high:
                return f"{show_pressure(value)} is no state of a cap rated {show_pressure(subject.car.cap.opening)}"
        case BoilingCheck():
            boils = boiling_point(reading.ambient_pressure)
            if value > boils + SENSOR_BROKEN:
                return (
                    f"water in the open does not pass {show_temperature(boils)}; a sensor that shows "
                    f"{show_temperature(value)} is broken or was not in water"
                )
            low = min(reading.temperature, boils) if reading.after is not None else boils
            if value < low - SENSOR_BROKEN:
                return f"a sound sensor would not show {show_temperature(value)} in water of {show_temperature(boils)}"
        case Morning():
            if value - off > subject.car.cap.opening * subject.car.cap.band[1]:
                return f"{show_pressure(value)} is more than the cap holds"
            if value + off < -reading.ambient_pressure:
                return "there is no pressure below vacuum"
        case Gauge() | CoreDrop():
            most = _pump_rise(subject, reading)
            if abs(value) - off > most:
                shown = show_pressure(most, "")
                return f"{show_pressure(value, '')} is beyond the pump, which gives {shown} at that speed at the most"
            if isinstance(reading, CoreDrop) and value + off < 0.0:
                return "pressure falls from inlet to outlet of a radiator: were the gauges swapped?"
        case Bucket():
            most = _runout(subject, reading)
            if value - off > most:
                return f"{show_flow(value)} is beyond the pump and the tank's height: {show_flow(most)} at the most"
        case Mixing():
            if not reading.temperature - off <= value <= reading.hot + off:
                return "a mixture lies between what was mixed"
        case Settled():
            hottest = _boils(subject, reading)
            if value + off < min(reading.temperature, reading.air_temperature):
                return f"a pass cannot leave it colder than before: {show_temperature(value)}"
            if value - off > hottest:
                return f"coolant under this cap boils at {show_temperature(hottest)}"
        case CoolDown():
            if value + off < min(reading.air_temperature, reading.temperature):
                return f"it cannot cool below the air: {show_temperature(value)}"
            if value - off > _boils(subject, reading):
                return f"coolant under this cap boils at {show_temperature(_boils(subject, reading))}"
    return ""


def _capacity(subject: Subject, parameters: Sequence[Parameter]) -> float:
    """Most that circuit and a brim-full tank hold, m3: every volume at the far end of its prior."""
    volumes = {
        one.key: one.at(FAR) for one in parameters if one.key.endswith((".volume", ".tank_volume")) and one.targets
    }
    return taken(moved(subject, volumes, parameters), Level.BRIM) + subject.hidden


def _ratios(subject: Subject, reading: Running) -> list[tuple[float, float, float]]:
    """(speed over reference, shut-off Pa, run-out m3/s) of each pump that turns."""
    speed = engine_speed(subject, reading)
    found = []
    for pump in subject.car.pumps.values():
        ratio = getattr(pump, "speed_ratio", None)
        share = 1.3 if ratio is None else ratio * speed / pump.reference_speed  # a motor on 14.4 V gains this much
        found.append((share, pump.curve()[0], pump.runout))
    return found


def _pump_rise(subject: Subject, reading: Running) -> float:
    """Most rise (Pa) that the pumps give at no flow, in series, half above their description."""
    return 1.5 * sum(share**2 * shutoff for share, shutoff, _ in _ratios(subject, reading)) + 2e3


def _runout(subject: Subject, reading: Bucket) -> float:
    """Most flow (m3/s): the pumps at run-out side by side, half above their description, plus a free fall."""
    car = subject.car
    pumped = 1.5 * sum(share * runout for share, _, runout in _ratios(subject, reading))
    surface = car.expansion_tank.level_z if car.expansion_tank is not None else car.cap_z
    fall = (2.0 * GRAVITY * max(surface - reading.height, 0.0)) ** 0.5
    return pumped + fall * 3.1416 / 4.0 * car.lines[reading.where].inner_diameter ** 2


def _boils(subject: Subject, reading: Settled | CoolDown) -> float:
    """Hottest (K) that liquid stays under the highest opening of the cap and the height of a column."""
    coolant = subject.car.coolant
    grid = coolant_tables(Fluid(coolant.fluid.value), coolant.fraction).liquid
    cap = subject.car.cap
    pressure = reading.ambient_pressure + cap.opening * cap.band[1] + cap.ramp
    pressure += liquid_at(subject, 293.15, "density") * GRAVITY * 1.0
    above = grid.temperature[grid.vapour_pressure <= pressure]
    return float(above[-1])
