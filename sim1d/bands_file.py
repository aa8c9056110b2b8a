"""`bands.json`: the bands of a day as a file, which `sim1d run --bands` and `studies bands` write and a run reads."""

import json
import math
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim1d.bands import NOT_SAMPLED, Bands, Identity, NoBands, NumberBand, Share, identity_of, why_stale
from sim1d.errors import DescriptionError, Problem
from sim1d.headlines import HEADLINES, Headline
from sim1d.quantiles import Quantile, Quantiles

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day

FILE = "bands.json"
FORMAT = 2  # counts up when an older file cannot be read any more


def as_data(bands: Bands) -> dict[str, Any]:
    """Plain data for JSON, SI; a number that does not exist is None."""
    data: dict[str, Any] = {
        "format": FORMAT,
        "car": bands.car,
        "day": bands.day,
        "identity": asdict(bands.identity),
        "seed": bands.seed,
        "samples": bands.asked,
        "completed": bands.completed,
        "how": bands.how,
        "nominal_outcome": bands.nominal_outcome,
        "outcomes": dict(bands.outcomes),
        "holds_every_limit": _share_data(bands.holding),
        "ended_early": _share_data(bands.early),
        "numbers": {one.headline.name: _number_data(one) for one in bands.numbers},
        "hottest_cylinder": dict(bands.hottest),
        "widened_by": {name: list(paths) for name, paths in bands.widened_by.items()},
    }
    return data


def in_summary(bands: Bands | NoBands) -> dict[str, Any]:
    """What summary.json keeps of the bands: all of them, or why there are none and the command that gives them."""
    return as_data(bands) if isinstance(bands, Bands) else {"why_none": bands.why, "command": bands.command}


def _share_data(share: Share) -> dict[str, Any]:
    return {"share": _or_none(share.value), "low": _or_none(share.low), "high": _or_none(share.high),
            "count": share.count, "judged": share.judged}  # fmt: skip


def _number_data(one: NumberBand) -> dict[str, Any]:
    over = one.over
    return {
        "text": one.headline.text,
        "units": {"share": "1", "s long": "s"}.get(one.headline.unit, one.headline.unit.split()[0]),
        "nominal": _or_none(one.nominal),
        "nominal_early": one.nominal_early,
        **{name: _or_none(getattr(over, name).value) for name in ("middle", "low", "high")},
        "beyond": [name for name in ("middle", "low", "high") if getattr(over, name).beyond],
        "n": over.n,
        "early": over.early,
        "lacking": one.lacking,
    }


def _or_none(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def from_data(data: Mapping[str, Any]) -> Bands:
    """The bands that `as_data` wrote. Raises KeyError, TypeError or ValueError for anything else."""
    if data["format"] != FORMAT:
        raise ValueError(f"format {data['format']}, not {FORMAT}")
    known = {one.name: one for one in HEADLINES}
    return Bands(
        car=data["car"], day=data["day"], identity=Identity(**data["identity"]), seed=data["seed"],
        asked=data["samples"], how=data["how"], nominal_outcome=data["nominal_outcome"],
        outcomes=dict(data["outcomes"]),
        numbers=tuple(_number_from(known[name], one) for name, one in data["numbers"].items()),
        holding=_share_from(data["holds_every_limit"]), early=_share_from(data["ended_early"]),
        hottest=dict(data["hottest_cylinder"]),
        widened_by={name: tuple(paths) for name, paths in data["widened_by"].items()},
    )  # fmt: skip


def _share_from(data: Mapping[str, Any]) -> Share:
    return Share(data["count"], data["judged"], _or_nan(data["low"]), _or_nan(data["high"]))


def _number_from(headline: Headline, data: Mapping[str, Any]) -> NumberBand:
    middle, low, high = (Quantile(_or_nan(data[name]), name in data["beyond"]) for name in ("middle", "low", "high"))
    over = Quantiles(middle, low, high, data["n"], data["early"])
    return NumberBand(headline, _or_nan(data["nominal"]), data["nominal_early"], over, data["lacking"])


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else float(value)


def load_bands(path: Path) -> Bands:
    """Bands out of a `bands.json`, or of the one in a folder. Raises DescriptionError when there is none to read."""
    file = path / FILE if path.is_dir() else path
    fix = "name a bands.json, or a folder with one: studies bands CAR DAY -o DIR writes it"
    try:
        return from_data(json.loads(file.read_text(encoding="utf-8")))
    except FileNotFoundError:
        raise DescriptionError([Problem("--bands-from", f"there is no {file}", fix)]) from None
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        what = f"{file} holds no bands that this version reads ({type(error).__name__}: {error})"
        raise DescriptionError([Problem("--bands-from", what, fix)]) from None


def stored_bands(
    car: "Car", day: "Day", asked: Path | None, folder: Path | None, samples: int | None, command: str
) -> Bands | NoBands:
    """The bands to show with a run: those of the file that was `asked` for, else those that lie in the result `folder`.

    A file of another car, day or program is refused: with DescriptionError where it was asked for, with the reason in
    what comes back where it only lies there. `command`: what would give new ones. Nothing is looked for when `samples`
    are to be run.
    """
    if samples is not None:
        if asked is not None:
            what, fix = "stands beside --bands", "give one of them: run new samples, or show those of a file"
            raise DescriptionError([Problem("--bands-from", what, fix)])
        return NOT_SAMPLED
    if asked is not None:
        found = load_bands(asked)
        reason = why_stale(found, identity_of(car, day))
        if reason:
            raise DescriptionError([Problem("--bands-from", f"{asked} is not of this run: {reason}", f"run {command}")])
        return found
    if folder is None or not (folder / FILE).is_file():
        return NoBands(NOT_SAMPLED.why, command)
    try:
        found = load_bands(folder)
    except DescriptionError as error:
        return NoBands(error.problems[0].what, command)
    reason = why_stale(found, identity_of(car, day))
    return NoBands(f"{folder / FILE} is not of this run: {reason}", command) if reason else found
