"""`simulate` owns time: one integration per stretch of the day, restarted at each jump, by scipy's `solve_ivp`."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.integrate import LSODA, OdeSolver, solve_ivp
from scipy.sparse import csc_matrix

from sim1d.core.handle import handle, kept_handle
from sim1d.core.limits import Limits, limit_margin
from sim1d.core.method import coefficients
from sim1d.core.model import Work, work_arrays
from sim1d.core.pace import SHARPER
from sim1d.core.rhs import derivative, flows
from sim1d.core.slopes import jacobian
from sim1d.core.solver import Kernels, LinearlyImplicit, Room, room
from sim1d.core.stride import Watched
from sim1d.cuts import Cut, Watch, stopped
from sim1d.errors import Outcome
from sim1d.pack import Packed, pack
from sim1d.prepare import prepared
from sim1d.stretches import Stretch

if TYPE_CHECKING:
    import xarray as xr

    from sim1d.arrays import Arrays
    from sim1d.car import Car
    from sim1d.day import Day

METHOD = coefficients()
Progress = Callable[[str, float, float], None]


class Accuracy(Enum):
    """How large the error of a step may be (`tolerances`). `LEFT` says what each leaves, docs/explanation/accuracy.md
    how that was measured."""

    COARSE = 3e-2
    NORMAL = 1.5e-2
    FINE = 1.2e-3


# K of peak metal and Pa of peak pressure by which a run at each setting differs from a converged one, at most, on the
# three example layouts (measured by benchmarks/bench_accuracy.py, held by tests/verification/test_accuracy.py)
LEFT = {Accuracy.COARSE: (1.5, 3e3), Accuracy.NORMAL: (0.5, 1e3), Accuracy.FINE: (0.2, 0.2e3)}


@dataclass
class History:
    """What the integration leaves: times (n), states (n, size), stretch of each time, outcome and counters."""

    packed: Packed
    times: np.ndarray = field(default_factory=lambda: np.empty(0))
    states: np.ndarray = field(default_factory=lambda: np.empty((0, 0)))
    stretch: np.ndarray = field(default_factory=lambda: np.empty(0, dtype=int))
    phases: list[np.ndarray] = field(default_factory=list)
    outcome: Outcome = Outcome.COMPLETED
    where: str = ""
    notes: list[str] = field(default_factory=list)
    cuts: list[dict[str, Any]] = field(default_factory=list)  # engine cuts that acted: sensor, time_s, round, phase ...
    evaluations: int = 0
    steps: int = 0
    conserves: bool = True  # by the project's stepper, which keeps linear sums; scipy's own keep them to tolerance
    numbers: list[int] = field(default_factory=list)  # stretch of the day that each kept phase row belongs to

    def ends(self, outcome: Outcome, where: str) -> None:
        """The run leaves the model."""
        self.outcome, self.where = outcome, where

    def cut_acts(self, cut: Cut, time: float, state: np.ndarray, stretch: Stretch) -> None:
        """Keep that a controller cut the engine."""
        shown = float(state[self.packed.model.layout.sensor + self.packed.sensors.index(cut.sensor)])
        self.cuts.append(
            dict(
                sensor=cut.sensor, time_s=time, round=stretch.round, phase=stretch.name, threshold=cut.threshold,
                reading=shown,
            )
        )  # fmt: skip
        self.notes.append(
            f"The cut on {cut.sensor} stopped the engine at {time:.1f} s, in {stretch.name} of round {stretch.round}; "
            "the belt pump stopped with it. A cut limits damage, it does not prevent it."
        )

    def stretch_of_day(self) -> np.ndarray:
        """Index (n) into `packed.stretches` of each time."""
        return np.array(self.numbers)[self.stretch]


def simulate(
    car: "Car", day: "Day", *, progress: Progress | None = None, accuracy: Accuracy = Accuracy.NORMAL,
    method: type[OdeSolver] | None = None,
) -> "xr.Dataset":  # fmt: skip
    """Simulate `day` on `car`: the dataset described in docs/reference/results.md (SI, every variable with its unit).

    `progress(phase, share of the day, simulated seconds)` is called after every stretch. `method` is a stiff method of
    scipy (`scipy.integrate.BDF`, `LSODA`, `Radau`) to use instead of the project's stepper, as an independent check.
    The run always ends with an outcome (`Outcome`), kept in the attributes, and raises only for a description that
    cannot be packed (`DescriptionError`).
    """
    return simulate_arrays(car, day, progress=progress, accuracy=accuracy, method=method).to_xarray()


def simulate_arrays(
    car: "Car", day: "Day", *, progress: Progress | None = None, accuracy: Accuracy = Accuracy.NORMAL,
    method: type[OdeSolver] | None = None,
) -> "Arrays":  # fmt: skip
    """The same as plain arrays, for commands, which have no need of xarray."""
    from sim1d.results import arrays

    found = arrays(integrate(prepared(car, day), progress=progress, accuracy=accuracy, method=method))
    if isinstance(accuracy, Accuracy):
        kelvin, pascal = LEFT[accuracy]
        found.attrs["accuracy"] = f"{accuracy.name}: {kelvin:g} K and {pascal / 1e3:g} kPa of the peaks at most"
    return found


def limits_of(packed: Packed) -> Limits:
    """What the car stands at most, for the kernels."""
    return Limits(
        packed.dry_void, packed.starved_volume, packed.melting, packed.freezing,
        np.asarray(packed.rated_node, dtype=np.int64), np.asarray(packed.rated_stop, dtype=float),
    )  # fmt: skip


LEVEL = 2.5e3  # Pa, times the setting: by how much a step may get the pressure level wrong (see `core.level_error`)


def tolerances(packed: Packed, setting: float) -> np.ndarray:
    """(size) error that a step may make in each state; scaled so that a `setting` of 1e-3 means about 0.1 K.

    Some are tighter, for what hangs on them is steep (measured: docs/explanation/accuracy.md): lift of a cap; the
    store, of which a gram out of a full circuit moves it by a kilopascal; gas where a cap or the tank ties it to the
    level; dry shares, which run away. Looser are the cells inside lines and cores, which only carry heat along. Lumps
    near boiling or at walls near drying, and gas in them, are tighter while they are (`core.pace`).
    """
    layout, model = packed.model.layout, packed.model
    r = setting / 1e-3
    heat = 500.0 * r  # J/kg: 0.12 K of coolant
    groups = (  # each from its first state to the next group's
        (layout.enthalpy, heat),
        (layout.enthalpy + len(model.network.junction), 3.0 * heat),  # inside lines and cores
        (layout.lag, 0.01 * r),
        (layout.metal, 0.12 * r),
        (layout.dry, 4e-4 * r),
        (layout.air, 1.2e-8 * r),
        (layout.store, 3e-6 * r),
        (layout.displaced, 2e-6 * r),  # m3: half a millilitre moves a surface by 0.05 mm
        (layout.dissolved, 1e-6 * r),
        (layout.lift, 1.5e-4 * r),
        (layout.lift + len(model.cap), 0.01 * r),
        (layout.sensor, 0.1 * r),
        (layout.ledger, 1e6),  # nothing depends on the ledgers
    )
    table = np.empty(layout.size)
    for begins, error in groups:
        table[begins:] = error
    system = model.system[0]
    # gas matters most where a cap or the tank ties it to the level; elsewhere by what its place can hold
    tied = table[layout.air]
    table[layout.air : layout.store] = r * np.minimum(7e-8, 1.5e-3 * model.node.volume[model.pocket.node])
    table[layout.air] = table[layout.air + model.cap.pocket] = tied
    table[layout.enthalpy + system.vessel] = heat * max(model.node[system.vessel].mass + system.store, 0.05)
    return table


def sharpest(packed: Packed, tolerance: np.ndarray) -> np.ndarray:
    """Tolerances for a method of scipy, which cannot sharpen them where it has to: sharp at all walls, all day.

    Of enthalpies two thirds: with all of it BDF loses its way in the soak and takes five times the steps (measured).
    """
    layout, face = packed.model.layout, packed.model.face
    found = np.maximum(tolerance, 1e-9)
    found[layout.enthalpy : layout.lag] *= 2.0 / 3.0
    found[layout.enthalpy + np.unique(face.node[face.dry >= 0])] *= SHARPER
    return found


@np.errstate(over="ignore", invalid="ignore")  # of a step too long, which is taken again
def integrate(
    packed: Packed, *, progress: Progress | None = None, accuracy: Accuracy = Accuracy.NORMAL,
    method: type[OdeSolver] | None = None, start: np.ndarray | None = None,
) -> History:  # fmt: skip
    """Integrate the packed day from its start state (or from `start`)."""
    run = Run(packed, accuracy.value, method, start)
    while run.waiting and run.history.outcome is Outcome.COMPLETED:
        number, stretch = run.waiting.pop()
        leg = run.begins(number, stretch) if stretch.phase_number != run.skip else None
        if leg is None:
            continue
        run.follows(leg)
        if progress is not None:
            progress(stretch.name, (number + 1) / len(packed.stretches), run.time)
    return run.ended()


class Leg:
    """A stretch as it is integrated: its row of the PHASE table, its end (s) and the events that are always watched."""

    __slots__ = ("number", "stretch", "kernels", "ends", "phase", "end", "rate")

    def __init__(self, number: int, stretch: Stretch, time: float, kernels: Kernels, ends: np.ndarray | None):
        self.number, self.stretch, self.kernels = number, stretch, kernels
        self.ends = ends  # times and margins to the limits that the project's stepper has found (`Record`)
        self.phase, self.end = stretch.row(time), time + stretch.duration
        self.rate: np.ndarray | None = None  # at the start, while it is known

    def derivative(self, t: float, y: np.ndarray) -> np.ndarray:
        """Rate of change of the state `y` at `t` s; not numbers where no flow was found."""
        rate = np.empty_like(y)
        if not derivative(t, np.ascontiguousarray(y), self.phase, self.kernels.model, self.kernels.work, rate):
            rate[:] = np.nan
        return rate

    def limit(self, t: float, y: np.ndarray) -> float:
        """Terminal event: the state leaves the range of the model."""
        if self.ends is not None:
            for time, margin in self.ends.tolist():
                if time == t:
                    return margin
        kernels, state = self.kernels, np.ascontiguousarray(y)
        derivative(t, state, self.phase, kernels.model, kernels.work, np.empty_like(state))
        return limit_margin(kernels.model, kernels.work, state, kernels.limits)[0]

    limit.terminal, limit.direction = True, -1  # type: ignore[attr-defined]

    def until(self, t: float, y: np.ndarray) -> float:
        """Terminal event: the temperature that ends the phase is reached."""
        assert self.stretch.until is not None  # only then it is watched
        node, sign, kelvin = self.stretch.until
        kernels = self.kernels
        # the project's stepper ends a step with the evaluation of its end: then `work` is of this instant already
        if kernels.arrays.level[3] != t or self.ends is None:
            flows(t, np.ascontiguousarray(y), self.phase, kernels.model, kernels.work)
        return sign * (kernels.arrays.temperature[node] - kelvin)

    until.terminal, until.direction = True, 1  # type: ignore[attr-defined]

    def when(self, time: float) -> str:
        """Where in the day `time` is, for a text."""
        return f"at {time:.1f} s, in {self.stretch.name}"


class Run:
    """One integration of a day: what stays the same over it, and how far it has come."""

    def __init__(self, packed: Packed, setting: float, method: type[OdeSolver] | None, start: np.ndarray | None):
        model, pattern, work = packed.model, packed.pattern, work_arrays(packed.model)
        tables = kept_handle(model), handle(work), kept_handle(pattern), kept_handle(METHOD)
        self.kernels = Kernels(*tables, handle(limits_of(packed)), work)
        self.packed, self.setting, self.method = packed, setting, method
        self.tolerance = tolerances(packed, setting)
        self.room = room(model, pattern, self.tolerance, LEVEL * setting)
        self.watches = [Watch(cut, model.layout.cut + k) for k, cut in enumerate(packed.cuts)]
        self.threshold = np.full(len(self.watches), np.nan)  # of each cut that is listened to, for the stepper
        self.watched = handle(Watched(-1, 0.0, 0.0, self.threshold))  # where no temperature ends the stretch
        self.history = History(packed, conserves=method is None)
        self.kept: list[tuple[np.ndarray, np.ndarray, int]] = []  # times, states, their row in `history.phases`
        self.waiting = list(enumerate(packed.stretches))[::-1]
        self.time, self.state = 0.0, (packed.start if start is None else start).copy()
        self.settled = start is not None  # whether the gauges show where they stand
        self.skip = self.cut_round = -1  # phase of which no more stretch is run; round in which the engine was cut
        self.launched, self.role = 0.0, ""  # s of the last launch; role of the stretch before

    def begins(self, number: int, stretch: Stretch) -> Leg | None:
        """Evaluate where a stretch begins; none where it ends there, by its temperature or because the run does."""
        time, state, kernels, history = self.time, self.state, self.kernels, self.history
        if stretch.round == self.cut_round and stretch.speed != (0.0, 0.0):
            stretch = replace(stretch, speed=(0.0, 0.0), load=(0.0, 0.0))
        if stretch.role == "pass" and self.role != "pass":
            self.launched = time
        self.role = stretch.role
        leg = Leg(number, stretch, time, kernels, self.room.record.ends if self.method is None else None)
        self.kept.append((np.array([time]), state[None, :], len(history.phases)))
        history.phases.append(leg.phase)
        history.numbers.append(number)
        rate = np.empty_like(state)
        if not derivative(time, state, leg.phase, kernels.model, kernels.work, rate):
            history.ends(Outcome.NETWORK_FAILED, leg.when(time))
            return None
        margin = limit_margin(kernels.model, kernels.work, state, kernels.limits)[0]
        if not self.settled:  # gauges have stood at their places all night; the rate is that of other gauges
            settle_gauges(self.packed, kernels.arrays, state)
            self.settled = True
        elif leg.ends is not None:
            leg.rate = rate
        if leg.ends is not None:
            leg.ends[0] = time, margin
        if margin <= 0.0:
            history.ends(*named_limit(self.packed, kernels, state, leg.when(time)))
            return None
        if stretch.until is not None and leg.until(time, state) >= 0.0:
            self.skip = stretch.phase_number
            return None
        return leg

    def follows(self, leg: Leg) -> None:
        """Integrate until the stretch ends, reaches its temperature, its engine is cut or the run leaves the model."""
        stretch, history, status = leg.stretch, self.history, 0
        listened: list[Watch] = []  # by these the last piece was followed: their crossings are events
        while self.time < leg.end:
            listened, bound = self.listens(leg, listened)
            if bound > self.time:
                status, happened = self.solves(leg, listened, bound)
                if status == -1:
                    history.ends(Outcome.STEP_FAILED, leg.when(self.time))
                    return
                if happened[0]:
                    flows(self.time, self.state, leg.phase, self.kernels.model, self.kernels.work)
                    history.ends(*named_limit(self.packed, self.kernels, self.state, leg.when(self.time)))
                    return
                if stretch.until is not None and happened[-1]:
                    self.skip = stretch.phase_number
                    return
                for watch, crossed in zip(listened, happened[1:], strict=False):
                    if crossed:
                        (watch.rises if watch.above_since is None else watch.falls)(self.time)
                        self.room.arrays.pace[2] = 0.0  # the next step is the least: it must get away from there
            acting = [watch for watch in listened if watch.acts_at is not None and self.time >= watch.acts_at]
            if acting:
                self.cuts_engine(leg, acting[0])
                break
        if status == 0 and stretch.until is not None and stretch.last and self.time >= leg.end:
            late = f"the end temperature was not reached within its {stretch.limit:.0f} s."
            history.notes.append(f"Round {stretch.round}, {stretch.name}: {late}")

    def listens(self, leg: Leg, listened: list[Watch]) -> tuple[list[Watch], float]:
        """The controllers that listen now, and the time (s) until which they alone do; `listened` did so before."""
        stretch, time, bound = leg.stretch, self.time, leg.end
        listening: list[Watch] = []
        self.threshold.fill(np.nan)
        if stretch.speed[0] <= 0.0 and stretch.speed[1] <= 0.0:  # there is no engine to cut
            return listening, bound
        for k, watch in enumerate(self.watches):
            free = self.launched + watch.cut.lockout if stretch.role == "pass" else time
            if time < free:
                watch.above_since = watch.acts_at = None
                bound = min(bound, free)
                continue
            if watch.above_since is None and watch not in listened and watch(time, self.state) >= 0.0:
                watch.rises(time)  # it is above from the start, or since the lock-out ended
            if watch.acts_at is not None:
                bound = min(bound, max(watch.acts_at, time))
            listening.append(watch)
            self.threshold[k] = watch.cut.threshold
        return listening, bound

    def solves(self, leg: Leg, listening: list[Watch], bound: float) -> tuple[int, list[bool]]:
        """Go on to `bound` (s) or the first event: status of `solve_ivp`, and which event happened.

        Events are the limits of the model, the controllers that listen and, where the stretch has one, its temperature.
        """
        until = leg.stretch.until
        events = [leg.limit, *listening] if until is None else [leg.limit, *listening, leg.until]
        log: list[tuple[np.ndarray, np.ndarray]] = []
        options: dict[str, Any]
        if self.method is None:
            rate = leg.derivative(self.time, self.state) if leg.rate is None else leg.rate
            options = dict(
                method=LinearlyImplicit, kernels=self.kernels, phase=leg.phase, room=self.room, rate=rate, log=log,
                watched=self.watched if until is None else Watched(*until, self.threshold),
            )  # fmt: skip
            leg.rate = None
        else:
            options = dict(
                method=self.method, rtol=self.setting, atol=sharpest(self.packed, self.tolerance),
                jac=stock_jacobian(self.packed, self.kernels, leg.phase, self.room, self.method is LSODA),
            )  # fmt: skip
        answer = solve_ivp(leg.derivative, (self.time, bound), self.state, events=events, **options)
        # by key: an attribute of it is looked for everywhere else first
        times, states, status, happened = answer["t"], answer["y"].T, answer["status"], answer["t_events"]
        if self.method is not None:
            log = [(times[1:], states[1:])]
        elif status == 1:  # an event cut the last stride short
            whole = [(t, y, int(t.searchsorted(times[-1]))) for t, y in log]
            log = [*((t[:n], y[:n]) for t, y, n in whole), (times[-1:], states[-1:])]
        row = len(self.history.phases) - 1
        for t, y in log:
            self.kept.append((t, y, row))
            self.history.steps += len(t)
        self.history.evaluations += answer["nfev"]
        self.time, self.state = float(times[-1]), states[-1].copy()
        return status, [len(found) > 0 for found in happened]

    def cuts_engine(self, leg: Leg, watch: Watch) -> None:
        """A controller acts: what is left of the stretch is run with the engine cut."""
        stretch = leg.stretch
        self.history.cut_acts(watch.cut, self.time, self.state, stretch)
        self.cut_round = stretch.round
        share = 1.0 - (leg.end - self.time) / stretch.duration
        speed = stretch.speed[0] + share * (stretch.speed[1] - stretch.speed[0])
        self.waiting.extend((leg.number, piece) for piece in reversed(stopped(stretch, share, speed)))
        for other in self.watches:
            other.above_since = other.acts_at = None

    def ended(self) -> History:
        """The history with all that was kept."""
        history = self.history
        history.times = np.concatenate([t for t, _, _ in self.kept])
        history.states = np.concatenate([y for _, y, _ in self.kept])
        history.stretch = np.repeat([row for _, _, row in self.kept], [len(t) for t, _, _ in self.kept])
        return history


def stock_jacobian(
    packed: Packed, kernels: Kernels, phase: Any, space: Room, dense: bool
) -> Callable[[float, np.ndarray], Any]:  # fmt: skip
    """Jacobian for a method of scipy's: sparse, flows and level frozen, as the project's own stepper uses it.

    Its errors cost a multistep method steps, not accuracy.
    """
    size, pattern, values = packed.model.layout.size, packed.pattern, space.arrays.values
    n = pattern.states  # entries among states
    rate = np.empty(size)

    def entries(t: float, y: np.ndarray) -> Any:
        state = np.ascontiguousarray(y)
        derivative(t, state, phase, kernels.model, kernels.work, rate)
        jacobian(t, state, phase, kernels.model, kernels.work, kernels.pattern, space.step, values)
        matrix = csc_matrix((values[:n], (pattern.rows[:n], pattern.columns[:n])), shape=(size, size))
        return matrix.toarray() if dense else matrix

    return entries


def settle_gauges(packed: Packed, work: Work, state: np.ndarray) -> None:
    """Let every pressure sensor, and every filter behind one, show its place as it is now. Needs `work` evaluated."""
    layout, sensor = packed.model.layout, packed.model.sensor
    steady = np.flatnonzero(sensor.pressure == 1)
    state[layout.sensor + steady] = work.sensed[steady]
    state[layout.cut : layout.ledger] = state[layout.sensor + packed.model.cut.sensor]


def named_limit(packed: Packed, kernels: Kernels, state: np.ndarray, when: str) -> tuple[Outcome, str]:
    """Outcome and place of the limit that stopped the run."""
    work = kernels.arrays
    _, which = limit_margin(kernels.model, kernels.work, state, kernels.limits)
    layout = packed.model.layout
    if which == 0:
        lag = int(np.argmax(state[layout.lag : layout.metal]))
        return Outcome.BOILED_OUT, f"in {packed.points[packed.model.lag[lag].node]}, {when}"
    if which == 1:
        fullest = int(np.argmax(work.gas[: len(packed.points)]))
        return Outcome.CIRCUIT_STARVED, f"most of it in {packed.points[fullest]}, {when}"
    if which == 2:
        part = int(np.argmin(1.0 - (work.absolute[packed.rated_node] - packed.ambient) / packed.rated_stop))
        return Outcome.OVER_PRESSURE, f"at {packed.rated_name[part]}, {when}"
    if which == 4:
        return Outcome.FROZEN, f"in {packed.points[int(np.argmin(work.temperature))]}, {when}"
    hottest = int(np.argmax(work.gas_surface[: len(packed.model.gas_face)]))
    return Outcome.MELTED, f"at cylinder {packed.cylinders[packed.model.gas_face[hottest].cylinder]}, {when}"


def warm_up(car: "Car | None" = None, day: "Day | None" = None, progress: Progress | None = None) -> float:
    """Compile the kernels (or load them from the cache) by simulating a second of a car; returns the seconds it took.

    Call it once in the parent before worker processes start, so that they all find the cache.
    """
    import time

    from sim1d.car import load_car
    from sim1d.day import load_day
    from sim1d.examples import example_path

    began = time.perf_counter()
    car = load_car(example_path("layout_a")) if car is None else car
    day = load_day(example_path("race_day")) if day is None else day
    packed = pack(car, day)
    first = replace(packed.stretches[0], duration=0.5, until=None)
    # bottom up, so that progress moves: every kernel stands on those before it
    work = work_arrays(packed.model)
    model, arrays = handle(packed.model), handle(work)
    rate, phase = np.empty_like(packed.start), first.row(0.0)
    stages: list[tuple[str, Callable[[], Any]]] = [
        ("the flow network", lambda: flows(0.0, packed.start, phase, model, arrays)),
        ("heat and boiling", lambda: derivative(0.0, packed.start, phase, model, arrays, rate)),
        ("the stepper", lambda: integrate(replace(packed, stretches=(first,)))),
    ]
    for number, (text, compile_it) in enumerate(stages):
        if progress is not None:
            progress(text, number / len(stages), 0.0)
        compile_it()
    from sim1d.results import observe

    observe(integrate(replace(packed, stretches=(first,))))
    return time.perf_counter() - began
