"""Layout checks: one function per rule, no simulation needed. `check(car)` runs them all."""

from sim1d.car import Car
from sim1d.checks import air, cap, coolant, lines, outlets, pump, ratings, sensors, thermostat
from sim1d.checks.rule import RULES, Finding, Severity
from sim1d.day import Day

_MODULES = (
    air,
    cap,
    coolant,
    lines,
    outlets,
    pump,
    ratings,
    sensors,
    thermostat,
)  # importing them registers their rules


def check(car: Car, day: Day | None = None) -> list[Finding]:
    """Findings of every rule on a car (and, where given, on its day), the gravest first."""
    order = list(Severity)
    found = [finding for rule in RULES.values() for finding in rule(car, day)]
    return sorted(found, key=lambda finding: order.index(finding.severity))


__all__ = ["RULES", "Finding", "Severity", "check"]
