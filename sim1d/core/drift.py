"""What the laws of the network gain with time alone: the engine turns its pumps faster, the car speeds up.

Of the rates that need not be known, as no part of the Jacobian need be; of equations that hold at every instant it
must, as df/dt in a Rosenbrock method (Hairer and Wanner II, IV.7; recalled). Over a stretch both change evenly.
"""

from sim1d._jit import kernel
from sim1d.core.branch_laws import rise


@kernel
def drift(phase, model, work, gained):
    """Rate (Pa/s) at which the push of each branch less what it resists grows, into `gained` (branch).

    At a fixed state and fixed flows: those that `work` is of.
    """
    gained[:] = 0.0
    lasts = phase.end - phase.start
    if not lasts > 0.0:
        return
    jerk = (phase.acceleration[1] - phase.acceleration[0]) / lasts
    if jerk != 0.0:
        launched(model, work, jerk, gained)
    faster = (phase.speed[1] - phase.speed[0]) / lasts
    if faster != 0.0:
        turned(model, work, faster, gained)


@kernel
def launched(model, work, jerk, gained):
    """Columns under an acceleration that grows by `jerk` (m/s3), see `branch_conditions`."""
    for b in range(len(gained)):
        branch = model.network.branch[b]
        gained[b] += work.branch_density[b] * jerk * (model.node[branch.end].x - model.node[branch.start].x)


@kernel
def turned(model, work, faster, gained):
    """Belt-driven pumps of an engine that turns faster by `faster` (rad/s2)."""
    for b in range(len(gained)):
        p = model.network.branch[b].pump
        if p < 0:
            continue
        pump, density = model.network.pump[p], work.branch_density[b]
        for d in range(len(model.drive)):
            if model.drive[d].pump == p:
                q, turns = work.flow[b] / density, work.pump_state[p]
                _, _, by_speed = rise(pump, q, turns, density / pump.density, work.pump_grip[p])
                gained[b] += by_speed * model.drive[d].ratio * faster / pump.speed
