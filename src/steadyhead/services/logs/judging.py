"""Judge a period of a station's logger data: defects of the data, events, measures; kept as a record."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from datetime import UTC, datetime

from steadyhead.errors import InputError
from steadyhead.records.logger import Channel, Context
from steadyhead.register import Register
from steadyhead.register.logs import LogsFolder, channels_of, manifests, stretches
from steadyhead.register.logs.imports import moment_text
from steadyhead.register.tables import record
from steadyhead.services.logs.against import against_of
from steadyhead.services.logs.heights import heights_of
from steadyhead.services.logs.held import held_before
from steadyhead.services.logs.importing import check_period
from steadyhead.services.logs.judged import KIND, JudgedView, judgement, judgements_of, meets
from steadyhead.services.logs.known import all_known
from steadyhead.services.logs.limits import held_of
from steadyhead.services.logs.measuring import left_out, measures_of
from steadyhead.services.logs.pieces import pieces_of
from steadyhead.services.logs.standing import standings
from steadyhead.services.logs.views import (
    episode_view,
    event_view,
    not_seen_view,
    text,
)
from steadyhead.services.logs.visited import visits_of
from steadyhead.services.names import one_line
from steadyhead.services.stations.gist import renew
from steadyhead.station.canonical import canonical
from steadyhead.watch.ahead import look_ahead
from steadyhead.watch.defects.judging import Frames, judge
from steadyhead.watch.defects.long import Frame, extents, is_long
from steadyhead.watch.happening import tell
from steadyhead.watch.pieces import NONE, Pieces
from steadyhead.watch.stored import Stored
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

AT_ONCE = 200_000
"""Samples, all channels together, up to which a period is judged while a page waits; more are a job."""
STAGES = {
    "samples read": (0.0, 0.7), "defects of the data": (0.7, 0.75), "events of the station": (0.75, 0.85),
    "measures, day by day": (0.85, 1.0),
}  # fmt: skip
"""Shares of the work that are done where each of its stages begins and ends. Own estimate."""
SHORT_STAGES = STAGES | {
    "samples read": (0.0, 0.05), "defects of the data": (0.05, 0.55), "events of the station": (0.55, 0.85),
}  # fmt: skip
"""The same of a record that is judged in one piece. Own estimate."""


class Stopped(InputError):
    """Somebody stopped the judgement."""


def judge_period(
    register: Register,
    logs: LogsFolder,
    key: str,
    start: datetime | None = None,
    end: datetime | None = None,
    who: str = "",
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
    id_: str = "",
) -> JudgedView:
    """Judge the logger data of a station between two times; both left out: all there is.

    Portions and days that nothing touched since they were worked out are not worked out again, whoever
    judged; a judgement that is cut off goes on from them.

    who: by whom it is kept as a record beside the data, which never change; empty: it is not kept.
    id_: of that record; one that is kept under it already stays.

    Raises
    ------
    NotKept
        No such station.
    InputError
        No samples in the period.
    Stopped
        `cancel` said stop: nothing is kept but what is finished of it.
    """
    who = one_line("who", who) if who else ""
    _heeded(progress, cancel, STAGES)(0, 1, "samples read")
    with register.reading() as connection:
        told_of = manifests(connection, key)
    check_period(register, key, start, end)
    channels: list[tuple[Channel, Frame]] = [
        (channel, Stored(parts)) for channel, parts in stretches(register, logs, key, start, end)
    ]
    if not channels:
        raise InputError(
            "period",
            f"holds no samples of {key}.",
            f"steadyhead logs list {key} says when there are.",
        )
    known, bounds = all_known(register, key)
    heights, every = heights_of(register, key), [channel for channel, _ in channels]
    known, bounds = heights.known(known, every), heights.bounds(bounds, every)
    against = against_of(register, key, channels)
    context = Context(
        zone=channels[0][0].zone, known=known, visits=visits_of(register, key, *_span(channels))
    )
    held = held_before(register, logs, key, start, channels)
    # What holds from before is no part of the period's files: pieces would not know it again.
    pieces: Pieces = NONE if held else pieces_of(register, logs, key, (start, end))
    counted, channels = channels, [(channel, held.get(channel.id, frame)) for channel, frame in channels]
    heeded = _heeded(progress, cancel, STAGES if is_long(channels) else SHORT_STAGES)
    look_ahead(channels, context, pieces, heeded)
    heeded(0, 1, "defects of the data")
    found = judge(channels, context, pieces, heeded)
    heeded(0, 1, "events of the station")
    told = tell(channels, context, found, pieces, heeded)
    heeded(0, 1, "measures, day by day")
    names = tuple(channel.id for channel, _ in channels)
    first, last = _ends(channels)
    view = JudgedView(
        station=key, start=text(start), end=text(end), first=first, last=last, channels=names,
        judged=found.judged,
        imports=tuple(number for number, one in told_of if meets(one.first, one.last, first, last)),
        standings=standings(counted, found),
        episodes=tuple(episode_view(one) for one in found.episodes),
        happenings=tuple(event_view(one) for one in told.happenings),
        not_seen=tuple(not_seen_view(one) for one in told.not_seen),
        measures=measures_of(channels, context, found, told, bounds, pieces, heeded, against),
        not_measured=left_out(bounds, channels, against),
        words=_words(len(found.episodes), [name for name in names if name not in found.judged]),
    )  # fmt: skip
    return keep_judgement(register, view, who, id_) if who else view


def _heeded(progress: Progress, cancel: Cancel, stages: Mapping[str, tuple[float, float]]) -> Progress:
    """Return progress over all stages, which ends the work where somebody stops it."""

    def tell_on(done: int, total: int, what: str) -> None:
        if cancel():
            raise Stopped(
                "judgement", "was stopped; nothing is kept of it.", "Judge again: it goes on from there."
            )
        start, end = stages.get(what, (0.0, 1.0))
        progress(round(1000.0 * (start + (end - start) * done / max(total, 1))), 1000, what)

    return tell_on


def rows_in(register: Register, key: str, start: datetime | None, end: datetime | None) -> int:
    """Return about how many samples of a station lie in a period, all channels together; reads none."""
    low = -math.inf if start is None else start.timestamp()
    high = math.inf if end is None else end.timestamp()
    with register.reading() as connection:
        parts = [part for one in channels_of(connection, key) for _, part in one.parts]
    rows = 0.0
    for one in parts:
        first, last = one.first / 1e6, one.last / 1e6
        meet = min(last, high) - max(first, low)
        if meet >= 0.0:
            rows += one.count * (meet / (last - first) if last > first else 1.0)
    return round(rows)


def _span(channels: Frames) -> tuple[datetime, datetime]:
    """Return the times of the first and of the last sample."""
    found = extents(channels)
    first, last = min(one.first for one in found), max(one.last for one in found)
    return datetime.fromtimestamp(first, UTC), datetime.fromtimestamp(last, UTC)


def _ends(channels: Frames) -> tuple[str, str]:
    first, last = _span(channels)
    return moment_text(round(first.timestamp() * 1e6)), moment_text(round(last.timestamp() * 1e6))


def _words(count: int, unseen: list[str]) -> str:
    words = f"{count} defects of the data are seen."
    if count == 1:
        words = "1 defect of the data is seen."
    if not count:
        words = "No defect of the data is seen in it. Not seen is not proved."
    if unseen:
        words += f" Not judged, and so unseen: {', '.join(unseen)}."
    return words


def keep_judgement(register: Register, view: JudgedView, who: str, id_: str = "") -> JudgedView:
    """Keep a judgement: the data stay as they are, and so does every judgement before.

    id_: of the record; one that is kept under it already stays.
    """
    who = one_line("who", who)
    if id_ and any(one.id == id_ for one in judgements_of(register, view.station)):
        return judgement(register, view.station, id_)
    held = held_of(register, view)
    with register.writing(who) as writing:
        made = view.model_copy(update={"at": writing.at, "who": who, "id": id_ or writing.new_id()})
        title = f"Logger data judged, {view.first[:10]} to {view.last[:10]}"
        about = {name: getattr(made, name) for name in ("first", "last", "words")}
        about |= {"judged": list(view.judged), "imports": list(view.imports), "held": held}
        about["events"] = list(Counter(one.code for one in view.happenings).items())
        row = {
            "id": made.id, "station": view.station, "kind": KIND,
            "name": f"logger-judged-{view.first[:10]}-{made.id[:8]}.json", "title": title,
            "media": "application/json", "content": writing.blob(canonical(made.model_dump(mode="json"))),
            "at": writing.at, "who": who, "about": canonical(about).decode(),
        }  # fmt: skip
        writing.add(record, row, "logger data judged", view.station, title=title)
        renew(writing, register, view.station)
    return made
