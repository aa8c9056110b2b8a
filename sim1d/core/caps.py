"""Caps: what leaves when the pressure valve lifts, what comes back through the vacuum valve."""

from sim1d._jit import kernel
from sim1d.core.coolant import vessel_mass_slope
from sim1d.physics.ambient import AIR_GAS_CONSTANT, air_density
from sim1d.physics.cap_flow import lift_share, orifice_mass_flow, weighted_share
from sim1d.physics.lookup import row_of, value
from sim1d.physics.smooth import step

STEAM_CONSTANT = 461.52  # J/(kg K)
LIFT_TIME = 0.05  # s for the valve to follow the pressure (assumed: a spring and a gasket that sticks)


@kernel
def caps(model, work, state, rate):
    """Flow through every cap: rates of the store, the air, the bottle and their ledgers; heat out of the vessel's lump.

    Liquid leaves where the gas under the seat is less than the cap's dead volume, else gas with its share of vapour
    (blended over that volume). Drawn back: liquid from the recovery tank while it holds any, else air. The lift of the
    pressure valve is a state between two ramps: on opening it keeps to the upper one, on shutting to the lower, which
    begins at the reseating pressure (hysteresis by play). A weighted vacuum valve hangs open until outflow snaps it
    shut. Returns the power (W) carried out.
    """
    layout = model.layout
    system = model.system[0]
    ledger = layout.ledger
    vessel = system.vessel
    slope = vessel_mass_slope(model, state[layout.store])
    carried = 0.0
    for k in range(len(model.cap)):
        cap = model.cap[k]
        i = cap.node
        pocket = cap.pocket
        gauge = work.absolute[i] - system.ambient_pressure
        dead = model.pocket[pocket].dead
        gas = step(work.pocket_volume[pocket] / dead)
        temperature = work.temperature[i]
        density = work.density[i]
        lift = min(max(state[layout.lift + k], 0.0), 1.0)
        least = lift_share(gauge, cap.opening, cap.ramp)
        most = lift_share(gauge, cap.reseat, cap.ramp)
        rate[layout.lift + k] += (max(least - lift, 0.0) - max(lift - most, 0.0)) / LIFT_TIME
        hanging = weighted_share(gauge, cap.snaps) if cap.snaps > 0.0 and gauge > 0.0 else 0.0
        passing = max(lift, hanging)
        if passing > 0.0 and gauge > 0.0:
            area = cap.area * passing
            liquid = (1.0 - gas) * orifice_mass_flow(cap.discharge, area, density, gauge)
            vapour = min(work.vapour[i], 0.95 * work.absolute[i])
            dry = max(work.absolute[i] - vapour, 0.0) / (AIR_GAS_CONSTANT * temperature)
            wet = vapour / (STEAM_CONSTANT * temperature)
            volume = gas * orifice_mass_flow(cap.discharge, area, dry + wet, gauge) / (dry + wet)
            # air runs out before it goes negative; the steam that takes its place is coolant all the same
            some = step(state[layout.air + pocket] / 1.0e-6)
            air = some * volume * dry
            steam = volume * wet
            rate[layout.air + pocket] -= air
            rate[ledger + 9] += air
            rate[layout.store] -= liquid + steam
            rate[ledger + 5] += liquid + steam
            full = 1.0
            if cap.recovery > 0.0:
                held = state[ledger + 7] / (density * cap.recovery)
                full = step((held - 0.95) / 0.05)
            rate[ledger + 7] += (1.0 - full) * liquid
            index, share = row_of(model.liquid, temperature)
            latent = value(model.liquid.latent_heat, index, share) * steam
            work.power[i] -= latent
            out = slope * (liquid + steam)
            work.power[vessel] -= out * work.enthalpy[vessel]
            if i != vessel:  # what leaves here is made up from the vessel
                work.power[i] += out * (work.enthalpy[vessel] - work.enthalpy[i])
            carried += latent + out * work.enthalpy[i]
        if gauge < 0.0 and (cap.snaps > 0.0 or -gauge > cap.vacuum):
            open_ = 1.0 if cap.snaps > 0.0 else lift_share(-gauge, cap.vacuum, 2000.0)
            some = 0.0
            if cap.recovery > 0.0:
                some = step(state[ledger + 7] / 0.02)
            index, share = row_of(model.liquid, system.ambient_temperature)
            cold_density = value(model.liquid.density, index, share)
            back = some * orifice_mass_flow(cap.discharge, cap.area * open_, cold_density, -gauge)
            air = (1.0 - some) * orifice_mass_flow(
                cap.discharge,
                cap.area * open_,
                air_density(system.ambient_pressure, system.ambient_temperature),
                -gauge,
            )
            rate[layout.store] += back
            rate[ledger + 6] += back
            rate[ledger + 7] -= back
            rate[layout.air + pocket] += air
            rate[ledger + 8] += air
            cold = value(model.liquid.enthalpy, index, share)
            back *= slope
            work.power[vessel] += back * work.enthalpy[vessel]
            work.power[i] += back * (cold - work.enthalpy[vessel])
            carried -= back * cold
    return carried
