"""Metal of one cylinder: fire deck and exhaust bridge as columns, port, liner and the slow metal, with their faces."""

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sim1d.build import Build
    from sim1d.parts.engine import Engine

# Face temperatures (K) at which the declared heat is taken to enter, by spot: between the levels that handbooks give
# for well-cooled heads (300 degC limit of aluminium, 180 degC of a liner). An error of 50 K is 6 % of the driving
# difference.
REFERENCE_FACE = {"roof": 503.15, "bridge": 543.15, "port": 453.15, "liner": 423.15}
BRIDGE_EDGE = 0.12  # m, edge of a 40 x 20 mm bridge through which heat spreads into the deck (assumed)
BRIDGE_REACH = 0.015  # m, distance over which it spreads (assumed)
UPPER_LINER_HEAT = 0.6  # share of the liner's heat that enters its upper third (assumed)
SLOW_HEAD_FACE = 0.010  # m2, wetted by the head's slow metal, per cylinder (assumed)
SLOW_BLOCK_FACE = 0.020  # m2, the same of the block (assumed)
STILL_AIR = 13.0  # W/(m2 K), natural convection and radiation of a casting 60 K above still air (computed)
SURFACE = 0.125  # m2 of outer surface per cylinder (assumed: 1 m2 for a V8)
MOVING = 0.05  # 1/(m/s): loss of an engine bay grows threefold at 40 m/s (assumed)
PORT_SPEED = 0.7  # speed round the ports over the mean of the head passage (assumed)


def write_cylinder_metal(engine: "Engine", build: "Build", name: str, bank: str, i: int) -> None:
    """Rows of the metal of cylinder `i` (from 1) of `bank`."""
    label = f"{bank}-{i}"
    count = 2 * engine.cylinders_per_bank
    number = [c["name"] for c in build.cylinders].index(label)
    branch = build.cylinders[number]["branch"]
    head_node, block_node = f"{name}.{bank}-{i}.head", f"{name}.{bank}-{i}.block"
    total = engine.heat_to_coolant / count * engine.cylinder_weights[engine.cylinders.index(label)]
    gas = engine.heat.gas_temperature
    head, metal = engine.head, engine.head.material.metal
    heat_capacity = metal.density * metal.specific_heat

    def hot(cell: str, heat: float, face: str, half: float, spot: int) -> None:
        film = heat / (gas - REFERENCE_FACE[face])
        build.gas_face(cell, conductance=film, half=half, gas_temperature=gas, cylinder=number, spot=spot)

    wet = dict(
        branch=branch, flow_area=head.passage_area, diameter=head.passage_diameter, length=engine.bore,
        enhancement=head.enhancement, boiling_factor=build.boiling_factor, cylinder=number,
        pool_factor=head.critical_heat_flux_factor * build.critical_factor,
        flow_factor=head.critical_heat_flux_factor * build.critical_factor,
    )  # fmt: skip

    # fire deck: the declared flux of the roof is the mean over deck and bridge, the bridge takes its multiple of it
    deck = head.deck_shape * math.pi / 4 * engine.bore**2
    bridge = min(head.bridge_area, 0.5 * deck)
    plain = deck - bridge
    flux = engine.heat.roof_share * total / (plain + engine.heat.bridge_multiplier * bridge)
    columns = {}
    for spot, (part, area, share) in enumerate(
        (("roof", plain, 1.0), ("bridge", bridge, engine.heat.bridge_multiplier))
    ):
        inner, outer, half = build.wall(
            f"{label}.{part}", head_node, cells=head.wall_cells, thickness=head.deck_thickness, area=area,
            conductivity=metal.conductivity, heat=heat_capacity,
        )  # fmt: skip
        columns[part] = [f"{label}.{part}.{c + 1}" for c in range(head.wall_cells)]
        hot(inner, flux * share * area, part, half / area, spot)
        speed = head.local_speed_factor if part == "bridge" else 1.0
        build.face(outer, head_node, area=area, half=half, speed_factor=speed, dry=True, **wet)
    layer = head.deck_thickness / head.wall_cells
    for one, two in zip(columns["roof"], columns["bridge"], strict=True):
        build.link(one, two, metal.conductivity * BRIDGE_EDGE * layer / BRIDGE_REACH)

    inner, outer, half = build.wall(
        f"{label}.port", head_node, cells=2, thickness=head.port_thickness, area=head.port_area,
        conductivity=metal.conductivity, heat=heat_capacity,
    )  # fmt: skip
    hot(inner, engine.heat.port_share * total, "port", half / head.port_area, 2)
    build.face(outer, head_node, area=head.port_area, half=half, speed_factor=PORT_SPEED, dry=False, **wet)

    write_liner(engine, build, label, block_node, total, hot, wet)

    slow = build.metal(
        f"{label}.head", head.slow_mass * metal.specific_heat, head_node, ambient=0.4 * STILL_AIR * SURFACE,
        ambient_moving=MOVING,
    )  # fmt: skip
    build.face(slow, head_node, area=SLOW_HEAD_FACE, half=0.01 / metal.conductivity, speed_factor=0.5, dry=False, **wet)
    build.link(slow, outer, metal.conductivity * 0.1 * head.port_thickness / 0.05)
    build.link(slow, columns["roof"][-1], metal.conductivity * math.pi * engine.bore * head.deck_thickness / 0.05)


def write_liner(engine, build: "Build", label: str, node: str, total: float, hot, wet: dict) -> None:
    """Cylinder wall in an upper third and the rest, and the slow metal of the block with oil and header heat."""
    block = engine.block
    liner, metal = block.liner_material.metal, block.material.metal
    thickness = block.liner_thickness
    around = math.pi * (engine.bore + 2 * thickness)
    depth = block.jacket_depth
    slow = build.metal(
        f"{label}.block", block.slow_mass * metal.specific_heat, node, ambient=0.6 * STILL_AIR * SURFACE,
        ambient_moving=MOVING,
        friction_heat=(engine.heat.oil_share * engine.heat_to_coolant + engine.heat.header_radiation)
        / (2 * engine.cylinders_per_bank),
    )  # fmt: skip
    side = dict(wet, flow_area=block.passage_area, diameter=block.passage_diameter)
    for part, height, wetted, share in (
        ("upper", depth / 3, 1.0, UPPER_LINER_HEAT),
        ("lower", 2 * depth / 3, max(1.0 - 1.5 * block.fill, 0.05), 1.0 - UPPER_LINER_HEAT),
    ):
        area = around * height
        inner, outer, half = build.wall(
            f"{label}.liner.{part}", node, cells=2, thickness=thickness, area=area, conductivity=liner.conductivity,
            heat=liner.density * liner.specific_heat,
        )  # fmt: skip
        hot(inner, engine.heat.liner_share * total * share, "liner", half / area, 3 if part == "upper" else -1)
        build.face(outer, node, area=area * wetted, half=half, speed_factor=1.0, dry=False, **side)
        build.link(slow, outer, liner.conductivity * around * thickness / (0.5 * height))
    build.face(slow, node, area=SLOW_BLOCK_FACE, half=0.01 / metal.conductivity, speed_factor=0.5, dry=False, **side)
