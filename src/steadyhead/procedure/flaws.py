"""What may be wrong with a procedure; a procedure with a flaw is never handed out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from steadyhead.errors import InputError
from steadyhead.procedure.grammar import ANY_STEP, NO_READING, check, limits, names
from steadyhead.procedure.graph import Flaw, Way, before_each, covering, is_met, needed, on_way, order
from steadyhead.records.procedure import Expression, Node, Procedure


def validate(procedure: Procedure) -> tuple[Flaw, ...]:
    """Return every flaw of a procedure; none for a sound one.

    Looked at: ids, needs, circles, choices, predicates and the inputs they read, expected bands, what proofs
    rest on, words for all names, steps that are minded or advised for. On each way: needs can be met, restore
    items opened are closed later, nothing a proof rests on is touched after it. A step that raises a pressure
    says how to leave it and carries the hazard.
    """
    flaws: list[Flaw] = []
    for look in (_ids, _needs, _circles, _choices):
        flaws += look(procedure)
        if flaws:
            return tuple(flaws)
    for node in procedure.nodes:
        flaws += [*_reading(procedure, node), *_naming(procedure, node), *_raising(node)]
    flaws += [*_resting(procedure), *_minding(procedure)]
    for way in covering(procedure):
        flaws += _along(procedure, way)
    return tuple(dict.fromkeys(flaws))


def _ids(procedure: Procedure) -> Iterator[Flaw]:
    for node_id, count in Counter(node.id for node in procedure.nodes).items():
        if count > 1:
            yield Flaw(node_id, f"stands {count} times")
    if not procedure.nodes:
        yield Flaw(procedure.id, "has no steps")


def _needs(procedure: Procedure) -> Iterator[Flaw]:
    known = {node.id for node in procedure.nodes}
    for node in procedure.nodes:
        if not _is_needs(node.needs):
            yield Flaw(node.id, "has needs that are neither all nor any of steps")
            continue
        for other in needed(node.needs):
            if other not in known:
                yield Flaw(node.id, f"needs {other}, which is no step")


def _is_needs(expression: object) -> bool:
    return (
        isinstance(expression, Mapping)
        and set(expression) <= {"all", "any"}
        and all(
            isinstance(parts, list | tuple)
            and all(isinstance(part, str) or _is_needs(part) for part in parts)
            for parts in expression.values()
        )
    )


def _circles(procedure: Procedure) -> Iterator[Flaw]:
    try:
        order(procedure)
    except ValueError as circle:
        yield Flaw(procedure.id, str(circle))


def _choices(procedure: Procedure) -> Iterator[Flaw]:
    known = before_each(procedure.nodes)
    for choice in procedure.choices:
        if choice.id not in known:
            yield Flaw(choice.id, "is a choice without its step")
            continue
        if len(choice.options) < 2:
            yield Flaw(choice.id, "leaves no choice")
        for name, _, nodes in choice.options:
            for node in nodes:
                if node not in known:
                    yield Flaw(choice.id, f"option {name} opens {node}, which is no step")
                elif choice.id not in known[node]:
                    yield Flaw(node, f"is opened by {choice.id} but does not come after it")


def _reading(procedure: Procedure, node: Node) -> Iterator[Flaw]:
    inputs = Counter(one.name for one in node.inputs)
    for name, count in inputs.items():
        if count > 1:
            yield Flaw(node.id, f"asks for {name} {count} times")
    for expect in node.expect:
        if expect.input not in inputs:
            yield Flaw(node.id, f"expects {expect.input}, which is not read")
        if expect.low is not None and expect.high is not None and expect.low > expect.high:
            yield Flaw(node.id, f"expects {expect.input} in an empty band")
        if expect.where is not None and not _is_option(procedure, expect.where):
            yield Flaw(
                node.id,
                f"expects {expect.input} where {expect.where[0]} took {expect.where[1]}, no such option",
            )
    for where, expression in _expressions(node):
        try:
            check(expression, where)
        except InputError as problem:
            yield Flaw(node.id, str(problem))
            continue
        for read in names(expression):
            if not _is_read(procedure, node, read):
                yield Flaw(node.id, f"judges {read}, which is not read")
        for limit in sorted(limits(expression) - set(procedure.limits)):
            yield Flaw(node.id, f"judges by {limit}, which is no limit of the plan")


def _expressions(node: Node) -> Iterator[tuple[str, Expression]]:
    yield from ((f"otherwise[{index}].when", one.when) for index, one in enumerate(node.otherwise))
    yield from ((f"refuses[{index}].when", one.when) for index, one in enumerate(node.refuses))
    for one in node.inputs:
        if one.unless is not None:
            yield f"inputs.{one.name}.unless", one.unless
        if one.worked is not None:
            yield f"inputs.{one.name}.worked", one.worked


def _is_option(procedure: Procedure, where: tuple[str, str]) -> bool:
    return any(
        choice.id == where[0] and any(o[0] == where[1] for o in choice.options)
        for choice in procedure.choices
    )


def _is_read(procedure: Procedure, node: Node, name: str | tuple[str, str]) -> bool:
    other, wanted = (node.id, name) if isinstance(name, str) else name
    if wanted in NO_READING:
        return other in ("", ANY_STEP) or any(one.id == other for one in procedure.nodes)
    if other == ANY_STEP:
        return any(i.name == wanted for one in procedure.nodes for i in one.inputs)
    return any(one.id == other and any(i.name == wanted for i in one.inputs) for one in procedure.nodes)


def _naming(procedure: Procedure, node: Node) -> Iterator[Flaw]:
    for name in (*node.touches, *node.proves, *node.depends_on, *node.opens, *node.restores, *node.raises):
        if name not in procedure.names:
            yield Flaw(node.id, f"speaks of {name} without words for it")


def _raising(node: Node) -> Iterator[Flaw]:
    if node.raises and not node.back_out:
        yield Flaw(node.id, "raises a pressure and does not say how to leave the step")
    if node.raises and not any(hazard.tag == "pressure" for hazard in node.hazards):
        yield Flaw(node.id, "raises a pressure and names no hazard")


def _resting(procedure: Procedure) -> list[Flaw]:
    proofs = {proof for node in procedure.nodes for proof in node.proves}
    return [
        Flaw(node.id, f"rests on itself by {proof}")
        for node in procedure.nodes
        for proof in node.depends_on
        if proof in proofs and proof in node.proves
    ]


def _minding(procedure: Procedure) -> Iterator[Flaw]:
    """Yield what the judge minds or the advice aims at, and the plan does not have."""
    known, minding = {node.id for node in procedure.nodes}, procedure.minding
    asked = [("minding.stops", step) for step in minding.stops]
    asked += [("minding.trials", one.step) for one in minding.trials]
    asked += [("minding.holds", one.step) for one in minding.holds]
    asked += [("advice.aims", aim.step) for aim in procedure.advice.aims]
    yield from (Flaw(where, f"names {step}, which is no step") for where, step in asked if step not in known)
    ways = {choice.id for choice in procedure.choices}
    for node in procedure.nodes:
        for one in node.otherwise:
            if one.instead and one.instead not in ways:
                yield Flaw(node.id, f"names {one.instead} as the way on, which is no choice")
    screws = {screw.valve for screw in procedure.advice.screws}
    for aim in procedure.advice.aims:
        if aim.valve not in screws:
            yield Flaw("advice.aims", f"brings {aim.valve} to a reading, which has no screw")


def _along(procedure: Procedure, way: Way) -> Iterator[Flaw]:
    nodes = on_way(procedure, way)
    told = ", ".join(f"{choice} {option}" for choice, option in way.items())
    ids = {node.id for node in nodes}
    for node in nodes:
        if not is_met(node.needs, ids):
            yield Flaw(node.id, f"needs steps that do not lie on its way ({told})")
    before = before_each(nodes)
    ever = {item for node in procedure.nodes for item in node.opens}
    for node in nodes:
        for item in node.restores:
            if item not in ever:
                yield Flaw(node.id, f"restores {item}, which no step opens")
            elif any(
                item in other.opens and other.id not in before[node.id]
                for other in nodes
                if other is not node
            ):
                yield Flaw(node.id, f"restores {item} before the last step that opens it ({told})")
        for item in node.opens:
            if not any(item in other.restores and node.id in before[other.id] for other in nodes):
                yield Flaw(node.id, f"opens {item}, which is never restored ({told})")
    yield from _undone(nodes, before, told)


def _undone(nodes: tuple[Node, ...], before: Mapping[str, frozenset[str]], told: str) -> Iterator[Flaw]:
    proving = [node for node in nodes if node.proves]
    for node in nodes:
        for other in proving:
            spoilt = set(node.touches) & set(other.depends_on) if other.id in before[node.id] else set()
            if spoilt:
                yield Flaw(
                    node.id, f"touches {', '.join(sorted(spoilt))} after {other.id} rests on it ({told})"
                )
