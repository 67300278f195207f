"""What pages of studies share: how a study is headed, its findings, and pieces ready for one reader."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict
from sqlalchemy import Connection

import steadyhead
from steadyhead.findings import Finding
from steadyhead.register import Register
from steadyhead.services.prepared import prepared
from steadyhead.services.stations.head import station_head
from steadyhead.services.stations.judged import FindingView, finding_view
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.studies.asked import spec_words
from steadyhead.services.studies.kept import StudyRow, study_of
from steadyhead.units import UnitSet

Run = TypeVar("Run")
ROOMS = ("services/studies", "drawings", "reports", "findings", "units")
DESK, TABLET, PHONE = 1240.0, 740.0, 340.0
"""Widths a drawing of a page is made for: a wide page, one of middle width or paper, a phone. [px]"""
WORTH = (
    "Computed by the transient twin: full pipes, no air, walls by their wave speed, valves not calibrated. "
    "It supports a decision and authorises nothing; codes, the supplier's instructions and licensed practice "
    "take precedence."
)
KIND_WORDS = {
    "surge": "Surge study", "proof": "Protection proof", "closing": "Closing time",
    "stability": "Stability", "chances": "Chances",
}  # fmt: skip
ANSWERS = {
    "surge": "What the pipes feel, once for each event",
    "proof": "Whether the shut-off protects, and how fast it may close",
    "closing": "What consumers and supply main feel, over the closing time",
    "stability": "Whether the reducers are quiet",
    "chances": "How often a limit is passed within the tolerances",
}


class Frozen(BaseModel):
    """Base of the views here."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class StudyHead(Frozen):
    """How a study is headed.

    Parameters
    ----------
    id, kind, kind_words, title, ask
        Which study, and what it was asked with.
    mark, words
        State mark and verdict.
    revision, is_today, age
        The revision it is of, whether it is worth the file and the engine of today, and words where it is
        not; age_means: what that means.
    at, day, who, href
        When it was finished, by whom it was asked for, and where it is shown.
    """

    id: str
    kind: str
    kind_words: str
    title: str
    ask: str
    mark: str
    words: str
    revision: int
    is_today: bool
    age: str
    age_means: str
    at: str
    day: str
    who: str
    href: str


class Picture(Frozen):
    """A drawing in three widths, with the sentence that says the same."""

    words: str
    desk: str
    tablet: str
    phone: str


def heads_of(
    register: Register, connection: Connection, row: StudyRow, today_canonical: str, units: UnitSet
) -> dict[str, Any]:
    """Return what every view of a study begins with: ``station`` and ``study``, the heads of both."""
    station = station_head(connection, register, row.station, units=units)
    return {"station": station, "study": study_head(row, today_canonical)}


def first_look(
    register: Register,
    key: str,
    study: str,
    units: UnitSet,
    make: Callable[[Register, StudyRow, UnitSet], object],
) -> None:
    """Make the page of a study ready, by what makes its piece.

    Raises
    ------
    NotKept
        No such station or study.
    """
    with register.reading() as connection:
        row = study_of(connection, key, study)
    make(register, row, units)


def one_of(runs: Sequence[Run], number: int) -> Run:
    """Return a run of a study by its number.

    Raises
    ------
    NotKept
        No run of that number.
    """
    if not 0 <= number < len(runs):
        raise NotKept("run", f"{number} is not in this study.", "See its page.")
    return runs[number]


def study_parts(row: StudyRow, units: UnitSet) -> dict[str, str]:
    """Return what decides a piece of a study's page: the study, its record, and the reader's units."""
    return {"study": row.id, "content": row.content, "units": units_key(units)}


def study_head(row: StudyRow, today_canonical: str) -> StudyHead:
    """Return how a study is headed; today_canonical: hash of the canonical JSON of the file of today."""
    same_file = row.canonical == today_canonical
    age, means = "", ""
    if not same_file:
        age = f"of revision {row.revision}, not of today's file"
        means = "It says nothing of the file as it is now."
    elif not row.is_of_this_engine:
        age = "by an earlier version of the engine"
        means = "Worked out now it may come out otherwise; the design sheet does not lean on it."
    return StudyHead(
        id=row.id, kind=row.kind, kind_words=KIND_WORDS.get(row.kind, row.kind), title=row.title,
        ask=spec_words(row.kind, row.ask), mark=row.mark, words=row.words, revision=row.revision,
        is_today=not age, age=age, age_means=means, at=row.at, day=say_day_of(row.at), who=row.who,
        href=f"/stations/{row.station}/surge/{row.id}",
    )  # fmt: skip


def say_day_of(at: str) -> str:
    """Return the day of a moment in words.

    Examples
    --------
    >>> say_day_of("2027-04-14T09:20:00.000Z")
    '14 Apr 2027'
    """
    try:
        found = date.fromisoformat(at[:10])
    except ValueError:
        return at
    return f"{found.day} {found.strftime('%b %Y')}"


def findings_of(findings: Sequence[Finding], units: UnitSet) -> list[dict[str, Any]]:
    """Return findings in a reader's words, as plain data of `FindingView`."""
    return [finding_view(one, units).model_dump() for one in findings]


def read_views(plain: Sequence[dict[str, Any]]) -> tuple[FindingView, ...]:
    """Return views of findings from plain data."""
    return tuple(FindingView.model_construct(**one) for one in plain)


def units_key(units: UnitSet) -> str:
    """Return what names a reader's units where a piece is kept."""
    return f"{units.name} {units.decimal}"


@lru_cache(maxsize=1)
def looks() -> str:
    """Return a hash of what makes words and drawings: what was made by another one is made again."""
    place = Path(steadyhead.__file__).parent
    told = hashlib.sha256()
    for room in ROOMS:
        for path in sorted((place / room).rglob("*.py")):
            told.update(path.relative_to(place).as_posix().encode() + b"\0" + path.read_bytes())
    return told.hexdigest()[:16]


def whole(parts: Mapping[str, str]) -> dict[str, str]:
    """Return all that decides a piece: what it is of, and what makes words and drawings."""
    return {**parts, "looks": looks()}


def piece(
    register: Register, station: str, kind: str, parts: dict[str, str], make: Callable[[], dict[str, Any]]
) -> dict[str, Any]:
    """Return a piece of a page as plain data, made now where it was not; parts: as of `whole`."""

    def made() -> bytes:
        return json.dumps(make(), ensure_ascii=False).encode()

    body = prepared(register, station, kind, whole(parts), made)
    found: dict[str, Any] = json.loads(body)
    return found
