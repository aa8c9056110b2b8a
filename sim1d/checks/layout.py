"""What the checks ask of a layout: how a line throttles, which outlets a bank has, which lines carry flow."""

import math
from collections.abc import Iterator

from sim1d import wiring
from sim1d.car import Car
from sim1d.parts.line import Line
from sim1d.parts.pump import Pump

VENT_BORE = 0.008  # m: what is narrower carries air and a bleed, not the flow of a bank
MAIN_OUTLETS = ("front", "middle", "rear")


def smallest_bore(line: Line) -> float:
    """Narrowest place of a line, m: bore, restrictor or a fitting with a bore of its own."""
    fittings = [fitting.bore for fitting in line.fittings if fitting.bore is not None]
    return min([line.inner_diameter, *fittings, *([line.restrictor] if line.restrictor is not None else [])])


def conductance(car: Car, name: str) -> float:
    """Flow of a line per square root of pressure drop, relative: area over the root of its loss coefficient.

    Wall friction 0.02 L/D and entry and exit 1.5; enough to compare lines, not to predict a flow.
    """
    line = car.lines[name]
    if line.blocked:
        return 0.0
    area = math.pi / 4 * line.inner_diameter**2
    friction = 0.02 * line.friction_multiplier * car.line_length(name) / line.inner_diameter
    loss = 1.5 + friction + sum(fitting.forward for fitting in line.fittings)
    loss += (line.inner_diameter / (smallest_bore(line) * 0.9)) ** 4 - (1 / 0.9) ** 4
    return area / math.sqrt(max(loss, 0.1))


def bank_ports(car: Car, bank: str) -> Iterator[tuple[str, str]]:
    """(full name, local name) of the open openings of a head; the shared crossover counts for both banks."""
    for local in (*MAIN_OUTLETS, "front_vent", "rear_vent"):
        full = f"engine.{bank}.{local}"
        if full in car.ports and full not in car.plugged:
            yield full, local
    if "engine.crossover" in car.ports and "engine.crossover" not in car.plugged:
        yield "engine.crossover", "crossover"


def open_outlets(car: Car, bank: str) -> list[str]:
    """Main outlets of a bank by which coolant can really go back to a pump: plumbed, not blocked, not vent-sized."""
    edges = [edge for edge in wiring.all_edges(car) if edge[2] != "engine"]
    suctions = [f"{name}.suction" for name in car.pumps]
    reached = wiring.reach([edge for edge in edges if edge[2] not in car.pumps], suctions)
    found = []
    for port, local in bank_ports(car, bank):
        wide = [
            name
            for name in car.lines_at.get(port, ())
            if not car.lines[name].blocked and smallest_bore(car.lines[name]) > VENT_BORE
        ]
        if wide and port in reached and "vent" not in local and car.ports[port].bore > VENT_BORE:
            found.append(port)
    return found


def bank_conductance(car: Car, bank: str) -> float:
    """Sum of `conductance` of all lines at a bank's own outlets and vents."""
    own = [port for port, local in bank_ports(car, bank) if local != "crossover"]
    return sum(conductance(car, name) for port in own for name in car.lines_at.get(port, ()))


def live_lines(car: Car) -> set[str]:
    """Lines that coolant can flow through: those that lie on a closed circuit (not a dead leg)."""
    edges = wiring.all_edges(car)
    live = set()
    for index, (start, end, name) in enumerate(edges):
        if name.startswith("lines."):
            others = edges[:index] + edges[index + 1 :]
            if end in wiring.reach(others, [start]):
                live.add(name.removeprefix("lines."))
    return live


def rated_rise(car: Car, pump: Pump) -> float:
    """Pressure rise of a pump at no flow and rated engine speed, Pa (an electric pump: at its reference speed)."""
    shutoff = pump.curve()[0]
    ratio = getattr(pump, "speed_ratio", None)
    if ratio is None:
        return shutoff
    return shutoff * (ratio * car.engine.rated_speed / pump.reference_speed) ** 2


def highest_rise(car: Car) -> float:
    """Largest pressure rise of any pump, Pa."""
    return max((rated_rise(car, pump) for pump in car.pumps.values()), default=0.0)


# Share of the pump's rise that stands at a place above the suction, with the tank teed at the suction: worked example
# of a closed circuit with assumed drops (block 0.15, heads 0.25, outlets 0.15, hoses and core 0.45 of the rise).
_SHARES = {"discharge": 1.0, "inlet": 1.0, "suction": 0.0}


def pump_share(car: Car, port: str) -> float:
    """Estimated share (0 to 1) of the pump's rise that a port feels above the suction."""
    part, _, local = port.partition(".")
    if part == "expansion_tank":
        return 0.0
    if part in car.pumps:
        return _SHARES[local]
    if part == "radiator":
        return 0.10 if local == "outlet" else 0.35
    if part == "engine":
        return 1.0 if local.endswith("inlet") else 0.85 if "block" in local else 0.65
    return 0.65
