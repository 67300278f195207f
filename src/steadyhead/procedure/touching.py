"""What was touched in a run, and which proofs no longer stand because of it.

A proof stands on the readings it was taken with. A touch of anything it rests on, by anybody on any device,
after the first of these readings makes it stale. A step that is meant to work a thing and then to read it may
do so: there the last reading counts.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from steadyhead.procedure.clocks import Doubt, doubts, may_follow
from steadyhead.procedure.naming import Names, folded, low_words, names_of, plainly
from steadyhead.procedure.record import NOTED, Record, Row, round_starts
from steadyhead.procedure.steps import Step, ways
from steadyhead.records.entry import GUARDS, MOVES, TELLS, TOUCHES
from steadyhead.records.procedure import Node, Procedure
from steadyhead.records.run import ProofIs, ProofState, Remark

WORKS = {
    "tighten nut": "nut",
    "slacken nut": "nut",
    "raise": "setting",
    "lower": "setting",
    "turn": "setting",
}
"""What an act works where only the part is named."""
NO_TOUCH = (*TELLS, *GUARDS)
PUTS = ("defeat", "restore")
"""Acts that put out of action and back; where they name the very thing, it is touched."""
BACK = {"restore": "defeat", "join wire": "break wire", "remove bridge": "bridge contacts"}
"""Acts that put what protects back in action, and what put it out."""
OUT_OF_WAY = {"defeat": ("out_of_way", "cut_off")}
"""Acts that put a part out of the way of a step, and the items it opens for them."""
ALARM = "alarm"
"""The part that only warns."""
WIRED = ("switch", "cable", "alarm_text", "flow_switch")
"""What a warning comes by."""
IN_SERVICE = ("in service", "back in service", "in place", "restored")
"""What is to be said of a part of which the plan does not say how it is left."""

LETS_OUT = ("bleed", "turn")
"""Acts that let air or water out at a valve or a drain, or work its spindle; its seat stays as it is."""
TAKES_OFF = ("remove",)
"""Acts by which a gauge is taken off; what was read with it stands."""
CARRIED = ("connect", "disconnect", "remove", "refit", "replace", "position")
"""What may be said of an instrument that was described in the run; it is no part of the station."""
FLOWS = (
    "vent", "drain", "draw water", "flush", "fill", "pump", "inject", "connect", "disconnect",
)  # fmt: skip
"""Acts that move water through a valve that protects, or open its lines: what was proved may have changed."""
CLOSES = "feed"
"""What only a valve has that closes by itself."""
LINES = ("connect", "disconnect")
"""Acts that open a line of a valve."""
MOVED = (
    "open", "opened", "opens", "opening", "shut", "shuts", "shutting", "closed", "closes", "closing", "trip",
    "tripped", "latched", "unlatched", "reset", "acted", "moved", "half", "part", "partly", "service",
    "place", "restored", "dry", "seated", "tight", "sealed", "live", "left", "fitted", "normal", "found",
)  # fmt: skip
"""Words of a position by which what protects was moved, or stands ready: the same thing as before."""
BESIDE = (
    "a", "again", "all", "and", "as", "at", "back", "before", "after", "by", "cock", "cocks", "dripping",
    "down", "end", "flow", "full", "fully", "hand", "in", "indicator", "intact", "is", "it", "its",
    "itself", "lever", "lifted", "lifts", "mark", "mm", "not", "now", "of", "on", "own", "photo", "pilot",
    "planned", "position", "pressure", "reseated", "run", "runs", "seal", "seals", "seat", "seats",
    "since", "stem", "still", "stop", "test", "the", "then", "to", "top", "turn", "turns", "unbroken",
    "up", "usual", "was", "water", "weeping", "whole", "wide", "with",
)  # fmt: skip
"""Words beside these by which nothing keeps it from acting; any other word may tell that something does."""
READY = ("service", "place", "restored", "live", "normal", "fitted")
"""Words of a position by which it stands ready, but with a *not*."""
COCK = "cock"
"""What a part that protects may be cut off by."""
CUTS_OFF = (
    "shut", "shuts", "closed", "half", "part", "partly", "cracked", "throttled", "cut",
)  # fmt: skip
"""Words of a position by which a cock lets nothing, or not all, through."""
STANDS = {"open": "open", "shut": "shut", "isolate": "shut", "crack": "part", "throttle": "part"}
"""Acts after which a thing stands otherwise, and how."""


@dataclass(frozen=True, slots=True)
class Touch:
    """Things that were touched, by which entry."""

    row: Row
    things: frozenset[str]


@dataclass
class StepProof:
    """One proof as one step gives it."""

    name: str
    step: Step
    rests: frozenset[str]
    state: ProofIs
    because: tuple[Remark, ...] = ()


def touches(record: Record) -> tuple[Touch, ...]:
    """Return every touch, in the order of judging.

    An act names its thing, or means what its step works. A step that works things and says nothing of its
    acts works them each time it is gone through.
    """
    worked = acting(record)
    found: dict[int, frozenset[str]] = {}
    stood: dict[int, frozenset[str]] = {}
    for row in record.rows:
        if row.entry.kind in ("action", "position"):
            touched = worked(row)
            if touched:
                (found if row.do else stood)[row.at] = touched
    for node in record.procedure.nodes:
        rows, own = record.at(node.id), frozenset(node.touches)
        if own and not any(found.get(row.at, frozenset()) & own for row in rows):
            asked = asks_whether(node)
            for row in round_starts([row for row in rows if not denies(row, asked)], node):
                found[row.at] = found.get(row.at, frozenset()) | own
    found = stood | found
    return tuple(Touch(record.rows[at], found[at]) for at in sorted(found))


def asks_whether(node: Node) -> str:
    """Return the question of a step whether it took place at all: where it is no, nothing else is asked."""
    if not node.inputs or node.inputs[0].quantity != "yes_no" or len(node.inputs) < 2:
        return ""
    name = node.inputs[0].name
    left_out = {"eq": [{"value": name}, False]}
    return name if all(one.unless == left_out for one in node.inputs[1:]) else ""


def denies(row: Row, asked: str) -> bool:
    """Return whether a row says that its step did not take place: nothing was touched by it."""
    return bool(asked) and row.input == asked and row.entry.payload.get("value") is False


def acting(record: Record) -> Callable[[Row], frozenset[str]]:
    """Return what tells of each act, or position, by itself which things it touches."""
    known, names = things(record.procedure), names_of(record.procedure)
    minded, guards = frozenset(record.procedure.minding.things), record.procedure.minding.guards
    way = ways(record.procedure, record.choices)

    def worked(row: Row) -> frozenset[str]:
        if is_carried(record, row):
            return frozenset()
        node = record.node.get(row.entry.node)
        if row.entry.kind == "position":
            return _stood(record, row, minded, names)
        if row.do in PUTS and row.thing in known:
            return frozenset((row.thing,))
        if row.do in GUARDS:
            return _guarded(record, row, minded)
        own = node if node is not None and way[node.id] == "on" else None
        touched = _worked(row, node, known, names)
        return touched or _moved(row, minded, names, guards) or _flowed(record, row, own, minded)

    return worked


def is_carried(record: Record, row: Row) -> bool:
    """Return whether a row is about an instrument that was described in the run, put on or taken off."""
    written = row.text("thing")
    if (row.do or row.entry.kind) not in CARRIED or names_of(record.procedure).part(written):
        return False
    return folded(written) in {folded(name) for name in record.described}


def things(procedure: Procedure) -> frozenset[str]:
    """Return every thing the steps work or a proof rests on; proofs are none."""
    proofs = {proof for node in procedure.nodes for proof in node.proves}
    every = {name for node in procedure.nodes for name in (*node.touches, *node.depends_on)}
    every |= set(procedure.minding.things)
    return frozenset(every - proofs)


def _worked(row: Row, node: Node | None, known: frozenset[str], names: Names) -> frozenset[str]:
    do, thing = row.do, row.thing
    if do in NO_TOUCH:
        return frozenset()
    if thing in known:
        return frozenset((thing,))
    if do in MOVES:
        return frozenset()
    if thing:
        part = f"{thing}.{WORKS[do]}" if do in WORKS else ""
        if part in known and (names.is_exact(row.text("thing")) or not names.parts):
            return frozenset((part,))
        whole = frozenset(name for name in known if name.startswith(f"{thing}."))
        if whole:
            return frozenset() if _keeps(do, whole) else whole
    return frozenset(node.touches) if node is not None and do in TOUCHES else frozenset()


def _keeps(do: str, whole: frozenset[str]) -> bool:
    """Return whether an act leaves the whole as it was: air let out at a seat, a gauge taken off."""
    ends = {name.partition("@")[0].rpartition(".")[2] for name in whole}
    return (do in LETS_OUT and ends == {"gate"}) or (do in TAKES_OFF and ends == {"dial"})


def _flowed(record: Record, row: Row, node: Node | None, minded: frozenset[str]) -> frozenset[str]:
    """Return the whole of a part that protects where water was moved through it beside its own steps.

    So of any valve where a line of it was opened that the plan has no name for.
    """
    if row.do not in FLOWS or (row.thing not in record.procedure.minding.guards and row.do not in LINES):
        return frozenset()
    proved = node is not None and any(name.startswith(f"{row.thing}.") for name in node.proves)
    return (
        frozenset()
        if proved and node is not None and not _is_behind(record, node, row)
        else frozenset(name for name in minded if name.startswith(f"{row.thing}."))
    )


def _moved(row: Row, minded: frozenset[str], names: Names, guards: tuple[str, ...]) -> frozenset[str]:
    """Return the whole of a valve of which a part was opened or shut that the plan has no name for.

    A part that protects and does not close by itself is cut off by its cock; where the plan has none, all of
    it is meant.
    """
    whole = frozenset(name for name in minded if name.startswith(f"{row.thing}."))
    if row.do not in STANDS:
        return frozenset()
    if not names.is_exact(row.text("thing")):
        return whole
    if row.thing not in guards or f"{row.thing}.{CLOSES}" in whole:
        return frozenset()
    return whole & {f"{row.thing}.cock"} or whole


def _is_behind(record: Record, node: Node, row: Row) -> bool:
    """Return whether an act was entered at a step after people had read it and gone on to another one."""
    last = max((one.at for one in record.at(node.id) if one.entry.kind in NOTED), default=row.at)
    return any(one.entry.node not in ("", node.id) for one in record.rows[last : row.at])


def owner(name: str) -> str:
    """Return the part a thing belongs to; empty where it is a part itself."""
    return name.partition("@")[0].rpartition(".")[0]


def valves(procedure: Procedure) -> frozenset[str]:
    """Return the parts of which things are minded: those that work by themselves."""
    return frozenset(owner(name) for name in procedure.minding.things)


def shut_offs(procedure: Procedure) -> frozenset[str]:
    """Return the parts that protect by closing themselves."""
    minding = procedure.minding
    closing = {owner(name) for name in minding.things if name.partition("@")[0].endswith(f".{CLOSES}")}
    return frozenset(closing & set(minding.guards))


def is_in_place(record: Record, row: Row) -> bool:
    """Return whether a position says that a thing stands as it is to be left."""
    left = (one.words for one in record.procedure.minding.left if one.thing == row.thing)
    words = {plainly(word) for word in next(left, IN_SERVICE)}
    return plainly(row.text("is")) in words and not _is_cut_off(record, row)


def _stood(record: Record, row: Row, minded: frozenset[str], names: Names) -> frozenset[str]:
    """Return what was worked where a part of a valve is said to stand otherwise than it is left."""
    if is_in_place(record, row):
        return frozenset()
    whole = frozenset(name for name in minded if owner(name) == row.thing)
    if _is_kept(record, row):
        return whole
    if _is_cut_off(record, row):
        return whole & {f"{row.thing}.{COCK}"} or whole
    if row.thing in minded or names.is_exact(row.text("thing")):
        return minded & {row.thing}
    return whole


def _is_kept(record: Record, row: Row) -> bool:
    """Return whether a position says that a whole part that protects is kept from acting.

    So does one with a word that nobody knows, or with none that is known. The alarm is none of them: its own
    steps put it on test.
    """
    found = low_words(row.text("is"))
    if not _protects(record, row) or not found:
        return False
    told = {word for word in found - set(BESIDE) if not word[0].isdigit()}
    turned = "not" in found and bool(found & set(READY))
    return turned or not told & set(MOVED) or bool(told - set(MOVED) - set(CUTS_OFF))


def _is_cut_off(record: Record, row: Row) -> bool:
    """Return whether a position says of a part that protects that a cock of it is shut.

    The plan may have no name for the cock.
    """
    stands = low_words(row.text("is"))
    cock = COCK in stands | low_words(row.text("thing"))
    return _protects(record, row) and cock and bool(stands & set(CUTS_OFF))


def _protects(record: Record, row: Row) -> bool:
    return row.thing in record.procedure.minding.guards and row.thing != ALARM


def _guarded(record: Record, row: Row, minded: frozenset[str]) -> frozenset[str]:
    """Return what an act touches by which protection, or a warning, is put out of action or back.

    A step that orders it touches nothing by it while that step is gone through, nor does what puts back what
    such a step put out.
    """
    out = BACK.get(row.do, row.do)
    if row.do not in (*BACK, *BACK.values()) or _is_ordered(record, row, out):
        return frozenset()
    if row.do in BACK:
        before = [one for one in record.rows[: row.at] if one.do == out and _alike(one, row)]
        if all(_is_ordered(record, one, out) for one in before) and (before or out == "defeat"):
            return frozenset()
    if row.thing in minded:
        return frozenset((row.thing,))
    parts = {row.thing} if row.thing else _ordered_parts(record, row, out)
    wired = {name for name in minded if name.partition("@")[0].rpartition(".")[2] in WIRED}
    of_part = {name for name in minded if owner(name) in parts}
    told = of_part & wired
    if row.thing in record.procedure.minding.guards and not told:
        told = wired
    return frozenset(of_part | told if out == "defeat" else told)


def _ordered_parts(record: Record, row: Row, out: str) -> set[str]:
    """Return the parts that the step of an act which names nothing orders out of the way, or warns by."""
    node = record.node.get(row.entry.node)
    if node is None:
        return set()
    ordered = {owner(item) for item in (*node.opens, *node.restores) if _is_kind(item, out)}
    wired = {owner(name) for name in node.depends_on if name.partition("@")[0].rpartition(".")[2] in WIRED}
    return ordered if out in OUT_OF_WAY else wired


def _is_kind(item: str, out: str) -> bool:
    """Return whether an item is one that a step opens for an act which puts out."""
    return item.partition("@")[0].rpartition(".")[2] in OUT_OF_WAY.get(out, ())


def _alike(one: Row, other: Row) -> bool:
    """Return whether two acts are about the same part."""
    return (owner(one.thing) or one.thing) == (owner(other.thing) or other.thing)


def _is_ordered(record: Record, row: Row, out: str) -> bool:
    """Return whether the step an act stands at, on this way, orders what is put out or back by it.

    It does so until it was put back, and what is put out for a reading before people have gone on.
    """
    node = record.node.get(row.entry.node)
    if node is None or ways(record.procedure, record.choices)[node.id] != "on":
        return False
    part = (owner(row.thing) or row.thing).lower()
    fit = {item for item in (*node.opens, *node.restores) if _is_kind(item, out)}
    fit = {item for item in fit if not part or owner(item).lower() == part}
    if fit:
        back = [other for other in record.procedure.nodes if fit & set(other.restores) and other is not node]
        return row.do != out or not any(one.at < row.at for other in back for one in record.at(other.id))
    rests = {name for name in node.depends_on if name.partition("@")[0].rpartition(".")[2] in WIRED}
    in_time = row.do != out or not _is_behind(record, node, row)
    return out != "defeat" and bool(node.proves and rests) and in_time


def prove(
    record: Record, steps: Mapping[str, Step], moved: Mapping[str, tuple[Remark, ...]] | None = None
) -> tuple[ProofState, ...]:
    """Return every proof of the plan with its state, in the order of the plan.

    moved: by step, what was moved while it was taken (`steadyhead.procedure.holding`).
    """
    touched, doubt = touches(record), doubts(row.entry for row in record.rows)
    rests = rests_of(steps)
    single = [
        StepProof(name, step, rests[step.node.id], *_state(step))
        for step in steps.values()
        if step.way != "off"
        for name in step.node.proves
    ]
    for proof in single:
        if proof.state == "valid" and proof.name not in record.procedure.minding.keeps:
            inside = (moved or {}).get(proof.step.node.id, ())
            meanwhile = (replace(one, about=proof.name) for one in inside)
            because = (*_stale(proof, touched, doubt), *meanwhile)
            proof.state, proof.because = ("stale", because) if because else ("valid", ())
    _rest_on_proofs(single)
    every = dict.fromkeys(name for node in record.procedure.nodes for name in node.proves)
    return tuple(_together(name, [proof for proof in single if proof.name == name]) for name in every)


def _state(step: Step) -> tuple[ProofIs, tuple[Remark, ...]]:
    """Return the state of what a step proves before anything else is looked at."""
    if step.is_refused or any(one.instead for one in step.fires):
        return "refused", ()
    if step.way == "waits" or step.lacks or not step.begun:
        return "open", ()
    return "valid", ()


def rests_of(steps: Mapping[str, Step]) -> dict[str, frozenset[str]]:
    """Return everything the proofs of each step rest on, also by way of other proofs."""
    gives: dict[str, list[str]] = {}
    for step in steps.values():
        for name in step.node.proves if step.way != "off" else ():
            gives.setdefault(name, []).append(step.node.id)
    found = {node_id: set(step.node.depends_on) for node_id, step in steps.items()}
    grown = True
    while grown:
        grown = False
        for names in found.values():
            more = set().union(*(found[node] for name in names for node in gives.get(name, ()))) - names
            if more:
                names |= more
                grown = True
    return {node_id: frozenset(names) for node_id, names in found.items()}


def _stale(proof: StepProof, touched: tuple[Touch, ...], doubt: Doubt) -> list[Remark]:
    """Return why a proof no longer stands, or is not known to stand; newest touch of each thing."""
    step = proof.step
    counted = {row.at: row for pick in step.chosen.values() for row in pick.rows}
    oldest = counted.get(step.base)
    found: dict[str, Remark] = {}
    for touch in touched:
        own = frozenset(step.node.touches) if touch.row.entry.node == step.node.id else frozenset()
        for thing in sorted(touch.things & proof.rests):
            after = touch.row.at > (step.latest if thing in own else step.base)
            asks = oldest is not None and thing not in own and _unsure(touch.row, oldest, doubt)
            if after or asks:
                code = "RUN-12" if after else "RUN-15"
                params = {"thing": thing, "step": step.node.id}
                found[thing] = Remark(code, proof.name, (touch.row.entry.id,), params)
    return list(found.values())


def _unsure(touch: Row, reading: Row, doubt: Doubt) -> bool:
    """Return whether a touch that sorts before a reading may have been made after it."""
    return may_follow(touch.entry, reading.entry, doubt)


def _rest_on_proofs(single: list[StepProof]) -> None:
    """Take from a proof what it loses because a proof it rests on does not stand."""
    changed = True
    while changed:
        changed = False
        for proof in single:
            if proof.state != "valid":
                continue
            for name in proof.step.node.depends_on:
                under = [other for other in single if other.name == name]
                if under and not any(other.state == "valid" for other in under):
                    lost: ProofIs = "stale" if any(other.state == "stale" for other in under) else "open"
                    params = {"on": name, "step": proof.step.node.id}
                    proof.state, proof.because = lost, (Remark("RUN-11", proof.name, (), params),)
                    changed = True
                    break


def _together(name: str, single: list[StepProof]) -> ProofState:
    """Return one proof out of the steps that give it.

    What an earlier step lost, a later one that rests on at least as much makes good.
    """
    valid = [proof for proof in single if proof.state == "valid"]
    lost = [
        proof
        for proof in single
        if proof.state in ("stale", "refused") and not any(_makes_good(other, proof) for other in valid)
    ]
    steps = tuple(proof.step.node.id for proof in single)
    because = tuple(remark for proof in lost for remark in proof.because)
    if not single:
        return ProofState(name, "not on this way", ())
    if any(proof.state == "refused" for proof in lost):
        return ProofState(name, "refused", steps, None, because)
    if lost:
        return ProofState(name, "stale", steps, None, because)
    if not valid:
        waits = tuple(remark for proof in single for remark in proof.because)
        return ProofState(name, "open", steps, None, waits)
    newest = max(valid, key=lambda proof: proof.step.latest)
    return ProofState(name, "valid", steps, _time(newest.step))


def _makes_good(other: StepProof, lost: StepProof) -> bool:
    return other.step.latest > lost.step.latest and other.rests >= lost.rests


def _time(step: Step) -> float | None:
    return next((row.time for row in reversed(step.rows) if row.at <= step.latest), None)
