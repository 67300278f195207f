"""What a note says of an isolating valve: that it stands as the steps put it, or too far open for a raise.

English only.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from typing import Final

from steadyhead.procedure.holding import reads_too_far
from steadyhead.records.minding import Opening
from steadyhead.records.procedure import Node
from steadyhead.visits.audit.notes import Clause, denied
from steadyhead.visits.audit.phrases import any_of
from steadyhead.visits.audit.undone import orders

_BARE: Final = (
    r"^\W*(?:and |the |with )?(?:{part}|IV ?\d|(?:inlet|outlet) (?:isolating )?(?:valve|gate))"
    r"(?: (?:is|was|stands|stood|still|stays|stayed|remains|remained))* (?:shut|closed)"
    r"(?: (?:and|,) ?tight)?(?: (?:since|all|through(?:out)?|the whole|from) [\w ]+)?\W*$"
)
_OPENED: Final = any_of(
    r"open(?:ed)?", r"turns?", r"wound", r"at", r"to", r"stood", r"stands?", r"was", r"had", r"with", r"left"
)
"""Words by which a clause tells how far a valve stands."""
_FAR: Final = any_of(
    r"fully", r"full", r"wide", r"right (?:up|out|back|over)", r"all the way", r"nearly", r"almost",
    r"turns?", r"\d+ ?%", r"percent",
)  # fmt: skip
"""Words without which *open* says nothing: at its V2 opening it is open too."""
_OTHERS: Final = any_of(
    r"normally", r"from (?:shut|open|closed)", r"in all", r"of \d+ turns", r"key", r"needs?"
)
"""Words by which an amount is none of how far it stands."""
_MORE: Final = any_of(
    r"(?:more|another|extra|further) (?:\w+ ){0,2}?turns?", r"(?:turns?|bit|little) (?:more|further|extra)"
)
_LATER: Final = any_of(
    r"to be",
    r"will",
    r"tomorrow",
    r"later",
    r"after(?:wards)?",
    r"before (?:we|I|it|they)",
    r"again",
    r"back",
)
_NOT_THROTTLED: Final = any_of(
    r"(?:forgot(?:ten)?|failed|omitted) to (?:throttle|bring|set|close|turn|shut)(?: \w+){0,3}",
    r"(?:did(?: not|n['’]?t)|never) (?:throttle|bring|set|turn)(?:d)?",
    r"not (?:been )?(?:throttled|brought|set)", r"without (?:throttling|bringing|setting)",
)  # fmt: skip


def as_ordered(clause: Clause, named: Collection[str], before: Iterable[Node]) -> bool:
    """Return whether a clause only says that a gate stands shut, and the last step that moves it shut it.

    named: what the clause names; before: the steps gone through up to the note, in their order.

    Examples
    --------
    >>> from steadyhead.visits.audit.notes import clauses
    >>> as_ordered(clauses("IV2 shut")[0], ("IV2",), ())
    False
    """
    if len(named) != 1:
        return False
    part = next(iter(named))
    said = re.compile(_BARE.format(part=re.escape(part)), re.IGNORECASE)
    asked = [found for node in before if (found := orders(node, part))]
    return bool(asked) and "shut" in asked[-1] and bool(said.match(clause.text))


def too_far_open(
    clause: Clause, named: Collection[str], steps: Collection[str], openings: Iterable[Opening]
) -> bool:
    """Return whether a clause says that an inlet valve stood further open than a raise allows (V2).

    Parameters
    ----------
    clause, named
        Of a note, and what it names.
    steps
        The step the note stands at, or those it lies between.
    openings
        How far the inlet valves of the plan may stand open.
    """
    if clause.told == "not done" and not _NOT_THROTTLED.search(clause.text):
        return False
    for one in openings:
        if one.part not in named or one.full or not set(steps) & set(one.asks) or set(steps) & set(one.opens):
            continue
        if _NOT_THROTTLED.search(clause.text):
            return True
        if clause.mood == "not done" or _LATER.search(clause.text) or _OTHERS.search(clause.text):
            continue
        more = _MORE.search(clause.text)
        if more is not None and not denied(clause.text, *more.span()):
            return True
        if _OPENED.search(clause.text) and _FAR.search(clause.text) and reads_too_far(clause.text, one):
            return True
    return False
