"""From the errors of pydantic to problems that a builder can act on: path, line, what is wrong, what would be right."""

import copy
import difflib
import json
from collections.abc import Iterable
from enum import Enum
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from sim1d.errors import Problem
from sim1d.parts.base import facts
from sim1d.toml_text import Lines
from sim1d.units import BadValue, shorten

Keys = tuple[str | int, ...]
Model = TypeVar("Model", bound=BaseModel)


def problems_of(
    error: ValidationError, model: type[BaseModel], data: dict[str, Any], file: str = "", lines: Lines | None = None
) -> list[tuple[Keys, Problem]]:
    """Each error of pydantic as (keys in the file, problem)."""
    found: dict[tuple[Keys, str], Problem] = {}
    for item in error.errors(include_url=False):
        keys = _keys_in_file(item["loc"], data, item["type"])
        what, fix = _explain(item, _models_at(model, item["loc"], item["type"]), keys)
        problem = Problem(dotted(keys), what, fix, file, lines.find(keys) if lines else 0)
        found.setdefault((keys, what), problem)
    return [(keys, problem) for (keys, _), problem in found.items()]


def dotted(keys: Keys) -> str:
    """Path of a value as it is written everywhere: lines.upper.size; a key that holds dots is quoted."""
    return ".".join(f'"{key}"' if "." in str(key) else str(key) for key in keys)


def _keys_in_file(loc: tuple, data: Any, kind: str) -> Keys:
    """pydantic's location without what it adds: union tags and the names of gathered tables."""
    keys: list[str | int] = []
    here = data
    for position, key in enumerate(loc):
        last = position == len(loc) - 1
        if isinstance(here, dict) and key in here:
            here = here[key]
        elif isinstance(here, list) and isinstance(key, int) and key < len(here):
            here = here[key]
        elif not (last and kind in ("missing", "extra_forbidden")):
            continue
        keys.append(key)
    return tuple(keys)


def _models_in(annotation: Any) -> set[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return {annotation}
    return set().union(*(_models_in(inner) for inner in get_args(annotation)))


def _models_at(model: type[BaseModel], loc: tuple, kind: str) -> set[type[BaseModel]]:
    """The models that could stand where the last key of a location is looked up."""
    here = {model}
    for key in loc[:-1]:
        inner: set[type[BaseModel]] = set()
        for candidate in here:
            for name, field in candidate.model_fields.items():
                if key in (name, field.alias):
                    inner |= _models_in(field.annotation)
        tagged = {item for item in here if _has_kind(item, key)}
        here = inner or tagged or here
    return here


def _has_kind(model: type[BaseModel], kind: Any) -> bool:
    field = model.model_fields.get("kind")
    return field is not None and kind in get_args(field.annotation)


def known_keys(models: set[type[BaseModel]]) -> list[str]:
    """Keys that a file may use in a table that is one of these models."""
    return sorted({field.alias or name for model in models for name, field in model.model_fields.items()})


def _explain(item: Any, models: set[type[BaseModel]], keys: Keys) -> tuple[str, str]:
    kind, value = item["type"], item.get("input")
    cause = item.get("ctx", {}).get("error")
    if isinstance(cause, BadValue):
        return cause.what, cause.fix
    if kind == "missing":
        return "is missing", _how_to_give(models, str(keys[-1]) if keys else "")
    if kind == "extra_forbidden":
        names = _top_level_keys(models) if len(keys) == 1 else known_keys(models)
        return f'"{keys[-1]}" is no known key here', nearest(str(keys[-1]), names)
    if kind in ("enum", "literal_error"):
        names = [text.strip("'") for text in item["ctx"]["expected"].replace(" or ", ", ").split(", ")]
        return f"{shorten(value)} is no choice here", nearest(str(value), names)
    if kind in ("union_tag_not_found", "union_tag_invalid"):
        tags = item.get("ctx", {}).get("expected_tags") or "'belt', 'electric'"
        return "does not say which kind it is", f"add kind = one of {tags}"
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        name = keys[-1] if keys else "name"
        return f"{shorten(value)} is no table", f"write a table: [{dotted(keys) or name}] with its keys below"
    if kind.startswith("int"):
        return f"{shorten(value)} is no whole number", "write a whole number such as 4"
    if kind.startswith("bool"):
        return f"{shorten(value)} is neither true nor false", "write true or false, without quotes"
    if kind.startswith("string"):
        return f"{shorten(value)} is no text", 'write text in quotes, such as "left.rear"'
    if kind in ("tuple_type", "list_type"):
        return f"{shorten(value)} is no list", "write a list: [a, b]"
    return str(item["msg"])[:1].lower() + str(item["msg"])[1:], "see the description of this value in the example files"


def _how_to_give(models: set[type[BaseModel]], key: str) -> str:
    for model in models:
        for name, field in model.model_fields.items():
            if key in (name, field.alias):
                known = facts(model, name)
                if _models_in(field.annotation):
                    return f"add the table [{key}]: {known.text}"
                choices = [json.dumps(choice) for choice in _choices(field.annotation)]
                example = " or ".join(choices) or (
                    (f'"{known.measure.example}"' if known.measure.unit != "1" else known.measure.example)
                    if known.measure
                    else ("1" if field.annotation is int else "...")
                )
                return f"add {key} = {example} ({known.text})"
    return f"add {key}"


def _choices(annotation: Any) -> list[str]:
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return [member.value for member in annotation]
    return [item for item in get_args(annotation) if isinstance(item, str)]


def _top_level_keys(models: set[type[BaseModel]]) -> list[str]:
    return [key for model in models for key in getattr(model, "file_keys", lambda m=model: known_keys({m}))()]


def nearest(word: str, names: list[str]) -> str:
    """Advice that names the nearest of the words that would be right, or all of them when they are few."""
    close = difflib.get_close_matches(word, names, n=1, cutoff=0.6)
    if close:
        return f'did you mean "{close[0]}"?'
    listing = ", ".join(names[:40])
    return f"use one of: {listing}" if names else "remove it"


def mend(data: dict[str, Any], found: Iterable[tuple[Keys, Problem]], model: type[Model]) -> Model | None:
    """The description with its wrong values left out or stood in for, so that what joins what can be judged as well.

    Numbers of the result mean nothing. None where a whole table is wrong or too little is left.
    """
    rest = copy.deepcopy(data)
    for keys, _ in found:
        here: Any = rest
        for key in keys[:-1]:
            here = here[key]
        if not keys or not isinstance(here, dict):
            return None
        owners = _owners(model, keys)
        known = [(owner, name) for owner in owners for name in _named(owner, str(keys[-1]))]
        if known and isinstance(here.get(keys[-1]), dict):
            return None
        value = here.pop(keys[-1], None)
        meant = difflib.get_close_matches(str(keys[-1]), known_keys(owners), n=1, cutoff=0.6)
        if not known and meant:  # a slip of the pen: its value is what was meant
            here.setdefault(meant[0], value)
        elif known and facts(*known[0]).required:
            here[keys[-1]] = _stand_in(*known[0])
    try:
        return model.model_validate(rest)
    except ValidationError:
        return None


def _owners(model: type[BaseModel], keys: Keys) -> set[type[BaseModel]]:
    """Models that the table of the last key may be; a table of a family stands in a field of another name."""
    owners = _models_at(model, keys, "")
    gathered = [name for name in ("pumps", "exchangers") if name in model.model_fields]
    top = {field.alias or name for name, field in model.model_fields.items()}
    if len(keys) > 1 and keys[0] not in top and gathered:
        inner = set().union(*(_models_in(model.model_fields[name].annotation) for name in gathered))
        owners = set().union(*(_models_at(owner, keys[1:], "") for owner in inner))
    return owners


def _named(model: type[BaseModel], key: str) -> list[str]:
    return [name for name, field in model.model_fields.items() if key in (name, field.alias)]


def _stand_in(model: type[BaseModel], name: str) -> Any:
    known = facts(model, name)
    if known.low is not None and known.high is not None:
        middle = (known.low + known.high) / 2
        return int(middle) if known.measure is None else middle
    return next(iter(_choices(model.model_fields[name].annotation)), "")
