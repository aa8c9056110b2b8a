"""Mistakes in the rows of the engine."""

from .mutation import FACTOR, INDEX, LOST, SWAPPED, Mutation

ENGINE = "sim1d/parts/engine_rows.py"
METAL = "sim1d/parts/engine_metal.py"

ENGINE_ROWS = (
    Mutation(
        "hole_by_its_diameter", ENGINE, "area = holes * math.pi / 4 * diameter**2",
        "area = holes * math.pi / 4 * diameter", FACTOR, "area of the transfer holes",
    ),
    Mutation(
        "one_hole_of_many", ENGINE, "area = holes * math.pi / 4 * diameter**2", "area = math.pi / 4 * diameter**2",
        LOST, "all holes of a position pass coolant",
    ),
    Mutation(
        "holes_creep_alone", ENGINE, "engine.gasket.thickness) / holes", "engine.gasket.thickness)", LOST,
        "slow flow goes through all holes of a position",
    ),
    Mutation(
        "hole_on_the_passage_speed", ENGINE, "+ k * (head.passage_area / area) ** 2\n        )",
        "+ k * (head.passage_area / area)\n        )", FACTOR, "loss coefficients go with the square of the areas",
    ),
    Mutation(
        "block_on_the_passage_speed", ENGINE, "(head.passage_area / block.passage_area) ** 2",
        "(block.passage_area / head.passage_area) ** 2", SWAPPED, "loss of the jacket on the speed in the passage",
    ),
    Mutation(
        "gallery_of_the_head", ENGINE, "head.volume / n * (1 - GALLERY_SHARE)", "head.volume / n", LOST,
        "coolant of a head is counted once",
    ),
    Mutation(
        "block_holds_both_banks", ENGINE, "engine.block_volume / (2 * n)", "engine.block_volume / n", FACTOR,
        "each bank has half the coolant of the block",
    ),
    Mutation(
        "gallery_momentum_swapped", ENGINE,
        'gallery(engine, build, at, "block", galleries.block_diameter, galleries.momentum_dividing, '
        'entry, "")\n    front, rear = outlets(engine, build, at, "gallery")',
        'gallery(engine, build, at, "block", galleries.block_diameter, galleries.momentum_combining, '
        'entry, "")\n    front, rear = outlets(engine, build, at, "gallery")', SWAPPED,
        "the block gallery gives flow off",
    ),
    Mutation(
        "neighbours_of_a_station", ENGINE, "before=chain[k - 1], after=chain[k + 1]",
        "before=chain[k + 1], after=chain[k - 1]", SWAPPED, "which way a gallery runs",
    ),
    Mutation(
        "heat_of_all_cylinders", METAL, "engine.heat_to_coolant / count * engine", "engine.heat_to_coolant * engine",
        LOST, "each cylinder has its share of the heat",
    ),
    Mutation(
        "weights_of_the_first", METAL, "engine.cylinder_weights[engine.cylinders.index(label)]",
        "engine.cylinder_weights[0]", INDEX, "each cylinder has its own weight",
    ),
    Mutation(
        "bridge_flux", METAL, "engine.heat.roof_share * total / (plain + engine.heat.bridge_multiplier * bridge)",
        "engine.heat.roof_share * total / (plain + bridge)", LOST, "roof and bridge share the declared heat",
    ),
    Mutation(
        "bridge_without_speed", METAL, 'speed = head.local_speed_factor if part == "bridge" else 1.0', "speed = 1.0",
        LOST, "coolant is faster under the bridge",
    ),
    Mutation(
        "liner_heat_from_the_port", METAL, "hot(inner, engine.heat.liner_share * total * share",
        "hot(inner, engine.heat.port_share * total * share", SWAPPED, "share of the liner",
    ),
)  # fmt: skip
