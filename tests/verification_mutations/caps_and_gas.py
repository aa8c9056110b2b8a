"""Mistakes in caps and gas."""

from .mutation import DEVICES, FACTOR, GAS, INDEX, LOST, SIGN, SWAPPED, Mutation, twin

CAPS = "sim1d/core/caps.py"
AIR = "sim1d/core/air.py"

CAPS_AND_GAS = (
    Mutation(
        "cap_by_absolute_pressure", CAPS, "gauge = work.absolute[i] - system.ambient_pressure",
        "gauge = work.absolute[i] - 0.0 * system.ambient_pressure", LOST,
        "a cap feels the pressure over the air outside", twin("layout_a-cap_gas"),
    ),
    Mutation(
        "cap_without_play", CAPS, "least = lift_share(gauge, cap.opening, cap.ramp)",
        "least = lift_share(gauge, cap.reseat, cap.ramp)", SWAPPED,
        "a cap opens at one pressure and shuts at a lower one", twin("layout_a-cap_between"),
    ),
    Mutation(
        "cap_never_shuts", CAPS, "(max(least - lift, 0.0) - max(lift - most, 0.0))",
        "(max(least - lift, 0.0) + max(lift - most, 0.0))", SIGN, "a valve above its shutting ramp comes down",
        twin("layout_a-cap_gas"),
    ),
    Mutation(
        "dry_gas_is_steam", CAPS, "/ (AIR_GAS_CONSTANT * temperature)", "/ (STEAM_CONSTANT * temperature)", SWAPPED,
        "density of dry air under the cap", twin("layout_a-cap_gas"),
    ),
    Mutation(
        "steam_leaves_no_gap", CAPS, "rate[layout.store] -= liquid + steam", "rate[layout.store] -= liquid", LOST,
        "steam that leaves is coolant that is gone", twin("layout_a-cap_gas"),
    ),
    Mutation(
        "venting_costs_no_heat", CAPS, "work.power[i] -= latent", "work.power[i] -= 0.0 * latent", LOST,
        "steam that leaves takes its latent heat", twin("layout_a-cap_gas"),
    ),
    Mutation(
        "made_up_from_the_vessel", CAPS, "work.power[i] += out * (work.enthalpy[vessel] - work.enthalpy[i])",
        "work.power[i] += out * (work.enthalpy[i] - work.enthalpy[vessel])", SIGN,
        "what leaves under a cap elsewhere is made up from the vessel",
        twin("layout_b-cap_liquid", "layout_c-cap_liquid"),
    ),
    Mutation(
        "bottle_only_when_full", CAPS, "(1.0 - full) * liquid", "full * liquid", SWAPPED,
        "the recovery tank catches until it is full", twin("recovery-cap_liquid"),
    ),
    Mutation(
        "bottle_fills_by_giving", CAPS, "rate[ledger + 7] -= back", "rate[ledger + 7] += back", SIGN,
        "what is drawn back leaves the recovery tank", twin("recovery-vacuum"),
    ),
    Mutation(
        "drawn_back_hot", CAPS, "work.power[i] += back * (cold - work.enthalpy[vessel])",
        "work.power[i] += back * (work.enthalpy[vessel] - cold)", SIGN, "coolant drawn back is as cold as the air",
        twin("recovery-vacuum"),
    ),
    Mutation(
        "half_the_air_drawn_in", CAPS, "rate[layout.air + pocket] += air", "rate[layout.air + pocket] += 0.5 * air",
        FACTOR, "air that is drawn in stands under the cap", twin("layout_a-vacuum"),
    ),
    Mutation(
        "vacuum_valve_by_ambient_hot", CAPS, "row_of(model.liquid, system.ambient_temperature)",
        "row_of(model.liquid, temperature)", SWAPPED, "the recovery tank holds coolant at the air's temperature",
        twin("recovery-vacuum"),
    ),
    Mutation(
        "flow_through_a_place", AIR, "q = 0.5 * abs(work.flow[way.branch])", "q = abs(work.flow[way.branch])", FACTOR,
        "through a place flows half of what goes in and out", twin("layout_c-rising", "layout_c-bubbles"),
    ),
    Mutation(
        "dome_held_by_speed", AIR, "held *= 1.0 - step(", "held *= step(", SWAPPED,
        "a dome keeps its gas below its clearing speed", twin("layout_c-rising"),
    ),
    Mutation(
        "dry_share_of_another_lump", AIR, "work.gas[i] = min(work.pocket_volume[k] / model.node[i].volume, 0.98)",
        "work.gas[i] = min(work.pocket_volume[k] / model.node[k].volume, 0.98)", INDEX,
        "gas dries the share of its own lump", twin("layout_a-rising"),
    ),
    Mutation(
        "no_bubble_too_small", AIR, "if volume < NO_BUBBLE:", "if volume <= 0.0:", LOST,
        "the least trace of gas leaves with the flow: it is not divided by",
        (f"{GAS}::test_a_trace_however_small_leaves_as_its_share_of_the_flow",),
    ),
    Mutation(
        "push_of_another_power", AIR, "less = x16 * x8 * x4 * x2 * x", "less = x16 * x8 * x4 * x", LOST,
        "a place pushes gas out by the 32nd power of its share", (f"{GAS}::test_push_of_a_place_by_its_gas_share",),
    ),
    Mutation(
        "push_bends_when_full", AIR, "return PUSH * (1.0 + POWER * (share - 1.0)),", "return PUSH * share,", FACTOR,
        "beyond full a place pushes on as steeply as when full", (f"{GAS}::test_push_of_a_place_by_its_gas_share",),
    ),
    Mutation(
        "squeezed_gas_carried_twice", AIR, "min(work.free_gas[way.a], 1.0), min(work.free_gas[way.b], 1.0)",
        "work.free_gas[way.a], work.free_gas[way.b]", LOST, "bubbles have no room in a place that is more than full",
        twin("layout_a-rising", "layout_c-rising", "layout_a-bubbles"),
    ),
    Mutation(
        "squeezed_gas_in_the_flow", AIR, "work.passing[k, 0] = work.passing[k, 2] = per_volume",
        "work.passing[k, 0] = work.passing[k, 2] = share * per_volume", LOST, "a flow carries no more gas than itself",
        (f"{GAS}::test_gas_squeezed_into_a_place_leaves_the_faster",),
    ),
    Mutation(
        "surface_tilts_forward", AIR, "height = surface + along * acceleration / GRAVITY",
        "height = surface - along * acceleration / GRAVITY", SIGN,
        "a launch heaps the liquid of the tank up at its rear", (f"{GAS}::test_surface_tilts_by_45_degrees_at_one_g",),
    ),
    Mutation(
        "clearing_by_flow", AIR, "return q * step((q / (area * down) - 1.0)", "return q * step((q / down - 1.0)", LOST,
        "what counts against the clearing speed is a speed", (f"{GAS}::test_way_down_asks_for_a_speed",),
    ),
    Mutation(
        "bubbles_into_the_full", AIR, "(1.0 if from_tank else 1.0 - share_b)", "(1.0 if from_tank else 1.0 - share_a)",
        INDEX, "bubbles rise into a place as far as it has room", twin("layout_a-rising"),
    ),
    Mutation(
        "bubbles_sink", AIR, "back -= way.rise * (1.0 - share_a)", "back += way.rise * (1.0 - share_a)", SIGN,
        "bubbles rise, whichever way the branch was drawn", twin("layout_a-rising"),
    ),
    Mutation(
        "gas_vanishes_on_its_way", AIR, "rate[base + b] += flow", "rate[base + b] -= flow", SIGN,
        "what one place loses the next gains", twin("layout_a-bubbles"),
    ),
    Mutation(
        "gas_comes_back_from_itself", AIR, "work.way_back[w] * state[base + b]", "work.way_back[w] * state[base + a]",
        INDEX, "a stream carries the gas of where it comes from", twin("layout_a-bubbles"),
    ),
    Mutation(
        "air_dissolves_upwards", AIR, "excess = held - limit", "excess = limit - held", SIGN,
        "air comes out of coolant that holds more than it can", twin("layout_a-gassy"),
    ),
    Mutation(
        "surface_of_a_bubble", AIR, "cube_root(work.pocket_volume[k]) ** 2", "cube_root(work.pocket_volume[k])",
        FACTOR, "a bubble's surface goes with V^(2/3)", twin("layout_a-bubbles"),
    ),
    Mutation(
        "solution_makes_air", AIR, "rate[layout.dissolved] -= total", "rate[layout.dissolved] += total", SIGN,
        "air that comes out of solution was dissolved", (f"{GAS}::test_gas_is_conserved",),
    ),
    Mutation(
        "solubility_by_whole_pressure", AIR, "air_solubility(work.temperature[i], work.absolute[i] - work.vapour[i])",
        "air_solubility(work.temperature[i], work.absolute[i])", LOST, "Henry: the partial pressure of air counts",
        twin("layout_a-gassy"),
    ),
    Mutation(
        "leak_of_a_two_stroke", AIR, "system.rated_speed / (4.0 * 3.14", "system.rated_speed / (2.0 * 3.14", FACTOR,
        "a cycle takes two turns", twin("leaking-hot"),
    ),
    Mutation(
        "leak_of_the_first_cylinder", AIR, "rate[model.layout.air + model.leak[k].pocket] += gas",
        "rate[model.layout.air + model.leak[0].pocket] += gas", INDEX, "each leaking cylinder fills its own chamber",
        twin("leaking-hot"),
    ),
    Mutation(
        "pump_draws_from_its_outlet", AIR, "model.network.branch[b].start if work.flow[b] >= 0.0",
        "model.network.branch[b].end if work.flow[b] >= 0.0", INDEX, "a pump draws gas at its suction",
        twin("layout_a-gassy"),
    ),
    Mutation(
        "suction_head_by_speed", AIR, ".suction_head_constant * speed * speed", ".suction_head_constant * speed",
        FACTOR, "suction head needed goes with the square of speed", twin("layout_a-gassy", "layout_a-starved"),
    ),
    Mutation(
        "prime_found_when_lost", AIR, "(losing * (1.0 - now) - finding * now)",
        "(finding * (1.0 - now) - losing * now)", SWAPPED, "prime is lost in gas and found without",
        (f"{DEVICES}::test_stopped_pump_finds_its_prime_again",),
    ),
    Mutation(
        "hose_flat_by_pressure", AIR, "(ambient - inside - row.suction) / row.width",
        "(inside - ambient - row.suction) / row.width", SIGN, "suction flattens a hose, pressure does not",
        twin("soft-flattened"),
    ),
    Mutation(
        "walls_give_backwards", AIR, "work.void[i] * node.volume - node.compliance * (work.absolute[i]",
        "work.void[i] * node.volume + node.compliance * (work.absolute[i]", SIGN,
        "walls that give way take coolant out of the tank", twin("layout_a-hot"),
    ),
)  # fmt: skip
