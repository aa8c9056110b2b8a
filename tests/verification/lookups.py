"""Reading of the property tables: straight lines between rows, against the equation of state itself."""

from collections.abc import Callable

import numpy as np

from sim1d.physics.lookup import row_of, saturation_temperature, value
from sim1d.properties import LIQUID_PRESSURE, Fluid, coolant_tables
from tests.verification.ladder import Ladder

PART = "property tables (`row_of`, `value`, `saturation_temperature`)"
THINNED = (16, 8, 4, 2, 1)  # every so many rows of the table as it is built
KELVIN = np.arange(283.15, 383.15, 0.37)  # K; below 393 K, where the pressure of the liquid begins to follow saturation
PASCAL = np.geomspace(8e3, 1.8e6, 301)  # Pa absolute


def read(column: str, every: int) -> np.ndarray:
    """The column at `KELVIN`, from every so many rows of water's table."""
    thin = coolant_tables(Fluid.WATER).liquid[::every].copy().view(np.recarray)
    return np.array([value(thin[column], *row_of(thin, kelvin)) for kelvin in KELVIN])


def boiling(every: int) -> np.ndarray:
    """Boiling temperature (K) at `PASCAL`, from every so many rows of water's table."""
    whole = coolant_tables(Fluid.WATER).by_pressure
    last = (len(whole) - 1) // THINNED[0] * THINNED[0]
    thin = whole[: last + 1 : every].copy().view(np.recarray)
    return np.array([saturation_temperature(thin, pascal) for pascal in PASCAL])


def of_library(key: str, saturated: bool) -> np.ndarray:
    """The same from CoolProp's IAPWS-95: liquid at the tables' pressure, or at saturation."""
    from CoolProp.CoolProp import PropsSI

    if saturated:
        return PropsSI(key, "T", KELVIN, "Q", 0.0, "HEOS::Water")
    return PropsSI(key, "T", KELVIN, "P", LIQUID_PRESSURE, "HEOS::Water")


def boiling_of_library() -> np.ndarray:
    """Boiling temperature (K) at `PASCAL` from CoolProp."""
    from CoolProp.CoolProp import PropsSI

    return PropsSI("T", "P", PASCAL, "Q", 0.0, "HEOS::Water")


def ladders(full: bool) -> list[Ladder]:
    """All ladders of tables; they cost nothing, so the fast ones are the same."""
    del full
    cases: tuple[tuple[str, Callable[[int], np.ndarray], np.ndarray], ...] = (
        ("density", lambda n: read("density", n), of_library("D", False)),
        ("viscosity", lambda n: read("viscosity", n), of_library("V", False)),
        ("vapour pressure", lambda n: read("vapour_pressure", n), of_library("P", True)),
        ("surface tension", lambda n: read("surface_tension", n), of_library("I", True)),
        ("boiling temperature", boiling, boiling_of_library()),
    )
    found = []
    for case, law, exact in cases:
        errors = tuple(float(np.abs(law(every) / exact - 1.0).max()) for every in THINNED)
        rows = tuple(len(coolant_tables(Fluid.WATER).liquid) // every for every in THINNED)
        if case == "boiling temperature":
            rows = tuple(len(coolant_tables(Fluid.WATER).by_pressure) // every for every in THINNED)
        found.append(Ladder(PART, f"{case} of water", "CoolProp (IAPWS-95)", "1", rows, errors, 2.0))
    return found
