"""The verdict as a terminal shows it. Results go to the console that is given; the first lines are what decides."""

from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from sim1d.bands import NOT_SAMPLED, Bands, NoBands
from sim1d.cautions import RULES, SCALD
from sim1d.display import show_flow, show_mass, show_pressure, show_temperature, show_volume
from sim1d.reading_results import names, passes, structured
from sim1d.summary import not_ready_because
from sim1d.verdict import Verdict

if TYPE_CHECKING:
    import xarray as xr

    from sim1d.checks import Finding

WIDE = 100  # columns from which the table of limits is readable
LEAD = ("critical_heat_flux_margin", "subcooling", "metal_red")  # what is read before any peak


def print_verdict(
    console: Console, ds: "xr.Dataset", summary: dict[str, Any], verdict: Verdict, bands: Bands | NoBands = NOT_SAMPLED
) -> None:
    """Verdict, hottest cylinder and why, every limit, headline numbers with their bands, flows, losses and notes."""
    console.print(headline(verdict))
    lead = [
        f"{_lower_first(check.title.split(' (')[0])} {check.found}" for check in verdict.checks if check.key in LEAD
    ]
    text = "; ".join(lead)
    console.print(Text(text[:1].upper() + text[1:] + "." if lead else "", style="bold"))
    if verdict.hottest:
        peak = summary["peak_metal_temperature_K"][verdict.hottest]
        why = "; ".join(verdict.why) or "no single reason stands out"
        console.print(f"[bold]Hottest cylinder[/bold] {verdict.hottest}, {show_temperature(peak)}: {escape(why)}.")
    if console.width >= WIDE:
        console.print(limits_table(verdict))
    else:
        for check in verdict.checks:
            mark = ("ok      ", "green") if check.held else ("BROKEN  ", "bold red")
            console.print(Text.assemble(mark, str(check)))
    for title, text in facts(ds, summary):
        console.print(Text.assemble((f"{title}: ", "bold"), text))
    print_bands(console, bands)
    for note in summary["notes"]:
        console.print(Text(f"Note: {note}", style="yellow"))
    console.print(Text(f"Caution: {SCALD} {RULES}", style="dim"))


def print_bands(console: Console, bands: Bands | NoBands) -> None:
    """Every headline number with its middle and band, or that there is none and what gives one."""
    if isinstance(bands, NoBands):
        console.print(Text(f"Uncertainty: {bands}", style="yellow"))
        return
    console.print(Text(f"\nUncertainty: {bands.counted}.", style="bold"))
    if console.width >= WIDE:
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold", show_edge=False)
        heads = ("headline number", "this run", "middle", "5th to 95th percentile", "widened most by")
        for head, ratio in zip(heads, (4, 2, 2, 4, 4), strict=True):
            table.add_column(head, overflow="fold", ratio=ratio)
        for one in bands.numbers:
            causes = ", ".join(bands.widened_by.get(one.headline.name, ()))
            cells = (one.headline.text, one.nominal_text, one.middle_text, one.band_text, causes or "-")
            table.add_row(*(Text(cell) for cell in cells))
        console.print(table)
    else:
        for one in bands.numbers:
            text = f"{one.nominal_text}; middle {one.middle_text}, band {one.band_text}"
            console.print(Text.assemble((f"{one.headline.text}: ", "bold"), text))
    for line in bands_words(bands):
        console.print(Text(line, style="dim"))


def bands_words(bands: Bands) -> list[str]:
    """What a reader must know to read the bands."""
    words = [
        "This run is that of the values in the file; middle and band are those of the samples. They hold what the car "
        "file leaves open, not the errors of the model, nor the weather.",
        f"{bands.how}.",
    ]
    if bands.early.count:
        words.insert(1, EARLY)
    if bands.usable < bands.asked:
        lost = bands.asked - bands.usable
        words.insert(1, f"{lost} samples could not be computed; they say nothing and are left out.")
    if not bands.widened_by:
        words.append(f"Which inputs widen a number: {RANKED_BY}.")
    return words


EARLY = (
    'A sample that ended early stands at the bad end of every number; where a band ends among those it says "at least" '
    'or "at most".'
)
RANKED_BY = "studies bands CAR DAY -o DIR ranks them, and sim1d run CAR DAY --bands-from DIR shows them here"


def headline(verdict: Verdict) -> Text:
    """One line: held or not, and what broke first."""
    if verdict.held:
        return Text.assemble(("ALL LIMITS HELD", "bold green"), f"  {verdict.outcome}")
    broken = [check for check in verdict.checks if not check.held]
    count = f"{len(broken)} LIMIT{'S' if len(broken) != 1 else ''} BROKEN" if verdict.completed else "THE RUN STOPPED"
    return Text.assemble((count, "bold red"), f"  {verdict.outcome}")


def limits_table(verdict: Verdict) -> Table:
    """Every check in reading order."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold", show_edge=False)
    table.add_column("")
    table.add_column("what decides", overflow="fold", ratio=4)
    table.add_column("found", overflow="fold", ratio=3)
    table.add_column("limit", overflow="fold", ratio=3)
    table.add_column("where and when", overflow="fold", ratio=4)
    for check in verdict.checks:
        mark = Text("ok", style="green") if check.held else Text("BROKEN", style="bold red")
        table.add_row(mark, *(escape(text) for text in (check.title, check.found, check.limit, check.place)))
    return table


def facts(ds: "xr.Dataset", summary: dict[str, Any]) -> list[tuple[str, str]]:
    """What is worth a line without having a limit: flows, system pressure, losses, air, ready, closure."""
    banks = summary["pass_bank_flow_m3_s"]
    total = summary["pass_total_flow_m3_s"]
    flow = "no pass in this day"
    if banks and total is not None:
        flow = ", ".join(f"{bank} {show_flow(value)}" for bank, value in banks.items()) + f"; total {show_flow(total)}"
    lost = summary["coolant_lost_kg"] or 0.0
    return [
        ("Flow, mean of the last pass", flow),
        ("Peak system pressure", show_pressure(summary["peak_system_pressure_Pa"])),
        ("Coolant lost overboard", show_mass(lost)),
        ("Left through the cap", out_text(ds, summary)),
        ("Air in the circuit, at most", show_volume(summary["trapped_air_m3"] or 0.0)),
        *gas_facts(summary),
        ("Ready to stage again", ready_text(ds, summary)),
        (
            "Books closed to",
            f"energy {summary['energy_residual']:.1e}, coolant {summary['coolant_residual']:.1e}, "
            f"gas {summary['gas_residual']:.1e} of their totals",
        ),
    ]


def out_text(ds: "xr.Dataset", summary: dict[str, Any]) -> str:
    """What left through the cap, why, and where it is now."""
    out = {cause: mass for cause, mass in summary["coolant_out_kg"].items() if mass}
    total = sum(out.values())
    if total < 5e-4:
        return "nothing"
    why = ", ".join(f"{cause} {mass:.3f}" for cause, mass in sorted(out.items(), key=lambda item: -item[1]))
    term = dict(zip(names(ds, "term"), ds["ledger"].values[-1], strict=True))
    held = term["bottle"] - float(ds["ledger"].values[0][names(ds, "term").index("bottle")])
    back, lost = term["coolant_back"], summary["coolant_lost_kg"] or 0.0
    return f"{total:.3f} kg ({why}): drawn back {back:.3f}, kept in the recovery tank {held:.3f}, lost {lost:.3f}"


def gas_facts(summary: dict[str, Any]) -> list[tuple[str, str]]:
    """Gas at the pumps and past the gasket, where there was any to speak of."""
    found = []
    gas, grip = summary["peak_pump_gas"], summary["least_pump_grip"]
    worst = max(gas, key=lambda name: gas[name], default="")
    if worst and gas[worst] > 0.01:
        found.append(
            ("Gas drawn by the pump", f"{worst} {gas[worst]:.1%} by volume at most, {grip[worst]:.0%} of its head kept")
        )
    if summary["combustion_gas_kg"]:
        found.append(("Combustion gas past the gasket", f"{summary['combustion_gas_kg'] * 1e6:.0f} mg that stays gas"))
    return found


def ready_text(ds: "xr.Dataset", summary: dict[str, Any]) -> str:
    """Minutes from each stripe to the staging window, or what keeps it out."""
    window = structured(ds, "staging_window", None)
    runs = passes(ds)
    if not window or not runs:
        return "no staging window or no pass in this day"
    inside = f"every coolant point within {show_temperature(window[0])} to {show_temperature(window[1])}"
    parts = []
    for entry in summary["rounds"]:
        own = [place for place, (number, _) in enumerate(runs) if number == entry["round"]]
        if not own:
            continue
        seconds = entry["time_to_ready_s"]
        if seconds is not None:
            parts.append(f"round {entry['round']}: {seconds / 60:.1f} min after the stripe")
        else:
            parts.append(f"round {entry['round']}: not before it ends (held up by {not_ready_because(ds, own[-1])})")
    return "; ".join(parts) + f" ({inside})"


def print_findings(console: Console, findings: list["Finding"], name: str) -> None:
    """Findings of the layout checks: what, where, why it matters and what would be better."""
    if not findings:
        console.print(Text(f"{name}: nothing found by the layout checks.", style="green"))
        return
    style = {"fault": "bold red", "warning": "yellow", "note": "dim"}
    counts = {word: sum(item.severity.value == word for item in findings) for word in style}
    console.print(
        f"[bold]{escape(name)}[/bold]: " + ", ".join(f"{n} {word}{'s' if n != 1 else ''}" for word, n in counts.items())
    )
    for item in findings:
        word = item.severity.value
        console.print(Text.assemble((f"{word.upper()} ", style[word]), (item.where, "bold"), f"  {item.why}."))
        console.print(Padding(Text(f"fix: {item.fix}  [{item.rule}]"), (0, 0, 0, 4), expand=False))


def print_comparison(console: Console, names: list[str], rows: list[dict[str, Any]], runs: list[Any]) -> None:
    """Layouts side by side, broken limits in red, then the hottest cylinder of each and why."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("")
    for name in names:
        table.add_column(name, overflow="fold")
    for row in rows:
        cells = [Text(cell["text"], style="red" if cell["broken"] else "") for cell in row["cells"]]
        table.add_row(Text(row["title"], style="bold"), *cells)
    console.print(table)
    for run in runs:
        if run.verdict.hottest:
            why = "; ".join(run.verdict.why) or "no single reason stands out"
            console.print(Text.assemble((f"{run.name}: ", "bold"), f"hottest {run.verdict.hottest}: {why}."))
        if not run.verdict.completed:
            console.print(Text(f"{run.name}: {run.verdict.outcome}", style="red"))
    console.print(
        "These numbers have no band: one run each, of the values in the files. studies bands CAR DAY gives each car "
        "its bands; a study with [uncertainty] compares with the same samples. Pressures are gauge.",
        markup=False,
    )


def print_ports(console: Console, rows: list[dict[str, str]], refused: Any) -> None:
    """The ranking of outlets, best first, and how many choices could not be simulated."""
    heads = {"place": "place", "choice": "outlets", "verdict": "limits", "cylinders": "cylinder split",
             "margin": "boiling margin", "banks": "banks, L/min", "hottest": "hottest metal"}  # fmt: skip
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for key, head in heads.items():
        table.add_column(head, overflow="fold", ratio=4 if key == "choice" else None)
    for row in rows:
        style = "green" if row["verdict"] == "held" else ""
        table.add_row(*(Text(row[key], style=style if key == "verdict" else "") for key in heads))
    console.print(table)
    for choice, why in refused:
        console.print(Text(f"not simulated: {choice} ({why})", style="yellow"))
    console.print(
        "Ranked: limits held first, then the sum of the places for even cylinders and for boiling margin. New hoses "
        "are assumed straight, of the bore of their opening. These numbers have no band: one run each; studies bands "
        "CAR DAY gives the car of a choice its bands."
    )


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]
