"""Any value has a path: pump.ratio, lines.upper.size, engine.gasket.hole_diameter.2, phases.pass.duration.

Paths act on plain data as it stands in a file. A list is entered by position (from 0), or by the `name` of its entries.
"""

import copy
import tomllib
from collections.abc import Mapping
from typing import Any

from sim1d.errors import DescriptionError, Problem
from sim1d.reading import nearest


def read_value(text: Any) -> Any:
    """A value given as text on a command line: 0.9, true, [1, 2], or text with a unit, which stays text."""
    if not isinstance(text, str):
        return text
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return text


def split_path(path: str) -> list[str]:
    """Keys of a path; a key that holds dots is quoted: trapped_air."engine.left-4.head"."""
    keys, key, quoted = [], "", False
    for letter in path.strip():
        if letter == '"':
            quoted = not quoted
        elif letter == "." and not quoted:
            keys.append(key)
            key = ""
        else:
            key += letter
    return [*keys, key]


def get_value(data: Any, path: str) -> Any:
    """Value at a path of plain data. Entries of one name in a list must agree; raises DescriptionError."""
    found = [holder[key] for holder, key in _places(data, path, None)]
    if any(value != found[0] for value in found):
        raise DescriptionError([Problem(path, "has more than one value", "say which entry by its position, from 0")])
    return found[0]


def set_values(data: dict[str, Any], values: Mapping[str, Any], known: list[str] | None = None) -> dict[str, Any]:
    """A copy of plain data with values set by path. `known` are the words allowed at the top.

    Tables on the way are made where they are missing (whether their keys are known is judged when the data is read);
    a name in a list sets every entry of that name. Raises DescriptionError for paths that cannot be followed.
    """
    changed = copy.deepcopy(data)
    problems: list[Problem] = []
    for path, value in values.items():
        try:
            for holder, key in _places(changed, path, known):
                holder[key] = read_value(value)
        except DescriptionError as error:
            problems += error.problems
    if problems:
        raise DescriptionError(problems)
    return changed


def _places(data: Any, path: str, known: list[str] | None) -> list[tuple[Any, Any]]:
    """(holder, key) of every place that a path means. With `known` (setting), missing tables are made on the way."""
    keys = split_path(path)
    if "" in keys:
        raise DescriptionError([Problem(path, "is no path", "write names with dots between: lines.upper.size")])
    making = known is not None
    if making and keys[0] not in data and not _may_be(keys[0], known or []):
        raise DescriptionError([Problem(path, f'there is no "{keys[0]}"', nearest(keys[0], [*data, *(known or [])]))])
    here = [data]
    for position, key in enumerate(keys):
        last = position == len(keys) - 1
        places = [place for holder in here for place in _enter(holder, key, making)]
        if not places:
            words = sorted({word for holder in here for word in _words(holder)})
            where = ".".join(keys[: position + 1])
            raise DescriptionError([Problem(path, f'there is no "{where}"', nearest(key, words))])
        if last:
            return places
        following = []
        for holder, name in places:
            if isinstance(holder, dict) and name not in holder:
                holder[name] = {}
            elif not isinstance(holder[name], (dict, list)):
                if not making:
                    raise DescriptionError([Problem(path, f'"{key}" holds no other values', "shorten the path")])
                holder[name] = {}
            following.append(holder[name])
        here = following
    raise AssertionError("a path has at least one key")


def _may_be(key: str, known: list[str]) -> bool:
    return any(key == word or key.endswith("_" + word) for word in known)


def _enter(holder: Any, key: str, making: bool) -> list[tuple[Any, Any]]:
    if isinstance(holder, dict):
        return [(holder, key)] if key in holder or making else []
    if isinstance(holder, list):
        if key.isdigit() and int(key) < len(holder):
            return [(holder, int(key))]
        return [(holder, i) for i, entry in enumerate(holder) if isinstance(entry, dict) and entry.get("name") == key]
    return []


def _words(holder: Any) -> list[str]:
    if isinstance(holder, dict):
        return [str(key) for key in holder]
    if isinstance(holder, list):
        return [str(entry.get("name", i)) if isinstance(entry, dict) else str(i) for i, entry in enumerate(holder)]
    return []
