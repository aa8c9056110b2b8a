"""Every headline number of a day with the band that the declared uncertainties of the car leave on it.

`sim1d.uncertainty` draws the cars; each is simulated over the same day, in batches of one on the workers of `execute`.
A sample whose day did not run to its end is counted by how it ended and gives no number: the peak of a stopped run is
no peak of the day. The bands therefore speak of the samples that completed, and every one says how many those are.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum, auto
from typing import TYPE_CHECKING, Any

import numpy as np

import sim1d
from sim1d import DescriptionError, Outcome, uncertainty
from studies.batch import Evaluation, Evaluator, Job, Record, guilty_record, packed_points
from studies.execute import Batch, hire, run_batches
from studies.influence import Ranking, rank
from studies.runner import Tally

if TYPE_CHECKING:
    import xarray as xr

SAMPLES = 128  # six of them lie outside either end of a band
BLOCK = 4  # samples drawn from one scramble, see `_draw`
HOLDS = "holds"  # key in a sample's summary: the day completed and broke no limit
NO_VERDICT = (Outcome.NETWORK_FAILED, Outcome.BOOKS_OPEN, Outcome.STEP_FAILED)  # the model failed, not the car
CONFIDENCE = 0.90  # of the band on the share that holds: as wide as 5th to 95th percentile


class Pick(Enum):
    """Which value of a summary entry is the headline."""

    ONLY = auto()  # the entry is one number
    MOST = auto()  # largest over cylinders, points or pumps
    LEAST = auto()  # smallest over them
    AT_RADIATOR_INLET = auto()  # the one at that point, where the circuit has it


@dataclass(frozen=True)
class Headline:
    """One number of a run: its name, the study variable that holds it, which value of it, what it is and its unit."""

    name: str
    variable: str
    pick: Pick
    text: str
    units: str  # as in `criteria.shown`: every "Pa" is gauge


RADIATOR_INLET = "radiator.inlet"
METAL = Headline("peak_metal_temperature", "peak_metal_temperature", Pick.MOST, "peak metal temperature", "K")
HEADLINES = (
    Headline(
        "least_critical_heat_flux_margin", "least_critical_heat_flux_margin", Pick.ONLY,
        "least critical over actual heat flux", "1",
    ),
    METAL,
    Headline("least_subcooling", "least_subcooling", Pick.LEAST, "least subcooling", "K difference"),
    Headline("peak_system_pressure", "peak_system_pressure", Pick.ONLY, "peak system pressure, gauge", "Pa"),
    Headline(
        "peak_radiator_inlet_pressure", "peak_gauge_pressure", Pick.AT_RADIATOR_INLET,
        "peak pressure at the radiator inlet, gauge", "Pa",
    ),
    Headline("pass_total_flow", "pass_total_flow", Pick.ONLY, "flow of both banks in the last pass", "m3/s"),
    Headline("pass_bank_spread", "pass_bank_spread", Pick.ONLY, "spread of the banks' flows", "1"),
    Headline("least_suction_margin", "least_suction_margin", Pick.LEAST, "least suction margin", "m"),
    Headline("time_to_ready", "time_to_ready", Pick.ONLY, "time to ready, longest", "s"),
    Headline("coolant_lost", "coolant_lost", Pick.ONLY, "coolant lost in the day", "kg"),
)  # fmt: skip


@dataclass(frozen=True)
class DayOfSamples:
    """What a worker evaluates: the car of a sample (`settings["car"]`) over one day."""

    day: Any

    def evaluate(self, settings: Mapping[str, Any]) -> Evaluation:
        """Simulate and summarise; a car that the bands make impossible is an outcome, not an error."""
        try:
            run = sim1d.simulate(settings["car"], self.day)
        except DescriptionError as error:
            reason = "; ".join(f"{problem.where}: {problem.what}" for problem in error.problems)
            return Evaluation(f"{Outcome.BAD_DESCRIPTION.value} ({reason[:500]})")
        summary = sim1d.summarise(run)
        outcome = str(run.attrs["outcome"])
        judged = not any(outcome.startswith(one.value) for one in NO_VERDICT)
        holds = _completed(outcome) and not summary["limits_failed"]
        return Evaluation(outcome, {**summary, HOLDS: holds if judged else None})

    def source_hash(self) -> str:
        return sim1d.source_hash()


@dataclass(frozen=True)
class NumberBand:
    """A headline number over the samples: median, 5th and 95th percentile (SI, NaN where none has it) of `n` values.

    `lacking` counts the samples that completed and still have no such number (a car that is never ready again).
    """

    headline: Headline
    middle: float
    low: float
    high: float
    n: int
    lacking: int
    ranking: Ranking


@dataclass(frozen=True)
class Share:
    """Samples that hold every limit of the car, of those that gave a verdict; exact binomial band (Clopper-Pearson).

    A day that the car does not survive (boiled out, starved, burst, melted ...) does not hold; one that the model could
    not compute says nothing and is left out.
    """

    holding: int
    judged: int
    low: float
    high: float
    ranking: Ranking

    @property
    def value(self) -> float:
        """The share; NaN when no sample gave a verdict."""
        return self.holding / self.judged if self.judged else float("nan")


@dataclass(frozen=True)
class Result:
    """The bands of a car and a day. `outcomes` counts every sample by how it ended; `inputs` (samples, paths), SI."""

    car: str
    day: str
    seed: int
    asked: int
    how: str
    outcomes: Mapping[str, int]  # where and when left out; `outcome` has them
    numbers: tuple[NumberBand, ...]
    holding: Share
    hottest: Mapping[str, int]  # cylinder: samples in which its metal is the hottest
    paths: tuple[str, ...]
    inputs: np.ndarray
    table: Mapping[str, np.ndarray]  # (samples,) by headline, NaN where a sample has none
    outcome: tuple[str, ...]  # (samples,)
    hottest_of: tuple[str, ...]  # (samples,) "" where a sample has none
    holds: np.ndarray  # (samples,) 1, 0, NaN where there is no verdict
    sources: str
    cautions: tuple[str, ...] = field(default=())

    @property
    def completed(self) -> int:
        """Samples whose day ran to its end."""
        return sum(_completed(text) for text in self.outcome)

    def dataset(self) -> "xr.Dataset":
        """Samples x numbers and the drawn inputs, every failed sample included (NaN)."""
        import xarray as xr

        variables: dict[str, Any] = {
            one.headline.name: (
                "sample",
                self.table[one.headline.name],
                {"units": one.headline.units.split()[0], "long_name": one.headline.text},
            )
            for one in self.numbers
        }
        variables["holds_limits"] = ("sample", self.holds, {"units": "1", "long_name": "1 where every limit is held"})
        variables["outcome"] = ("sample", np.array(self.outcome, dtype=object))
        variables["hottest_cylinder"] = ("sample", np.array(self.hottest_of, dtype=object))
        variables["drawn"] = (("sample", "input"), self.inputs, {"long_name": "drawn value at the path of `input`, SI"})
        coordinates = {"sample": np.arange(self.asked), "input": np.array(self.paths, dtype=object)}
        about = {"title": f"{self.car}, {self.day}", "seed": self.seed, "how": self.how, "sources": self.sources}
        return xr.Dataset(variables, coordinates, about)


def study_bands(
    car: Any, day: Any, samples: int = SAMPLES, *, seed: int = 1, workers: int | None = None,
    evaluator: Evaluator | None = None, progress: Callable[[Tally], None] | None = None, cautions: Sequence[str] = (),
) -> Result:  # fmt: skip
    """Draw `samples` cars, run each over the day, and read the bands. The same seed gives the same result.

    `workers` as for `studies run`: None is one per core, 0 this process. `evaluator` stands in for the simulation.
    Raises DescriptionError when the bands draw something that is no car; no run that fails raises.
    """
    drawn = _draw(car, samples, seed)
    # what a sensor shows beside the truth moves no number of the run
    paths = tuple(path for path in drawn[0].values if not path.startswith(uncertainty.OFFSET))
    inputs = np.array([[one.values[path] for path in paths] for one in drawn]).reshape(len(drawn), len(paths))
    if evaluator is None:
        sim1d.warm_up(drawn[0].car, day)  # else every worker compiles what it finds missing
        evaluator = DayOfSamples(day)
    records = _evaluate(drawn, evaluator, workers, progress)
    outcome = tuple(records[number].outcome[0] for number in range(samples))
    whole = np.array([_completed(text) for text in outcome])
    table = {
        one.name: np.array([_value(one, records[k]) if whole[k] else np.nan for k in range(samples)])
        for one in HEADLINES
    }
    hottest = tuple(_hottest(records[k]) if whole[k] else "" for k in range(samples))
    holds = np.array([_scalar(records[k], HOLDS) for k in range(samples)])
    bands = tuple(
        _band(one, table[one.name], int(whole.sum()), paths, inputs, seed)
        for one in HEADLINES
        if one.pick is not Pick.AT_RADIATOR_INLET or np.isfinite(table[one.name]).any()
    )
    places = len(uncertainty.ranges(car))
    return Result(
        car=str(car.name),
        day=str(day.name),
        seed=seed,
        asked=samples,
        how=f"{samples} Sobol points in blocks of {BLOCK}, seed {seed}, uniform in {places} declared bands of the car; "
        "the day is as given",
        outcomes=dict(Counter(_sentence(text) for text in outcome).most_common()),
        numbers=bands,
        holding=_share(holds, paths, inputs, seed),
        hottest=dict(Counter(filter(None, hottest)).most_common()),
        paths=paths,
        inputs=inputs,
        table=table,
        outcome=outcome,
        hottest_of=hottest,
        holds=holds,
        sources=str(evaluator.source_hash()),
        cautions=tuple(cautions),
    )


def _draw(car: Any, samples: int, seed: int) -> list[Any]:
    """Samples of a car in small blocks, each with a scramble of its own.

    In one Sobol set of a hundred points and as many dimensions the columns of some inputs go together (rank correlation
    above 0.8), and inputs that decide nothing rank above the noise. Blocks leave each input evenly spread, and what
    goes together in one block does not in the next.
    """
    blocks = -(-samples // BLOCK)
    seeds = np.random.SeedSequence(seed).generate_state(blocks)
    return [one for own in seeds for one in uncertainty.draw(car, BLOCK, int(own))][:samples]


def _evaluate(
    drawn: Sequence[Any], evaluator: Evaluator, workers: int | None, progress: Callable[[Tally], None] | None
) -> dict[int, Record]:
    """The record of every sample by its number: one sample a batch, so a worker that dies takes one sample along."""
    import time

    job = Job(evaluator, (*dict.fromkeys(one.variable for one in HEADLINES), HOLDS)).packed()
    source = evaluator.source_hash()
    tally = Tally(len(drawn), 0)
    found: dict[int, Record] = {}
    left = iter(range(len(drawn)))

    def cut(index: np.ndarray) -> Batch:
        return Batch(index, job, packed_points(index, [{"car": drawn[int(number)].car} for number in index]))

    def pull() -> Batch | None:
        number = next(left, None)
        return None if number is None else cut(np.array([number]))

    def commit(record: Record) -> None:
        found[int(record.index[0])] = record
        tally.done += 1
        tally.failed += not _completed(record.outcome[0])
        if progress is not None:
            progress(tally)

    def dead(number: int) -> Record:
        return guilty_record(number, Outcome.WORKER_DIED.value, source)

    if workers is None or workers > 0:
        workers = min(workers, len(drawn)) if workers else None
    with hire(workers, None) as crew:
        tally.workers, tally.started = crew.workers, time.monotonic()
        run_batches(crew, pull, commit, cut, dead)
    return found


def _sentence(outcome: str) -> str:
    """How a run ended without where and when, which differ from sample to sample."""
    return next((one.value for one in Outcome if outcome.startswith(one.value)), outcome)


def _completed(outcome: str) -> bool:
    return outcome.startswith(Outcome.COMPLETED.value)


def _scalar(record: Record, variable: str) -> float:
    return float(record.values[variable][0]) if variable in record.values else float("nan")


def _value(one: Headline, record: Record) -> float:
    """The headline of one sample; NaN where its run has none."""
    if one.pick is Pick.ONLY:
        return _scalar(record, one.variable)
    values, names = _vector(record, one.variable)
    if one.pick is Pick.AT_RADIATOR_INLET:
        return float(values[names.index(RADIATOR_INLET)]) if RADIATOR_INLET in names else float("nan")
    known = values[np.isfinite(values)]
    if not known.size:
        return float("nan")
    return float(known.max() if one.pick is Pick.MOST else known.min())


def _hottest(record: Record) -> str:
    values, names = _vector(record, METAL.variable)
    return names[int(np.nanargmax(values))] if np.isfinite(values).any() else ""


def _vector(record: Record, variable: str) -> tuple[np.ndarray, tuple[str, ...]]:
    dimension = next((item.dimension for item in record.schema.variables if item.name == variable), "")
    return (record.values[variable][0], record.schema.along(dimension)) if dimension else (np.empty(0), ())


def _band(
    one: Headline, values: np.ndarray, completed: int, paths: Sequence[str], inputs: np.ndarray, seed: int
) -> NumberBand:
    band = uncertainty.band_of(values, "")
    return NumberBand(
        one, band.middle, band.low, band.high, band.n, completed - band.n, rank(paths, inputs, values, seed)
    )


def _share(holds: np.ndarray, paths: Sequence[str], inputs: np.ndarray, seed: int) -> Share:
    from scipy.stats import binomtest

    judged, holding = int(np.isfinite(holds).sum()), int(np.nansum(holds))
    low = high = float("nan")
    if judged:
        ends = binomtest(holding, judged).proportion_ci(CONFIDENCE, method="exact")
        low, high = float(ends.low), float(ends.high)
    return Share(holding, judged, low, high, rank(paths, inputs, holds, seed))
