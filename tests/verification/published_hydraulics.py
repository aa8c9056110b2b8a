"""Published answers in hydraulics: pipes, area changes, tees, networks. Solved by the package's own friction law."""

import math
from collections.abc import Callable
from functools import cache, partial
from typing import Any

import fluids

from sim1d.network import NetworkBuilder, Solution
from sim1d.physics import area_changes, friction, tees
from tests.verification.record import (
    FOOT,
    GALLON,
    GRAVITY,
    INCH,
    POUND,
    PSI,
    READ,
    RECALLED,
    Basis,
    Published,
    Section,
)  # fmt: skip

IDEAL: dict[str, Any] = dict(density=1000.0, viscosity=1e-9)  # no viscosity to speak of: square laws alone
CHURCHILL = "Churchill's friction factor, theirs Colebrook's"
CRANE = "Crane TP-410, example"


def hydr(
    what: str, printed: float, unit: str, within: float, source: str, basis: Basis, ours: Callable[[], float],
    why: str = "",
) -> Published:  # fmt: skip
    """A record of this section."""
    return Published(Section.HYDRAULICS, what, printed, unit, within, source, basis, ours, why)


def pipe_drop(flow: float, density: float, viscosity: float, length: float, bore: float, rough: float = 0.0) -> float:
    """Pressure drop (Pa) of a round pipe at a volume flow (m3/s)."""
    area = math.pi / 4 * bore**2
    loss = friction.branch_loss(
        flow * density, density, viscosity, length, bore, area, 1.0, rough, 1.0, 64.0, 0.0, area, 0.0
    )
    return float(loss[0])


def rigid(pounds: float) -> float:
    """kg/m3 of pounds per cubic foot."""
    return pounds * POUND / FOOT**3


def pipes() -> list[Published]:
    """Single pipes."""
    factor = "Cengel and Cimbala, Fluid Mechanics, example 8-3"
    bore = 0.05
    speed = 6e-3 / (math.pi / 4 * bore**2)
    ducts = "Incropera and DeWitt, table 8.1"
    found = [
        hydr("friction factor of a smooth pipe at Re 100 600", 0.0179, "1", 2e-4, f"{CRANE} 7.1", READ,
             lambda: friction.churchill_friction(100600.0, 0.0), CHURCHILL),
        hydr("laminar drop of oil, 10 m of 20 mm", 20.4, "kPa", 0.05, "Munson, Young, Okiishi, example 8.2", READ,
             lambda: pipe_drop(2e-5, 900.0, 0.4, 10.0, 0.02) / 1e3),
        hydr("laminar drop of glycerin, 70 m of 40 mm at 3 m/s", 1291.0, "kPa", 1.0,
             "Cengel and Cimbala, Fluid Mechanics, example 8-1", READ,
             lambda: pipe_drop(3.0 * math.pi / 4 * 0.04**2, 1252.0, 0.3073, 70.0, 0.04) / 1e3,
             "properties recalled"),
        hydr("friction factor, water in 50 mm of steel", 0.0172, "1", 2e-4, factor, READ,
             lambda: friction.churchill_friction(999.1 * speed * bore / 1.138e-3, 2e-6 / bore), CHURCHILL),
        hydr("drop over 60 m of the same", 96.5, "kPa", 1.2, factor, READ,
             lambda: pipe_drop(6e-3, 999.1, 1.138e-3, 60.0, 0.05, 2e-6) / 1e3, CHURCHILL),
        hydr("head lost over 300 m of 150 mm at 50 L/s", 16.81, "m", 0.25, "Massey and Ward-Smith, example 7.1", READ,
             lambda: pipe_drop(0.05, 1000.0, 1.14e-3, 300.0, 0.15, 1.5e-4) / 9810.0, "Moody chart there"),
        hydr("laminar constant f Re between plates", 96.0, "1", 0.5, ducts, RECALLED,
             lambda: friction.rectangular_laminar_constant(0.0)),
    ]  # fmt: skip
    for sides, constant in ((8, 82.0), (4, 73.0), (2, 62.0), (1, 57.0)):
        found.append(
            hydr(f"laminar constant f Re of a rectangle {sides} to 1", constant, "1", 0.5, ducts, RECALLED,
                 partial(friction.rectangular_laminar_constant, 1.0 / sides))
        )  # fmt: skip
    return found


def changes() -> list[Published]:
    """Area changes, elbows and tees."""
    cone = "Cengel and Cimbala, Fluid Mechanics, example 8-6"
    ratio = 60.0 / 90.0

    def coefficient() -> float:
        return area_changes.conical_expansion(ratio, math.radians(20.0))

    def after() -> float:
        first, second = 7.0, 7.0 * ratio**2
        return (150e3 + 1000.0 * (1.06 * (first**2 - second**2) - coefficient() * first**2) / 2.0) / 1e3

    joining = 0.00633 / (0.018917 + 0.00633)
    right, slanted = math.pi / 2, math.pi / 4
    return [
        hydr("head lost from 40 to 50 mm at 7.2 m3/h", 16.7, "mm", 0.05, "Coulson and Richardson, example 3.6", READ,
             lambda: 1e3 * area_changes.sudden_expansion(0.8)
             * (7.2 / 3600.0 / (math.pi / 4 * 0.04**2)) ** 2 / (2 * 9.81)),
        hydr("loss coefficient of a cone, 60 to 90 mm in 20 degrees", 0.133, "1", 0.007, cone, READ, coefficient,
             "a chart there"),
        hydr("head lost in it at 7 m/s", 0.332, "m", 0.0175, cone, READ, lambda: coefficient() * 49.0 / (2 * 9.81),
             "a chart there"),
        hydr("pressure behind it", 168.0, "kPa", 0.8, cone, READ, after),
        hydr("loss coefficient of a sharp entry", 0.57, "1", 0.002, "Rennels and Hudson 2012", READ,
             lambda: area_changes.rennels_contraction(0.0)),
        hydr("joining tee, 300 and 100 gal/min, branch", -0.04026, "1", 4e-4, f"{CRANE} 7.35", READ,
             lambda: tees.converging_branch(joining, 1.0, right), "flows rounded"),
        hydr("joining tee, 300 and 100 gal/min, run", 0.3258, "1", 3e-3, f"{CRANE} 7.35", READ,
             lambda: tees.converging_run(joining, 1.0, right)),
        hydr("splitting wye of 45 degrees, 400 and 250 gal/min, branch", 0.4640, "1", 4e-3, f"{CRANE} 7.36", READ,
             lambda: tees.diverging_branch(250.0 / 650.0, 1.0, slanted)),
        hydr("splitting wye of 45 degrees, 400 and 250 gal/min, run", -0.06809, "1", 7e-4, f"{CRANE} 7.36", READ,
             lambda: tees.diverging_run(250.0 / 650.0, 1.0)),
    ]  # fmt: skip


@cache
def square() -> Solution:
    """Four equal pipes in a square (Schaschke 8.12): 3.0 L/s in at A, 0.5 at B, out 0.9 at D and 2.6 at C."""
    net = NetworkBuilder()
    net.junction("A", pressure=0.0)
    for name, inflow in (("B", 0.5e-3), ("C", -2.6e-3), ("D", -0.9e-3)):
        net.junction(name, inflow=inflow)
    for start, end in ("AB", "BC", "AD", "DC"):
        net.resistance(start + end, start, end, quadratic=16600.0 * 1e6)
    return net.solve(**IDEAL)


@cache
def reservoirs() -> Solution:
    """Three reservoirs at 100, 20 and 0 ft (Munson 8.14): friction factor 0.02, 1 ft bore, 1000, 500 and 400 ft."""
    area = math.pi / 4 * FOOT**2
    net = NetworkBuilder()
    net.junction("J")
    for name, height, length in (("A", 100.0, 1000.0), ("B", 20.0, 500.0), ("C", 0.0, 400.0)):
        net.junction(name, pressure=1000.0 * 32.2 * FOOT * height * FOOT)
        net.resistance(name, name, "J", quadratic=0.02 * length * 1000.0 / (2 * area**2))
    return net.solve(**IDEAL)


def flow_of(solved: Callable[[], Solution], branch: str, scale: float) -> float:
    """Volume flow (m3/s) of a branch of a solved network, times `scale`."""
    return scale * solved()[branch]


def drop_of_square(start: str, end: str) -> float:
    """Pressure drop (kPa) between two corners of the square."""
    return (square().pressure[start] - square().pressure[end]) / 1e3


WHITE = {"1": (100.0, 0.08, 0.24e-3), "2": (150.0, 0.06, 0.12e-3), "3": (80.0, 0.04, 0.20e-3)}
WHITE_WATER: dict[str, Any] = dict(density=1000.0, viscosity=1.02e-3)


@cache
def parallel() -> Solution:
    """White's three pipes side by side, 20.3 m apart in head."""
    net = NetworkBuilder()
    net.junction("in", pressure=20.3 * 9810.0)
    net.junction("out", pressure=0.0)
    for name, (length, bore, rough) in WHITE.items():
        net.branch(name, "in", "out", diameter=bore, length=length, roughness=rough)
    return net.solve(**WHITE_WATER)


@cache
def in_series() -> Solution:
    """The same three one after the other."""
    net = NetworkBuilder()
    points = ("in", "a", "b", "out")
    for name in points:
        net.junction(name, pressure={"in": 20.3 * 9810.0, "out": 0.0}.get(name))
    for k, (name, (length, bore, rough)) in enumerate(WHITE.items()):
        net.branch(name, points[k], points[k + 1], diameter=bore, length=length, roughness=rough)
    return net.solve(**WHITE_WATER)


@cache
def meeting() -> Solution:
    """The same three from reservoirs at 20, 100 and 40 m to one junction."""
    net = NetworkBuilder()
    net.junction("J")
    for (name, (length, bore, rough)), height in zip(WHITE.items(), (20.0, 100.0, 40.0), strict=True):
        net.junction(f"tank {name}", pressure=height * 9810.0)
        net.branch(name, f"tank {name}", "J", diameter=bore, length=length, roughness=rough)
    return net.solve(**WHITE_WATER)


@cache
def pumped() -> Solution:
    """Two pipes of 36 m, 4 and 8 cm, from 5 to 13 m, 8 kW of electricity at 70 % (Cengel 8-7)."""
    from scipy.optimize import brentq

    def flows(rise: float) -> Solution:
        net = NetworkBuilder()
        net.junction("lower", z=5.0, pressure=0.0)
        net.junction("pumped", z=5.0)
        net.junction("upper", z=13.0, pressure=0.0)
        net.resistance("pump", "lower", "pumped", quadratic=1.0, push=rise)
        for name, bore in (("small", 0.04), ("large", 0.08)):
            net.branch(name, "pumped", "upper", diameter=bore, length=36.0, roughness=4.5e-5)
        return net.solve(density=998.0, viscosity=1.002e-3)

    return flows(brentq(lambda p: p * flows(p)["pump"] - 5600.0, 1.2e5, 3e5, xtol=1.0))


def house_line(losses: float) -> float:
    """Pressure (psi) that sends 12 gal/min through 60 ft of copper up 20 ft to a tap (Munson 8.8; data recalled)."""
    bore, density, flow = 0.0625 * FOOT, 1.94 * 14.593903 / FOOT**3, 12.0 * GALLON / 60.0
    net = NetworkBuilder()
    net.junction("cellar", z=0.0, inflow=flow)
    net.junction("tap", z=20.0 * FOOT, pressure=0.0)
    net.branch("line", "cellar", "tap", diameter=bore, length=60.0 * FOOT, roughness=5e-6 * FOOT, loss=losses)
    found = net.solve(density=density, viscosity=2.34e-5 * 47.880259)
    jet, inside = flow / (math.pi / 4 * (0.5 * INCH) ** 2), flow / (math.pi / 4 * bore**2)
    return (found.pressure["cellar"] + 0.5 * density * (jet**2 - inside**2)) / PSI


def tank_level() -> float:
    """Level (m) that drives 6 L/s through 89 m of 50 mm cast iron to a tank at 4 m (Cengel 8-8; data recalled)."""
    net = NetworkBuilder()
    net.junction("upper", inflow=6e-3)
    net.junction("lower", pressure=4.0 * 999.7 * 9.81)
    net.branch("pipe", "upper", "lower", diameter=0.05, length=89.0, roughness=0.26e-3, loss=0.5 + 0.6 + 0.2 + 1.06)
    return net.solve(density=999.7, viscosity=1.307e-3).pressure["upper"] / (999.7 * 9.81)


def draw_off(pieces: int, feed: int) -> float:
    """Drop to the far end of a level pipe drawn off evenly, fed at piece `feed`, over that of the full flow."""
    net = NetworkBuilder()
    for i in range(pieces + 1):
        inside = 1.0 / pieces if 0 < i < pieces else 0.5 / pieces
        net.junction(f"{i}", pressure=0.0 if i == feed else None, inflow=-1e-2 * inside)
    for i in range(pieces):
        net.resistance(f"{i}", f"{i}", f"{i + 1}", quadratic=1e9 / pieces)
    return -net.solve(**IDEAL).pressure[f"{pieces}"] / 1e5


def two_bores() -> float:
    """Flow (gal/min) of 11.5 ft of water through 3 in and 2 in pipe (Crane 7.19); fittings by the library `fluids`."""
    wide, narrow = (fluids.nearest_pipe(NPS=size, schedule="40")[1] for size in (3, 2))
    density = rigid(62.364)
    at_entry = fluids.entrance_sharp(method="Crane") + fluids.K_gate_valve_Crane(D1=wide, D2=wide, angle=0.0)
    at_entry += fluids.bend_miter(Di=wide, angle=90, method="Crane")
    at_exit = fluids.contraction_conical_Crane(wide, narrow, l=0.0) + fluids.exit_normal()
    net = NetworkBuilder()
    net.junction("reservoir", pressure=density * GRAVITY * 11.5 * FOOT)
    net.junction("step")
    net.junction("outlet", pressure=0.0)
    rough = 0.0018 * INCH
    net.branch("3 in", "reservoir", "step", diameter=wide, length=10 * FOOT, roughness=rough, loss=at_entry)
    net.branch("2 in", "step", "outlet", diameter=narrow, length=20 * FOOT, roughness=rough, loss=at_exit)
    return net.solve(density=density, viscosity=1.1e-3)["2 in"] * 60 / GALLON


def networks() -> list[Published]:
    """Systems of pipes."""
    found = []
    source = "Schaschke, Fluid Mechanics, example 8.12"
    for name, flow in (("AB", 1.175), ("BC", 1.675), ("AD", 1.825), ("DC", 0.925)):
        found.append(
            hydr(f"square of four pipes, flow {name}", flow, "L/s", 1e-6, source, READ,
                 partial(flow_of, square, name, 1e3))
        )  # fmt: skip
    for start, end, drop in (("A", "D", 55.288), ("A", "B", 22.918), ("B", "C", 46.573), ("D", "C", 14.203)):
        found.append(
            hydr(f"square of four pipes, drop {start}{end}", drop, "kPa", 6e-4, source, READ,
                 partial(drop_of_square, start, end))
        )  # fmt: skip
    source = "Munson, Young, Okiishi, example 8.14"
    for name, flow, sign in (("A", 12.5, 1.0), ("B", 2.26, -1.0), ("C", 10.3, -1.0)):
        found.append(
            hydr(f"three reservoirs, flow {name}", flow, "ft3/s", 0.03, source, READ,
                 partial(flow_of, reservoirs, name, sign / FOOT**3), "rounded while iterating there")
        )  # fmt: skip
    source = "White, Fluid Mechanics, example"
    for name, flow in (("1", 62.5), ("2", 25.9), ("3", 11.4)):
        found.append(
            hydr(f"three pipes side by side, flow {name}", flow, "m3/h", 0.03 * flow, f"{source} 6.17", RECALLED,
                 partial(flow_of, parallel, name, 3600.0), CHURCHILL)
        )  # fmt: skip
    found.append(
        hydr("the same one after the other", 10.2, "m3/h", 0.3, f"{source} 6.17", RECALLED,
             partial(flow_of, in_series, "1", 3600.0), CHURCHILL)
    )  # fmt: skip
    for name, flow in (("1", -52.4), ("2", 47.1), ("3", 6.0)):
        found.append(
            hydr(f"three reservoirs and a junction, flow {name}", flow, "m3/h", 0.035 * abs(flow), f"{source} 6.18",
                 RECALLED, partial(flow_of, meeting, name, 3600.0),
                 "the book stops iterating early: its flows do not balance")
        )  # fmt: skip
    source = "Cengel and Cimbala, Fluid Mechanics, example 8-7"
    for name, flow in (("pump", 30.0), ("small", 4.15), ("large", 25.9)):
        found.append(
            hydr(f"two pipes and a pump, flow of the {name}" + (" pipe" if name != "pump" else ""), flow, "L/s",
                 0.01 * flow, source, RECALLED, partial(flow_of, pumped, name, 1e3), CHURCHILL)
        )  # fmt: skip
    return found + [
        hydr("pressure at the cellar of a house, wall friction alone", 21.3, "psi", 0.3,
             "Munson, Young, Okiishi, example 8.8", READ, lambda: house_line(0.0), "data recalled"),
        hydr("the same with fittings of K 18", 30.5, "psi", 0.4, "Munson, Young, Okiishi, example 8.8", READ,
             lambda: house_line(18.0), "data recalled"),
        hydr("level that drives 6 L/s between two tanks", 31.8, "m", 0.5,
             "Cengel and Cimbala, Fluid Mechanics, example 8-8", READ, tank_level, "data recalled"),
        hydr("even draw-off, fed at the end over fed in the middle", 59090.5 / 7386.3, "1", 0.01,
             "Massey and Ward-Smith, example 7.5", READ, lambda: draw_off(200, 0) / draw_off(200, 100)),
        hydr("reservoir through 3 in and 2 in pipe", 137.0, "gal/min", 2.7, f"{CRANE} 7.19", READ, two_bores,
             "true bores here, nominal ratios there"),
    ]  # fmt: skip


def records() -> list[Published]:
    """All of this section."""
    return pipes() + changes() + networks()
