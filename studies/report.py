"""The report of a study: what was run, which layouts hold the limits, what stops the rest, which axis matters."""

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d import Outcome
from studies.criteria import shown, unjudged
from studies.dataset import NOT_RUN, open_study
from studies.points import Points, points_from_json
from studies.select import Effect, Verdict, effects, failures, judge, levels, outcomes, stopped_by
from studies.store import Store

if TYPE_CHECKING:
    import xarray as xr

FAILURES_SHOWN = 20
NO_SAMPLES = (
    "These numbers have no band: every point was run once, with the values in the files. [uncertainty] with "
    "samples = 16 in the study file gives each its band and says which layouts can be told apart."
)
SAMPLED = (
    "Every number is that of the values in the files; in brackets the 5th to 95th percentile of the samples. The "
    "samples draw the same shares of the bands at every point, so layouts are compared draw by draw: two are told "
    "apart only where so one-sided a count would be chance in less than one of twenty (sign test). Ranked by how many "
    "samples hold every limit, then by the median of their room. A sample that ended early stands at the bad end. A "
    "layout whose own run did not complete is not ranked, however many of its samples hold."
)
MOST_DRAWN = 12  # layouts in the figure of the best
SCALE = {"K": (1.0, -273.15, "degC"), "Pa": (1e-3, 0.0, "kPa"), "1": (1.0, 0.0, ""), "K difference": (1.0, 0.0, "K")}


@dataclass(frozen=True)
class Layout:
    """One point of the study as a row of the table of layouts: its place on each axis, its room and its readings."""

    flat: int
    places: tuple[str, ...]
    holds: bool
    margin: float  # steps
    binding: str
    readings: tuple[str, ...]
    samples: str = ""  # how many of the samples hold every limit, and how many ended early
    room: str = ""  # median and band of the margin over the samples
    against: str = ""  # the same draws against those of the first layout of the table


@dataclass
class Summary:
    """Everything that the report says, in words and numbers; `page` and the terminal only lay it out."""

    title: str
    total: int
    done: int
    outcomes: dict[str, int]
    axes: list[tuple[str, str, str]]  # name, paths, places
    limits: list[tuple[str, str, str, str]]  # what, limit, step, points it excludes
    unjudged: list[str]  # limits whose number was not kept
    readings: tuple[str, ...]
    layouts: list[Layout]
    holding: int
    effects: list[tuple[str, list[Effect], str]]  # of what, by axis, unit
    failures: list[tuple[str, str]]
    failed: int
    notes: list[tuple[str, int]]
    cautions: list[str]
    versions: dict[str, str]
    figures: list[tuple[str, str]] = field(default_factory=list)
    draws: str = ""  # what the samples of each point are; "" where the study has none
    uncertain: str = NO_SAMPLES  # what the bands say, or that there are none and what gives them


def summarise(folder: Path | str, best: int = 10) -> tuple[Summary, "xr.Dataset", Points, Verdict]:
    """Read a study folder and judge it; `best` layouts are listed. Raises StoreError when it holds no study."""
    store = Store(folder)
    description = store.description()
    points = points_from_json(description, store.matrix())
    study = open_study(folder)
    verdict = judge(study, description["limits"])
    counts = outcomes(study)
    excluded = stopped_by(verdict)
    best_first = [int(flat) for flat in verdict.ranked()[:best]]
    draws = description["identity"].get("uncertainty")
    failed = int((~verdict.completed).sum()) - counts.get(NOT_RUN, 0)
    summary = Summary(
        title=description["title"],
        total=points.count,
        done=points.count - counts.get(NOT_RUN, 0),
        outcomes=counts,
        axes=[(axis.name, ", ".join(axis.paths), _places(axis)) for axis in points.axes],
        limits=[
            (
                one.text,
                f"{'at most' if one.most else 'at least'} {shown(limit, one.units)}",
                _step(one),
                str(excluded[one.text]),
            )
            for one, limit in zip(verdict.criteria, verdict.limits, strict=True)
        ],
        unjudged=unjudged(description["limits"], study),
        readings=tuple(one.text for one in verdict.criteria),
        layouts=[_layout(flat, points, verdict, best_first[0]) for flat in best_first],
        holding=int(verdict.holds.sum()),
        effects=_effects(points, verdict),
        failures=list(failures(study, points, FAILURES_SHOWN)),
        failed=failed,
        notes=_notes(study),
        cautions=description["cautions"],
        versions=description["identity"].get("versions", {}),
        draws=f"{draws['samples']} samples of each point, seed {draws['seed']}" if draws else "",
        uncertain=SAMPLED if verdict.drawn is not None else NO_SAMPLES,
    )
    return summary, study, points, verdict


def _places(axis: Any) -> str:
    if axis.span is not None and len(axis.choices) == 2:
        return f"{axis.choices[0].label} to {axis.choices[-1].label}"
    labels = [choice.label for choice in axis.choices]
    return ", ".join(labels if len(labels) <= 12 else [*labels[:5], "...", *labels[-2:]])


def _step(one: Any) -> str:
    return change_text(one.step, one.units)


def _layout(flat: int, points: Points, verdict: Verdict, first: int) -> Layout:
    binding = verdict.binding(flat)
    drawn, more = verdict.drawn, {}
    if drawn is not None:
        early = int(drawn.early[flat])
        low, middle, high = (_steps(float(one)) for one in drawn.margin_band[:, flat])
        more = {
            "samples": f"{drawn.holding[flat]} of {drawn.judged[flat]}" + (f", {early} ended early" if early else ""),
            "room": f"{middle} ({low} to {high})",
            "against": "first" if flat == first else drawn.against(first, flat).text,
        }
    return Layout(
        flat=flat,
        places=tuple(choice.label for choice in points.choices(flat)),
        holds=bool(verdict.holds[flat]),
        margin=float(verdict.margin[flat]),
        binding=binding.text if binding else "",
        readings=tuple(_reading(row, flat, verdict) for row in range(len(verdict.criteria))),
        **more,
    )


def _steps(margin: float) -> str:
    return "ended early" if np.isneginf(margin) else "-" if np.isnan(margin) else f"{margin:.1f}"


def _reading(row: int, flat: int, verdict: Verdict) -> str:
    """A number of a point, with its band where the study has samples."""
    units = verdict.criteria[row].units
    text = shown(verdict.readings[row, flat], units)
    if verdict.drawn is None:
        return text
    low, _, high = verdict.drawn.reading_band(row)[:, flat]
    ends = ["ended early" if np.isinf(one) else shown(float(one), units) for one in (low, high)]
    return f"{text} [{ends[0] if ends[0] == ends[1] else ' to '.join(ends)}]"


def _effects(points: Points, verdict: Verdict) -> list[tuple[str, list[Effect], str]]:
    found = []
    if verdict.criteria:
        found.append(("margin to the nearest limit", effects(points, verdict.margin), "steps"))
    for row, one in enumerate(verdict.criteria):
        whole = np.where(verdict.completed, verdict.readings[row], np.nan)  # the peak of a stopped run is no peak
        found.append((one.text, effects(points, whole), one.units))
    return found


def change_text(change: float, unit: str) -> str:
    """A difference of a number in its unit, as a person reads it."""
    if unit == "steps":
        return f"{change:.1f} steps"
    if unit == "Pa":
        return f"{change / 1e3:.3g} kPa"
    return shown(change, "K difference" if unit == "K" else unit)


def _notes(study: "xr.Dataset") -> list[tuple[str, int]]:
    counts: dict[str, int] = {}
    for text in np.asarray(study.notes.values, dtype=object).ravel():
        for note in filter(None, str(text).split("; ")):
            counts[note] = counts.get(note, 0) + 1
    return sorted(counts.items(), key=lambda item: -item[1])


def draw(points: Points, verdict: Verdict) -> list[tuple[str, str]]:
    """Figures of the page as (text, PNG): margin over the leading axes, each criterion along its leading axis."""
    from studies.plots import bands, heat_map, ranking

    figures = []
    drawn = verdict.drawn
    if drawn is not None and len(verdict.ranked()):
        best = [int(flat) for flat in verdict.ranked()[:MOST_DRAWN]]
        labels = [points.label(flat) for flat in best]
        apart = [drawn.against(best[0], flat).apart for flat in best]
        image = ranking(labels, verdict.margin[best], drawn.margin_band[:, best], apart)
        figures.append(("margin of the best layouts with its band", image))
    margin = verdict.margin
    ranked = [effect.axis for effect in effects(points, margin)]
    names = [axis.name for axis in points.axes]
    if verdict.criteria:
        leading = [names.index(name) for name in ranked[:3]]
        for at, first in enumerate(leading):
            for second in leading[at + 1 :]:
                title = "most room over the other axes" if len(names) > 2 else "room"
                grid, columns, rows = _table(points, margin, first, second)
                pair = (names[first], names[second])
                image = heat_map(grid, columns, rows, pair, title, "margin to the nearest limit, steps")
                figures.append((f"margin over {pair[0]} and {pair[1]}", image))
    for row, one in enumerate(verdict.criteria):
        factor, offset, unit = SCALE.get(one.units, (1.0, 0.0, one.units))
        values = (np.where(verdict.completed, verdict.readings[row], np.nan) + offset) * factor
        top = effects(points, values)
        if not top or not np.isfinite(values).any():
            continue
        axis = names.index(top[0].axis)
        place, labels = levels(points, axis)
        limit = (verdict.limits[row] + offset) * factor
        spread = None if drawn is None else (drawn.reading_band(row) + offset) * factor
        image = bands(place, labels, values, limit, names[axis], one.text, unit, spread)
        figures.append((f"{one.text} over {names[axis]}", image))
    return figures


def _table(points: Points, margin: np.ndarray, first: int, second: int) -> tuple[np.ndarray, list[str], list[str]]:
    """Largest margin of all points that share a place on two axes: (places of second, places of first)."""
    across, columns = levels(points, first)
    up, rows = levels(points, second)
    table = np.full((len(rows), len(columns)), -np.inf)
    np.maximum.at(table, (up, across), margin)
    return table, columns, rows


def write_report(folder: Path | str, best: int = 10) -> tuple[Summary, Path]:
    """Write `report.html` into a study folder: one file, no network, no script. Returns what it says and its path."""
    from studies.page import render
    from studies.store import writing

    summary, _, points, verdict = summarise(folder, best)
    summary.figures = draw(points, verdict)
    file = Path(folder) / "report.html"
    with writing(Path(folder)):
        file.write_text(render(summary), encoding="utf-8")
    return summary, file


def as_json(summary: Summary) -> str:
    """The summary as JSON, without figures."""
    from dataclasses import asdict

    data = asdict(summary)
    data.pop("figures")
    return json.dumps(data, indent=1, default=str)


def status(folder: Path | str) -> dict[str, Any]:
    """What is done, failed and left of a study folder, as plain data. Raises StoreError when it holds no study."""
    store = Store(folder)
    description = store.description()
    counts = outcomes(open_study(folder))
    total = sum(counts.values())
    left = counts.get(NOT_RUN, 0)
    good = sum(count for text, count in counts.items() if text.startswith(Outcome.COMPLETED.value))
    return {
        "title": description["title"],
        "total": total,
        "done": total - left,
        "failed": total - left - good,
        "left": left,
        "complete": store.zarr.is_dir(),
        "writing": store.writer(),
        "outcomes": counts,
    }
