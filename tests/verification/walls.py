"""Conduction through walls: the columns of `Build.wall` on the conduction kernel against closed forms."""

import math
from collections.abc import Callable

import numpy as np
from scipy.linalg import expm

from sim1d import tables
from sim1d.build import Build
from sim1d.core.engine import conduct, gas_heat
from sim1d.physics.boiling import wetted_face
from sim1d.physics.responses import slab_flux_convection
from tests.verification.bare import bare, example, prepared, table
from tests.verification.ladder import Ladder, doubled

PART = "walls (`Build.wall`, `conduct`, `gas_heat`, `wetted_face`)"
THICKNESS, AREA, CONDUCTIVITY, HEAT = 0.010, 7.6e-3, 150.0, 2.4924e6  # a fire deck: m, m2, W/(m K), J/(m3 K)
DIFFUSIVITY = CONDUCTIVITY / HEAT
FLUX, FILM, COOLANT = 1.5e6, 1.0e4, 363.15  # W/m2 from the gas, W/(m2 K) and K of the coolant
NEVER = 1.0e3  # K, a boiling point that no wall reaches: the wetted side is plain convection
Rate = Callable[[np.ndarray], np.ndarray]


class Column:
    """A deck of `cells` cells: lumps, links and half cells as the engine gets them.

    Heated by a gas film of `gas_film` W/(m2 K) at `gas` K, cooled at its back with `film` W/(m2 K).
    """

    def __init__(self, cells: int, gas_film: float, gas: float, film: float) -> None:
        build = Build()
        inner, outer, self.half = build.wall(
            "deck", "head", cells=cells, thickness=THICKNESS, area=AREA, conductivity=CONDUCTIVITY, heat=HEAT
        )
        number = {name: i for i, name in enumerate(build.metals)}
        metal = table(tables.METAL, list(build.metals.values()))
        link = table(tables.LINK, [dict(row, a=number[row["a"]], b=number[row["b"]]) for row in build.links])
        face = dict(
            metal=number[inner], conductance=gas_film * AREA, half=self.half / AREA, gas_temperature=gas, cylinder=0,
            spot=0,
        )  # fmt: skip
        self.model = bare(metal=metal, link=link, gas_face=table(tables.GAS_FACE, [face]))
        self.first, self.count, self.outer = self.model.layout.metal, cells, number[outer]
        self.film, self.liquid = film, example().model.liquid
        self.handles = prepared(self.model)

    def rate(self, temperature: np.ndarray) -> np.ndarray:
        """Rate of every cell (K/s) at the rated speed and load."""
        model, work, arrays = self.handles
        state = np.zeros(self.model.layout.size)
        state[self.first : self.first + self.count] = temperature
        arrays.metal_power[:] = 0.0
        gas_heat(model, work, state, self.model.system[0].rated_speed, 1.0)
        conduct(model, work, state)
        power = arrays.metal_power[: self.count].copy()
        power[self.outer] -= AREA * self.into_coolant(temperature[self.outer])[1]
        return power / self.model.metal.capacity

    def into_coolant(self, cell: float) -> tuple[float, float]:
        """Wall temperature (K) and flux (W/m2) of the wetted side: half a cell in series with the film."""
        wall, flux, _ = wetted_face(cell, self.half, COOLANT, NEVER, self.film, 0.0, 0.0, 0.0, 0.0, self.liquid)
        return wall, flux

    def at(self, time: float) -> tuple[float, float]:
        """Temperature (K) of the heated and of the wetted face after `time` s, cold at the start; exact in time.

        The rate is linear in the temperatures: its matrix is found by asking the kernels, its exponential is exact.
        """
        cold = np.full(self.count, COOLANT)
        base = self.rate(cold)
        matrix = np.array([self.rate(cold + one) - base for one in np.eye(self.count)]).T
        whole = np.block([[matrix, base[:, None]], [np.zeros((1, self.count + 1))]])
        temperature = COOLANT + expm(whole * time)[:-1, -1]
        self.rate(temperature)
        return float(self.handles[2].gas_surface[0]), self.into_coolant(float(temperature[self.outer]))[0]


def flux_film() -> tuple[float, float]:
    """Film (W/(m2 K)) and temperature (K) of a gas so hot and so thin that its flux is `FLUX` whatever the face."""
    film = 1.0e-4
    return film, FLUX / film


def steady(cells: int) -> float:
    """Error (K) of the heated face of a deck between two films after a minute: series resistances, exact."""
    gas_film, gas = 1500.0, 1350.0
    face, _ = Column(cells, gas_film, gas, FILM).at(60.0)
    flux = (gas - COOLANT) / (1.0 / gas_film + THICKNESS / CONDUCTIVITY + 1.0 / FILM)
    return abs(face - (gas - flux / gas_film))


def heated(time: float) -> Callable[[int], float]:
    """Error (K) of the heated face, flux from t = 0 and convection at the back."""
    exact = slab_flux_convection(time, 0.0, THICKNESS, FLUX, FILM, CONDUCTIVITY, DIFFUSIVITY, 400)
    return lambda cells: abs(Column(cells, *flux_film(), FILM).at(time)[0] - COOLANT - exact)


def wetted(time: float) -> Callable[[int], float]:
    """Error (K) of the wetted face of the same deck."""
    exact = slab_flux_convection(time, THICKNESS, THICKNESS, FLUX, FILM, CONDUCTIVITY, DIFFUSIVITY, 400)
    return lambda cells: abs(Column(cells, *flux_film(), FILM).at(time)[1] - COOLANT - exact)


def insulated_slab(time: float) -> float:
    """Rise (K) of the heated face of a slab with an insulated back: Carslaw and Jaeger 1959, section 3.8 (recalled)."""
    fourier = DIFFUSIVITY * time / THICKNESS**2
    modes = np.arange(1, 400)
    series = np.sum(np.exp(-(modes**2) * math.pi**2 * fourier) / modes**2)
    return FLUX * THICKNESS / CONDUCTIVITY * (fourier + 1.0 / 3.0 - 2.0 / math.pi**2 * series)


def insulated(time: float) -> Callable[[int], float]:
    """Error (K) of the heated face with nothing at the back."""
    exact = insulated_slab(time)
    return lambda cells: abs(Column(cells, *flux_film(), 0.0).at(time)[0] - COOLANT - exact)


def ladders(full: bool) -> list[Ladder]:
    """All ladders of walls; fewer grids where not `full`."""
    sizes = doubled(5, 5 if full else 4)
    few = (1, 2, 5, 20)
    found = [
        Ladder(
            PART, "steady, a gas film and a coolant film", "resistances in series", "K", few,
            tuple(steady(n) for n in few), None, exact=1e-6,
        )
    ]  # fmt: skip
    for case, against, error in (
        ("heated face, 1 s after a flux of 1.5 MW/m2, film at the back", "eigenfunction series (derived)", heated(1.0)),
        ("wetted face of the same", "the same series", wetted(1.0)),
        ("heated face, 0.5 s, back insulated", "Carslaw and Jaeger 1959, 3.8 (recalled)", insulated(0.5)),
    ):
        found.append(Ladder(PART, case, against, "K", sizes, tuple(error(n) for n in sizes), 2.0))
    return found
