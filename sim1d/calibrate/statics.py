"""Closed forms of what is read with the engine off: litres, squeeze, cap, boiling water, the morning after."""

import math

import numpy as np
from scipy.optimize import brentq

from sim1d.calibrate.readings import BoilingCheck, Drain, Fill, Level, Morning, Squeeze
from sim1d.calibrate.subject import Subject
from sim1d.circuit import circuit_of
from sim1d.fill import hanging_gas
from sim1d.pack import build_rows
from sim1d.physics.gas_space import pump_start_drop, squeeze_rise_with_give
from sim1d.properties import Fluid, coolant_tables

COLD = 293.15  # K at which gas volumes are stated
LEAST = 2.0e3  # Pa absolute: liquid does not stand less for long


def liquid_at(subject: Subject, temperature: float, key: str) -> float:
    """A property of the car's coolant at a temperature, K."""
    coolant = subject.car.coolant
    grid = coolant_tables(Fluid(coolant.fluid.value), coolant.fraction).liquid
    return float(np.interp(temperature, grid.temperature, grid[key]))


def cold_gas(subject: Subject) -> float:
    """Gas (m3) over the coolant at the mark: of the tank, of the lines that hang in it, and hidden air."""
    tank = subject.car.expansion_tank
    return (tank.gas if tank is not None else 0.0) + hanging_gas(subject.car) + subject.hidden


def taken(subject: Subject, level: Level) -> float:
    """Coolant (m3) in the circuit at a level: what it holds, less the gas that stands in it."""
    tank = subject.car.expansion_tank
    if tank is not None and level is Level.BRIM:
        return subject.car.volume + tank.gas - subject.hidden
    return subject.car.volume - hanging_gas(subject.car) - subject.hidden


def fill(subject: Subject, reading: Fill) -> float:
    """Litres accepted, m3."""
    return taken(subject, reading.level)


def drain(subject: Subject, reading: Drain) -> float:
    """Litres that run out, m3: what stands above the drain, all of it taken to find a way there."""
    whole = taken(subject, reading.level)
    if reading.height is None:
        return whole
    tank = subject.car.expansion_tank
    level = reading.height
    if tank is not None and reading.level is Level.MARK:
        level = min(level, tank.level_z)  # above it stands no coolant
    below = 0.0
    for cavity in circuit_of(subject.car).cavities:
        if cavity.name != "expansion_tank":
            below += cavity.held(level)
    if tank is not None:
        below += min(max(level - tank.base_z, 0.0), tank.height) * tank.area
    return max(whole - below, 0.0)


def compliance(subject: Subject) -> float:
    """Give of all walls, m3/Pa."""
    build = build_rows(subject.car)
    rows = (*build.junctions.values(), *build.branches.values())
    return float(sum(row["compliance"] for row in rows))


def squeeze(subject: Subject, reading: Squeeze) -> float:
    """Rise, Pa."""
    gas = cold_gas(subject) if reading.level is Level.MARK else subject.hidden
    return float(squeeze_rise_with_give(gas, reading.pressed, reading.ambient_pressure, compliance(subject)))


def pressed_together(air: float, ambient: float, still: float, rise: float) -> float:
    """Volume (m3) that `air` (m3 at ambient pressure) loses from `still` to `still` + `rise`, Pa absolute. Boyle."""
    volume = air * ambient / still
    return float(pump_start_drop(volume, still, max(still + rise, LEAST)))


def boiling_point(pressure: float) -> float:
    """Temperature (K) at which water boils in the open under `pressure`, Pa absolute."""
    grid = coolant_tables(Fluid.WATER, 0.0).liquid
    return float(np.interp(math.log(pressure), np.log(grid.vapour_pressure), grid.temperature))


def boiling_check(subject: Subject, reading: BoilingCheck) -> float:
    """What the sensor shows (K): first order towards the boiling point, plus its offset."""
    truth = boiling_point(reading.ambient_pressure)
    if reading.after is not None:
        lag = subject.car.sensors[reading.where].lag
        truth += (reading.temperature - truth) * math.exp(-reading.after / lag)
    return truth + subject.offset.get(reading.where, 0.0)


def morning(subject: Subject, reading: Morning) -> float:
    """Gauge pressure (Pa) of the circuit at rest: the gas it was sealed with, and what came in, in what room is left.

    (p - pv(T)) V(p) / T stays; V = V0 + V_l (1 - rho0/rho) + growth of the metal + C (p - p_amb). The cap lets nothing
    above its opening stand, its vacuum valve nothing below its suction.
    """
    car, ambient = subject.car, reading.ambient_pressure
    cold, now = reading.sealed_temperature, reading.temperature
    gas = cold_gas(subject)
    build = build_rows(car)
    rows = (*build.junctions.values(), *build.branches.values())
    growth = sum(row["volume"] * row["growth"] for row in rows) * (now - cold)
    give = sum(row["compliance"] for row in rows)
    dense = liquid_at(subject, cold, "density") / liquid_at(subject, now, "density")
    swell = taken(subject, Level.MARK) * (1.0 - dense)
    amount = (ambient - liquid_at(subject, cold, "vapour_pressure")) * gas / cold + ambient * subject.gained / COLD
    vapour = liquid_at(subject, now, "vapour_pressure")

    def excess(p: float) -> float:
        room = gas + swell + growth + give * (p - ambient)
        return (p - vapour) * room - amount * now

    low, high = vapour, ambient + 2.0 * car.cap.opens + 1e6
    found = float(brentq(excess, low, high)) if excess(low) < 0.0 < excess(high) else (low if gas > 0.0 else ambient)
    return min(max(found - ambient, -car.cap.vacuum), car.cap.opens)
