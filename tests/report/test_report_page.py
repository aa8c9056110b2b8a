"""Report and figures: one self-contained page, verdict first, nothing empty, nothing drawn from the air."""

import io
import json
import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest
from rich.console import Console
from synthetic import LINES, make

from sim1d import plots
from sim1d.bands import NoBands, SampleRun, bands_of, read_run
from sim1d.car import load_car
from sim1d.cautions import cautions
from sim1d.day import load_day
from sim1d.errors import Outcome
from sim1d.examples import example_path
from sim1d.flow_map import flow_map
from sim1d.reading_results import rated_parts
from sim1d.report import render
from sim1d.sources import laws
from sim1d.summary import summarise
from sim1d.terminal import print_verdict
from sim1d.verdict import judge


@pytest.fixture(scope="module")
def run():
    return make(starved=True)


@pytest.fixture(scope="module")
def page(run):
    return render(run, summarise(run))


class Reader(HTMLParser):
    """Collects text, links and the tags that stay open."""

    VOID = {"meta", "br", "img", "link", "hr", "input"}

    def __init__(self):
        super().__init__()
        self.text, self.links, self.open = [], [], []

    def handle_starttag(self, tag, attributes):
        self.links += [value for key, value in attributes if key in ("href", "src", "xlink:href") and value]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open and self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


def test_page_is_whole_and_points_nowhere_else(page):
    assert "http" not in page and "@import" not in page
    assert all(target.startswith("#") for target in re.findall(r"url\(([^)]*)\)", page))
    reader = Reader()
    reader.feed(page)
    assert reader.open == []
    assert all(link.startswith(("#", "data:image/png;base64,")) for link in reader.links)


def test_verdict_comes_before_every_figure_and_margin_before_metal(page):
    first_figure = page.index("<figure")
    body = page[page.index("<body") :]
    assert page.index("limits broken") < first_figure
    assert page.index("left-4") < first_figure
    tiles = [
        body.index(word) for word in ("Boiling margin, least", "Subcooling, least", "Seconds above", "Hottest metal")
    ]
    assert tiles == sorted(tiles)


def test_page_says_what_must_be_said(page, run):
    text = " ".join(page.split())
    for words in (
        "These numbers have no band",
        "sim1d run CAR DAY --bands 128",
        "kPa g",
        "psi g",
        "US gal/min",
        "Do not open hot",
        "rulebook",
        "245000",
        "assumed: 12 % of fuel power",
    ):
        assert words in text or words in text.replace("2.45e+05", "245000"), words
    assert all(f'id="figure-{key}"' in page for key in plots.FIGURES)
    assert "&lt;car&gt;" in page and "<car>" not in page  # what a file says is escaped


def test_every_figure_shows_something():
    run = make(starved=True)
    for name, (_, draw) in plots.FIGURES.items():
        figure = draw(run)
        drawn = [line for ax in figure.axes for line in (*ax.lines, *ax.collections, *ax.patches)]
        assert len(drawn) >= 3, name
        svg = plots.to_svg(figure)
        assert svg.startswith("<svg") and len(svg) > 5000 and "xmlns" not in svg and "<metadata" not in svg


def test_metal_figure_plots_the_dataset(run):
    figure = plots.metal(run)
    hot = run.metal_temperature.max("spot").sel(cylinder="left-4").values - 273.15
    curves = [line for line in figure.axes[0].lines if len(line.get_ydata()) == run.sizes["time"]]
    assert any(np.array_equal(line.get_ydata(), hot) for line in curves)


def test_pressure_figure_holds_each_part_against_its_own_rating(run):
    figure = plots.pressures(run)
    bars = figure.axes[1].patches
    parts = rated_parts(run)
    assert sorted(bar.get_width() for bar in bars) == pytest.approx(sorted(part["peak"] / 1000 for part in parts))


def test_flow_map_draws_every_line_with_the_mean_flow_of_the_last_pass(run):
    drawing = flow_map(run)
    assert {way.name for way in drawing.ways} == set(LINES)
    last = run.isel(time=np.flatnonzero(((run.role == "pass") & (run["round"] == 2)).values))
    seconds = float(last.time[-1] - last.time[0])
    for way in drawing.ways:
        assert way.flow == pytest.approx(
            float(last.volume_flow.sel(line=way.name).integrate("time")) / seconds, abs=1e-12
        )
    boxes = {box.name for box in drawing.boxes}
    assert {"left", "right", "radiator", "pump", "expansion_tank"} <= boxes
    left = next(box for box in drawing.boxes if box.name == "left")
    right = next(box for box in drawing.boxes if box.name == "right")
    assert left.z > right.z and len(drawing.dots) == 8
    assert {name for name, _, _ in drawing.plugs} == {"left.rear_vent", "right.rear_vent"}


def test_flow_map_labels_do_not_sit_on_each_other(run):
    places = [way.label_at for way in flow_map(run).ways]
    gaps = [np.hypot((a[0] - b[0]) / 2.5, a[1] - b[1]) for i, a in enumerate(places) for b in places[:i]]
    assert min(gaps) > 0.01


def test_figures_come_out_of_a_car_without_ratings_layout_or_pass():
    run = make(rounds=1).isel(time=slice(0, 60))
    run.attrs |= {"ratings": "{}", "layout": "{}"}
    page = render(run, summarise(run))
    assert page.count("<figure") == page.count("<svg") == len(plots.FIGURES)
    assert "margin unknown" in page and "no layout to draw" in page


def test_rated_part_appears_once_with_its_worst_point():
    run = make()
    ratings = {place: {"part": "radiator", "pressure_Pa": 2e5} for place in ("radiator.inlet", "radiator.outlet")}
    run.attrs["ratings"] = json.dumps(ratings | {"pump.discharge": {"part": "pump", "pressure_Pa": 3e5}})
    parts = rated_parts(run)
    assert [part["part"] for part in parts] == ["pump", "radiator"]
    assert parts[1]["point"] == "radiator.inlet"


def test_cautions_name_gauge_and_unrated_lines(run):
    texts = cautions(run)
    joined = " ".join(texts)
    assert "head_pressure shows at most" in joined and "pump.discharge" in joined
    unrated = next(text for text in texts if "unknown margin" in text)
    assert "lower" in unrated and "upper" not in unrated
    assert "glycol properties" not in joined.lower()


def test_laws_carry_their_sources():
    found = laws()
    assert len(found) > 20
    assert any("1973" in law.source or "1959" in law.source for law in found)
    assert all(law.source for law in found)


@pytest.mark.parametrize("width", [70, 140])
def test_terminal_leads_with_margin_subcooling_and_seconds(run, width):
    summary = summarise(run)
    paper = io.StringIO()
    print_verdict(Console(width=width, file=paper), run, summary, judge(run, summary))
    text = paper.getvalue()
    lines = text.splitlines()
    assert "LIMITS BROKEN" in lines[0]
    assert lines[1].startswith("Boiling margin 0.87; subcooling")
    assert "Hottest cylinder left-4" in text and "starved" in text
    assert text.index("starved") < text.index("at least")
    words = " ".join(text.split())
    assert "These numbers have no band" in words and "--bands 128 gives every one" in words
    assert all(len(line) <= width for line in lines)


@pytest.fixture(scope="module")
def bands(run):
    """Invented bands: the run itself, eight whole days that run hotter and hotter, two that ended early."""
    own = read_run(summarise(run))
    whole = [replace(own, numbers={name: value * (1 + k / 100) for name, value in own.numbers.items()})
             for k in range(8)]  # fmt: skip
    early = SampleRun(f"{Outcome.BOILED_OUT.value} (at 3.0 s, in pass)", own.numbers, "left-4", False)
    car = load_car(example_path("layout_a"))
    found = bands_of(car, load_day(example_path("race_day")), [*whole, early, early], own)
    return replace(found, widened_by={"peak_metal_temperature": ("engine.heat.to_coolant", "pump.slip")})


def test_page_shows_every_headline_with_its_band(run, bands):
    page = " ".join(render(run, summarise(run), bands).split())
    assert "no band" not in page and "8 of 10 samples completed" in page and "2: Coolant boiled" in page
    table = page[page.index("Headline numbers with their bands") :]
    for one in bands.numbers:
        assert f"<td>{one.headline.text}</td>" in table.replace("&#39;", "'"), one.headline.name
        assert f"<td>{one.middle_text}</td><td>{one.band_text}</td>" in table
    assert "engine.heat.to_coolant, pump.slip" in table and "at least" in table
    tiles = page[page.index('class="tiles"') : page.index("Headline numbers with their bands")]
    assert tiles.count("; band ") == tiles.count('class="tile ') == 8


@pytest.mark.parametrize("width", [70, 140])
def test_terminal_shows_every_headline_with_its_band(run, bands, width):
    paper = io.StringIO()
    summary = summarise(run)
    print_verdict(Console(width=width, file=paper), run, summary, judge(run, summary), bands)
    words = " ".join(paper.getvalue().split())
    assert "have no band" not in words and "8 of 10 samples completed" in words
    assert "stands at the bad end of every number" in words
    if width < 100:
        for one in bands.numbers:
            assert f"middle {one.middle_text}, band {one.band_text}" in words, one.headline.name


def test_a_run_that_cannot_be_compared_says_why(run):
    paper = io.StringIO()
    summary = summarise(run)
    print_verdict(Console(width=140, file=paper), run, summary, judge(run, summary), NoBands("it is old", "sim1d run"))
    assert "no band: it is old. sim1d run gives" in " ".join(paper.getvalue().split())


def test_every_pressure_of_the_verdict_says_gauge(run):
    for check in judge(run, summarise(run)).checks:
        for number in re.findall(r"\d (?:kPa|psi)\b.{0,2}", f"{check.found} {check.limit} {check.place}"):
            assert number.rstrip(",;)").endswith(" g"), check
