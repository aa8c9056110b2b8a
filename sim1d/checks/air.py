"""Can air leave, and where would it stay?"""

from collections.abc import Iterator

from sim1d import wiring
from sim1d.car import Car
from sim1d.checks.layout import smallest_bore
from sim1d.checks.rule import Finding, Severity, rule
from sim1d.day import Day
from sim1d.display import show_length
from sim1d.parts.cap import CapPlace
from sim1d.parts.coolant import Fluid
from sim1d.parts.engine import BANKS
from sim1d.parts.fitting import FittingKind

LEVEL = 0.005  # m: a fall smaller than this is no crest, it is how the car stands
POCKET = 0.020  # m: an opening this far below the top of a head still takes most of its air


@rule
def tank_not_highest(car: Car, day: Day | None) -> Iterator[Finding]:
    """The cold surface of the tank must stand above every place that must be full of coolant."""
    tank = car.expansion_tank
    level, where = (tank.level_z, "expansion_tank.base_z") if tank is not None else (car.cap_z, "cap.at")
    tops = {"engine.head": car.engine.head_top_z}
    if car.radiator is not None:
        tops["radiator"] = car.radiator.top_z
    tops |= {name: part.z for name, part in {**car.exchangers, **car.junctions}.items()}
    above = {name: z for name, z in tops.items() if z > level + LEVEL and (tank is not None or name != "radiator")}
    if above:
        names = ", ".join(f"{name} ({show_length(z - level)} above)" for name, z in sorted(above.items()))
        surface = "the cold level of the tank" if tank is not None else "the neck it is filled at"
        fix = "raise the tank and its cap above them" if tank is not None else "add an expansion tank above them"
        yield Finding("tank_not_highest", where, f"{surface} is below {names}: air stays there", fix, Severity.FAULT)


def _escapes(car: Car) -> set[str]:
    """Ports from which air can rise to the tank, the neck or a bleed screw without ever going down again."""
    top = 0.0
    ends = []
    if car.expansion_tank is not None:
        ends += [name for name in car.ports if name.startswith("expansion_tank.")]
    if car.cap.at is CapPlace.RADIATOR:
        top = car.cap_z
        ends += [name for name, port in car.ports.items() if name.startswith("radiator.") and port.z <= top + LEVEL]
    free = set(ends)
    edges = wiring.all_edges(car)
    for line in car.lines.values():
        if any(fitting.kind is FittingKind.BLEED_SCREW for fitting in line.fittings):
            free |= {line.start, line.end}
    growing = True
    while growing:
        growing = False
        for start, end, name in edges:
            for low, high in ((start, end), (end, start)):
                if high in free and low not in free and name != "engine" and _rises(car, low, high, name):
                    free.add(low)
                    growing = True
    return free


def _rises(car: Car, low: str, high: str, name: str) -> bool:
    lowest, highest = car.ports[low].z, car.ports[high].z
    if name.startswith("lines."):
        bottom, crest = car.line_heights(name.removeprefix("lines."))
        return highest >= lowest - LEVEL and crest <= highest + LEVEL and bottom >= lowest - LEVEL
    return highest >= lowest - LEVEL


@rule
def no_way_for_air(car: Car, day: Day | None) -> Iterator[Finding]:
    """From both ends of every head, and from radiator and exchangers, air must rise all the way to tank or bleed."""
    free = _escapes(car)
    for bank in BANKS:
        zones = {
            "front": (f"engine.{bank}.front", f"engine.{bank}.front_vent", "engine.crossover"),
            "rear": (f"engine.{bank}.rear", f"engine.{bank}.rear_vent"),
        }
        open_zones = {
            zone: [
                port
                for port in ports
                if port in free and port not in car.plugged and car.ports[port].z >= car.engine.head_top_z - POCKET
            ]
            for zone, ports in zones.items()
        }
        for zone in zones:
            if not open_zones[zone]:
                other = "rear" if zone == "front" else "front"
                severity = Severity.WARNING if open_zones[other] else Severity.FAULT
                why = (
                    f"air at the {zone} of the {bank} head finds no rising way to the tank or a bleed, and stays there"
                )
                fix = f"run a rising line from {zones[zone][1]} to the top of the tank, or fill with the {zone} raised"
                yield Finding("no_way_for_air", f"engine.{bank}.{zone}_vent", why, fix, severity)
    for name in ("radiator", *car.exchangers):
        ports = [port for port in car.ports if port.partition(".")[0] == name]
        if ports and not any(port in free for port in ports):
            why = "air at its top finds no rising way to the tank or a bleed"
            fix = "give it a vent line to the tank, or a bleed screw at its highest point"
            yield Finding("no_way_for_air", name, why, fix, Severity.WARNING)


def buoyancy_bore(car: Car) -> float:
    """Bore (m) below which a long bubble does not rise in a standing vertical tube (Bretherton 1961: Eotvos 3.37).

    5.0 mm for water at 20 degC; 4.0 mm for 50 % glycol, whose surface tension is lower; linear between.
    """
    return 0.0050 if car.coolant.fluid is Fluid.WATER else 0.0050 - 0.0020 * min(car.coolant.fraction, 0.5)


@rule
def vent_too_narrow(car: Car, day: Day | None) -> Iterator[Finding]:
    """A vent narrower than the buoyancy limit lets no air up while the coolant stands: the fill never ends."""
    limit = buoyancy_bore(car)
    for name, line in car.lines.items():
        vents = [
            port for port in (line.start, line.end) if port.endswith("vent") and not port.startswith("expansion_tank")
        ]
        bore = min([smallest_bore(line), *(car.ports[port].bore for port in vents)])
        if vents and bore < limit - 1e-6:
            why = f"{show_length(bore)} is below {show_length(limit)}: bubbles stick in it until coolant flows"
            fix = f"use a vent of at least {show_length(limit)}, or bleed with the pump running"
            yield Finding("vent_too_narrow", f"lines.{name}", why, fix, Severity.WARNING)


@rule
def high_loop(car: Car, day: Day | None) -> Iterator[Finding]:
    """A line that rises above both its ends holds air at its crest; above the cap it can never be full."""
    for name, line in car.lines.items():
        ends = max(car.ports[line.start].z, car.ports[line.end].z)
        crest = car.line_heights(name)[1]
        bled = any(fitting.kind is FittingKind.BLEED_SCREW for fitting in line.fittings)
        vent = any(port.startswith("expansion_tank.vent") for port in (line.start, line.end))
        if crest > car.cap_z + LEVEL and crest > ends + LEVEL:
            why = f"its crest is {show_length(crest - car.cap_z)} above the cap: it cannot be filled"
            fix = "route it below the cap, or raise tank and cap above it"
            yield Finding("high_loop", f"lines.{name}", why, fix, Severity.FAULT)
        elif crest > ends + 0.03 and not bled and not vent:
            why = f"its crest is {show_length(crest - ends)} above its ends: air stays there"
            yield Finding("high_loop", f"lines.{name}", why, "route it without a crest, or put a bleed screw there")


@rule
def air_left(car: Car, day: Day | None) -> Iterator[Finding]:
    """Air that the description leaves in the circuit: every temperature nearby is wrong until it is out."""
    for cavity, volume in car.trapped_air.items():
        if volume > 0:
            why = f"{volume * 1000:.2g} L of air is left there: dry metal, and a spring that hides the level"
            yield Finding("air_left", f'trapped_air."{cavity}"', why, "bleed it: sim1d fill shows how", Severity.FAULT)
