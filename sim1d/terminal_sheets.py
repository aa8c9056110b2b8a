"""The sheets as a terminal shows them, and the words that terminal and pages share."""

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from sim1d.cautions import RULES, SCALD
from sim1d.cut_sheet import CutSheet
from sim1d.cut_soak import Soak
from sim1d.cut_window import Judgement, Window
from sim1d.display import show_pressure, show_temperature, show_temperature_difference
from sim1d.gauge_card import GaugeCard, Instant, Offset, Reading
from sim1d.parts.sensor import SensorKind
from sim1d.sensor_sheet import SensorFinding, sentences, side
from sim1d.uncertainty import Band
from sim1d.units import PSI

if TYPE_CHECKING:
    from sim1d.sheets import Material, Shutdown

FEW = 16  # normal samples below which a band is said to stand on few: a deviation of 16 is known to a fifth
MOST_ROUNDS = 3  # rounds that a terminal has room for: the first and the last ones


def band_text(band: Band, kind: SensorKind) -> str:
    """ "118 to 171 kPa g" or "82 to 90 C"; says so when there is none, and how many samples when they are few."""
    if band.n < 2:
        return "no band"
    few = f", {band.n} samples" if band.n < FEW else ""
    if kind is SensorKind.PRESSURE:
        return f"{band.low / 1e3:.0f} to {band.high / 1e3:.0f} kPa g{few}"
    return f"{band.low - 273.15:.0f} to {band.high - 273.15:.0f} C{few}"


def value_text(reading: Reading) -> str:
    """The expected reading with its unit, SI and US."""
    return show_pressure(reading.value) if reading.kind is SensorKind.PRESSURE else show_temperature(reading.value)


def cell_text(reading: Reading | None) -> str:
    """Value and band of a cell of the card; nothing where the card has none."""
    return "" if reading is None else f"{value_text(reading)}; {band_text(reading.band, reading.kind)}"


def card_rows(card: GaugeCard, sensor: str) -> tuple[list[int], list[tuple[str, list[Reading | None]]]]:
    """Rounds, and rows (instant, reading of each round) of one sensor; what belongs to no round stands in the first."""
    own = [one for one in card.readings if one.sensor == sensor]
    rounds = sorted({one.round for one in own if one.round}) or [0]
    rows = []
    for instant in Instant:
        of_it = {one.round: one for one in own if one.instant is instant}
        if not of_it:
            continue
        alone = of_it.get(0)
        rows.append((instant.value, [alone, *[None] * (len(rounds) - 1)] if alone else [of_it.get(k) for k in rounds]))
    return rounds, rows


def sensors_of(card: GaugeCard) -> list[str]:
    """Sensors of a card in their order."""
    return list(dict.fromkeys(one.sensor for one in card.readings))


def largest_offsets(card: GaugeCard, sensor: str, most: int = 8) -> list[Offset]:
    """The offsets of a sensor, the largest first."""
    own = [one for one in card.offsets if one.sensor == sensor]
    return sorted(own, key=lambda one: -max(abs(one.launch), abs(one.stripe)))[:most]


def print_sheets(console: Console, material: "Material") -> None:
    """All sheets, one after the other, then the cautions that stand under everything."""
    from sim1d.sheets import SHEETS

    printers: dict[str, Callable[[Console, Any], None]] = {
        "gauge_card": print_card, "sensors": print_sensors, "shutdown": print_shutdown,
    }  # fmt: skip
    for sheet in SHEETS:
        console.rule(Text(sheet.title, style="bold"))
        printers[sheet.key](console, sheet.content(material))
        console.print(Text(sheet.words, style="dim"))
    console.print(Text(f"Bands: 5th to 95th percentile of {material.samples.counted}; {material.samples.how}."))
    for note in material.notes:
        console.print(Text(f"Note: {note}", style="yellow"))
    console.print(Text(f"Caution: {SCALD} {RULES}", style="dim"))


def print_card(console: Console, card: GaugeCard) -> None:
    """A table for each sensor: instants down, rounds across, the band under each value."""
    for sensor in sensors_of(card):
        rounds, rows = card_rows(card, sensor)
        kept = list(range(len(rounds)))
        if len(kept) > MOST_ROUNDS:
            kept = [0, *kept[-(MOST_ROUNDS - 1) :]]
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold", title_justify="left")
        table.title = Text(sensor, style="bold")
        table.add_column("when")
        for k in kept:
            table.add_column(f"round {rounds[k]}" if rounds[k] else "")
        for text, readings in rows:
            table.add_row(text, *(cell_text(readings[k]) for k in kept))
        console.print(table)
        for offset in largest_offsets(card, sensor, 4):
            console.print(Text(f"  {offset_text(offset)}", style="dim"))


def offset_text(offset: Offset) -> str:
    """ "pump.suction: 29.7 kPa below it at launch, 41.3 kPa below it at the stripe"."""
    return f"{offset.point}: {side(offset.launch)} it at launch, {side(offset.stripe)} it at the stripe"


def print_sensors(console: Console, findings: Sequence[SensorFinding]) -> None:
    """Every sensor with what it misses."""
    for finding in findings:
        console.print(Text.assemble((finding.sensor, "bold"), f"  at {finding.at}"))
        for text in sentences(finding):
            console.print(Padding(Text(text, style="bold red" if text.startswith("GAS") else ""), (0, 0, 0, 4)))


def print_shutdown(console: Console, shutdown: "Shutdown") -> None:
    """The window of every cut, then the soak after a cut."""
    for sheet in shutdown.cuts:
        style = "bold green" if sheet.window.exists else "bold red"
        console.print(Text.assemble((sheet.cutting.sensor, "bold"), f"  at {sheet.cutting.at}"))
        console.print(Text(headline(sheet), style=style))
        for title, text in (*window_rows(sheet), *trial_rows(sheet)):
            console.print(Padding(Text.assemble((f"{title}: ", "bold"), text), (0, 0, 0, 4)))
        if sheet.changes:
            console.print(Padding(Text(change_title(sheet), style="bold"), (0, 0, 0, 4)))
        for change in sheet.changes[:8]:
            console.print(Padding(Text(f"{change.what}: {change_text(change.window)}"), (0, 0, 0, 8)))
        for text in sheet.advice:
            console.print(Padding(Text(text), (0, 0, 0, 4)))
    if shutdown.soak is not None:
        console.print(Text("If it cuts in the middle of the last pass", style="bold"))
        for text in soak_sentences(shutdown.soak):
            console.print(Padding(Text(text), (0, 0, 0, 4)))


def headline(sheet: CutSheet) -> str:
    """The window in one line, and where the threshold of the file lies."""
    window = sheet.window
    if window.exists:
        text = f"Window {show_pressure(window.lowest)} to {show_pressure(window.highest)} at this sensor."
    else:
        text = (
            f"NO SAFE WINDOW: the lowest quiet threshold, {show_pressure(window.lowest)}, lies above the highest safe "
            f"one, {show_pressure(window.highest)}, by {show_pressure(-window.width, '')}."
        )
    if sheet.normal_band.n < FEW:
        text += f" Only {sheet.normal_band.n} normal samples stand behind it: set nothing by it, take more samples."
    threshold = sheet.cutting.threshold
    if threshold is not None and sheet.judgement is not None:
        text += f" The file's {show_pressure(threshold)}: {sheet.judgement.value}"
        if sheet.judgement is Judgement.NO_WINDOW:
            quiet, safe = threshold >= window.lowest, threshold <= window.highest
            text += f" (this one is {'quiet' if quiet else 'not quiet'} and {'safe' if safe else 'not safe'})"
        text += "."
    return text


def change_title(sheet: CutSheet) -> str:
    """Title of the list of changes."""
    return "One change at a time, best first" if sheet.window.exists else "What one change would open, best first"


def change_text(window: Window) -> str:
    """A window in words, or that there is none."""
    low, high = window.lowest, window.highest
    if window.exists:
        return f"{low / 1e3:.0f} to {high / 1e3:.0f} kPa g ({low / PSI:.1f} to {high / PSI:.1f} psi g)"
    return f"still none, {(low - high) / 1e3:.0f} kPa short"


def window_rows(sheet: CutSheet) -> Iterator[tuple[str, str]]:
    """What the window is made of, line by line: (what, value in words)."""
    terms, chain = sheet.terms, sheet.cutting.chain
    if sheet.parts:
        first = sheet.parts[0]
        yield (
            "Weakest part",
            f"{first.part} at {first.point}, allowed {show_pressure(first.allowed)}: this sensor reads "
            f"{show_pressure(first.reading)} when it will get there (worst at {first.when})",
        )
    yield "Reading at the limit", f"{show_pressure(terms.limit)}, 5th percentile ({_range(sheet.limit_band)})"
    delays = ", ".join(f"{name} {1000 * delay:.0f}" for name, delay in chain.parts if delay > 0)
    origin = "" if sheet.cutting.given else "; no cut in the file, so a usual chain (common practice, no source)"
    yield "Lag of the chain", f"{1000 * terms.lag:.0f} ms: {delays}{origin}"
    yield (
        "Worst credible ramp",
        f"{show_pressure(terms.ramp, '')} per second (leaking gasket {sheet.leak_ramp / 1e3:.0f}, steepest normal "
        f"{sheet.normal_ramp / 1e3:.0f} kPa/s)",
    )
    fast = ", ".join(f"{over / 1e3:.0f} at {ramp / 1e3:.0f} kPa/s" for ramp, over in sheet.faster)
    yield "Overshoot", f"{show_pressure(terms.overshoot, '')}; in kPa at faster rises: {fast}"
    yield "Sensor error", show_pressure(terms.error, "")
    yield "Highest safe threshold", show_pressure(sheet.window.highest)
    yield (
        "Normal maximum",
        f"{show_pressure(terms.normal)}, acceleration adds {show_pressure(terms.launch, '')}, 3 standard deviations "
        f"{show_pressure(3.0 * terms.sigma, '')} ({_range(sheet.normal_band)})",
    )
    if sheet.unknowns:
        named = ", ".join(f"{path} ({value:+.2f})" for path, value in sheet.unknowns)
        yield "Its spread goes with", f"{named} (rank correlation): measure it, and say so with --measured"
    yield "Lowest quiet threshold", show_pressure(sheet.window.lowest)
    if sheet.cap_reads is not None:
        yield "The cap", f"begins to open in a pass when this sensor reads up to {show_pressure(sheet.cap_reads)}"


def _range(band: Band) -> str:
    return f"{band.low / 1e3:.0f} to {band.high / 1e3:.0f} kPa g over {band.n} samples"


def trial_rows(sheet: CutSheet) -> Iterator[tuple[str, str]]:
    """What the sampled days say of the threshold that was tried."""
    if sheet.tried is None:
        return
    tried = show_pressure(sheet.tried)
    whose = "the file's threshold" if sheet.cutting.threshold is not None else "the middle of the window"
    yield f"False trips at {tried}", f"{sheet.false_trips} of the normal days ({whose})"
    misses = (
        f"{sheet.misses} of the leaking runs in which a part reaches its allowed pressure"
        if sheet.misses.n
        else "no sampled leak takes a part to its allowed pressure by the end of the coast"
    )
    yield f"Too late at {tried}", misses
    yield f"Acts on a leak at {tried}", f"{sheet.acts} of the leaking runs, in time or not"


def soak_sentences(soak: Soak) -> Iterator[str]:
    """What metal, pressure and subcooling do after a cut."""
    yield (
        f"Metal: {show_temperature(soak.metal_at_cut)} at the cut, at most {show_temperature(soak.metal_peak)} "
        f"{soak.metal_after:.1f} s later, {show_temperature(soak.metal_later)} after a minute."
    )
    yield f"Hottest coolant: {show_temperature(soak.coolant_peak)}, {soak.coolant_after:.0f} s after the cut."
    yield (
        f"Highest pressure: {show_pressure(soak.pressure_at_cut)} at the cut, at most "
        f"{show_pressure(soak.pressure_peak)} at {soak.pressure_point}, {soak.pressure_after:.0f} s after it."
    )
    boils = " It boils: steam takes the place of coolant that a belt pump no longer moves." if (
        soak.least_subcooling < 0.5
    ) else ""  # fmt: skip
    yield (
        f"Least subcooling: {show_temperature_difference(soak.least_subcooling)}, {soak.subcooling_after:.0f} s after "
        f"the cut.{boils}"
    )
    if soak.steam > 0.05:
        yield f"Up to {soak.steam:.0%} gas and steam stand in the worst place after the cut."
    yield "The cut stops a belt pump with the engine; an electric pump and the fan run as the phases of the day say."
    if soak.outcome and not soak.outcome.startswith("The whole day"):
        yield f"The run with the cut ended early: {soak.outcome}"
