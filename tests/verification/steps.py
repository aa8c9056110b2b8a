"""Integration in time: equal steps of the stepper's own kernel `advance`, a new Jacobian at each.

Two problems with a closed solution on tables of their own, and layout A over a stretch of its day.
"""

import math
from dataclasses import dataclass
from functools import cache
from types import SimpleNamespace
from typing import Any

import numpy as np
from scipy.integrate import quad
from scipy.linalg import expm

from sim1d import tables
from sim1d.core.gauges import followed
from sim1d.core.handle import handle
from sim1d.core.method import coefficients
from sim1d.core.model import Model, work_arrays
from sim1d.core.pattern import Pattern, jacobian_pattern
from sim1d.core.rhs import derivative
from sim1d.core.solver import Hermite, room
from sim1d.core.stepper import advance
from sim1d.physics.gas_side import film_scale
from sim1d.physics.groups import fill_groups
from sim1d.simulation import History, integrate
from tests.reference.cars import packed
from tests.verification.bare import bare, example, table
from tests.verification.ladder import Ladder, doubled
from tests.verification.walls import AREA, CONDUCTIVITY, HEAT, THICKNESS

PART = "integration in time (`advance`)"
START, GAS, SECONDS = 300.0, 1300.0, 8.0  # K, K, s


def equal_steps(
    model: Model, pattern: Pattern, phase: Any, state: np.ndarray, length: float, count: int
) -> np.ndarray:  # fmt: skip
    """State after `count` equal steps over `length` s from the start of `phase`; no step is judged or refused."""
    work = work_arrays(model)
    space = room(model, pattern, np.ones(len(state)))
    kernel_model, kernel_work, method, kernel_pattern = (
        handle(value) for value in (model, work, coefficients(), pattern)
    )
    arrays, state, h = space.arrays, state.copy(), length / count
    for k in range(count):
        time = float(phase.start) + k * h
        assert derivative(time, state, phase, kernel_model, kernel_work, arrays.rate), "no flow was found"
        advance(time, state, h, phase, kernel_model, kernel_work, kernel_pattern, method, space.step, True)
        state = arrays.trial.copy()
        assert np.isfinite(state).all()
    return state


def first_state(model: Model) -> np.ndarray:
    """The example's start state on the layout of `model`, its metals at `START`."""
    old, new = example().model.layout, model.layout
    state = np.zeros(new.size)
    names = [name for name in old._fields if name != "size"]
    ends = [getattr(old, name) for name in names[1:]] + [old.size]
    for name, end in zip(names, ends, strict=True):
        first, at = getattr(old, name), getattr(new, name)
        if name not in ("metal", "dry"):
            state[at : at + end - first] = example().start[first:end]
    state[new.metal : new.dry] = START
    return state


def heating_phase(model: Model, speed: tuple[float, float]) -> Any:
    """A stretch of `SECONDS` s at full load, engine speed from and to `speed` (shares of the rated)."""
    row = tables.rows(tables.PHASE, 1)[0]
    rated = float(model.system[0].rated_speed)
    row.start, row.end = 0.0, SECONDS
    row.speed, row.load = (speed[0] * rated, speed[1] * rated), (1.0, 1.0)
    return row


def lump() -> tuple[Model, float]:
    """One lump of 200 J/K under a gas film of 60 W/K at the rated point, no half cell; and its rate constant (1/s)."""
    face = dict(metal=0, conductance=60.0, half=0.0, gas_temperature=GAS, cylinder=0, spot=0)
    model = bare(metal=table(tables.METAL, [dict(capacity=200.0)]), gas_face=table(tables.GAS_FACE, [face]))
    return model, 60.0 / 200.0


def lump_error(count: int) -> float:
    """Error (K) of the lump while the engine revs up: T = T_gas - (T_gas - T_0) exp(-integral of G(t)/C)."""
    model, constant = lump()
    system = model.system[0]
    speed = (0.2, 1.0)

    def film(time: float) -> float:
        now = (speed[0] + (speed[1] - speed[0]) * time / SECONDS) * system.rated_speed
        return constant * film_scale(system.rated_pressure, now, system.rated_pressure, system.rated_speed)

    exact = GAS - (GAS - START) * math.exp(-quad(film, 0.0, SECONDS, epsabs=1e-13)[0])
    phase = heating_phase(model, speed)
    state = equal_steps(model, jacobian_pattern(model), phase, first_state(model), SECONDS, count)
    return abs(float(state[model.layout.metal]) - exact)


def column() -> tuple[Model, np.ndarray, np.ndarray]:
    """A deck of five cells between the gas and the air around it: the model, its matrix (1/s) and its source (K/s)."""
    cells, step = 5, THICKNESS / 5
    capacity, conductance = HEAT * AREA * step, CONDUCTIVITY * AREA / step
    film, outside = 12.0, 76.0  # W/K: a coolant film of 1e4 W/(m2 K), given as a loss to the air
    metal = table(tables.METAL, [dict(capacity=capacity, ambient=outside * (i == cells - 1)) for i in range(cells)])
    link = table(tables.LINK, [dict(a=i, b=i + 1, conductance=conductance) for i in range(cells - 1)])
    face = dict(metal=0, conductance=film, half=0.0, gas_temperature=GAS, cylinder=0, spot=0)
    model = bare(metal=metal, link=link, gas_face=table(tables.GAS_FACE, [face]))
    matrix = conductance * (np.eye(cells, k=1) + np.eye(cells, k=-1))
    loss = np.zeros(cells)
    loss[0], loss[-1] = film, outside
    matrix -= np.diag(matrix.sum(axis=1) + loss)
    source = np.zeros(cells)
    source[0], source[-1] = film * GAS, outside * float(model.system[0].ambient_temperature)
    return model, matrix / capacity, source / capacity


def column_error(count: int) -> float:
    """Largest error (K) of the five cells after 2 s at the rated point, against the exponential of their matrix."""
    model, matrix, source = column()
    steady = -np.linalg.solve(matrix, source)
    exact = steady + expm(2.0 * matrix) @ (START - steady)
    phase = heating_phase(model, (1.0, 1.0))
    state = equal_steps(model, jacobian_pattern(model), phase, first_state(model), 2.0, count)
    return float(np.abs(state[model.layout.metal : model.layout.dry] - exact).max())


def straight_tables(model: Any) -> Any:
    """The model with a coolant of constant properties, those of 330 K: its tables have rows but no corners.

    Vapour pressure and steam keep their rows; nothing boils where this is used.
    """
    liquid, by_enthalpy = model.liquid.copy(), model.by_enthalpy.copy()
    row = int(np.searchsorted(liquid.temperature, 330.0))
    for name in ("density", "specific_heat", "viscosity", "conductivity"):
        liquid[name] = liquid[name][row]
    liquid.enthalpy = liquid.specific_heat * (liquid.temperature - 273.15)
    by_enthalpy.enthalpy = np.linspace(liquid.enthalpy[0], liquid.enthalpy[-1], len(by_enthalpy))
    by_enthalpy.temperature = 273.15 + by_enthalpy.enthalpy / liquid.specific_heat[0]
    fill_groups(liquid)
    return model._replace(liquid=liquid, by_enthalpy=by_enthalpy)


@cache
def day_of_layout_a() -> History:
    """Layout A over its day at a tolerance of 1e-5: where the stretches below begin."""
    tight = SimpleNamespace(name="1e-5", value=1e-5)
    return integrate(packed("layout_a"), accuracy=tight)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Stretch:
    """A piece of layout A's day: `length` s from `into` s after the first stretch of that role begins."""

    role: str
    into: float
    length: float
    straight: bool = False  # with `straight_tables`
    weightless: bool = False  # with a Jacobian that does not know how warm coolant moves the flows

    def after(self, count: int) -> np.ndarray:
        """Metal temperatures (K) at its end, after so many equal steps."""
        car, history = packed("layout_a"), day_of_layout_a()
        number = next(n for n, found in enumerate(history.numbers) if car.stretches[found].role == self.role)
        times, states = history.times[history.stretch == number], history.states[history.stretch == number]
        k = int(np.searchsorted(times, times[0] + self.into))
        phase: Any = history.phases[number].copy()
        share = (times[k] - phase.start) / (phase.end - phase.start)
        for name in ("speed", "load", "car_speed", "acceleration"):
            phase[name][0] += share * (phase[name][1] - phase[name][0])
        phase.start = times[k]
        model = straight_tables(car.model) if self.straight else car.model
        pattern = car.pattern
        if self.weightless:
            pattern = pattern._replace(flows=pattern.flows._replace(share=0.0 * pattern.flows.share))
        state = equal_steps(model, pattern, phase, states[k], self.length, count)
        return state[model.layout.metal : model.layout.dry]

    def errors(self, sizes: tuple[int, ...], reference: int) -> tuple[float, ...]:
        """Largest error (K) of any metal for each number of steps, against `reference` steps."""
        exact = self.after(reference)
        return tuple(float(np.abs(self.after(n) - exact).max()) for n in sizes)


def between_error(count: int) -> float:
    """Largest error of the cubic between two ends of a step, for sin t on 0 to 2."""
    ends = np.linspace(0.0, 2.0, count + 1)
    worst = 0.0
    for a, b in zip(ends, ends[1:], strict=False):
        one, two = (np.array([math.sin(t)]) for t in (a, b))
        cubic = Hermite(a, b, one, two, np.array([math.cos(a)]), np.array([math.cos(b)]))
        inside = np.linspace(a, b, 21)
        worst = max(worst, float(np.abs(cubic(inside)[0] - np.sin(inside)).max()))
    return worst


def sensor_error(count: int) -> float:
    """Error after 2 s of a sensor of 50 ms on sin t, its input taken straight over each step (closed form)."""
    lag, h, shown = 0.05, 2.0 / count, 0.0
    for k in range(count):
        shown = followed(shown, math.sin(k * h), math.sin((k + 1) * h), h, lag)
    scale = 1.0 + lag * lag
    exact = (math.sin(2.0) - lag * math.cos(2.0) + lag * math.exp(-2.0 / lag)) / scale
    return abs(shown - exact)


CORNERS = (
    "Properties are read straight between rows, so the rate has a corner at every row (0.25 K) that a lump passes; a "
    "step over a corner leaves an error of the square of its length, and which step meets one is chance. The line "
    "above is the same stretch without corners: order 3, with the same frozen Jacobian."
)

LEFT_OUT = (
    "Not 3: flows follow at once, and the Jacobian leaves out how films answer to them. For that the method would have "
    "to meet one more condition, which asks for a fourth evaluation a step: half as many again for the same error "
    "(measured at all three settings)."
)


def small(full: bool) -> list[Ladder]:
    """Problems with a closed solution."""
    sizes, fine = doubled(8, 5 if full else 4), doubled(100, 4)
    return [
        Ladder(
            PART, "one lump under a gas film, engine revving up", "closed form, the film's integral by quadrature", "K",
            sizes, tuple(lump_error(n) for n in sizes), 3.0,
        ),
        Ladder(
            PART, "five cells in a row between gas and coolant", "exponential of the matrix", "K", sizes,
            tuple(column_error(n) for n in sizes), 3.0,
        ),
        Ladder(
            PART, "between the ends of a step (`Hermite`)", "sin t", "1", sizes,
            tuple(between_error(n) for n in sizes), 4.0,
        ),
        Ladder(
            PART, "sensors carried along (`followed`), 50 ms on sin t", "closed form", "1", fine,
            tuple(sensor_error(n) for n in fine), 2.0,
        ),
    ]  # fmt: skip


def whole_car(full: bool) -> list[Ladder]:
    """Layout A, all its metals, the Jacobian that the stepper uses: no level, no swell."""
    some, more, reference = doubled(4, 4), doubled(8, 3), 2048 if full else 512
    smooth, own = Stretch("warm_up", 60.0, 10.0, straight=True), Stretch("warm_up", 60.0, 10.0)
    return [
        Ladder(
            PART, "layout A, 1 s of a pass, every metal, constant properties", f"{reference} steps", "K", some,
            Stretch("pass", 0.5, 1.0, straight=True).errors(some, reference), 2.0, remark=LEFT_OUT,
        ),
        Ladder(
            PART, "layout A, 10 s of warm-up, every metal, constant properties", f"{reference} steps", "K", more,
            smooth.errors(more, reference), 3.0,
            remark="Finer than this some 1e-6 K are left by gas that comes to an end in a place: a corner of the rate.",
        ),
        Ladder(
            PART, "the same with the coolant's own tables", f"{reference} steps", "K", more,
            own.errors(more, reference), None, exact=0.3, remark=CORNERS,  # the coarsest; 0.01 from the next on
        ),
    ]  # fmt: skip


def ladders(full: bool) -> list[Ladder]:
    """All ladders of time; fewer and coarser grids where not `full`."""
    return small(full) + whole_car(full)
