"""Put a module's changed text into the running program, in place of what was imported from it.

Functions keep their identity and get the new code, so that every module that imported them runs it; other
values are put wherever the old ones were imported. Meant for a forked child that ends afterwards.
"""

from __future__ import annotations

import functools
import gc
import sys
from collections.abc import Iterable, Iterator, Mapping
from types import FunctionType, ModuleType
from typing import Any

ROOMS = ("steadyhead", "tests")


def graft(module: ModuleType, text: str) -> None:
    """Let a module be as its changed text says.

    Raises
    ------
    Exception
        Whatever the changed text raises when it is run.
    """
    fresh: dict[str, Any] = {
        name: value
        for name, value in vars(module).items()
        if name.startswith("__") and name != "__builtins__"
    }
    exec(compile(text, str(module.__file__), "exec"), fresh)
    for name, new in fresh.items():
        if not name.startswith("__"):
            _value(module, name, new)


def _value(module: ModuleType, name: str, new: Any) -> None:
    old = vars(module).get(name)
    if _is_own(new, module) and type(old) is type(new):
        _thing(old, new)
    elif old is not new and not _same(old, new):
        for other in _modules():
            if vars(other).get(name) is old:
                setattr(other, name, new)
        setattr(module, name, new)


def _is_own(thing: Any, module: ModuleType) -> bool:
    shaped = isinstance(thing, FunctionType | type | functools._lru_cache_wrapper)
    return shaped and getattr(thing, "__module__", "") == module.__name__


def _thing(old: Any, new: Any) -> None:
    """Give a function, a class, or what is wrapped round a function the code of another."""
    if isinstance(old, FunctionType) and isinstance(new, FunctionType):
        _function(old, new)
    elif isinstance(old, type) and isinstance(new, type):
        for name, value in vars(new).items():
            mine = vars(old).get(name)
            if any(_functions(value)):
                for one, other in zip(_functions(mine), _functions(value), strict=False):
                    _function(one, other)
            elif not name.startswith("__") and _is_plain(value) and mine != value:
                setattr(old, name, value)
    else:
        for one, other in zip(_functions(old), _functions(new), strict=False):
            _function(one, other)


def _functions(thing: Any) -> Iterator[FunctionType]:
    """Yield the functions inside one attribute of a class or a module."""
    if isinstance(thing, FunctionType):
        yield thing
    elif isinstance(thing, property):
        yield from (one for one in (thing.fget, thing.fset) if isinstance(one, FunctionType))
    elif isinstance(thing, classmethod | staticmethod | functools._lru_cache_wrapper):
        yield from _functions(thing.__wrapped__)
    elif isinstance(thing, functools.cached_property):
        yield from _functions(thing.func)


def _function(old: FunctionType, new: FunctionType) -> None:
    if len(old.__code__.co_freevars) == len(new.__code__.co_freevars):
        old.__code__ = new.__code__
    else:
        rebind(old, new)
    if not _same(old.__defaults__, new.__defaults__):
        old.__defaults__ = new.__defaults__
    if not _same(old.__kwdefaults__, new.__kwdefaults__):
        old.__kwdefaults__ = new.__kwdefaults__


def _is_plain(value: Any) -> bool:
    return isinstance(value, str | int | float | tuple | frozenset | bool)


def _same(old: Any, new: Any) -> bool:
    """Return whether two values say the same; functions in them are given the new code on the way."""
    if isinstance(old, FunctionType) and isinstance(new, FunctionType):
        _function(old, new)
        return True
    if isinstance(old, type) and isinstance(new, type):
        return old.__qualname__ == new.__qualname__
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        return list(map(str, old)) == list(map(str, new)) and _all_same(old.values(), new.values())
    if isinstance(old, list | tuple) and isinstance(new, list | tuple):
        return len(old) == len(new) and _all_same(old, new)
    if type(old).__name__ == type(new).__name__ and "object at 0x" in repr(old):
        return True
    return old is new or (type(old).__name__ == type(new).__name__ and repr(old) == repr(new))


def _all_same(old: Iterable[Any], new: Iterable[Any]) -> bool:
    told = [_same(a, b) for a, b in zip(old, new, strict=True)]  # each: functions in them get the new code
    return all(told)


def _modules() -> list[ModuleType]:
    return [one for name, one in list(sys.modules.items()) if one is not None and name.split(".")[0] in ROOMS]


def rebind(old: Any, new: Any) -> None:
    """Put a value wherever a module of ours holds another under any name."""
    for module in _modules():
        for name, value in list(vars(module).items()):
            if value is old:
                setattr(module, name, new)


def forget() -> None:
    """Empty every cache of a function of ours: what was worked out before tells nothing of the change."""
    for thing in gc.get_objects():
        if isinstance(thing, functools._lru_cache_wrapper):
            room = (getattr(thing, "__module__", "") or "").split(".")[0]
            if room in ROOMS:
                thing.cache_clear()
