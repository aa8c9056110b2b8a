"""Film boiling, its collapse, and the share of a wall that is dry after the critical heat flux."""

import math

from sim1d._jit import kernel
from sim1d.physics.ambient import radiation_coefficient
from sim1d.physics.smooth import step

GRAVITY = 9.80665  # m/s2


@kernel
def least_film_flux(density, vapour_density, latent_heat, surface_tension):
    """Least flux (W/m2) that keeps a vapour film, 0.09 rho_v hfg (sigma g drho / (rho + rho_v)^2)^0.25.

    Horizontal surface, saturated. Zuber 1959, Berenson 1961 (read: ASHRAE Handbook Fundamentals; Lienhard).
    """
    total = density + vapour_density
    root = surface_tension * GRAVITY * (density - vapour_density) / (total * total)
    return 0.09 * vapour_density * latent_heat * root**0.25


@kernel
def berenson_collapse(density, vapour_density, latent_heat, surface_tension, vapour_conductivity, vapour_viscosity):
    """Wall superheat (K) at which the film collapses (Berenson 1961, read in ASHRAE Handbook Fundamentals).

    0.127 (rho_v hfg / k_v) (g drho/(rho + rho_v))^(2/3) (sigma/(g drho))^0.5 (mu_v/(g drho))^(1/3). Real walls scatter
    by +-40 K around 230 degC, the assumed default of callers: no accurate law exists.
    """
    buoyancy = GRAVITY * (density - vapour_density)
    return (
        0.127
        * vapour_density
        * latent_heat
        / vapour_conductivity
        * (buoyancy / (density + vapour_density)) ** (2.0 / 3.0)
        * math.sqrt(surface_tension / buoyancy)
        * (vapour_viscosity / buoyancy) ** (1.0 / 3.0)
    )


@kernel
def berenson_coefficient(
    wall_superheat,
    density,
    vapour_density,
    latent_heat,
    surface_tension,
    vapour_conductivity,
    vapour_viscosity,
    vapour_specific_heat,
):
    """Film coefficient (W/(m2 K)) on a horizontal wall, 0.425 (k_v^3 rho_v g drho hfg' / (mu_v dT l))^0.25.

    l = (sigma/(g drho))^0.5, hfg' = hfg + 0.5 cp_v dT. Berenson 1961 (recalled). dT is held at 20 K or more.
    """
    superheat = max(wall_superheat, 20.0)
    buoyancy = GRAVITY * (density - vapour_density)
    latent = latent_heat + 0.5 * vapour_specific_heat * superheat
    wave = math.sqrt(surface_tension / buoyancy)
    lift = vapour_conductivity**3 * vapour_density * buoyancy * latent / (vapour_viscosity * superheat * wave)
    return 0.425 * math.sqrt(math.sqrt(lift))


@kernel
def bromley_coefficient(
    wall_superheat,
    diameter,
    density,
    vapour_density,
    latent_heat,
    vapour_conductivity,
    vapour_viscosity,
    vapour_specific_heat,
):
    """Film coefficient (W/(m2 K)) on a horizontal cylinder, 0.62 (k_v^3 rho_v g drho hfg' / (mu_v dT D))^0.25.

    hfg' = hfg + 0.8 cp_v dT. Bromley 1950 (read in Incropera and DeWitt).
    """
    latent = latent_heat + 0.8 * vapour_specific_heat * wall_superheat
    lift = vapour_conductivity**3 * vapour_density * GRAVITY * (density - vapour_density) * latent
    return 0.62 * math.sqrt(math.sqrt(lift / (vapour_viscosity * wall_superheat * diameter)))


@kernel
def with_radiation(convection, radiation):
    """Film coefficient h that solves h^(4/3) = hc^(4/3) + hr h^(1/3) (Bromley 1950), by Newton from hc + 3/4 hr."""
    total = convection + 0.75 * radiation
    for _ in range(4):
        root = max(total, 1e-9) ** (1.0 / 3.0)
        residual = root * (total - radiation) - max(convection, 0.0) ** (4.0 / 3.0)
        slope = (4.0 / 3.0) * root - radiation / (3.0 * root * root)
        total -= residual / max(slope, 1e-9)
    return total


@kernel
def film_coefficient(
    wall_temperature,
    saturation_temperature,
    density,
    vapour_density,
    latent_heat,
    surface_tension,
    vapour_conductivity,
    vapour_viscosity,
):
    """Film coefficient of a dry jacket wall (W/(m2 K)): Berenson with radiation of emissivity 0.8 (assumed), steam.

    150 to 300 in practice; the flux over a film is 1 to 2 % of a boiling one, so its error hardly matters. Steam's
    specific heat is taken as 2050 J/(kg K) (recalled, 2000 to 2150 over 100 to 300 degC at 1 to 3 bar).
    """
    convective = berenson_coefficient(
        wall_temperature - saturation_temperature,
        density,
        vapour_density,
        latent_heat,
        surface_tension,
        vapour_conductivity,
        vapour_viscosity,
        2050.0,
    )
    return with_radiation(convective, radiation_coefficient(wall_temperature, saturation_temperature, 0.8))


@kernel
def dry_share_target(wet_flux, critical_flux, wall_temperature, collapse_temperature, collapse_width):
    """Share of the wall (0 to 1) that dries at a wall temperature, if it is held.

    `wet_flux` is what a fully wet wall would pass at this wall temperature, `critical_flux` the limit, both W/m2. The
    wet share is min(1, critical/wet), rounded: the mean flux then stays at the critical flux while the wall heats
    through transition boiling; and no liquid touches a wall above the collapse temperature (K), reached over the
    `collapse_width` K below it. So a wall past its critical flux runs away to film boiling and recovers only when it
    has cooled below collapse. The plateau stands for the falling transition branch, which has no accepted law.
    """
    ratio = max(wet_flux, 0.0) / critical_flux
    touch = 1.0 - step(1.0 + (wall_temperature - collapse_temperature) / collapse_width)
    if ratio < 0.1:
        return 1.0 - touch  # to the last digit
    square = ratio * ratio
    fourth = square * square
    power = min(fourth * fourth, 1e100)
    root = math.sqrt(math.sqrt(math.sqrt(math.sqrt(1.0 + power * power))))  # (1 + ratio^16)^(1/16)
    return 1.0 - touch / root


@kernel
def dry_share_rate(dry_share, target, time_constant):
    """Rate (1/s) at which the dry share follows its target; `time_constant` 0.1 to 0.2 s (assumed)."""
    return (target - dry_share) / time_constant
