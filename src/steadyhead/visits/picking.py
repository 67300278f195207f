"""Pick some steps out of the whole graph: one way, fewer steps, the same order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from steadyhead.procedure.graph import Way, needed, on_way
from steadyhead.records.procedure import Expression, Node, Procedure


def picked(whole: Procedure, way: Way, keep: Iterable[str]) -> tuple[Node, ...]:
    """Return the kept steps of one way; a need for a step left out becomes a need for what that step needs.

    Steps that restore what a kept step opens are kept too. What nobody opens is restored by nobody.

    Parameters
    ----------
    whole
        A procedure without flaws.
    way
        Option taken at each choice; the choices themselves are left out.
    keep
        Ids of steps, on this way or not.
    """
    nodes = {node.id: node for node in on_way(whole, way)}
    kept = _closed(nodes, set(keep) & set(nodes))
    opened = {item for name in kept for item in nodes[name].opens}
    memo: dict[str, Expression] = {}
    found = []
    for node in nodes.values():
        if node.id not in kept:
            continue
        needs = _contracted(node.needs, nodes, kept, memo)
        found.append(
            replace(
                node,
                needs=needs,
                restores=tuple(item for item in node.restores if item in opened),
                expect=tuple(
                    replace(e, where=None)
                    for e in node.expect
                    if e.where is None or way.get(e.where[0]) == e.where[1]
                ),
            )
        )
    return tuple(_reduced(found))


def _closed(nodes: Mapping[str, Node], kept: set[str]) -> set[str]:
    while True:
        opened = {item for name in kept for item in nodes[name].opens}
        more = {node.id for node in nodes.values() if opened & set(node.restores)} - kept
        if not more:
            return kept
        kept = kept | more


def _contracted(
    needs: Expression, nodes: Mapping[str, Node], kept: set[str], memo: dict[str, Expression]
) -> Expression:
    parts: list[Any] = []
    for operator, listed in needs.items():
        inner = [_part(part, nodes, kept, memo) for part in listed if _on_way(part, nodes)]
        if operator == "all" or len(inner) == 1:
            for one in inner:
                parts.extend(one["all"] if isinstance(one, Mapping) and "all" in one else [one])
        else:
            parts.append({"any": inner})
    return {"all": _once(parts)}


def _on_way(part: Any, nodes: Mapping[str, Node]) -> bool:
    if isinstance(part, str):
        return part in nodes
    return any(_on_way(inner, nodes) for listed in part.values() for inner in listed)


def _part(part: Any, nodes: Mapping[str, Node], kept: set[str], memo: dict[str, Expression]) -> Any:
    if not isinstance(part, str):
        return _contracted(part, nodes, kept, memo)
    if part in kept:
        return part
    if part not in memo:
        memo[part] = _contracted(nodes[part].needs, nodes, kept, memo)
    return memo[part]


def _once(parts: list[Any]) -> list[Any]:
    found: list[Any] = []
    for part in parts:
        if part not in found:
            found.append(part)
    return found


def _reduced(nodes: list[Node]) -> Iterable[Node]:
    """Leave out a need that another need already rests on."""
    before: dict[str, set[str]] = {}
    for node in nodes:
        direct = needed(node.needs)
        before[node.id] = set(direct).union(*(before.get(other, set()) for other in direct))
    for node in nodes:
        listed = list(node.needs.get("all", ()))
        plain = [part for part in listed if isinstance(part, str)]
        implied = {
            part for part in plain if any(part in before.get(other, ()) for other in plain if other != part)
        }
        kept = [part for part in listed if not (isinstance(part, str) and part in implied)]
        yield replace(node, needs={"all": kept})
