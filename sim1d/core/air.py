"""Gas in the circuit: where it stands, what carries it on, what rises, what the pump makes of it, what dissolves.

Every place (POCKET) holds a mass of dry gas at the local temperature and pressure, with its saturated vapour. It leaves
along the branches (AIR_WAY) in three ways: carried by the flow at the place's share of gas, rising through standing
coolant, and pushed out of a place that is full. A dome (`held`) keeps its gas until the flow through the place passes
the clearing speed.
"""

from sim1d._jit import kernel
from sim1d.core.coolant import GRAVITY
from sim1d.core.pressure import LOWEST, gas_volume
from sim1d.physics.air_transport import gassy_head
from sim1d.physics.dissolved_air import air_solubility
from sim1d.physics.lookup import position, uniform_grid, value
from sim1d.physics.roots import cube_root
from sim1d.physics.smooth import ramp, step
from sim1d.physics.suction import head_kept

PRIME_LOST = 0.06  # gas by volume at which a pump loses its prime (0.03 to 0.10; see `gassy_head`)
PRIME_BACK = 0.02  # and takes hold again
PRIME_TIME = 0.5  # s to lose it or to find it (assumed: a few turns of the volume of the pump)
GRIP_TIME = 0.2  # s for the head to follow suction and gas (assumed)
GRIPLESS = 0.03  # share of its head that is left to a pump without prime (assumed)
SPREAD = 0.4  # of a clearing speed over which a pocket goes from held to carried: the scatter of published criteria
SETTLING = 0.1  # s for the tank's surface to follow gas and steam, and for a soft hose to follow suction (assumed)
POWER = 32.0  # of the gas share with which a place pushes gas out (assumed: hardly any below nine tenths)
PUSH = 0.2  # of what a way can spill, from a place that is full (assumed)
NO_BUBBLE = 1.0e-18  # m3, a micrometre each way: no gas at all (of far less the reciprocal overflows)


@kernel
def gas_places(model, work, state):
    """Volume of gas at every place at the level of `work`, and the share of it that is free to move."""
    layout = model.layout
    system = model.system[0]
    for k in range(len(model.pocket)):
        i = model.pocket[k].node
        work.through[k] = 0.0
        air = state[layout.air + k]
        work.pocket_volume[k] = 0.0
        if air > 0.0:
            work.pocket_volume[k] = gas_volume(air, work.hot[i], max(work.absolute[i], LOWEST), work.vapour[i])
    for w in range(len(model.air_way)):
        way = model.air_way[w]
        q = 0.5 * abs(work.flow[way.branch]) / work.branch_density[way.branch]
        work.through[way.a] += q
        work.through[way.b] += q
    for k in range(len(model.pocket)):
        pocket = model.pocket[k]
        held = pocket.held
        volume = work.pocket_volume[k]
        if held > 0.0 and volume > 0.0:
            speed = work.through[k] / pocket.area
            held *= 1.0 - step((speed / pocket.clears - 1.0) / SPREAD + 0.5)
        free = ramp(volume - held, 1.0e-7) if held > 0.0 else volume
        work.free_gas[k] = free / model.node[pocket.node].volume
    if system.tank_volume > 0.0:
        work.free_gas[0] = 1.0  # of the tank the opening says what it passes


@kernel
def dry_shares(model, work):
    """Share of every lump that gas takes: as large a share of its walls is dry. The tank's own gas wets nothing."""
    for i in range(len(model.node)):
        work.gas[i] = 0.0
    for k in range(len(model.pocket)):
        i = model.pocket[k].node
        if k > 0 or model.system[0].tank_volume <= 0.0:
            work.gas[i] = min(work.pocket_volume[k] / model.node[i].volume, 0.98)


@kernel
def uncovered(model, way, surface, acceleration):
    """Share (0..1) of the tank's opening that stands in gas; the surface tilts with the acceleration (m/s2).

    A tank of constant section: the surface turns about its middle by atan(a/g), the liquid goes rearward at launch.
    Where the wedge meets top or bottom the liquid at either end is held there (the middle then no longer keeps its
    height: neglected).
    """
    system = model.system[0]
    reach = 0.5 * system.tank_length
    along = min(max(way.x - system.tank_x, -reach), reach)
    height = surface + along * acceleration / GRAVITY
    top = system.tank_base + system.tank_height
    height = min(max(height, system.tank_base), top)
    return step((0.5 * way.bore - (height - way.z)) / way.bore + 0.5)


@kernel
def carried(q, down, area):
    """Volume flow (m3/s) in which gas goes along with a flow q (m3/s; none for q < 0).

    Where the way leads down it does so only above the clearing speed `down` (m/s).
    """
    if q <= 0.0:
        return 0.0
    if down > 0.0:
        return q * step((q / (area * down) - 1.0) / SPREAD + 0.5)
    return q


@kernel
def way_rates(model, work, acceleration):
    """Share of its gas (1/s) that each place passes on along each branch: `work.way_out` from a to b, `way_back`.

    Flow times the place's share of gas, over the gas it holds: for a place without a dome this does not depend on how
    much that is, so gas that travels obeys a linear law. `way_out_slope` and `way_back_slope` are the derivatives of
    what passes by the gas at either end, for the sparse Jacobian; what one end loses the other gains there as well.
    """
    tank = model.system[0].tank_volume > 0.0
    places_pass_on(model, work)
    for w in range(len(model.air_way)):
        way = model.air_way[w]
        from_tank = tank and way.b == 0
        q = work.flow[way.branch] / work.branch_density[way.branch]
        share_a, share_b = min(work.free_gas[way.a], 1.0), min(work.free_gas[way.b], 1.0)
        out = carried(q, way.down_ab, way.area)
        back = carried(-q, way.down_ba, way.area)
        space_a, space_b = model.node[model.pocket[way.a].node].volume, model.node[model.pocket[way.b].node].volume
        hindered_a, hindered_b = 0.0, 0.0  # gas that rises slower because its goal fills
        if from_tank:
            back *= uncovered(model, way, work.level[1], acceleration)
        if way.rise > 0.0:
            out += way.rise * (1.0 if from_tank else 1.0 - share_b)
            hindered_b = 0.0 if from_tank else way.rise * share_a / space_b
        elif way.rise < 0.0 and not from_tank:
            back -= way.rise * (1.0 - share_a)
            hindered_a = -way.rise * share_b / space_a
        work.way_out[w], slope = passed_on(work, way.a, out, way.spill)
        work.way_out_slope[w] = slope + hindered_a
        if from_tank:
            work.way_back[w] = back / work.pocket_volume[0] if work.pocket_volume[0] >= NO_BUBBLE else 0.0
            work.way_back_slope[w] = work.way_back[w]
        else:
            work.way_back[w], slope = passed_on(work, way.b, back, way.spill)
            work.way_back_slope[w] = slope + hindered_b


@kernel
def pushed_out(share):
    """Share of what a way can spill that a place with such a `share` of gas pushes out, and its slope by the share (1).

    A power up to full, straight on beyond. A corner instead, at 0.85, holds a soak at steps of 10 s: a small place at a
    high point stands on it.
    """
    if share >= 1.0:
        return PUSH * (1.0 + POWER * (share - 1.0)), PUSH * POWER
    x = share
    x2 = x * x
    x4 = x2 * x2
    x8 = x4 * x4
    x16 = x8 * x8
    less = x16 * x8 * x4 * x2 * x
    return PUSH * less * x, PUSH * POWER * less


@kernel
def places_pass_on(model, work):
    """What `passed_on` needs of each place (1/m3): loss by flow and by spill, and the derivatives of both."""
    for k in range(len(model.pocket)):
        pocket = model.pocket[k]
        space = model.node[pocket.node].volume
        volume, share = work.pocket_volume[k], work.free_gas[k]
        per_space = 1.0 / space
        if volume < NO_BUBBLE:
            work.passing[k, 0] = work.passing[k, 2] = per_space
            work.passing[k, 1] = work.passing[k, 3] = 0.0
            continue
        per_volume = 1.0 / volume
        pushed, steep = pushed_out(share)
        work.passing[k, 1] = pushed * per_volume
        work.passing[k, 3] = steep * per_space
        if share >= 1.0:
            work.passing[k, 0] = work.passing[k, 2] = per_volume
            continue
        loose = 1.0 if pocket.held <= 0.0 else min(share * space * per_volume * 2.0, 1.0)
        work.passing[k, 0] = share * per_volume
        work.passing[k, 2] = loose * per_space


@kernel
def passed_on(work, k, flow, spill):
    """Share of its gas (1/s) that place `k` loses to a stream of `flow` m3/s through its free gas, and by `spill` m3/s
    when it is over-full; and the derivative (1/s) of that loss by its gas."""
    passing = work.passing
    return flow * passing[k, 0] + spill * passing[k, 1], flow * passing[k, 2] + spill * passing[k, 3]


@kernel
def air_ways(model, work, state, acceleration, rate):
    """Gas from place to place along every branch: pairwise, so what one loses the other gains."""
    way_rates(model, work, acceleration)
    base = model.layout.air
    for w in range(len(model.air_way)):
        a, b = model.air_way[w].a, model.air_way[w].b
        flow = work.way_out[w] * state[base + a] - work.way_back[w] * state[base + b]
        rate[base + a] -= flow
        rate[base + b] += flow


@kernel
def solution(model, work, state, rate):
    """Air out of hot coolant into every place, and back into coolant that touches gas."""
    layout = model.layout
    system = model.system[0]
    if system.release_time <= 0.0:
        return
    held = max(state[layout.dissolved], 0.0) / system.circuit_volume
    total = 0.0
    for k in range(len(model.pocket)):
        i = model.pocket[k].node
        limit = air_solubility(work.temperature[i], work.absolute[i] - work.vapour[i])
        excess = held - limit
        flow = ramp(excess, 1.0e-4) * model.node[i].volume / system.release_time
        if excess < 0.0 and state[layout.air + k] > 0.0:
            some = step(state[layout.air + k] / 1.0e-7)
            surface = cube_root(work.pocket_volume[k]) ** 2  # a bubble or dome as broad as it is high
            if k == 0 and system.tank_volume > 0.0:
                surface = system.tank_area
            flow -= some * ramp(-excess, 1.0e-4) * surface * system.absorb_speed
        rate[layout.air + k] += flow
        total += flow
    rate[layout.dissolved] -= total


@kernel
def gasket_leak(model, speed, load, rate):
    """Combustion gas into the chambers of leaking cylinders (kg/s in all); see `sim1d.gasket` for the curve."""
    if len(model.leak) == 0:
        return
    system = model.system[0]
    manifold = system.idle_pressure + (system.rated_pressure - system.idle_pressure) * load
    curve = model.leak_curve
    index, part = position(manifold, uniform_grid(curve[0].pressure, curve[1].pressure, len(curve)))
    # the curve holds the mass of a cycle (two turns) at rated speed; a gap passes by time: the same rate at any speed
    cycles = system.rated_speed / (4.0 * 3.141592653589793) * step(speed / 30.0)
    mass = value(curve.mass, index, part) * cycles
    for k in range(len(model.leak)):
        gas = model.leak[k].share * mass
        rate[model.layout.air + model.leak[k].pocket] += gas
        rate[model.layout.ledger + 10] += gas


@kernel
def pump_grip(model, work, state, rate):
    """Head that each pump keeps with the gas it draws and the suction head it has; prime lost and found again."""
    layout = model.layout
    for b in range(len(model.network.branch)):
        p = model.network.branch[b].pump
        if p < 0:
            continue
        speed = work.pump_speed[p]
        i = model.network.branch[b].start if work.flow[b] >= 0.0 else model.network.branch[b].end
        gas = work.void[i]
        for k in range(len(model.pocket)):
            if model.pocket[k].node == i:
                gas = min(gas + work.free_gas[k], 1.0)
        work.pump_gas[p] = gas
        kept = 1.0
        needed = model.network.pump[p].suction_head_constant * speed * speed
        if needed > 0.05:
            available = (work.absolute[i] - work.vapour[i]) / (work.density[i] * GRAVITY)
            kept = head_kept(max(available, 0.01), needed)
        lost = min(max(state[layout.prime + p], 0.0), 1.0)
        target = kept * max(gassy_head(gas), GRIPLESS) * (1.0 - lost) + GRIPLESS * lost
        rate[layout.grip + p] += (target - state[layout.grip + p]) / GRIP_TIME
        turning = step(speed / 10.0)
        losing = turning * step((gas - PRIME_LOST) / 0.01 + 0.5)
        finding = 1.0 - turning * step((gas - PRIME_BACK) / 0.01 + 0.5)
        now = state[layout.prime + p]
        rate[layout.prime + p] += (losing * (1.0 - now) - finding * now) / PRIME_TIME


@kernel
def soft_hoses(model, work, state, rate):
    """How flat each soft hose is sucked: follows the suction at the end where it is greater, in a tenth of a second."""
    layout = model.layout
    ambient = model.system[0].ambient_pressure
    for k in range(len(model.collapse)):
        row = model.collapse[k]
        branch = model.network.branch[row.branch]
        inside = min(work.absolute[branch.start], work.absolute[branch.end])
        target = 0.95 * step((ambient - inside - row.suction) / row.width)
        rate[layout.collapse + k] += (target - state[layout.collapse + k]) / SETTLING


@kernel
def displacement(model, work, state, rate):
    """Volume that gas and steam take in the circuit, less what the walls give way: what stands in the tank for it."""
    layout = model.layout
    taken = 0.0
    for i in range(len(model.node)):
        node = model.node[i]
        taken += work.void[i] * node.volume - node.compliance * (work.absolute[i] - node.filled)
    for k in range(len(model.pocket)):
        if k > 0 or model.system[0].tank_volume <= 0.0:
            taken += work.pocket_volume[k]
    rate[layout.displaced] += (taken - state[layout.displaced]) / SETTLING
