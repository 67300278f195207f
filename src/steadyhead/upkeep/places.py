"""The places of a station: each part's way of being isolated, and where a piece with a number can stand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from steadyhead.records.parts import (
    ExpansionVessel,
    FlowMeter,
    IsolatingValve,
    LinePart,
    Parallel,
    Reducer,
    Relief,
    ShutOff,
    Strainer,
)
from steadyhead.records.station import Station

PILOT = ".pilot"
"""Ending of the place of a valve's pilot: a pilot can be taken off and put on another valve."""
WORDS = {
    "isolating_valve": "isolating valve", "shut_off": "shut-off", "reducer": "reducer",
    "strainer": "strainer", "relief": "relief valve", "expansion_vessel": "expansion vessel",
    "flow_meter": "flow meter",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Place:
    """A part of the station file as a place.

    Parameters
    ----------
    part
        The part.
    isolation
        Names of the valves that shut its section off, nested: ``IV1|IV2``, ``IV1|IV2/IVA1|IVA2`` in a branch.
    """

    part: LinePart
    isolation: str

    @property
    def id(self) -> str:
        """Id of the part."""
        return self.part.id

    @property
    def words(self) -> str:
        """Part and name, as ``shut-off SO``."""
        return part_words(self.part)


def part_words(part: LinePart) -> str:
    """Return what a part is called on a list: its kind and id, with its name where it has one."""
    kind = WORDS.get(part.part, part.part.replace("_", " "))
    name = f", {part.name}" if part.name and part.name.casefold() != kind else ""
    return f"{kind} {part.id}{name}"


def places(station: Station) -> tuple[Place, ...]:
    """Return every part that upkeep knows, in walking order."""
    return tuple(_walk(station.line, "", ""))


def _walk(line: tuple[LinePart, ...], outer: str, end: str) -> Iterator[Place]:
    for index, part in enumerate(line):
        path = _path(line, index, outer, end)
        if isinstance(part, Parallel):
            for branch in part.branches:
                yield from _walk(branch.line, path, end)
        elif part.part in WORDS:
            yield Place(part, path)


def _path(line: tuple[LinePart, ...], index: int, outer: str, end: str) -> str:
    """Return the way a part is shut off: by the nearest valves of its own line, else as what is around it."""
    if isinstance(line[index], IsolatingValve):
        inner = _beside(line, index)
        return outer if inner is None else _path(line, inner, outer, end)
    before = next((p.id for p in reversed(line[:index]) if isinstance(p, IsolatingValve)), "")
    after = next((p.id for p in line[index + 1 :] if isinstance(p, IsolatingValve)), "")
    if not before and not after:
        return outer
    own = f"{before}|{after}"
    return f"{outer}/{own}" if outer else own


def _beside(line: tuple[LinePart, ...], index: int) -> int | None:
    """Return the part whose section an isolating valve shuts: the next one towards the valves of its line."""
    works = Reducer | ShutOff | Strainer | Parallel
    after = next((i for i in range(index + 1, len(line)) if isinstance(line[i], works)), None)
    if after is not None:
        return after
    return next((i for i in range(index - 1, -1, -1) if isinstance(line[i], works)), None)


def isolation_words(path: str) -> str:
    """Return a section in words.

    Examples
    --------
    >>> isolation_words("IV1|IV2/IVA1|IVA2"), isolation_words("")
    ('between IVA1 and IVA2', 'with no isolating valve of its own')
    """
    before, _, after = path.rpartition("/")[2].partition("|")
    if before and after:
        return f"between {before} and {after}"
    if before:
        return f"behind {before}, with no valve of its own after it"
    if after:
        return f"ahead of {after}, with no valve of its own before it"
    return "with no isolating valve of its own"


def is_within(inner: str, outer: str) -> bool:
    """Return whether a section is shut off where another one is."""
    return inner == outer or inner.startswith(f"{outer}/")


def piece_places(station: Station) -> dict[str, str]:
    """Return the places a piece with a serial number can stand in, with their words."""
    found: dict[str, str] = {}
    for place in places(station):
        if isinstance(
            place.part, Reducer | ShutOff | Strainer | Relief | ExpansionVessel | FlowMeter | IsolatingValve
        ):
            found[place.id] = place.words
        if has_pilot(place.part):
            found[f"{place.id}{PILOT}"] = f"pilot of {place.words}"
    return found


def has_pilot(part: LinePart) -> bool:
    """Return whether a valve is held by a pilot of its own."""
    return isinstance(part, ShutOff) or (isinstance(part, Reducer) and part.kind == "pilot-operated")
