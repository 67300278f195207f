"""The shelf of example stations: names, one line about each, and their files."""

from __future__ import annotations

from difflib import get_close_matches
from importlib.resources import files

from steadyhead.errors import InputError


def names() -> tuple[str, ...]:
    """Return the names of the examples, in alphabetical order."""
    found = (file.name for file in files(__package__).iterdir())
    return tuple(sorted(name.removesuffix(".yaml") for name in found if name.endswith(".yaml")))


def read(name: str) -> bytes:
    """Return the station file of an example, as stored.

    Raises
    ------
    InputError
        No such example.
    """
    if name not in names():
        close = get_close_matches(name.casefold(), names(), n=1)
        hint = f"Did you mean {close[0]!r}? " if close else ""
        raise InputError("example", f"got {name!r}.", f"{hint}Examples: {', '.join(names())}.")
    return (files(__package__) / f"{name}.yaml").read_bytes()


def summary(name: str) -> str:
    """Return one line about an example: the first comment of its file.

    Examples
    --------
    >>> summary("pinnock-yard")[:34]
    'Pinnock Yard: an invented works su'
    """
    first = read(name).decode("utf-8").partition("\n")[0]
    return first.removeprefix("#").strip()
