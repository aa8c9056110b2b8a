"""The pressure cap: where it sits, how high it is rated, and where it blows to."""

from collections.abc import Iterator

from sim1d.car import Car
from sim1d.checks.layout import highest_rise
from sim1d.checks.rule import Finding, Severity, rule
from sim1d.day import Day
from sim1d.display import show_pressure
from sim1d.parts.cap import CapCondition, CapPlace

LOW, HIGH = 48e3, 221e3  # Pa gauge, 7 and 32 psi: road caps reach 13 to 18 psi, racing caps 32 (common practice)


@rule
def cap_on_pressure_side(car: Car, day: Day | None) -> Iterator[Finding]:
    """A cap on the inlet tank of the radiator feels part of the pump's rise and opens early at high speed."""
    if car.cap.at is not CapPlace.RADIATOR:
        return
    rise = 0.35 * highest_rise(car)
    why = (
        "the cap sits on the pump's pressure side: at full speed the pump alone adds about "
        f"{show_pressure(rise, '')} there (a third of its rise, estimated), so it opens that much early"
    )
    fix = "put the cap on an expansion tank whose fill line is teed at the pump's suction"
    yield Finding("cap_on_pressure_side", "cap.at", why, fix, Severity.WARNING)


@rule
def cap_rating(car: Car, day: Day | None) -> Iterator[Finding]:
    """A cap outside what the trade uses: too low boils early, too high leans on parts nobody rated for it."""
    opening = car.cap.opening
    if opening < LOW:
        why = f"{show_pressure(opening)} keeps little more than open-pot boiling away"
        yield Finding("cap_rating", "cap.opening", why, "use the highest rating that the weakest part accepts")
    elif opening > HIGH:
        why = f"{show_pressure(opening)} is above the caps in use (to {show_pressure(HIGH)})"
        yield Finding("cap_rating", "cap.opening", why, "choose by the weakest part, not by the cap: sim1d sheets")


@rule
def cap_condition(car: Car, day: Day | None) -> Iterator[Finding]:
    """A cap that is worn or stuck."""
    if car.cap.condition is CapCondition.GOOD:
        return
    words = {
        CapCondition.WORN: f"it opens at {show_pressure(car.cap.opens)} instead of its rating",
        CapCondition.STUCK_SHUT: "it never opens: the weakest part becomes the valve",
        CapCondition.STUCK_OPEN: "it never holds: the circuit boils like an open pot",
    }
    why = words[car.cap.condition]
    yield Finding("cap_condition", "cap.condition", why, "replace the cap and test it cold", Severity.FAULT)


@rule
def no_catch_tank(car: Car, day: Day | None) -> Iterator[Finding]:
    """What leaves by the cap must not reach the track: most rulebooks ask for a catch tank."""
    if car.recovery_tank is None:
        why = "what leaves by the cap ends on the track, under the tyres"
        fix = "add [recovery_tank]; its least volume stands in the rulebook (one track: 0.47 L, 16 oz)"
        yield Finding("no_catch_tank", "recovery_tank", why, fix, Severity.FAULT)
