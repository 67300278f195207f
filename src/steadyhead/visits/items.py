"""What can be repaired or changed, in plain trade words, and what touching it means for a plan."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from steadyhead.errors import InputError
from steadyhead.procedure.graph import dependants
from steadyhead.records.parts import Reducer
from steadyhead.records.procedure import Node, Procedure
from steadyhead.records.station import Station
from steadyhead.visits.facts import Facts
from steadyhead.visits.feasibility import Refused, feasibility
from steadyhead.visits.tables.names import BLED, of, paper_things, sensing


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that may be repaired or changed.

    Parameters
    ----------
    name
        Plain trade words.
    things
        Names of what is touched.
    is_wet
        The line was opened for it: it must be filled and bled again.
    lost
        Id of the valve whose setting is lost with it; empty: none.
    is_paper
        Only the design changes; nobody goes to the station.
    """

    name: str
    things: tuple[str, ...]
    is_wet: bool = False
    lost: str = ""
    is_paper: bool = False


RUN_PROOFS = (".acts", ".closing", ".trip", ".overshoot")
"""Ends of the proofs that a run to the trip gives."""
CONDITIONS = (".tight", ".gate", ".dial", *BLED)
"""Ends of what such a run was made under."""


def items(facts: Facts) -> tuple[Item, ...]:
    """Return everything of a station that may be repaired or changed."""
    return tuple(_items(facts))


def names(station: Station) -> tuple[str, ...]:
    """Return the words `find` knows for a station; none where it gets no plan."""
    facts = feasibility(station).facts
    return tuple(item.name for item in items(facts)) if facts is not None else ()


def find(facts: Facts, name: str) -> Item:
    """Return an item by its words.

    Raises
    ------
    InputError
        No such item at this station; the remedy lists them.
    """
    wanted = " ".join(name.replace("-", " ").replace("_", " ").casefold().split())
    known = items(facts)
    for item in known:
        if wanted in (item.name, item.name.replace("-", " ")):
            return item
    one = of_part(known, name)
    if one is not None:
        return one
    listed = ", ".join(item.name for item in known)
    raise InputError("item", f"got {name!r}, which this station does not have.", f"Use one of: {listed}.")


def of_part(known: Iterable[Item], name: str) -> Item | None:
    """Return the one item of a part named by its id; None where no item belongs to such a part.

    Raises
    ------
    InputError
        The part has several items; the remedy lists these alone.
    """
    wanted = name.strip().casefold()
    found = [item for item in known if any(t.split(".")[0].casefold() == wanted for t in item.things)]
    if len(found) > 1:
        listed = ", ".join(item.name for item in found)
        raise InputError(
            "item", f"got {name!r}, which has more than one thing to repair.", f"Use one of: {listed}."
        )
    return found[0] if found else None


def redo(procedure: Procedure, item: Item) -> tuple[str, ...]:
    """Return exactly the steps whose proofs touching an item makes stale (design handbook 3.7).

    What only stood while a trip was run - outlet valve tight, air out, the gauge - belongs to that run: a
    repair of it later makes no run stale, and the next one sees to it anew.
    """
    nodes = tuple(_without_conditions(node) for node in procedure.nodes)
    return dependants(replace(procedure, nodes=nodes), item.things)


def _without_conditions(node: Node) -> Node:
    """Return a step that runs to the trip without what it was run under; any other step as it is."""
    if not any(name.endswith(RUN_PROOFS) for name in node.proves):
        return node
    kept = tuple(name for name in node.depends_on if not name.partition("@")[0].endswith(CONDITIONS))
    return replace(node, depends_on=kept)


def pilots(facts: Facts, name: str) -> tuple[str, ...]:
    """Return ids of the valves that get a new setting: ``reducer``, ``shut-off``, an id, or nothing for all.

    Raises
    ------
    InputError
        No such valve at this station.
    """
    known = dict(valve_words(facts))
    wanted = name.strip().casefold()
    if not wanted:
        return tuple(known.values())
    for words, valve_id in known.items():
        if wanted in (words, words.replace("-", " "), valve_id.casefold()):
            return (valve_id,)
    raise InputError(
        "item", f"got {name!r}, which this station does not have.", f"Use one of: {', '.join(known)}."
    )


def facts_of(station: Station) -> Facts:
    """Return the facts of a station that gets a plan.

    Raises
    ------
    Refused
        It gets none.
    """
    judged = feasibility(station)
    if judged.facts is None:
        raise Refused(judged.findings)
    return judged.facts


def valve_words(facts: Facts) -> Iterator[tuple[str, str]]:
    """Yield how the items of each valve begin, with its id."""
    for reducer in facts.reducers:
        yield _reducer_word(facts, reducer), reducer.id
    if facts.shut_off is not None:
        yield "shut-off", facts.shut_off.id


def _reducer_word(facts: Facts, reducer: Reducer) -> str:
    if facts.monitor is not None:
        return "monitor" if reducer == facts.monitor else "reducer"
    if not facts.is_pair:
        return "reducer"
    return "first reducer" if reducer is facts.reducers[0] else "second reducer"


def _items(facts: Facts) -> Iterator[Item]:
    for reducer in facts.reducers:
        yield from _reducer_items(facts, reducer)
    yield from _shut_off_items(facts)
    if facts.station.alarm is not None:
        yield Item("outlet transmitter", ("alarm.transmitter",))
    if facts.layout.strainer is not None:
        yield Item("strainer", of(facts.layout.strainer.id, "element"), is_wet=True)
    yield Item("outlet isolating valve", of(facts.outlet_valve.id, "gate"), is_wet=True)
    yield Item("test drain", of(facts.drain.id, "gate"), is_wet=True)
    for number, drain in enumerate(facts.inner_drains, 1):
        name = "drain between the valves" if number == 1 else f"drain between the valves {number}"
        yield Item(name, of(drain.id, "gate"), is_wet=True)
    yield from _other_items(facts)
    yield Item("fixed gauge", ("gauges.fixed",))
    for name, thing in zip(("inlet range", "consumer limit", "zone pipes"), paper_things(), strict=True):
        yield Item(name, (thing,), is_paper=True)


def _reducer_items(facts: Facts, reducer: Reducer) -> Iterator[Item]:
    word = _reducer_word(facts, reducer)
    wet = {"pilot", "pilot filter", "diaphragm", "seat", "sensing line"}
    table: tuple[tuple[str, tuple[str, ...]], ...] = (
        ("pilot", of(reducer, "pilot")),
        ("spring", of(reducer, "pilot")),
        ("spring range", of(reducer, "pilot", "reach")),
        ("lock nut", of(reducer, "nut")),
        ("needles", of(reducer, "needles")),
        ("pilot filter", of(reducer, "filter")),
        ("diaphragm", of(reducer, "diaphragm")),
        ("seat", of(reducer, "seat")),
        ("sensing line", (sensing(facts, reducer),)),
    )
    if reducer.kind == "direct-acting":
        table = (
            ("spring", of(reducer, "spring", "setting")),
            ("spring range", of(reducer, "spring", "reach")),
            ("lock nut", of(reducer, "nut")),
            ("diaphragm", of(reducer, "diaphragm")),
            ("seat", of(reducer, "seat")),
        )
    for name, things in table:
        lost = reducer.id if name in ("pilot", "spring", "spring range") else ""
        yield Item(f"{word} {name}", things, is_wet=name in wet, lost=lost)


def _other_items(facts: Facts) -> Iterator[Item]:
    """Yield relief valves and vessels that the plan proves, by id where there is more than one."""
    reliefs, vessels = facts.reliefs_proved, facts.vessels if facts.is_whole else ()
    for relief in reliefs:
        word = "relief valve" if len(reliefs) == 1 else f"relief valve {relief.id}"
        yield Item(word, of(relief, "spring", "seat"), is_wet=True)
        if relief.tells == "flow switch":
            yield Item(f"{word} flow switch", of(relief, "flow_switch"))
        if relief in facts.reliefs_shut:
            yield Item(f"{word} cock", of(relief, "cock"))
    for vessel in vessels:
        word = "expansion vessel" if len(vessels) == 1 else f"expansion vessel {vessel.id}"
        yield Item(word, of(vessel, "gas", "cock"))


def _shut_off_items(facts: Facts) -> Iterator[Item]:
    shut_off = facts.shut_off
    if shut_off is None:
        return
    table = (
        ("pilot", "pilot", True, True),
        ("spring", "spring", False, True),
        ("setting", "setting", False, True),
        ("lock nut", "nut", False, False),
        ("diaphragm", "diaphragm", True, False),
        ("feed", "feed", True, False),
        ("closing needle", "needle", False, False),
        ("exhaust", "exhaust", False, False),
    )
    for name, aspect, wet, lost in table:
        yield Item(f"shut-off {name}", of(shut_off, aspect), is_wet=wet, lost=shut_off.id if lost else "")
    yield Item("shut-off sensing line", (sensing(facts, shut_off),), is_wet=True)
    if shut_off.limit_switch is not None:
        yield Item("limit switch", of(shut_off, "switch"))
        yield Item("limit switch cable", of(shut_off, "cable"))
        yield Item("alarm text", of(shut_off, "alarm_text"))
