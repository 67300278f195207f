"""Words that an answer only repeats from a screen: nobody tells by them what he did."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Node, Procedure


def out_of(procedure: Procedure, entries: Sequence[Entry]) -> list[Entry]:
    """Return the entries, each answer without the words that its step holds it to.

    What else the answer says stays.
    """
    held = {(node.id, name): text for node in procedure.nodes for name, text in _held(node)}
    return [_without(one, held.get((one.node, str(one.payload.get("input"))), "")) for one in entries]


def _without(entry: Entry, text: str) -> Entry:
    said = entry.payload.get("value")
    parts = re.findall(r"[A-Za-z0-9]+", text)
    if entry.kind != "observation" or not isinstance(said, str) or not parts:
        return entry
    pattern = re.compile("[^A-Za-z0-9]*".join(parts), re.IGNORECASE)
    return replace(entry, payload={**entry.payload, "value": pattern.sub(" ", said, count=1).strip()})


def _held(node: Node) -> Iterator[tuple[str, str]]:
    """Yield the answers of a step that must bear a text, each with that text."""
    for refusal in node.refuses:
        yield from _said(refusal.when)


def _said(expression: Any) -> Iterator[tuple[str, str]]:
    if isinstance(expression, Mapping):
        for operator, argument in expression.items():
            if operator == "says" and isinstance(argument[0], Mapping) and isinstance(argument[1], str):
                yield str(argument[0].get("value")), argument[1]
            else:
                yield from _said(argument)
    elif isinstance(expression, list | tuple):
        for part in expression:
            yield from _said(part)
