"""Published answers about pumps and what they need at their suction."""

import math
from collections.abc import Callable

import fluids

from sim1d.network import NetworkBuilder
from sim1d.physics import pumps, suction
from tests.verification.published_hydraulics import CRANE, rigid
from tests.verification.record import (
    FOOT,
    GALLON,
    GRAVITY,
    HORSEPOWER,
    INCH,
    PSI,
    READ,
    RPM,
    Basis,
    Published,
    Section,
)  # fmt: skip

GPM = GALLON / 60.0


def pump(
    what: str, printed: float, unit: str, within: float, source: str, basis: Basis, ours: Callable[[], float],
    why: str = "",
) -> Published:  # fmt: skip
    """A record of this section."""
    return Published(Section.PUMPS, what, printed, unit, within, source, basis, ours, why)


def slowed() -> tuple[float, float, float]:
    """Flow (gal/min), head (ft) and power (hp) at 1700 rpm of a pump of 400, 126, 17.5 at 3500 rpm (Crane 7.33).

    The curve through that point has the falling linear and square parts of the package's pumps; affinity holds for any.
    """
    ratio, weight, flow = 1700.0 / 3500.0, 998.0 * GRAVITY, 400.0 * GPM
    head = 126.0 * FOOT * weight
    rise = pumps.pump_rise(
        flow * ratio, ratio, 1.0, 1.5 * head, 0.3 * head / flow, 0.2 * head / flow**2, head / flow**2
    )[0]
    speed = 3500.0 * RPM
    torque = 17.5 * HORSEPOWER / speed
    slow = pumps.shaft_torque(
        flow * ratio, speed * ratio, 1.0, 0.6 * torque / speed**2, 0.4 * torque / (speed * flow)
    )
    return flow * ratio / GPM, rise / weight / FOOT, slow * speed * ratio / HORSEPOWER


def raised() -> tuple[float, float]:
    """Head (ft) and power (hp) that send 100 gal/min up 400 ft through 500 ft of 3 in pipe (Crane 7.15).

    Valves and elbows by the library `fluids`, wall friction and flow by the package.
    """
    bore = fluids.nearest_pipe(Do=3 * INCH, schedule="40")[1]
    reducer = fluids.nearest_pipe(Do=2.5 * INCH, schedule="40")[1]
    density, flow = rigid(62.298), 100.0 * GPM
    loss = fluids.exit_normal() + fluids.K_gate_valve_Crane(D1=bore, D2=bore, angle=0.0)
    loss += 4 * fluids.bend_rounded(Di=bore, angle=90, Re=1e5, method="Crane standard")
    loss += fluids.K_lift_check_valve_Crane(D1=reducer, D2=bore, angled=False)
    net = NetworkBuilder()
    net.junction("pump", z=0.0, inflow=flow)
    net.junction("tank", z=400 * FOOT, pressure=0.0)
    net.branch("line", "pump", "tank", diameter=bore, length=500 * FOOT, roughness=0.0022 * INCH, loss=loss)
    rise = net.solve(density=density, viscosity=0.95e-3).pressure["pump"]
    return rise / (density * GRAVITY) / FOOT, rise * flow / 0.7 / HORSEPOWER


def intake() -> float:
    """Head (ft) available behind 6 ft of 5 in cast iron, an elbow and a valve (Fox and McDonald 10.8)."""
    bore, density = 5.047 * INCH, rigid(62.22)
    net = NetworkBuilder()
    net.junction("level", z=3.5 * FOOT, pressure=101325.0)
    net.junction("eye", z=0.0, inflow=-1000 * GPM)
    length = 6 * FOOT + 38 * bore
    net.branch("intake", "level", "eye", diameter=bore, length=length, roughness=0.00085 * FOOT, loss=0.5)
    total = net.solve(density=density, viscosity=8.6e-4).pressure["eye"]  # total pressure: it holds the speed head
    return suction.available_head(total, 0.0, 0.507 * PSI, density) / FOOT


def lift_of_munson() -> float:
    """Height (ft) above the water at which a pump that needs 15 ft may stand (Munson 12.3)."""
    density = rigid(62.22)
    speed = 0.5 * FOOT**3 / (math.pi / 4 * (FOOT / 3.0) ** 2)
    still = suction.available_head(14.7 * PSI, 0.0, 0.5069 * PSI, density)
    return (still - 20.0 * speed**2 / (2 * GRAVITY) - 15.0 * FOOT) / FOOT


def altitude_of_arasu() -> float:
    """How much lower (m) a pump must stand where the barometer falls from 0.75 to 0.62 m of mercury (Arasu 8.19)."""
    mercury = 13.6 * 1000.0 * GRAVITY
    low = suction.available_head(0.75 * mercury, 0.0, 1800.0, 1000.0)
    return low - suction.available_head(0.62 * mercury, 0.0, 830.0, 1000.0)


def below_ground_tank() -> float:
    """Head (ft) available 25 ft above water at 5 psi gauge, 6 ft lost (Crane 7.32)."""
    density = rigid(62.364)
    at_eye = 5 * PSI + 101325.0 - density * GRAVITY * 31.0 * FOOT
    return suction.available_head(at_eye, 0.0, 0.256 * PSI, density) / FOOT


def level_of_schaschke() -> float:
    """Level (m) above the vessel's floor below which the pump cavitates (Schaschke 9.6)."""
    still = suction.available_head(0.94 * 1.013e5, 0.0, 18.0e3, 970.0)
    return 5.0 + 3.0 + 0.5 - still


def records() -> list[Published]:
    """All of this section."""
    affinity, wheel, speed = f"{CRANE} 7.33", "Munson, Young, Okiishi, example 12.5", 1200.0 * RPM
    size = 8.0 * INCH
    return [
        pump("flow of a pump slowed from 3500 to 1700 rpm", 194.3, "gal/min", 0.05, affinity, READ,
             lambda: slowed()[0]),
        pump("its head", 29.73, "ft", 0.01, affinity, READ, lambda: slowed()[1]),
        pump("its power", 2.005, "hp", 0.002, affinity, READ, lambda: slowed()[2]),
        pump("flow coefficient of an 8 in wheel at 1200 rpm, 1044 gal/min", 0.0625, "1", 1e-4, wheel, READ,
             lambda: pumps.flow_coefficient(1044.0 * GPM, speed, size)),
        pump("its head coefficient at 41.4 ft", 0.19, "1", 0.001, wheel, READ,
             lambda: pumps.head_coefficient(41.4 * FOOT, speed, size)),
        pump("its power coefficient at 13 hp", 0.014, "1", 2e-4, wheel, READ,
             lambda: pumps.power_coefficient(13.0 * HORSEPOWER, 999.0, speed, size), "power rounded to a horsepower"),
        pump("head to raise 100 gal/min through 500 ft of pipe", 421.0, "ft", 2.0, f"{CRANE} 7.15", READ,
             lambda: raised()[0]),
        pump("power for it at 70 %", 15.2, "hp", 0.15, f"{CRANE} 7.15", READ, lambda: raised()[1]),
        pump("suction head available, tank below", 13.89, "ft", 0.02, f"{CRANE} 7.32", READ, below_ground_tank),
        pump("highest place of a pump that needs 15 ft", 7.65, "ft", 0.03, "Munson, Young, Okiishi, example 12.3", READ,
             lift_of_munson),
        pump("how much lower at altitude", 1.67, "m", 0.005, "Arasu, example 8.19", READ, altitude_of_arasu),
        pump("lowest level before cavitation", 0.385, "m", 0.008, "Schaschke, Fluid Mechanics, example 9.6", READ,
             level_of_schaschke, "g 9.81 there"),
        pump("suction head available behind an intake", 29.4, "ft", 0.1, "Fox and McDonald, example 10.8", READ, intake,
             "data recalled"),
    ]  # fmt: skip
