"""The kernels of a packed example car on tables of one's own: a wall, a hose or a lump and nothing else."""

from typing import Any

import numpy as np

from sim1d import tables
from sim1d.core.handle import handle
from sim1d.core.hydraulics import Network, network_tables
from sim1d.core.model import LEDGERS, Layout, Model, Work, work_arrays
from tests.reference.cars import packed

COUNTS = (
    ("enthalpy", "node"), ("lag", "lag"), ("metal", "metal"), ("dry", ""), ("air", "pocket"), ("store", ""),
    ("displaced", ""), ("dissolved", ""), ("lift", "cap"), ("grip", "pump"), ("prime", "pump"),
    ("collapse", "collapse"), ("sensor", "sensor"), ("cut", "cut"),
)  # fmt: skip
ONE = ("store", "displaced", "dissolved")


def example() -> Any:
    """The packed car whose tables are taken where a case has none of its own."""
    return packed("layout_c")


def layout_of(model: Model) -> Layout:
    """Layout of the state vector of these tables, in the order that `Layout` gives."""
    first = [0]
    for group, table in COUNTS:
        rows = model.network.pump if table == "pump" else getattr(model, table) if table else ()
        dry = int(np.sum(model.face.dry >= 0)) if group == "dry" else 0
        first.append(first[-1] + (1 if group in ONE else dry if group == "dry" else len(rows)))
    return Layout._make([*first, first[-1] + len(LEDGERS)])


def bare(**own: Any) -> Model:
    """The example's model with the tables `own`; no faces, cores, exchangers, links or gas heat unless they are given.

    What hangs on the metals of the car goes with them: a wetted face, a core cell or an exchanger names a metal.
    """
    empty = {
        "face": tables.FACE, "gas_face": tables.GAS_FACE, "link": tables.LINK, "core": tables.CORE,
        "exchanger": tables.EXCHANGER,
    }  # fmt: skip
    given = {name: tables.rows(dtype, 0) for name, dtype in empty.items()} | own
    model = example().model._replace(**given)
    return model._replace(layout=layout_of(model))


def table(dtype: np.dtype, rows: list[dict[str, Any]]) -> np.recarray:
    """A table of these rows; fields that are not named are 0, indices -1."""
    found = tables.rows(dtype, len(rows))
    for number, row in enumerate(rows):
        for name, value in row.items():
            found[name][number] = value
    return found


def chain(cells: int) -> Network:
    """A network of two junctions (the second grounded) and one branch of `cells` cells, nodes 2 and up."""
    junction = tables.rows(tables.JUNCTION, 2)
    junction.fixed[1] = 1
    branch = table(
        tables.BRANCH,
        [
            dict(
                start=0, end=1, length=1.2, diameter=0.038, area=1.134e-3, count=1.0, friction_multiplier=1.0,
                laminar_constant=64.0, loss_area=1.134e-3, pump=-1, valve=-1, cell_first=2, cell_count=cells,
            )
        ],
    )  # fmt: skip
    return network_tables(branch, junction, tables.rows(tables.PUMP, 0), tables.rows(tables.STATION, 0))


def prepared(model: Model) -> tuple[Any, Any, Work]:
    """Handles of the model and of a fresh workspace, and the arrays behind the latter."""
    work = work_arrays(model)
    return handle(model), handle(work), work
