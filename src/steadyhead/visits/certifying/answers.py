"""Which answer to a question lets its step stand, read off the expressions of the plan."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from steadyhead.records.procedure import Expression, Node


def forbidden(node: Node, name: str) -> bool | None:
    """Return the answer to a yes-or-no input that stops its step; None where either lets it stand.

    Told by whatever stops or refuses the step by that answer alone: ``name = no``, or that among others.
    """
    stops = [one.when for one in node.otherwise if not one.tells] + [one.when for one in node.refuses]
    found = {answer for when in stops for asked, answer in _alone(when) if asked == name}
    return found.pop() if len(found) == 1 else None


def wanted(node: Node, name: str) -> bool | None:
    """Return the answer to a yes-or-no input that lets its step stand; None where either does."""
    stops = forbidden(node, name)
    return None if stops is None else not stops


def _alone(when: Expression | Any) -> Iterator[tuple[str, bool]]:
    """Yield the inputs whose one answer is enough for an expression to hold."""
    if not isinstance(when, dict):
        return
    for operator, arguments in when.items():
        if operator == "any":
            for one in arguments:
                yield from _alone(one)
        elif operator == "eq":
            first, second = arguments
            asked = first.get("value") if isinstance(first, dict) else None
            if isinstance(asked, str) and isinstance(second, bool):
                yield asked, second
