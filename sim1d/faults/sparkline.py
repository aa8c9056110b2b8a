"""Small pictures of what one gauge shows with and without a fault: plain SVG, so that a page of many stays light."""

import math
from dataclasses import dataclass
from html import escape

import numpy as np

from sim1d.display import show_pressure, show_temperature
from sim1d.faults.alarms import Alarm
from sim1d.parts.sensor import SensorKind

WIDTH, HEIGHT = 250, 96  # px of the whole picture
LEFT, RIGHT, TOP, BOTTOM = 4, 4, 16, 14  # px round the curves, for title and axis
KEPT = 160  # instants that are drawn at most
BEFORE, AFTER = 20.0, 60.0  # s round a launch that are shown when the fault tells there
SOUND, FAULTY, LIMIT, LAUNCH = "#8a949b", "#b3261e", "#6d0f0a", "#c7ced3"


@dataclass(frozen=True)
class Window:
    """What part of the day is drawn (s), and the launch in it (None: the whole day)."""

    begin: float
    end: float
    launch: float | None

    @property
    def text(self) -> str:
        """In words, for a caption."""
        if self.launch is None:
            return f"the whole day, {self.end / 60:.0f} min"
        return f"from {self.launch - self.begin:.0f} s before the launch to {self.end - self.launch:.0f} s after it"


def window(time: np.ndarray, launches: list[float], at: float | None) -> Window:
    """Round the launch that comes at most `AFTER` before (or `BEFORE` after) the instant `at`, else the whole day."""
    if at is not None:
        for launch in launches:
            if launch - BEFORE <= at <= launch + AFTER:
                return Window(max(launch - BEFORE, float(time[0])), min(launch + AFTER, float(time[-1])), launch)
    return Window(float(time[0]), float(time[-1]), None)


def picture(alarm: Alarm, span: Window, limit: float | None) -> str:
    """SVG of one gauge: grey without the fault, red with it, a dot where it first differs, a line at the limit."""
    time, own, sound = alarm.trace.T
    inside = np.flatnonzero((time >= span.begin) & (time <= span.end))
    if len(inside) < 2 or not np.isfinite(own[inside]).any():
        return ""
    inside = thinned(time, own, inside)
    show = show_pressure if alarm.kind is SensorKind.PRESSURE else show_temperature
    values = np.concatenate([own[inside], sound[inside]])
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    middle, half = 0.5 * (low + high), max(0.5 * (high - low), alarm.threshold)  # what nobody could see looks flat
    low, high = middle - half, middle + half

    def x(t: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (t - span.begin) / (span.end - span.begin)

    def y(value: float) -> float:
        return TOP + (HEIGHT - TOP - BOTTOM) * (high - value) / (high - low)

    def line(curve: np.ndarray, colour: str, width: float) -> str:
        known = [i for i in inside if math.isfinite(curve[i])]
        points = " ".join(f"{x(time[i]):.1f},{y(curve[i]):.1f}" for i in known)
        return f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="{width}"/>' if known else ""

    parts = [
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{escape(alarm.sensor)}" font-size="9" font-family="sans-serif">',
        f'<text x="{LEFT}" y="10" font-weight="bold" fill="#22282c">{escape(alarm.sensor)}</text>',
        f'<text x="{WIDTH - RIGHT}" y="10" text-anchor="end" fill="#5b646a">{_span(show(low), show(high))}</text>',
    ]
    for mark, colour, dash in ((span.launch, LAUNCH, "3 2"), (limit, LIMIT, "")):
        if mark is not None and span.begin <= mark <= span.end:
            parts.append(
                f'<line x1="{x(mark):.1f}" x2="{x(mark):.1f}" y1="{TOP}" y2="{HEIGHT - BOTTOM}" stroke="{colour}" '
                f'stroke-dasharray="{dash or "none"}"/>'
            )
    parts += [line(sound, SOUND, 1.6), line(own, FAULTY, 1.2)]
    if alarm.moved_at is not None and alarm.moved is not None and span.begin <= alarm.moved_at <= span.end:
        inside_y = min(max(y(alarm.moved[0]), TOP), HEIGHT - BOTTOM)
        parts.append(f'<circle cx="{x(alarm.moved_at):.1f}" cy="{inside_y:.1f}" r="2.6" fill="{FAULTY}"/>')
    base = HEIGHT - BOTTOM
    parts.append(f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{base}" y2="{base}" stroke="#dbe1e5"/>')
    parts.append(f'<text x="{LEFT}" y="{HEIGHT - 3}" fill="#5b646a">{_clock(span.begin, span)}</text>')
    end = _clock(span.end, span)
    parts.append(f'<text x="{WIDTH - RIGHT}" y="{HEIGHT - 3}" text-anchor="end" fill="#5b646a">{end}</text></svg>')
    return "".join(parts)


def thinned(time: np.ndarray, own: np.ndarray, inside: np.ndarray) -> np.ndarray:
    """At most about `KEPT` of the instants: in each of equal bins of time the first, the highest and the lowest."""
    if len(inside) <= KEPT:
        return inside
    bins = KEPT // 3
    which = np.minimum((time[inside] - time[inside[0]]) / (time[inside[-1]] - time[inside[0]]) * bins, bins - 1)
    kept: set[int] = {int(inside[0]), int(inside[-1])}
    for one in range(bins):
        own_bin = inside[which.astype(int) == one]
        if len(own_bin):
            values = own[own_bin]
            kept |= {int(own_bin[0]), int(own_bin[np.argmax(values)]), int(own_bin[np.argmin(values)])}
    return np.array(sorted(kept))


def _span(low: str, high: str) -> str:
    """ "40 kPa g (5.8 psi g)" and "120 kPa g (17 psi g)" -> "40 to 120 kPa g"."""
    first, last = low.split(" (")[0], high.split(" (")[0]
    number, _, unit = first.partition(" ")
    return f"{number} to {last}" if last.endswith(unit) else f"{first} to {last}"


def _clock(time: float, span: Window) -> str:
    if span.launch is not None:
        return f"{time - span.launch:+.0f} s"
    return f"{time / 60:.0f} min"
