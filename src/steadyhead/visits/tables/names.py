"""Names of things, proofs and restore items: ``PART.aspect``, or a bare word for the station's own."""

from __future__ import annotations

from collections.abc import Iterable

from steadyhead.records.parts import Part, Reducer, ShutOff
from steadyhead.records.procedure import Message
from steadyhead.visits.facts import Facts

SHARED_SENSING = "shared.sensing"
BLED = ("line.bled", "line.covers")
"""The proof that the air is out, and what was opened to let it in."""
SECTIONS = ("inlet", "between", "outlet", "sensing")


def paper_things() -> tuple[str, ...]:
    """Return what a design rests on and no hand can touch."""
    return ("design.inlet", "design.limits", "design.zone")


def of(part: Part | str, *aspects: str) -> tuple[str, ...]:
    """Return names of aspects of one part."""
    part_id = part if isinstance(part, str) else part.id
    return tuple(f"{part_id}.{aspect}" for aspect in aspects)


def sensing(facts: Facts, valve: Reducer | ShutOff) -> str:
    """Return the sensing line of a valve; one and the same thing where it is shared."""
    at_outlet = isinstance(valve, ShutOff) or valve in (facts.last_reducer, facts.monitor)
    together = facts.monitor is not None and isinstance(valve, Reducer)
    shared = together or (facts.shares_sensing and at_outlet)
    return SHARED_SENSING if shared else f"{valve.id}.sensing"


def reducer_things(facts: Facts, reducer: Reducer) -> tuple[str, ...]:
    """Return what the setting and the lock-up of a reducer rest on."""
    if reducer.kind == "direct-acting":
        return of(reducer, "setting", "nut", "spring", "diaphragm", "seat")
    return (
        *of(reducer, "setting", "nut", "pilot", "needles", "filter", "diaphragm", "seat"),
        sensing(facts, reducer),
    )


def shut_off_things(facts: Facts, shut_off: ShutOff) -> tuple[str, ...]:
    """Return what the proof of a trip rests on in the shut-off itself."""
    return (
        *of(shut_off, "setting", "nut", "pilot", "spring", "diaphragm"),
        sensing(facts, shut_off),
        *of(shut_off, "feed", "needle", "exhaust"),
    )


def words(facts: Facts, used: Iterable[str]) -> dict[str, Message]:
    """Return the words of every name used, sorted."""
    found: dict[str, Message] = {}
    for name in sorted(set(used)):
        part, _, aspect = name.rpartition(".")
        if name in SECTIONS:
            found[name] = Message(f"section.{name}")
        elif name == SHARED_SENSING:
            both = " and ".join(v.id for v in facts.valves if sensing(facts, v) == SHARED_SENSING)
            found[name] = Message("name.sensing", {"part": both})
        elif part in ("", "design", "gauges", "alarm", "filters", "logger", "clocks"):
            found[name] = Message(f"name.{aspect or name}")
        else:
            found[name] = Message(f"name.{aspect}", {"part": part})
    return found
