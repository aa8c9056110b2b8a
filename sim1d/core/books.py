"""The conserved sums of a state, and how the ledgers close each of them to round-off.

Linear invariants (energy, coolant, gas) follow from the sum's own scalar recursion over the stages of a step instead of
a dense row in its matrix.
"""

from sim1d._jit import kernel


@kernel
def sums(model, vector):
    """The three conserved sums of a state vector: energy (J), coolant (kg), gas (kg), without their closing ledgers.

    Closing ledgers: ambient heat, coolant out, air out (all with weight +1).
    """
    layout = model.layout
    vessel = model.system[0].vessel
    energy, other = 0.0, 0.0  # two sums need not wait for each other
    for i in range(len(model.node)):
        weight = 1.0 if i == vessel else model.node[i].mass
        energy += weight * vector[layout.enthalpy + i]
    for m in range(0, len(model.metal) - 1, 2):
        energy += model.metal[m].capacity * vector[layout.metal + m]
        other += model.metal[m + 1].capacity * vector[layout.metal + m + 1]
    if len(model.metal) % 2 == 1:
        energy += model.metal[len(model.metal) - 1].capacity * vector[layout.metal + len(model.metal) - 1]
    ledger = layout.ledger
    energy += other + vector[ledger + 2] + vector[ledger + 4] - vector[ledger] - vector[ledger + 1]
    coolant = vector[layout.store] - vector[ledger + 6]
    gas = vector[layout.dissolved] - vector[ledger + 8] - vector[ledger + 10]
    for k in range(len(model.pocket)):
        gas += vector[layout.air + k]
    return energy, coolant, gas


@kernel
def ways_out(model, work, state, closing):
    """How the ledgers close at `state`, into `closing`: whether every cap draws, and what the recovery tank keeps."""
    bottle = model.layout.ledger + 7
    closing[0], closing[1] = 1.0 if len(model.cap) > 0 else 0.0, 0.0
    for k in range(len(model.cap)):
        cap = model.cap[k]
        if work.absolute[cap.node] >= model.system[0].ambient_pressure:
            closing[0] = 0.0
        if cap.recovery > 0.0 and state[bottle] < 0.95 * work.density[cap.node] * cap.recovery:
            closing[1] = 1.0


@kernel
def close_ledgers(model, s, u, closing):
    """Set the closing ledgers of stage vector `u` so that the conserved sums follow their own recursion `s` (3).

    Coolant and gas close with what left, of which a share stands in the recovery tank; while the caps draw, with what
    came back, so that a circuit under vacuum books no outflow (`closing`, see `ways_out`).
    """
    energy, coolant, gas = sums(model, u)
    ledger = model.layout.ledger
    u[ledger + 3] = s[0] - energy
    if closing[0] == 1.0:
        missing = s[1] - coolant - u[ledger + 5]
        u[ledger + 6] -= missing
        u[ledger + 7] += missing  # what did not come back is still in the recovery tank
        u[ledger + 8] -= s[2] - gas - u[ledger + 9]
    else:
        u[ledger + 7] += closing[1] * (s[1] - coolant - u[ledger + 5])
        u[ledger + 5] = s[1] - coolant
        u[ledger + 9] = s[2] - gas
