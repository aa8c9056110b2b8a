"""Radiators: coolant to core metal through the tubes, core metal to the air through the fins; loss to still air."""

import math

from sim1d._jit import kernel
from sim1d.physics.ambient import AIR_SPECIFIC_HEAT, air_density, air_viscosity
from sim1d.physics.convection import tube_film
from sim1d.physics.core_air import air_coefficient, face_velocity, fin_efficiency, surface_efficiency
from sim1d.physics.exchangers import cell_conductance
from sim1d.physics.lookup import between

AIR_PRANDTL = 0.71  # dry air near 310 K


@kernel
def air_side(row, velocity, density, viscosity):
    """Conductance (W/K) of the whole air side at a face velocity (m/s): louvered fin, fin efficiency, still air."""
    core = max(velocity, 1.0e-3) / row.free_share
    reynolds = density * core * row.louver_pitch / viscosity
    colburn = row.air_factor * row.louver_factor * reynolds**-0.49
    film = air_coefficient(colburn, density * core, AIR_SPECIFIC_HEAT, AIR_PRANDTL)
    fin = fin_efficiency(film, row.fin_conductivity, row.fin_thickness, row.fin_half_height)
    return film * surface_efficiency(row.fin_share, fin) * row.air_area


@kernel
def radiators(model, work, state, car_speed, fan):
    """Heat (W) from all cores to the air: adds to node and metal powers, returns the sum.

    A cell is coolant - metal - air. Tube and air conductance in series are replaced by that of a row of cells that is
    exact in the steady state (`cell_conductance`), both scaled alike so that the metal keeps its place between them.
    """
    base = model.layout.metal
    system, liquid = model.system[0], model.liquid
    air_temperature = system.ambient_temperature
    density = air_density(system.ambient_pressure, air_temperature)
    viscosity = air_viscosity(air_temperature)
    total = 0.0
    for r in range(len(model.radiator)):
        row = model.radiator[r]
        velocity = face_velocity(
            car_speed, fan * row.fan_works, row.drop_linear, row.drop_quadratic, row.ram, row.system_loss,
            row.fan_pressure, row.fan_flow, row.fan_pressure, row.face_area, density,
        )  # fmt: skip
        capacity = density * velocity * row.face_area * AIR_SPECIFIC_HEAT
        outside = air_side(row, velocity, density, viscosity)
        taken = 0.0
        if capacity > 1.0e-6:
            taken = capacity * (1.0 - math.exp(-min(outside / capacity, 50.0)))
        flow = abs(work.flow[row.branch])
        for c in range(len(model.core)):
            cell = model.core[c]
            if cell.radiator != r:
                continue
            i = cell.node
            low, high, share = liquid[work.grid[i]], liquid[work.grid[i] + 1], work.share[i]
            rho = work.density[i]
            specific = between(low.specific_heat, high.specific_heat, share)
            inside = row.tube_area * tube_film(
                flow / (rho * row.tube_flow_area), rho, between(low.viscosity, high.viscosity, share),
                between(low.conductivity, high.conductivity, share), specific, row.tube_diameter,
                row.tube_slenderness, row.tube_entry,
            )  # fmt: skip
            scale = 1.0
            exchange = row.still
            if capacity > 1.0e-6:
                series = taken * inside / (taken + inside)
                # the same cell by its overall conductance: what a pass of air picks up from coolant of one temperature
                overall = outside * inside / (outside + inside)
                exact = cell_conductance(overall * cell.share, capacity * cell.share, flow * specific) / cell.share
                scale = exact / series
                exchange = row.still + taken * scale
            metal = state[base + cell.metal]
            # gas stands at the top of the inlet tank and dries as large a share of the tubes, however it is tilted
            wet = 1.0 - work.gas[model.network.branch[row.branch].start]
            work.core_inside[c] = wet * cell.share * inside * scale
            work.core_outside[c] = cell.share * exchange
            heat = work.core_inside[c] * (work.temperature[i] - metal)
            work.power[i] -= heat
            work.metal_power[cell.metal] += heat
            air = work.core_outside[c] * (metal - air_temperature)
            work.metal_power[cell.metal] -= air
            total += air
    return total


@kernel
def ambient_losses(model, work, state, car_speed):
    """Heat (W) from hoses, tanks and castings to the air around: returns the sum."""
    base = model.layout.metal
    air = model.system[0].ambient_temperature
    total = 0.0
    for i in range(len(model.node)):
        node = model.node[i]
        if node.ambient > 0.0:
            heat = node.ambient * (1.0 + node.ambient_moving * car_speed) * (work.temperature[i] - air)
            work.power[i] -= heat
            total += heat
    for m in range(len(model.metal)):
        metal = model.metal[m]
        if metal.ambient > 0.0:
            heat = metal.ambient * (1.0 + metal.ambient_moving * car_speed) * (state[base + m] - air)
            work.metal_power[m] -= heat
            total += heat
    return total
