"""Figures of a run. Every function takes a result dataset and returns a matplotlib Figure.

matplotlib is imported inside the functions, so that the command line starts without it. Figures are made without
pyplot: no window, no global state.
"""

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

from sim1d.flow_map import FlowMap, flow_map
from sim1d.plot_data import around_pass, cylinders_per_bank, main_points, to_celsius, to_fahrenheit, to_kpa, to_psi
from sim1d.plots_frame import drawn, framed, measured, text_width, to_png, to_svg
from sim1d.reading_results import bank_of, names, passes, position_of, rated_parts, rounds_of, structured

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim1d.car import Car
    from sim1d.static_fill import Fill

__all__ = ["FIGURES", "svgs", "to_png", "to_svg"]
ROLE_SHADE = {"pass": "#f6d5d0", "burnout": "#fbe6cf", "pit": "#e2eef7", "soak": "#eeeeee"}
AMBER, RED, FAIL = "#c98a00", "#c0271c", "#6d0f0a"
BANK_MAP = {"left": "Blues", "right": "Oranges"}
ZERO_C = 273.15
US_GALLON = 3.785411784


def colour_of(cylinder: str, count: int) -> Any:
    """Shade of a cylinder: the bank gives the colour, the rear is darker."""
    import matplotlib

    return matplotlib.colormaps[BANK_MAP[bank_of(cylinder)]](
        0.4 + 0.55 * (position_of(cylinder) - 1) / max(count - 1, 1)
    )


def _dashes_of(cylinder: str) -> Any:
    """The right bank is dashed: equal banks lie on top of each other, and both must be seen."""
    return (0, (3, 2)) if bank_of(cylinder) == "right" else "-"


def _day_axis(ds: "xr.Dataset", ax: "Axes", label: bool = True) -> np.ndarray:
    """Shade the phases behind a day-long plot and mark the rounds; returns time in minutes."""
    minutes = ds["time"].values / 60.0
    role, number = ds["role"].values, ds["round"].values
    edges = np.flatnonzero((role[1:] != role[:-1]) | (number[1:] != number[:-1])) + 1
    for start, end in zip([0, *edges], [*edges, len(role)], strict=True):
        if role[start] in ROLE_SHADE:
            ax.axvspan(minutes[start], minutes[min(end, len(role) - 1)], color=ROLE_SHADE[role[start]], lw=0, zorder=0)
    for k in rounds_of(ds):
        first = minutes[np.flatnonzero(number == k)[0]]
        if first > minutes[0]:
            ax.axvline(first, color="#7a8288", lw=0.8, ls=":")
        if label:
            ax.text(
                first, 1.01, f" round {k}", transform=ax.get_xaxis_transform(), fontsize=8, color="#555c61", va="bottom"
            )
    ax.set_xlim(minutes[0], minutes[-1])
    ax.set_xlabel("time of day, min")
    return minutes


def _fahrenheit(ax: "Axes") -> None:
    other = ax.secondary_yaxis("right", functions=(to_fahrenheit, to_celsius))
    other.set_ylabel("F")


def _limit(ax: "Axes", value: float, text: str, colour: str, low: float = -np.inf, high: float = np.inf) -> None:
    """A limit as a dashed line with its name on it, drawn only where it is near the data."""
    if low <= value <= high:
        ax.axhline(value, color=colour, lw=1.0, ls="--", zorder=1)
        ax.text(
            0.995, value, text, transform=ax.get_yaxis_transform(), ha="right", va="bottom", fontsize=7.5, color=colour
        )


def _metal_limits(ax: "Axes", limits: dict[str, float], peak: float) -> None:
    for key, text, colour in (
        ("metal_amber", "watch", AMBER),
        ("metal_red", "damage", RED),
        ("metal_fail", "failure", FAIL),
    ):
        if key in limits:
            _limit(ax, limits[key] - ZERO_C, f"{text} {limits[key] - ZERO_C:.0f} C", colour, high=peak + 45)
    ax.set_ylim(top=max(peak + 15, ax.get_ylim()[1]))


@drawn
def metal(ds: "xr.Dataset") -> "Figure":
    """Hottest metal of each cylinder over the day, and every pass close up, with the limits."""
    runs = passes(ds)
    figure = framed(10.5, 6.4 if runs else 3.4, right=0.8, bottom=0.85 if runs else 0.5, across=0.16, down=0.36)
    grid = figure.add_gridspec(2 if runs else 1, max(len(runs), 1), height_ratios=[1, 1.25] if runs else [1])
    hot = ds["metal_temperature"].values.max(axis=2) - ZERO_C
    limits = structured(ds, "limits", {})
    cylinders, count = names(ds, "cylinder"), cylinders_per_bank(ds)
    top = figure.add_subplot(grid[0, :])
    minutes = _day_axis(ds, top)
    for c, name in enumerate(cylinders):
        top.plot(minutes, hot[:, c], color=colour_of(name, count), ls=_dashes_of(name), lw=1.1)
    _metal_limits(top, limits, float(hot.max()))
    top.set_ylabel("hottest metal, C")
    _fahrenheit(top)
    first = None
    for k, (number, span) in enumerate(runs):
        ax = figure.add_subplot(grid[1, k], sharey=first)
        first = first or ax
        seconds, near = around_pass(ds, span)
        ax.axvspan(0, seconds[span.stop - 1], color=ROLE_SHADE["pass"], lw=0, zorder=0)
        for c, name in enumerate(cylinders):
            ax.plot(seconds[near], hot[near, c], color=colour_of(name, count), ls=_dashes_of(name), label=name)
        _metal_limits(ax, limits, float(hot.max()))
        ax.set_title(f"Pass of round {number}")
        ax.set_xlabel("seconds from the launch")
        ax.set_xlim(seconds[near][0], seconds[near][-1])
        if k == 0:
            ax.set_ylabel("hottest metal, C")
            figure.legend(*ax.get_legend_handles_labels(), ncols=max(count, 8), loc="lower center")
    if first is not None:
        _fahrenheit(figure.axes[-1])
    return figure


def _point_colours(chosen: list[str]) -> list[Any]:
    import matplotlib

    return [matplotlib.colormaps["tab10"](i % 10) for i in range(len(chosen))]


@drawn
def coolant(ds: "xr.Dataset") -> "Figure":
    """Coolant temperature at the main points over the day, with the staging window and the range of all points."""
    points, chosen = names(ds, "point"), main_points(ds)
    figure = framed(10.5, 3.8, right=1.25 + text_width([name.removeprefix("engine.") for name in chosen], 8))
    ax = figure.add_subplot()
    minutes = _day_axis(ds, ax)
    values = ds["coolant_temperature"].values - ZERO_C
    ax.fill_between(
        minutes, values.min(axis=1), values.max(axis=1), color="#d9dee2", lw=0, label="all points", zorder=1
    )
    for name, colour in zip(chosen, _point_colours(chosen), strict=True):
        ax.plot(minutes, values[:, points.index(name)], label=name.removeprefix("engine."), color=colour, lw=1.2)
    window = structured(ds, "staging_window", None)
    if window:
        for bound, text in zip(window, ("staging window, least", "staging window, most"), strict=True):
            _limit(ax, bound - ZERO_C, text, "#2e7d32")
    limit = structured(ds, "limits", {}).get("coolant")
    if limit is not None:
        _limit(ax, limit - ZERO_C, "limit", RED, high=float(values.max()) + 25)
    ax.set_ylabel("coolant, C")
    ax.legend(loc="upper left", bbox_to_anchor=(1.07, 1.0))
    _fahrenheit(ax)
    return figure


@drawn
def pressures(ds: "xr.Dataset") -> "Figure":
    """Gauge pressure at the main points in the worst pass, and each rated part against its rating."""
    rated = rated_parts(ds)
    shown = rated[:9][::-1]
    labels = [f"{part['part']}\nat {part['point'].removeprefix('engine.')}" for part in shown]
    beside = min(0.85 + text_width(labels, 7.5), 4.0)  # inches: a second axis, and what stands left of the bars
    figure = framed(10.5, 4.2, top=0.35, across=2 * beside / (10.5 - 0.75 - 0.3 - beside), right=0.3)
    left, right = figure.subplots(1, 2, width_ratios=[1.25, 1])
    gauge = ds["gauge_pressure"].values / 1000
    points = names(ds, "point")
    runs = passes(ds)
    if runs:
        number, span = max(runs, key=lambda run: gauge[run[1]].max())
        x, near = around_pass(ds, span, after=40.0)
        left.axvspan(0, x[span.stop - 1], color=ROLE_SHADE["pass"], lw=0, zorder=0)
        left.set_title(f"Pressure around the pass of round {number} (gauge)")
        left.set_xlabel("seconds from the launch")
        left.set_xlim(x[near][0], x[near][-1])
    else:
        x, near = _day_axis(ds, left), slice(None)
        left.set_title("Pressure over the day (gauge)")
    chosen = main_points(ds)
    for name, colour in zip(chosen, _point_colours(chosen), strict=True):
        left.plot(x[near], gauge[near, points.index(name)], label=name.removeprefix("engine."), color=colour, lw=1.2)
    left.set_ylabel("kPa gauge")
    left.secondary_yaxis("right", functions=(to_psi, to_kpa)).set_ylabel("psi gauge")
    left.legend(loc="upper right", fontsize=7)
    for row, part in enumerate(shown):
        colour = RED if part["use"] > 1 else AMBER if part["use"] > 0.9 else "#4f7ca6"
        right.barh(row, part["peak"] / 1000, height=0.55, color=colour, zorder=2)
        right.plot([part["rating"] / 1000] * 2, [row - 0.38, row + 0.38], color="#22282c", lw=2.2, zorder=3)
        right.annotate(f"{part['use']:.0%}", (part["rating"] / 1000, row), xytext=(4, 0), textcoords="offset points",
                       va="center", fontsize=7.5)  # fmt: skip
    right.set_yticks(range(len(shown)), labels, fontsize=7.5)
    right.set_title("Peak at each rated part, rating as black mark", loc="right")
    right.set_xlabel("kPa gauge")
    right.set_xlim(0, max([part["rating"] for part in rated] + [part["peak"] for part in rated] + [1e5]) / 1000 * 1.12)
    right.grid(False, axis="y")
    if not shown:
        right.text(
            0.5, 0.5, "no part of this car has a rating:\nmargin unknown", ha="center", transform=right.transAxes
        )
    return figure


@drawn
def boiling(ds: "xr.Dataset") -> "Figure":
    """Critical heat flux margin and subcooling of each cylinder around every pass, with their limits."""
    runs = passes(ds) or [(rounds_of(ds)[-1], slice(0, ds.sizes["time"]))]
    figure = framed(10.5, 5.4, left=0.85, bottom=0.85, across=0.05, down=0.1)
    axes = figure.subplots(2, len(runs), squeeze=False, sharey="row", sharex="col")
    limits = structured(ds, "limits", {})
    cylinders, count = names(ds, "cylinder"), cylinders_per_bank(ds)
    margin, subcooling = ds["critical_heat_flux_margin"].values, ds["subcooling"].values
    for k, (number, span) in enumerate(runs):
        seconds, near = around_pass(ds, span, after=60.0)
        for c, name in enumerate(cylinders):
            look = {"color": colour_of(name, count), "ls": _dashes_of(name)}
            axes[0, k].plot(seconds[near], margin[near, c], label=name, **look)
            axes[1, k].plot(seconds[near], subcooling[near, c], **look)
        for ax, key, text in ((axes[0, k], "critical_heat_flux_margin", "least"), (axes[1, k], "subcooling", "least")):
            ax.axvspan(0, seconds[span.stop - 1], color=ROLE_SHADE["pass"], lw=0, zorder=0)
            if key in limits:
                _limit(ax, limits[key], f"{text} {limits[key]:g}", RED)
        axes[0, k].set_yscale("log")
        axes[0, k].set_title(f"Pass of round {number}")
        axes[1, k].set_xlabel("seconds from the launch")
        axes[0, k].set_xlim(seconds[near][0], seconds[near][-1])
    from matplotlib.ticker import FuncFormatter, NullFormatter

    axes[0, 0].set_yticks([0.1, 0.2, 0.5, 1, 2, 5, 10, 20])
    axes[0, 0].yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes[0, 0].yaxis.set_minor_formatter(NullFormatter())
    axes[0, 0].set_ylim(min(0.8, max(0.1, 0.8 * float(np.nanmin(margin)))), 20)
    axes[0, 0].set_ylabel("boiling margin\n(critical over actual heat flux)")
    axes[1, 0].set_ylabel("subcooling, K")
    figure.legend(*axes[0, 0].get_legend_handles_labels(), ncols=max(count, 8), loc="lower center")
    return figure


@drawn
def flows(ds: "xr.Dataset") -> "Figure":
    """Flow past each cylinder and through each bank, mean of the last pass."""
    from sim1d.summary import pass_means

    numbers = pass_means(ds, passes(ds)[-1:])
    figure = framed(10.5, 3.0, left=0.5, bottom=0.35, across=0.15)
    left, right = figure.subplots(1, 2, width_ratios=[2.2, 1])
    flow = {name: value * 60000 for name, value in numbers["pass_cylinder_flow_m3_s"].items()}
    count = cylinders_per_bank(ds)
    bars = left.bar(list(flow), list(flow.values()), color=[colour_of(name, count) for name in flow], zorder=2)
    left.bar_label(bars, fmt="%.1f", fontsize=8, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6})
    if flow:
        left.axhline(np.mean(list(flow.values())), color="#33393d", ls="--", lw=1, zorder=1)
    left.set_title("Flow past each cylinder, L/min (dashed: mean)")
    banks = {name: value * 60000 for name, value in numbers["pass_bank_flow_m3_s"].items()}
    import matplotlib

    bars = right.bar(
        list(banks),
        list(banks.values()),
        color=[matplotlib.colormaps[BANK_MAP[b]](0.7) for b in banks],
        zorder=2,
        width=0.5,
    )
    right.bar_label(
        bars, [f"{value:.0f} L/min\n{value / US_GALLON:.1f} US gal/min" for value in banks.values()], fontsize=8
    )
    right.set_title("Flow through each bank")
    for ax in (left, right):
        ax.grid(False, axis="x")
        ax.margins(y=0.22)
    return figure


@drawn
def level(ds: "xr.Dataset") -> "Figure":
    """Pressure of the gas in the tank, height of its surface, and coolant lost, over the day."""
    figure = framed(10.5, 4.6, left=0.85, down=0.12)
    axes = figure.subplots(3, 1, sharex=True)
    series = (
        (ds["system_pressure"].values / 1000, "system pressure,\nkPa gauge", "#4f7ca6"),
        (ds["tank_level"].values * 1000, "tank level,\nmm above ground", "#2e7d32"),
        (ds["coolant_lost"].values, "coolant lost, kg", RED),
    )
    for k, (ax, (values, text, colour)) in enumerate(zip(axes, series, strict=True)):
        minutes = _day_axis(ds, ax, label=k == 0)
        ax.plot(minutes, values, color=colour)
        ax.set_ylabel(text, fontsize=8)
        if k < 2:
            ax.set_xlabel("")
    lost = ds["coolant_lost"].values
    axes[2].set_ylim(bottom=min(0.0, float(lost.min())), top=max(0.05, 1.1 * float(lost.max())))
    return figure


@drawn
def ledgers(ds: "xr.Dataset") -> "Figure":
    """Where the heat went: heat in, heat out by radiator and to the surroundings, and what is still stored."""
    figure = framed(10.5, 3.2)
    ax = figure.add_subplot()
    minutes = _day_axis(ds, ax)
    if "ledger" in ds:
        table = {name: ds["ledger"].values[:, i] / 1e6 for i, name in enumerate(names(ds, "term"))}
        came = table["engine_heat"] + table["pump_work"]
        left = [table["radiator_heat"], table["ambient_heat"], table["vented_heat"]]
        ax.stackplot(minutes, *left, labels=["left by the radiator", "left to air beside it", "left with lost coolant"],
                     colors=["#7fb3d8", "#b9c9a0", "#e8a79f"], zorder=1)  # fmt: skip
        ax.fill_between(
            minutes, np.sum(left, axis=0), came, color="#f3dfb4", lw=0, label="stored in metal and coolant", zorder=1
        )
        ax.plot(minutes, came, color="#33393d", lw=1.2, label="heat in: engine and pump")
        ax.legend(loc="upper left")
    ax.set_ylabel("heat since the start, MJ")
    return figure


@drawn
def layout_map(ds: "xr.Dataset") -> "Figure":
    """The layout in an oblique side view with the flow in every line, mean over the last pass."""
    from sim1d.plots_map import draw_map

    margins = dict(left=0.1, right=1.1, top=0.5, bottom=0.45)
    figure = framed(11.0, 6.6, **margins)
    drawing: FlowMap = flow_map(ds)
    ax = draw_map(figure, drawing)
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    needed = (11.0 - margins["left"] - margins["right"]) * (high - low) / (right - left)
    height = needed + margins["top"] + margins["bottom"]
    if drawing.ways and height < 6.6:  # a flat car needs no tall page
        figure.set_figheight(height)
        figure.subplots_adjust(bottom=margins["bottom"] / height, top=1.0 - margins["top"] / height)
    return figure


@drawn
def pocket_map(car: "Car", fill: "Fill") -> "Figure":
    """The layout with the coolant and the air of a static fill."""
    from sim1d.plots_fill import draw_pockets

    figure = measured(11.0, 6.6)
    draw_pockets(figure, car, fill)
    return figure


FIGURES: dict[str, tuple[str, Callable[["xr.Dataset"], "Figure"]]] = {
    "layout_map": ("Flow in every line", layout_map),
    "metal": ("Metal temperature", metal),
    "boiling": ("Boiling margin and subcooling", boiling),
    "flows": ("How evenly the coolant is shared", flows),
    "coolant": ("Coolant temperature", coolant),
    "pressures": ("Pressure against the ratings", pressures),
    "level": ("Tank, system pressure and coolant lost", level),
    "ledgers": ("Where the heat went", ledgers),
}


def svgs(ds: "xr.Dataset", keys: Iterable[str] = FIGURES) -> dict[str, str]:
    """Figures of a run (all of them, if `keys` does not choose) as SVG to stand inside a page, by key."""
    return {key: to_svg(FIGURES[key][1](ds)) for key in keys}
