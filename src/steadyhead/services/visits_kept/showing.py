"""Gather what the pages of plans, visits and records show."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime
from typing import Any

from pydantic import TypeAdapter
from sqlalchemy import Connection, case, func, select

from steadyhead.records.parts import Relief, ShutOff
from steadyhead.register import Register
from steadyhead.register.tables import blob, entry, record, revision, run, station
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.services.visits_kept import baselines as fitted
from steadyhead.services.visits_kept.asking import step_view
from steadyhead.services.visits_kept.certificates import shown
from steadyhead.services.visits_kept.certified import certified
from steadyhead.services.visits_kept.filing import DOCUMENTS, MARKS, Filed, content_of, filed, one_filed
from steadyhead.services.visits_kept.gauges import days_known, gauges_left
from steadyhead.services.visits_kept.judged import EntryView, JudgedView, judged_view_of, listed_entries
from steadyhead.services.visits_kept.photos import NamedPhoto, kept_photos, named
from steadyhead.services.visits_kept.plans import WORDS, KeptPlan, plans
from steadyhead.services.visits_kept.run_gist import Known, RunGist, last_known, run_gist
from steadyhead.services.visits_kept.run_rows import Run, one_run, run_of, runs, why_left
from steadyhead.services.visits_kept.standing import followed, replaced_by, say_day
from steadyhead.services.visits_kept.trips import KNOWN_BY
from steadyhead.services.visits_kept.views import (
    BaselineView,
    CertificateView,
    EntriesView,
    FiledView,
    OneRunView,
    PartView,
    PhotoView,
    PlansView,
    PlanView,
    RecordsView,
    RunsView,
    RunView,
    ValueView,
    VisitsView,
)
from steadyhead.station.load import load_json
from steadyhead.units import METRIC, UnitSet

PAGE = 50
"""Rows of a page. [1]"""
TOLD_APART = ("refused entries", "judged apart")
"""Kinds of record that tell what of a device did not go as it should."""


@contextmanager
def _reading(
    register: Register, key: str, day: date | None, units: UnitSet
) -> Iterator[tuple[Connection, StationHead]]:
    """Give a connection, and the head of a station as it sees it."""
    with register.reading() as connection:
        yield connection, station_head(connection, register, key, day, units)


def filed_view(one: Filed) -> FiledView:
    """Return a record as it is shown."""
    words = ""
    if one.kind == "trip":
        known = dict(KNOWN_BY).get(str(one.about.get("known_by")), "")
        words = f"{known}. {one.about.get('words', '')}".strip()
    if one.kind == "refused entries":
        listed = one.about.get("refused", ())[:5]
        words = "; ".join(f"line {each['line']}: {str(each['why']).rstrip('.')}" for each in listed)
    if one.kind == "judged apart":
        words = str(one.about.get("words", ""))
    return FiledView(
        id=one.id,
        kind=one.kind,
        title=one.title,
        name=one.name,
        media=one.media,
        sha256=one.digest,
        run=one.run,
        at=one.at,
        who=one.who,
        struck=one.struck,
        words=words,
        is_picture=one.media in ("image/png", "image/jpeg"),
    )


def _plan_view(one: KeptPlan) -> PlanView:
    about = one.record.about
    return PlanView(
        id=one.record.id,
        title=one.record.title,
        visit=str(about.get("visit", "")),
        item=str(about.get("item", "")),
        steps=int(about.get("steps", 0)),
        revision=one.revision,
        old=one.old,
        against=one.against,
        baseline=str(about.get("baseline", "")),
        paper=one.paper,
        text=one.text,
        at=one.record.at,
        who=one.record.who,
    )


def plans_view(register: Register, key: str, day: date | None = None, units: UnitSet = METRIC) -> PlansView:
    """Return the plans of a station.

    Raises
    ------
    NotKept
        No such station.
    """
    with _reading(register, key, day, units) as (connection, head):
        found = plans(connection, key)
    return PlansView(station=head, plans=tuple(_plan_view(one) for one in found), visits=tuple(WORDS.items()))


DONE_WITH = ("certified", "final", "left")
"""States of a visit that asks for nothing more."""
_STATES = {
    "final": ("holds", "final"),
    "certified": ("holds", "certified"),
    "refused": ("struck", "refused"),
    "stale": ("slipped", "stale"),
    "open": ("due", "open"),
    "left": ("unknown", "left off"),
    "unjudged": ("unknown", "not judged yet"),
}
UNJUDGED, BEING_JUDGED = "unjudged", "being judged"
"""A visit nobody judged yet; the worker (`jobs.duties`) judges it, the newest first."""


def _run_view(one: Run, gist: RunGist, name: str, certified: Sequence[Filed], old: str = "") -> RunView:
    papers = [each for each in certified if each.run == one.id and not each.struck]
    lost = ", ".join((*gist.refused, *gist.stale)[:3])
    if papers and gist.is_final:
        state, words = (
            "certified",
            f"{papers[0].about.get('standing', '')} certificate, {say_day(gist.ended)}",
        )
    elif gist.is_final:
        state, words = (
            "final",
            "signed as final" if gist.signed == "final" else "nothing stands against final",
        )
    elif gist.refused:
        state, words = "refused", f"{lost} {'and more ' if len(gist.refused) > 3 else ''}refused"
    elif gist.stale:
        state, words = "stale", f"{lost} stale"
    elif one.left:
        state, words = "left", f"left off, {gist.done} of {gist.steps} steps done: {one.left}"
    else:
        state, words = "open", f"{gist.done} of {gist.steps} steps done"
        if gist.next:
            words += f", next {gist.next[0]}"
    if not gist.is_final and gist.against and state in ("refused", "stale"):
        words += f"; {gist.against} against final"
    more = {"begun": gist.begun, "on": say_day(gist.begun)} if gist.begun else {}
    more |= {"who": ", ".join(gist.people)} if gist.people else {}
    return _plain_view(one, name, state, words).model_copy(update={**more, "old": old})


def runs_view(register: Register, key: str, day: date | None = None, units: UnitSet = METRIC) -> RunsView:
    """Return the visits of a station, those that are open first.

    Raises
    ------
    NotKept
        No such station.
    """
    with _reading(register, key, day, units) as (connection, head):
        every = filed(connection, key, ("certificate", "trip"))
        certified = [one for one in every if one.kind == "certificate"]
        planned = plans(connection, key)
        old = {one.record.id: one.old for one in planned}
        found = [
            _run_view(
                one, run_gist(connection, one, keep=False), head.name, certified, old.get(one.plan_record, "")
            )
            for one in runs(connection, key)
        ]
        valves = _shut_offs(connection, key)
    found.sort(key=lambda one: one.state in DONE_WITH)
    return RunsView(
        station=head,
        runs=tuple(found),
        trips=tuple(filed_view(one) for one in every if one.kind == "trip"),
        plans=tuple(_plan_view(one) for one in planned),
        shut_offs=valves,
        known_by=KNOWN_BY,
        is_tripped=head.mark == "dropped",
    )


_VALVES: dict[str, tuple[str, ...]] = {}


def _shut_offs(connection: Connection, key: str) -> tuple[str, ...]:
    """Return the ids of what shuts or lifts at a station, by its last file."""
    found = connection.execute(
        select(revision.c.canonical)
        .where(revision.c.station == key)
        .order_by(revision.c.number.desc())
        .limit(1)
    ).scalar()
    if found is None:
        return ()
    if found not in _VALVES:
        content = connection.execute(select(blob.c.bytes).where(blob.c.hash == found)).scalar_one()
        parts = load_json(bytes(content)).station.parts()
        _VALVES[found] = tuple(part.id for part in parts if isinstance(part, ShutOff | Relief))
        while len(_VALVES) > 4 * PAGE:
            del _VALVES[next(iter(_VALVES))]
    return _VALVES[found]


def run_view(
    register: Register, key: str, one: str, units: UnitSet = METRIC, day: date | None = None, step: str = ""
) -> OneRunView:
    """Return a visit with all that follows from its entries.

    step: the step that is shown in place of the next one, where it is on the way.

    Raises
    ------
    NotKept
        No such run.
    """
    with _reading(register, key, day, units) as (connection, head):
        of = one_run(connection, key, one)
        mine = filed(connection, key, run=one)
        planned = plans(connection, key)
        line = _line(of, head.name, mine, planned, run_gist(connection, of, keep=False))
        photos = named(connection, of.id)
    judged = JudgedView.model_validate_json(judged_view_of(register, of, units, day))
    if step and (judged.next is None or step != judged.next.id):
        chosen = step_view(register, of, step, units, datetime.now(UTC).timestamp())
        judged = judged.model_copy(update={"next": chosen})
    with register.reading() as connection:
        left = gauges_left(connection, key, judged.instruments)
        days = days_known(connection, key) if judged.next is not None and judged.next.lists_gauges else ()
    if days and judged.next is not None:
        shown_step = step_view(register, of, judged.next.id, units, datetime.now(UTC).timestamp(), days)
        judged = judged.model_copy(update={"next": shown_step})
    return OneRunView(
        station=head,
        run=line,
        judged=judged,
        certificates=tuple(filed_view(each) for each in mine if each.kind == "certificate"),
        refused=tuple(filed_view(each) for each in mine if each.kind in TOLD_APART),
        documents=tuple(filed_view(each) for each in mine if each.kind in DOCUMENTS),
        baselines=tuple(filed_view(each) for each in mine if each.kind == "baseline"),
        paper=next((each.paper for each in planned if each.record.id == of.plan_record), ""),
        photos=_photos(photos, mine),
        gauges=left,
    )


def _photos(told: Sequence[NamedPhoto], every: Sequence[Filed]) -> tuple[PhotoView, ...]:
    here = kept_photos(every)
    return tuple(
        PhotoView(
            of=one.of, step=one.step, name=one.name, sha256=one.digest, who=one.who,
            is_here=one.digest in here,
        )
        for one in told
    )  # fmt: skip


def _line(of: Run, name: str, every: Sequence[Filed], planned: Sequence[KeptPlan], gist: RunGist) -> RunView:
    certified = [each for each in every if each.kind == "certificate"]
    old = {each.record.id: each.old for each in planned}
    return _run_view(of, gist, name, certified, old.get(of.plan_record, ""))


_LISTED = TypeAdapter(tuple[EntryView, ...])


def entries_view(
    register: Register, key: str, one: str, first: int = 1, units: UnitSet = METRIC, day: date | None = None
) -> EntriesView:
    """Return a page of the entries of a visit, by number.

    Raises
    ------
    NotKept
        No such run.
    """
    with _reading(register, key, day, units) as (connection, head):
        of = one_run(connection, key, one)
        papers, planned = filed(connection, key, ("certificate",)), plans(connection, key)
        line = _line(of, head.name, papers, planned, run_gist(connection, of, keep=False))
    begin = max(1, min(first, of.entries or 1))
    shown_ = _LISTED.validate_json(listed_entries(register, of, units, begin, PAGE * 2))
    return EntriesView(
        station=head, run=line, entries=shown_, first=begin, last=begin + len(shown_) - 1, total=of.entries
    )


def records_view(
    register: Register, key: str, day: date | None = None, units: UnitSet = METRIC
) -> RecordsView:
    """Return certificates, baselines, papers and documents of a station.

    Raises
    ------
    NotKept
        No such station.
    """
    with _reading(register, key, day, units) as (connection, head):
        every = filed(connection, key)
    special = ("certificate", "baseline", "plan", *MARKS, *DOCUMENTS)
    return RecordsView(
        station=head,
        certificates=tuple(_certificate_line(one, every) for one in every if one.kind == "certificate"),
        baselines=tuple(_baseline(one) for one in fitted.baselines(register, key, units)),
        papers=tuple(filed_view(one) for one in every if one.kind not in special),
        documents=tuple(filed_view(one) for one in every if one.kind in DOCUMENTS),
        kinds=DOCUMENTS,
    )


def _baseline(one: fitted.KeptBaseline) -> BaselineView:
    values = tuple(
        ValueView(key=each.key, words=each.words, former=each.former, steps=each.steps) for each in one.values
    )
    return BaselineView(
        filed=filed_view(one.filed), values=values, left_open=one.left_open, is_chosen=one.is_chosen
    )


def _certificate_line(one: Filed, every: Sequence[Filed]) -> CertificateView:
    """Return a certificate, one of every of its station, as a list shows it: as proved when it was kept."""
    about = one.about
    parts = about.get("parts", {})
    return CertificateView(
        filed=filed_view(one),
        number=str(about.get("number", "")),
        revision=int(about.get("revision", 0)),
        standing=str(about.get("standing", "")),
        day=say_day(str(about.get("day", ""))),
        shown=str(about.get("shown", "")),
        key_words=f"key {about.get('finger', '')}",
        chain_words="",
        all_proved=bool(about.get("proved")),
        counts=_counts(one, every),
        parts=tuple(
            PartView(name=name, proved=bool(told[0]), words=str(told[1])) for name, told in parts.items()
        ),
    )


def _counts(one: Filed, every: Sequence[Filed]) -> str:
    """Return what a certificate counts for."""
    if one.struck:
        return f"counts for nothing: struck out, {one.struck}"
    newer = replaced_by(one, every)
    if newer:
        return f"replaced by revision {newer}"
    if not one.about.get("proved"):
        return "counts for nothing: it is not proved"
    if one.about.get("standing") != "final":
        return "counts for no proof: it is provisional"
    later = followed(every, datetime.now(UTC).date()).get(one.id)
    return f"followed by the certificate of {say_day(later)}" if later else "counts"


def certificate_view(register: Register, key: str, one: str, units: UnitSet = METRIC) -> CertificateView:
    """Return a certificate, verified again now: each part in words.

    Raises
    ------
    NotKept
        No such certificate.
    """
    with register.reading() as connection:
        kept = one_filed(connection, key, one)
        every = filed(connection, key, ("certificate",))
    told = shown(register, kept, content_of(register, kept))
    line = _certificate_line(kept, every)
    parts = tuple(PartView(name=name, proved=proved, words=words) for name, proved, words in told.parts)
    return line.model_copy(
        update={
            "key_words": told.key_words,
            "chain_words": told.chain_words,
            "all_proved": told.all_proved,
            "parts": parts,
            "settings": certified(told.record, units),
        }
    )


def visits_view(register: Register, begin: int = 0) -> VisitsView:
    """Return a page of the visits of every station, those open first, the newest before older ones."""
    counts = select(func.count()).select_from(entry).where(entry.c.run == run.c.id).scalar_subquery()
    with register.reading() as connection:
        total = int(connection.execute(select(func.count()).select_from(run)).scalar_one())
        rows = connection.execute(
            select(
                run,
                station.c.name.label("called"),
                station.c.proof,
                counts.label("entered"),
                why_left().label("left"),
            )
            .join(station, station.c.key == run.c.station)
            .order_by(_has_paper().asc(), run.c.at.desc(), run.c.id.desc())
            .limit(PAGE)
            .offset(max(0, begin))
        ).all()
        made = [run_of(row) for row in rows]
        known = last_known(connection, made)
        certified = _certified(connection, [one.id for one in made])
        shown_ = [
            _listed(one, known.get(one.id), row.called, certified)
            for one, row in zip(made, rows, strict=True)
        ]
    shown_.sort(key=lambda one: one.state in DONE_WITH)
    count = sum(one.state not in (*DONE_WITH, UNJUDGED) for one in shown_)
    first = max(0, begin) + 1 if shown_ else 0
    return VisitsView(
        runs=tuple(shown_), first=first, last=max(0, begin) + len(shown_), total=total, open=count
    )


def _listed(one: Run, known: Known | None, name: str, certified: Sequence[Filed]) -> RunView:
    """Return a visit by what is known of it: nothing is judged while a list is shown."""
    if known is None:
        words = f"not judged yet, {_count(one.entries)} taken in"
        return _plain_view(one, name, UNJUDGED, words, anew=BEING_JUDGED)
    found = _run_view(one, known.gist, name, certified)
    return found if known.is_of(one) else found.model_copy(update={"anew": f"{BEING_JUDGED} anew"})


def _count(entries: int) -> str:
    return f"{entries} {'entry' if entries == 1 else 'entries'}"


def _plain_view(one: Run, name: str, state: str, words: str, *, anew: str = "") -> RunView:
    """Return a visit in one line, by its row alone."""
    return RunView(
        id=one.id,
        station=one.station,
        name=name,
        title=one.title,
        kind=one.kind,
        begun=one.at[:10],
        on=say_day(one.at),
        who=one.who,
        entries=one.entries,
        state=state,
        mark=_STATES[state][0],
        words=words,
        old="",
        anew=anew,
    )


def _has_paper() -> Any:
    """Return 1 for a visit that has a certificate, 0 for one that is open."""
    c = record.c
    there = (
        select(func.count())
        .select_from(record)
        .where(c.station == run.c.station, c.kind == "certificate", c.run == run.c.id)
        .scalar_subquery()
    )
    return case((there > 0, 1), else_=0)


def _certified(connection: Connection, ids: Sequence[str]) -> list[Filed]:
    c = record.c
    rows = connection.execute(
        select(c.id, c.station, c.run, c.about, c.at, c.who, c.title, c.name, c.media, c.content).where(
            c.kind == "certificate", c.run.in_(ids)
        )
    ).all()
    return [
        Filed(
            row.id,
            row.station,
            "certificate",
            row.name,
            row.title,
            row.media,
            row.content,
            row.run,
            row.at,
            row.who,
            json.loads(row.about),
        )
        for row in rows
    ]
