"""Is every part rated for what it can see?"""

from collections.abc import Iterator

from sim1d.car import Car
from sim1d.checks.layout import highest_rise, pump_share
from sim1d.checks.rule import Finding, Severity, rule
from sim1d.day import Day
from sim1d.display import show_pressure
from sim1d.parts.sensor import SensorKind
from sim1d.units import STANDARD_GRAVITY

DENSITY = 962.0  # kg/m3, water at 95 degC
LAUNCH = 3.0 * STANDARD_GRAVITY  # m/s2, where no day says how hard the car launches (assumed)


def accelerations(day: Day | None) -> tuple[float, float]:
    """Hardest braking (negative) and hardest launch of a day, m/s2; 1 g and 3 g, assumed, without a day."""
    if day is None:
        return -STANDARD_GRAVITY, LAUNCH
    ends = [value for phase in day.phases for value in phase.acceleration.ends]
    return min(0.0, *ends), max(0.0, *ends)


def rated_parts(car: Car) -> Iterator[tuple[str, float | None, list[str]]]:
    """(path, rating Pa gauge or None, ports) of everything that holds pressure and can carry a rating."""
    for name, line in car.lines.items():
        yield f"lines.{name}.working_pressure", line.working_pressure, [line.start, line.end]
    for name, part in car.parts.items():
        key = next((key for key in ("rated_pressure", "working_pressure") if hasattr(part, key)), None)
        if key:
            path = f"junctions.{name}" if name in car.junctions else name
            yield f"{path}.{key}", getattr(part, key), [port for port in car.ports if port.partition(".")[0] == name]


def worst_pressure(car: Car, ports: list[str], day: Day | None) -> float:
    """Estimated highest pressure at any of some ports, Pa gauge: cap, pump, height and acceleration together.

    The cap may open as high as its band allows; the pump adds its share of the rise at no flow; height and acceleration
    count from where the gas is.
    """
    tank = car.expansion_tank
    radiator_x = car.radiator.mount_x if car.radiator is not None else car.engine.front_x
    x0, z0 = (tank.x, tank.level_z) if tank is not None else (radiator_x, car.cap_z)
    braking, launch = accelerations(day)
    worst = 0.0
    for name in ports:
        port = car.ports[name]
        push = max(DENSITY * braking * (port.x - x0), DENSITY * launch * (port.x - x0), 0.0)
        height = DENSITY * STANDARD_GRAVITY * (z0 - port.z)
        worst = max(worst, pump_share(car, name) * highest_rise(car) + push + height)
    return car.cap.opens_at_most + worst


@rule
def rating_too_low(car: Car, day: Day | None) -> Iterator[Finding]:
    """A part rated below what cap, pump, height and launch can bring: it gives way before the cap opens."""
    cuts = any(s.kind is SensorKind.PRESSURE and s.cut is not None for s in car.sensors.values())
    for path, rating, ports in rated_parts(car):
        if rating is None:
            continue
        worst = worst_pressure(car, ports, day)
        allowed = rating * car.limits.rating_margin
        if worst > allowed:
            why = (
                f"rated {show_pressure(rating)}, but cap, pump, height and acceleration together can bring about "
                f"{show_pressure(worst)} (estimated)"
            )
            fix = "use a lower cap or a stronger part; a pressure cut limits it only if it is quick enough"
            severity = Severity.WARNING if cuts or worst < 1.1 * allowed else Severity.FAULT
            yield Finding("rating_too_low", path, why, fix, severity)


@rule
def unrated_part(car: Car, day: Day | None) -> Iterator[Finding]:
    """Parts without a rating: their margin is unknown, and one of them may be the weakest."""
    unrated = [path.rpartition(".")[0] for path, rating, _ in rated_parts(car) if rating is None]
    if unrated:
        why = f"no rating is given for {', '.join(unrated)}: their margin is unknown"
        fix = "find their working pressure, and give it"
        yield Finding("unrated_part", unrated[0], why, fix, Severity.NOTE)
