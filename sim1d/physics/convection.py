"""Single-phase convection of a liquid in jackets, tubes and on walls: Nusselt numbers and coefficients in W/(m2 K)."""

import math

from sim1d._jit import kernel, law
from sim1d.physics.roots import cube_root
from sim1d.physics.smooth import step


@kernel
def dittus_boelter(reynolds, prandtl):
    """Nusselt number of a heated liquid, 0.023 Re^0.8 Pr^0.4.

    Valid for Re > 1e4, L/D > 10, 0.7 < Pr < 160; +-25 %. Source: Incropera and DeWitt, Fundamentals of Heat and Mass
    Transfer (worked examples read).
    """
    return 0.023 * reynolds**0.8 * prandtl**0.4


@kernel
def smooth_pipe_friction(reynolds):
    """Darcy friction factor of a smooth pipe, (0.79 ln Re - 1.64)^-2; 3e3 < Re < 5e6 (Petukhov 1970, recalled)."""
    root = smooth_pipe_root(reynolds)
    return 1.0 / (root * root)


@kernel
def smooth_pipe_root(reynolds):
    """One over the root of `smooth_pipe_friction`, 0.79 ln Re - 1.64."""
    return 0.79 * math.log(reynolds) - 1.64


@kernel
def gnielinski(reynolds, prandtl):
    """Nusselt number of developed turbulent flow, (f/8)(Re-1000)Pr / (1 + 12.7 (f/8)^0.5 (Pr^(2/3)-1)).

    Valid for 3e3 < Re < 5e6, 0.5 < Pr < 2000; +-10 %. Source: Gnielinski 1976 (form recalled; agrees with the public
    library `ht`). Callers keep Re above 2000.
    """
    return turbulent_nusselt(reynolds, prandtl, prandtl_rise(prandtl))


@kernel
def prandtl_rise(prandtl):
    """Pr^(2/3) - 1, the power of `gnielinski`: a column of the LIQUID table, so that no wall has to take it."""
    root = cube_root(prandtl)
    return root * root - 1.0


@law
def turbulent_nusselt(reynolds, prandtl, rise):
    """`gnielinski` with `prandtl_rise` known."""
    root = smooth_pipe_root(reynolds)
    # with r^2 = 1/f the law reads (Re - 1000) Pr / (8 r^2 + 12.7 8^0.5 r (Pr^(2/3) - 1))
    return (reynolds - 1000.0) * prandtl / (root * (8.0 * root + 35.92102448427661 * rise))


@kernel
def entry_factor(diameter, length):
    """Mean over developed Nusselt number of a short duct in turbulent flow, 1 + (D/L)^(2/3), D/L at most 1.

    Source: Hausen, Gnielinski (VDI Heat Atlas, recalled).
    """
    return 1.0 + min(diameter / max(length, 1e-6), 1.0) ** (2.0 / 3.0)


@kernel
def hausen(graetz):
    """Mean Nusselt number of laminar flow in a round duct, 3.66 + 0.0668 Gz / (1 + 0.04 Gz^(2/3)), Gz = Re Pr D/L.

    Wall of one temperature, developed velocity, Re < 2300. Source: Hausen 1943 (recalled).
    """
    root = cube_root(graetz)
    return 3.66 + 0.0668 * graetz / (1.0 + 0.04 * root * root)


@kernel
def edwards(graetz):
    """Mean Nusselt number of laminar flow between parallel plates, 7.54 + 0.03 Gz / (1 + 0.016 Gz^(2/3)).

    On the hydraulic diameter, Gz = Re Pr D/L, Re < 2800. Source: Edwards et al. 1979 (recalled).
    """
    root = cube_root(graetz)
    return 7.54 + 0.03 * graetz / (1.0 + 0.016 * root * root)


@kernel
def duct_nusselt(reynolds, prandtl, diameter, length, flat):
    """Mean Nusselt number of a duct at any Reynolds number; `flat` > 0.5 takes plates for the laminar end, else a pipe.

    Laminar below Re 2300, Gnielinski with the entry factor above 4000, a cubic step between, so that the slope is
    continuous (Gnielinski advises a linear passage over the same range).
    """
    slenderness = diameter / max(length, 1e-6)
    return duct_flow_nusselt(
        reynolds, prandtl, prandtl_rise(prandtl), slenderness, entry_factor(diameter, length), flat
    )  # fmt: skip


@law
def duct_flow_nusselt(reynolds, prandtl, rise, slenderness, entry, flat):
    """`duct_nusselt` with what hangs on the liquid alone (`prandtl_rise`) or on the duct alone known.

    `slenderness` D/L and `entry` the `entry_factor` of the duct.
    """
    turbulent_share = step((reynolds - 2300.0) / 1700.0)
    nusselt = 0.0
    if turbulent_share < 1.0:
        graetz = reynolds * prandtl * slenderness
        laminar = edwards(graetz) if flat > 0.5 else hausen(graetz)
        nusselt += (1.0 - turbulent_share) * laminar
    if turbulent_share > 0.0:
        nusselt += turbulent_share * turbulent_nusselt(reynolds, prandtl, rise) * entry
    return nusselt


@kernel
def jacket_coefficient(velocity, density, viscosity, conductivity, specific_heat, diameter, length, natural_floor):
    """Heat transfer coefficient (W/(m2 K)) of a jacket passage on its hydraulic diameter, at any speed and sign.

    Forced convection of a round duct and the natural coefficient `natural_floor` (W/(m2 K), see
    `natural_convection_coefficient`) are joined by cubes, so nothing jumps when the pump stops. Water and glycol; Re to
    5e6. Published jacket measurements lie up to 1.6 times higher (rough, undeveloped): the caller's multiplier.
    Bulk properties; the viscosity correction (mu/mu_wall)^0.11 is left out (under +8 %).
    """
    prandtl = specific_heat * viscosity / conductivity
    slenderness = diameter / max(length, 1e-6)
    return jacket_film(
        velocity, density / viscosity, prandtl, prandtl_rise(prandtl), conductivity, diameter, slenderness,
        entry_factor(diameter, length), natural_floor,
    )  # fmt: skip


@law
def jacket_film(velocity, per_viscosity, prandtl, rise, conductivity, diameter, slenderness, entry, natural_floor):
    """`jacket_coefficient` with `per_viscosity` rho/mu (s/m2) and the numbers of `duct_flow_nusselt` known."""
    speed = math.sqrt(velocity * velocity + 1e-6)  # 1 mm/s rounds the corner at zero flow
    reynolds = per_viscosity * speed * diameter
    forced = duct_flow_nusselt(reynolds, prandtl, rise, slenderness, entry, 0.0) * conductivity / diameter
    return cube_root(forced * forced * forced + natural_floor * natural_floor * natural_floor)


@kernel
def tube_coefficient(velocity, density, viscosity, conductivity, specific_heat, hydraulic_diameter, length):
    """Heat transfer coefficient (W/(m2 K)) inside a flat radiator tube: plates when laminar, Gnielinski when turbulent.

    Smooth tube without turbulators; +-15 % either side, more between Re 2300 and 4000.
    """
    slenderness = hydraulic_diameter / max(length, 1e-6)
    return tube_film(
        velocity, density, viscosity, conductivity, specific_heat, hydraulic_diameter, slenderness,
        entry_factor(hydraulic_diameter, length),
    )  # fmt: skip


@law
def tube_film(velocity, density, viscosity, conductivity, specific_heat, diameter, slenderness, entry):
    """`tube_coefficient` with the numbers of `duct_flow_nusselt` that hang on the tube known."""
    speed = math.sqrt(velocity * velocity + 1e-6)
    reynolds = density * speed * diameter / viscosity
    prandtl = specific_heat * viscosity / conductivity
    nusselt = duct_flow_nusselt(reynolds, prandtl, prandtl_rise(prandtl), slenderness, entry, 1.0)
    return nusselt * conductivity / diameter


@kernel
def rayleigh(temperature_difference, height, density, viscosity, conductivity, specific_heat, expansion):
    """Rayleigh number g beta dT L^3 rho^2 cp / (mu k) of a wall of the given height (m)."""
    diffusion = viscosity * conductivity / (density * density * specific_heat)
    return 9.80665 * expansion * temperature_difference * height**3 / diffusion


@kernel
def churchill_chu_plate(rayleigh_number, prandtl):
    """Nusselt number of a vertical plate in natural convection, all Ra to 1e12 (Churchill and Chu 1975, recalled)."""
    root = 0.825 + plate_root(rayleigh_number, prandtl)
    return root * root


@kernel
def plate_root(rayleigh_number, prandtl):
    """The second term of the root of Churchill and Chu's law for a plate, 0.387 Ra^(1/6) over the spread with Pr."""
    spread = (1.0 + (0.492 / prandtl) ** 0.5625) ** (8.0 / 27.0)
    return 0.387 * rayleigh_number ** (1.0 / 6.0) / spread


@kernel
def natural_convection_coefficient(
    temperature_difference, height, density, viscosity, conductivity, specific_heat, expansion
):
    """Heat transfer coefficient (W/(m2 K)) of a vertical wall of `height` m to still liquid or gas.

    `temperature_difference` (K) between wall and bulk, either sign; below about 1 K the value at 1 K is held, which
    keeps the slope finite. Expansion in 1/K. Churchill and Chu 1975, +-15 %.
    """
    group = natural_group(density, viscosity, conductivity, specific_heat, expansion)
    return natural_film(temperature_difference, plate_still(height), conductivity, group)


@kernel
def natural_group(density, viscosity, conductivity, specific_heat, expansion):
    """What of Churchill and Chu's law hangs on the liquid: 0.387 (Ra / (dT L^3))^(1/6) / spread, in K^-1/6 m^-1/2.

    A column of the LIQUID table; see `natural_film`.
    """
    number = rayleigh(1.0, 1.0, density, viscosity, conductivity, specific_heat, expansion)
    return plate_root(number, specific_heat * viscosity / conductivity)


@kernel
def plate_still(height):
    """What of that law hangs on the height (m) alone: 0.825 L^(-1/2), in m^-1/2."""
    return 0.825 / math.sqrt(height)


@law
def natural_film(temperature_difference, still, conductivity, group):
    """`natural_convection_coefficient` from `plate_still` and `natural_group`.

    Nu k/L = k (0.825 + group dT^(1/6) L^(1/2))^2 / L = k (still + group dT^(1/6))^2.
    """
    root = still + group * cube_root(math.sqrt(math.sqrt(temperature_difference * temperature_difference + 1.0)))
    return root * root * conductivity
