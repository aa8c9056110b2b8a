"""Bounded least squares of one stage: readings over their plus-minus, priors over their bands, outliers named."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import least_squares

from sim1d.calibrate.parameters import Parameter, Slot, moved
from sim1d.calibrate.predictions import CANNOT, predict
from sim1d.calibrate.readings import Stage, sigma_of, value_of
from sim1d.calibrate.subject import Subject
from sim1d.errors import DescriptionError

TELLS = 0.1  # prior standard deviation over plus-minus below which readings are taken not to bear on a parameter
OUTLIER = 4.0  # standardised residual against the fit without it
BACK = 3.0  # below this a reading that was left out is taken in again
STEP = {Stage.STATICS: 0.05, Stage.FLOW: 0.05, Stage.HEAT: 0.2}  # prior deviations; heat: over the noise of a run
CANDIDATES = 3  # readings tried for the worst
INSIDE = 0.1  # prior deviations from an edge of the range at which the search starts
LOST = 1e3  # residual where a car has no answer: far beyond every outlier
Tell = Callable[[str], None]


@dataclass(frozen=True)
class StageFit:
    """The fit of one stage.

    `used` are the readings (by number) that were fitted; `rejected` number -> reason; `predicted` number -> value (SI)
    of every reading of the stage that has one; `z`, `covariance` of `fitted` in prior standard deviations; `jacobian`
    (used, fitted) scaled; `spread` number -> standard deviation (SI) that a reading was weighed with.
    """

    stage: Stage
    fitted: tuple[Parameter, ...]
    untold: tuple[Parameter, ...]
    used: tuple[int, ...]
    rejected: Mapping[int, str]
    predicted: Mapping[int, float]
    spread: Mapping[int, float]
    z: np.ndarray
    covariance: np.ndarray
    jacobian: np.ndarray

    def values(self) -> dict[str, float]:
        """Fitted values by key, SI."""
        return {one.key: one.at(float(z)) for one, z in zip(self.fitted, self.z, strict=True)}

    def ratio(self, number: int) -> float:
        """Posterior over prior standard deviation of a fitted parameter."""
        return float(np.sqrt(self.covariance[number, number]))

    def singular(self) -> np.ndarray:
        """Singular values of the scaled Jacobian: directions below 1 are told by the priors more than by readings."""
        if not self.jacobian.size:
            return np.zeros(0)
        return np.linalg.svd(self.jacobian, compute_uv=False)


def predicted(reading: Any, subject: Subject) -> float:
    """Prediction, NaN where the car has none."""
    try:
        return predict(reading, subject)
    except (*CANNOT, DescriptionError):
        return float("nan")


def gradient(
    reading: Any, base: Subject, parameters: Sequence[Parameter], at: Mapping[str, float], step: float
) -> np.ndarray:  # fmt: skip
    """Change (SI) of a prediction per prior standard deviation of each parameter, at values `at` (z by key)."""
    values = {one.key: one.at(at.get(one.key, 0.0)) for one in parameters if one.key in at}
    here = predicted(reading, moved(base, values, parameters))
    found = np.zeros(len(parameters))
    for k, one in enumerate(parameters):
        z = at.get(one.key, 0.0)
        h = step if z + step <= one.bounds[1] else -step
        there = predicted(reading, moved(base, values | {one.key: one.at(z + h)}, parameters))
        found[k] = (there - here) / h
    return np.nan_to_num(found)


BEARS: dict[str, tuple[str, ...]] = {  # kinds of reading that a value of the statics can bear on, by key or its end
    "volume": ("fill", "drain", "morning", "settled", "cool_down"),
    "compliance": ("squeeze", "pump_start", "level_drop", "morning"),
    "stiffness": ("squeeze", "pump_start", "level_drop", "morning"),
    "liquid": ("fill", "drain", "squeeze", "pump_start", "level_drop", "morning", "settled", "cool_down"),
    "cap.opening": ("cap_tester", "morning"),
    "gas gained": ("morning",),
}


def bears(reading: Any, one: Parameter) -> bool:
    """Whether a prediction of this kind can depend on a parameter at all; spares runs, changes no answer."""
    place = getattr(reading, "where", None)
    if one.slot is Slot.OFFSET:
        return bool(place == one.key.removeprefix("offset of "))
    if one.slot is Slot.AIR:
        return reading.kind in ("fill", "drain", "squeeze", "pump_start", "level_drop", "morning")
    if one.key.startswith("sensors."):
        return one.key == f"sensors.{place}.time_constant"
    if one.stage is Stage.STATICS:
        return any(one.key.endswith(end) and reading.kind in kinds for end, kinds in BEARS.items())
    return True


@dataclass
class _Problem:
    """Residuals of some readings over some parameters, both by index, with the predictions of the last Jacobian."""

    base: Subject
    parameters: Sequence[Parameter]
    readings: Mapping[int, Any]
    spread: Mapping[int, float]
    step: float
    last: tuple[np.ndarray, np.ndarray] | None = None  # point and residuals evaluated last: the Jacobian starts there

    def scaled(self, z: np.ndarray, only: Sequence[int] | None = None) -> np.ndarray:
        """Residuals over spread; with `only`, of these readings."""
        subject = moved(self.base, {p.key: p.at(v) for p, v in zip(self.parameters, z, strict=True)}, self.parameters)
        numbers = list(self.readings) if only is None else only
        found = [
            (predicted(self.readings[n], subject) - value_of(self.readings[n])) / self.spread[n] for n in numbers
        ]
        return np.nan_to_num(np.array(found), nan=LOST, posinf=LOST, neginf=-LOST)

    def residuals(self, z: np.ndarray) -> np.ndarray:
        """Readings, then priors."""
        self.last = (z.copy(), self.scaled(z))
        return np.concatenate([self.last[1], z])

    def rows(self, z: np.ndarray) -> np.ndarray:
        """Jacobian of the readings alone."""
        here = self.last[1] if self.last is not None and np.array_equal(self.last[0], z) else self.scaled(z)
        numbers = list(self.readings)
        found = np.zeros((len(here), len(z)))
        for k, one in enumerate(self.parameters):
            mine = [i for i, n in enumerate(numbers) if bears(self.readings[n], one)]
            if not mine:
                continue
            h = self.step if z[k] + self.step <= one.bounds[1] else -self.step
            there = z.copy()
            there[k] += h
            found[mine, k] = (self.scaled(there, [numbers[i] for i in mine]) - here[mine]) / h
        return found

    def jacobian(self, z: np.ndarray) -> np.ndarray:
        return np.vstack([self.rows(z), np.eye(len(z))])

    def solve(self) -> "_Answer":
        """The fit from the prior, or from just inside the range where the prior lies on its edge."""
        count = len(self.parameters)
        if not count:
            still = np.zeros(0)
            return _Answer(still, np.zeros((len(self.readings), 0)), np.zeros((0, 0)), 2.0 * self.cost(still))
        low, high = (np.array([one.bounds[k] for one in self.parameters]) for k in (0, 1))
        start = np.minimum(np.maximum(np.zeros(count), low + INSIDE), high - INSIDE)
        answer = least_squares(
            self.residuals, start, self.jacobian, (low, high), "trf", xtol=1e-3, ftol=1e-5, gtol=1e-3, max_nfev=40
        )
        rows = answer.jac[: len(self.readings)]
        return _Answer(answer.x, rows, np.linalg.inv(rows.T @ rows + np.eye(count)), 2.0 * float(answer.cost))

    def cost(self, z: np.ndarray) -> float:
        """Half the sum of squares."""
        return 0.5 * float(np.sum(self.residuals(z) ** 2))


@dataclass(frozen=True)
class _Answer:
    """z, Jacobian of the readings, covariance, sum of squares."""

    z: np.ndarray
    rows: np.ndarray
    covariance: np.ndarray
    squares: float


def fit_stage(
    stage: Stage, base: Subject, parameters: Sequence[Parameter], readings: Mapping[int, Any],
    other: Mapping[int, float], tell: Tell | None = None,
) -> StageFit:  # fmt: skip
    """Fit the parameters of one stage to its readings (by number), starting from `base`.

    `other` gives, by number, the standard deviation (SI) that parameters of other stages leave on a prediction. Only
    parameters on which a reading bears are fitted. A reading whose standardised residual against the fit without it
    passes 4 is left out, the worst first, and taken in again if the final fit would have had it.
    """
    step = STEP[stage]
    spread = {n: float(np.hypot(sigma_of(one), other.get(n, 0.0))) for n, one in readings.items()}
    own = [one for one in parameters if one.stage is stage]
    rejected: dict[int, str] = {}
    kept = dict(readings)
    for number, one in readings.items():
        if not np.isfinite(predicted(one, base)):
            rejected[number] = "the car as described has no answer for it (no flow, or a run that leaves the model)"
            del kept[number]
    told = informed(base, own, kept, spread, step)

    def problem(used: Mapping[int, Any]) -> _Problem:
        return _Problem(base, told, used, spread, step)

    answer = problem(kept).solve()
    returned: set[int] = set()
    while kept and told:
        if tell is not None:
            tell(f"{stage.value}: {len(kept)} readings, {len(told)} values")
        out = _worst(problem, kept, answer)
        if out is not None:
            number, standard, answer = out
            rejected[number] = _why(standard)
            del kept[number]
            continue
        again = _would_fit(problem, readings, rejected, returned, answer)
        if again is None:
            rest = informed(base, own, kept, spread, step) if rejected else told
            if len(rest) == len(told):
                break
            told = rest  # what a rejected reading alone bore on stays as it was
            answer = problem(kept).solve()
            continue
        returned.add(again)
        del rejected[again]
        kept = {n: one for n, one in readings.items() if n not in rejected}
        answer = problem(kept).solve()
    z, rows, covariance = answer.z, answer.rows, answer.covariance
    if not told:  # nothing can move: what does not fit its prediction is still named
        for number, residual in zip(list(kept), problem(kept).scaled(z), strict=True):
            if abs(residual) > OUTLIER:
                rejected[number] = _why(float(residual))
                del kept[number]
    untold = [one for one in own if one not in told]
    subject = moved(base, {p.key: p.at(float(v)) for p, v in zip(told, z, strict=True)}, told)
    shown = {number: predicted(one, subject) for number, one in readings.items()}
    return StageFit(
        stage, tuple(told), tuple(untold), tuple(kept), rejected,
        {number: value for number, value in shown.items() if np.isfinite(value)}, spread, z, covariance, rows,
    )  # fmt: skip


def _why(standard: float) -> str:
    return f"{abs(standard):.1f} standard deviations from what everything else says: measure it again"


def _worst(
    problem: Callable[[Mapping[int, Any]], _Problem], kept: Mapping[int, Any], answer: _Answer
) -> tuple[int, float, _Answer] | None:  # fmt: skip
    """The reading that fits worst to the rest, its standardised residual, and the fit without it; None: all fit.

    Candidates by residual over sqrt(1 - leverage). What decides is the sum of squares that goes when the reading goes:
    on a straight model its root is that same residual, on a bent one it needs no straight line.
    """
    left = problem(kept).scaled(answer.z)
    hats = np.einsum("ij,jk,ik->i", answer.rows, answer.covariance, answer.rows)
    standard = np.abs(left) / np.sqrt(np.maximum(1.0 - hats, 1e-6))
    numbers = list(kept)
    best: tuple[int, float, _Answer] | None = None
    for i in np.argsort(-standard)[:CANDIDATES]:
        if standard[i] <= OUTLIER:
            break
        rest = {n: one for n, one in kept.items() if n != numbers[i]}
        without = problem(rest).solve()
        fall = float(np.sqrt(max(answer.squares - without.squares, 0.0)))
        if fall > OUTLIER and (best is None or fall > best[1]):
            best = (numbers[i], fall, without)
    return best


def _would_fit(
    problem: Callable[[Mapping[int, Any]], _Problem], readings: Mapping[int, Any], rejected: Mapping[int, str],
    returned: set[int], answer: _Answer,
) -> int | None:  # fmt: skip
    """A rejected reading that the fit without it predicts after all (another one had pulled the fit away)."""
    for number in rejected:
        if number in returned or "standard deviations" not in rejected[number]:
            continue
        alone = problem({number: readings[number]})
        row = alone.rows(answer.z)[0]
        standard = float(alone.scaled(answer.z)[0]) / float(np.sqrt(1.0 + row @ answer.covariance @ row))
        if abs(standard) < BACK:
            return number
    return None


def informed(
    base: Subject, parameters: Sequence[Parameter], readings: Mapping[int, Any], spread: Mapping[int, float],
    step: float,
) -> list[Parameter]:  # fmt: skip
    """Parameters on which these readings bear: those whose prior width moves one of them by a tenth of its spread."""
    found = np.zeros(len(parameters))
    for number, one in readings.items():
        mine = [k for k, p in enumerate(parameters) if bears(one, p)]
        change = gradient(one, base, [parameters[k] for k in mine], {}, step) / spread[number]
        found[mine] = np.hypot(found[mine], change)
    return [one for one, size in zip(parameters, found, strict=True) if size >= TELLS]


def left_by_others(
    reading: Any, base: Subject, parameters: Sequence[Parameter], variance: Mapping[str, float]
) -> float:  # fmt: skip
    """Standard deviation (SI) that parameters of other stages leave on a prediction; variances in prior units.

    Only where another stage's values matter: the pump's rise in a pump start, volumes and offsets in heat readings.
    """
    stages = {"pump_start": Stage.FLOW, "level_drop": Stage.FLOW, "settled": Stage.STATICS, "mixing": Stage.STATICS,
              "cool_down": Stage.STATICS}  # fmt: skip
    stage = stages.get(reading.kind)
    if stage is None:
        return 0.0
    heat = reading.stage is Stage.HEAT
    mine = [
        one
        for one in parameters
        if one.stage is stage and bears(reading, one) and (not heat or one.key.endswith(("volume", "liquid"))
                                                           or one.slot is Slot.OFFSET or one.key.startswith("sensors."))
    ]  # fmt: skip
    change = gradient(reading, base, mine, {}, STEP[reading.stage])
    return float(np.sqrt(sum(c * c * variance.get(one.key, 1.0) for one, c in zip(mine, change, strict=True))))
