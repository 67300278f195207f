"""Which gauge is read at which tap, how far it may be wrong, and what it shows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from steadyhead.design import defaults as dd
from steadyhead.records.station import Gauge, Station
from steadyhead.station.elevation import to_level
from steadyhead.station.layout import Layout
from steadyhead.visits import defaults as d
from steadyhead.visits.questions import tap_of_role
from steadyhead.visits.spans import reduced


@dataclass(frozen=True, slots=True)
class Instrument:
    """A gauge at a tap.

    id: of the gauge, or made up where none is named; error: ± anywhere on the dial [Pa];
    reading: ± of reading it [Pa]; source: where the error comes from.
    """

    id: str
    span: float
    error: float
    reading: float
    source: str


@dataclass(frozen=True, slots=True)
class Tap:
    """A tap by role with its gauge; height above the datum [m]."""

    role: str
    id: str
    height: float
    gauge: Instrument

    def at_tap(self, at_datum: float, density: float) -> float:
        """Return what stands at the gauge's own height [Pa] for a pressure at the datum."""
        return to_level(at_datum, level=self.height, datum=0.0, density=density)


def taps_with_gauges(station: Station, layout: Layout) -> Mapping[str, Tap]:
    """Return the station's taps by role, each with the gauge somebody would read there.

    The setting gauge serves the taps at which settings are made (T3, and T2 between reducers or before a
    shut-off), where its span bears the test. Elsewhere the most accurate gauge whose span bears the highest
    inlet is taken. Where no gauge of the file will do, one of class 1.0 with a usual span is assumed.
    """
    highest = station.supply.static.si
    settings = [r.duty.pressure.si for r in layout.reducers]
    settings += [s.trip.si for s in layout.shut_offs if s.trip is not None]
    found: dict[str, Tap] = {}
    heights = {part.id: part.height for section in layout.sections for part in section.taps}
    for role, tap_id in tap_of_role(layout).items():
        low_side = role in ("T3", "T4") or role in reduced(layout)
        working = max(settings, default=highest) if low_side else highest
        gauge = _choose(station.gauges, working, prefer_setting=low_side)
        height = heights.get(tap_id)
        found[role] = Tap(role, tap_id, height.si if height else 0.0, gauge)
    return found


def _choose(gauges: tuple[Gauge, ...], working: float, *, prefer_setting: bool) -> Instrument:
    able = [gauge for gauge in gauges if gauge.span.si >= working]
    if prefer_setting:
        setting = [gauge for gauge in able if gauge.for_setting]
        able = setting or able
    else:
        others = [gauge for gauge in able if not gauge.for_setting]
        able = others or able
    if able:
        best = min(able, key=lambda gauge: (gauge.accuracy.si * gauge.span.si, gauge.id))
        return instrument(best)
    span = next((s for s in d.GAUGE_SPANS if working <= dd.GAUGE_WORKING_HIGH.si * s), d.GAUGE_SPANS[-1])
    error = d.GAUGE_ACCURACY.si * span
    name = f"class 1.0, 0 to {span / 1e5:g} bar"
    return Instrument(name, span, error, d.READING_SHARE.si * span, d.GAUGE_ACCURACY.source)


def instrument(gauge: Gauge) -> Instrument:
    """Return a gauge of the file as an instrument."""
    span = gauge.span.si
    return Instrument(
        gauge.id, span, gauge.accuracy.si * span, d.READING_SHARE.si * span, "class of the gauge"
    )


def judge_gauges(
    gauges: tuple[Gauge, ...], tolerance_up: float, top: float = 0.0
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the ids of the gauges good enough for this trip, and of those that are not.

    Parameters
    ----------
    gauges
        Of the file.
    tolerance_up
        Everything that can move the trip upwards, added up by worst case as the design sheet does;
        0 without a shut-off: all are good. [Pa]
    top
        Upper edge of the trip at the gauge; a gauge that ends below it shows nothing there. [Pa]

    Notes
    -----
    Good enough: class × span ≤ a quarter of tol_T,up (own estimate).
    """
    allowed = error_allowed(tolerance_up)
    fine = [g for g in gauges if tolerance_up <= 0.0 or g.accuracy.si * g.span.si <= allowed]
    good = tuple(g.id for g in fine if g.span.si >= top)
    return good, tuple(g.id for g in gauges if g.id not in good)


def error_allowed(tolerance_up: float) -> float:
    """Return the largest error of a gauge good enough for a trip of that upper tolerance. [Pa]"""
    return dd.GAUGE_SHARE.si * tolerance_up
