"""The coolant: frost, the track's rules, and room to swell."""

from collections.abc import Iterator

from sim1d.car import Car
from sim1d.checks.rule import Finding, Severity, rule
from sim1d.day import Day
from sim1d.display import show_temperature, show_volume
from sim1d.parts.coolant import Fluid

SWELL = 0.0378  # growth of water from 20 to 95 degC (IAPWS-95); 50 % glycol 0.045


@rule
def coolant_freezes(car: Car, day: Day | None) -> Iterator[Finding]:
    """Coolant that freezes cracks the block; water does so on the way home."""
    freezing = car.coolant.freezing
    if day is not None and min(day.ambient_temperature, day.start) < freezing + 3:
        air = show_temperature(day.ambient_temperature)
        why = f"it freezes at {show_temperature(freezing)} and the day starts at {air}"
        yield Finding("coolant_freezes", "coolant", why, "use glycol, or drain it", Severity.FAULT)
    elif freezing > 268.0:
        why = f"it freezes at {show_temperature(freezing)}: drain it, or change to glycol, for storage and transport"
        yield Finding("coolant_freezes", "coolant", why, "note it on the log book", Severity.NOTE)


@rule
def glycol_on_track(car: Car, day: Day | None) -> Iterator[Finding]:
    """Many tracks ban glycol or limit it: slippery, and slow to clean."""
    if car.coolant.fluid is not Fluid.WATER:
        why = "many tracks ban or limit glycol: it is slippery and slow to clean up, and poisonous to animals"
        yield Finding("glycol_on_track", "coolant.fluid", why, "ask your track before the season", Severity.WARNING)


@rule
def no_room_to_swell(car: Car, day: Day | None) -> Iterator[Finding]:
    """The gas of the tank must be about twice the swell of the coolant, or the cap spills on every heat."""
    swell = SWELL * (1 + 0.4 * car.coolant.fraction) * car.volume
    if car.expansion_tank is None:
        recovers = car.recovery_tank is not None and car.recovery_tank.kind.value == "recovery"
        if not recovers:
            why = (
                f"the coolant swells by {show_volume(swell)} to 95 C and has no gas space: that much leaves by the cap"
            )
            fix = "add an expansion tank, or a recovery tank that gives it back"
            yield Finding("no_room_to_swell", "expansion_tank", why, fix, Severity.WARNING)
    elif car.expansion_tank.gas < 2 * swell:
        why = (
            f"{show_volume(car.expansion_tank.gas)} of gas for a swell of {show_volume(swell)}: pressure rises steeply"
        )
        fix = f"leave at least {show_volume(2 * swell)} of gas when filling cold, or use a larger tank"
        yield Finding("no_room_to_swell", "expansion_tank.liquid", why, fix, Severity.WARNING)
