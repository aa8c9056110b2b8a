"""What each branch of a network resists and drives at a given flow: the table of contents of its hydraulics."""

from sim1d._jit import kernel
from sim1d.physics.friction import branch_loss
from sim1d.physics.motors import motor_speed
from sim1d.physics.pumps import pump_rise

FLATTEST = 1.0e-4  # Pa s/kg: slope of a law without resistance at rest; real ones lie above 0.01 (not in the answer)
STEEPEST = 1.0e12  # Pa s/kg: beyond a shut valve that leaks a millionth; keeps round-off of the balances in hand


@kernel
def laws(network, density, viscosity, pump_state, grip, opening, flow, loss, slope):
    """Loss less pump rise (Pa) of every branch at mass flow `flow` (kg/s), and its slope (Pa s/kg).

    `opening` (>= 1) scales loss coefficients and friction alike: a section that shrinks to A has 1/A^2 of the speed's
    square. `grip` scales the head of each pump at no flow.
    """
    for b in range(len(network.branch)):
        row = network.branch[b]
        w = flow[b]
        k = (row.k_forward if w >= 0.0 else row.k_reverse) * opening[b]
        drop, steep = branch_loss(
            w, density[b], viscosity[b], row.length, row.diameter, row.area, row.count, row.roughness,
            row.friction_multiplier * opening[b], row.laminar_constant, k, row.loss_area, row.creeping,
        )  # fmt: skip
        if row.pump >= 0:
            pump = network.pump[row.pump]
            q = w / density[b]
            speed, by_flow = shaft_speed(pump, pump_state[row.pump], q, density[b] / pump.density)
            lift, by_q, by_n = rise(pump, q, speed, density[b] / pump.density, grip[row.pump])
            drop -= lift
            steep -= (by_q + by_n * by_flow / pump.speed) / density[b]
        loss[b] = drop
        slope[b] = min(max(steep, FLATTEST), STEEPEST)


@kernel
def rise(pump, q, speed, density_ratio, grip):
    """Rise (Pa) of a pump at q m3/s and `speed` rad/s, and its derivatives by q and by speed over that of its curve."""
    return pump_rise(
        q, speed / pump.speed, density_ratio, grip * pump.shutoff, pump.linear, pump.quadratic, pump.stopped
    )  # fmt: skip


@kernel
def shaft_speed(pump, state, q, density_ratio):
    """Speed of a pump (rad/s) and its derivative by flow: given for a belt pump, from the voltage for a motor."""
    if pump.electric == 0:
        return max(state, 0.0), 0.0
    return motor_speed(
        state, q, density_ratio, pump.torque_constant, pump.torque_slope, pump.motor_constant, pump.resistance,
        pump.no_load_torque, pump.drag,
    )  # fmt: skip


@kernel
def gallery_momentum(network, density, flow, share, momentum, by):
    """Momentum change (Pa, start to end) of every station and its derivatives; `share` scales both.

    p_end - p_start = -theta rho/2 (W_end^2 - W_start^2), W the mean of the gallery velocities either side of a junction
    (mid-lateral header velocity; a dead end counts as 0). dp/dx = -theta rho W dW/dx as in Bajura and Jones, J. Fluids
    Eng. 98:654, 1976 (abstract read) and Bassiouny and Martin, Chem. Eng. Sci. 39:693, 1984 (recalled): theta about
    1.05 where flow leaves the gallery, 2.0 to 2.6 where it joins.
    """
    structure = network.structure
    for s in range(len(network.station)):
        row = network.station[s]
        rho = density[row.branch]
        to_speed = 0.5 / (rho * row.area)
        at = flow[row.branch]
        before = structure.sign[s, 0] * flow[row.before] if row.before >= 0 else 0.0
        after = structure.sign[s, 2] * flow[row.after] if row.after >= 0 else 0.0
        start = (before + at) * to_speed
        end = (at + after) * to_speed
        scale = 0.5 * share * row.theta
        momentum[row.branch] = -scale * rho * (end * end - start * start)
        by[s, 0] = scale / row.area * start * structure.sign[s, 0]
        by[s, 1] = scale / row.area * (start - end)
        by[s, 2] = -scale / row.area * end * structure.sign[s, 2]
