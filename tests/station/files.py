"""Station files for the tests of this room, and small changes to them."""

from __future__ import annotations

from steadyhead.errors import InputErrors
from steadyhead.station.examples import names, read
from steadyhead.station.load import load
from steadyhead.station.refusal import Refusal

EXAMPLES = names()


def example(name: str = "quillenby-row", *changes: tuple[str, str]) -> str:
    """Return an example as text with exact pieces replaced; each piece must stand in it.

    Quillenby Row is given without its answer, so that tests can write answers of their own at its end.
    """
    text = read(name).decode()
    if name == "quillenby-row":
        text = text.partition("\nanswers:\n")[0] + "\n"
    for old, new in changes:
        assert old in text, f"{old!r} is not in {name}"
        text = text.replace(old, new, 1)
    return text


def refused(source: bytes | str) -> list[Refusal]:
    """Return the refusals of a file that must not load."""
    try:
        load(source)
    except InputErrors as errors:
        found = errors.errors
    else:
        raise AssertionError("the file was accepted")
    refusals = [error for error in found if isinstance(error, Refusal)]
    assert len(refusals) == len(found)
    return refusals
