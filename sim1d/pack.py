"""The one place where names become indices, units are already SI, and coolant becomes property tables."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d import tables
from sim1d.build import Build
from sim1d.core.coolant import GRAVITY
from sim1d.core.hydraulics import network_tables
from sim1d.core.model import LEDGERS, Layout, Model
from sim1d.core.pattern import Pattern, jacobian_pattern
from sim1d.cuts import Cut, cuts_of
from sim1d.day import check_points
from sim1d.inputs import attributes_of
from sim1d.pack_air import air_ways, gas_spaces, leak_rows
from sim1d.parts.cap import CapPlace
from sim1d.parts.coolant import Fluid as CoolantFluid
from sim1d.parts.junction import JunctionKind
from sim1d.parts.machine_rows import write_cap
from sim1d.physics.convection import entry_factor, plate_still
from sim1d.physics.critical_heat_flux import flow_size
from sim1d.physics.dissolved_air import air_solubility
from sim1d.properties import Fluid, coolant_tables, freezing_point
from sim1d.stretches import Stretch, stretches_of

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day

DRY_VOID = 0.90  # steam share of a lump (lagged) at which the circuit counts as boiled out there
STARVED_SHARE = 0.20  # of the circuit's volume: more gas than this in it and the pump is taken to have lost its prime
BURST_SHARE = 3.0  # times its rating a part is taken to burst: design ratio of water hose, RMA Hose Handbook IP-2 2003
UNRATED = 1.0e6  # Pa gauge at which a run of unrated parts ends (far above any cap)
MELTING = 828.0  # K, solidus of the common cast aluminium alloys (recalled: 555 degC)
VOID_LAG = 0.10  # s for steam to grow through a lump (assumed: bubble rise over a few centimetres)
DONOR_WIDTH = 5.0e-5  # kg/s over which the corner of a reversing flow is rounded (a hundredth of buoyancy flow)
RELEASE_TIME = 1800.0  # s for dissolved air to leave hot coolant (assumed: it burps for half an hour)
ABSORB_SPEED = 2.0e-5  # m/s, air through a quiet surface into coolant (assumed: still water 1e-5 to 1e-4)
# Mixture effect on nucleate boiling and on the critical heat flux, by glycol share of volume: Schluender 1982 at
# 0.5 MW/m2 (recalled; computed with Raoult's boiling range) and 0.85 at 50 % (assumed between the pure values).
MIXTURE = ((0.0, 0.1, 0.3, 0.5, 0.6), (1.0, 0.78, 0.52, 0.455, 0.43), (1.0, 0.97, 0.91, 0.85, 0.82))


@dataclass(frozen=True)
class Packed:
    """Tables, start state and the names that results need."""

    model: Model
    pattern: Pattern
    start: np.ndarray
    stretches: tuple[Stretch, ...]
    points: tuple[str, ...]
    lines: tuple[str, ...]
    line_branch: np.ndarray
    line_sign: np.ndarray
    cylinders: tuple[str, ...]
    cylinder_node: np.ndarray
    cylinder_branch: np.ndarray
    cylinder_sign: np.ndarray
    sensors: tuple[str, ...]
    pumps: tuple[str, ...]
    pump_branch: np.ndarray
    rated_node: np.ndarray
    rated_name: tuple[str, ...]
    rated_stop: np.ndarray
    ambient: float
    dry_void: float
    starved_volume: float
    melting: float
    freezing: float
    red_limit: float
    coolant_filled: float
    gas_filled: float
    system_pocket: int
    system_text: str
    round_numbers: np.ndarray
    extrapolated: bool
    notes: tuple[str, ...]
    cuts: tuple[Cut, ...]
    attributes: dict[str, Any]


def build_rows(car: "Car", *, cells_per_line: int = 6, cells_per_core: int = 8) -> Build:
    """Let every part of the car write its rows."""
    nucleate, critical = (float(np.interp(car.coolant.fraction, MIXTURE[0], MIXTURE[k])) for k in (1, 2))
    build = Build(
        cells_per_line=cells_per_line, cells_per_core=cells_per_core, boiling_factor=nucleate, critical_factor=critical,
        plumbed=frozenset(car.lines_at), meetings={port: len(lines) for port, lines in car.lines_at.items()},
        y_blocks=frozenset(n for n, j in car.junctions.items() if j.kind is JunctionKind.Y_BLOCK),
    )  # fmt: skip
    build.lengths.update({f"lines.{name}": car.line_length(name) for name in car.lines})
    for name, part in car.parts.items():
        part.write_rows(build, name)
    for name, line in car.lines.items():
        line.write_rows(build, f"lines.{name}")
    for name, sensor in car.sensors.items():
        sensor.write_rows(build, name)
    for cylinder in car.engine.cylinders:
        for place in ("head", "block"):
            build.alias.setdefault(f"engine.{cylinder}.{place}", f"engine.{cylinder}.{place}")
    node = "expansion_tank" if car.cap.at is CapPlace.EXPANSION_TANK else "radiator.inlet"
    write_cap(car.cap, build, node, car.recovery_tank)
    return build


def place(build: Build, index: dict[str, int], cells: dict[str, tuple[int, int]], point: str) -> int:
    """Node index of a port, cavity or line."""
    point = build.alias.get(point, point)
    if point in index:
        return index[point]
    if point in cells:  # the middle of a line
        first, count = cells[point]
        return first + count // 2
    # a port that nothing is plumbed to: the cavity behind it
    stem = point.rsplit(".", 1)[0]
    inside = [name for name in index if name.startswith(stem + ".") or name.startswith(stem + "-")]
    return index[inside[0]] if inside else 0


def nodes_of(build: Build) -> tuple[np.recarray, dict[str, int], dict[str, tuple[int, int]], list[str]]:
    """NODE table (junctions, then cells), index of junctions, cells of branches, and the junction names."""
    names = list(build.junctions)
    count = len(names) + sum(b["cells"] for b in build.branches.values())
    node = tables.rows(tables.NODE, count)
    index = {name: i for i, name in enumerate(names)}
    for name, i in index.items():
        row = build.junctions[name]
        for key in ("volume", "growth", "compliance", "x", "z", "ambient", "ambient_moving"):
            node[key][i] = row[key]
    for k, name in enumerate(build.lags):
        node.lag[index[name]] = k
    cells: dict[str, tuple[int, int]] = {}
    here = len(names)
    for name, branch in build.branches.items():
        n = branch["cells"]
        if n == 0:
            continue
        cells[name] = (here, n)
        a, b = build.junctions[branch["start"]], build.junctions[branch["end"]]
        for c in range(n):
            along = branch["first"] + (c + 0.5) * branch["inside"] / n  # bare ends hold the rest
            node.x[here + c] = a["x"] + along * (b["x"] - a["x"])
            node.z[here + c] = a["z"] + along * (b["z"] - a["z"])
        for key in ("volume", "compliance", "ambient"):
            node[key][here : here + n] = branch[key] / n
        node.growth[here : here + n] = branch["growth"]
        node.ambient_moving[here : here + n] = branch["ambient_moving"]
        here += n
    return node, index, cells, names


def branches_of(
    build: Build, index: dict[str, int], cells: dict[str, tuple[int, int]]
) -> tuple[np.recarray, dict[str, int]]:
    """BRANCH table and index."""
    branch = tables.rows(tables.BRANCH, len(build.branches))
    number = {name: i for i, name in enumerate(build.branches)}
    pump = {name: i for i, name in enumerate(build.pumps)}
    for name, i in number.items():
        row = build.branches[name]
        branch.start[i], branch.end[i] = index[row["start"]], index[row["end"]]
        for key in tables.BRANCH.names or ():
            if key in row and key not in ("start", "end", "pump"):
                branch[key][i] = row[key]
        branch.pump[i] = pump[row["pump"]] if row["pump"] else -1
        if name in cells:
            branch.cell_first[i], branch.cell_count[i] = cells[name]
    return branch, number


def fill(table: np.recarray, rows: list[dict[str, Any]], lookup: dict[str, dict[str, int]]) -> np.recarray:
    """Write dictionaries into a table; keys of `lookup` hold names."""
    for i, row in enumerate(rows):
        for key, value in row.items():
            if key in (table.dtype.names or ()):
                table[key][i] = lookup[key].get(value, -1) if key in lookup else value
    return table


def listed(dtype: np.dtype, rows: list[dict[str, Any]], **lookup: dict[str, int]) -> np.recarray:
    """A table of these rows."""
    return fill(tables.rows(dtype, len(rows)), rows, lookup)


def pack(
    car: "Car", day: "Day", *, trapped_air: Mapping[str, float] | None = None, hanging_gas: float = 0.0,
    cells_per_line: int = 6, cells_per_core: int = 8,
) -> Packed:  # fmt: skip
    """Tables of `car` on `day`. Raises DescriptionError when the day waits for a point that the car does not have.

    `trapped_air` is the air that stands in the circuit at the start (m3 at ambient pressure, by place); left out: what
    the car file gives. `hanging_gas` (m3) is what the fill leaves in the vents of the tank: the lines are packed full
    of coolant, as they are once a pump runs, so that it stands in the tank and that much coolant does not.
    `prepare.prepared` puts in both.
    """
    check_points(day, car.points)
    build = build_rows(car, cells_per_line=cells_per_line, cells_per_core=cells_per_core)
    if build.vessel:
        build.vessel = build.vessel | {"liquid": max(build.vessel["liquid"] - hanging_gas, 0.0)}
    liquid = coolant_tables(Fluid(car.coolant.fluid.value), car.coolant.fraction)
    node, index, cells, names = nodes_of(build)
    branch, number = branches_of(build, index, cells)
    metal_index = {name: i for i, name in enumerate(build.metals)}
    pump_names = list(build.pumps)
    pump_index = {name: i for i, name in enumerate(pump_names)}

    def point(name: str) -> int:
        return place(build, index, cells, name)

    faces = [dict(row) for row in build.faces]
    dry = 0
    for row in faces:
        row["dry"], dry = (dry, dry + 1) if row.pop("dry") else (-1, dry)
    face = listed(tables.FACE, faces, metal=metal_index, node=index, branch=number)
    for row in face:
        row.entry, row.flow_size = entry_factor(row.diameter, row.length), flow_size(row.diameter)
        row.slenderness, row.still = row.diameter / row.length, plate_still(row.length)
    cores = [dict(row, node=cells[row["cell"][0]][0] + row["cell"][1]) for row in build.cores]
    ground = index[build.vessel["node"]] if build.vessel else index[build.caps[0]["node"]]
    junction = tables.rows(tables.JUNCTION, len(names))
    junction.x, junction.z = node.x[: len(names)], node.z[: len(names)]
    junction.fixed[ground] = 1

    system = tables.rows(tables.SYSTEM, 1)
    rho_sealed = np.interp(day.sealed_at, liquid.liquid.temperature, liquid.liquid.density)
    pv_sealed = float(np.interp(day.sealed_at, liquid.liquid.temperature, liquid.liquid.vapour_pressure))
    air = car.trapped_air if trapped_air is None else trapped_air
    pockets, trapped = gas_spaces(build, car, day, index, point, cells, node, pv_sealed, air)
    cold = tuple(
        float(np.interp(day.sealed_at, liquid.liquid.temperature, liquid.liquid[key]))
        for key in ("density", "viscosity", "surface_tension")
    )
    ways = air_ways(build, car, number, index, cells, pockets, (cold[0], cold[1], cold[2]))
    node.mass = rho_sealed * np.maximum(node.volume - trapped, 0.05 * node.volume)
    tank = build.vessel or dict(volume=0.0, liquid=0.0, base=0.0, area=0.0)
    store = rho_sealed * tank["liquid"]
    fill_line = [line for line in car.lines.values() if "expansion_tank.fill" in (line.start, line.end)]
    tie = -1
    if fill_line:
        other = fill_line[0].end if fill_line[0].start == "expansion_tank.fill" else fill_line[0].start
        tie = index[other]
    row = system[0]
    row.ambient_pressure, row.ambient_temperature = day.ambient_pressure, day.ambient_temperature
    row.fill_temperature = day.sealed_at
    surface = tank["base"] + tank["liquid"] / tank["area"] if build.vessel else float(node.z[ground])
    node.filled = day.ambient_pressure + rho_sealed * GRAVITY * (surface - node.z)
    row.vessel, row.tie, row.tank_volume, row.tank_base = ground, tie, tank["volume"], tank["base"]
    row.tank_area, row.store = tank["area"], store
    row.rated_speed, row.rated_pressure = car.engine.rated_speed, car.engine.manifold_pressure
    row.idle_pressure = car.engine.idle_manifold_pressure
    row.film_collapse = 503.15  # 230 degC +-40, assumed: no accepted model of the collapse temperature exists
    row.donor_width, row.void_lag = DONOR_WIDTH, VOID_LAG

    if car.expansion_tank is not None:
        row.tank_x, row.tank_length = car.expansion_tank.x, car.expansion_tank.length_along
        row.tank_height = car.expansion_tank.height
    row.circuit_volume = float(np.sum(np.asarray(node.volume))) + tank["liquid"]
    # the places hold part of the coolant: what the hoses give off comes out there as well
    places = sum(float(node.volume[p["node"]]) for p in pockets)
    row.release_time, row.absorb_speed = RELEASE_TIME * places / row.circuit_volume, ABSORB_SPEED

    caps = [dict(c, node=index[c["node"]], pocket=0) for c in build.caps]
    for c in caps:
        c["pocket"] = next((k for k, p in enumerate(pockets) if p["node"] == c["node"]), 0)
    sensors = [
        dict(
            node=point(s["at"]), x=node.x[point(s["at"])], time_constant=max(s["time_constant"], 1e-3),
            pressure=s["pressure"],
            z=node.z[point(s["at"])] if s["z"] is None else s["z"],
        )
        for s in build.sensors.values()
    ]  # fmt: skip
    shown = {name: k for k, name in enumerate(build.sensors)}
    cuts = [dict(sensor=shown[name], filter=max(cut["filter"], 1e-3)) for name, cut in build.cuts.items()]
    lags = [dict(node=index[name]) for name in build.lags]
    counts = dict(
        enthalpy=len(node),
        lag=len(lags),
        metal=len(build.metals),
        dry=dry,
        air=len(pockets),
        store=1,
        displaced=1,
        dissolved=1,
        lift=len(caps),
        grip=len(build.pumps),
        prime=len(build.pumps),
        collapse=len(build.collapses),
        sensor=len(sensors),
        cut=len(cuts),
    )
    layout = Layout._make([0, *np.cumsum(list(counts.values())).tolist(), 0])
    layout = layout._replace(size=layout.ledger + len(LEDGERS))
    network = network_tables(
        branch, junction, listed(tables.PUMP, list(build.pumps.values())),
        listed(tables.STATION, build.stations, branch=number, before=number, after=number),
    )  # fmt: skip
    model = Model(
        network=network, node=node, lag=listed(tables.LAG, lags),
        metal=listed(tables.METAL, list(build.metals.values())),
        link=listed(tables.LINK, build.links, a=metal_index, b=metal_index), face=face,
        gas_face=listed(tables.GAS_FACE, build.gas_faces, metal=metal_index),
        pocket=listed(tables.POCKET, pockets), air_way=listed(tables.AIR_WAY, ways),
        leak=listed(tables.LEAK, leak_rows(car, index, pockets)), leak_curve=leak_curve(car),
        collapse=listed(tables.COLLAPSE, build.collapses, branch=number), cap=listed(tables.CAP, caps),
        core=listed(tables.CORE, cores, metal=metal_index),
        radiator=listed(tables.RADIATOR, build.radiators, branch=number),
        exchanger=listed(tables.EXCHANGER, build.exchangers, node=index, metal=metal_index, branch=number),
        sensor=listed(tables.SENSOR, sensors), cut=listed(tables.CUT, cuts),
        valve=listed(tables.VALVE, build.valves, node=index),
        drive=listed(tables.DRIVE, build.drives, pump=pump_index), system=system, liquid=liquid.liquid,
        by_enthalpy=liquid.by_enthalpy, by_pressure=liquid.by_pressure, layout=layout,
    )  # fmt: skip

    rated = build.ratings or [(names[ground], "the circuit", UNRATED / BURST_SHARE)]
    stretches = tuple(stretches_of(day, point))
    packed_lines = list(build.lines)
    total_mass = float(np.sum(np.asarray(node.mass)))
    tank_name = "expansion tank" if build.vessel else "largest gas space"
    packed = Packed(
        model=model, pattern=jacobian_pattern(model), start=start_state(model, build, day, liquid, trapped),
        stretches=stretches, points=tuple([*names, *_cell_names(cells)]), lines=tuple(packed_lines),
        line_branch=np.array([number[build.lines[n][0]] for n in packed_lines]),
        line_sign=np.array([build.lines[n][1] for n in packed_lines]),
        cylinders=tuple(c["name"] for c in build.cylinders),
        cylinder_node=np.array([index[c["node"]] for c in build.cylinders]),
        cylinder_branch=np.array([number[c["branch"]] for c in build.cylinders]),
        cylinder_sign=np.array([c["sign"] for c in build.cylinders]),
        sensors=tuple(build.sensors), pumps=tuple(pump_names),
        pump_branch=np.array([number[name] for name in pump_names], dtype=np.int64),
        rated_node=np.array([index[r[0]] for r in rated]), rated_name=tuple(r[1] for r in rated),
        rated_stop=np.array([min(BURST_SHARE * r[2], 5 * UNRATED) for r in rated]), ambient=day.ambient_pressure,
        dry_void=DRY_VOID, starved_volume=STARVED_SHARE * float(np.sum(np.asarray(node.volume))), melting=MELTING,
        freezing=freezing_point(Fluid(car.coolant.fluid.value), car.coolant.fraction),
        red_limit=car.limits.metal_red, coolant_filled=total_mass + store,
        gas_filled=float(sum(p["air"] for p in pockets)),
        system_pocket=0 if build.vessel else int(np.argmax([p["air"] for p in pockets])),
        system_text=f"pressure of the {tank_name}, gauge", round_numbers=np.array([s.round for s in stretches]),
        extrapolated=car.coolant.fluid is not CoolantFluid.WATER, notes=tuple(build.notes), cuts=cuts_of(car),
        attributes=attributes_of(car, day, build, names),
    )  # fmt: skip
    return packed


def _cell_names(cells: dict[str, tuple[int, int]]) -> list[str]:
    return [f"{name} ({k + 1} of {count})" for name, (_, count) in cells.items() for k in range(count)]


def leak_curve(car: "Car") -> np.recarray:
    """LEAK_CURVE of the car's gasket: two rows of nothing when it is sound."""
    table = np.array([[0.0, 0.0], [1e5, 0.0]])
    if car.head_gasket.leaks:
        from sim1d.gasket import leak_table

        table = leak_table(car.head_gasket, car.engine)
    curve = tables.rows(tables.LEAK_CURVE, len(table))
    curve.pressure, curve.mass = table[:, 0], table[:, 1]
    return curve


def start_state(model: Model, build: Build, day: "Day", liquid, trapped: np.ndarray) -> np.ndarray:
    """State at the start: coolant and metal at their temperatures, no steam, all faces wet."""
    layout = model.layout
    y = np.zeros(layout.size)
    grid = liquid.liquid
    h = float(np.interp(day.start, grid.temperature, grid.enthalpy))
    y[layout.enthalpy : layout.lag] = h
    vessel = model.system[0].vessel
    y[layout.enthalpy + vessel] = h * (model.node[vessel].mass + model.system[0].store)
    y[layout.metal : layout.dry] = day.start_metal
    for i, name in enumerate(build.metals):
        if name in build.metal_temperature:
            y[layout.metal + i] = build.metal_temperature[name]
    y[layout.air : layout.store] = model.pocket.air
    system = model.system[0]
    y[layout.store] = system.store
    y[layout.displaced] = trapped.sum()
    vapour = float(np.interp(day.sealed_at, grid.temperature, grid.vapour_pressure))
    saturated = float(air_solubility(day.sealed_at, system.ambient_pressure - vapour))
    y[layout.dissolved] = saturated * system.circuit_volume
    y[layout.grip : layout.prime] = 1.0
    y[layout.sensor : layout.cut] = np.where(model.sensor.pressure == 1, 0.0, day.start)
    y[layout.cut : layout.ledger] = y[layout.sensor + model.cut.sensor]
    y[layout.ledger + LEDGERS.index("bottle")] = sum(c["bottle"] for c in build.caps) * float(
        np.interp(day.start, grid.temperature, grid.density)
    )
    return y


def fingerprint_of(packed: Packed) -> str:
    """Hash (hex) of a packed car and day."""
    digest = hashlib.blake2b(digest_size=16)
    for table in (*packed.model.network[:4], *packed.model[1:-1]):
        digest.update(np.ascontiguousarray(table).tobytes())
    digest.update(packed.start.tobytes())
    digest.update(repr(packed.stretches).encode())
    digest.update(repr((packed.points, packed.lines, packed.sensors, packed.rated_name)).encode())
    digest.update(packed.rated_stop.tobytes())
    digest.update(packed.attributes["limits"].encode() + packed.attributes["ratings"].encode())
    return digest.hexdigest()
