"""Steps of a stream that stands locked shut in service: it feeds nobody before, during or after its test."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.records.procedure import BackOut, Hazard, Message, Node
from steadyhead.visits.tables import streams as table
from steadyhead.visits.tables.desk import is_no, yes_no
from steadyhead.visits.tables.streams import Stream

OPENING = (
    *("J2.inlet", "J2.equal", "J2.equal_none", "J2.outlet", "J2.drain", "J2.drains"),
    *("Y8.inlet", "Y8.outlet", "Y8.drain", "Y8.drains"),
)
"""Words that open a stream to the consumers; none of them for one that is locked shut in service."""


def locked(node: Node, stream: Stream) -> Node:
    """Return a step of a stream that is locked shut in service, as its locks have it.

    Cut off: its valves are seen shut, nothing is closed; filled: with the locks off; J2: locked shut again.
    """
    way = stream.way
    if node.id == f"B1.{way.key}":
        return _seen_shut(node, stream)
    if node.id == f"C1.{way.key}":
        unlock = stream.desk.say("S.unlock", stream=way.view.words)
        return replace(node, do=(unlock, *node.do), opens=(*node.opens, table.unlocked(way.branch)))
    return locked_again(node, stream) if node.id == f"J2.{way.key}" else node


def locked_again(node: Node, stream: Stream) -> Node:
    """Return the last step of a stream that is locked shut in service: nothing is opened to the consumers."""
    desk, way = stream.desk, stream.way
    kept = tuple(message for message in node.do if message.id not in OPENING)
    desk.labels[f"{node.id}/listed"] = desk.say("S3.in.listed")
    return replace(
        node,
        title=desk.say("S.relock.title", stream=way.view.words),
        do=(desk.say("S.relock"), *kept),
        inputs=(*(one for one in node.inputs if one.name in ("twice", "photo")), *yes_no("listed")),
        expect=(),
        otherwise=tuple(one for one in node.otherwise if one.see.id not in ("J2.trips.see",)),
        refuses=(),
        hazards=(),
        restores=(*node.restores, table.unlocked(way.branch)),
    )


def _seen_shut(node: Node, stream: Stream) -> Node:
    """Return B1 of a stream that stands shut and locked: it is seen so, nothing is closed."""
    desk, way = stream.desk, stream.way
    moves = ("B1.outlet", "B1.watch", "B1.inlet", "B1.count")
    kept = tuple(message for message in node.do if message.id not in moves)
    desk.labels[f"{node.id}/listed"] = desk.say("S3.in.listed")
    return replace(
        node,
        do=(*kept, desk.say("S.seen_shut", stream=way.view.words)),
        inputs=(*(one for one in node.inputs if one.name == "second"), *yes_no("listed")),
        expect=(),
        otherwise=(desk.other("S.other", is_no("listed"), {}),),
        refuses=(),
        back_out=_ways_out(node, stream),
        hazards=tuple(one for one in node.hazards if one.tag == "fire"),
    )


def locked_start(node: Node, stream: Stream) -> Node:
    """Return Y2 of a stream that is locked shut in service: seen shut, filled, then tried; zone untouched."""
    desk, way = stream.desk, stream.way
    do: list[Message] = [desk.say("S.unlock", stream=way.view.words)]
    for message in node.do:
        if message.id == "Y2.outlet":
            do += [desk.say("S.fill"), desk.say("C2.speed"), desk.say("S.fill_watch")]
        else:
            do.append(message)
    cautions = [one for one in node.hazards if one.caution.id != "hz.consumers_low"]
    fills = Hazard("surge", desk.say("hz.surge_fill"))
    return replace(
        node,
        title=desk.say("S.start.title", stream=way.view.words),
        do=tuple(do),
        inputs=tuple(one for one in node.inputs if one.name not in ("zone", "outage")),
        otherwise=tuple(
            one for one in node.otherwise if one.see.id not in ("Y2.falls.see", "Y2.outage_falls.see")
        ),
        back_out=_ways_out(node, stream),
        hazards=(*cautions, fills),
        opens=(*node.opens, table.unlocked(way.branch)),
    )


def _ways_out(node: Node, stream: Stream) -> tuple[BackOut, ...]:
    """Return the ways out of a step, each of which ends with the stream locked shut again."""
    told = stream.desk.say("S.out.locked")
    return tuple(replace(one, do=told) for one in node.back_out)
