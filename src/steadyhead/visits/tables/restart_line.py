"""Table R of a restart, R7 to R10: the reducer tested, what becomes of the station, the close-out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from steadyhead.findings import Amount
from steadyhead.records.procedure import Expression, Hazard, Message, Node, Otherwise
from steadyhead.visits.facts import Facts
from steadyhead.visits.restarting import worst_of
from steadyhead.visits.tables import (
    counting,
    f_trip,
    guarding,
    heating,
    j_service,
    k_records,
    refusing,
)
from steadyhead.visits.tables.desk import (
    SETTING_GAUGE,
    Desk,
    Needs,
    is_no,
    is_yes,
    measured,
    noted,
    one_of,
    outside,
    yes_no,
)
from steadyhead.visits.tables.names import of, reducer_things
from steadyhead.visits.tables.restart import (
    ALARM,
    FAILED,
    PASSES,
    REAL,
    SOUND,
    Trip,
    both,
    chosen,
    not_chosen,
)
from steadyhead.visits.tables.restart_proof import Beside, proof
from steadyhead.visits.tables.second_trip import below_its_edge, ever, tripped
from steadyhead.visits.tables.wording import as_read

ISOLATED, PROVED, RETURNS, ATTENDED = "stays isolated", "trip proved", "returns", "returns watched"
BACK = (PROVED, RETURNS, ATTENDED)
TURN_SLACK = 0.05
"""Share by which counted turns of a valve may pass the printed opening; own estimate, of counting."""
SET_ONLY = ("setting", "nut")


def nodes(
    trip: Trip, tested: tuple[Trip, ...], beside: Beside | None = None
) -> tuple[list[Node], dict[tuple[str, str], tuple[str, ...]]]:
    """Return R7 to K2 with the steps that the options of R1, R6 and R8 open.

    Parameters
    ----------
    trip
        The line of the shut-off.
    tested
        Each line whose reducer is tested, that of the shut-off last; one unless streams share it.
    beside
        What is isolated meanwhile.
    """
    beside = beside or Beside()
    heat = list(heating.off(trip.desk, needs=["R2", "R6"], base="R7H"))
    test = [*heat, *_test(trip, tested, beside, heat)]
    shut, alarm = [_passes(trip), _failed(trip)], _alarm_fault(trip)
    verdict = _verdict(trip, [one_of(test[-1].id, "R6B", "R6C", "R9")])
    proved, full = proof(trip, beside)
    returns, attended = _returns(trip), _attended(trip)
    back = list(beside.back(one_of("R8P", "R8R", "R8U")))
    ends: Needs = back[-1].id if back else one_of("R8P", "R8R", "R8U")
    service = [*back, *_service(trip, [ends])]
    after = [replace(n, needs={"all": ["R10"]}) for n in k_records.nodes(trip.desk, []) if n.id == "K2"]
    found = [
        *test, *shut, alarm, verdict, _isolated(trip), *proved, returns, attended, *service,
        _closed(trip), _brought_back(trip, beside),
        _watch_ended(trip), *after,
    ]  # fmt: skip
    tests, proofs, services = (
        tuple(node.id for node in listed) for listed in (test, proved, [*service, *after])
    )
    opened = {
        ("R1", REAL): ("R2", "R5", "R6", *tests, "R6B", "R6C"),
        ("R1", ALARM): ("R9", *full),
        ("R6", SOUND): tests,
        ("R6", FAILED): ("R6C",),
        ("R6", PASSES): ("R6B",),
        ("R8", PROVED): (*proofs, *services),
        ("R8", RETURNS): ("R8R", *services),
        ("R8", ATTENDED): ("R8U", *services, "R8W"),
        ("R8", ISOLATED): ("R8I", "R8B"),
    }
    return found, opened


def _test(trip: Trip, tested: tuple[Trip, ...], beside: Beside, heat: list[Node]) -> list[Node]:
    """Return R7, R7R and R7T of each line, the others isolated before each."""
    found = [_cut_off(trip, heat)]
    for number, one in enumerate(tested):
        for node in beside.alone.get(one.stream, ()):
            found.append(replace(node, needs={"all": [found[-1].id]}))
        if number == 0:
            found.append(_reset(trip, one, found[-1].id))
        found.append(_holds(one, found[-1].id))
    return found


def _cut_off(trip: Trip, heat: list[Node]) -> Node:
    desk, facts = trip.desk, trip.desk.facts
    opening = [o.turns for o in desk.numbers.inlet_opening.values() if o.turns is not None]
    most = min(opening, default=None)
    checks: list[tuple[str, Expression]] = []
    if most is not None:
        checks.append(("far", {"gt": [{"value": "turns"}, most * (1.0 + TURN_SLACK)]}))
    drains = "drains" if facts.inner_drains else "drain"
    return desk.node(
        "R7",
        needs=["R2", "R6", *(node.id for node in heat)],
        do=(
            "outlet" if facts.can_isolate else "passing",
            *(("watch",) if facts.has_tap("T4") else ()),
            "inlet",
            *(("B1.second",) if facts.inlet_passes else ()),
            *_bypasses(desk),
            drains,
            "v2",
        ),
        inputs=(measured("turns", "turns", "count"), *yes_no("water")),
        otherwise=(*checks, ("dry", is_no("water"))),
        refuses=(counting.moved(desk, facts.inlet_valve),),
        out=("tripped_between" if facts.is_downstream else "tripped",),
        hazards=(("surge", "surge_close"), ("consumers", "consumers_low"), ("pressure", "trapped")),
        text="RS7",
        time="RS7",
        over=trip.words(),
        opens=("outlet_shut", "inlet_down", *(("other_feed",) if facts.is_fed_otherwise else ())),
    )


def _bypasses(desk: Desk) -> Iterator[tuple[str, Mapping[str, str]]]:
    for _, branch in desk.facts.layout.bypasses:
        yield "C1.bypass", {"branch": branch.id}


def _ends(trip: Trip) -> Iterator[tuple[str, Mapping[str, Amount | str]]]:
    """Yield what the surge engine says about a reset with the consumers connected: the worst of both ends."""
    facts, ends = trip.desk.facts, trip.restart.ends
    role = "T4" if facts.has_tap("T4") else "T3"
    for throttled, name in ((False, "ends"), (True, "ends_v2")):
        worst = worst_of(ends, throttled=throttled)
        if worst is not None:
            then = "limit" if worst.passes else "again" if worst.trips else "neither"
            yield (
                name,
                {
                    "found": worst.found,
                    "health": worst.health,
                    "peak": Amount("pressure", as_read(facts, role, worst.outlet)),
                    "comes_to": f"@ends.{then}",
                },
            )


def _reset(tripped: Trip, trip: Trip, before: Needs) -> Node:
    """Return R7R: the reset onto an open drain, seen at the line that is tested first."""
    desk, facts = trip.desk, tripped.desk.facts
    words = trip.words()
    words |= {name: tripped.desk.words[name] for name in ("t2", "td2") if name in tripped.desk.words}
    over = ever("peak", "gt", f_trip.upper_edge(desk))
    reset = "itself" if facts.resets_itself else "by_hand"
    return desk.node(
        "R7R",
        needs=[before],
        do=(
            "both_ends",
            *_ends(tripped),
            "drain_open_between" if facts.inner_drains else "drain_open",
            reset,
            "throttle_between" if facts.inner_drains else "throttle",
            "fill",
            "stop",
        ),
        inputs=(
            *desk.reads("T1", "T2", "T3"),
            desk.read("T3", "peak", instrument=SETTING_GAUGE, still=False),
            *yes_no("open", "closes"),
        ),
        otherwise=(
            ("over", both(over, not_chosen("R8", ISOLATED))),
            ("runs", both(ever("closes", "eq", False), not_chosen("R8", ISOLATED))),
            ("stays", both(is_no("open"), not_chosen("R8", ISOLATED))),
        ),
        out=("tripped_between" if facts.is_downstream else "tripped",),
        hazards=(("pressure", "raised"), ("surge", "rush")),
        text="RS7R",
        time="RS7R",
        over=words,
        raises=("outlet",),
        refuses=(
            guarding.not_reset_before(desk, "RS7R.reset_first", "R7/turns", trip.words()),
            guarding.opened_since(desk, "RS7R.opened_first", ["R7", "turns"], "peak"),
        ),
    )


def _holds(trip: Trip, before: Needs) -> Node:
    """Return R7T: the reducer at trickle and at no flow, consumers cut off."""
    desk, facts = trip.desk, trip.desk.facts
    fails: Expression = {"any": [outside("trickle"), outside("lockup")]}
    things = [name for name in reducer_things(facts, trip.reducer) if name.rpartition(".")[2] not in SET_ONLY]
    asked = (
        *desk.reads("T1"),
        desk.read("T3", "trickle", instrument=SETTING_GAUGE),
        desk.read("T3", "lockup", instrument=SETTING_GAUGE),
        *yes_no("dry"),
        measured("flow", "flow", facts.flow_instrument),
    )
    return desk.node(
        "R7T",
        trip.stream,
        needs=[before],
        do=("trickle", "lockup", *(("watch",) if facts.has_tap("T4") else ()), "again"),
        inputs=tuple(replace(one, unless=chosen("R8", ISOLATED)) for one in asked),
        bands={"trickle": "trickle.T3", "lockup": "lockup.T3"},
        otherwise=(
            ("fails", both(fails, not_chosen("R8", ISOLATED))),
            ("failed", both(fails, chosen("R8", ISOLATED))),
            ("flows", both(is_no("dry"), not_chosen("R8", ISOLATED))),
        ),
        out=("trickle",),
        hazards=(("pressure", "raised"),),
        text="RS7T",
        time="RS7T",
        over=trip.words(),
        proves=of(trip.reducer, "holds"),
        refuses=(
            refusing.flowed(desk, "lockup"),
            guarding.too_early(desk, "RS7T.too_early", ["R7R", "peak"], "trickle", rv=trip.reducer.id),
        ),
        depends_on=dict.fromkeys(things),
    )


def _shut(trip: Trip, base: str, text: str, *more: str) -> Node:
    """Return the station shut and left shut because of what was read: nothing is tested."""
    desk, facts = trip.desk, trip.desk.facts
    return desk.node(
        base,
        needs=["R6"],
        do=(*more, "RS6X.outlet", "RS6X.inlet", *(("B1.second",) if facts.inlet_passes else ())),
        inputs=(*yes_no("shut"), *noted("what")),
        otherwise=(("RS6X.open", is_no("shut")),),
        out=("tripped_between" if facts.is_downstream else "tripped",),
        hazards=(("surge", "surge_close"), ("consumers", "consumers_low")),
        text=text,
        time="RS6X",
        over=trip.words(),
        opens=("outlet_shut", "inlet_down", *(("other_feed",) if facts.is_fed_otherwise else ())),
    )


def _passes(trip: Trip) -> Node:
    return _shut(trip, "R6B", "RS6B", "why", "rows")


def _failed(trip: Trip) -> Node:
    return _shut(trip, "R6C", "RS6C", "why", "no_test", "standby")


def _alarm_fault(trip: Trip) -> Node:
    desk = trip.desk
    switched = trip.shut_off.limit_switch is not None
    return desk.node(
        "R9",
        needs=["R4"],
        do=("unproved", *(("switch",) if switched else ()), "mapping", "proof"),
        inputs=(*noted("found"), *yes_no("open")),
        otherwise=(("shut", is_no("open")),),
        out=("outside",),
        hazards=(("electric", "electric"),),
        text="RS9",
        time="RS9",
        over=trip.words(),
    )


def _verdict(trip: Trip, needs: list[Needs]) -> Node:
    """Return R8: is the cause understood, and what becomes of the station."""
    back = chosen("", *BACK)
    unsafe: Expression = {"any": [chosen("R6", FAILED), chosen("R6", PASSES)]}
    return trip.desk.node(
        "R8",
        needs=needs,
        do=("understood", "touched", "second", "ways"),
        inputs=(*noted("cause"), *yes_no("understood", "touched", "second")),
        otherwise=(
            ("unsafe", both(chosen("R1", REAL), unsafe, back)),
            ("unproved", both(chosen("R1", ALARM), chosen("", RETURNS, ATTENDED))),
            ("stop", both(ever("second", "eq", True), is_no("understood"), back)),
            ("not_known", both(chosen("R1", REAL), is_no("understood"), chosen("", RETURNS, PROVED))),
            (
                "untouched",
                both({"any": [is_yes("touched"), *below_its_edge(trip)]}, chosen("", RETURNS, ATTENDED)),
            ),
        ),
        refuses=(guarding.untouched(trip.desk, trip.shut_off),),
        out=("trickle",),
        text="RS8",
        time="RS8",
        over=trip.words(),
    )


def _isolated(trip: Trip) -> Node:
    facts = trip.desk.facts
    return trip.desk.node(
        "R8I",
        needs=["R8"],
        do=(
            "shut",
            "tag",
            "other" if facts.others_serve or facts.is_fed_otherwise else "water",
            *(("fire",) if facts.carries_fire_water else ()),
            "next",
        ),
        inputs=(*yes_no("tagged"), *noted("who", "until")),
        otherwise=(("not", is_no("tagged")),),
        out=("isolated",),
        hazards=(("pressure", "trapped"), ("consumers", "consumers_low")),
        text="RS8I",
        time="RS8I",
        over=trip.words(),
        opens=("outlet_shut", "inlet_down"),
    )


def _brought_back(trip: Trip, beside: Beside) -> Node:
    """Return R8B: a station that stayed isolated is back by a plan of its own; what is open ends there."""
    facts = trip.desk.facts
    return trip.desk.node(
        "R8B",
        needs=["R10", "R8I"],
        do=("plan", "open"),
        inputs=noted("plan", "day"),
        out=("isolated",),
        text="RS8B",
        time="RS8B",
        over=trip.words(),
        restores=(*_left_open(facts), *beside.items),
    )


def _left_open(facts: Facts) -> Iterator[str]:
    yield from ("outlet_shut", "inlet_down", "gauges_on")
    if facts.is_fed_otherwise:
        yield "other_feed"
    if facts.heaters_wait:
        yield heating.HEATERS
    if facts.carries_fire_water:
        yield "fire_cover"


def _returns(trip: Trip) -> Node:
    return trip.desk.node(
        "R8R",
        needs=["R8"],
        do=("stands", "slowly"),
        inputs=noted("accepted"),
        out=("trickle",),
        text="RS8R",
        time="RS8R",
        over=trip.words(),
    )


def _attended(trip: Trip) -> Node:
    """Return R8U: back with the cause not understood, watched and at a lowered duty."""
    reducer = trip.reducer
    return trip.desk.node(
        "R8U",
        needs=["R8"],
        do=("watch", "lower", "nut", "stop"),
        inputs=(
            *yes_no("watched"),
            *noted("who", "until"),
            measured("flow", "flow", trip.desk.facts.flow_instrument),
            trip.desk.read("T3", "duty", instrument=SETTING_GAUGE),
            measured("height", "length", "rule"),
        ),
        otherwise=(("alone", is_no("watched")),),
        out=("trickle",),
        hazards=(("pressure", "raised"),),
        text="RS8U",
        time="RS8U",
        over=trip.words(),
        touches=of(reducer, "setting", "nut"),
        opens=of(reducer, "lowered"),
    )


def _watch_ended(trip: Trip) -> Node:
    """Return R8W: the watch is over and the duty back; until then the restart stays provisional."""
    return trip.desk.node(
        "R8W",
        needs=["R10", "R8U"],
        do=("found", "duty"),
        inputs=noted("cause", "plan", "day"),
        out=("in_service",),
        text="RS8W",
        time="RS8W",
        over=trip.words(),
        restores=of(trip.reducer, "lowered"),
    )


def _service(trip: Trip, needs: list[Needs]) -> list[Node]:
    """Return J1 to J6, the opening to the consumers with the refill of the zone in front of it."""
    desk, refill = trip.desk, trip.restart.refill
    found = list(j_service.nodes(desk, needs))
    words = trip.words()
    lines = [
        "warn",
        "suction",
        *(("balance", "drained", "bound") if refill is not None else ("unknown",)),
        "low_end",
    ]
    told = tuple(desk.say(f"RSJ.{name}", **words) for name in lines)
    again: Expression = {"any": [ever("trips", "eq", True), *tripped(trip, RETURNS, ATTENDED)]}
    second = desk.other("RSJ.second", again, words)
    surge = "surge_refill" if refill is not None else "surge_fill"
    cautions = desk.node("J2", hazards=(("surge", surge), ("water quality", "quality")), over=words).hazards
    found = [replace(node, needs={"all": ["J3"]}) if node.id == "J4" else node for node in found]
    return [_opened(node, told, second, cautions) if node.id == "J2" else node for node in found]


def _opened(node: Node, told: tuple[Message, ...], second: Otherwise, cautions: tuple[Hazard, ...]) -> Node:
    """Return the opening to the consumers with the refill in front of it; a second trip there is a stop."""
    otherwise = tuple(second if one.see.id == "J2.trips.see" else one for one in node.otherwise)
    do, hazards = (*told, *node.do), (*cautions, *node.hazards)
    return replace(node, do=do, otherwise=otherwise, hazards=hazards)


def _closed(trip: Trip) -> Node:
    desk, facts = trip.desk, trip.desk.facts
    limit = trip.restart.fault
    role = "T4" if facts.has_tap("T4") else "T3"
    checks: list[tuple[str, Expression]] = [("not_known", is_no("known"))]
    inspected = yes_no("inspected")[0]
    if limit is not None:
        at = as_read(facts, role, limit[1])
        checks.append(("weak", both({"gt": [{"value": "peak"}, at]}, is_no("inspected"))))
        inspected = replace(inspected, unless={"le": [{"value": "peak"}, at]})
    else:
        checks.append(("unseen", is_no("inspected")))
    return desk.node(
        "R10",
        needs=[one_of("J6", "R8I")],
        do=(
            "timeline",
            "peak" if limit is not None else "peak_plain",
            "impact",
            "code",
            "stale",
            "lessons",
        ),
        inputs=(
            *noted("timeline"),
            replace(measured("peak", "pressure", "logger"), unless=is_no("known")),
            *yes_no("known"),
            inspected,
            *noted("impact", "code", "stale", "lessons"),
        ),
        otherwise=checks,
        out=("in_service",),
        text="RS10",
        time="RS10",
        over=trip.words(),
    )
