"""Table IN: where the line cannot be raised, the shut-off is proved by a pump at its sensing line."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.records.parts import ShutOff
from steadyhead.records.procedure import Expression, Node
from steadyhead.visits.facts import trip_repeatability
from steadyhead.visits.tables import e_settings, f_trip
from steadyhead.visits.tables.a_preconditions import has_alarm
from steadyhead.visits.tables.d_static import Params
from steadyhead.visits.tables.desk import (
    SET,
    SETTING_GAUGE,
    Desk,
    Needs,
    is_no,
    measured,
    noted,
    one_of,
    yes_no,
)
from steadyhead.visits.tables.names import of, shut_off_things

RUNS = ("act", "act.2", "act.3")


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield IN1 to IN5 where the trip is proved by injection."""
    facts = desk.facts
    shut_off = facts.shut_off
    if shut_off is None or facts.is_live:
        return
    start: list[Needs] = [
        "A8" if has_alarm(desk) else "A3",
        "C5",
        e_settings.reducer_ready(facts.last_reducer),
        one_of(f"EF2.{shut_off.id}", f"C1S.{shut_off.id}"),
    ]
    yield connected(desk, shut_off, needs=start)
    yield _set(desk, shut_off)
    yield runs(
        desk,
        shut_off,
        needs=[f"IN1.{shut_off.id}", one_of(f"EF2.{shut_off.id}", f"IN2.{shut_off.id}")],
    )
    yield disconnected(desk, shut_off, needs=[f"IN3.{shut_off.id}"])
    yield tapping(desk, shut_off, needs=[f"IN4.{shut_off.id}"])


def opened(desk: Desk) -> dict[tuple[str, str], list[str]]:
    """Return the steps that each option of E0 opens in this table."""
    shut_off = desk.facts.shut_off
    if shut_off is None or desk.facts.is_live:
        return {}
    return {(shut_off.id, SET): [f"IN2.{shut_off.id}"]}


def connected(desk: Desk, shut_off: ShutOff, *, needs: list[Needs], base: str = "IN1") -> Node:
    """Return the pump connected in place of the sensing line."""
    return desk.node(
        base,
        shut_off.id,
        needs=needs,
        do=("told", *(("shared",) if desk.facts.shares_sensing else ()), "root", "connect", "coverage"),
        inputs=(*yes_no("tagged"), *noted("coverage")),
        out=("injected",),
        hazards=(("consumers", "consumers_cut"), ("pressure", "pumped")),
        text="IN1",
        over=desk.pilot(shut_off),
        opens=of(shut_off, "root_shut"),
    )


def _set(desk: Desk, shut_off: ShutOff) -> Node:
    return desk.node(
        "IN2",
        shut_off.id,
        needs=[f"IN1.{shut_off.id}", f"C1S.{shut_off.id}"],
        do=("pump", "lower", "nut"),
        inputs=(
            desk.read("T3", "act", instrument=SETTING_GAUGE, still=False),
            measured("turns", "turns", "count"),
            measured("height", "length", "rule"),
            *yes_no("acted"),
        ),
        bands={"act": "trip_set.T3"},
        otherwise=(("nothing", is_no("acted")),),
        out=("injected",),
        hazards=(("pressure", "pumped"), ("consumers", "consumers_cut"), ("surge", "shut_off_stroke")),
        over=desk.pilot(shut_off),
        touches=of(shut_off, "setting", "nut"),
        raises=("sensing",),
    )


def scattered(shut_off: ShutOff, read: tuple[str, ...]) -> Expression:
    """Return the predicate: runs of one step lie further apart than twice the repeatability."""
    values: list[Expression] = [{"value": name} for name in read]
    return {"gt": [{"sub": [{"max": values}, {"min": values}]}, 2.0 * trip_repeatability(shut_off)]}


def runs(
    desk: Desk,
    shut_off: ShutOff,
    *,
    needs: list[Needs],
    base: str = "IN3",
    title: str = "IN3",
    proves: tuple[str, ...] = ("acts", "closing", "trip"),
    over: Params | None = None,
) -> Node:
    """Return rising runs by pump on the real valve."""
    facts = desk.facts
    checks: list[tuple[str, Expression]] = [
        ("no_action", {"gt": [{"value": "act"}, f_trip.upper_edge(desk)]}),
        ("pilot_only", is_no("acted")),
        ("scatter", scattered(shut_off, RUNS)),
    ]
    return desk.node(
        base,
        shut_off.id,
        needs=needs,
        do=("raise", "clock", "release", "repeat"),
        inputs=(
            *(desk.read("T3", run, instrument=SETTING_GAUGE, still=False) for run in RUNS),
            measured("closing", "time", "stopwatch"),
            *desk.reads("T1", "T3"),
            measured("flow", "flow", "meter" if facts.has_meter else "bucket and watch"),
            *yes_no("acted"),
        ),
        bands={**dict.fromkeys(RUNS, f_trip.trip_band(shut_off)), "closing": "closing.time"},
        otherwise=checks,
        out=("injected",),
        hazards=(
            ("pressure", "pumped"),
            ("consumers", "consumers_cut"),
            ("surge", "shut_off_stroke"),
            ("surge", "rush"),
        ),
        text=title,
        over={**desk.pilot(shut_off), **(over or {})},
        proves=of(shut_off, *proves),
        depends_on=shut_off_things(facts, shut_off),
        raises=("sensing",),
    )


def disconnected(desk: Desk, shut_off: ShutOff, *, needs: list[Needs], base: str = "IN4") -> Node:
    """Return the root cock open again, seen by the gauge that follows the outlet."""
    return desk.node(
        base,
        shut_off.id,
        needs=needs,
        do=("off", "open", *(("inlet",) if desk.facts.shares_sensing else ()), "follow"),
        inputs=yes_no("follows"),
        otherwise=(("blind", is_no("follows")),),
        out=("injected", "trickle"),
        hazards=(("pressure", "trapped"), ("surge", "rush")),
        text="IN4",
        over=desk.pilot(shut_off),
        restores=of(shut_off, "root_shut"),
    )


def tapping(desk: Desk, shut_off: ShutOff, *, needs: list[Needs], base: str = "IN5") -> Node:
    """Return the look at the hole in the pipe, which a pump does not test."""
    return desk.node(
        base,
        shut_off.id,
        needs=needs,
        do=("crack", "why"),
        inputs=yes_no("brisk"),
        otherwise=(("weak", is_no("brisk")),),
        out=("trickle",),
        hazards=(("pressure", "trapped"),),
        text="IN5",
        over=desk.pilot(shut_off),
        proves=of(shut_off, "sees"),
        depends_on=shut_off_things(desk.facts, shut_off),
    )
