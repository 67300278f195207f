"""A year at a glance: for each hour, whether the outlet stood in its band, above, below, or is not seen."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np

from steadyhead.errors import InputError
from steadyhead.records.logger_pictures import (
    ABOVE,
    BELIEVED,
    BELOW,
    BOTH,
    NOTHING,
    UNSEEN,
    WITHIN,
    YearPicture,
)
from steadyhead.register import Register
from steadyhead.register.logs import KeptChannel, LogsFolder
from steadyhead.register.logs.buckets import buckets
from steadyhead.services.logs.heights import heights_of
from steadyhead.services.logs.known import Bounds
from steadyhead.services.logs.seen import bounds_of, said, window
from steadyhead.services.logs.spells import Marks, edges, marks, spells
from steadyhead.services.logs.spoken import spoken
from steadyhead.services.logs.views import View, moment
from steadyhead.services.stations.days import today
from steadyhead.units import METRIC, UnitSet, say
from steadyhead.watch.gauge_height import at_gauge

US = 1_000_000
HOUR, DAY = 3600 * US, 86_400 * US
MINUTE = 60 * US
DAYS = 365
FEWEST = 14
"""Days of a year that has only begun, at least: two weeks. Own estimate."""
BAND = "The station's file states no band of normal running, so there is nothing to hold the outlet against."


class YearView(View):
    """A year by hour: 24 numbers for each day (0 not seen, 1 in the band, 2 above, 3 below, 4 both).

    start, end: days, UTC; a year that is not over ends today, or with its last sample; hours: how many show
    what; not_seen: hours without a believed sample, by reason;
    words: in sentences, the first the gist; before, after: first days of the years beside, empty for none.
    """

    format: str = "steadyhead/logs-year/1"
    station: str
    channel: str
    names: tuple[str, ...]
    start: str
    end: str
    low_pa: float | None
    high_pa: float | None
    hours: tuple[tuple[int, ...], ...]
    counts: dict[str, int]
    not_seen: dict[str, int]
    words: tuple[str, ...]
    before: str
    after: str


def year_view(
    register: Register, logs: LogsFolder, key: str, first: date | None = None, name: str = "",
    units: UnitSet = METRIC,
) -> YearView:  # fmt: skip
    """Return the year of an outlet pressure from a day on; left out: the last year there are samples of.

    Only believed samples count: an hour that holds none is not seen.

    Raises
    ------
    NotKept
        No such station.
    InputError
        No data, or no outlet pressure among them.
    """
    asked = window(register, key, None, None, (name,) if name else ())
    outlets = [one for one in asked.every if one.channel.quantity == "outlet pressure"]
    chosen = asked.chosen[0] if name else next(iter(outlets), None)
    if chosen is None or chosen.channel.quantity != "outlet pressure" or chosen.channel.absolute:
        raise InputError(
            "channel", "of an outlet pressure is not among the data.", "The year shows the outlet alone."
        )
    first = first or _begin(chosen)
    bounds = heights_of(register, key).bounds_at(bounds_of(register, key), chosen.channel)
    start = round(datetime(first.year, first.month, first.day, tzinfo=UTC).timestamp()) * US
    end = _end(chosen, first)
    days = (end - first).days + 1
    hours, reasons, judged = _hours(register, logs, key, chosen, (start, days), bounds)
    words = _words(hours, reasons, bounds, units, judged, start)
    return YearView(
        station=key, channel=chosen.name, names=tuple(one.name for one in outlets), start=first.isoformat(),
        end=end.isoformat(), low_pa=bounds.low, high_pa=bounds.high,
        hours=tuple(tuple(map(int, day)) for day in hours), counts=_counts(hours), not_seen=reasons,
        words=words, before=_beside(chosen, first, -DAYS), after=_beside(chosen, first, DAYS),
    )  # fmt: skip


def _begin(one: KeptChannel) -> date:
    last = datetime.fromtimestamp(one.last / US, UTC).date()
    return max(last - timedelta(days=DAYS - 1), datetime.fromtimestamp(one.first / US, UTC).date())


def _end(one: KeptChannel, first: date) -> date:
    """Return the last day of the year from a day on: none that is still to come, and holds no sample."""
    known = max(
        today(), datetime.fromtimestamp(one.last / US, UTC).date(), first + timedelta(days=FEWEST - 1)
    )
    return min(first + timedelta(days=DAYS - 1), known)


def _beside(one: KeptChannel, first: date, days: int) -> str:
    begin = first + timedelta(days=days)
    start = round(datetime(begin.year, begin.month, begin.day, tzinfo=UTC).timestamp()) * US
    return begin.isoformat() if one.first < start + DAYS * DAY and one.last >= start else ""


def _hours(
    register: Register, logs: LogsFolder, key: str, one: KeptChannel, span: tuple[int, int], bounds: Bounds
) -> tuple[Marks, dict[str, int], str]:
    """Return the state of each hour, why hours are not seen, and until when it is judged.

    span: begin [µs], and how many days.
    """
    start, days = span
    end = start + days * DAY
    told = spells(register, key, start, end)
    frame = buckets(logs, one, start, end, MINUTE).frame
    begins, ends = frame["from"].to_numpy(), frame["to"].to_numpy()
    low, high = frame["low"].to_numpy(), frame["high"].to_numpy()
    stands = marks(told, one, begins, ends, high)
    hour = np.clip((begins - start) // HOUR, 0, days * 24 - 1)
    seen, any_, unjudged = (np.zeros(days * 24, dtype=bool) for _ in range(3))
    any_[hour] = True
    unjudged[hour[stands == UNSEEN]] = True
    good = stands == BELIEVED
    seen[hour[good]] = True
    over, under = np.zeros_like(seen), np.zeros_like(seen)
    if bounds.high is not None and bounds.low is not None:
        over[hour[good & (high > bounds.high)]] = True
        under[hour[good & (low < bounds.low)]] = True
    else:
        seen[:] = False
    state: Marks = np.full(days * 24, NOTHING, dtype=np.uint8)
    state[seen] = WITHIN
    state[over], state[under], state[over & under] = ABOVE, BELOW, BOTH
    reasons = {
        "without samples": int((~any_).sum()),
        "not judged": int((any_ & ~seen & unjudged).sum()),
        "doubted or refused": int((any_ & ~seen & ~unjudged).sum()),
    }
    reach = edges([each for each in told if one.name in each.view.judged])
    until = "" if reach is None else moment(min(reach[1], end))[:16]
    return state.reshape(days, 24), reasons, until


def _counts(hours: Marks) -> dict[str, int]:
    names = ((WITHIN, "in the band"), (ABOVE, "above"), (BELOW, "below"), (BOTH, "above and below"))
    found = {words: int((hours == state).sum()) for state, words in names}
    return found | {"not seen": int((hours == NOTHING).sum())}


def _words(
    hours: Marks, reasons: dict[str, int], bounds: Bounds, units: UnitSet, judged: str, start: int
) -> tuple[str, ...]:
    if bounds.low is None or bounds.high is None:
        return (BAND,)
    counts = _counts(hours)
    band = f"{say(bounds.low, 'pressure', units)} to {say(bounds.high, 'pressure', units)}"
    if where := at_gauge(bounds.height):
        band += f"{spoken(where, units)},"
    seen = hours.size - counts["not seen"]
    out = []
    if seen:
        out.append(
            f"In the band of {band} in {counts['in the band']} of {seen} hours seen; a sample above it in "
            f"{counts['above'] + counts['above and below']}, below it in "
            f"{counts['below'] + counts['above and below']}."
        )
        for words, states in (("above", (ABOVE, BOTH)), ("below", (BELOW, BOTH))):
            longest, at = _longest(np.isin(hours.ravel(), states))
            if longest:
                when = said(moment(start + at * HOUR)[:16])
                out.append(f"Longest {words} the band: {longest} h from {when} UTC.")
    told = ", ".join(f"{count} {why}" for why, count in reasons.items() if count)
    out.append(f"Not seen: {counts['not seen']} hours{f' ({told})' if told else ''}.")
    out.append(
        f"As judged until {said(judged)} UTC." if judged else "None of it is judged yet: judge it first."
    )
    return tuple(out)


def _longest(wanted: np.ndarray) -> tuple[int, int]:
    """Return length and place of the longest run of True."""
    edges_ = np.flatnonzero(np.diff(np.concatenate([[0], wanted.astype(np.int8), [0]])))
    if not edges_.size:
        return 0, 0
    runs = edges_[1::2] - edges_[::2]
    longest = int(np.argmax(runs))
    return int(runs[longest]), int(edges_[2 * longest])


def year_picture(view: YearView, name: str) -> YearPicture:
    """Return a year as what its drawing shows. name: of the station."""
    first = date.fromisoformat(view.start)
    caption = (*view.words, "Hours run upwards, UTC; an hour shows its extremes, however short.")
    title = f"{name}, {view.channel}, {said(f'{view.start} to {view.end}')}"
    return YearPicture(title, caption, first.toordinal() - date(1970, 1, 1).toordinal(), view.hours)
