"""A bench for single kernels: a packed example car whose tables, flows and conditions are set by hand."""

import numpy as np
from scipy.integrate import solve_ivp

from sim1d import tables
from sim1d.core import air
from sim1d.core.handle import handle
from sim1d.core.model import work_arrays

from .cars import packed

GRAVITY = 9.80665
AIR = 287.05  # J/(kg K)
AMBIENT = 101325.0
WARM, PRESSURE = 330.0, 1.6e5  # K and Pa absolute of every lump on the bench
DENSITY = 985.0  # kg/m3 on the bench


def smooth(x: float) -> float:
    """The cubic step of every blend."""
    x = min(max(x, 0.0), 1.0)
    return x * x * (3.0 - 2.0 * x)


class Bench:
    """Kernels on a packed car with tables, flows and conditions of one's own."""

    def __init__(self, car: str = "layout_c", **tables_of_own):
        self.packed = packed(car)
        self.model = self.packed.model._replace(**{name: t.copy() for name, t in tables_of_own.items()})
        self.layout, self.system = self.model.layout, self.model.system[0]
        self.work = work_arrays(self.model)
        self.handles = handle(self.model), handle(self.work)
        self.state = np.zeros(self.layout.size)
        self.work.branch_density[:] = self.work.density[:] = self.work.mixture[:] = DENSITY
        self.work.flow[:] = 0.0
        self.heat(WARM)
        self.press(PRESSURE)

    def heat(self, kelvin: float, vapour: float = 17e3) -> None:
        """All coolant at a temperature, with its vapour pressure (Pa; 17 kPa at 330 K, table)."""
        self.work.hot[:] = self.work.temperature[:] = kelvin
        self.work.vapour[:] = vapour

    def press(self, pascal: float) -> None:
        """All coolant under a pressure (Pa absolute)."""
        self.work.absolute[:] = pascal

    def flow(self, branch: int, volume_flow: float) -> None:
        """m3/s in a branch."""
        self.work.flow[branch] = volume_flow * DENSITY

    @property
    def gas_density(self) -> float:
        """kg of dry air in a m3 of wet gas."""
        return (self.work.absolute[0] - self.work.vapour[0]) / (AIR * self.work.hot[0])

    def ways(self, acceleration: float = 0.0) -> np.ndarray:
        """Rate of the gas of every place by the ways alone (kg/s)."""
        rate = np.zeros(self.layout.size)
        air.gas_places(*self.handles, self.state)
        air.air_ways(*self.handles, self.state, acceleration, rate)
        return rate[self.layout.air : self.layout.store]

    def places(self, masses: np.ndarray) -> np.ndarray:
        """Rates of the places when they hold these masses: for an integrator."""
        self.state[self.layout.air : self.layout.store] = masses
        return self.ways()

    def run(self, masses: np.ndarray, *times: float) -> np.ndarray:
        """Masses (kg) of all places at instants (s)."""
        answer = solve_ivp(
            lambda t, y: self.places(y), (0.0, times[-1]), masses, t_eval=times, method="LSODA", rtol=1e-9, atol=1e-18
        )
        return answer.y.T


def plain_way(a: int, b: int, branch: int, **fields: float) -> np.recarray:
    """A level way of 10 cm2 that neither holds back nor lifts anything."""
    row = tables.rows(tables.AIR_WAY, 1)
    row.a, row.b, row.branch, row.area = a, b, branch, 1e-3
    for name, value in fields.items():
        row[name] = value
    return row


def stacked(*rows: np.recarray) -> np.recarray:
    """One table of these rows."""
    return np.concatenate(rows).view(np.recarray)


def pockets(**fields: float) -> np.recarray:
    """The places of layout C, none of them a dome unless `fields` say so of the second."""
    table = packed("layout_c").model.pocket.copy()
    table.held = 0.0
    for name, value in fields.items():
        table[name][1] = value
    return table


def volumes(bench: Bench) -> np.ndarray:
    """m3 of the lump of every place."""
    return bench.model.node.volume[bench.model.pocket.node]
