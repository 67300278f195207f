"""The measures of a period: each with period, valid samples, assumptions, confidence, and its rows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from steadyhead.records.logger import Context
from steadyhead.services.logs.against import NOTHING, Against
from steadyhead.services.logs.known import Bounds
from steadyhead.services.logs.views import View, text
from steadyhead.watch.defects.judging import Frames, Judged
from steadyhead.watch.gauge_height import carried
from steadyhead.watch.happening import Told, set_aside
from steadyhead.watch.measures import (
    Days,
    Measured,
    after,
    against_twin,
    cavitation_hours,
    days_of,
    demand,
    droop_as_left,
    droop_change,
    droop_curve,
    hunting,
    level_trend,
    levelled,
    lockup_as_left,
    night_lockup,
    shut_off_trend,
    strainer_trend,
    supply_sensitivity,
    time_in_band,
    transients,
    trip_margin,
)
from steadyhead.watch.measures.lockup import LAST
from steadyhead.watch.pieces import NONE, Pieces
from steadyhead.work import Progress, no_progress

MONTH = timedelta(days=30)
CHANGE_FROM = 90
"""Days from which the last thirty are held against the first thirty. Own estimate."""


class FromRows(View):
    """Rows of one channel from `start` to before `end`, UTC: where a measure comes from."""

    channel: str
    start: str
    end: str


class MeasureView(View):
    """A measure: value in SI (None: not known), where it may lie, samples, assumptions, confidence, rows.

    details: what goes with it (points of a curve, dates), SI; n_valid, n_total: samples used, and those there
    should be.
    """

    code: str
    value: float | None
    unit: str
    low: float | None
    high: float | None
    start: str
    end: str
    n_valid: int
    n_total: int
    channels: tuple[str, ...]
    assumptions: tuple[str, ...]
    confidence: str
    words: str
    rows: tuple[FromRows, ...]
    details: dict[str, Any] = {}


def measures_of(
    channels: Frames,
    context: Context,
    judged: Judged,
    told: Told,
    bounds: Bounds,
    pieces: Pieces = NONE,
    progress: Progress = no_progress,
    against: Against = NOTHING,
) -> tuple[MeasureView, ...]:
    """Return the measures of a period, from its believed samples.

    bounds, against: what they are held against; a measure whose bound is not stated is left out, see
    `left_out`.
    pieces: where days lie that were worked out before; progress: told how far the others are.
    """
    days = days_of(channels, context, judged, set_aside(told), pieces=pieces, progress=progress)
    past = not before_strainer(channels)
    results = _results(days, bounds, past, context.zone or "UTC", against)
    return tuple(one for result in results for one in _views(result))


def before_strainer(channels: Frames) -> bool:
    """Return whether each gauge of the inlet stands at T0 by its name: no loss of a strainer reaches it."""
    places = {channel.place for channel, _ in channels if channel.quantity == "inlet pressure"}
    return places == {"T0"}


def left_out(bounds: Bounds, channels: Frames = (), against: Against = NOTHING) -> tuple[str, ...]:
    """Return what is not measured, in words: no bound in the station's file, or no gauge that shows it."""
    lacks = (
        ("time in band", "band of normal running", bounds.low is None or bounds.high is None),
        ("margin to the trip", "trip", bounds.trip is None),
        (
            "time below the cavitation limit",
            "limit of one reducer as it is built in",
            bounds.cavitation is None,
        ),
    )
    blind = ("Not measured: strainer; the inlet's gauge is at T0, before it.",)
    told = tuple(
        f"Not measured: {name}; the station's file states no {what}." for name, what, gone in lacks if gone
    )
    return told + (blind if before_strainer(channels) else ()) + against.lacks


def _results(days: Days, bounds: Bounds, past: bool, zone: str, against: Against) -> Iterator[Any]:
    """Yield the results; past: a gauge stands past the strainer; zone: whose days they are."""
    if bounds.low is not None and bounds.high is not None:
        band = time_in_band(days, bounds.low, bounds.high)
        yield replace(band, measured=_assuming(band.measured, bounds.height))
    curve = droop_curve(days)
    yield curve
    if len(days.days) >= CHANGE_FROM:
        yield droop_change(droop_curve(Days(days.days[:30])), droop_curve(Days(days.days[-30:])), days)
    levels = levelled(days)
    yield level_trend(days, levels)
    lockup = night_lockup(days)
    yield replace(lockup, measured=_assuming(lockup.measured, bounds.height))
    if against.as_left is not None:
        since = levelled(after(days, against.as_left))
        yield droop_as_left(days, against.as_left, since)
        yield lockup_as_left(days, against.as_left, since)
    if against.twin is not None:
        late = Days(days.days[-LAST:])
        yield against_twin(late, against.twin, levels if len(late.days) == len(days.days) else None)
    yield hunting(days)
    yield supply_sensitivity(days, against.twin)
    if past:
        yield strainer_trend(days, bounds.strainer, own=True)
    yield shut_off_trend(days, bounds.shut_off)
    for side in ("inlet", "outlet"):
        yield transients(days, side, zone)
    if bounds.trip is not None:
        trip = trip_margin(days, bounds.trip)
        yield replace(trip, margin=_assuming(trip.margin, bounds.trip_height))
    if bounds.cavitation is not None:
        yield cavitation_hours(days, *bounds.cavitation)
    yield demand(days)


def _assuming(one: Measured, height: float) -> Measured:
    """Return a measure that says that its limits were carried to a gauge `height` [m] over the datum."""
    return one if one.value is None else replace(one, assumptions=(*one.assumptions, *carried(height)))


def _views(result: Any) -> Iterator[MeasureView]:
    """Yield the measures of a result; the rest of it goes with the first one."""
    if isinstance(result, Measured):
        yield _view(result, {})
        return
    given = {field.name: getattr(result, field.name) for field in fields(result)}
    rest = {name: plain(value) for name, value in given.items() if not isinstance(value, Measured)}
    for value in given.values():
        if isinstance(value, Measured):
            yield _view(value, rest)
            rest = {}


def _view(one: Measured, details: Mapping[str, Any]) -> MeasureView:
    return MeasureView(
        code=one.code.value,
        value=one.value,
        unit=one.unit,
        low=one.low,
        high=one.high,
        start=text(one.start),
        end=text(one.end),
        n_valid=one.n_valid,
        n_total=one.n_total,
        channels=one.channels,
        assumptions=one.assumptions,
        confidence=one.trust,
        words=one.words,
        rows=tuple(FromRows(channel=r.channel, start=text(r.start), end=text(r.end)) for r in one.rows),
        details=dict(details),
    )


def plain(value: Any) -> Any:
    """Return what a result holds as plain values of JSON; a figure that is none as None."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, datetime):
        return text(value)
    if isinstance(value, float):
        return value if abs(value) < float("inf") else None
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    return value
