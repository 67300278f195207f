"""What is due at a yearly visit: after the first run, each thing by its own decision, with its way back."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.records.parts import Reducer, ShutOff, Strainer
from steadyhead.records.procedure import Choice, Node, Refusal
from steadyhead.visits.tables import b_isolate, relieving
from steadyhead.visits.tables.a_preconditions import is_direct
from steadyhead.visits.tables.c_fill import cover_caution
from steadyhead.visits.tables.desk import Desk, Needs, is_no, is_yes, measured, noted, one_of, yes_no
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


def strainers(desk: Desk) -> tuple[Strainer, ...]:
    """Return the strainers that may be opened."""
    return tuple(part for part in things(desk) if isinstance(part, Strainer))


def decision(part: Due) -> str:
    """Return the step at which it is decided whether a part is due."""
    return f"Y5.{part.id}"


def is_line(part: Due) -> bool:
    """Return whether a part that is opened asks for no further run: all but a shut-off."""
    return not isinstance(part, ShutOff)


def left(part: Due) -> str:
    """Return the step at which a part stays closed."""
    return f"Y5L.{part.id}"


def over(part: Due) -> Needs:
    """Return the need: a part has been opened and closed again, or stays closed."""
    return one_of(left(part), f"Y5O.{part.id}") if is_line(part) else decision(part)


def again(desk: Desk, part: Due) -> str:
    """Return the step that proves anew what a part's opening has made stale; empty where another step does.

    A monitor that was raised out of the way is set and proved behind the runs all the same.
    """
    facts = desk.facts
    if part == facts.monitor:
        return "" if part in facts.raised else f"Y6N.{part.id}"
    return f"Y7L.{part.id}" if part in facts.judged else ""


def over_again(desk: Desk, part: Due) -> Needs:
    """Return the need: a part stays closed, or what its opening made stale has been proved anew."""
    return one_of(left(part), again(desk, part))


def line_open(desk: Desk) -> list[str]:
    """Return the restore items of what an opening leaves to be looked at before people leave."""
    return [f"{part.id}.line_open" for part in things(desk)]


def ahead(desk: Desk) -> str:
    """Return the drains ahead of the first valve; empty without one."""
    return " and ".join(b_isolate.ahead(desk))


def choices(desk: Desk) -> tuple[Choice, ...]:
    """Return the decision of each part with the steps that opening it adds."""
    found = []
    for part in things(desk):
        text = _text(part)
        words = {"valve": part.id}
        runs = isinstance(part, ShutOff)
        more = f"Y6T.{part.id}" if runs else again(desk, part)
        options = (
            (LEFT, desk.say(f"{text}.left", **words), (f"Y6.{part.id}" if runs else left(part),)),
            (OPENED, desk.say(f"{text}.opened", **words), (f"Y5O.{part.id}", *((more,) if more else ()))),
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
            refuses=(
                Refusal(
                    {"all": [is_yes("due"), {"eq": [{"value": "@choice"}, LEFT]}]},
                    desk.say("rf.due_left", valve=part.id),
                ),
            ),
        )
        if is_line(part):
            yield _stays(desk, part)
        opened = _strainer(desk, part) if isinstance(part, Strainer) else _filter(desk, part)
        yield relieving.back_meanwhile(desk, opened)


def _stays(desk: Desk, part: Due) -> Node:
    return desk.node(
        "Y5L", part.id, needs=[decision(part)], do=("stays",), out=("trickle",), over={"valve": part.id}
    )


def _text(part: Due) -> str:
    return "Y5DS" if isinstance(part, Strainer) else "Y5D"


def _vented(desk: Desk) -> str:
    return "Y5O.vent_between" if desk.facts.inner_drains else "Y5O.vent"


def _filling(desk: Desk) -> tuple[str, ...]:
    """Return the texts before water is let in again: what was opened between the valves throttled."""
    return ("Y5O.between",) if desk.facts.inner_drains else ()


def _filled(desk: Desk) -> tuple[str, ...]:
    """Return the texts of a line that is full and bled: vents shut, inlet up, every other drain shut."""
    last = ("Y5O.between_shut",) if desk.facts.inner_drains else ()
    return ("Y5O.bleed", "Y5O.vents", "Y5O.back", *last)


def _shut_ahead(desk: Desk) -> tuple[str | tuple[str, dict[str, str]], ...]:
    found = ahead(desk)
    return (("C2.ahead", {"ahead": found}),) if found else ("C2.ahead_vent",)


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
            *_filling(desk),
            *_filled(desk),
            "stale" if is_reducer else "again",
        ),
        inputs=(*desk.reads("T1", "T2", "T3"), *noted("debris"), *yes_no("clear")),
        bands={role: f"vented.{role}" for role in ("T1", *desk.facts.inner, "T3")},
        otherwise=(("B5.stuck", is_no("clear")),),
        out=("isolated", "filling"),
        hazards=(("pressure", "trapped"), ("pressure", cover_caution(desk)), ("water quality", "quality")),
        over=desk.pilot(part),
        touches=of(part, "filter" if is_reducer else "feed"),
        opens=of(part, "line_open", *(("due",) if isinstance(part, Reducer) else ())),
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
            ("drain", {"ahead": ahead(desk)}) if ahead(desk) else "vent",
            "B4.open",
            "B4.look",
            "B4.close",
            *_shut_ahead(desk),
            *_filling(desk),
            "C2.crack",
            "C2.speed",
            "C2.vents",
            *_filled(desk),
            "filters_one" if len([v for v in desk.facts.valves if not is_direct(v)]) == 1 else "filters",
        ),
        inputs=(
            *desk.reads("T1"),
            *yes_no("whole", "shut", "clear"),
            *noted("debris"),
            measured("photo", "photo", "camera"),
        ),
        bands={"T1": "vented.T1"},
        otherwise=(("B4.torn", is_no("whole")), ("open", is_no("shut")), ("grit", is_no("clear"))),
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
        proves=("filters.clean",),
        opens=of(strainer.id, "line_open", "loss_due"),
        raises=("inlet",),
    )
