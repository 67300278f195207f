"""Steps that show nothing before another one was done, and a line that is filled with consumers cut off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from steadyhead.procedure.record import SOFT
from steadyhead.procedure.touching import STANDS
from steadyhead.records.procedure import Expression, Message, Node, Procedure, Refusal
from steadyhead.visits.tables.guarding import SHUT, any_of, before

FOLLOWS = {"D3": "C5", "G2": "G1", "S2": "S1", "Y3": "Y2"}
"""Steps that show nothing before the other one, and that one.

D3: without water under inlet pressure a reducer holds nothing. G2: what did not come does not clear.
S2: a stream that is not cut off cannot pass. Y3: with the outlet valve open nothing is at zero flow. G3 stays
a matter of paper: a cable that is broken is told as a fault whenever it is broken. G4 and Y6H raise the
outlet, and ask for what stands before them anyway; by pump they try the transmitter alone, which no other
step moves.
"""
BY_PART = ("G2", "S2")
"""Those of them that follow the step of the same part."""
FILLED = ("C2", "C5")
"""Steps by which the line is filled, and put under inlet pressure."""
ISOLATED, PROVED = "B1", "D2"
"""Step that cuts the consumers off, and the one that proves it."""
SHUT_BY = "B1.outlet"
"""Text by which the first of them shuts the outlet valve, named ``iv2`` in it."""
TIGHT = ".tight"
LOCKUP = "lockup"


def in_their_order(nodes: tuple[Node, ...], procedure: Procedure) -> tuple[Node, ...]:
    """Return the steps of a plan with why one that was done before its time shows nothing.

    procedure: the same plan, for the stream of each step.
    """
    found = []
    for node in nodes:
        more = (*_early(node, nodes, procedure), *_open(node, nodes, procedure))
        found.append(replace(node, refuses=(*node.refuses, *more)) if more else node)
    return tuple(found)


def _early(node: Node, nodes: tuple[Node, ...], procedure: Procedure) -> Iterator[Refusal]:
    """Yield why a step shows nothing: all of the one it follows was noted only after it."""
    own = _last(node)
    for other in nodes:
        if _base(other) != FOLLOWS.get(_base(node)) or not _go_together(node, other, procedure):
            continue
        seen = _last(other)
        if not own or not seen or (_base(node) == "Y3" and own != LOCKUP):
            continue
        first = [other.id, seen]
        since: Expression = {"gt": [{"entry": "order"}, {"order": own}]}
        later: Expression = {"count": {"of": first, "where": since}}
        when: Expression = {
            "all": [{"given": first}, {"given": own}, {"eq": [later, {"count": {"of": first}}]}]
        }
        yield Refusal(when, Message("rf.shown_early", {"step": other.id}))


def _open(node: Node, nodes: tuple[Node, ...], procedure: Procedure) -> Iterator[Refusal]:
    """Yield why a line was not filled with its consumers cut off: the outlet valve was last opened."""
    own = _last(node)
    if _base(node) not in FILLED or not own:
        return
    cut = _isolated(node, nodes, procedure)
    for valve in dict.fromkeys(_valves(node, nodes, procedure)):
        inside: list[Expression] = [any_of("thing", (valve,)), before(own)]
        if cut is not None and _last(cut):
            inside.append({"gt": [{"entry": "order"}, {"order": [cut.id, _last(cut)]}]})
        acts: Expression = {"all": [*inside, any_of("value", STANDS)]}
        moved: Expression = {"last": {"of": ["*", "@action"], "where": acts}}
        opened: list[Expression] = [{"eq": [moved, do]} for do, how in STANDS.items() if how != "shut"]
        if cut is not None:
            stands: Expression = {"last": {"of": ["*", "@position"], "where": {"all": inside}}}
            opened.append({"all": [{"ne": [stands, how]} for how in SHUT]})
        yield Refusal({"any": opened}, Message("rf.filled_open", {"valve": valve}))


def _isolated(node: Node, nodes: tuple[Node, ...], procedure: Procedure) -> Node | None:
    """Return the step that cuts the consumers off for a step: that of its stream, or of all streams."""
    return next((one for one in nodes if _base(one) == ISOLATED and _go_together(node, one, procedure)), None)


def _valves(node: Node, nodes: tuple[Node, ...], procedure: Procedure) -> Iterator[str]:
    """Yield the valves that cut the consumers off while a line is filled.

    They are those that the stream proves tight; where it proves none, those that another stream proves which
    is cut off by the same step. So with one outlet valve for all, which is proved with the first stream. A
    plan that proves none (a strainer was opened) has those that the cutting off shuts.
    """
    cut = _isolated(node, nodes, procedure)
    proved = [one for one in nodes if _base(one) == PROVED]
    own = [one for one in proved if _go_together(node, one, procedure)]
    for one in own or [each for each in proved if _isolated(each, nodes, procedure) is cut]:
        for name in one.proves:
            part, _, stream = name.partition("@")
            if part.endswith(TIGHT) and not stream:
                yield part.removesuffix(TIGHT)
    if cut is not None:
        yield from (str(one.params["iv2"]) for one in cut.do if one.id == SHUT_BY)


def _go_together(node: Node, other: Node, procedure: Procedure) -> bool:
    """Return whether two steps are of one stream; G2 and S2 also of one part."""
    one, two = (procedure.streams.get(each.id, "") for each in (node, other))
    part, own = (each.id.partition(".")[2] for each in (node, other))
    return (one == two or not one or not two) and (part == own or _base(node) not in BY_PART)


def _last(node: Node) -> str:
    """Return the last answer of a step that is neither words nor a picture, nor worked out."""
    names = [one.name for one in node.inputs if one.quantity not in SOFT and one.worked is None]
    if _base(node) == "Y3" and LOCKUP in names:
        return LOCKUP
    return names[-1] if names else ""


def _base(node: Node) -> str:
    return node.id.partition(".")[0].partition("@")[0]
