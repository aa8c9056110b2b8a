"""`calibrate`: the stages one after the other, what they leave, and which reading would help most next."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from sim1d.calibrate.advice import Advice, advise
from sim1d.calibrate.fit import StageFit, fit_stage, left_by_others, predicted
from sim1d.calibrate.impossible import impossible
from sim1d.calibrate.parameters import Parameter, Slot, moved, parameters_of
from sim1d.calibrate.readings import LevelDrop, PumpStart, Readings, Stage, label_of, sigma_of, value_of
from sim1d.calibrate.subject import Subject, subject_of

if TYPE_CHECKING:
    from sim1d.car import Car

WIDE = 1.96  # standard deviations of a 95 % band
LITTLE = 0.8  # posterior over prior width above which readings say little of a parameter
ORDER = (Stage.STATICS, Stage.FLOW, Stage.HEAT)
Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class Fitted:
    """One parameter before and after: values and 95 % bands (SI), posterior over prior width.

    `told` is False where no reading bears on it: then it stays as the file has it.
    """

    parameter: Parameter
    before: float
    before_band: tuple[float, float]
    after: float
    after_band: tuple[float, float]
    ratio: float
    told: bool


@dataclass(frozen=True)
class Judged:
    """One reading: measured and predicted before and after (SI), residual after in units of its plus-minus."""

    number: int
    label: str
    reading: Any
    before: float | None
    after: float | None
    residual: float | None
    rejected: str


@dataclass(frozen=True)
class Calibration:
    """All that a calibration found; `car` is the fitted description."""

    original: "Car"
    car: "Car"
    fitted: tuple[Fitted, ...]
    judged: tuple[Judged, ...]
    stages: tuple[StageFit, ...]
    advice: tuple[Advice, ...]
    place: str

    @property
    def rejected(self) -> tuple[Judged, ...]:
        """Readings that were left out."""
        return tuple(one for one in self.judged if one.rejected)

    def value(self, key: str) -> Fitted:
        """The parameter of this key; KeyError."""
        for one in self.fitted:
            if one.parameter.key == key:
                return one
        raise KeyError(key)


def calibrate(car: "Car", readings: Readings, progress: Progress | None = None) -> Calibration:
    """Fit a car to readings that fit it (`place_problems`); the car of the file is never changed."""
    show = progress or (lambda text, share: None)
    rows = dict(enumerate(readings.readings))
    place = next((r.where for r in rows.values() if isinstance(r, (PumpStart, LevelDrop)) and r.where), "")
    base = subject_of(car, place)
    parameters = parameters_of(base, list(rows.values()))
    reasons = {n: impossible(one, base, parameters) for n, one in rows.items()}
    usable = {n: one for n, one in rows.items() if not reasons[n]}
    variance: dict[str, float] = {}
    subject, stages = base, []
    for k, stage in enumerate(ORDER):
        show(stage.value, 0.1 + 0.25 * k)
        own = {n: one for n, one in usable.items() if one.stage is stage}
        others = {n: left_by_others(one, subject, parameters, variance) for n, one in own.items()}
        found = fit_stage(stage, subject, parameters, own, others, partial(_tell, show, 0.15 + 0.25 * k))
        stages.append(found)
        variance |= {one.key: found.ratio(i) ** 2 for i, one in enumerate(found.fitted)}
        subject = moved(subject, found.values(), parameters)
    show("which reading would help next", 0.9)
    advice = advise(subject, parameters, stages)
    judged = _judged(rows, reasons, stages, base)
    return Calibration(
        car, _car(base, stages), tuple(_fitted(stages)), tuple(judged), tuple(stages), advice,
        base.air_place,
    )  # fmt: skip


def _tell(show: Progress, share: float, text: str) -> None:
    show(text, share)


def _car(base: Subject, stages: Sequence[StageFit]) -> "Car":
    """The fitted description, to five digits, with the 95 % bands of what readings told more than a little of.

    Air only where readings told of it, since that overrules the fill.
    """
    told = {one.slot for stage in stages for one in stage.fitted}
    values = {key: float(f"{value:.5g}") for stage in stages for key, value in stage.values().items()}
    subject = moved(base, values, [one for stage in stages for one in stage.fitted])
    bands = dict(subject.car.bands)
    for one in _fitted(stages):
        if one.told and one.ratio <= LITTLE and one.parameter.slot is Slot.CAR:
            bands |= one.parameter.bands(*one.after_band)
    with_bands = subject.car.with_values({f'bands."{path}"': list(band) for path, band in bands.items()})
    if Slot.AIR not in told:
        return with_bands
    air = {place: volume for place, volume in subject.air.items() if volume >= 1e-6} or {base.air_place: 0.0}
    return with_bands.with_values({f'trapped_air."{place}"': float(f"{volume:.5g}") for place, volume in air.items()})


def _fitted(stages: Sequence[StageFit]) -> list[Fitted]:
    found = []
    for stage in stages:
        for k, one in enumerate(stage.fitted):
            z, wide = float(stage.z[k]), WIDE * stage.ratio(k)
            found.append(
                Fitted(
                    one, one.at(0.0), (one.at(-WIDE), one.at(WIDE)), one.at(z), (one.at(z - wide), one.at(z + wide)),
                    stage.ratio(k), True,
                )
            )  # fmt: skip
        for one in stage.untold:
            band = (one.at(-WIDE), one.at(WIDE))
            found.append(Fitted(one, one.at(0.0), band, one.at(0.0), band, 1.0, False))
    return found


def _judged(
    rows: Mapping[int, Any], reasons: Mapping[int, str], stages: Sequence[StageFit], base: Subject
) -> list[Judged]:  # fmt: skip
    found = []
    by_stage = {stage.stage: stage for stage in stages}
    for number, one in rows.items():
        stage = by_stage[one.stage]
        after = stage.predicted.get(number)
        first = predicted(one, base)
        before = first if math.isfinite(first) else None
        rejected = reasons[number] or stage.rejected.get(number, "")
        residual = None if after is None else (after - value_of(one)) / sigma_of(one)
        found.append(Judged(number, label_of(one, number), one, before, after, residual, rejected))
    return found


def as_data(result: Calibration) -> dict[str, Any]:
    """Plain data of a calibration, SI."""
    return {
        "car": result.original.name,
        "parameters": [
            {
                "path": one.parameter.key, "title": one.parameter.title, "stage": one.parameter.stage.value,
                "unit": one.parameter.measure.unit if one.parameter.measure is not None else "1",
                "factor": one.parameter.factor, "in_car_file": one.parameter.slot in (Slot.CAR, Slot.AIR),
                "changes": [path for path, _ in one.parameter.targets],
                "before": one.before, "before_band_95": list(one.before_band), "after": one.after,
                "after_band_95": list(one.after_band), "posterior_over_prior_width": one.ratio, "informed": one.told,
                "prior": one.parameter.origin,
            }
            for one in result.fitted
        ],
        "readings": [
            {
                "number": one.number + 1, "name": one.label, "kind": one.reading.kind,
                "stage": one.reading.stage.value, "value": value_of(one.reading), "plus_minus": sigma_of(one.reading),
                "predicted_before": one.before, "predicted_after": one.after, "residual_in_plus_minus": one.residual,
                "rejected": one.rejected,
            }
            for one in result.judged
        ],
        "stages": [
            {
                "stage": stage.stage.value, "readings_used": [n + 1 for n in stage.used],
                "parameters": [one.key for one in stage.fitted], "singular_values": stage.singular().tolist(),
                "correlations": correlations(stage),
            }
            for stage in result.stages
        ],
        "cannot_tell": cannot_tell(result),
        "next_readings": [
            {
                "reading": one.text, "stage": one.stage.value, "fall_of_variance": one.fall, "tells_most_of": one.most,
            }
            for one in result.advice
        ],
    }  # fmt: skip


def correlations(stage: StageFit, least: float = 0.7) -> list[dict[str, Any]]:
    """Pairs of fitted parameters that the readings tell apart badly."""
    sd = [stage.ratio(k) for k in range(len(stage.fitted))]
    found = []
    for i in range(len(sd)):
        for j in range(i):
            r = float(stage.covariance[i, j] / (sd[i] * sd[j]))
            if abs(r) >= least:
                found.append({"a": stage.fitted[j].key, "b": stage.fitted[i].key, "correlation": r})
    return found


def cannot_tell(result: Calibration) -> list[str]:
    """Keys of parameters that these readings cannot tell: none bears on them, or their band hardly shrank."""
    return [one.parameter.key for one in result.fitted if not one.told or one.ratio > LITTLE]
