"""What the flow carries along a hose: the cells of the kernel `carry` against translation and against mixed tanks."""

from collections.abc import Callable

import numpy as np
from scipy.integrate import solve_ivp
from scipy.special import gammainc

from sim1d import tables
from sim1d.core.coolant import carry
from sim1d.core.radiator import ambient_losses
from tests.verification.bare import bare, chain, prepared
from tests.verification.ladder import Ladder, doubled

PART = "hoses (`carry`, `ambient_losses`: donor cells)"
FLOW, MASS, SPECIFIC = 0.5, 1.3, 4200.0  # kg/s, kg of coolant in the hose, J/(kg K)
DELAY = MASS / FLOW  # s
COLD, HOT = 300.0, 360.0  # K
Inlet = Callable[[float], float]


class Hose:
    """A hose of `cells` lumps with a steady flow; temperatures stand for enthalpies by one specific heat."""

    def __init__(self, cells: int, loss: float = 0.0) -> None:
        node = tables.rows(tables.NODE, cells + 2)
        node.mass = MASS / cells
        node.ambient[2:] = loss / cells
        metal = tables.rows(tables.METAL, 0)
        self.model = bare(network=chain(cells), node=node, metal=metal, lag=tables.rows(tables.LAG, 0))
        self.cells, self.handles = cells, prepared(self.model)
        self.handles[2].flow[:] = FLOW

    def rate(self, inlet: float, temperature: np.ndarray) -> np.ndarray:
        """Rate of every cell (K/s) with `inlet` K flowing in."""
        model, work, arrays = self.handles
        arrays.temperature[:] = inlet
        arrays.temperature[2 : self.cells + 2] = temperature
        arrays.enthalpy[:] = SPECIFIC * arrays.temperature
        arrays.power[:] = 0.0
        carry(model, work)
        ambient_losses(model, work, np.zeros(self.model.layout.size), 0.0)
        return arrays.power[2 : self.cells + 2] / (MASS / self.cells * SPECIFIC)

    def outlet(self, inlet: Inlet, times: np.ndarray) -> np.ndarray:
        """What leaves (K) at `times`, cold at the start; integrated to 1e-9, so that the cells' error is left."""
        answer = solve_ivp(
            lambda t, y: self.rate(inlet(t), y), (0.0, times[-1]), np.full(self.cells, COLD), t_eval=times,
            method="DOP853", rtol=1e-10, atol=1e-9, max_step=0.2 * DELAY,
        )  # fmt: skip
        return answer.y[-1]


def front(time: float) -> float:
    """Hot coolant from t = 0 on."""
    return HOT if time >= 0.0 else COLD


def wave(time: float) -> float:
    """A smooth pulse, half a delay wide at half height; 7e-6 K of it are there at t = 0."""
    return COLD + (HOT - COLD) * float(np.exp(-(((time - 1.2 * DELAY) / (0.3 * DELAY)) ** 2)))


def against_tanks(cells: int) -> float:
    """Largest error (K) of a front against so many mixed tanks in series: the gamma distribution P(n, n t/delay)."""
    times = np.linspace(0.2, 2.0, 19) * DELAY
    exact = COLD + (HOT - COLD) * gammainc(cells, cells * times / DELAY)
    return float(np.abs(Hose(cells).outlet(front, times) - exact).max())


def smooth(cells: int) -> float:
    """Largest error (K) of a smooth pulse against its translation by the delay."""
    times = np.linspace(1.0, 3.6, 131) * DELAY
    exact = np.array([wave(t - DELAY) for t in times])
    return float(np.abs(Hose(cells).outlet(wave, times) - exact).max())


def front_area(cells: int) -> float:
    """Area between the smeared and the true front over that of the hose's own content (1)."""
    times = np.linspace(0.0, 3.0, 3001) * DELAY
    exact = np.array([front(t - DELAY) for t in times])
    return float(np.trapezoid(np.abs(Hose(cells).outlet(front, times) - exact), times) / ((HOT - COLD) * DELAY))


def wall_loss(cells: int) -> float:
    """Error (K) of the steady outlet of a hose that loses one transfer unit to the air, against e^-1."""
    hose = Hose(cells, loss=FLOW * SPECIFIC)
    air = float(hose.model.system[0].ambient_temperature)
    base = hose.rate(HOT, np.full(cells, air))
    matrix = np.array([hose.rate(HOT, air + one) - base for one in np.eye(cells)]).T
    steady = air - np.linalg.solve(matrix, base)
    return abs(float(steady[-1]) - (air + (HOT - air) * float(np.exp(-1.0))))


def ladders(full: bool) -> list[Ladder]:
    """All ladders of hoses; fewer and coarser grids where not `full`."""
    few, sizes = (1, 2, 6, 24), doubled(32, 5)
    fronts, losses = doubled(6, 6 if full else 4), doubled(6, 6 if full else 5)
    return [
        Ladder(
            PART, "a front", "as many mixed tanks in series: gamma distribution", "K", few,
            tuple(against_tanks(n) for n in few), None, exact=1e-6,
        ),
        Ladder(
            PART, "a smooth pulse, worst instant", "translation by the delay", "K", sizes,
            tuple(smooth(n) for n in sizes), 1.0,
        ),
        Ladder(
            PART, "a front, area between smeared and true", "translation by the delay", "1", fronts,
            tuple(front_area(n) for n in fronts), 0.5,
            remark="A monotone scheme of order 1 keeps order 1/2 at a jump (Kuznetsov 1976, recalled): the smeared "
            "length is the root of hose length times cell. At the instant of the front itself nothing converges.",
        ),
        Ladder(
            PART, "steady loss to the air, one transfer unit", "exp(-UA/(m cp))", "K", losses,
            tuple(wall_loss(n) for n in losses), 1.0,
        ),
    ]  # fmt: skip
