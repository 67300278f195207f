"""The whole graph of a station with several streams: each as a line of its own, then all together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from steadyhead.records.parts import ExpansionVessel, Parallel
from steadyhead.records.plan_numbers import Together
from steadyhead.records.procedure import Message, Node
from steadyhead.visits.finishing import untouched
from steadyhead.visits.several.everywhere import at_header, every_tap
from steadyhead.visits.several.joining import together_steps
from steadyhead.visits.several.locked import locked
from steadyhead.visits.several.naming import (
    OWN_VENT,
    Built,
    StreamNames,
    after,
    apart,
    loose_ends,
    once,
    steps_once,
    swapped,
)
from steadyhead.visits.tables import streams as table
from steadyhead.visits.tables import whole
from steadyhead.visits.tables.desk import Needs
from steadyhead.visits.tables.relieving import cocks
from steadyhead.visits.tables.streams import Stream
from steadyhead.visits.tables.vessels import back, charge


def build(
    streams: tuple[Stream, ...],
    everyone: tuple[Stream, ...],
    together: Together,
    *,
    fresh: bool = False,
) -> Built:
    """Return every step of a first commissioning: the station, each stream in turn, the streams together.

    Parameters
    ----------
    streams
        Those that are tested.
    everyone
        All of the station, for the steps of the streams together.
    together
        What they show.
    fresh
        None of `streams` serves before its turn: a first commissioning, or all of them isolated. One stream
        out at a time then leaves those that wait shut, and only those that are done hold the zone.
    """
    out = streams[0].way.mode == "station out"
    built = Built()
    tail: list[Node] = []
    held: list[Node] = []
    backs: list[Node] = []
    ends: list[Needs] = []
    steps = steps_once(out=out)
    for number, stream in enumerate(streams):
        nodes = _of_stream(stream, first=number == 0, out=out)
        name = StreamNames(stream, built, steps, nodes, first=number == 0)
        kept = [node for node in nodes if name.keeps(node)]
        later = {n.id for n in kept if number == 0 and n.id[0] in "JK" and n.id in steps}
        lockup = _lockup_of(stream, kept, out)
        name.held = lockup | name.returning
        held += [name.renamed(node, nodes) for node in kept if node.id in lockup]
        if number == 0:
            backs = [name.renamed(node, nodes) for node in kept if node.id in name.returning]
        tail += [name.renamed(node, nodes) for node in kept if node.id in later]
        body = [name.renamed(node, nodes) for node in kept if node.id not in later | name.held]
        done_again(built, name.again)
        if not out:
            waiting = streams[number + 1 :] if fresh else ()
            serve = [s for s in everyone if s not in waiting]
            body = _alone(stream, body, ends, serve, waiting)
            body = _with_vessels(stream, body) if fresh and number == 0 else body
        for node in _entered(stream, body, ends, first=number == 0) if out else body:
            built.add(node, "" if node.id in steps and not _is_later_vent(node, number) else stream.way.key)
        built.choices += [c for choice in whole.choices(stream.desk) for c in name.choice(choice)]
        ends = once([*(name.need(part, nodes) for part in _ends_of(nodes)), *loose_ends(built, stream)])
        if not out:
            ends = [f"J2.{stream.way.key}"]
        built.labels |= name.labels
    _vents_first(built)
    _decided_first(built)
    nodes, last = together_steps(streams, everyone, together, ends, held, built)
    built.nodes += nodes
    for node in backs:
        built.add(replace(node, needs={"all": once([*ends, *last])}))
        last = [node.id]
    _close(built, tail, streams, [*ends, *last], together.header)
    return apart(built)


def _of_stream(stream: Stream, *, first: bool, out: bool) -> list[Node]:
    """Return the steps of a stream as a line of its own; a later one's reducer is not turned by D2."""
    nodes = tuple(whole.nodes(stream.desk))
    if first or not out:
        return list(nodes)
    return list(untouched(stream.desk, tuple(node for node in nodes if node.id != "D2")))


def done_again(built: Built, names: set[str]) -> None:
    """Take the proof from a common part put right for an earlier stream: a later one opens it again."""
    for at, node in enumerate(built.nodes):
        again = any(node.id == name or node.id.startswith(f"{name}.") for name in names)
        if again and node.restores:
            built.nodes[at] = replace(node, proves=(), depends_on=())


def _decided_first(built: Built) -> None:
    """Move the choice of each pilot of later streams beside those of the first."""
    choices = [node for node in built.nodes if node.id.startswith("E0.")]
    rest = [node for node in built.nodes if node not in choices]
    at = next((i for i, node in enumerate(rest) if node.id[0] not in "A"), len(rest))
    built.nodes[:] = [*rest[:at], *choices, *rest[at:]]


def _vents_first(built: Built) -> None:
    """Move what later streams vent and clean before the filling, and let B6 wait for it."""
    later = [n for n in built.nodes if n.id.split(".")[0] in OWN_VENT and "." in n.id]
    later = [n for n in later if n.id in built.key_of and "B6" in built.ids]
    if not later:
        return
    rest = [node for node in built.nodes if node not in later]
    at = next(i for i, node in enumerate(rest) if node.id == "B6")
    vented = {n.id.partition(".")[2]: n.id for n in later if n.id.startswith("B2")}
    later = [
        node
        if node.id.startswith("B2") or node.id.partition(".")[2] not in vented
        else after(node, [vented[node.id.partition(".")[2]]])
        for node in later
    ]
    rest[at] = after(rest[at], [node.id for node in later])
    built.nodes[:] = [*rest[:at], *later, *rest[at:]]


def _is_later_vent(node: Node, number: int) -> bool:
    return number > 0 and node.id.split(".")[0] in OWN_VENT


def _ends_of(nodes: list[Node]) -> list[Needs]:
    return list(next(node for node in nodes if node.id == "J1").needs["all"])


def _lockup_of(stream: Stream, nodes: list[Node], out: bool) -> set[str]:
    """Return the lock-up of a low-flow stream: it is the station's, and follows H3."""
    wanted = f"H2.{stream.way.last_reducer.id}"
    return {wanted} & {node.id for node in nodes} if stream.way.is_low_flow and out else set()


def _alone(
    stream: Stream,
    body: list[Node],
    ends: list[Needs],
    serve: Iterable[Stream],
    waiting: Iterable[Stream],
) -> list[Node]:
    """Return the steps of a stream that is out alone: after the one before it, the zone held by others."""
    b1 = f"B1.{stream.way.key}"
    found = []
    for node in body:
        if node.id == b1:
            node = after(serving(node, stream, serve), ends)
        if stream.way.locked_shut:
            node = locked(node, stream)
        if node.id in (b1, f"C1.{stream.way.key}"):
            node = _not_yet(node, stream, waiting)
        found.append(node)
    return found


def _with_vessels(stream: Stream, body: list[Node]) -> list[Node]:
    """Return the steps of the stream that comes first with the vessels of the common outlet read before it.

    Nothing stands on that outlet yet: their gas is read, and they are open again, before a stream feeds it.
    """
    desk, key = stream.desk, stream.way.key
    parts = stream.way.view.station.parts()
    vessels = [p for p in parts if isinstance(p, ExpansionVessel) and p.id in desk.facts.served]
    if not vessels:
        return body
    steps: list[Node] = []
    for vessel in vessels:
        before = f"B2.{key}" if not steps else steps[-1].id
        steps.append(charge(desk, vessel, needs=[before], stays=False))
        steps.append(back(desk, vessel, [steps[-1].id], state="isolated"))
    found = []
    for node in body:
        if node.id == f"J2.{key}":
            node = after(node, [step.id for step in steps if step.restores])
        found.append(node)
    at = next(i for i, node in enumerate(found) if node.id == f"C1.{key}")
    return [*found[:at], *steps, *found[at:]]


def _entered(stream: Stream, body: list[Node], ends: list[Needs], *, first: bool) -> list[Node]:
    """Return the steps of a stream with S1 before its filling and S2 behind its pressure."""
    key = stream.way.key
    s1 = table.alone(stream, ["B6"] if first else ends, first=first)
    s2 = table.others_tight(stream, [f"C5.{key}"])
    found: list[Node] = []
    for node in body:
        base = node.id.split(".")[0]
        if base == "C1":
            found.append(s1)
            node = replace(node, needs={"all": [s1.id, *(n for n in node.needs["all"] if n != "B6")]})
        elif stream.way.beside:
            node = replace(node, needs=swapped(node.needs, f"C5.{key}", s2.id))
            if not first and any(str(need).startswith("D2.") for need in node.needs["all"]):
                node = after(node, [s2.id])
        found.append(node)
        if base == "C5" and stream.way.beside:
            found.append(s2)
    return found


def serving(node: Node, stream: Stream, others: Iterable[Stream]) -> Node:
    """Return B1 or Y2 of a stream that is out alone: the others hold the zone in place of another feed."""
    words = [s.way.view.words for s in others if s is not stream and not s.way.locked_shut]
    if not words:
        return node
    told = stream.desk.say("S.serves", others=", ".join(words))
    replaced = ("B1.other_feed", "B1.outage", "Y2.other_feed", "Y2.outage")
    return replace(node, do=tuple(told if message.id in replaced else message for message in node.do))


def _not_yet(node: Node, stream: Stream, waiting: Iterable[Stream]) -> Node:
    """Return a step of a stream with those that wait for their turn shut: nothing unproved feeds the zone."""
    told = tuple(
        stream.desk.say("S.waits", other=s.way.view.words, up=s.way.ends[0], down=s.way.ends[1])
        for s in waiting
    )
    return replace(node, do=(*told, *node.do))


def _close(
    built: Built, tail: list[Node], streams: tuple[Stream, ...], before: list[Needs], header: str
) -> None:
    """Append J and K, with what every stream adds to them; the station opens against the common outlet."""
    out = streams[0].way.mode == "station out"
    seals = [
        f"{reducer.id}.seal"
        for stream in streams
        for reducer in stream.desk.facts.reducers
        if reducer.id in stream.way.own
    ]
    for node in tail:
        if node.id == ("J1" if out else "J3"):
            node = replace(node, needs={"all": once(before)})
        if node.id == "J4":
            node = replace(node, restores=tuple(dict.fromkeys((*node.restores, *seals))))
        if node.id == "J3":
            node = every_tap(node, streams, built)
        if node.id == "J4" or (node.id == "J2" and out):
            node = at_header(node, header, built)
        if node.id == "K1":
            node = replace(node, do=(*node.do, streams[0].desk.say("K1.streams")))
        built.nodes.append(node)
    built.nodes[:] = [_of_all(node, streams) for node in built.nodes]
    cut_off = [node.id for node in built.nodes if "alarm.transmitter_off" in node.opens]
    built.nodes[:] = [at_header(n, header, built) if n.id in cut_off else n for n in built.nodes]


def looked_at_by_all(node: Node, streams: tuple[Stream, ...], base: str = "J4") -> Node:
    """Return a step that reads the cocks with those of the relief valves of every stream."""
    more: list[Message] = []
    for stream in streams:
        said = [stream.desk.say(name, **words) for name, words in cocks(stream.desk, base)]
        more += [one for one in said if one not in more]
    at = next((i for i, one in enumerate(node.do) if one.id.endswith(".cocks")), len(node.do) - 1) + 1
    do = [one for one in node.do if one not in more]
    return replace(node, do=(*do[:at], *more, *do[at:])) if more else node


def _of_all(node: Node, streams: tuple[Stream, ...]) -> Node:
    """Return A5 with the valves of every stream and the order of the whole line; J4 with all cocks."""
    if node.id == "J4":
        return looked_at_by_all(node, streams)
    if node.id != "A5":
        return node
    more: list[Message] = []
    for stream in streams[1:]:
        own = set(stream.way.own)
        desk = stream.desk
        valves = [valve for valve in desk.facts.valves if valve.id in own]
        more += [desk.say("A5.spring", **desk.pilot(valve)) for valve in valves]
        more += [desk.say("A5.sensing", **desk.pilot(valve)) for valve in valves]
    order = streams[0].order
    do = tuple(
        replace(message, params={**message.params, "order": order}) if "order" in message.params else message
        for message in node.do
    )
    return replace(node, do=(*do, *more))


def order_of(line: Iterable[Any]) -> str:
    """Return the parts of a line in walking order, branches in brackets."""
    words = []
    for part in line:
        if isinstance(part, Parallel):
            inside = " | ".join(f"{branch.id}: {order_of(branch.line)}" for branch in part.branches)
            words.append(f"[{inside}]")
        else:
            words.append(part.id)
    return ", ".join(words)
