"""What a note says of a hand on a setting in no verb of handling: an amount gone, a mark that is off."""

from __future__ import annotations

import re
from typing import Final

from steadyhead.visits.audit import cues
from steadyhead.visits.audit.acting import acts_upon

_PIECE: Final = (
    r"(?:quarter|eighth|half|third|turn|flat|hair|touch|bit|shade|notch|whisker|fraction|mm|"
    r"millimetre|thread|tad|trifle|degrees?)s?"
)
_SOME: Final = r"(?:a|an|one|two|three|half a|another|some|about a|good|\d+(?:[.,/]\d+)?|[½¼¾⅛⅜])"
_WAY: Final = r"(?:in|out|up|down|back|further|more|less|tighter|looser|softer|harder|higher|lower|clockwise)"
_GONE: Final = re.compile(
    rf"\b(?:went|gone|goes|came|come|moved|shifted|got|is|was|now|been|had|has|sits?|"
    rf"stands?) (?:\w+ ){{0,2}}?"
    rf"{_WAY} (?:by )?{_SOME} ?(?:of a |good |small |little )?{_PIECE}?\b|"
    rf"\b(?:a|an|one|half a|another|two|three) (?:\w+ )?{_PIECE}(?: of a turn)? {_WAY}\b|"
    rf"\b(?:in|out|up|down|back) (?:a|an|one|half a|another|two) (?:\w+ )?{_PIECE}\b|"
    rf"\b(?:an?|one|half a|another|two) (?:\w+ )?{_PIECE} (?:\w+ )?(?:than|from where) (?:before|it was|"
    rf"we)\b|"
    rf"\bby {_SOME} ?(?:\w+ )?{_PIECE}\b",
    re.IGNORECASE,
)
_STANDS: Final = re.compile(
    r"\b(?:from shut|showing|turns open|turns out|as found|as before|stands at|stood at|still at|unchanged|"
    r"listed|on record|last year)\b",
    re.IGNORECASE,
)
_AT: Final = re.compile(
    r"\b(?:at|stands?|stood|still|shows?|reads?|is|are) (?:at )?(?:\d+(?:[.,]\d+)?|\d*[½¼¾⅛⅜]|\d+ "
    r"\d/\d)\s*(?:of a )?"
    r"turns?\b|\b\d+(?:[.,]\d+|[½¼¾⅛⅜]| \d/\d)?\s*turns? (?:from shut|open|out|showing)\b",
    re.IGNORECASE,
)
_MARK: Final = re.compile(r"\b(?:marks?|paint|line|witness|seal|wire)\b", re.IGNORECASE)
_OFF_MARK: Final = re.compile(
    r"\b(?:broken|cracked|cut|torn|off its|off the|no longer|not (?:quite )?(?:in line|meeting|aligned|on)|"
    r"do(?:es)? not "
    r"(?:meet|line up|match|agree)|beside|apart|past (?:the|its)|shifted|split)\b",
    re.IGNORECASE,
)
_DESK_TEXT: Final = re.compile(
    r"\b[A-Z][A-Z0-9'’.&/-]*(?: [A-Z0-9][A-Z0-9'’.&/-]*)* (?:REACHED CLOSED|LEFT OPEN|CLOSED|SHUT|FAULT|"
    r"ALARM|TRIP(?:PED)?|HIGH|LOW|NORMAL)\b"
)
_READING_SET: Final = re.compile(
    r"\b(?:at|with|on|under|from|of) (?:the |its |this |that )?(?:raised|lowered|taken up|"
    r"taken down|let down|higher|lower|new|old|same|"
    r"test|trip|high|low|present) (?:setting|screw)\b",
    re.IGNORECASE,
)
"""A setting as the state in which something else is done."""
_AT_RESET: Final = re.compile(
    r"\b(?:on|at|with|upon|by|after|before|until|once|when|as)(?: it was| it is| we| the| its| his| her| "
    r"hand|"
    r" being)* re-?set(?:ting)?\b(?! (?:to|at|from|by)\b| (?:[a-z]+ )?(?:screw|needle|nut|spring|setting))|"
    r"\b(?:alarms?|text|signal|lamp|light|point|contact|switch|screen|board|display|desk)\b[^,;.]{0,25}"
    r"\bre-?set\b",
    re.IGNORECASE,
)
"""A reset as the time at which something else came about, or the alarm's own."""
_AHEAD: Final = re.compile(
    r"\bbefore (?:the )?(?:first |any |three |proof |trip |as-found )*(?:runs?|proof|F1|F\b|rises?|Y4|Y6)\b"
    r"(?! (?:[23]|two|three))|\bat (?:D4|ES\d|DS\d|C\d|B5|E0)\b|\bahead of (?:the )?(?:proof|runs|F1)\b",
    re.IGNORECASE,
)


def where_it_stands(text: str) -> str:
    """Return a text without the places it gives, so that none is taken for a turn made.

    Examples
    --------
    >>> where_it_stands("needle at 1½ turns, nut tight")
    'needle  , nut tight'
    """
    return _AT.sub(" ", text)


def plain_telling(text: str) -> str:
    """Return a text without what it quotes from a desk's screen, and without settings that are only a state.

    Examples
    --------
    >>> plain_telling("ALDER FLUME SO REACHED CLOSED stood on the screen")
    '  stood on the screen'
    """
    return _AT_RESET.sub(" ", _READING_SET.sub(" ", _DESK_TEXT.sub(" ", text)))


def gone_by(text: str) -> bool:
    """Return whether a thing is said to have gone by an amount, in whatever verb.

    Examples
    --------
    >>> gone_by("its opening needle went in a quarter"), gone_by("needle 1.5 turns from shut")
    (True, False)
    """
    return bool(_GONE.search(text)) and not _STANDS.search(text)


def mark_off(text: str) -> bool:
    """Return whether the mark across a screw or nut is said to be off.

    Examples
    --------
    >>> mark_off("the paint of its nut is cracked"), mark_off("paint across nut and screw whole")
    (True, False)
    """
    return bool(_MARK.search(text) and _OFF_MARK.search(text))


def before_the_proof(text: str) -> bool:
    """Return whether what a clause tells happened ahead of every run.

    Examples
    --------
    >>> before_the_proof("nut done up before the first run"), before_the_proof("turned before run 3")
    (True, False)
    """
    return bool(_AHEAD.search(text))


_HOLDS: Final = r"screws?|needles?|(?:lock[- ]?)?nuts?|springs?|settings?|pilots?|adjusters?|caps?"
_PICTURED: Final = re.compile(
    r"\b(?:(?:took|taken|made|sent) (?:\w+ )?)?(?:photos?|pictures?|films?|videos?|sketch(?:es)?) of "
    rf"(?:[\w’'-]+ ){{0,4}}?(?:{_HOLDS})(?: (?:{_HOLDS}))?(?: (?:was |were )?(?:taken|made|sent|shot))?",
    re.IGNORECASE,
)


def but_pictures(text: str) -> str:
    """Return a text without the pictures taken of a thing, where nothing else is said to be done to it."""
    rest = _PICTURED.sub(" ", text)
    more = cues.HANDLED.search(rest) or gone_by(rest) or acts_upon(rest)
    return text if more else rest


_SEALING: Final = re.compile(r"\b(?:seal\w*|wires?|lead|crimp\w*|tags?)\b", re.IGNORECASE)
_NUT_OR_SCREW: Final = re.compile(rf"\b(?:{_HOLDS})\b", re.IGNORECASE)


def nipped_too(text: str) -> bool:
    """Return whether a clause about a seal tells of a hand on what it holds besides.

    Examples
    --------
    >>> nipped_too("gave it a pinch and put a seal on"), nipped_too("new seal wired through and pulled tight")
    (True, False)
    """
    sealed = False
    for part in re.split(r"\b(?:and|then|before|after|plus)\b", text):
        sealing = bool(_SEALING.search(part))
        held = bool(_NUT_OR_SCREW.search(part))
        if cues.HANDLED.search(part) and not sealing and (held or not sealed):
            return True
        sealed = sealed or sealing
    return False


_NEW_ONE: Final = re.compile(
    r"^\W*(?:(?:and|so|then) )?(?:(?:a |the )?(?:new|fresh|other|spare|second) one(?: was| is)?|replaced|"
    r"renewed|"
    r"re-?fitted|put back|changed)(?: \w+){0,3}\W*$",
    re.IGNORECASE,
)


def new_seal(text: str, before: str) -> bool:
    """Return whether a clause that names nothing tells of a new seal in place of the one named before it.

    Examples
    --------
    >>> new_seal("new one fitted", "seal of its pilot cut by mistake"), new_seal("nipped", "seal cut")
    (True, False)
    """
    return bool(_NEW_ONE.search(text) and re.search(r"\bseals?\b", before, re.IGNORECASE))


_SEAL_HANDLED: Final = re.compile(
    r"\bseals?\b[^,;.]{0,40}\b(?:renewed|replaced|removed|fitted|changed|wired|put|cut|broken|"
    r"corrected)\b|"
    r"\b(?:renewed|replaced|removed|fitted|changed|wired|put|cut|broke|new)\b[^,;.]{0,20}\bseals?\b",
    re.IGNORECASE,
)


def only_seal(text: str, before: str) -> bool:
    """Return whether it is the seal that was handled, not what it holds, nor that as well."""
    return new_seal(text, before) or bool(_SEAL_HANDLED.search(text) and not nipped_too(text))
