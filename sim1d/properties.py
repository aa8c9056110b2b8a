"""Coolant property tables: the one file that imports CoolProp, and only when a table is not yet in the disk cache.

Water comes from the IAPWS-95 equation of state. Glycol solutions come from the incompressible fits by *volume*
fraction, which stop at 100 degC; above, and below freezing, the tables are extrapolated openly as each function says.
"""

import hashlib
import os
import tempfile
from enum import Enum
from functools import lru_cache
from importlib import metadata
from pathlib import Path
from typing import Any, NamedTuple
from zipfile import BadZipFile

import numpy as np

from sim1d import _jit
from sim1d.physics.groups import GROUPS, fill_groups
from sim1d.tables import BY_ENTHALPY, BY_PRESSURE, LIQUID, rows

LOWEST, HIGHEST, STEP = 253.15, 523.15, 0.25  # K, the grid of LIQUID
ENTHALPY_ROWS = 8192  # 142 J/kg for water: T(h(T)) returns within 1e-4 K
PRESSURE_ROWS = 2048  # 0.0042 in ln p: within 2e-5 K of the saturation curve
LEAST_PRESSURE, MOST_PRESSURE = 500.0, 3.0e6  # Pa absolute, the ends of BY_PRESSURE
LIQUID_PRESSURE = 200e3  # Pa absolute at which cold water is taken; a liquid's properties hardly notice (0.005 %/bar)
FIRST_LIQUID = 273.40  # K, first grid point of liquid water above the triple point
FIT_RANGE = (333.15, 373.1)  # K, where the glycol/water ratios are fitted for use above 100 degC
BLEND_RANGE = (353.15, 373.1)  # K, where the fit takes over from the published values, so that no step is left
DENSITY_20 = {"water": 998.2, "ethylene_glycol": 1113.2, "propylene_glycol": 1036.1}  # kg/m3 at 20 degC (recalled)
MOLAR_MASS = {"water": 18.015, "ethylene_glycol": 62.068, "propylene_glycol": 76.094}  # kg/kmol
LEAST_FIT, MOST_FRACTION = 0.1, 0.6  # volume fractions of the published glycol fits
SURFACE_TENSION_LOSS = 0.3  # 1 per volume fraction: 0.85 of water's at 50/50 (assumed; glycol itself is 0.66)
SHARED = ("density", "specific_heat", "viscosity", "conductivity")  # columns that CoolProp gives for a solution


class Fluid(Enum):
    """What the system is filled with; a few per cent of inhibitor in water are ignored (< 0.5 K in boiling)."""

    WATER = "water"
    ETHYLENE_GLYCOL = "ethylene_glycol"
    PROPYLENE_GLYCOL = "propylene_glycol"


class CoolantTables(NamedTuple):
    """Tables of one coolant (see `sim1d.tables` for units). Shared between callers: never write into them."""

    liquid: np.recarray
    by_enthalpy: np.recarray
    by_pressure: np.recarray


def coolant_tables(fluid: Fluid, fraction: float = 0.0) -> CoolantTables:
    """Property tables of a coolant, from the disk cache when it has them.

    `fraction` is the volume fraction of pure glycol, 0 to 0.6 (a market concentrate is about 95 % glycol). Water takes
    0. Saturation of a solution is Raoult's law, its vapour is taken as steam; boiling points lie within 1 K of
    published ones to 60 % except near 30 % by mass (1.2 K low). Fractions are rounded to 0.001, so that a sweep fills
    the cache with a bounded number of files. Raises ValueError outside the range.

    Extrapolated: below 0 degC (water) or the freezing point (solution) by the tangent of the logarithm, a smooth
    continuation of a liquid that would be solid; above 100 degC (solution) by X_water exp(a + b T) fitted at 60 to
    100 degC, whose trial on 40 to 70 degC predicted 100 degC within 0.1 % density, 0.5 % specific heat, 0.5 %
    conductivity, 5 % viscosity.
    """
    return _load(Fluid(fluid), round(float(fraction), 3))[0]


def freezing_point(fluid: Fluid, fraction: float = 0.0) -> float:
    """Temperature (K) at which ice begins to form, from the fits' own freezing curve; linear to water below 10 %."""
    return _load(Fluid(fluid), round(float(fraction), 3))[1]


@lru_cache(maxsize=64)
def _load(fluid: Fluid, fraction: float) -> tuple[CoolantTables, float]:
    """Tables and freezing point, from this process, else from the disk, else from CoolProp."""
    if not 0.0 <= fraction <= MOST_FRACTION:
        raise ValueError(f"the volume fraction of glycol must lie in 0 to {MOST_FRACTION}, not {fraction}")
    if fluid is Fluid.WATER and fraction > 0.0:
        raise ValueError("water holds no glycol: name the glycol or set the fraction to 0")
    file = _cache_file(fluid, fraction)
    found = _read(file)
    if found is None:
        found = _build(fluid, fraction), _freezing_point(fluid, fraction)
        _write(file, *found)
    return found


def _freezing_point(fluid: Fluid, fraction: float) -> float:
    if fluid is Fluid.WATER or fraction <= 0.0:
        return 273.15
    if fraction < LEAST_FIT:
        return 273.15 + fraction / LEAST_FIT * (_freezing_point(fluid, LEAST_FIT) - 273.15)
    from CoolProp.CoolProp import PropsSI

    return float(PropsSI("T_freeze", "T", 300.0, "P", 1e6, f"{_backend(fluid)}[{fraction}]"))


def water_share(fluid: Fluid, fraction: float) -> float:
    """Mole fraction of water in a solution of the given volume fraction of glycol (mixed at 20 degC)."""
    if fluid is Fluid.WATER:
        return 1.0
    glycol = fraction * DENSITY_20[fluid.value] / MOLAR_MASS[fluid.value]
    water = (1.0 - fraction) * DENSITY_20["water"] / MOLAR_MASS["water"]
    return water / (water + glycol)


def _backend(fluid: Fluid) -> str:
    return {Fluid.ETHYLENE_GLYCOL: "INCOMP::AEG", Fluid.PROPYLENE_GLYCOL: "INCOMP::APG"}[fluid]  # A..: by volume


def _build(fluid: Fluid, fraction: float) -> CoolantTables:
    """All three tables from CoolProp (about 3 s with its import)."""
    count = round((HIGHEST - LOWEST) / STEP) + 1
    liquid = rows(LIQUID, count)
    liquid.temperature = LOWEST + STEP * np.arange(count)
    _fill_water(liquid)
    if fraction > 0.0:
        _dissolve(liquid, fluid, fraction)
    steps = 0.5 * (liquid.specific_heat[1:] + liquid.specific_heat[:-1]) * STEP
    liquid.enthalpy[1:] = np.cumsum(steps)  # trapezoid: storage and advection then see the same heat, to rounding
    liquid.enthalpy -= np.interp(273.15, liquid.temperature, liquid.enthalpy)
    fill_groups(liquid)
    return CoolantTables(liquid, _invert_enthalpy(liquid), _invert_pressure(fluid, fraction))


def _fill_water(liquid: np.recarray) -> None:
    """Every column of pure water: at 200 kPa absolute, or at saturation where that is higher."""
    import CoolProp

    state = CoolProp.AbstractState("HEOS", "Water")
    boiling = _water_pressure(np.array([LIQUID_PRESSURE]), of_temperature=False)[0]
    first = int(np.searchsorted(liquid.temperature, FIRST_LIQUID - 1e-6))
    for row in liquid[first:]:
        temperature = float(row.temperature)
        state.update(CoolProp.QT_INPUTS, 1.0, temperature)
        steam = state.hmass()
        row.vapour_pressure, row.vapour_density = state.p(), state.rhomass()
        row.vapour_viscosity, row.vapour_conductivity = state.viscosity(), state.conductivity()
        state.update(CoolProp.QT_INPUTS, 0.0, temperature)
        row.latent_heat, row.surface_tension = steam - state.hmass(), state.surface_tension()
        if temperature < boiling - 1e-3:
            state.update(CoolProp.PT_INPUTS, LIQUID_PRESSURE, temperature)
        row.density, row.specific_heat = state.rhomass(), state.cpmass()
        row.viscosity, row.conductivity = state.viscosity(), state.conductivity()
    for name in LIQUID.names or ():
        if name not in ("temperature", "enthalpy", "vapour_pressure", *GROUPS):
            _continue_down(liquid.temperature, liquid[name], first)
    liquid.vapour_pressure[:first] = _water_pressure(liquid.temperature[:first])


def _continue_down(temperature: np.ndarray, column: np.ndarray, first: int) -> None:
    """Fill `column[:first]` with the tangent of its logarithm, taken over the first kelvin of good values."""
    if first == 0:
        return
    last = first + round(1.0 / STEP)
    slope = np.log(column[last] / column[first]) / (temperature[last] - temperature[first])
    column[:first] = column[first] * np.exp(slope * (temperature[:first] - temperature[first]))


def _dissolve(liquid: np.recarray, fluid: Fluid, fraction: float) -> None:
    """Turn the water columns into those of a solution, in place."""
    ratio = _solution_ratio(liquid, fluid, max(fraction, LEAST_FIT))
    for name in SHARED:
        # below the least published fraction: geometric between water and it
        liquid[name] *= ratio[name] ** min(1.0, fraction / LEAST_FIT)
    pressure = _vapour_pressure(fluid, fraction, liquid.temperature)
    liquid.vapour_density *= pressure / liquid.vapour_pressure  # steam at the lower pressure, near ideal
    liquid.vapour_pressure = pressure
    liquid.surface_tension *= 1.0 - SURFACE_TENSION_LOSS * fraction


def _solution_ratio(liquid: np.recarray, fluid: Fluid, fraction: float) -> dict[str, np.ndarray]:
    """Solution over water for the four transport columns, published where it can be and extrapolated elsewhere."""
    import CoolProp

    backend, name = _backend(fluid).split("::")
    state = CoolProp.AbstractState(backend, name)
    state.set_volu_fractions([fraction])
    temperature = liquid.temperature
    first = int(np.searchsorted(temperature, _freezing_point(fluid, fraction) + 0.1))
    last = int(np.searchsorted(temperature, FIT_RANGE[1]))
    found = {column: np.ones(len(liquid)) for column in SHARED}
    for index in range(first, last):
        state.update(CoolProp.PT_INPUTS, 1e6, float(temperature[index]))
        values = (state.rhomass(), state.cpmass(), state.viscosity(), state.conductivity())
        for column, value in zip(SHARED, values, strict=True):
            found[column][index] = value
    share = np.clip((temperature - BLEND_RANGE[0]) / (BLEND_RANGE[1] - BLEND_RANGE[0]), 0.0, 1.0)
    share = share * share * (3.0 - 2.0 * share)
    used = (temperature >= FIT_RANGE[0]) & (temperature < FIT_RANGE[1])
    for column in SHARED:
        _continue_down(temperature, found[column], first)
        ratio = found[column] / liquid[column]
        slope, level = np.polyfit(temperature[used], np.log(ratio[used]), 1)
        found[column] = np.where(share < 1.0, (1.0 - share) * ratio, 0.0) + share * np.exp(level + slope * temperature)
    return found


def _water_pressure(values: np.ndarray, of_temperature: bool = True) -> np.ndarray:
    """Saturation pressure (Pa absolute) of water at temperatures (K), or the inverse; ln p ~ 1/T below 0 degC."""
    import CoolProp

    state = CoolProp.AbstractState("HEOS", "Water")
    result = np.empty(len(values))
    anchors = []
    for temperature in (FIRST_LIQUID, FIRST_LIQUID + 1.0):
        state.update(CoolProp.QT_INPUTS, 0.0, temperature)
        anchors.append(np.log(state.p()))
    slope = (anchors[1] - anchors[0]) / (1.0 / (FIRST_LIQUID + 1.0) - 1.0 / FIRST_LIQUID)
    for index, value in enumerate(values):
        if not of_temperature:
            state.update(CoolProp.PQ_INPUTS, float(value), 0.0)
            result[index] = state.T()
        elif value < FIRST_LIQUID:
            result[index] = np.exp(anchors[0] + slope * (1.0 / value - 1.0 / FIRST_LIQUID))
        else:
            state.update(CoolProp.QT_INPUTS, 0.0, float(value))
            result[index] = state.p()
    return result


def _vapour_pressure(fluid: Fluid, fraction: float, temperature: np.ndarray) -> np.ndarray:
    """Raoult's law: x p_water + (1 - x) p_glycol, Pa absolute.

    Ethylene glycol by Antoine's equation with the constants of the NIST Chemistry WebBook (recalled; they give 1.006
    bar at its boiling point 470.5 K); propylene glycol by its equation of state.
    """
    share = water_share(fluid, fraction)
    pressure = share * _water_pressure(temperature)
    if fluid is Fluid.ETHYLENE_GLYCOL:
        pressure += (1.0 - share) * 1e5 * 10.0 ** (4.97012 - 1914.951 / (temperature - 84.996))
    elif fluid is Fluid.PROPYLENE_GLYCOL:
        from CoolProp.CoolProp import PropsSI

        pressure += (1.0 - share) * PropsSI("P", "T", temperature, "Q", 0.0, "HEOS::PropyleneGlycol")
    return pressure


def _invert_enthalpy(liquid: np.recarray) -> np.recarray:
    table = rows(BY_ENTHALPY, ENTHALPY_ROWS)
    table.enthalpy = np.linspace(liquid.enthalpy[0], liquid.enthalpy[-1], ENTHALPY_ROWS)
    table.temperature = np.interp(table.enthalpy, liquid.enthalpy, liquid.temperature)
    return table


def _invert_pressure(fluid: Fluid, fraction: float) -> np.recarray:
    from scipy.interpolate import CubicSpline

    temperature = np.arange(LOWEST, 565.0, STEP)  # hotter than the liquid grid: a solution at 3 MPa boils above it
    logarithm = np.log(_vapour_pressure(fluid, fraction, temperature))
    table = rows(BY_PRESSURE, PRESSURE_ROWS)
    table.log_pressure = np.linspace(np.log(LEAST_PRESSURE), np.log(MOST_PRESSURE), PRESSURE_ROWS)
    table.temperature = CubicSpline(logarithm, temperature)(table.log_pressure)
    return table


def _cache_file(fluid: Fluid, fraction: float) -> Path:
    digest = hashlib.blake2b(Path(__file__).read_bytes(), digest_size=8)
    digest.update(metadata.version("CoolProp").encode())
    return _jit.CACHE / f"coolant-{fluid.value}-{fraction!r}-{digest.hexdigest()}.npz"


def _read(file: Path) -> tuple[CoolantTables, float] | None:
    """What an earlier run stored, or None when there is nothing or the file is damaged."""
    try:
        with open(file, "rb") as stream, np.load(stream, allow_pickle=False) as stored:
            tables = CoolantTables(*(stored[name].view(np.recarray) for name in CoolantTables._fields))
            return tables, float(stored["freezing_point"])
    except (OSError, ValueError, KeyError, EOFError, BadZipFile):
        return None


def _write(file: Path, tables: CoolantTables, freezing: float) -> None:
    """Store for the next process; whole or not at all, so that a parallel reader never sees half a file."""
    try:
        handle, name = tempfile.mkstemp(dir=file.parent, suffix=".npz")
    except OSError:
        return  # a cache that cannot be written costs time, not the answer
    try:
        with os.fdopen(handle, "wb") as stream:
            columns: dict[str, Any] = {name: np.asarray(table) for name, table in tables._asdict().items()}
            np.savez(stream, freezing_point=np.array(freezing), **columns)
        os.replace(name, file)
    except OSError:
        Path(name).unlink(missing_ok=True)
