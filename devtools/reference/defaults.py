"""The table of engineering defaults, read off every `defaults` module."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterable, Iterator, Mapping
from types import ModuleType

from devtools.reference.marks import grid, plain
from steadyhead.records.values import Default


def modules(package: ModuleType) -> Iterator[ModuleType]:
    """Yield every module of *package* that holds defaults: named `defaults` or inside such a folder."""
    for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
        if "defaults" in found.name.split("."):
            yield importlib.import_module(found.name)


def defaults_in(module: ModuleType) -> list[Default]:
    """Return the defaults of one module in the order they are written, each once."""
    own = [value for name, value in vars(module).items() if not name.startswith("__")]
    return list(dict.fromkeys(_inside(own)))


def _inside(value: object) -> Iterator[Default]:
    if isinstance(value, Default):
        yield value
    elif isinstance(value, Mapping):
        for one in value.values():
            yield from _inside(one)
    elif isinstance(value, (list, tuple, frozenset, set)):
        for one in value:
            yield from _inside(one)


def pages(found: Iterable[ModuleType]) -> str:
    """Return one part for each room with a table of its defaults."""
    parts = []
    for module in sorted(found, key=lambda one: one.__name__):
        own = defaults_in(module)
        if own:
            head = f"## {module.__name__.removeprefix('steadyhead.')}"
            parts.append(f"{head}\n\n{grid(('what', 'value', 'evidence', 'source'), map(_row, own))}")
    return "\n\n".join(parts) + "\n"


def _row(one: Default) -> tuple[str, str, str, str]:
    return plain(one.name), plain(one.text), one.evidence.value, plain(one.source)
