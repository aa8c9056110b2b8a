"""Handles: how named tuples of tables reach the kernels as one pointer.

A named tuple of eighty arrays is passed by value, as some six hundred machine words, to every function that takes it;
most of the compile time went there. A handle is a numba struct with the same fields, so that the kernels read
`model.node` just the same, compiled from a handle or, with the compiler switched off, from the named tuple itself.
"""

import hashlib
import sys
from collections.abc import Callable
from functools import lru_cache
from typing import Any

import numba
from numba.core import types
from numba.experimental import structref

_MAKERS: dict[type, Callable[..., Any]] = {}


def register(cls: type) -> type:
    """Struct and proxy of the named tuple `cls`; both stay in its module, where a cached kernel finds them again."""
    name, fields = cls.__name__, list(cls._fields)  # type: ignore[attr-defined]
    module = sys.modules[cls.__module__]
    plain = {"__module__": cls.__module__}
    body = {**plain, "preprocess_fields": _unliteral, "mangling_args": property(_short)}
    struct = type(f"{name}Struct", (types.StructRef,), body)
    struct = structref.register(struct)
    proxy = type(f"{name}Handle", (structref.StructRefProxy,), dict(plain))
    structref.define_constructor(proxy, struct, fields)
    structref.define_boxing(struct, proxy)
    setattr(module, f"{name}Struct", struct)
    setattr(module, f"{name}Handle", proxy)
    return proxy


def _unliteral(self: Any, fields: Any) -> tuple:
    return tuple((name, types.unliteral(kind)) for name, kind in fields)


def _short(self: Any) -> tuple[str, tuple]:
    """What stands for the struct in the name of a compiled function: its own name and a hash of its fields.

    By default the names and types of all fields do: names of up to 50,000 letters, four fifths of the cache.
    """
    return type(self).__name__, (hashlib.blake2b(self.name.encode(), digest_size=8).hexdigest(),)


def maker(cls: type) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Decorator: the compiled function that makes a handle of the named tuple `cls` from its fields."""

    def keep(function: Callable[..., Any]) -> Callable[..., Any]:
        _MAKERS[cls] = function
        return function

    return keep


class _Same:
    """Key of a cache by identity: holds its value, so that the identity stays its own."""

    def __init__(self, value: Any):
        self.value = value

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.value is self.value

    def __hash__(self) -> int:
        return id(self.value)


@lru_cache(maxsize=8)
def _kept(owner: _Same) -> Any:
    return handle(owner.value)


def kept_handle(value: Any) -> Any:
    """`handle` of tables that nothing writes to, made once (a tenth of a run otherwise)."""
    return _kept(_Same(value))


def handle(value: Any) -> Any:
    """Handle of a registered named tuple (its members too); anything else, or with the compiler off, as it is."""
    if numba.config.DISABLE_JIT or type(value) not in _MAKERS:  # type: ignore[attr-defined]
        return value
    return _MAKERS[type(value)](*[handle(field) if type(field) in _MAKERS else field for field in value])
