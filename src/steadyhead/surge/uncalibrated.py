"""What of a reducer and its zone nobody has measured, how far each may lie from its default, its members.

A value the file states keeps to its own ± and is held where it has none; only defaults have a band.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import exp, log

from steadyhead.records.stability import UncalibratedValue
from steadyhead.records.values import Default, Origin, Value
from steadyhead.surge import defaults as d
from steadyhead.surge.entry import with_entry
from steadyhead.surge.from_station import Drafted
from steadyhead.surge.plan import Plan, ReducerRow

FEED, PILOT, BAND, LAG, AREA, MAINS = (
    "feed_kv",
    "pilot_kv",
    "proportional_band",
    "sense_lag",
    "diaphragm_area",
    "mains of the zone",
)
"""Names of what may be moved, as the station file has them; the last is of the zone."""


def uncalibrated(drafted: Drafted, row: ReducerRow) -> tuple[UncalibratedValue, ...]:
    """Return what of a reducer and its zone is not calibrated, and how far it may lie.

    Factors of the default for `feed_kv`, `pilot_kv` (over the feed it goes with), `proportional_band`,
    `diaphragm_area`; [s] for `sense_lag`; a count for the mains that go on behind the end of the zone's.
    """
    twin = drafted.model.reducer_twin(row.id)
    stated = {
        FEED: (twin.feed_kv, d.FEED_BAND),
        PILOT: (twin.pilot_kv, d.PILOT_BAND),
        BAND: (_band(drafted, row), d.PROPORTIONAL_BAND),
        LAG: (twin.sense_lag, d.SENSE_LAG_BAND),
        AREA: (twin.diaphragm_area, d.AREA_BAND),
    }
    found = [_one(name, value, usual) for name, (value, usual) in stated.items()]
    low, high = d.ZONE_MAINS
    if drafted.consumers.elasticity > 0.0:
        found.append(
            UncalibratedValue(MAINS, 0.0, low.si, high.si, f"{low.text} to {high.text}, {low.source}")
        )
    return tuple(found)


def _band(drafted: Drafted, row: ReducerRow) -> Value:
    """Return the band in use; where a stated lock-up gives it, it is as stated as that.

    Outlets seen on site are held against members instead: lock-up and duty alone give it only for the pilot
    and the feed of the defaults.
    """
    band = drafted.model.band[row.id]
    part = next(part for part in drafted.model.reducers if part.id == row.id)
    is_seen = any(one.outlet is not None for one in part.observed)
    if part.lockup is not None and band.origin is Origin.DERIVED and not is_seen:
        return replace(band, origin=Origin.STATED)
    return band


def _one(name: str, value: Value, usual: tuple[Default, Default]) -> UncalibratedValue:
    """Return one band: of the default, or the ± of a stated value; factors, [s] for a lag."""
    unit = 1.0 if name == LAG else value.si
    now = value.si / unit
    if value.origin in (Origin.DEFAULT, Origin.DERIVED):
        low, high = (one.si for one in usual)
        words = f"{usual[0].text} to {usual[1].text}, {usual[0].source}"
        return UncalibratedValue(name, now, min(low, now), max(high, now), words)
    half = (value.spread or 0.0) / unit
    return UncalibratedValue(
        name, now, max(now - half, 0.05 * now), now + half, value.provenance, is_held=True
    )


def moved(plan: Plan, reducer: str, values: Mapping[str, float]) -> Plan:
    """Return a plan with uncalibrated values of one reducer, and of the zone, as given.

    Parameters
    ----------
    values
        By name, in the units of `uncalibrated`; what is missing stays.
    """
    found = plan.mapped(
        lambda part: _row(part, values) if isinstance(part, ReducerRow) and part.id == reducer else part
    )
    mains = values.get(MAINS, 0.0)
    return with_entry(found, mains) if mains > 0.0 else found


def _row(row: ReducerRow, values: Mapping[str, float]) -> ReducerRow:
    feed = row.feed * values.get(FEED, 1.0)
    pilot = row.pilot * values.get(FEED, 1.0) * values.get(PILOT, 1.0)
    area = row.body.area * values.get(AREA, 1.0)
    return replace(
        row,
        feed=feed,
        pilot=pilot,
        band=row.band * values.get(BAND, 1.0),
        lag=values.get(LAG, row.lag),
        body=replace(row.body, area=area),
    )


def between(one: UncalibratedValue, share: float) -> float:
    """Return the value at a share of its band, 0 to 1, even in its logarithm; mains are whole."""
    if one.low == one.high:
        return one.low
    if one.name == MAINS:
        return float(min(int(one.low + share * (one.high - one.low + 1.0)), one.high))
    return exp(log(one.low) + share * log(one.high / one.low))


def member(plan: Plan, reducer: str, bands: Sequence[UncalibratedValue], shares: Sequence[float]) -> Plan:
    """Return the member of the band at these shares, one for each of `bands`."""
    values = {one.name: between(one, share) for one, share in zip(bands, shares, strict=True)}
    return moved(plan, reducer, values)
