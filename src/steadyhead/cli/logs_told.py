"""What ``steadyhead logs tell`` does once its words are parsed, and how it is printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from steadyhead.cli.commands import units_for, write_pdf
from steadyhead.cli.logs_text import FINE, OPEN, opened
from steadyhead.cli.showing import paragraph, show_json
from steadyhead.cli.streams import put_file
from steadyhead.errors import InputError
from steadyhead.services.stations.days import today

if TYPE_CHECKING:
    from steadyhead.services.logs.telling import IncidentView, ReadingView


def do_tell(station: str, at: str, pdf: str, where: tuple[str, str], json: bool, *, units: str = "") -> int:
    """Tell the event of a station about a time. units: a choice as typed; JSON stays in SI."""
    from steadyhead.services.logs.incident_paper import incident_paper
    from steadyhead.services.logs.spoken import told_in
    from steadyhead.services.logs.telling import tell_at
    from steadyhead.services.logs.times import moment

    mine = units_for(units)
    when = moment("--at", at)
    if when is None:
        raise InputError("--at", "is empty.", "Write 2027-03-06T12:00.")
    with opened(*where) as (register, logs):
        view = tell_at(register, logs, station, when)
    if pdf and view.event is not None:
        write_pdf("Event", pdf, incident_paper(view, today(), mine), "-")
    if json:
        show_json(view.model_dump(mode="json"))
    else:
        put_file("\n".join(_lines(told_in(view, mine))) + "\n")
    return FINE if view.event is not None else OPEN


def _lines(view: IncidentView) -> Iterator[str]:
    if view.event is None:
        yield paragraph(view.words)
        for each in view.others:
            yield paragraph(f"{each.start} to {each.end}: {each.code}. {each.words}", 4, "")
    else:
        yield from _event(view)
        if view.others:
            yield ""
            yield "Other events of these days:"
        for each in view.others:
            yield paragraph(f"{each.start} to {each.end}: {each.code}. {each.words}", 4, "  ")
    if view.not_seen:
        yield ""
    for one in view.not_seen:
        yield paragraph(one.words, 2, "")
    if view.event is not None:
        yield ""
        yield paragraph(view.caution)


def _event(view: IncidentView) -> Iterator[str]:
    event = view.event
    assert event is not None
    yield paragraph(f"{event.start} to {event.end}: {event.code}. {event.words}")
    yield paragraph(view.words)
    yield ""
    yield paragraph(
        "In this order (after the last sample that does not show it, by the first that does; times are UTC):"
    )
    for step in view.steps:
        order = f" {step.order}" if step.order else ""
        yield paragraph(f"{step.after} to {step.by}  {step.words}{order}", 6, "  ")
    for words in view.clocks:
        yield paragraph(words, 2)
    for defect in view.defects:
        yield paragraph(f"Data: {defect.words}", 4, "  ")
    for reading in view.readings:
        if reading.sure != "ruled out":
            yield ""
        yield from _reading(reading)
    yield ""
    for rows in view.rows:
        files = ", ".join(f"{each[:12]}…" for each in rows.sources)
        if rows.samples:
            words = f"{rows.channel}: rows {rows.first_row} to {rows.last_row} of {files}"
            yield paragraph(words, 4, "  ")


def _reading(one: ReadingView) -> Iterator[str]:
    if one.sure == "ruled out":
        why = next((each for each in one.clauses if each.seen == "no"), None)
        because = f": {why.sign}, no ({why.words})" if why is not None else ""
        yield paragraph(f"{one.name}: ruled out{because}", 4, "")
        return
    yield paragraph(f"{one.name}: {one.sure}")
    for each in one.clauses:
        yield paragraph(f"{each.sign}: {each.seen} ({each.words})", 6, "    ")
    yield paragraph(f"Look next: {one.next}", 6, "    ")
