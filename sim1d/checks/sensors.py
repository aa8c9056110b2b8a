"""Do the sensors see what matters?"""

from collections.abc import Iterator

from sim1d.car import Car
from sim1d.checks.layout import VENT_BORE, live_lines, open_outlets, smallest_bore
from sim1d.checks.rule import Finding, Severity, rule
from sim1d.day import Day
from sim1d.parts.engine import BANKS
from sim1d.parts.sensor import SensorKind


def stands_still(car: Car, place: str) -> bool:
    """No main flow passes a place: a dead leg, a vent line, or a bank that has no main outlet."""
    pieces = place.split(".")
    if pieces[0] == "engine" and len(pieces) == 3 and pieces[2] in ("head", "block"):
        return not open_outlets(car, pieces[1].split("-")[0])
    if pieces[0] == "expansion_tank":
        return True
    if pieces[0] == "lines":
        names = [pieces[1]]
    elif place in car.lines_at:
        names = list(car.lines_at[place])
    elif pieces[0] == "radiator":
        names = [name for port in ("radiator.inlet", "radiator.outlet") for name in car.lines_at.get(port, ())]
    else:  # an exchanger by its name
        names = [name for port, ends in car.lines_at.items() if port.startswith(f"{place}.") for name in ends]
    live = live_lines(car)
    return not any(name in live and smallest_bore(car.lines[name]) > VENT_BORE for name in names)


@rule
def sensor_in_dead_branch(car: Car, day: Day | None) -> Iterator[Finding]:
    """A temperature sensor where coolant stands shows the past; in a pocket of air it shows nothing."""
    for name, sensor in car.sensors.items():
        if sensor.kind is not SensorKind.TEMPERATURE:
            continue
        if car.trapped_air.get(sensor.at, 0.0) > 0:
            why = f"it sits in the air left in {sensor.at}: it reads low while the metal burns"
            fix = "bleed that cavity, or move the sensor into coolant"
            yield Finding("sensor_in_dead_branch", f"sensors.{name}", why, fix, Severity.FAULT)
        elif stands_still(car, sensor.at):
            why = f"no main flow passes {sensor.at}: it lags and reads low"
            fix = "move it to where the flow of the bank leaves the head"
            yield Finding("sensor_in_dead_branch", f"sensors.{name}", why, fix, Severity.WARNING)


@rule
def bank_not_watched(car: Car, day: Day | None) -> Iterator[Finding]:
    """One temperature sensor per bank is the least that shows a starved bank."""
    for bank in BANKS:
        watched = any(
            sensor.kind is SensorKind.TEMPERATURE and sensor.at.startswith((f"engine.{bank}.", f"engine.{bank}-"))
            for sensor in car.sensors.values()
        )
        if not watched:
            why = f"no temperature sensor sits in the {bank} bank: if it starves, nothing shows it"
            fix = f'add a temperature sensor at "engine.{bank}-{car.engine.cylinders_per_bank}.head" or at its outlet'
            yield Finding("bank_not_watched", f"engine.{bank}", why, fix, Severity.NOTE)


@rule
def pressure_not_watched(car: Car, day: Day | None) -> Iterator[Finding]:
    """Pressure tells of a lifting head earlier than temperature; it needs a sensor at the engine."""
    if not any(
        sensor.kind is SensorKind.PRESSURE and (sensor.at.startswith("engine.") or sensor.at in car.junctions)
        for sensor in car.sensors.values()
    ):
        why = "no pressure sensor sits at the engine: gas past the gasket shows there first"
        fix = "add a pressure sensor at a head outlet or at the block"
        yield Finding("pressure_not_watched", "sensors", why, fix, Severity.NOTE)
