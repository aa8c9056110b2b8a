"""Mistakes in the engine's heat and the radiator's."""

from .mutation import FACTOR, INDEX, LOST, SIGN, SWAPPED, Mutation, twin

ENGINE = "sim1d/core/engine.py"
RADIATOR = "sim1d/core/radiator.py"

ENGINE_AND_RADIATOR = (
    Mutation(
        "load_from_nothing", ENGINE, "manifold = system.idle_pressure + (system.rated_pressure",
        "manifold = (system.rated_pressure", LOST, "without load the manifold has its idle pressure",
        twin("layout_a-hot"),
    ),
    Mutation(
        "gas_heat_without_wall", ENGINE, "conductance = film / (1.0 + film * face.half)", "conductance = film", LOST,
        "film in series with half a cell of metal", twin("layout_a-hot"),
    ),
    Mutation(
        "friction_without_speed", ENGINE, "speed * friction_pressure(speed * RPM) / (",
        "system.rated_speed * friction_pressure(speed * RPM) / (", LOST, "friction heat is speed times its pressure",
        twin("layout_a-hot"),
    ),
    Mutation(
        "conduction_one_way", ENGINE, "work.metal_power[link.b] += heat", "work.metal_power[link.b] -= heat", SIGN,
        "what one metal conducts away the other gets", twin("layout_a-hot"),
    ),
    Mutation(
        "speed_at_a_face", ENGINE, "face.speed_factor * abs(work.flow[face.branch])", "abs(work.flow[face.branch])",
        LOST, "under the bridge the coolant is faster than its mean", twin("layout_a-hot"),
    ),
    Mutation(
        "suppression_by_length", ENGINE, "work.face_speed[f] * face.diameter / work.viscosity[i]",
        "work.face_speed[f] * face.length / work.viscosity[i]", SWAPPED,
        "Reynolds number on the hydraulic diameter", twin("layout_a-boiling"),
    ),
    Mutation(
        "gas_cools_the_wall", ENGINE, "heat = flux * face.area * wetted", "heat = flux * face.area", LOST,
        "a wall in gas passes no heat", twin("layout_a-rising"),
    ),
    Mutation(
        "subcooling_reversed", ENGINE, "velocity, saturation - bulk, face.flow_size",
        "velocity, bulk - saturation, face.flow_size", SIGN, "cold coolant raises the critical heat flux",
        twin("layout_a-dry", "layout_a-hot"),
    ),
    Mutation(
        "critical_flux_in_steam", ENGINE, "(1.0 - work.mixture[i] / density - 0.6) / 0.35",
        "(work.mixture[i] / density - 0.6) / 0.35", SWAPPED, "the critical heat flux fades as steam fills the passage",
        twin("layout_a-dry", "layout_a-boiling"),
    ),
    Mutation(
        "dry_when_below_critical", ENGINE, "dry_share_target(wet, critical, wall",
        "dry_share_target(critical, wet, wall", SWAPPED, "a wall dries beyond its critical heat flux",
        twin("layout_a-dry"),
    ),
    Mutation(
        "exchanger_with_flow", ENGINE, "(0.02 + ratio) ** 0.8", "(0.02 + ratio) ** 0.5", FACTOR,
        "conductance of an exchanger with flow", twin("heater-hot"),
    ),
    Mutation(
        "air_between_the_fins", RADIATOR, "max(velocity, 1.0e-3) / row.free_share",
        "max(velocity, 1.0e-3) * row.free_share", FACTOR, "air is faster between the fins than at the face",
        twin("layout_a-hot"),
    ),
    Mutation(
        "air_capacity_of_the_fins", RADIATOR, "capacity = density * velocity * row.face_area",
        "capacity = density * velocity * row.air_area", SWAPPED, "the air passes the face", twin("layout_a-hot"),
    ),
    Mutation(
        "cell_takes_all_air", RADIATOR, "cell_conductance(overall * cell.share, capacity * cell.share,",
        "cell_conductance(overall * cell.share, capacity,", LOST, "a cell gets its share of the air",
        twin("layout_a-hot"),
    ),
    Mutation(
        "core_dried_by_its_outlet", RADIATOR, "model.network.branch[row.branch].start]",
        "model.network.branch[row.branch].end]", INDEX, "gas at the top of the inlet tank dries the tubes",
        twin("layout_a-rising"),
    ),
    Mutation(
        "wind_keeps_hoses_warm", RADIATOR, "node.ambient * (1.0 + node.ambient_moving * car_speed)",
        "node.ambient * (1.0 - node.ambient_moving * car_speed)", SIGN, "wind cools hoses", twin("layout_a-hot"),
    ),
    Mutation(
        "castings_take_heat", RADIATOR, "work.metal_power[m] -= heat", "work.metal_power[m] += heat", SIGN,
        "hot metal loses heat to the air", twin("layout_a-hot"),
    ),
    Mutation(
        "fan_that_failed_blows", RADIATOR, "fan * row.fan_works", "fan", LOST, "a failed fan blows nothing",
        twin("still fan-cold"),
    ),
)  # fmt: skip
