"""What a layout check is: a function over a car (and, where it helps, a day) that yields findings."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import Enum

from sim1d.car import Car
from sim1d.day import Day


class Severity(Enum):
    """How much a finding weighs; the value is the word a user reads."""

    FAULT = "fault"  # the layout will starve, boil, burst or spill
    WARNING = "warning"  # it costs margin, or fails when something else goes wrong
    NOTE = "note"  # worth knowing; margin unknown


@dataclass(frozen=True)
class Finding:
    """One thing a check found: the rule, the path it concerns, why it matters, and what would be better."""

    rule: str
    where: str
    why: str
    fix: str
    severity: Severity = Severity.WARNING

    def __str__(self) -> str:
        return f"{self.severity.value}: {self.where}: {self.why}. Fix: {self.fix} [{self.rule}]"


Rule = Callable[[Car, Day | None], Iterator[Finding]]
RULES: dict[str, Rule] = {}


def rule(function: Rule) -> Rule:
    """Register a check; its name is the name of the rule in every finding it yields."""
    RULES[function.__name__] = function
    return function
