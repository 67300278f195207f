"""What was entered and then taken back: an act, a position or a note that a correction or a void unsays.

Taking it back is told. Of a part that protects it stands against *final* until somebody else has looked and
agrees: the act ``second look`` of another person, ``to`` the entry that takes it back or the one taken back.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from steadyhead.procedure.ledger import Ledger, amended, gathered
from steadyhead.procedure.naming import OUTSIDE, calls, folded, names_of, words_of
from steadyhead.procedure.record import AGREES, NOTED, Record, Row, lay, people
from steadyhead.procedure.restoring import is_put_out
from steadyhead.procedure.steps import look
from steadyhead.procedure.touching import ALARM, acting, is_in_place, owner
from steadyhead.procedure.trials import unanswered
from steadyhead.records.entry import MOVES, TELLS, Entry
from steadyhead.records.run import Remark

SHOWN = 60
"""Most characters of a note that are shown."""


def taken_back(record: Record, mine: Ledger) -> tuple[tuple[Remark, ...], tuple[Remark, ...]]:
    """Return what stands against *final*, taken back with nobody else's agreement, and what is told."""
    by_id = {entry.id: entry for entry in mine.entries}
    amends = _amended(mine, by_id)
    if not amends:
        return (), ()
    stands = {row.entry.id: row for row in record.rows}
    minding, worked = record.procedure.minding, acting(record)
    guards, names = frozenset(minding.guards), names_of(record.procedure)
    known = people(record)
    against, told = [], []
    for about, chain in amends.items():
        old, new, last = by_id[about], stands.get(about), chain[-1]
        if old.kind == "note":
            what, parts = _note(old, new, guards, minding.called)
        elif old.kind == "action":
            row = Row(old, 0, names.of(_text(old, "thing")))
            before = worked(row) | _put_out(record, row)
            after = worked(new) | _put_out(record, new) if new is not None else frozenset()
            what, parts = _act(old, new, before, after)
        elif old.kind == "position":
            what, parts = _position(record, Row(old, 0, names.of(_text(old, "thing"))), new)
        else:
            what, parts = _reading(record, mine, old, new, chain)
        if what:
            how = "made void" if new is None else "corrected"
            params = {"what": what, "how": how, "reason": _text(last, "reason")}
            told.append(Remark("RUN-55", old.node or "run", (old.id, last.id), params))
            if parts & guards and not _agreed(record, old, last, known):
                against.append(Remark("RUN-56", "run", (old.id, last.id), params))
    return tuple(against), tuple(told)


def _amended(mine: Ledger, by_id: Mapping[str, Entry]) -> dict[str, list[Entry]]:
    """Return the entries that something came to, each with what came to it, in order."""
    found: dict[str, list[Entry]] = {}
    for entry in mine.entries:
        about = amended(entry, by_id) if entry.kind in ("correction", "void") else None
        if about is not None:
            found.setdefault(about.id, []).append(entry)
    return found


def _note(
    old: Entry, new: Row | None, guards: frozenset[str], called: tuple[str, ...]
) -> tuple[str, frozenset[str]]:
    """Return a note that is gone or says something else, and the parts that protect it names or may mean."""
    text = _text(old, "text")
    if new is not None and new.text("text") == text:
        return "", frozenset()
    return f"note: {text[:SHOWN]}", guards if calls(text, called) else guards & words_of(text)


def _position(record: Record, old: Row, new: Row | None) -> tuple[str, frozenset[str]]:
    """Return a position that is no longer said, and the part that by it was not as it is left."""
    said = f"{old.text('thing')}={old.text('is')}"
    if new is not None and f"{new.text('thing')}={new.text('is')}" == said:
        return "", frozenset()
    part = names_of(record.procedure).part(old.text("thing"))
    return f"position {said}", frozenset(() if is_in_place(record, old) else (part,))


def _reading(
    record: Record, mine: Ledger, old: Entry, new: Row | None, amends: Sequence[Entry]
) -> tuple[str, frozenset[str]]:
    """Return what was read to prove a part that protects and is read no longer, and the parts it failed."""
    node = record.node.get(old.node)
    minding = record.procedure.minding
    parts = frozenset(owner(name) for name in node.proves) if node is not None else frozenset()
    guards = frozenset(minding.guards)
    parts = guards if old.node in minding.stops else parts & guards
    if old.kind not in NOTED or not parts:
        return "", frozenset()
    failed = any(_failed(record, mine, old, one) for one in amends)
    if new is not None and not failed:
        return "", frozenset()
    return f"{old.kind} {_text(old, 'input')} at {old.node}", parts if failed else frozenset()


def _failed(record: Record, mine: Ledger, old: Entry, amending: Entry) -> bool:
    """Return whether its step spoke against a reading up to when it was taken back, and not without it."""
    before = [entry for entry in mine.entries if amending.follows(entry)]
    found = []
    for entries in (before, [entry for entry in before if entry.id != old.id]):
        laid = lay(record.procedure, gathered(entries).standing)
        steps = look(laid)
        step = steps[old.node]
        fires = tuple(one for one in step.fires if not one.tells)
        found.append((*step.refusals, *fires, *step.outside, *unanswered(laid, steps, old.node)))
    return any(one not in found[1] for one in found[0])


def _act(
    old: Entry, new: Row | None, before: frozenset[str], after: frozenset[str]
) -> tuple[str, frozenset[str]]:
    """Return an act by which less is touched or put out now, and the parts it was about."""
    do, thing = _text(old, "do"), _text(old, "thing")
    if before <= after and (new is not None or do in (*TELLS, *MOVES)):
        return "", frozenset()
    return f"{do} {thing}".strip(), frozenset(owner(name) or name for name in before - after)


def _put_out(record: Record, row: Row) -> frozenset[str]:
    """Return the part an act puts out of action."""
    if not is_put_out(record, row):
        return frozenset()
    return frozenset((names_of(record.procedure).part(row.thing) or ALARM,))


def _agreed(record: Record, old: Entry, last: Entry, known: frozenset[str]) -> bool:
    """Return whether somebody else of this run looked at it, and at the station, after it was taken back."""
    looked_at, names = {old.id: old, last.id: last}, names_of(record.procedure)
    return any(
        row.do == AGREES
        and row.text("to") in looked_at
        and folded(row.entry.who) in known - {folded(last.who), folded(looked_at[row.text("to")].who)}
        and names.part(row.text("thing")) != OUTSIDE
        and row.entry.follows(last)
        for row in record.rows
    )


def _text(entry: Entry, key: str) -> str:
    found = entry.payload.get(key)
    return found if isinstance(found, str) else ""
