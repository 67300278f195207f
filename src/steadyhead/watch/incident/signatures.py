"""The table of signatures (design handbook 6.5): what each event looks like in inlet, outlet and flow."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from steadyhead.watch.defects.episode import moment
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import within
from steadyhead.watch.gauge_height import at_gauge
from steadyhead.watch.happening.event import Event
from steadyhead.watch.incident import defaults as limits
from steadyhead.watch.incident.incident import Clause, Reading, Sure
from steadyhead.watch.incident.seen import Seen, said_flow, unknown
from steadyhead.watch.incident.signs import Shown, Span, hour_of, longest_above, rise_time, rise_words
from steadyhead.watch.incident.still import (
    FOLLOWS,
    LOW_FLOW,
    NO_FLOW,
    OVER_INLET,
    flow_is_low,
    flow_leaps,
    no_flow,
    outlet_follows,
    over_inlet,
)


def _calm_inlet(s: Seen) -> Clause:
    sign = "inlet level"
    if s.inlet is None:
        return unknown(sign, "inlet")
    most = max(s.inlet.up, s.inlet.down)
    return Clause(sign, most <= s.inlet.before.limit, f"it moves by {bar(most)} at most")


def _no_leap_of_inlet(s: Seen) -> Clause:
    sign = "inlet level, or sagging a little"
    if s.inlet is None:
        return unknown(sign, "inlet")
    fell = s.inlet.down > limits.FALLS.si * s.inlet.before.middle
    words = f"up by {bar(max(s.inlet.up, 0.0))}, down by {bar(max(s.inlet.down, 0.0))}"
    return Clause(sign, not fell and _leap_of_inlet(s).is_seen is not True, words)


def _leap_of_inlet(s: Seen) -> Clause:
    sign = "inlet leaps at the same time"
    if s.inlet is None:
        return unknown(sign, "inlet")
    step, last = s.inlet.one.step, s.span.start + 1.5 * s.inlet.one.step
    if s.span.closing is not None:  # where the flow has stopped the inlet stands higher
        at_once = s.span.closing - s.span.start < 0.5 * step
        last = min(last, s.span.closing + (0.5 if at_once else -0.5) * step)
    near = within(s.inlet.one, s.span.start - 1.5 * step, last)
    if not near.size:
        return unknown(sign, "inlet")
    off = near - s.inlet.before.middle
    most = float(off[np.argmax(np.abs(off))])
    return Clause(
        sign, abs(most) > max(limits.LEAP.si, s.inlet.before.limit),
        f"it stands {bar(abs(most))} {'over' if most > 0.0 else 'under'} what it was",
    )  # fmt: skip


def _inlet_comes_back(s: Seen) -> Clause:
    sign = "inlet is back at once"
    if s.inlet is None:
        return unknown(sign, "inlet")
    step = s.inlet.one.step
    later = within(
        s.inlet.one, s.span.start + max(limits.SPIKE.si, 1.5 * step), s.span.start + limits.AFTER.si
    )
    if not later.size:
        return Clause(sign, None, "too few samples")
    off = float(np.median(later)) - s.inlet.before.middle
    words = f"it stands {bar(abs(off))} {'over' if off > 0.0 else 'under'} what it was afterwards"
    return Clause(sign, abs(off) <= max(s.inlet.before.limit, 0.5 * limits.LEAP.si), words)


def _last(s: Seen) -> float:
    """Return the end of the event; of a level that stays for days that of its first hour."""
    return s.span.until if s.span.event in STEPPING else s.span.end


def _inlet_falls(s: Seen) -> Clause:
    sign = "inlet falls"
    if s.inlet is None:
        return unknown(sign, "inlet")
    part = within(s.inlet.one, s.span.start - 1.5 * s.inlet.one.step, _last(s))
    fell = (s.inlet.before.middle - float(np.min(part))) / max(s.inlet.before.middle, 1.0)
    return Clause(sign, fell > limits.FALLS.si, f"by {100.0 * max(fell, 0.0):.0f} %")


def _inlet_sags(s: Seen) -> Clause:
    sign = "inlet sags"
    if s.inlet is None:
        return unknown(sign, "inlet")
    return Clause(sign, s.inlet.down > s.inlet.before.limit, f"by {bar(max(s.inlet.down, 0.0))}")


def _outlet_rises_fast(s: Seen) -> Clause:
    sign = "outlet rises in seconds to minutes"
    if s.outlet is None:
        return unknown(sign, "outlet")
    rose = s.outlet.up > s.outlet.before.limit
    if not rose and _too_quick_for(s, s.outlet):
        return Clause(sign, None, NO_RISE)
    fast = rise_time(s.outlet, s.span) <= limits.SLOW.si + s.outlet.one.step
    words = f"by {bar(s.outlet.up)}; {rise_words(s.outlet, s.span)}" if rose else "no rise is seen"
    return Clause(sign, rose and fast, words)


SPIKES = "outlet spikes"


def _outlet_spikes(s: Seen) -> Clause:
    sign = SPIKES
    if s.outlet is None:
        return unknown(sign, "outlet")
    rose = s.outlet.up > s.outlet.before.limit
    if not rose and _too_quick_for(s, s.outlet):
        return Clause(sign, None, NO_RISE)
    took = s.span.until - s.span.start if s.span.closing is None else rise_time(s.outlet, s.span)
    short = took <= max(limits.SPIKE.si, 1.01 * s.outlet.one.step)
    words = f"by {bar(s.outlet.up)}; {rise_words(s.outlet, s.span)}" if rose else "no spike is seen"
    if not (rose and short) or s.span.closing is None:
        return Clause(sign, rose and short, words)
    high = s.outlet.before.middle + 0.5 * s.outlet.up
    stood = longest_above(s.outlet.one, s.span, high)
    if stood is None:
        words = f"{words}; whether it came back before the shut-off closed lies between samples"
        return Clause(sign, None, words)
    if stood > limits.STANDS.si:
        return Clause(sign, False, f"by {bar(s.outlet.up)}; it stays up for {stood:.0f} s, until the closing")
    return Clause(sign, True, words)


SLOWLY = "outlet rises slowly"


def _outlet_ramps(s: Seen) -> Clause:
    sign = SLOWLY
    if s.outlet is None:
        return unknown(sign, "outlet")
    rose = s.outlet.up > s.outlet.before.limit
    took, step = rise_time(s.outlet, s.span), s.outlet.one.step
    words = f"by {bar(s.outlet.up)}; {rise_words(s.outlet, s.span)}" if rose else "no rise is seen"
    if rose and limits.SLOW.si <= took <= limits.SLOW.si + step and took < 2.5 * step:
        return Clause(sign, None, f"{words}: how fast lies between samples")
    return Clause(sign, rose and took >= limits.SLOW.si, words)


def _outlet_spike_is_smaller(s: Seen) -> Clause:
    sign = "outlet spikes less than the inlet"
    if s.outlet is None or s.inlet is None:
        return unknown(sign, "inlet and outlet")
    mine = max(s.outlet.up, s.outlet.down)
    return Clause(sign, mine < max(s.inlet.up, s.inlet.down), f"by {bar(mine)}")


def _outlet_first(s: Seen) -> Clause:
    sign = "outlet spikes first"
    if s.outlet is None or s.inlet is None:
        return unknown(sign, "inlet and outlet")
    out, into = _leaving(s.outlet, s.span), _leaving(s.inlet, s.span)
    if out is None:
        return Clause(sign, False, "no spike is seen")
    if into is None:
        return Clause(sign, True, "the inlet does not move")
    apart = max(s.outlet.one.step, s.inlet.one.step)
    if abs(out - into) < apart:
        return Clause(sign, None, "which was first lies between samples")
    return Clause(
        sign, out < into, f"{abs(out - into):.0f} s {'before' if out < into else 'after'} the inlet"
    )


def _leaving(one: Shown, span: Span) -> float | None:
    first = int(np.searchsorted(one.one.t, span.start - 1.5 * one.one.step))
    off = np.abs(one.part - one.before.middle) > one.before.limit
    return float(one.one.t[first + int(np.argmax(off))]) if off.any() else None


def _outlet_over_lockup(s: Seen) -> Clause:
    sign = "outlet steady over lock-up"
    lockup = s.context.known.lockup
    if s.outlet is None or lockup is None:
        return unknown(sign, "outlet, or lock-up is not known")
    part = within(s.outlet.one, s.span.start, s.span.end)
    if part.size < 3:
        return Clause(sign, None, "too few samples")
    middle = float(np.median(part))
    steady = float(np.quantile(part, 0.9) - np.quantile(part, 0.1)) <= 2.0 * s.outlet.before.limit
    return Clause(
        sign,
        steady and middle > lockup + limits.OVER_LOCKUP.si,
        f"it stands at {bar(middle)}, lock-up {bar(lockup)}{at_gauge(s.context.known.height)}",
    )


def _outlet_sags(s: Seen) -> Clause:
    sign = "outlet sags"
    if s.outlet is None:
        return unknown(sign, "outlet")
    return Clause(sign, s.outlet.down > s.outlet.before.limit, f"by {bar(max(s.outlet.down, 0.0))}")


def _flow_rises(s: Seen) -> Clause:
    sign = "flow rises"
    if s.flow is None:
        return unknown(sign, "flow")
    up, limit = s.flow.up, limits.FLOW_RISES.si * s.flow.before.middle
    words = f"from {said_flow(s, s.flow.before.middle)} by {said_flow(s, up)}"
    fell = s.flow.before.middle - float(np.median(s.flow.part))
    if s.span.closing is None and fell > limit:  # at a closing it falls whatever came before
        return Clause(
            sign, False, f"from {said_flow(s, s.flow.before.middle)} it falls by {said_flow(s, fell)}"
        )
    if abs(up) <= limit:
        return Clause(sign, None, f"it stays near {said_flow(s, s.flow.before.middle)}")
    return Clause(sign, up > 0.0, words)


def _flow_jumps(s: Seen) -> Clause:
    sign = "flow jumps and stays"
    if s.flow is None:
        return unknown(sign, "flow")
    part = within(s.flow.one, s.span.start + s.flow.one.step, _last(s))
    if not part.size:
        return Clause(sign, None, "too few samples")
    up = float(np.median(part)) / max(s.flow.before.middle, 1e-9) - 1.0
    return Clause(
        sign,
        up > limits.FLOW_JUMPS.si,
        f"to {said_flow(s, float(np.median(part)))} from {said_flow(s, s.flow.before.middle)}",
    )


def _flow_steps(s: Seen) -> Clause:
    sign = "flow steps"
    if s.flow is None:
        return unknown(sign, "flow")
    grew, first = s.flow.grew, float(s.flow.part[0])
    much = max(limits.FLOW_RISES.si * first, limits.SIGMAS.si * s.flow.one.scatter)
    if s.outlet is not None and s.outlet.up > s.outlet.before.limit and grew > much:
        # Behind the station flow and pressure change against each other; together they do before it.
        return Clause(sign, False, f"it rises with the outlet, by {said_flow(s, grew)}")
    most = max(s.flow.up, s.flow.down)
    return Clause(sign, most > s.flow.before.limit, f"by {said_flow(s, most)}")


def _opens(s: Seen) -> Clause:
    sign = "reducer opens"
    if s.travel is None:
        return unknown(sign, "travel")
    up = s.travel.up
    if up <= limits.OPENS.si and _too_quick_for(s, s.travel):
        return Clause(sign, None, BETWEEN)
    return Clause(sign, up > limits.OPENS.si, f"travel up by {100.0 * max(up, 0.0):.0f} %")


NO_RISE = "no rise is seen; it shut within one interval, a rise may lie between samples"
BETWEEN = "it shut within one interval: what the travel did before lies between samples"


def _too_quick_for(s: Seen, one: Shown) -> bool:
    """Return whether the shut-off closed within an interval of the first sign: no sample lies between."""
    return s.span.closing is not None and s.span.closing - s.span.start < 1.01 * one.one.step


def _stays(s: Seen) -> Clause:
    sign = "reducer does not open"
    if s.travel is None:
        return unknown(sign, "travel")
    up = s.travel.up
    if up <= limits.OPENS.si and _too_quick_for(s, s.travel):
        return Clause(sign, None, BETWEEN)
    return Clause(sign, up <= limits.OPENS.si, f"travel up by {100.0 * max(up, 0.0):.0f} %")


def _wide(s: Seen) -> Clause:
    sign = "reducer wide open"
    if s.travel is None:
        return unknown(sign, "travel")
    most = float(np.max(s.travel.part))
    return Clause(sign, most >= limits.WIDE.si, f"travel {100.0 * most:.0f} %")


def _shut(s: Seen) -> Clause:
    sign = "reducer shut"
    if s.travel is None:
        return unknown(sign, "travel")
    least = float(np.median(s.travel.part))
    return Clause(sign, least <= limits.OPENS.si, f"travel {100.0 * least:.0f} %")


def _at_night(s: Seen) -> Clause:
    sign = "between midnight and six"
    hour = hour_of(moment(s.span.start), s.zone)
    if hour is None:
        return Clause(sign, None, "the zone of the stamps is not known")
    return Clause(sign, hour < 6.0, f"at {int(hour):02d}:{int(60 * (hour % 1)):02d}, clock of {s.zone}")


def _told(event: Event, sign: str) -> Callable[[Seen], Clause]:
    def look(s: Seen) -> Clause:
        there = event in s.told
        return Clause(sign, there, "told in the days about it" if there else "not told in the days about it")

    return look


@dataclass(frozen=True, slots=True)
class Signature:
    """One row: its name, signs that must be, signs that may be, what to look at next."""

    name: str
    must: tuple[Callable[[Seen], Clause], ...]
    may: tuple[Callable[[Seen], Clause], ...]
    next: str


CREEP, WARMS = "creep through the reducer at night", "water that warms in a closed zone"
BURST = "burst behind the station"
TABLE = (
    Signature(
        "reducer failed open", (_outlet_rises_fast, _no_leap_of_inlet), (_flow_rises, _opens),
        "Read travel and pilot pressure of the reducer before anything on it is moved.",
    ),
    Signature(
        CREEP, (_outlet_ramps, _no_leap_of_inlet),
        (flow_is_low, outlet_follows, _at_night, _stays),
        "Prove seat and pilot with no flow: a lock-up test with consumers supplied otherwise.",
    ),
    Signature(
        "surge from upstream", (_leap_of_inlet, _inlet_comes_back), (_outlet_spike_is_smaller,),
        "Ask for pump and valve times of the supply at that minute.",
    ),
    Signature(
        "surge from downstream", (_outlet_spikes, _outlet_first), (_flow_steps, _calm_inlet, _stays),
        "Ask who moved a valve, a hydrant or a pump behind the station at that minute.",
    ),
    Signature(
        WARMS, (_outlet_ramps, no_flow), (_calm_inlet, over_inlet),
        "Draw a litre: the outlet drops at once and does not come back. Look at the expansion vessel.",
    ),
    Signature(
        "backfeed from another zone", (_outlet_over_lockup,), (_calm_inlet, no_flow, _shut),
        "With the outlet isolating valve shut the pressure behind it stays up, and the outlet tap falls.",
    ),
    Signature(
        "strainer blinding", (_told(Event.STRAINER, "resistance rises by the day"),), (_outlet_sags,),
        "Read the pressure before and behind the strainer at a known flow.",
    ),
    Signature(
        "supply loss", (_inlet_falls,), (_outlet_sags,),
        "Ask whether neighbours lost pressure, too.",
    ),
    Signature(
        BURST, (_flow_jumps, _outlet_sags), (_inlet_sags, _wide),
        "Look for water in the street; hold the flow against the usual day.",
    ),
)  # fmt: skip
"""Rows of the table. The trip itself is the event; a shut cock is a defect of the data, a shut-off
that is partly shut is told by its resistance.
"""


OF_EVENT = {
    Event.BURST: BURST,
    Event.SUPPLY_LOSS: "supply loss",
    Event.THERMAL: WARMS,
    Event.BACKFEED: "backfeed from another zone",
}
"""Events that are a row of the table themselves: that the record is told so is a sign of it."""
SUDDEN = (Event.TRIP, Event.TRIPPED_AGAIN, Event.OVER_TRIP, Event.SURGE, Event.RAISED, *OF_EVENT)
"""Events with a first moment; of others, which come over days, the table says nothing."""
STEPPING = (Event.SETTING, Event.DEMAND)
"""Levels that stay for days: the table is held against those that begin with a jump of the flow."""


def readings(s: Seen) -> tuple[Reading, ...]:
    """Return every row held against the event, best first; none for an event that comes over days."""
    if s.span.event not in SUDDEN and not (s.span.event in STEPPING and flow_leaps(s)):
        return ()
    told_so = OF_EVENT.get(s.span.event)
    found = [_held(one, s) for one in TABLE]
    if s.span.event in STEPPING and any(one.name == BURST and one.sure == "ruled out" for one in found):
        return ()
    open_ = sorted(
        (one for one in found if one.sure != "ruled out"), key=lambda r: (*_rank(r), r.name != told_so)
    )
    out = [one for one in found if one.sure == "ruled out"]
    if open_ and _is_likely(open_) and not _has_a_twin(open_, told_so):
        best = open_[0]
        open_[0] = Reading(best.name, "likely", best.clauses, best.next)
    return (*open_, *out)


def _rank(one: Reading) -> tuple[float, float]:
    return (1.5 * one.missed - one.seen + _untold(one), float(one.missed))


def _untold(one: Reading) -> bool:
    """Return whether a row of slow rises stands open though how fast it rose lies between samples."""
    return any(clause.sign == SLOWLY and clause.is_seen is None for clause in one.clauses)


def _is_likely(open_: list[Reading]) -> bool:
    best = open_[0]
    if best.seen < (3 if _spike_unseen(open_[1:]) else 2) or best.missed or _untold(best):
        return False
    return len(open_) == 1 or _rank(open_[1])[0] > _rank(best)[0]


def _has_a_twin(open_: list[Reading], told_so: str | None) -> bool:
    """Return whether creep and warmed water stand open for want of a sign that tells them apart.

    A seat that leaks into a zone without flow looks like water that warms there. An outlet over the inlet, or
    a whole event told by its shape, speaks for water; an outlet that follows the inlet, or a little flow
    throughout, for the seat. Neither is cleared without.
    """
    best = open_[0]
    other = {CREEP: WARMS, WARMS: CREEP}.get(best.name)
    if other not in {one.name for one in open_} or best.name == told_so:
        return False
    rows = {one.name: {clause.sign: clause.is_seen for clause in one.clauses} for one in open_}
    if best.name == WARMS:
        return rows[WARMS][OVER_INLET] is not True
    drips = rows[CREEP][LOW_FLOW] is True and rows[WARMS][NO_FLOW] is not True
    return rows[CREEP][FOLLOWS] is not True and not drips


def _spike_unseen(others: list[Reading]) -> bool:
    """Return whether the rise may be a spike that came back between samples: then it takes one sign more."""
    return any(one.sign == SPIKES and one.is_seen is None for row in others for one in row.clauses)


def _held(one: Signature, s: Seen) -> Reading:
    must = one.must
    if s.span.event is Event.RAISED and no_flow in one.may:  # it is told at a flow as before
        must = (*must, no_flow)
    musts = tuple(look(s) for look in must)
    mays = tuple(look(s) for look in one.may if look not in must)
    if OF_EVENT.get(s.span.event) == one.name:
        mays = (*mays, Clause("the record is told so", True, "by the shape of the whole event"))
    sure: Sure = "possible"
    if any(clause.is_seen is False for clause in musts):
        sure = "ruled out"
    elif not any(clause.is_seen for clause in musts):
        sure = "ruled out" if any(clause.is_seen is False for clause in mays) else "possible"
    return Reading(one.name, sure, (*musts, *mays), one.next)
