"""Measures held against limits: which are crossed, by how much, whose limit it is, what work follows.

Kept with the judgement, so that lists need not read it. A measure that is poor or not known is not held
against anything: it neither raises a finding nor takes one away.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from steadyhead.records.values import Default, Evidence
from steadyhead.register import Register
from steadyhead.register.logs import channels_of
from steadyhead.services.logs.heights import heights_of
from steadyhead.services.logs.judged import JudgedView
from steadyhead.services.logs.known import Bounds
from steadyhead.services.logs.measuring import MeasureView
from steadyhead.services.logs.seen import bounds_of
from steadyhead.services.stations.kept import head_file
from steadyhead.units import say
from steadyhead.watch.counting import counted
from steadyhead.watch.gauge_height import at_gauge
from steadyhead.watch.happening.defaults import SWING
from steadyhead.watch.happening.event import Event
from steadyhead.watch.happening.over_trip import MOSTLY
from steadyhead.watch.measures.defaults import OPENED_AT
from steadyhead.watch.measures.hunting import said_period
from steadyhead.watch.measures.measure import Measure
from steadyhead.watch.measures.strainer import clean_of


def _one(name: str, si: float, kind: str, text: str, evidence: Evidence, source: str) -> Default:
    return Default(f"limits of measures: {name}", si, kind, text, evidence, source)


STRAINER = OPENED_AT
IN_BAND = _one(
    "least time in band", 0.98, "ratio", "98 %", Evidence.ESTIMATE,
    "design handbook 5.6: target of the time in band",
)  # fmt: skip
SHUT_OFF = _one(
    "resistance of the shut-off over that fully open", 1.5, "ratio", "1.5", Evidence.ESTIMATE,
    "gauges and flow leave a third open; own estimate",
)  # fmt: skip
CAVITATION = _one(
    "share of the hours with flow below the cavitation limit", 0.1, "ratio", "10 %", Evidence.ESTIMATE,
    "design handbook 6.4: hours below it ask for a look inside; how many is an own estimate",
)  # fmt: skip
AS_LEFT = _one(
    "droop, and rise at the lowest flow, over those as left", 0.1e5, "pressure", "0.1 bar",
    Evidence.ESTIMATE, "two gauges of 0.05 bar; own estimate",
)  # fmt: skip
LIMITS = (STRAINER, IN_BAND, SHUT_OFF, CAVITATION, AS_LEFT)
"""Limits that are ours; the others are stated in the station's file."""
GOOD = "good"
SURE = (GOOD, "fair")
FILE = "station file"
NOTHING = 0.005e5
"""Difference below which two places after the point show none. [Pa]"""


def held_of(register: Register, view: JudgedView) -> list[dict[str, Any]]:
    """Return what a judgement's measures are held against, plain, one for each measure that can be.

    code, activity: the measure, and the work that follows; crossed; words, limit: value and limit in words;
    source: whose limit; value; start, end: period of the data; confidence; channel, since: its rows; meets,
    earliest, latest: days about which it will be crossed, where that is to be told.
    """
    head = head_file(register, view.station)
    found = []
    with register.reading() as connection:
        here = [one.channel for one in channels_of(connection, view.station) if one.name in view.channels]
    bounds = heights_of(register, view.station).bounds(bounds_of(register, view.station), here)
    for one in (*_protection(view), *_held(view, bounds)):
        is_file = one["source"] == FILE
        found.append(one | ({"source": f"{FILE}, revision {head.number}"} if is_file else {}))
    return found


def _protection(view: JudgedView) -> Iterator[dict[str, Any]]:
    """Yield the last time the outlet stood over the trip while the shut-off was not seen to close.

    No later judgement takes it away: only the work does that, or that it is deferred, or the import undone.
    """
    over = [
        one for one in view.happenings if one.code == Event.OVER_TRIP.value and MOSTLY not in one.evidence
    ]
    if not over:
        return
    last = max(over, key=lambda one: one.end)
    top = last.magnitude or 0.0
    times = "" if len(over) == 1 else f", {counted(len(over), 'time')} in this period"
    yield {
        "code": last.code, "activity": "trip_proof", "crossed": True,
        "words": f"outlet over the trip, at up to {say(top, 'pressure')}; shut-off not seen to close{times}",
        "limit": last.evidence[0].removeprefix("over the ").replace(", ", " ", 1), "source": FILE,
        "value": float(f"{top:.6g}"), "unit": "Pa",
        "start": last.start, "end": last.end, "confidence": last.confidence,
        "channel": last.channels[0] if last.channels else "", "since": last.start, "until": last.end,
    }  # fmt: skip


def _held(view: JudgedView, bounds: Bounds) -> Iterator[dict[str, Any]]:
    for one in view.measures:
        rule = _RULES.get(one.code)
        if rule is None or one.value is None or one.confidence not in SURE:
            continue
        result = rule(one, bounds)
        if result is None:
            continue
        activity, crossed, words, limit, source = result
        rows = one.rows[0] if one.rows else None
        yield {
            "code": one.code, "activity": activity, "crossed": bool(crossed), "words": words, "limit": limit,
            "source": source, "value": float(f"{one.value:.6g}"), "unit": one.unit, "start": one.start,
            "end": one.end, "confidence": one.confidence, "channel": rows.channel if rows else "",
            "since": rows.start if rows else "",
        } | ({} if crossed else _foreseen(one))  # fmt: skip


def _foreseen(one: MeasureView) -> dict[str, str]:
    """Return the days about which a measure meets its limit: middle, earliest, latest; nothing where open.

    Of a measure that is good only: without gauges on both sides of the strainer the supply's own course looks
    like blinding.
    """
    if one.confidence != GOOD:
        return {}
    days = {name: day_of(str(one.details.get(name) or "")) for name in ("meets", "earliest", "latest")}
    return days if all(days.values()) else {}


Result = tuple[str, bool, str, str, str] | None


def _source(one: Default) -> str:
    return f"{one.evidence.value}: {one.source}"


def _strainer(one: MeasureView, _: Bounds) -> Result:
    limit, source = one.details.get("limit"), str(one.details.get("limit_from", ""))
    is_own = one.details.get("own_limit", True)
    clean = clean_of(one.details.get("by_day", []))
    if one.value is None or (limit is None and clean is None):
        return None
    least = one.value if one.low is None else one.low
    if limit is not None and not is_own:
        words = f"strainer coefficient {100.0 * one.value / limit:.0f} % of that at which it is opened"
        return "strainer_clean", least >= limit, words, f"limit {STRAINER.text} × clean", source
    if clean is None:
        return None
    of_line = not one.details.get("alone", True)
    name, which = (
        ("resistance of strainer or supply line", " (a gauge at T0 would tell which)")
        if of_line
        else ("strainer coefficient", "")
    )
    words = f"{name} {one.value / clean:.1f} × that of its cleanest days{which}"
    crossed = least >= STRAINER.si * clean
    return "strainer_clean", crossed, words, f"limit {STRAINER.text} ×", _source(STRAINER)


def _lockup(one: MeasureView, bounds: Bounds) -> Result:
    if bounds.high is None or one.value is None:
        return None
    words = f"outlet {say(one.value, 'pressure')} at the lowest flow of the nights"
    limit = f"highest normal {say(bounds.high, 'pressure')}{at_gauge(bounds.height)}"
    return "functional_check", one.value > bounds.high, words, limit, FILE


def _droop(one: MeasureView, _: Bounds) -> Result:
    return _as_left(one, "droop", "than as left")


def _rise(one: MeasureView, _: Bounds) -> Result:
    return _as_left(one, "rise at the lowest flow", "than the lock-up rise as left")


def _as_left(one: MeasureView, name: str, than: str) -> Result:
    if one.value is None or one.low is None:
        return None
    side = "more" if one.value >= 0.0 else "less"
    words = f"{name} {say(abs(one.value), 'pressure')} {side} {than}"
    if abs(one.value) < NOTHING:
        words = f"{name} no other {than}"
    limit = f"limit {AS_LEFT.text} more"
    return "functional_check", one.low > AS_LEFT.si, words, limit, _source(AS_LEFT)


def _in_band(one: MeasureView, bounds: Bounds) -> Result:
    if bounds.low is None or bounds.high is None or one.value is None:
        return None
    words = f"outlet in its band for {100.0 * one.value:.1f} % of the time, trips and lost supply aside"
    return "setting_review", one.value < IN_BAND.si, words, f"limit {IN_BAND.text}", _source(IN_BAND)


def _hunting(one: MeasureView, _: Bounds) -> Result:
    period = one.details.get("period")
    limit = f"limit {SWING.text} of lasting swing"
    if period is None or one.value is None:
        return "functional_check", False, "no lasting swing of the outlet", limit, _source(SWING)
    days, of = one.details.get("days", 0), one.details.get("of_days", 0)
    often = f"on {days} of {counted(of, 'day')}"
    borders = one.details.get("periods")
    every = f"about every {period:.0f} s" if not borders else f"every {said_period((borders[0], borders[1]))}"
    words = f"outlet swings by {say(one.value, 'pressure')}, {every}, {often}"
    return "functional_check", True, words, limit, _source(SWING)


def _shut_off(one: MeasureView, bounds: Bounds) -> Result:
    if not bounds.shut_off or one.value is None:
        return None
    least = one.value if one.low is None else one.low
    words = f"resistance of the shut-off {one.value / bounds.shut_off:.1f} × that fully open"
    crossed = least > SHUT_OFF.si * bounds.shut_off
    return "trip_proof", crossed, words, f"limit {SHUT_OFF.text} ×", _source(SHUT_OFF)


def _margin(one: MeasureView, bounds: Bounds) -> Result:
    if bounds.trip is None or one.value is None:
        return None
    words = f"highest outlet {say(-one.value, 'pressure')} above the trip's lower edge on one day in twenty"
    if one.value >= 0.0:
        margin = say(one.value, "pressure")
        words = f"highest outlet {margin} below the trip's lower edge on nineteen days in twenty"
    limit = f"lower edge of the trip {say(bounds.trip, 'pressure')}{at_gauge(bounds.trip_height)}"
    return "setting_review", one.value < 0.0, words, limit, FILE


def _cavitation(one: MeasureView, _: Bounds) -> Result:
    share = one.details.get("share")
    if share is None:
        return None
    words = f"below the cavitation limit for {100.0 * share:.0f} % of the hours with flow"
    return "inside_inspection", share > CAVITATION.si, words, f"limit {CAVITATION.text}", _source(CAVITATION)


_RULES = {
    Measure.STRAINER.value: _strainer, Measure.LOCKUP.value: _lockup, Measure.IN_BAND.value: _in_band,
    Measure.HUNTING.value: _hunting, Measure.SHUT_OFF.value: _shut_off, Measure.TRIP_MARGIN.value: _margin,
    Measure.CAVITATION.value: _cavitation, Measure.DROOP_AS_LEFT.value: _droop,
    Measure.LOCKUP_AS_LEFT.value: _rise,
}  # fmt: skip


def day_of(text: str) -> str:
    """Return the day of a time of a view, ISO."""
    return datetime.fromisoformat(text).date().isoformat() if text else ""
