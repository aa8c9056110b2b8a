"""Where every branch and station of a network stands in its sparse equations; checked and built once, in python.

Unknowns: the pressure of each junction that is not fixed, then one momentum change per station (Pa).
"""

from typing import NamedTuple

import numpy as np

from sim1d._jit import kernel
from sim1d.core.handle import maker, register
from sim1d.core.sparse import Structure, analyse


class Nodal(NamedTuple):
    """Positions in the value array of the sparse matrix; -1 where there is none."""

    matrix: Structure
    unknown: np.ndarray  # (junction) row of its pressure
    branch_slot: np.ndarray  # (branch, 4) start-start, start-end, end-start, end-end
    station_of: np.ndarray  # (branch) row of STATION that lies in it
    member: np.ndarray  # (station, 3) branches before, at and after it
    sign: np.ndarray  # (station, 3) 1 when the branch points along the station, -1 against it, 0 for a dead end
    station_slot: np.ndarray  # (station, 3, 3) in the station's row: pressures at the member's ends, its momentum
    junction_slot: np.ndarray  # (station, 2) in the station's column: rows of the start and end of its branch


NodalHandle = register(Nodal)


@maker(Nodal)
@kernel
def make_nodal(*fields):
    """Handle of a `Nodal` from its fields."""
    return NodalHandle(*fields)


def nodal_structure(branch: np.recarray, junction: np.recarray, pump: np.recarray, station: np.recarray) -> Nodal:
    """Structure of the equations of one network.

    ValueError with all that is wrong: an index that points nowhere, a size that is not positive, a group of junctions
    without a fixed pressure (its level would be undetermined), a station whose members do not meet.
    """
    problems = [*_bad_rows(branch, junction, pump), *_bad_stations(branch, station)]
    if not problems:
        problems = _ungrounded(branch, junction)
    if problems:
        raise ValueError("; ".join(problems))
    free = np.flatnonzero(junction.fixed == 0)
    unknown = np.full(len(junction), -1, dtype=np.int64)
    unknown[free] = np.arange(len(free))
    size = len(free) + len(station)

    entries: list[tuple[int, int]] = []

    def entry(row: int, column: int) -> int:
        """Number of a matrix entry, or -1 when one side is a fixed pressure."""
        if row < 0 or column < 0:
            return -1
        entries.append((row, column))
        return len(entries) - 1

    branch_entry = np.full((len(branch), 4), -1, dtype=np.int64)
    for b, row in enumerate(branch):
        s, e = int(unknown[row.start]), int(unknown[row.end])
        branch_entry[b] = entry(s, s), entry(s, e), entry(e, s), entry(e, e)
    station_of = np.full(len(branch), -1, dtype=np.int64)
    station_of[station.branch] = np.arange(len(station))
    member = np.full((len(station), 3), -1, dtype=np.int64)
    sign = np.zeros((len(station), 3))
    station_entry = np.full((len(station), 3, 3), -1, dtype=np.int64)
    junction_entry = np.full((len(station), 2), -1, dtype=np.int64)
    after: list[tuple[int, int]] = []
    for k, row in enumerate(station):
        own = len(free) + k
        at = branch[row.branch]
        member[k] = row.before, row.branch, row.after
        for m, b in enumerate(member[k]):
            if b < 0:
                continue
            sign[k, m] = _direction(branch, at, b, m)
            other = len(free) + int(station_of[b]) if station_of[b] >= 0 else -1
            station_entry[k, m] = (
                entry(own, int(unknown[branch[b].start])), entry(own, int(unknown[branch[b].end])), entry(own, other),
            )  # fmt: skip
        for side, end in enumerate((at.start, at.end)):
            row_of_end = int(unknown[end])
            junction_entry[k, side] = entry(row_of_end, own)
            if row_of_end >= 0:  # with both ends gone the pivot is 1 plus momentum over what the laterals resist
                after.append((own, row_of_end))
    pairs = np.array(entries, dtype=np.int64).reshape(-1, 2)
    matrix = analyse(pairs[:, 0], pairs[:, 1], size, np.array(after, dtype=np.int64).reshape(-1, 2))
    slots = np.append(matrix.slot.astype(np.int64), -1)  # so that entry -1 stays -1
    return Nodal(
        matrix, unknown, slots[branch_entry], station_of, member, sign, slots[station_entry], slots[junction_entry]
    )


def _direction(branch: np.recarray, at: np.record, b: int, place: int) -> float:
    """1 when branch `b` points along the station branch `at`, -1 when against; `place` 0 before, 1 at, 2 after it."""
    if place == 0:
        return 1.0 if branch[b].end == at.start else -1.0
    if place == 2:
        return 1.0 if branch[b].start == at.end else -1.0
    return 1.0


def _bad_rows(branch: np.recarray, junction: np.recarray, pump: np.recarray) -> list[str]:
    problems = []
    for b, row in enumerate(branch):
        if not (0 <= row.start < len(junction) and 0 <= row.end < len(junction)) or row.start == row.end:
            problems.append(f"branch {b} runs from junction {row.start} to {row.end}")
        if not -1 <= row.pump < len(pump):
            problems.append(f"branch {b} names pump {row.pump} of {len(pump)}")
        for field in ("diameter", "area", "count", "loss_area"):
            if not row[field] > 0.0:
                problems.append(f"branch {b}: {field} = {row[field]} must be above 0")
        for field in ("length", "roughness", "k_forward", "k_reverse", "creeping", "friction_multiplier"):
            if not (row[field] >= 0.0 and np.isfinite(row[field])):
                problems.append(f"branch {b}: {field} = {row[field]} must be 0 or more")
        if row.length > 0.0 and not row.roughness <= 0.1 * row.diameter:
            problems.append(f"branch {b}: roughness {row.roughness} is above a tenth of the diameter {row.diameter}")
        if row.length > 0.0 and not (row.laminar_constant > 0.0 and row.friction_multiplier > 0.0):
            problems.append(f"branch {b}: wall friction needs laminar_constant and friction_multiplier above 0")
        if not row.length > 0.0 and not max(row.k_forward, row.creeping) > 0.0 and row.pump < 0:
            problems.append(f"branch {b} resists nothing")
    used = branch.pump[branch.pump >= 0]
    problems += [f"pump {p} stands in more than one branch" for p in np.flatnonzero(np.bincount(used) > 1)]
    for p, row in enumerate(pump):
        fields = ["speed", "density", "shutoff", "quadratic", "stopped"]
        fields += ["motor_constant", "resistance"] if row.electric else []
        problems += [f"pump {p}: {f} = {row[f]} must be above 0" for f in fields if not row[f] > 0.0]
        fields = ["linear", "torque_constant", "torque_slope", "no_load_torque", "drag"]
        problems += [f"pump {p}: {f} = {row[f]} must be 0 or more" for f in fields if not row[f] >= 0.0]
    return problems


def _bad_stations(branch: np.recarray, station: np.recarray) -> list[str]:
    problems = []
    if len(np.unique(station.branch)) < len(station):
        problems.append("two stations lie in one branch")
    for k, row in enumerate(station):
        if not all(-1 <= b < len(branch) for b in (row.before, row.after)) or not 0 <= row.branch < len(branch):
            problems.append(f"station {k} names a branch that does not exist")
            continue
        if not row.area > 0.0:
            problems.append(f"station {k}: area = {row.area} must be above 0")
        at = branch[row.branch]
        for b, end in ((row.before, at.start), (row.after, at.end)):
            if b >= 0 and (b == row.branch or end not in (branch[b].start, branch[b].end)):
                problems.append(f"station {k}: branch {b} does not meet branch {row.branch}")
    return problems


def grounded(branch: np.recarray, junction: np.recarray) -> dict[int, int]:
    """Every junction connected to a fixed pressure, nearest first, with the branch that leads back (-1: is fixed).

    A tree from the fixed ones: no branch stands for two junctions.
    """
    near: list[list[tuple[int, int]]] = [[] for _ in range(len(junction))]
    for b, row in enumerate(branch):
        near[row.start].append((int(row.end), b))
        near[row.end].append((int(row.start), b))
    found = dict.fromkeys(np.flatnonzero(junction.fixed != 0).tolist(), -1)
    reached = list(found)
    for j in reached:  # grows as it goes
        for other, b in near[j]:
            if other not in found:
                found[other] = b
                reached.append(other)
    return found


def _ungrounded(branch: np.recarray, junction: np.recarray) -> list[str]:
    """Groups of connected junctions in which no pressure is fixed."""
    left = sorted(set(range(len(junction))) - set(grounded(branch, junction)))
    return [f"junctions {left} are not connected to any fixed pressure"] if left else []
