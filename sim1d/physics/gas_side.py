"""Heat from the cylinder gas: published coefficients and their scaling with load and speed. W/(m2 K), K, m, Pa."""

import math

from sim1d._jit import kernel


@kernel
def woschni(bore, pressure, temperature, gas_speed, temperature_power):
    """Instantaneous coefficient 129.8 B^-0.2 p^0.8 T^-n w^0.8, p in bar.

    n = `temperature_power` is 0.53 in the paper and 0.55 in Heywood's form (same constant, 15 % lower at 2400 K): state
    which. `gas_speed` w m/s from `woschni_speed`. Woschni 1967, SAE 670931 (constants read in a secondary source).
    """
    return 129.8 * bore**-0.2 * (pressure / 1e5) ** 0.8 * temperature**-temperature_power * gas_speed**0.8


@kernel
def woschni_speed(
    piston_speed,
    swept_volume,
    reference_temperature,
    reference_pressure,
    reference_volume,
    pressure_excess,
    exchange,
    burning,
):
    """Gas speed (m/s) C1 Sp + C2 Vd Tr/(pr Vr) (p - p_motored).

    C1 is 6.18 in gas exchange (`exchange` 1) and 2.28 otherwise (0); C2 is 3.24e-3 m/(s K) once `burning` is 1.
    """
    mean = (2.28 + 3.90 * exchange) * piston_speed
    scale = swept_volume * reference_temperature / (reference_pressure * reference_volume)
    return mean + 3.24e-3 * burning * scale * pressure_excess


@kernel
def hohenberg(volume, pressure, temperature, piston_speed):
    """Instantaneous coefficient 129.8 V^-0.06 p^0.8 T^-0.4 (Sp + 1.4)^0.8, p in bar, V m3 at that moment.

    Hohenberg 1979, SAE 790825 (constants read in a secondary source).
    """
    return 129.8 * volume**-0.06 * (pressure / 1e5) ** 0.8 * temperature**-0.4 * (piston_speed + 1.4) ** 0.8


@kernel
def annand(bore, reynolds, gas_conductivity, temperature, wall_temperature, factor, burning):
    """Instantaneous coefficient a (k/B) Re^0.7 + c (T^4 - Tw^4)/(T - Tw), a 0.35 to 0.8, Re = rho Sp B/mu.

    c = 0.075 Stefan-Boltzmann while `burning` is 1, else 0. Annand 1963 (constants read in a secondary source).
    """
    convective = factor * gas_conductivity / bore * reynolds**0.7
    squares = temperature * temperature + wall_temperature * wall_temperature
    return convective + burning * 0.075 * 5.670374e-8 * (temperature + wall_temperature) * squares


@kernel
def film_scale(manifold_pressure, speed, reference_pressure, reference_speed):
    """Cycle-mean coefficient over its reference value, (p/pref)^0.8 (N/Nref)^0.8; 0 at a standing engine.

    Both pressures Pa absolute in the manifold, speeds in any one unit. The powers are Woschni's. Cycles computed with
    his law follow it within 10 % at full load, 1 to 5 bar; scaled down from there it reads 30 % low at light load and
    45 % low at idle. Negative numbers count as 0.
    """
    share = max(manifold_pressure, 0.0) / reference_pressure * max(speed, 0.0) / reference_speed
    return share**0.8


@kernel
def face_temperature_factor(gas_temperature, face_temperature, reference_face_temperature):
    """Flux to a face over the flux at the reference face, (Tg - Tf)/(Tg - Tf,ref): hot metal limits itself."""
    return (gas_temperature - face_temperature) / (gas_temperature - reference_face_temperature)


@kernel
def taylor_toong(gas_mass_flow, bore, viscosity, conductivity, gas_temperature, coolant_temperature):
    """Time-mean heat (W) of one cylinder to its coolant: Nu = 10.4 Re^0.75 on the mass flux G = m/(pi B^2/4).

    `gas_mass_flow` air and fuel of one cylinder, kg/s. Contains port heat and part of the friction. Re must be built on
    mass flux: piston speed gives 59 % of the fuel. Taylor and Toong; Taylor 1985 (read in a teaching module).
    """
    area = 0.25 * math.pi * bore * bore
    reynolds = gas_mass_flow / area * bore / viscosity
    coefficient = 10.4 * reynolds**0.75 * conductivity / bore
    return coefficient * area * (gas_temperature - coolant_temperature)
