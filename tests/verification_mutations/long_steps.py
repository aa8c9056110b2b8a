"""Mistakes in how long steps are taken: flows as unknowns, the pace, the stepper's choice, factors, the hand-over.

Most of them change no answer to first order, they cost steps: tests of the entries see them, or nothing does.
"""

from .mutation import FACTOR, INDEX, LOST, SIGN, STEPS_BY_HAND, SWAPPED, Mutation

FLOWS = "sim1d/core/flow_unknowns.py"
NODAL = "sim1d/core/nodal.py"
PACE = "sim1d/core/pace.py"
STEPPER = "sim1d/core/stepper.py"
SPARSE = "sim1d/core/sparse.py"
SOLVER = "sim1d/core/solver.py"
LEVEL = "sim1d/core/level_error.py"
DRIFT = "sim1d/core/drift.py"
BLOCKED = "tests/system/test_blocked_lines.py"
BALANCE = "test_error_of_the_level_is_that_of_the_balance"
FAR = "test_far_from_lifting_more_is_allowed"
SEEN = "test_exponent_is_the_one_that_was_seen"
DRYING = "test_a_dry_share_counts_less_only_while_it_falls"
PLENTY = "test_plenty_of_gas_counts_by_how_much_there_is"
LUMPS = "test_lumps_near_boiling_and_at_walls_near_drying_are_kept_sharper"


def flow(name: str, old: str, new: str, damage, broken: str, test: str) -> Mutation:
    """A mistake in an entry of the flows, seen by the test of that law."""
    return Mutation(name, FLOWS, old, new, damage, broken, (f"tests/core/test_flow_unknowns.py::{test}",))


def pace(name: str, old: str, new: str, damage, broken: str, test: str = SEEN) -> Mutation:
    """A mistake in the length of the next step or in what gas and dry walls may be off by, seen by hand."""
    return Mutation(name, PACE, old, new, damage, broken, (f"tests/core/test_pace.py::{test}",))


def sharp(name: str, old: str, new: str, damage, broken: str) -> Mutation:
    """A mistake in when an exponent counts or where the error of a step counts more, seen by hand."""
    return Mutation(name, PACE, old, new, damage, broken, STEPS_BY_HAND)


def level(name: str, old: str, new: str, damage, broken: str, test: str = BALANCE) -> Mutation:
    """A mistake in the error of the level, seen by finding the level anew."""
    return Mutation(name, LEVEL, old, new, damage, broken, (f"tests/core/test_level_error.py::{test}",))


def gain(name: str, old: str, new: str, damage, broken: str) -> Mutation:
    """A mistake in what the laws gain with time alone, seen by closed forms and differences."""
    return Mutation(name, DRIFT, old, new, damage, broken, ("tests/core/test_drift.py",))


def factors(name: str, old: str, new: str, damage, broken: str) -> Mutation:
    """A mistake in the factors of a sparse matrix, seen by dense algebra."""
    test = "tests/core/test_sparse.py::test_absent_diagonal_is_stored"
    return Mutation(name, SPARSE, old, new, damage, broken, (test,))


def step(name: str, file: str, old: str, new: str, damage, broken: str) -> Mutation:
    """A mistake in the choice, the repetition or the start of steps, seen by hand."""
    return Mutation(name, file, old, new, damage, broken, STEPS_BY_HAND)


CARRIED = "test_heat_carried_by_every_flow_is_the_difference_of_what_is_carried"
WEIGHT = "test_weight_of_every_lump_is_the_difference_of_the_drive"
PUSH = "test_flows_answer_to_a_push_as_the_network_does"

LONG_STEPS = (
    flow(
        "carried_heat_comes_back", "values[flows.carried[k, 0]] -= heat * step.per_power[a]",
        "values[flows.carried[k, 0]] += heat * step.per_power[a]", SIGN,
        "Jacobian: more flow takes more heat out of where it comes from", CARRIED,
    ),
    flow(
        "carried_heat_of_the_receiver", "ramp_slope(flow, width) * work.enthalpy[a] + ramp_slope(-flow, width) *",
        "ramp_slope(-flow, width) * work.enthalpy[a] + ramp_slope(flow, width) *", SWAPPED,
        "Jacobian: a flow carries the enthalpy of where it comes from", CARRIED,
    ),
    flow(
        "weight_without_lift", "+= lift * lighter * flows.share[k]", "+= lighter * flows.share[k]", LOST,
        "Jacobian: what lighter coolant draws goes with the height of its branch", WEIGHT,
    ),
    flow(
        "weight_the_wrong_way", "+= lift * lighter * flows.share[k]", "-= lift * lighter * flows.share[k]", SIGN,
        "Jacobian: warm coolant in a riser draws", WEIGHT,
    ),
    flow(
        "weight_of_a_whole_branch", "lighter * flows.share[k] * work.mixture", "lighter * work.mixture", LOST,
        "Jacobian: a lump has its share in the column of its branch", WEIGHT,
    ),
    flow(
        "law_without_slope", "values[flows.law[b]] -= work.solver.slope[b]", "values[flows.law[b]] -= 1.0", LOST,
        "Jacobian: loss grows with flow, each branch by its own law", PUSH,
    ),
    flow(
        "push_at_the_other_end", "values[flows.push[b, 0]] += 1.0", "values[flows.push[b, 1]] += 1.0", INDEX,
        "Jacobian: pressure pushes into the branch that begins there", PUSH,
    ),
    flow(
        "balance_that_fills_up", "values[flows.push[b, 2]] += 1.0", "values[flows.push[b, 2]] -= 1.0", SIGN,
        "Jacobian: what flows into a branch leaves its first junction", PUSH,
    ),
    flow(
        "momentum_of_stations_lost", "values[flows.momentum[s, m]] += work.solver.by[s, m]",
        "values[flows.momentum[s, m]] += 0.0", LOST, "Jacobian: momentum along a gallery moves with the flows", PUSH,
    ),
    Mutation(
        "grounding_by_any_branch", NODAL, "found[other] = b", "found[other] = near[other][0][1]", INDEX,
        "a pressure has its pivot from the branch that leads to the ground, no two from one",
        ("tests/core/test_flow_unknowns.py::test_every_pressure_hangs_on_a_branch_of_its_own",),
    ),
    pace(
        "last_step_ignored", "h > 1.1 * last_h", "h > 1e9 * last_h", LOST,
        "the error of a longer step shows the exponent to go by",
    ),
    pace(
        "exponent_unbounded", "order = min(max(seen, LEAST_ORDER), ORDER)", "order = seen", LOST,
        "an exponent that was seen stays between its bounds",
    ),
    pace(
        "exponent_of_the_inverse_ratio", "math.log(h / last_h)", "math.log(last_h / h)", SWAPPED,
        "an exponent is positive: a longer step leaves more",
    ),
    sharp(
        "exponent_from_lost_digits", " and last_error > TELLING", "", LOST,
        "an error that is next to nothing shows no exponent",
    ),
    sharp(
        "sharper_is_not_sharper", "share = 1.0 - (1.0 - SHARPER) * max(near, keen)", "share = 1.0", LOST,
        "a lump near boiling or at a wall near drying may err less",
    ),
    sharp("near_boiling_forgotten", "max(near, keen)", "keen", LOST, "a lump near boiling is measured more sharply"),
    sharp(
        "near_drying_forgotten", "max(near, keen)", "near", LOST,
        "a lump at a wall near its critical flux is measured more sharply",
    ),
    sharp(
        "last_wall_decides", "min(allowed[base + i], share * tolerance[base + i])", "share * tolerance[base + i]", LOST,
        "of the walls of a lump the one nearest to drying counts",
    ),
    pace(
        "drying_counts_less", "step(-rate[drying + k] / WETTING)", "step(rate[drying + k] / WETTING)", SIGN,
        "a dry share counts less while it falls", DRYING,
    ),
    pace(
        "any_dry_share_counts_less", "LOOSER * max(state[drying + k], 0.0) * wetting", "LOOSER * wetting", LOST,
        "a dry share counts less by what is dry", DRYING,
    ),
    pace(
        "plenty_forgotten", "max(state[air + p] / PLENTY, 1.0)", "1.0", LOST, "plenty of gas counts by its mass",
        PLENTY,
    ),
    pace(
        "gas_of_keen_lumps_forgotten", " * allowed[base + i] / tolerance[base + i]", "", LOST,
        "gas counts as sharply as the lump that it stands in", LUMPS,
    ),
    level(
        "coolant_moves_no_level", "volume = left(step.u, weights, layout.store) / work.density[vessel]",
        "volume = 0.0 / work.density[vessel]", LOST, "coolant too much raises the level",
    ),
    level(
        "coolant_comes_warm", "error -= work.enthalpy[i] * more", "error += work.enthalpy[i] * more", SIGN,
        "coolant too much in the vessel is to be warmed",
    ),
    level(
        "coolant_shrinks_by_heat", "thinner = (low.density - high.density)", "thinner = (high.density - low.density)",
        SIGN, "warm coolant takes more room",
    ),
    level(
        "walls_do_not_grow", " - node.volume * node.growth", "", LOST, "warm walls give room",
    ),
    level(
        "steam_moves_no_level", "volume += node.volume * step.steaming[i] * heat", "volume += 0.0", LOST,
        "steam too much raises the level",
    ),
    level(
        "gas_takes_the_whole_pressure", "AIR_GAS_CONSTANT * work.hot[i] / partial * gas",
        "AIR_GAS_CONSTANT * work.hot[i] / work.absolute[i] * gas", SWAPPED, "gas shares its pressure with vapour",
    ),
    level(
        "vapour_moves_no_level", "(1.0 / work.hot[i] + steeper / partial)", "(1.0 / work.hot[i])", LOST,
        "warmer gas takes in vapour",
    ),
    level(
        "far_is_near", "LOOSER - (LOOSER - 1.0) * near", "LOOSER * near", LOST,
        "near lifting the level may be off by less", FAR,
    ),
    step(
        "level_errs_freely", STEPPER, "level_error(model, work, step, method.error) /", "0.0 /", LOST,
        "a step that gets the level wrong is refused",
    ),
    step(
        "astray_one_way", STEPPER, "abs(step.moved[base + i] - step.rate[base + i])",
        "(step.moved[base + i] - step.rate[base + i])", LOST, "a lump may be astray either way",
    ),
    step(
        "astray_by_time_alone", STEPPER, "stiff = scale - step.values[pattern.diagonal[base + i]]", "stiff = scale",
        LOST, "how far a lump is astray goes by how fast it comes back",
    ),
    step(
        "sliver_before_the_bound", STEPPER, "if h > WHOLE * left:", "if h > left:", LOST,
        "a step goes all the way where it would leave next to nothing",
    ),
    step(
        "flows_of_a_refused_step_kept", STEPPER, "copy(step.flow, work.flow)", "copy(work.flow, step.flow)",
        SWAPPED, "a step that is tried again starts from the flows of its start",
    ),
    step(
        "law_drifts_back", STEPPER, "h * method.slope[i], step.drift)", "-h * method.slope[i], step.drift)", SIGN,
        "what changes with time alone moves the flows of the stages",
    ),
    step(
        "law_drifts_a_second", STEPPER, "h * method.slope[i], step.drift)", "method.slope[i], step.drift)", FACTOR,
        "what the laws gain with time alone is that of the whole step",
    ),
    step(
        "drift_of_the_stage_before", STEPPER, "missing[b] + h * drift[b]", "missing[b] + h * drift[b - 1]", INDEX,
        "what changes with time alone moves the flow of its own branch",
    ),
    gain("launch_unseen", "if jerk != 0.0:", "if jerk > 1.0e9:", LOST, "the laws of a car that speeds up drift"),
    gain(
        "engine_speed_unseen", "if faster != 0.0:", "if faster > 1.0e9:", LOST,
        "the laws of a pump that speeds up drift",
    ),
    gain(
        "launched_backwards", "(model.node[branch.end].x - model.node[branch.start].x)",
        "(model.node[branch.start].x - model.node[branch.end].x)", SIGN, "what a launch drives rearward",
    ),
    gain(
        "launched_by_volume", "work.branch_density[b] * jerk", "1000.0 * jerk", FACTOR,
        "a column pushes with its density",
    ),
    gain(
        "belt_without_its_ratio", "by_speed * model.drive[d].ratio * faster", "by_speed * faster", LOST,
        "a pump turns faster by the ratio of its belt",
    ),
    gain(
        "drift_of_a_pump_that_grips", "pump.density, work.pump_grip[p])", "pump.density, 1.0)", LOST,
        "a pump with gas in it gains less",
    ),
    gain(
        "drift_of_every_pump", "if model.drive[d].pump == p:", "if True:", LOST,
        "an electric pump does not turn with the engine",
    ),
    step(
        "stage_at_the_start", STEPPER, "here = time + method.time[i] * h", "here = time", LOST,
        "each stage stands at its own time",
    ),
    step(
        "laws_miss_nothing", STEPPER, "rhs[n + b] = missing[b] +", "rhs[n + b] = 0.0 +", LOST,
        "what the laws miss at the flows of a stage moves them",
    ),
    step(
        "flows_of_a_stage_stay", STEPPER,
        "weighted(work.flow, step.flow, method.a[i], 1.0, step.flow_u)", "copy(work.flow, step.flow)", LOST,
        "a stage has flows of its own",
    ),
    step(
        "pressures_of_a_stage_stay", STEPPER,
        "weighted(work.pressure, step.pressure, method.a[i], 1.0, step.pressure_u)",
        "copy(work.pressure, step.pressure)", LOST, "a stage has pressures of its own",
    ),
    step(
        "pressure_of_another_junction", STEPPER, "step.rhs[n + branches + free]", "step.rhs[n + branches + free - 1]",
        INDEX, "each free pressure is its own unknown",
    ),
    step(
        "growth_after_a_refusal", STEPPER, "h * (min(grow, 1.0) if rejected else grow)", "h * grow", LOST,
        "after a refusal the next step is no longer",
    ),
    step(
        "refused_step_hardly_shorter", STEPPER, "h *= min(grow, REJECTED)", "h *= grow", LOST,
        "a step that was refused is a good deal shorter when it is tried again",
    ),
    step(
        "flows_never_settled", STEPPER, "if settled or not settles(", "if not settled or not settles(", LOST,
        "where a step comes to nothing the flows at its start are solved for",
    ),
    step(
        "settled_and_short", STEPPER, "settled, fresh, h = True, True, asked", "settled, fresh = True, True", LOST,
        "with flows that were solved for the step that was asked for is tried again",
    ),
    step(
        "left_over_of_a_settled_start", STEPPER, "    step.left[:] = 0.0\n    return True", "    return True", LOST,
        "flows that were solved for leave nothing to mend",
    ),
    Mutation(
        "level_at_rest", "sim1d/parts/plumbing_rows.py", "creeping=SEEP if line.blocked else 0.0", "creeping=0.0", LOST,
        "a blocked line resists at rest too",
        (f"{BLOCKED}::test_a_blocked_line_seeps_and_is_no_steeper_beside_rest[left_rear]",),
    ),
    step(
        "run_one_entry_on", SPARSE, "values[lower[run]], upper[run]", "values[lower[run]], upper[run] + 1", INDEX,
        "a run goes along the upper row from its first entry",
    ),
    step(
        "odd_entries_lost_on_the_way_down", SPARSE, "(even + odd) * values[d]", "even * values[d]", LOST,
        "both halves of a row count on the way down",
    ),
    step(
        "odd_entries_lost_on_the_way_up", SPARSE, "room[r] = even + odd", "room[r] = even", LOST,
        "both halves of a row count on the way up",
    ),
    factors(
        "upper_row_not_scaled", "values[q] *= inverse", "values[q] *= 1.0", LOST,
        "the upper factor has ones on its diagonal: its rows are over their pivots",
    ),
    factors(
        "pivot_not_inverted", "values[d] = inverse", "values[d] = 1.0 / inverse", FACTOR,
        "pivots are kept as reciprocals",
    ),
    step(
        "rate_of_another_stretch", SOLVER, "copy(step.rate, rate)", "copy(step.rate, step.moved)", INDEX,
        "a stretch begins with the rate that it is handed",
    ),
    step(
        "sensed_of_another_stretch", SOLVER, "copy(step.sensed, work.sensed)", "copy(step.sensed, step.sensed)", LOST,
        "a gauge starts from what acts on it where the rate was taken",
    ),
    step(
        "pace_of_another_stretch", SOLVER, "step.pace[0], step.pace[1] = np.inf, 1.0", "step.pace[1] = 1.0", LOST,
        "the first step of a stretch shows no exponent: it has none before it",
    ),
    step(
        "first_step_whatever_jumped", SOLVER, "min(EAGER / max(jump, 1.0e-9), room.arrays.pace[2])",
        "room.arrays.pace[2]", LOST,
        "the more the rate jumps at the start of a stretch, the shorter its first step",
    ),
    step(
        "first_step_ever_so_short", SOLVER, "max(min(EAGER / max(jump, 1.0e-9), room.arrays.pace[2]), FIRST)",
        "min(EAGER / max(jump, 1.0e-9), room.arrays.pace[2])", LOST,
        "no jump makes a first step shorter than its least",
    ),
    step(
        "first_step_beyond_the_last", SOLVER, "min(EAGER / max(jump, 1.0e-9), room.arrays.pace[2])",
        "EAGER / max(jump, 1.0e-9)", LOST,
        "a first step is no longer than the step before leads to",
    ),
    step(
        "first_step_by_a_reading", SOLVER, "for k in range(judged):", "for k in range(len(rate)):", LOST,
        "readings do not move the steps",
    ),
)  # fmt: skip
