"""The closed cycle of a cylinder and the leak of its gasket: Runge and Kutta, and the trapezoidal rule."""

import math

import numpy as np
from scipy.integrate import quad, solve_ivp

from sim1d.physics import cylinder_cycle as law
from sim1d.physics.ambient import AIR_GAS_CONSTANT
from tests.verification.ladder import Ladder, doubled

PART = "cylinder cycle (`closed_cycle`, `leak_per_cycle`)"
BORE, STROKE, ROD, RATIO = 0.105, 0.100, 0.155, 9.5  # m, m, m, 1
CLOSES, OPENS = math.radians(-130.0), math.radians(120.0)
BURN = (math.radians(-22.0), math.radians(50.0), 2.0)  # start, duration, shape
PRESSURE, HEAT, LOSS = 230e3, 2.85e6, 0.12  # Pa absolute, J/kg of charge, share to the walls
HOT, COOL = 3000.0, 350.0  # K at the start: the ratio of specific heats is its least throughout; and usual


def volume(angle: float) -> float:
    """Volume (m3) of the cylinder."""
    return law.cylinder_volume(angle, BORE, STROKE, ROD, RATIO)


def trace(steps: int, temperature: float, heat: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Angles, pressure (Pa) and temperature (K) of a cycle in so many steps."""
    angle = np.linspace(CLOSES, OPENS, steps + 1)
    p, t = np.empty_like(angle), np.empty_like(angle)
    law.closed_cycle(
        p, t, CLOSES, OPENS, BORE, STROKE, ROD, RATIO, PRESSURE, temperature, heat, *BURN, LOSS
    )  # fmt: skip
    return angle, p, t


def charge(temperature: float) -> float:
    """Gas (kg) in the cylinder."""
    return law.trapped_charge(PRESSURE, temperature, CLOSES, BORE, STROKE, ROD, RATIO)


def motored(steps: int) -> float:
    """Largest relative error of pressure without burning: T/(a - b T) V^a is constant where g - 1 = a - b T."""
    angle, p, _ = trace(steps, COOL, 0.0)
    a, b, first = 0.40, 7.18e-5, volume(CLOSES)
    kept = COOL / (a - b * COOL) * first**a
    exact = []
    for at in angle:
        now = kept / volume(at) ** a
        t = a * now / (1.0 + b * now)
        exact.append(charge(COOL) * AIR_GAS_CONSTANT * t / volume(at))
    return float(np.abs(p / exact - 1.0).max())


def burnt_hot(steps: int) -> float:
    """Relative error of pressure at the end of a fired cycle of one g: p V^g = p0 V0^g + (g-1) int V^(g-1) dQ."""
    g = law.specific_heat_ratio(HOT)
    total = charge(HOT) * HEAT * (1.0 - LOSS)
    source, _ = quad(
        lambda at: volume(at) ** (g - 1.0) * total * law.burning_rate(at, *BURN), BURN[0], OPENS, epsabs=1e-15,
        epsrel=1e-13, limit=200,
    )  # fmt: skip
    exact = (PRESSURE * volume(CLOSES) ** g + (g - 1.0) * source) / volume(OPENS) ** g
    return abs(float(trace(steps, HOT, HEAT)[1][-1]) / exact - 1.0)


def slope(at: float, p: np.ndarray, temperature: float) -> np.ndarray:
    """The first law once more, with the volume and the burning written out, for an integrator of scipy."""
    mass, side = charge(temperature), 0.5 * STROKE * math.sin(at)
    sweep = 0.25 * math.pi * BORE**2 * side * (1.0 + 0.5 * STROKE * math.cos(at) / math.sqrt(ROD**2 - side**2))
    place = max((at - BURN[0]) / BURN[1], 0.0)
    burning = mass * HEAT * (1.0 - LOSS) * 15.0 / BURN[1] * place**2 * math.exp(-5.0 * place**3)
    g = max(1.40 - 7.18e-5 * p[0] * volume(at) / (mass * AIR_GAS_CONSTANT), 1.22)
    return np.array([((g - 1.0) * burning - g * p[0] * sweep) / volume(at)])


def fired_reference() -> float:
    """Pressure (Pa) at the end of the usual fired cycle, by an eighth-order method with its steps held short."""
    answer = solve_ivp(
        slope, (CLOSES, OPENS), [PRESSURE], args=(COOL,), method="DOP853", rtol=1e-12, atol=1e-3,
        max_step=math.radians(0.05),
    )  # fmt: skip
    return float(answer.y[0, -1])


def leak_error(steps: int) -> float:
    """Relative error of what an open groove lets past in a motored cycle, against the integral by quadrature.

    The trace is the closed form of hot gas, p V^g, so that the rule for the leak stands alone.
    """
    g = law.specific_heat_ratio(HOT)
    gasket = (250e3, 1e7, 0.0, 0.02, 0.008, 1e-7, 0.7, 450.0)  # back, lift, gap, arc, land, groove, discharge, land K

    def state(at: float) -> tuple[float, float]:
        squeeze = volume(CLOSES) / volume(at)
        return 3.0 * PRESSURE * squeeze**g, HOT * squeeze ** (g - 1.0)

    exact, _ = quad(lambda at: law.gasket_flow(*state(at), *gasket), CLOSES, OPENS, epsrel=1e-12, limit=200)
    angle = np.linspace(CLOSES, OPENS, steps + 1)
    p, t = (np.array(column) for column in zip(*(state(at) for at in angle), strict=True))
    return abs(law.leak_per_cycle(p, t, angle[1] - angle[0], 1.0, *gasket) / exact - 1.0)


def ladders(full: bool) -> list[Ladder]:
    """All ladders of the cycle; the long reference only where `full`."""
    sizes = doubled(125, 4)  # 500 steps, the kernel's own number, among them; 22 degrees before the top is a grid point
    found = [
        Ladder(
            PART, "motored cycle, pressure throughout", "isentrope of a falling g (closed form)", "1", sizes,
            tuple(motored(n) for n in sizes), 4.0,
        ),
        Ladder(
            PART, "fired cycle of one g, pressure at its end", "p V^g with the burning integrated by quadrature", "1",
            sizes, tuple(burnt_hot(n) for n in sizes), 4.0,
        ),
        Ladder(
            PART, "leak through an open groove", "quadrature of the same flow", "1", sizes,
            tuple(leak_error(n) for n in sizes), 2.0,
        ),
    ]  # fmt: skip
    if full:
        exact = fired_reference()
        errors = tuple(abs(float(trace(n, COOL, HEAT)[1][-1]) / exact - 1.0) for n in sizes)
        found.append(
            Ladder(
                PART, "fired cycle as it is used, pressure at its end", "DOP853 of scipy in steps of 0.05 degrees", "1",
                sizes, errors, None, exact=1e-4,
                remark="The ratio of specific heats is held at 1.22 from 2507 K on: the rate has a corner there, and a "
                "step over it leaves an error of the square of its length.",
            )
        )  # fmt: skip
    return found
