"""Layout A with other values."""

import copy
from typing import Any

from sim1d.car import Car, build_car, load_car
from sim1d.examples import example_path


def car_with(**changes: dict[str, Any]) -> Car:
    """Layout A with other values in its tables: `table={key: value}`, nested tables merged."""

    def merged(old: Any, new: Any) -> Any:
        if isinstance(old, dict) and isinstance(new, dict):
            return old | {key: merged(old.get(key), value) for key, value in new.items()}
        return new

    data = copy.deepcopy(load_car(example_path("layout_a")).to_file())
    return build_car(merged(data, changes))
