"""Table C: rest positions, filling, bleeding, the V2 opening of the inlet valve."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from steadyhead.findings import Amount
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.procedure import Expression, Node
from steadyhead.visits.tables import counting, refusing
from steadyhead.visits.tables.a_preconditions import is_direct
from steadyhead.visits.tables.b_isolate import ahead
from steadyhead.visits.tables.desk import (
    FITS,
    SET,
    Desk,
    Tag,
    above,
    below,
    by_choice,
    follows,
    is_no,
    is_yes,
    measured,
    one_of,
    yes_no,
)
from steadyhead.visits.tables.names import BLED, of
from steadyhead.visits.tables.relieving import cocks
from steadyhead.visits.tables.wording import as_read


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield C1 to C5; C1F and C1S for each pilot, one for each option of E0."""
    facts = desk.facts
    bypasses = [("bypass", {"branch": branch.id}) for _, branch in facts.layout.bypasses]
    yield desk.node(
        "C1",
        needs=["B6", *(f"E0.{valve.id}" for valve in facts.pilots)],
        do=(
            "drain",
            *(("drain_between",) if facts.inner_drains else ()),
            "outlet",
            "cocks",
            *cocks(desk, "C1"),
            *bypasses,
        ),
        inputs=yes_no("ticked"),
        otherwise=(("open", is_no("ticked")),),
        out=("isolated",),
    )
    for valve in (valve for valve in facts.valves if facts.is_own(valve)):
        yield _as_it_stands(desk, valve)
        yield _at_rest(desk, valve)
    yield desk.node(
        "C2",
        needs=["C1", *(one_of(f"C1F.{valve.id}", f"C1S.{valve.id}") for valve in facts.pilots)],
        do=(*_ahead(desk), "crack", "speed", "vents"),
        inputs=(*yes_no("solid"), *desk.reads("T1")),
        otherwise=(("spits", is_no("solid")),),
        out=("filling",),
        hazards=(("surge", "surge_fill"), ("pressure", "inlet"), ("confined space", "flooding")),
        opens=("vents",),
        raises=("inlet",),
    )
    yield _bleeding(desk)
    yield desk.node(
        "C4",
        needs=["C3"],
        do=("run", "again"),
        inputs=(*yes_no("little"), *desk.reads("T1")),
        otherwise=(("keeps", is_no("little")),),
        out=("filling",),
        hazards=(("pressure", cover_caution(desk)), ("water quality", "discharge")),
        proves=BLED[:1],
        depends_on=BLED[1:],
        restores=("vents",),
        refuses=refusing.bled_low(desk),
    )
    yield _opening(desk)


def _ahead(desk: Desk) -> Iterator[tuple[str, dict[str, str]]]:
    """Yield the shutting of what was opened ahead of the valves: drains there, else the vent at the tap."""
    drains = ahead(desk)
    if drains:
        yield "ahead", {"ahead": " and ".join(drains)}
    else:
        yield "ahead_vent", {}


def opened(desk: Desk) -> dict[tuple[str, str], list[str]]:
    """Return the steps that each option of E0 opens in this table."""
    found: dict[tuple[str, str], list[str]] = {}
    for valve in (valve for valve in desk.facts.valves if desk.facts.is_own(valve)):
        found[valve.id, FITS] = [f"C1F.{valve.id}"]
        found[valve.id, SET] = [f"C1S.{valve.id}"]
    return found


def _as_it_stands(desk: Desk, valve: Reducer | ShutOff) -> Node:
    return desk.node(
        "C1F",
        valve.id,
        needs=["C1"],
        do=("leave",),
        inputs=yes_no("untouched"),
        otherwise=(("touched", is_no("untouched")),),
        out=("isolated",),
        over=desk.pilot(valve),
    )


def _at_rest(desk: Desk, valve: Reducer | ShutOff) -> Node:
    is_reducer = isinstance(valve, Reducer)
    if (not is_reducer or valve == desk.facts.monitor) and not desk.facts.can_isolate:
        return _left_in_service(desk, valve)
    if valve == desk.facts.monitor:
        return _wide_open(desk, valve)
    cautions: tuple[tuple[Tag, str], ...] = () if is_reducer else (("pressure", "no_protection"),)
    return desk.node(
        "C1S",
        valve.id,
        needs=["C1"],
        do=("lower",) if is_reducer else ("rated", "top", "unprotected"),
        inputs=(measured("turns", "turns", "count"), measured("height", "length", "rule")),
        otherwise=(("none", counting.none_explained()),),
        refuses=(counting.screw(desk, valve),),
        out=("isolated",),
        hazards=cautions,
        over=desk.pilot(valve),
        touches=of(valve, "setting", "nut"),
        opens=() if is_reducer else of(valve, "out_of_way"),
    )


def _wide_open(desk: Desk, monitor: Reducer | ShutOff) -> Node:
    """Return C1S of a monitor: at the top of its range it stands wide open while the other one is set."""
    return desk.node(
        "C1S",
        monitor.id,
        needs=["C1"],
        do=("rated", "top_monitor", "unwatched"),
        inputs=(measured("turns", "turns", "count"), measured("height", "length", "rule")),
        otherwise=(("none", counting.none_explained()),),
        refuses=(counting.screw(desk, monitor),),
        out=("isolated",),
        hazards=(("pressure", "no_monitor"),),
        over=desk.pilot(monitor),
        touches=of(monitor, "setting", "nut"),
        opens=of(monitor, "out_of_way"),
    )


def _left_in_service(desk: Desk, shut_off: Reducer | ShutOff) -> Node:
    """Return C1S where consumers stay connected: the shut-off keeps its setting until the pump is on it.

    A monitor keeps it for the day.
    """
    kept = "kept_monitor" if shut_off == desk.facts.monitor else "kept"
    return desk.node(
        "C1S",
        shut_off.id,
        needs=["C1"],
        do=(kept,),
        inputs=(measured("height", "length", "rule"),),
        out=("isolated",),
        title=f"title_{kept}",
        over=desk.pilot(shut_off),
    )


def cover_caution(desk: Desk) -> str:
    """Return the caution that belongs to a cover bleed: what drives the shut-off shut decides."""
    shut_off = desk.facts.shut_off
    if all(reducer.kind == "direct-acting" for reducer in desk.facts.reducers):
        return "inlet" if shut_off is None else "cover_shut_off"
    if shut_off is None:
        return "cover"
    return "cover_own" if shut_off.closes_by in ("spring", "weight") else "cover_line"


def bleed_texts(desk: Desk) -> tuple[str | tuple[str, Mapping[str, Amount | str | int]], ...]:
    """Return the texts of a bleed, valve by valve in flow order."""
    facts = desk.facts
    return (
        "C3.low",
        *(
            ("C3.own_spring" if is_direct(valve) else "C3.valve", desk.pilot(valve))
            for valve in facts.valves
            if facts.is_own(valve)
        ),
        *(("C3.shared",) if facts.shares_sensing and facts.proved is not None else ()),
        "C3.breather",
    )


def _bleeding(desk: Desk) -> Node:
    return desk.node(
        "C3",
        needs=["C2"],
        do=bleed_texts(desk),
        inputs=(*yes_no("crisp", "breather_wet"), *desk.reads("T1")),
        otherwise=(("spongy", is_no("crisp")), ("wet", is_yes("breather_wet"))),
        out=("filling",),
        hazards=(("pressure", cover_caution(desk)), ("confined space", "flooding")),
        refuses=refusing.bled_low(desk),
    )


def _opening(desk: Desk) -> Node:
    facts = desk.facts
    first = facts.reducers[0]
    if first == facts.monitor:
        first = facts.last_reducer
    role = facts.tap_below(first)
    checks: list[tuple[str, Expression]] = []
    if facts.has_tap("T1"):
        checks += [("low", below("T1")), ("follows", follows(role, first))]
    as_found = by_choice(facts.last_reducer.id, fits="v2_drain.T3", must_be_set="v2_drain_lowest.T3")
    limit = as_read(facts, "T3", desk.numbers.test_limit["outlet"])
    too_high: Expression = {"gt": [{"value": "T3.drain"}, limit]}
    above_test: Expression = {"gt": [{"value": "T3"}, limit]}
    both = facts.has_tap("T0") and facts.has_tap("T1")
    if both:
        checks.insert(1, ("loss", above("loss")))
    return desk.node(
        "C5",
        needs=["C4"],
        do=(
            "open",
            "no_flow",
            "drain",
            *((("drain_between", {"td2": desk.words["td2"]}),) if facts.inner_drains else ()),
            "trickle",
        ),
        inputs=(
            *desk.reads("T0", "T1", "T2", "T3"),
            *((measured("loss", "pressure", "one gauge, moved"),) if both else ()),
            desk.read("T3", "T3.drain"),
        ),
        bands={"T1": "v2.T1", "loss": "v2.loss", "T3.drain": as_found},
        otherwise=(*checks, ("C5.above", above_test), ("limit", too_high)),
        out=("trickle", "filling"),
        hazards=(("pressure", "inlet"), ("surge", "surge_step")),
        over=desk.pilot(first),
        raises=("inlet",),
    )
