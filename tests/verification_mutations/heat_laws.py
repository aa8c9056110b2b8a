"""Mistakes in the laws of heat: convection, boiling, film boiling, exchangers, air."""

from .mutation import BY_HAND, FACTOR, LOST, SIGN, SWAPPED, law

HEAT_LAWS = (
    law(
        "convection", "gnielinski_threshold", "(reynolds - 1000.0) * prandtl / (root *",
        "reynolds * prandtl / (root *", LOST, "Gnielinski's law counts from Re 1000",
    ),
    law(
        "convection", "hausen_entry", "3.66 + 0.0668 * graetz", "3.66 + 0.668 * graetz", FACTOR,
        "laminar heat transfer at the entry of a tube",
    ),
    law(
        "convection", "hausen_power", "(1.0 + 0.04 * root * root)", "(1.0 + 0.04 * root)", LOST,
        "heat transfer at the entry of a tube goes with Gz^(2/3)", BY_HAND,
    ),
    law(
        "convection", "edwards_power", "(1.0 + 0.016 * root * root)", "(1.0 + 0.016 * root)", LOST,
        "heat transfer at the entry between plates goes with Gz^(2/3)", BY_HAND,
    ),
    law(
        "convection", "plates_and_pipes", "edwards(graetz) if flat > 0.5 else hausen(graetz)",
        "hausen(graetz) if flat > 0.5 else edwards(graetz)", SWAPPED, "radiator tubes are flat, jackets are not",
    ),
    law(
        "convection", "natural_plate", "0.387 * rayleigh_number ** (1.0 / 6.0) / spread",
        "0.387 * rayleigh_number ** (1.0 / 4.0) / spread", FACTOR, "natural convection at a plate",
    ),
    law(
        "convection", "natural_floor_lost", "+ natural_floor * natural_floor * natural_floor)", ")", LOST,
        "a wall in still coolant has natural convection",
    ),
    law(
        "convection", "prandtl_inverted", "prandtl = specific_heat * viscosity / conductivity\n    slenderness",
        "prandtl = conductivity / (specific_heat * viscosity)\n    slenderness", SWAPPED, "Prandtl number of a jacket",
    ),
    law(
        "boiling", "forster_zuber_vapour",
        "value(liquid.latent_heat, index, share) * value(liquid.vapour_density, index, share)",
        "value(liquid.latent_heat, index, share)", LOST, "vapour density in Forster and Zuber's group",
    ),
    law(
        "boiling", "forster_zuber_superheat", "return group * wall_superheat**1.24",
        "return group * wall_superheat**1.42", FACTOR, "nucleate boiling with superheat",
    ),
    law(
        "boiling", "chen_suppression_sign", "(1.0 + 2.53e-6 * reynolds**1.17)", "(1.0 + 2.53e-6 * reynolds**-1.17)",
        SIGN, "flow suppresses nucleate boiling",
    ),
    law(
        "boiling", "boiling_adds", "total = math.sqrt(convective * convective + nucleate * nucleate)",
        "total = convective + nucleate", FACTOR, "convection and boiling are joined by their squares",
    ),
    law(
        "boiling", "wall_without_half_a_cell", "step = (half_resistance * whole + wall - cell)",
        "step = (whole + wall - cell)", LOST, "a face stands half a cell from its metal",
    ),
    law(
        "critical_heat_flux", "zuber_vapour", "constant * latent_heat * math.sqrt(vapour_density) * lift",
        "constant * latent_heat * vapour_density * lift", FACTOR, "critical heat flux of a pool",
    ),
    law(
        "critical_heat_flux", "pool_subcooling", "(density / vapour_density) ** 0.75 * share",
        "(vapour_density / density) ** 0.75 * share", SWAPPED, "subcooling raises the critical heat flux of a pool",
    ),
    law(
        "critical_heat_flux", "flow_quality", "cold = -specific_heat / latent_heat",
        "cold = specific_heat / latent_heat", SIGN, "subcooling raises the critical heat flux of a flow",
    ),
    law(
        "critical_heat_flux", "critical_fluxes_add", "return math.sqrt(math.sqrt(pool * pool + flow * flow))",
        "return math.sqrt(math.sqrt(pool * pool) + math.sqrt(flow * flow))", FACTOR,
        "pool and flow are joined by fourth powers",
    ),
    law(
        "film_boiling", "film_of_berenson", "latent_heat + 0.5 * vapour_specific_heat * superheat",
        "latent_heat - 0.5 * vapour_specific_heat * superheat", SIGN, "superheated vapour carries more heat", BY_HAND,
    ),
    law(
        "film_boiling", "dry_share_reversed", "return 1.0 - touch / root", "return touch / root", SWAPPED,
        "a wall dries beyond its critical heat flux",
    ),
    law(
        "film_boiling", "nothing_dries_short_of_half", "if ratio < 0.1:", "if ratio < 0.5:", LOST,
        "a wall dries a little before its critical heat flux",
    ),
    law(
        "film_boiling", "radiation_over_a_film", "0.75 * radiation", "1.75 * radiation", FACTOR,
        "first guess of film and radiation together",
        survives="equivalent: Newton's method comes to the same root from either start, to 1e-13 of it",
    ),
    law(
        "film_boiling", "radiation_helps_itself", "residual = root * (total - radiation)",
        "residual = root * (total + radiation)", SIGN, "film and radiation together: h^(4/3) = hc^(4/3) + hr h^(1/3)",
    ),
    law(
        "gas_side", "film_with_load", "return share**0.8", "return share**0.5", FACTOR,
        "Woschni's exponent of load and speed",
    ),
    law(
        "engine_balance", "friction_with_speed", "0.05 * thousands * thousands", "0.05 * thousands", LOST,
        "friction pressure grows with the square of speed",
    ),
    law(
        "exchangers", "one_mixed_swapped", "if largest_mixed > 0.5:", "if largest_mixed < 0.5:", SWAPPED,
        "which stream of a core is mixed",
    ),
    law(
        "exchangers", "row_of_cells", "taken * math.expm1(spread) / spread", "taken * spread / math.expm1(spread)",
        SWAPPED, "a row of upwind cells gives the exact heat",
    ),
    law(
        "core_air", "fin_perimeter", "math.sqrt(2.0 * coefficient / (conductivity * thickness))",
        "math.sqrt(coefficient / (conductivity * thickness))", LOST, "a fin is wetted on both sides",
    ),
    law(
        "core_air", "windmilling_fan", "residual = (drop_linear + square * speed) * speed - ram - fan",
        "residual = (drop_linear + square * speed) * speed - ram + fan", SIGN, "a fan drives the air",
    ),
    law(
        "core_air", "fan_affinity",
        "rise = shutoff_pressure * (speed_share * speed_share - share * share)\n    slope",
        "rise = shutoff_pressure * (speed_share - share * share)\n    slope", FACTOR, "affinity laws of a fan",
    ),
    law(
        "louvered_fins", "louver_pitch_power", "reynolds**-0.49\n        * (angle", "reynolds**-0.94\n        * (angle",
        FACTOR, "heat transfer of a louvered fin with speed",
    ),
    law(
        "ambient", "sutherland", "(273.15 + 110.4) / (temperature + 110.4)", "(temperature + 110.4) / (273.15 + 110.4)",
        SWAPPED, "viscosity of air with temperature",
    ),
    law(
        "ambient", "hose_wall", "math.log(outer_diameter / inner_diameter) / (2.0 * math.pi",
        "math.log(outer_diameter / inner_diameter) / (math.pi", FACTOR, "conduction through a round wall",
    ),
    law(
        "ambient", "cross_flow", "1.0 + (reynolds / 282000.0) ** 0.625", "1.0 - (reynolds / 282000.0) ** 0.625", SIGN,
        "heat transfer of a cylinder in cross flow",
    ),
)  # fmt: skip
