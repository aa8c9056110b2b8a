"""A linearly implicit stepper of order 3 for stiff systems whose Jacobian is only known in part (`core.method`).

Flows and pressures of the network are unknowns beside the states (see `flow_unknowns`): it is solved once a step at
most, not at every stage. With the pressure level frozen the Jacobian is sparse and fixed in pattern; one factorisation
serves the four stages. Energy, coolant and gas are kept to round-off (`core.books`).
"""

from typing import NamedTuple

import numpy as np

from sim1d._jit import kernel
from sim1d.core.books import close_ledgers, sums, ways_out
from sim1d.core.drift import drift
from sim1d.core.gauges import gauges
from sim1d.core.handle import maker, register
from sim1d.core.level_error import left, level_allowed, level_error
from sim1d.core.method import SHARED
from sim1d.core.pace import growth, sharpen
from sim1d.core.rhs import derivative, derivative_at, derivative_near
from sim1d.core.slopes import jacobian
from sim1d.core.sparse import copy, factor, solve

REJECTED = 0.5  # of its length at most after a rejected step (0.65 and 0.9 lead layout C into a sixth more steps)
WHOLE = 0.92  # a step that would leave less than a twelfth of the way to the bound goes all of it: no slivers
ASTRAY = 5.0  # times what a lump may be off (2 takes a tenth more evaluations and gains nothing)


class StepWork(NamedTuple):
    """Arrays of the stepper."""

    rate: np.ndarray  # rate at the start of the step
    stage: np.ndarray
    trial: np.ndarray
    moved: np.ndarray  # rate of the last evaluation: of a stage within the step, of its end after it
    u: np.ndarray  # (4, size)
    values: np.ndarray  # entries of the Jacobian
    matrix: np.ndarray  # storage of the factors
    rhs: np.ndarray  # (states, flows and free pressures)
    room: np.ndarray  # (the same) for `solve`
    tolerance: np.ndarray  # (size) error that a step may make
    allowed: np.ndarray  # (size) the same for this step, see `sharpen`
    level: np.ndarray  # (1) Pa by which a step may get the level wrong
    flow: np.ndarray  # (branch) kg/s at the start of the step
    pressure: np.ndarray  # (junction) Pa at the start of the step
    flow_u: np.ndarray  # (4, branch) what `u` is to the states
    pressure_u: np.ndarray  # (4, junction)
    missing: np.ndarray  # (branch) Pa that the law of a branch misses in a stage
    left: np.ndarray  # (branch) Pa that it misses at the start of the step
    drift: np.ndarray  # (branch) Pa/s by which that changes with time alone
    pace: np.ndarray  # (3) last step (s, inf: none), its error, and the step (s) that it leads to
    counters: np.ndarray  # evaluations, Jacobians, rejected steps
    closing: np.ndarray  # (2) 1 while the caps draw, share of what leaves that the recovery tank keeps
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
def advance(time, state, h, phase, model, work, pattern, method, step, fresh):
    """Try to step from `time` by `h` (s): (accepted, error). On acceptance `step.trial` is the new state.

    `step.rate` must hold the rate at `time`; `fresh` says that `work` is of that instant too, and asks for a new
    Jacobian. On exit `work` holds flows and pressures for the new state, none of them solved for.
    """
    layout = model.layout
    n, size = layout.ledger, layout.size
    branches = len(step.flow)
    structure = pattern.structure
    if fresh:
        jacobian(time, state, phase, model, work, pattern, step, step.values)
        step.counters[1] += 1
        copy(step.flow, work.flow)
        copy(step.pressure, work.pressure)
        ways_out(model, work, state, step.closing)
        drift(phase, model, work, step.drift)
    scale = 1.0 / (h * method.gamma)
    assemble(pattern, step.values, scale, step.matrix)
    factor(structure, step.matrix)
    s = np.zeros((4, 3))
    for i in range(4):
        if i == 0:
            copy(step.missing, step.left)
            copy(step.stage, step.rate)
        elif i == SHARED:
            copy(step.stage, step.moved)
        else:
            weighted(step.trial, state, method.a[i], 1.0, step.u)
            weighted(work.flow, step.flow, method.a[i], 1.0, step.flow_u)
            weighted(work.pressure, step.pressure, method.a[i], 1.0, step.pressure_u)
            here = time + method.time[i] * h
            if not derivative_at(here, step.trial, phase, model, work, step.stage, step.missing):
                forget(step)
                return False, 10.0
            step.counters[0] += 1
            copy(step.moved, step.stage)
        energy, coolant, gas = sums(model, step.stage)
        s[i, 0] = energy + step.stage[n + 3]
        s[i, 1] = coolant + step.stage[n + 5]
        s[i, 2] = gas + step.stage[n + 9]
        weighted(step.stage, step.stage, method.c[i], 1.0 / h, step.u)
        for q in range(3):
            for j in range(i):
                s[i, q] += method.c[i, j] / h * s[j, q]
            s[i, q] /= scale
        right_hand_side(step.rhs, step.stage, n, step.missing, h * method.slope[i], step.drift)
        solve(structure, step.matrix, step.rhs, step.room)
        taken(step.u, i, step.rhs, step.stage, n, scale)
        close_ledgers(model, s[i], step.u[i], step.closing)
        for b in range(branches):
            step.flow_u[i, b] = step.rhs[n + b]
        for j in range(len(step.pressure)):
            free = model.network.structure.unknown[j]
            if free >= 0:
                step.pressure_u[i, j] = step.rhs[n + branches + free]
    weighted(step.trial, state, method.m, 1.0, step.u)
    weighted(work.flow, step.flow, method.m, 1.0, step.flow_u)
    weighted(work.pressure, step.pressure, method.m, 1.0, step.pressure_u)
    for k in range(size):
        if not np.isfinite(step.trial[k]):
            forget(step)
            return False, 10.0
    sharpen(model, work, state, step.rate, step.tolerance, step.allowed)
    # nothing depends on a sensor: where it sits must not move the steps
    error = largest_error(step.u, method.error, step.allowed, layout.sensor)
    error = max(error, level_error(model, work, step, method.error) / level_allowed(model, work, step.level[0]))
    return error <= 1.0, error


@kernel
def forget(step):
    """Clear the stages: they weigh nothing in those before them, but nothing times infinity is not a number."""
    step.u[:] = 0.0
    step.flow_u[:] = 0.0
    step.pressure_u[:] = 0.0


@kernel
def weighted(target, base, weights, scale, u):
    """target = base + scale times the weighted sum of the four stages `u` (4, n)."""
    w = scale * weights[0], scale * weights[1], scale * weights[2], scale * weights[3]
    for k in range(len(base)):
        target[k] = base[k] + (w[0] * u[0, k] + w[1] * u[1, k] + w[2] * u[2, k] + w[3] * u[3, k])


@kernel
def right_hand_side(rhs, stage, n, missing, h, drift):
    """Rates of the `n` states and what the laws of the branches miss, with `h` s of their drift; balances are kept."""
    for k in range(n):
        rhs[k] = stage[k]
    for b in range(len(missing)):
        rhs[n + b] = missing[b] + h * drift[b]
    for k in range(n + len(missing), len(rhs)):
        rhs[k] = 0.0


@kernel
def taken(u, i, answer, stage, n, scale):
    """Stage `i` of the states, into `u` (4, size): the first `n` of the answer; ledgers, which move nothing, follow."""
    for k in range(n):
        u[i, k] = answer[k]
    for k in range(n, len(stage)):
        u[i, k] = stage[k] / scale


@kernel
def largest_error(u, weights, allowed, count):
    """Largest error that a step of stages `u` (4, size) leaves in the first `count` states, over what is allowed."""
    error = 0.0
    for k in range(count):
        by = abs(left(u, weights, k))
        if by > error * allowed[k]:
            error = by / allowed[k]
    return error


@kernel
def assemble(pattern, values, scale, matrix):
    """Storage of scale M - J, M with ones for states and nothing for flows and pressures."""
    slot, diagonal = pattern.structure.slot, pattern.diagonal
    matrix[:] = 0.0
    for k in range(len(slot)):
        matrix[slot[k]] -= values[k]
    for d in range(len(diagonal)):
        matrix[slot[diagonal[d]]] += scale


@kernel
def astray(h, model, pattern, method, step):
    """Whether a lump ends the step of `h` s far from where its rate there takes it: the error of the step saw nothing.

    Where the rate has changed over the step by more than the lump would lose in a step by its own entry of the
    Jacobian, times `ASTRAY` of what it may be off. Standing coolant in a soak asks for steps of minutes; on some of
    them a lump jumps by tens of kelvin while both methods agree (measured: one run of sixty of layout A froze so).
    """
    base, scale = model.layout.enthalpy, 1.0 / (h * method.gamma)
    for i in range(len(model.node)):
        stiff = scale - step.values[pattern.diagonal[base + i]]
        if abs(step.moved[base + i] - step.rate[base + i]) > ASTRAY * step.tolerance[base + i] * stiff:
            return True
    return False


@kernel
def settles(time, state, phase, model, work, step):
    """Solve the network at the start of a step that comes to nothing; False without an answer.

    A step takes flows that nearly fit and mends them on straight laws. Where a law bends sharply within that, as that
    of a passage all but shut does about rest, the mended flows fit worse, however short the step.
    """
    copy(work.flow, step.flow)
    copy(work.pressure, step.pressure)
    if not derivative(time, state, phase, model, work, step.rate):
        return False
    step.counters[0] += 1
    step.left[:] = 0.0
    return True


@kernel
def march(time, state, h, bound, phase, model, work, pattern, method, step):
    """One accepted step towards `bound`: (succeeded, new time, next step size). The new state is in `step.trial`.

    `step.rate` and `work` must hold the evaluation at `time`. On exit `step.moved` holds the rate at the new time
    (start of the next step).
    """
    smallest = 1.0e-8 + 4.0e-15 * abs(time)
    left, asked = bound - time, h
    rejected, fresh, settled = False, True, False
    for attempt in range(80):
        if attempt > 0 and h < smallest:
            if settled or not settles(time, state, phase, model, work, step):
                break
            settled, fresh, h = True, True, asked
        if h > WHOLE * left:
            h = left
        # a rejected step leaves the flows and the level of another state behind, but the Jacobian is still the one
        accepted, error = advance(time, state, h, phase, model, work, pattern, method, step, fresh)
        fresh = False
        grow = growth(error, h, step.pace[1], np.inf if rejected else step.pace[0])
        if accepted:
            new = bound if h == left else time + h
            if not derivative_near(new, step.trial, phase, model, work, step.moved, step.missing):
                h *= 0.25
                continue
            step.counters[0] += 1
            if not astray(h, model, pattern, method, step):
                copy(step.left, step.missing)
                gauges(state, h, model, work, step)
                step.pace[0], step.pace[1] = h, error
                step.pace[2] = h * (min(grow, 1.0) if rejected else grow)
                return True, new, step.pace[2]
        step.counters[2] += 1
        rejected = True
        h *= min(grow, REJECTED)
    return False, time, h
