"""Table B: isolate, flush, clean."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from steadyhead.findings import Amount
from steadyhead.records.parts import Reducer
from steadyhead.records.procedure import Expression, Node
from steadyhead.visits import spans
from steadyhead.visits.tables import counting
from steadyhead.visits.tables.a_preconditions import before_isolating, is_direct
from steadyhead.visits.tables.d_static import Params
from steadyhead.visits.tables.desk import (
    Desk,
    Tag,
    above,
    is_no,
    is_yes,
    measured,
    noted,
    yes_no,
    zone_falls,
    zone_gone,
    zone_held,
)
from steadyhead.visits.tables.names import of


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield B1 to B6; B4 where there is a strainer."""
    strainer = desk.facts.layout.strainer
    yield _isolating(desk)
    yield _venting(desk)
    yield _flushing(desk)
    if strainer is not None:
        yield desk.node(
            "B4",
            needs=["B3"],
            do=("zero", "open", "look", "close"),
            inputs=(desk.read("T1"), *yes_no("whole"), *noted("found"), measured("photo", "photo", "camera")),
            bands={"T1": "vented.T1"},
            otherwise=(("torn", is_no("whole")),),
            out=("isolated",),
            hazards=(("pressure", "trapped"), ("lifting", "lifting"), ("water quality", "quality")),
            touches=of(strainer.id, "element"),
        )
    yield _filters(desk)
    yield desk.node(
        "B6",
        needs=["B5"],
        do=("disinfect", "cap"),
        inputs=noted("logged"),
        out=("isolated",),
        hazards=(("water quality", "quality"),),
    )


def ahead(desk: Desk) -> list[str]:
    """Return the drains ahead of the first valve."""
    layout = desk.facts.layout
    return [drain.id for section in layout.sections if section.name == "inlet" for drain in section.drains]


def _isolating(desk: Desk) -> Node:
    facts = desk.facts
    has_t4, fed = facts.has_tap("T4"), bool(facts.station.zone.other_feed)
    cautions: list[tuple[Tag, str]] = [("surge", "surge_close"), ("consumers", "consumers_low")]
    if facts.carries_fire_water:
        cautions.append(("fire", "fire"))
    return desk.node(
        "B1",
        needs=before_isolating(desk),
        do=(
            "other_feed" if fed else "outage",
            "outlet",
            *(("watch",) if has_t4 else ()),
            "inlet",
            *(("second",) if facts.inlet_passes else ()),
            "count",
        ),
        inputs=(
            *desk.reads("T4", suffix="first"),
            *desk.reads("T4", suffix="last"),
            *zone_held(fed=fed),
            measured("turns", "turns", "count"),
            *(noted("second") if facts.inlet_passes else ()),
        ),
        otherwise=(
            *(
                (("falls" if fed else "outage_falls", zone_falls(fed=fed)), ("gone", zone_gone()))
                if has_t4
                else ()
            ),
            ("none", counting.none_counted()),
        ),
        refuses=(counting.moved(desk, facts.inlet_valve, facts.outlet_valve, found_shut=True),),
        out=("closing", "isolated"),
        hazards=cautions,
        opens=("outlet_shut", "inlet_down", *(("other_feed",) if facts.is_fed_otherwise else ())),
    )


def _flushing(desk: Desk) -> Node:
    """Return B3: led off by a drain ahead of the valves that carries the flow, else by an open pipe."""
    flush = desk.numbers.flush
    drain = flush.drain if flush is not None else ""
    words: Params = {}
    if flush is not None:
        words = {"flush_drain": drain, "flush_flow": Amount("flow", flush.flow)}
    return desk.node(
        "B3",
        needs=["B2"],
        do=(
            "lead_drain" if drain else "lead",
            "drains_shut",
            "open_flow" if flush is not None else "open",
            "clear",
            "shut" if drain else "shut_refit",
        ),
        inputs=(*yes_no("clear"), *noted("debris")),
        otherwise=(("dirty", is_no("clear")),),
        out=("isolated",),
        hazards=(("water quality", "discharge"), ("surge", "surge_close"), ("confined space", "flooding")),
        over=words,
    )


def _venting(desk: Desk) -> Node:
    facts = desk.facts
    drains = " and ".join(ahead(desk))
    do: list[str | tuple[str, Params]] = [("t1_drain", {"ahead": drains}) if drains else "t1"]
    do += _vented_between(desk)
    roles = [role for role in ("T1", *facts.inner, "T3") if facts.has_tap(role)]
    checked = facts.check_valve
    trapped: Expression = {"any": [above(role) for role in roles]}
    return desk.node(
        "B2",
        needs=["B1"],
        do=(*do, "t3", "dry", *(("check",) if checked is not None else ())),
        inputs=(
            *desk.reads(*roles),
            *yes_no("inlet_runs", "outlet_runs"),
            measured("leak", "leak", "bucket and watch"),
        ),
        bands={role: f"vented.{role}" for role in roles},
        otherwise=(
            ("inlet_passes", is_yes("inlet_runs")),
            ("both_pass" if checked is not None else "outlet_passes", is_yes("outlet_runs")),
            ("trapped", trapped),
        ),
        out=("isolated",),
        hazards=(("pressure", "trapped"), ("confined space", "flooding")),
        over={"cv": checked.id} if checked is not None else {},
    )


def _vented_between(desk: Desk) -> Iterator[tuple[str, Params]]:
    """Yield how each section between the valves is let down: by its own drain, or at its tap."""
    facts = desk.facts
    for span in spans.between(facts.layout):
        if span.role not in facts.inner:
            continue
        tap = facts.taps[span.role]
        if span.drain is not None:
            yield "t2_drain", {"t2": tap, "td2": span.drain.id}
        else:
            yield "t2", {"t2": tap}


def looked_at(desk: Desk, node: Node) -> Node:
    """Return B5 after the strainer was opened: filters looked at; one that is opened is a repair of its own.

    Any other step is returned as it is.
    """
    if node.id != "B5":
        return node
    facts = desk.facts
    looked = desk.node(
        "B5",
        do=tuple(("look", desk.pilot(valve)) for valve in facts.valves if not is_direct(valve)),
        inputs=yes_no("clear"),
        otherwise=(("dirty", is_no("clear")),),
        out=("isolated",),
        hazards=(("pressure", "trapped"),),
        title="title_look",
        proves=("filters.clean",),
        depends_on=of(facts.layout.strainer.id, "element") if facts.layout.strainer is not None else (),
    )
    return replace(looked, needs=node.needs)


def _filters(desk: Desk) -> Node:
    facts = desk.facts
    strainer = facts.layout.strainer
    piloted = [valve for valve in facts.valves if not is_direct(valve)]
    touched = [
        name for valve in piloted for name in of(valve, "filter" if isinstance(valve, Reducer) else "feed")
    ]
    shared = any(valve.chamber_feed == "shared filter" for valve in piloted)
    return desk.node(
        "B5",
        needs=["B4" if strainer is not None else "B3"],
        do=(
            *(("valve", desk.pilot(valve)) for valve in piloted),
            *(("own_spring", desk.pilot(valve)) for valve in facts.valves if is_direct(valve)),
            *(("shared",) if shared else ()),
            *(("weeds",) if facts.is_seasonal else ()),
            "cocks",
        ),
        inputs=yes_no("clear"),
        otherwise=(("stuck", is_no("clear")),),
        out=("isolated",),
        hazards=(("pressure", "trapped"),),
        touches=touched,
        proves=("filters.clean",),
        depends_on=of(strainer.id, "element") if strainer is not None else (),
    )
