"""Acts told in any words: a past verb or a hand's noun that is no looking, writing, marking or staying."""

from __future__ import annotations

import re
from typing import Final

_VERB: Final = re.compile(
    r"\b(?:[a-z]{2,}ed|let|gave|given|put|took|taken|got|ran|brought|cut|drew|set|made|went|wound|"
    r"undid|undone|"
    r"blew|bent|spun|swung|slid|stuck|shook|tore|broke|bled|did|done|fitted|redone|redid|shut|"
    r"built|swapped|remade|renewed|re-?done)\b",
    re.IGNORECASE,
)
_NOUN: Final = re.compile(
    r"\b(?:a|an|another|one|some|the last|half a)(?: \w+){0,2}? (?:nudge|rinse|pull|tweak|touch|"
    r"twist|nip|wipe|"
    r"clean|knock|tap|wrench|push|drop|bit|shade|hair|whisker|turn|flat|eighth|quarter)\b[^.;]{0,20}"
    r"\b(?:on|to|of|at|in|out|off|up|down)\b",
    re.IGNORECASE,
)
_APART: Final = re.compile(
    r"\b(?:opened|taken|took|pulled|came|broken) (?:it )?(?:up|apart|out|off)\b", re.IGNORECASE
)
_OF_ITSELF: Final = re.compile(
    r"\b(?:exhaust|filter|nut|screw|needle|spring|pilot|cock|cover|valve|shut-?off|SO|reducer|diaphragm|"
    r"breather|restriction|tube|bore)s? "
    r"(?:gave(?! (?:\w+ ){0,3}?(?:turn|quarter|eighth|half|hair))|ran|let|did|made|blew|drew|shook)\b",
    re.IGNORECASE,
)
"""What a part does by itself: no hand is on it."""
_TRIED: Final = re.compile(
    r"\b(?:tried|felt|tested|checked)\b(?: \w+){0,3}? (?:with|by|between|under) (?:\w+ ){0,2}?(?:fingers?|"
    r"hand|thumb)\b",
    re.IGNORECASE,
)
"""A look with the fingers, which moves nothing unless it is said."""
_BY_DOING: Final = re.compile(
    r"\b(?:by|after|with(?: a little)?) (?:tapping|knocking|turning|easing|working|hitting|twisting|"
    r"cleaning|blowing|"
    r"freeing|shaking|nudging|rapping|slackening|tightening|lifting)\b",
    re.IGNORECASE,
)
_QUIET: Final = frozenset(
    [
        "looked",
        "photographed",
        "painted",
        "marked",
        "sealed",
        "read",
        "compared",
        "tallied",
        "checked",
        "proved",
        "noted",
        "recorded",
        "inspected",
        "measured",
        "listed",
        "stayed",
        "remained",
        "asked",
        "wanted",
        "agreed",
        "matched",
        "counted",
        "tagged",
        "called",
        "reported",
        "timed",
        "watched",
        "showed",
        "showered",
        "seemed",
        "covered",
        "capped",
        "copied",
        "signed",
        "labelled",
        "labeled",
        "filmed",
        "dried",
        "used",
        "needed",
        "expected",
        "indicated",
        "followed",
        "opened",
        "closed",
        "shut",
        "reopened",
        "tripped",
        "acted",
        "moved",
        "reset",
        "raised",
        "lowered",
        "released",
        "latched",
        "finished",
        "started",
        "ended",
        "lifted_off",
        "repeated",
        "confirmed",
        "verified",
        "witnessed",
        "observed",
        "unmoved",
        "untouched",
        "untouched",
        "unchanged",
        "undisturbed",
        "locked",
        "restored",
        "followed",
        "isolated",
        "stroked",
        "completed",
        "passed",
        "failed",
        "refilled",
        "drained",
        "filled",
        "held",
        "attended",
        "defeated",
        "described",
        "named",
        "numbered",
        "made",
        "done",
        "did",
        "set",
        "went",
        "ran",
        "listed",
        "painted",
        "wired",
        "secured",
        "protected",
        "allowed",
    ]
)
"""Words that look at a thing, write of it or mark it, or that tell of the valve's own working."""


def acts_upon(text: str) -> bool:
    """Return whether a clause tells of a hand doing something, in whatever verb.

    Examples
    --------
    >>> acts_upon("backed the spring off a bit"), acts_upon("screw photographed, paint unmoved")
    (True, False)
    """
    if _BY_DOING.search(text) or _NOUN.search(text) or _APART.search(text):
        return True
    return any(
        found.casefold() not in _QUIET for found in _VERB.findall(_TRIED.sub(" ", _OF_ITSELF.sub(" ", text)))
    )
