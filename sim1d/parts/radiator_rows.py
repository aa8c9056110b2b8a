"""Rows of the radiator: two tanks, a core of cells with their metal, and its air side."""

import math
from typing import TYPE_CHECKING

from sim1d.physics.convection import entry_factor
from sim1d.physics.core_air import bare_tube_area, core_drop, fin_area, free_flow_share
from sim1d.physics.exchangers import crossflow_one_mixed
from sim1d.physics.friction import rectangular_laminar_constant
from sim1d.physics.louvered_fins import chang_friction, chang_wang
from sim1d.physics.radiator_water import core_loss_coefficient, port_loss

if TYPE_CHECKING:
    from sim1d.build import Build
    from sim1d.parts.radiator import Radiator

ALUMINIUM = (2700.0, 900.0)  # kg/m3, J/(kg K) of tube and fin stock (recalled)
TANK_METAL = 0.8  # kg of metal that follows each tank (assumed)
FIT_SPEEDS = (3.0, 12.0)  # m/s at the face at which the air-side drop is fitted by a u + b u^2
AIR = (1.164, 1.87e-5)  # kg/m3, Pa s of air at 30 degC


def air_drop(radiator: "Radiator", speed: float) -> float:
    """Pressure drop of the air (Pa) at a face speed (m/s), air at 30 degC."""
    fins, tubes = radiator.fins, radiator.tubes
    density, viscosity = AIR
    free = free_flow_share(fins.height, tubes.pitch, fins.thickness, fins.pitch)
    core_speed = speed / free
    gap, height = fins.pitch - fins.thickness, fins.height - fins.thickness
    passage = 2.0 * gap * height / (gap + height)  # hydraulic diameter between two fins
    tube_height = tubes.inner_height + 2 * tubes.wall
    friction = chang_friction(
        density * core_speed * fins.louver_pitch / viscosity, math.degrees(fins.louver_angle), fins.pitch,
        fins.louver_pitch, fins.height, radiator.depth, fins.louver_length, tubes.pitch, fins.thickness, tube_height,
        passage,
    )  # fmt: skip
    area_ratio = 4.0 * radiator.depth / passage
    return fins.pressure_factor * core_drop(friction, area_ratio, density, core_speed)


def write_radiator(radiator: "Radiator", build: "Build", name: str) -> None:
    """Tanks, core cells, core metal and the row of the air side."""
    tubes, fins = radiator.tubes, radiator.fins
    passes = radiator.core_passes
    count = radiator.tube_count
    ports = radiator.ports()
    still = 8.0 * radiator.face_area  # W/K of a still core to the air: natural convection on both faces (assumed)
    for end in ("inlet", "outlet"):
        build.junction(
            f"{name}.{end}", ports[end].x, ports[end].z, radiator.tank_volume, growth=3 * 23e-6,
            compliance=radiator.compliance / 2, steam=True,
        )  # fmt: skip
        metal = build.metal(f"{name}.{end}_metal", TANK_METAL * ALUMINIUM[1], f"{name}.{end}", ambient=still / 4)
        build.exchangers.append(
            dict(node=f"{name}.{end}", metal=metal, conductance=60.0, branch=name, reference_flow=2.0)
        )
        build.alias[f"{name}.{end}_tank"] = f"{name}.{end}"
        if radiator.rated_pressure is not None:
            build.rate(f"{name}.{end}", name, radiator.rated_pressure)
    if "vent" in ports and f"{name}.vent" in build.plumbed:
        build.junction(f"{name}.vent", ports["vent"].x, ports["vent"].z)
        build.branch(f"{name}.vent", f"{name}.inlet", f"{name}.vent", diameter=ports["vent"].bore, k=0.5)
    length = passes * radiator.tube_length
    # contraction and expansion at the tube ends, once per pass; the share of the tank's face is that of the tubes
    share = tubes.area / (tubes.pitch * radiator.depth)
    k = core_loss_coefficient(passes, share)
    through = count / passes * tubes.area  # all tubes of a pass
    for loss, end in zip(port_loss(), ("inlet", "outlet"), strict=True):
        k += loss * (through / (math.pi / 4 * ports[end].bore ** 2)) ** 2
    build.branch(
        name, f"{name}.inlet", f"{name}.outlet", diameter=tubes.hydraulic_diameter, area=tubes.area,
        count=count / passes, length=length, roughness=1.5e-6, friction_multiplier=radiator.core_loss_factor,
        laminar_constant=rectangular_laminar_constant(tubes.inner_height / tubes.inner_width), k=k,
        cells=build.cells_per_core, volume=count * radiator.tube_length * tubes.area,
    )  # fmt: skip
    build.show(name, name)
    cells = build.cells_per_core
    fin_total = fin_area(radiator.tube_length, count, radiator.depth, fins.pitch, fins.height)
    bare = bare_tube_area(radiator.tube_length, count, radiator.depth, fins.pitch, fins.thickness)
    mass = ALUMINIUM[0] * (fin_total / 2 * fins.thickness + count * radiator.tube_length * tubes.perimeter * tubes.wall)
    row = len(build.radiators)
    slow, fast = (air_drop(radiator, speed) / speed for speed in FIT_SPEEDS)
    quadratic = max((fast - slow) / (FIT_SPEEDS[1] - FIT_SPEEDS[0]), 1e-3)
    linear = max(slow - quadratic * FIT_SPEEDS[0], 1e-2)
    fan = radiator.fan
    runs = fan is not None and not fan.failed
    louver = chang_wang(
        1.0, math.degrees(fins.louver_angle), fins.pitch, fins.louver_pitch, fins.height, radiator.depth,
        fins.louver_length, tubes.pitch, fins.thickness,
    )  # fmt: skip
    values = dict(
        branch=name, face_area=radiator.face_area, air_area=fin_total + bare, fin_share=fin_total / (fin_total + bare),
        fin_half_height=fins.height / 2, fin_thickness=fins.thickness, fin_conductivity=fins.conductivity,
        louver_pitch=fins.louver_pitch, louver_factor=louver,
        free_share=free_flow_share(fins.height, tubes.pitch, fins.thickness, fins.pitch), air_factor=fins.air_factor,
        tube_area=count * radiator.tube_length * tubes.perimeter, tube_flow_area=count / passes * tubes.area,
        tube_diameter=tubes.hydraulic_diameter, tube_length=radiator.tube_length,
        tube_slenderness=tubes.hydraulic_diameter / radiator.tube_length,
        tube_entry=entry_factor(tubes.hydraulic_diameter, radiator.tube_length), drop_linear=linear,
        drop_quadratic=quadratic, fan_pressure=fan.pressure if fan is not None else 0.0,
        fan_works=1.0 if fan is not None and runs else 0.0,
        fan_flow=fan.flow if fan is not None else 0.0, ram=radiator.net_ram, system_loss=radiator.bay_loss,
        still=still / 2,
    )  # fmt: skip
    if radiator.rated is not None:
        values["air_factor"] *= rated_factor(radiator, values, build)
    build.radiators.append(values)
    for c in range(cells):
        metal = build.metal(f"{name}.core.{c + 1}", mass * ALUMINIUM[1] / cells, f"{name}.inlet")
        build.cores.append(dict(cell=(name, c), metal=metal, radiator=row, share=1.0 / cells))


def steady_heat(values: dict, factor: float, coolant_flow: float, air_speed: float, difference: float, liquid) -> float:
    """Steady heat (W) of a core at a rated point, coolant mixed along its path, air unmixed; coolant at 90 degC."""
    from sim1d.physics.convection import tube_coefficient
    from sim1d.physics.core_air import air_coefficient, fin_efficiency, surface_efficiency

    rho, mu, k, cp = liquid
    density, viscosity = AIR
    core_speed = air_speed / values["free_share"]
    j = values["louver_factor"] * (density * core_speed * values["louver_pitch"] / viscosity) ** -0.49
    film = factor * air_coefficient(j, density * core_speed, 1006.0, 0.71)
    fin = fin_efficiency(film, values["fin_conductivity"], values["fin_thickness"], values["fin_half_height"])
    outside = film * surface_efficiency(values["fin_share"], fin) * values["air_area"]
    inside = values["tube_area"] * tube_coefficient(
        coolant_flow / values["tube_flow_area"], rho, mu, k, cp, values["tube_diameter"], values["tube_length"]
    )
    ua = 1.0 / (1.0 / outside + 1.0 / inside)
    air, water = density * air_speed * values["face_area"] * 1006.0, rho * coolant_flow * cp
    least, most = min(air, water), max(air, water)
    effectiveness = crossflow_one_mixed(ua / least, least / most, water >= air)
    return effectiveness * least * difference


def rated_factor(radiator: "Radiator", values: dict, build: "Build") -> float:
    """Air-side factor with which the core meets its rated point (kept within 0.05 to 20)."""
    from scipy.optimize import brentq

    rated = radiator.rated
    assert rated is not None

    def miss(log_factor: float) -> float:
        return steady_heat(
            values, values["air_factor"] * math.exp(log_factor), rated.coolant_flow, rated.air_speed,
            rated.temperature_difference, build.rating_liquid,
        ) - rated.heat  # fmt: skip

    low, high = math.log(0.05), math.log(20.0)
    if miss(low) > 0 or miss(high) < 0:
        build.notes.append("The radiator's rated heat is out of reach of its geometry: the nearest was taken.")
        return math.exp(low if miss(low) > 0 else high)
    return math.exp(brentq(miss, low, high))
