"""What a record could not have shown: channels that are not there, samples too far apart."""

from __future__ import annotations

from steadyhead.watch.defects.series import Series
from steadyhead.watch.happening import straining, swings
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import SURGE_SEEN
from steadyhead.watch.happening.event import Event, NotSeen
from steadyhead.watch.happening.straining import Resistance
from steadyhead.watch.happening.usual import Spans

NEEDS = {
    Event.TRIP: ("outlet",),
    Event.SUPPLY_LOSS: ("inlet",),
    Event.BURST: ("flow",),
    Event.SURGE: ("inlet", "outlet"),
    Event.HUNTING: ("outlet",),
    Event.CREEP: ("outlet", "flow"),
    Event.STRAINER: ("inlet", "flow"),
    Event.SETTING: ("outlet",),
    Event.DEMAND: ("flow",),
    Event.THERMAL: ("inlet", "outlet", "flow"),
    Event.BACKFEED: ("inlet", "outlet", "flow"),
    Event.PARTLY_SHUT: ("inlet", "pressure between the valves", "flow"),
    Event.SHUT_OFF: ("inlet", "pressure between the valves", "flow"),
    Event.RAISED: ("inlet", "outlet", "flow"),
}
OF_LEVEL = (Event.CREEP, Event.SETTING, Event.THERMAL, Event.BACKFEED, Event.RAISED)
"""Events told from a level of the outlet that a defect of its sensor would move too."""


def of(fast: Scene) -> list[NotSeen]:
    """Return the events that this record cannot show, each with the reason."""
    there: dict[str, Series | None] = {"inlet": fast.inlet, "outlet": fast.outlet, "flow": fast.flow}
    there["pressure between the valves"] = fast.middle
    out = []
    for event, names in NEEDS.items():
        missing = [name for name in names if there[name] is None]
        if missing:
            out.append(NotSeen(event, f"Cannot see {event}: no {' and no '.join(missing)} is recorded."))
    lost = {n.code for n in out}
    outlet = fast.outlet
    if outlet is not None and fast.level(outlet) is None:
        words = "a defect of the outlet's sensor moves its level"
        out += [NotSeen(event, f"Cannot see {event}: {words}.") for event in OF_LEVEL if event not in lost]
    if outlet is not None and fast.inlet is not None:
        out += _surges(fast.inlet, outlet)
    return out + swings.not_seen(fast)


def of_strainer(slow: Scene, line: Resistance | None, aside: Spans) -> list[NotSeen]:
    """Return whether an inlet without a gauge before the strainer hides its blinding, with the reason."""
    inlet, flow = slow.inlet, slow.flow
    if slow.upstream is not None or inlet is None or flow is None:
        return []
    if not straining.untold(inlet, flow, aside, line):
        return []
    words = (
        f"Cannot see {Event.STRAINER}: the inlet moves with the hours of the day more than with the flow, as "
        "where others draw from the line or the supply follows them; a gauge at T0 would tell."
    )
    return [NotSeen(Event.STRAINER, words)]


def _surges(inlet: Series, outlet: Series) -> list[NotSeen]:
    if not inlet.regular:
        return [NotSeen(Event.SURGE, "Cannot see surges: the inlet is reported by exception.")]
    step = max(inlet.step, outlet.step)
    if step <= SURGE_SEEN.si:
        return []
    words = f"Can see surges in part only: they last seconds, samples lie {step:g} s apart."
    return [NotSeen(Event.SURGE, words)]
