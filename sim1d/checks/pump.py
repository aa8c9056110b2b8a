"""The pump's suction, and what keeps coolant moving when the engine stops."""

from collections.abc import Iterator

from sim1d import wiring
from sim1d.car import Car
from sim1d.checks.layout import smallest_bore
from sim1d.checks.rule import Finding, Severity, rule
from sim1d.day import Day, Role
from sim1d.display import show_length, show_rotation
from sim1d.parts.pump import BeltPump, ElectricPump

FAST_PUMP = (
    9500 * 0.10471975511965977
)  # rad/s: pump speeds of 8100 to 9500 rpm are run without trouble (common practice)


@rule
def suction_hose_soft(car: Car, day: Day | None) -> Iterator[Finding]:
    """A soft hose on the suction side is sucked flat at speed and throttles the pump."""
    for name in car.pumps:
        for line_name in car.lines_at.get(f"{name}.suction", ()):
            line = car.lines[line_name]
            if line.is_soft and line.inner_diameter > 0.022:
                why = f"a soft hose of {show_length(line.inner_diameter)} at the suction of {name} can be sucked flat"
                fix = "use a wire-reinforced hose (wire_reinforced = true) or a tube, and tee the tank at the suction"
                yield Finding("suction_hose_soft", f"lines.{line_name}", why, fix, Severity.WARNING)


@rule
def tee_not_at_suction(car: Car, day: Day | None) -> Iterator[Finding]:
    """The tank's lower line must meet a pump's suction: elsewhere the pump pulls its own suction below the tank."""
    if car.expansion_tank is None:
        return
    edges = [
        edge for edge in wiring.all_edges(car) if edge[2].startswith("lines.") and "expansion_tank.vent" not in edge[:2]
    ]
    # a line may pass through junctions only: what leads through a part comes after that part's pressure drop
    fill = "expansion_tank.fill"
    reached = {fill}
    waiting = [fill]
    while waiting:
        port = waiting.pop()
        if port != fill and port not in car.junctions:
            continue
        for start, end, _ in edges:
            for one, other in ((start, end), (end, start)):
                if one == port and other not in reached:
                    reached.add(other)
                    waiting.append(other)
    if any(f"{name}.suction" in reached for name in car.pumps):
        return
    ends = sorted(reached - {fill}) or ["nothing"]
    why = f"the tank's lower line meets {', '.join(ends)}, no suction: the faster the pump, the lower its suction"
    fix = 'let the line from "expansion_tank.fill" end at the pump\'s suction'
    yield Finding("tee_not_at_suction", "expansion_tank.fill", why, fix, Severity.FAULT)


@rule
def fill_line_narrow(car: Car, day: Day | None) -> Iterator[Finding]:
    """The tank's lower line must pass what the vents bring up with little pressure drop: at least dash 10."""
    for name in car.lines_at.get("expansion_tank.fill", ()):
        bore = smallest_bore(car.lines[name])
        if bore < 0.0125:
            why = f"{show_length(bore)} is below dash 10: it throttles what the vents bring to the tank"
            fix = "use dash 10 or more (common practice: 1/2 to 3/4 in)"
            yield Finding("fill_line_narrow", f"lines.{name}", why, fix, Severity.WARNING)


@rule
def pump_too_fast(car: Car, day: Day | None) -> Iterator[Finding]:
    """A belt pump turned faster than the trade has run without trouble: look at its suction margin."""
    for name, pump in car.pumps.items():
        if isinstance(pump, BeltPump):
            speed = pump.speed_ratio * car.engine.rated_speed
            if speed > FAST_PUMP:
                why = f"{show_rotation(speed)} at rated engine speed is above the 9500 rpm known to run without trouble"
                fix = "lower the ratio, or show that the suction margin holds: sim1d run"
                yield Finding("pump_too_fast", f"{name}.ratio", why, fix, Severity.WARNING)


@rule
def pump_out_of_order(car: Car, day: Day | None) -> Iterator[Finding]:
    """A pump that the description itself leaves standing, or a line that it leaves shut."""
    for name, pump in car.pumps.items():
        if isinstance(pump, BeltPump) and not pump.belt_on:
            yield Finding(
                "pump_out_of_order", f"{name}.belt_on", "the belt is off", "set belt_on = true", Severity.FAULT
            )
        if isinstance(pump, ElectricPump) and pump.failed:
            yield Finding(
                "pump_out_of_order", f"{name}.failed", "the pump stands", "set failed = false", Severity.FAULT
            )
    for name, line in car.lines.items():
        if line.blocked:
            fix = "clear it, or set blocked = false"
            yield Finding("pump_out_of_order", f"lines.{name}.blocked", "nothing passes", fix, Severity.FAULT)


@rule
def no_run_on(car: Car, day: Day | None) -> Iterator[Finding]:
    """After a pass the metal is hotter than the coolant: without flow the coolant boils when the engine stops."""
    if day is None:
        return
    electric = [name for name, pump in car.pumps.items() if isinstance(pump, ElectricPump)]
    after_pass = False
    for index, phase in enumerate(day.phases):
        after_pass = after_pass or phase.role is Role.PASS
        if not after_pass or phase.engine_runs or phase.role is Role.PASS:
            continue
        where = f"phases.{index}"
        if electric and not phase.electric_pump:
            why = f"engine and {' and '.join(electric)} are off in {phase.name} of round {phase.round}: after-boil"
            yield Finding("no_run_on", where, why, "set electric_pump = true in that phase", Severity.WARNING)
        elif not electric:
            why = f"engine and belt pump stand in {phase.name} of round {phase.round}: watch the after-boil"
            fix = "let the engine idle for a minute first, or add an electric pump"
            yield Finding("no_run_on", where, why, fix, Severity.NOTE)
        after_pass = False
