"""What comes behind the runs of a yearly proof: high alarm, relief valves and monitor back."""

from __future__ import annotations

from steadyhead.records.procedure import Node
from steadyhead.visits.tables import g_alarm, monitoring, relieving, y_due, y_runs
from steadyhead.visits.tables.desk import Desk, Needs


def heard(desk: Desk, needs: list[Needs], base: str = "Y6H") -> list[Node]:
    """Return the high alarm, where it can be tried: by raising the outlet, else by pump."""
    facts = desk.facts
    if not g_alarm.is_tried(desk):
        return []
    if facts.can_isolate and not facts.others_serve:
        return [y_runs.watched(desk, g_alarm.by_reducer(desk, needs=needs, base=base, time=_time(base)))]
    return [g_alarm.by_pump(desk, needs=needs, base=base, time=_time(base))]


def _time(base: str) -> str:
    """Return whose time the alarm takes: on top of the table of a yearly visit, or its own."""
    return "Y6H" if base == "Y6H" else "G4"


def _hidden(desk: Desk) -> bool:
    """Return whether a relief valve or the monitor, once back, would hold the outlet below the high alarm."""
    facts, alarm = desk.facts, desk.facts.station.alarm
    if alarm is None:
        return False
    return facts.alarm_over_monitor or any(one.crack.si < alarm.pressure.si for one in facts.reliefs_shut)


def ended(desk: Desk, found: list[Node], last: list[Needs], *, alarm: bool) -> tuple[list[Node], list[Needs]]:
    """Return the runs with the alarm and what puts relief valves and monitor back behind them."""
    found = list(found)
    early = alarm and _hidden(desk)
    for part in (heard if early else put_back, put_back if early else heard):
        if part is heard and not alarm:
            continue
        more = part(desk, last)
        found += more
        last = [more[-1].id] if more else last
    return found, last


def put_back(desk: Desk, last: list[Needs]) -> list[Node]:
    """Return what brings relief valves and monitor back after the last run."""
    facts = desk.facts
    found: list[Node] = []
    for relief in facts.reliefs_shut:
        found.append(relieving.opened_again(desk, relief, needs=last, base="Y6R"))
        last = [found[-1].id]
    monitor = facts.monitor
    if monitor is not None and monitor in facts.raised:
        band = monitoring.as_set(desk)
        found.append(monitoring.holds(desk, monitor, needs=last, band=band, base="Y6M"))
    return [y_runs.watched(desk, node) for node in found]


def monitor_again(desk: Desk, last: list[Needs]) -> tuple[list[Node], list[Needs]]:
    """Return the monitor proved anew where its filter was opened and nothing else sets and proves it."""
    monitor = desk.facts.monitor
    if monitor is None or monitor not in y_due.things(desk) or monitor in desk.facts.raised:
        return [], last
    band, opened = monitoring.as_found(desk), [*last, f"Y5O.{monitor.id}"]
    node = monitoring.holds(desk, monitor, needs=opened, band=band, base="Y6N", turned=False, again=True)
    return [y_runs.watched(desk, node)], [*last, y_due.over_again(desk, monitor)]
