"""Published answers in heat transfer, boiling and heat exchangers."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from sim1d.physics import (
    ambient,
    boiling,
    convection,
    critical_heat_flux,
    exchangers,
    film_boiling,
    responses,
)  # fmt: skip
from sim1d.properties import Fluid
from tests.verification.published_properties import CENGEL, boils, volume_share
from tests.verification.record import READ, RECALLED, Basis, Published, Section

BOOK = "Incropera and DeWitt, example"
CHART = "a chart there"


def entry(
    section: Section, what: str, printed: float, unit: str, within: float, source: str, basis: Basis,
    ours: Callable[[], float], why: str = "",
) -> Published:  # fmt: skip
    """A record."""
    return Published(section, what, printed, unit, within, source, basis, ours, why)


def wall(depth: float) -> float:
    """Temperature (degC) of a 40 mm steel wall after 8 min of oil at 60 degC, from -20 degC (Incropera 5.4)."""
    return 60.0 - 80.0 * responses.slab_cooling(480.0, depth, 0.04, 500.0, 63.9, 18.8e-6, 20)


def thermocouple() -> float:
    """Reading (degC) of a bead in gas of 200 degC that sees a duct of 400 degC (Incropera 5.2)."""

    def balance(kelvin: float) -> float:
        return 400.0 * (473.15 - kelvin) + ambient.radiation_coefficient(kelvin, 673.15, 0.9) * (673.15 - kelvin)

    return brentq(balance, 400.0, 673.0) - 273.15


def panel() -> tuple[float, float]:
    """Seconds until 150 degC, and in all, of a panel cured 300 s and cooled to 37 degC (Incropera 5.3)."""
    capacity = 2770.0 * 875.0 * 1.5e-3

    def rate(coefficient: float, around: float) -> Callable[[float, np.ndarray], np.ndarray]:
        def slope(_: float, kelvin: np.ndarray) -> np.ndarray:
            film = coefficient + ambient.radiation_coefficient(kelvin[0], around, 0.8)
            return np.array([film * (around - kelvin[0]) / capacity])

        return slope

    def reach(kelvin: float) -> Any:
        def event(_: float, state: np.ndarray) -> float:
            return float(state[0] - kelvin)

        event.terminal = True  # type: ignore[attr-defined]
        return event

    tight: dict[str, Any] = dict(rtol=1e-10, atol=1e-8)
    curing = solve_ivp(rate(40.0, 448.15), (0.0, 500.0), np.array([298.15]), events=reach(423.15), **tight)
    held = solve_ivp(rate(40.0, 448.15), (0.0, 300.0), curing.y[:, -1], **tight)
    cooling = solve_ivp(rate(10.0, 298.15), (0.0, 3000.0), held.y[:, -1], events=reach(310.15), **tight)
    return float(curing.t[-1]), float(curing.t[-1] + 300.0 + cooling.t[-1])


def heat_transfer() -> list[Published]:
    """Convection and conduction in time."""
    rows = (
        ("Dittus and Boelter, water at Re 14 050 in 25 mm", 2250.0, "W/(m2 K)", 3.0, f"{BOOK} 11.1", READ,
         lambda: convection.dittus_boelter(14050.0, 4.85) * 0.625 / 0.025, ""),
        ("Dittus and Boelter, water at Re 59 567 in 25 mm", 7543.0, "W/(m2 K)", 8.0, f"{BOOK} 11.5", READ,
         lambda: convection.dittus_boelter(59567.0, 5.83) * 0.613 / 0.025, ""),
        ("Nusselt number of a cylinder in air at Re 6071", 40.6, "1", 0.1, f"{BOOK} 7.4", RECALLED,
         lambda: ambient.churchill_bernstein(6071.0, 0.7), ""),
        ("Nusselt number of a still vertical plate at Ra 1.813e9", 147.0, "1", 1.0, f"{BOOK} 9.2", RECALLED,
         lambda: convection.churchill_chu_plate(1.813e9, 0.690), ""),
        ("Nusselt number of a still horizontal pipe at Ra 5.073e6", 23.3, "1", 0.35, f"{BOOK} 9.4", RECALLED,
         lambda: ambient.churchill_chu_cylinder(5.073e6, 0.697), ""),
        ("time for a bead of 0.706 mm from 25 to 199 of 200 degC", 5.2, "s", 0.06, f"{BOOK} 5.1", READ,
         lambda: math.log(175.0) * 8500.0 * 400.0 * 7.06e-4 / (6.0 * 400.0), "time constant of `lumped`"),
        ("bead in gas of 200 degC that sees 400 degC", 218.7, "degC", 0.1, f"{BOOK} 5.2", READ, thermocouple, ""),
        ("panel to 150 degC", 123.0, "s", 0.6, f"{BOOK} 5.3", READ, lambda: panel()[0], ""),
        ("panel cured and cooled, in all", 987.0, "s", 1.5, f"{BOOK} 5.3", READ, lambda: panel()[1], ""),
        ("steel wall after 8 min, outside", 42.9, "degC", 0.25, f"{BOOK} 5.4", READ, lambda: wall(0.0),
         "one term of the series there"),
        ("steel wall after 8 min, at the oil", 45.2, "degC", 0.25, f"{BOOK} 5.4", READ, lambda: wall(0.04),
         "one term of the series there"),
        ("thick copper, 300 kW/m2 for 120 s, surface", 120.0, "degC", 0.1, f"{BOOK} 5.10", READ,
         lambda: 20.0 + responses.semi_infinite_flux(120.0, 0.0, 3e5, 401.0, 117e-6), ""),
        ("thick copper, 150 mm deep", 45.4, "degC", 0.1, f"{BOOK} 5.10", READ,
         lambda: 20.0 + responses.semi_infinite_flux(120.0, 0.15, 3e5, 401.0, 117e-6), ""),
    )  # fmt: skip
    return [entry(Section.HEAT, *row) for row in rows]


def pan() -> float:
    """Boiling heat (kW) of a copper pan of 0.30 m, 18 K above saturation (Incropera 10.1)."""
    flux = boiling.rohsenow(18.0, 279e-6, 2257e3, 957.9, 0.5956, 58.9e-3, 4217.0, 1.76, 0.0128, 1.0)
    return flux * math.pi / 4.0 * 0.30**2 / 1e3


def film() -> tuple[float, float, float]:
    """Convection and radiation (W/(m2 K)) and heat (W/m) of a 6 mm element at 255 degC in water (Incropera 10.2)."""
    convective = film_boiling.bromley_coefficient(155.0, 0.006, 957.9, 0.4902, 2257e3, 0.0299, 15.25e-6, 1980.0)
    radiative = ambient.radiation_coefficient(528.0, 373.0, 1.0)
    return convective, radiative, film_boiling.with_radiation(convective, radiative) * math.pi * 0.006 * 155.0


def critical() -> float:
    """Critical heat flux (MW/m2) of a large plate in water at 1 atm, constant 0.149."""
    return critical_heat_flux.zuber(957.9, 0.5956, 2257e3, 58.9e-3, 0.149) / 1e6


def boiling_records() -> list[Published]:
    """Boiling points and fluxes."""
    glycol = "ASHRAE Handbook, Fundamentals, freezing and boiling points of ethylene glycol solutions"
    raoult = "Raoult's law"
    found = [
        entry(Section.BOILING, f"water boils at {kilopascal} kPa absolute", printed, "degC", 0.02, f"{CENGEL} A-5",
              RECALLED, boils(kilopascal * 1e3))
        for kilopascal, printed in ((150, 111.35), (200, 120.21), (300, 133.52), (500, 151.83))
    ]  # fmt: skip
    for percent, printed, within in (
        (10, 101.1, 0.8), (20, 102.2, 0.8), (30, 104.4, 1.4), (40, 105.6, 0.8), (50, 107.2, 0.8), (60, 110.0, 0.8),
    ):  # fmt: skip
        found.append(
            entry(Section.BOILING, f"ethylene glycol {percent} % by mass boils at 1 atm", printed, "degC", within,
                  glycol, RECALLED, boils(101325.0, Fluid.ETHYLENE_GLYCOL, volume_share(percent)), raoult)
        )  # fmt: skip
    rows = (
        ("ethylene glycol 50 % by volume boils at 1 atm, at least", 108.0, "degC", 0.5, "ASTM D3306", RECALLED,
         boils(101325.0, Fluid.ETHYLENE_GLYCOL, 0.5), raoult),
        ("nucleate boiling of a pan, Rohsenow", 59.1, "kW", 0.12, f"{BOOK} 10.1", READ, pan, ""),
        ("critical heat flux of a large plate", 1.26, "MW/m2", 0.005, f"{BOOK} 10.1", READ, critical, ""),
        ("least flux of film boiling", 18990.0, "W/m2", 40.0, "Lienhard, A Heat Transfer Textbook, example 9.8", READ,
         lambda: film_boiling.least_film_flux(958.2, 0.597, 2257e3, 0.0589), ""),
        ("film boiling of a 6 mm element, convection", 238.0, "W/(m2 K)", 0.5, f"{BOOK} 10.2", READ,
         lambda: film()[0], ""),
        ("its radiation", 21.3, "W/(m2 K)", 0.07, f"{BOOK} 10.2", READ, lambda: film()[1], ""),
        ("its heat", 742.0, "W/m", 1.5, f"{BOOK} 10.2", RECALLED, lambda: film()[2], ""),
    )  # fmt: skip
    return found + [entry(Section.BOILING, *row) for row in rows]


def holman() -> float:
    """Capacity rate (W/K) of the water that gives 40.33 kW to air of 2.36 m3/s in cross flow (Holman 10.11)."""
    heat = 40.33e3
    air = heat / (29.44 - 15.55)

    def missing(water: float) -> float:
        units, ratio = 227.0 * 9.29 / water, water / air
        return exchangers.crossflow_unmixed(units, ratio) * water * (82.22 - 15.55) - heat

    return brentq(missing, 500.0, 1500.0)


def core_records() -> list[Published]:
    """Effectiveness of exchangers."""
    rows = (
        ("effectiveness, both unmixed, 2.1 units, ratio 0.45", 0.755, "1", 0.008, f"{BOOK} 11.3", READ,
         lambda: exchangers.crossflow_unmixed(2.1, 0.45), CHART),
        ("effectiveness, both unmixed, 2.67 units, ratio 0.357", 0.82, "1", 0.017, f"{BOOK} 11.4", READ,
         lambda: exchangers.crossflow_unmixed(2.67, 0.357), CHART),
        ("effectiveness, both unmixed, 0.65 units, ratio 0.32", 0.47, "1", 0.03, f"{BOOK} 11.6", READ,
         lambda: exchangers.crossflow_unmixed(0.65, 0.32), CHART),
        ("water for 40.33 kW in cross flow", 660.0, "W/K", 14.0, "Holman, Heat Transfer, example 10.11", READ, holman,
         "interpolated in a chart there"),
        ("effectiveness in parallel flow, 1.5 units, ratio 0.5", 0.596, "1", 5e-4,
         "Lienhard, A Heat Transfer Textbook, example 3.5", READ, lambda: exchangers.parallel_flow(1.5, 0.5), ""),
    )  # fmt: skip
    return [entry(Section.CORES, *row) for row in rows]


def records() -> list[Published]:
    """Heat transfer, boiling and cores."""
    return heat_transfer() + boiling_records() + core_records()
