"""Entering: words of a person to entries at the end of a file, and what they mean."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from steadyhead.errors import InputError
from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import FORMAT, Entry, plain_entry
from steadyhead.services.entering.amending import WORDS, amend
from steadyhead.services.entering.answers import answers
from steadyhead.services.entering.appending import append
from steadyhead.services.entering.book import Book
from steadyhead.services.entering.draft import Draft, nearest, pairs
from steadyhead.services.entering.kinds import MAKERS
from steadyhead.services.entering.making import Stamp, made
from steadyhead.services.entering.meaning import Entered
from steadyhead.services.plan_files import PlanFile, read_plan_file
from steadyhead.services.running import LARGEST_ENTRIES, against_final, foreign_steps, judge_run
from steadyhead.station.canonical import canonical
from steadyhead.units import parse
from steadyhead.units.parse import UnitError

NO_STEP = ("begin", "person", "instrument", "deviation", *WORDS)
"""Kinds that belong to no step of their own."""
_HEAD = canonical({"format": FORMAT}) + b"\n"


def open_book(plan: bytes, entries: bytes, *, plan_name: str = "plan", entries_name: str = "entries") -> Book:
    """Return the lines of a file of entries beside their plan.

    Raises
    ------
    InputError
        No plan file, or entries of another format.
    """
    return Book.of(read_plan_file(plan, plan_name), entries, entries_name)


def enter(
    plan: bytes, entries: str, words: Sequence[str], stamp: Stamp, *, plan_name: str = "plan"
) -> Entered:
    """Add what a person says to a file of entries, and return what it means; all of it or nothing.

    Parameters
    ----------
    plan
        Content of the plan file.
    entries
        Name of the file of entries; it is begun where it is not there.
    words
        ``STEP NAME=VALUE …``, ``[STEP] KIND …``, ``correct N …`` or ``void N …``.
    stamp
        Who, on which device, and for which time.
    plan_name
        Name of the plan, for messages.

    Raises
    ------
    InputError, InputErrors
        What cannot be used, with the nearest name; nothing was written then.
    """
    stored = read_plan_file(plan, plan_name)
    fresh: list[Entry] = []

    def lines(content: bytes) -> bytes:
        fresh[:] = _fresh(stored, plan, content, words, stamp, entries)
        return (b"" if content else _HEAD) + dump(fresh).removeprefix(_HEAD)

    before, after = append(entries, lines, LARGEST_ENTRIES)
    return _entered(
        plan, stored, before, after, fresh, words, stamp, {"plan_name": plan_name, "entries_name": entries}
    )


def entered(
    plan: bytes,
    before: bytes,
    words: Sequence[str],
    stamp: Stamp,
    *,
    where: str = "entries",
    pictures: Mapping[str, bytes] | None = None,
    ahead: Sequence[str] = (),
) -> Entered:
    """Return what a person's words become behind the entries there are, without keeping them; see `enter`.

    Parameters
    ----------
    plan, before
        Contents of the plan file and of the entries so far; the latter may be empty.
    words, stamp
        As for `enter`.
    where
        Name of the entries, for messages.
    pictures
        Photos that were sent along, by their names: a photo is one of these. None: it is a place on the disk.
    ahead
        What is entered right before them and together with them, as the choice that its answers go with.

    Raises
    ------
    InputError, InputErrors
        As for `enter`.
    """
    stored = read_plan_file(plan)
    fresh = _fresh(stored, plan, before, words, stamp, where, pictures, ahead)
    after = (before or _HEAD) + dump(fresh).removeprefix(_HEAD)
    return _entered(plan, stored, before, after, fresh, words, stamp, {"entries_name": where})


def _fresh(
    stored: PlanFile,
    plan: bytes,
    content: bytes,
    words: Sequence[str],
    stamp: Stamp,
    where: str,
    pictures: Mapping[str, bytes] | None = None,
    ahead: Sequence[str] = (),
) -> list[Entry]:
    book = Book.of(stored, content, where, pictures)
    _same_plan(book, where)
    first = drafts(book, ahead) if ahead else ()
    fresh = list(made(book, (*first, *drafts(book, words)), stamp))
    _may_sign(plan, content, fresh)
    return fresh


def _entered(
    plan: bytes,
    stored: PlanFile,
    before: bytes,
    after: bytes,
    fresh: Sequence[Entry],
    words: Sequence[str],
    stamp: Stamp,
    names: Mapping[str, str],
) -> Entered:
    now = fresh[-1].time if stamp.at else datetime.now(UTC).timestamp()
    judged = [judge_run(plan, content, now, **names) for content in (before, after)]
    old = Book.of(stored, before, names["entries_name"])
    gallons = tuple(_gallons(words))
    return Entered(len(old.lines) + 1, tuple(fresh), judged[0], judged[1], gallons, old.numbers)


def drafts(book: Book, words: Sequence[str]) -> tuple[Draft, ...]:
    """Return what words of a person say, without id and time.

    Raises
    ------
    InputError, InputErrors
        No step and no kind of that name, or what that kind cannot take.
    """
    steps = {node.id: node for node in book.procedure.nodes}
    kinds = (*MAKERS, *WORDS)
    first = words[0] if words else ""
    step = first if first in steps else ""
    rest = list(words[1:] if step else words)
    if not step and first not in kinds:
        problem = f"got {first!r:.40}, which is no step of this plan and no kind of entry."
        raise InputError("step", problem, nearest(first, (*steps, *kinds)))
    kind = rest[0] if rest and rest[0] in kinds else ""
    if not kind:
        head, typed = pairs(rest)
        if head:
            problem = f"got {head!r:.40}, which is no NAME=VALUE and no kind of entry."
            raise InputError(step, problem, nearest(head.split()[0], kinds))
        return answers(book, steps[step], typed)
    if kind in NO_STEP and step:
        raise InputError(kind, "belongs to no step.", f"Leave {step} out.")
    head, typed = pairs(rest[1:])
    if kind in WORDS:
        return amend(book, kind, head, typed)
    return MAKERS[kind](book, step, head, typed)


def listed_data(book: Book, step: str = "") -> dict[str, Any]:
    """Return the entries of a file by number as plain data."""
    return {
        "format": "steadyhead/entries-by-number/1",
        "entries": [
            {
                "number": one.number,
                "corrected_by": list(one.corrected),
                "voided_by": list(one.voided),
                **_line(one.line),
            }
            for one in book.listed()
            if not step or (isinstance(one.line, Entry) and one.line.node == step)
        ],
    }


def _line(line: object) -> Mapping[str, Any]:
    if isinstance(line, Entry):
        return {"entry": plain_entry(line)}
    return {"fault": str(getattr(line, "problem", "")), "begins": str(getattr(line, "text", ""))}


def _same_plan(book: Book, entries: str) -> None:
    """Refuse to enter into a run that was begun with another plan."""
    begun = [str(entry.payload.get("plan", "")) for entry in book.ledger.standing if entry.kind == "run"]
    if begun and begun[-1] not in ("", book.plan.sha256):
        problem = f"was begun with the plan {begun[-1][:12]}…; this is {book.plan.sha256[:12]}…"
        raise InputError(entries, problem, "Name the plan it was begun with, or begin another file.")
    if foreign := foreign_steps(book.plan, book.ledger):
        problem = f"names no plan, and {foreign} of its steps are none of this one."
        raise InputError(entries, problem, "Name the plan it was made with, or begin another file.")


def _may_sign(plan: bytes, content: bytes, fresh: Sequence[Entry]) -> None:
    """Refuse a final signature while something stands against it."""
    if not any(entry.kind == "sign" and entry.payload["asks"] == "final" for entry in fresh):
        return
    stands = [finding for finding, by in against_final(judge_run(plan, content, fresh[-1].time)) if not by]
    if stands:
        codes = ", ".join(dict.fromkeys(f"{one.code} {one.subject}" for one in stands[:6]))
        more = f" and {len(stands) - 6} more" if len(stands) > 6 else ""
        noun = "thing stands" if len(stands) == 1 else "things stand"
        remedy = "See run judge. Put it right, record deviations, or sign as provisional."
        raise InputError("sign", f"{len(stands)} {noun} against final: {codes}{more}.", remedy)


def _gallons(words: Sequence[str]) -> list[str]:
    """Return the names whose value leaves open whose gallon it is."""
    found = []
    for name, value in pairs(words)[1].items():
        for kind in ("flow", "volume"):
            try:
                if parse(value, kind).gallon_open:
                    found.append(name)
            except UnitError:
                continue
    return found
