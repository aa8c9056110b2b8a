"""Which state can feel which: the fixed sparse pattern of the Jacobian with flows and level frozen, and its colours.

Python, run once per pack. Two columns share a colour when no row holds both, so one evaluation of the frozen right-hand
side differences all columns of a colour together (Curtis, Powell and Reid, J. Inst. Maths Applics 13:117, 1974;
recalled).
"""

from typing import NamedTuple

import numpy as np

from sim1d._jit import kernel
from sim1d.core.handle import maker, register
from sim1d.core.model import Model
from sim1d.core.sparse import Structure, analyse


class Pattern(NamedTuple):
    """Entries (row, column) of the Jacobian sorted by colour; `first[c]:first[c + 1]` are the entries of colour c."""

    rows: np.ndarray
    columns: np.ndarray
    first: np.ndarray
    column_first: np.ndarray  # the columns of each colour: order[column_first[c]:column_first[c + 1]]
    order: np.ndarray
    diagonal: np.ndarray  # entry of each diagonal
    way_entry: np.ndarray  # (air way, 4) entries (a, a), (b, a), (a, b), (b, b) of the gas at its ends
    vent: np.ndarray  # states of a working cap: store, lifts, gas of the first place and of those under a cap
    vent_block: np.ndarray  # (n, n) entries among them
    structure: Structure


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

    for branch in model.network.branch:
        chain = [branch.start, *range(branch.cell_first, branch.cell_first + branch.cell_count), branch.end]
        if branch.cell_count == 0:
            chain = [branch.start, branch.end]
        for one, two in zip(chain, chain[1:], strict=False):
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
            if face.dry >= 0:
                found.add((d + face.dry, lag))
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
    vessel = h + model.system[0].vessel
    # the store scales the vessel's temperature: its column feels what the vessel's does
    for row, column in list(found):
        if column == vessel:
            found.add((row, layout.store))
    for row in vent_states(model):
        found.update((row, column) for column in vent_states(model))
    return found


def vent_states(model: Model) -> list[int]:
    """States that a working cap ties together through the level."""
    layout = model.layout
    pockets = sorted({0, *(int(cap.pocket) for cap in model.cap)}) if len(model.pocket) else []
    lifts = [layout.lift + k for k in range(len(model.cap))]
    return [layout.store, *lifts, *(layout.air + k for k in pockets)]


def jacobian_pattern(model: Model) -> Pattern:
    """Pattern, colours and elimination order for `model`."""
    n = model.layout.ledger
    found = sorted(entries(model))
    rows_of: list[list[int]] = [[] for _ in range(n)]
    for row, column in found:
        rows_of[column].append(row)
    colour = np.full(n, -1)
    used: list[set[int]] = []
    for column in sorted(range(n), key=lambda c: -len(rows_of[c])):
        for c, taken in enumerate(used):
            if taken.isdisjoint(rows_of[column]):
                colour[column] = c
                taken.update(rows_of[column])
                break
        else:
            colour[column] = len(used)
            used.append(set(rows_of[column]))
    found.sort(key=lambda e: (colour[e[1]], e[1], e[0]))
    rows = np.array([e[0] for e in found], dtype=np.int64)
    columns = np.array([e[1] for e in found], dtype=np.int64)
    first = np.searchsorted(colour[columns], np.arange(len(used) + 1)).astype(np.int64)
    order = np.argsort(colour, kind="stable").astype(np.int64)
    column_first = np.searchsorted(colour[order], np.arange(len(used) + 1)).astype(np.int64)
    where = {entry: k for k, entry in enumerate(found)}
    diagonal = np.array([where[i, i] for i in range(n)], dtype=np.int64)
    air = model.layout.air
    ways = np.array(
        [
            [where[air + i, air + j] for i, j in ((w.a, w.a), (w.b, w.a), (w.a, w.b), (w.b, w.b))]
            for w in model.air_way
        ],
        dtype=np.int64,
    ).reshape(-1, 4)
    vent = np.array(vent_states(model), dtype=np.int64)
    block = np.array([[where[row, column] for column in vent] for row in vent], dtype=np.int64)
    return Pattern(rows, columns, first, column_first, order, diagonal, ways, vent, block, analyse(rows, columns, n))
