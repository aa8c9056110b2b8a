"""From a car to its cavities and openings: engine, radiator, tank, exchangers, bends and lines, as the car stands."""

import math
from typing import TYPE_CHECKING

from sim1d.cavities import Cavity, Circuit, Opening, box, profile
from sim1d.parts.engine import BANKS, CoolantPath
from sim1d.parts.exchanger import Heater
from sim1d.parts.radiator import CoreFlow
from sim1d.physics.air_transport import least_vent_bore
from sim1d.properties import Fluid, coolant_tables

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.parts.line import Line

PUDDLE = 0.005  # m of liquid over a hole in a floor that still lets gas bubble up through it (assumed: it lies uneven)
TANK_SHARE = 0.2  # of the core's height that each tank of a downflow radiator takes (assumed: the file gives no height)
COLD = 293.15  # K of car and coolant at the fill (assumed)


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
        name for name, part in car.exchangers.items() if part.blocked or (isinstance(part, Heater) and not heater_open)
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
    """A bubble rises in it while nothing flows: no place of it is below the bore in which a long bubble stands."""
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
                    name = "jacket" if place == "block" else "passage"
                    branch, sign = f"{at}-{i + 1}.{name}", 1.0 if place == "block" else -1.0
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
    name, arm = "engine.crossover", engine.crossover_bore
    low = min(z - bore / 2, engine.head_z - arm / 2)  # its arms come up from the front outlets
    i = box(circuit, name, name, engine.crossover_volume, x, low, z + bore / 2, 0.0)
    owners[name] = [i]
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
    """Pumps, thermostat housings, tees and y-blocks, as high as their bores; a bypass port holds nothing of its own."""

    def place(name: str, x: float, z: float, bore: float, volume: float = 0.0) -> int:
        wide = max([bore, *(car.lines[line].inner_diameter for line in car.lines_at.get(name, ()))])
        cavity = name if volume > 0.0 else ""
        return box(circuit, name, cavity, volume, x, z - wide / 2, z + wide / 2, 0.0)

    for name, pump in car.pumps.items():
        ends = {end: pump.ports()[end] for end in ("suction", "discharge")}
        held = pump.lumps()
        a, b = (place(f"{name}.{end}", port.x, port.z, port.bore, held[end]) for end, port in ends.items())
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
        held = part.lumps()
        inside = {
            local: place(f"{name}.{local}", p.x, p.z, p.bore, held.get(local, 0.0)) for local, p in part.ports().items()
        }
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
        owners[name] = [place(name, junction.x, junction.z, junction.bore, junction.volume)]


def _line(car: "Car", circuit: Circuit, owners: dict[str, list[int]], name: str) -> None:
    """A line as one piece, or as pieces between its ends and its crest and sag."""
    line = car.lines[name]
    a, b = car.ports[line.start], car.ports[line.end]
    radius = line.inner_diameter / 2
    path = corners(car, name)
    lengths = [math.dist(p, q) for p, q in zip(path, path[1:], strict=False)]
    total = sum(lengths)
    volume = car.line_volume(name)
    passes = vents_air(circuit, car, line)
    pieces: list[int] = []
    shared = dict(branch=f"lines.{name}", bore=line.inner_diameter, area=line.area)
    for k, (p, q) in enumerate(zip(path, path[1:], strict=False)):
        ends = circuit.height(*p), circuit.height(*q)
        share = lengths[k] / total if total > 0.0 else 1.0 / len(lengths)
        own = f"lines.{name}" if len(path) == 2 else f"lines.{name}/{k + 1}"
        part = volume * share if k < len(lengths) - 1 else volume - sum(circuit.cavities[i].volume for i in pieces)
        climb = abs(ends[1] - ends[0])
        # the bore counts across the slope at its middle; at its ends whole, where it meets other bores
        heights, shares = profile(sum(ends) / 2, climb, 2 * radius)
        length = car.line_length(name) * share
        x, z = (p[0] + q[0]) / 2, (p[1] + q[1]) / 2
        pieces.append(circuit.add(Cavity(own, f"lines.{name}", part, heights, shares, x, z, (*ends, length))))
        if k > 0:
            bend = "crest" if circuit.height(*p) > min(ends) else "sag"
            circuit.open(Opening(pieces[k - 1], pieces[k], f"{bend} of lines.{name}", ends[0] - radius,
                                 ends[0] + radius, sill=ends[0] - radius, **shared))  # type: ignore[arg-type]  # fmt: skip
    # a vent too narrow for a bubble takes no air in where liquid can stand in it: at its lower end; a blocked line is
    # shut where it starts
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
            shut = line.blocked and sign > 0.0
            gas = not shut and (passes or line.blocked or not lower)
            circuit.open(
                Opening(owner, piece, port, middle - radius, middle + radius, gas=gas, liquid=not shut,
                        sign=1.0 if len(behind) > 1 else sign, sill=middle - radius, **branch)  # type: ignore[arg-type]
            )  # fmt: skip


def corners(car: "Car", name: str) -> list[tuple[float, float]]:
    """Corners (x, z) of a line: its ends, and its crest and sag half way along, in the order that climbs least."""
    line = car.lines[name]
    a, b = car.ports[line.start], car.ports[line.end]
    low, high = car.line_heights(name)
    ends = (a.z, b.z)
    extra = [low] if low < min(ends) - 1e-9 else []
    extra += [high] if high > max(ends) + 1e-9 else []
    orders = [extra, extra[::-1]] if len(extra) == 2 else [extra]
    chosen = min(orders, key=lambda middle: _climb([a.z, *middle, b.z]))
    count = len(chosen) + 1
    corners = [(a.x + (b.x - a.x) * (k + 1) / count, z) for k, z in enumerate(chosen)]
    return [(a.x, a.z), *corners, (b.x, b.z)]


def _climb(heights: list[float]) -> float:
    return sum(abs(q - p) for p, q in zip(heights, heights[1:], strict=False))
