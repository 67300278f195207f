"""What was done beside the plan: touches nobody proves again, unknown things, things left otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from steadyhead.procedure.naming import names_of
from steadyhead.procedure.placing import STROKES, meant, misplaced
from steadyhead.procedure.record import Record, Row
from steadyhead.procedure.steps import Step
from steadyhead.procedure.touching import Touch, is_carried, owner, rests_of, touches
from steadyhead.records.entry import GUARDS, MOVES, TELLS, TOUCHES, VERBS
from steadyhead.records.procedure import Node
from steadyhead.records.run import ProofState, Remark

NEVER = ("RUN-50", "RUN-51", "RUN-57")
"""Remarks of which no deviation accepts anything."""
NAMES_ITS_THING = (
    "open", "shut", "crack", "throttle", "isolate", "hold", "release", "lock", "unlock", "connect",
    "disconnect",
)  # fmt: skip
"""Moves of which no step tells what was moved: they name it. Others move water, or stroke the shut-off."""
SCREW = ("setting", "nut")
"""What a step works on a screw: ends of the names of things."""
ORDERED = ("raise", "lower", "bleed")
"""Touches that a step which works a screw orders by themselves: they mean that screw."""
NUTS = ("tighten nut", "slacken nut")
"""Touches of a nut."""


def beside_plan(record: Record, steps: Mapping[str, Step], proofs: tuple[ProofState, ...]) -> list[Remark]:
    """Return what stands against *final* although no step of the plan was wrong.

    A touch of a thing that no proof on this way rests on; an act on something the plan cannot place; a thing
    last said to stand otherwise than it is to be left. Without `Minding` in the plan: nothing.
    """
    if not record.procedure.minding.parts:
        return []
    rests = rests_of(steps)
    return [
        *_unproved(record, steps, rests),
        *_unknown(record),
        *misplaced(record, steps, rests, proofs),
    ]


def _unproved(
    record: Record, steps: Mapping[str, Step], rests: Mapping[str, frozenset[str]]
) -> Iterator[Remark]:
    """Yield the newest touch of each minded thing on which no proof of its own valve rests on this way."""
    proved: set[str] = set()
    for step in steps.values():
        parts = {_part(name) for name in step.node.proves if step.way != "off"}
        proved |= {one for one in rests[step.node.id] if parts and _part(one) in (*parts, "shared")}
    bare = frozenset(record.procedure.minding.things) - proved
    newest: dict[str, Touch] = {}
    for touch in touches(record):
        node = record.node.get(touch.row.entry.node)
        own = frozenset(node.touches) if node is not None and _is_read(steps[node.id], touch) else frozenset()
        newest |= dict.fromkeys((touch.things & bare) - own, touch)
    for thing in sorted(newest):
        yield Remark("RUN-50", thing, (newest[thing].row.entry.id,), {"do": newest[thing].row.do})


def _is_read(step: Step, touch: Touch) -> bool:
    """Return whether a step on this way was read after it worked a thing, or is still to be."""
    return step.way == "on" and (step.latest < 0 or touch.row.at <= step.latest)


def _part(name: str) -> str:
    return name.partition("@")[0].rpartition(".")[0]


def _unknown(record: Record) -> Iterator[Remark]:
    """Yield the acts and positions of which nobody can tell what they are about, or what was done.

    Whatever is said to lie outside and bears a name of the station is one of them.
    """
    names, called = names_of(record.procedure), record.procedure.minding.called
    for row in record.rows:
        do = row.do or "act" if row.entry.kind == "action" else row.entry.kind
        if row.entry.kind not in ("action", "position") or do in TELLS or is_carried(record, row):
            continue
        written, node = row.text("thing"), record.node.get(row.entry.node)
        is_known = names.is_exact(written) or bool(names.part(written))
        if do not in (*VERBS, "position") or names.hides(written, called):
            is_known = False
        elif do in GUARDS or (not written and do in MOVES and _is_told(record, row)):
            continue
        elif not written:
            is_known = do in TOUCHES and node is not None and _means(node, do)
        if not is_known:
            yield Remark("RUN-51", written or do, (row.entry.id,), {"do": do})


def _means(node: Node, do: str) -> bool:
    """Return whether a step tells which of its things a touch means that names none.

    A turn may be one of any screw. A step that works a screw orders its raise, or its nut where it works that
    one too; whatever else is done there may be done to another valve.
    """
    ends = {name.partition("@")[0].rpartition(".")[2] for name in node.touches}
    if not ends or do == "turn":
        return False
    return do in ORDERED or not ends & set(SCREW) or (do in NUTS and "nut" in ends)


def _is_told(record: Record, row: Row) -> bool:
    """Return whether the step of an act that names nothing tells what was moved."""
    if row.entry.node not in record.node or row.do in NAMES_ITS_THING:
        return False
    return row.do not in STROKES or bool(meant(record, row))


def never_accepted(remark: Remark, record: Record) -> bool:
    """Return whether no deviation accepts a remark of `beside_plan`: one of what the plan does not name."""
    may = record.procedure.minding.may
    return remark.code in NEVER or not {remark.about, owner(remark.about)} & set(may)
