"""Every headline number of a day with the band that the declared uncertainties of the car leave on it.

`sim1d.uncertainty` draws the cars and `sim1d.bands` reads them; here each is simulated over the same day, in batches of
one on the workers of `execute`, and the inputs are ranked by what they explain of every number.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

import sim1d
from sim1d import Outcome, uncertainty
from sim1d import bands as sampled
from sim1d.bands import SAMPLES, Bands, NumberBand, SampleRun
from studies.batch import Evaluation, Evaluator, Job, Record, guilty_record, packed_points
from studies.execute import Batch, hire, run_batches
from studies.influence import Ranking, rank
from studies.runner import Tally

if TYPE_CHECKING:
    import xarray as xr

HOLDS = "holds"  # keys of a sample's evaluation beside its headline numbers: completed and broke no limit
METAL = "metal_of_cylinder"  # 1 for the hottest cylinder
FEWEST = 8  # samples of the rarer kind from which a share is ranked: fewer are single cases; assumed


@dataclass(frozen=True)
class DayOfSamples:
    """What a worker evaluates: the car of a sample (`settings["car"]`) over one day."""

    day: Any

    def evaluate(self, settings: Mapping[str, Any]) -> Evaluation:
        """Simulate and read the headline numbers."""
        return evaluation_of(sampled.sample_run(settings["car"], self.day))

    def source_hash(self) -> str:
        return sim1d.source_hash()


def evaluation_of(run: SampleRun) -> Evaluation:
    """A run of a sample as it travels from a worker."""
    return Evaluation(run.outcome, {**run.numbers, HOLDS: run.holds, METAL: {run.hottest: 1.0} if run.hottest else {}})


@dataclass(frozen=True)
class Result:
    """The bands of a car and a day, what widens each (by headline), and every sample: `inputs` (samples, paths), SI."""

    bands: Bands
    rankings: Mapping[str, Ranking]
    holding_ranking: Ranking
    early_ranking: Ranking
    paths: tuple[str, ...]
    inputs: np.ndarray
    runs: tuple[SampleRun, ...]
    cautions: tuple[str, ...] = field(default=())

    def column(self, name: str) -> np.ndarray:
        """A headline over the samples (samples,): NaN where one has none; of an early end its value so far."""
        return np.array([run.numbers.get(name, np.nan) for run in self.runs])

    @property
    def early(self) -> np.ndarray:
        """(samples,) bool: ended early."""
        return np.array([run.early for run in self.runs], dtype=bool)

    def dataset(self) -> "xr.Dataset":
        """Samples x numbers and the drawn inputs, every sample included; `ended_early` marks values that are bounds."""
        import xarray as xr

        variables: dict[str, Any] = {}
        for one in self.bands.numbers:
            unit = {"share": "1", "s long": "s"}.get(one.headline.unit, one.headline.unit.split()[0])
            about = {"units": unit, "long_name": one.headline.text, "nominal": one.nominal}
            variables[one.headline.name] = ("sample", self.column(one.headline.name), about)
        holds = np.array([np.nan if run.holds is None else float(run.holds) for run in self.runs])
        variables["holds_limits"] = ("sample", holds, {"units": "1", "long_name": "1 where every limit is held"})
        variables["ended_early"] = ("sample", self.early, {"long_name": "the numbers are those up to an early end"})
        variables["outcome"] = ("sample", np.array([run.outcome for run in self.runs], dtype=object))
        variables["hottest_cylinder"] = ("sample", np.array([run.hottest for run in self.runs], dtype=object))
        variables["drawn"] = (("sample", "input"), self.inputs, {"long_name": "drawn value at the path of `input`, SI"})
        coordinates = {"sample": np.arange(len(self.runs)), "input": np.array(self.paths, dtype=object)}
        bands = self.bands
        about = {"title": f"{bands.car}, {bands.day}", "seed": bands.seed, "how": bands.how,
                 "sources": bands.identity.sources}  # fmt: skip
        return xr.Dataset(variables, coordinates, about)


def study_bands(
    car: Any, day: Any, samples: int = SAMPLES, *, seed: int = 1, workers: int | None = None,
    evaluator: Evaluator | None = None, progress: Callable[[Tally], None] | None = None, cautions: Sequence[str] = (),
) -> Result:  # fmt: skip
    """Draw `samples` cars, run each and the car itself over the day, and read the bands. Same seed, same result.

    `workers` as for `studies run`: None is one per core, 0 this process. `evaluator` stands in for the simulation.
    Raises DescriptionError when the bands draw something that is no car; no run that fails raises.
    """
    drawn = uncertainty.draw(car, samples, seed)
    # what a sensor shows beside the truth moves no number of the run
    paths = tuple(path for path in drawn[0].values if not path.startswith(uncertainty.OFFSET))
    inputs = np.array([[one.values[path] for path in paths] for one in drawn]).reshape(len(drawn), len(paths))
    if evaluator is None:
        sim1d.warm_up(drawn[0].car, day)  # else every worker compiles what it finds missing
        evaluator = DayOfSamples(day)
    records = _evaluate([*(one.car for one in drawn), car], evaluator, workers, progress)
    runs = tuple(_run_of(records[number]) for number in range(samples))
    bands = sampled.bands_of(car, day, runs, _run_of(records[samples]), seed)
    rankings = {one.headline.name: _ranking(one, runs, paths, inputs, seed) for one in bands.numbers}
    widened = {name: tuple(one.path for one in found.inputs if one.found) for name, found in rankings.items()}
    holds = np.array([np.nan if run.holds is None else float(run.holds) for run in runs])
    early = np.array([float(run.early) if run.completed or run.early else np.nan for run in runs])
    return Result(
        bands=replace(bands, widened_by={name: found for name, found in widened.items() if found}),
        rankings=rankings,
        holding_ranking=_share_ranking(paths, inputs, holds, seed),
        early_ranking=_share_ranking(paths, inputs, early, seed),
        paths=paths,
        inputs=inputs,
        runs=runs,
        cautions=tuple(cautions),
    )


def _ranking(
    one: NumberBand, runs: Sequence[SampleRun], paths: Sequence[str], inputs: np.ndarray, seed: int
) -> Ranking:
    """What widens a number; a sample at the bad end counts as the worst one that ran through, or as its own bound."""
    headline = one.headline
    values = np.array([run.numbers.get(headline.name, np.nan) for run in runs])
    early = np.array([run.early for run in runs], dtype=bool)
    usable = np.array([run.completed or run.early for run in runs], dtype=bool)
    beyond = sampled.is_beyond(headline, values, early) & usable
    side = headline.bad.value
    whole = side * values[usable & ~beyond & np.isfinite(values)]
    if not whole.size:
        return rank(paths, inputs, np.where(beyond & headline.bound, values, np.nan), seed)
    worst = float(whole.max())
    bound = np.where(np.isfinite(values) & headline.bound, np.maximum(side * values, worst), worst)
    return rank(paths, inputs, np.where(beyond, side * bound, np.where(usable, values, np.nan)), seed)


def _share_ranking(paths: Sequence[str], inputs: np.ndarray, values: np.ndarray, seed: int) -> Ranking:
    """What decides between yes (1) and no (0)."""
    rarer = int(min(np.nansum(values), np.nansum(1.0 - values)))
    if 0 < rarer < FEWEST:
        return Ranking(why_none=f"{rarer} samples differ from the others: too few to rank inputs, at least {FEWEST}")
    return rank(paths, inputs, values, seed)


def _evaluate(
    cars: Sequence[Any], evaluator: Evaluator, workers: int | None, progress: Callable[[Tally], None] | None
) -> dict[int, Record]:
    """The record of every car by its number: one car a batch, so a worker that dies takes one car along."""
    import time

    job = Job(evaluator).packed()
    source = evaluator.source_hash()
    tally = Tally(len(cars), 0)
    found: dict[int, Record] = {}
    left = iter(range(len(cars)))

    def cut(index: np.ndarray) -> Batch:
        return Batch(index, job, packed_points(index, [{"car": cars[int(number)]} for number in index]))

    def pull() -> Batch | None:
        number = next(left, None)
        return None if number is None else cut(np.array([number]))

    def commit(record: Record) -> None:
        found[int(record.index[0])] = record
        tally.done += 1
        tally.failed += not record.outcome[0].startswith(Outcome.COMPLETED.value)
        if progress is not None:
            progress(tally)

    def dead(number: int) -> Record:
        return guilty_record(number, Outcome.WORKER_DIED.value, source)

    if workers is None or workers > 0:
        workers = min(workers, len(cars)) if workers else None
    with hire(workers, None) as crew:
        tally.workers, tally.started = crew.workers, time.monotonic()
        run_batches(crew, pull, commit, cut, dead)
    return found


def _run_of(record: Record) -> SampleRun:
    """The run of a sample as its record brings it back."""
    numbers = {name: float(column[0]) for name, column in record.values.items() if column.ndim == 1 and name != HOLDS}
    holds = float(record.values[HOLDS][0]) if HOLDS in record.values else float("nan")
    hottest = next(iter(record.schema.along(f"{METAL}_item")), "")
    return SampleRun(record.outcome[0], numbers, hottest, None if np.isnan(holds) else bool(holds))
