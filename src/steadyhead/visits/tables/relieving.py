"""Table R: relief valves on the outlet: crack, reseat, discharge; shut off for the trip, open again after."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from steadyhead.findings import Amount
from steadyhead.records.parts import Relief
from steadyhead.records.procedure import Expression, Node
from steadyhead.visits.defaults import RELIEF_STEP
from steadyhead.visits.reliefs import relief_error, relief_reseat
from steadyhead.visits.tables import counting, d_static, e_settings, guarding
from steadyhead.visits.tables.a_preconditions import has_alarm
from steadyhead.visits.tables.desk import (
    SETTING_GAUGE,
    Desk,
    Needs,
    above,
    below,
    is_no,
    is_yes,
    measured,
    outside,
    yes_no,
)
from steadyhead.visits.tables.names import of
from steadyhead.visits.tables.wording import as_read, pressure

ABOVE = ("F1", "F3", "F3R", "F3C", "F4", "ES3", "ES4", "DS3", "DS4", "Y4", "Y6", "Y6T")
"""Steps that raise the outlet to the trip, above a relief valve that is shut off for them."""
TO_CRACK = ("R1", "R4", "Y3R", "Y6R")
"""Steps that raise the outlet to the crack of a relief valve, which a pump stays below."""
Words = Mapping[str, Amount | str | int]


def cocks(desk: Desk, base: str) -> list[tuple[str, Words]]:
    """Return the look at the cock of each relief valve that has one, or may have one; base: of the texts."""
    return [
        (f"{base}.relief" if relief.cock == "yes" else f"{base}.relief_may", {"rl": relief.id})
        for relief in desk.facts.layout.reliefs
        if relief.cock != "no"
    ]


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield R1 and R2 of each relief valve that can be raised to; R3 and R4 of one that stops the trip."""
    facts = desk.facts
    before: list[Needs] = _start(desk)
    for relief in facts.reliefs_proved:
        yield cracks(desk, relief, needs=before)
        yield reseats(desk, relief, needs=[f"R1.{relief.id}"])
        before = [f"R2.{relief.id}"]
    for relief in facts.reliefs_shut:
        yield shut(desk, relief, needs=[f"R2.{one.id}" for one in facts.reliefs_proved])
    for relief in facts.reliefs_shut:
        assert facts.proved is not None
        yield opened_again(desk, relief, needs=[f"F5.{facts.proved.id}"])


def _start(desk: Desk) -> list[Needs]:
    facts = desk.facts
    told = "A8" if has_alarm(desk) else "A3"
    away = [f"MN0.{facts.monitor.id}"] if facts.monitor is not None and facts.monitor in facts.raised else []
    return [told, "D2", "C5", e_settings.reducer_free(facts.last_reducer), *away]


def words(desk: Desk, relief: Relief) -> Words:
    """Return what the texts of a relief valve ask for; crack and reseat of the ladder as T3 reads them."""
    reading, error = desk.numbers.target_reading, relief_error(relief)
    stated = as_read(desk.facts, "T3", relief.crack.si)
    crack = reading.get(f"relief_crack.{relief.id}", stated)
    return {
        **desk.pilot(desk.facts.last_reducer),
        "rl": relief.id,
        "crack": pressure(crack),
        "ladder_crack": pressure(stated),
        "ladder_error": pressure(error),
        "ladder_early": pressure(stated - error),
        "ladder_late": pressure(stated + error),
        "ladder_reseat": pressure(as_read(desk.facts, "T3", relief_reseat(relief))),
        "discharge": relief.runs_to or "@relief.unled",
        "relief_step": pressure(RELIEF_STEP.si),
    }


def cracks(
    desk: Desk, relief: Relief, *, needs: Sequence[Needs], base: str = "R1", found: bool = False
) -> Node:
    """Return the outlet raised until the relief valve lifts; found: at a yearly visit, as found."""
    reducer = desk.facts.last_reducer
    checks: list[tuple[str, Expression]] = [("none", is_no("lifts")), ("early", below("crack"))]
    checks.append(("late", above("crack")))
    acts = desk.facts.proved
    if acts is not None:
        checks.insert(0, ("first_found" if found else "first", is_yes("acted")))
    return desk.node(
        base,
        relief.id,
        needs=needs,
        do=("led", "target", "raise", "note", "flow", "design"),
        inputs=(
            *desk.reads("T1"),
            desk.read("T3", "crack", instrument=SETTING_GAUGE, still=False),
            measured("turns", "turns", "count"),
            *yes_no("lifts", "led", *(("acted",) if acts is not None else ())),
        ),
        bands={"crack": f"relief_crack.{relief.id}"},
        otherwise=(*checks, ("floods", is_no("led"))),
        refuses=(counting.screw(desk, reducer),),
        out=("raised",),
        hazards=(
            ("pressure", "raised"),
            ("pressure", "relieves"),
            ("water quality", "discharge"),
            ("consumers", "consumers_high"),
        ),
        text="R1",
        title="title_found" if found else "title",
        time="R1",
        over={**words(desk, relief), **({"so": acts.id} if acts is not None else {})},
        touches=of(reducer, "setting"),
        proves=of(relief, "as_found" if found else "crack"),
        depends_on=of(relief, "setting", "spring", "seat"),
        opens=(*of(reducer, "raised"), *(of(reducer, "seal") if found else ())),
        raises=("outlet",),
    )


def reseats(desk: Desk, relief: Relief, *, needs: Sequence[Needs], base: str = "R2", lift: str = "") -> Node:
    """Return the relief valve shut again on falling pressure, dry; and what tells that it has run.

    lift: step that let it lift as found, whose crack nothing proves again; empty: one that goes stale.
    """
    told = relief.tells == "flow switch"
    return desk.node(
        base,
        relief.id,
        needs=needs,
        do=(
            "target" if relief.reseat is not None else "target_taken",
            *("lower", "dry", "told" if told else "untold"),
        ),
        inputs=(
            desk.read("T3", "reseat", instrument=SETTING_GAUGE, still=False),
            *yes_no("dry", *(("told",) if told else ())),
        ),
        bands={"reseat": f"relief_reseat.{relief.id}"},
        otherwise=(
            ("off", outside("reseat")),
            ("weeps", is_no("dry")),
            *((("silent", is_no("told")),) if told else ()),
        ),
        out=("raised",),
        hazards=(("pressure", "relieves"),),
        refuses=(
            guarding.too_early(
                desk, "R2.too_early", [lift or f"R1.{relief.id}", "crack"], "reseat", rl=relief.id
            ),
            *((guarding.relief_apart(desk, relief, [lift, "crack"], "reseat"),) if lift else ()),
        ),
        text="R2",
        time="R2",
        over=words(desk, relief),
        touches=of(desk.facts.last_reducer, "setting"),
        proves=(*of(relief, "reseat"), *(of(relief, "flow_told") if told else ())),
        depends_on=(*of(relief, "setting", "spring", "seat"), *(of(relief, "flow_switch") if told else ())),
    )


def shut(desk: Desk, relief: Relief, *, needs: Sequence[Needs], base: str = "R3") -> Node:
    """Return the relief valve's cock shut, because it would hold the outlet below the trip."""
    return desk.node(
        base,
        relief.id,
        needs=needs,
        do=("why", "shut", "stay"),
        inputs=(*yes_no("tagged"), measured("photo", "photo", "camera")),
        otherwise=(("not", is_no("tagged")),),
        out=("trickle",),
        hazards=(("pressure", "no_relief"),),
        text="R3",
        time="R3",
        over=words(desk, relief),
        touches=of(relief, "cock"),
        opens=of(relief, "cut_off"),
    )


def beyond(desk: Desk, node: Node) -> Node:
    """Return a raise to a relief valve, or above one that is shut off, watched: the pump stayed below.

    Any other step is returned as it is.
    """
    facts = desk.facts
    base, _, part = node.id.partition(".")
    ids = part if base in TO_CRACK else ""
    if base in ABOVE:
        ids = " and ".join(relief.id for relief in facts.reliefs_shut)
    if not (ids and "outlet" in node.raises and facts.has_pump and facts.can_isolate):
        return node
    return d_static.watching(desk, node, "R3", rl=ids)


def back_meanwhile(desk: Desk, node: Node) -> Node:
    """Return work on the line with each relief valve that is shut off for the runs open while it lasts."""
    ids = [relief.id for relief in desk.facts.reliefs_shut]
    if not ids:
        return node
    first = [desk.say("R3.meanwhile", rl=name) for name in ids]
    last = [desk.say("R3.shut_again", rl=name) for name in ids]
    return replace(node, do=(*first, *node.do, *last))


def opened_again(desk: Desk, relief: Relief, *, needs: Sequence[Needs], base: str = "R4") -> Node:
    """Return the cock open and sealed, proved by letting the relief valve lift once more."""
    reducer = desk.facts.last_reducer
    return desk.node(
        base,
        relief.id,
        needs=needs,
        do=("open", "lift", "lower", "second"),
        inputs=(*yes_no("lifts", "twice"), measured("photo", "photo", "camera")),
        otherwise=(("blind", is_no("lifts")), ("alone", is_no("twice"))),
        out=("raised",),
        hazards=(("pressure", "raised"), ("pressure", "relieves")),
        text="R4",
        time="R4",
        over=words(desk, relief),
        touches=of(reducer, "setting"),
        proves=of(relief, "stands_open"),
        depends_on=of(relief, "cock"),
        opens=of(reducer, "raised"),
        restores=of(relief, "cut_off"),
        raises=("outlet",),
    )
