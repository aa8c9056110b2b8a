"""How bands are shown: rows of text for the terminal, plain data for JSON, one self-contained HTML page, and files."""

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

import sim1d
from sim1d import DescriptionError, Problem, bands_file
from sim1d.bands import NumberBand, Share, is_beyond, is_early
from sim1d.headlines import METAL, Bad
from studies.bands import Result
from studies.influence import Ranking
from studies.model import DAY, CarModel

WIDTH, HEIGHT, EDGE = 360, 34, 6  # px of a strip of samples
ZONE = 46  # px of it for samples at the bad end


@dataclass(frozen=True)
class Row:
    """One number as text: what it is, that of the file's own values, middle, band, how many values, the inputs that
    widen it, and a drawing."""

    text: str
    own: str
    middle: str
    band: str
    count: str
    inputs: tuple[str, ...]
    strip: str = ""


def read_inputs(car_file: Path, day_file: Path | None, settings: Sequence[str]) -> CarModel:
    """Car and day with `PATH=VALUE` settings made. Raises DescriptionError.

    A path that starts with `day.`, or with a word that only a day file knows, is one of the day.
    """
    wrong = [text for text in settings if not all(part.strip() for part in text.partition("="))]
    if wrong:
        fix = "write --set PATH=VALUE, for example --set pump.ratio=0.8"
        raise DescriptionError([Problem("--set", f'"{text[:60]}" is no setting', fix) for text in wrong])
    model = CarModel.load(car_file, day_file or sim1d.example_path("race_day"))
    of_day = set(sim1d.Day.model_fields) - set(sim1d.Car.file_keys())
    values = {}
    for text in settings:
        path, _, value = (part.strip() for part in text.partition("="))
        values[DAY + path if path.split(".")[0].split("[")[0] in of_day else path] = value
    car, day = model.apply(values)
    return CarModel(car, day)


def rows(result: Result, drawn: bool = False) -> list[Row]:
    """How many samples hold every limit and how many end early, then every headline number; `drawn` adds the strips."""
    bands = result.bands
    nominal_early = is_early(bands.nominal_outcome)
    shares = [
        Row("share of samples that hold every limit", "", *_share(bands.holding), _inputs(result.holding_ranking)),
        Row(
            "share of samples that end early", "ends early" if nominal_early else "completes", *_share(bands.early),
            _inputs(result.early_ranking),
        ),
    ]  # fmt: skip
    return [*shares, *(_row(one, result, drawn) for one in bands.numbers)]


def _share(share: Share) -> tuple[str, str, str]:
    """Middle, band and count of a share."""
    return (
        _percent(share.value), f"{_percent(share.low)} to {_percent(share.high)} (binomial)",
        f"{share.count} of {share.judged} with a verdict",
    )  # fmt: skip


def _row(one: NumberBand, result: Result, drawn: bool) -> Row:
    text = one.headline.text
    if one.headline.name == METAL and result.bands.hottest:
        cylinder, times = next(iter(result.bands.hottest.items()))
        text += f" (most often {cylinder}: {times} of {result.bands.completed} completed)"
    count = f"{one.over.n} of {result.bands.asked}"
    if one.over.early:
        count += f", {one.over.early} at the bad end"
    if one.lacking:
        count += f" ({one.lacking} completed without it)"
    strip = _strip(one, result) if drawn else ""
    return Row(
        text, one.nominal_text, one.middle_text, one.band_text, count, _inputs(result.rankings[one.headline.name]),
        strip,
    )  # fmt: skip


def _inputs(ranking: Ranking) -> tuple[str, ...]:
    if not ranking.inputs:
        return (ranking.why_none,)
    found = []
    for one in ranking.inputs:
        text = f"{one.path} {one.index:.2f}" + (f" +/- {one.half:.2f}" if math.isfinite(one.half) else "")
        if not one.found:
            text += " (not told from noise)"
        elif one.together:
            more = f" and {len(one.together) - 2} more" if len(one.together) > 2 else ""
            text += f" (or {', '.join(one.together[:2])}{more}: these samples do not tell)"
        found.append(text)
    return tuple(found)


def _percent(share: float) -> str:
    return "-" if math.isnan(share) else f"{100.0 * share:.0f} %"


def status_lines(result: Result) -> list[str]:
    """How many samples stand behind the bands, and how the others ended."""
    bands = result.bands
    lines = [f"{bands.completed} of {bands.asked} samples completed; {bands.how}."]
    lines += [f"{count}: {text}" for text, count in bands.outcomes.items()]
    lines.append(f"The file's own values: {bands.nominal_outcome}")
    if bands.early.count:
        lines.append(
            "A sample that ended early stands at the bad end of every number. Where a band ends among those it says "
            '"at least" or "at most": the worst number that was reached.'
        )
    lost = bands.asked - bands.usable
    if lost:
        lines.append(f"{lost} samples could not be computed: they say nothing and are left out of every number.")
    return lines


HOW_TO_READ = (
    "Own is the number of the values in the file; middle is the median; the band reaches from the 5th to the 95th "
    "percentile of the samples. The number behind an input is its first-order index, the share of the variance that it "
    "explains alone, with the half-width of its 95 % interval. An input is told from noise only where it lies above "
    "the best of many dummy inputs. The bands hold what the car file leaves open, not the errors of the model itself."
)


def as_json(result: Result) -> str:
    """bands.json: what `sim1d run --bands-from` reads, and the rankings. SI; a number that does not exist is null."""
    data = bands_file.as_data(result.bands)
    data["rankings"] = {name: _plain(one) for name, one in result.rankings.items()} | {
        "holds_every_limit": _plain(result.holding_ranking),
        "ended_early": _plain(result.early_ranking),
    }
    return json.dumps(_safe(data), indent=1, allow_nan=False)


def _plain(ranking: Ranking) -> dict[str, Any]:
    named = [
        {
            "path": one.path,
            "first_order": one.index,
            "half_width_95": one.half,
            "above_noise": one.found,
            "not_told_from": list(one.together),
        }
        for one in ranking.inputs
    ]
    return {"noise": ranking.noise, "ranked": named, "why_none": ranking.why_none}


def _safe(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _safe(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_safe(item) for item in value]
    if isinstance(value, (float, np.floating)):
        return float(value) if math.isfinite(value) else None
    return value


def _strip(one: NumberBand, result: Result) -> str:
    """SVG of the samples along one line: the band as a bar, the median and the file's own value as strokes, a dot for
    every sample that ran through; those at the bad end stand in the grey zone on their side."""
    values = result.column(one.headline.name)
    usable = np.array([run.completed or run.early for run in result.runs], dtype=bool)
    beyond = is_beyond(one.headline, values, result.early) & usable
    known = values[usable & ~beyond & np.isfinite(values)]
    shown = [*known, *(end.value for end in (one.over.low, one.over.middle, one.over.high)), one.nominal]
    finite = [value for value in shown if math.isfinite(value)]
    if not known.size or np.ptp(finite) == 0.0:
        return ""
    high = one.headline.bad is Bad.HIGH
    zone = ZONE if beyond.any() else 0
    low, width = min(finite), float(np.ptp(finite))
    first = EDGE + (0 if high else zone)

    def x(value: float) -> float:
        return first + (value - low) / width * (WIDTH - 2 * EDGE - zone)

    def side(count: int) -> list[float]:
        start = WIDTH - zone if high else 0
        return [start + 4 + (zone - 8) * (k + 0.5) / count for k in range(count)]

    places = [x(float(value)) for value in known] + side(int(beyond.sum()))
    # height of a dot: by its order of drawing, so that equal values stay apart
    dots = "".join(
        f'<circle cx="{place:.1f}" cy="{7 + 20 * (number * 0.618034 % 1.0):.1f}" r="1.8"/>'
        for number, place in enumerate(places)
    )
    ends = one.over.low, one.over.high
    left = 0.0 if ends[0].beyond else x(ends[0].value)
    right = float(WIDTH) if ends[1].beyond else x(ends[1].value)
    bar = f'<rect x="{left:.1f}" y="3" width="{right - left:.1f}" height="28"/>'
    grey = (
        f'<rect class="early" x="{WIDTH - zone if high else 0}" y="0" width="{zone}" height="{HEIGHT}"/>'
        if zone
        else ""
    )
    strokes = ""
    for value, name in ((math.nan if one.over.middle.beyond else one.over.middle.value, ""), (one.nominal, "own")):
        if math.isfinite(value):
            strokes += f'<line class="{name}" x1="{x(value):.1f}" x2="{x(value):.1f}" y1="1" y2="33"/>'
    return f'<svg width="{WIDTH}" height="{HEIGHT}" role="img">{grey}{bar}{dots}{strokes}</svg>'


PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Bands of {{ r.bands.car }}, {{ r.bands.day }}</title>
<style>
body { font: 15px/1.45 system-ui, sans-serif; max-width: 84rem; margin: 2rem auto; padding: 0 1rem; color: #222 }
table { border-collapse: collapse; margin: .7rem 0; font-size: 13px }
th, td { border: 1px solid #ccc; padding: .25rem .5rem; vertical-align: top }
th { background: #f0f0f0; text-align: left }
.cautions { border-left: 4px solid #c62828; padding: .2rem 1rem; background: #fff6f5 }
td div + div { margin-top: .2rem } .faint { color: #777 }
svg { display: block } rect { fill: #cfe0f2 } circle { fill: #1f5a94; fill-opacity: .55 }
line { stroke: #c62828; stroke-width: 2 } line.own { stroke: #222; stroke-dasharray: 3 2 }
rect.early { fill: #e4e4e4 }
</style></head><body>
<h1>Bands of {{ r.bands.car }}, {{ r.bands.day }}</h1>
<div class="cautions">{% for one in r.cautions %}<p>{{ one }}</p>{% endfor %}</div>
{% for one in status %}<p>{{ one }}</p>
{% endfor %}<p>{{ how }}</p>
<table><tr><th>number</th><th>own</th><th>middle</th><th>band</th><th>samples</th><th>what widens it most</th>
<th>least to greatest sample</th></tr>
{% for one in rows %}<tr><td>{{ one.text }}</td><td>{{ one.own }}</td><td>{{ one.middle }}</td>
<td>{{ one.band }}</td><td>{{ one.count }}</td>
<td>{% for text in one.inputs %}<div{% if 'noise' in text %} class="faint"{% endif %}>{{ text }}</div>{% endfor %}</td>
<td>{{ one.strip|safe }}</td></tr>
{% endfor %}</table>
<p>Bar: the band. Red stroke: the median; black dashes: the file's own values. Dots: one sample each, their height
without meaning; in the grey zone those that ended early, at the bad end.</p>
{% if r.bands.hottest %}<h2>Hottest cylinder</h2>
<table><tr><th>cylinder</th><th>samples</th></tr>
{% for name, count in r.bands.hottest.items() %}<tr><td>{{ name }}</td><td>{{ count }}</td></tr>
{% endfor %}</table>{% endif %}
</body></html>
"""


def render(result: Result) -> str:
    """The page as text: one file, no network, no script."""
    from jinja2 import Environment

    template = Environment(autoescape=True, trim_blocks=True).from_string(PAGE)
    return template.render(r=result, rows=rows(result, drawn=True), status=status_lines(result), how=HOW_TO_READ)


def write(result: Result, folder: Path) -> list[Path]:
    """Write bands.json, bands.nc and bands.html into a folder, which is made if missing. Raises OSError."""
    folder.mkdir(parents=True, exist_ok=True)
    files = [folder / name for name in ("bands.json", "bands.nc", "bands.html")]
    files[0].write_text(as_json(result) + "\n", encoding="utf-8")
    result.dataset().to_netcdf(files[1], engine="h5netcdf")
    files[2].write_text(render(result), encoding="utf-8")
    return files
