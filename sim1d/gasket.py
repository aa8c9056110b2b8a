"""Combustion gas that a leaking head gasket passes, against the manifold pressure of the engine."""

import numpy as np

from sim1d.errors import DescriptionError, Problem
from sim1d.parts.engine import Engine
from sim1d.parts.head_gasket import HeadGasket
from sim1d.physics.cylinder_cycle import STEPS, closed_cycle, leak_per_cycle

# Pa absolute in the coolant at the leak. The lifting gap is choked (it opens at tens of bar) and the film goes with
# p0^2 - pb^2, so this hardly matters: 150 to 400 kPa moves that leak by less than 0.02 %. A groove feels it while the
# cylinder is below twice this pressure: 3 % at full load, 15 % at idle.
BACK_PRESSURE = 250e3
LAND_TEMPERATURE = 450.0  # K of deck and gasket, for the viscosity of the film (assumed; 100 K move the leak by 0.3 %)
POINTS = 49


def cylinder_trace(
    gasket: HeadGasket, engine: Engine, manifold_pressure: float, steps: int = STEPS
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Crank angle (rad from firing top dead centre), pressure (Pa absolute) and temperature (K), each (steps + 1,).

    From closing of the inlet to opening of the exhaust, the cylinder filled to `manifold_pressure` (Pa absolute).
    DescriptionError when the rod is no longer than half the stroke.
    """
    burn = gasket.combustion
    if engine.rod <= 0.5 * engine.stroke:
        what = "the connecting rod is no longer than the crank's throw"
        raise DescriptionError([Problem("engine.rod_length", what, "give a rod longer than half the stroke")])
    angle = np.linspace(burn.inlet_closes, burn.exhaust_opens, steps + 1)
    pressure, temperature = np.empty_like(angle), np.empty_like(angle)
    closed_cycle(
        pressure, temperature, burn.inlet_closes, burn.exhaust_opens, engine.bore, engine.stroke, engine.rod,
        engine.compression_ratio, manifold_pressure, burn.charge_temperature, burn.charge_heat, burn.burn_start,
        burn.burn_duration, burn.burn_shape, burn.heat_loss,
    )  # fmt: skip
    return angle, pressure, temperature


def leak_of(
    gasket: HeadGasket, engine: Engine, manifold_pressure: float, back_pressure: float = BACK_PRESSURE
) -> float:
    """Gas (kg) per cycle of one leaking cylinder at the engine's rated speed; pressures Pa absolute.

    Whether the gasket is said to leak is not asked.
    """
    angle, pressure, temperature = cylinder_trace(gasket, engine, manifold_pressure)
    return leak_per_cycle(
        pressure, temperature, float(angle[1] - angle[0]), engine.rated_speed, back_pressure, gasket.lift_pressure,
        gasket.gap_rate, gasket.arc, gasket.land, gasket.groove, gasket.discharge, LAND_TEMPERATURE,
    )  # fmt: skip


def leak_table(gasket: HeadGasket, engine: Engine) -> np.ndarray:
    """Manifold pressure (Pa absolute, uniform and ascending) and gas (kg per cycle and leaking cylinder): (POINTS, 2).

    The mass is that at the engine's rated speed: times rated speed/(4 pi) it is the rate (kg/s) at *any* speed at which
    the engine runs, for the trace does not depend on speed (see `sim1d.physics.cylinder_cycle`). All gas is counted;
    `permanent_share` of it stays gas. Straight lines between the rows stand for the law within 1 % of the mass at full
    load. A sound gasket has a table of zeros.
    """
    low, high = 0.8 * engine.idle_manifold_pressure, 1.2 * engine.manifold_pressure
    grid = np.linspace(low, high, POINTS)
    leaked = [leak_of(gasket, engine, float(p)) if gasket.leaks else 0.0 for p in grid]
    return np.column_stack([grid, leaked])
