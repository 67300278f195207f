"""Signs by which a seat that leaks and water that warms are held apart; flow while an event lasts."""

from __future__ import annotations

import numpy as np

from steadyhead.watch.counting import signed
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats, Series, at_times, within
from steadyhead.watch.happening.usual import DAY
from steadyhead.watch.incident import defaults as limits
from steadyhead.watch.incident.incident import Clause
from steadyhead.watch.incident.seen import Seen, said_flow, unknown

FOLLOWS, OVER_INLET = "outlet follows the inlet", "outlet may pass the inlet"
LOW_FLOW, NO_FLOW = "flow about none", "no flow"
UNTOLD = "no sample of it while it lasts"


def outlet_follows(s: Seen) -> Clause:
    """Return whether the outlet moves as the inlet does; not to be told where that hardly moves."""
    if s.outlet is None or s.inlet is None:
        return unknown(FOLLOWS, "inlet and outlet")
    first, last = np.searchsorted(s.outlet.one.t, [s.span.start, s.span.until])
    t = s.outlet.one.t[first:last]
    y, x = s.outlet.one.v[first:last], at_times(s.inlet.one, t)
    ok = np.isfinite(x)
    if np.count_nonzero(ok) < 8:
        return Clause(FOLLOWS, None, "too few samples")
    low, high = np.quantile(x[ok], [0.05, 0.95])
    least = max(limits.INLET_MOVES.si, limits.SIGMAS.si * s.inlet.one.scatter, 2.0 * s.inlet.one.grain)
    if high - low < least or float(np.std(y[ok])) < 1.0:
        return Clause(FOLLOWS, None, f"the inlet hardly moves: by {bar(float(high - low))}")
    r = float(np.corrcoef(x[ok], y[ok])[0, 1])
    return Clause(FOLLOWS, r > limits.FOLLOWS.si, f"correlation {signed(f'{r:.2f}')}")


def over_inlet(s: Seen) -> Clause:
    """Return whether the outlet passes the inlet: no seat that leaks makes it do so."""
    if s.outlet is None or s.inlet is None:
        return unknown(OVER_INLET, "inlet and outlet")
    over = float(np.max(s.outlet.part)) > float(np.median(s.inlet.part))
    return Clause(OVER_INLET, True if over else None, "it passes it" if over else "it stays below it")


def flow_is_low(s: Seen) -> Clause:
    """Return whether next to none flows while it lasts, or as in the lowest hours before and while."""
    if s.flow is None:
        return unknown(LOW_FLOW, "flow")
    part = _while_it_lasts(s)
    if not part.size:
        return Clause(LOW_FLOW, None, UNTOLD)
    during, before = float(np.median(part)), s.flow.before.middle
    low = float(np.quantile(s.flow.one.v, limits.FLOW_LOW.si))
    is_low = during <= _none(s) or max(during, before) <= low
    words = f"{said_flow(s, during)} while it lasts, {said_flow(s, before)} before it"
    return Clause(LOW_FLOW, is_low, words)


def no_flow(s: Seen) -> Clause:
    """Return whether no water flows while it lasts; not to be told where it may be a little."""
    if s.flow is None:
        return unknown(NO_FLOW, "flow")
    part = _while_it_lasts(s)
    if not part.size:
        return Clause(NO_FLOW, None, UNTOLD)
    during, mean = float(np.median(part)), float(np.mean(part))
    if during > _none(s):
        return Clause(NO_FLOW, False, f"{said_flow(s, during)} while it lasts")
    usual = float(np.median(s.flow.one.v))
    if mean > max(limits.FLOW_NOTHING.si * usual, s.flow.one.grain):
        return Clause(NO_FLOW, None, f"hardly any, {said_flow(s, mean)}: a closed zone has none at all")
    return Clause(NO_FLOW, True, f"{said_flow(s, during)} while it lasts")


def _none(s: Seen) -> float:
    """Return the flow up to which none passes. [m³/s]"""
    return limits.FLOW_NONE.si * float(np.median(s.flow.one.v)) if s.flow is not None else 0.0


def _while_it_lasts(s: Seen) -> Floats:
    """Return the flow from the first sign to the end or the closing; at a closing it stops whatever came."""
    if s.flow is None:
        return np.empty(0)
    step = s.flow.one.step
    if s.span.closing is None:
        return s.flow.part
    part = within(s.flow.one, s.span.start + step, s.span.until - 1.01 * step)
    return part if part.size else within(s.flow.one, s.span.start - 0.5 * step, s.span.until - 0.5 * step)


def flow_leaps(s: Seen) -> bool:
    """Return whether the event begins with a flow that jumps within two intervals and stays for the hour."""
    if s.flow is None:
        return False
    one, step = s.flow.one, s.flow.one.step
    reach = max(limits.LEAP_NEAR.si, 3.0 * step)
    first, after = np.searchsorted(one.t, [s.span.start - reach, s.span.start + reach])
    t, v = one.t[first:after], one.v[first:after]
    if v.size < 3:
        return False
    k = int(np.argmax(v[2:] - v[:-2]))
    near = max(limits.LEAP_TIME.si, 2.0 * step)
    before, beyond = within(one, t[k] - near, t[k]), within(one, t[k + 2], t[k + 2] + near)
    later = within(one, t[k + 2], t[k + 2] + max(3600.0, 3.0 * step))
    was = float(np.median(before))
    up = min(float(np.median(beyond)), float(np.median(later))) - was
    least = limits.FLOW_JUMPS.si * max(was, 0.5 * float(np.median(one.v)))
    at_once = float(v[k + 2] - v[k])
    least = max(least, limits.SIGMAS.si * one.scatter)
    return up > least and at_once > max(
        limits.AT_ONCE.si * up, limits.OTHERS.si * _of_others(one, float(t[k]))
    )


def _of_others(one: Series, at: float) -> float:
    """Return the largest rise of the flow within two intervals on other days about this hour."""
    t, leaps = one.t[:-2], one.v[2:] - one.v[:-2]
    apart = np.abs(t - at)
    of_day = np.minimum(apart % DAY, DAY - apart % DAY)
    near = leaps[(of_day <= 3600.0) & (apart > 0.5 * DAY)]
    return float(np.max(near)) if near.size else 0.0
