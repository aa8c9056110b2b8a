"""What heat does to the coolant's volume: swell while liquid, steam once it boils, flashing when pressure is let go."""

from sim1d._jit import kernel
from sim1d.physics.smooth import step


@kernel
def swell_per_heat(expansion, density, specific_heat):
    """Growth of a liquid per heat (m3/J), beta/(rho cp): 0.172 mL/kJ for water at 90 degC, whatever the volume."""
    return expansion / (density * specific_heat)


@kernel
def steam_per_heat(latent_heat, density, vapour_density):
    """Growth per heat (m3/J) at saturation, (1/rho_v - 1/rho)/hfg: 0.40 L/kJ at 200 kPa absolute."""
    return (1.0 / vapour_density - 1.0 / density) / latent_heat


@kernel
def flash_share(temperature_drop, specific_heat, latent_heat):
    """Mass share that turns to steam when saturated liquid is let down by `temperature_drop` K of saturation.

    cp dT / (hfg + cp dT / 2), the differential balance to second order, between 0 and 1; 3.7 % for water from 120 to
    100 degC.
    """
    heat = specific_heat * max(temperature_drop, 0.0)
    return min(heat / (latent_heat + 0.5 * heat), 1.0)


@kernel
def evaporation_rate(heat, subcooling, latent_heat, width):
    """Steam made (kg/s) by `heat` W into liquid `subcooling` K below saturation: none below, all above.

    Passes over `width` K round saturation (1 K suffices for an integrator), so that a cell near boiling is continuous.
    Negative heat condenses nothing here.
    """
    return max(heat, 0.0) * step(0.5 - subcooling / width) / latent_heat
