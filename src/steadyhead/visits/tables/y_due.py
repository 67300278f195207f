"""What is due at a yearly visit: after the first run, each thing by its own decision, with its way back."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.records.parts import Reducer, ShutOff, Strainer
from steadyhead.records.procedure import Choice, Node
from steadyhead.visits.tables.a_preconditions import is_direct
from steadyhead.visits.tables.c_fill import cover_caution
from steadyhead.visits.tables.desk import Desk, Needs, is_no, measured, noted, yes_no
from steadyhead.visits.tables.names import of

LEFT, OPENED = "left", "opened"
Due = Reducer | ShutOff | Strainer


def things(desk: Desk) -> tuple[Due, ...]:
    """Return what may be opened: filters, then the strainer; nothing while consumers stay connected."""
    facts = desk.facts
    if not facts.can_isolate:
        return ()
    piloted = [valve for valve in facts.valves if facts.is_own(valve) and not is_direct(valve)]
    return (*piloted, *((facts.layout.strainer,) if facts.layout.strainer is not None else ()))


def decision(part: Due) -> str:
    """Return the step at which it is decided whether a part is due."""
    return f"Y5.{part.id}"


def choices(desk: Desk) -> tuple[Choice, ...]:
    """Return the decision of each part with the steps that opening it adds."""
    found = []
    for part in things(desk):
        text = _text(part)
        words = {"valve": part.id}
        runs = isinstance(part, ShutOff)
        options = (
            (LEFT, desk.say(f"{text}.left", **words), (f"Y6.{part.id}",) if runs else ()),
            (
                OPENED,
                desk.say(f"{text}.opened", **words),
                (f"Y5O.{part.id}", *((f"Y6T.{part.id}",) if runs else ())),
            ),
        )
        found.append(Choice(decision(part), desk.say(f"{text}.question", **words), options))
    return tuple(found)


def nodes(desk: Desk, needs: list[Needs]) -> Iterator[Node]:
    """Yield for each part the decision, and its opening."""
    for part in things(desk):
        text = _text(part)
        yield desk.node(
            "Y5",
            part.id,
            needs=needs,
            do=("look",),
            inputs=yes_no("due"),
            out=("trickle",),
            text=text,
            time="Y5D",
            over={"valve": part.id},
        )
        yield _strainer(desk, part) if isinstance(part, Strainer) else _filter(desk, part)


def _text(part: Due) -> str:
    return "Y5DS" if isinstance(part, Strainer) else "Y5D"


def _vented(desk: Desk) -> str:
    return "Y5O.vent_between" if desk.facts.drain_between is not None else "Y5O.vent"


def _filter(desk: Desk, part: Reducer | ShutOff) -> Node:
    is_reducer = isinstance(part, Reducer)
    return desk.node(
        "Y5O",
        part.id,
        needs=[decision(part)],
        do=(
            "close",
            *(("B1.second",) if desk.facts.inlet_passes else ()),
            _vented(desk),
            "clean",
            "cocks",
            "bleed",
            "back",
            "stale" if is_reducer else "again",
        ),
        inputs=(*desk.reads("T1", "T2", "T3"), *noted("debris"), *yes_no("clear")),
        bands={role: f"vented.{role}" for role in ("T1", *desk.facts.inner, "T3")},
        otherwise=(("B5.stuck", is_no("clear")),),
        out=("isolated", "filling"),
        hazards=(("pressure", "trapped"), ("pressure", cover_caution(desk)), ("water quality", "quality")),
        over=desk.pilot(part),
        touches=of(part, "filter" if is_reducer else "feed"),
        raises=("inlet",),
    )


def _strainer(desk: Desk, strainer: Strainer) -> Node:
    return desk.node(
        "Y5O",
        strainer.id,
        needs=[decision(strainer)],
        do=(
            "Y5O.close",
            *(("B1.second",) if desk.facts.inlet_passes else ()),
            _vented(desk),
            "drain",
            "B4.open",
            "B4.look",
            "B4.close",
            "C2.crack",
            "C2.speed",
            "C2.vents",
            "Y5O.bleed",
            "Y5O.back",
            "filters",
        ),
        inputs=(
            *desk.reads("T1"),
            *yes_no("whole"),
            *noted("debris"),
            measured("photo", "photo", "camera"),
        ),
        bands={"T1": "vented.T1"},
        otherwise=(("B4.torn", is_no("whole")),),
        out=("isolated", "filling"),
        hazards=(
            ("pressure", "trapped"),
            ("pressure", "inlet"),
            ("surge", "surge_fill"),
            ("lifting", "lifting"),
            ("water quality", "quality"),
        ),
        text="Y5S",
        touches=of(strainer.id, "element"),
        raises=("inlet",),
    )
