"""Two people saved at once: what the second one sees, and the file that comes of both."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date

from pydantic import BaseModel, ConfigDict

from steadyhead.errors import InputError, StationError
from steadyhead.register import Register
from steadyhead.services.stations.beginning import PlacedProblem, placed
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.services.stations.kept import Head, revision_file
from steadyhead.services.stations.merging import (
    Difference,
    Side,
    all_mine,
    checked,
    differences,
    merged,
    shown,
)
from steadyhead.services.stations.saving import Conflict, Saved, save
from steadyhead.station.decoding import decoded
from steadyhead.units import METRIC, UnitSet

_COMMENT = re.compile(r"(?:^|\s)(#.*)$")
"""A comment of a station file; a text in quotes with a lone # in it is told along with them."""


class RevisionNote(BaseModel):
    """A revision: its number, when it was saved, by whom and why."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    number: int
    at: str
    who: str
    why: str


class ConflictLine(BaseModel):
    """One place that was changed: what stood there, what each made of it, and who changed it.

    side: ``mine``, ``theirs``, ``both`` differently, ``agreed`` where both made the same of it.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str
    field: str
    base: str
    mine: str
    theirs: str
    side: Side


class ConflictView(BaseModel):
    """What the second of two people sees; nothing was saved, nothing is lost.

    mine: the whole text that was to be saved; only_text: the two say the same, in other words or comments;
    comments: comments that mine brings along, which are not taken over with the values.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: StationHead
    words: str
    base: RevisionNote
    theirs: RevisionNote
    why: str
    mine: str
    only_text: bool
    lines: tuple[ConflictLine, ...]
    comments: tuple[str, ...] = ()
    problems: tuple[PlacedProblem, ...] = ()


def conflict_view(
    register: Register,
    conflict: Conflict,
    units: UnitSet = METRIC,
    problem: StationError | None = None,
) -> ConflictView:
    """Return what a conflict looks like, value by value; problem: why what was chosen could not be saved."""
    found = differences(conflict.base.source, conflict.mine, conflict.theirs.source)
    with register.reading() as connection:
        head = station_head(connection, register, conflict.theirs.key, None, units)
    return ConflictView(
        station=head,
        words=str(conflict),
        base=_note(conflict.base),
        theirs=_note(conflict.theirs),
        why=conflict.why,
        mine=decoded(conflict.mine)[0],
        only_text=not any(one.side in ("mine", "both") for one in found),
        lines=tuple(_line(one) for one in found),
        comments=_comments(conflict),
        problems=placed(problem) if problem is not None else (),
    )


def _comments(conflict: Conflict) -> tuple[str, ...]:
    """Return the comments in mine that neither the revision it began with nor theirs has."""
    there = {
        one
        for source in (conflict.base.source, conflict.theirs.source)
        for one in _marked(decoded(source)[0])
    }
    return tuple(dict.fromkeys(one for one in _marked(decoded(conflict.mine)[0]) if one not in there))


def _marked(text: str) -> list[str]:
    return [found.group(1).strip() for line in text.splitlines() if (found := _COMMENT.search(line))]


def _note(head: Head) -> RevisionNote:
    return RevisionNote(number=head.number, at=head.at, who=head.who, why=head.why)


def _line(one: Difference) -> ConflictLine:
    return ConflictLine(
        name=one.name,
        field=one.words,
        base=shown(one.base),
        mine=shown(one.mine),
        theirs=shown(one.theirs),
        side=one.side,
    )


def conflict_again(
    register: Register, key: str, mine: bytes, base: int, theirs: int, why: str = ""
) -> Conflict:
    """Return a conflict as it was, from what its page sends back.

    Raises
    ------
    NotKept
        No such station or revision.
    """
    return Conflict(revision_file(register, key, base), mine, revision_file(register, key, theirs), why)


def save_merged(
    register: Register,
    conflict: Conflict,
    who: str,
    take: Mapping[str, str] | None = None,
    day: date | None = None,
) -> Saved:
    """Save mine anew on top of theirs: all that mine changed, or what was chosen for each difference.

    take: *mine* or *theirs* by the name of a difference; None: all of mine.

    Raises
    ------
    InputErrors, InputError
        Something both changed is not chosen, or what comes of it cannot be used.
    Conflict
        Somebody saved yet another revision meanwhile.
    """
    found = differences(conflict.base.source, conflict.mine, conflict.theirs.source)
    unknown = sorted(set(take or {}) - {one.name for one in found})
    if unknown:
        raise InputError(unknown[0][:80], "is no difference of these two.", "Open the page anew.")
    taken = all_mine(found) if take is None else checked(found, take)
    source = merged(conflict.mine, conflict.theirs.source, taken)
    why = conflict.why or f"on top of revision {conflict.theirs.number}"
    return save(register, source, who, why, conflict.theirs.number, conflict.theirs.key, day)
