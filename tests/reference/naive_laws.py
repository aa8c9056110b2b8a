"""The laws of the slow twin: plain floats in, plain floats out, written from the page and the docstrings of the laws.

Nothing here calls a compiled function of the package. Sources stand with the laws in `sim1d/physics`; SI throughout.
"""

import math

import numpy as np
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import brentq

GRAVITY = 9.80665  # m/s2
AIR_CONSTANT = 287.05  # J/(kg K)
AIR_HEAT = 1006.0  # J/(kg K)
AIR_PRANDTL = 0.71
STEFAN_BOLTZMANN = 5.670374e-8  # W/(m2 K4)


# Rounded corners ----------------------------------------------------------------------------------------------------


def ramp(x: float, width: float) -> float:
    """Positive part of x, the corner a parabola over -width..width."""
    if x <= -width:
        return 0.0
    return x if x >= width else (x + width) ** 2 / (4.0 * width)


def step(x: float) -> float:
    """3 x^2 - 2 x^3 between 0 and 1."""
    x = min(max(x, 0.0), 1.0)
    return 3.0 * x**2 - 2.0 * x**3


def smooth_max(a: float, b: float, width: float) -> float:
    """Larger of two, the corner rounded over |a - b| < width."""
    return b + ramp(a - b, width)


# Property tables ----------------------------------------------------------------------------------------------------


class Liquid:
    """The property tables, read by np.interp (held at the ends)."""

    def __init__(self, liquid: np.recarray, by_enthalpy: np.recarray, by_pressure: np.recarray):
        self.grid = liquid
        self.by_enthalpy = by_enthalpy
        self.by_pressure = by_pressure

    def of(self, column: str, temperature: float) -> float:
        """A column of LIQUID at a temperature (K)."""
        return float(np.interp(temperature, self.grid.temperature, self.grid[column]))

    def temperature(self, enthalpy: float) -> float:
        """K of the liquid of an enthalpy (J/kg); straight on beyond the ends."""
        h, t = self.by_enthalpy.enthalpy, self.by_enthalpy.temperature
        if enthalpy < h[0]:
            return float(t[0] + (enthalpy - h[0]) * (t[1] - t[0]) / (h[1] - h[0]))
        if enthalpy > h[-1]:
            return float(t[-1] + (enthalpy - h[-1]) * (t[-1] - t[-2]) / (h[-1] - h[-2]))
        return float(np.interp(enthalpy, h, t))

    def enthalpy(self, temperature: float) -> float:
        """J/kg of the liquid at a temperature (K); straight on beyond the ends."""
        h, t = self.grid.enthalpy, self.grid.temperature
        if temperature < t[0]:
            return float(h[0] + (temperature - t[0]) * (h[1] - h[0]) / (t[1] - t[0]))
        if temperature > t[-1]:
            return float(h[-1] + (temperature - t[-1]) * (h[-1] - h[-2]) / (t[-1] - t[-2]))
        return float(np.interp(temperature, t, h))

    def boiling(self, pressure: float) -> float:
        """K at which it boils under a pressure (Pa absolute), at least 2 kPa."""
        log = math.log(max(pressure, 2000.0))
        return float(np.interp(log, self.by_pressure.log_pressure, self.by_pressure.temperature))

    def wall_pressure(self, temperature: float) -> float:
        """Vapour pressure (Pa) at a wall; straight on above the table, so that a hotter wall always boils more."""
        top = float(self.grid.temperature[-1])
        beyond = max(temperature - top, 0.0)
        return self.of("vapour_pressure", temperature) + beyond * self.slope("vapour_pressure", top)

    def slope(self, column: str, temperature: float) -> float:
        """d(column)/dT over the row of the table that holds the temperature."""
        t = self.grid.temperature
        row = min(max(int(np.searchsorted(t, temperature, side="right")) - 1, 0), len(t) - 2)
        return float((self.grid[column][row + 1] - self.grid[column][row]) / (t[row + 1] - t[row]))

    def between(self, group, temperature: float) -> float:
        """A group of properties taken at the two rows round a temperature (K) and read straight between them.

        `group(row)` of a row number: the kernels read such groups from columns of the table.
        """
        t = self.grid.temperature
        row = min(max(int(np.searchsorted(t, temperature, side="right")) - 1, 0), len(t) - 2)
        share = min(max((temperature - t[row]) / (t[row + 1] - t[row]), 0.0), 1.0)
        return (1.0 - share) * group(row) + share * group(row + 1)

    def expansion(self, row: int) -> float:
        """Size of the volume expansion (1/K) at a row, from its neighbours: cold water sinks where others rise."""
        t, rho = self.grid.temperature, self.grid.density
        low, high = max(row - 1, 0), min(row + 1, len(t) - 1)
        return float(abs(rho[low] - rho[high]) / ((t[high] - t[low]) * rho[row]))


# Flow ---------------------------------------------------------------------------------------------------------------


def friction_factor(reynolds: float, relative_roughness: float, laminar_constant: float) -> float:
    """Darcy factor of Churchill 1977, with the laminar constant of the duct in place of 64."""
    a = (2.457 * math.log(1.0 / ((7.0 / reynolds) ** 0.9 + 0.27 * relative_roughness))) ** 16
    b = (37530.0 / reynolds) ** 16
    return 8.0 * ((laminar_constant / 8.0 / reynolds) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0)


def branch_loss(row: np.record, w: float, density: float, viscosity: float, opening: float) -> float:
    """Pressure loss (Pa) of a BRANCH at mass flow w; `opening` multiplies its loss coefficients and its friction."""
    q = w / density / row.count  # of one of the equal paths
    k = (row.k_forward if w >= 0.0 else row.k_reverse) * opening
    loss = k * density * (q / row.loss_area) * abs(q / row.loss_area) / 2.0 + row.creeping * viscosity * q
    if row.length > 0.0 and w != 0.0:
        friction = row.friction_multiplier * opening
        v = q / row.area
        reynolds = density * abs(v) * row.diameter / viscosity
        if reynolds > 1e-6:
            f = friction_factor(reynolds, row.roughness / row.diameter, row.laminar_constant)
            loss += friction * f * row.length / row.diameter * density * v * abs(v) / 2.0
        else:  # f = c/Re: no power of 1e6/1e-6 overflows
            slow = row.laminar_constant * viscosity * v / (2.0 * row.diameter)
            loss += friction * slow * row.length / row.diameter
    return loss


def motor_speed(pump: np.record, voltage: float, q: float, density_ratio: float) -> float:
    """Shaft speed (rad/s) at which motor and impeller torque balance; 0 when the motor cannot turn it."""
    through = max(q, 0.0)

    def surplus(speed: float) -> float:
        current = (voltage - pump.motor_constant * speed) / pump.resistance
        load = density_ratio * (pump.torque_constant * speed**2 + pump.torque_slope * speed * through)
        return pump.motor_constant * current - pump.no_load_torque - pump.drag * speed - load

    if surplus(0.0) <= 0.0:
        return 0.0
    return float(brentq(surplus, 0.0, voltage / pump.motor_constant, xtol=1e-13, rtol=1e-15))


def pump_rise(pump: np.record, q: float, speed: float, density_ratio: float, grip: float) -> float:
    """Pressure rise (Pa) of a PUMP: measured curve under the affinity laws, stopped impeller beyond it.

    `grip` is the share of its shut-off head that it keeps.
    """
    n = max(speed, 0.0) / pump.speed
    a, b, c = pump.quadratic, pump.linear, -grip * pump.shutoff
    runout = (-b + math.sqrt(b**2 - 4.0 * a * c)) / (2.0 * a)
    extra = 0.0
    if q > n * runout:
        extra = (q - n * runout) ** 2
    elif q < 0.0:
        extra = -(q**2)
    curve = -(n**2) * c - n * pump.linear * q - pump.quadratic * q * abs(q)
    return density_ratio * (curve - (pump.stopped - pump.quadratic) * extra)


def gassy_head(gas: float) -> float:
    """Share of its head that a pump keeps with a share of free gas (by volume) at its inlet; none from 6 % on."""
    return max(1.0 - (max(gas, 0.0) / 0.06) ** 1.5, 0.0)


def head_kept(ratio: float) -> float:
    """Share of its head that a pump keeps at a ratio of available to required suction head.

    3 % is lost at a ratio of 1 by definition, with the eighth power from 0.8 on; a cubic with the slopes of both ends
    leads down to a fifth at 0.5.
    """
    if ratio >= 0.8:
        return 1.0 - 0.03 / ratio**8
    if ratio <= 0.5:
        return 0.2
    top, steep = 1.0 - 0.03 / 0.8**8, 8.0 * 0.03 / 0.8**9
    cubic = CubicHermiteSpline([0.5, 0.8], [0.2, top], [0.0, steep])
    return float(cubic(ratio))


# Convection ---------------------------------------------------------------------------------------------------------


def prandtl_rise(prandtl: float) -> float:
    """Pr^(2/3) - 1 of Gnielinski's law."""
    return prandtl ** (2 / 3) - 1


def turbulent_nusselt(reynolds: float, prandtl: float, rise: float, diameter: float, length: float) -> float:
    """Gnielinski 1976 with the entry factor 1 + (D/L)^(2/3)."""
    f = (0.79 * math.log(reynolds) - 1.64) ** -2
    developed = f / 8 * (reynolds - 1000) * prandtl / (1 + 12.7 * math.sqrt(f / 8) * rise)
    return developed * (1.0 + min(diameter / length, 1.0) ** (2 / 3))


def duct_coefficient(
    speed: float, rho: float, mu: float, k: float, cp: float, diameter: float, length: float, flat: bool,
    rise: float | None = None,
) -> float:  # fmt: skip
    """W/(m2 K) in a duct: laminar (Hausen, or Edwards when flat) to Re 2300, Gnielinski from 4000, cubic between.

    `rise` is `prandtl_rise` where it is read from a table.
    """
    felt = math.hypot(speed, 1e-3)  # 1 mm/s rounds the corner at rest
    reynolds, prandtl = rho * felt * diameter / mu, cp * mu / k
    graetz = reynolds * prandtl * diameter / length
    laminar = 3.66 + 0.0668 * graetz / (1 + 0.04 * graetz ** (2 / 3))
    if flat:
        laminar = 7.54 + 0.03 * graetz / (1 + 0.016 * graetz ** (2 / 3))
    turned = step((reynolds - 2300.0) / 1700.0)
    rise = prandtl_rise(prandtl) if rise is None else rise
    turbulent = turbulent_nusselt(reynolds, prandtl, rise, diameter, length) if turned > 0.0 else 0.0
    return ((1.0 - turned) * laminar + turned * turbulent) * k / diameter


def natural_group(liquid: Liquid, row: int) -> float:
    """0.387 (Ra / (dT L^3))^(1/6) over the spread with Pr, of the liquid at a row of its table."""
    at = liquid.grid[row]
    rayleigh = GRAVITY * liquid.expansion(row) * at.density**2 * at.specific_heat / (at.viscosity * at.conductivity)
    prandtl = at.specific_heat * at.viscosity / at.conductivity
    return float(0.387 * rayleigh ** (1 / 6) / (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27))


def natural_coefficient(liquid: Liquid, hot: float, difference: float, height: float) -> float:
    """W/(m2 K) of a vertical wall in still liquid, Churchill and Chu 1975; below 1 K the difference is held."""
    held = math.hypot(difference, 1.0)
    group = liquid.between(lambda row: natural_group(liquid, row), hot)
    return (0.825 + group * (held * height**3) ** (1 / 6)) ** 2 * liquid.of("conductivity", hot) / height


# Boiling ------------------------------------------------------------------------------------------------------------


def forster_zuber_group(liquid: Liquid, ts: float) -> float:
    """Property group of q = A dT^1.24 dp^0.75 at saturation."""

    def group(row: int) -> float:
        at = liquid.grid[row]
        top = at.conductivity**0.79 * at.specific_heat**0.45 * at.density**0.49
        vapour = at.latent_heat**0.24 * at.vapour_density**0.24
        return float(0.00122 * top / (at.surface_tension**0.5 * at.viscosity**0.29 * vapour))

    return liquid.between(group, ts)


def wet_flux(liquid: Liquid, wall: float, bulk: float, ts: float, h: float, nucleate: float) -> float:
    """W/m2 from a wet wall: convection and nucleate boiling (`nucleate` = group times factors), root of the squares."""
    convective = h * (wall - bulk)
    onset = ts + 0.5 * ((bulk - ts) + math.hypot(bulk - ts, 0.5))
    if wall <= onset:
        return convective
    rise = liquid.wall_pressure(wall) - liquid.of("vapour_pressure", onset)
    return math.hypot(convective, nucleate * (wall - onset) ** 1.24 * rise**0.75)


def wall_temperature(
    liquid: Liquid, cell: float, half: float, bulk: float, ts: float, h: float, nucleate: float, dry: float, film: float
) -> float:
    """K of the face at which conduction through half a cell equals what the coolant takes."""

    def residual(wall: float) -> float:
        wet = wet_flux(liquid, wall, bulk, ts, h, nucleate)
        return half * ((1.0 - dry) * wet + dry * film * (wall - bulk)) - (cell - wall)

    low, high = min(cell, bulk), max(cell, bulk)
    if low == high or half == 0.0:
        return cell
    return float(brentq(residual, low, high, xtol=1e-12, rtol=1e-15))


def film_coefficient(liquid: Liquid, wall: float, ts: float) -> float:
    """W/(m2 K) of a dry wall: Berenson with radiation of emissivity 0.8, joined after Bromley; dT at least 20 K."""
    rho, rho_v = liquid.of("density", ts), liquid.of("vapour_density", ts)
    k_v, mu_v = liquid.of("vapour_conductivity", ts), liquid.of("vapour_viscosity", ts)
    superheat = max(wall - ts, 20.0)
    latent = liquid.of("latent_heat", ts) + 0.5 * 2050.0 * superheat
    buoyancy = GRAVITY * (rho - rho_v)
    wave = math.sqrt(liquid.of("surface_tension", ts) / buoyancy)
    convection = 0.425 * (k_v**3 * rho_v * buoyancy * latent / (mu_v * superheat * wave)) ** 0.25
    radiation = 0.8 * STEFAN_BOLTZMANN * (wall**2 + ts**2) * (wall + ts)

    def bromley(h: float) -> float:
        return h ** (4 / 3) - convection ** (4 / 3) - radiation * h ** (1 / 3)

    return float(brentq(bromley, convection, convection + 2.0 * radiation, xtol=1e-12, rtol=1e-14))


def critical_flux(
    liquid: Liquid, ts: float, speed: float, subcooling: float, diameter: float, pool_factor: float,
    flow_factor: float,
) -> float:  # fmt: skip
    """W/m2 at which a wall dries: Zuber with Ivey and Morris, Hall and Mudawar, joined by fourth powers."""
    felt = speed**2 / math.hypot(speed, 0.02)  # so that q ~ G^0.376 falls as v^0.75 below 2 cm/s

    def saturated_pool(row: int) -> float:
        at = liquid.grid[row]
        lift = (at.surface_tension * GRAVITY * (at.density - at.vapour_density)) ** 0.25
        return float(0.131 * at.latent_heat * math.sqrt(at.vapour_density) * lift)

    def pool_gain(row: int) -> float:  # 1/K of subcooling
        at = liquid.grid[row]
        return float(0.1 * (at.density / at.vapour_density) ** 0.75 * at.specific_heat / at.latent_heat)

    def saturated_flow(row: int) -> float:  # at 1 m/s in 1 m
        at = liquid.grid[row]
        weber, ratio = at.density / at.surface_tension, at.density / at.vapour_density
        return float(at.density * at.latent_heat * 0.0722 * weber**-0.312 * ratio**-0.644)

    def flow_gain(row: int) -> float:  # 1/K of subcooling
        at = liquid.grid[row]
        return float(0.900 * (at.density / at.vapour_density) ** 0.724 * at.specific_heat / at.latent_heat)

    below = max(subcooling, 0.0)
    pool = pool_factor * liquid.between(saturated_pool, ts) * (1.0 + liquid.between(pool_gain, ts) * below)
    if felt <= 1e-12:
        return pool
    flow = liquid.between(saturated_flow, ts) * felt * (felt**2 * diameter) ** -0.312
    flow *= flow_factor * (1.0 + liquid.between(flow_gain, ts) * below)
    return (pool**4 + flow**4) ** 0.25


def dry_target(wet: float, critical: float, wall: float, collapse: float, width: float) -> float:
    """Dry share that a wall would come to rest at: wet share min(1, critical/wet), rounded by 16th powers."""
    touch = 1.0 - step(1.0 + (wall - collapse) / width)
    ratio = max(wet, 0.0) / critical
    return 1.0 - touch * (1.0 + ratio**16) ** (-1 / 16)


# Air ----------------------------------------------------------------------------------------------------------------


def air_density(pressure: float, temperature: float) -> float:
    return pressure / (AIR_CONSTANT * temperature)


def air_viscosity(temperature: float) -> float:
    """Sutherland, 1.716e-5 Pa s at 273.15 K, S 110.4 K."""
    return 1.716e-5 * (temperature / 273.15) ** 1.5 * (273.15 + 110.4) / (temperature + 110.4)


def face_speed(radiator: np.record, car_speed: float, fan: float, rho: float) -> float:
    """m/s at the face of a core where ram and fan balance core, grille and bay."""
    ram = 0.5 * rho * max(car_speed, 0.0) ** 2 * radiator.ram

    def fan_rise(u: float) -> float:
        if radiator.fan_pressure <= 0.0 or radiator.fan_flow <= 0.0:
            return 0.0
        rise = radiator.fan_pressure * (fan**2 - (u * radiator.face_area / radiator.fan_flow) ** 2)
        return rise if rise >= 0.0 else rise / (1.0 - rise / radiator.fan_pressure)  # loss saturates at shut-off

    def residual(u: float) -> float:
        core = radiator.drop_linear * u + radiator.drop_quadratic * u**2
        return core + radiator.system_loss * 0.5 * rho * u**2 - ram - fan_rise(u)

    if residual(0.0) >= 0.0:
        return 0.0
    return float(brentq(residual, 0.0, 1000.0, xtol=1e-12, rtol=1e-14))


def core_air_conductance(radiator: np.record, speed: float, rho: float, mu: float) -> float:
    """W/K of the whole air side of a core, fins counted with their efficiency."""
    if speed <= 0.0:
        return 0.0
    flux = rho * speed / radiator.free_share  # kg/(m2 s) between the fins
    colburn = radiator.louver_factor * (flux * radiator.louver_pitch / mu) ** -0.49
    h = radiator.air_factor * colburn * flux * AIR_HEAT / AIR_PRANDTL ** (2 / 3)
    ml = math.sqrt(2.0 * h / (radiator.fin_conductivity * radiator.fin_thickness)) * radiator.fin_half_height
    surface = 1.0 - radiator.fin_share * (1.0 - math.tanh(ml) / ml)
    return h * surface * radiator.air_area


# Engine and cap -----------------------------------------------------------------------------------------------------


def friction_pressure(speed: float) -> float:
    """Pa of friction mean effective pressure at a speed in rad/s (Heywood 1988, eq. 13.6, in thousands of rev/min)."""
    n = speed * 60.0 / (2.0 * math.pi) / 1000.0
    return 1e5 * (0.97 + 0.15 * n + 0.05 * n**2)


def orifice(discharge: float, area: float, rho: float, dp: float) -> float:
    """kg/s through a sharp hole, Cd A (2 rho dp)^0.5, linear below about 20 Pa."""
    return discharge * area * math.sqrt(2.0 * rho) * dp / (dp**2 + 400.0) ** 0.25


def weighted(gauge: float, closing: float) -> float:
    """Share open of a weighted vacuum valve: open to half of the pressure (Pa gauge) that shuts it, shut there."""
    return 1.0 - step((gauge - closing / 2.0) / (closing / 2.0))


def air_solubility(temperature: float, air_pressure: float) -> float:
    """kg of air in a m3 of water under air of that partial pressure (Pa), Henry.

    Volumes at 0 degC and 1 atm (1.2929 kg/m3) per volume of water under 1 atm: 10.95e-3 + 18.2e-3 exp(-t/23.5 K).
    """
    celsius = max(temperature - 273.15, 0.0)
    volumes = 10.95e-3 + 18.2e-3 * math.exp(-celsius / 23.5)
    return 1.2929 * volumes * max(air_pressure, 0.0) / 101325.0
