"""Figures of the sheets: a gauge over the passes with its bands, and a leak against the window of the cut."""

from typing import TYPE_CHECKING, Any

from sim1d import plots
from sim1d.cut_sheet import CutSheet
from sim1d.gauge_card import GaugeCard, Instant
from sim1d.parts.sensor import SensorKind
from sim1d.plot_data import around_pass, to_kpa, to_psi
from sim1d.reading_results import names, passes

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

BLUE, GREEN, ORANGE = "#4f7ca6", "#2e7d32", "#c98a00"


def figures(key: str, ds: "xr.Dataset", leak: "xr.Dataset | None", content: Any) -> list[dict[str, str]]:
    """Figures of one sheet as {title, svg, caption}."""
    found = []
    if key == "gauge_card" and passes(ds):
        found.append(
            dict(
                title="Pressure gauges around the passes", svg=plots.to_svg(gauges(ds, content)),
                caption="Line: one run of the file's values. Bars: band of the samples, staged, at launch and at the "
                "stripe.",
            )
        )  # fmt: skip
    if key == "shutdown" and leak is not None:
        for sheet in content.cuts:
            found.append(
                dict(
                    title=f"A leaking gasket at {sheet.cutting.sensor}", svg=plots.to_svg(cut(ds, leak, sheet)),
                    caption="Last pass: the sound run, and the worst credible leak starting with it. "
                    + (
                        "Shaded: the window." if sheet.window.exists
                        else "Dashed: lowest quiet (green) and highest safe (red) threshold: no window."
                    ),
                )
            )  # fmt: skip
    return found


@plots.drawn
def gauges(ds: "xr.Dataset", card: GaugeCard) -> "Figure":
    """Every pressure sensor around every pass, with the band at the instants that lie within it."""
    runs = passes(ds)
    figure = plots.measured(10.5, 3.4)
    axes = figure.subplots(1, len(runs), squeeze=False, sharey=True)[0]
    sensors = list(dict.fromkeys(one.sensor for one in card.readings if one.kind is SensorKind.PRESSURE))
    for ax, (number, span) in zip(axes, runs, strict=True):
        seconds, near = around_pass(ds, span)
        ax.axvspan(0, float(seconds[span.stop - 1]), color=plots.ROLE_SHADE["pass"], lw=0, zorder=0)
        at = {Instant.STAGED: 0.0, Instant.LAUNCH: 0.2, Instant.STRIPE: float(seconds[span.stop - 1])}
        for k, sensor in enumerate(sensors):
            colour = (BLUE, ORANGE, GREEN, "#7b4fa6")[k % 4]
            values = ds["sensor_pressure"].values[near, names(ds, "sensor").index(sensor)] / 1e3
            ax.plot(seconds[near], values, color=colour, label=sensor)
            own = [one for one in card.readings if one.sensor == sensor and one.round == number]
            for reading in own:
                if reading.instant not in at or reading.band.n < 2:
                    continue
                x = at[reading.instant] + 0.25 * (k - len(sensors) / 2)
                ax.plot([x, x], [reading.band.low / 1e3, reading.band.high / 1e3], color=colour, lw=4, alpha=0.45)
        ax.set_title(f"Round {number}")
        ax.set_xlabel("seconds from the launch")
    axes[0].set_ylabel("kPa gauge")
    axes[-1].secondary_yaxis("right", functions=(to_psi, to_kpa)).set_ylabel("psi gauge")
    axes[0].legend(loc="upper left")
    return figure


@plots.drawn
def cut(ds: "xr.Dataset", leak: "xr.Dataset", sheet: CutSheet) -> "Figure":
    """The sensor in the last pass: sound, and with the worst leak; window, threshold of the file, a part's limit."""
    figure = plots.measured(10.5, 3.6)
    ax = figure.add_subplot()
    name = sheet.cutting.sensor
    span = passes(ds)[-1][1]
    seconds, near = around_pass(ds, span, before=3.0, after=8.0)
    ax.axvspan(0, float(seconds[span.stop - 1]), color=plots.ROLE_SHADE["pass"], lw=0, zorder=0)
    sound = ds["sensor_pressure"].values[near, names(ds, "sensor").index(name)]
    ax.plot(seconds[near], sound / 1e3, color=BLUE, label="sound")
    time = leak["time"].values - leak["time"].values[0]
    inside = (time > 0.0) & (time <= seconds[near][-1])
    leaking = leak["sensor_pressure"].values[inside, names(leak, "sensor").index(name)]
    ax.plot(time[inside], leaking / 1e3, color=plots.RED, label="worst credible leak")
    low, high = sheet.window.lowest / 1e3, sheet.window.highest / 1e3
    if sheet.window.exists:
        ax.axhspan(low, high, color=GREEN, alpha=0.18, lw=0, label="window")
    else:
        ax.axhline(low, color=GREEN, ls="--", lw=1, label="lowest quiet")
        ax.axhline(high, color=plots.RED, ls="--", lw=1, label="highest safe")
    ax.axhline(sheet.terms.limit / 1e3, color="#22282c", lw=1.2, label="a part at its limit")
    if sheet.cutting.threshold is not None:
        ax.axhline(sheet.cutting.threshold / 1e3, color=ORANGE, lw=1.6, label="threshold of the file")
    highest = max(sound.max() / 1e3, leaking.max(initial=0.0) / 1e3, low, sheet.terms.limit / 1e3)
    ax.set_ylim(bottom=0.0, top=1.08 * float(highest))
    ax.set_xlabel("seconds from the launch")
    ax.set_ylabel("kPa gauge")
    ax.secondary_yaxis("right", functions=(to_psi, to_kpa)).set_ylabel("psi gauge")
    figure.legend(*ax.get_legend_handles_labels(), loc="outside lower center", ncols=6)
    return figure
