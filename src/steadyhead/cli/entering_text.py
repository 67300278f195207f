"""Entries as text for a terminal: one a line with its number, and what a new one means."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from steadyhead.cli.running_text import entering_lines, finding_lines_of_run
from steadyhead.cli.showing import paragraph
from steadyhead.findings import tell
from steadyhead.records.entry import KINDS as ENTRY_KINDS
from steadyhead.records.entry import Entry
from steadyhead.services.entering import Book, Entered, Listed, Standing
from steadyhead.services.running_words import Speaker
from steadyhead.units import UnitSet
from steadyhead.units import say as say_value
from steadyhead.units.table import KINDS
from steadyhead.visits.certifying.seen import in_words
from steadyhead.visits.texts import say
from steadyhead.visits.texts.saying import edges

_AMOUNTS = {
    "low": "",
    "high": "",
    "division": "",
    "zero": "",
    "flow": "flow",
    "steady_for": "time",
    "steady_within": "",
    "wall_temperature": "temperature",
    "read_at_height": "length",
    "corrected_by": "",
    "class": "ratio",
}
"""Numbers of a payload with their kind of quantity; empty: that of the payload."""
_WORDS = {"wall_temperature": "wall", "steady_within": "within", "steady_for": "stood"}
_TOLD = ("input", "quantity", "tap", "value", "typed", "unit")
_HEAD = {"run": "run begun", "person": "person", "instrument": "instrument", "deviation": "deviation about"}


def entered_text(made: Entered, units: UnitSet) -> str:
    """Return what was entered, and what it means: band, what is amiss, what is left, what comes next."""
    return "\n".join(line.rstrip() for line in _entered(made, units)) + "\n"


def _entered(made: Entered, units: UnitSet) -> Iterator[str]:
    for number, entry in enumerate(made.entries, made.first):
        yield entry_line(number, entry, units, amends=made.numbers.get(entry.replaces, 0))
    for one in made.bands:
        yield from _band(one, units)
    for name in made.gallons:
        yield paragraph(f"{name}: read as US gallons. Write imp gal or imp gpm for the others.", 8)
    speaker = Speaker(made.after.procedure, made.after.ledger, units)
    for finding in made.amiss(units):
        yield finding_lines_of_run(finding, units)
    for finding in made.worth_knowing(units):
        yield paragraph(f"  {finding.code}  {tell(finding, units).statement}", 10, "")
    yield from _changes(made, speaker)
    for state in made.steps:
        lacks = ", ".join(state.lacks).replace("@choice", "choose").replace("@tick", "done")
        told = f"still to be noted: {lacks}" if state.lacks and state.state == "open" else state.state
        yield paragraph(f"{state.id}: {told}.", 4)
    coming = made.after.judgement.next
    if coming:
        title = say(made.after.procedure.node(coming[0]).title, units)
        yield paragraph(f"Next: {coming[0]}  {title}", 4)
    else:
        yield "Next: nothing"


def _band(one: Standing, units: UnitSet) -> Iterator[str]:
    low, high = edges(one.low, one.high, one.quantity, units)
    value, end = in_words(one.value, one.quantity, units), "" if one.is_inside else " Stop."
    where = "inside" if one.is_inside else "OUTSIDE"
    if one.is_on_way:
        where, end = "on the way, below", " Go on as advised: run advise."
    yield paragraph(f"{one.input} {value}: {where} {low} to {high}.{end}", 8)
    if one.unit:
        yield paragraph(f"In {one.unit} it would lie inside. If that was meant: correct it.", 8)


def _changes(made: Entered, speaker: Speaker) -> Iterator[str]:
    order = {"stale": 0, "refused": 1, "open": 2}
    for name, was, now in sorted(made.proofs, key=lambda one: order.get(one[2], 3)):
        if now != "not on this way" and was != "not on this way":
            word = {"stale": "STALE", "refused": "REFUSED"}.get(now, now)
            yield paragraph(f"proof {speaker.name(name)}: {word}", 4)
    for name, now in made.items:
        word = "to be restored" if now == "open" else now
        yield paragraph(f"{speaker.name(name)}: {word}", 4)


def shown_text(book: Book, units: UnitSet, step: str = "") -> str:
    """Return the entries of a file by number; what was corrected or voided says by which."""
    lines = []
    for one in book.listed():
        if step and not (isinstance(one.line, Entry) and one.line.node == step):
            continue
        lines.append(_listed(one, units))
    if step:
        lines += ["", *entering_lines(book.procedure, step)]
    return "\n".join(line.rstrip() for line in lines) + "\n" if lines else "No entries.\n"


def _listed(one: Listed, units: UnitSet) -> str:
    if not isinstance(one.line, Entry):
        return paragraph(f"cannot be used: {one.line.problem}", 7, f"{one.number:>5}  ")
    marks = [f"corrected by {number}" for number in one.corrected]
    marks += [f"void by {number}" for number in one.voided]
    mark = f" [{', '.join(marks)}]" if marks else ""
    return entry_line(one.number, one.line, units, mark, one.amends)


def entry_line(number: int, entry: Entry, units: UnitSet, mark: str = "", amends: int = 0) -> str:
    """Return one entry as a line: number, time, step, what it says."""
    head = f"{number:>5}  {entry.clock:%d %b %H:%M:%S}  {entry.node:<8} "
    late = " (time given by hand)" if entry.by_hand and not mark else ""
    return paragraph(
        f"{said(entry, units, amends)}; {entry.who}{late}{mark}", len(head), head, at_hyphens=False
    )


def said(entry: Entry, units: UnitSet, amends: int = 0) -> str:
    """Return what an entry says, in a few words; amends: number of the entry it corrects or voids."""
    payload = entry.payload
    quantity = str(payload.get("quantity") or "")
    if entry.kind in ("reading", "observation"):
        return _value(payload, quantity, units)
    if entry.kind == "action":
        return _act(payload, units)
    if entry.kind == "choice":
        return f"{payload.get('choice')}: {payload.get('option')}"
    if entry.kind == "position":
        return f"{payload.get('thing')} {payload.get('is')}"
    if entry.kind == "photo":
        return (
            f"photo of {payload.get('of')}: {payload.get('name', '')} {str(payload.get('sha256', ''))[:12]}…"
        )
    if entry.kind == "note":
        return f"“{payload.get('text')}”"
    if entry.kind in ("correction", "void"):
        given = payload.get("payload")
        new = f": {_rest(given, quantity, units)}" if isinstance(given, Mapping) else ""
        return f"{entry.kind} of {amends or 'what is not there'}{new} ({payload.get('reason')})"
    if entry.kind == "sign":
        return f"signed as {payload.get('asks')}"
    return f"{_HEAD.get(entry.kind, entry.kind)} {_rest(payload, quantity or 'pressure', units)}"


def _value(payload: Mapping[str, Any], quantity: str, units: UnitSet) -> str:
    value = payload.get("value")
    shown = in_words(value, quantity, units) if isinstance(value, bool | str | int | float) else "no value"
    other = _other_unit(payload, quantity, units) and shown != f"{payload['typed']} {payload['unit']}"
    typed = f" (typed {payload['typed']} {payload['unit']})" if other else ""
    at = f" at {payload['tap']}" if payload.get("tap") else ""
    rest = {key: each for key, each in payload.items() if key not in _TOLD}
    more = _rest(rest, quantity, units)
    return f"{payload.get('input')} {shown}{typed}{at}{', ' if more else ''}{more}"


def _other_unit(payload: Mapping[str, Any], quantity: str, units: UnitSet) -> bool:
    return quantity in KINDS and bool(payload.get("typed")) and payload.get("unit") != units.unit(quantity)


def _act(payload: Mapping[str, Any], units: UnitSet) -> str:
    amount, unit = payload.get("amount"), str(payload.get("unit", ""))
    size = ""
    if isinstance(amount, int | float) and not isinstance(amount, bool):
        size = say_value(amount, unit, units) if unit in KINDS else f"{amount:g} {unit}"
    do = "done as written" if payload.get("do") == "tick" else str(payload.get("do"))
    parts = (do, payload.get("thing"), size, payload.get("to"), payload.get("detail"))
    return " ".join(str(part) for part in parts if part)


def _rest(payload: Mapping[str, Any], quantity: str, units: UnitSet) -> str:
    parts = []
    for key in sorted(payload, key=_place):
        value = payload[key]
        kind = _AMOUNTS.get(key)
        if key in ("typed", "unit", "plan"):
            continue
        word = _WORDS.get(key, key.replace("_", " "))
        if key in ("name", "instrument", "about", "kind"):
            parts.append(str(value))
        elif value is None:
            parts.append(f"{word} taken out")
        elif isinstance(value, Mapping):
            parts.append(f"{word} {_rest(value, 'time' if key == 'swing' else quantity, units)}")
        elif key == "value":
            typed = f"{payload['typed']} {payload.get('unit', '')}".strip() if "typed" in payload else ""
            parts.append(typed or in_words(value, quantity, units))
        elif kind is not None and isinstance(value, int | float):
            parts.append(f"{word} {_number(value, kind or quantity, units)}")
        else:
            parts.append(f"{word} {value}")
    return ", ".join(parts)


_ORDER = {
    key: at for at, key in enumerate(dict.fromkeys(key for keys in ENTRY_KINDS.values() for key in keys))
}


def _place(key: str) -> int:
    """Return where a key of a payload is told: in the order of the kinds of entry."""
    return _ORDER.get(key, len(_ORDER))


def _number(value: float, kind: str, units: UnitSet) -> str:
    return f"{value * 100:g} %" if kind == "ratio" else in_words(value, kind, units)
