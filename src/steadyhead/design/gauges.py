"""Which gauges are good enough for this window, by name."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.report import HEED, NOTE, finding, from_value, pressure, share
from steadyhead.design.tolerances import gauge_error, setting_gauge
from steadyhead.findings import Finding, Input
from steadyhead.records.design import GaugeSizing
from steadyhead.records.ladder import Ladder
from steadyhead.records.station import Gauge


def size_gauges(basis: Basis, ladder: Ladder) -> tuple[GaugeSizing, ...]:
    """Return each gauge beside the window: its error, may it set this trip, does it bear the inlet.

    Notes
    -----
    error = class · span ≤ tol_T,up/4, worst case (design handbook 3.8; EN 837-1 for the class).
    """
    static = basis.supply_at_datum("static").si
    trip, edge = ladder.inputs.trip, ladder.worst_case.trip_upper_edge
    allowed = error_allowed(ladder)
    found = []
    for gauge in basis.station.gauges:
        error, span = gauge_error(gauge), gauge.span.si
        good = None
        if allowed is not None:
            good = error <= allowed and (edge is None or span >= edge)
        found.append(
            GaugeSizing(
                gauge.id,
                span,
                error,
                allowed,
                good,
                span >= static,
                None if trip is None or span <= 0.0 else trip / span,
            )
        )
    return tuple(found)


def error_allowed(ladder: Ladder) -> float | None:
    """Return the most a gauge may err for this trip; None without a shut-off. [Pa]"""
    if not ladder.inputs.has_shut_off:
        return None
    trip, edge = ladder.inputs.trip, ladder.worst_case.trip_upper_edge
    own = ladder.worst_case.tolerance_up if trip is None or edge is None else edge - trip
    return d.GAUGE_SHARE.si * own


def is_overdue(gauge: Gauge, day: date | None) -> bool:
    """Return whether a gauge's calibration had run out by a day; no due date tells nothing."""
    if day is None:
        return False
    try:
        return date.fromisoformat(gauge.due.strip()) < day
    except ValueError:
        return False


def gauge_findings(
    basis: Basis, ladder: Ladder, sized: tuple[GaugeSizing, ...], day: date | None = None
) -> Iterator[Finding]:
    """Yield the findings about gauges; without a day no calibration is called overdue."""
    static = basis.supply_at_datum("static")
    overdue = {gauge.id for gauge in basis.station.gauges if is_overdue(gauge, day)}
    for gauge in basis.station.gauges:
        if gauge.id in overdue:
            yield finding("SIZ-27", "gauges", HEED, gauge=gauge.id, due=gauge.due.strip())
    if not any(one.bears_inlet for one in sized):
        yield finding(
            "SIZ-19", "gauges", HEED, limit=pressure(static.si), inputs=(from_value("supply.static", static),)
        )
    named = setting_gauge(basis.station.gauges)
    if named.gauge is not None and named.gauge.span.si < static.si:
        yield finding(
            "SIZ-26",
            "gauges",
            HEED,
            value=pressure(named.gauge.span.si),
            limit=pressure(static.si),
            gauge=named.gauge.id,
            inputs=(from_value("supply.static", static),),
            upper=False,
        )
    allowed = error_allowed(ladder)
    if allowed is None:
        return
    if not named.named:
        yield finding(
            "SIZ-20",
            "gauges",
            HEED,
            value=pressure(named.error),
            inputs=(Input("gauge error", pressure(named.error), named.provenance),),
        )
    good = [one.gauge for one in sized if one.good_enough and one.gauge not in overdue]
    late = [one.gauge for one in sized if one.good_enough and one.gauge in overdue]
    coarse = [one.gauge for one in sized if one.good_enough is False]
    grounds = tuple(Input(one.gauge, pressure(one.error), "class times span") for one in sized)
    setting_is_good = not named.named or (named.gauge is not None and named.gauge.id in good)
    if good and setting_is_good:
        yield finding(
            "SIZ-18", "gauges", NOTE, limit=pressure(allowed), named=", ".join(good), inputs=grounds
        )
    else:
        words = f"Not good enough: {', '.join(coarse)}." if coarse else ""
        if not sized:
            words = "No gauge is listed."
        if good:
            words += f" Good enough but not marked for setting: {', '.join(good)}."
        if late:
            words += f" Good enough but overdue: {', '.join(late)}."
        yield finding("SIZ-17", "gauges", HEED, limit=pressure(allowed), named=words.strip(), inputs=grounds)
    for one in sized:
        is_setting = named.gauge is not None and one.gauge == named.gauge.id and named.named
        low, high = d.GAUGE_WORKING_LOW.si, d.GAUGE_WORKING_HIGH.si
        if is_setting and one.working_share is not None and not low <= one.working_share <= high:
            yield finding("SIZ-21", "gauges", NOTE, value=share(one.working_share), gauge=one.gauge)
