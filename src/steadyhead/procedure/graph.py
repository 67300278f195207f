"""The graph of a procedure: its flaws, its ways, its order, and what touching a thing makes stale.

Pure functions of the record; nothing here knows what a valve is.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from graphlib import TopologicalSorter
from math import prod

from steadyhead.records.procedure import Expression, Node, Procedure

MANY = 64
"""Ways of a procedure that are all gone through; of more, a choice that meets every pair of options."""
Way = Mapping[str, str]
"""One option name for each choice of a procedure."""


@dataclass(frozen=True, slots=True)
class Flaw:
    """One thing that is wrong with a procedure: a step, or a choice, and what."""

    where: str
    what: str


def needed(expression: Expression) -> tuple[str, ...]:
    """Return the steps a ``needs`` names, in the order written.

    Examples
    --------
    >>> needed({"all": ["A1", {"any": ["B1", "B2"]}]})
    ('A1', 'B1', 'B2')
    """
    found: list[str] = []
    for parts in expression.values():
        for part in parts:
            found.extend([part] if isinstance(part, str) else needed(part))
    return tuple(dict.fromkeys(found))


def is_met(expression: Expression, done: Iterable[str]) -> bool:
    """Return whether a ``needs`` is fulfilled by the steps done; an empty one always is.

    Examples
    --------
    >>> is_met({"all": ["A1", {"any": ["B1", "B2"]}]}, {"A1", "B2"})
    True
    """
    have = set(done)

    def met(part: object) -> bool:
        if isinstance(part, str):
            return part in have
        if not isinstance(part, Mapping):
            return False
        return all(
            all(map(met, inner)) if operator == "all" else (not inner or any(map(met, inner)))
            for operator, inner in part.items()
        )

    return met(expression)


def ways(procedure: Procedure) -> Iterator[dict[str, str]]:
    """Yield every way through the choices."""
    options = [[(choice.id, name) for name, _, _ in choice.options] for choice in procedure.choices]
    for taken in itertools.product(*options):
        yield dict(taken)


def covering(procedure: Procedure, most: int = MANY) -> Iterator[dict[str, str]]:
    """Yield every way where there are at most `most`, else ways that meet every pair of options together.

    The pairs are met for choices of two options; of more, each option alone beside the others.

    Notes
    -----
    Choices numbered in binary: for each digit the ways that follow it and its opposite, and all alike. Two
    choices differ in some digit, so that together all four pairs occur.
    """
    options = [(choice.id, [name for name, _, _ in choice.options]) for choice in procedure.choices]
    if prod(len(names) for _, names in options) <= most:
        yield from ways(procedure)
        return
    for number in range(max(len(names) for _, names in options)):
        yield {choice: names[number % len(names)] for choice, names in options}
    for digit in range(max(1, (len(options) - 1).bit_length())):
        for turned in (0, 1):
            yield {
                choice: names[((index >> digit & 1) ^ turned) % len(names)]
                for index, (choice, names) in enumerate(options)
            }


def on_way(procedure: Procedure, way: Way) -> tuple[Node, ...]:
    """Return the steps gone through on one way, in the order of the procedure."""
    closed: set[str] = set()
    for choice in procedure.choices:
        opened = {node for name, _, nodes in choice.options if name == way.get(choice.id) for node in nodes}
        closed |= {node for _, _, nodes in choice.options for node in nodes} - opened
    return tuple(node for node in procedure.nodes if node.id not in closed)


def order(procedure: Procedure, way: Way | None = None) -> tuple[str, ...]:
    """Return the steps in an order that keeps all needs; ties stand as in the tables.

    Parameters
    ----------
    procedure
        A procedure without flaws.
    way
        Options taken; None: all steps, every needed step counting, whichever way it lies on.

    Raises
    ------
    ValueError
        The needs run in a circle, or cannot be met on this way.
    """
    nodes = procedure.nodes if way is None else on_way(procedure, way)
    left = {node.id: node for node in nodes}
    done: list[str] = []
    while left:
        ready = next((node for node in left.values() if _ready(node, done, left, every=way is None)), None)
        if ready is None:
            raise ValueError(f"needs that are never met: {', '.join(left)}")
        done.append(ready.id)
        del left[ready.id]
    return tuple(done)


def _ready(node: Node, done: list[str], left: Mapping[str, Node], *, every: bool) -> bool:
    if every:
        return not any(other in left for other in needed(node.needs))
    return is_met(node.needs, done)


def ancestors(procedure: Procedure, node_id: str, way: Way | None = None) -> frozenset[str]:
    """Return every step that must come before one, over all ways or on one way."""
    return before_each(procedure.nodes if way is None else on_way(procedure, way))[node_id]


def before_each(nodes: Iterable[Node]) -> dict[str, frozenset[str]]:
    """Return for each step every step that must come before it; needs for steps not given count for nothing.

    Raises
    ------
    ValueError
        The needs run in a circle.
    """
    listed = tuple(nodes)
    ids = {node.id for node in listed}
    direct = {node.id: [other for other in needed(node.needs) if other in ids] for node in listed}
    found: dict[str, frozenset[str]] = {}
    for node_id in TopologicalSorter(direct).static_order():
        found[node_id] = frozenset(direct[node_id]).union(*(found[other] for other in direct[node_id]))
    return found


def dependants(procedure: Procedure, touched: Iterable[str]) -> tuple[str, ...]:
    """Return the steps whose proofs rest on a touched thing, also by way of another proof.

    These are the steps to be done again after the touch, in the order of the procedure.
    """
    stale = _stale(procedure, touched)
    return tuple(node.id for node in procedure.nodes if stale & set(node.proves))


def stale_proofs(procedure: Procedure, touched: Iterable[str]) -> tuple[str, ...]:
    """Return the proofs that no longer stand once these things have been touched.

    A proof rests on the things and proofs in ``depends_on`` of the step that gives it; a stale proof makes
    every proof that rests on it stale.
    """
    stale = _stale(procedure, touched)
    return tuple(dict.fromkeys(proof for node in procedure.nodes for proof in node.proves if proof in stale))


def _stale(procedure: Procedure, touched: Iterable[str]) -> set[str]:
    gone = set(touched)
    stale: set[str] = set()
    grown = True
    while grown:
        grown = False
        for node in procedure.nodes:
            new = set(node.proves) - stale
            if new and (gone | stale) & set(node.depends_on):
                stale |= new
                grown = True
    return stale
