"""Cooling of a V engine in a drag car: describe it, simulate a race day, read what the workshop needs.

The public names load what they need on first use, so that the command line answers at once.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sim1d._jit import source_hash as source_hash
    from sim1d.car import Car as Car
    from sim1d.car import load_car as load_car
    from sim1d.car import save_car as save_car
    from sim1d.checks import Finding as Finding
    from sim1d.checks import check as check
    from sim1d.day import Day as Day
    from sim1d.day import load_day as load_day
    from sim1d.day import save_day as save_day
    from sim1d.errors import DescriptionError as DescriptionError
    from sim1d.errors import Outcome as Outcome
    from sim1d.errors import Problem as Problem
    from sim1d.examples import example_path as example_path
    from sim1d.network import NetworkBuilder as NetworkBuilder
    from sim1d.prepare import fingerprint as fingerprint
    from sim1d.simulation import Accuracy as Accuracy
    from sim1d.simulation import simulate as simulate
    from sim1d.simulation import warm_up as warm_up
    from sim1d.summary import summarise as summarise

__version__ = "0.1.0"
_WHERE = {
    "source_hash": "_jit",
    "Car": "car",
    "load_car": "car",
    "save_car": "car",
    "Finding": "checks",
    "check": "checks",
    "Day": "day",
    "load_day": "day",
    "save_day": "day",
    "DescriptionError": "errors",
    "Outcome": "errors",
    "Problem": "errors",
    "example_path": "examples",
    "NetworkBuilder": "network",
    "fingerprint": "prepare",
    "Accuracy": "simulation",
    "simulate": "simulation",
    "warm_up": "simulation",
    "summarise": "summary",
}
# modules that are public as a whole: what people read and write, for tools that speak to them the same way
_MODULES = (
    *("bands", "bands_file", "cautions", "display", "headlines", "quantiles", "reading", "reading_results"),
    *("toml_text", "uncertainty", "units"),
)
__all__ = [
    *_MODULES,
    *("Accuracy", "Car", "Day", "DescriptionError", "Finding", "NetworkBuilder", "Outcome", "Problem", "check"),
    *("example_path", "fingerprint", "load_car", "load_day", "save_car", "save_day", "simulate", "source_hash"),
    *("summarise", "warm_up"),
]


def __getattr__(name: str) -> Any:
    if name in _WHERE:
        return getattr(import_module(f"sim1d.{_WHERE[name]}"), name)
    if name in _MODULES:
        return import_module(f"sim1d.{name}")
    raise AttributeError(f"module 'sim1d' has no attribute '{name}'")


def __dir__() -> list[str]:
    return sorted([*globals(), *_WHERE])
