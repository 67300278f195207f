"""Table J: return to service, with everything that was opened put right."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.records.procedure import Expression, Node
from steadyhead.visits.defaults import HOLD_BAND
from steadyhead.visits.tables import counting, g_alarm, heating, relieving, service_checks
from steadyhead.visits.tables.a_preconditions import has_alarm
from steadyhead.visits.tables.defaults import NO_PRESSURE
from steadyhead.visits.tables.desk import Desk, Needs, Tag, is_no, is_yes, measured, noted, yes_no
from steadyhead.visits.tables.names import of


def nodes(desk: Desk, before: list[Needs]) -> Iterator[Node]:
    """Yield J1 to J6; before: everything that must be proved or put right."""
    facts = desk.facts
    yield desk.node(
        "J1",
        needs=before,
        do=("flush",),
        inputs=yes_no("clear"),
        otherwise=(("dirty", is_no("clear")),),
        out=("trickle",),
        hazards=(("water quality", "quality"), ("water quality", "discharge")),
    )
    yield _opening(desk)
    yield desk.node(
        "J3",
        needs=["J2"],
        do=("watch", *(("critical",) if facts.station.needs else ())),
        inputs=(
            *desk.reads("T0", "T1", "T2", "T3", "T4"),
            *((measured("flow", "flow", "meter"),) if facts.has_meter else ()),
            *((measured("critical", "pressure", "gauge"),) if facts.station.needs else ()),
            *yes_no("steady"),
        ),
        otherwise=(("swings", is_no("steady")), *_critical(desk)),
        out=("in_service",),
        hazards=(("consumers", "consumers_low"),),
    )
    yield _leaving(desk, "J4", ["J3", *service_checks.ids(desk)])
    fire = facts.carries_fire_water
    yield desk.node(
        "J5",
        needs=["J4"],
        do=("desk" if has_alarm(desk) else "desk_plain", *(("fire",) if fire else ()), "consumers"),
        inputs=noted("told"),
        out=("in_service",),
        hazards=(("fire", "fire"),) if fire else (),
        restores=(*(("alarm_test",) if has_alarm(desk) else ()), *(("fire_cover",) if fire else ())),
    )
    apart: Expression = {"gt": [{"abs": {"sub": [{"value": "logger"}, {"value": "gauge"}]}}, HOLD_BAND.si]}
    yield desk.node(
        "J6",
        needs=["J5"],
        do=("start",),
        inputs=(measured("logger", "pressure", "logger"), desk.read("T3", "gauge", still=False)),
        otherwise=(("off", apart),),
        out=("in_service",),
        proves=("logger.logger",),
        depends_on=("alarm.transmitter",),
    )


def _critical(desk: Desk) -> Iterator[tuple[str, Expression]]:
    """Yield what a critical point may read instead: no pressure at all, or less than must remain there."""
    needs = [need.pressure.si for need in desk.facts.station.needs]
    if needs:
        none = NO_PRESSURE.si
        yield "critical_none", {"lt": [{"value": "critical"}, none]}
        read: list[Expression] = [
            {"ge": [{"value": "critical"}, none]}, {"lt": [{"value": "critical"}, min(needs)]},
        ]  # fmt: skip
        yield "critical_low", {"all": read}


def _opening(desk: Desk) -> Node:
    facts = desk.facts
    shut_off = facts.shut_off
    return desk.node(
        "J2",
        needs=["J1"],
        do=(
            "inlet",
            "equal" if facts.has_tap("T4") else "equal_none",
            "outlet",
            "drains" if facts.inner_drains else "drain",
            *(("other_feed",) if facts.is_fed_otherwise else ()),
            *heating.on(desk),
        ),
        over=heating.over(desk),
        inputs=(
            *desk.reads("T3", "T4"),
            measured("turns.inlet", "turns", "count"),
            measured("turns.outlet", "turns", "count"),
            *(yes_no("trips") if shut_off is not None else ()),
        ),
        otherwise=(("trips", is_yes("trips")),) if shut_off is not None else (),
        refuses=counting.both_opened(desk),
        out=("opening",),
        hazards=(("surge", "surge_close"), ("consumers", "consumers_open")),
        restores=(
            *("outlet_shut", "inlet_down"),
            *(("other_feed",) if facts.is_fed_otherwise else ()),
            *((heating.HEATERS,) if facts.heaters_wait else ()),
        ),
    )


def reliefs_open(desk: Desk) -> list[tuple[str, relieving.Words]]:
    """Return the second look at the cock of each relief valve that has one, or may have one."""
    return relieving.cocks(desk, "J4")


def vessels_open(desk: Desk) -> list[tuple[str, relieving.Words]]:
    """Return the second look at the cock of each expansion vessel."""
    ids = (*(vessel.id for vessel in desk.facts.vessels), *desk.facts.served)
    return [("J4.vessel", {"ev": name}) for name in ids]


def _leaving(desk: Desk, base: str, needs: list[Needs]) -> Node:
    facts = desk.facts
    bypasses = [("bypass", {"branch": branch.id}) for _, branch in facts.layout.bypasses]
    shared = (
        *(("shared",) if facts.shares_sensing else ()),
        *(("medium",) if facts.medium_bypasses else ()),
    )
    cautions: tuple[tuple[Tag, str], ...] = (("electric", "electric"),)
    switched = facts.shut_off is not None and facts.shut_off.limit_switch is not None
    return desk.node(
        base,
        needs=needs,
        do=(
            "seal",
            *bypasses,
            "cocks",
            *reliefs_open(desk),
            *vessels_open(desk),
            *shared,
            *g_alarm.looked_at(desk),
            "gauges",
            "lids",
        ),
        inputs=(*yes_no("twice"), *noted("seals"), measured("photo", "photo", "camera")),
        otherwise=(("not", is_no("twice")),),
        out=("in_service",),
        hazards=cautions if switched else (),
        restores=(
            "gauges_on",
            "alarm.transmitter_off",
            *(name for reducer in facts.reducers for name in of(reducer, "seal")),
        ),
    )
