"""The report of a run as one self-contained HTML page, and the page that puts layouts side by side."""

import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from sim1d.bands import NOT_SAMPLED, Bands, NoBands
from sim1d.cautions import cautions
from sim1d.display import show_flow, show_mass, show_pressure, show_temperature, show_temperature_difference
from sim1d.headlines import READY
from sim1d.reading_results import rated_parts, structured
from sim1d.sources import laws
from sim1d.terminal import bands_words, facts
from sim1d.verdict import Verdict, judge

if TYPE_CHECKING:
    import jinja2
    import xarray as xr

    from sim1d.sensor_sheet import SensorFinding

CAPTIONS = {
    "layout_map": "Means over the last pass. Thickness shows flow, colour the temperature of what flows.",
    "metal": "Hottest spot of each cylinder; right bank dashed. Shaded: burnout orange, pass red, soak grey, pit blue. "
    "Boiling pins metal: a layout near its limit can show a harmless peak here, so read the boiling margin first.",
    "boiling": "Right bank dashed. Below a margin of 1 the wall goes dry and metal temperature runs away. "
    "Outside 0.1 to 20 it is not drawn.",
    "flows": "A cylinder well below the mean is starved: the rear ones of a bank with a capped outlet, as a rule.",
    "coolant": "Grey: from the coldest to the hottest coolant point. The car is ready when all of it lies in the "
    "window.",
    "pressures": "Each rating is held against the pressure at that very part: pump, height and acceleration included.",
    "level": "Coolant that leaves through the cap and is not drawn back is lost.",
    "ledgers": "What came in must be stored or have left; how well the books close is said at the top.",
}


def render(
    ds: "xr.Dataset", summary: dict[str, Any], bands: Bands | NoBands = NOT_SAMPLED,
    svgs: Callable[[], dict[str, str]] | None = None,
) -> str:  # fmt: skip
    """HTML of the report of one run: verdict first, then figures, inputs with bands, cautions, sources and files.

    `svgs` gives the figures where they are being drawn already (`plots_process`), and is asked last.
    """
    from sim1d import plots, sensor_sheet

    verdict = judge(ds, summary)
    inputs = [_input_row(item) for item in structured(ds, "inputs", [])]
    page = _template("report.html")
    values = dict(
        title=_title(ds),
        verdict=verdict,
        hottest_metal=show_temperature(summary["peak_metal_temperature_K"].get(verdict.hottest) or 0.0),
        tiles=tiles(summary, verdict, bands),
        bands=bands if isinstance(bands, Bands) else None,
        no_bands=str(bands) if isinstance(bands, NoBands) else "",
        bands_words=bands_words(bands) if isinstance(bands, Bands) else [],
        facts=facts(ds, summary),
        cylinders=cylinder_rows(summary),
        rounds=round_rows(summary),
        ratings=rated_parts(ds),
        show_pressure=show_pressure,
        findings=_findings(ds),
        words=sensor_sheet,
        notes=summary["notes"],
        banded=[row for row in inputs if row["band"]],
        inputs=inputs,
        cautions=cautions(ds),
        laws=laws(),
        versions=structured(ds, "versions", {}),
        files=[("car", _text_of(ds.attrs.get("car_file", ""))), ("day", _text_of(ds.attrs.get("day_file", "")))],
    )
    drawn = svgs() if svgs is not None else plots.svgs(ds)
    figures = [
        {"key": key, "title": title, "svg": drawn[key], "caption": CAPTIONS[key]}
        for key, (title, _) in plots.FIGURES.items()
    ]
    return page.render(figures=figures, **values)


def render_comparison(
    title: str, columns: list[str], rows: list[dict[str, Any]], details: list[tuple[str, Verdict]]
) -> str:
    """HTML of a comparison: `rows` have a title and a cell for each column; `details` the verdict of each layout."""
    return _page("compare.html", title=title, columns=columns, rows=rows, details=details, scald=cautions_for_all())


def cautions_for_all() -> list[str]:
    """The two cautions that stand under every page."""
    from sim1d.cautions import RULES, SCALD

    return [SCALD, RULES]


def _page(name: str, **values: Any) -> str:
    return _template(name).render(**values)


def _template(name: str) -> "jinja2.Template":
    import jinja2

    loader = jinja2.PackageLoader("sim1d", "templates")
    environment = jinja2.Environment(loader=loader, autoescape=True, trim_blocks=True, lstrip_blocks=True)
    environment.undefined = jinja2.StrictUndefined
    return environment.get_template(name)


def _findings(ds: "xr.Dataset") -> "list[SensorFinding]":
    """What each sensor misses; nothing for a result that does not carry its car."""
    from sim1d.car import build_car
    from sim1d.sensor_sheet import sensor_findings

    car_file = structured(ds, "car_file", {}) if str(ds.attrs.get("car_file", "")).startswith("{") else {}
    return sensor_findings(ds, build_car(car_file)) if car_file else []


def _title(ds: "xr.Dataset") -> str:
    words = [str(ds.attrs.get(key, "")) for key in ("car_name", "day_name")]
    return ", ".join(word for word in words if word) or "Cooling of a race day"


def tiles(summary: dict[str, Any], verdict: Verdict, bands: Bands | NoBands = NOT_SAMPLED) -> list[dict[str, Any]]:
    """The numbers that are read first, in the order they decide, each with its band or that it has none."""
    broken = {check.key for check in verdict.checks if not check.held}
    metal, seconds = summary["peak_metal_temperature_K"], summary["seconds_above_limit_s"]
    coldest = [value for value in summary["least_subcooling_K"].values() if value is not None]
    suction = [value for value in summary["least_suction_margin_m"].values() if value is not None]
    margin, ready = summary["least_critical_heat_flux_margin"], summary["time_to_ready_s"]
    weakest = next((check for check in verdict.checks if check.key == "rating"), None)
    found = [
        ("critical_heat_flux_margin", "Boiling margin, least", "-" if margin is None else f"{margin:.2f}"),
        ("subcooling", "Subcooling, least", show_temperature_difference(min(coldest)) if coldest else "-"),
        ("metal_red", "Seconds above the metal limit", f"{max(seconds.values(), default=0.0):.1f} s"),
        ("metal_fail", "Hottest metal", show_temperature(max(metal.values())) if metal else "-"),
        ("rating", "Peak at the weakest part", weakest.found.split(",")[0] if weakest else "no rating given"),
        (
            "suction_margin",
            "Suction margin, least",
            f"{min(suction):.2f} m ({min(suction) / 0.3048:.1f} ft)" if suction else "-",
        ),
        (
            "bank_spread",
            "Bank split",
            "-" if summary["pass_bank_spread"] is None else f"{summary['pass_bank_spread']:.0%}",
        ),
        ("", "Ready again after", f"{ready / 60:.1f} min" if ready is not None else "not in this day"),
    ]
    return [
        {"title": title, "text": text, "broken": key in broken, "band": _tile_band(key, bands)}
        for key, title, text in found
    ]


def _tile_band(key: str, bands: Bands | NoBands) -> str:
    """Middle and band of the number of a tile; the tile without a limit is that of the time to ready."""
    one = None
    if isinstance(bands, Bands):
        one = bands.of_limit(key) if key else bands.of(READY)
    return f"middle {one.middle_text}; band {one.band_text}" if one is not None else "no band"


def cylinder_rows(summary: dict[str, Any]) -> list[dict[str, str]]:
    """One row per cylinder: peak metal, seconds above, least margin and subcooling, flow in the last pass."""

    def number(table: str, name: str, form: Any) -> str:
        value = summary[table].get(name)
        return "-" if value is None else form(value)

    return [
        {
            "name": name,
            "metal": number("peak_metal_temperature_K", name, show_temperature),
            "seconds": number("seconds_above_limit_s", name, "{:.1f}".format),
            "margin": number("least_cylinder_critical_heat_flux_margin", name, "{:.2f}".format),
            "subcooling": number("least_subcooling_K", name, show_temperature_difference),
            "flow": number("pass_cylinder_flow_m3_s", name, show_flow),
        }
        for name in summary["peak_metal_temperature_K"]
    ]


def round_rows(summary: dict[str, Any]) -> list[dict[str, str]]:
    """One row per round: the staircase from round to round."""
    rows = []
    for entry in summary["rounds"]:
        margin, ready = entry["least_critical_heat_flux_margin"], entry["time_to_ready_s"]
        rows.append(
            {
                "round": str(entry["round"]),
                "metal": show_temperature(max(entry["peak_metal_temperature_K"].values())),
                "margin": "-" if margin is None else f"{margin:.2f}",
                "coolant": show_temperature(entry["peak_coolant_temperature_K"]),
                "pressure": show_pressure(entry["peak_system_pressure_Pa"]),
                "lost": show_mass(entry["coolant_lost_kg"]),
                "ready": f"{ready / 60:.1f} min" if ready is not None else "-",
            }
        )
    return rows


def _input_row(item: dict[str, Any]) -> dict[str, str]:
    unit = "" if item.get("unit") in ("1", None) else str(item["unit"]).replace("**", "")
    band = item.get("band")
    return {
        "path": item["path"],
        "text": str(item.get("text", "")),
        "value": f"{item['value']:.5g} {unit}".strip(),
        "source": str(item.get("source", "")),
        "band": f"{band[0]:.4g} to {band[1]:.4g} {unit}".strip() if band else "",
    }


def _text_of(text: str) -> str:
    """A description as readable text: files come as they were written, or as JSON of their values."""
    try:
        return json.dumps(json.loads(text), indent=1)
    except (json.JSONDecodeError, TypeError):
        return str(text)


def render_ports(title: str, rows: list[dict[str, str]], refused: Any) -> str:
    """HTML of the ranking of outlets."""
    return _page("ports.html", title=title, rows=rows, refused=refused, scald=cautions_for_all())
