"""Mistakes in the laws of gas, caps and cylinders, and in reading of tables."""

from .mutation import BY_HAND, FACTOR, LOST, SIGN, SWAPPED, law

GAS_LAWS = (
    law(
        "gas_space", "gas_mass_with_vapour", "return max(pressure - vapour_pressure, 0.0) * volume",
        "return max(pressure + vapour_pressure, 0.0) * volume", SIGN, "Dalton: vapour is no gas",
    ),
    law(
        "gas_space", "growth_of_a_pocket", "* temperature / start_temperature", "* start_temperature / temperature",
        SWAPPED, "trapped air grows with temperature",
    ),
    law(
        "cap_flow", "bernoulli", "math.sqrt(2.0 * density) * pressure_drop / root",
        "math.sqrt(density) * pressure_drop / root", LOST, "Cd A (2 rho dp)^0.5",
    ),
    law(
        "cap_flow", "weighted_valve", "return 1.0 - step(2.0 * pressure_drop / closing - 1.0)",
        "return step(2.0 * pressure_drop / closing - 1.0)", SWAPPED, "outflow carries a weighted valve shut",
    ),
    law(
        "cap_flow", "choking", "(2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))",
        "(2.0 / (gamma + 1.0)) ** (1.0 / (gamma - 1.0))", FACTOR, "critical pressure ratio of a nozzle",
    ),
    law(
        "cap_flow", "film_between_lands", "/ (24.0 * viscosity", "/ (12.0 * viscosity", FACTOR,
        "gas film between lands: w h^3 (p0^2 - p1^2)/(24 mu R T L)",
    ),
    law(
        "air_transport", "long_bubble", "return 0.345 * math.sqrt(9.80665 * diameter) * inertia",
        "return 0.245 * math.sqrt(9.80665 * diameter) * inertia", FACTOR, "rise speed of a long bubble",
    ),
    law(
        "air_transport", "clearing_slope", "math.sqrt(math.sin(slope)) + a)", "math.sqrt(math.cos(slope)) + a)",
        SWAPPED, "a steeper way down holds air longer",
    ),
    law(
        "air_transport", "gas_at_the_pump", "1.0 - (gas_share / 0.06) ** 1.5", "1.0 - (gas_share / 0.06) ** 0.5",
        FACTOR, "head that a pump keeps in gas",
    ),
    law(
        "dissolved_air", "solubility_with_heat", "math.exp(-celsius / 23.5)", "math.exp(celsius / 23.5)", SIGN,
        "hot coolant holds less air",
    ),
    law(
        "cylinder_cycle", "piston_travel", "crank + rod - crank * math.cos(angle)",
        "crank + rod + crank * math.cos(angle)", SIGN, "volume above the piston",
    ),
    law(
        "cylinder_cycle", "first_law", "((ratio - 1.0) * burning - ratio * trial", "((ratio - 1.0) * burning - trial",
        LOST, "first law of a closed cylinder",
    ),
    law(
        "cylinder_cycle", "gap_of_a_lifted_head", "gap_rate * max(pressure - lift_pressure, 0.0)",
        "gap_rate * pressure", LOST, "a head lifts beyond its clamping pressure",
    ),
    law(
        "saturation", "steam_displaces", "(1.0 / vapour_density - 1.0 / density) / latent_heat",
        "(1.0 / vapour_density + 1.0 / density) / latent_heat", SIGN, "steam takes the place of its liquid", BY_HAND,
    ),
    law(
        "lookup", "reading_between_rows", "low + share * (column[index + 1] - low)",
        "low - share * (column[index + 1] - low)", SIGN, "linear interpolation of a property",
    ),
    law(
        "smooth", "ramp_parabola", "return (x + width) * (x + width) / (4.0 * width)",
        "return (x + width) * (x + width) / (2.0 * width)", FACTOR, "a rounded corner joins without a step",
    ),
)  # fmt: skip
