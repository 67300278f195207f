"""What a clause says was done to a relief valve: kept from lifting, cut off, lifted by hand.

A relief valve lifts, seats and drips of itself: words that of a gate tell of a hand tell nothing of it. What
stands in its outlet, or holds its spindle, keeps it from acting. English only.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final, Literal

from steadyhead.procedure.naming import OUTSIDE, folded
from steadyhead.records.entry import TELLS, Entry
from steadyhead.records.procedure import Node
from steadyhead.visits.audit.notes import Clause, denied
from steadyhead.visits.audit.phrases import any_of

ReliefDeed = Literal["forced", "cut", "by hand"]
"""Kept from acting; cut off from the line, or its outlet shut; lifted by a person."""

RELIEF: Final = any_of(
    r"(?<!what a )(?<!great )(?<!big )(?<!in )(?<!my )(?<!our )relief(?: valve)?s?"
    r"(?! (?:crew|shift|driver|man|men|team|gang|operator|arrived|came|at last|to all|road|map)\b)",
    r"safety valves?", r"blow[- ]?off(?: valve)?s?",
)  # fmt: skip
"""What a relief valve is called."""
_BLOCK: Final = (
    r"(?:blank(?:ing)?(?: flange| plate)?|blind(?: flange)?|spade|plug|bung|gag(?: screw)?|stopper|clamp|"
    r"wedge|pin|cork|end cap|rags?(?= in)|"
    r"cap(?= (?:on|over) (?:the |its )?(?:\w+ )?(?:outlet|discharge|end|pipe|tail)))"
)
_FORCED: Final = any_of(
    r"gagg(?:ed|ing)", r"(?:plugg|blank|blind|spad|block|wedg|pinn|clamp|jamm|bung|stopper|cork|choke?)ed",
    r"(?:stuff|tap|weld)ed (?:up|shut|over|closed)", r"capp(?:ed|ing) (?:off|the|its)", r"lashed", r"propped",
    r"(?:outlet|discharge|pipe) (?:\w+ )?capped", r"weighted", r"weight (?:put )?on", r"chained", r"strapped",
    r"tied (?:down|back|up|shut|with)", r"disabled", r"defeated", r"out of (?:service|action|use)",
    r"screwed (?:\w+ ){0,4}?down", r"seized", r"held (?:\w+ ){0,2}?down",
    rf"{_BLOCK} (?:\w+ ){{0,3}}?(?:in|into|on|onto|over|across|behind|through|under|inside|up)",
    rf"(?:put|fitted|left|stuck|drove|set) (?:in )?(?:a|an|the|one) (?:\w+ )?{_BLOCK}",
)  # fmt: skip
"""What keeps a relief valve from lifting, or its water from leaving."""
_CUT: Final = any_of(
    r"isolated", r"valved (?:off|out)", r"(?:cut|turned|closed) off", r"blocked (?:in|off)",
    r"cocks?(?: \w+){0,5}? (?:shut|closed|turned off)",
    r"(?:shut|closed|turned|closing|shutting) (?:\w+ ){0,3}?cocks?(?! (?:open|back)\b)",
)  # fmt: skip
"""By which nothing reaches it."""
_BY_HAND: Final = any_of(
    r"by hand", r"manually", r"(?:with|by|on|using|pulled|worked|used) (?:the |its |a |an )?(?:\w+ )?"
    r"(?:lever|bar|screwdriver|spanner|handle|knob)", r"eased (?:it )?off its seat",
)  # fmt: skip
_DEEDS: Final[tuple[tuple[ReliefDeed, re.Pattern[str]], ...]] = (
    ("forced", _FORCED),
    ("cut", _CUT),
    ("by hand", _BY_HAND),
)
_ACTS: Final = re.compile(
    r"lifted|lifting|cracked|opened|popped|blew|blown|closed|shut|seated|re-?seated|passed|simmered|"
    r"discharged|relieved|vented|hung|moved|sealed|let|ran|started|stopped",
    re.IGNORECASE,
)
"""What it does of itself."""
_SOMEBODY: Final = any_of(
    r"(?-i:I)", r"we", r"he", r"she", r"they", r"(?:some|any)(?:body|one)", r"was", r"were"
)
"""Words by which it was no longer it that acted."""


def relief_deed(clause: Clause, reliefs: re.Pattern[str]) -> ReliefDeed | None:
    """Return what a clause says was done to a relief valve that it names, or leans on; None: nothing of this.

    Parameters
    ----------
    clause
        As read by `notes.clauses`.
    reliefs
        What the relief valves of the plan are called, by words and by id.

    Examples
    --------
    >>> from steadyhead.visits.audit.notes import clauses
    >>> [relief_deed(clauses(one)[0], RELIEF) for one in ("relief plugged", "relief lifted at 4.9")]
    ['forced', None]
    """
    if clause.told == "not done" or not clause.about(reliefs):
        return None
    for deed, pattern in _DEEDS:
        if any(not denied(clause.text, *spot.span()) for spot in pattern.finditer(clause.text)):
            return deed
    return None


def acts_itself(text: str, word: re.Match[str], reliefs: re.Pattern[str], before: str = "") -> bool:
    """Return whether a word in the past tense is what a relief valve does of itself.

    before: what the sentence said ahead of the text, where that names no other thing.
    """
    if not _ACTS.fullmatch(word.group()):
        return False
    ahead = f"{before} {text[: word.start()]}"
    named = [spot.end() for spot in reliefs.finditer(ahead)]
    return bool(named) and not _SOMEBODY.search(ahead[named[-1] :])


def is_of_none(entry: Entry) -> bool:
    """Return whether an act or a position is about a relief valve that is said to lie outside the plan."""
    thing = entry.payload.get("thing")
    is_told = entry.kind == "position" or entry.payload.get("do") not in TELLS
    is_outside = isinstance(thing, str) and folded(thing).startswith(f"{OUTSIDE}.")
    return is_told and is_outside and RELIEF.search(str(thing)) is not None


def is_cut_off(steps: Iterable[Node], reliefs: Iterable[str], own: str) -> bool:
    """Return whether relief valves stand cut off as planned.

    Parameters
    ----------
    steps
        Steps gone through, in their order, the one a note stands at last.
    reliefs
        Their ids.
    own
        Step of the note: at the one that opens a cock again it was still shut.
    """
    items = {f"{one}.cut_off" for one in reliefs}
    cut = False
    for node in steps:
        opens, restores = ({name.partition("@")[0] for name in each} for each in (node.opens, node.restores))
        if items & (opens | restores):
            cut = bool(items & opens) or node.id == own
    return cut
