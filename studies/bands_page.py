"""How bands are shown: rows of text for the terminal, plain data for JSON, one self-contained HTML page, and files."""

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

import sim1d
from sim1d import DescriptionError, Problem
from studies.bands import NumberBand, Result
from studies.criteria import shown
from studies.influence import Ranking
from studies.model import DAY, CarModel

WIDTH, HEIGHT, EDGE = 360, 34, 6  # px of a strip of samples


@dataclass(frozen=True)
class Row:
    """One number as text: what it is, middle, band, how many values, the inputs that widen it, and a drawing."""

    text: str
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
    """The share that holds every limit, then every headline number; `drawn` adds the strips of the page."""
    share = result.holding
    first = Row(
        "share of samples that hold every limit",
        _percent(share.value),
        f"{_percent(share.low)} to {_percent(share.high)} (binomial)",
        f"{share.holding} of {share.judged} with a verdict",
        _inputs(share.ranking),
    )
    return [first, *(_row(one, result, drawn) for one in result.numbers)]


def _row(one: NumberBand, result: Result, drawn: bool) -> Row:
    unit = one.headline.units
    text = one.headline.text
    if one.headline.name == "peak_metal_temperature" and result.hottest:
        cylinder, times = next(iter(result.hottest.items()))
        text += f" (most often {cylinder}: {times} of {result.completed})"
    count = f"{one.n} of {result.asked}"
    if one.lacking:
        count += f" ({one.lacking} completed without it)"
    strip = _strip(one, result.table[one.headline.name]) if drawn else ""
    return Row(
        text, shown(one.middle, unit), f"{shown(one.low, unit)} to {shown(one.high, unit)}", count,
        _inputs(one.ranking), strip,
    )  # fmt: skip


def _inputs(ranking: Ranking) -> tuple[str, ...]:
    if not ranking.inputs:
        return (ranking.why_none,)
    found = []
    for one in ranking.inputs:
        text = f"{one.path} {one.index:.2f} +/- {one.half:.2f}"
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
    lines = [f"{result.completed} of {result.asked} samples completed; {result.how}."]
    lines += [f"{count}: {text}" for text, count in result.outcomes.items()]
    if result.completed < result.asked:
        lines.append(
            "The bands speak of the completed samples alone: a day that was stopped has no peak, so where samples "
            "stopped the true band reaches further to the bad side."
        )
    return lines


HOW_TO_READ = (
    "Middle is the median; the band reaches from the 5th to the 95th percentile of the samples. The number behind an "
    "input is its first-order index, the share of the variance that it explains alone, with the half-width of its 95 % "
    "interval. An input is told from noise only where it lies above the best of many dummy inputs. The bands hold what "
    "the car file leaves open, not the errors of the model itself."
)


def as_json(result: Result) -> str:
    """Numbers, counts and rankings in SI; a number that does not exist is null."""
    data = {
        "car": result.car,
        "day": result.day,
        "seed": result.seed,
        "samples": result.asked,
        "completed": result.completed,
        "how": result.how,
        "outcomes": dict(result.outcomes),
        "holds_every_limit": {
            "share": result.holding.value,
            "low": result.holding.low,
            "high": result.holding.high,
            "holding": result.holding.holding,
            "judged": result.holding.judged,
            "inputs": _plain(result.holding.ranking),
        },
        "numbers": {
            one.headline.name: {
                "text": one.headline.text,
                "units": one.headline.units.split()[0],
                "middle": one.middle,
                "low": one.low,
                "high": one.high,
                "n": one.n,
                "lacking": one.lacking,
                "inputs": _plain(one.ranking),
            }
            for one in result.numbers
        },
        "hottest_cylinder": dict(result.hottest),
        "sources": result.sources,
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


def _strip(one: NumberBand, values: np.ndarray) -> str:
    """SVG of the samples along one line: the band as a bar, the median as a stroke, every value as a dot."""
    known = values[np.isfinite(values)]
    if not known.size or np.ptp(known) == 0.0:
        return ""
    low, width = float(known.min()), float(np.ptp(known))

    def x(value: float) -> float:
        return EDGE + (value - low) / width * (WIDTH - 2 * EDGE)

    # height of a dot: by its order of drawing, so that equal values stay apart
    dots = "".join(
        f'<circle cx="{x(float(value)):.1f}" cy="{7 + 20 * (number * 0.618034 % 1.0):.1f}" r="1.8"/>'
        for number, value in enumerate(known)
    )
    bar = f'<rect x="{x(one.low):.1f}" y="3" width="{x(one.high) - x(one.low):.1f}" height="28"/>'
    line = f'<line x1="{x(one.middle):.1f}" x2="{x(one.middle):.1f}" y1="1" y2="33"/>'
    return f'<svg width="{WIDTH}" height="{HEIGHT}" role="img">{bar}{dots}{line}</svg>'


PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Bands of {{ r.car }}, {{ r.day }}</title>
<style>
body { font: 15px/1.45 system-ui, sans-serif; max-width: 84rem; margin: 2rem auto; padding: 0 1rem; color: #222 }
table { border-collapse: collapse; margin: .7rem 0; font-size: 13px }
th, td { border: 1px solid #ccc; padding: .25rem .5rem; vertical-align: top }
th { background: #f0f0f0; text-align: left }
.cautions { border-left: 4px solid #c62828; padding: .2rem 1rem; background: #fff6f5 }
td div + div { margin-top: .2rem } .faint { color: #777 }
svg { display: block } rect { fill: #cfe0f2 } circle { fill: #1f5a94; fill-opacity: .55 }
line { stroke: #c62828; stroke-width: 2 }
</style></head><body>
<h1>Bands of {{ r.car }}, {{ r.day }}</h1>
<div class="cautions">{% for one in r.cautions %}<p>{{ one }}</p>{% endfor %}</div>
{% for one in status %}<p>{{ one }}</p>
{% endfor %}<p>{{ how }}</p>
<table><tr><th>number</th><th>middle</th><th>band</th><th>samples</th><th>what widens it most</th>
<th>least to greatest sample</th></tr>
{% for one in rows %}<tr><td>{{ one.text }}</td><td>{{ one.middle }}</td><td>{{ one.band }}</td><td>{{ one.count }}</td>
<td>{% for text in one.inputs %}<div{% if 'noise' in text %} class="faint"{% endif %}>{{ text }}</div>{% endfor %}</td>
<td>{{ one.strip|safe }}</td></tr>
{% endfor %}</table>
<p>Bar: the band. Red stroke: the median. Dots: one sample each, their height without meaning.</p>
{% if r.hottest %}<h2>Hottest cylinder</h2>
<table><tr><th>cylinder</th><th>samples</th></tr>
{% for name, count in r.hottest.items() %}<tr><td>{{ name }}</td><td>{{ count }}</td></tr>
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
