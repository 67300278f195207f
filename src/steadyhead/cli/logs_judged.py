"""What ``steadyhead logs judge`` does once its words are parsed, and how it is printed."""

from __future__ import annotations

import json as plain_json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from steadyhead.cli.commands import units_for
from steadyhead.cli.logs_text import FINE, OPEN, opened
from steadyhead.cli.progress import watched
from steadyhead.cli.showing import paragraph, show_json
from steadyhead.cli.streams import put_file
from steadyhead.errors import InputError

if TYPE_CHECKING:
    from steadyhead.services.logs.judged import JudgedView
    from steadyhead.services.logs.judging_many import One
    from steadyhead.services.logs.measuring import MeasureView
    from steadyhead.services.logs.page import HeldView
    from steadyhead.units import UnitSet
    from steadyhead.work import Executor

NONE = 2


def do_judge(
    station: str, span: Sequence[str], by: str, where: tuple[str, str], json: bool, *, tables: bool = False,
    units: str = "",
) -> int:  # fmt: skip
    """Judge a period of a station's logger data.

    tables: print the curves of measures, too; units: a choice as typed, JSON and what is kept stay in SI.
    """
    from steadyhead.services.logs.judging import judge_period
    from steadyhead.services.logs.limits import held_of
    from steadyhead.services.logs.page import held_views
    from steadyhead.services.logs.seen import edges_of
    from steadyhead.services.logs.spoken import told_in
    from steadyhead.services.logs.times import moment

    mine = units_for(units)
    start, end = moment("--from", span[0]), moment("--to", span[1])
    with opened(*where) as (register, logs), watched() as shown:
        view = judge_period(register, logs, station, start, end, by, shown, shown.cancel)
        edges = edges_of(register, station)
        held = held_views(held_of(register, view))
    if json:
        show_json(_plain(view, held))
    else:
        told = told_in(view, mine, edges), tuple(told_in(one, mine, edges) for one in held)
        put_file("\n".join(_lines(*told, tables, mine)) + "\n")
    return OPEN if view.episodes else FINE


def do_judge_many(
    stations: tuple[str, ...],
    every: bool,
    span: Sequence[str],
    by: str,
    cluster: str,
    where: tuple[str, str],
    json: bool,
) -> int:
    """Judge a period of the logger data of several stations, here or on a cluster."""
    from steadyhead.services.logs.judging_many import judge_many, with_data
    from steadyhead.services.logs.limits import held_of
    from steadyhead.services.logs.page import held_views
    from steadyhead.services.logs.times import moment

    start, end = moment("--from", span[0]), moment("--to", span[1])
    is_any = is_open = False
    with opened(*where) as (register, logs), _executor(cluster) as executor, watched() as shown:
        keys = with_data(register) if every else tuple(dict.fromkeys(stations))
        if not keys:
            raise InputError(
                "STATION", "is left out, or no station has logger data.", "Name stations, or write --every."
            )
        for one in judge_many(register, logs, keys, (start, end), by, executor, shown, shown.cancel):
            shown.clear()
            is_any |= one.judged is not None
            is_open |= one.judged is not None and bool(one.judged.episodes)
            held = held_views(held_of(register, one.judged)) if one.judged is not None else ()
            if json:
                plain = _plain(one.judged, held) if one.judged is not None else None
                put_file(_as_line({"station": one.station, "judged": plain, "problem": one.problem}))
            else:
                put_file("\n".join(_few_lines(one, held)) + "\n")
    return (OPEN if is_open else FINE) if is_any else NONE


def _plain(view: JudgedView, held: Sequence[HeldView]) -> dict[str, Any]:
    """Return a judgement with what its measures are held against, as JSON has them."""
    return view.model_dump(mode="json") | {"held": [one.model_dump(mode="json") for one in held]}


def _as_line(told: dict[str, Any]) -> str:
    return plain_json.dumps(told, ensure_ascii=False) + "\n"


@contextmanager
def _executor(cluster: str) -> Iterator[Executor | None]:
    """Give the cluster stations are judged on; None: here."""
    if not cluster:
        yield None
        return
    from steadyhead.services.cluster import Cluster

    made = Cluster(cluster, batch=1)
    try:
        yield made
    finally:
        made.close()


def _few_lines(one: One, held: Sequence[HeldView]) -> Iterator[str]:
    view = one.judged
    if view is None:
        yield paragraph(f"{one.station}: not judged. {one.problem}", 4)
        return
    yield paragraph(f"{one.station}, {view.first[:10]} to {view.last[:10]}: {view.words}", 4)
    for defect in view.episodes:
        yield paragraph(f"{defect.start[:16]} to {defect.end[:16]}: {defect.code}", 6, "  ")
    for event in view.happenings:
        yield paragraph(f"{event.start[:16]} to {event.end[:16]}: {event.code}", 6, "  ")
    for each in held:
        if each.crossed:
            yield paragraph(_held(each), 6, "  ")
    if view.id:
        yield paragraph(f"Kept as record {view.id}.", 4, "  ")


def _held(one: HeldView) -> str:
    """Return a measure held against its limit in words: crossed or within, the limit, whose it is."""
    whose, colon, why = one.source.partition(": ")
    because = f" ({why})" if colon else ""
    words = f"{'Crossed' if one.crossed else 'Within'}: {one.words}. {one.limit[0].upper()}{one.limit[1:]}; "
    words += f"{whose}{because}."
    if one.meets:
        words += (
            f" Meets it about {one.meets}, between {one.earliest} and {one.latest}, if it goes on like this."
        )
    return words


def _lines(view: JudgedView, held: Sequence[HeldView], tables: bool, units: UnitSet) -> Iterator[str]:
    for one in view.episodes:
        where = ", ".join(one.channels) or "every channel"
        yield paragraph(f"{one.start} to {one.end}: {one.code}, {where}")
        yield paragraph(f"{one.words} ({one.confidence})", indent=4)
        for ground in one.evidence:
            yield paragraph(ground, indent=6, first="    ")
        yield ""
    yield paragraph(view.words)
    for channel in view.standings:
        parts = [
            f"{count} {word}"
            for word in ("believed", "doubted", "refused", "unseen")
            if (count := getattr(channel, word))
        ]
        yield paragraph(f"{channel.channel}: {', '.join(parts) or 'no sample with a value'}", 4, "  ")
    if view.happenings:
        yield ""
        yield "Events of the station:"
    for event in view.happenings:
        yield paragraph(f"{event.start} to {event.end}: {event.code}. {event.words}", 6, "  ")
    if held:
        yield ""
        yield "Held against limits:"
    for against in held:
        yield paragraph(_held(against), 6, "  ")
    yield ""
    yield "Measures, from believed samples:"
    said = ""
    for measure in view.measures:
        if measure.words != said or measure.value is not None:
            yield from _measure(measure, units)
        if tables:
            yield from _tables(measure, units)
        said = measure.words
    for words in (*view.not_measured, *(one.words for one in view.not_seen)):
        yield paragraph(words, 4, "  ")
    yield ""
    if view.at:
        yield paragraph(f"Kept {view.at} by {view.who} as record {view.id}. The data are as they were.")
    else:
        yield paragraph("Not kept: nobody is named. With --by NAME it is kept as a dated record.")


def _tables(one: MeasureView, units: UnitSet) -> Iterator[str]:
    """Yield the curves of a measure as columns."""
    from steadyhead.services.logs.measure_tables import tables_of

    for table in tables_of(one, units):
        yield f"      {table.caption}:"
        every = (table.heads, *table.rows)
        wide = [max(len(row[at]) for row in every) for at in range(len(table.heads))]
        for row in every:
            cells = (
                cell.ljust(size) if at == 0 else cell.rjust(size)
                for at, (cell, size) in enumerate(zip(row, wide, strict=True))
            )
            yield f"        {'  '.join(cells)}".rstrip()


def _measure(one: MeasureView, units: UnitSet) -> Iterator[str]:
    from steadyhead.services.logs.in_units import in_units

    yield paragraph(one.words, 4, "  ")
    if one.value is None:
        return
    share = f"{one.n_valid} of {one.n_total} samples or minutes, {one.start[:10]} to {one.end[:10]}"
    yield paragraph(f"{one.code}: {in_units(one, units)}; {one.confidence}; {share}", 8, "      ")
    if one.assumptions:
        yield paragraph(f"taken: {'; '.join(one.assumptions)}", 8, "      ")
