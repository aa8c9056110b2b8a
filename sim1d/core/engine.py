"""Engine: heat of the working gas into the faces, friction heat into the block, and the wetted faces of the jackets."""

from sim1d._jit import kernel
from sim1d.physics.boiling import balanced_face, chen_suppression
from sim1d.physics.convection import jacket_film, natural_film
from sim1d.physics.critical_heat_flux import critical_flux
from sim1d.physics.engine_balance import friction_pressure
from sim1d.physics.film_boiling import dry_share_rate, dry_share_target, film_coefficient
from sim1d.physics.gas_side import film_scale
from sim1d.physics.lookup import between, row_of
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
    # one law after the other, so that the processor works on several faces at a time
    films(model, work, state)
    face_heat(model, work, state)
    drying(model, work, state, rate)


@kernel
def films(model, work, state):
    """Speed along every wetted face and its single-phase coefficient: `work.face_speed`, `work.face_film`."""
    liquid = model.liquid
    for f in range(len(model.face)):
        face = model.face[f]
        i = face.node
        low, high, share = liquid[work.grid[i]], liquid[work.grid[i] + 1], work.share[i]
        density = work.density[i]
        viscosity = work.viscosity[i]
        conductivity = between(low.conductivity, high.conductivity, share)
        prandtl = between(low.specific_heat, high.specific_heat, share) * viscosity / conductivity
        velocity = face.speed_factor * abs(work.flow[face.branch]) / (density * face.flow_area)
        floor = natural_film(
            state[model.layout.metal + face.metal] - work.temperature[i], face.still, conductivity,
            between(low.natural_group, high.natural_group, share),
        )  # fmt: skip
        work.face_speed[f] = velocity
        work.face_film[f] = face.enhancement * jacket_film(
            velocity, density / viscosity, prandtl, between(low.prandtl_rise, high.prandtl_rise, share), conductivity,
            face.diameter, face.slenderness, face.entry, floor,
        )  # fmt: skip


@kernel
def face_heat(model, work, state):
    """Wall temperature of every wetted face, and the heat that it takes from the metal to the coolant."""
    layout = model.layout
    liquid = model.liquid
    for f in range(len(model.face)):
        face = model.face[f]
        i = face.node
        bulk, saturation = work.temperature[i], work.saturation[i]
        cell = state[layout.metal + face.metal]
        boiling = 0.0  # matters only to a wall above saturation, and no wall is hotter than metal and coolant
        if max(cell, bulk) > saturation:
            at, part = row_of(liquid, saturation)
            group = face.boiling_factor * between(liquid[at].boiling_group, liquid[at + 1].boiling_group, part)
            reynolds = work.density[i] * work.face_speed[f] * face.diameter / work.viscosity[i]
            boiling = group * chen_suppression(reynolds)
        dry, over_film = 0.0, 0.0
        if face.dry >= 0:
            dry = min(max(state[layout.dry + face.dry], 0.0), 1.0)
            if dry > NEARLY_WET:
                over_film = film_over(liquid, max(cell, saturation + 5.0), saturation)
        # what stands in gas is not wetted: 10 to 50 W/(m2 K), taken as none. The half cell behind carries the mean flux
        # of wetted and bare wall: with that of the wetted part, its resistance would go with the size of the cells
        wetted = 1.0 - work.gas[i]
        wall, flux, wet, slope = balanced_face(
            cell, wetted * face.half, bulk, saturation, work.face_film[f], boiling, dry, over_film,
            work.face_temperature[f], liquid,
        )  # fmt: skip
        heat = flux * face.area * wetted
        work.metal_power[face.metal] -= heat
        work.power[i] += heat
        work.face_temperature[f] = wall
        work.face_flux[f] = wet
        work.face_slope[f] = slope
        work.face_over_film[f] = over_film


@kernel
def drying(model, work, state, rate):
    """Critical heat flux of every face that can go dry, and how its dry share follows."""
    layout = model.layout
    for f in range(len(model.face)):
        face = model.face[f]
        if face.dry < 0:
            continue
        i = face.node
        bulk, saturation, density = work.temperature[i], work.saturation[i], work.density[i]
        velocity, wall, wet = work.face_speed[f], work.face_temperature[f], work.face_flux[f]
        groups = groups_at(model.liquid, saturation)
        critical = critical_flux(
            velocity, saturation - bulk, face.flow_size, groups, face.pool_factor, face.flow_factor
        )  # fmt: skip
        # a passage full of steam cannot wet its walls: the critical flux fades as the liquid goes
        critical *= 1.0 - 0.98 * step((1.0 - work.mixture[i] / density - 0.6) / 0.35)
        work.face_critical[f] = critical
        target = dry_share_target(wet, critical, wall, model.system[0].film_collapse, COLLAPSE_WIDTH)
        rate[layout.dry + face.dry] += dry_share_rate(state[layout.dry + face.dry], target, DRY_TIME)


@kernel
def film_over(liquid, wall, saturation):
    """Coefficient (W/(m2 K)) over the vapour film on a dry wall (K), properties at saturation (K)."""
    at, share = row_of(liquid, saturation)
    low, high = liquid[at], liquid[at + 1]
    return film_coefficient(
        wall, saturation, between(low.density, high.density, share),
        between(low.vapour_density, high.vapour_density, share), between(low.latent_heat, high.latent_heat, share),
        between(low.surface_tension, high.surface_tension, share),
        between(low.vapour_conductivity, high.vapour_conductivity, share),
        between(low.vapour_viscosity, high.vapour_viscosity, share),
    )  # fmt: skip


@kernel
def groups_at(liquid, saturation):
    """`critical_groups` of the liquid at saturation (K), from the table."""
    at, share = row_of(liquid, saturation)
    low, high = liquid[at], liquid[at + 1]
    return (
        between(low.pool_flux, high.pool_flux, share), between(low.pool_gain, high.pool_gain, share),
        between(low.flow_flux, high.flow_flux, share), between(low.flow_gain, high.flow_gain, share),
    )  # fmt: skip


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
