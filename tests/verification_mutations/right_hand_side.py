"""Mistakes in the right-hand side, the coolant and the pressure level."""

from .mutation import BY_HAND, DEVICES, FACTOR, INDEX, LOST, SIGN, STEPS_BY_HAND, SWAPPED, Mutation, twin

RHS = "sim1d/core/rhs.py"
COOLANT = "sim1d/core/coolant.py"
PRESSURE = "sim1d/core/pressure.py"

RIGHT_HAND_SIDE = (
    Mutation(
        "ramp_of_a_phase", RHS, "pair[0] + share * (pair[1] - pair[0])", "pair[0] + share * (pair[0] - pair[1])", SIGN,
        "speed, load and acceleration run from their first to their second value over a phase", twin("layout_a-hot"),
    ),
    Mutation(
        "pump_ratio_inverted", RHS, "model.drive[d].ratio * speed", "speed / model.drive[d].ratio", FACTOR,
        "a belt pump turns at its ratio times the engine speed", twin("layout_a-hot"),
    ),
    Mutation(
        "electric_pump_never_off", RHS, "phase.voltage * phase.electric_pump if", "phase.voltage if", LOST,
        "an electric pump that is switched off gets no voltage", twin("electric pump-soak", "two pumps-soak"),
    ),
    Mutation(
        "pumps_of_another_flow", RHS,
        """    turn_pumps(
        model.network, work.branch_density, work.pump_state, work.flow, work.pump_speed, work.pump_power,
        work.pump_current,
    )  # fmt: skip
""", "", LOST, "at flows that are given the pumps do their work too", STEPS_BY_HAND,
    ),
    Mutation(
        "pump_heat_into_suction", RHS, "work.power[model.network.branch[b].end] += work.pump_power[p]",
        "work.power[model.network.branch[b].start] += work.pump_power[p]", INDEX,
        "shaft power heats the coolant behind the pump", twin("layout_a-hot"),
    ),
    Mutation(
        "pump_work_not_booked", RHS, "work.total[1] += work.pump_power[p]", "work.total[1] = work.pump_power[p]", LOST,
        "pump work of all pumps is in the books of energy", twin("two pumps-hot"),
    ),
    Mutation(
        "mass_of_a_lump", RHS, "work.power[i] / model.node[i].mass", "work.power[i] / model.node[0].mass", INDEX,
        "dh/dt = P/m of the lump's own mass", twin("layout_a-hot"),
    ),
    Mutation(
        "capacity_of_a_metal", RHS, "work.metal_power[m] / model.metal[m].capacity",
        "work.metal_power[m] / model.metal[0].capacity", INDEX, "dT/dt = P/C of the metal's own capacity",
        twin("layout_a-hot"),
    ),
    Mutation(
        "lagged_steam_of_another_lump", RHS, "(work.void[model.lag[k].node] - state", "(work.void[k] - state", INDEX,
        "the steam that the flow feels follows that of its own lump", twin("layout_a-boiling"),
    ),
    Mutation(
        "steam_round_a_sensor", RHS, "min(work.gas[i] + work.void[i], 0.95)", "min(work.gas[i], 0.95)", LOST,
        "gas and steam round a thermometer slow it down", twin("layout_a-boiling"),
    ),
    Mutation(
        "filter_of_another_sensor", RHS, "state[layout.sensor + row.sensor] - state[layout.cut + k]",
        "state[layout.sensor + k] - state[layout.cut + k]", INDEX, "the filter of a cut follows its own sensor",
        twin("layout_a-hot"),
    ),
    Mutation(
        "column_of_a_sensor_in_steam", RHS, "work.absolute[i] + work.mixture[i] * column",
        "work.absolute[i] + work.density[i] * column", FACTOR, "the column to a sensor weighs what the mixture weighs",
        twin("layout_a-boiling"),
    ),
    Mutation(
        "launch_at_a_sensor", RHS, "acceleration * (sensor.x - model.node[i].x)",
        "acceleration * (model.node[i].x - sensor.x)", SIGN, "pressure grows rearward when the car speeds up",
        (f"{DEVICES}::test_pressure_sensor_stands_on_its_column",),
    ),
    Mutation(
        "vessel_mass_rounding", COOLANT, "return floor + (x + width) * (x + width) / (4.0 * width)",
        "return floor + (x + width) * (x + width) / (2.0 * width)", FACTOR,
        "the liquid of the vessel goes to its floor without a step", twin("layout_a-short"),
    ),
    Mutation(
        "vessel_mass_slope", COOLANT, "return (x + width) / (2.0 * width)", "return (x + width) / width", FACTOR,
        "heat that leaves with the store is scaled by the slope of the vessel's mass", BY_HAND,
    ),
    Mutation(
        "steam_makes_heavy", COOLANT, "work.mixture[i] = density * (1.0 - void)",
        "work.mixture[i] = density * (1.0 + void)", SIGN, "steam makes the mixture lighter", twin("layout_a-boiling"),
    ),
    Mutation(
        "metal_shrinks_when_hot", COOLANT, "beyond += mass / density - node.volume * (1.0 + node.growth",
        "beyond += mass / density - node.volume * (1.0 - node.growth", SIGN,
        "cavities grow with the metal: less stands in the tank", twin("layout_a-hot"),
    ),
    Mutation(
        "coolant_falls_up", COOLANT, "lift = -GRAVITY * (z_end - z_start)", "lift = GRAVITY * (z_end - z_start)", SIGN,
        "weight drives flow downward", twin("layout_a-soak"),
    ),
    Mutation(
        "coolant_runs_forward", COOLANT, "acceleration * (model.node[end].x - model.node[start].x)",
        "acceleration * (model.node[start].x - model.node[end].x)", SIGN, "a launch throws coolant rearward",
        twin("layout_a-hot"),
    ),
    Mutation(
        "mean_viscosity", COOLANT, "viscosity /= row.cell_count", "viscosity /= row.cell_count + 1", FACTOR,
        "a line has the mean viscosity of its cells", twin("layout_a-cold"),
    ),
    Mutation(
        "bypass_foot_inverted", COOLANT, "if valve.invert == 1:", "if valve.invert == 0:", SWAPPED,
        "a thermostat opens with heat, the foot of its bypass shuts", twin("thermostat-cold"),
    ),
    Mutation(
        "valve_by_its_area", COOLANT, "work.opening[b] = 1.0 / (area * area)", "work.opening[b] = 1.0 / area", FACTOR,
        "loss grows with 1/A^2 of what a valve leaves open", twin("thermostat-cold"),
    ),
    Mutation(
        "flat_hose_by_its_area", COOLANT, "work.opening[model.collapse[k].branch] /= area * area",
        "work.opening[model.collapse[k].branch] /= area", FACTOR,
        "loss grows with 1/A^2 of what a flat hose leaves open", twin("soft-flattened"),
    ),
    Mutation(
        "pressure_of_a_cell", COOLANT, "along = (c + 0.5) / row.cell_count", "along = c / row.cell_count", FACTOR,
        "a cell stands in the middle of its share of the line", twin("layout_a-hot"),
    ),
    Mutation(
        "donor_is_the_receiver", COOLANT, "ahead * work.enthalpy[before] - back * work.enthalpy[after]",
        "ahead * work.enthalpy[after] - back * work.enthalpy[before]", SWAPPED,
        "flow carries the enthalpy of where it comes from", twin("layout_a-hot"),
    ),
    Mutation(
        "rest_exchange_lost", COOLANT, "ramp(flow, width), ramp(-flow, width)", "ramp(flow, width), max(-flow, 0.0)",
        LOST, "at rest a quarter of the width flows both ways", twin("layout_a-soak"),
    ),
    Mutation(
        "swell_by_density", COOLANT, "(upper.enthalpy - lower.enthalpy) * work.density[i] ** 2)",
        "(upper.enthalpy - lower.enthalpy) * work.density[i])", FACTOR, "swell is -(d rho/dh)/rho^2 per watt",
        twin("layout_a-hot"),
    ),
    Mutation(
        "swell_heat_reversed", COOLANT, "(work.enthalpy[tie] - work.enthalpy[vessel])",
        "(work.enthalpy[vessel] - work.enthalpy[tie])", SIGN, "mixing by swell evens out tie and tank",
        twin("layout_a-hot"),
    ),
    Mutation(
        "swell_shrinks", COOLANT, "rate -= slope * work.power[i]", "rate += slope * work.power[i]", SIGN,
        "heat makes liquid swell, not shrink", BY_HAND,
    ),
    Mutation(
        "void_of_quality", PRESSURE, "quality / (quality + (1.0 - quality) * ratio)", "quality / (quality + ratio)",
        LOST, "volume share of steam in homogeneous equilibrium", twin("layout_a-boiling"),
    ),
    Mutation(
        "steam_heavier_than_liquid", PRESSURE,
        "value(model.liquid.vapour_density, index, share) / value(model.liquid.density, index, share)",
        "value(model.liquid.density, index, share) / value(model.liquid.vapour_density, index, share)", SWAPPED,
        "steam has the density of vapour", twin("layout_a-boiling"),
    ),
    Mutation(
        "boiling_coolant_superheats", PRESSURE, "saturation + (enthalpy - excess - value",
        "saturation + (enthalpy - value", LOST, "coolant that boils stays at saturation", twin("layout_a-boiling"),
    ),
    Mutation(
        "gas_without_vapour", PRESSURE, "partial = smooth_max(pressure - vapour,", "partial = smooth_max(pressure,",
        LOST, "Dalton: gas has what the vapour leaves of the pressure", twin("layout_a-hot"),
    ),
    Mutation(
        "walls_pull_in", PRESSURE, "total = rigid - give * level", "total = rigid + give * level", SIGN,
        "soft walls give way to pressure", twin("layout_a-hot"),
    ),
    Mutation(
        "compliance_from_zero", PRESSURE, "(work.offset[i] - node.filled)", "work.offset[i]", LOST,
        "walls were at rest at the pressure of the fill", twin("layout_a-hot"),
    ),
    Mutation(
        "steam_takes_no_room", PRESSURE, "total += void * model.node[i].volume",
        "total -= void * model.node[i].volume", SIGN, "steam needs room", twin("layout_a-boiling"),
    ),
    Mutation(
        "lost_coolant_makes_full", COOLANT, "mass += state[layout.store]", "mass -= state[layout.store]", SIGN,
        "coolant that left makes room for gas", twin("layout_a-short"),
    ),
    Mutation(
        "growth_by_one_temperature", COOLANT, "node.growth * (hot - system.fill_temperature)",
        "node.growth * (work.hot[0] - system.fill_temperature)", INDEX, "each cavity grows with its own temperature",
        twin("layout_a-hot"),
    ),
    Mutation(
        "offset_reversed", PRESSURE, "work.absolute[i] = work.level[0] + work.offset[i]",
        "work.absolute[i] = work.level[0] - work.offset[i]", SIGN, "a place behind the pump has more than the ground",
        twin("layout_a-hot"),
    ),
)  # fmt: skip
