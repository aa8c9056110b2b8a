"""Mistakes in the Jacobian. They change no answer to first order: tests of the entries see them, or nothing does."""

from .mutation import INDEX, LOST, SIGN, SLOPES_BY_HAND, SWAPPED, Mutation

SLOPES = "sim1d/core/slopes.py"
PATTERN = "sim1d/core/pattern.py"
STEPPER = "sim1d/core/stepper.py"
COLUMNS = "tests/core/test_slopes.py::test_every_entry_is_the_difference_of_its_law"


def entry(name: str, old: str, new: str, damage, broken: str, *first: str) -> Mutation:
    """A mistake in an entry, seen first by tests of single laws, then by differences over whole columns."""
    return Mutation(name, SLOPES, old, new, damage, broken, first or SLOPES_BY_HAND)


def column(name: str, old: str, new: str, damage, broken: str, *states: str) -> Mutation:
    """A mistake that differences over whole columns see, in these states."""
    return entry(name, old, new, damage, broken, *(f"{COLUMNS}[{state}]" for state in states))


JACOBIAN_ENTRIES = (
    column(
        "entry_of_the_next_lump", "values[pattern.chain_entry[k, 1]] += ahead * steps.per_power[b]",
        "values[pattern.chain_entry[k, 1]] += ahead * steps.per_power[a]", INDEX,
        "Jacobian: what flows in warms the mass of where it goes", "layout_a-hot",
    ),
    column(
        "entry_of_reverse_flow", "values[pattern.chain_entry[k, 2]] += back",
        "values[pattern.chain_entry[k, 2]] -= back", SIGN,
        "Jacobian: reverse flow brings the heat of the lump behind", "layout_a-soak", "layout_a-hot",
    ),
    column(
        "entry_of_a_conductance", "values[pattern.link_entry[k, 1]] += b",
        "values[pattern.link_entry[k, 1]] += a", INDEX,
        "Jacobian: what a metal conducts warms the other's capacity", "layout_a-hot",
    ),
    entry(
        "entry_of_the_gas_film", "-= work.gas_conductance[g] / model.metal[m].capacity",
        "+= work.gas_conductance[g] / model.metal[m].capacity", SIGN,
        "Jacobian: hot metal takes less heat from the gas",
        "tests/core/test_slopes.py::test_heat_that_flows_is_in_no_column_lost",
    ),
    entry(
        "entry_without_wind", "loss = metal.ambient * (1.0 + metal.ambient_moving * speed_of_air)",
        "loss = metal.ambient", LOST, "Jacobian: wind cools metal",
        "tests/core/test_slopes.py::test_heat_that_flows_is_in_no_column_lost",
    ),
    column(
        "entry_of_a_face_by_its_coolant", "values[pattern.face_entry[f, 0]] -= cold",
        "values[pattern.face_entry[f, 0]] += cold", SIGN, "Jacobian: warm coolant warms the metal", "layout_a-hot",
    ),
    column(
        "entry_without_half_a_cell", "held = 1.0 / (1.0 + half * steep)", "held = 1.0", LOST,
        "Jacobian: half a cell of metal holds the heat of a face back", "layout_a-hot",
    ),
    column(
        "entry_of_a_wall_in_gas", "half = (1.0 - work.gas[i]) * face.half", "half = face.half", LOST,
        "Jacobian: half a cell carries the mean flux of wetted and bare wall", "layout_a-rising",
    ),
    entry(
        "entry_over_a_film", "steep = (1.0 - dry) * slope + dry * over_film", "steep = (1.0 - dry) * slope", LOST,
        "Jacobian: the film over a dry share passes heat too",
    ),
    column(
        "entry_of_drying", "dried = over_film * (wall - bulk) - total",
        "dried = total - over_film * (wall - bulk)", SIGN, "Jacobian: a wall that dries keeps its heat", "layout_a-dry",
    ),
    column(
        "entry_of_a_dry_wall", "values[itself] -= by_wall * half * dried * held",
        "values[itself] += by_wall * half * dried * held", SIGN,
        "Jacobian: a wall that dries gets hotter and dries more", "layout_a-dry", "layout_c-dry",
    ),
    column(
        "entry_of_drying_by_its_metal", "values[pattern.face_entry[f, 4]] += by_wall * held",
        "values[pattern.face_entry[f, 4]] += by_wall", LOST,
        "Jacobian: a wall follows its metal as far as half a cell lets it", "layout_a-dry", "layout_c-dry",
    ),
    entry(
        "entry_of_a_core", "values[entry[1]] += inside * step.warming[i] / capacity",
        "values[entry[1]] += inside / capacity", LOST,
        "Jacobian: a core feels the temperature, not the enthalpy, of its coolant",
    ),
    entry(
        "entry_of_a_heater", "row, entry, work.exchange[k], 0.0", "row, entry, -work.exchange[k], 0.0", SIGN,
        "Jacobian: warm coolant warms what a heater heats",
    ),
    entry(
        "entry_of_the_vessel", "= 1.0, 1.0 / vessel_mass(model, state[layout.store])", "= 1.0, 1.0 / mass", LOST,
        "Jacobian: the heat of the vessel is spread over all that stands in it",
    ),
    entry(
        "entry_of_the_store", "ratio = -work.enthalpy[model.system[0].vessel] *",
        "ratio = work.enthalpy[model.system[0].vessel] *", SIGN,
        "Jacobian: more in the tank at the same heat is colder",
        "tests/core/test_slopes.py::test_the_column_of_the_store_scales_that_of_the_vessel",
    ),
    entry(
        "entry_of_lagging_steam", "+= step.steaming[i] * step.by_state[i] / model.system[0].void_lag",
        "-= step.steaming[i] * step.by_state[i] / model.system[0].void_lag", SIGN, "Jacobian: heat makes steam",
    ),
    entry(
        "settling_runs_away", "values[diagonal[layout.displaced]] -= 1.0 / SETTLING",
        "values[diagonal[layout.displaced]] += 1.0 / SETTLING", SIGN,
        "Jacobian of a state that follows within a tenth of a second",
    ),
    entry(
        "prime_by_the_time_of_the_grip", "values[diagonal[layout.prime + p]] -= 1.0 / PRIME_TIME",
        "values[diagonal[layout.prime + p]] -= 1.0 / GRIP_TIME", SWAPPED, "Jacobian: prime is lost in its own time",
    ),
    entry(
        "entry_of_a_dry_thermometer", "values[diagonal[layout.sensor + s]] -= pace",
        "values[diagonal[layout.sensor + s]] -= 1.0 / sensor.time_constant", LOST,
        "Jacobian: gas round a thermometer slows it down",
    ),
    entry(
        "jacobian_of_the_gas", "values[pattern.way_entry[w, 2]] += back",
        "values[pattern.way_entry[w, 2]] -= back", SIGN, "Jacobian: how gas at a place answers to gas at the next",
    ),
    entry(
        "entry_of_a_cap", "+= (moved[row] - base[row]) / size", "+= (base[row] - moved[row]) / size", SIGN,
        "Jacobian: what is under a cap answers to what left",
    ),
    entry(
        "level_of_a_state_that_was_tried", "work.level[0] = level\n    solve_level(model, work, state)\n",
        "work.level[0] = level\n", LOST, "taking the Jacobian changes nothing that was evaluated",
    ),
    Mutation(
        "entries_transposed", PATTERN, "((a, a), (b, a), (a, b), (b, b))", "((a, a), (a, b), (b, a), (b, b))", INDEX,
        "Jacobian: which entry belongs to which two lumps", (f"{COLUMNS}[layout_a-hot]",),
    ),
    Mutation(
        "filter_entry_of_another_sensor", PATTERN, "layout.sensor + c.sensor)", "layout.sensor + k)",
        INDEX, "Jacobian: the filter of a cut follows its own sensor", SLOPES_BY_HAND,
    ),
    Mutation(
        "implicit_the_wrong_way", STEPPER, "matrix[slot[k]] -= values[k]",
        "matrix[slot[k]] += values[k]", SIGN, "the stepper solves with 1/(h gamma) - J", SLOPES_BY_HAND,
    ),
)  # fmt: skip
