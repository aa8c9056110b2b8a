"""Do both banks get rid of their coolant, and alike?"""

from collections.abc import Iterator

from sim1d.car import Car
from sim1d.checks.layout import MAIN_OUTLETS, bank_conductance, bank_ports, open_outlets
from sim1d.checks.rule import Finding, Severity, rule
from sim1d.day import Day
from sim1d.parts.engine import BANKS


@rule
def plugged_outlet(car: Car, day: Day | None) -> Iterator[Finding]:
    """A bank whose main outlets are all plugged, blocked or unplumbed keeps only its vents: it starves and boils."""
    for bank in BANKS:
        if open_outlets(car, bank):
            continue
        shut = [port for port in car.plugged if port.startswith(f"engine.{bank}.") and "vent" not in port]
        vents = [local for _, local in bank_ports(car, bank) if "vent" in local]
        left = f"only {' and '.join(vents)} are left" if vents else "nothing is left"
        why = f"no main outlet of the {bank} head leads back to a pump ({left}): its coolant stands and boils"
        fix = (
            f"open one of {', '.join(sorted(shut))}"
            if shut
            else "plumb an outlet of that head, and check blocked lines"
        )
        yield Finding("plugged_outlet", f"engine.{bank}", why, fix, Severity.FAULT)


@rule
def banks_unequal(car: Car, day: Day | None) -> Iterator[Finding]:
    """The outlets of one bank throttle more than those of the other, so that flow prefers one bank."""
    left, right = (bank_conductance(car, bank) for bank in BANKS)
    if max(left, right) == 0.0:
        return
    spread = abs(left - right) / max(left, right)
    if spread < 0.15:
        return
    poor = "left" if left < right else "right"
    why = f"the outlets of the {poor} bank pass {spread:.0%} less than those of the other at the same pressure drop"
    fix = "use the same outlets, bores, lengths and fittings on both banks"
    severity = Severity.FAULT if spread > 0.5 else Severity.WARNING
    yield Finding("banks_unequal", f"engine.{poor}", why, fix, severity)


@rule
def single_outlet(car: Car, day: Day | None) -> Iterator[Finding]:
    """A head that leaves by one end only, though it has an opening at the other."""
    for bank in BANKS:
        outlets = open_outlets(car, bank)
        unused = [f"engine.{bank}.{local}" for local in MAIN_OUTLETS if f"engine.{bank}.{local}" in car.plugged]
        if len(outlets) == 1 and unused:
            why = f"the {bank} head leaves by {outlets[0]} alone: its far cylinders get what the gallery brings"
            fix = f"compare the cylinders of a run with {', '.join(unused)} plumbed: sim1d ports"
            yield Finding("single_outlet", f"engine.{bank}", why, fix, Severity.NOTE)
