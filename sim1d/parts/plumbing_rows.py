"""Rows of what joins the parts: lines with their fittings, junctions, thermostats and plates."""

import math
from typing import TYPE_CHECKING

from sim1d.physics.ambient import hose_coefficient, hose_conductance
from sim1d.physics.area_changes import crane_contraction, sudden_expansion
from sim1d.physics.elasticity import thick_tube_compliance
from sim1d.physics.orifices import pipe_orifice_loss, thick_hole_loss

if TYPE_CHECKING:
    from sim1d.build import Build
    from sim1d.parts.junction import Junction
    from sim1d.parts.line import Line
    from sim1d.parts.thermostat import Thermostat, ThermostatPlate

BLOCKED = 1e8  # loss coefficient of what is blocked: some ten-thousandths of the flow still seep, so no island forms
# 1/m3, linear resistance of what is blocked (`branch_loss`): as BLOCKED of an inch bore at 5 kPa. Without it the
# law is level at rest and steep beside it: a flow that is a little off is mended into one that is far off
SEEP = 1e14
RUBBER = 0.25  # W/(m K), conductivity of EPDM (assumed)
HOSE_AIR = (363.15, 303.15)  # K, wall and air at which the still-air loss of a hose is taken
SMALL_BORE = 0.014  # m: below this a line carries no slug that matters, two cells are enough
HARD = 9.0e4  # Pa: a hose that stands this much suction outlasts any vacuum that water allows
MOVING = 0.05  # 1/(m/s), growth of the loss with car speed (assumed: threefold at 40 m/s)


def narrow(bore: float, throat: float) -> float:
    """Loss coefficient, on the speed in `bore`, of a passage through a shorter, narrower `throat`."""
    if throat >= bore:
        return 0.0
    ratio = throat / bore
    return (crane_contraction(ratio) + sudden_expansion(ratio)) / ratio**4


def line_loss(line: "Line") -> tuple[float, float]:
    """Loss coefficients (forward, reverse) of all that sits on a line, on the speed in its bore."""
    bore = line.inner_diameter
    both = 2 * narrow(bore, line.throat_share * bore)
    if line.restrictor is not None:
        # metering coefficient of a sharp plate, 0.62 (recalled); below ISO's smallest sizes, so +-10 %
        both += pipe_orifice_loss(line.restrictor / bore, 0.62) if line.restrictor < bore else 0.0
    both += sum(narrow(bore, fitting.bore) for fitting in line.fittings if fitting.bore is not None)
    if line.blocked:
        both += BLOCKED
    forward = both + sum(fitting.forward for fitting in line.fittings)
    return forward, both + sum(fitting.reverse for fitting in line.fittings)


TEE = 0.5  # on a line's bore where it meets others: equal tee with even flows, 0.41 and 0.53 converging (Crane TP-410)
Y_BLOCK = 0.25  # half of that for an easy angle (assumed)


def meeting_loss(build: "Build", port: str) -> float:
    """Loss coefficient, on its own bore, of a line that meets others at `port` (0 where it is alone)."""
    if port in build.y_blocks:
        return Y_BLOCK
    return TEE if build.meetings.get(port, 0) > 1 else 0.0


def collapse_suction(line: "Line") -> float:
    """Suction (Pa below ambient) at which a hose begins to go flat; infinite where a wire or its metal keeps it open.

    Long tube under outer pressure: E t^3/(4 (1 - nu^2) R^3), R the mean radius, nu 0.5 (Timoshenko and Gere, Theory of
    Elastic Stability; recalled). A declared value wins.
    """
    if line.collapse_pressure is not None:
        return line.collapse_pressure
    if not line.is_soft:
        return math.inf
    radius = 0.5 * (line.inner_diameter + line.wall_thickness)
    return line.modulus * (line.wall_thickness / radius) ** 3 / 3.0


def write_line(line: "Line", build: "Build", name: str, length: float) -> None:
    """A line between two ports: a branch with cells of coolant inside."""
    bore = line.inner_diameter
    volume = line.area * length
    forward, reverse = line_loss(line)
    meeting = meeting_loss(build, line.start) + meeting_loss(build, line.end)
    outer = bore + 2 * line.wall_thickness
    stretch = thick_tube_compliance(bore / 2, outer / 2, line.modulus)
    conductance = 0.0
    if not line.insulated:
        film = hose_coefficient(*HOSE_AIR, 0.0, 101325.0, outer, 0.9)
        conductance = hose_conductance(film, bore, outer, length, RUBBER)
    build.branch(
        name, line.start, line.end, diameter=bore, length=length, roughness=line.wall_roughness,
        friction_multiplier=line.friction_multiplier, k=forward + meeting,
        k_reverse=reverse + meeting, creeping=SEEP if line.blocked else 0.0,
        cells=build.cells_per_line if bore > SMALL_BORE else 2, volume=volume,
        compliance=stretch * volume, ambient=conductance, ambient_moving=MOVING,
    )  # fmt: skip
    build.show(name.removeprefix("lines."), name)
    suction = collapse_suction(line)
    if suction < HARD:
        build.collapses.append(dict(branch=name, suction=suction, width=max(0.5 * suction, 2e3)))
    if line.working_pressure is not None:
        for end in (line.start, line.end):
            build.rate(end, name, line.working_pressure)


def write_junction(junction: "Junction", build: "Build", name: str) -> None:
    """A tee or y-block: the coolant in it; its loss stands on the lines' fittings."""
    build.junction(name, junction.x, junction.z, junction.volume)
    if junction.working_pressure is not None:
        build.rate(name, name, junction.working_pressure)


def write_thermostat(thermostat: "Thermostat", build: "Build", name: str) -> None:
    """Housing and element: a valve moved by the coolant at its inlet; the bypass leaves from the inlet."""
    for end, volume in thermostat.lumps().items():
        build.junction(f"{name}.{end}", thermostat.x, thermostat.z, volume)
    valve = -1
    if thermostat.fitted:
        leak = (thermostat.bleed_hole / thermostat.bore) ** 2
        build.valves.append(
            dict(node=f"{name}.inlet", opens=thermostat.opens, full=thermostat.full, leak=leak, invert=0)
        )
        valve = len(build.valves) - 1
    build.branch(
        name, f"{name}.inlet", f"{name}.outlet", diameter=thermostat.bore,
        k=thermostat.loss_coefficient if thermostat.fitted else 1.0, valve=valve,
    )  # fmt: skip
    build.show(name, name)
    if thermostat.working_pressure is not None:
        build.rate(f"{name}.inlet", name, thermostat.working_pressure)
    if thermostat.bypass_bore is None or f"{name}.bypass" not in build.plumbed:
        return
    foot = -1
    if thermostat.fitted and thermostat.bypass_foot:
        build.valves.append(
            dict(node=f"{name}.inlet", opens=thermostat.opens, full=thermostat.full, leak=0.02, invert=1)
        )
        foot = len(build.valves) - 1
    build.junction(f"{name}.bypass", thermostat.x, thermostat.z)
    build.branch(
        f"{name}.bypass", f"{name}.inlet", f"{name}.bypass", diameter=thermostat.bypass_bore, k=1.5, valve=foot
    )


def write_plate(plate: "ThermostatPlate", build: "Build", name: str) -> None:
    """A plate with a hole in place of the element."""
    for end, volume in plate.lumps().items():
        build.junction(f"{name}.{end}", plate.x, plate.z, volume)
    build.branch(
        name, f"{name}.inlet", f"{name}.outlet", diameter=plate.bore, k=thick_hole_loss(plate.thickness / plate.bore)
    )
    build.show(name, name)
