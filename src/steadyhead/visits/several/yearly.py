"""The yearly proof of a station with several streams: one shut-off after another, the others serving."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.records.parts import Relief
from steadyhead.records.plan_numbers import Together
from steadyhead.records.procedure import Message, Node
from steadyhead.visits.several.everywhere import at_header, every_tap
from steadyhead.visits.several.graph import done_again, serving
from steadyhead.visits.several.joining import isolated
from steadyhead.visits.several.locked import locked_again, locked_start
from steadyhead.visits.several.naming import (
    CLEANED,
    Built,
    Once,
    StreamNames,
    after,
    apart,
    loose_ends,
    once,
    swapped,
)
from steadyhead.visits.tables import g_alarm, y_due, y_yearly
from steadyhead.visits.tables import streams as table
from steadyhead.visits.tables.desk import Desk, Needs, is_no, measured, noted, yes_no
from steadyhead.visits.tables.streams import Stream

ONCE_OUT = ("Y0", "Y0F", "Y0A", "Y0B", "Y1", "Y1H", "Y1V", "Y2", "Y8")
"""Steps of a yearly visit done once where the whole station is out."""
ONCE_STREAM = ("Y1",)
"""The same where one stream is out at a time."""
ALARM = ("Y4", "Y6", "Y6H")
"""Steps of the high alarm, named by no valve."""
LEAVING = ("Y8.desk", "Y8.desk_plain", "Y8.fire", "Y8.night")
"""Words of leaving that come when every stream is back."""
LOOKED = ("G4p.looked",)
"""Words of the second look at the transmitter, likewise."""
LEFT = ("gauges_on", "alarm_test", "alarm.transmitter_off", "fire_cover")
"""Restore items that are put right when every stream is back."""


def build(streams: tuple[Stream, ...], together: Together) -> Built:
    """Return the steps of a yearly visit, stream by stream in the order of the ways."""
    out = streams[0].way.mode == "station out"
    built = Built()
    ends: list[Needs] = []
    closing: Node | None = None
    backs: list[Node] = []
    steps = Once(ONCE_OUT if out else ONCE_STREAM)
    alarm = not streams[0].desk.facts.has_pump
    for number, stream in enumerate(streams):
        nodes = list(y_yearly.nodes(stream.desk, alarm=alarm))
        alarm = alarm and not any(node.id in ALARM for node in nodes)
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
        done_again(built, name.again)
        body = [every_tap(node, streams, built) if node.id == "Y1" else node for node in body]
        body = _in_turn(stream, body, streams, ends, first=number == 0, out=out)
        for node in body:
            built.add(node, "" if node.id in steps else stream.way.key)
        built.choices += [c for choice in y_yearly.choices(stream.desk) for c in name.choice(choice)]
        ends = [f"Y8.{stream.way.key}"]
        if out:
            ends = once([*(name.need(p, nodes) for p in leave.needs["all"]), *loose_ends(built, stream)])
        built.labels |= name.labels
    _end(built, streams, together, ends, closing, backs)
    return apart(built)


def _in_turn(
    stream: Stream,
    body: list[Node],
    streams: tuple[Stream, ...],
    ends: list[Needs],
    *,
    first: bool,
    out: bool,
) -> list[Node]:
    key = stream.way.key
    if not out:
        found = [_alone_out(node, stream, streams) for node in body]
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


def _leaving(streams: tuple[Stream, ...], needs: list[Needs], together: Together, built: Built) -> Node:
    """Return the leaving of the site, where each stream is back in service by a Y8 of its own."""
    desk = streams[0].desk
    leave = next(node for node in y_yearly.nodes(desk, alarm=False) if node.id == "Y8")
    looked = LOOKED if _looked(desk, built) else ()
    return desk.node(
        "Y8",
        needs=once(needs),
        do=[*looked, *(message.id.removeprefix("Y8.") for message in leave.do if message.id in LEAVING)],
        over={"t3": together.header},
        inputs=(*yes_no("twice"), measured("photo", "photo", "camera")),
        otherwise=(("not", is_no("twice")),),
        out=("in_service",),
        title="title_leave",
        time="Y8L",
        restores=[*(item for item in leave.restores if item in LEFT), "alarm.transmitter_off"],
    )


def _not_proved(streams: tuple[Stream, ...], needs: list[Needs]) -> list[Node]:
    """Return Y9 of each vessel, relief valve and strainer the streams share: when it is proved next."""
    facts = streams[0].desk.facts
    station = facts.station
    shared = [(part.id, "relief") for part in station.line if isinstance(part, Relief)]
    parts = [(name, "vessel") for name in facts.served] + shared
    parts += [(name, "strainer") for name in facts.strainers_served]
    desk = streams[0].desk
    return [
        desk.node(
            "Y9",
            name,
            needs=needs,
            do=("why", kind, "date"),
            inputs=(*noted("last"), *noted("next"), *yes_no("agreed")),
            otherwise=(("open", is_no("agreed")),),
            out=("in_service",),
            over={"part": name},
        )
        for name, kind in parts
    ]


def _alone_out(node: Node, stream: Stream, streams: tuple[Stream, ...]) -> Node:
    """Return Y2 with the other streams holding the zone; Y8 without leaving the site."""
    way = stream.way
    if node.id == f"Y2.{way.key}":
        node = serving(node, stream, streams)
        return locked_start(node, stream) if way.locked_shut else node
    if node.id != f"Y8.{way.key}":
        return node
    node = replace(
        node,
        do=tuple(message for message in node.do if message.id not in (*LEAVING, *LOOKED)),
        restores=tuple(item for item in node.restores if item not in LEFT),
    )
    return locked_again(node, stream) if way.locked_shut else node


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
        tested = streams[-1].way.branch
        restored = [
            table.back(desk, beside, together, ends, stands=beside.branch == tested, full=False)
            for beside in isolated(streams)
        ]
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
    heard = _alarm(streams, together, ends)
    built.nodes += heard
    ends = [node.id for node in heard] or ends
    if closing is None:
        missed = _not_proved(streams, ends)
        built.nodes += missed
        built.nodes.append(_leaving(streams, [*ends, *(node.id for node in missed)], together, built))
        return
    for back in backs:
        built.nodes.append(replace(back, needs={"all": once(ends)}))
        ends = [back.id]
    built.nodes.append(replace(_of_all(closing, streams, together, built), needs={"all": once(ends)}))


def _of_all(closing: Node, streams: tuple[Stream, ...], together: Together, built: Built) -> Node:
    """Return the one Y8 of a station that was out, with what every stream adds; read at the common outlet."""
    names: dict[str, None] = {}
    parts: dict[str, None] = {}
    losses: list[Message] = []
    for stream in streams:
        leave = next(node for node in y_yearly.nodes(stream.desk, alarm=False) if node.id == "Y8")
        names |= dict.fromkeys(item for item in leave.restores if item.endswith(CLEANED))
        names |= dict.fromkeys(f"{r.id}.seal" for r in stream.desk.facts.reducers)
        parts |= dict.fromkeys(part.id for part in y_due.things(stream.desk))
        losses += [one for one in leave.do if one.id == "Y8.loss" and one not in losses]
    kept = [one for one in closing.do if one.id not in ("Y8.closed", *LOOKED, "Y8.loss")]
    at = next((i for i, one in enumerate(kept) if one.id == "Y8.cocks"), len(kept) - 1) + 1
    desk = streams[0].desk
    said = [desk.say("Y8.closed", closed=", ".join(parts))] if parts else []
    do = (*kept[:at], *said, *losses, *_looked(desk, built), *kept[at:])
    restores = tuple(dict.fromkeys((*closing.restores, *names, "alarm.transmitter_off")))
    return at_header(replace(closing, do=do, restores=restores), together.header, built)


def _looked(desk: Desk, built: Built) -> tuple[Message, ...]:
    """Return the second look at the cock of the outlet transmitter, where a step has shut it."""
    shut = any("alarm.transmitter_off" in node.opens for node in built.nodes)
    return (desk.say(LOOKED[0]),) if shut else ()


def _alarm(streams: tuple[Stream, ...], together: Together, needs: list[Needs]) -> list[Node]:
    """Return the high alarm by pump, with every stream back: the transmitter reads the common outlet."""
    desk = next((s.desk for s in streams if g_alarm.is_tried(s.desk)), None)
    if desk is None or not desk.facts.has_pump:
        return []
    return [g_alarm.by_pump(desk, needs=once(needs), base="Y6H", time="G4", header=together.header)]


def _first_run(stream: Stream, built: Built) -> str:
    shut_off = stream.way.shut_off
    step = f"Y4.{shut_off.id}" if shut_off is not None else ""
    return step if step in built.ids else ""
