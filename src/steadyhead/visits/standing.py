"""Valves that stand as they are to stand all through a step of a plan: shut (V1), or as V2 asks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from steadyhead.findings import Amount
from steadyhead.records.minding import Hold, Opening, Shield
from steadyhead.records.procedure import Message, Node, Procedure

BRINGS = (
    "C5.open", "D2.release", "D3.open", "Y2.inlet", "RS7.v2", "RS8C.inlet", "Y5O.back", "S3.throttle",
    "DS1.open",
)  # fmt: skip
"""Texts by which a step brings the inlet valve to its V2 opening."""
SHUTS = ("B1.inlet", "RS7.inlet", "RS6X.inlet", "RS8I.shut", "Y5O.close", "S1.down")
"""Texts by which it shuts it."""
OPENS = ("H4.open", "J2.inlet", "Y8.inlet", "S3.full")
"""Texts by which it opens it fully."""
BESIDE = ("ES4",)
"""Steps that raise nothing themselves, with the outlet raised meanwhile."""
INLET_TURNS = "inlet_turns"
"""Limit of the plan: turns of the inlet valve from shut to open."""
CLOSING = ".closing"
GATE = ".gate"
WATCHED = ("H2", "Y7L", "D2", "Y2", "D3", "S2")
"""Steps that watch a shut section: nothing is let off between their first and last reading."""
BETWEEN = (("first", "last"), ("T3.first", "T3.last"))
"""Inputs between which they do."""
LOCKUP, TRICKLE = "lockup", "trickle"
CUT_OFF: dict[str, tuple[str, ...]] = {"R7R": (), "R7T": ("R7", "turns")}
"""Steps of a restart gone through with the consumers cut off, and from which reading on.

What a reset asks from that reading on stands in its step.
"""
TRIED = ("EF1",)
"""Steps at which a reducer is tried before consumers rest on it, at the trickle of the drain alone."""
LOWERS, RAISED, BEFORE = ("Y7",), ".raised", "before"
"""Steps that bring a raised reducer back, what they put right, and the reading by which it is back."""
ACT = "act"
"""Reading of a raise from which on the outlet stands raised; of one without it, the last pressure read."""
LOCKED_SHUT = "left.locked"
"""How a bypass is left; the plan names its valves there, and in a proof only the bypass."""
LOCKED = ("Y3", "R7T")
"""Steps that read a lock-up once, after a trickle."""


def holds(procedure: Procedure, shields: Iterable[Shield]) -> Iterator[Hold]:
    """Yield the valves that stand shut through the steps of a plan.

    Parameters
    ----------
    procedure
        The plan, its steps complete.
    shields
        The outlet valves proved tight, with the steps that raise the outlet behind them.
    """
    listed = tuple(shields)
    found: dict[tuple[str, str, bool, tuple[str, ...]], Hold] = {}
    for shield in listed:
        for step in shield.asks:
            if _base(step) not in WATCHED:
                for part in shield.moved:
                    found[step, part, False, ()] = Hold(step, part)
    for node in procedure.nodes:
        stands = (*_watched(node, procedure, listed), *_locked(node, procedure, listed))
        for one in (*stands, *_untried(node, procedure, listed)):
            found.setdefault((one.step, one.part, one.ends, ()), one)
        for one in _still_raised(node, procedure, listed):
            found.setdefault((one.step, one.part, one.ends, one.since), one)
    yield from found.values()


def _watched(node: Node, procedure: Procedure, shields: tuple[Shield, ...]) -> Iterator[Hold]:
    """Yield what stands shut while a shut section is watched: outlet valve, drain, bypass, other stream."""
    if _base(node.id) not in WATCHED:
        return
    names = {one.name for one in node.inputs}
    span = next((pair for pair in BETWEEN if set(pair) <= names), None)
    if span is None:
        return
    for part in _parts(node, procedure, shields):
        yield Hold(node.id, part, *span)


def _locked(node: Node, procedure: Procedure, shields: tuple[Shield, ...]) -> Iterator[Hold]:
    """Yield what stands shut as a lock-up is read once: the drain at the end, the outlet valve throughout."""
    base = _base(node.id)
    names = {one.name for one in node.inputs}
    outlets = _outlets(node, procedure, shields)
    if base in LOCKED and {TRICKLE, LOCKUP} <= names:
        for part in _parts(node, procedure, shields):
            if part in outlets:
                yield Hold(node.id, part, "", LOCKUP)
            else:
                yield Hold(node.id, part, TRICKLE, LOCKUP, ends=True)
    for part in outlets if base in CUT_OFF else ():
        yield Hold(node.id, part)
        if CUT_OFF[base]:
            yield Hold(node.id, part, since=CUT_OFF[base], ends=True)


def _untried(node: Node, procedure: Procedure, shields: tuple[Shield, ...]) -> Iterator[Hold]:
    """Yield the outlet valves, from where they were proved tight until a reducer was tried at the drain.

    Where something is raised meanwhile, what it is raised behind holds them shut.
    """
    if _base(node.id) not in TRIED or any(shield.asks for shield in shields):
        return
    outlets, by_id = _outlets(node, procedure, shields), {one.id: one for one in procedure.nodes}
    for shield in shields:
        for step in shield.steps:
            names = {one.name for one in by_id[step].inputs}
            last = next((pair[1] for pair in BETWEEN if set(pair) <= names), "")
            for part in shield.moved if last else ():
                if part in outlets:
                    yield Hold(node.id, part, since=(step, last), ends=True)


def _still_raised(node: Node, procedure: Procedure, shields: tuple[Shield, ...]) -> Iterator[Hold]:
    """Yield the outlet valves, from the last raise of a yearly proof until the reducer is read at duty (V1).

    The last raise is the last of the plan, and each before it after which all others hang on a choice.
    """
    names = {one.name for one in node.inputs}
    raised = {name for name in node.restores if name.partition("@")[0].endswith(RAISED)}
    if _base(node.id) not in LOWERS or BEFORE not in names or not raised:
        return
    chosen = {name for choice in procedure.choices for _, _, opened in choice.options for name in opened}
    for other in reversed([one for one in procedure.nodes if raised & set(one.opens)]):
        parts = [part for shield in shields if other.id in shield.asks for part in shield.moved]
        read = [one.name for one in other.inputs if one.quantity == "pressure" and one.unless is None]
        acts = [name for name in read if name.partition(".")[0] == ACT]
        for part in parts if read else ():
            yield Hold(node.id, part, "", BEFORE, (other.id, (acts or read)[-1]))
        if parts and other.id not in chosen:
            return


def _parts(node: Node, procedure: Procedure, shields: tuple[Shield, ...]) -> tuple[str, ...]:
    """Return the valves that a lock-up of the same stream rests on, and those the step names itself."""
    found = [*_gates(node), *_outlets(node, procedure, shields)]
    for other in procedure.nodes:
        if _base(other.id) in WATCHED[:4] and _go_together(procedure, node.id, other.id):
            found += [part for part in _gates(other) if part not in found]
    known = {name for name, _ in procedure.left}
    past = [name for name, how in procedure.left if how.id == LOCKED_SHUT]
    return tuple(dict.fromkeys(one for part in found for one in ((part,) if part in known else past)))


def _outlets(node: Node, procedure: Procedure, shields: tuple[Shield, ...]) -> tuple[str, ...]:
    """Return the outlet valves by which the consumers of the step's stream are cut off."""
    return tuple(
        part
        for shield in shields
        if any(_go_together(procedure, node.id, step) for step in shield.steps) or len(shields) == 1
        for part in shield.moved
    )


def _gates(node: Node) -> list[str]:
    named = (name.partition("@")[0] for name in node.depends_on)
    return [name.removesuffix(GATE) for name in named if name.endswith(GATE)]


def openings(procedure: Procedure, shields: Iterable[Shield]) -> Iterator[Opening]:
    """Yield the inlet valve of each stream with how far it may stand open while a pressure is raised (V2).

    Steps that bring it there for another stream, whose opening is larger, open it too far for this one.
    """
    asked = {step for shield in shields for step in shield.asks}
    said = {node.id: _inlet(node, BRINGS) for node in procedure.nodes}
    shut = {node.id: _inlet(node, SHUTS) for node in procedure.nodes}
    wide = {node.id: _inlet(node, OPENS) for node in procedure.nodes}
    for stream in dict.fromkeys(procedure.streams.get(node.id, "") for node in procedure.nodes):
        own = next((m for n, m in said.items() if m and procedure.streams.get(n, "") == stream), None)
        if own is None or _measure(own) == (None, None):
            continue
        part, (turns, share) = str(own.params["iv1"]), _measure(own)
        asks = tuple(
            node.id
            for node in procedure.nodes
            if procedure.streams.get(node.id, "") == stream and said[node.id] is None and _asks(node, asked)
        )
        brings = tuple(
            name
            for name, message in said.items()
            if wide[name] is None
            and (_is_at(shut[name], part) or (_is_at(message, part) and _is_within(message, turns, share)))
        )
        further = (name for name, m in said.items() if _is_at(m, part) and name not in brings)
        opens = dict.fromkeys((*(name for name, m in wide.items() if _is_at(m, part)), *further))
        if asks:
            yield Opening(part, turns, share, asks, brings, tuple(opens), _is_full(procedure, turns, share))


def _is_full(procedure: Procedure, turns: float | None, share: float | None) -> bool:
    """Return whether the drain holds the outlet with the inlet valve fully open: no opening is too far."""
    whole = procedure.limits.get(INLET_TURNS)
    return (share or 0.0) >= 1.0 or (turns is not None and whole is not None and turns >= whole)


def _asks(node: Node, asked: set[str]) -> bool:
    """Return whether a step raises a pressure behind the inlet valve, or is gone through with one raised."""
    raises = any(section.partition("@")[0] != "inlet" for section in node.raises)
    closes = node.id in asked and any(name.partition("@")[0].endswith(CLOSING) for name in node.proves)
    return raises or closes or _base(node.id) in BESIDE


def _inlet(node: Node, texts: tuple[str, ...]) -> Message | None:
    return next((one for one in node.do if one.id in texts and "iv1" in one.params), None)


def _is_at(message: Message | None, part: str) -> bool:
    return message is not None and message.params["iv1"] == part


def _measure(message: Message) -> tuple[float | None, float | None]:
    """Return the V2 opening a text names: turns, or a share; neither where the drain holds it fully open."""
    turns, share = (message.params.get(name) for name in ("v2_turns", "v2_share"))
    return (
        turns.si if isinstance(turns, Amount) else None,
        share.si if isinstance(share, Amount) else None,
    )


def _is_within(message: Message | None, turns: float | None, share: float | None) -> bool:
    if message is None:
        return False
    other = _measure(message)
    pairs = [(a, b) for a, b in zip(other, (turns, share), strict=True) if a is not None and b is not None]
    return bool(pairs) and all(a <= b for a, b in pairs)


def _go_together(procedure: Procedure, one: str, other: str) -> bool:
    """Return whether two steps are of one stream, or one of them of the whole station."""
    a, b = procedure.streams.get(one, ""), procedure.streams.get(other, "")
    return a == b or not a or not b


def _base(step: str) -> str:
    return step.partition(".")[0].partition("@")[0]
