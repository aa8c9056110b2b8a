"""Gas over and inside the coolant: pressure, mass, growth and the bench tests. Pa absolute, m3, kg, K."""

import math

import numpy as np

from sim1d._jit import kernel


@kernel
def gas_pressure(gas_mass, gas_constant, temperature, volume, vapour_pressure):
    """Pressure of a gas space, m R T / V plus the vapour pressure of the wet surface (0 for a dry space). Dalton."""
    return gas_mass * gas_constant * temperature / volume + vapour_pressure


@kernel
def gas_volume(gas_mass, gas_constant, temperature, pressure, vapour_pressure):
    """Volume (m3) of a gas mass with its vapour at a total pressure; grows without limit towards boiling.

    The gas part of the pressure is held at 1 % of the total or more, so that the number stays finite: beyond that the
    space boils and steam has to be followed as such.
    """
    part = max(pressure - vapour_pressure, 0.01 * pressure)
    return gas_mass * gas_constant * temperature / part


@kernel
def gas_mass(pressure, vapour_pressure, volume, gas_constant, temperature):
    """Mass (kg) of non-condensable gas in a space, (p - pv) V / (R T); 0 when the space is all vapour."""
    return max(pressure - vapour_pressure, 0.0) * volume / (gas_constant * temperature)


@kernel
def air_growth(start_pressure, start_vapour_pressure, start_temperature, pressure, vapour_pressure, temperature):
    """Volume of trapped air over its volume when it was caught, both states wet: ((p0-pv0)/(p-pv)) T/T0."""
    return (start_pressure - start_vapour_pressure) / (pressure - vapour_pressure) * temperature / start_temperature


@kernel
def polytropic_pressure(start_pressure, start_volume, volume, exponent):
    """Pressure after p V^n = const: n 1 slow and wet, 1.4 fast and dry, 1.0 to 1.2 a real tank in a pass (assumed)."""
    return start_pressure * (start_volume / volume) ** exponent


@kernel
def gas_compliance(volume, pressure, vapour_pressure, exponent):
    """Volume given way per pressure (m3/Pa) of a gas space, V / (n (p - pv)): its springiness against the circuit."""
    return volume / (exponent * (pressure - vapour_pressure))


@kernel
def squeeze_rise(volume, injected, pressure):
    """Rise (Pa) when `injected` m3 of liquid is pressed into a closed system with `volume` m3 of gas, isothermal."""
    return pressure * injected / (volume - injected)


@kernel
def squeeze_rise_with_give(volume, injected, pressure, compliance):
    """Rise (Pa) when `injected` m3 of liquid is pressed into a closed system whose walls give `compliance` m3/Pa.

    The positive root of C dp + V dp/(p + dp) = dV: Boyle for `volume` m3 of gas at `pressure` Pa absolute, which may be
    0 (the walls alone, dV/C). Without give it is `squeeze_rise`; infinite where nothing can yield. Derived.
    """
    if compliance <= 0.0:
        return pressure * injected / (volume - injected) if volume > injected else np.inf
    b = compliance * pressure + volume - injected
    root = math.sqrt(b * b + 4.0 * compliance * injected * pressure)
    # the form that does not cancel
    return 2.0 * injected * pressure / (b + root) if b >= 0.0 else (root - b) / (2.0 * compliance)


@kernel
def squeezed_volume(injected, pressure, pressed):
    """Gas volume (m3) before the squeeze test, dV p2/(p2 - p1), from both pressures (Pa absolute). Boyle."""
    return injected * pressed / (pressed - pressure)


@kernel
def pump_start_drop(volume, pressure, pressed):
    """Fall of the level (m3) when the pump presses trapped gas from `pressure` to `pressed`: V (1 - p1/p2)."""
    return volume * (1.0 - pressure / pressed)


@kernel
def acceleration_pressure(density, acceleration, distance):
    """Pressure (Pa) that a column of liquid adds over `distance` m along an acceleration (m/s2), rho a dx."""
    return density * acceleration * distance


@kernel
def pin_offset(compliance, offset, other_compliance, other_offset):
    """Pump offset (Pa) at which the level of a circuit with two gas spaces is pinned: compliance-weighted mean.

    Every other place shifts by its own offset less this when the pump starts. Derived: the volumes given way must
    cancel.
    """
    return (compliance * offset + other_compliance * other_offset) / (compliance + other_compliance)
