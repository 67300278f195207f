"""What can move each rung of the ladder, each with its provenance: repeatability, drift, gauge, droop."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.records.ladder import Contribution
from steadyhead.records.parts import Reducer, Relief, ShutOff
from steadyhead.records.station import Gauge
from steadyhead.records.values import Default, Origin, Value

REPEATABILITY, DRIFT, GAUGE, HUNTING = "repeatability", "drift", "gauge", "hunting"
SETTING_GAUGE, DROOP, SHUT_OFF_LOSS = (
    "gauge the duty is set with",
    "droop to peak flow",
    "loss of the shut-off at peak",
)


@dataclass(frozen=True, slots=True)
class SettingGauge:
    """The gauge the trip is set with: its error [Pa], its id, and whether the file names it."""

    error: float
    gauge: Gauge | None
    named: bool
    provenance: str


def gauge_error(gauge: Gauge) -> float:
    """Return ± of a gauge anywhere on its dial, class times span. [Pa]

    Notes
    -----
    EN 837-1 states the limit of error as per cent of span.
    """
    return gauge.accuracy.si * gauge.span.si


def setting_gauge(gauges: tuple[Gauge, ...]) -> SettingGauge:
    """Return the gauge the trip is set with.

    The best of those marked for setting; where none is marked the coarsest, which is on the safe side; where
    there is no gauge at all a default.
    """
    marked = [gauge for gauge in gauges if gauge.for_setting]
    if marked:
        best = min(marked, key=gauge_error)
        return SettingGauge(gauge_error(best), best, True, _of(best))
    if gauges:
        worst = max(gauges, key=gauge_error)
        return SettingGauge(gauge_error(worst), worst, False, f"{_of(worst)}; none is marked for setting")
    default = d.GAUGE_ERROR.value()
    return SettingGauge(default.si, None, False, default.provenance)


def _of(gauge: Gauge) -> str:
    return f"{gauge.id}: {gauge.accuracy.text} of {gauge.span.text}"


def stated_or_share(
    stated: Value | None, least: Default | None, share: Default, setting: float
) -> tuple[float, str]:
    """Return a stated tolerance, else the larger of a default and a share of the setting. [Pa]"""
    if stated is not None:
        return stated.si, stated.provenance
    part = share.si * setting
    if least is not None and least.si >= part:
        return least.si, least.value().provenance
    return part, f"default, {share.evidence.value}: {share.text} of the setting, {share.source}"


def reducer_moves(reducer: Reducer, lockup: float) -> tuple[Contribution, Contribution]:
    """Return repeatability and drift of a reducer's setting."""
    repeat = stated_or_share(
        reducer.repeatability, d.REDUCER_REPEATABILITY, d.REDUCER_REPEATABILITY_SHARE, lockup
    )
    drift = stated_or_share(reducer.drift, None, d.REDUCER_DRIFT_SHARE, lockup)
    return Contribution(REPEATABILITY, *repeat), Contribution(DRIFT, *drift)


def highest_normal_adds(basis: Basis, reducer: Reducer, lockup: float) -> tuple[Contribution, ...]:
    """Return what stands above lock-up in normal running; the lock-up rise is not among it."""
    parts = list(reducer_moves(reducer, lockup))
    stated = basis.station.tolerances
    if stated.hunting is not None:
        parts.append(Contribution(HUNTING, stated.hunting.si, stated.hunting.provenance))
    if basis.layout.shut_off is not None and not stated.same_gauge:
        gauge = setting_gauge(basis.station.gauges)
        parts.append(Contribution(SETTING_GAUGE, gauge.error, gauge.provenance))
    return tuple(parts)


def trip_tolerances(basis: Basis, shut_off: ShutOff, trip: float) -> tuple[Contribution, ...]:
    """Return what can move the trip: repeatability, drift and the gauge it is set with."""
    repeat = stated_or_share(
        shut_off.repeatability, d.SHUT_OFF_REPEATABILITY, d.SHUT_OFF_REPEATABILITY_SHARE, trip
    )
    drift = stated_or_share(shut_off.drift, None, d.SHUT_OFF_DRIFT_SHARE, trip)
    gauge = setting_gauge(basis.station.gauges)
    return (
        Contribution(REPEATABILITY, *repeat),
        Contribution(DRIFT, *drift),
        Contribution(GAUGE, gauge.error, gauge.provenance),
    )


def relief_error(relief: Relief) -> Value:
    """Return ± of a relief valve's crack: the stated one, else the larger of two defaults. [Pa]"""
    if relief.error is not None:
        return relief.error
    share = d.RELIEF_ERROR_SHARE.si * relief.crack.si
    if share <= d.RELIEF_ERROR.si:
        return d.RELIEF_ERROR.value()
    rule = d.RELIEF_ERROR_SHARE
    return Value(share, "pressure", f"{share / 1e5:.3g} bar", Origin.DEFAULT, rule.evidence, rule.source)


def error_below(relief: Relief, edge: float) -> float:
    """Return the ± [Pa] of a relief valve that is set so that its upper edge lies at `edge` [Pa]."""
    if relief.error is not None:
        return relief.error.si
    return max(d.RELIEF_ERROR.si, edge * d.RELIEF_ERROR_SHARE.si / (1.0 + d.RELIEF_ERROR_SHARE.si))


def gap(basis: Basis) -> Value:
    """Return the least gap between highest normal and the trip's lower edge. [Pa]"""
    return basis.station.tolerances.gap or d.GAP.value()
