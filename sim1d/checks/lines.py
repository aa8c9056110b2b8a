"""Are the lines as wide as the trade makes them?"""

import math
from collections.abc import Iterator

from sim1d.car import Car
from sim1d.checks.layout import VENT_BORE, smallest_bore
from sim1d.checks.rule import Finding, Severity, rule
from sim1d.day import Day
from sim1d.display import show_length
from sim1d.units import DASH_BORE_IN

MAIN = (
    DASH_BORE_IN[16] * 0.0254
)  # m: dash 16 is the least that is accepted for feed and return of a V8 (common practice)
HEATER = DASH_BORE_IN[10] * 0.0254  # m: dash 10 for heater lines


@rule
def main_line_narrow(car: Car, day: Day | None) -> Iterator[Finding]:
    """The lines at a main port, taken together, should be as wide as one dash 16 on a V8, in proportion on others."""
    least = MAIN * math.sqrt(2 * car.engine.cylinders_per_bank / 8)
    ports = [
        *(f"{pump}.{end}" for pump in car.pumps for end in ("suction", "discharge")),
        "radiator.inlet",
        "radiator.outlet",
    ]
    for port in ports:
        names = [name for name in car.lines_at.get(port, ()) if "expansion_tank" not in car.lines[name].end]
        names = [name for name in names if "expansion_tank" not in car.lines[name].start]
        bores = [smallest_bore(car.lines[name]) for name in names]
        together = math.sqrt(sum(bore**2 for bore in bores if bore > VENT_BORE))
        if names and together < 0.98 * least:
            why = f"{' and '.join(names)} at {port} pass like one bore of {show_length(together)}"
            fix = f"use at least {show_length(least)} (dash 16 on a V8, common practice), and measure the bore"
            yield Finding("main_line_narrow", f"lines.{names[0]}", why, fix, Severity.WARNING)


@rule
def heater_line_narrow(car: Car, day: Day | None) -> Iterator[Finding]:
    """Heater lines below dash 10 throttle a branch that should also let air through."""
    heaters = [name for name in car.exchangers if name.endswith("heater")]
    for name, line in car.lines.items():
        ends = {port.partition(".")[0] for port in (line.start, line.end)}
        bore = smallest_bore(line)
        if ends & set(heaters) and bore < 0.98 * HEATER:
            why = f"{show_length(bore)} is below dash 10"
            fix = "use dash 10 (12.7 mm) or more, or remove the heater"
            yield Finding("heater_line_narrow", f"lines.{name}", why, fix, Severity.NOTE)


@rule
def bore_not_measured(car: Car, day: Day | None) -> Iterator[Finding]:
    """A dash size is no bore: the quoted n/16 in is up to a fifth wider than the hose."""
    names = [name for name, line in car.lines.items() if line.bore is None and line.size is not None and line.size.dash]
    if names:
        why = f"the bore of {', '.join(names)} is taken from the dash size (SAE 100R5 type), not measured"
        yield Finding("bore_not_measured", f"lines.{names[0]}", why, "measure it and give bore", Severity.NOTE)
