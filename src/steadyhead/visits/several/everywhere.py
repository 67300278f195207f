"""Steps of the whole station that read every tap, and the common outlet in place of one stream's."""

from __future__ import annotations

import re
from dataclasses import replace

from steadyhead.records.parts import Tap
from steadyhead.records.procedure import Message, Node
from steadyhead.visits.several.naming import Built
from steadyhead.visits.tables.streams import Stream


def every_tap(node: Node, streams: tuple[Stream, ...], built: Built) -> Node:
    """Return a step that reads every tap of the station, in walking order, in place of one stream's.

    A tap that the step reads already keeps its name there. `built` gets the words of the others.
    """
    ids = _taps(streams)
    have = {one.tap: one for one in node.inputs if one.quantity == "pressure" and one.tap in ids}
    first = next(iter(have.values()), None)
    if first is None:
        return node
    found = []
    for name in ids:
        one = have.get(name)
        if one is None:
            one = replace(first, name=f"at.{name}", tap=name)
            built.labels[f"{node.id}/{one.name}"] = Message("in.reading", {"tap": name})
        found.append(one)
    at = node.inputs.index(first)  # what is asked before anything is read stays ahead: the air
    rest = [one for one in node.inputs[at:] if one not in have.values()]
    return replace(node, inputs=(*node.inputs[:at], *found, *rest))


def _taps(streams: tuple[Stream, ...]) -> list[str]:
    """Return the taps of all ways, as the water meets them."""
    found = {p.id for s in streams for p in s.way.view.layout.main if isinstance(p, Tap)}
    walked = [word for word in re.split(r"[\s,|:\[\]]+", streams[0].order) if word in found]
    return [*dict.fromkeys(walked), *sorted(found - set(walked))]


def at_header(node: Node, header: str, built: Built) -> Node:
    """Return a step that reads the outlet the streams share, in words and readings, not one stream's own."""
    old = {one.tap for one in node.inputs if one.name == "T3" or one.name.startswith("T3.")}

    def told(message: Message) -> Message:
        params = {name: header if name == "t3" else value for name, value in message.params.items()}
        return replace(message, params=params)

    for one in node.inputs:
        label = built.labels.get(f"{node.id}/{one.name}")
        if label is not None:
            built.labels[f"{node.id}/{one.name}"] = told(label)
    return replace(
        node,
        do=tuple(told(one) for one in node.do),
        inputs=tuple(replace(one, tap=header) if one.tap in old else one for one in node.inputs),
        otherwise=tuple(
            replace(one, see=told(one.see), meaning=told(one.meaning), then=told(one.then))
            for one in node.otherwise
        ),
        back_out=tuple(replace(one, do=told(one.do)) for one in node.back_out),
        hazards=tuple(replace(one, caution=told(one.caution)) for one in node.hazards),
    )
