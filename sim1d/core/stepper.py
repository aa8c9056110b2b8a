"""A linearly implicit stepper of order 3 for stiff systems whose Jacobian is only known in part.

ROS34PW2 of Rang and Angermann (BIT 45:761, 2005; coefficients recalled, their order conditions verified by a test): a
Rosenbrock-W method, order 3 for any approximation of the Jacobian, stiffly accurate, with an embedded method of order
2. With the flows and the pressure level frozen the Jacobian is sparse and fixed in pattern; one factorisation serves
the four stages. Linear invariants (energy, coolant, gas) are kept to round-off: the ledger that closes each sum
follows from the sum's own scalar recursion instead of a dense row (see `close_ledgers`).
"""

import math
from typing import NamedTuple

import numpy as np

from sim1d._jit import kernel
from sim1d.core.handle import maker, register
from sim1d.core.rhs import derivative
from sim1d.core.slopes import jacobian
from sim1d.core.sparse import copy, factor, solve

FASTEST = 5.0  # growth from step to step at most
GAMMA = 4.3586652150845900e-01
_ALPHA = np.array(
    [
        [0.0, 0.0, 0.0, 0.0],
        [8.7173304301691801e-01, 0.0, 0.0, 0.0],
        [8.4457060015369423e-01, -1.1299064236484185e-01, 0.0, 0.0],
        [0.0, 0.0, 1.0, 0.0],
    ]
)
_GAMMA = np.array(
    [
        [GAMMA, 0.0, 0.0, 0.0],
        [-8.7173304301691801e-01, GAMMA, 0.0, 0.0],
        [-9.0338057013044082e-01, 5.4180672388095326e-02, GAMMA, 0.0],
        [2.4212380706095346e-01, -1.2232505839045147e00, 5.4526025533510214e-01, GAMMA],
    ]
)
_WEIGHTS = np.array([2.4212380706095346e-01, -1.2232505839045147e00, 1.5452602553351020e00, GAMMA])
_EMBEDDED = np.array([3.7810903145819369e-01, -9.6042292212423178e-02, 0.5, 2.1793326075422950e-01])


class Coefficients(NamedTuple):
    """The method in the form that needs no product with the Jacobian (Hairer and Wanner II, IV.7; recalled)."""

    gamma: float
    time: np.ndarray  # (4) stage times
    a: np.ndarray  # (4, 4)
    c: np.ndarray  # (4, 4)
    m: np.ndarray  # (4)
    error: np.ndarray  # (4) m less the embedded one


CoefficientsHandle = register(Coefficients)


@maker(Coefficients)
@kernel
def make_coefficients(*fields):
    """Handle of a `Coefficients` from its fields."""
    return CoefficientsHandle(*fields)


def coefficients() -> Coefficients:
    """Transformed coefficients of the method."""
    inverse = np.linalg.inv(_GAMMA)
    return Coefficients(
        GAMMA, _ALPHA.sum(axis=1), _ALPHA @ inverse, np.eye(4) / GAMMA - inverse, _WEIGHTS @ inverse,
        (_WEIGHTS - _EMBEDDED) @ inverse,
    )  # fmt: skip


@kernel
def sums(model, vector):
    """The three conserved sums of a state vector: energy (J), coolant (kg), gas (kg), without their closing ledgers.

    Closing ledgers: ambient heat, coolant out, air out (all with weight +1).
    """
    layout = model.layout
    vessel = model.system[0].vessel
    energy = 0.0
    for i in range(len(model.node)):
        weight = 1.0 if i == vessel else model.node[i].mass
        energy += weight * vector[layout.enthalpy + i]
    for m in range(len(model.metal)):
        energy += model.metal[m].capacity * vector[layout.metal + m]
    ledger = layout.ledger
    energy += vector[ledger + 2] + vector[ledger + 4] - vector[ledger] - vector[ledger + 1]
    coolant = vector[layout.store] - vector[ledger + 6]
    gas = vector[layout.dissolved] - vector[ledger + 8] - vector[ledger + 10]
    for k in range(len(model.pocket)):
        gas += vector[layout.air + k]
    return energy, coolant, gas


class StepWork(NamedTuple):
    """Arrays of the stepper."""

    rate: np.ndarray  # rate at the start of the step
    stage: np.ndarray
    trial: np.ndarray
    moved: np.ndarray
    u: np.ndarray  # (4, size)
    values: np.ndarray  # entries of the Jacobian
    matrix: np.ndarray  # storage of the factors
    rhs: np.ndarray
    tolerance: np.ndarray  # (size, 2) absolute, relative
    counters: np.ndarray  # evaluations, Jacobians, rejected steps
    sensed: np.ndarray  # (sensor) what acted on each sensor at the start of the step
    per_power: np.ndarray  # (node) rate of its state by a watt into it, 1/kg or 1
    by_state: np.ndarray  # (node) its enthalpy by its state, 1 or 1/kg
    warming: np.ndarray  # (node) its temperature by its state, K kg/J or K/J
    steaming: np.ndarray  # (node) its steam share by its enthalpy, kg/J


StepWorkHandle = register(StepWork)


@maker(StepWork)
@kernel
def make_stepwork(*fields):
    """Handle of a `StepWork` from its fields."""
    return StepWorkHandle(*fields)


@kernel
def close_ledgers(model, s, u, drawing, kept):
    """Set the closing ledgers of stage vector `u` so that the conserved sums follow their own recursion `s` (3).

    Coolant and gas close with what left, of which the share `kept` stands in the recovery tank; while the caps draw
    (`drawing`), with what came back, so that a circuit under vacuum books no outflow.
    """
    energy, coolant, gas = sums(model, u)
    ledger = model.layout.ledger
    u[ledger + 3] = s[0] - energy
    if drawing:
        missing = s[1] - coolant - u[ledger + 5]
        u[ledger + 6] -= missing
        u[ledger + 7] += missing  # what did not come back is still in the recovery tank
        u[ledger + 8] -= s[2] - gas - u[ledger + 9]
    else:
        u[ledger + 7] += kept * (s[1] - coolant - u[ledger + 5])
        u[ledger + 5] = s[1] - coolant
        u[ledger + 9] = s[2] - gas


@kernel
def advance(time, state, h, phase, model, work, pattern, method, step, fresh):
    """Try to step from `time` by `h` (s): (accepted, error). On acceptance `step.trial` is the new state.

    `step.rate` must hold the rate at `time`; `fresh` asks for a new Jacobian.
    """
    layout = model.layout
    n, size = layout.ledger, layout.size
    if fresh:
        jacobian(time, state, phase, model, work, pattern, step, step.values)
        step.counters[1] += 1
    structure = pattern.structure
    scale = 1.0 / (h * method.gamma)
    assemble(structure, pattern, step.values, scale, step.matrix)
    factor(structure, step.matrix)
    drawing = len(model.cap) > 0
    kept = 0.0
    for k in range(len(model.cap)):
        cap = model.cap[k]
        if work.absolute[cap.node] >= model.system[0].ambient_pressure:
            drawing = False
        if cap.recovery > 0.0 and state[n + 7] < 0.95 * work.density[cap.node] * cap.recovery:
            kept = 1.0
    s = np.zeros((4, 3))
    for i in range(4):
        if i == 0:
            copy(step.stage, step.rate)
        else:
            copy(step.trial, state)
            for j in range(i):
                if method.a[i, j] != 0.0:
                    for k in range(size):
                        step.trial[k] += method.a[i, j] * step.u[j, k]
            if not derivative(time + method.time[i] * h, step.trial, phase, model, work, step.stage):
                return False, 10.0
            step.counters[0] += 1
        e, c, g = sums(model, step.stage)
        s[i, 0] = e + step.stage[n + 3]
        s[i, 1] = c + step.stage[n + 5]
        s[i, 2] = g + step.stage[n + 9]
        for j in range(i):
            factor_ij = method.c[i, j] / h
            for k in range(size):
                step.stage[k] += factor_ij * step.u[j, k]
            for q in range(3):
                s[i, q] += factor_ij * s[j, q]
        for q in range(3):
            s[i, q] /= scale
        for k in range(n):
            step.rhs[k] = step.stage[k]
        solve(structure, step.matrix, step.rhs)
        for k in range(n):
            step.u[i, k] = step.rhs[k]
        for k in range(n, size):
            step.u[i, k] = step.stage[k] / scale
        close_ledgers(model, s[i], step.u[i], drawing, kept)
    error = 0.0
    finite = True
    copy(step.trial, state)
    for k in range(size):
        total = 0.0
        for i in range(4):
            step.trial[k] += method.m[i] * step.u[i, k]
            total += method.error[i] * step.u[i, k]
        if not np.isfinite(step.trial[k]):
            finite = False
        if k < layout.sensor:  # nothing depends on a sensor: where it sits must not move the steps
            weight = step.tolerance[k, 0] + step.tolerance[k, 1] * max(abs(state[k]), abs(step.trial[k]))
            error = max(error, abs(total) / weight)
    if not finite:
        return False, 10.0
    return error <= 1.0, error


@kernel
def assemble(structure, pattern, values, scale, matrix):
    """Storage of scale I - J."""
    matrix[:] = 0.0
    for k in range(len(values)):
        matrix[structure.slot[k]] -= values[k]
    for d in range(len(pattern.diagonal)):
        matrix[structure.slot[pattern.diagonal[d]]] += scale


@kernel
def followed(old, start, end, h, time_constant):
    """State of a first-order lag after `h` s, from `old`, its input going straight from `start` to `end`: exact."""
    slope = (end - start) / h
    left = math.exp(-h / time_constant)
    return end - slope * time_constant + (old - start + slope * time_constant) * left


@kernel
def straight(k, state, h, step):
    """Rate of state `k` at both ends of the step: that of the straight line, so that nothing overshoots between."""
    step.rate[k] = (step.trial[k] - state[k]) / h
    step.moved[k] = step.rate[k]


@kernel
def gauges(state, h, model, work, step):
    """Pressure sensors and the filters of controllers at the end of a step of `h` s, into `step.trial`.

    A sensor follows in milliseconds what hangs on the level, which the sparse Jacobian leaves out: the stepper would
    have to crawl. Nothing depends on a sensor, so it is carried along exactly instead, its input straight over the
    step; so is a filter, on what its sensor shows.
    """
    layout = model.layout
    for s in range(len(model.sensor)):
        if model.sensor[s].pressure == 1:
            k = layout.sensor + s
            step.trial[k] = followed(state[k], step.sensed[s], work.sensed[s], h, model.sensor[s].time_constant)
            straight(k, state, h, step)
    for c in range(len(model.cut)):
        k, s = layout.cut + c, layout.sensor + model.cut[c].sensor
        step.trial[k] = followed(state[k], state[s], step.trial[s], h, model.cut[c].filter)
        straight(k, state, h, step)
    copy(step.sensed, work.sensed)


@kernel
def march(time, state, h, bound, phase, model, work, pattern, method, step, started):
    """One accepted step towards `bound`: (succeeded, new time, next step size). The new state is in `step.trial`.

    On exit `step.moved` holds the rate at the new time (start of the next step).
    """
    if not started:
        if not derivative(time, state, phase, model, work, step.rate):
            return False, time, h
        step.counters[0] += 1
        copy(step.sensed, work.sensed)
    smallest = 1.0e-8 + 4.0e-15 * abs(time)
    rejected = False
    for attempt in range(60):
        h = min(h, bound - time)
        # a rejected step leaves the flows and the level of another state behind, but the Jacobian is still the one
        accepted, error = advance(time, state, h, phase, model, work, pattern, method, step, attempt == 0)
        grow = 0.9 * max(error, 1.0e-4) ** (-1.0 / 3.0)
        if accepted:
            new = bound if h >= bound - time else time + h
            if not derivative(new, step.trial, phase, model, work, step.moved):
                h *= 0.25
                continue
            step.counters[0] += 1
            gauges(state, h, model, work, step)
            limit = 1.0 if rejected else FASTEST
            return True, new, h * min(max(grow, 0.2), limit)
        step.counters[2] += 1
        rejected = True
        h *= min(max(grow, 0.1), 0.5)
        if h < smallest:
            return False, time, h
    return False, time, h
