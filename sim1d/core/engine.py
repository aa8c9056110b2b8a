"""Engine: heat of the working gas into the faces, friction heat into the block, and the wetted faces of the jackets."""

from sim1d._jit import kernel
from sim1d.physics.boiling import balanced_face, chen_suppression
from sim1d.physics.convection import jacket_film, natural_film
from sim1d.physics.critical_heat_flux import critical_flux
from sim1d.physics.engine_balance import friction_pressure
from sim1d.physics.film_boiling import dry_share_rate, dry_share_target, film_coefficient
from sim1d.physics.gas_side import film_scale
from sim1d.physics.lookup import row_of, value
from sim1d.physics.smooth import step

NEARLY_WET = 1.0e-6  # dry share up to which the flux over a film, a hundredth of a boiling one, is left out
DRY_TIME = 0.15  # s for the dry share to follow its target (0.1 to 0.2, assumed)
COLLAPSE_WIDTH = 40.0  # K below the collapse temperature over which a wall wets again
RPM = 9.549296585513721  # rev/min in a rad/s


@kernel
def gas_heat(model, work, state, speed, load):
    """Heat (W) from gas and friction into the metals: adds to `work.metal_power`, returns the sum.

    Film against the recovered face temperature, so hot metal limits itself; scaled by speed and manifold pressure.
    """
    system = model.system[0]
    manifold = system.idle_pressure + (system.rated_pressure - system.idle_pressure) * load
    scale = film_scale(manifold, speed, system.rated_pressure, system.rated_speed)
    total = 0.0
    for g in range(len(model.gas_face)):
        face = model.gas_face[g]
        cell = state[model.layout.metal + face.metal]
        film = face.conductance * scale
        # one fraction, regular at film = 0: film in series with half a cell of metal
        conductance = film / (1.0 + film * face.half)
        heat = conductance * (face.gas_temperature - cell)
        work.gas_conductance[g] = conductance
        work.gas_heat[g] = heat
        work.gas_surface[g] = cell + heat * face.half
        work.metal_power[face.metal] += heat
        total += heat
    friction = (
        speed * friction_pressure(speed * RPM) / (system.rated_speed * friction_pressure(system.rated_speed * RPM))
    )
    for m in range(len(model.metal)):
        heat = model.metal[m].friction_heat * friction
        work.metal_power[m] += heat
        total += heat
    return total


@kernel
def conduct(model, work, state):
    """Conduction between metals: pairwise, so what one loses the other gains."""
    base = model.layout.metal
    for k in range(len(model.link)):
        link = model.link[k]
        heat = link.conductance * (state[base + link.a] - state[base + link.b])
        work.metal_power[link.a] -= heat
        work.metal_power[link.b] += heat


@kernel
def wetted_faces(model, work, state, rate):
    """Heat from every wetted face into its coolant node, with boiling, the critical heat flux and the dry share.

    A face that can go dry carries its dry share as a state that follows `dry_share_target` within `DRY_TIME`, so heat
    transfer past the critical flux and its recovery come without a jump.
    """
    layout = model.layout
    liquid = model.liquid
    for f in range(len(model.face)):
        face = model.face[f]
        i = face.node
        index, share = work.grid[i], work.share[i]
        density = work.density[i]
        viscosity = value(liquid.viscosity, index, share)
        conductivity = value(liquid.conductivity, index, share)
        prandtl = value(liquid.specific_heat, index, share) * viscosity / conductivity
        bulk = work.temperature[i]
        saturation = work.saturation[i]
        cell = state[layout.metal + face.metal]
        velocity = face.speed_factor * abs(work.flow[face.branch]) / (density * face.flow_area)
        floor = natural_film(cell - bulk, face.length, conductivity, value(liquid.natural_group, index, share))
        film = face.enhancement * jacket_film(
            velocity, density / viscosity, prandtl, value(liquid.prandtl_rise, index, share), conductivity,
            face.diameter, face.diameter / face.length, face.entry, floor,
        )  # fmt: skip
        at, part = row_of(liquid, saturation)
        boiling = 0.0  # matters only to a wall above saturation, and no wall is hotter than metal and coolant
        if max(cell, bulk) > saturation:
            group = face.boiling_factor * value(liquid.boiling_group, at, part)
            boiling = group * chen_suppression(density * velocity * face.diameter / viscosity)
        dry, over_film = 0.0, 0.0
        if face.dry >= 0:
            dry = min(max(state[layout.dry + face.dry], 0.0), 1.0)
            if dry > NEARLY_WET:
                over_film = film_coefficient(
                    max(cell, saturation + 5.0), saturation, value(liquid.density, at, part),
                    value(liquid.vapour_density, at, part), value(liquid.latent_heat, at, part),
                    value(liquid.surface_tension, at, part), value(liquid.vapour_conductivity, at, part),
                    value(liquid.vapour_viscosity, at, part),
                )  # fmt: skip
        # what stands in gas is not wetted: 10 to 50 W/(m2 K), taken as none. The half cell behind carries the mean flux
        # of wetted and bare wall: with that of the wetted part, its resistance would go with the size of the cells
        wetted = 1.0 - work.gas[i]
        wall, flux, wet, slope = balanced_face(
            cell, wetted * face.half, bulk, saturation, film, boiling, dry, over_film, work.face_temperature[f], liquid
        )
        heat = flux * face.area * wetted
        work.metal_power[face.metal] -= heat
        work.power[i] += heat
        work.face_temperature[f] = wall
        work.face_flux[f] = wet
        work.face_slope[f] = slope
        work.face_speed[f] = velocity
        work.face_film[f] = film
        work.face_over_film[f] = over_film
        groups = (
            value(liquid.pool_flux, at, part), value(liquid.pool_gain, at, part), value(liquid.flow_flux, at, part),
            value(liquid.flow_gain, at, part),
        )  # fmt: skip
        critical = critical_flux(
            velocity, saturation - bulk, face.flow_size, groups, face.pool_factor, face.flow_factor
        )  # fmt: skip
        # a passage full of steam cannot wet its walls: the critical flux fades as the liquid goes
        critical *= 1.0 - 0.98 * step((1.0 - work.mixture[i] / density - 0.6) / 0.35)
        work.face_critical[f] = critical
        if face.dry >= 0:
            target = dry_share_target(wet, critical, wall, model.system[0].film_collapse, COLLAPSE_WIDTH)
            rate[layout.dry + face.dry] += dry_share_rate(state[layout.dry + face.dry], target, DRY_TIME)


@kernel
def exchangers(model, work, state):
    """Coolant to the lump on the other side of a heater, cooler or ice tank; conductance with flow to the power 0.8."""
    base = model.layout.metal
    for k in range(len(model.exchanger)):
        row = model.exchanger[k]
        ratio = abs(work.flow[row.branch]) / row.reference_flow
        conductance = row.conductance * (0.02 + ratio) ** 0.8
        work.exchange[k] = conductance
        heat = conductance * (work.temperature[row.node] - state[base + row.metal])
        work.power[row.node] -= heat
        work.metal_power[row.metal] += heat
