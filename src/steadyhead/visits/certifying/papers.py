"""What belongs to a run beside its proofs: people, instruments, conditions, touches, corrections."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from steadyhead.procedure.record import Row, day_of
from steadyhead.procedure.touching import STANDS, touches
from steadyhead.records.certificate import (
    Amended,
    Deviation,
    Instrument,
    Noted,
    Person,
    Proof,
    Signature,
    Touched,
)
from steadyhead.records.certificate import (
    Row as Fact,
)
from steadyhead.records.entry import Entry
from steadyhead.units.table import KINDS
from steadyhead.visits.certifying.seen import Seen, base, in_words, kept, moment
from steadyhead.visits.texts import say

BESIDE = frozenset({"gauges_on", "alarm_test", "alarm.transmitter_off", "fire_cover"})
"""Restore items by which no pressure and no valve of the line is changed."""
COMPARED = "A6"
"""Step at which two gauges are put on one tap, whichever it is."""
RESET = "reset"
"""Act by which a shut-off is put back after it acted; it makes no proof stale, and is told among the acts."""
SEALING = ("seal", "break seal", "lock", "unlock", "mark")
WHAT = {"tick": "step done as it is written"}


def purpose(seen: Seen) -> str:
    """Return what the run was made for, in the words it was begun with; empty where they are not there."""
    begun = [row for row in seen.record.rows if row.entry.kind == "run"]
    return begun[-1].text("purpose") if begun else ""


def people(seen: Seen) -> tuple[Person, ...]:
    """Return who took part, with what they were authorised to and how long."""
    told = {row.text("name"): row for row in seen.record.rows if row.entry.kind == "person"}
    names = dict.fromkeys((*told, *(entry.who for entry in seen.mine.entries if entry.who)))
    return tuple(_person(seen, name, told.get(name)) for name in names)


def _person(seen: Seen, name: str, row: Row | None) -> Person:
    made = [entry for entry in seen.mine.entries if entry.who == name]
    until = row.text("authorised_until") if row else ""
    last = day_of(until)
    days = [entry.day.toordinal() - date(1970, 1, 1).toordinal() for entry in made]
    valid = None if last is None else all(day <= last for day in days)
    return Person(name, row.text("role") if row else "", until, len(made), valid)


def instruments(seen: Seen) -> tuple[Instrument, ...]:
    """Return the instruments described in the run, with where and when they were used."""
    told = {row.text("name"): row for row in seen.record.rows if row.entry.kind == "instrument"}
    used: dict[str, list[Row]] = {}
    for row in seen.record.rows:
        if row.entry.kind == "reading" and row.text("instrument"):
            used.setdefault(row.text("instrument"), []).append(row)
    names = dict.fromkeys((*told, *used))
    return tuple(_instrument(seen, name, told.get(name), used.get(name, [])) for name in names)


def _instrument(seen: Seen, name: str, row: Row | None, used: list[Row]) -> Instrument:
    def get(key: str) -> float | None:
        return row.number(key) if row else None

    def text(key: str) -> str:
        return row.text(key) if row else ""

    low, high, share = get("low"), get("high"), get("class")
    known = low is not None and high is not None and share is not None
    error = kept(share * (high - low)) if known else None  # type: ignore[operator]
    due = day_of(text("due"))
    days = sorted({one.day for one in used})
    return Instrument(
        name,
        text("what"),
        text("quantity") or "pressure",
        low,
        high,
        share,
        error,
        text("calibrated"),
        text("due"),
        text("certificate"),
        get("zero"),
        tuple(dict.fromkeys(r.text("tap") for r in used if r.text("tap") and not _is_compared(seen, r))),
        tuple(date.fromordinal(day + date(1970, 1, 1).toordinal()).isoformat() for day in days),
        None if due is None else all(day <= due for day in days),
    )


def _is_compared(seen: Seen, row: Row) -> bool:
    """Return whether a gauge was read beside another, on a tap that nobody named."""
    node = seen.record.node.get(row.entry.node)
    asked = () if node is None or base(node) != COMPARED else node.inputs
    return any(one.name == row.input and one.tap == row.text("tap") for one in asked)


def conditions(seen: Seen) -> tuple[Fact, ...]:
    """Return permits, who was told, air, weather and temperatures, as noted before and while working."""
    rows: list[Fact] = []
    for step in seen.on_way():
        if base(step.node) not in ("A2", "A3", "A4", "A8", "B6", "Y1", "R0", "R2"):
            continue
        for asked in step.node.inputs:
            noted = seen.noted(step, asked.name)
            if noted is not None and asked.quantity in ("text", "yes_no"):
                rows.append((f"{step.node.id} {_label(seen, step.node.id, asked.name)}", seen.value(noted)))
        rows += [(f"{step.node.id} note", row.text("text")) for row in step.rows if row.entry.kind == "note"]
    walls = [
        row.entry.payload["value"]
        for row in seen.record.rows
        if row.entry.kind == "reading"
        and row.text("quantity") == "temperature"
        and row.number("value") is not None
    ]
    if walls:
        ends = [in_words(value, "temperature", seen.units) for value in (min(walls), max(walls))]
        rows.append(("Wall temperature", ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"))
    return tuple(rows)


def _label(seen: Seen, step: str, name: str) -> str:
    return seen.word(f"{step}/{name}") if f"{step}/{name}" in seen.procedure.names else name


def touched(seen: Seen) -> tuple[Touched, ...]:
    """Return what was turned, cleaned, opened or reset, in order; a step that works things is its act."""
    found = {touch.row.at: (touch.row, touch.things) for touch in touches(seen.record)}
    for row in seen.record.rows:
        if row.do == RESET and row.at not in found:
            found[row.at] = row, frozenset(filter(None, (row.thing,)))
    return tuple(_touched(seen, *found[at]) for at in sorted(found))


def _touched(seen: Seen, row: Row, things: frozenset[str]) -> Touched:
    entry = row.entry
    is_act = entry.kind == "action" and row.do != "tick"
    act = act_words(entry, seen) if is_act else "worked as the step has it"
    names = ", ".join(seen.word(name) for name in sorted(things))
    return Touched(moment(entry), entry.who, entry.node, act, names, entry.id)


def act_words(entry: Entry, seen: Seen) -> str:
    """Return an act in words: what was done to which thing, how much, to what, in detail."""
    payload = entry.payload
    parts = [str(payload.get("do", "")), str(payload.get("thing", ""))]
    amount, unit = payload.get("amount"), str(payload.get("unit", ""))
    if isinstance(amount, int | float) and not isinstance(amount, bool):
        parts.append(in_words(amount, unit, seen.units) if unit in KINDS else f"{amount:g} {unit}".strip())
    parts += [str(payload[key]) for key in ("to", "detail") if payload.get(key)]
    return " ".join(part for part in parts if part)


def seals(seen: Seen) -> tuple[Fact, ...]:
    """Return seals, locks and marks: broken, set, with their numbers."""
    rows = [
        (moment(row.entry)[:16].replace("T", " "), act_words(row.entry, seen))
        for row in seen.record.rows
        if row.do in SEALING
    ]
    for step in seen.on_way():
        told = seen.noted(step, "seals") if any(one.name == "seals" for one in step.node.inputs) else None
        if told is not None:
            rows.append((told.at[:16].replace("T", " "), str(told.value)))
    return tuple(rows)


def _moved(seen: Seen) -> int:
    """Return the place of the first entry after which the station no longer stands as it was found.

    A touch; an act that moves something; a position or a reading at a step that itself works, raises or moves
    something: the positions it orders are no positions as found.
    """
    at = [touch.row.at for touch in touches(seen.record)]
    for row in seen.record.rows:
        node = seen.record.node.get(row.entry.node)
        opens = set() if node is None else set(map(_item, node.opens)) - BESIDE
        by_plan = node is not None and bool(node.touches or node.raises or opens)
        if by_plan or (row.do in STANDS and not _is_tap(seen, row)):
            at.append(row.at)
    return min(at, default=len(seen.record.rows))


def _item(name: str) -> str:
    return name.partition("@")[0]


def _is_tap(seen: Seen, row: Row) -> bool:
    """Return whether an act is on the cock of a tap: opened to read what is there."""
    return row.thing.partition(".")[0] in {one.tap for node in seen.procedure.nodes for one in node.inputs}


def as_found(seen: Seen) -> tuple[tuple[str, Noted], ...]:
    """Return every reading taken before anything was touched, or marked as found, with its step."""
    first = _moved(seen)
    found = []
    for row in seen.record.rows:
        node = seen.record.node.get(row.entry.node)
        marked = row.text("as") == "as found" or (
            node is not None and any(name.endswith(".as_found") for name in node.proves)
        )
        value = row.number("value")
        if row.entry.kind == "reading" and value is not None and (row.at < first or marked):
            label = _label(seen, row.entry.node, row.input)
            noted = seen.as_noted(row, kept(value))
            tap = "" if _is_compared(seen, row) else noted.tap
            found.append((f"{row.entry.node} {label}".strip(), replace(noted, tap=tap)))
    return tuple(found)


def positions(seen: Seen) -> tuple[tuple[Fact, ...], tuple[Fact, ...]]:
    """Return how valves and cocks stood before anything was touched, and how they were left."""
    first = _moved(seen)
    rows = [row for row in seen.record.rows if row.entry.kind == "position"]
    found = {row.text("thing"): row.text("is") for row in reversed(rows) if row.at < first}
    for step in seen.on_way():
        if base(step.node) in ("A7", "Y1", "R4"):
            for name in ("positions", "height"):
                told = seen.noted(step, name) if name in step.chosen else None
                if told is not None:
                    found[f"{step.node.id} {_label(seen, step.node.id, name)}"] = seen.value(told)
    last = {row.text("thing"): f"{row.text('is')}, {moment(row.entry)[11:16]}" for row in rows}
    left = [
        (name, last.pop(name, "") or f"{say(state, seen.units)} (as the plan has it; not noted one by one)")
        for name, state in seen.procedure.left
    ]
    return tuple(found.items()), (*left, *last.items())


def proofs(seen: Seen) -> tuple[Proof, ...]:
    """Return every proof of the plan on this way."""
    return tuple(
        Proof(one.name, seen.word(one.name), one.state, _when(seen, one.at), seen.reasons(one))
        for one in seen.judgement.proofs
        if one.state != "not on this way"
    )


def _when(seen: Seen, at: float | None) -> str:
    if at is None:
        return ""
    near = min(seen.mine.entries, key=lambda entry: abs(entry.time - at))
    return moment(near)


def deviations(seen: Seen) -> tuple[Deviation, ...]:
    """Return the recorded deviations, and whether they accept something."""
    taken = {block.accepted for block in seen.judgement.blocks if block.accepted}
    return tuple(
        Deviation(
            about=row.text("about"),
            what=row.text("what"),
            risk=row.text("risk"),
            measure=row.text("measure"),
            owner=row.text("owner"),
            due=row.text("due"),
            accepted_by=row.text("accepted_by"),
            at=moment(row.entry),
            who=row.entry.who,
            accepts=row.entry.id in taken,
        )
        for row in seen.record.rows
        if row.entry.kind == "deviation"
    )


def amended(seen: Seen) -> tuple[Amended, ...]:
    """Return corrections and voids, with what stood before."""
    found = []
    for entry in seen.mine.entries:
        if entry.kind not in ("correction", "void"):
            continue
        old = seen.entry.get(entry.replaces)
        given = entry.payload.get("payload")
        keys = list(given) if isinstance(given, Mapping) else []
        was = _payload(old, keys or None, seen) if old else "not there"
        now = (
            _keys(given, keys, str(old.payload.get("quantity", "")) if old else "", seen) if keys else "void"
        )
        reason = str(entry.payload.get("reason", ""))
        found.append(Amended(entry.id, entry.replaces, was, now, reason, moment(entry), entry.who))
    return tuple(found)


def _payload(entry: Entry, keys: list[str] | None, seen: Seen) -> str:
    payload = entry.payload
    chosen = keys or [key for key in ("input", "value", "do", "thing", "text") if key in payload]
    return f"{entry.node} {_keys(payload, chosen, str(payload.get('quantity', '')), seen)}".strip()


def _keys(payload: Any, keys: list[str], quantity: str, seen: Seen) -> str:
    def told(key: str) -> str:
        value = payload.get(key)
        if key == "value" and isinstance(value, int | float) and not isinstance(value, bool):
            return in_words(value, quantity, seen.units)
        return "nothing" if value is None else str(value)

    return ", ".join(f"{key} {told(key)}" for key in keys)


def notes(seen: Seen) -> tuple[tuple[str, str, str], ...]:
    """Return what people wrote: time, who, words."""
    rows = (row for row in seen.record.rows if row.entry.kind == "note")
    return tuple((moment(row.entry), row.entry.who, row.text("text")) for row in rows)


def photos(seen: Seen) -> tuple[tuple[str, str, str], ...]:
    """Return pictures: of what, name, SHA-256."""
    rows = [row for row in seen.record.rows if row.entry.kind == "photo"]
    return tuple(
        (f"{row.entry.node} {row.text('of')}".strip(), row.text("name"), row.text("sha256")) for row in rows
    )


def signatures(seen: Seen) -> tuple[Signature, ...]:
    """Return who signed for what."""
    return tuple(_signatures(seen))


def _signatures(seen: Seen) -> Iterator[Signature]:
    signs = {sign.entry: sign for sign in seen.judgement.signs}
    roles = {row.text("name"): row.text("role") for row in seen.record.rows if row.entry.kind == "person"}
    for row in seen.record.rows:
        if row.entry.kind == "sign":
            entry = row.entry
            yield Signature(
                entry.who,
                roles.get(entry.who, ""),
                row.text("asks"),
                row.text("statement"),
                moment(entry),
                entry.id,
                signs[entry.id].stands if entry.id in signs else False,
                len(after(seen, entry)),
                *(str(entry.more.get(key) or "") for key in ("typed_by", "typed_at")),
            )


def after(seen: Seen, sign: Entry) -> tuple[Entry, ...]:
    """Return what was entered after a signature, so that it does not count; papers kept later are not such.

    Every entry that came later by its own time: readings, acts, and corrections, voids, deviations, persons
    and instruments too, whatever they are about. Later signatures are none, nor is what the plan puts after
    signing.
    """
    beside = seen.procedure.after
    late = [entry for entry in seen.mine.entries if entry.order > sign.order and entry.kind != "sign"]
    known = next((one.later for one in seen.judgement.signs if one.entry == sign.id), ())
    found = [entry for entry in late if not (entry.node and entry.node in beside)]
    ids = {entry.id for entry in found}
    return (*found, *(seen.entry[name] for name in known if name not in ids and name in seen.entry))
