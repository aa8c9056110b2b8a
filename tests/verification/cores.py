"""Cells of a radiator core: the kernel `radiators` against the closed form of air unmixed, coolant mixed."""

import math
from functools import cache
from typing import Any

import numpy as np
from scipy.optimize import root

from sim1d.car import load_car
from sim1d.core.coolant import carry
from sim1d.core.radiator import air_side, radiators
from sim1d.day import load_day
from sim1d.examples import example_path
from sim1d.pack import pack
from sim1d.physics.ambient import AIR_SPECIFIC_HEAT, air_density, air_viscosity
from sim1d.physics.convection import tube_coefficient
from sim1d.physics.core_air import face_velocity
from sim1d.physics.lookup import enthalpy_of_temperature, row_of, value
from tests.verification.bare import prepared
from tests.verification.ladder import Ladder, doubled

PART = "radiator core (`radiators`, `cell_conductance`)"
HOT, CAR_SPEED = 368.15, 20.0  # K of the coolant that enters, m/s
PLAIN = dict(density=965.0, specific_heat=4205.0, viscosity=3.15e-4, conductivity=0.675)  # water near 90 degC, held


@cache
def packed_core(cells: int) -> Any:
    """Layout A with so many cells in its core."""
    return pack(load_car(example_path("layout_a")), load_day(example_path("race_day")), cells_per_core=cells)


class Core:
    """The core of layout A at a steady flow (kg/s), alone; `held` keeps the coolant's properties constant."""

    def __init__(self, cells: int, flow: float, held: bool) -> None:
        model = packed_core(cells).model
        radiator = model.radiator.copy()
        radiator.still = 0.0  # the loss of a still core stands beside the closed form
        liquid = model.liquid.copy()
        if held:
            for name, number in PLAIN.items():
                liquid[name] = number
            liquid.enthalpy = PLAIN["specific_heat"] * (liquid.temperature - 273.15)
        self.model = model._replace(radiator=radiator, liquid=liquid)
        self.flow, self.cells = flow, cells
        self.nodes, self.metals = model.core.node, model.core.metal
        self.row, self.air = self.model.radiator[0], float(model.system[0].ambient_temperature)
        self.handles = prepared(self.model)
        self.handles[2].flow[:] = 0.0
        self.handles[2].flow[self.row.branch] = flow

    def powers(self, unknown: np.ndarray) -> np.ndarray:
        """Power (W) into the coolant and into the metal of every cell at their temperatures (K), metal last."""
        model, work, arrays = self.handles
        state = np.zeros(self.model.layout.size)
        state[self.model.layout.metal + self.metals] = unknown[self.cells :]
        arrays.temperature[:] = HOT
        arrays.temperature[self.nodes] = unknown[: self.cells]
        for i in (self.model.network.branch[self.row.branch].start, *self.nodes):
            temperature = arrays.temperature[i]
            arrays.grid[i], arrays.share[i] = row_of(self.model.liquid, temperature)
            arrays.enthalpy[i] = enthalpy_of_temperature(self.model.liquid, temperature)
            arrays.density[i] = value(self.model.liquid.density, arrays.grid[i], arrays.share[i])
        arrays.power[:] = 0.0
        arrays.metal_power[:] = 0.0
        carry(model, work)
        radiators(model, work, state, CAR_SPEED, 1.0)
        return np.concatenate([arrays.power[self.nodes], arrays.metal_power[self.metals]])

    def heat(self) -> float:
        """Steady heat (W) to the air."""
        start = np.linspace(HOT, HOT - 20.0, self.cells)
        guess = np.concatenate([start, start - 10.0])
        found = root(lambda x: self.powers(x) / 1e3, guess, tol=1e-14).x
        assert np.abs(self.powers(found)).max() < 1e-5, "no steady state was found"
        cooled = enthalpy_of_temperature(self.model.liquid, found[self.cells - 1])
        return self.flow * (enthalpy_of_temperature(self.model.liquid, HOT) - cooled)

    def closed_form(self) -> float:
        """Heat (W) of the whole core with constant properties: C_w (T_in - T_air) (1 - exp(-e C_a/C_w)).

        e = 1 - exp(-UA/C_a) (Kays and London: cross flow, coolant mixed, air unmixed; recalled).
        """
        row, system = self.row, self.model.system[0]
        density = air_density(system.ambient_pressure, self.air)
        velocity = face_velocity(
            CAR_SPEED, row.fan_works, row.drop_linear, row.drop_quadratic, row.ram, row.system_loss, row.fan_pressure,
            row.fan_flow, row.fan_pressure, row.face_area, density,
        )  # fmt: skip
        capacity = density * velocity * row.face_area * AIR_SPECIFIC_HEAT
        outside = air_side(row, velocity, density, air_viscosity(self.air))
        inside = row.tube_area * tube_coefficient(
            self.flow / (PLAIN["density"] * row.tube_flow_area), PLAIN["density"], PLAIN["viscosity"],
            PLAIN["conductivity"], PLAIN["specific_heat"], row.tube_diameter, row.tube_length,
        )  # fmt: skip
        taken = capacity * -math.expm1(-1.0 / (1.0 / outside + 1.0 / inside) / capacity)
        water = self.flow * PLAIN["specific_heat"]
        return water * (HOT - self.air) * -math.expm1(-taken / water)


def held_error(cells: int, flow: float) -> float:
    """Relative error of the steady heat with constant properties."""
    core = Core(cells, flow, held=True)
    return abs(core.heat() / core.closed_form() - 1.0)


def real_error(cells: int, flow: float, finest: float) -> float:
    """Relative error of the steady heat with the coolant's own properties."""
    return abs(Core(cells, flow, held=False).heat() / finest - 1.0)


def ladders(full: bool) -> list[Ladder]:
    """All ladders of the core; they are quick, so the fast ones are the same."""
    del full
    some, sizes, fine = (1, 2, 4, 8), doubled(2, 4), 32
    reference = 2.0 * Core(2 * fine, 0.3, held=False).heat() - Core(fine, 0.3, held=False).heat()
    return [
        Ladder(
            PART, "steady heat at 2 kg/s, constant properties", "coolant mixed, air unmixed: closed form", "1", some,
            tuple(held_error(n, 2.0) for n in some), None, exact=1e-6,
        ),
        Ladder(
            PART, "the same at a trickle of 0.1 kg/s", "the same closed form", "1", sizes,
            tuple(held_error(n, 0.1) for n in sizes), 5.0,
            remark="The correction of a cell is faded out by x^4/16, x the heat that its air could take over what its "
            "coolant brings: its conductance is off by x^5/32, and x falls as one over the cells.",
        ),
        Ladder(
            PART, "steady heat at 0.3 kg/s, the coolant's own properties",
            f"extrapolated from {fine} and {2 * fine} cells", "1", sizes,
            tuple(real_error(n, 0.3, reference) for n in sizes), 1.0,
            remark="A cell takes its properties at the temperature that leaves it.",
        ),
    ]  # fmt: skip
