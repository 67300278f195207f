"""The yearly proof of a station with several streams: one shut-off after another, the others serving."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.records.plan_numbers import Together
from steadyhead.records.procedure import Node
from steadyhead.visits.several.graph import serving
from steadyhead.visits.several.joining import isolated
from steadyhead.visits.several.naming import Built, Once, StreamNames, after, apart, loose_ends, once, swapped
from steadyhead.visits.tables import streams as table
from steadyhead.visits.tables import y_yearly
from steadyhead.visits.tables.desk import Needs
from steadyhead.visits.tables.streams import Stream

ONCE_OUT = ("Y0", "Y0F", "Y0A", "Y0B", "Y1", "Y1V", "Y2", "Y8")
"""Steps of a yearly visit done once where the whole station is out."""
ONCE_STREAM = ("Y1",)
"""The same where one stream is out at a time."""
LEAVING = ("Y8.desk", "Y8.desk_plain", "Y8.fire", "Y8.night")
"""Words of leaving that come with the last stream only."""
LEFT = ("gauges_on", "alarm_test", "fire_cover")
"""Restore items that are put right with the last stream only."""


def build(streams: tuple[Stream, ...], together: Together) -> Built:
    """Return the steps of a yearly visit, stream by stream in the order of the ways."""
    out = streams[0].way.mode == "station out"
    built = Built()
    ends: list[Needs] = []
    closing: Node | None = None
    backs: list[Node] = []
    steps = Once(ONCE_OUT if out else ONCE_STREAM)
    for number, stream in enumerate(streams):
        nodes = list(y_yearly.nodes(stream.desk))
        name = StreamNames(stream, built, steps, nodes, first=number == 0)
        kept = [node for node in nodes if name.keeps(node)]
        leave = next(node for node in nodes if node.id == "Y8")
        name.held = name.returning if out else set()
        if number == 0:
            backs = [name.renamed(node, nodes) for node in kept if node.id in name.held]
        if out and number == 0:
            closing = name.renamed(leave, nodes)
        body = [name.renamed(node, nodes) for node in kept if not (out and node.id == "Y8")]
        body = [node for node in body if node.id not in name.held]
        last = stream is streams[-1]
        body = _in_turn(stream, body, streams, ends, first=number == 0, last=last, out=out)
        for node in body:
            built.add(node, "" if node.id in steps else stream.way.key)
        built.choices += [c for choice in y_yearly.choices(stream.desk) for c in name.choice(choice)]
        ends = [f"Y8.{stream.way.key}"]
        if out:
            ends = once([*(name.need(p, nodes) for p in leave.needs["all"]), *loose_ends(built, stream)])
        built.labels |= name.labels
    if not out:
        _leaving(built, streams)
    _end(built, streams, together, ends, closing, backs)
    return apart(built)


def _in_turn(
    stream: Stream,
    body: list[Node],
    streams: tuple[Stream, ...],
    ends: list[Needs],
    *,
    first: bool,
    last: bool,
    out: bool,
) -> list[Node]:
    key = stream.way.key
    if not out:
        found = [_alone_out(node, stream, streams, last=last) for node in body]
        return [after(node, ends) if node.id == f"Y2.{key}" and ends else node for node in found]
    at = next((i for i, node in enumerate(body) if node.id.split(".")[0] == "Y3"), len(body))
    before: list[Needs] = ["Y2"] if first else ends
    s1 = table.alone(stream, before, first=first, pressed=True)
    ready = s1
    steps = [s1]
    if stream.way.beside:
        ready = table.others_tight(stream, [s1.id])
        steps.append(ready)
    moved = [replace(node, needs=swapped(node.needs, "Y2", ready.id)) for node in body[at:]]
    return [*body[:at], *steps, *moved]


def _leaving(built: Built, streams: tuple[Stream, ...]) -> None:
    """Let the last stream's Y8 tell the desk and put right what Y1 has opened for all of them."""
    first = next(node for node in y_yearly.nodes(streams[0].desk) if node.id == "Y8")
    told = [message for message in first.do if message.id in LEAVING]
    for at, node in enumerate(built.nodes):
        if node.id == f"Y8.{streams[-1].way.key}":
            own = tuple(message for message in node.do if message.id not in LEAVING)
            left = [item for item in first.restores if item in LEFT]
            restores = tuple(dict.fromkeys((*node.restores, *left)))
            built.nodes[at] = replace(node, do=(*own, *told), restores=restores)


def _alone_out(node: Node, stream: Stream, streams: tuple[Stream, ...], *, last: bool) -> Node:
    """Return Y2 with the other streams holding the zone; Y8 of all but the last without leaving the site."""
    if node.id == f"Y2.{stream.way.key}":
        return serving(node, stream, streams)
    if node.id != f"Y8.{stream.way.key}" or last:
        return node
    return replace(
        node,
        do=tuple(message for message in node.do if message.id not in LEAVING),
        restores=tuple(item for item in node.restores if item not in LEFT),
    )


def _end(
    built: Built,
    streams: tuple[Stream, ...],
    together: Together,
    ends: list[Needs],
    closing: Node | None,
    backs: list[Node],
) -> None:
    """Append what brings the streams back together, and the leaving where the whole station was out."""
    desk = streams[0].desk
    out = closing is not None
    if closing is not None:
        restored = [table.back(desk, beside, together, ends) for beside in isolated(streams)]
        built.nodes += restored
        ends = [node.id for node in restored] or ends
    if len(together.alive) > 1:
        built.nodes.append(table.leads(streams, together, ends, served=not out))
        ends = [built.nodes[-1].id]
    runs = {s.way.shut_off.id: _first_run(s, built) for s in streams if s.way.shut_off is not None}
    for pair in table.pairs(tuple(s.way for s in streams)):
        needs: list[Needs] = [step for way in pair if way.shut_off and (step := runs[way.shut_off.id])]
        node = table.staggered(streams, pair, needs or ends, runs)
        built.nodes.append(node)
        ends = [*ends, node.id]
    if closing is None:
        return
    for back in backs:
        built.nodes.append(replace(back, needs={"all": once(ends)}))
        ends = [back.id]
    seals = tuple(dict.fromkeys(f"{r.id}.seal" for s in streams for r in s.desk.facts.reducers))
    restores = tuple(dict.fromkeys((*closing.restores, *seals)))
    built.nodes.append(replace(closing, needs={"all": once(ends)}, restores=restores))


def _first_run(stream: Stream, built: Built) -> str:
    shut_off = stream.way.shut_off
    step = f"Y4.{shut_off.id}" if shut_off is not None else ""
    return step if step in built.ids else ""
