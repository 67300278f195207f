"""The paper of one event."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from steadyhead import __version__
from steadyhead.errors import InputError
from steadyhead.reports import incident as report
from steadyhead.services.logs.spoken import told_in
from steadyhead.services.logs.telling import IncidentView, ReadingView, RowsView, StepView
from steadyhead.services.page_words import to_second
from steadyhead.units import METRIC, UnitSet
from steadyhead.watch.counting import counted

SHORT = 12


def incident_paper(view: IncidentView, day: date, units: UnitSet = METRIC) -> bytes:
    """Return an event as a PDF. day: of the paper; units: of its readers.

    Raises
    ------
    InputError
        No event is told.
    """
    if view.event is None:
        raise InputError(
            "event", "is not told about that time.", "Name another time; see the list of events."
        )
    view = told_in(view, units)
    assert view.event is not None
    told = report.Told(
        key=view.station,
        name=view.name,
        when=shown(view.event.start),
        event=f"{view.event.code.capitalize()}, {shown(view.event.start)} to {shown(view.event.end)}. "
        f"{view.event.words}",
        words=view.words,
        caution=view.caution,
        steps=[_step(one, view.event.start) for one in view.steps],
        readings=[_reading(one) for one in view.readings if one.sure != "ruled out"],
        ruled_out=[_out(one) for one in view.readings if one.sure == "ruled out"],
        rests=[*view.clocks, *(f"Data: {one.words}" for one in view.defects)],
        others=[
            f"{one.code.capitalize()}, {shown(one.start)} to {shown(one.end)}. {one.words}"
            for one in view.others
        ],
        not_seen=[one.words for one in view.not_seen],
        rows=_rows([one for one in view.rows if one.samples]),
    )
    return report.pdf(told, day=day, version=__version__)


def shown(moment: str) -> str:
    """Return a time of a view as it stands on a page: day and clock, to the second.

    Examples
    --------
    >>> shown("2027-03-06T12:02:00Z")
    '6\\xa0Mar 2027, 12:02:00'
    """
    return to_second(moment)


def _step(one: StepView, start: str) -> report.StepLine:
    after, by = (at[11:19] if at[:10] == start[:10] else shown(at) for at in (one.after, one.by))
    return report.StepLine(after, by, one.words, one.channel, one.order)


def _reading(one: ReadingView) -> report.ReadingLine:
    signs = tuple(f"{each.sign}: {each.seen} ({each.words})" for each in one.clauses)
    return report.ReadingLine(one.name, one.sure, signs, one.next)


def _out(one: ReadingView) -> str:
    why = next((each for each in one.clauses if each.seen == "no"), None)
    return one.name if why is None else f"{one.name} ({why.sign}: no)"


def _rows(every: Sequence[RowsView]) -> list[str]:
    """Return where the samples come from; channels of the same rows are told together."""
    found: dict[str, list[str]] = {}
    for one in every:
        files = ", ".join(f"{each[:SHORT]}…" for each in one.sources)
        rows = f"{counted(one.samples, 'sample')}, rows {one.first_row} to {one.last_row} of {files}"
        found.setdefault(rows, []).append(one.channel)
    return [f"{'; '.join(names)}: {'each ' if len(names) > 1 else ''}{rows}" for rows, names in found.items()]
