"""The slow twin: rate of change of the state by plain loops, written from docs/explanation/model.md section by section.

It is the independent answer that the compiled kernels must equal. It is never optimised and calls no kernel.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from . import naive_air, naive_heat, naive_network
from . import naive_laws as law
from .naive_cap import Leak, cap_flows

LEAST_SHARE = 0.2  # of its lump, below which the vessel's mass never falls
LEAST_SATURATION = 2000.0  # Pa absolute at which saturation is looked up at least


@dataclass
class Answer:
    """Rate of change of the state and what was found on the way, for whoever looks for a difference."""

    rate: np.ndarray
    flow: np.ndarray
    pressure: np.ndarray
    level: float
    void: np.ndarray
    moment: naive_heat.Moment
    heat: naive_heat.Heat
    leak: Leak
    surface: float
    places: naive_air.Places
    drawn: np.ndarray  # (pump) gas by volume at its suction


def between(pair: np.ndarray, phase: np.record, time: float) -> float:
    """A quantity that runs straight from its value at the start of the phase to that at its end."""
    share = (time - phase.start) / (phase.end - phase.start)
    return float(pair[0] + share * (pair[1] - pair[0]))


def flash(liquid: law.Liquid, enthalpy: float, hot: float, pressure: float) -> tuple[float, float]:
    """Steam by volume and temperature (K) of a lump at a pressure (Pa absolute): homogeneous equilibrium."""
    ts = liquid.boiling(max(pressure, LEAST_SATURATION))
    saturated = liquid.enthalpy(ts)
    cp = liquid.of("specific_heat", ts)
    excess = law.ramp(enthalpy - saturated, 0.5 * cp)
    quality = min(excess / liquid.of("latent_heat", ts), 1.0)
    ratio = liquid.of("vapour_density", ts) / liquid.of("density", ts)
    void = quality / (quality + (1.0 - quality) * ratio)
    return void, min(hot, ts + (enthalpy - excess - saturated) / cp)


def gas_volume(liquid: law.Liquid, air: float, pressure: float, hot: float) -> float:
    """m3 of `air` kg in a wet gas space under a total pressure (Pa absolute): Dalton, its own part never below 5 %."""
    pressure = max(pressure, LEAST_SATURATION)
    part = law.smooth_max(pressure - liquid.of("vapour_pressure", hot), 0.05 * pressure, 0.01 * pressure)
    return max(air, 0.0) * law.AIR_CONSTANT * hot / part


def derivative(model, phase, time: float, state: np.ndarray, guess: np.ndarray | None = None) -> Answer:
    """Rate of change (SI per second) of `state` at `time` of `phase`; `guess`: flows to start the search from."""
    at, system, node, network = model.layout, model.system[0], model.node, model.network
    liquid = law.Liquid(model.liquid, model.by_enthalpy, model.by_pressure)
    speed, load = between(phase.speed, phase, time), between(phase.load, phase, time)
    car_speed, acceleration = between(phase.car_speed, phase, time), between(phase.acceleration, phase, time)

    # 1. States
    steam_state = state[at.lag : at.metal]
    metal = state[at.metal : at.dry]
    dry = state[at.dry : at.air]
    air = state[at.air : at.store]
    store = state[at.store]
    displaced, dissolved = state[at.displaced], state[at.dissolved]
    lift, grip = state[at.lift : at.grip], state[at.grip : at.prime]
    prime, flat = state[at.prime : at.collapse], state[at.collapse : at.sensor]
    shown, filtered = state[at.sensor : at.cut], state[at.cut : at.ledger]

    # 2. Properties and drives
    lump = node[system.vessel].mass
    floor = LEAST_SHARE * lump
    vessel_mass = floor + law.ramp(lump + store - floor, floor)
    vessel_by_store = min(max((lump + store) / (2.0 * floor), 0.0), 1.0)  # the slope of that ramp
    enthalpy = state[at.enthalpy : at.lag].copy()
    enthalpy[system.vessel] /= vessel_mass
    hot = np.array([liquid.temperature(h) for h in enthalpy])
    density = np.array([liquid.of("density", t) for t in hot])
    viscosity = np.array([liquid.of("viscosity", t) for t in hot])
    steam = np.zeros(len(node))
    for row, share in zip(model.lag, steam_state, strict=True):
        steam[row.node] = min(max(share, 0.0), 0.97)
    mixture = density * (1.0 - steam)

    mass = node.mass.copy()
    mass[system.vessel] += store
    room = node.volume * (1.0 + node.growth * (hot - system.fill_temperature))
    z = node.z.copy()
    surface = z[system.vessel]
    if system.tank_area > 0.0:
        excess = displaced + float(np.sum(mass / density - room))
        surface = system.tank_base + min(max(excess, 0.0), system.tank_volume) / system.tank_area
        z[system.vessel] = surface

    n = len(network.branch)
    rho, mu, drive, opening = np.zeros(n), np.zeros(n), np.zeros(n), np.ones(n)
    for i, row in enumerate(network.branch):
        inside = list(range(row.cell_first, row.cell_first + row.cell_count)) if row.cell_first >= 0 else []
        members = inside or [row.start, row.end]
        rho[i], mu[i] = np.mean(mixture[members]), np.mean(viscosity[members])
        rise, along = z[row.end] - z[row.start], node.x[row.end] - node.x[row.start]
        drive[i] = rho[i] * (-law.GRAVITY * rise + acceleration * along)
        if row.valve >= 0:
            valve = model.valve[row.valve]
            if valve.node >= 0:
                moved = law.step((hot[valve.node] - valve.opens) / (valve.full - valve.opens))
                moved = 1.0 - moved if valve.invert else moved
                opening[i] = (valve.leak + (1.0 - valve.leak) * moved) ** -2
    for row, share in zip(model.collapse, flat, strict=True):
        opening[row.branch] /= (1.0 - min(max(share, 0.0), naive_air.FLATTEST)) ** 2

    # 3. Flows and the pressure of every lump above the ground
    belt = np.zeros(len(network.pump))
    for row in model.drive:
        belt[row.pump] = row.ratio * speed
    voltage = phase.voltage * phase.electric_pump
    gripping = np.clip(grip, 0.0, 1.0)
    flows = naive_network.Flows(network, rho, mu, drive, opening, belt, voltage, gripping)
    flow, pressure = naive_network.solve(flows, guess)
    offset = np.zeros(len(node))
    offset[: len(pressure)] = pressure
    for row in network.branch:
        for c in range(row.cell_count if row.cell_first >= 0 else 0):
            along = (c + 0.5) / row.cell_count
            offset[row.cell_first + c] = (1.0 - along) * pressure[row.start] + along * pressure[row.end]

    # 4. Pressure level: volume of coolant, steam and gas against the room that tank, castings and hoses leave
    def gas(local: np.ndarray) -> np.ndarray:
        pockets = zip(model.pocket.node, air, strict=True)
        return np.array([gas_volume(liquid, a, local[i], hot[i]) for i, a in pockets])

    def surplus(ground: float) -> float:
        local = ground + offset
        void = np.array([flash(liquid, h, t, p)[0] for h, t, p in zip(enthalpy, hot, local, strict=True)])
        filled = float(np.sum(mass / density + void * node.volume) + np.sum(gas(local)))
        grown = float(np.sum(node.compliance * (local - node.filled)))
        return filled - system.tank_volume - float(np.sum(room)) - grown

    level = float(brentq(surplus, *bracket(surplus), xtol=1e-9, rtol=1e-15))
    local = level + offset
    flashed = [flash(liquid, h, t, p) for h, t, p in zip(enthalpy, hot, local, strict=True)]
    void = np.array([v for v, _ in flashed])
    temperature = np.array([t for _, t in flashed])

    # 5. Heat
    volume = gas(local)
    moment = naive_heat.Moment(
        model, liquid, flow, rho, enthalpy, hot, temperature, local, void, steam, np.zeros(len(node)), metal, dry,
        speed, load, car_speed, acceleration, phase.fan, surface,
    )  # fmt: skip
    moment.gas = naive_air.dry_walls(moment, volume)
    heat = naive_heat.Heat(np.zeros(len(node)), np.zeros(len(metal)), np.zeros(len(dry)))
    shaft = {}
    for i, row in enumerate(network.branch):
        if row.pump >= 0:
            q, ratio = flow[i] / rho[i], rho[i] / network.pump[row.pump].density
            shaft[i] = (flows.speed(row.pump, q, ratio), q, ratio)
    naive_heat.advection(moment, heat)
    naive_heat.combustion(moment, heat)
    naive_heat.conduction(moment, heat)
    naive_heat.wetted_faces(moment, heat)
    naive_heat.exchangers(moment, heat)
    naive_heat.radiators(moment, heat)
    naive_heat.ambient(moment, heat)
    naive_heat.pumps(moment, heat, shaft)
    leak = cap_flows(moment, lift, air, volume, state[at.ledger + 7], vessel_by_store)
    for i, watt in leak.power.items():
        heat.power[i] += watt
    naive_heat.swell(moment, heat)

    # 6. Gas
    places = naive_air.places(moment, air, volume)
    released = naive_air.out_of_solution(moment, places, dissolved)
    leaked = naive_air.past_the_gasket(moment)
    d_grip, d_prime, drawn = naive_air.pump_states(moment, places, shaft, grip, prime)

    # 7. Rates
    rate = np.zeros(at.size)
    rate[at.enthalpy : at.lag] = heat.power / node.mass
    rate[at.enthalpy + system.vessel] = heat.power[system.vessel]  # J, the heat of the vessel
    for k, row in enumerate(model.lag):
        rate[at.lag + k] = (void[row.node] - steam_state[k]) / system.void_lag
    rate[at.metal : at.dry] = heat.metal / model.metal.capacity
    rate[at.dry : at.air] = heat.dry
    rate[at.air : at.store] = leak.air + naive_air.exchange(moment, places) + released + leaked
    rate[at.store] = leak.coolant
    rate[at.displaced] = naive_air.displacing(moment, places, displaced)
    rate[at.dissolved] = -np.sum(released)
    rate[at.lift : at.grip] = leak.lift
    rate[at.grip : at.prime] = d_grip
    rate[at.prime : at.collapse] = d_prime
    rate[at.collapse : at.sensor] = naive_air.flattening(moment, flat)
    rate[at.sensor : at.cut] = naive_air.sensor_rates(moment, shown)
    rate[at.cut : at.ledger] = naive_air.filter_rates(moment, shown, filtered)
    rate[at.ledger :] = (
        heat.engine, heat.pump, heat.radiator, heat.ambient, leak.vented_heat, leak.coolant_out, leak.coolant_back,
        leak.bottle, leak.air_in, leak.air_out, np.sum(leaked),
    )  # fmt: skip
    return Answer(rate, flow, pressure, level, void, moment, heat, leak, surface, places, drawn)


def bracket(surplus) -> tuple[float, float]:
    """Two pressures (Pa absolute) with the level between, from 1 kPa up."""
    low, high = 1e3, 1e6
    if not surplus(low) > 0.0:
        raise ArithmeticError("the circuit is empty: no pressure is low enough")
    while surplus(high) > 0.0:
        high *= 10.0
        if not high < 1e9:
            raise ArithmeticError("no pressure is high enough")
    return low, high
