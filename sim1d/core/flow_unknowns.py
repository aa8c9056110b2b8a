"""Flows and pressures as unknowns beside the states: the network is solved once a step at most, not at every stage.

The flow follows the state at once: 0 = drive(y) + momentum(w) + p_start - p_end - loss(w) + rise(w) for every branch,
and what enters a junction leaves it. Linearised, these rows stand below those of the states; on their right-hand side
is what the laws miss at the flows of a stage, as in a linearly implicit method for equations of index 1 (Hairer and
Wanner II, VI.4; recalled). Left out are viscosity, the grip of pumps, steam that lags and the tank's surface: the
stepper is of order 3 all the same. Warm coolant that rises draws more after it: without these rows a step cannot be
much longer than that takes, some 20 s in a soak.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from sim1d._jit import kernel
from sim1d.core.handle import maker, register
from sim1d.core.model import Model
from sim1d.core.nodal import grounded
from sim1d.physics.smooth import ramp_slope

Pair = tuple[int, int]


class FlowUnknowns(NamedTuple):
    """Numbers of the entries of each law in the Jacobian; -1 where a pressure is fixed or there is no such branch."""

    carried: np.ndarray  # (links of all chains, 2) (lump, flow) for the lump before and the one after
    branch: np.ndarray  # (lumps that weigh in a branch) branch
    node: np.ndarray  # (the same) lump
    share: np.ndarray  # (the same) share of the lump in the density of the branch
    weight: np.ndarray  # (the same) (flow, lump)
    law: np.ndarray  # (branch) (flow, flow)
    push: np.ndarray  # (branch, 4) (flow, start), (flow, end), (start, flow), (end, flow)
    momentum: np.ndarray  # (station, 3) flow of the station's branch by those before, at and after it


FlowUnknownsHandle = register(FlowUnknowns)


@maker(FlowUnknowns)
@kernel
def make_flow_unknowns(*fields):
    """Handle of a `FlowUnknowns` from its fields."""
    return FlowUnknownsHandle(*fields)


class Places(NamedTuple):
    """Pairs (row, column) of the entries, named as in `FlowUnknowns`; (-1, -1) where there is none."""

    weighing: list[tuple[int, int, float]]
    carried: list[list[Pair]]
    weight: list[list[Pair]]
    law: list[list[Pair]]
    push: list[list[Pair]]
    momentum: list[list[Pair]]

    def pairs(self) -> set[Pair]:
        """All that exist."""
        laws = (self.carried, self.weight, self.law, self.push, self.momentum)
        return {pair for law in laws for row in law for pair in row if pair[0] >= 0}

    def numbered(self, numbers: Callable[[list[list[Pair]], int], np.ndarray]) -> FlowUnknowns:
        """The same as numbers of entries; `numbers` gives them for rows of pairs and a width."""
        branch, node, share = (np.array([row[side] for row in self.weighing]) for side in range(3))
        weight, law = (numbers(pairs, 1)[:, 0].copy() for pairs in (self.weight, self.law))
        return FlowUnknowns(
            numbers(self.carried, 2), branch, node, share, weight, law, numbers(self.push, 4),
            numbers(self.momentum, 3),
        )  # fmt: skip


def weighing(model: Model) -> list[tuple[int, int, float]]:
    """(branch, lump, share) of every lump whose density makes the column of a branch."""
    found: list[tuple[int, int, float]] = []
    for b, row in enumerate(model.network.branch):
        inside = range(row.cell_first, row.cell_first + row.cell_count) if row.cell_count else (row.start, row.end)
        found.extend((b, int(i), 1.0 / len(inside)) for i in inside)
    return found


def places(model: Model, chains: list[tuple[int, int, int]]) -> Places:
    """Where everything stands: flow `b` is unknown `layout.ledger` + b, free pressures come after the flows."""
    h, first = model.layout.enthalpy, model.layout.ledger
    pressure = first + len(model.network.branch)
    unknown = model.network.structure.unknown
    none = (-1, -1)
    push = []
    for b, row in enumerate(model.network.branch):
        ends = [pressure + int(unknown[j]) if unknown[j] >= 0 else -1 for j in (row.start, row.end)]
        push.append([(first + b, e) if e >= 0 else none for e in ends])
        push[-1] += [(e, first + b) if e >= 0 else none for e in ends]
    weights = weighing(model)
    return Places(
        weighing=weights,
        carried=[[(h + one, first + b), (h + two, first + b)] for b, one, two in chains],
        weight=[[(first + b, h + i)] for b, i, _ in weights],
        law=[[(first + b, first + b)] for b in range(len(model.network.branch))],
        push=push,
        momentum=[
            [(first + int(s.branch), first + int(m)) if m >= 0 else none for m in (s.before, s.branch, s.after)]
            for s in model.network.station
        ],
    )


def unknowns(model: Model) -> int:
    """States, flows and free pressures together."""
    return model.layout.ledger + len(model.network.branch) + int((model.network.structure.unknown >= 0).sum())


def grounding(model: Model) -> np.ndarray:
    """(free pressures, 2) each with the flow of the branch that leads from it to a fixed one by the fewest branches.

    A pressure has no pivot of its own: it gets one from the laws of the branches that end there, once their flows are
    gone. This one is enough: of any set of pressures that are gone, the one nearest to the ground still hangs on the
    next, which is not.
    """
    network, first = model.network, model.layout.ledger
    pressure = first + len(network.branch)
    found = [
        (pressure + int(network.structure.unknown[j]), first + b)
        for j, b in grounded(network.branch, network.junction).items() if b >= 0
    ]  # fmt: skip
    return np.array(found, dtype=np.int64).reshape(-1, 2)


@kernel
def flow_entries(model, work, pattern, step, values):
    """What the flow carries by the flow itself, and how flows answer to weights and pressures, into `values`.

    Of the algebraic rows the negative, as of everything that is taken from the matrix. `work.solver` must hold the last
    Newton step of the network, `step.per_power` and `step.by_state` how the lumps answer (`heating`).
    """
    liquid, flows = model.liquid, pattern.flows
    width = model.system[0].donor_width
    for k in range(len(pattern.chain_branch)):
        flow = work.flow[pattern.chain_branch[k]]
        a, b = pattern.chain_node[k, 0], pattern.chain_node[k, 1]
        heat = ramp_slope(flow, width) * work.enthalpy[a] + ramp_slope(-flow, width) * work.enthalpy[b]
        values[flows.carried[k, 0]] -= heat * step.per_power[a]
        values[flows.carried[k, 1]] += heat * step.per_power[b]
    for k in range(len(flows.branch)):
        b, i = flows.branch[k], flows.node[k]
        low, high = liquid[work.grid[i]], liquid[work.grid[i] + 1]
        lighter = (high.density - low.density) / (high.enthalpy - low.enthalpy) * step.by_state[i]
        lift = work.drive[b] / work.branch_density[b]
        values[flows.weight[k]] += lift * lighter * flows.share[k] * work.mixture[i] / work.density[i]
    for b in range(len(flows.law)):
        values[flows.law[b]] -= work.solver.slope[b]
        if flows.push[b, 0] >= 0:
            values[flows.push[b, 0]] += 1.0
            values[flows.push[b, 2]] += 1.0
        if flows.push[b, 1] >= 0:
            values[flows.push[b, 1]] -= 1.0
            values[flows.push[b, 3]] -= 1.0
    for s in range(len(flows.momentum)):
        for m in range(3):
            if flows.momentum[s, m] >= 0:
                values[flows.momentum[s, m]] += work.solver.by[s, m]
