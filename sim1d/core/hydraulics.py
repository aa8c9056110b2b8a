"""Flows and pressures of a network of junctions and branches, quasi-steady, for any start value.

Each branch answers loss(w) - rise(w) - momentum = p_start - p_end + drive, strictly increasing in its mass flow w;
the flow into each junction balances. Hybrid flow and pressure Newton (Hamam and Brameller, Proc. IEE 118:1607, 1971;
Todini and Pilati 1988; recalled): one sparse solve for the pressures, then flows branch by branch. Increasing laws make
the flow the minimum of a convex content (Millar 1951; Birkhoff and Diaz 1956; recalled), so the answer is unique, and
a search for the minimum along each Newton step finds it from any start. The momentum change along galleries is no
potential: it enters as one more unknown per station and, should that fail, as a load that is raised in parts.
"""

from typing import NamedTuple

import numpy as np

from sim1d._jit import kernel
from sim1d.core.branch_laws import gallery_momentum, laws, shaft_speed
from sim1d.core.handle import maker, register
from sim1d.core.nodal import Nodal, nodal_structure
from sim1d.core.sparse import factor, solve
from sim1d.physics.motors import motor_current
from sim1d.physics.pumps import shaft_torque

ITERATIONS = 60
WILDEST = 100.0  # kg/s: a start value beyond is thrown away
CLOSE = 1.0e-5  # share of a branch's flow: a Newton step this small leaves an error of the order of its square
QUICK = 3.0e-3  # the same within a run in time, where flows within 1e-5 are enough
NEARLY = 0.1  # the same, branch by branch, of flows that the next step mends (0.01 saves no solve, 0.5 is seen)
REST = 3.0  # times the square of that share, of the largest flow: what a branch may be off however little it carries
NOTHING = 1.0e-5  # of that share, kg/s: a step below counts as none in a network at rest altogether
UNBALANCED = 1.0e-9  # share of the largest flow that may be missing at a junction before the start value is balanced


class Network(NamedTuple):
    """Tables of one network and the fixed structure of its equations; made by `network_tables`."""

    branch: np.recarray
    junction: np.recarray
    pump: np.recarray
    station: np.recarray
    structure: Nodal


NetworkHandle = register(Network)


@maker(Network)
@kernel
def make_network(*fields):
    """Handle of a `Network` from its fields."""
    return NetworkHandle(*fields)


class Workspace(NamedTuple):
    """Arrays of one solve; their contents carry nothing from call to call. Made by `workspace`."""

    loss: np.ndarray  # (branch) Pa, loss less pump rise
    slope: np.ndarray  # (branch) Pa s/kg
    base: np.ndarray  # (branch) kg/s at no pressure difference
    step: np.ndarray  # (branch) kg/s, Newton step
    trial: np.ndarray  # (branch) kg/s
    momentum: np.ndarray  # (branch) Pa that the gallery's momentum change adds from start to end
    by: np.ndarray  # (station, 3) Pa s/kg, its derivatives by the flows before, at and after the station
    values: np.ndarray  # matrix and factors
    rhs: np.ndarray  # unknowns: pressures, then momentum changes
    room: np.ndarray  # (the same) for `solve`


WorkspaceHandle = register(Workspace)


@maker(Workspace)
@kernel
def make_workspace(*fields):
    """Handle of a `Workspace` from its fields."""
    return WorkspaceHandle(*fields)


def network_tables(
    branch: np.recarray, junction: np.recarray, pump: np.recarray, station: np.recarray
) -> Network:  # fmt: skip
    """Network of BRANCH, JUNCTION, PUMP and STATION rows. ValueError says all that is wrong (see `nodal_structure`)."""
    return Network(branch, junction, pump, station, nodal_structure(branch, junction, pump, station))


def workspace(network: Network) -> Workspace:
    """Fresh arrays for `solve_flows`; one set per thread."""
    matrix, n = network.structure.matrix, len(network.branch)
    return Workspace(
        loss=np.zeros(n), slope=np.zeros(n), base=np.zeros(n), step=np.zeros(n), trial=np.zeros(n),
        momentum=np.zeros(n), by=np.zeros((len(network.station), 3)), values=np.zeros(matrix.fill),
        rhs=np.zeros(matrix.n), room=np.zeros(matrix.n),
    )  # fmt: skip


@kernel
def assemble(network, pressure, work):
    """Matrix and right-hand side of the balances with branch flow = base + (p_start - p_end - momentum)/slope."""
    structure = network.structure
    unknown, slot = structure.unknown, structure.branch_slot
    values, rhs = work.values, work.rhs
    values[:] = 0.0
    rhs[:] = 0.0
    for j in range(len(unknown)):
        if unknown[j] >= 0:
            rhs[unknown[j]] = network.junction[j].inflow
    for b in range(len(work.slope)):
        start, end = network.branch[b].start, network.branch[b].end
        s, e = unknown[start], unknown[end]
        conductance = 1.0 / work.slope[b]
        if s >= 0:
            values[slot[b, 0]] += conductance
            rhs[s] -= work.base[b]
            if e >= 0:
                values[slot[b, 1]] -= conductance
                values[slot[b, 2]] -= conductance
            else:
                rhs[s] += conductance * pressure[end]
        if e >= 0:
            values[slot[b, 3]] += conductance
            rhs[e] += work.base[b]
            if s < 0:
                rhs[e] += conductance * pressure[start]


@kernel
def assemble_stations(network, pressure, flow, work):
    """Rows and columns of the momentum unknowns u: u + sum over members of their derivative times their step = 0."""
    structure = network.structure
    first = len(work.rhs) - len(network.station)
    for s in range(len(network.station)):
        conductance = 1.0 / work.slope[network.station[s].branch]
        if structure.junction_slot[s, 0] >= 0:
            work.values[structure.junction_slot[s, 0]] -= conductance
        if structure.junction_slot[s, 1] >= 0:
            work.values[structure.junction_slot[s, 1]] += conductance
        work.values[structure.station_slot[s, 1, 2]] += 1.0
        total = 0.0
        for m in range(3):
            b = structure.member[s, m]
            if b < 0:
                continue
            share = work.by[s, m] / work.slope[b]
            total -= work.by[s, m] * (work.base[b] - flow[b])
            start, end, own = structure.station_slot[s, m]
            if start >= 0:
                work.values[start] += share
            else:
                total -= share * pressure[network.branch[b].start]
            if end >= 0:
                work.values[end] -= share
            else:
                total += share * pressure[network.branch[b].end]
            if own >= 0:
                work.values[own] -= share
        work.rhs[first + s] = total


@kernel
def newton_step(network, drive, flow, pressure, work):
    """One linear solve: fills `pressure` and `work.step`, returns the rate of the content along the step (W)."""
    structure = network.structure
    n = len(flow)
    for b in range(n):
        work.base[b] = flow[b] + (drive[b] + work.momentum[b] - work.loss[b]) / work.slope[b]
    assemble(network, pressure, work)
    if len(network.station) > 0:
        assemble_stations(network, pressure, flow, work)
    factor(structure.matrix, work.values)
    solve(structure.matrix, work.values, work.rhs, work.room)
    for j in range(len(pressure)):
        if structure.unknown[j] >= 0:
            pressure[j] = work.rhs[structure.unknown[j]]
    first = len(work.rhs) - len(network.station)
    rate = 0.0
    for b in range(n):
        change = work.rhs[first + structure.station_of[b]] if structure.station_of[b] >= 0 else 0.0
        push = pressure[network.branch[b].start] - pressure[network.branch[b].end] - change
        work.step[b] = work.base[b] + push / work.slope[b] - flow[b]
        rate -= work.step[b] * (work.slope[b] * work.step[b] + change)
    return rate


@kernel
def balance(network, flow, pressure, work):
    """Move `flow` the least (weighted by slope) so that every junction balances; False when it did already."""
    structure = network.structure
    unknown = structure.unknown
    largest = 0.0
    work.rhs[:] = 0.0
    for j in range(len(unknown)):
        if unknown[j] >= 0:
            work.rhs[unknown[j]] = network.junction[j].inflow
            largest = max(largest, abs(network.junction[j].inflow))
    for b in range(len(flow)):
        start, end = unknown[network.branch[b].start], unknown[network.branch[b].end]
        largest = max(largest, abs(flow[b]))
        if start >= 0:
            work.rhs[start] -= flow[b]
        if end >= 0:
            work.rhs[end] += flow[b]
    missing = 0.0
    for j in range(len(unknown)):
        if unknown[j] >= 0:
            missing = max(missing, abs(work.rhs[unknown[j]]))
    if missing <= UNBALANCED * largest:
        return False
    pressure[:] = 0.0
    for b in range(len(flow)):
        work.base[b] = flow[b]
    assemble(network, pressure, work)
    for s in range(len(network.station)):
        work.values[structure.station_slot[s, 1, 2]] = 1.0
    factor(structure.matrix, work.values)
    solve(structure.matrix, work.values, work.rhs, work.room)
    for b in range(len(flow)):
        start, end = unknown[network.branch[b].start], unknown[network.branch[b].end]
        push = 0.0
        if start >= 0:
            push += work.rhs[start]
        if end >= 0:
            push -= work.rhs[end]
        flow[b] += push / work.slope[b]
    return True


@kernel
def settled(flow, step, close):
    """Largest Newton step over what a branch may still move, `close` of its flow: at most 1 when the flows settled."""
    largest = 0.0
    for b in range(len(flow)):
        largest = max(largest, abs(flow[b] + step[b]))
    rest = close * (REST * close * largest + NOTHING)
    worst = 0.0
    for b in range(len(flow)):
        if not np.isfinite(step[b]):
            return np.inf
        worst = max(worst, abs(step[b]) / (close * abs(flow[b] + step[b]) + rest))
    return worst


@kernel
def content_rate(network, drive, pressure, work):
    """Rate of the content along `work.step` (W) from the laws at the trial flows; at `pressure` of the Newton solve."""
    rate = 0.0
    for b in range(len(drive)):
        push = pressure[network.branch[b].start] - pressure[network.branch[b].end]
        rate += work.step[b] * (work.loss[b] - drive[b] - work.momentum[b] - push)
    return rate


@kernel
def descend(
    network, density, viscosity, drive, pump_state, grip, opening, share, flow, pressure, close, work, limit
):  # fmt: skip
    """Newton iterations from `flow` in place: (converged, iterations, last step). `share` scales gallery momentum."""
    stations = len(network.station) > 0 and share > 0.0
    work.momentum[:] = 0.0
    work.by[:] = 0.0
    laws(network, density, viscosity, pump_state, grip, opening, flow, work.loss, work.slope)
    if balance(network, flow, pressure, work):
        laws(network, density, viscosity, pump_state, grip, opening, flow, work.loss, work.slope)
    for j in range(len(pressure)):
        if network.junction[j].fixed != 0:
            pressure[j] = network.junction[j].pressure
    worst = np.inf
    stuck = 0
    t = 1.0
    for iteration in range(limit):
        if stations:
            gallery_momentum(network, density, flow, share, work.momentum, work.by)
        start_rate = newton_step(network, drive, flow, pressure, work)
        whole = True
        if stations and not start_rate < 0.0:
            work.by[:] = 0.0  # not a falling direction: hold the momentum for this step
            start_rate = newton_step(network, drive, flow, pressure, work)
            whole = False
        before = worst
        worst = settled(flow, work.step, close)
        stuck = stuck + 1 if t == 1.0 and worst >= 0.8 * before else 0
        if not np.isfinite(worst):
            return False, iteration + 1, worst
        enough = 1.0 if whole else 1.0e-3  # with the momentum held the steps shrink only in proportion
        if worst <= enough or (worst <= 100.0 * enough and stuck >= 3):  # the second: only round-off is left
            for b in range(len(flow)):
                flow[b] += work.step[b]
            return True, iteration + 1, close * worst
        low, high, share_low, share_high = 0.0, 1.0, start_rate, 0.0
        t = 1.0
        for _ in range(40):
            for b in range(len(flow)):
                work.trial[b] = flow[b] + t * work.step[b]
            laws(network, density, viscosity, pump_state, grip, opening, work.trial, work.loss, work.slope)
            if stations and whole:
                gallery_momentum(network, density, work.trial, share, work.momentum, work.by)
            rate = content_rate(network, drive, pressure, work)
            if rate > -0.5 * start_rate:  # past the minimum: laws grow with the square of flow
                high, share_high = t, rate
            elif t < 1.0 and rate < 0.5 * start_rate:
                low, share_low = t, rate
            else:
                break
            t = low + (high - low) * min(max((share_low / (share_low - share_high)) ** 0.5, 0.001), 0.999)
        for b in range(len(flow)):
            flow[b] = work.trial[b]
    return False, limit, worst


@kernel
def solve_flows(
    network, density, viscosity, drive, pump_state, grip, opening, flow, pressure, pump_speed, pump_power, pump_current,
    close, work,
):  # fmt: skip
    """Solve the network: (converged, iterations, residual).

    Given per branch: `density` kg/m3, `viscosity` Pa s, `drive` Pa (weight and acceleration of the column, helping flow
    from start to end), `opening` (>= 1, on loss coefficients and friction); per pump: `pump_state` rad/s (belt) or V
    (electric), `grip` the share of its shut-off head that it keeps (1 unless it cavitates or draws gas).
    `flow` (branch, kg/s from start to end) is a start value on entry, which changes no answer, and the answer on exit.
    Out: `pressure` (junction, Pa, static, on the level of the fixed ones), `pump_speed` rad/s, `pump_power` W at the
    shaft, `pump_current` A. `close` is how near: `CLOSE`, or `QUICK` within a run. `residual`: last Newton step over
    the flow it changed (the error left is about its square).
    With gallery momentum the answer is unique as long as the laterals resist more than the gallery recovers.
    """
    for b in range(len(flow)):
        if not abs(flow[b]) < WILDEST:  # also catches NaN
            flow[b] = 0.1
    converged, iterations, residual = descend(
        network, density, viscosity, drive, pump_state, grip, opening, 1.0, flow, pressure, close, work, ITERATIONS
    )
    if not converged:  # from a start of its own, galleries without momentum first
        flow[:] = 0.1
        for part in range(9 if len(network.station) > 0 else 1):
            converged, more, residual = descend(
                network, density, viscosity, drive, pump_state, grip, opening, part / 8.0, flow, pressure, close, work,
                ITERATIONS,
            )  # fmt: skip
            iterations += more
            if not converged:
                break
    turn_pumps(network, density, pump_state, flow, pump_speed, pump_power, pump_current)
    return converged, iterations, residual


@kernel
def turn_pumps(network, density, pump_state, flow, pump_speed, pump_power, pump_current):
    """Speed (rad/s), shaft power (W) and current (A) of every pump at these flows."""
    for b in range(len(flow)):
        p = network.branch[b].pump
        if p >= 0:
            pump = network.pump[p]
            q = flow[b] / density[b]
            ratio = density[b] / pump.density
            pump_speed[p], _ = shaft_speed(pump, pump_state[p], q, ratio)
            torque = shaft_torque(q, pump_speed[p], ratio, pump.torque_constant, pump.torque_slope)
            pump_power[p] = torque * pump_speed[p]
            pump_current[p] = 0.0
            if pump.electric == 1:
                pump_current[p] = motor_current(pump_state[p], pump_speed[p], pump.motor_constant, pump.resistance)


@kernel
def missing(network, density, viscosity, drive, pump_state, grip, opening, flow, pressure, work, pascal):
    """What drives each branch less what it resists (Pa) at flows and pressures that need not fit: 0 where they do."""
    laws(network, density, viscosity, pump_state, grip, opening, flow, work.loss, work.slope)
    gallery_momentum(network, density, flow, 1.0, work.momentum, work.by)
    for b in range(len(flow)):
        push = pressure[network.branch[b].start] - pressure[network.branch[b].end]
        pascal[b] = drive[b] + work.momentum[b] + push - work.loss[b]


@kernel
def nearly(flow, pascal, work):
    """Whether flows of which the laws miss `pascal` (branch, Pa) are off by `NEARLY` at most. Needs `missing`.

    Every branch by itself: what it misses over its slope. Junctions balance all the while.
    """
    largest = 0.0
    for b in range(len(flow)):
        largest = max(largest, abs(flow[b]))
    rest = NEARLY * (REST * NEARLY * largest + NOTHING)
    for b in range(len(flow)):
        if not abs(pascal[b]) <= work.slope[b] * (NEARLY * abs(flow[b]) + rest):
            return False
    return True
