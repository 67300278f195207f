"""Tell the event about a time in full: steps with their uncertainty, signature, what else it may be."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from steadyhead.records.logger import Context
from steadyhead.watch.defects.episode import Code, Episode
from steadyhead.watch.defects.judging import Frames, Judged
from steadyhead.watch.defects.saying import lasting
from steadyhead.watch.defects.series import Series, series, told_apart
from steadyhead.watch.happening.believing import scene
from steadyhead.watch.happening.event import Event, Happening, Told
from steadyhead.watch.incident.incident import Incident, Reading
from steadyhead.watch.incident.signatures import readings, seen_of
from steadyhead.watch.incident.signs import Span, span_of, steps_of

NEAR = timedelta(hours=6)
"""An event this far from the time asked for is still the one meant. Own estimate."""
BEFORE, AFTER = timedelta(days=14), timedelta(days=2)
AROUND = (BEFORE, AFTER)
"""What is read before and after the time asked for, so that what is usual is known."""
CLOCKS = (Code.CLOCK_OFFSET, Code.CLOCK_DRIFT)
FIRST = (Event.TRIP, Event.BURST, Event.SUPPLY_LOSS, Event.SURGE)
"""Where several events are equally near, the one meant."""


def incident(
    channels: Frames, context: Context, when: datetime, told: Told, judged: Judged
) -> Incident | None:
    """Tell the event about a time; None: none is told within six hours of it.

    told, judged: what `happening.tell` and `defects.judging.judge` say of the same channels.
    """
    event = _meant(told.happenings, when)
    if event is None:
        return None
    every = [series(channel, frame) for channel, frame in channels]
    now = scene(told_apart(every), judged.episodes)
    span = span_of(event)
    zone = context.zone or next((one.channel.zone for one in every), "")
    near = frozenset(one.code for one in told.happenings)
    rows = readings(seen_of(now, span, context, zone, near))
    return Incident(
        event, tuple(steps_of(now, span)), rows, tuple(_clocks(every, judged.episodes, span)), told.not_seen,
        _words(rows),
    )  # fmt: skip


def _meant(happenings: Sequence[Happening], when: datetime) -> Happening | None:
    def away(one: Happening) -> timedelta:
        return max(one.start - when, when - one.end, timedelta(0))

    short = [one for one in happenings if away(one) <= NEAR and one.code is not Event.TRIPPED_AGAIN]
    order = {code: place for place, code in enumerate((*FIRST, *Event))}
    return min(short, key=lambda one: (away(one), order[one.code], one.start), default=None)


def _words(rows: Sequence[Reading]) -> str:
    if not rows:
        return "It comes over days: the table of signatures, which is of sudden events, says nothing of it."
    likely = [one for one in rows if one.sure == "likely"]
    if likely:
        return f"It looks like this: {likely[0].name} (likely, by its signs; not proved)."
    left = [one.name for one in rows if one.sure == "possible" and one.seen]
    if left:
        return f"Its signs do not tell these apart: {', '.join(left[:3])}."
    return "No row of the table of signatures fits what is recorded."


def _clocks(every: Sequence[Series], episodes: Sequence[Episode], span: Span) -> list[str]:
    out = []
    corrected: set[str] = set()
    for one in episodes:
        if one.code in CLOCKS and one.channels and one.magnitude is not None:
            corrected.update(one.channels)
            names = ", ".join(one.channels)
            out.append(f"The clock of {names} was put right by {lasting(one.magnitude)} ({one.confidence}).")
    for one in episodes:
        meets = one.start.timestamp() < span.end and one.end.timestamp() > span.start
        if one.code is Code.CLOCK_WHILE and one.magnitude is not None and meets:
            names = ", ".join(one.channels)
            out.append(f"The clock of {names} is off by {lasting(one.magnitude)} then; it is left out.")
    sources = [set(one.channel.source_sha256) for one in every if one.id not in corrected]
    if sources and not set.intersection(*sources):
        out.append("Channels come from different files; nobody compared the clocks of their loggers.")
    return out
