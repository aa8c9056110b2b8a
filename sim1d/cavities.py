"""The circuit as cavities that liquid fills and openings that liquid and gas pass: shapes and heights alone, no flow.

Heights here are true heights (m) of the car as it stands while it is filled: nose up by `angle`, a place at x, z of the
car lies at z cos(angle) - x sin(angle). `Circuit.car_height` turns a height back into the z of the car file.
"""

import math
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sim1d.parts.cap import CapPlace
from sim1d.parts.engine import BANKS, CoolantPath
from sim1d.parts.exchanger import Heater
from sim1d.parts.fitting import FittingKind
from sim1d.parts.radiator import CoreFlow
from sim1d.physics.air_transport import least_vent_bore
from sim1d.properties import Fluid, coolant_tables

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.parts.line import Line

PUDDLE = 0.005  # m by which liquid lies over a hole in a floor before no gas bubbles up through it (assumed: it is uneven)
TANK_SHARE = 0.2  # of the core's height that each tank of a downflow radiator takes (assumed: the file gives no height)
COLD = 293.15  # K of car and coolant at the fill (assumed)


@dataclass(frozen=True)
class Cavity:
    """A hollow space: at the height `heights[k]` (m, rising) it holds `shares[k]` (0 to 1, rising) of `volume` (m3).

    `place` is its name in `car.cavities`; a hose with a crest or a sag and a core are several cavities of one place.
    `x`, `z` is its middle in the frame of the car. `run` is set for a piece of hose: heights of its two ends in the
    direction of the line, and its length (m).
    """

    name: str
    place: str
    volume: float
    heights: tuple[float, ...]
    shares: tuple[float, ...]
    x: float
    z: float
    run: tuple[float, float, float] | None = None

    @property
    def low(self) -> float:
        """Height of its bottom, m."""
        return self.heights[0]

    @property
    def high(self) -> float:
        """Height of its top, m."""
        return self.heights[-1]

    def held(self, level: float) -> float:
        """Liquid (m3) in it when the surface stands at `level` (m); 0 below its bottom, `volume` above its top."""
        heights = self.heights
        if level <= heights[0]:
            return 0.0
        if level >= heights[-1]:
            return self.volume
        k = bisect_right(heights, level) - 1
        part = (level - heights[k]) / (heights[k + 1] - heights[k])
        return self.volume * (self.shares[k] + part * (self.shares[k + 1] - self.shares[k]))

    def level(self, liquid: float) -> float:
        """Height of the surface (m) over `liquid` m3: within bottom and top."""
        share = min(max(liquid / self.volume, 0.0), 1.0) if self.volume > 0.0 else 0.0
        for k in range(len(self.shares) - 1):
            low, high = self.shares[k], self.shares[k + 1]
            if share <= high:
                part = (share - low) / (high - low) if high > low else 1.0
                return self.heights[k] + part * (self.heights[k + 1] - self.heights[k])
        return self.high


@dataclass(frozen=True)
class Opening:
    """A way between cavities `a` and `b` (indices): liquid passes from the height `invert` on, gas below `crown` (m).

    `liquid`, `gas`: what it lets through while nothing flows. `branch` is the branch of the flow network that runs
    through it, positive from a to b when `sign` is 1; `bore` (m) and `area` (m2) are of the passage that it leads to,
    `sill` (m) its lower edge as the running coolant meets it.
    """

    a: int
    b: int
    name: str
    invert: float
    crown: float
    gas: bool = True
    liquid: bool = True
    branch: str = ""
    sign: float = 1.0
    bore: float = 0.0
    area: float = 0.0
    sill: float = 0.0


@dataclass(frozen=True)
class Mouth:
    """Where the circuit meets the air: the cap's neck, a bleed, the place it is filled at. Shut once liquid reaches it.

    `level` (m) is where pouring ends.
    """

    name: str
    cavity: int
    crown: float
    level: float


@dataclass
class Circuit:
    """All cavities and openings of a car as it stands; frozen in use."""

    angle: float
    cavities: list[Cavity] = field(default_factory=list)
    openings: list[Opening] = field(default_factory=list)
    index: dict[str, int] = field(default_factory=dict)
    beside: list[list[int]] = field(default_factory=list)  # cavity -> its openings
    least_bore: float = 0.005  # m, below which a long bubble stands still in a tube
    density: float = 998.2  # kg/m3 of the cold coolant
    vapour: float = 2.34e3  # Pa, its vapour pressure

    def height(self, x: float, z: float) -> float:
        """True height (m) of a place of the car."""
        return z * math.cos(self.angle) - x * math.sin(self.angle)

    def car_height(self, height: float, x: float) -> float:
        """z (m, frame of the car) at x of a true height."""
        return (height + x * math.sin(self.angle)) / math.cos(self.angle)

    def add(self, cavity: Cavity) -> int:
        """Take a cavity in; returns its index."""
        self.index[cavity.name] = len(self.cavities)
        self.cavities.append(cavity)
        self.beside.append([])
        return self.index[cavity.name]

    def open(self, opening: Opening) -> None:
        """Take an opening in."""
        self.beside[opening.a].append(len(self.openings))
        self.beside[opening.b].append(len(self.openings))
        self.openings.append(opening)

    def other(self, opening: Opening, cavity: int) -> int:
        """The cavity on the other side."""
        return opening.b if cavity == opening.a else opening.a

    def named(self, place: str) -> list[int]:
        """Cavities of a place of `car.cavities`."""
        return [i for i, cavity in enumerate(self.cavities) if cavity.place == place]


def box(circuit: Circuit, name: str, place: str, volume: float, x: float, low: float, high: float, width: float) -> int:
    """A cavity with a rectangular outline in the plane of x and z: `width` m along the car round x, z from low to high.

    Tilted, its level rises through a wedge, a middle part and a wedge: exact at their borders, straight between.
    """
    tall, wide = (high - low) * math.cos(circuit.angle), width * abs(math.sin(circuit.angle))
    middle = circuit.height(x, (low + high) / 2)
    half, small = (tall + wide) / 2, min(tall, wide)
    wedge = small / (2 * max(tall, wide))
    heights: tuple[float, ...] = (middle - half, middle + half)
    shares: tuple[float, ...] = (0.0, 1.0)
    if small > 1e-6:
        heights = (middle - half, middle - half + small, middle + half - small, middle + half)
        shares = (0.0, wedge, 1.0 - wedge, 1.0)
        if heights[2] - heights[1] < 1e-9:
            heights, shares = (heights[0], middle, heights[3]), (0.0, 0.5, 1.0)
    return circuit.add(Cavity(name, place, volume, heights, shares, x, (low + high) / 2))


def circuit_of(car: "Car", *, angle: float = 0.0, heater_open: bool = True) -> Circuit:
    """Cavities and openings of `car`, nose up by `angle` rad; the heaters shut off unless `heater_open`."""
    liquid = coolant_tables(Fluid(car.coolant.fluid.value), car.coolant.fraction).liquid
    row = int(abs(liquid.temperature - COLD).argmin())
    density, tension = float(liquid.density[row]), float(liquid.surface_tension[row])
    circuit = Circuit(
        angle, least_bore=least_vent_bore(density, tension), density=density, vapour=float(liquid.vapour_pressure[row])
    )
    owners: dict[str, list[int]] = {}  # port -> cavities behind it
    _engine(car, circuit, owners)
    _radiator(car, circuit, owners)
    _tank(car, circuit, owners)
    shut = {
        name
        for name, part in car.exchangers.items()
        if part.blocked or (isinstance(part, Heater) and not heater_open)
    }
    for name, part in car.exchangers.items():
        half = part.bore / 2  # the file gives no height: it is as high as its ports, and holds no air above them
        i = box(circuit, name, name, part.volume, part.x, part.z - half, part.z + half, 0.0)
        owners |= {f"{name}.{port}": [i] for port in part.ports() if name not in shut}
    _bends(car, circuit, owners)
    for name in car.lines:
        _line(car, circuit, owners, name)
    return circuit


def vents_air(circuit: Circuit, car: "Car", line: "Line") -> bool:
    """A bubble rises in it while nothing flows: no place of it is below the bore at which a long bubble stands still."""
    fittings = [fitting.bore for fitting in line.fittings if fitting.bore is not None]
    ports = [car.ports[port].bore for port in (line.start, line.end)]
    least = min([line.inner_diameter, *fittings, *ports, *([line.restrictor] if line.restrictor is not None else [])])
    return not line.blocked and least >= circuit.least_bore - 1e-9


def _engine(car: "Car", circuit: Circuit, owners: dict[str, list[int]]) -> None:
    engine, count = car.engine, car.engine.cylinders_per_bank
    series = engine.coolant_path is CoolantPath.BLOCK_FIRST_SERIES
    galleries = engine.galleries
    for bank in BANKS:
        at = f"engine.{bank}"
        for i in range(count):
            x = engine.cylinder_x(i)
            for place, volume, low, high in (
                ("block", engine.block_volume / (2 * count), engine.block_bottom_z, engine.deck_z),
                ("head", engine.head.volume / count, engine.deck_z, engine.head_top_z),
            ):
                name = f"{at}-{i + 1}.{place}"
                box(circuit, name, name, volume, x, low, high, engine.pitch)
        for i in range(count):
            block, head = (circuit.index[f"{at}-{i + 1}.{place}"] for place in ("block", "head"))
            holes, bore = engine.hole_counts[i], engine.hole_diameters[i]
            if holes > 0:  # a hole in a plate is no tube: it passes gas whatever its bore
                deck = circuit.height(engine.cylinder_x(i), engine.deck_z)
                direction = -1.0 if engine.coolant_path is CoolantPath.HEAD_FIRST else 1.0
                area = holes * math.pi / 4 * bore**2
                branch = f"{at}-{i + 1}.passage" if not series or i == count - 1 else ""
                way = Opening(block, head, f"transfer holes of {bank}-{i + 1}", deck, deck + PUDDLE, branch=branch,
                              sign=direction, bore=bore, area=area, sill=deck)  # fmt: skip
                circuit.open(way)
            if i == count - 1:
                continue
            # jackets and head passages of a bank are open to each other over their whole height (assumed)
            face = engine.cylinder_x(i) + engine.pitch / 2
            for place, low, high, gallery_z, bore in (
                ("block", engine.block_bottom_z, engine.deck_z, engine.block_z, galleries.block_diameter),
                ("head", engine.deck_z, engine.head_top_z, engine.head_z, galleries.head_diameter),
            ):
                row = "block" if place == "block" else "gallery"
                branch, sign = f"{at}.{row}.{i + 1}-{i + 2}", 1.0
                area = math.pi / 4 * bore**2
                if series:
                    branch, sign = (f"{at}-{i + 1}.jacket", 1.0) if place == "block" else (f"{at}-{i + 1}.passage", -1.0)
                    part = engine.block if place == "block" else engine.head
                    bore, area = part.passage_diameter, part.passage_area
                way = Opening(
                    circuit.index[f"{at}-{i + 1}.{place}"], circuit.index[f"{at}-{i + 2}.{place}"],
                    f"passage from {bank}-{i + 1} to {bank}-{i + 2}", circuit.height(face, low),
                    circuit.height(face, high), branch=branch, sign=sign, bore=bore, area=area,
                    sill=circuit.height(face, gallery_z - bore / 2),
                )  # fmt: skip
                circuit.open(way)
    stations = {"middle": [count // 2, count // 2 + 1] if count % 2 == 0 else [(count + 1) // 2]}
    stations |= {"block_middle": [(count + 1) // 2]}
    for local, port in engine.ports().items():
        bank, _, kind = local.partition(".")
        if bank == "crossover":
            _crossover(car, circuit, owners, port.x, port.z, port.bore)
            continue
        ends = stations.get(kind, [count] if "rear" in kind else [1])
        place = "head" if port.z >= engine.deck_z else "block"
        owners[f"engine.{local}"] = [circuit.index[f"engine.{bank}-{end}.{place}"] for end in ends]


def _crossover(car: "Car", circuit: Circuit, owners: dict[str, list[int]], x: float, z: float, bore: float) -> None:
    engine = car.engine
    i = box(circuit, "engine.crossover", "engine.left-1.head", 0.0, x, z - bore / 2, z + bore / 2, 0.0)
    owners["engine.crossover"] = [i]
    arm = engine.crossover_bore
    middle = circuit.height(engine.front_x, engine.head_z)
    for bank in BANKS:
        way = Opening(
            circuit.index[f"engine.{bank}-1.head"], i, f"crossover of the {bank} bank", middle - arm / 2,
            middle + arm / 2, branch=f"engine.{bank}.crossover", bore=arm, area=math.pi / 4 * arm**2,
            sill=middle - arm / 2,
        )  # fmt: skip
        circuit.open(way)


def _radiator(car: "Car", circuit: Circuit, owners: dict[str, list[int]]) -> None:
    radiator = car.radiator
    if radiator is None:
        return
    x, low, high = radiator.mount_x, radiator.mount_height, radiator.top_z
    tank, core = radiator.tank_volume, radiator.volume - 2 * radiator.tank_volume
    inlet_place, outlet_place = "radiator.inlet_tank", "radiator.outlet_tank"
    ports = radiator.ports()
    if radiator.flow is CoreFlow.CROSSFLOW:
        levels = [(low, high)] * 4
    else:  # the upper tank is the one whose port is higher
        step, middle = TANK_SHARE * radiator.core_height, (low + high) / 2
        levels = [(high - step, high), (middle, high - step), (low + step, middle), (low, low + step)]
        if ports["inlet"].z < ports["outlet"].z:
            levels.reverse()
    names = ((inlet_place, tank), ("radiator.core/1", core / 2), ("radiator.core/2", core / 2), (outlet_place, tank))
    chain = []
    for k, ((name, volume), (bottom, top)) in enumerate(zip(names, levels, strict=True)):
        place = inlet_place if k < 2 else outlet_place
        chain.append(box(circuit, name, place, volume, x, bottom, top, 0.0))
    tubes = radiator.tube_count / radiator.core_passes
    for a, b in zip(chain, chain[1:], strict=False):
        if radiator.flow is CoreFlow.CROSSFLOW:
            bottom, top = circuit.height(x, low), circuit.height(x, high)
        else:
            bottom = max(circuit.cavities[a].low, circuit.cavities[b].low)
            top = bottom + PUDDLE
        way = Opening(a, b, "tubes of the core", bottom, top, branch="radiator", bore=radiator.tubes.hydraulic_diameter,
                      area=tubes * radiator.tubes.area, sill=bottom)  # fmt: skip
        circuit.open(way)
    owners["radiator.inlet"], owners["radiator.outlet"] = [chain[0]], [chain[3]]
    if "vent" in ports:
        owners["radiator.vent"] = [chain[0]]


def _tank(car: "Car", circuit: Circuit, owners: dict[str, list[int]]) -> None:
    tank = car.expansion_tank
    if tank is None:
        return
    name = "expansion_tank"
    i = box(circuit, name, name, tank.volume, tank.x, tank.base_z, tank.top_z, tank.length_along)
    owners["expansion_tank.fill"] = owners["expansion_tank.vent"] = [i]


def _bends(car: "Car", circuit: Circuit, owners: dict[str, list[int]]) -> None:
    """Places without a volume of their own: pumps, thermostat housings, tees and y-blocks, as high as their bores."""

    def place(name: str, cavity: str, x: float, z: float, bore: float) -> int:
        wide = max([bore, *(car.lines[line].inner_diameter for line in car.lines_at.get(name, ()))])
        return box(circuit, name, cavity, 0.0, x, z - wide / 2, z + wide / 2, 0.0)

    for name, pump in car.pumps.items():
        ends = {end: pump.ports()[end] for end in ("suction", "discharge")}
        a, b = (place(f"{name}.{end}", "", port.x, port.z, port.bore) for end, port in ends.items())
        owners |= {f"{name}.suction": [a], f"{name}.discharge": [b]}
        bore = ends["discharge"].bore
        low = max(circuit.cavities[a].low, circuit.cavities[b].low)
        high = min(circuit.cavities[a].high, circuit.cavities[b].high)
        circuit.open(Opening(a, b, name, low, max(high, low + PUDDLE), branch=name, bore=bore,
                             area=math.pi / 4 * bore**2, sill=low))  # fmt: skip
    for name in ("thermostat", "thermostat_plate"):
        part = getattr(car, name)
        if part is None:
            continue
        inside = {local: place(f"{name}.{local}", "", p.x, p.z, p.bore) for local, p in part.ports().items()}
        owners |= {f"{name}.{local}": [i] for local, i in inside.items()}
        for local, i in inside.items():
            if local == "inlet":
                continue
            # shut when cold, it still passes air and a little coolant by the hole in its plate
            a, bore = inside["inlet"], part.ports()[local].bore
            low = max(circuit.cavities[a].low, circuit.cavities[i].low)
            high = min(circuit.cavities[a].high, circuit.cavities[i].high)
            branch = name if local == "outlet" else f"{name}.{local}"
            circuit.open(Opening(a, i, name, low, max(high, low + PUDDLE), branch=branch, bore=bore,
                                 area=math.pi / 4 * bore**2, sill=low))  # fmt: skip
    for name, junction in car.junctions.items():
        owners[name] = [place(name, name, junction.x, junction.z, junction.bore)]


def _line(car: "Car", circuit: Circuit, owners: dict[str, list[int]], name: str) -> None:
    """A line as one piece, or as pieces between its ends and its crest and sag."""
    line = car.lines[name]
    a, b = car.ports[line.start], car.ports[line.end]
    radius = line.inner_diameter / 2
    path = _path(car, name)
    lengths = [math.dist(p, q) for p, q in zip(path, path[1:], strict=False)]
    total = sum(lengths)
    volume = math.pi / 4 * line.inner_diameter**2 * car.line_length(name)
    passes = vents_air(circuit, car, line)
    pieces: list[int] = []
    shared = dict(
        branch=f"lines.{name}", bore=line.inner_diameter, area=math.pi / 4 * line.inner_diameter**2,
        liquid=not line.blocked,
    )  # fmt: skip
    for k, (p, q) in enumerate(zip(path, path[1:], strict=False)):
        ends = circuit.height(*p), circuit.height(*q)
        share = lengths[k] / total if total > 0.0 else 1.0 / len(lengths)
        own = f"lines.{name}" if len(path) == 2 else f"lines.{name}/{k + 1}"
        part = volume * share if k < len(lengths) - 1 else volume - sum(circuit.cavities[i].volume for i in pieces)
        heights = (min(ends) - radius, max(ends) + radius)
        length = car.line_length(name) * share
        pieces.append(
            circuit.add(Cavity(own, f"lines.{name}", part, heights, (0.0, 1.0), (p[0] + q[0]) / 2, (p[1] + q[1]) / 2,
                               (*ends, length)))
        )  # fmt: skip
        if k > 0:
            bend = "crest" if circuit.height(*p) > min(ends) else "sag"
            circuit.open(Opening(pieces[k - 1], pieces[k], f"{bend} of lines.{name}", ends[0] - radius,
                                 ends[0] + radius, gas=not line.blocked, sill=ends[0] - radius, **shared))  # type: ignore[arg-type]  # fmt: skip
    # a vent too narrow for a bubble takes no air in where liquid can stand in it: at its lower end
    lower_start = circuit.height(a.x, a.z) <= circuit.height(b.x, b.z)
    for port, place, piece, lower, sign in (
        (line.start, a, pieces[0], lower_start, 1.0), (line.end, b, pieces[-1], not lower_start, -1.0),
    ):  # fmt: skip
        behind = owners.get(port, [])
        middle = circuit.height(place.x, place.z)
        for owner in behind:
            branch = dict(shared)
            if len(behind) > 1:  # an outlet between two cylinders draws from both
                branch["branch"] = f"{port}.throat.{circuit.cavities[owner].name.split('-')[1].split('.')[0]}"
            gas = (passes if lower else not line.blocked) and not (line.blocked and sign > 0)
            circuit.open(
                Opening(owner, piece, port, middle - radius, middle + radius, gas=gas,
                        sign=1.0 if len(behind) > 1 else sign, sill=middle - radius, **branch)  # type: ignore[arg-type]
            )  # fmt: skip


def _path(car: "Car", name: str) -> list[tuple[float, float]]:
    """Corners (x, z) of a line: its ends, and its crest and sag half way along, in the order that climbs least."""
    line = car.lines[name]
    a, b = car.ports[line.start], car.ports[line.end]
    low, high = car.line_heights(name)
    ends = (a.z, b.z)
    extra = [z for z in (low if low < min(ends) - 1e-9 else None, high if high > max(ends) + 1e-9 else None) if z is not None]
    orders = [extra, extra[::-1]] if len(extra) == 2 else [extra]
    chosen = min(orders, key=lambda middle: _climb([a.z, *middle, b.z]))
    count = len(chosen) + 1
    corners = [(a.x + (b.x - a.x) * (k + 1) / count, z) for k, z in enumerate(chosen)]
    return [(a.x, a.z), *corners, (b.x, b.z)]


def _climb(heights: list[float]) -> float:
    return sum(abs(q - p) for p, q in zip(heights, heights[1:], strict=False))


# Where the circuit meets the air ----------------------------------------------------------------------------------


def cap_mouth(car: "Car", circuit: Circuit) -> Mouth:
    """The neck under the cap; pouring ends at the tank's cold mark, or in the neck itself."""
    tank = car.expansion_tank
    if car.cap.at is CapPlace.EXPANSION_TANK and tank is not None:
        level = circuit.height(tank.x, tank.level_z)
        return Mouth("expansion_tank", circuit.index["expansion_tank"], circuit.height(tank.x, tank.top_z), level)
    i = circuit.index["radiator.inlet_tank"]
    neck = circuit.height(circuit.cavities[i].x, car.cap_z)
    return Mouth("the radiator's neck", i, neck + PUDDLE, neck)


def mouth_at(car: "Car", circuit: Circuit, place: str) -> Mouth:
    """An opened place: a port (a plug taken out counts), a junction, "lines.NAME" (its highest point), tank or radiator.

    Raises KeyError for a place that the car does not have.
    """
    if place in ("expansion_tank", "radiator"):
        cap = cap_mouth(car, circuit)
        if circuit.cavities[cap.cavity].name.startswith(place):
            return cap
        name = "expansion_tank" if place == "expansion_tank" else "radiator.inlet_tank"
        cavity = circuit.cavities[circuit.index[name]]
        tank = car.expansion_tank
        level = circuit.height(tank.x, tank.level_z) if place == "expansion_tank" and tank else cavity.high
        return Mouth(place, circuit.index[name], cavity.high + PUDDLE, level)
    if place.startswith("lines."):
        pieces = circuit.named(place)
        if not pieces:
            raise KeyError(place)
        best = max(pieces, key=lambda i: circuit.cavities[i].high)
        radius = car.lines[place.removeprefix("lines.")].inner_diameter / 2
        top = circuit.cavities[best].high
        return Mouth(place, best, top, top - radius)
    port = car.ports[place]
    owner = port_cavity(car, circuit, place)
    middle = circuit.height(port.x, port.z)
    return Mouth(place, owner, middle + port.bore / 2, middle)


def port_cavity(car: "Car", circuit: Circuit, port: str) -> int:
    """Index of the cavity behind a port, plugged or not. Raises KeyError for one that does not exist."""
    if port in circuit.index:
        return circuit.index[port]
    part, _, local = port.partition(".")
    if part == "engine":
        count = car.engine.cylinders_per_bank
        bank, _, kind = local.partition(".")
        place = "head" if car.ports[port].z >= car.engine.deck_z else "block"
        station = count if "rear" in kind else (count + 1) // 2 if "middle" in kind else 1
        return circuit.index[f"engine.{bank}-{station}.{place}"]
    if part == "radiator":
        return circuit.index["radiator.outlet_tank" if local == "outlet" else "radiator.inlet_tank"]
    return circuit.index[part]


def bleed_places(car: "Car") -> tuple[str, ...]:
    """Names a builder can open as a bleed: lines with a bleed screw, then plugged openings of the heads."""
    lines = [
        name
        for name, line in car.lines.items()
        if any(fitting.kind is FittingKind.BLEED_SCREW for fitting in line.fittings)
    ]
    return (*lines, *sorted(name for name in car.plugged if car.ports[name].z >= car.engine.deck_z))


def fill_places(car: "Car") -> tuple[str, ...]:
    """Names of the places that can be opened to pour coolant in."""
    whole = [name for name in ("expansion_tank", "radiator") if getattr(car, name) is not None]
    return (*whole, *car.ports, *(f"lines.{name}" for name in car.lines))


def mouths_of(car: "Car", circuit: Circuit, bleeds: Iterable[str]) -> list[Mouth]:
    """The opened bleeds, in the order they were given."""
    return [mouth_at(car, circuit, f"lines.{name}" if name in car.lines else name) for name in bleeds]
