"""Mistakes in the margins of the model and in what ends a stride."""

from .mutation import INDEX, LIMITS_BY_HAND, LOST, SIGN, STAGES_BY_HAND, SWAPPED, Mutation

LIMITS = "sim1d/core/limits.py"
STRIDE = "sim1d/core/stride.py"

LIMITS_AND_STRIDES = (
    Mutation(
        "rated_by_absolute_pressure", LIMITS, "work.absolute[limits.rated_node[k]] - model.system[0].ambient_pressure",
        "work.absolute[limits.rated_node[k]]", LOST, "a part is rated by gauge pressure", LIMITS_BY_HAND,
    ),
    Mutation(
        "rated_at_another_place", LIMITS, "work.absolute[limits.rated_node[k]] -", "work.absolute[k] -", INDEX,
        "a part stands the pressure of its own place", LIMITS_BY_HAND,
    ),
    Mutation(
        "freezing_early", LIMITS, "limits.freezing + SUPERCOOLED", "limits.freezing - SUPERCOOLED", SIGN,
        "frozen is a kelvin below the freezing point", LIMITS_BY_HAND,
    ),
    Mutation(
        "tank_counts_as_circuit", LIMITS, "volume = max(volume - model.system[0].tank_volume, 0.0)",
        "volume = max(volume, 0.0)", LOST, "gas of the tank is where it belongs", LIMITS_BY_HAND,
    ),
    Mutation(
        "melting_of_the_first_face", LIMITS, "work.gas_surface[g] / limits.melting",
        "work.gas_surface[0] / limits.melting", INDEX, "the hottest face melts", LIMITS_BY_HAND,
    ),
    Mutation(
        "dry_by_what_is_left", LIMITS, "margin = limits.dry_void - state[k]", "margin = state[k] - limits.dry_void",
        SIGN, "a place has boiled out when it is steam", LIMITS_BY_HAND,
    ),
    Mutation(
        "phase_that_only_warms", STRIDE, "watched.until_sign * (work.temperature", "(work.temperature", LOST,
        "a phase may end when a place has cooled", LIMITS_BY_HAND,
    ),
    Mutation(
        "threshold_of_the_first_cut", STRIDE, "place = model.layout.cut + c", "place = model.layout.cut", INDEX,
        "each controller has its own threshold", LIMITS_BY_HAND,
    ),
    Mutation(
        "crossing_is_staying", STRIDE, "(old[place] >= watched.threshold[c]) != (new",
        "(old[place] >= watched.threshold[c]) == (new", SWAPPED, "a reading that crosses its threshold ends a stride",
        LIMITS_BY_HAND,
    ),
    Mutation(
        "limit_within_a_stride", STRIDE, "if margin <= 0.0:", "if margin <= -1.0:", LOST,
        "a limit of the model ends a stride", LIMITS_BY_HAND,
    ),
    Mutation(
        "rates_of_a_step_swapped", STRIDE, "write(record.last, row, step.moved)",
        "write(record.last, row, step.rate)", INDEX, "a step is kept with the rate at its end", LIMITS_BY_HAND,
    ),
    Mutation(
        "margin_of_another_step", STRIDE, "record.ends[0, 0], record.ends[0, 1] = new, margin",
        "record.ends[1, 0], record.ends[1, 1] = new, margin", INDEX,
        "a stride says the margin where the last step that it keeps ends", STAGES_BY_HAND,
    ),
    Mutation(
        "margin_held_back_unsaid", STRIDE, "record.ends[1, 0], record.ends[1, 1] = new, margin",
        "record.ends[1, 0] = new", LOST, "a stride says the margin where the step held back ends", STAGES_BY_HAND,
    ),
    Mutation(
        "margin_unless_something_happens", STRIDE, "return True, margin\n    for c in",
        "return True, 0.0\n    for c in", LOST, "the margin is said whatever else ends a stride", LIMITS_BY_HAND,
    ),
)  # fmt: skip
