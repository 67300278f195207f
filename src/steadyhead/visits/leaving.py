"""How each valve, drain and cock of a station stands when people leave: the end list of every plan."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from steadyhead.records.parts import (
    Branch,
    Drain,
    ExpansionVessel,
    IsolatingValve,
    LinePart,
    Parallel,
    Relief,
)
from steadyhead.records.procedure import Message, Procedure
from steadyhead.records.station import Station

Left = tuple[tuple[str, Message], ...]


def left(station: Station) -> Left:
    """Return each isolating valve, drain and cock of the whole station with its state in service.

    In walking order. Valves of a branch that is locked shut, or that a person opens by hand, stand shut and
    locked; every other isolating valve stands fully open, every drain shut, every cock of a relief valve or
    an expansion vessel open.
    """
    return tuple(_states(station.line, kept=""))


def _states(line: Iterable[LinePart], *, kept: str) -> Iterator[tuple[str, Message]]:
    for part in line:
        if isinstance(part, Parallel):
            for branch in part.branches:
                yield from _branch(branch, kept)
        elif isinstance(part, IsolatingValve):
            yield part.id, _gate(part, kept)
        elif isinstance(part, Drain):
            yield part.id, Message("left.drain")
        elif isinstance(part, ExpansionVessel) or (isinstance(part, Relief) and part.cock == "yes"):
            yield part.id, Message("left.cock")
        elif isinstance(part, Relief):
            yield part.id, Message("left.relief")


def _branch(branch: Branch, kept: str) -> Iterator[tuple[str, Message]]:
    """Yield the states of one branch; a bypass that names no valve of its own is listed by its own name."""
    shut = kept or ("left.locked" if branch.locked_shut or branch.role == "manual bypass" else "")
    found = list(_states(branch.line, kept=shut))
    if shut and not found:
        found = [(branch.id, Message(shut))]
    yield from found


def _gate(valve: IsolatingValve, kept: str) -> Message:
    if kept:
        return Message(kept)
    if valve.turns is None:
        return Message("left.open")
    return Message("left.open_turns", {"turns": valve.turns.text})


def unlisted(procedure: Procedure, names: Iterable[str]) -> tuple[str, ...]:
    """Return those of some part ids that a step speaks of and the end list does not hold.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> step = SimpleNamespace(do=(Message("B1.outlet", {"iv2": "IV2"}),), otherwise=(), back_out=())
    >>> unlisted(SimpleNamespace(nodes=(step,), left=(("IV1", Message("left.open")),)), ("IV1", "IV2"))
    ('IV2',)
    """
    held = {name for name, _ in procedure.left}
    said = {word for node in procedure.nodes for word in _words(node)}
    return tuple(name for name in names if name in said and name not in held)


def _words(node: object) -> Iterator[str]:
    messages = [*getattr(node, "do", ())]
    messages += [other.then for other in getattr(node, "otherwise", ())]
    messages += [way.do for way in getattr(node, "back_out", ())]
    for message in messages:
        for value in message.params.values():
            if isinstance(value, str):
                yield from value.replace(",", " ").replace(";", " ").split()
