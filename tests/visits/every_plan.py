"""Plans of every example and layout, of every kind, written with figures made by hand."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from steadyhead.procedure.graph import covering, on_way, order, stale_proofs
from steadyhead.records.procedure import Kind, Message, Node, Procedure
from steadyhead.records.station import Station
from steadyhead.station.examples import names
from steadyhead.units import METRIC
from steadyhead.visits import items as of_line
from steadyhead.visits.feasibility import Refused
from steadyhead.visits.plan import KINDS, build
from steadyhead.visits.several import items as of_streams
from steadyhead.visits.several.ways import has_several
from steadyhead.visits.texts import say
from tests.visits import chain_stations, plan_stations, stream_stations

SETTINGS = (".setting", ".nut")
"""Touched by every raise that is taken back; what proves that it is back is the duty, the trip, the hold."""
OWN_PROOFS = (".duty", ".stands_in", ".trip")
NOT_IN_A_NEW_SETTING = ("station.", ".told", "streams.", ".covered", ".fails_loud", ".cleared")
"""Handbook 3.7: a new setting is ladder, that pilot, trip, alarm, duty and lock-up."""


@cache
def stations() -> dict[str, Station]:
    """Return every example, every chain and both stations of streams."""
    found = {name: plan_stations.station(name) for name in names()}
    found |= {name: make() for name, make in chain_stations.CHAINS.items()}
    found["twin streams"] = stream_stations.station(stream_stations.twin_streams())
    found["low flow"] = stream_stations.station(stream_stations.low_flow())
    return found


def plan_of(of: Station, kind: Kind, item: str = "") -> Procedure | None:
    """Return one plan; None where the station gets none of this kind."""
    known = stream_stations.numbers(of, kind, item) if has_several(of) else plan_stations.numbers(of)
    try:
        return build(of, kind, item, known, engine_version="0")
    except Refused:
        return None


@cache
def every(name: str) -> tuple[tuple[str, Procedure], ...]:
    """Return the plans of one station by kind, after a repair for each item."""
    of = stations()[name]
    found = []
    for kind in KINDS:
        wanted: tuple[str, ...] = ("",)
        if kind == "after_repair":
            wanted = (of_streams if has_several(of) else of_line).names(of)
        for item in wanted:
            made = plan_of(of, kind, item)
            if made is not None:
                found.append((f"{kind} {item}".strip(), made))
    return tuple(found)


def walks(plan: Procedure) -> Iterator[list[Node]]:
    """Yield the steps of each way, in the order people go."""
    for way in covering(plan):
        by_id = {node.id: node for node in on_way(plan, way)}
        yield [by_id[name] for name in order(plan, way)]


def sentences(message: Message) -> Iterator[str]:
    """Yield the sentences of a message as printed."""
    yield from re.split(r"(?<=[.:;])\s", say(message, METRIC))


def unproved(first: Procedure, plan: Procedure) -> set[tuple[str, str, str]]:
    """Return (step, thing, proof) where a touch leaves a proof stale, with no repeat and no open item."""
    found = set()
    for walk in walks(plan):
        for at, node in enumerate(walk):
            later = {proof for other in walk[at:] for proof in other.proves}
            restored = {item for other in walk[at + 1 :] for item in other.restores}
            kept = {item.split("@")[0] for item in node.opens if item in restored}
            for thing in node.touches:
                if any(
                    f"{thing.split('.')[0]}.{item}" in kept
                    for item in ("due", "loss_due", "cut_off", "lowered")
                ):
                    continue
                for proof in set(stale_proofs(first, [thing])) - later:
                    if _asked(thing, proof, plan.kind):
                        found.add((node.id, thing, proof))
    return found


def _asked(thing: str, proof: str, kind: str) -> bool:
    if thing.endswith(SETTINGS) and kind != "new_setting":
        return proof.startswith(thing.split(".")[0]) and proof.endswith(OWN_PROOFS)
    return kind != "new_setting" or not any(name in proof for name in NOT_IN_A_NEW_SETTING)
