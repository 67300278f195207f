"""Entries as text for a terminal: one a line with its number, and what a new one means."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.cli.running_text import entering_lines, finding_lines_of_run
from steadyhead.cli.showing import paragraph
from steadyhead.findings import tell
from steadyhead.records.entry import Entry
from steadyhead.services.entering import Book, Entered, Listed, Standing
from steadyhead.services.entering.saying import said
from steadyhead.services.running_words import Speaker
from steadyhead.units import UnitSet
from steadyhead.visits.certifying.seen import in_words
from steadyhead.visits.texts import say
from steadyhead.visits.texts.saying import band_words, edges

SEEN = "RUN-08"
"""What is seen instead: what it means is told with it."""


def entered_text(made: Entered, units: UnitSet) -> str:
    """Return what was entered, and what it means: band, what is amiss, what is left, what comes next."""
    return "\n".join(line.rstrip() for line in _entered(made, units)) + "\n"


def _entered(made: Entered, units: UnitSet) -> Iterator[str]:
    for number, entry in enumerate(made.entries, made.first):
        yield entry_line(number, entry, units, amends=made.numbers.get(entry.replaces, 0))
        yield from _overdue(entry)
    for one in made.bands:
        yield from _band(one, units)
    for name in made.gallons:
        yield paragraph(f"{name}: read as US gallons. Write imp gal or imp gpm for the others.", 8)
    for words in made.other_units:
        yield paragraph(words, 8)
    speaker = Speaker(made.after.procedure, made.after.ledger, units)
    for finding in made.amiss(units):
        yield finding_lines_of_run(finding, units)
    for finding in made.worth_knowing(units):
        told_of = tell(finding, units)
        more = f" {told_of.cure}" if finding.code == SEEN and told_of.cure else ""
        yield paragraph(f"  {finding.code}  {told_of.statement}{more}", 10, "")
    yield from _changes(made, speaker)
    for state in made.steps:
        lacks = ", ".join(state.lacks).replace("@choice", "choose").replace("@tick", "done")
        told = f"still to be noted: {lacks}" if state.lacks and state.state == "open" else state.state
        choices = ", ".join(_choices(made, state.id)) if state.state == "waits" else ""
        told += f" for the choice at {choices}" if choices else ""
        yield paragraph(f"{state.id}: {told}.", 4)
    coming = made.after.judgement.next
    if coming:
        title = say(made.after.procedure.node(coming[0]).title, units)
        yield paragraph(f"Next: {coming[0]}  {title}", 4)
    else:
        yield "Next: nothing"


def _choices(made: Entered, step: str) -> Iterator[str]:
    """Yield the choices, not made yet, that a step waits for."""
    taken = made.after.judgement.choices
    for choice in made.after.procedure.choices:
        if not taken.get(choice.id) and any(step in opened for _, _, opened in choice.options):
            yield choice.id


def _overdue(entry: Entry) -> Iterator[str]:
    """Yield that an instrument just described was past its date on that day."""
    name, due = (str(entry.payload.get(key) or "") for key in ("name", "due"))
    if entry.kind == "instrument" and due and due < f"{entry.clock:%Y-%m-%d}":
        yield paragraph(f"{name} was due {due}. What it reads proves nothing on this day.", 8)


def _band(one: Standing, units: UnitSet) -> Iterator[str]:
    band = band_words(*edges(one.low, one.high, one.quantity, units))
    value, end = in_words(one.value, one.quantity, units), "" if one.is_inside else " Stop."
    where = "inside" if one.is_inside else "OUTSIDE"
    if one.is_on_way:
        where, end = "on the way, below", " Go on as advised: run advise."
    yield paragraph(f"{one.input} {value}: {where} {band}.{end}", 8)
    if one.unit:
        yield paragraph(f"In {one.unit} it would lie inside. If that was meant: correct it.", 8)


def _changes(made: Entered, speaker: Speaker) -> Iterator[str]:
    order = {"stale": 0, "refused": 1, "open": 2}
    for name, was, now in sorted(made.proofs, key=lambda one: order.get(one[2], 3)):
        if now != "not on this way" and was != "not on this way":
            word = {"stale": "STALE", "refused": "REFUSED"}.get(now, now)
            yield paragraph(f"proof {speaker.name(name)}: {word}", 4)
    for asked in made.fallen:
        yield paragraph(f"The signature as {asked} stands no more: sign again.", 4)
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
