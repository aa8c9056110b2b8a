"""Mistakes in the flows, the stepper and its books."""

from .mutation import BOOKS_BY_HAND, DEVICES, FACTOR, INDEX, LOST, SIGN, STEPS_BY_HAND, SWAPPED, Mutation, twin

BRANCH = "sim1d/core/branch_laws.py"
FLOWS = "sim1d/core/hydraulics.py"
BOOKS = "sim1d/core/books.py"
GAUGES = "sim1d/core/gauges.py"
METHOD = "sim1d/core/method.py"

FLOWS_AND_BOOKS = (
    Mutation(
        "check_valve_backwards", BRANCH, "row.k_forward if w >= 0.0 else row.k_reverse",
        "row.k_reverse if w >= 0.0 else row.k_forward", SWAPPED, "a fitting resists by the way the coolant goes",
        ("tests/core/test_network.py::test_blocked_and_checked_branches",),
    ),
    Mutation(
        "pump_resists", BRANCH, "drop -= lift", "drop += lift", SIGN, "a pump adds pressure", twin("layout_a-hot"),
    ),
    Mutation(
        "grip_ignored", BRANCH, "grip * pump.shutoff", "pump.shutoff", LOST,
        "a pump in gas keeps a share of its head", twin("layout_a-gassy"),
    ),
    Mutation(
        "pump_density_ratio", BRANCH, "rise(pump, q, speed, density[b] / pump.density, grip",
        "rise(pump, q, speed, pump.density / density[b], grip", SWAPPED, "head times density is the rise",
        twin("layout_a-hot"),
    ),
    Mutation(
        "gallery_recovers_backwards", BRANCH, "-scale * rho * (end * end - start * start)",
        "scale * rho * (end * end - start * start)", SIGN, "pressure rises along a gallery that gives flow off",
        twin("layout_a-hot"),
    ),
    Mutation(
        "gallery_speed_at_a_station", BRANCH, "start = (before + at) * to_speed", "start = (before + after) * to_speed",
        INDEX, "the speed at a junction is the mean of its two neighbours", twin("layout_a-hot"),
    ),
    Mutation(
        "motor_slope_forgotten", BRANCH, "steep -= (by_q + by_n * by_flow / pump.speed) / density[b]",
        "steep -= by_q / density[b]", LOST, "slope of an electric pump's curve counts its slowing down",
        twin("electric pump-cold", "electric pump-hot"),
    ),
    Mutation(
        "balance_of_a_junction", FLOWS, "rhs[s] -= work.base[b]", "rhs[s] += work.base[b]", SIGN,
        "what flows into a junction flows out of it", twin("layout_a-hot"),
    ),
    Mutation(
        "station_derivative", FLOWS, "total -= work.by[s, m] * (work.base[b] - flow[b])",
        "total += work.by[s, m] * (work.base[b] - flow[b])", SIGN, "momentum along a gallery moves with the flows",
        twin("layout_a-hot"),
    ),
    Mutation(
        "pump_power_is_torque", FLOWS, "pump_power[p] = torque * pump_speed[p]", "pump_power[p] = torque", LOST,
        "shaft power is torque times speed", twin("layout_a-hot"),
    ),
    Mutation(
        "pump_density_of_power", FLOWS, "ratio = density[b] / pump.density", "ratio = pump.density / density[b]",
        SWAPPED, "torque grows with density", twin("layout_a-hot"),
    ),
    Mutation(
        "given_flows_without_momentum", FLOWS, "pascal[b] = drive[b] + work.momentum[b] + push",
        "pascal[b] = drive[b] + push", LOST, "what a law misses counts the momentum along a gallery", STEPS_BY_HAND,
    ),
    Mutation(
        "given_pressure_pushes_back", FLOWS, "work.momentum[b] + push - work.loss[b]",
        "work.momentum[b] - push - work.loss[b]", SIGN, "pressure at its start drives flow into a branch",
        STEPS_BY_HAND,
    ),
    Mutation(
        "stage_coefficient", METHOD, "[21 / 40, -9 / 10, GAMMA, 0.0]", "[21 / 40, -8 / 10, GAMMA, 0.0]", FACTOR,
        "order conditions of the method", ("tests/system/test_integrator.py::test_order_condition",),
    ),
    Mutation(
        "books_without_pump_work", BOOKS, "- vector[ledger] - vector[ledger + 1]", "- vector[ledger]", LOST,
        "energy: pump work comes in", BOOKS_BY_HAND,
    ),
    Mutation(
        "books_of_the_vessel", BOOKS, "weight = 1.0 if i == vessel else model.node[i].mass",
        "weight = model.node[i].mass", LOST, "energy: the state of the vessel is its heat in J already", BOOKS_BY_HAND,
    ),
    Mutation(
        "books_of_half_the_metals", BOOKS, "energy += other + vector[ledger + 2]", "energy += vector[ledger + 2]",
        LOST, "energy: every metal counts", BOOKS_BY_HAND,
    ),
    Mutation(
        "books_without_the_odd_metal", BOOKS, "if len(model.metal) % 2 == 1:", "if len(model.metal) % 2 == 2:", LOST,
        "energy: every metal counts, of an odd number too", BOOKS_BY_HAND,
    ),
    Mutation(
        "books_of_coolant", BOOKS, "coolant = vector[layout.store] - vector[ledger + 6]",
        "coolant = vector[layout.store] + vector[ledger + 6]", SIGN, "coolant: what came back came in", BOOKS_BY_HAND,
    ),
    Mutation(
        "books_without_leak", BOOKS, "- vector[ledger + 8] - vector[ledger + 10]", "- vector[ledger + 8]", LOST,
        "gas: what passed the gasket came in", BOOKS_BY_HAND,
    ),
    Mutation(
        "bottle_counts_twice", BOOKS, "u[ledger + 7] += missing", "u[ledger + 7] -= missing", SIGN,
        "what did not come back is still in the recovery tank", BOOKS_BY_HAND,
    ),
    Mutation(
        "bottle_closes_backwards", BOOKS, "u[ledger + 7] += closing[1] * (", "u[ledger + 7] -= closing[1] * (",
        SIGN, "what left through the cap stands in the recovery tank, as far as it was caught", BOOKS_BY_HAND,
    ),
    Mutation(
        "cap_draws_under_pressure", BOOKS, "work.absolute[cap.node] >= model.system[0].ambient_pressure",
        "work.absolute[cap.node] <= model.system[0].ambient_pressure", SWAPPED,
        "what comes back closes the books under vacuum, what leaves under pressure", STEPS_BY_HAND,
    ),
    Mutation(
        "full_bottle_keeps_all", BOOKS, "state[bottle] < 0.95 *", "state[bottle] > 0.95 *", SWAPPED,
        "a recovery tank catches what it has room for", STEPS_BY_HAND,
    ),
    Mutation(
        "gauge_lag", GAUGES, "return end - slope * time_constant +", "return end + slope * time_constant +", SIGN,
        "a gauge trails a ramp by its time constant", (f"{DEVICES}::test_lag_is_carried_exactly_over_a_step",),
    ),
    Mutation(
        "filter_by_another_sensor", GAUGES, "k, s = layout.cut + c, layout.sensor + model.cut[c].sensor",
        "k, s = layout.cut + c, layout.sensor + c", INDEX, "the filter of a cut is carried behind its own sensor",
        (f"{DEVICES}::test_filter_is_first_order_behind_its_sensor",),
    ),
)  # fmt: skip
