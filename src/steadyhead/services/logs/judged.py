"""Judgements that are kept: what each said, and what came since."""

from __future__ import annotations

import json
from collections.abc import Sequence

from sqlalchemy import select

from steadyhead import __version__
from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.logs import manifests
from steadyhead.register.logs.imports import moment_text, undone_of
from steadyhead.register.tables import record
from steadyhead.services.logs.measuring import MeasureView
from steadyhead.services.logs.standing import StandingView
from steadyhead.services.logs.views import EpisodeView, EventView, JudgementLine, NotSeenView, View

KIND = "judgement"
"""Kind of the record in which a judgement is kept."""


class JudgedView(View):
    """A period judged. A channel that is not among `judged` stays unseen.

    imports: those whose samples were looked at; not_measured: what the station's file gives no bound for;
    at, who, id: when and by whom it is kept, and its record; empty: it is not kept.
    """

    format: str = "steadyhead/logs-judged/1"
    station: str
    start: str
    end: str
    first: str
    last: str
    channels: tuple[str, ...]
    judged: tuple[str, ...]
    imports: tuple[int, ...]
    standings: tuple[StandingView, ...]
    episodes: tuple[EpisodeView, ...]
    happenings: tuple[EventView, ...]
    not_seen: tuple[NotSeenView, ...]
    measures: tuple[MeasureView, ...]
    not_measured: tuple[str, ...]
    words: str
    made_by: str = __version__
    at: str = ""
    who: str = ""
    id: str = ""


def meets(first: int | None, last: int | None, begins: str, ends: str) -> bool:
    """Return whether an import holds samples of a period. [µs since 1970 UTC; ISO]"""
    return first is not None and moment_text(first) <= ends and moment_text(last) >= begins


def judgements_of(register: Register, key: str) -> tuple[JudgementLine, ...]:
    """Return the kept judgements of a station, the last one first."""
    c = record.c
    with register.reading() as connection:
        asked = select(c.id, c.at, c.who, c.about).where(c.station == key, c.kind == KIND)
        rows = connection.execute(asked.order_by(c.at.desc(), c.id)).all()
        told_of = manifests(connection, key) if rows else []
        undone = undone_of(connection, key)
    out = []
    for row in rows:
        about = json.loads(row.about)
        since = tuple(
            number for number, one in told_of
            if number not in about["imports"] and meets(one.first, one.last, about["first"], about["last"])
        )  # fmt: skip
        out.append(
            JudgementLine(
                id=row.id,
                first=about["first"],
                last=about["last"],
                at=row.at,
                who=row.who,
                words=about["words"],
                channels=tuple(about["judged"]),
                since=since,
                undone=tuple(sorted(undone & set(about["imports"]))),
                events=tuple((str(code), int(often)) for code, often in about.get("events", ())),
            )
        )
    return tuple(out)


def by_period(every: Sequence[JudgementLine]) -> tuple[tuple[JudgementLine, ...], ...]:
    """Return judgements of the same samples together, in the order given: of each period the last one first.

    Those that rest on an import that was undone stand apart from those that do not.
    """
    out: dict[tuple[str, str, bool], list[JudgementLine]] = {}
    for one in every:
        out.setdefault((one.first, one.last, bool(one.undone)), []).append(one)
    return tuple(map(tuple, out.values()))


def judgement(register: Register, key: str, id_: str) -> JudgedView:
    """Return a kept judgement.

    Raises
    ------
    InputError
        There is none of that id at this station.
    """
    c = record.c
    with register.reading() as connection:
        asked = select(c.content).where(c.station == key, c.kind == KIND, c.id == id_)
        digest = connection.execute(asked).scalar()
    content = None if digest is None else register.content(digest)
    if content is None:
        raise InputError(
            "judgement", f"got {id_!r:.40}, which is none.", "The list of judgements names each."
        )
    return JudgedView.model_validate_json(content)
