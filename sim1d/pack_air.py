"""Where gas can stand in a packed car, how much of it is there at the start, and which ways it can take."""

import math
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.build import Build
from sim1d.physics.air_transport import clearing_speed, least_vent_bore, long_bubble_speed
from sim1d.physics.ambient import AIR_GAS_CONSTANT

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day

CAP_DEAD = 5.0e-6  # m3 of gas under a cap below which it passes liquid
LEAST_AIR = 1.0e-8  # kg in the first gas space of a circuit without a tank, so that its law stays regular
LEVEL = 0.005  # m: a fall smaller than this is level
CREST = 0.02  # m by which a line must rise above both ends to hold air
SAFETY = 1.1  # on clearing speeds (Escarameia 2005, recalled)
COUNTER = 0.25  # share of a tube's section that a train of rising long bubbles fills (assumed)
SPILL = 0.2  # m/s of a long bubble in a 40 mm bore (assumed); of it a full place pushes a part, see `air.pushed_out`
BLOCKED = 1.0e7  # loss coefficient from which a way counts as shut to gas


def gas_spaces(
    build: Build, car: "Car", day: "Day", index: Mapping[str, int], point: Callable[[str], int],
    cells: Mapping[str, tuple[int, int]], node: np.recarray, vapour: float, air: Mapping[str, float],
) -> tuple[list[dict[str, Any]], np.ndarray]:  # fmt: skip
    """POCKET rows (the tank's or the cap's first) and the volume (m3) that trapped air takes from each node.

    `air` is what was left in the circuit (m3 at ambient pressure, by place); `vapour` Pa at the sealing temperature.
    """
    trapped = np.zeros(len(node))
    gas = AIR_GAS_CONSTANT * day.sealed_at
    pressure = day.ambient_pressure
    places: dict[int, dict[str, Any]] = {}

    # where hoses meet, the bore is the section; a chamber or a tank is as wide as it is high
    chambers = {index[name] for name in build.lags} | {index[n] for n in index if n.startswith("radiator.")}
    section: dict[int, float] = {}
    for name, branch in build.branches.items():
        inner = [_middle(cells[name])] if name in cells else []
        for number in {index[branch["start"]], index[branch["end"]], *inner} - chambers:
            section[number] = max(section.get(number, 0.0), branch["area"] * branch["count"])

    def place(number: int, mass: float, dead: float = CAP_DEAD) -> dict[str, Any]:
        size = float(node.volume[number])
        area = section.get(number, size ** (2.0 / 3.0))
        return places.setdefault(
            number, dict(node=number, air=mass, dead=dead, held=0.0, area=area, clears=_dome(area, size))
        )

    if build.vessel:
        volume = build.vessel["volume"] - build.vessel["liquid"]
        dead = max(0.02 * build.vessel["volume"], CAP_DEAD)
        place(index[build.vessel["node"]], max((pressure - vapour) * volume / gas, LEAST_AIR), dead)
    for cap in build.caps:
        place(index[cap["node"]], LEAST_AIR if not places else 0.0)
    for number in index.values():
        place(number, 0.0)
    for name in car.lines:
        if _crest(car, name) > CREST and f"lines.{name}" in cells:
            place(_middle(cells[f"lines.{name}"]), 0.0)
    for cavity, volume in air.items():
        number = point(build.alias.get(cavity, cavity))
        row = place(number, 0.0)
        row["air"] += (pressure - vapour) * volume / gas
        # what the fill left there stands above every way out
        row["held"] += volume
        # air that its cavity cannot hold stands in the neighbours: the lump keeps its mass, the gas its full amount
        space = float(node.volume[number])
        trapped[number] = min(trapped[number] + volume, 0.95 * space)
    return list(places.values()), trapped


def _dome(area: float, size: float) -> float:
    """Speed (m/s) in a place of cross-section `area` that draws its dome of gas straight down and out."""
    bore = math.sqrt(4 * area / math.pi)
    return SAFETY * float(clearing_speed(bore, math.pi / 2, 4 * size / (math.pi * bore**3)))


def _crest(car: "Car", line: str) -> float:
    """Height (m) of the crest of a line above its higher end."""
    part = car.lines[line]
    return car.line_heights(line)[1] - max(car.ports[part.start].z, car.ports[part.end].z)


def _middle(cells: tuple[int, int]) -> int:
    return cells[0] + cells[1] // 2


def air_ways(
    build: Build, car: "Car", number: Mapping[str, int], index: Mapping[str, int], cells: Mapping[str, tuple[int, int]],
    pockets: list[dict[str, Any]], liquid: tuple[float, float, float],
) -> list[dict[str, Any]]:  # fmt: skip
    """AIR_WAY rows of every branch; `liquid` is density kg/m3, viscosity Pa s and surface tension N/m when cold."""
    pocket_of = {row["node"]: k for k, row in enumerate(pockets)}
    tank = index[build.vessel["node"]] if build.vessel else -1
    found = []
    for name, branch in build.branches.items():
        a, b = index[branch["start"]], index[branch["end"]]
        shared = dict(branch=number[name])
        z_a, z_b = build.junctions[branch["start"]]["z"], build.junctions[branch["end"]]["z"]
        low, high = min(z_a, z_b), max(z_a, z_b)
        line = name.removeprefix("lines.")
        if name.startswith("lines.") and line in car.lines:
            low, high = (min(low, car.line_heights(line)[0]), max(high, car.line_heights(line)[1]))
        crest = _middle(cells[name]) if name in cells else -1
        if crest in pocket_of:
            legs = [(a, crest, z_a, high, z_a), (crest, b, high, z_b, z_b)]
        else:
            legs = [(a, b, z_a, z_b, low)]
        for start, end, z_start, z_end, lowest in legs:
            row = shared | _way(branch, z_start, z_end, lowest, liquid)
            row |= dict(a=pocket_of[start], b=pocket_of[end])
            if end == tank or start == tank:
                port = car.ports.get(branch["start"] if end == tank else branch["end"])
                assert end == tank and port is not None  # the tank writes its openings that way round
                row |= dict(x=port.x, z=port.z, bore=branch["diameter"], rise=abs(row["rise"]))
                row["rise"] = row["rise"] or SPILL * row["area"]
                row["down_ba"] = 0.0  # an opening in gas draws gas, however slowly
            found.append(row)
    return found


def _way(
    branch: dict[str, Any], z_a: float, z_b: float, lowest: float, liquid: tuple[float, float, float]
) -> dict[str, float]:
    bore, count = branch["diameter"], branch["count"]
    area = branch["area"] * count
    shut = branch["k_forward"] >= BLOCKED
    pump, core = bool(branch["pump"]), count > 1 and branch["cells"] > 0
    density, viscosity, tension = liquid

    def down(z_from: float, z_to: float) -> float:
        drop = z_from - min(z_to, lowest)
        if pump or (z_to - z_from > LEVEL and drop < LEVEL):  # it leads up without a sag: gas goes by itself
            return 0.0
        length = max(branch["length"], drop, 1e-3)
        slope = 0.0 if core or drop < LEVEL else math.asin(min(drop / length, 1.0))
        return SAFETY * float(clearing_speed(bore, slope, 1.0))

    rise = 0.0
    trap = lowest < min(z_a, z_b) - LEVEL  # a sag keeps standing liquid between the ends
    if abs(z_b - z_a) > LEVEL and not (shut or pump or trap) and bore >= least_vent_bore(density, tension):
        speed = float(long_bubble_speed(bore, density, viscosity, tension))
        rise = math.copysign(COUNTER * area * speed, z_b - z_a)
    return dict(
        area=area, down_ab=down(z_a, z_b), down_ba=down(z_b, z_a), rise=rise, spill=0.0 if shut else SPILL * area
    )


def leak_rows(car: "Car", index: Mapping[str, int], pockets: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """LEAK rows: the chamber of every cylinder whose gasket leaks."""
    if not car.head_gasket.leaks:
        return []
    pocket_of = {row["node"]: k for k, row in enumerate(pockets)}
    return [
        dict(pocket=pocket_of[index[f"engine.{name}.head"]], share=car.head_gasket.permanent_share)
        for name in car.head_gasket.cylinders or car.engine.cylinders
    ]
