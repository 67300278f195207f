"""What a note says was not done although the plan asks for it, and that a limit was passed.

A negation tells of no touch. But a gate that was *not* shut for a test, where the plan shuts it, lets the
consumers see the test; and a limit that was passed in words stands in no reading. English only.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Final, Literal

from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Node, Procedure
from steadyhead.visits.audit.notes import Clause, denied, pascals
from steadyhead.visits.audit.phrases import any_of
from steadyhead.visits.texts.saying import say

Way = Literal["shut", "open"]
"""How a gate is moved."""
_SENTENCE: Final = re.compile(r"(?<=[.!?:;,])\s+")
_ORDERS: Final[tuple[tuple[Way, re.Pattern[str]], ...]] = (
    ("shut", any_of(r"close(?! to\b)", r"closed", r"shut", r"isolate")),
    ("open", any_of(r"open", r"opened", r"opens")),
)
_SHUTS: Final = r"(?:clos(?:e|ed|ing)|shut|shutting|isolat\w+)(?!-)"
_ALSO: Final = r"(?:also |then |even |ever |actually |been )?"
_LEFT_OUT: Final = (
    rf"(?:forgot to|forgotten to|failed to|omitted to|instead of|skipped|no time to|decided not to|"
    rf"chose not to) {_ALSO}"
)
_DID_NOT: Final = rf"(?:did(?: not|n['’]?t)|never|without) {_ALSO}"
_OUT: Final = {"shut": any_of(_LEFT_OUT + _SHUTS), "open": any_of(rf"{_LEFT_OUT}open(?:ed|ing)?")}
"""How an act is said to have been left out."""
_NEVER: Final = {"shut": any_of(_DID_NOT + _SHUTS), "open": any_of(rf"{_DID_NOT}open(?:ed|ing)?")}
_STATE: Final = {
    "shut": any_of(rf"not {_ALSO}(?:closed|shut|isolated)"),
    "open": any_of(rf"not {_ALSO}opened"),
}
"""How it is said of a gate, or of its state, that it was not moved."""
_NOBODY_MOVED: Final = re.compile(
    r"^(?:and |so |but )?(?:(?:we|I|he|she|they) )?(?:did(?: not|n['’]?t)|never) (?:\w+ )?"
    r"(?:open|shut|close)(?:e?d)? ",
    re.IGNORECASE,
)
_KEPT_OPEN: Final = any_of(r"(?:left|kept|keeping|leaving) (?:\w+ ){0,3}?open")
_LATER: Final = any_of(
    r"until", r"till", r"before", r"yet", r"again", r"further", r"too", r"at once", r"fast", r"quick\w*",
    r"in one", r"hard", r"any more", r"needed", r"necessary", r"while waiting", r"first", r"found", r"slowly",
)  # fmt: skip
"""Words by which it was done later, or only in another way."""
_MEANWHILE: Final = any_of(
    r"during", r"while", r"meanwhile", r"for the (?:runs?|test|trip)", r"in (?:the|any) (?:run|test)"
)
"""Words by which a gate stayed shut for a time, as it should."""
_WENT: Final = (
    r"(?:went|gone|ran|run|raised|turned|pushed|pumped|got|came|brought|climbed|rose|risen|crept|shot|reached|"
    r"drifted|jumped|peaked|swung|overshot|carried (?:on|up)|taken|took|let|acted|tripped|saw|seen)"
)
_STANDS: Final = (
    r"(?:T[34][\w-]*|outlet|pressure|readings?|needle|peak|it|we) (?:[\w.,]+ ){0,3}?"
    r"(?:was|were|is|stood|stands|read|reads|showed|shows|held|been|reached)"
)
_LIMIT: Final = (
    r"(?:the |our |its |that |a )?(?:stop (?:point|pressure|limit|value|rule)|point to stop|"
    r"(?:test|upper|pressure|stated|allowed|permitted|plan['’]?s?) (?:test )?(?:limit|edge)|"
    r"limit of (?:the |a )?(?:test|step|plan|card)|test maximum|maximum of (?:the )?(?:test|plan|step)|"
    r"highest (?:pressure )?of (?:a|the) test|most (?:allowed|of the test|of a test)|red (?:mark|line|zone)|"
    r"(?:what is |what was )?(?:allowed|permitted)|"
    r"(?:section |its )?ratings?|limit(?! (?:switch|stop|of the (?:permit|meter|gauge))))\b"
)
_BEYOND: Final = r"(?<!not )(?<!never )(?:past|over|above|beyond|through|higher than|more than)"
_PASSED: Final = any_of(
    rf"(?:{_WENT}|{_STANDS}) (?:[\w.,]+ ){{0,5}}?{_BEYOND} {_LIMIT}",
    rf"(?:exceeded|passed|overshot|overran|crossed|topped|overstepped) {_LIMIT}",
    rf"{_LIMIT} (?:(?:was|is|were|got|had been|has been) )?(?:just |briefly )?"
    r"(?:exceeded|passed|overshot|overrun|crossed|broken|touched)",
    rf"(?:touched|hit|broke|breached|missed|(?:blew|shot|ran|went) (?:through|past)) (?:{_LIMIT}|the stop\b)",
    r"(?:exceeded|overshot|overran) the (?:limit/)?stop\b",
    r"limit (?:on|of) the (?:card|plan|sheet|step) (?:was |is |got )?(?:exceeded|passed|overshot|broken)",
    r"exceeded (?:what|more than) (?:the )?(?:plan|step|card|test) (?:allows|allowed|permits)",
    r"(?:in)?to the red|higher than (?:is |was )?(?:allowed|permitted)",
    r"\d[\d.,]*(?: \w+)? against (?:a|the|its|our) (?:\w+ )?(?:limit|rating|maximum)",
    rf"T[34][\w-]* (?:[\d.,]+ \w+ )?{_BEYOND} {_LIMIT}",
    r"over-?pressured",
)
_BESIDE: Final = any_of(
    r"(?:gas|air|oxygen|noise|speed|sound|temperature|chlorine|flow|leak\w*|meter|range)(?: \w+){0,3}? "
    r"(?:past|over|above|beyond|exceeded|passed)"
)
"""Other things that have limits."""
_OTHER: Final = any_of(
    r"m3", r"m³", r"litres?", r"(?:permitted|allowed) (?:hours?|times?|minutes?|speeds?|loads?)", r"wind",
    r"crane", r"van", r"fence", r"road", r"thermometer", r"tarp", r"village", r"patience",
    r"plate", r"painted",
)  # fmt: skip
"""Words of a limit that is none of pressure, where no pressure is named."""
_PRESSED: Final = any_of(r"T[34][\w-]*", r"outlet", r"pressure", r"bar", r"peak", r"test limit")
_TOO_LATE: Final = re.compile(
    r"\s+before (?:we|I|he|she|they|any(?:one|body)) (?:could|managed|got|knew)\b[^.;,]*", re.IGNORECASE
)
_NOT_YET: Final = re.compile(
    r"\b(?:before|until|till|unless|if|when|whether|in case|would have|had it|stop when) (?:[\w.,]+ ){0,4}$",
    re.IGNORECASE,
)
"""Words ahead of a limit passed by which it was not, or not yet."""
_AT_OUTLET: Final = (
    r"(?:T[34](?![\w-])|outlet|downstream(?: (?:main|side))?|consumers?(?: side)?|zone|peak\w*|"
    r"over-?sho(?:o?t)\w*|acted|first try|run [123]|ran|carried on)"
)
_SHOWS: Final = r"(?:to|at|of|saw|seen|reads?|was|were|reached|hit|touched|showed|past)"
_FIGURE: Final = re.compile(
    rf"\b(?:{_AT_OUTLET}\b (?:[\w'’]+ ){{0,4}}?{_SHOWS}|needed) "
    r"(?:about |nearly |almost |some )?(\d+(?:\.\d+)?) ?(bar|psi|kPa|MPa|mH2O)\b",
    re.IGNORECASE,
)
"""A pressure of the outlet as it is told in words."""
_TOLD_TO: Final = 1.0005
"""How far above a limit told in another unit a figure counts: limits are printed rounded; own estimate."""
_ELSEWHERE: Final = any_of(
    r"T[012][\w-]*", r"inlet", r"supply", r"static", r"range", r"rat(?:ed|ing)", r"limit", r"class",
    r"pump\w*", r"yesterday", r"last (?:year|month|week|time)", r"card", r"plate",
)  # fmt: skip
_OUTLET_VALVE: Final = r"(?:IV ?2|outlet (?:isolating )?(?:valve|gate|isolator))"
_FAILED: Final = any_of(
    r"(?:SO|shut-?off|it|valve) (?:failed to|would not|wouldn['’]?t) (?:act|trip|close|shut|move)",
    r"(?:SO|shut-?off) (?:did not|didn['’]?t|never) (?:act|move|trip)(?:e?d)? (?:on|at|in) "
    r"(?:the )?(?:first|run|any)",
    r"(?:desk|control room|they) never (?:got|saw|received|had) (?:the |an? |any )?(?:alarm|signal|trip)",
    r"(?:alarm|signal) (?:never|did(?: not|n['’]?t)) (?:reach|get (?:to|through)|come (?:up|through)|arrive|"
    r"show)\w*"
    r"|(?:alarm|signal) never (?:got (?:to|through)|came (?:up|through))",
    rf"{_OUTLET_VALVE} (?:still |always |now )?(?:weeps|passes|leaks|dribbles|lets (?:\w+ )?by|is (?:weeping|"
    r"passing|leaking|not tight)|does not hold)(?! (?:at|round|from|past) (?:the |its )?"
    r"(?:gland|stem|packing|spindle))",
    r"(?:could not|couldn['’]?t|unable to|failed to|not able to) prove \w+(?: \w+)? (?:to be )?tight",
    r"(?:running|dribbling|dripping|flowing)(?: (?:at|out of|from))?(?: TD| the drain)?,? "
    r"(?:while|when|as) (?:we |I |they )?(?:read|took|noted) the lock-?up",
)
"""How it is told that what the readings are to prove failed."""


def orders(node: Node, part: str) -> frozenset[Way]:
    """Return how a step moves a gate, by its own words."""
    own = re.compile(rf"(?<![\w-]){re.escape(part)}(?![\w])")
    lines = (line for one in node.do for line in _SENTENCE.split(say(one)) if own.search(line))
    return frozenset(way for line in lines for way, pattern in _ORDERS if pattern.search(line))


def against_orders(clause: Clause, part: str, before: Iterable[Node]) -> bool:
    """Return whether a gate was not moved as the steps up to a note ask; false where it only came later.

    That it was never shut stands against any step that asks for it; how it stands, and that nobody opened it,
    against the last that moves it. before: these steps in their order.

    Examples
    --------
    >>> from steadyhead.visits.audit.notes import clauses
    >>> against_orders(clauses("we did not close IV2")[0], "IV2", ())
    False
    """
    text, asked = clause.text, [found for node in before if (found := orders(node, part))]
    if clause.told == "not done" or not asked:
        return False
    last, later = asked[-1], bool(_LATER.search(text))
    if _OUT["shut"].search(text) or (not later and _NEVER["shut"].search(text)):
        return any("shut" in one for one in asked)
    opened = _NEVER["open"].search(text) or _STATE["open"].search(text)
    if _OUT["open"].search(text) or (opened and not later and not _MEANWHILE.search(text)):
        return "open" in last
    kept = any(not denied(text, *spot.span()) for spot in _KEPT_OPEN.finditer(text))
    return "open" not in last and not later and bool(kept or _STATE["shut"].search(text))


def nobody_moved(clause: Clause) -> bool:
    """Return whether a clause says only that people did not open or shut something.

    Examples
    --------
    >>> from steadyhead.visits.audit.notes import clauses
    >>> [nobody_moved(clauses(one)[0]) for one in ("did not open IV2 during the runs", "SO did not open")]
    [True, False]
    """
    return bool(_NOBODY_MOVED.match(clause.text))


def gone_through(entries: Sequence[Entry], note: Entry) -> tuple[str, ...]:
    """Return the steps that were gone through up to a note, by when they were left; its own last."""
    newest = dict.fromkeys(one.node for one in reversed(entries) if one.time <= note.time and one.node)
    return (*(one for one in reversed(newest) if one != note.node), *((note.node,) if note.node else ()))


def reads_beyond(procedure: Procedure, entries: Iterable[Entry]) -> bool:
    """Return whether one of some entries is a reading of the outlet above the lowest limit of a test."""
    least = lowest_limit(procedure)
    taps = {one.tap for node in procedure.nodes for one in node.inputs if one.name == "T3"}
    read = (one.payload for one in entries if one.kind == "reading" and one.payload.get("tap") in taps)
    values = (one.get("value") for one in read)
    return least is not None and any(isinstance(one, int | float) and one > least for one in values)


def plainly_told(text: str) -> str:
    """Return a note without what came too late to hold a pressure: it does not say whether it was passed."""
    return _TOO_LATE.sub("", text)


def lowest_limit(procedure: Procedure) -> float | None:
    """Return the lowest limit of a test of the outlet; None where the plan has none. [Pa]"""
    limits = procedure.limits
    return min((limits[one] for one in limits if one.partition("@")[0] == "test_limit"), default=None)


def limit_passed(clause: Clause) -> bool:
    """Return whether a clause says that the pressure of a test went beyond its limit.

    Examples
    --------
    >>> from steadyhead.visits.audit.notes import clauses
    >>> [limit_passed(clauses(one)[0]) for one in ("went past the stop point", "T3 below the test limit")]
    [True, False]
    """
    if clause.told == "not done" or _BESIDE.search(clause.text):
        return False
    if _OTHER.search(clause.text) and not _PRESSED.search(clause.text):
        return False
    ahead = f"{clause.before}, " if clause.before else ""
    whole = f"{ahead}{clause.text}"
    spots = (spot.span() for spot in _PASSED.finditer(whole) if spot.end() > len(ahead))
    return any(not denied(whole, *spot) and not _NOT_YET.search(whole[: spot[0]]) for spot in spots)


def figure_passed(procedure: Procedure, clause: Clause) -> bool:
    """Return whether a clause gives a pressure of the outlet above the lowest limit of a test.

    Holds for a figure beside words for the outlet, its peak or the act; one of another tap tells nothing.
    """
    least = lowest_limit(procedure)
    if least is None or clause.told == "not done" or _ELSEWHERE.search(clause.text):
        return False
    spots = [
        spot for spot in _FIGURE.finditer(clause.text) if not _NOT_YET.search(clause.text[: spot.start()])
    ]
    told = ((spot, pascals(spot[1], spot[2]), spot[2].casefold() == "bar") for spot in spots)
    return any(
        value > least * (1.0 if plain else _TOLD_TO) and not denied(clause.text, *spot.span())
        for spot, value, plain in told
    )


def failed(clause: Clause) -> bool:
    """Return whether a clause says that what is to be proved failed: no action, no alarm, not tight, a flow.

    Examples
    --------
    >>> from steadyhead.visits.audit.notes import clauses
    >>> [failed(clauses(one)[0]) for one in ("SO failed to act on the first go", "SO acted at once")]
    [True, False]
    """
    ahead = f"{clause.before}, " if clause.before else ""
    whole = f"{ahead}{clause.text}"
    spots = [spot for spot in _FAILED.finditer(whole) if spot.end() > len(ahead)]
    return any(
        not _NOT_YET.search(whole[: spot.start()]) and (clause.told != "not done" or "prove" in spot[0])
        for spot in spots
    )
