"""Sync of a device with a run: entries both ways, named one by one; both verdicts held against each other.

Asked twice, the same comes of it. What the register holds is said by id only where it holds the same content;
what it refuses is kept beside the run and named.
"""

from __future__ import annotations

import json
import time
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field
from sqlalchemy import Connection, select

from steadyhead.findings import Severity, Told, tell
from steadyhead.procedure.ledger import Fault, dump, lines
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.register import Register
from steadyhead.register.tables import entry, record
from steadyhead.services.field.verdicts import digest_of_ids, first_difference, verdict_of
from steadyhead.services.running import JudgedRun, against_final, judge_run
from steadyhead.services.visits_kept.filing import filed, keep
from steadyhead.services.visits_kept.run_rows import Run, files_of, one_run
from steadyhead.services.visits_kept.runs import MOST_REFUSED, take_in
from steadyhead.station.canonical import canonical, sha256
from steadyhead.units import METRIC, UnitSet

FORMAT: Literal["steadyhead/sync/1"] = "steadyhead/sync/1"
MOST_ENTRIES = 5_000
"""Most entries of one request. Own estimate: a long visit has some hundred. [1]"""
LONGEST_LINE = 1_000_000
"""Longest entry. Own estimate. [characters]"""
MOST_TOLD = 60
"""Most that is told of what stands against *final*. Own estimate. [1]"""
MOST_HELD = 64
"""Judged states held at hand, one for each visit, its newest entry and units. Own estimate. [1]"""
APART = "judged apart"
"""Kind of the record that tells that a device judged otherwise."""

Line = Annotated[str, Field(max_length=LONGEST_LINE)]


class Asked(BaseModel):
    """Base of what a device sends: strict, finite, nothing unknown."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class Judged(Asked):
    """What the device judged: digests of the ids and of the verdict, and the verdict's gist."""

    entries: str = Field(max_length=64)
    verdict: str = Field(max_length=64)
    gist: dict[str, Any] | None = None


class SyncAsked(Asked):
    """What a device sends.

    device, who: its name, and the person named on it. sent_at: true time by what it knows [s since 1970];
    offset, within: what it adds to its clock, and how well that is known [s]. entries: lines; have: number of
    the server's last entry it has seen; mine: how many of its own it still holds, where it counts them;
    judged: its verdict, where it has one of all it holds.
    """

    format: Literal["steadyhead/sync/1"]
    device: str = Field(min_length=1, max_length=200)
    who: str = Field("", max_length=200)
    sent_at: float = 0.0
    offset: float = 0.0
    within: float = Field(0.0, ge=0.0)
    entries: tuple[Line, ...] = Field((), max_length=MOST_ENTRIES, strict=False)
    have: int = Field(0, ge=0)
    mine: int | None = Field(None, ge=0)
    judged: Judged | None = None


class Answered(BaseModel):
    """Base of what is answered."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class RefusedLine(Answered):
    """A line that was not taken in: its id where it has one, its number in what was sent, and why."""

    id: str
    line: int
    why: str


class Difference(Answered):
    """Where both verdicts first differ, by the server and by the device."""

    what: str
    here: str
    there: str


class Against(Answered):
    """One thing that stands against *final*, in words."""

    code: str
    severity: str
    subject: str
    title: str
    statement: str
    why: str
    cure: str


class RunState(Answered):
    """How the run stands after this sync. left: why it was left off; certificate: id of the newest one."""

    entries: int
    is_final: bool
    against: tuple[Against, ...]
    more: int
    next: tuple[str, ...]
    left: str
    certificate: str


class SyncAnswer(Answered):
    """What a device is answered.

    held: ids of what it sent that the register holds with that content. refused: what it does not take.
    entries: lines behind ``have`` that others made. last: number of the newest entry. differs: where the
    verdicts differ. server_time: [s since 1970]. known: digest of the run's state; who sends it back
    as known is given no ``run_state`` while it is the same.
    """

    format: Literal["steadyhead/sync/1"] = FORMAT
    held: tuple[str, ...]
    refused: tuple[RefusedLine, ...]
    entries: tuple[str, ...]
    last: int
    differs: Difference | None
    server_time: float
    known: str
    run_state: RunState | None


@dataclass(frozen=True, slots=True)
class _Heard:
    """A run as it was judged at its newest entry: its state, and how many entries each device made."""

    state: RunState
    own: Mapping[str, int]
    last: int


_HEARD: dict[tuple[str, ...], _Heard] = {}
"""What was judged last; entries only grow, so that the newest one and their number say which they are."""


class _Sent:
    """The lines of a request: what can be taken, and what is refused at once."""

    def __init__(self, run: str, sent: Sequence[str]) -> None:
        self.good: dict[str, Entry] = {}
        self.refused: list[RefusedLine] = []
        for number, line in enumerate(sent, 1):
            found = _entry(line)
            if isinstance(found, str):
                self._refuse(number, "", found)
            elif found.run != run:
                self._refuse(number, found.id, f"belongs to another visit, {found.run[:40]}.")
            elif found.id in self.good and not _same(self.good[found.id], found):
                self._refuse(number, found.id, "is sent twice with another content; the first one counts.")
            else:
                self.good.setdefault(found.id, found)
        self.number = {one.id: at for at, one in self._numbered(sent)}

    def _numbered(self, sent: Sequence[str]) -> Iterable[tuple[int, Entry]]:
        for number, line in enumerate(sent, 1):
            found = _entry(line)
            if isinstance(found, Entry):
                yield number, found

    def _refuse(self, number: int, id_: str, why: str) -> None:
        self.refused.append(RefusedLine(id=id_, line=number, why=why))

    def split(self, kept: dict[str, bytes]) -> list[Entry]:
        """Return what the register takes; an id it holds with another content is refused."""
        found = []
        for one in self.good.values():
            there = kept.get(one.id)
            if there is None or there == canonical(plain_entry(one)):
                found.append(one)
            else:
                why = "is here with another content; what came first stands."
                self._refuse(self.number[one.id], one.id, why)
        return found


def _entry(line: str) -> Entry | str:
    """Return the entry of a line, or why it is none."""
    if "\n" in line or "\r" in line:
        return "is no single line."
    try:
        found = next(iter(lines(b" \n" + line.encode() + b"\n", "entries")), None)
    except UnicodeEncodeError:
        return "holds half a character."
    if isinstance(found, Fault):
        return found.problem
    return found if found is not None else "is empty."


def _same(one: Entry, other: Entry) -> bool:
    return canonical(plain_entry(one)) == canonical(plain_entry(other))


def sync(
    register: Register,
    key: str,
    run: str,
    asked: SyncAsked,
    who: str,
    units: UnitSet = METRIC,
    known: str = "",
) -> SyncAnswer:
    """Take a device's entries in, give it those of others, and hold both verdicts against each other.

    Parameters
    ----------
    who
        Whom the chain names.
    units
        The reader's, for what stands against *final*.
    known
        Digest of the state the device was told last.

    Raises
    ------
    NotKept
        No such run.
    InputError
        More is sent than is taken in at once.
    """
    if not asked.entries and asked.judged is None:
        heard = _as_before(register, key, run, asked, units, known)
        if heard is not None:
            return heard
    with register.reading() as connection:
        of = one_run(connection, key, run)
        before = _kept(connection, run)
    sent = _Sent(run, asked.entries)
    fresh = [one for one in sent.split(before) if one.id not in before]
    if fresh:
        take_in(register, key, run, dump(fresh), who)
    with register.reading() as connection:
        of = one_run(connection, key, run)
        plan, content = files_of(connection, of)
        kept = _kept(connection, run)
        # another device may have been first with the same id: what it wrote stands
        sent.split({one: line for one, line in kept.items() if one not in before})
        otherwise = {one.id for one in sent.refused if one.id in kept}
        news, last = _after(connection, run, asked, otherwise)
        paper = _paper(connection, key, run)
        place = _place(register, connection, of, units)
    held = tuple(one.id for one in sent.good.values() if kept.get(one.id) == canonical(plain_entry(one)))
    refused = tuple({(one.line, one.id): one for one in sent.refused}.values())
    judged = judge_run(plan, content)
    differs = _differs(judged, kept, asked)
    _note(register, of, asked, refused, differs, who)
    state = _state(of, judged, units, paper)
    _hold(place, _Heard(state, Counter(one.device for one in judged.ledger.forms), last))
    return _answer(state, news, last, known, held, refused, differs)


def _as_before(
    register: Register, key: str, run: str, asked: SyncAsked, units: UnitSet, known: str
) -> SyncAnswer | None:
    """Return what a device that only listens is answered while nothing comes; None where it is judged.

    Nothing is judged, and the lines are read only where the device lacks some.
    """
    with register.reading() as connection:
        of = one_run(connection, key, run)
        heard = _HEARD.get(_place(register, connection, of, units))
        if heard is None:
            return None
        own = heard.own.get(asked.device, 0)
        lacks = asked.have < heard.last or (asked.mine is not None and asked.mine < own)
        news = _after(connection, run, asked)[0] if lacks else ()
        paper = _paper(connection, key, run)
    state = heard.state.model_copy(update={"left": of.left, "certificate": paper})
    return _answer(state, news, heard.last, known)


def _answer(
    state: RunState,
    news: tuple[str, ...],
    last: int,
    known: str,
    held: tuple[str, ...] = (),
    refused: tuple[RefusedLine, ...] = (),
    differs: Difference | None = None,
) -> SyncAnswer:
    digest = sha256(state.model_dump_json().encode())
    return SyncAnswer(
        held=held,
        refused=refused,
        entries=news,
        last=last,
        differs=differs,
        server_time=time.time(),
        known=digest,
        run_state=None if known == digest else state,
    )


def _paper(connection: Connection, key: str, run: str) -> str:
    """Return the id of the newest certificate of a run that is not struck out; empty for none."""
    papers = filed(connection, key, ("certificate",), run)
    return next((one.id for one in papers if not one.struck), "")


def _place(register: Register, connection: Connection, of: Run, units: UnitSet) -> tuple[str, ...]:
    """Return what says which judgement of a run it is."""
    newest = select(entry.c.entry_id).where(entry.c.run == of.id).order_by(entry.c.seq.desc()).limit(1)
    last = str(connection.execute(newest).scalar() or "")
    read_in = repr(units)
    return (str(register.engine.url), of.station, of.id, of.plan, str(of.entries), last, read_in)


def _hold(place: tuple[str, ...], heard: _Heard) -> None:
    while len(_HEARD) >= MOST_HELD:
        _HEARD.pop(next(iter(_HEARD)), None)
    _HEARD[place] = heard


def _kept(connection: Connection, run: str) -> dict[str, bytes]:
    """Return the canonical form of every entry of a run by its id."""
    rows = connection.execute(select(entry.c.entry_id, entry.c.line).where(entry.c.run == run)).all()
    found = {}
    for row in rows:
        made = _entry(row.line)
        found[row.entry_id] = canonical(plain_entry(made)) if isinstance(made, Entry) else row.line.encode()
    return found


def _after(
    connection: Connection, run: str, asked: SyncAsked, otherwise: Collection[str] = ()
) -> tuple[tuple[str, ...], int]:
    """Return the lines a device lacks, and the number of the newest entry.

    Those of others behind the number it has seen; its own too where it holds fewer of them than are here, for
    its disk may have taken less than it sent; and what stands under the ids it holds `otherwise`.
    """
    found = (
        select(entry.c.seq, entry.c.entry_id, entry.c.line).where(entry.c.run == run).order_by(entry.c.seq)
    )
    rows = connection.execute(found).all()
    made_by = [(row, json.loads(row.line).get("device")) for row in rows]
    own = sum(device == asked.device for _, device in made_by)
    lacks_own = asked.mine is not None and asked.mine < own
    news = tuple(
        row.line
        for row, device in made_by
        if row.entry_id in otherwise or (lacks_own if device == asked.device else row.seq > asked.have)
    )
    return news, rows[-1].seq if rows else 0


def _differs(run: JudgedRun, kept: dict[str, bytes], asked: SyncAsked) -> Difference | None:
    """Return where the device's verdict on the same entries is another one."""
    told = asked.judged
    if told is None or told.entries != digest_of_ids(kept):
        return None
    mine = verdict_of(run.judgement)
    if mine.digest == told.verdict:
        return None
    what, here, there = first_difference(mine.gist, told.gist or {})
    return Difference(what=what or "numbers", here=here, there=there)


def _note(
    register: Register,
    of: Run,
    asked: SyncAsked,
    refused: Sequence[RefusedLine],
    differs: Difference | None,
    who: str,
) -> None:
    """Keep beside the run what was refused, and that the device judged otherwise; each once."""
    if refused:
        told = [{"line": one.line, "id": one.id, "why": one.why} for one in refused]
        raw = [asked.entries[one.line - 1] for one in refused]
        body = canonical({"device": asked.device, "refused": told, "lines": [_printable(one) for one in raw]})
        about = {
            "count": len(told),
            "refused": told[:MOST_REFUSED],
            "device": asked.device,
            "person": asked.who,
        }
        title = f"{len(told)} {'entry' if len(told) == 1 else 'entries'} refused"
        _keep(register, of, "refused entries", body, "refused.json", title, about, "entries refused", who)
    if differs is not None:
        device, what = asked.device, differs.what
        words = f"{device} judged {what} as {differs.there}; here it is {differs.here}."
        if what == "numbers":
            words = f"{device} came to other numbers on the same entries."
        body = canonical({"device": device, "entries": asked.judged.entries, **differs.model_dump()})  # type: ignore[union-attr]
        about = {"device": device, "person": asked.who, "words": words, "what": what}
        _keep(register, of, APART, body, "judged-apart.json", "A device judged otherwise", about, APART, who)


def _printable(line: str) -> str:
    return line.encode("utf-8", "replace").decode()[:LONGEST_LINE]


def _keep(
    register: Register,
    of: Run,
    kind: str,
    body: bytes,
    name: str,
    title: str,
    about: dict[str, Any],
    act: str,
    who: str,
) -> None:
    with register.writing(who) as writing:
        asked = select(record.c.id).where(
            record.c.station == of.station,
            record.c.kind == kind,
            record.c.run == of.id,
            record.c.content == sha256(body),
        )
        if writing.connection.execute(asked).first() is None:
            keep(writing, of.station, kind, body, name=name, title=title, run=of.id, about=about, act=act)


def against_of(told: Sequence[Told]) -> tuple[Against, ...]:
    """Return what stands against *final* or a certificate as a device is told it, the first `MOST_TOLD`."""
    return tuple(
        Against(
            code=one.code,
            severity="block" if one.severity is Severity.ASK else one.severity.value,
            subject=one.subject,
            title=one.title,
            statement=one.statement,
            why=one.why,
            cure=one.cure,
        )
        for one in told[:MOST_TOLD]
    )


def _state(of: Run, run: JudgedRun, units: UnitSet, certificate: str) -> RunState:
    told = [tell(finding, units) for finding, by in against_final(run, units) if not by]
    against = against_of(told)
    return RunState(
        entries=of.entries,
        is_final=run.is_final,
        against=against,
        more=len(told) - len(against),
        next=tuple(run.judgement.next),
        left=of.left,
        certificate=certificate,
    )
