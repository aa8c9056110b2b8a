"""Mistakes in the columns of shared properties and in the laws of a wall that read them."""

from .mutation import FACTOR, GROUPS_BY_HAND, INDEX, LOST, SWAPPED, Mutation, law, twin

ENGINE = "sim1d/core/engine.py"

SHARED_GROUPS = (
    law(
        "groups", "prandtl_of_a_column", "row.specific_heat * row.viscosity / row.conductivity",
        "row.conductivity / (row.specific_heat * row.viscosity)", SWAPPED, "column of Pr^(2/3) - 1", GROUPS_BY_HAND,
    ),
    law(
        "groups", "expansion_of_a_column", "/ ((high.temperature - low.temperature) * row.density)",
        "/ (high.temperature - low.temperature)", LOST, "expansion is relative: -(d rho/dT)/rho", GROUPS_BY_HAND,
    ),
    law(
        "groups", "vapour_of_a_column", "row.density, row.vapour_density, row.latent_heat",
        "row.vapour_density, row.density, row.latent_heat", SWAPPED, "columns of the critical heat flux",
        GROUPS_BY_HAND,
    ),
    law(
        "groups", "pool_and_flow_columns",
        "liquid.pool_flux[i], liquid.pool_gain[i], liquid.flow_flux[i], liquid.flow_gain[i] = groups",
        "liquid.flow_flux[i], liquid.flow_gain[i], liquid.pool_flux[i], liquid.pool_gain[i] = groups", SWAPPED,
        "which column is the pool's and which the flow's", GROUPS_BY_HAND,
    ),
    law(
        "groups", "boiling_column_of_the_next_row", "liquid.boiling_group[i] = forster_zuber_group(liquid, row",
        "liquid.boiling_group[i] = forster_zuber_group(liquid, liquid[0]", INDEX, "column of nucleate boiling",
        GROUPS_BY_HAND,
    ),
    law(
        "critical_heat_flux", "critical_flux_with_speed", "flow_flux * speed**0.376 * size",
        "flow_flux * speed**0.688 * size", FACTOR, "the flow law goes with G We^-0.312: v^0.376",
    ),
    law(
        "critical_heat_flux", "critical_flux_of_a_wide_passage", "return diameter**-0.312", "return diameter**0.312",
        FACTOR, "a narrow passage stands more flux",
    ),
    law(
        "critical_heat_flux", "gain_of_the_other_law", "* size * (1.0 + flow_gain * below)",
        "* size * (1.0 + pool_gain * below)", INDEX, "subcooling raises each law by its own gain",
    ),
    law(
        "convection", "film_of_a_jacket_by_area", "reynolds = per_viscosity * speed * diameter\n    forced",
        "reynolds = per_viscosity * speed\n    forced", LOST, "Reynolds number of a jacket on its diameter",
    ),
    law(
        "convection", "entry_and_slenderness", "prandtl, rise, slenderness, entry, 0.0)",
        "prandtl, rise, entry, slenderness, 0.0)", SWAPPED, "entry factor and slenderness of a jacket",
    ),
    law(
        "convection", "natural_film_with_height", "return 0.825 / math.sqrt(height)",
        "return 0.825 / height", FACTOR, "Ra^(1/6) goes with the square root of height",
    ),
    law(
        "boiling", "dry_share_of_a_face", "wet = 1.0 - dry_share\n    dry = dry_share * film_coefficient",
        "wet = 1.0\n    dry = dry_share * film_coefficient", LOST, "what is dry does not boil",
    ),
    Mutation(
        "boiling_of_the_bulk", ENGINE, "at, part = row_of(liquid, saturation)",
        "at, part = row_of(liquid, bulk)", INDEX, "properties of boiling are those of saturation",
        twin("layout_a-boiling"),
    ),
    Mutation(
        "groups_of_the_flow_swapped", ENGINE,
        "between(low.flow_flux, high.flow_flux, share), between(low.flow_gain, high.flow_gain, share),",
        "between(low.flow_gain, high.flow_gain, share), between(low.flow_flux, high.flow_flux, share),", SWAPPED,
        "a face is given the columns of the critical heat flux in order", twin("layout_a-dry"),
    ),
)  # fmt: skip
