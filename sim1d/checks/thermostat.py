"""The thermostat, what replaces it, and the bypass it leaves behind."""

from collections.abc import Iterator

from sim1d import wiring
from sim1d.car import Car
from sim1d.checks.layout import VENT_BORE, open_outlets, smallest_bore
from sim1d.checks.rule import Finding, Severity, rule
from sim1d.day import Day
from sim1d.display import show_length
from sim1d.parts.engine import BANKS


@rule
def thermostat_doubled(car: Car, day: Day | None) -> Iterator[Finding]:
    """A thermostat and a plate in one circuit throttle twice."""
    if car.thermostat is not None and car.thermostat.fitted and car.thermostat_plate is not None:
        why = "both a thermostat and a plate with a hole throttle the flow"
        yield Finding("thermostat_doubled", "thermostat_plate", why, "remove one of them", Severity.WARNING)


@rule
def bypass_open(car: Car, day: Day | None) -> Iterator[Finding]:
    """Coolant from a head straight to the suction skips the radiator; a deleted thermostat leaves such a way."""
    closed = {"engine", "radiator", "expansion_tank", *car.exchangers, *car.pumps}
    element = car.thermostat
    shuts = element is not None and element.fitted and element.bypass_foot

    def may_pass(edge: wiring.Edge) -> bool:
        if edge[2] in closed:
            return False
        if edge[2].startswith("lines."):
            return smallest_bore(car.lines[edge[2].removeprefix("lines.")]) > VENT_BORE
        return not (shuts and "thermostat.bypass" in edge[:2])

    outlets = [port for bank in BANKS for port in open_outlets(car, bank)]
    reached = wiring.reach(wiring.all_edges(car), outlets, may_pass)
    for pump in car.pumps:
        if f"{pump}.suction" in reached:
            way = wiring.way_to(reached, f"{pump}.suction")
            bores = [smallest_bore(car.lines[step.removeprefix("lines.")]) for step in way if step.startswith("lines.")]
            wide = show_length(min(bores))
            why = f"{', '.join(way)} leads from a head to {pump}.suction past the radiator, {wide} wide"
            fix = "plug the bypass or restrict it; a thermostat with a foot that shuts it also does"
            fitted = element is not None and element.fitted
            severity = Severity.WARNING if fitted else Severity.FAULT
            yield Finding("bypass_open", way[-1], why, fix, severity)
