"""The flows of the slow twin: all branch and junction equations at once, dense, by damped Newton with differences."""

import numpy as np
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu

from .naive_laws import branch_loss, motor_speed, pump_rise


class Flows:
    """The equations of one moment. Unknowns: mass flow of every branch (kg/s), pressure of every junction (Pa)."""

    def __init__(self, network, density, viscosity, drive, opening, belt_speed, voltage, grip):
        self.branch, self.junction = network.branch, network.junction
        self.pump, self.station = network.pump, network.station
        self.density, self.viscosity, self.drive, self.opening = density, viscosity, drive, opening
        self.belt_speed, self.voltage, self.grip = belt_speed, voltage, grip
        self.signs = [self.along(s) for s in self.station]

    def speed(self, row: int, q: float, density_ratio: float) -> float:
        """Shaft speed (rad/s) of a pump at volume flow q."""
        pump = self.pump[row]
        if pump.electric:
            return motor_speed(pump, self.voltage, q, density_ratio)
        return self.belt_speed[row]

    def own(self, i: int, w: float) -> float:
        """Loss less pump rise (Pa) of branch i at mass flow w."""
        row, rho = self.branch[i], self.density[i]
        loss = branch_loss(row, w, rho, self.viscosity[i], self.opening[i])
        if row.pump >= 0:
            pump = self.pump[row.pump]
            ratio = rho / pump.density
            loss -= pump_rise(pump, w / rho, self.speed(row.pump, w / rho, ratio), ratio, self.grip[row.pump])
        return loss

    def along(self, s: np.record) -> tuple[float, float]:
        """Signs with which the flows before and after a station run in the direction of its own branch.

        An outlet is drawn from the gallery outwards, whichever end of the gallery it leaves: one before the station
        that starts at the station's start runs against it.
        """
        here = self.branch[s.branch]
        before = -1.0 if s.before >= 0 and self.branch[s.before].start == here.start else 1.0
        after = -1.0 if s.after >= 0 and self.branch[s.after].end == here.end else 1.0
        return before, after

    def momentum(self, w: np.ndarray) -> np.ndarray:
        """p_end - p_start (Pa) that the change of momentum along galleries adds to each branch.

        The law holds for one density: all three flows count with that of the station's own branch; 0 at a dead end.
        """
        added = np.zeros(len(self.branch))
        for s, (before, after) in zip(self.station, self.signs, strict=True):
            rho = self.density[s.branch]
            w_before = before * w[s.before] if s.before >= 0 else 0.0
            w_after = after * w[s.after] if s.after >= 0 else 0.0
            start = (w_before + w[s.branch]) / 2.0 / (rho * s.area)
            end = (w[s.branch] + w_after) / 2.0 / (rho * s.area)
            added[s.branch] -= s.theta * rho / 2.0 * (end**2 - start**2)
        return added

    def residual(self, x: np.ndarray, share: float) -> np.ndarray:
        """p_start + drive + momentum - (loss - rise) - p_end per branch; sum of flows (or given p) per junction."""
        n = len(self.branch)
        w, p = x[:n], x[n:]
        out = np.zeros(len(x))
        momentum = share * self.momentum(w)
        for i, row in enumerate(self.branch):
            out[i] = p[row.start] + self.drive[i] + momentum[i] - self.own(i, w[i]) - p[row.end]
            out[n + row.start] -= w[i]
            out[n + row.end] += w[i]
        for j, row in enumerate(self.junction):
            out[n + j] = p[j] - row.pressure if row.fixed else out[n + j] + row.inflow
        return out

    def jacobian(self, x: np.ndarray, share: float) -> np.ndarray:
        """d(residual)/dx: laws of branches and momentum by central differences, the rest is 0, 1 and -1."""
        n = len(self.branch)
        w = x[:n]
        out = np.zeros((len(x), len(x)))
        for i, row in enumerate(self.branch):
            d = 1e-6 * abs(w[i]) + 1e-9
            out[i, i] = -(self.own(i, w[i] + d) - self.own(i, w[i] - d)) / (2.0 * d)
            out[i, n + row.start] += 1.0
            out[i, n + row.end] -= 1.0
            if not self.junction[row.start].fixed:
                out[n + row.start, i] -= 1.0
            if not self.junction[row.end].fixed:
                out[n + row.end, i] += 1.0
        for j, row in enumerate(self.junction):
            if row.fixed:
                out[n + j, n + j] = 1.0
        members = sorted({int(b) for s in self.station for b in (s.branch, s.before, s.after) if b >= 0})
        for k in members if share > 0.0 else []:
            up, down = w.copy(), w.copy()
            d = 1e-6 * abs(w[k]) + 1e-9
            up[k], down[k] = w[k] + d, w[k] - d
            out[:n, k] += share * (self.momentum(up) - self.momentum(down)) / (2.0 * d)
        return out


def newton(flows: Flows, x: np.ndarray, share: float) -> np.ndarray:
    """Damped Newton until the flows move by rounding only. `share` (0 to 1) of the gallery momentum is felt.

    The size of a residual counts pressures in units of 1 Pa and flows in units of 1 mg/s.
    """
    n = len(flows.branch)
    scale = np.concatenate([np.full(n, 1.0), np.full(len(x) - n, 1e-6)])
    residual = flows.residual(x, share)
    for _ in range(200):
        # the matrix is written full; it is only factored as sparse, which no thread of a busy machine can slow down
        move = splu(csc_matrix(flows.jacobian(x, share))).solve(-residual)
        now, size = np.linalg.norm(residual / scale), 1.0
        while size > 1e-6:
            trial = flows.residual(x + size * move, share)
            if np.linalg.norm(trial / scale) <= (1.0 - 1e-4 * size) * now:
                break
            size /= 2.0
        else:  # no step makes it smaller: rounding is reached, or no answer is
            if now < 1e-5:
                return x
            raise ArithmeticError("the flows did not settle")
        x, residual = x + size * move, trial
        if np.all(np.abs(move[:n]) <= 1e-12 * np.abs(x[:n]) + 1e-14):
            return x
    raise ArithmeticError("the flows did not settle in 200 steps")


def solve(flows: Flows, guess: np.ndarray | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Mass flows (kg/s) and junction pressures (Pa above the ground), from nothing or from a guess of the flows.

    Without gallery momentum every law rises with flow, so the answer is one and Newton from nothing finds it; with
    momentum the search starts there.
    """
    n = len(flows.branch)
    x = np.zeros(n + len(flows.junction))
    if guess is not None:
        x[:n] = guess
    x = newton(flows, x, 0.0)
    if len(flows.station):
        x = newton(flows, x, 1.0)
    return x[:n], x[n:]
