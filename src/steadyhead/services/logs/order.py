"""Which steps of an event may have come in another order: those whose spans of time overlap."""

from __future__ import annotations

import re
from collections.abc import Sequence

from steadyhead.watch.defects.saying import lasting
from steadyhead.watch.incident import Step

FEW = 2
"""Rows that are named one by one, at most."""
_SHORT = re.compile(r" from [−\d]|[:;.](?: |$)")
"""Where what a step shows ends and its values begin."""


def may_precede(steps: Sequence[Step], place: int) -> tuple[int, ...]:
    """Return the places of the steps above one that it may have come before; the first step is 0."""
    return tuple(at for at in range(place) if steps[at].by > steps[place].after)


def order_words(steps: Sequence[Step], place: int) -> str:
    """Return which steps above one it may have come before, a sentence; empty where its place is sure.

    How close a time is known is the span between the last sample without the step and the first with it.
    """
    rows = may_precede(steps, place)
    if not rows:
        return ""
    one, others = steps[place], [steps[at] for at in rows]
    mine = _known_to(one)
    if len(rows) > FEW:
        first = _named(others[0], one)
        return (
            f"May have been before any of the {len(rows)} rows from {first} on; its time is known to {mine}."
        )
    if all(_known_to(other) == mine for other in others):
        named = " and before ".join(_named(other, one) for other in others)
        which = "both" if len(rows) == 1 else "all three"
        return f"May have been before {named}: the times of {which} are known to {mine}."
    named = " and before ".join(f"{_named(other, one)} (known to {_known_to(other)})" for other in others)
    return f"May have been before {named}; its own time is known to {mine}."


def _named(one: Step, beside: Step) -> str:
    """Return time and short words of a step; its day, too, where that is another one."""
    when = one.by.strftime("%H:%M:%S")
    if one.by.date() != beside.by.date():
        when = f"{one.by.day} {one.by:%b}, {when}"
    words = _SHORT.split(one.words, maxsplit=1)[0]
    return f"{when} “{words}”"


def _known_to(one: Step) -> str:
    return lasting((one.by - one.after).total_seconds())
