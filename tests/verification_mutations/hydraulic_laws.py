"""Mistakes in the laws of flow: friction, pumps, holes, fittings."""

from .mutation import FACTOR, LOST, SIGN, SWAPPED, law

HYDRAULIC_LAWS = (
    law(
        "friction", "churchill_roughness", "inside = seven + 0.27 * relative_roughness",
        "inside = seven + 0.37 * relative_roughness", FACTOR, "rough wall of Churchill's friction law",
    ),
    law(
        "friction", "churchill_slope", "14.4 * a * seven / (inside * log_inside) - 16.0 * b",
        "14.4 * a * seven / (inside * log_inside) + 16.0 * b", SIGN, "slope of Churchill's friction law",
    ),
    law(
        "friction", "wall_loss_of_a_branch", "viscosity * length / (2.0 * diameter * diameter * area)",
        "viscosity * length / (diameter * diameter * area)", FACTOR, "f (L/D) rho V^2/2",
    ),
    law(
        "friction", "dynamic_pressure", "square = 0.5 * k * density", "square = k * density", FACTOR, "K rho V^2/2",
    ),
    law(
        "friction", "loss_helps_reverse_flow", "dp += square * q * abs(q)", "dp += square * q * q", SIGN,
        "loss is against the flow, whichever way it goes",
    ),
    law(
        "friction", "laminar_rectangle", "return 96.0 * series", "return 64.0 * series", FACTOR,
        "f Re between parallel plates is 96",
    ),
    law(
        "friction", "paths_share_no_flow", "to_path = 1.0 / (density * count)", "to_path = 1.0 / density", LOST,
        "equal paths share the flow",
    ),
    law(
        "pumps", "affinity_of_the_slope", "rise = n * n * shutoff - n * linear * q",
        "rise = n * n * shutoff - linear * q", LOST, "affinity laws of a pump curve",
    ),
    law(
        "pumps", "stopped_pump_in_reverse", "rise += more * q * q", "rise -= more * q * q", SIGN,
        "a pump resists reverse flow",
    ),
    law(
        "pumps", "runout_of_a_curve", "4.0 * quadratic * shutoff)", "2.0 * quadratic * shutoff)", FACTOR,
        "flow at which a pump's rise ends",
    ),
    law(
        "pumps", "torque_falls_with_flow", "(torque_constant * w + torque_slope", "(torque_constant * w - torque_slope",
        SIGN, "torque of an impeller grows with flow",
    ),
    law(
        "motors", "back_voltage", "2.0 * drive / (linear + root)", "2.0 * drive / (linear - root)", SIGN,
        "speed that balances motor and impeller",
    ),
    law(
        "motors", "motor_without_friction", "resistance - no_load_torque", "resistance", LOST,
        "a motor turns itself before it turns the pump",
    ),
    law(
        "suction", "suction_head_of_vapour", "velocity * velocity - vapour_pressure)", "velocity * velocity)", LOST,
        "net positive suction head counts from the vapour pressure",
    ),
    law(
        "suction", "cavitation_exponent", "return 1.0 - 0.03 * x**-8.0", "return 1.0 - 0.03 * x**8.0", SIGN,
        "more suction head than needed keeps the head",
    ),
    law(
        "orifices", "thick_hole", "contracted * 1.622 * 1.622", "contracted * 1.622", FACTOR,
        "loss of a sharp-edged hole",
    ),
    law(
        "orifices", "creeping_hole", "128.0 * length / (math.pi * cube * diameter)",
        "128.0 * length / (math.pi * cube)", LOST, "slow flow through a tube: 128 mu L/(pi d^4)",
    ),
    law(
        "area_changes", "borda_carnot", "free = 1.0 - diameter_ratio * diameter_ratio\n    return free * free",
        "free = 1.0 - diameter_ratio\n    return free * free", FACTOR, "loss of a sudden expansion by areas, not bores",
    ),
    law(
        "bends", "bend_angle", "return friction * angle * curvature +", "return friction * curvature +", LOST,
        "a bend's wall is its angle times its radius",
    ),
    law(
        "tees", "joining_branch", "- 2.0 * (1.0 - q) ** 2 - drag", "+ 2.0 * (1.0 - q) ** 2 - drag", SIGN,
        "loss of a stream that joins another",
    ),
    law(
        "galleries", "z_gallery", "level = b / square", "level = a / square", SWAPPED,
        "uneven feed of a gallery with outlet at its far end",
    ),
    law(
        "hydrostatics", "column_of_coolant", "acceleration * run - 9.80665 * rise",
        "acceleration * run + 9.80665 * rise", SIGN, "pressure falls upward",
    ),
    law(
        "elasticity", "thick_tube", "square - inner_radius * inner_radius", "square + inner_radius * inner_radius",
        SIGN, "give of a thick tube",
    ),
    law(
        "radiator_water", "hydraulic_diameter", "return 4.0 * area / perimeter", "return 2.0 * area / perimeter",
        FACTOR, "four times area over perimeter",
    ),
)  # fmt: skip
