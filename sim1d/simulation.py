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
from sim1d.core.model import Work, work_arrays
from sim1d.core.pace import SHARPER
from sim1d.core.rhs import derivative, flows
from sim1d.core.slopes import jacobian
from sim1d.core.solver import Kernels, LinearlyImplicit, Room, room
from sim1d.core.stepper import coefficients
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

    COARSE = 2.5e-2
    NORMAL = 8.5e-3
    FINE = 1.2e-3


# K of peak metal and Pa of peak pressure by which a run at each setting differs from a converged one, at most, on the
# three example layouts (measured by benchmarks/bench_accuracy.py, held by tests/verification/test_accuracy.py)
LEFT = {Accuracy.COARSE: (1.5, 3e3), Accuracy.NORMAL: (0.5, 1e3), Accuracy.FINE: (0.1, 0.2e3)}


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


def tolerances(packed: Packed, setting: float) -> np.ndarray:
    """(size) error that a step may make in each state; scaled so that a `setting` of 1e-3 means about 0.1 K.

    Some are tighter, for what hangs on them is steep (measured: docs/explanation/accuracy.md): lift of a cap; the
    store, of which a gram out of a full circuit moves it by a kilopascal; the gas in a place, of which a few milligrams
    dry a wall; dry shares, which run away. Looser are the cells inside lines and cores, which only carry heat along.
    Lumps near boiling or at walls near drying are tighter while they are (`core.pace`).
    """
    layout, model = packed.model.layout, packed.model
    r = setting / 1e-3
    heat = 300.0 * r  # J/kg: 0.07 K of coolant
    table = np.empty(layout.size)
    table[layout.enthalpy : layout.lag] = heat
    inside = layout.enthalpy + len(model.network.junction)
    table[inside : layout.lag] = 3.0 * heat
    system = model.system[0]
    table[layout.enthalpy + system.vessel] = heat * max(model.node[system.vessel].mass + system.store, 0.05)
    table[layout.lag : layout.metal] = 0.01 * r
    table[layout.metal : layout.dry] = 0.1 * r
    table[layout.dry : layout.air] = 5e-4 * r
    table[layout.air : layout.store] = 1e-8 * r
    table[layout.store : layout.displaced] = 3e-6 * r
    table[layout.displaced : layout.dissolved] = 2e-6 * r  # m3: half a millilitre moves a surface by 0.05 mm
    table[layout.dissolved : layout.lift] = 1e-6 * r
    table[layout.lift : layout.sensor] = 0.01 * r
    table[layout.lift : layout.lift + len(model.cap)] = 3e-4 * r
    table[layout.sensor : layout.ledger] = 0.1 * r
    table[layout.ledger :] = 1e6  # nothing depends on the ledgers
    return table


def sharpest(packed: Packed, tolerance: np.ndarray) -> np.ndarray:
    """Tolerances for a method of scipy, which cannot sharpen them where it has to: sharp at all walls, all day."""
    layout, face = packed.model.layout, packed.model.face
    found = np.maximum(tolerance, 1e-9)
    found[layout.enthalpy + np.unique(face.node[face.dry >= 0])] *= SHARPER
    return found


@np.errstate(over="ignore", invalid="ignore")  # of a step too long, which is taken again
def integrate(
    packed: Packed, *, progress: Progress | None = None, accuracy: Accuracy = Accuracy.NORMAL,
    method: type[OdeSolver] | None = None, start: np.ndarray | None = None,
) -> History:  # fmt: skip
    """Integrate the packed day from its start state (or from `start`)."""
    model, pattern = packed.model, packed.pattern
    arrays = work_arrays(model)
    kernels = Kernels(
        kept_handle(model), handle(arrays), kept_handle(pattern), kept_handle(METHOD), handle(limits_of(packed)), arrays
    )
    tolerance = tolerances(packed, accuracy.value)
    state = (packed.start if start is None else start).copy()
    history = History(packed, conserves=method is None)
    watches = [Watch(cut) for cut in packed.cuts]
    time = 0.0
    kept: list[tuple[np.ndarray, np.ndarray, int]] = []  # times, states, and the row in `history.phases` they belong to
    space = room(model, pattern, tolerance)
    skip = -1
    cut_round = -1
    waiting = list(enumerate(packed.stretches))[::-1]
    launched = 0.0
    last_role = ""
    while waiting:
        number, stretch = waiting.pop()
        if stretch.phase_number == skip:
            continue
        if stretch.round == cut_round and stretch.speed != (0.0, 0.0):
            stretch = replace(stretch, speed=(0.0, 0.0), load=(0.0, 0.0))
        if stretch.role == "pass" and last_role != "pass":
            launched = time
        last_role = stretch.role
        phase = stretch.row(time)
        rate = np.empty_like(state)

        def fun(t: float, y: np.ndarray, phase: Any = phase) -> np.ndarray:
            out = np.empty_like(y)
            if not derivative(t, np.ascontiguousarray(y), phase, kernels.model, kernels.work, out):
                out[:] = np.nan
            return out

        end = time + stretch.duration
        row = len(history.phases)
        kept.append((np.array([time]), state[None, :].copy(), row))
        history.phases.append(phase)
        history.numbers.append(number)
        if not derivative(time, state, phase, kernels.model, kernels.work, rate):
            history.ends(Outcome.NETWORK_FAILED, f"at {time:.1f} s, in {stretch.name}")
            break
        first_rate: np.ndarray | None = rate
        if start is None and row == 0:  # gauges have stood at their places all night
            settle_gauges(packed, arrays, state)
            kept[-1][1][0] = state
            first_rate = None  # that of other gauges
        if limit_margin(kernels.model, kernels.work, state, kernels.limits)[0] <= 0.0:
            history.ends(*named_limit(packed, kernels, state, time, stretch))
            break
        until = until_event(kernels, phase, stretch, method is None) if stretch.until is not None else None
        if until is not None and until(time, state) >= 0.0:
            skip = stretch.phase_number
            continue
        if method is None:
            log: list[tuple[np.ndarray, np.ndarray]] = []
            options: dict[str, Any] = dict(method=LinearlyImplicit, kernels=kernels, phase=phase, room=space, log=log)
        else:
            options = dict(
                method=method, rtol=accuracy.value, atol=sharpest(packed, tolerance),
                jac=stock_jacobian(packed, kernels, phase, space, method is LSODA),
            )  # fmt: skip
        running = stretch.speed[0] > 0.0 or stretch.speed[1] > 0.0
        answer = None
        listened: list[Watch] = []  # by these the last piece was followed: their crossings are events
        while time < end:
            bound = end
            events = [limit_event(kernels, phase, method is None)]
            listening = []
            threshold = np.full(len(watches), np.nan)
            for k, watch in enumerate(watches if running else []):
                free = launched + watch.cut.lockout if stretch.role == "pass" else time
                if time < free:
                    watch.above_since = watch.acts_at = None
                    bound = min(bound, free)
                    continue
                fell = answer is not None and watch in listened
                if watch.above_since is None and not fell and state[model.layout.cut + k] >= watch.cut.threshold:
                    watch.rises(time)  # it is above from the start, or since the lock-out ended
                if watch.acts_at is not None:
                    bound = min(bound, max(watch.acts_at, time))
                events.append(cut_event(packed, k, watch))
                listening.append(watch)
                threshold[k] = watch.cut.threshold
            if until is not None:
                events.append(until)
            if bound > time:
                if method is None:
                    log.clear()
                    options["watched"] = Watched(*(stretch.until or (-1, 0.0, 0.0)), threshold)
                    options["rate"] = fun(time, state) if first_rate is None else first_rate
                    first_rate = None
                answer = solve_ivp(fun, (time, bound), state, events=events, **options)
                history.evaluations += answer.nfev
                ends = [(answer.t[1:], answer.y.T[1:])]
                if method is None:  # all steps of all strides but the last's end, which may be cut short by an event
                    before = [(t, y, int(t.searchsorted(answer.t[-1]))) for t, y in log]
                    ends = [*((t[:n], y[:n]) for t, y, n in before), (answer.t[-1:], answer.y.T[-1:])]
                kept.extend((t, y, row) for t, y in ends if len(t))
                history.steps += sum(len(t) for t, _ in ends)
                time, state = float(answer.t[-1]), answer.y[:, -1].copy()
                if answer.status == -1 or len(answer.t_events[0]):
                    break
                if until is not None and len(answer.t_events[-1]):
                    break
                for j, watch in enumerate(listening):
                    if len(answer.t_events[1 + j]):
                        (watch.rises if watch.above_since is None else watch.falls)(time)
                        space.arrays.pace[2] = 0.0  # the next step is the least: it must get away from the threshold
            listened = listening
            acting = [watch for watch in listening if watch.acts_at is not None and time >= watch.acts_at]
            if acting:
                history.cut_acts(acting[0].cut, time, state, stretch)
                cut_round = stretch.round
                share = 1.0 - (end - time) / stretch.duration
                speed = stretch.speed[0] + share * (stretch.speed[1] - stretch.speed[0])
                waiting.extend((number, piece) for piece in reversed(stopped(stretch, share, speed)))
                for watch in watches:
                    watch.above_since = watch.acts_at = None
                break
        if progress is not None:
            progress(stretch.name, (number + 1) / len(packed.stretches), time)
        if answer is None or answer.status == 0:
            if stretch.until is not None and stretch.last and time >= end:
                late = f"the end temperature was not reached within its {stretch.limit:.0f} s."
                history.notes.append(f"Round {stretch.round}, {stretch.name}: {late}")
        elif answer.status == -1:
            history.ends(Outcome.STEP_FAILED, f"at {time:.1f} s, in {stretch.name}")
            break
        elif len(answer.t_events[0]):
            flows(time, state, phase, kernels.model, kernels.work)
            history.ends(*named_limit(packed, kernels, state, time, stretch))
            break
        elif until is not None and len(answer.t_events[-1]):
            skip = stretch.phase_number
    history.times = np.concatenate([t for t, _, _ in kept])
    history.states = np.concatenate([y for _, y, _ in kept])
    history.stretch = np.repeat([row for _, _, row in kept], [len(t) for t, _, _ in kept])
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


def limit_event(kernels: Kernels, phase: Any, stepped: bool) -> Callable[[float, np.ndarray], float]:
    """Terminal event: the state leaves the range of the model."""

    def event(t: float, y: np.ndarray) -> float:
        state = np.ascontiguousarray(y)
        # the project's stepper ends a step with the evaluation of its end: then `work` is of this instant already
        if kernels.arrays.level[3] != t or not stepped:
            derivative(t, state, phase, kernels.model, kernels.work, np.empty_like(state))
        return limit_margin(kernels.model, kernels.work, state, kernels.limits)[0]

    event.terminal = True  # type: ignore[attr-defined]
    event.direction = -1  # type: ignore[attr-defined]
    return event


def settle_gauges(packed: Packed, work: Work, state: np.ndarray) -> None:
    """Let every pressure sensor, and every filter behind one, show its place as it is now. Needs `work` evaluated."""
    layout, sensor = packed.model.layout, packed.model.sensor
    steady = np.flatnonzero(sensor.pressure == 1)
    state[layout.sensor + steady] = work.sensed[steady]
    state[layout.cut : layout.ledger] = state[layout.sensor + packed.model.cut.sensor]


def cut_event(packed: Packed, k: int, watch: Watch) -> Callable[[float, np.ndarray], float]:
    """Terminal event: the filtered reading of cut `k` crosses its threshold, upwards or, once above, downwards."""
    place = packed.model.layout.cut + k

    def event(t: float, y: np.ndarray) -> float:
        return float(y[place]) - watch.cut.threshold

    event.terminal = True  # type: ignore[attr-defined]
    event.direction = 1 if watch.above_since is None else -1  # type: ignore[attr-defined]
    return event


def until_event(
    kernels: Kernels, phase: Any, stretch: Stretch, stepped: bool
) -> Callable[[float, np.ndarray], float]:  # fmt: skip
    """Terminal event: the temperature that ends the phase is reached."""
    assert stretch.until is not None
    node, sign, kelvin = stretch.until

    def event(t: float, y: np.ndarray) -> float:
        if kernels.arrays.level[3] != t or not stepped:
            flows(t, np.ascontiguousarray(y), phase, kernels.model, kernels.work)
        return sign * (kernels.arrays.temperature[node] - kelvin)

    event.terminal = True  # type: ignore[attr-defined]
    event.direction = 1  # type: ignore[attr-defined]
    return event


def named_limit(
    packed: Packed, kernels: Kernels, state: np.ndarray, time: float, stretch: Stretch
) -> tuple[Outcome, str]:  # fmt: skip
    """Outcome and place of the limit that stopped the run."""
    work = kernels.arrays
    _, which = limit_margin(kernels.model, kernels.work, state, kernels.limits)
    layout = packed.model.layout
    when = f"at {time:.1f} s, in {stretch.name}"
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
