"""What loggers saw, said at the step that looks at the same thing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Literal

from steadyhead.records.parts import ShutOff, Strainer
from steadyhead.records.procedure import Message, Node, Procedure
from steadyhead.records.station import Station

About = Literal["strainer", "lock-up", "droop", "shut-off"]
"""What a measure is about: loss of the strainer, outlet at no flow, its fall with flow, loss of the open
shut-off."""


def at_their_steps(
    procedure: Procedure, station: Station, seen: Iterable[tuple[About, str, str]]
) -> Procedure:
    """Return the plan with what loggers saw first among what is to be done at the steps concerned.

    seen: of each what it is about, what is so, and because of which limit and which days. Where no step of
    the plan looks at it, nothing is added: the plan's notes name it.
    """
    told = [(about, Message("note.crossed_here", {"what": w, "because": b})) for about, w, b in seen]
    nodes = []
    for node in procedure.nodes:
        here = _looked_at(node, station)
        said = tuple(message for about, message in told if about in here)
        nodes.append(replace(node, do=(*said, *node.do)) if said else node)
    return replace(procedure, nodes=tuple(nodes))


def _looked_at(node: Node, station: Station) -> set[About]:
    """Return what a step looks at: by its question, its readings, and what it opens."""
    step, _, part = node.id.partition(".")
    inputs = {one.name for one in node.inputs}
    strainers = {one.id for one in station.parts() if isinstance(one, Strainer)}
    shut_offs = {one.id for one in station.parts() if isinstance(one, ShutOff)}
    found: set[About] = set()
    is_asked = step in ("Y5", "Y9") and part in strainers
    opens = step == "B4" and any(f"{one}.element" in node.touches for one in strainers)
    if is_asked or opens or (step == "H4" and "strainer" in inputs):
        found.add("strainer")
    if step == "H2" or (step == "Y3" and "lockup" in inputs):
        found.add("lock-up")
    if step == "H4":
        found.add("droop")
    if (step == "H4" and "shut_off" in inputs) or (step == "Y4" and part in shut_offs):
        found.add("shut-off")
    return found
