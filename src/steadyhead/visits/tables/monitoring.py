"""Table MN: a monitor, the second of two reducers that sense one tap: raised out of the way, set, proved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from steadyhead.findings import Amount
from steadyhead.records.parts import Reducer
from steadyhead.records.procedure import Expression, Node
from steadyhead.visits.tables import counting, e_settings
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables.desk import (
    SETTING_GAUGE,
    Band,
    Desk,
    Needs,
    above,
    by_choice,
    is_no,
    measured,
    one_of,
    outside,
    yes_no,
)
from steadyhead.visits.tables.names import of, reducer_things
from steadyhead.visits.tables.wording import as_read, pressure


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield MN0 where the outlet must rise above the monitor."""
    facts = desk.facts
    monitor = facts.monitor
    if monitor is not None and monitor in facts.raised:
        yield away(desk, monitor, needs=["D2", "C5", e_settings.reducer_free(facts.last_reducer)])


def proofs(desk: Desk) -> Iterator[Node]:
    """Yield MN1, behind all that needs the monitor away: trip, relief valves, high alarm."""
    facts = desk.facts
    monitor = facts.monitor
    if monitor is None or not facts.can_isolate or not facts.is_own(monitor):
        return
    worker = facts.last_reducer
    yield holds(
        desk,
        monitor,
        needs=["D2", "C5", e_settings.reducer_free(worker), _at_rest(monitor), *_before(desk)],
        band=_bands(desk, monitor),
    )


def _at_rest(monitor: Reducer) -> Needs:
    return one_of(f"C1F.{monitor.id}", f"C1S.{monitor.id}")


def _before(desk: Desk) -> list[Needs]:
    """Return what must be over before the monitor is put back: the trip, the relief valves, the alarm."""
    facts = desk.facts
    found: list[Needs] = [f"R2.{relief.id}" for relief in facts.reliefs_proved]
    found += [f"R4.{relief.id}" for relief in facts.reliefs_shut]
    if facts.proved is not None:
        found.append(f"F5.{facts.proved.id}")
    if facts.alarm_over_monitor:
        found.append("G4")
    return found


def _bands(desk: Desk, monitor: Reducer) -> dict[str, Band]:
    """Return the questions: the monitor as it stands or as set, or always as set where it was raised."""
    pairs = {role: ("monitor", role) for role in (*desk.facts.inner, "T3")}
    pairs["lockup"] = ("monitor_lockup", "T3")
    if monitor in desk.facts.raised:
        return {name: f"{question}_set.{role}" for name, (question, role) in pairs.items()}
    return {
        name: by_choice(monitor.id, fits=f"{question}.{role}", must_be_set=f"{question}_set.{role}")
        for name, (question, role) in pairs.items()
    }


def as_found(desk: Desk) -> dict[str, Band]:
    """Return the questions of a monitor nobody has turned."""
    found: dict[str, Band] = {role: f"monitor.{role}" for role in (*desk.facts.inner, "T3")}
    return {**found, "lockup": "monitor_lockup.T3"}


def as_set(desk: Desk) -> dict[str, Band]:
    """Return the questions of a monitor that was set today."""
    found: dict[str, Band] = {role: f"monitor_set.{role}" for role in (*desk.facts.inner, "T3")}
    return {**found, "lockup": "monitor_lockup_set.T3"}


def away(desk: Desk, monitor: Reducer, *, needs: Sequence[Needs], base: str = "MN0") -> Node:
    """Return the monitor raised to the top of its range, because the outlet must rise above it."""
    return desk.node(
        base,
        monitor.id,
        needs=needs,
        do=("why", "raise"),
        inputs=(measured("turns", "turns", "count"), measured("height", "length", "rule")),
        refuses=(counting.screw(desk, monitor),),
        out=("trickle",),
        hazards=(("pressure", "no_monitor"), ("pressure", "raised")),
        text="MN0",
        time="MN0",
        over={**desk.pilot(desk.facts.last_reducer), **desk.pilot(monitor)} | _both(desk, monitor),
        touches=of(monitor, "setting", "nut"),
        opens=of(monitor, "raised"),
    )


def holds(
    desk: Desk,
    monitor: Reducer,
    *,
    needs: Sequence[Needs],
    band: dict[str, Band],
    base: str = "MN1",
    turned: bool = True,
    again: bool = False,
) -> Node:
    """Return the monitor seen to hold while the other reducer stands open.

    turned: it may be set here; again: its pilot was opened, so that it is proved anew as it stands.
    """
    facts = desk.facts
    worker = facts.last_reducer
    always = monitor in facts.raised
    setting = ("set" if always else "set_if", "nut") if turned else ()
    limit = desk.numbers.test_limit.get("outlet")
    return desk.node(
        base,
        monitor.id,
        needs=needs,
        do=("raise", *setting, "read", "still", *_stroke(limit), "hand_over", "lower"),
        inputs=(
            *desk.reads("T1", "T2"),
            desk.read("T3", instrument=SETTING_GAUGE),
            desk.read("T3", "lockup", instrument=SETTING_GAUGE),
            measured("response", "time", "stopwatch"),
            desk.read("T3", "peak", instrument=SETTING_GAUGE, still=False),
            measured("turns", "turns", "count"),
            *((measured("height", "length", "rule"),) if turned else ()),
            *yes_no("stable"),
        ),
        bands=band,
        otherwise=(
            ("climbs", above("lockup")),
            ("off", outside("T3")),
            *((("slow", _beyond(desk, limit)),) if limit is not None else ()),
            ("swings", is_no("stable")),
        ),
        refuses=(counting.screw(desk, worker),),
        out=("raised",),
        hazards=(("pressure", "raised"), ("consumers", "consumers_high")),
        text="MN1",
        title="title_opened" if again else "title" if turned else "title_found",
        time="MN1",
        over={**_both(desk, monitor), "start_below": pressure(d.MONITOR_START.si)},
        touches=(*of(worker, "setting"), *(of(monitor, "setting", "nut") if turned else ())),
        proves=of(monitor, "stands_in" if turned or again else "as_found"),
        depends_on=reducer_things(facts, monitor) if turned or again else (),
        opens=of(worker, "raised"),
        restores=of(monitor, "raised", "out_of_way", "due")
        if turned
        else of(monitor, "due")
        if again
        else (),
        raises=("outlet",),
    )


def _stroke(limit: float | None) -> tuple[str, ...]:
    """Return how the stroke of the monitor is timed; where it stops is told where it is known."""
    return ("start", "time", *(("most",) if limit is not None else ()), "response")


def _beyond(desk: Desk, limit: float) -> Expression:
    """Return the predicate: the outlet rose past its test limit before the monitor held it."""
    return {"gt": [{"value": "peak"}, as_read(desk.facts, "T3", limit)]}


def _both(desk: Desk, monitor: Reducer) -> dict[str, Amount | str | int]:
    """Return the words of both reducers: those of the monitor under names of their own."""
    own, other = desk.pilot(monitor), desk.pilot(desk.facts.last_reducer)
    words: dict[str, Amount | str | int] = {
        "mon": monitor.id,
        "raise_mon": own["raise_rv"],
        "lower_mon": own["lower_rv"],
        "monitor_reading": own["trickle_reading"],
    }
    return {**other, **words}
