"""Valves opened while a lock-up is watched, by acts and positions."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

from steadyhead.procedure.naming import stands_open
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.follow import valve_of
from steadyhead.visits.audit.model import Moment, Read
from steadyhead.visits.audit.rules.case import STANDBY, Case, breach, stream_of

BEGUN_AGAIN: Final = re.compile(
    r"\b(?:again|anew|afresh|repeat\w*|from (?:the start|new|scratch)|once more|re-?start\w*|start(?:ed)? "
    r"over|"
    r"(?:new|fresh) start|fresh|second (?:try|go|attempt))\b",
    re.IGNORECASE,
)
"""Words by which a lock-up was begun again."""
_ASIDE: Final = re.compile(
    r"\b(?:does|did|do|will)(?:n['’]t| not) count\b|\bnot count(?:ed|ing)?\b|\b(?:thrown|threw|threw it|"
    r"chucked|"
    r"binned|scrapped|discard\w*|scratched|struck|void\w*|abandon\w*|aborted|spoilt|spoiled|called off)\b|"
    r"\b(?:broke|broken|given|gave) (?:it )?(?:off|up)\b|\b(?:was|is|that['’]s) no (?:lock-?up|test|good)\b",
    re.IGNORECASE,
)


def tries_that_count(moments: list[Moment]) -> list[Moment]:
    """Return the moments of a lock-up without tries that the record sets aside and makes again."""
    return [
        m
        for k, m in enumerate(moments)
        if not (_ASIDE.search(m.text) and any(later.at_tap("T3") for later in moments[k + 1 :]))
    ]


def opened(case: Case, last: Moment, moments: list[Moment], *, full: bool) -> Iterator[Breach]:
    """Yield the valve that an act or a position has open between the first and the last reading of T3.

    Not where the lock-up was begun again after it.
    """
    every, start = case.story.moments, moments[0].index
    while start and every[start - 1].node in ("", last.node):
        start -= 1
    read = [m for m in every[start : last.index + 1] if m.node == last.node and m.at_tap("T3")]
    if len(read) < 2:
        return
    for moment in every[read[0].index + 1 : read[-1].index]:
        later = [m for m in read if m.index > moment.index]
        if any(BEGUN_AGAIN.search(m.text) for m in later) or STANDBY.search(moment.all_words):
            continue
        wide = [a.thing for a in moment.acts if a.do in ("open", "crack", "throttle")]
        wide += [thing for thing, how in moment.places.items() if stands_open(how)]
        for thing in (one for one in wide if valve_of(one) in ("IV2", "TD", "BY") and "cock" not in one):
            seen = f"{thing} stands open between the first and the last reading of the lock-up."
            remedy = "Shut it, and watch the lock-up again from its beginning."
            yield breach("RUN-34", "H2" if full else "Y3", "block", last, seen, remedy)
            return


def at_rest(moments: Sequence[Moment], stream: str) -> list[Read]:
    """Return the readings of a stream without flow; where it has none, its last one."""
    own = [
        r
        for m in moments
        if stream_of(m) == stream
        for r in m.at_tap("T3")
        if not r.mark.startswith("before")
    ]
    return [r for r in own if r.flow is None or r.flow <= lim.NO_FLOW.si] or own[-1:]
