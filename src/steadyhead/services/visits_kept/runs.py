"""Runs of a station: begun on a plan, entries taken in one by one or from a device, never changed again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime

from sqlalchemy import Connection, func, select

from steadyhead.errors import InputError
from steadyhead.procedure.ledger import Fault, lines
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.register import Register
from steadyhead.register.core import Writing
from steadyhead.register.tables import entry, run
from steadyhead.services.entering import Book, Entered, Stamp, entered
from steadyhead.services.entering.making import made
from steadyhead.services.entering.service import drafts
from steadyhead.services.field.statements import entries_within
from steadyhead.services.plan_files import read_plan_file
from steadyhead.services.running import JudgedRun, judge_run
from steadyhead.services.stations.gist import renew
from steadyhead.services.visits_kept.filing import LONGEST_REASON, filed, keep
from steadyhead.services.visits_kept.photos import hold, is_photo, lay_in, read_photo
from steadyhead.services.visits_kept.plans import KIND_WORDS, plan_content
from steadyhead.services.visits_kept.run_gist import gist_at_hand, gist_of, run_gist
from steadyhead.services.visits_kept.run_rows import LEFT_OFF, Run, files_of, one_run
from steadyhead.station.canonical import canonical, sha256

MOST_UPLOAD = 32_000_000
"""Largest file of entries taken in at once. Own estimate: a long visit has some hundred kB. [bytes]"""
MOST_LINES = 20_000
"""Most entries of one upload. Own estimate: a long visit has some hundred. [1]"""
MOST_REFUSED = 50
"""Refused lines that are listed; all of them are kept. [1]"""
TRIES = 5
"""How often a form is entered anew where somebody else entered in the meantime. [1]"""


@dataclass(frozen=True, slots=True)
class Refused:
    """A line that was not taken in: its number in the file, its id where it has one, and why."""

    line: int
    id: str
    why: str


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What became of a file of entries: how many are new, how many were here already, what was refused.

    photos: how many of the photos that came with them are new.
    """

    run: str
    new: int
    known: int
    refused: tuple[Refused, ...] = ()
    photos: int = 0


@dataclass(frozen=True, slots=True)
class Brought:
    """What a file of entries holds: lines as they came, photos by digest, and what of it is neither."""

    lines: list[tuple[str, Entry]]
    photos: Mapping[str, bytes]
    refused: list[Refused]


def begin(
    register: Register,
    key: str,
    plan: str,
    who: str,
    *,
    person: str = "",
    role: str = "",
    purpose: str = "",
    device: str = "register",
    at: str = "",
    day: date | None = None,
) -> Run:
    """Begin a run on a kept plan: its first entries say so, and who takes part.

    Parameters
    ----------
    plan
        Id of the plan's record.
    person, role
        Who does the work, and as what; the one who begins it here where left out.
    purpose
        Why, with a change record where there is one.
    device
        Name of the device the entries are made on.

    Raises
    ------
    NotKept, InputError
        No such station or plan, or a name that cannot be used.
    """
    kept, content = plan_content(register, key, plan)
    stored = read_plan_file(content)
    book = Book.of(stored, b"", "entries")
    name = person.strip() or who
    stamp = Stamp(name, device)
    described = ["person", f"name={name}", *([f"role={role.strip()}"] if role.strip() else [])]
    first = [*drafts(book, ["begin", f"purpose={purpose.strip()}"])] if purpose.strip() else []
    fresh = made(book, (*first, *drafts(book, described)), stamp)
    with register.writing(who, at) as writing:
        begun = _row(writing, key, fresh[0].run, stored.procedure.kind, kept.digest, kept.id, kept.title)
        _add(writing, begun, fresh)
        renew(writing, register, key, day)
    return begun


def _row(writing: Writing, key: str, one: str, kind: str, plan: str, record: str, title: str) -> Run:
    row = {
        "id": one,
        "station": key,
        "kind": kind,
        "title": title or KIND_WORDS.get(kind, kind),
        "plan": plan,
        "plan_name": record,
        "at": writing.at,
        "who": writing.who,
    }
    writing.add(run, row, "visit begun", key, kind=kind, title=row["title"], run=one)
    return Run(one, key, kind, row["title"], plan, record, writing.at, writing.who)


def _add(writing: Writing, of: Run, fresh: Sequence[Entry], at: int = 0, lines_: Sequence[str] = ()) -> None:
    """Keep entries behind those there are; `lines_`: as they came, where they came as lines."""
    for number, one in enumerate(fresh, at + 1):
        line = lines_[number - at - 1] if lines_ else canonical(plain_entry(one)).decode()
        row = {"run": of.id, "seq": number, "entry_id": one.id, "line": line, "at": writing.at}
        writing.add(
            entry,
            row,
            "entry taken in",
            of.station,
            run=of.id,
            entry=one.id,
            step=one.node,
            kind=one.kind,
            by=one.who,
        )


def enter(
    register: Register,
    key: str,
    one: str,
    words: Sequence[str],
    who: str,
    stamp: Stamp,
    day: date | None = None,
    *,
    pictures: Mapping[str, bytes] | None = None,
    seen: int = 0,
    ahead: Sequence[str] = (),
) -> Entered:
    """Add what a person says to a run, in the words of ``run enter``; all of it or nothing.

    Parameters
    ----------
    words, stamp
        As for `steadyhead.services.entering.enter`.
    who
        Whom the chain names.
    pictures
        Photos that came with it, by the names it gives them; kept beside the run. No other file is read.
    seen
        How many entries the person saw: one that was entered behind them and says the same is not entered
        twice, as where a page is sent again. 0 where nobody saw any.
    ahead
        What is entered right before and together with it: both or neither.

    Raises
    ------
    NotKept
        No such run.
    InputError, InputErrors
        What cannot be used, with the nearest name; nothing was entered then.
    """
    photos = {sha256(content): content for content in (pictures or {}).values()}
    for digest, content in photos.items():
        hold(digest, content)
    for _ in range(TRIES):
        with register.reading() as connection:
            of = one_run(connection, key, one)
            plan, before = files_of(connection, of)
        found = entered(plan, before, words, stamp, where="entries", pictures=pictures or {}, ahead=ahead)
        _once(before, seen, found.entries)
        stands = gist_of(_judged_now(plan, before, found, stamp))
        with register.writing(who) as writing:
            count = _count(writing.connection, one)
            if count != of.entries:
                continue  # somebody entered meanwhile: judged anew behind that
            _add(writing, of, found.entries, count)
            lay_in(writing, of, photos)
            with gist_at_hand(replace(of, entries=count + len(found.entries)), stands):
                renew(writing, register, key, day)
        return found
    raise InputError(
        "entries", "others enter at this very moment. Nothing was entered.", "Enter it once more."
    )


def _judged_now(plan: bytes, before: bytes, found: Entered, stamp: Stamp) -> JudgedRun:
    """Return the run with what is to be entered, judged as of now, before other writers are kept out."""
    if not stamp.at:
        return found.after
    rows = b"".join(canonical(plain_entry(one)) + b"\n" for one in found.entries)
    return judge_run(plan, before + rows, datetime.now(UTC).timestamp())


def _once(before: bytes, seen: int, fresh: Sequence[Entry]) -> None:
    """Refuse what was entered already behind the entries that the person saw."""
    rows = before.split(b"\n")[1:] if seen else []
    there = [_what(one) for row in rows[seen:] for one in _entries(row)]
    new = [_what(one) for one in fresh]
    for at in range(len(there) - len(new) + 1):
        if there[at : at + len(new)] == new:
            raise InputError(
                "words",
                f"were entered already, as number {seen + at + 1}, after this page was opened.",
                "To enter the same once more, enter it again from here.",
            )


def _what(one: Entry) -> tuple[object, ...]:
    """Return what an entry says; its time only where a person gave it."""
    when = one.t_device if "typed_at" in one.more else ""
    return one.node, one.kind, one.payload, one.who, one.replaces, when


def _entries(row: bytes) -> list[Entry]:
    return [one for one in lines(row + b"\n", "entries") if isinstance(one, Entry)] if row.strip() else []


def _count(connection: Connection, one: str) -> int:
    return int(
        connection.execute(select(func.count()).select_from(entry).where(entry.c.run == one)).scalar_one()
    )


def take_in(
    register: Register, key: str, one: str, content: bytes, who: str, at: str = "", day: date | None = None
) -> TakenIn:
    """Lay a file of entries into a run: what is new is added, what is there already counts once.

    An id that is here with other bytes is refused and shown; so is a line that is no entry, or of another
    run. What was refused is kept beside the run. An entry of an unknown kind is taken in. Photos that came
    with them are kept beside the run.

    Raises
    ------
    NotKept
        No such run.
    InputError
        No file of entries, or too large.
    """
    brought = read_lines(content)
    with register.writing(who, at) as writing:
        of = one_run(writing.connection, key, one)
        return _take(writing, register, of, brought, day)


def begin_from(
    register: Register,
    key: str,
    content: bytes,
    who: str,
    plan: str = "",
    at: str = "",
    day: date | None = None,
) -> TakenIn:
    """Begin a run from a file of entries made elsewhere, on the plan it names or the one picked.

    plan: id of the plan's record; empty: the plan the entries were made with, where it is kept here.

    Raises
    ------
    NotKept, InputError
        No station or plan, no entries, or a run that is here at another station.
    """
    brought = read_lines(content)
    fresh = brought.lines
    begun = next((made_ for _, made_ in fresh if made_.kind == "run"), None) or (
        fresh[0][1] if fresh else None
    )
    if begun is None:
        raise InputError("entries", "holds no entry.", "Take the file out of the device again.")
    with register.reading() as connection:
        there = connection.execute(select(run.c.station).where(run.c.id == begun.run)).scalar()
        plans = filed(connection, key, ("plan",))
    if there is not None:
        if there != key:
            raise InputError("entries", f"are of a visit of {there}.", "Take them in there.")
        return take_in(register, key, begun.run, content, who, at, day)
    named = str(begun.payload.get("plan", ""))
    found = next(
        (made_ for made_ in plans if made_.id == plan or (not plan and made_.about.get("sha256") == named)),
        None,
    )
    if found is None:
        problem = (
            f"were made with the plan {named[:12]}…, which is not kept here." if named else "name no plan."
        )
        raise InputError("entries", problem, "Take in that plan file first, or pick the plan.")
    mine = plan_content(register, key, found.id)[0]
    with register.writing(who, at) as writing:
        of = _row(writing, key, begun.run, str(found.about.get("visit")), mine.digest, found.id, found.title)
        return _take(writing, register, of, brought, day)


def read_lines(content: bytes) -> Brought:
    """Return the lines of a file of entries as they came, its photos, and what of it is neither.

    A page that was handed over brings the file within it.

    Raises
    ------
    InputError
        Another format, or too large.
    """
    if len(content) > MOST_UPLOAD:
        raise InputError(
            "entries",
            f"have {len(content) / 1e6:.0f} MB; at most {MOST_UPLOAD / 1e6:.0f} MB are taken in at once.",
            "Take them in in parts.",
        )
    content = entries_within(content)
    rows = [row.strip() for row in content.removeprefix(b"\xef\xbb\xbf").split(b"\n")]
    if sum(bool(row) for row in rows) > MOST_LINES:
        raise InputError(
            "entries",
            f"have more than {MOST_LINES} lines; that many are taken in at once.",
            "Take them in in parts.",
        )
    fresh: list[tuple[str, Entry]] = []
    photos: dict[str, bytes] = {}
    refused: list[Refused] = []
    for number, row in enumerate(rows, 1):
        if is_photo(row):
            try:
                photos.update((read_photo(row),))
            except InputError as problem:
                refused.append(Refused(number, "", f"photo {problem.problem} {problem.remedy}"))
            continue
        for found in lines(row + b"\n", "entries") if row else ():
            if isinstance(found, Fault):
                refused.append(Refused(number, "", found.problem))
            else:
                fresh.append((row.decode("utf-8"), found))
    return Brought(fresh, photos, refused)


def _take(
    writing: Writing,
    register: Register,
    of: Run,
    brought: Brought,
    day: date | None,
) -> TakenIn:
    lines_, refused = brought.lines, list(brought.refused)
    rows = writing.connection.execute(
        select(entry.c.entry_id, entry.c.line).where(entry.c.run == of.id).order_by(entry.c.seq)
    ).all()
    there = {row.entry_id: _canonical(row.line) for row in rows}
    new, known = [], 0
    for number, (text, made_) in enumerate(lines_, 1):
        mine = canonical(plain_entry(made_))
        if made_.run != of.id:
            refused.append(Refused(number, made_.id, f"belongs to another visit, {made_.run[:40]}."))
        elif made_.id not in there:
            there[made_.id] = mine
            new.append((text, made_))
        elif there[made_.id] == mine:
            known += 1
        else:
            refused.append(Refused(number, made_.id, "is here with another content; what came first stands."))
    _add(writing, of, [made_ for _, made_ in new], len(rows), [text for text, _ in new])
    photos = lay_in(writing, of, brought.photos)
    if refused:
        told = [{"line": one.line, "id": one.id, "why": one.why} for one in refused]
        body = canonical({"refused": told, "lines": [text for text, _ in lines_]})
        keep(
            writing,
            of.station,
            "refused entries",
            body,
            name="refused.json",
            title=f"{len(refused)} entries refused",
            run=of.id,
            act="entries refused",
            about={"count": len(refused), "refused": told[:MOST_REFUSED]},
        )
    renew(writing, register, of.station, day)
    return TakenIn(of.id, len(new), known, tuple(refused[:MOST_REFUSED]), len(photos))


def leave_off(
    register: Register, key: str, one: str, reason: str, who: str, *, at: str = "", day: date | None = None
) -> None:
    """Say that a visit is not gone on with; all that was entered stays, and counts as it did.

    Raises
    ------
    NotKept
        No such run.
    InputError
        No reason, a visit that is certified or left off, or one in which something was touched or failed.
    """
    said = " ".join(reason.split())[:LONGEST_REASON]
    if not said:
        raise InputError("why", "is missing.", "Write why it is left off, e.g. begun on the wrong plan.")
    with register.writing(who, at) as writing:
        of = one_run(writing.connection, key, one)
        gist = run_gist(writing.connection, of)
        papers = filed(writing.connection, key, ("certificate",), one)
        if of.left or any(not paper.struck for paper in papers):
            why = "is left off already" if of.left else "has a certificate"
            raise InputError("why", f"is not asked for: the visit {why}.", "Nothing more is to be done.")
        if gist.touched or gist.refused or gist.stale:
            raise InputError(
                "why",
                "is not enough: something was touched in this visit, or failed.",
                "Finish it, or certify it as provisional: it stays in view until then.",
            )
        about = {"strikes": of.id, "reason": said}
        title = f"{of.title} left off"
        keep(writing, key, "strike", canonical(about), name=LEFT_OFF, title=title, run=of.id, about=about,
             act="visit left off")  # fmt: skip
        renew(writing, register, key, day)


def _canonical(line: str) -> bytes:
    """Return the canonical form of a kept line, by which two of one id are compared."""
    found = next(iter(lines(line.encode(), "entries")), None)
    return canonical(plain_entry(found)) if isinstance(found, Entry) else line.encode()
