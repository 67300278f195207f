"""What a note says of the outlet valve: not home, open, or moved between its proof and the raise (V1)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import words
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.model import Moment
from steadyhead.visits.audit.notes import clauses
from steadyhead.visits.audit.rules.case import Case, breach
from steadyhead.visits.audit.rules.hands import before_the_proof


def text_open(moment: Moment) -> bool:
    """Return whether a note of the raise has the outlet valve open."""
    moment = moment.joined()
    own = re.compile(
        r"\b(?:iv2|outlet (?:valve|gate))\b[^,;.]{0,25}\b(?:open|cracked|ajar|off (?:its|"
        r"the) seat|turns? (?:up|off|out))\b",
        re.IGNORECASE,
    )
    turn = re.compile(
        r"\b(?:had|has|with|kept) (?:a|one|two|three|half a) turns? (?:on|open|up)\b", re.IGNORECASE
    )
    return any(
        c.how(own) == "done" or (c.has(words.OUTLET_VALVE) and c.how(turn) == "done")
        for c in clauses(moment.text)
    )


_IV2: Final = r"(?:IV2|outlet (?:isolating )?(?:valve|gate))"
_OFF_SEAT: Final = re.compile(
    rf"\b{_IV2}\b(?! (?:gland|stem|spindle|box|cover))[^,;.]{{0,25}}\b(?:eased|opened|cracked|lifted|wound) ?"
    rf"(?:off|up|open|a|by|for|to)?\b|\b(?:eased|opened|cracked|lifted) (?:the )?{_IV2}\b",
    re.IGNORECASE,
)


def moved_between(
    case: Case, raised: tuple[Moment, ...], proofs: list[tuple[Moment, ...]], remedy: str
) -> Iterator[Breach]:
    """A note that the outlet valve was moved between its proof and the last raise, with no proof after."""
    ends = [s[-1].index for s in proofs]
    for moment in case.story.moments[: raised[-1].index + 1]:
        ahead = [k for k in ends if k < moment.index]
        again = any(k >= moment.index and k < raised[-1].index for k in ends)
        if not ahead or again or moment.step in ("H4", "J2", "Y8", "R8", "B1", "Y2"):
            continue
        for clause in clauses(moment.text):
            if (
                clause.how(_OFF_SEAT) == "done"
                and clause.has(words.OUTLET_VALVE)
                and not before_the_proof(clause.text)
            ):
                seen = "The outlet valve was moved after its proof, a note says, and not proved again."
                yield breach("RUN-20", "V1", "block", moment, seen, remedy)
                return


_NOT_HOME: Final = re.compile(
    r"\b(?:not|never)(?: \w+){0,2}? (?:home|shut|closed|down|seated|tight)\b|"
    r"\b(?:turns?|bit) (?:more|further|short)\b|\b(?:more|further) turns?\b|\bstill to go\b",
    re.IGNORECASE,
)


def not_home(moment: Moment) -> bool:
    """Return whether a note says that the outlet valve had not been shut fully."""
    return any(
        c.told == "done" and c.about(words.OUTLET_VALVE) and c.has(words.OUTLET_VALVE) and c.has(_NOT_HOME)
        for c in clauses(moment.text)
        if not words.PLANNED.search(c.text)
    )
