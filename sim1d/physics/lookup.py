"""Reading of the property tables: linear between rows, held at the ends; not-a-number reads row 0 and stays itself."""

import math

from sim1d._jit import kernel, law


@law
def uniform_grid(first, second, count):
    """Grid of `count` rows from the values of the first two: (first, rows per unit, count), for `position`.

    Loops make it once: a division for every value costs as much as the reading.
    """
    return first, 1.0 / (second - first), count


@law
def temperature_grid(liquid):
    """Grid of a LIQUID table's rows."""
    return uniform_grid(liquid[0].temperature, liquid[1].temperature, len(liquid))


@law
def enthalpy_grid(by_enthalpy):
    """Grid of a BY_ENTHALPY table's rows."""
    return uniform_grid(by_enthalpy[0].enthalpy, by_enthalpy[1].enthalpy, len(by_enthalpy))


@law
def position(value, grid):
    """Row and share (0 to 1) of `value` on a `uniform_grid`; held at the ends.

    Not-a-number gives row 0 and itself as share: no memory is read outside, and the result still shows it.
    """
    first, per_unit, count = grid
    place = (value - first) * per_unit
    if place >= count - 1.0:
        return count - 2, 1.0
    if not place > 0.0:
        return 0, 0.0 if place <= 0.0 else place
    index = int(place)
    return index, place - index


@law
def row_of(liquid, temperature):
    """Row and share of a temperature (K) in a LIQUID table: pass both to `value` for as many columns as needed."""
    return position(temperature, temperature_grid(liquid))


@law
def between(low, high, share):
    """Linear interpolation between the values of two rows."""
    return low + share * (high - low)


@law
def value(column, index, share):
    """Linear interpolation in one column of a table."""
    low = column[index]
    return low + share * (column[index + 1] - low)


@law
def temperature_of_enthalpy(by_enthalpy, enthalpy):
    """Temperature (K) of the liquid with a specific enthalpy (J/kg), continued linearly beyond both ends.

    Inverts `enthalpy_of_temperature` within 1e-4 K on the grid. Not-a-number gives not-a-number.
    """
    return temperature_on(by_enthalpy, enthalpy_grid(by_enthalpy), enthalpy)


@law
def temperature_on(by_enthalpy, grid, enthalpy):
    """`temperature_of_enthalpy` with the `enthalpy_grid` of the table known."""
    index, _ = position(enthalpy, grid)
    first, per_unit, _ = grid
    low = by_enthalpy[index].temperature
    return low + ((enthalpy - first) * per_unit - index) * (by_enthalpy[index + 1].temperature - low)


@kernel
def enthalpy_of_temperature(liquid, temperature):
    """Specific enthalpy (J/kg, zero at 273.15 K) of the liquid at a temperature (K), linear beyond the ends."""
    index, _ = row_of(liquid, temperature)
    low = liquid[index].temperature
    share = (temperature - low) / (liquid[index + 1].temperature - low)
    return liquid[index].enthalpy + share * (liquid[index + 1].enthalpy - liquid[index].enthalpy)


@law
def saturation_temperature(by_pressure, pressure):
    """Boiling temperature (K) at a pressure (Pa absolute), held at the ends of the table (500 Pa, 3 MPa)."""
    grid = uniform_grid(by_pressure[0].log_pressure, by_pressure[1].log_pressure, len(by_pressure))
    index, share = position(grid[0] if pressure <= 1.0 else math.log(pressure), grid)
    low = by_pressure[index].temperature
    return low + share * (by_pressure[index + 1].temperature - low)


@kernel
def density(liquid, temperature):
    """Density of the liquid (kg/m3) at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return between(liquid[index].density, liquid[index + 1].density, share)


@kernel
def specific_heat(liquid, temperature):
    """Specific heat of the liquid (J/(kg K)) at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return between(liquid[index].specific_heat, liquid[index + 1].specific_heat, share)


@kernel
def viscosity(liquid, temperature):
    """Dynamic viscosity of the liquid (Pa s) at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return between(liquid[index].viscosity, liquid[index + 1].viscosity, share)


@kernel
def conductivity(liquid, temperature):
    """Thermal conductivity of the liquid (W/(m K)) at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return between(liquid[index].conductivity, liquid[index + 1].conductivity, share)


@law
def vapour_pressure(liquid, temperature):
    """Pressure (Pa absolute) at which the liquid boils at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return between(liquid[index].vapour_pressure, liquid[index + 1].vapour_pressure, share)


@kernel
def surface_tension(liquid, temperature):
    """Surface tension of the liquid (N/m) at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return between(liquid[index].surface_tension, liquid[index + 1].surface_tension, share)


@kernel
def latent_heat(liquid, temperature):
    """Heat of vaporisation (J/kg) of the vapour that forms at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return between(liquid[index].latent_heat, liquid[index + 1].latent_heat, share)


@kernel
def vapour_density(liquid, temperature):
    """Density of the saturated vapour (kg/m3) at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return between(liquid[index].vapour_density, liquid[index + 1].vapour_density, share)


@kernel
def expansion_coefficient(liquid, temperature):
    """Volume expansion coefficient of the liquid (1/K): the slope of the density table over the row that holds it."""
    index, share = row_of(liquid, temperature)
    low, high = liquid[index], liquid[index + 1]
    mean = low.density + share * (high.density - low.density)
    return (low.density - high.density) / (mean * (high.temperature - low.temperature))
