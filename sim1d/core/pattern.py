"""Which state can feel which: the fixed sparse pattern of the Jacobian, with flows frozen and with flows as unknowns.

Python, run once per pack; the level is frozen in both. Beside the pattern stands where each law finds its entries in it
(see `core.slopes`).
"""

from typing import NamedTuple

import numpy as np

from sim1d._jit import kernel
from sim1d.core.flow_unknowns import FlowUnknowns, grounding, places, unknowns
from sim1d.core.handle import maker, register
from sim1d.core.model import Model
from sim1d.core.sparse import Structure, analyse


class Pattern(NamedTuple):
    """Entries (row, column) of the Jacobian, and for each law the numbers of its entries."""

    rows: np.ndarray  # those among states first
    columns: np.ndarray
    diagonal: np.ndarray  # entry of each diagonal
    chain_branch: np.ndarray  # (links of all chains) branch
    chain_node: np.ndarray  # (links of all chains, 2) lumps in the direction of the branch
    chain_entry: np.ndarray  # (links of all chains, 4) (a, a), (b, a), (a, b), (b, b)
    link_entry: np.ndarray  # (link, 2) (a, b), (b, a)
    face_entry: np.ndarray  # (face, 6) metal-node, node-metal, metal-dry, node-dry, dry-metal, dry-node (row-column)
    core_entry: np.ndarray  # (core cell, 2) (node, metal), (metal, node)
    exchanger_entry: np.ndarray  # (exchanger, 2) the same
    lag_entry: np.ndarray  # (lag) steam by the enthalpy of its lump
    sensor_entry: np.ndarray  # (sensor) by the enthalpy of its lump
    cut_entry: np.ndarray  # (cut) filter by its sensor
    store_entry: np.ndarray  # (rows of the vessel's column, 2) the vessel's entry and the store's
    way_entry: np.ndarray  # (air way, 4) (a, a), (b, a), (a, b), (b, b) of the gas at its ends
    vent: np.ndarray  # states of a working cap: lifts, store, gas of the first place and of those under a cap
    vent_block: np.ndarray  # (n, n) entries among them
    flows: FlowUnknowns
    states: int  # number of entries among states, the first ones
    structure: Structure  # with flows and pressures as unknowns beside the states


PatternHandle = register(Pattern)


@maker(Pattern)
@kernel
def make_pattern(*fields):
    """Handle of a `Pattern` from its fields."""
    return PatternHandle(*fields)


def entries(model: Model) -> set[tuple[int, int]]:
    """All (row, column) pairs that can differ from zero."""
    layout = model.layout
    h, m, d, a = layout.enthalpy, layout.metal, layout.dry, layout.air
    found = {(i, i) for i in range(layout.ledger)}

    def pair(i: int, j: int) -> None:
        found.update({(i, j), (j, i)})

    for _, one, two in chains(model):
        pair(h + one, h + two)
    for link in model.link:
        pair(m + link.a, m + link.b)
    for face in model.face:
        pair(h + face.node, m + face.metal)
        if face.dry >= 0:
            for other in (h + face.node, m + face.metal):
                pair(d + face.dry, other)
        if model.node[face.node].lag >= 0:
            lag = layout.lag + model.node[face.node].lag
            found.add((lag, h + face.node))
    for core in model.core:
        pair(h + core.node, m + core.metal)
    for exchanger in model.exchanger:
        pair(h + exchanger.node, m + exchanger.metal)
    for k, lag in enumerate(model.lag):
        found.add((layout.lag + k, h + lag.node))
    for k, sensor in enumerate(model.sensor):
        found.add((layout.sensor + k, h + sensor.node))
    for way in model.air_way:
        pair(a + way.a, a + way.b)
    for k, cut in enumerate(model.cut):
        found.add((layout.cut + k, layout.sensor + cut.sensor))
    found |= beside_vessel(model, found)
    for row in vent_states(model):
        found.update((row, column) for column in vent_states(model))
    return found


def beside_vessel(model: Model, found: set[tuple[int, int]]) -> set[tuple[int, int]]:
    """The store scales the vessel's temperature: its column feels what the vessel's does."""
    vessel = model.layout.enthalpy + model.system[0].vessel
    return {(row, model.layout.store) for row, column in found if column == vessel}


def vent_states(model: Model) -> list[int]:
    """States that a working cap ties together through the level."""
    layout = model.layout
    pockets = sorted({0, *(int(cap.pocket) for cap in model.cap)}) if len(model.pocket) else []
    lifts = [layout.lift + k for k in range(len(model.cap))]
    return [*lifts, layout.store, *(layout.air + k for k in pockets)]  # lifts first: they move no level


def chains(model: Model) -> list[tuple[int, int, int]]:
    """(branch, lump, next lump) along every branch, start to end."""
    found: list[tuple[int, int, int]] = []
    for number, branch in enumerate(model.network.branch):
        inside = range(branch.cell_first, branch.cell_first + branch.cell_count) if branch.cell_count else ()
        chain = [int(branch.start), *(int(c) for c in inside), int(branch.end)]
        found.extend((number, one, two) for one, two in zip(chain, chain[1:], strict=False))
    return found


def jacobian_pattern(model: Model) -> Pattern:
    """Pattern, entries of every law and elimination order for `model`."""
    layout = model.layout
    n, h, m, d, a = layout.ledger, layout.enthalpy, layout.metal, layout.dry, layout.air
    chain = chains(model)
    flows = places(model, chain)
    vessel = h + model.system[0].vessel
    states = sorted(entries(model))
    total = unknowns(model)
    more = flows.pairs() | {(i, i) for i in range(n, total)}
    more |= beside_vessel(model, more)
    found = [*states, *sorted(more)]
    where = {entry: k for k, entry in enumerate(found)}
    rows, columns = (np.array([entry[side] for entry in found], dtype=np.int64) for side in (0, 1))

    def numbers(pairs: list[list[tuple[int, int]]], width: int) -> np.ndarray:
        """(n, width) numbers of these entries; -1 for one that is not in the pattern."""
        return np.array([[where.get(p, -1) for p in row] for row in pairs], dtype=np.int64).reshape(-1, width)

    def four(first: int, a: int, b: int) -> list[tuple[int, int]]:
        return [(first + i, first + j) for i, j in ((a, a), (b, a), (a, b), (b, b))]

    def both(node: int, metal: int) -> list[tuple[int, int]]:
        return [(h + node, m + metal), (m + metal, h + node)]

    faces = []
    for face in model.face:
        node, metal, dry = h + face.node, m + face.metal, d + face.dry if face.dry >= 0 else -1
        faces.append([(metal, node), (node, metal), (metal, dry), (node, dry), (dry, metal), (dry, node)])
    vent = vent_states(model)
    return Pattern(
        rows=rows,
        columns=columns,
        diagonal=numbers([[(i, i)] for i in range(n)], 1)[:, 0].copy(),
        chain_branch=np.array([link[0] for link in chain], dtype=np.int64),
        chain_node=np.array([link[1:] for link in chain], dtype=np.int64).reshape(-1, 2),
        chain_entry=numbers([four(h, *link[1:]) for link in chain], 4),
        link_entry=numbers([[(m + k.a, m + k.b), (m + k.b, m + k.a)] for k in model.link], 2),
        face_entry=numbers(faces, 6),
        core_entry=numbers([both(cell.node, cell.metal) for cell in model.core], 2),
        exchanger_entry=numbers([both(row.node, row.metal) for row in model.exchanger], 2),
        lag_entry=numbers([[(layout.lag + k, h + lag.node)] for k, lag in enumerate(model.lag)], 1)[:, 0].copy(),
        sensor_entry=numbers([[(layout.sensor + k, h + s.node)] for k, s in enumerate(model.sensor)], 1)[:, 0].copy(),
        cut_entry=numbers([[(layout.cut + k, layout.sensor + c.sensor)] for k, c in enumerate(model.cut)], 1)[
            :, 0
        ].copy(),
        store_entry=numbers([[e, (e[0], layout.store)] for e in found if e[1] == vessel], 2),
        way_entry=numbers([four(a, way.a, way.b) for way in model.air_way], 4),
        vent=np.array(vent, dtype=np.int64),
        vent_block=numbers([[(row, column) for column in vent] for row in vent], len(vent)),
        flows=flows.numbered(numbers),
        states=len(states),
        structure=analyse(rows, columns, total, grounding(model)),
    )
