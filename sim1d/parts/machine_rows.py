"""Rows of pumps, tanks, caps, sensors and the heat exchangers other than the radiator."""

import math
from typing import TYPE_CHECKING

from sim1d.parts.plumbing_rows import BLOCKED, SEEP

if TYPE_CHECKING:
    from sim1d.build import Build
    from sim1d.parts.cap import Cap
    from sim1d.parts.exchanger import Exchanger
    from sim1d.parts.pump import BeltPump, ElectricPump, Pump
    from sim1d.parts.sensor import Sensor
    from sim1d.parts.tank import ExpansionTank, RecoveryTank

LEAST_LIQUID = 5e-5  # m3 that always stands at the tank's lower port (numerical: the lump is never empty)
STOPPED_TORQUE = 0.4  # share of the shaft torque at the best point that is left at no flow (assumed: disc friction)
NO_LOAD = 0.05  # share of a motor's rated torque lost in its own friction (assumed)


def pump_row(pump: "Pump") -> dict[str, float]:
    """Curve, suction need and shaft torque of a pump at its reference speed."""
    shutoff, slope, curvature = pump.curve()
    speed = pump.reference_speed
    best = pump.runout / math.sqrt(3.0)  # flow of most hydraulic power on a quadratic curve
    power = (shutoff - slope * best - curvature * best**2) * best / pump.efficiency
    torque = power / speed
    area = math.pi / 4 * pump.discharge_bore**2
    return dict(
        speed=speed, density=pump.reference_density, shutoff=shutoff, linear=slope, quadratic=curvature,
        stopped=pump.stopped_loss * pump.reference_density / (2 * area**2),
        torque_constant=STOPPED_TORQUE * torque / speed**2,
        torque_slope=(1 - STOPPED_TORQUE) * torque / (speed * best),
        suction_head_constant=pump.suction_head / speed**2,
    )  # fmt: skip


def write_pump_body(pump: "Pump", build: "Build", name: str, row: dict) -> None:
    """Both ports and the branch between them."""
    ports = pump.ports()
    for end, volume in pump.lumps().items():
        build.junction(f"{name}.{end}", ports[end].x, ports[end].z, volume)
    build.pumps[name] = row
    build.branch(
        name, f"{name}.suction", f"{name}.discharge", diameter=pump.discharge_bore, k=0.2, pump=name
    )  # a fifth of a velocity head for the volute's outlet (assumed); the curve holds the rest
    build.show(name, name)
    if pump.working_pressure is not None:
        build.rate(f"{name}.discharge", name, pump.working_pressure)


def write_belt_pump(pump: "BeltPump", build: "Build", name: str) -> None:
    """A pump that turns with the engine."""
    write_pump_body(pump, build, name, dict(pump_row(pump), electric=0))
    build.drives.append(dict(pump=name, ratio=pump.speed_ratio))


def write_electric_pump(pump: "ElectricPump", build: "Build", name: str) -> None:
    """A pump with a motor. Its rated current and voltage fix the torque; the efficiency of the hydraulics follows."""
    row = pump_row(pump)
    resistance = pump.resistance_share * pump.rated_voltage / pump.rated_current + pump.wiring_resistance
    # the wiring is the car's, not the motor's: it takes voltage away, it does not make another motor
    constant = pump.rated_voltage * (1.0 - pump.resistance_share) / pump.reference_speed
    torque = constant * pump.rated_current
    best = pump.runout / math.sqrt(3.0)
    hydraulic = row["torque_constant"] * pump.reference_speed**2 + row["torque_slope"] * pump.reference_speed * best
    scale = (1 - NO_LOAD) * torque / hydraulic
    row["torque_constant"] *= scale
    row["torque_slope"] *= scale
    if pump.failed:
        resistance = 1e6
    write_pump_body(
        pump, build, name,
        dict(row, electric=1, motor_constant=constant, resistance=resistance, no_load_torque=NO_LOAD * torque),
    )  # fmt: skip


def write_tank(tank: "ExpansionTank", build: "Build", name: str) -> None:
    """The tank: a lump at its lower port, the liquid store above it and the gas that takes the swell."""
    ports = tank.ports()
    build.junction(name, ports["fill"].x, tank.level_z, LEAST_LIQUID, compliance=tank.compliance, steam=False)
    build.vessel = dict(
        node=name,
        volume=tank.volume - LEAST_LIQUID,
        liquid=tank.liquid - LEAST_LIQUID,
        base=tank.base_z,
        area=tank.area,
    )
    if f"{name}.fill" in build.plumbed:
        build.junction(f"{name}.fill", ports["fill"].x, tank.base_z)
        build.branch(f"{name}.fill", f"{name}.fill", name, diameter=tank.fill_bore, k=1.0)
    if f"{name}.vent" in build.plumbed:
        # it ends in the gas: what rises to it falls onto the surface, so the surface's height is what counts
        build.junction(f"{name}.vent", tank.x, tank.level_z)
        build.branch(f"{name}.vent", f"{name}.vent", name, diameter=tank.vent_bore, k=1.0)
    if tank.rated_pressure is not None:
        build.rate(name, name, tank.rated_pressure)


def write_cap(cap: "Cap", build: "Build", node: str, recovery: "RecoveryTank | None") -> None:
    """The cap over `node`."""
    from sim1d.parts.cap import VacuumValve
    from sim1d.parts.tank import OverflowKind

    gives_back = recovery is not None and recovery.kind is OverflowKind.RECOVERY
    build.caps.append(
        dict(
            node=node, area=math.pi / 4 * cap.seat_bore**2, discharge=cap.discharge, opening=cap.opens, ramp=cap.ramp,
            reseat=cap.reseat_share * cap.opens, vacuum=cap.vacuum,
            snaps=cap.vacuum_closing if cap.vacuum_kind is VacuumValve.WEIGHTED else 0.0,
            recovery=recovery.volume if recovery is not None and gives_back else 0.0,
            bottle=recovery.liquid if recovery is not None and gives_back else 0.0,
        )
    )  # fmt: skip


def write_sensor(sensor: "Sensor", build: "Build", name: str) -> None:
    """A sensor at a node; its height counts for pressure, and its soft hose delays it."""
    from sim1d.parts.sensor import SensorKind

    build.sensors[name] = dict(
        at=sensor.at, z=sensor.z, time_constant=sensor.lag, pressure=int(sensor.kind is SensorKind.PRESSURE)
    )
    if sensor.cut is not None:
        build.cuts[name] = dict(filter=sensor.cut.filter)


def write_exchanger(part: "Exchanger", build: "Build", name: str) -> None:
    """One coolant passage, one lump on the other side."""
    build.junction(f"{name}.inlet", part.x, part.z, part.volume / 2, compliance=part.compliance / 2)
    build.junction(f"{name}.outlet", part.x, part.z, part.volume / 2, compliance=part.compliance / 2)
    area = math.pi / 4 * part.bore**2
    k = part.loss_coefficient + (BLOCKED if part.blocked else 0.0)
    build.branch(
        name, f"{name}.inlet", f"{name}.outlet", diameter=part.bore, area=area, k=k,
        creeping=SEEP if part.blocked else 0.0,
    )  # fmt: skip
    build.show(name, name)
    side = build.metal(
        f"{name}.side", part.side_capacity, f"{name}.inlet", ambient=part.side_to_air, friction_heat=part.rated_heat
    )
    if part.side_temperature is not None:
        build.metal_temperature[side] = part.side_temperature
    build.exchangers.append(
        dict(
            node=f"{name}.outlet", metal=side, conductance=part.conductance, branch=name,
            reference_flow=part.reference_flow * 970.0,
        )
    )  # fmt: skip
    build.alias[name] = f"{name}.outlet"
    if part.rated_pressure is not None:
        build.rate(f"{name}.inlet", name, part.rated_pressure)
