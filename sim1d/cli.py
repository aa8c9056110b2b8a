"""The command line. Results go to stdout, messages to stderr; what a command needs is imported when it runs.

Exit codes: 0 done; 1 the layout fails a limit, or a check finds a fault, under --strict; 2 the input cannot be used.
"""

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from enum import StrEnum
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from rich.console import Console

DONE, FAILED, BAD_INPUT, FAULT = 0, 1, 2, 3
LEAST_SAMPLES = 20  # of a band: fewer have no point beyond a 5th or 95th percentile
app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Cooling of a V engine in a drag car: check a layout, simulate a race day, compare, choose outlets.",
    epilog="Hot pressurised coolant scalds. The rulebook, the track and qualified people come before any number here.",
)

CarFile = Annotated[Path, typer.Argument(help="car file", show_default=False)]
OptionalCar = Annotated[
    Path | None, typer.Argument(metavar="CAR", help="car file; left out: the built-in example", show_default=False)
]
OptionalDay = Annotated[
    Path | None, typer.Argument(metavar="DAY", help="day file; left out: the built-in example", show_default=False)
]
Settings = Annotated[
    list[str] | None,
    typer.Option(
        "--set", metavar="PATH=VALUE", help="override a value of the car or day; repeatable", show_default=False
    ),
]
Folder = Annotated[
    Path | None, typer.Option("-o", "--output", metavar="DIR", help="folder for the result files", show_default=False)
]
AsJson = Annotated[bool, typer.Option("--json", help="print JSON instead of the table")]
Strict = Annotated[bool, typer.Option("--strict", help="exit with 1 when a limit is broken")]


class Setting(StrEnum):
    """How exactly time is integrated: the names of `simulation.Accuracy`, which is slow to import."""

    COARSE = "coarse"
    NORMAL = "normal"
    FINE = "fine"


Exactness = Annotated[
    Setting,
    typer.Option(
        "--accuracy",
        help="of the integration in time; leaves at most 1.5 K and 3 kPa of the peaks (coarse), 0.5 K and 1 kPa "
        "(normal) or 0.2 K and 0.2 kPa (fine), measured on the example layouts",
    ),
]


def reported(command: Callable[..., int | None]) -> Callable[..., None]:
    """Turn what a command raises into words on stderr and an exit code; a traceback only with SIM1D_TRACEBACK=1."""

    @wraps(command)
    def run(*args: Any, **options: Any) -> None:
        from sim1d.errors import DescriptionError

        try:
            code = command(*args, **options) or DONE
        except DescriptionError as error:
            count = len(error.problems)
            _say(f"{count} problem{'s' if count != 1 else ''}; nothing was written.")
            for problem in error.problems:
                _say(f"  {problem}")
            code = BAD_INPUT
        except BrokenPipeError:
            sys.stdout = open(os.devnull, "w")  # noqa: SIM115  (the reader has gone: nothing is left to say)
            code = DONE
        except KeyboardInterrupt:
            _say("stopped; nothing was written.")
            code = 130
        except OSError as error:
            _say(f"{error.filename or 'a file'}: {error.strerror or error}")
            code = BAD_INPUT
        except Exception as error:
            if os.environ.get("SIM1D_TRACEBACK") == "1":
                raise
            _say(f"this is a fault of the program, not of your files: {type(error).__name__}: {error}")
            _say("set SIM1D_TRACEBACK=1 and repeat the command to see where, then report it with both files.")
            code = FAULT
        raise typer.Exit(code)

    return run


def _say(text: str) -> None:
    typer.echo(text, err=True)


def _console() -> "Console":
    """Console for results; wide where stdout is no terminal, so that a file or a pipe gets whole lines."""
    from rich.console import Console

    console = Console(highlight=False, soft_wrap=False)
    return console if console.is_terminal else Console(highlight=False, width=140)


@contextmanager
def _progress(title: str) -> Iterator[Callable[[str, float], None]]:
    """A bar on stderr that follows (text, share done); silent where stderr is no terminal."""
    if not sys.stderr.isatty():
        yield lambda text, share: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn("{task.percentage:>3.0f} %"),
        TimeElapsedColumn(),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(f"{title}: preparing", total=1.0)
        yield lambda text, share: bar.update(task, description=f"{title}: {text}", completed=share)


def _compile(warm_up: Callable[..., float]) -> None:
    """Compile the kernels where that was not done before, and say so: it takes half a minute, once."""
    from sim1d._jit import is_cold

    if is_cold():
        _say("compiling the kernels for this machine, once: about half a minute")
        with _progress("compiling") as show:
            warm_up(progress=lambda text, share, at: show(text, share))


def _simulate(car: Any, day: Any, title: str, setting: Setting = Setting.NORMAL) -> Any:
    from sim1d.simulation import Accuracy, simulate_arrays, warm_up

    _compile(warm_up)
    with _progress(title) as show:
        return simulate_arrays(
            car, day, progress=lambda phase, share, at: show(f"{phase}, {at / 60:.1f} min", share),
            accuracy=Accuracy[setting.name],
        )  # fmt: skip


def _named(path: Path | None, car: Any) -> str:
    return path.stem if path is not None else (car.name or "example")


@app.command(short_help="write the example files")
@reported
def new(folder: Annotated[Path, typer.Argument(metavar="DIR", help="folder to write to", show_default=False)]) -> int:
    """Write the example cars, day and study, with the schemas that let an editor check them. Overwrites nothing."""
    from sim1d.errors import DescriptionError, Problem
    from sim1d.examples import example_path
    from sim1d.output import json_text, refuse_bad_folder, write_all
    from sim1d.schema import car_schema, day_schema

    refuse_bad_folder(folder)
    source = example_path("layout_a").parent
    examples = sorted([*source.glob("*.toml"), *source.glob("*.schema.json")])
    files: dict[str, str | Callable[[Path], Any]] = {path.name: path.read_text(encoding="utf-8") for path in examples}
    files |= {"car.schema.json": json_text(car_schema()), "day.schema.json": json_text(day_schema())}
    present = [name for name in files if (folder / name).exists()]
    if present:
        problem = Problem(str(folder), f"has {', '.join(present)} already", "name an empty or a new folder")
        raise DescriptionError([problem])
    for path in write_all(folder, files):
        typer.echo(path)
    _say(f"invented data, to be replaced by your own. Next: sim1d check {folder / 'layout_a.toml'}")
    return DONE


@app.command(short_help="check a layout without simulating it")
@reported
def check(
    car: CarFile, day: OptionalDay = None, settings: Settings = None, as_json: AsJson = False, strict: Strict = False
) -> int:
    """Check a layout without simulating it: what is wrong, where, why it matters, what would be better."""
    from sim1d.checks import check as check_layout
    from sim1d.descriptions import load
    from sim1d.output import json_text
    from sim1d.terminal import print_findings

    cars, the_day = load([car], day, settings or [])
    findings = check_layout(cars[0], the_day if day is not None else None)
    if as_json:
        rows = [
            {"rule": item.rule, "where": item.where, "why": item.why, "fix": item.fix, "severity": item.severity.value}
            for item in findings
        ]
        typer.echo(json_text(rows), nl=False)
    else:
        print_findings(_console(), findings, cars[0].name or car.stem)
    return FAILED if strict and any(item.severity.value == "fault" for item in findings) else DONE


@app.command(short_help="simulate a day; with no file, the built-in example")
@reported
def run(
    car: OptionalCar = None,
    day: OptionalDay = None,
    settings: Settings = None,
    output: Folder = None,
    as_json: AsJson = False,
    strict: Strict = False,
    accuracy: Exactness = Setting.NORMAL,
    samples: Annotated[
        int | None,
        typer.Option(
            "--bands", metavar="N", min=LEAST_SAMPLES, max=100_000, show_default=False,
            help="also run N samples of what nobody measured (a power of two: evenest), for the band of every headline "
            "number; with -o kept as bands.json",
        ),
    ] = None,
    bands_from: Annotated[
        Path | None,
        typer.Option(
            "--bands-from", metavar="PATH", show_default=False,
            help="show the bands of this bands.json (or folder with one), if it is of this car and day; left out: that "
            "of the folder of -o",
        ),
    ] = None,
) -> int:  # fmt: skip
    """Simulate a day: verdict on the terminal; with -o also result.nc, summary.json and report.html.

    One run has no band. `--bands N` gives every headline number its middle and band, one run after the other;
    `studies bands` does the same on every core and ranks the inputs, and `--bands-from` shows what it wrote.
    """
    from sim1d.descriptions import load

    if output is not None:
        from sim1d.output import refuse_bad_folder

        refuse_bad_folder(output)
    cars, the_day = load([car], day, settings or [])
    if car is None or day is None:
        missing = " and ".join(word for word, path in (("car", car), ("day", day)) if path is None)
        _say(f"no {missing} file given: the built-in example {missing} (invented data) is used.")
    from sim1d.bands import Bands, read_run, run_bands
    from sim1d.bands_file import FILE, as_data, in_summary, stored_bands

    made = [f"--set '{one}'" for one in settings or ()]
    command = " ".join(["sim1d run", *(str(path) for path in (car, day) if path is not None), *made])
    bands = stored_bands(cars[0], the_day, bands_from, output, samples, f"{command} --bands 128")
    from sim1d.plots_process import drawing

    with drawing(wanted=output is not None) as figures:
        ds = _simulate(cars[0], the_day, _named(car, cars[0]), accuracy)
        svgs = figures.begin(ds)

        from sim1d.output import json_text, write_all, write_netcdf
        from sim1d.summary import summarise
        from sim1d.terminal import print_verdict
        from sim1d.verdict import judge

        summary = summarise(ds)
        if samples is not None:
            with _progress(_named(car, cars[0])) as show:
                bands = run_bands(
                    cars[0], the_day, read_run(summary), samples,
                    progress=lambda done, count: show(f"sample {done} of {count}", done / count),
                )  # fmt: skip
        data = summary | {"bands": in_summary(bands)}
        if output is not None:
            from sim1d.report import render

            files: dict[str, Any] = {
                "result.nc": lambda path: write_netcdf(ds, path),
                "summary.json": json_text(data),
                # last, for its figures are being drawn while the others are written
                "report.html": lambda path: path.write_text(render(ds, summary, bands, svgs), encoding="utf-8"),
            }
            if samples is not None and isinstance(bands, Bands):
                files[FILE] = json_text(as_data(bands))
            for path in write_all(output, files):
                _say(f"wrote {path}")
    if as_json:
        typer.echo(json_text(data), nl=False)
    else:
        print_verdict(_console(), ds, summary, judge(ds, summary), bands)
    return FAILED if strict and summary["limits_failed"] else DONE


@app.command(short_help="the same day for several cars, side by side")
@reported
def compare(
    cars: Annotated[
        list[Path], typer.Argument(metavar="CAR CAR ...", help="two car files or more", show_default=False)
    ],
    day: Annotated[
        Path | None, typer.Option("--day", help="day file; left out: the built-in example", show_default=False)
    ] = None,
    settings: Settings = None,
    output: Folder = None,
    as_json: AsJson = False,
    strict: Strict = False,
) -> int:
    """The same day for several cars, side by side; with -o also compare.json and compare.html."""
    from sim1d.compare import Run, comparison
    from sim1d.descriptions import load
    from sim1d.errors import DescriptionError, Problem
    from sim1d.output import json_text, refuse_bad_folder, write_all
    from sim1d.report import render_comparison
    from sim1d.summary import summarise
    from sim1d.terminal import print_comparison

    if len(cars) < 2:
        raise DescriptionError([Problem("CAR", "one car is no comparison", "name two car files or more")])
    if output is not None:
        refuse_bad_folder(output)
    found, the_day = load(list(cars), day, settings or [])
    names = [path.stem for path in cars]
    if len(set(names)) < len(names):
        names = [str(path) for path in cars]
    runs = []
    for name, car in zip(names, found, strict=True):
        ds = _simulate(car, the_day, name)
        runs.append(Run.of(name, ds, summarise(ds)))
    summaries = {item.name: item.summary for item in runs}
    rows = comparison(runs)
    if output is not None:
        page = render_comparison("Layouts side by side", names, rows, [(item.name, item.verdict) for item in runs])
        for path in write_all(output, {"compare.json": json_text(summaries), "compare.html": page}):
            _say(f"wrote {path}")
    if as_json:
        typer.echo(json_text(summaries), nl=False)
    else:
        print_comparison(_console(), names, rows, runs)
    return FAILED if strict and any(not item.verdict.held for item in runs) else DONE


@app.command(short_help="rank every sensible choice of head outlets")
@reported
def ports(
    car: CarFile,
    day: OptionalDay = None,
    settings: Settings = None,
    output: Folder = None,
    as_json: AsJson = False,
    strict: Strict = False,
) -> int:
    """Every sensible choice of head outlets plumbed, joined or plugged, ranked by even cylinders and margin."""
    from sim1d.descriptions import load
    from sim1d.output import json_text, refuse_bad_folder, write_all
    from sim1d.ports_study import as_data, ports_study, table
    from sim1d.report import render_ports
    from sim1d.terminal import print_ports

    if output is not None:
        refuse_bad_folder(output)
    found, the_day = load([car], day, settings or [])
    from sim1d.simulation import warm_up

    _compile(warm_up)
    with _progress(_named(car, found[0])) as show:
        result = ports_study(
            found[0], the_day, lambda done, count, text: show(f"{done} of {count}, {text}", done / count)
        )
    data = as_data(result)
    rows = list(table(result))
    if output is not None:
        page = render_ports(f"Outlets of {found[0].name or car.stem}", rows, result.refused)
        for path in write_all(output, {"ports.json": json_text(data), "ports.html": page}):
            _say(f"wrote {path}")
    if as_json:
        typer.echo(json_text(data), nl=False)
    else:
        print_ports(_console(), rows, result.refused)
    best_holds = bool(result.ranked) and result.ranked[0].run.verdict.held
    return FAILED if strict and not best_holds else DONE


@app.command(short_help="what each named fault does, how soon, and which gauge tells")
@reported
def faults(
    car: OptionalCar = None,
    day: OptionalDay = None,
    only: Annotated[
        list[str] | None,
        typer.Option("--only", metavar="NAME", help="this fault only; * and ? stand for letters; repeatable"),
    ] = None,
    settings: Settings = None,
    output: Folder = None,
    as_json: AsJson = False,
) -> int:
    """Every named fault of a car on one day: the first limit it breaks, how soon, and which gauge tells in time."""
    from sim1d.descriptions import load
    from sim1d.faults_study import as_data, faults_study
    from sim1d.output import json_text, refuse_bad_folder, write_all
    from sim1d.simulation import warm_up
    from sim1d.terminal_faults import print_faults

    if output is not None:
        refuse_bad_folder(output)
    found, the_day = load([car], day, settings or [])
    _compile(warm_up)
    with _progress(_named(car, found[0])) as show:
        result = faults_study(
            found[0], the_day, only, lambda done, count, text: show(f"{done} of {count}, {text}", done / count)
        )
    data = as_data(result)
    if output is not None:
        from sim1d.faults.page import render_faults

        page = render_faults(f"Faults of {found[0].name or _named(car, found[0])}", result)
        for path in write_all(output, {"faults.json": json_text(data), "faults.html": page}):
            _say(f"wrote {path}")
    if as_json:
        typer.echo(json_text(data), nl=False)
    else:
        print_faults(_console(), result)
    return DONE


@app.command(short_help="what a fill leaves trapped, and how to fill and bleed this car")
@reported
def fill(
    car: OptionalCar = None,
    at: Annotated[
        str | None, typer.Option("--at", metavar="PLACE", help="where it is poured in: a port, a line, the tank")
    ] = None,
    nose_up: Annotated[
        str | None, typer.Option("--nose-up", metavar="ANGLE", help='how far the nose is jacked up, such as "6 deg"')
    ] = None,
    settings: Settings = None,
    output: Folder = None,
    as_json: AsJson = False,
) -> int:
    """Simulate the fill of a car: trapped air, what a purge leaves, the numbered procedure, the tests that prove it."""
    from sim1d.descriptions import load
    from sim1d.fill_plan import as_data, fill_plan
    from sim1d.output import json_text, refuse_bad_folder, write_all
    from sim1d.simulation import warm_up
    from sim1d.terminal_fill import print_fill

    if output is not None:
        refuse_bad_folder(output)
    own = [f"fill.at={at}"] if at is not None else []
    own += [f"fill.nose_up={nose_up}"] if nose_up is not None else []
    found, _ = load([car], None, [*(settings or []), *own])
    _compile(warm_up)
    plan = fill_plan(found[0])
    data = as_data(plan)
    if output is not None:
        from sim1d.fill_page import render_fill

        page = render_fill(f"Fill of {found[0].name or _named(car, found[0])}", plan)
        for path in write_all(output, {"fill.json": json_text(data), "fill.html": page}):
            _say(f"wrote {path}")
    if as_json:
        typer.echo(json_text(data), nl=False)
    else:
        print_fill(_console(), plan)
    return DONE


@app.command(short_help="gauge card, sensor sheet and the window of the engine cut")
@reported
def sheets(
    car: OptionalCar = None,
    day: OptionalDay = None,
    settings: Settings = None,
    output: Folder = None,
    as_json: AsJson = False,
    samples: Annotated[
        int,
        typer.Option(
            "--samples", metavar="N", min=2, max=4096,
            help="samples of what nobody measured (a power of two: evenest)",
        ),
    ] = 32,
    measured: Annotated[
        list[str] | None,
        typer.Option(
            "--measured", metavar="PATH", help="a value that was measured: no band; * allowed; repeatable",
            show_default=False,
        ),
    ] = None,
) -> int:  # fmt: skip
    """What the gauges should read, what the sensors miss, what a cut may be set to; with -o also pages and JSON."""
    from sim1d.descriptions import load
    from sim1d.output import json_text, refuse_bad_folder, write_all
    from sim1d.sheets import SHEETS, as_data, gather, render
    from sim1d.simulation import warm_up
    from sim1d.terminal_sheets import print_sheets

    if output is not None:
        refuse_bad_folder(output)
    cars, the_day = load([car], day, settings or [])
    _compile(warm_up)
    with _progress(_named(car, cars[0])) as show:
        material = gather(cars[0], the_day, samples, measured=measured or (), progress=show)
    data = as_data(material)
    if output is not None:
        files: dict[str, Any] = {sheet.file: render(sheet, material) for sheet in SHEETS}
        for path in write_all(output, files | {"sheets.json": json_text(data)}):
            _say(f"wrote {path}")
    if as_json:
        typer.echo(json_text(data), nl=False)
    else:
        print_sheets(_console(), material)
    return DONE


@app.command(short_help="fit a car to bench and driveway readings")
@reported
def calibrate(
    car: CarFile,
    readings: Annotated[
        Path, typer.Argument(metavar="READINGS", help="file of readings, TOML or CSV", show_default=False)
    ],
    settings: Settings = None,
    output: Folder = None,
    as_json: AsJson = False,
    strict: Annotated[bool, typer.Option("--strict", help="exit with 1 when a reading is rejected")] = False,
) -> int:
    """Fit a car to readings, in the order statics, flow, heat; with -o the fitted car.toml, calibrate.html and JSON."""
    from sim1d.calibrate.page import render_calibration
    from sim1d.calibrate.reading_file import load_readings
    from sim1d.calibrate.study import as_data
    from sim1d.calibrate.study import calibrate as fit
    from sim1d.car import save_car
    from sim1d.descriptions import load
    from sim1d.errors import DescriptionError, Problem
    from sim1d.output import json_text, refuse_bad_folder, write_all
    from sim1d.simulation import warm_up
    from sim1d.terminal_calibrate import print_calibration

    if output is not None:
        refuse_bad_folder(output)
    problems: list[Problem] = []
    found = None
    try:
        found = load([car], None, settings or [])[0][0]
    except DescriptionError as error:
        problems += error.problems
    try:
        given = load_readings(readings, found)
    except DescriptionError as error:
        problems += error.problems
    if problems or found is None:
        raise DescriptionError(problems)
    _compile(warm_up)
    with _progress(_named(car, found)) as show:
        result = fit(found, given, show)
    data = as_data(result)
    if output is not None:
        page = render_calibration(f"Calibration of {found.name or car.stem}", result)
        files: dict[str, Any] = {
            "car.toml": lambda path: save_car(result.car, path, template=car),
            "calibrate.json": json_text(data),
            "calibrate.html": page,
        }
        for path in write_all(output, files):
            _say(f"wrote {path}")
    if as_json:
        typer.echo(json_text(data), nl=False)
    else:
        print_calibration(_console(), result)
    return FAILED if strict and result.rejected else DONE


def main() -> None:
    """Entry point of the `sim1d` command."""
    import gc

    gc.set_threshold(400_000, 50, 100)  # a command is short, and a search through all of numba takes 0.3 s each time
    try:
        app()
    finally:
        gc.freeze()  # nor need Python search it all once more when it ends


if __name__ == "__main__":
    main()
