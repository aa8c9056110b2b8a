"""What joins what: the problems of a plumbing that no single part can see, and the ways coolant can take."""

import math
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from sim1d.display import show_volume
from sim1d.errors import DescriptionError, Problem
from sim1d.parts.cap import CapPlace
from sim1d.parts.engine import Engine
from sim1d.paths import get_value
from sim1d.reading import nearest

if TYPE_CHECKING:
    from sim1d.car import Car

Edge = tuple[str, str, str]  # port, port, what joins them: "lines.NAME" or the name of a part


def plumbing_problems(car: "Car") -> list[Problem]:
    """Problems that follow from names and connections alone, whatever the numbers are."""
    return [
        *_names(car),
        *_line_ends(car),
        *_open_ports(car),
        *_plugs(car),
        *_places(car),
        *_circuits(car),
    ]


def _names(car: "Car") -> list[Problem]:
    problems = []
    if not car.pumps:
        problems.append(Problem("pump", "there is no pump", "add a table [pump] with kind, curve and place"))
    for name in car.junctions:
        others = set(car.parts) - set(car.junctions) | {"lines", "sensors", "junctions"}
        if name in others or "." in name:
            problems.append(
                Problem(f"junctions.{name}", "its name is taken", "give the junction another name, without dots")
            )
    for name in car.lines:
        if "." in name:
            problems.append(Problem(f"lines.{name}", "its name has a dot in it", "use letters, digits, _ and -"))
    return problems


def _line_ends(car: "Car") -> list[Problem]:
    problems = []
    ports = [name for name in car.ports if name not in car.plugged]
    pairs: dict[frozenset[str], str] = {}
    for name, line in car.lines.items():
        for key, port in (("from", line.start), ("to", line.end)):
            if port in car.plugged:
                local = port.removeprefix("engine.")
                fix = f'take "{local}" out of engine.plugged, or end the line elsewhere'
                problems.append(Problem(f"lines.{name}.{key}", f'"{port}" is plugged', fix))
            elif port not in car.ports:
                problems.append(
                    Problem(
                        f"lines.{name}.{key}",
                        f'there is no port "{port}"',
                        nearest(port, ports or ["engine.left.front"]),
                    )
                )
        pair = frozenset((line.start, line.end))
        if pair in pairs:
            what = f"joins the same two ports as lines.{pairs[pair]}"
            problems.append(
                Problem(f"lines.{name}", what, "remove one of them, or let one end at another port or a junction")
            )
        pairs.setdefault(pair, name)
    return problems


def _open_ports(car: "Car") -> list[Problem]:
    problems = []
    for name, port in car.ports.items():
        if name in car.plugged or not port.must_plumb:
            continue
        used = len(car.lines_at.get(name, ()))
        if name in car.junctions:
            if used < 2:
                fix = "let at least two lines end at it, or remove it"
                problems.append(
                    Problem(f"junctions.{name}", f"is the end of {used or 'no'} line{'s' * (used != 1)}", fix)
                )
        elif used == 0:
            part, _, local = name.partition(".")
            fix = f'let a line start or end at "{name}"'
            if part == "engine":
                fix += f', or add "{local}" to engine.plugged'
            problems.append(Problem(name, "is neither plumbed nor plugged", fix))
    return problems


def _plugs(car: "Car") -> list[Problem]:
    local = list(car.engine.ports())
    return [
        Problem("engine.plugged", f'the engine has no port "{name}"', nearest(name, local))
        for name in car.engine.plugged
        if name not in local
    ]


def _places(car: "Car") -> list[Problem]:
    problems = []
    if car.cap.at is CapPlace.EXPANSION_TANK and car.expansion_tank is None:
        problems.append(Problem("cap.at", "there is no expansion tank", 'add [expansion_tank], or say at = "radiator"'))
    if car.cap.at is CapPlace.RADIATOR and car.radiator is None:
        problems.append(Problem("cap.at", "there is no radiator", 'add [radiator], or say at = "expansion_tank"'))
    for name, sensor in car.sensors.items():
        if sensor.at not in car.points:
            plugged = " (that port is plugged)" if sensor.at in car.plugged else ""
            what = f'there is no place "{sensor.at}" for a sensor{plugged}'
            problems.append(Problem(f"sensors.{name}.at", what, nearest(sensor.at, list(car.points))))
    for cavity in car.trapped_air:
        if cavity not in car.cavities:
            problems.append(
                Problem(f'trapped_air."{cavity}"', "there is no such cavity", nearest(cavity, list(car.cavities)))
            )
    written = car.to_file() if car.bands else {}
    for path, (low, high) in car.bands.items():
        where = f'bands."{path}"'
        try:
            value = get_value(written, path)
        except DescriptionError:
            what = "this file gives no such value"
            problems.append(Problem(where, what, "write the value that was measured as well"))
            continue
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            problems.append(Problem(where, "that is no number", "bands are of numbers"))
        elif not -math.inf < low < high < math.inf:
            problems.append(Problem(where, f"{low:g} is not below {high:g}", "write the lower end first"))
    for cylinder in car.head_gasket.cylinders:
        if cylinder not in car.engine.cylinders:
            fix = nearest(cylinder, list(car.engine.cylinders))
            problems.append(Problem("head_gasket.cylinders", f'there is no cylinder "{cylinder}"', fix))
    return problems


def _circuits(car: "Car") -> list[Problem]:
    """Every pump must feed a closed circuit; only judged when all lines end somewhere."""
    if any(port not in car.ports for line in car.lines.values() for port in (line.start, line.end)):
        return []
    problems = []
    edges = [edge for edge in all_edges(car, blocked=True) if edge[2] not in car.pumps]
    for name in car.pumps:
        if f"{name}.suction" not in reach(edges, [f"{name}.discharge"]):
            what = "what it delivers finds no way back to its suction"
            problems.append(Problem(name, what, "close the circuit: discharge, engine, radiator, suction"))
    for bank in ("left", "right"):
        ways = [edge for edge in edges if edge[2].startswith("lines.")]
        ends = {port for edge in ways for port in edge[:2]}
        if not any(port.startswith(f"engine.{bank}.") for port in ends):
            problems.append(
                Problem(f"engine.{bank}", "no line reaches this bank", "plumb its inlet and at least one outlet")
            )
    return problems


def geometry_problems(car: "Car") -> list[Problem]:
    """Problems of lengths and heights, of the lines whose ports exist."""
    problems = []
    for name, line in car.lines.items():
        if line.start not in car.ports or line.end not in car.ports:
            continue
        distance = car.distance(name)
        if line.length is not None and line.length < distance - 1e-9:
            what = f"{line.length:.3g} m is shorter than the {distance:.3g} m between its ends"
            problems.append(
                Problem(f"lines.{name}.length", what, "give the developed length, or leave length out and give slack")
            )
        if line.restrictor is not None and line.restrictor > line.inner_diameter:
            what = "the restrictor is wider than the line"
            problems.append(
                Problem(f"lines.{name}.restrictor", what, "give a bore below that of the line, or remove it")
            )
        low, high = car.line_heights(name)
        if high - low > car.line_length(name):
            what = "is shorter than from its lowest to its highest point"
            problems.append(Problem(f"lines.{name}", what, "check length, high_z and low_z"))
    return [*problems, *_air_problems(car)]


def _air_problems(car: "Car") -> list[Problem]:
    """Air left in a cavity must fit into it."""
    adrift = {f"lines.{n}" for n, line in car.lines.items() if not {line.start, line.end} <= set(car.ports)}
    room = {place: car.room(place) for place in set(car.cavities) & set(car.trapped_air) - adrift}
    return [
        Problem(
            f'trapped_air."{cavity}"',
            f"{show_volume(volume)} of air do not fit into {show_volume(room[cavity])}",
            "give at most the volume of the cavity, or name the next one as well",
        )
        for cavity, volume in car.trapped_air.items()
        if volume > room.get(cavity, math.inf) * (1 + 1e-9)
    ]


# Ways that coolant can take -------------------------------------------------------------------------------------


def inner_edges(name: str, part: Any, plugged: frozenset[str]) -> list[Edge]:
    """Ports of one part that coolant can pass between inside it, the plugged ones left out."""
    local = [port for port in part.ports() if f"{name}.{port}" not in plugged]
    full = [f"{name}.{port}" for port in local]
    if not isinstance(part, Engine):
        return [(full[0], other, name) for other in full[1:]]
    edges: list[Edge] = []
    for bank in ("left", "right"):
        own = [f"{name}.{port}" for port in local if port.startswith(bank)]
        edges += [(own[0], other, name) for other in own[1:]]
        if "crossover" in local and own:
            edges.append((own[0], f"{name}.crossover", name))
    return edges


def all_edges(car: "Car", *, blocked: bool = False) -> list[Edge]:
    """Every way from port to port: inside the parts, and by lines; `blocked`: those that a fault has shut as well."""
    solid = [(name, part) for name, part in car.parts.items() if name not in car.junctions]
    inside = [edge for name, part in solid for edge in inner_edges(name, part, car.plugged)]
    shut = {name for name, part in car.exchangers.items() if part.blocked and not blocked}
    lines = [(line.start, line.end, f"lines.{name}") for name, line in car.lines.items() if blocked or not line.blocked]
    return [edge for edge in inside if edge[2] not in shut] + lines


def reach(
    edges: Iterable[Edge], starts: Iterable[str], may_pass: Callable[[Edge], bool] | None = None
) -> dict[str, Edge]:
    """Ports that can be reached from `starts`, each with the edge it was reached by (starts map to an empty edge)."""
    beside: dict[str, list[Edge]] = {}
    for edge in edges:
        if may_pass is None or may_pass(edge):
            beside.setdefault(edge[0], []).append(edge)
            beside.setdefault(edge[1], []).append((edge[1], edge[0], edge[2]))
    found: dict[str, Edge] = {start: ("", "", "") for start in starts}
    waiting = list(found)
    while waiting:
        for edge in beside.get(waiting.pop(), ()):
            if edge[1] not in found:
                found[edge[1]] = edge
                waiting.append(edge[1])
    return found


def way_to(reached: dict[str, Edge], port: str) -> list[str]:
    """What is passed on the way that `reach` took to a port: line and part names, from the start on."""
    way: list[str] = []
    while reached[port][0]:
        way.append(reached[port][2])
        port = reached[port][0]
    return way[::-1]
