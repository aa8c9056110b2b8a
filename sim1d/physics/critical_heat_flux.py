"""Critical heat flux: the flux above which a boiling wall dries. All in W/m2; properties at saturation."""

import math

from sim1d._jit import kernel

GRAVITY = 9.80665  # m/s2


@kernel
def zuber(density, vapour_density, latent_heat, surface_tension, constant):
    """Saturated pool flux K hfg rho_v^0.5 (sigma g drho)^0.25; K 0.131 (Zuber 1959) to 0.149 (large plate facing up).

    Source: ASHRAE Handbook Fundamentals, two-phase chapter (read: K 0.12 to 0.16). Vertical and downward walls: lower,
    see `kandlikar_constant`.
    """
    lift = math.sqrt(math.sqrt(surface_tension * GRAVITY * (density - vapour_density)))
    return constant * latent_heat * math.sqrt(vapour_density) * lift


@kernel
def ivey_morris(density, vapour_density, latent_heat, specific_heat, subcooling):
    """Factor on a saturated pool flux for subcooled liquid, 1 + 0.1 (rho/rho_v)^0.75 cp dTsub / hfg.

    `subcooling` K, taken as 0 when negative. Ivey and Morris 1962 (recalled).
    """
    share = specific_heat * max(subcooling, 0.0) / latent_heat
    return 1.0 + 0.1 * (density / vapour_density) ** 0.75 * share


@kernel
def kandlikar_constant(contact_angle, wall_angle):
    """K of `zuber` for a receding contact angle and a wall angle, both rad; 0 faces up, pi/2 is vertical.

    (1 + cos b)/16 (2/pi + pi/4 (1 + cos b) cos phi)^0.5. Kandlikar 2001 (recalled). Not for walls facing down, where
    half of the vertical value is assumed by the caller.
    """
    wetting = 1.0 + math.cos(contact_angle)
    return wetting / 16.0 * math.sqrt(2.0 / math.pi + math.pi / 4.0 * wetting * math.cos(wall_angle))


@kernel
def hall_mudawar_local(mass_flux, diameter, density, vapour_density, latent_heat, surface_tension, quality):
    """Flux in subcooled tube flow from local conditions: q = G hfg 0.0722 We^-0.312 r^-0.644 (1 - 0.900 r^0.724 x).

    `mass_flux` G kg/(m2 s), r = rho/rho_v, We = G^2 D/(rho sigma), x thermodynamic quality (negative when subcooled).
    Water at 1 to 200 bar, D 0.25 to 15 mm, G 300 to 30 000, x -2 to 0; mean error 10 %. Hall and Mudawar 2000 (outlet
    form read in public reactor-code documents).
    """
    weber = mass_flux * mass_flux * diameter / (density * surface_tension)
    ratio = density / vapour_density
    boiling = 0.0722 * weber**-0.312 * ratio**-0.644 * (1.0 - 0.900 * ratio**0.724 * quality)
    return boiling * mass_flux * latent_heat


@kernel
def hall_mudawar_inlet(
    mass_flux, diameter, density, vapour_density, latent_heat, surface_tension, inlet_quality, length
):
    """The same law from inlet conditions of a uniformly heated tube of `length` m (form recalled).

    Divides by 1 + 4 x 0.0722 x 0.900 We^-0.312 r^0.08 L/D: the liquid warms on its way.
    """
    weber = mass_flux * mass_flux * diameter / (density * surface_tension)
    ratio = density / vapour_density
    local = hall_mudawar_local(
        mass_flux, diameter, density, vapour_density, latent_heat, surface_tension, inlet_quality
    )
    return local / (1.0 + 4.0 * 0.0722 * 0.900 * weber**-0.312 * ratio**0.08 * length / diameter)


@kernel
def critical_heat_flux(
    velocity,
    density,
    vapour_density,
    latent_heat,
    surface_tension,
    specific_heat,
    subcooling,
    diameter,
    pool_factor,
    flow_factor,
):
    """Critical flux (W/m2) of a jacket wall from rest to 10 m/s: the larger of pool and flow law, joined smoothly.

    Pool: Zuber with K 0.131 and the Ivey-Morris factor, times `pool_factor`. Flow: Hall-Mudawar local form at
    x = -cp dTsub / hfg, times `flow_factor`. Properties at saturation of the local pressure.
    `subcooling` K below saturation; negative counts as 0. `velocity` m/s of either sign, `diameter` m hydraulic.
    Joined as (pool^4 + flow^4)^(1/4): a sum of squares would claim 41 % more than either where both are equal, on the
    unsafe side; this claims 19 % at most. Flow dies out as v^0.75 below 2 cm/s, where its slope would be infinite.
    """
    groups = critical_groups(density, vapour_density, latent_heat, surface_tension, specific_heat)
    return critical_flux(velocity, subcooling, flow_size(diameter), groups, pool_factor, flow_factor)


@kernel
def critical_groups(density, vapour_density, latent_heat, surface_tension, specific_heat):
    """What of both laws hangs on the liquid at saturation alone: four columns of the LIQUID table.

    (pool flux W/m2, its gain per K of subcooling, flow flux at 1 m/s and 1 m W/m2, its gain per K of subcooling).
    """
    pool = zuber(density, vapour_density, latent_heat, surface_tension, 0.131)
    gain = ivey_morris(density, vapour_density, latent_heat, specific_heat, 1.0) - 1.0
    flow = hall_mudawar_local(density, 1.0, density, vapour_density, latent_heat, surface_tension, 0.0)
    cold = -specific_heat / latent_heat  # quality at 1 K below saturation
    flow_gain = (
        hall_mudawar_local(density, 1.0, density, vapour_density, latent_heat, surface_tension, cold) / flow - 1.0
    )
    return pool, gain, flow, flow_gain


@kernel
def flow_size(diameter):
    """Diameter (m) as the flow law takes it, D^-0.312."""
    return diameter**-0.312


@kernel
def critical_flux(velocity, subcooling, size, groups, pool_factor, flow_factor):
    """`critical_heat_flux` from `critical_groups` of the liquid and `flow_size` of the passage.

    The flow law goes with G We^-0.312, that is with v^0.376 D^-0.312.
    """
    pool_flux, pool_gain, flow_flux, flow_gain = groups
    below = max(subcooling, 0.0)
    pool = pool_factor * pool_flux * (1.0 + pool_gain * below)
    square = velocity * velocity
    speed = square / math.sqrt(square + 4e-4)
    if speed <= 1e-12:
        return pool
    flow = flow_factor * flow_flux * speed**0.376 * size * (1.0 + flow_gain * below)
    pool *= pool
    flow *= flow
    return math.sqrt(math.sqrt(pool * pool + flow * flow))
