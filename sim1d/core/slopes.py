"""The Jacobian of the right-hand side at a frozen pressure level: each entry from the law it belongs to.

Flows and pressures are unknowns beside the states (`flow_unknowns`). Left out are what hangs on the level, and how
films and conductances hang on temperature and flow: the stepper is of order 3 for any approximation, and these cost it
no step. `work` must hold the evaluation at the state.
"""

from sim1d._jit import kernel
from sim1d.core.air import GRIP_TIME, PRIME_TIME, SETTLING, gas_places, way_rates
from sim1d.core.caps import caps
from sim1d.core.coolant import node_properties, vessel_mass, vessel_mass_slope
from sim1d.core.engine import COLLAPSE_WIDTH, DRY_TIME
from sim1d.core.flow_unknowns import flow_entries
from sim1d.core.pressure import LOWEST, solve_level, steam_of
from sim1d.core.rhs import at, elapsed
from sim1d.core.sparse import copy
from sim1d.physics.film_boiling import dry_share_target
from sim1d.physics.smooth import ramp

ENTHALPY_STEP = 4.0  # J/kg, about 1 mK: for the temperature and the steam of a lump near saturation
WALL_STEP = 1.0e-3  # K, for the dry share that a wall comes to rest at


@kernel
def jacobian(time, state, phase, model, work, pattern, step, values):
    """Entries of the Jacobian at `state` into `values`; `step` gives room. `work` must be evaluated at the state.

    `work` is left as it was.
    """
    share = elapsed(phase, time)
    speed_of_air = at(phase.car_speed, share)
    values[:] = 0.0
    heating(model, work, state, step)
    coolant_entries(model, work, pattern, step, values)
    metal_entries(model, work, pattern, speed_of_air, values)
    face_entries(state, model, work, pattern, step, values)
    exchange_entries(model, work, pattern, step, speed_of_air, values)
    own_entries(model, work, pattern, step, values)
    flow_entries(model, work, pattern, step, values)
    way_rates(model, work, at(phase.acceleration, share))
    for w in range(len(model.air_way)):
        out, back = work.way_out_slope[w], work.way_back_slope[w]
        values[pattern.way_entry[w, 0]] -= out
        values[pattern.way_entry[w, 1]] += out
        values[pattern.way_entry[w, 2]] += back
        values[pattern.way_entry[w, 3]] -= back
    # the store scales the vessel's temperature: its column is that of the vessel's heat, scaled
    store = state[model.layout.store]
    ratio = -work.enthalpy[model.system[0].vessel] * vessel_mass_slope(model, store)
    for k in range(len(pattern.store_entry)):
        values[pattern.store_entry[k, 1]] += ratio * values[pattern.store_entry[k, 0]]
    vent_block(state, model, work, pattern, step.stage, step.trial, step.moved, values)


@kernel
def heating(model, work, state, steps):
    """How each lump answers to its own state: rate by power, enthalpy and temperature by state, steam by enthalpy.

    Into `steps.per_power`, `by_state`, `warming` and `steaming`.
    """
    layout = model.layout
    vessel = model.system[0].vessel
    for i in range(len(model.node)):
        mass = model.node[i].mass
        steps.per_power[i], steps.by_state[i] = 1.0 / mass, 1.0
        if i == vessel:  # its state is its heat
            steps.per_power[i], steps.by_state[i] = 1.0, 1.0 / vessel_mass(model, state[layout.store])
        steps.steaming[i] = 0.0
        low, high = model.liquid[work.grid[i]], model.liquid[work.grid[i] + 1]
        slope = (high.temperature - low.temperature) / (high.enthalpy - low.enthalpy)
        if work.hot[i] >= work.saturation[i] - 0.7:
            pressure = max(work.absolute[i], LOWEST)
            more = work.hot[i] + ENTHALPY_STEP * slope
            void, temperature, _ = steam_of(model, work.enthalpy[i] + ENTHALPY_STEP, more, pressure)
            slope = (temperature - work.temperature[i]) / ENTHALPY_STEP
            steps.steaming[i] = (void - work.void[i]) / ENTHALPY_STEP
        steps.warming[i] = slope * steps.by_state[i]


@kernel
def coolant_entries(model, work, pattern, steps, values):
    """What the flow carries from lump to lump, steam that lags, thermometers, and losses to the air around."""
    width = model.system[0].donor_width
    for k in range(len(pattern.chain_branch)):
        flow = work.flow[pattern.chain_branch[k]]
        a, b = pattern.chain_node[k, 0], pattern.chain_node[k, 1]
        ahead, back = ramp(flow, width) * steps.by_state[a], ramp(-flow, width) * steps.by_state[b]
        values[pattern.chain_entry[k, 0]] -= ahead * steps.per_power[a]
        values[pattern.chain_entry[k, 1]] += ahead * steps.per_power[b]
        values[pattern.chain_entry[k, 2]] += back * steps.per_power[a]
        values[pattern.chain_entry[k, 3]] -= back * steps.per_power[b]


@kernel
def metal_entries(model, work, pattern, speed_of_air, values):
    """Conduction between metals, films of the working gas, and losses to the air."""
    base = model.layout.metal
    for k in range(len(model.link)):
        link = model.link[k]
        a, b = link.conductance / model.metal[link.a].capacity, link.conductance / model.metal[link.b].capacity
        values[pattern.diagonal[base + link.a]] -= a
        values[pattern.link_entry[k, 0]] += a
        values[pattern.link_entry[k, 1]] += b
        values[pattern.diagonal[base + link.b]] -= b
    for g in range(len(model.gas_face)):
        m = model.gas_face[g].metal
        values[pattern.diagonal[base + m]] -= work.gas_conductance[g] / model.metal[m].capacity
    for m in range(len(model.metal)):
        metal = model.metal[m]
        loss = metal.ambient * (1.0 + metal.ambient_moving * speed_of_air)
        values[pattern.diagonal[base + m]] -= loss / metal.capacity


@kernel
def face_entries(state, model, work, pattern, step, values):
    """Wetted faces: heat by metal, coolant and dry share, through the wall temperature that balances them."""
    layout = model.layout
    for f in range(len(model.face)):
        face = model.face[f]
        i = face.node
        wall, bulk = work.face_temperature[f], work.temperature[i]
        film, over_film = work.face_film[f], work.face_over_film[f]
        total, slope = work.face_flux[f], work.face_slope[f]
        convective = film * (wall - bulk)
        by_bulk = -film * (min(convective / total, 1.0) if total > 0.0 else 1.0)
        dry = 0.0
        if face.dry >= 0:
            dry = min(max(state[layout.dry + face.dry], 0.0), 1.0)
        steep = (1.0 - dry) * slope + dry * over_film
        cold = (1.0 - dry) * by_bulk - dry * over_film
        dried = over_film * (wall - bulk) - total
        half = (1.0 - work.gas[i]) * face.half  # as `wetted_faces` has it
        held = 1.0 / (1.0 + half * steep)
        wetted = face.area * (1.0 - work.gas[i]) * held
        to_metal = wetted / model.metal[face.metal].capacity
        to_coolant = wetted * step.per_power[i]
        own, lump = pattern.diagonal[layout.metal + face.metal], pattern.diagonal[layout.enthalpy + i]
        values[own] -= steep * to_metal
        values[pattern.face_entry[f, 0]] -= cold * step.warming[i] * to_metal
        values[pattern.face_entry[f, 1]] += steep * to_coolant
        values[lump] += cold * step.warming[i] * to_coolant
        if face.dry < 0:
            continue
        values[pattern.face_entry[f, 2]] -= dried * to_metal
        values[pattern.face_entry[f, 3]] += dried * to_coolant
        itself = pattern.diagonal[layout.dry + face.dry]
        values[itself] -= 1.0 / DRY_TIME
        critical, collapse = work.face_critical[f], model.system[0].film_collapse
        if total < 0.5 * critical and wall < collapse - COLLAPSE_WIDTH - 1.0:
            continue  # a wall that is far from drying does not notice
        target = dry_share_target(total, critical, wall, collapse, COLLAPSE_WIDTH)
        hotter = dry_share_target(total + slope * WALL_STEP, critical, wall + WALL_STEP, collapse, COLLAPSE_WIDTH)
        by_wall = (hotter - target) / (WALL_STEP * DRY_TIME)
        moved = -half * cold * held  # of the wall by the bulk
        warmer = dry_share_target(
            total + (slope * moved + by_bulk) * WALL_STEP, critical, wall + moved * WALL_STEP, collapse, COLLAPSE_WIDTH
        )
        values[itself] -= by_wall * half * dried * held
        values[pattern.face_entry[f, 4]] += by_wall * held
        values[pattern.face_entry[f, 5]] += (warmer - target) / (WALL_STEP * DRY_TIME) * step.warming[i]


@kernel
def exchange_entries(model, work, pattern, step, speed_of_air, values):
    """Cores and heaters between coolant, metal and air; losses of the coolant's lumps."""
    layout = model.layout
    for c in range(len(model.core)):
        inside, outside = work.core_inside[c], work.core_outside[c]
        exchange(model, pattern, step, model.core[c], pattern.core_entry[c], inside, outside, values)
    for k in range(len(model.exchanger)):
        row, entry = model.exchanger[k], pattern.exchanger_entry[k]
        exchange(model, pattern, step, row, entry, work.exchange[k], 0.0, values)
    for i in range(len(model.node)):
        node = model.node[i]
        loss = node.ambient * (1.0 + node.ambient_moving * speed_of_air)
        values[pattern.diagonal[layout.enthalpy + i]] -= loss * step.warming[i] * step.per_power[i]


@kernel
def exchange(model, pattern, step, row, entry, inside, outside, values):
    """Heat from the coolant of `row` to its metal by `inside` W/K, and from there to the air by `outside` W/K."""
    i, m = row.node, row.metal
    capacity = model.metal[m].capacity
    values[pattern.diagonal[model.layout.enthalpy + i]] -= inside * step.warming[i] * step.per_power[i]
    values[entry[0]] += inside * step.per_power[i]
    values[entry[1]] += inside * step.warming[i] / capacity
    values[pattern.diagonal[model.layout.metal + m]] -= (inside + outside) / capacity


@kernel
def own_entries(model, work, pattern, step, values):
    """States that follow something in a time of their own: lagging steam, surface, pumps, hoses, sensors, filters."""
    layout = model.layout
    diagonal = pattern.diagonal
    for k in range(len(model.lag)):
        i = model.lag[k].node
        values[diagonal[layout.lag + k]] -= 1.0 / model.system[0].void_lag
        values[pattern.lag_entry[k]] += step.steaming[i] * step.by_state[i] / model.system[0].void_lag
    values[diagonal[layout.displaced]] -= 1.0 / SETTLING
    for p in range(len(model.network.pump)):
        values[diagonal[layout.grip + p]] -= 1.0 / GRIP_TIME
        values[diagonal[layout.prime + p]] -= 1.0 / PRIME_TIME
    for k in range(len(model.collapse)):
        values[diagonal[layout.collapse + k]] -= 1.0 / SETTLING
    for s in range(len(model.sensor)):
        sensor = model.sensor[s]
        if sensor.pressure == 1:
            values[diagonal[layout.sensor + s]] -= 1.0 / sensor.time_constant
        else:
            i = sensor.node
            pace = (1.0 - min(work.gas[i] + work.void[i], 0.95)) / sensor.time_constant
            values[diagonal[layout.sensor + s]] -= pace
            values[pattern.sensor_entry[s]] += pace * step.warming[i]
    for k in range(len(model.cut)):
        values[diagonal[layout.cut + k]] -= 1.0 / model.cut[k].filter
        values[pattern.cut_entry[k]] += 1.0 / model.cut[k].filter


@kernel
def vent_block(state, model, work, pattern, base, bumped, moved, values):
    """Stiff block of a working cap: how store and air answer to themselves through the level (network frozen)."""
    if len(model.cap) == 0:
        return
    layout = model.layout
    system = model.system[0]
    working = False
    for k in range(len(model.cap)):
        gauge = work.absolute[model.cap[k].node] - system.ambient_pressure
        if gauge > model.cap[k].reseat - 5.0e3 or model.cap[k].snaps > 0.0 or -gauge > model.cap[k].vacuum - 5.0e2:
            working = True
    if not working:
        return
    level = work.level[0]
    base[:] = 0.0
    caps(model, work, state, base)
    for j in range(len(pattern.vent)):
        column = pattern.vent[j]
        size = 1.0e-4  # kg of the store, or lift
        if column >= layout.air and column < layout.store:
            size = max(1.0e-3 * state[column], 1.0e-7)
        copy(bumped, state)
        bumped[column] += size
        if column == layout.store:
            node_properties(model, work, bumped)
        if column < layout.lift:  # a lift moves no level, and stands before what does
            solve_level(model, work, bumped)
            gas_places(model, work, bumped)
        moved[:] = 0.0
        caps(model, work, bumped, moved)
        for i in range(len(pattern.vent)):
            row = pattern.vent[i]
            values[pattern.vent_block[i, j]] += (moved[row] - base[row]) / size
        if column == layout.store:
            node_properties(model, work, state)
    work.level[0] = level
    solve_level(model, work, state)
    gas_places(model, work, state)
