"""studies: sweep the choices of a cooling layout overnight, keep every point, resume after a kill, pick the best."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from studies.dataset import open_study
    from studies.runner import run
    from studies.study import load_study

__all__ = ["load_study", "open_study", "run"]

_HOME = {"load_study": "studies.study", "open_study": "studies.dataset", "run": "studies.runner"}


def __getattr__(name: str) -> Any:
    # loaded on first use: `studies --help` and every worker start without xarray and the simulation
    if name in _HOME:
        import importlib

        return getattr(importlib.import_module(_HOME[name]), name)
    raise AttributeError(f"module 'studies' has no attribute {name!r}")
