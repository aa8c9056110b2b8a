"""The `studies` command. Messages go to stderr, results to stdout, progress only to a terminal.

Exit codes: 0 done, 1 no layout holds the limits under `--strict` or no sample of `bands` could be computed, 2 bad input
or a folder that cannot be used.
"""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console
from rich.table import Table

if TYPE_CHECKING:
    from studies.report import Summary
    from studies.runner import Tally

HELP = "Sweep the choices of a cooling layout, keep every point, and pick the best that hold the limits."
app = typer.Typer(no_args_is_help=True, help=HELP)
error = Console(stderr=True, highlight=False, soft_wrap=True)
Folder = Annotated[Path, typer.Argument(metavar="DIR", help="Study folder, written by `studies run`.")]
Json = Annotated[bool, typer.Option("--json", help="Print JSON instead of tables.")]


@contextmanager
def plain_errors() -> Iterator[None]:
    """Turn what the user can put right into sentences and exit code 2."""
    from sim1d import DescriptionError
    from studies.execute import CrewError
    from studies.store import StoreError

    try:
        yield
    except DescriptionError as wrong:
        for problem in wrong.problems:
            error.print(str(problem), markup=False)
        error.print(f"{len(wrong.problems)} problem(s); nothing was written.", markup=False)
        raise typer.Exit(2) from None
    except (StoreError, CrewError) as refused:
        error.print(str(refused), markup=False)
        raise typer.Exit(2) from None


@app.command()
def run(
    study: Annotated[
        Path | None, typer.Argument(metavar="[STUDY]", help="Study file; none: the built-in example.")
    ] = None,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="DIR", help="Folder of the results [default: NAME_study].")
    ] = None,
    workers: Annotated[
        int | None, typer.Option(min=0, help="Local processes [default: one per core; 0: this process].")
    ] = None,
    scheduler: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Use the workers of this distributed scheduler instead.")
    ] = None,
) -> None:
    """Run every point that is not done yet. The same command again resumes a study that was stopped or killed."""
    from studies.runner import run as run_study
    from studies.study import BUILT_IN, load_study

    folder = output or Path(f"{study.stem if study else BUILT_IN}_study")
    with plain_errors():
        loaded = load_study(study)
        try:
            with progress_bar() as progress:
                tally = run_study(
                    loaded, folder, workers=workers, scheduler=scheduler, progress=progress,
                    announce=lambda cost: error.print(cost.text, markup=False),
                )  # fmt: skip
        except KeyboardInterrupt:
            error.print(f"Stopped. Every finished batch is safe in {folder}; the same command goes on.", markup=False)
            raise typer.Exit(130) from None
    error.print(_done(tally, folder), markup=False)
    typer.echo(folder)


def _done(tally: "Tally", folder: Path) -> str:
    text = f"{tally.total} points are in {folder}"
    if tally.before:
        text += f", {tally.before} of them from before"
    if tally.failed:
        text += f"; {tally.failed} of this run did not complete and are kept with the reason"
    if tally.done:
        text += f"; {tally.rate:.1f} points/s with {tally.workers} worker(s)"
    return f"{text}. Next: studies report {folder}"


@contextmanager
def progress_bar() -> Iterator[Callable[["Tally"], None] | None]:
    """A bar with points done, failed, rate and time left; nothing at all when stderr is no terminal."""
    if not error.is_terminal:
        yield None
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = [BarColumn(), MofNCompleteColumn(), TextColumn("{task.fields[rate]}"), TimeRemainingColumn()]
    with Progress(*columns, console=error) as bar:
        task = bar.add_task("points", total=None, rate="starting")

        def show(tally: "Tally") -> None:
            rate = f"{tally.rate:.1f} points/s" if tally.done else "starting"
            if tally.failed:
                rate += f", {tally.failed} failed"
            bar.update(task, total=tally.total, completed=tally.before + tally.done, rate=rate)

        yield show


@app.command()
def status(folder: Folder, as_json: Json = False) -> None:
    """What is done, failed and left."""
    import json

    from studies.report import status as read_status

    with plain_errors():
        found = read_status(folder)
    if as_json:
        typer.echo(json.dumps(found, indent=1))
        return
    table = Table("", "points", title=found["title"], title_justify="left")
    for key in ("total", "done", "failed", "left"):
        table.add_row(key, str(found[key]))
    for text, count in found["outcomes"].items():
        table.add_row(f"  {text}", str(count))
    out().print(table)
    out().print("complete" if found["complete"] else f"not complete; go on with the same command ({found['writing']})")


@app.command()
def report(
    folder: Folder,
    best: Annotated[int, typer.Option(min=1, help="Layouts to list.")] = 10,
    strict: Annotated[bool, typer.Option("--strict", help="Exit 1 when no layout holds every limit.")] = False,
    as_json: Json = False,
) -> None:
    """Tables, plots and the best layouts under the limits; writes report.html into DIR."""
    from studies.report import as_json as to_json
    from studies.report import write_report

    with plain_errors():
        summary, file = write_report(folder, best)
    typer.echo(to_json(summary)) if as_json else _print(summary)
    error.print(f"Wrote {file}", markup=False)
    if strict and summary.limits and not summary.holding:
        raise typer.Exit(1)


def _print(summary: "Summary") -> None:
    from studies.report import change_text

    console = out()
    for caution in summary.cautions:
        error.print(caution, markup=False)
    head = f"{summary.title}: {summary.done} of {summary.total} points, {summary.failed} did not complete"
    console.print(head, markup=False)
    if not summary.limits:
        console.print("No limits are given, so nothing is ranked." if summary.done else "Nothing has run yet.")
        return
    if summary.unjudged:
        error.print(f"Not judged, its number was not kept: {', '.join(summary.unjudged)}", markup=False)
    names = [name for name, _, _ in summary.axes]
    title = f"{summary.holding} layouts hold every limit"
    more = ("samples that hold", "their margin", "against the first") if summary.draws else ()
    table = Table(*names, "margin", "nearest limit", *more, title=title, title_justify="left")
    for one in summary.layouts:
        style = None if one.holds else "red"
        drawn = (one.samples, one.room, one.against) if summary.draws else ()
        table.add_row(*one.places, f"{one.margin:.1f} steps", one.binding, *drawn, style=style)
    console.print(table)
    console.print(f"{summary.draws}. {summary.uncertain}" if summary.draws else summary.uncertain, markup=False)
    table = Table("number", *names, title="Share of the variance by axis, and change of the mean", title_justify="left")
    for what, found, unit in summary.effects:
        cells = {one.axis: f"{100 * one.share:.0f} %, {change_text(one.change, unit)}" for one in found}
        table.add_row(what, *(cells.get(name, "-") for name in names))
    console.print(table)


@app.command()
def bands(
    car: Annotated[Path, typer.Argument(metavar="CAR", help="Car file.")],
    day: Annotated[Path | None, typer.Argument(metavar="[DAY]", help="Day file; none: the built-in example.")] = None,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="DIR", help="Folder for bands.json, bands.nc, bands.html.")
    ] = None,
    samples: Annotated[int, typer.Option(min=2, max=100_000, help="Cars to draw, evenest a power of two.")] = 128,
    workers: Annotated[
        int | None, typer.Option(min=0, help="Local processes [default: one per core; 0: this process].")
    ] = None,
    seed: Annotated[int, typer.Option(min=0, help="Of the random numbers: the same seed, the same bands.")] = 1,
    settings: Annotated[
        list[str] | None, typer.Option("--set", metavar="PATH=VALUE", help="Override a value of the car or day.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Every headline number of a day with its band from what nobody measured, and the inputs that widen it most."""
    from studies.bands import study_bands
    from studies.bands_page import HOW_TO_READ, read_inputs, rows, status_lines, write
    from studies.bands_page import as_json as to_json

    with plain_errors():
        model = read_inputs(car, day, settings or ())
        if output is not None and output.exists() and not output.is_dir():
            error.print(f"{output} is a file: name a folder.", markup=False)
            raise typer.Exit(2)
        try:
            with progress_bar() as progress:
                result = study_bands(
                    model.car, model.day, samples, seed=seed, workers=workers, progress=progress,
                    cautions=model.cautions(),
                )  # fmt: skip
        except KeyboardInterrupt:
            error.print("Stopped; nothing was written.", markup=False)
            raise typer.Exit(130) from None
    for caution in result.cautions:
        error.print(caution, markup=False)
    if as_json:
        typer.echo(to_json(result))
    else:
        table = Table(title=f"{result.bands.car}, {result.bands.day}", title_justify="left", show_lines=True)
        columns = (("number", 22), ("own", 14), ("middle", 14), ("5th to 95th percentile", 20), ("samples", 14))
        for column, least in columns:
            table.add_column(column, max_width=least + 8)
        table.add_column("what widens it most", overflow="fold", ratio=1)
        for one in rows(result):
            table.add_row(one.text, one.own, one.middle, one.band, one.count, "\n".join(one.inputs))
        out().print(table)
        for line in (*status_lines(result), HOW_TO_READ):
            out().print(line, markup=False, soft_wrap=True)
    if output is not None:
        try:
            files = write(result, output)
        except OSError as refused:
            error.print(f"{output} cannot be written: {refused}", markup=False)
            raise typer.Exit(2) from None
        error.print(f"Wrote {', '.join(str(file) for file in files)}", markup=False)
    if not result.bands.usable:
        error.print("No sample could be computed, so no number has a band.", markup=False)
        raise typer.Exit(1)


@app.command()
def schema() -> None:
    """Print the JSON Schema of a study file, for an editor that completes and checks while typing."""
    import json

    from studies.study import study_schema

    typer.echo(json.dumps(study_schema(), indent=1))


def main() -> None:
    """Entry point of the `studies` command."""
    app(prog_name="studies")


def out() -> Any:
    """Console of the results: as wide as the tables need when it is no terminal."""
    return Console(width=None if sys.stdout.isatty() else 160, highlight=False)


if __name__ == "__main__":
    main()
