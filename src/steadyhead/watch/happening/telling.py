"""All events of a station in order, each told once: what follows from a trip is no event of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from steadyhead.records.logger import Context
from steadyhead.watch.defects import long as long_data
from steadyhead.watch.defects.judging import Frames, Judged, judge
from steadyhead.watch.defects.series import Series, series, told_apart
from steadyhead.watch.happening import (
    blind,
    closed_zone,
    draws,
    levels,
    long,
    nights,
    over_trip,
    raised,
    shutting,
    straining,
    supply,
    surges,
    swings,
    trips,
)
from steadyhead.watch.happening.believing import Scene, scene
from steadyhead.watch.happening.event import Event, Happening, NotSeen, Told
from steadyhead.watch.happening.straining import Resistance
from steadyhead.watch.happening.usual import Spans, about
from steadyhead.watch.happening.windows import LENGTH, SHORTER, by_windows
from steadyhead.watch.pieces import NONE, Pieces
from steadyhead.work import Progress, no_progress

HOUR = 3600.0
BEFORE, AFTER_TRIP, AFTER_LOSS, AFTER_DRAW = 0.5 * HOUR, 3.0 * HOUR, 2.0 * HOUR, HOUR
"""What leads to an event and follows from it is looked at no further. Own estimates. [s]"""


def tell(
    channels: Frames,
    context: Context,
    judged: Judged | None = None,
    pieces: Pieces = NONE,
    progress: Progress = no_progress,
) -> Told:
    """Tell what happened at one station from the channels of its loggers.

    The data are judged first (`judged`: where that is done already); refused samples take no part. A long
    record is read in portions of days; `pieces`: where those lie that were looked at before.
    """
    found = judge(channels, context) if judged is None else judged
    if long_data.is_long(channels):
        record = long.Record(channels, found, pieces, progress)
        return _told(record, record.slow, context)
    return tell_series([series(channel, frame) for channel, frame in channels], context, found)


def set_aside(told: Told) -> list[tuple[float, float]]:
    """Return the spans [s since 1970] of trips and lost supply with what follows: no measure counts them."""
    tripped = [h for h in told.happenings if h.code in (Event.TRIP, Event.TRIPPED_AGAIN)]
    lost = [h for h in told.happenings if h.code is Event.SUPPLY_LOSS]
    return about(tripped, BEFORE, AFTER_TRIP) + about(lost, BEFORE, AFTER_LOSS)


def tell_series(every: Sequence[Series], context: Context, judged: Judged) -> Told:
    """Tell what happened from channels already held as arrays."""
    now = scene(told_apart(every), judged.episodes)
    return _told(_Short(now), now.slow(), context)


@dataclass(frozen=True, slots=True)
class _Short:
    """A record held as a whole: its short events are found where they are asked for."""

    fast: Scene

    @property
    def not_seen(self) -> list[NotSeen]:
        return blind.of(self.fast)

    def trips(self, context: Context) -> list[Happening]:
        return trips.found(self.fast, context)

    def surges(self, line: Resistance | None, aside: Spans) -> list[Happening]:
        return surges.found(self.fast, line, aside)

    def hunting(self, aside: Spans) -> list[Happening]:
        return swings.found(self.fast, aside)


def _told(fast: _Short | long.Record, slow: Scene, context: Context) -> Told:
    tripped = fast.trips(context)
    switched = [h for h in tripped if trips.SWITCH in h.evidence]
    fed = closed_zone.backfeed(slow, about(switched, BEFORE, AFTER_TRIP))
    tripped = closed_zone.without_fed(tripped, fed)
    aside = about(tripped, BEFORE, AFTER_TRIP) + about(fed, BEFORE, AFTER_LOSS)
    line = straining.of_line(slow.inlet, slow.flow, aside) if slow.inlet and slow.flow else None
    lost = supply.found(slow, line, aside)
    aside += about(lost, BEFORE, AFTER_LOSS)
    changed = levels.demands(slow, aside)
    warmed = closed_zone.thermal(slow, aside)
    drawn = draws.found(slow, changed, aside)
    sharp = fast.surges(line, aside)
    aside += about(drawn, 0.5 * BEFORE, AFTER_DRAW)
    aside += about(warmed, BEFORE, HOUR)
    moved = levels.settings(slow, aside)
    crept = by_windows(slow, lambda part: nights.found(part, context, aside))
    blinded = by_windows(slow, lambda part: straining.found(part, aside), LENGTH, SHORTER)
    shut = by_windows(slow, lambda part: shutting.found(part, aside))
    hunted = fast.hunting(aside)
    hidden = blind.of_strainer(slow, line, aside) + nights.untold(slow, context, aside, crept)
    out: list[Happening] = [*tripped, *lost, *drawn, *sharp, *moved, *changed, *crept, *blinded, *hunted]
    over = over_trip.found(slow, context, tripped)
    lifted = raised.found(slow, aside, about(hunted, 0.0, 0.0))
    out += [*fed, *warmed, *shut, *over]
    out += [one for one in lifted if not any(it.start <= one.end and it.end >= one.start for it in over)]
    return Told(tuple(sorted(out, key=lambda h: (h.start, h.code))), (*fast.not_seen, *hidden))
