"""Tell the event about a time in full: steps with their uncertainty, signature, what else it may be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from steadyhead.records.logger import Context
from steadyhead.watch.defects import apart
from steadyhead.watch.defects.episode import Code, Episode
from steadyhead.watch.defects.judging import Frames, Judged
from steadyhead.watch.defects.saying import lasting
from steadyhead.watch.defects.series import Series, series, told_apart
from steadyhead.watch.happening.believing import Scene, scene, scene_of
from steadyhead.watch.happening.event import Event, Happening, Told
from steadyhead.watch.incident.incident import Incident, Reading
from steadyhead.watch.incident.seen import seen_of
from steadyhead.watch.incident.signatures import readings
from steadyhead.watch.incident.signs import Span, span_of, steps_of

NEAR = timedelta(hours=6)
"""An event this far from the time asked for is still the one meant. Own estimate."""
BEFORE, AFTER = timedelta(days=14), timedelta(days=2)
AROUND = (BEFORE, AFTER)
"""What is read before and after the time asked for, so that what is usual is known."""
CLOCKS = (Code.CLOCK_OFFSET, Code.CLOCK_DRIFT)
FIRST = (Event.TRIP, Event.OVER_TRIP, Event.BURST, Event.SUPPLY_LOSS, Event.SURGE, Event.RAISED)
"""Where several events are equally near, the one meant."""
AT = timedelta(minutes=30)
"""A sudden event this far from the time asked for is at it; what lasts for days meets any time."""


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
    now, apart_words = _by_one_clock(scene(told_apart(every), judged.episodes), event)
    span = span_of(event)
    zone = context.zone or next((one.channel.zone for one in every), "")
    near = frozenset(one.code for one in told.happenings)
    rows = readings(seen_of(now, span, context, zone, near))
    return Incident(
        event, tuple(steps_of(now, span)), rows, (*apart_words, *_clocks(every, judged.episodes, span)),
        told.not_seen, said_of(rows),
    )  # fmt: skip


def _by_one_clock(now: Scene, event: Happening) -> tuple[Scene, tuple[str, ...]]:
    """Return the channels of a surge by the inlet's clock, and how far the outlet's logger stood apart."""
    inlet, outlet = now.inlet, now.outlet
    if event.code is not Event.SURGE or inlet is None or outlet is None:
        return now, ()
    found = apart.between(inlet, outlet)
    if found is None:
        return now, ()
    every = [
        s if apart.of_two_loggers(s.channel, outlet.channel) else replace(s, t=s.t - found.lag)
        for s in now.every
    ]
    sure = "likely" if found.number < 2 else f"by {found.number} excursions of inlet and outlet"
    words = f"The {found.words} ({sure}); the outlet's steps are told by the inlet's clock."
    return scene_of(every, now.unsure), (words,)


def _meant(happenings: Sequence[Happening], when: datetime) -> Happening | None:
    def away(one: Happening) -> timedelta:
        return max(one.start - when, when - one.end, timedelta(0))

    def rank(one: Happening) -> tuple[timedelta, bool, timedelta, int, datetime]:
        off, is_sudden = away(one), one.code in FIRST
        place = FIRST.index(one.code) if is_sudden else len(FIRST)
        return (timedelta(0) if is_sudden and off <= AT else off, not is_sudden, off, place, one.start)

    near = [one for one in happenings if away(one) <= NEAR and one.code is not Event.TRIPPED_AGAIN]
    return min(near, key=rank, default=None)


def said_of(rows: Sequence[Reading]) -> str:
    """Return what the readings say together, in a sentence."""
    if not rows:
        return "It comes over days: the table of signatures, which is of sudden events, says nothing of it."
    likely = [one for one in rows if one.sure == "likely"]
    if likely:
        return f"It looks like this: {likely[0].name} (likely, by its signs; not proved)."
    left = [one.name for one in rows if one.sure == "possible" and one.seen]
    if len(left) == 1:
        return f"Signs are seen of one alone: {left[0]} (possible; not proved)."
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
