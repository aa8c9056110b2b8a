"""The table of contents of the physics: the rate of change of every state."""

import numpy as np

from sim1d._jit import kernel
from sim1d.core.air import (
    air_ways,
    displacement,
    dry_shares,
    gas_places,
    gasket_leak,
    pump_grip,
    soft_hoses,
    solution,
)
from sim1d.core.caps import caps
from sim1d.core.coolant import (
    GRAVITY,
    branch_conditions,
    carry,
    node_offsets,
    node_properties,
    swell,
    tank_surface,
)
from sim1d.core.engine import conduct, exchangers, gas_heat, wetted_faces
from sim1d.core.hydraulics import QUICK, missing, nearly, solve_flows, turn_pumps
from sim1d.core.pressure import solve_level
from sim1d.core.radiator import ambient_losses, radiators


@kernel
def at(pair, share):
    """Value of a ramp between pair[0] and pair[1]."""
    return pair[0] + share * (pair[1] - pair[0])


@kernel
def elapsed(phase, time):
    """Share (0..1) of the phase that has passed at `time` (s)."""
    if phase.end <= phase.start:
        return 0.0
    return min(max((time - phase.start) / (phase.end - phase.start), 0.0), 1.0)


@kernel
def conditions(time, state, phase, model, work):
    """What the network is given at this state: properties of all lumps, weight of all columns, what turns the pumps."""
    share = elapsed(phase, time)
    speed = at(phase.speed, share)
    work.level[3] = np.nan
    node_properties(model, work, state)
    surface = tank_surface(model, work, state)
    work.level[1] = surface
    branch_conditions(model, work, state, at(phase.acceleration, share), surface)
    for p in range(len(model.network.pump)):
        work.pump_grip[p] = min(max(state[model.layout.grip + p], 0.0), 1.0)
        work.pump_state[p] = phase.voltage * phase.electric_pump if model.network.pump[p].electric == 1 else 0.0
    for d in range(len(model.drive)):
        work.pump_state[model.drive[d].pump] = model.drive[d].ratio * speed


@kernel
def pressures(model, work, state):
    """The level, all local pressures and the gas, at the flows that `work` holds; returns False without a level."""
    node_offsets(model, work)
    level = solve_level(model, work, state)
    gas_places(model, work, state)
    dry_shares(model, work)
    return level


@kernel
def settle_flows(model, work):
    """Solve the network at the conditions in `work`, from the flows that it holds; returns False without an answer."""
    converged, iterations, _ = solve_flows(
        model.network, work.branch_density, work.branch_viscosity, work.drive, work.pump_state, work.pump_grip,
        work.opening, work.flow, work.pressure, work.pump_speed, work.pump_power, work.pump_current, QUICK,
        work.solver,
    )  # fmt: skip
    work.level[2] += iterations
    return converged


@kernel
def flows(time, state, phase, model, work):
    """Solve the network and the pressure level for this state; returns False when one of them did not converge."""
    conditions(time, state, phase, model, work)
    converged = settle_flows(model, work)
    level = pressures(model, work, state)
    return converged and level


@kernel
def derivative(time, state, phase, model, work, rate):
    """Rate of change of `state` (SI per second) into `rate`; returns False when no flow or level could be found."""
    fine = flows(time, state, phase, model, work)
    rates(time, state, phase, model, work, rate)
    return fine


@kernel
def unbalance(time, state, phase, model, work, pascal):
    """What the law of each branch misses (Pa) at this state and the flows and pressures that `work` holds."""
    conditions(time, state, phase, model, work)
    missing(
        model.network, work.branch_density, work.branch_viscosity, work.drive, work.pump_state, work.pump_grip,
        work.opening, work.flow, work.pressure, work.solver, pascal,
    )  # fmt: skip


@kernel
def at_these_flows(time, state, phase, model, work, rate):
    """Rate of change at the conditions, flows and pressures that `work` holds; returns False without a level."""
    turn_pumps(
        model.network, work.branch_density, work.pump_state, work.flow, work.pump_speed, work.pump_power,
        work.pump_current,
    )  # fmt: skip
    level = pressures(model, work, state)
    rates(time, state, phase, model, work, rate)
    return level


@kernel
def derivative_at(time, state, phase, model, work, rate, pascal):
    """`derivative` at the flows and pressures that `work` holds, which need not fit; returns False without a level.

    Into `pascal` (branch, Pa) goes what the law of each branch misses there.
    """
    unbalance(time, state, phase, model, work, pascal)
    return at_these_flows(time, state, phase, model, work, rate)


@kernel
def derivative_near(time, state, phase, model, work, rate, pascal):
    """`derivative` that takes the flows `work` holds where they nearly fit (`nearly`), with what they miss in `pascal`.

    Where they do not the network is solved, and nothing is missing.
    """
    unbalance(time, state, phase, model, work, pascal)
    fine = True
    if not nearly(work.flow, pascal, work.solver):
        fine = settle_flows(model, work)
        pascal[:] = 0.0
    return at_these_flows(time, state, phase, model, work, rate) and fine


@kernel
def rates(time, state, phase, model, work, rate):
    """Rate of change of `state` into `rate` once flows and pressures are known."""
    for k in range(len(rate)):
        rate[k] = 0.0
    heat_flows(time, state, phase, model, work, rate)
    work.total[4] = caps(model, work, state, rate)
    swell(model, work)
    share = elapsed(phase, time)
    acceleration = at(phase.acceleration, share)
    gasket_leak(model, at(phase.speed, share), at(phase.load, share), rate)
    air_ways(model, work, state, acceleration, rate)
    solution(model, work, state, rate)
    displacement(model, work, state, rate)
    pump_grip(model, work, state, rate)
    soft_hoses(model, work, state, rate)
    pressure_sensors(model, work, state, acceleration, rate)
    divide(state, model, work, rate)
    work.level[3] = time  # `work` belongs to this instant until the next evaluation


@kernel
def heat_flows(time, state, phase, model, work, rate):
    """All heat into coolant and metal at known flows: fills `work.power`, `work.metal_power`, `work.total`."""
    share = elapsed(phase, time)
    speed = at(phase.speed, share)
    car_speed = at(phase.car_speed, share)
    for i in range(len(work.power)):
        work.power[i] = 0.0
    for m in range(len(work.metal_power)):
        work.metal_power[m] = 0.0
    carry(model, work)
    work.total[0] = gas_heat(model, work, state, speed, at(phase.load, share))
    conduct(model, work, state)
    wetted_faces(model, work, state, rate)
    exchangers(model, work, state)
    work.total[2] = radiators(model, work, state, car_speed, phase.fan)
    work.total[3] = ambient_losses(model, work, state, car_speed)
    work.total[1] = 0.0
    for b in range(len(model.network.branch)):
        p = model.network.branch[b].pump
        if p >= 0:
            work.power[model.network.branch[b].end] += work.pump_power[p]
            work.total[1] += work.pump_power[p]


@kernel
def divide(state, model, work, rate):
    """From powers to rates: capacities, the lagged steam, gas, pumps and hoses, the sensors and the ledgers."""
    layout = model.layout
    system = model.system[0]
    for i in range(len(model.node)):
        if i == system.vessel:  # its state is its heat in J: mass comes and goes there
            rate[layout.enthalpy + i] = work.power[i]
        else:
            rate[layout.enthalpy + i] = work.power[i] / model.node[i].mass
    for m in range(len(model.metal)):
        rate[layout.metal + m] = work.metal_power[m] / model.metal[m].capacity
    for k in range(len(model.lag)):
        rate[layout.lag + k] = (work.void[model.lag[k].node] - state[layout.lag + k]) / system.void_lag
    thermometers(model, work, state, rate)
    for k in range(5):
        rate[layout.ledger + k] = work.total[k]


@kernel
def thermometers(model, work, state, rate):
    """What each temperature sensor shows (K) follows its place, and each controller's filter follows its sensor.

    Gas round a sensor slows it down by the share that is dry, twentyfold at most.
    """
    layout = model.layout
    for s in range(len(model.sensor)):
        sensor = model.sensor[s]
        if sensor.pressure == 0:
            i = sensor.node
            wet = 1.0 - min(work.gas[i] + work.void[i], 0.95)
            work.sensed[s] = work.temperature[i]
            rate[layout.sensor + s] = wet * (work.temperature[i] - state[layout.sensor + s]) / sensor.time_constant
    for k in range(len(model.cut)):
        row = model.cut[k]
        rate[layout.cut + k] = (state[layout.sensor + row.sensor] - state[layout.cut + k]) / row.filter


@kernel
def pressure_sensors(model, work, state, acceleration, rate):
    """What each pressure sensor shows (Pa gauge) follows its place: height and acceleration of the column count."""
    layout = model.layout
    for s in range(len(model.sensor)):
        sensor = model.sensor[s]
        if sensor.pressure == 1:
            i = sensor.node
            column = GRAVITY * (model.node[i].z - sensor.z) + acceleration * (sensor.x - model.node[i].x)
            work.sensed[s] = work.absolute[i] + work.mixture[i] * column - model.system[0].ambient_pressure
            rate[layout.sensor + s] += (work.sensed[s] - state[layout.sensor + s]) / sensor.time_constant
