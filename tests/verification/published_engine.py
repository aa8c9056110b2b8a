"""Published numbers of gas, pressure and the engine."""

import math
from functools import cache, partial

import numpy as np

from sim1d.physics import air_transport, cap_flow, cylinder_cycle, engine_balance, gas_side
from sim1d.physics.dissolved_air import air_solubility
from tests.verification.record import GRAVITY, READ, RECALLED, Published, Section

HEYWOOD = "Heywood, Internal Combustion Engine Fundamentals"
OTTO = "Cengel and Boles, Thermodynamics, example 9-2 (ideal Otto cycle, ratio 8, 800 kJ/kg, air tables)"
LINE = "one straight line for the ratio of specific heats here, tables of air there"


def dissolved(celsius: float) -> float:
    """Air (mL at 0 degC and 1 atm, 1.2929 kg/m3) that a litre of water holds under 1 atm of air."""
    return 1e3 * air_solubility(celsius + 273.15, 101325.0) / 1.2929


def gas() -> list[Published]:
    """Nozzles, bubbles and dissolved air."""
    tables = "NACA report 1135, tables of compressible flow"

    def least_tube() -> float:
        radius = 0.5 * air_transport.least_vent_bore(998.2, 0.0728)
        return 998.2 * GRAVITY * radius**2 / 0.0728

    found = [
        Published(Section.GAS, "critical pressure ratio, g 1.4", 0.5283, "1", 5e-5, tables, RECALLED,
                  lambda: cap_flow.critical_ratio(1.4)),
        Published(Section.GAS, "critical pressure ratio, g 1.3", 0.5457, "1", 5e-5, tables, RECALLED,
                  lambda: cap_flow.critical_ratio(1.3)),
        Published(Section.GAS, "rho g r2/sigma below which a long bubble does not rise", 0.842, "1", 0.002,
                  "Bretherton, J. Fluid Mech. 10:166, 1961 (abstract)", READ, least_tube),
    ]  # fmt: skip
    lange = "Lange's Handbook of Chemistry, solubility of gases in water"
    for celsius, printed in ((0, 29.2), (20, 18.7), (40, 14.2), (60, 12.2), (80, 11.3), (100, 11.1)):
        found.append(
            Published(Section.GAS, f"air in water at {celsius} degC under 1 atm of air, gas at 0 degC", printed, "mL/L",
                      0.03 * printed, lange, RECALLED,
                      partial(dissolved, celsius),
                      "a fit through the table")
        )  # fmt: skip
    return found


@cache
def otto() -> tuple[float, float, float, float]:
    """Temperature (K) and pressure (kPa) after compression, and after all heat at the top, of the ideal cycle."""
    bore, stroke, rod, ratio = 0.1, 0.1, 0.16, 8.0
    start, warm = 100e3, 290.0

    def trace(last: float, steps: int, heat: float, burn: tuple[float, float]) -> tuple[np.ndarray, np.ndarray]:
        p, t = np.empty(steps + 1), np.empty(steps + 1)
        cylinder_cycle.closed_cycle(
            p, t, -math.pi, last, bore, stroke, rod, ratio, start, warm, heat, *burn, 2.0, 0.0
        )  # fmt: skip
        return p, t

    squeezed = trace(0.0, 2000, 0.0, (0.0, 0.1))
    short = math.radians(0.1)
    fired = trace(short, 200000, 800e3 / (1.0 - math.exp(-5.0)), (-short, 2.0 * short))
    return float(squeezed[1][-1]), squeezed[0][-1] / 1e3, float(fired[1][-1]), fired[0][-1] / 1e3


def engine() -> list[Published]:
    """Cycle, heat and fuel."""
    keenan = "Keenan and Kaye, Gas Tables"
    found = [
        Published(Section.ENGINE, "share burnt at the end of the burning law, a = 5", 0.993, "1", 5e-4,
                  f"{HEYWOOD}, section 9.2", RECALLED, lambda: cylinder_cycle.burnt_share(1.0, 0.0, 1.0, 2.0)),
        Published(Section.ENGINE, "constant of Woschni's law on kPa", 3.26, "1", 0.005, f"{HEYWOOD}, equation 12.19",
                  RECALLED, lambda: gas_side.woschni(1.0, 1e3, 1.0, 1.0, 0.55), "129.8 on bar in the paper"),
        Published(Section.ENGINE, "ratio of specific heats of air at 300 K", 1.400, "1", 0.023, keenan, RECALLED,
                  lambda: cylinder_cycle.specific_heat_ratio(300.0), LINE),
        Published(Section.ENGINE, "ratio of specific heats of air at 1000 K", 1.336, "1", 0.013, keenan, RECALLED,
                  lambda: cylinder_cycle.specific_heat_ratio(1000.0), LINE),
        Published(Section.ENGINE, "temperature after compression", 652.4, "K", 33.0, OTTO, RECALLED,
                  lambda: otto()[0], LINE),
        Published(Section.ENGINE, "pressure after compression", 1799.7, "kPa", 90.0, OTTO, RECALLED, lambda: otto()[1],
                  LINE),
        Published(Section.ENGINE, "highest temperature", 1575.1, "K", 79.0, OTTO, RECALLED, lambda: otto()[2], LINE),
        Published(Section.ENGINE, "highest pressure", 4345.0, "kPa", 217.0, OTTO, RECALLED, lambda: otto()[3], LINE),
    ]  # fmt: skip
    for fuel, heating, ratio in (("gasoline", 44.0, 14.6), ("ethanol", 26.9, 9.0), ("methanol", 20.0, 6.47)):
        found.append(
            Published(Section.ENGINE, f"heat per mass of air, stoichiometric {fuel}", heating / ratio, "MJ/kg",
                      0.035 * heating / ratio, f"{HEYWOOD}, table D.4 (heating value over air by fuel)", RECALLED,
                      lambda: engine_balance.released_power(1.0, 1.0) / 1e6, "one number for any fuel here")
        )  # fmt: skip
    return found


def records() -> list[Published]:
    """Gas and pressure, and the engine."""
    return gas() + engine()
