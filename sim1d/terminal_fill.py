"""What `sim1d fill` prints: trapped air, what the purge leaves, the procedure, the bench tests, the cautions."""

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from sim1d.display import show_pressure, show_rotation
from sim1d.fill_plan import FillPlan, drowned_text, kept_text, litres, manner_text, place_text, span, tilt_text

MOST_ROWS = 3  # better ways that are listed


def print_fill(console: Console, plan: FillPlan) -> None:
    """Print a plan; the first lines are what decides."""
    fill = plan.fill
    where = f"filled at {place_text(plan)}, {tilt_text(fill.nose_up)}"
    head = f"Takes {litres(fill.accepted)} of {litres(fill.capacity)}, {where}: "
    trapped = fill.trapped
    bad = trapped > 5e-5
    head += f"{litres(trapped)} of air trapped." if trapped >= 1e-6 else "no air trapped."
    console.print(Text(head, style="bold red" if bad else "bold green"))
    console.print(Text(f"After purge and top-ups: {kept_text(plan)} of air left.", style="bold"))
    for manner in plan.better[:MOST_ROWS]:
        console.print(f"Better: {escape(manner_text(manner))}.")
    _traps(console, plan)
    _pockets(console, plan)
    console.print("[bold]Procedure[/bold]")
    for number, step in enumerate(plan.steps, start=1):
        console.print(Text(f"{number:2d}. {step}"))
    _squeezes(console, plan)
    _starts(console, plan)
    console.print("[bold]What this stands on[/bold]")
    for text in plan.assumptions:
        console.print(Text(f"- {text}"))
    console.print("[bold]Cautions[/bold]")
    for text in plan.cautions:
        console.print(Text(f"- {text}"))


def _table(title: str, *columns: str) -> Table:
    table = Table(title=title, title_justify="left", title_style="bold", box=None, pad_edge=False)
    for column in columns:
        table.add_column(column)
    return table


def _traps(console: Console, plan: FillPlan) -> None:
    rows = drowned_text(plan)
    if not rows:
        return
    table = _table("Air after the static fill", "place", "air", "why")
    for row in rows:
        table.add_row(*(escape(text) for text in row))
    console.print(table)


def _pockets(console: Console, plan: FillPlan) -> None:
    rows = pocket_rows(plan)
    if not rows:
        return
    table = _table(
        f"Purge at {show_rotation(plan.purge.running.speed)}", "place", "air", "speed", "clears it", "verdict", "goes",
        "in", "stays",
    )  # fmt: skip
    for row in rows:
        table.add_row(*(escape(text) for text in row))
    console.print(table)


def pocket_rows(plan: FillPlan) -> list[tuple[str, ...]]:
    """Pockets of the purge as text: place, air, speed, criteria, verdict, where to, time, what stays."""
    rows: list[tuple[str, ...]] = []
    for one in plan.purge.pockets:
        if one.air < 1e-6 and one.kept[2] < 1e-6:
            continue
        moving = one.speed > 0.0
        time = f"{one.time[1]:.0f} s ({one.time[0]:.0f} to {one.time[2]:.0f})" if moving else "-"
        rows.append(
            (
                one.name, litres(one.air), f"{one.speed:.2f} m/s" if moving else "-",
                f"{one.needed[0]:.2f} to {one.needed[1]:.2f} m/s" if moving else "-", one.verdict.value, one.goes_to,
                time, span(one.kept),
            )
        )  # fmt: skip
    return rows


def squeeze_rows(plan: FillPlan) -> list[tuple[str, str, str]]:
    """Squeeze test as text: state of the circuit, hidden air, rise for 100 mL or where to stop."""
    rows = []
    for one in plan.squeezes:
        low, middle, high = (value / 1000 for value in one.rise)
        rise = f"{middle:.1f} kPa ({low:.1f} to {high:.1f})"
        if not one.within:
            rise = f"stop at {litres(one.injected)}: {show_pressure(plan.test.pressure)} is reached"
        rows.append((one.state, span(one.hidden), rise))
    return rows


def start_rows(plan: FillPlan) -> list[tuple[str, str, str, str]]:
    """Pump-start test as text: place, rise of the pump there, fall per litre of air, fall for the air found."""
    return [
        (one.place, show_pressure(one.rise, ""), span(one.per_litre), span(one.found) if one.found[2] > 0 else "-")
        for one in plan.pump_starts
    ]


def _squeezes(console: Console, plan: FillPlan) -> None:
    low, middle, high = (value * 1e9 for value in plan.compliance)
    title = f"Squeeze test, 100 mL (the walls give {middle:.2f} mL/kPa, {low:.2f} to {high:.2f})"
    table = _table(title, "state", "hidden air", "rise")
    for row in squeeze_rows(plan):
        table.add_row(*row)
    console.print(table)


def _starts(console: Console, plan: FillPlan) -> None:
    table = _table(
        f"Pump-start test at {show_rotation(plan.purge.running.speed)}, fall of the level", "place", "pump adds there",
        "per litre of air", "for the air found",
    )  # fmt: skip
    for row in start_rows(plan):
        table.add_row(*(escape(text) for text in row))
    console.print(table)
    console.print("No fall at all: no air on the pressure side of the pump.")
