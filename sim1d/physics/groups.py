"""Groups of properties that many walls share: columns of the LIQUID table, worked out once per coolant.

A group hangs on the liquid alone. Its powers are taken at every row of the table and read straight between rows
(0.25 K apart: within 1e-5 of the law), not at every wall and every instant.
"""

from sim1d._jit import kernel
from sim1d.physics.boiling import forster_zuber_group
from sim1d.physics.convection import natural_group, prandtl_rise
from sim1d.physics.critical_heat_flux import critical_groups

GROUPS = ("natural_group", "prandtl_rise", "boiling_group", "pool_flux", "pool_gain", "flow_flux", "flow_gain")


@kernel
def fill_groups(liquid):
    """Write the group columns of a LIQUID table whose property columns are filled."""
    last = len(liquid) - 1
    for i in range(last + 1):
        row = liquid[i]
        low, high = liquid[max(i - 1, 0)], liquid[min(i + 1, last)]
        # its size: cold water expands on cooling, and then rises the other way round
        expansion = abs(low.density - high.density) / ((high.temperature - low.temperature) * row.density)
        liquid.natural_group[i] = natural_group(
            row.density, row.viscosity, row.conductivity, row.specific_heat, expansion
        )
        liquid.prandtl_rise[i] = prandtl_rise(row.specific_heat * row.viscosity / row.conductivity)
        liquid.boiling_group[i] = forster_zuber_group(liquid, row.temperature)
        groups = critical_groups(
            row.density, row.vapour_density, row.latent_heat, row.surface_tension, row.specific_heat
        )
        liquid.pool_flux[i], liquid.pool_gain[i], liquid.flow_flux[i], liquid.flow_gain[i] = groups
