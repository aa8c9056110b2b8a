"""Coolant: properties of every lump, weight and resistance of every branch, and the heat that the flow carries."""

from sim1d._jit import kernel
from sim1d.physics.lookup import between, enthalpy_grid, position, temperature_grid, temperature_on
from sim1d.physics.smooth import ramp, step

GRAVITY = 9.80665  # m/s2, standard


@kernel
def vessel_mass(model, store):
    """Liquid (kg) that takes part at the vessel: its own lump and the store, never below a fifth of the lump."""
    mass = model.node[model.system[0].vessel].mass
    total = mass + store
    floor = 0.2 * mass
    width = 0.2 * mass
    x = total - floor
    if x >= width:
        return total
    if x <= -width:
        return floor
    return floor + (x + width) * (x + width) / (4.0 * width)


@kernel
def vessel_mass_slope(model, store):
    """Derivative of `vessel_mass` with respect to the store (1)."""
    mass = model.node[model.system[0].vessel].mass
    width = 0.2 * mass
    x = mass + store - 0.2 * mass
    if x >= width:
        return 1.0
    if x <= -width:
        return 0.0
    return (x + width) / (2.0 * width)


@kernel
def node_properties(model, work, state):
    """Temperatures and densities of all lumps from the state (no pressure needed).

    Into `work.level[4]` goes the liquid that rigid walls have no room for, gas and steam left out.
    """
    layout, system = model.layout, model.system[0]
    vessel, liquid = system.vessel, model.liquid
    beyond = 0.0
    enthalpies, temperatures = enthalpy_grid(model.by_enthalpy), temperature_grid(liquid)
    for i in range(len(model.node)):
        node = model.node[i]
        h, mass = state[layout.enthalpy + i], node.mass
        if i == vessel:
            h /= vessel_mass(model, state[layout.store])
            mass += state[layout.store]
        work.enthalpy[i] = h
        hot = temperature_on(model.by_enthalpy, enthalpies, h)
        work.hot[i] = hot
        index, share = position(hot, temperatures)
        low, high = liquid[index], liquid[index + 1]
        work.grid[i] = index
        work.share[i] = share
        density = between(low.density, high.density, share)
        work.density[i] = density
        work.viscosity[i] = between(low.viscosity, high.viscosity, share)
        work.vapour[i] = between(low.vapour_pressure, high.vapour_pressure, share)
        beyond += mass / density - node.volume * (1.0 + node.growth * (hot - system.fill_temperature))
        lag = node.lag
        void = 0.0
        if lag >= 0:
            void = min(max(state[layout.lag + lag], 0.0), 0.97)
        work.mixture[i] = density * (1.0 - void)
    work.level[4] = beyond


@kernel
def tank_surface(model, work, state):
    """Height (m above ground) of the liquid in the tank from the liquid that the circuit has no room for.

    What gas and steam displace and what the walls give way enters as a state that follows within a tenth of a second:
    they hang on the pressure, which hangs on the height.
    """
    system = model.system[0]
    if system.tank_area <= 0.0:
        return model.node[system.vessel].z
    liquid = work.level[4] + state[model.layout.displaced]
    return system.tank_base + min(max(liquid, 0.0), system.tank_volume) / system.tank_area


@kernel
def branch_conditions(model, work, state, acceleration, surface):
    """Mean density and viscosity of each branch and the weight and inertia that drive flow from its start to its end.

    Momentum of a still column: p_end - p_start = rho (-g dz + a dx), x rearward, a > 0 when the car speeds up.
    """
    branch = model.network.branch
    vessel = model.system[0].vessel
    tank = model.system[0].tank_area > 0.0
    for b in range(len(branch)):
        row = branch[b]
        start, end = row.start, row.end
        z_start = surface if (tank and start == vessel) else model.node[start].z
        z_end = surface if (tank and end == vessel) else model.node[end].z
        lift = -GRAVITY * (z_end - z_start) + acceleration * (model.node[end].x - model.node[start].x)
        if row.cell_count > 0:
            density = 0.0
            viscosity = 0.0
            for c in range(row.cell_first, row.cell_first + row.cell_count):
                density += work.mixture[c]
                viscosity += work.viscosity[c]
            density /= row.cell_count
            viscosity /= row.cell_count
        else:
            density = 0.5 * (work.mixture[start] + work.mixture[end])
            viscosity = 0.5 * (work.viscosity[start] + work.viscosity[end])
        work.branch_density[b] = density
        work.branch_viscosity[b] = viscosity
        work.drive[b] = density * lift
        work.opening[b] = 1.0
        if row.valve >= 0:
            valve = model.valve[row.valve]
            if valve.node >= 0:
                open_ = step((work.hot[valve.node] - valve.opens) / (valve.full - valve.opens))
                if valve.invert == 1:
                    open_ = 1.0 - open_
                area = valve.leak + (1.0 - valve.leak) * open_
                work.opening[b] = 1.0 / (area * area)
    for k in range(len(model.collapse)):
        area = 1.0 - min(max(state[model.layout.collapse + k], 0.0), 0.95)
        work.opening[model.collapse[k].branch] /= area * area


@kernel
def node_offsets(model, work):
    """Pressure of each lump above the ground (Pa): junctions as solved, cells on the straight line between the ends."""
    branch = model.network.branch
    for j in range(len(model.network.junction)):
        work.offset[j] = work.pressure[j]
    for b in range(len(branch)):
        row = branch[b]
        for c in range(row.cell_count):
            along = (c + 0.5) / row.cell_count
            work.offset[row.cell_first + c] = (1.0 - along) * work.pressure[row.start] + along * work.pressure[row.end]


@kernel
def carry(model, work):
    """Enthalpy carried by the flow through every chain start - cells - end: adds to `work.power` (W), pairwise.

    Donor cells: what leaves has the enthalpy of where it leaves, so no lump can cool below its coldest neighbour. The
    corner at rest is rounded by letting both ways flow there, a quarter of the width each; the flow is what they
    differ by.
    """
    branch = model.network.branch
    width = model.system[0].donor_width
    for b in range(len(branch)):
        row = branch[b]
        flow = work.flow[b]
        ahead, back = ramp(flow, width), ramp(-flow, width)
        before = row.start
        for c in range(row.cell_count + 1):
            after = row.end if c == row.cell_count else row.cell_first + c
            heat = ahead * work.enthalpy[before] - back * work.enthalpy[after]
            work.power[before] -= heat
            work.power[after] += heat
            before = after


@kernel
def swell(model, work):
    """Mixing of the tank by the liquid that swells into it or shrinks out of it; returns the rate in m3/s.

    The lumps keep their mass (the swell is counted in the tank's volume), so the heat that a swelling litre takes along
    is moved as an exchange at the same rate between the tie and the tank.
    """
    system = model.system[0]
    rate = 0.0
    for i in range(len(model.node)):
        if i == system.vessel or work.void[i] > 0.0:
            continue
        index = work.grid[i]
        lower, upper = model.liquid[index], model.liquid[index + 1]
        # (d rho/dh) / rho^2
        slope = (upper.density - lower.density) / ((upper.enthalpy - lower.enthalpy) * work.density[i] ** 2)
        rate -= slope * work.power[i]
    if system.tie >= 0:
        tie, vessel = system.tie, system.vessel
        size = (rate * rate + 1.0e-14) ** 0.5 - 1.0e-7  # 0.1 mL/s rounds the corner at rest
        heat = size * work.density[tie] * (work.enthalpy[tie] - work.enthalpy[vessel])
        work.power[tie] -= heat
        work.power[vessel] += heat
    return rate
