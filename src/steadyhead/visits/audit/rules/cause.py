"""R8: returned with the cause not understood, only attended or under a fast log (handbook 7.4)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.model import Moment
from steadyhead.visits.audit.notes import Clause, clauses, minutes
from steadyhead.visits.audit.rules.case import Case, breach

_UNKNOWN: Final = re.compile(
    r"\b(?:cause|reason|why|class|trigger|origin)\b[^.;]{0,30}\b(?:unknown|unclear|open|none|not (?:yet )?"
    r"(?:known|found|clear|understood|established|explained|seen)|unexplained|a (?:riddle|mystery|guess))\b|"
    r"\b(?:unknown|no|without a?) (?:known )?(?:cause|reason|explanation|idea|clue|culprit)\b|"
    r"\b(?:do|did|does|can|could|would)(?: not|n['’]t) (?:\w+ )?(?:know(?: why| what| the (?:cause|reason)|"
    r"\W*$)|say why|tell (?:us |me )?why|explain|account for|find (?:a|the|any) (?:cause|reason))|"
    r"\bcannot (?:say|tell|explain|account|find (?:a|the|any))\b|\bunexplained\b|\binexplicable\b|"
    r"\b(?:nobody|no one|none of us|neither of us) (?:knows|knew|can|could|has|had)\b|"
    r"\bnothing (?:\w+ ){0,5}?(?:explains|accounts|tells|says|points|found|to (?:be )?(?:found|seen))\b|"
    r"\b(?:a|remains? a|still a) (?:riddle|mystery|puzzle)\b|\bclass unknown\b",
    re.IGNORECASE,
)
_KNOWN: Final = re.compile(
    r"\b(?:cause|reason|culprit|class)\b[^.;]{0,25}\b(?:found|known|clear|understood|established|identified|"
    r"named)\b|\b(?:that|this|it|which) (?:is|was) (?:the|our) (?:cause|reason|culprit)\b|"
    r"\b(?:explains|accounts for) (?:it|the trip|that)\b|\bcause:",
    re.IGNORECASE,
)
_FAST_LOG: Final = re.compile(
    r"\b(?:log\w*|record\w*|sampl\w*|transduc\w*)\b[^.;]{0,45}"
    r"(?:\b(?:1|one|two|2|0[.,]\d+|[1-9]\d?) ?(?:s|sec\w*|hz)\b|"
    r"\bevery second\b|\bper second\b|\bfast\b)|\b(?:1|one|[2-9]|[1-9]\d) ?hz\b|\bfast log\w*|"
    r"\b(?:1|one)[- ]?(?:s|sec\w*) (?:log\w*|record\w*)|\bsecond by second\b",
    re.IGNORECASE,
)
_ATTENDED: Final = re.compile(
    r"\battend(?:ed|ance|ing|ant|s)?\b|\b(?:man|crew|two|one|somebody|someone) (?:of us )?(?:at|on|by|with) "
    r"(?:the )?(?:lid|site|station|chamber|valve)\b|\bmanned\b|"
    r"\b(?:stay\w*|remain\w*|kept|keep\w*|sits?|sat|waits?|waited|watch\w*|camp\w*|guard\w*)\b[^.;]{0,40}"
    r"\b(?:site|chamber|station|lid|valve|until|till|over ?night|all night|night|morning|hours?|\d ?h|peak|"
    r"with it|by it)\b|\bnight watch\b",
    re.IGNORECASE,
)
_TO_COME: Final = re.compile(
    r"\b(?:fit\w*|put|set|hung|hangs?|temporary|install\w*|left|leave|stays?|from now|new|second logger|"
    r"until|"
    r"tonight|on return|on the return)\b",
    re.IGNORECASE,
)
_MENDED: Final = ("clean", "replace", "repair")
_AFTER: Final = ("R8", "R9", "R10", "J2", "J3", "J4", "J5", "J6", "K1", "K2")


def rules(case: Case) -> Iterator[Breach]:
    """Yield a return to service with the cause open that nobody and nothing watches."""
    open_at = _left_open(case)
    if open_at is None or _watched(case):
        return
    yield breach(
        "RUN-46",
        "R8",
        "block",
        _returned(case, open_at),
        "The cause is not known and the line is returned without attendance or logging.",
        "Return only attended or logged at 1 Hz and at lowered duty.",
    )


def _left_open(case: Case) -> Moment | None:
    """Return the moment that says that the cause is not known, where none later says that it is."""
    told = [m for m in case.story.moments if m.step.startswith("R") and _says_unknown(m)]
    if not told:
        return None
    last = told[-1]
    found = any(
        any(c.how(_KNOWN) == "done" for c in clauses(m.text))
        or (m.step in ("R7", "R8", "R9") and m.done(*_MENDED))
        for m in case.story.moments[told[0].index + 1 :]
        if m is not last or m is not told[0]
        if m.step.startswith(("R", "J")) and not _says_unknown(m)
    )
    return None if found else told[0]


def _returned(case: Case, since: Moment) -> Moment:
    """Return the decision to return that follows, else what said that the cause is open."""
    return next((m for m in case.story.of("R8") if m.index >= since.index), since)


def _says_unknown(moment: Moment) -> bool:
    return any(
        c.has(_UNKNOWN) and (c.told == "done" or (c.told == "doubtful" and not c.negated)) and not _of_old(c)
        for c in clauses(moment.text)
    )


def _of_old(clause: Clause) -> bool:
    return bool(re.search(r"\bat first\b|\buntil\b|\bso far\b|\bbefore we\b", clause.text, re.IGNORECASE))


def _watched(case: Case) -> bool:
    """Return whether somebody stays, or a fast log runs, from the return on."""
    for moment in case.story.moments:
        late = moment.step in _AFTER
        for clause in clauses(moment.text):
            if clause.negated and (_denied(clause, _FAST_LOG) and _denied(clause, _ATTENDED)):
                continue
            fast = clause.how(_FAST_LOG) if clause.has(_FAST_LOG) else None
            if fast and not _denied(clause, _FAST_LOG) and (late or clause.has(_TO_COME)):
                return True
            if late and moment.step != "J3" and clause.has(_ATTENDED) and not _denied(clause, _ATTENDED):
                return True
        if moment.step == "J3" and max(minutes(moment.text), default=0.0) >= lim.ATTENDED_MINUTES:
            return True
    return False


def _denied(clause: Clause, pattern: re.Pattern[str]) -> bool:
    """Return whether a clause names it only to say that it is not there; a plan is enough here."""
    return clause.negated and clause.how(pattern) == "not done"
