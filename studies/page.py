"""The HTML page of a study's report: one self-contained file, made by jinja2 with everything escaped."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from studies.report import Summary

PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{ s.title }}</title>
<style>
body { font: 15px/1.45 system-ui, sans-serif; max-width: 76rem; margin: 2rem auto; padding: 0 1rem; color: #222 }
table { border-collapse: collapse; margin: .7rem 0; font-size: 13px }
th, td { border: 1px solid #ccc; padding: .25rem .5rem }
th { background: #f0f0f0; text-align: left } .good { background: #e6f3e6 } .bad { background: #fbe9e7 }
.cautions { border-left: 4px solid #c62828; padding: .2rem 1rem; background: #fff6f5 } img { max-width: 100% }
.wide { overflow-x: auto }
.figures { display: grid; grid-template-columns: repeat(auto-fit, minmax(24rem, 1fr)); gap: 1rem }
</style></head><body>
<h1>{{ s.title }}</h1>
<div class="cautions">{% for one in s.cautions %}<p>{{ one }}</p>{% endfor %}</div>
<p>{{ s.done }} of {{ s.total }} points run, {{ s.failed }} of them did not complete.
{% if s.limits %}{{ s.holding }} hold every limit.{% else %}No limits are given, so nothing is ranked.{% endif %}
 {% if s.draws %}<strong>{{ s.draws }}.</strong>{% endif %}
{% if s.done < s.total %}<strong>This study is not complete: give the same command again.</strong>{% endif %}</p>
<p>{{ s.uncertain }}</p>
<h2>Axes</h2>
<table><tr><th>axis</th><th>moves</th><th>places</th></tr>
{% for name, paths, places in s.axes %}<tr><td>{{ name }}</td><td>{{ paths }}</td><td>{{ places }}</td></tr>
{% endfor %}</table>
{% if s.limits %}<h2>Limits</h2>
<table><tr><th>limit</th><th>value</th><th>one step of margin (assumed, for ranking only)</th>
<th>completed points it excludes</th></tr>
{% for what, limit, step, count in s.limits %}
<tr><td>{{ what }}</td><td>{{ limit }}</td><td>{{ step }}</td><td>{{ count }}</td></tr>
{% endfor %}</table>
{% if s.unjudged %}<p>Not judged, because the study did not keep the number: {{ s.unjudged|join(', ') }}.</p>{% endif %}
<h2>Best layouts</h2>
<p>{% if s.draws %}Ranked by the samples that hold every limit, then by the median of their room to the nearest one.
{% else %}Ranked by the room to the nearest limit, which is named.{% endif %}
{% if not s.holding %}<strong>No layout of this study holds every limit; these come nearest.</strong>{% endif %}</p>
<div class="wide"><table><tr>{% for name, _, _ in s.axes %}<th>{{ name }}</th>{% endfor %}
<th>margin, steps</th><th>nearest limit</th>
{% if s.draws %}<th>samples that hold every limit</th><th>margin of the samples, steps: middle (band)</th>
<th>against the first, draw by draw</th>{% endif %}
{% for name in s.readings %}<th>{{ name }}</th>{% endfor %}</tr>
{% for one in s.layouts %}<tr class="{{ 'good' if one.holds else 'bad' }}">
{% for place in one.places %}<td>{{ place }}</td>{% endfor %}
<td>{{ '%.1f'|format(one.margin) }}</td><td>{{ one.binding }}</td>
{% if s.draws %}<td>{{ one.samples }}</td><td>{{ one.room }}</td><td>{{ one.against }}</td>{% endif %}
{% for value in one.readings %}<td>{{ value }}</td>{% endfor %}</tr>
{% endfor %}</table></div>
<h2>What matters</h2>
<p>Of the completed points: share of the variance that each axis explains alone, and how far its mean moves from one
place to another.</p>
<table><tr><th>number</th><th>axis</th><th>share</th><th>change of the mean</th>
<th>lowest at</th><th>highest at</th></tr>
{% for what, found, unit in s.effects %}{% for one in found %}
<tr><td>{{ what if loop.first else '' }}</td><td>{{ one.axis }}</td>
<td>{{ '%.0f %%'|format(100 * one.share) }}</td><td>{{ change(one.change, unit) }}</td><td>{{ one.lowest }}</td>
<td>{{ one.highest }}</td></tr>
{% endfor %}{% endfor %}</table>{% endif %}
{% if s.figures %}<h2>Figures</h2>
<p>In the tables of margins blue holds every limit and red does not; the number is the margin in steps.</p>
<div class="figures">
{% for text, one in s.figures %}<img alt="{{ text }}" src="{{ one }}">{% endfor %}</div>{% endif %}
<h2>Outcomes</h2>
<table><tr><th>outcome</th><th>points</th></tr>
{% for text, count in s.outcomes.items() %}<tr><td>{{ text }}</td><td>{{ count }}</td></tr>
{% endfor %}</table>
{% if s.failures %}<h2>Points that did not complete</h2>
<table><tr><th>point</th><th>outcome</th></tr>
{% for point, text in s.failures %}<tr><td>{{ point }}</td><td>{{ text }}</td></tr>
{% endfor %}</table>
{% if s.failed > s.failures|length %}<p>and {{ s.failed - s.failures|length }} more.</p>{% endif %}{% endif %}
{% if s.notes %}<h2>Notes of the runs</h2>
<table><tr><th>note</th><th>points</th></tr>
{% for text, count in s.notes %}<tr><td>{{ text }}</td><td>{{ count }}</td></tr>
{% endfor %}</table>{% endif %}
{% if s.versions %}<p>Computed with
{% for name, version in s.versions.items() %}{{ name }} {{ version }}{{ ', ' if not loop.last }}
{% endfor %}.</p>{% endif %}
</body></html>
"""


def render(summary: "Summary") -> str:
    """The page as text."""
    from jinja2 import Environment

    from studies.report import change_text

    template = Environment(autoescape=True, trim_blocks=True).from_string(PAGE)
    return template.render(s=summary, change=change_text)
