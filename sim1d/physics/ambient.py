"""Air, and the losses of hoses and metal to it: properties, coefficients in W/(m2 K), conductances in W/K."""

import math

from sim1d._jit import kernel
from sim1d.physics.convection import churchill_chu_plate

STEFAN_BOLTZMANN = 5.670374e-8  # W/(m2 K4)
AIR_GAS_CONSTANT = 287.05  # J/(kg K), dry
AIR_SPECIFIC_HEAT = 1006.0  # J/(kg K), 0 to 100 degC within 0.5 %


@kernel
def air_density(pressure, temperature):
    """Density of dry air (kg/m3), p/(R T); Pa absolute, K. Moist air at 30 degC is up to 1.6 % lighter."""
    return pressure / (AIR_GAS_CONSTANT * temperature)


@kernel
def air_viscosity(temperature):
    """Dynamic viscosity of air (Pa s), Sutherland's law with 1.716e-5 at 273.15 K and S 110.4 K (White, recalled)."""
    return 1.716e-5 * (temperature / 273.15) ** 1.5 * (273.15 + 110.4) / (temperature + 110.4)


@kernel
def air_conductivity(temperature):
    """Thermal conductivity of air (W/(m K)), Sutherland with 0.0241 at 273.15 K and S 194 K (White, recalled)."""
    return 0.0241 * (temperature / 273.15) ** 1.5 * (273.15 + 194.0) / (temperature + 194.0)


@kernel
def churchill_bernstein(reynolds, prandtl):
    """Nusselt number of a cylinder in cross flow, all Re Pr > 0.2 (Churchill and Bernstein 1977; checked with `ht`)."""
    laminar = 0.62 * math.sqrt(reynolds) * prandtl ** (1.0 / 3.0) / (1.0 + (0.4 / prandtl) ** (2.0 / 3.0)) ** 0.25
    return 0.3 + laminar * (1.0 + (reynolds / 282000.0) ** 0.625) ** 0.8


@kernel
def churchill_chu_cylinder(rayleigh_number, prandtl):
    """Nusselt number of a horizontal cylinder in still air, Ra to 1e12 (Churchill and Chu 1975, recalled)."""
    spread = (1.0 + (0.559 / prandtl) ** 0.5625) ** (8.0 / 27.0)
    root = 0.60 + 0.387 * rayleigh_number ** (1.0 / 6.0) / spread
    return root * root


@kernel
def flat_plate(reynolds, prandtl):
    """Mean Nusselt number of a plate along its length, turning turbulent at Re 5e5: the larger of both laws.

    0.664 Re^0.5 Pr^(1/3) and (0.037 Re^0.8 - 871) Pr^(1/3), 0.6 < Pr < 60, Re to 1e8. Incropera and DeWitt (recalled).
    """
    root = prandtl ** (1.0 / 3.0)
    return max(0.664 * math.sqrt(reynolds), 0.037 * reynolds**0.8 - 871.0) * root


@kernel
def radiation_coefficient(temperature, surroundings, emissivity):
    """Coefficient (W/(m2 K)) of grey radiation between a wall and black surroundings, both in K (Stefan-Boltzmann)."""
    squares = temperature * temperature + surroundings * surroundings
    return emissivity * STEFAN_BOLTZMANN * (temperature + surroundings) * squares


@kernel
def _air_rayleigh(difference, size, film, density):
    """Rayleigh number of air with expansion 1/T; differences below about 1 K held at 1 K."""
    held = math.sqrt(difference * difference + 1.0)
    diffusion = air_viscosity(film) * air_conductivity(film) / (density * density * AIR_SPECIFIC_HEAT)
    return 9.80665 / film * held * size**3 / diffusion


@kernel
def hose_coefficient(wall_temperature, air_temperature, air_speed, air_pressure, diameter, emissivity):
    """Coefficient (W/(m2 K)) outside a hose or tube: natural and forced joined by fourth powers, plus radiation.

    `diameter` outside, m. Properties at the film temperature. +-20 %.
    """
    film = 0.5 * (wall_temperature + air_temperature)
    density = air_density(air_pressure, film)
    viscosity, conductivity = air_viscosity(film), air_conductivity(film)
    prandtl = viscosity * AIR_SPECIFIC_HEAT / conductivity
    number = _air_rayleigh(wall_temperature - air_temperature, diameter, film, density)
    natural = churchill_chu_cylinder(number, prandtl)
    reynolds = density * math.sqrt(air_speed * air_speed + 1e-6) * diameter / viscosity
    forced = churchill_bernstein(reynolds, prandtl)
    natural *= natural
    forced *= forced
    nusselt = math.sqrt(math.sqrt(natural * natural + forced * forced))
    return nusselt * conductivity / diameter + radiation_coefficient(wall_temperature, air_temperature, emissivity)


@kernel
def hose_conductance(coefficient, inner_diameter, outer_diameter, length, wall_conductivity):
    """Conductance (W/K) from a hose's inner wall to the air: wall ln(b/a)/(2 pi k L) in series with the outside film.

    Rubber 0.25 W/(m K) (assumed), aluminium 200.
    """
    if coefficient <= 0.0:
        return 0.0
    wall = math.log(outer_diameter / inner_diameter) / (2.0 * math.pi * wall_conductivity * length)
    return 1.0 / (wall + 1.0 / (coefficient * math.pi * outer_diameter * length))


@kernel
def block_coefficient(wall_temperature, air_temperature, air_speed, air_pressure, height, emissivity):
    """Coefficient (W/(m2 K)) of an engine's side, a plate of `height` m: natural, forced and radiation.

    The first two are joined by fourth powers. Natural: Churchill and Chu's plate; forced: `flat_plate` of the same
    length. +-30 % on a real engine.
    """
    film = 0.5 * (wall_temperature + air_temperature)
    density = air_density(air_pressure, film)
    viscosity, conductivity = air_viscosity(film), air_conductivity(film)
    prandtl = viscosity * AIR_SPECIFIC_HEAT / conductivity
    number = _air_rayleigh(wall_temperature - air_temperature, height, film, density)
    natural = churchill_chu_plate(number, prandtl)
    forced = flat_plate(density * math.sqrt(air_speed * air_speed + 1e-6) * height / viscosity, prandtl)
    natural *= natural
    forced *= forced
    nusselt = math.sqrt(math.sqrt(natural * natural + forced * forced))
    return nusselt * conductivity / height + radiation_coefficient(wall_temperature, air_temperature, emissivity)
