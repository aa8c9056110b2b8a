"""From what stands on a command line to a car and a day: files, built-in examples and `--set`, all problems at once."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim1d.errors import DescriptionError, Problem

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day

EXAMPLE_CAR, EXAMPLE_DAY = "layout_a", "race_day"


def split_settings(settings: Sequence[str]) -> tuple[dict[str, str], dict[str, str]]:
    """Values by path for the car and for the day, from texts `PATH=VALUE`.

    A path that starts with `day.` or with a word that only a day file knows (`phases`, `staging_window`,
    `ambient_temperature` ...) is one of the day. Raises DescriptionError for text without a path or a value.
    """
    from sim1d.car import Car
    from sim1d.day import Day
    from sim1d.paths import split_path

    of_day_only = set(Day.model_fields) - set(Car.file_keys())
    car: dict[str, str] = {}
    day: dict[str, str] = {}
    problems = []
    for text in settings:
        path, equals, value = text.partition("=")
        path, value = path.strip(), value.strip()
        if not equals or not path or not value:
            what = f'"{text[:60]}" is no setting'
            problems.append(Problem("--set", what, "write --set PATH=VALUE, for example --set pump.ratio=0.8"))
        elif path.startswith("day."):
            day[path.removeprefix("day.")] = value
        elif split_path(path)[0] in of_day_only:
            day[path] = value
        else:
            car[path] = value
    if problems:
        raise DescriptionError(problems)
    return car, day


def load(cars: Sequence[Path | None], day: Path | None, settings: Sequence[str] = ()) -> "tuple[list[Car], Day]":
    """Cars and the day, with `settings` made; None stands for the built-in example. Raises all problems together."""
    from sim1d.car import load_car
    from sim1d.day import check_points, load_day
    from sim1d.examples import example_path

    problems: list[Problem] = []
    of_car: Mapping[str, Any] = {}
    of_day: Mapping[str, Any] = {}
    try:
        of_car, of_day = split_settings(settings)
    except DescriptionError as error:
        problems += error.problems
    found: list[Car] = []
    for path in cars:
        try:
            found.append(load_car(path or example_path(EXAMPLE_CAR), of_car))
        except DescriptionError as error:
            problems += error.problems
    the_day = None
    try:
        the_day = load_day(day or example_path(EXAMPLE_DAY), of_day)
    except DescriptionError as error:
        problems += error.problems
    if the_day is not None:
        for car in found:
            try:
                check_points(the_day, car.points)
            except DescriptionError as error:
                problems += error.problems
    if problems or the_day is None:
        raise DescriptionError(list(dict.fromkeys(problems)))
    return found, the_day
