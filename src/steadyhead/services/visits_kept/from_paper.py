"""Results written on the paper plan, typed in later: each with when it was read, by whom, with which gauge.

What can be used is taken in row by row; what cannot is named and stays with the person. The judge goes by the
time it happened; when it was typed, and by whom, stands beside it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from pydantic import BaseModel, ConfigDict

from steadyhead.errors import InputError, InputErrors
from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import Entry
from steadyhead.register import Register
from steadyhead.services.entering.book import Book
from steadyhead.services.entering.local_time import Which, comes_twice, local, zone_of, zone_words
from steadyhead.services.entering.making import TYPED_WITHIN, Stamp, made
from steadyhead.services.entering.service import drafts
from steadyhead.services.plan_files import read_plan_file
from steadyhead.services.running import JudgedRun, judge_run
from steadyhead.services.stations.head import StationHead
from steadyhead.services.visits_kept.asking import AskedView, asked_at, do_words, gauge_words
from steadyhead.services.visits_kept.gauges import days_known
from steadyhead.services.visits_kept.judged import EntryView, entry_views
from steadyhead.services.visits_kept.run_rows import files_of, one_run
from steadyhead.services.visits_kept.runs import take_in
from steadyhead.services.visits_kept.showing import entries_view
from steadyhead.services.visits_kept.views import RunView
from steadyhead.units import METRIC, UnitSet
from steadyhead.visits.texts import say

ARRIVED, CHOSEN, DONE = "@arrived", "@choice", "@done"
"""Rows that are no answers: when work began on site, what was chosen, that a step was done as written."""
OFF = "not on this way"


class Shown(BaseModel):
    """Base of what is shown."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class SheetStep(Shown):
    """A step as the paper has it: what is asked, what can be chosen, and what was typed in of it so far."""

    id: str
    title: str
    state: str
    do: tuple[str, ...]
    asked: tuple[AskedView, ...]
    choices: tuple[tuple[str, str], ...]
    noted: tuple[EntryView, ...]


class SheetLine(Shown):
    """A step in the order of the paper, and how many entries it has."""

    id: str
    title: str
    state: str
    entries: int


class SheetView(Shown):
    """The page on which results are typed in from paper.

    step: the one shown; before, after: steps beside it in the order of the paper, empty at the ends. begun:
    when the visit began, as its entries say; begun_words, began_words: its day, and its day and hour by the
    clocks of the zone, in words; zone: of the times typed, and how its clocks stood, in words;
    comes_twice: they go back on that day or the next.
    """

    station: StationHead
    run: RunView
    step: SheetStep
    before: str
    after: str
    steps: tuple[SheetLine, ...]
    persons: tuple[str, ...]
    instruments: tuple[str, ...]
    begun: str
    begun_day: str
    begun_words: str
    began_words: str
    zone: str
    zone_words: str
    comes_twice: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One result as it stands on paper.

    name: of what is asked, or `ARRIVED`, `CHOSEN`, `DONE`; value, flow, stood, moved: as typed; day, clock,
    which: when, by the clock on the wall; who: who read it; gauge: instrument it was read with.
    """

    name: str
    value: str
    day: str
    clock: str
    which: Which = ""
    who: str = ""
    gauge: str = ""
    flow: str = ""
    stood: str = ""
    moved: str = ""


@dataclass(frozen=True, slots=True)
class Typed:
    """What became of the rows of a step: how many entries came of them, and what was not taken, by row."""

    count: int
    rows: tuple[str, ...]
    refused: tuple[tuple[str, InputError], ...]


def sheet_view(
    register: Register, key: str, run: str, step: str = "", zone: str = "UTC", units: UnitSet = METRIC
) -> SheetView:
    """Return a step of the plan as the page on which it is typed in.

    step: empty for the first that is not done. zone: of the times that will be typed.

    Raises
    ------
    NotKept
        No such run.
    InputError
        No such step, or no such zone.
    """
    shown = entries_view(register, key, run, 1, units)
    with register.reading() as connection:
        of = one_run(connection, key, run)
        plan, entries = files_of(connection, of)
        days = days_known(connection, key)
    judged = judge_run(plan, entries)
    fresh = gauge_words(judged.procedure, days, units, datetime.now(UTC).date())
    lines = list(_lines(judged, units))
    at = _at(judged, lines, step)
    noted = tuple(one for one in entry_views(plan, entries, units) if one.step == lines[at].id)
    begun = _begun(judged.ledger.of_run(judged.judgement.run).standing)
    book = Book.of(read_plan_file(plan), entries, "entries")
    tz = zone_of(zone)
    there = begun.astimezone(tz) if begun else datetime.now(tz)
    return SheetView(
        station=shown.station,
        run=shown.run,
        step=_step(judged, lines[at], noted, units, fresh),
        before=lines[at - 1].id if at > 0 else "",
        after=lines[at + 1].id if at + 1 < len(lines) else "",
        steps=tuple(lines),
        persons=tuple(book.persons),
        instruments=tuple(book.instruments),
        begun=begun.isoformat(timespec="minutes") if begun else "",
        begun_day=there.date().isoformat(),
        begun_words=f"{there:%-d %b %Y}",
        began_words=f"{there:%-d %b %Y, %H:%M}" if begun else "",
        zone=tz.key,
        zone_words=zone_words(there, tz.key),
        comes_twice=comes_twice(there.date(), tz.key),
    )


def _at(run: JudgedRun, lines: Sequence[SheetLine], step: str) -> int:
    ids = [one.id for one in lines]
    wanted = step or next((one.id for one in lines if one.id in run.judgement.next), ids[0])
    if wanted not in ids:
        known = wanted in {node.id for node in run.procedure.nodes}
        problem = "is not on the way that was chosen." if known else "is no step of this plan."
        raise InputError("step", f"{wanted!r:.40} {problem}", "Pick one of the list.")
    return ids.index(wanted)


def _lines(run: JudgedRun, units: UnitSet) -> Iterator[SheetLine]:
    standing = [one.node for one in run.ledger.of_run(run.judgement.run).standing]
    for node in run.procedure.nodes:
        state = run.judgement.step(node.id).state
        if state != OFF:
            yield SheetLine(
                id=node.id, title=say(node.title, units), state=state, entries=standing.count(node.id)
            )


def _step(
    run: JudgedRun,
    line: SheetLine,
    noted: tuple[EntryView, ...],
    units: UnitSet,
    fresh: Mapping[str, str],
) -> SheetStep:
    node = run.procedure.node(line.id)
    options = [choice for choice in run.procedure.choices if choice.id == node.id]
    return SheetStep(
        id=node.id,
        title=line.title,
        state=line.state,
        do=do_words(node, units, fresh),
        asked=tuple(asked_at(run, node, units)),
        choices=tuple((name, say(words, units)) for one in options for name, words, _ in one.options),
        noted=noted,
    )


def _begun(standing: Sequence[Entry]) -> datetime | None:
    """Return when a visit began: its first entry, or when somebody arrived, whichever was earlier."""
    told = [
        one.clock
        for one in standing
        if one.kind == "run" or (one.kind == "action" and one.payload.get("do") == "arrive")
    ]
    return min(told, default=None)


def type_in(
    register: Register,
    key: str,
    run: str,
    step: str,
    rows: Sequence[Row],
    zone: str,
    who: str,
    *,
    ordered: bool = False,
    now: datetime | None = None,
) -> Typed:
    """Take the results of a step in, each for the time it was read; a row that cannot be used stops no other.

    Parameters
    ----------
    rows
        In the order of the paper.
    zone
        Of their times.
    who
        Who types: whom the chain names, and what the entries say beside who read.
    ordered
        The times were not in the order of the rows, and it was so.
    now
        When it is typed; the clock of this machine where left out.

    Raises
    ------
    NotKept
        No such run.
    InputError
        No such zone.
    """
    zone_of(zone)
    with register.reading() as connection:
        plan, content = files_of(connection, one_run(connection, key, run))
    stored = read_plan_file(plan)
    begun = _begun(Book.of(stored, content, "entries").ledger.standing)
    clock = now or datetime.now().astimezone()
    fresh: list[Entry] = []
    refused: list[tuple[str, InputError]] = []
    taken: list[str] = []
    last: datetime | None = None
    for row in rows:
        book = Book.of(stored, content, "entries")
        try:
            when = _when(row, zone, clock)
            _holds(row, when, None if row.name == ARRIVED else begun, None if ordered else last)
            stamp = Stamp(row.who.strip(), f"paper by {who}"[:60], when.isoformat(), who)
            made_ = made(book, drafts(book, _words(step, row)), stamp)
        except InputError as problem:
            refused.append((row.name, problem))
            continue
        except InputErrors as problems:
            refused += [(row.name, one) for one in problems.errors]
            continue
        last = when
        fresh += made_
        taken.append(row.name)
        content += dump(made_).split(b"\n", 1)[1]
        if row.name == ARRIVED:
            begun = when if begun is None else min(begun, when)
    if fresh:
        take_in(register, key, run, dump(fresh), who)
    return Typed(len(fresh), tuple(taken), tuple(refused))


def _when(row: Row, zone: str, now: datetime) -> datetime:
    if not row.clock.strip():
        raise InputError("time", "is missing.", "Write when it was read, as the paper says.")
    found = local(row.day, row.clock, zone, row.which)
    ahead = found - now
    if ahead > timedelta(seconds=TYPED_WITHIN):
        problem = f"{found:%-d %b %Y, %H:%M} lies {_span(ahead)} in the future."
        raise InputError("time", problem, "Correct day or time, or the zone of the page.")
    return found


def _holds(row: Row, when: datetime, begun: datetime | None, last: datetime | None) -> None:
    """Refuse a time before the visit began, or before the row above."""
    slack = timedelta(seconds=TYPED_WITHIN)
    if begun is not None and when < begun - slack:
        there = begun.astimezone(when.tzinfo)
        problem = f"{when:%-d %b %Y, %H:%M} lies before the visit's begin, {there:%-d %b %Y, %H:%M}."
        remedy = "Correct it; or where work began earlier, enter first when you arrived on site."
        raise InputError("time", problem, remedy)
    if last is not None and when < last:
        problem = f"{when:%H:%M:%S} lies {_span(last - when)} before the row above."
        raise InputError("time", problem, "Correct one of them, or tick that it was in this order.")


def _span(gone: timedelta) -> str:
    minutes = gone.total_seconds() / 60.0
    if minutes < 1.0:
        return f"{gone.total_seconds():.0f} s"
    if minutes < 120.0:
        return f"{minutes:.0f} min"
    return f"{minutes / 60.0:.0f} h" if minutes < 2880.0 else f"{minutes / 1440.0:.0f} days"


def _words(step: str, row: Row) -> list[str]:
    """Return a row in the words of ``run enter``."""
    if row.name == ARRIVED:
        return ["do", "arrive"]
    if row.name == DONE:
        return [step, "done"]
    if row.name == CHOSEN:
        return [step, "choose", row.value]
    beside = {"with": row.gauge, "at_flow": row.flow, "stood": row.stood, "moved": row.moved}
    more = [f"{name}={text.strip()}" for name, text in beside.items() if text.strip()]
    return [step, f"{row.name}={row.value.strip()}", *more]


def spread(rows: Sequence[Row], day: str, who: str, gauge: str, pressures: Collection[str] = ()) -> list[Row]:
    """Return rows with what was left empty filled from the head of the page, a time from the row above.

    pressures: names of the rows that the gauge of the head belongs to.
    """
    found: list[Row] = []
    for row in rows:
        above = found[-1] if found else None
        follows = above is not None and not row.clock.strip()
        found.append(
            replace(
                row,
                day=row.day.strip() or (above.day if above is not None and follows else day),
                clock=above.clock if above is not None and follows else row.clock.strip(),
                which=above.which if above is not None and follows and not row.which else row.which,
                who=row.who.strip() or who,
                gauge=row.gauge.strip() or (gauge if row.name in pressures else ""),
            )
        )
    return found
