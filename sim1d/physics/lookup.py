"""Reading of the property tables: linear between rows, held at the ends; not-a-number reads row 0 and stays itself."""

import math

from sim1d._jit import kernel


@kernel
def position(value, first, step, count):
    """Row and share (0 to 1) of `value` on a uniform grid of `count` rows; held at the ends.

    Not-a-number gives row 0 and itself as share: no memory is read outside, and the result still shows it.
    """
    place = (value - first) / step
    if place >= count - 1.0:
        return count - 2, 1.0
    if not place > 0.0:
        return 0, 0.0 if place <= 0.0 else place
    index = int(place)
    return index, place - index


@kernel
def row_of(liquid, temperature):
    """Row and share of a temperature (K) in a LIQUID table: pass both to `value` for as many columns as needed."""
    first = liquid[0].temperature
    return position(temperature, first, liquid[1].temperature - first, len(liquid))


@kernel
def value(column, index, share):
    """Linear interpolation in one column of a table."""
    low = column[index]
    return low + share * (column[index + 1] - low)


@kernel
def temperature_of_enthalpy(by_enthalpy, enthalpy):
    """Temperature (K) of the liquid with a specific enthalpy (J/kg), continued linearly beyond both ends.

    Inverts `enthalpy_of_temperature` within 1e-4 K on the grid. Not-a-number gives not-a-number.
    """
    count = len(by_enthalpy)
    first = by_enthalpy[0].enthalpy
    step = by_enthalpy[1].enthalpy - first
    index, _ = position(enthalpy, first, step, count)
    low = by_enthalpy[index].temperature
    return low + ((enthalpy - first) / step - index) * (by_enthalpy[index + 1].temperature - low)


@kernel
def enthalpy_of_temperature(liquid, temperature):
    """Specific enthalpy (J/kg, zero at 273.15 K) of the liquid at a temperature (K), linear beyond the ends."""
    index, _ = row_of(liquid, temperature)
    low = liquid[index].temperature
    share = (temperature - low) / (liquid[index + 1].temperature - low)
    return liquid[index].enthalpy + share * (liquid[index + 1].enthalpy - liquid[index].enthalpy)


@kernel
def saturation_temperature(by_pressure, pressure):
    """Boiling temperature (K) at a pressure (Pa absolute), held at the ends of the table (500 Pa, 3 MPa)."""
    first = by_pressure[0].log_pressure
    step = by_pressure[1].log_pressure - first
    logarithm = first if pressure <= 1.0 else math.log(pressure)
    index, share = position(logarithm, first, step, len(by_pressure))
    low = by_pressure[index].temperature
    return low + share * (by_pressure[index + 1].temperature - low)


@kernel
def density(liquid, temperature):
    """Density of the liquid (kg/m3) at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return value(liquid.density, index, share)


@kernel
def specific_heat(liquid, temperature):
    """Specific heat of the liquid (J/(kg K)) at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return value(liquid.specific_heat, index, share)


@kernel
def viscosity(liquid, temperature):
    """Dynamic viscosity of the liquid (Pa s) at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return value(liquid.viscosity, index, share)


@kernel
def conductivity(liquid, temperature):
    """Thermal conductivity of the liquid (W/(m K)) at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return value(liquid.conductivity, index, share)


@kernel
def vapour_pressure(liquid, temperature):
    """Pressure (Pa absolute) at which the liquid boils at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return value(liquid.vapour_pressure, index, share)


@kernel
def surface_tension(liquid, temperature):
    """Surface tension of the liquid (N/m) at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return value(liquid.surface_tension, index, share)


@kernel
def latent_heat(liquid, temperature):
    """Heat of vaporisation (J/kg) of the vapour that forms at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return value(liquid.latent_heat, index, share)


@kernel
def vapour_density(liquid, temperature):
    """Density of the saturated vapour (kg/m3) at a temperature (K)."""
    index, share = row_of(liquid, temperature)
    return value(liquid.vapour_density, index, share)


@kernel
def expansion_coefficient(liquid, temperature):
    """Volume expansion coefficient of the liquid (1/K): the slope of the density table over the row that holds it."""
    index, share = row_of(liquid, temperature)
    low, high = liquid[index], liquid[index + 1]
    mean = low.density + share * (high.density - low.density)
    return (low.density - high.density) / (mean * (high.temperature - low.temperature))
