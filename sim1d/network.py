"""Networks made by hand: name junctions and branches, solve, read flows and pressures by name.

The same tables and kernels as a whole car (`sim1d.core.hydraulics`), without heat: for a bench test, a textbook
problem or a part of a layout. SI throughout; flows are volume flows unless they say mass.

>>> net = NetworkBuilder()
>>> net.junction("lower", z=0.0, pressure=0.0)
>>> net.junction("upper", z=10.0, pressure=0.0)
>>> net.resistance("pipe", "upper", "lower", quadratic=1.0e9)
>>> solution = net.solve(density=1000.0, viscosity=1.0e-3)
>>> round(solution.flow["pipe"], 6)  # sqrt(1000 * 9.80665 * 10 / 1e9)
0.009903
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim1d.core.handle import handle
from sim1d.core.hydraulics import CLOSE, network_tables, solve_flows, workspace
from sim1d.physics.hydrostatics import column_push
from sim1d.physics.orifices import creeping_constant, loss_of_discharge, thick_hole_loss
from sim1d.tables import BRANCH, JUNCTION, PUMP, STATION, rows

CIRCLE = math.pi / 4.0
Values = float | Mapping[str, float]


class NetworkError(ValueError):
    """A network that cannot be solved as drawn; the text says what is wrong."""


@dataclass(frozen=True)
class Motor:
    """Direct-current motor of an electric pump; the impeller's torque is `torque_constant` w^2 + `torque_slope` w Q."""

    constant: float  # V s = N m/A
    resistance: float  # ohm
    no_load_torque: float = 0.0  # N m
    drag: float = 0.0  # N m s


@dataclass(frozen=True)
class Solution:
    """Answer of a network; dictionaries by name."""

    flow: dict[str, float]  # branch: m3/s from its start to its end
    mass_flow: dict[str, float]  # branch: kg/s
    pressure: dict[str, float]  # junction: Pa, static, relative to the zero of the given pressures
    pump_speed: dict[str, float]  # pump branch: rad/s
    pump_power: dict[str, float]  # pump branch: W at the shaft
    pump_current: dict[str, float]  # pump branch: A (electric only, else 0)
    iterations: int

    def __getitem__(self, branch: str) -> float:
        """Volume flow (m3/s) of a branch."""
        return self.flow[branch]


class NetworkBuilder:
    """Junctions and branches by name. Every method returns nothing; `solve` may be called as often as wanted.

    At least one junction of every connected group needs a `pressure`. NetworkError for an unknown or repeated name.
    """

    def __init__(self) -> None:
        self._junctions: dict[str, dict[str, float]] = {}
        self._branches: dict[str, dict[str, Any]] = {}
        self._stations: list[tuple[str, str | None, str | None, float, float]] = []

    def junction(
        self, name: str, x: float = 0.0, z: float = 0.0, pressure: float | None = None, inflow: float = 0.0
    ) -> None:
        """A point where branches meet, `x` m rearward and `z` m up.

        `pressure` (Pa) fixes it (a tank, the open air: at its surface); `inflow` (m3/s) is supplied from outside,
        negative drawn off.
        """
        if name in self._junctions:
            raise NetworkError(f"junction {name} is there already")
        self._junctions[name] = dict(x=x, z=z, inflow=inflow, pressure=math.nan if pressure is None else pressure)

    def branch(
        self, name: str, start: str, end: str, *, diameter: float, length: float = 0.0, roughness: float = 0.0,
        loss: float = 0.0, loss_reverse: float | None = None, loss_diameter: float | None = None,
        area: float | None = None, count: float = 1.0, friction_multiplier: float = 1.0, laminar_constant: float = 64.0,
        creeping: float | None = None, push: float = 0.0,
    ) -> None:  # fmt: skip
        """A pipe or passage: wall friction over `length` and loss coefficients on the speed in its bore.

        `diameter` m hydraulic, `area` m2 of one path where it is not round, `count` equal parallel paths, `roughness`
        m, `loss` sum of loss coefficients (`loss_reverse` for flow from end to start) on the bore or on
        `loss_diameter` m; `laminar_constant` f Re of the laminar duct; `creeping` 1/m3 linear resistance over
        viscosity: left out, it is that of a hole of this bore where there is no length (Sampson 1891), else 0; `push`
        Pa, a constant rise that helps flow from start to end.
        """
        if creeping is None:
            creeping = creeping_constant(diameter, 0.0) if length == 0.0 else 0.0
        own = CIRCLE * diameter**2 if area is None else area
        self._add(
            name, start, end, push=push, diameter=diameter, length=length, roughness=roughness, k_forward=loss,
            k_reverse=loss if loss_reverse is None else loss_reverse, area=own, count=count, creeping=creeping,
            loss_area=own if loss_diameter is None else CIRCLE * loss_diameter**2,
            friction_multiplier=friction_multiplier, laminar_constant=laminar_constant,
        )  # fmt: skip

    def hole(
        self, name: str, start: str, end: str, *, diameter: float, thickness: float = 0.0, count: float = 1.0,
        discharge: float | None = None,
    ) -> None:  # fmt: skip
        """A hole between two large spaces: `diameter` and `thickness` m, `count` equal holes.

        `discharge` is its discharge coefficient; left out, by thickness over diameter (`orifices.thick_hole_loss`).
        Slow flow has its exact creeping limit.
        """
        loss = thick_hole_loss(thickness / diameter) if discharge is None else loss_of_discharge(discharge)
        self.branch(
            name, start, end, diameter=diameter, loss=loss, count=count, creeping=creeping_constant(diameter, thickness)
        )

    def resistance(
        self, name: str, start: str, end: str, *, quadratic: float = 0.0, linear: float = 0.0, push: float = 0.0
    ) -> None:  # fmt: skip
        """A part known by its curve alone: dp = linear Q + quadratic Q|Q|, Pa s/m3 and Pa s2/m6, at any density."""
        self._add(name, start, end, push=push, quadratic=quadratic, linear=linear, **UNIT_PATH)

    def pump(
        self, name: str, start: str, end: str, *, shutoff: float, quadratic: float, linear: float = 0.0,
        stopped: float | None = None, speed: float = 1.0, density: float = 1000.0, torque_constant: float = 0.0,
        torque_slope: float = 0.0, motor: Motor | None = None,
    ) -> None:  # fmt: skip
        """A pump: rise = shutoff - linear Q - quadratic Q|Q| (Pa, Pa s/m3, Pa s2/m6) at `speed` rad/s and `density`.

        It raises pressure from start to end. `stopped` (Pa s2/m6) is the resistance of the standing impeller; left out,
        `quadratic`. With a `motor` its speed follows from the voltage given to `solve`, else it is given there (left
        out: the curve's own).
        """
        row = dict(
            electric=0 if motor is None else 1, speed=speed, density=density, shutoff=shutoff, linear=linear,
            quadratic=quadratic, stopped=quadratic if stopped is None else stopped, torque_constant=torque_constant,
            torque_slope=torque_slope,
        )  # fmt: skip
        if motor is not None:
            row |= dict(
                motor_constant=motor.constant, resistance=motor.resistance, no_load_torque=motor.no_load_torque,
                drag=motor.drag,
            )  # fmt: skip
        self._add(name, start, end, pump=row, **UNIT_PATH)

    def momentum(self, branch: str, before: str | None, after: str | None, *, theta: float, diameter: float) -> None:
        """Let the gallery branch `branch` carry the change of momentum between its two ends.

        `before` and `after` are the gallery branches that go on at its start and end (None: dead end);
        p_end - p_start = -theta rho/2 (W_end^2 - W_start^2) with the gallery bore `diameter` m.
        """
        self._stations.append((branch, before, after, theta, CIRCLE * diameter**2))

    def solve(
        self, density: Values, viscosity: Values, *, speed: Mapping[str, float] | None = None,
        voltage: Mapping[str, float] | None = None, opening: Mapping[str, float] | None = None,
        acceleration: float = 0.0, start: Mapping[str, float] | None = None, inflow_density: float | None = None,
    ) -> Solution:  # fmt: skip
        """Flows and pressures.

        `density` kg/m3 and `viscosity` Pa s, one value or one per branch; `speed` rad/s and `voltage` V by pump;
        `opening` multiplies the loss coefficients of a branch (1 fully open); `acceleration` m/s2 of the whole network,
        positive when it speeds up forwards; `start` m3/s by branch is where the search begins (changes no answer);
        `inflow_density` kg/m3 of what is supplied, where `density` differs from branch to branch. NetworkError when the
        network is drawn wrongly or no solution was found.
        """
        names = list(self._branches)
        index = {name: j for j, name in enumerate(self._junctions)}
        rho, mu = self._by_branch(density, "density"), self._by_branch(viscosity, "viscosity")
        supply = inflow_density
        if supply is None and not isinstance(density, Mapping):
            supply = float(density)
        junction = rows(JUNCTION, len(index))
        for j, point in enumerate(self._junctions.values()):
            if point["inflow"] != 0.0 and supply is None:
                raise NetworkError("inflow needs inflow_density when density differs from branch to branch")
            fixed = math.isfinite(point["pressure"])
            level = point["pressure"] if fixed else 0.0
            junction[j] = (point["x"], point["z"], point["inflow"] * (supply or 0.0), fixed, level)
        branch, pump, state, drive = self._rows(index, rho, mu, speed or {}, voltage or {}, acceleration)
        try:
            network = network_tables(branch, junction, pump, self._station_rows(names))
        except ValueError as error:
            raise NetworkError(self._named(str(error))) from None
        flow = np.array([(start or {}).get(name, 1e-4) for name in names]) * rho
        out = [np.zeros(len(pump)) for _ in range(3)]
        pressure = np.zeros(len(junction))
        wide = np.array([(opening or {}).get(name, 1.0) for name in names])
        converged, iterations, residual = solve_flows(
            handle(network), rho, mu, drive, state, np.ones(len(pump)), wide, flow, pressure, *out, CLOSE,
            handle(workspace(network)),
        )  # fmt: skip
        if not converged:
            raise NetworkError(f"no solution found after {iterations} iterations (last step {residual:.1e})")
        with_pump = [name for name in names if "pump" in self._branches[name]]
        speeds, powers, currents = (dict(zip(with_pump, values.tolist(), strict=True)) for values in out)
        return Solution(
            dict(zip(names, (flow / rho).tolist(), strict=True)), dict(zip(names, flow.tolist(), strict=True)),
            dict(zip(index, pressure.tolist(), strict=True)), speeds, powers, currents, int(iterations),
        )  # fmt: skip

    def _named(self, text: str) -> str:
        """The sentence of the tables with names for its row numbers."""
        junctions, branches = list(self._junctions), list(self._branches)
        text = re.sub(r"\bbranch (\d+)", lambda found: f"branch {branches[int(found[1])]}", text)
        numbers = re.search(r"junctions \[([\d, ]+)\]", text)
        if numbers:
            named = ", ".join(junctions[int(number)] for number in numbers[1].split(","))
            text = text.replace(numbers[0], f"junctions {named}")
        return text

    def _add(self, name: str, start: str, end: str, **fields: Any) -> None:
        if name in self._branches:
            raise NetworkError(f"branch {name} is there already")
        for point in (start, end):
            if point not in self._junctions:
                raise NetworkError(f"branch {name}: there is no junction {point}")
        self._branches[name] = dict(start=start, end=end, **fields)

    def _by_branch(self, values: Values, what: str) -> np.ndarray:
        if not isinstance(values, Mapping):
            return np.full(len(self._branches), float(values))
        missing = [name for name in self._branches if name not in values]
        if missing:
            raise NetworkError(f"no {what} is given for {missing}")
        return np.array([float(values[name]) for name in self._branches])

    def _rows(
        self, index: dict[str, int], rho: np.ndarray, mu: np.ndarray, speed: Mapping[str, float],
        voltage: Mapping[str, float], acceleration: float,
    ) -> tuple[np.recarray, np.recarray, np.ndarray, np.ndarray]:  # fmt: skip
        """BRANCH and PUMP rows, the state of every pump and the drive of every branch."""
        branch = rows(BRANCH, len(self._branches))
        drive = np.zeros(len(branch))
        pumps: list[dict[str, float]] = []
        states: list[float] = []
        for b, (name, given) in enumerate(self._branches.items()):
            fields = dict(given)
            one, two = self._junctions[fields["start"]], self._junctions[fields["end"]]
            drive[b] = fields.pop("push", 0.0)
            drive[b] += column_push(rho[b], two["z"] - one["z"], two["x"] - one["x"], acceleration)
            row = branch[b]
            row.start, row.end = index[fields.pop("start")], index[fields.pop("end")]
            if "pump" in fields:
                pump = fields.pop("pump")
                row.pump = len(pumps)
                pumps.append(pump)
                if pump["electric"]:
                    if name not in voltage:
                        raise NetworkError(f"no voltage is given for {name}")
                    states.append(voltage[name])
                else:
                    states.append(speed.get(name, pump["speed"]))
            if "quadratic" in fields:  # the kernel's coefficients on its unit path
                fields["k_forward"] = fields["k_reverse"] = 2.0 * fields.pop("quadratic") / rho[b]
                fields["creeping"] = fields.pop("linear") / mu[b]
            for field, value in fields.items():
                row[field] = value
        table = rows(PUMP, len(pumps))
        for p, fields in enumerate(pumps):
            for field, value in fields.items():
                table[p][field] = value
        return branch, table, np.array(states, dtype=float), drive

    def _station_rows(self, names: list[str]) -> np.recarray:
        """STATION rows."""
        where = {name: b for b, name in enumerate(names)}
        table = rows(STATION, len(self._stations))
        for s, (at, before, after, theta, area) in enumerate(self._stations):
            unknown = [name for name in (at, before, after) if name is not None and name not in where]
            if unknown:
                raise NetworkError(f"momentum of {at}: there is no branch {unknown[0]}")
            ends = [-1 if name is None else where[name] for name in (before, after)]
            table[s] = (where[at], *ends, theta, area)
        return table


# a path of 1 m2 on which the kernel's loss law reads dp = k rho Q|Q|/2 + creeping mu Q
UNIT_PATH = dict(
    diameter=1.0, area=1.0, loss_area=1.0, count=1.0, friction_multiplier=1.0, laminar_constant=64.0
)  # fmt: skip
