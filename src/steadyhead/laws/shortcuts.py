"""What is used of the compiler beyond its public names: all in this file, and none where it is not known.

Three shortcuts, each about speed alone; numbers are the same without:

* arrays that kernels are given are not counted, since kernels make and keep none: half the time to run;
* a kernel that only kernels call gets no door to Python: half the time to compile;
* compiled code that is kept is loaded without the tables that only compiling needs: a quarter of a start.

They were tried with the versions of `NEWEST` and before. With a newer compiler, or one that lacks a name used
here, `why_not` says so and kernels are compiled in the usual way.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any

NEWEST = (0, 68)
"""The newest version of the compiler these shortcuts were tried with."""
UNCOUNTED: Mapping[str, Any] = {"_nrt": False}
COUNTED: Mapping[str, Any] = {"_nrt": True}
DOORLESS: Mapping[str, Any] = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
USED = {
    "numba.core.options:DefaultOptions": ("_nrt", "no_cpython_wrapper", "no_cfunc_wrapper"),
    "numba.core.dispatcher:Dispatcher": ("_insert", "_compile_for_args"),
    "numba.core.caching:Cache": ("load_overload", "_load_overload", "_guard_against_spurious_io_errors"),
    "numba.core.runtime:rtsys": ("initialize",),
}
"""Names used, by where they are."""


def why_not(compiler: Any) -> str:
    """Return why the shortcuts are not taken with this compiler, for a person; empty when they are.

    Parameters
    ----------
    compiler
        The module numba.
    """
    told = str(compiler.__version__)
    found = re.match(r"(\d+)\.(\d+)", told)
    version = tuple(int(part) for part in found.groups()) if found else ()
    if not version or version > NEWEST:
        newest = ".".join(str(part) for part in NEWEST)
        return _told(f"numba {told} is newer than {newest}, the newest tried")
    missing = _missing()
    return _told(f"numba {told} lacks {missing}") if missing else ""


def _told(reason: str) -> str:
    return (
        f"Kernels are compiled in the usual way, since {reason}: first use, start and runs take up to "
        "twice as long; the numbers are the same."
    )


def _missing() -> str:
    for place, names in USED.items():
        room, _, thing = place.partition(":")
        try:
            held = getattr(import_module(room), thing)
        except (ImportError, AttributeError):
            return place.replace(":", ".")
        for name in names:
            if not hasattr(held, name):
                return f"{thing}.{name}"
    return ""


def close_doors(found: Any, door: Callable[[], Any]) -> None:
    """Lead calls from Python to a kernel without a door to another that has one.

    Parameters
    ----------
    found
        What numba made of the kernel, with the options `DOORLESS`.
    door
        Returns the one with a door.
    """

    def answer(*given: Any, **named: Any) -> Any:
        return door()._compile_for_args(*given, **named)

    # Without these two Python would call code that is not there.
    found._insert = lambda *_, **__: None
    found._compile_for_args = answer


def load_bare(found: Any) -> None:
    """Load kept code of a kernel without the tables of types and operations, which only compiling needs.

    Compiling fills them itself when it begins.
    """
    cache = found._cache
    running = import_module("numba.core.runtime").rtsys

    def load(signature: Any, target: Any) -> Any:
        running.initialize(target)
        with cache._guard_against_spurious_io_errors():
            return cache._load_overload(signature, target)
        return None

    cache.load_overload = load


def drop_damaged(found: Any, dropped: Callable[[], None]) -> None:
    """Compile a kernel anew where its kept code cannot be read: a full disk, a process that was ended.

    Parameters
    ----------
    found
        What numba made of the kernel.
    dropped
        Called when kept code was dropped.
    """
    cache = getattr(found, "_cache", None)
    if cache is None or not hasattr(cache, "load_overload") or not hasattr(cache, "flush"):
        return
    usual = cache.load_overload

    def load(signature: Any, target: Any) -> Any:
        try:
            return usual(signature, target)
        except Exception:  # whatever a damaged file is taken for: nothing of it is used
            cache.flush()
            dropped()
            return None

    cache.load_overload = load
