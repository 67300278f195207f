"""The alarm loop G1 to G4: by real movement, at the right desk, in time."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import cues
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach, Level
from steadyhead.visits.audit.model import Moment
from steadyhead.visits.audit.notes import clauses, minutes, said, seconds, stated
from steadyhead.visits.audit.rules.case import STANDBY, Case, breach

_OWN_PILOT: Final = re.compile(
    r"\b(?:own pilot|by its own|real (?:movement|motion|stroke|trip)|true (?:movement|motion)|"
    r"on (?:the )?(?:\w+ )?run|run \d|own closing|moved by|"
    r"with run|the trip itself|as it shut|"
    r"trip)\b",
    re.IGNORECASE,
)
_CONTACT: Final = re.compile(
    r"\b(?:contacts?|switch|arm|roller|lever|terminals?|box|test lead|leads?|relay|keypad|"
    r"simulator|wires?|cores?|"
    r"loop|spanner|magnet)\b",
    re.IGNORECASE,
)
_BY_HAND: Final = re.compile(
    r"\b(?:by hand|hand[- ]?(?:stroke|gear|crank|wheel|lever|pump)|stroked|override|manual(?:ly)?|"
    r"wound (?:shut|down|"
    r"closed))\b",
    re.IGNORECASE,
)
_NOT_THE_VALVE: Final = re.compile(
    r"\b(?:for real|by itself|clear\w*|acknowledg\w*|cancel\w*|latch\w*|desk['’]?s?|button)\b", re.IGNORECASE
)
"""What a hand may do in G1 besides working the shut-off, and a stroke that was its own."""
_WRONG_DESK: Final = re.compile(
    r"\b(?:wrong (?:station|name|desk|text|site)|(?:nobody|no one) (?:was |sat )?(?:at|on) "
    r"(?:the|their) desk|(?:taken|took it|counted|put down) as received|other station|another station|"
    r"neighbour(?:ing)? station|different (?:station|name)|"
    r"fault \d+|no name|not our|desk (?:saw|sees|heard|hears|knew|knows|received|receives|"
    r"got|gets|has|had) (?:nothing|no word|no text)|(?:words?|text|name|message) (?:\w+ ){0,3}?(?:those|"
    r"that) of|"
    r"station (?:down|up|over|across) the|(?:page|board|screen) of|nothing|nothing (?:arrived|came|reached|"
    r"turned up|showed)|nothing (?:at|"
    r"on) (?:the|their) (?:desk|screen)|instead of ours|"
    r"(?:under|at|on) (?:the )?(?:page|"
    r"name) of another|no text|(?:not|isn['’]t|wasn['’]t) (?:their|our|your|its|the right|"
    r"the correct|quite the) "
    r"(?:name|text|station|words?|wording|board|page)|(?:not|isn['’]t|wasn['’]t) (?:ours|theirs|us)|"
    r"mis-?(?:named|labelled|labeled|mapped|spelt)|(?:wording|text|name) (?:is |was )?off)\b",
    re.IGNORECASE,
)
_OF_SHUT_OFF: Final = re.compile(
    r"\b(?:so|shut-?off|slam|closed?|shut|open|trip\w*|reached|left|relief|lift\w*|flow)\b", re.IGNORECASE
)
_TEXT: Final = re.compile(r"\b([A-Z][A-Z'’.&/-]+(?: [A-Z0-9][A-Z0-9'’.&/-]*)+)\b")
_CHATTER: Final = re.compile(
    r"\b(?:chatter\w*|(?:three|four|five|six|several|many|\d) times|twice|(?:came|in|on|up) and (?:went|"
    r"out|off|down)|flicker\w*|on and off|bounc\w*)\b",
    re.IGNORECASE,
)
_NO_CHATTER: Final = re.compile(r"\b(?:nil|0|zero|nought|none of) (?:any )?chatter\w*", re.IGNORECASE)
_ONCE: Final = re.compile(r"\b(?:once|one time)\b(?! (?:more|a))", re.IGNORECASE)
_STAYED_ON: Final = re.compile(
    r"\b(?:stay(?:s|ed)|remain(?:s|ed)) (?:on|in|up|lit|there|standing) (?:after|with|through|past|all)\b|"
    r"\bstill (?:on|in|up|lit|there) (?:after|with)\b",
    re.IGNORECASE,
)
_CLEARS: Final = re.compile(
    r"\b(?:clear(?:s|ed)?|reset|drop(?:s|ped)? out|go(?:es)? (?:away|off|out)|cancel\w*)\b", re.IGNORECASE
)
_NORMAL: Final = re.compile(
    r"\b(?:(?:stays?|stayed|shows?|showed|kept|keeps?) (?:on )?(?:green|normal|healthy|NORMAL)|(?:sees|saw|"
    r"got|"
    r"had) nothing|nothing (?:changes|changed|happens|happened|moves|moved)|no change|none the wiser|"
    r"noticed nothing|did not notice|reads? (?:healthy|"
    r"normal|ok|good)|desk (?:still )?(?:sees|saw|reads|showed|"
    r"shows|had) (?:NORMAL|normal|nothing|"
    r"no change)|stayed normal|silent|nothing (?:at|"
    r"on) the desk)\b"
)


_SHOWS_FAULT: Final = re.compile(r"\b(?:is|shows?|showed|reads?|read|now|then) (?:a |as )?FAULT\b")
_UNSEEN: Final = re.compile(
    r"\b(?:nothing|no change|none the wiser|did not notice)\b(?! (?:but|else))", re.IGNORECASE
)
"""What is said of a desk that was shown nothing, by its own negation."""


def rules(case: Case) -> Iterator[Breach]:
    """Yield what is against the alarm loop."""
    yield from _bridged(case)
    yield from _loop(case)
    yield from _loop_more(case)


def _bridged(case: Case) -> Iterator[Breach]:
    """G1 counts by real movement only."""
    loops = [
        m
        for m in case.story.moments
        if m.step == "G1" or (m.step in ("Y4", "Y6", "G3", "F3") and "desk" in m.words)
    ]
    for moment in case.story.moments:
        by_act = moment.done("bridge contacts")
        by_words = _bridge_mood(moment)
        if not by_act and not by_words:
            continue
        if moment.step not in ("G1", "Y4", "Y6", "G2", "F3", "F2", "F1", "G4") and not (
            moment.step == "G3" and _claims_loop(moment)
        ):
            continue
        if any(m is not moment and _real(m) for m in loops) or (
            _real(moment) and not by_act and by_words == "doubtful"
        ):
            continue
        if (
            _real(moment)
            and re.search(r"\b(?:then|afterwards|also|as well|besides)\b", moment.words)
            and by_act
        ):
            continue
        level: Level = "block" if by_act or by_words == "done" else "info"
        yield breach(
            "RUN-35",
            "G1",
            level,
            moment,
            "The alarm is made by bridging, not by movement of the shut-off.",
            "Let the shut-off close by its own pilot and read the desk's text.",
        )
        return
    yield from _at_contact(case, loops)


def _at_contact(case: Case, loops: list[Moment]) -> Iterator[Breach]:
    """G1 made at the contact or with the shut-off worked by hand."""
    for moment in case.story.of("G1"):
        if any(m is not moment and _real(m) for m in loops):
            continue
        at_contact = [c for c in clauses(moment.text) if c.told == "done" and c.has(_CONTACT)]
        if at_contact and not _OWN_PILOT.search(_told_of(moment)) and not moment.done("trip"):
            yield breach(
                "RUN-35",
                "G1",
                "block",
                moment,
                "The alarm is made at its contact; no movement of the shut-off is told of.",
                "Let the shut-off close by its own pilot and read the desk's text.",
            )
            return
    for moment in case.story.of("G1"):
        stroked = moment.done("stroke by hand") or (
            any(c.how(_BY_HAND) == "done" and not c.has(_NOT_THE_VALVE) for c in clauses(moment.text))
            and not re.search(r"own pilot|not by hand|not stroked", moment.words)
        )
        if (
            stroked
            and not any(m is not moment and _real(m) for m in loops)
            and not re.search(r"own pilot", moment.all_words)
        ):
            yield breach(
                "RUN-35",
                "G1",
                "block",
                moment,
                "The alarm is proved with the shut-off worked by hand.",
                "Let the shut-off close by its own pilot and read the desk's text.",
            )
            return


def _told_of(moment: Moment) -> str:
    return f"{moment.all_words} {' '.join(map(str, moment.seen.values()))}"


def _bridge_mood(moment: Moment) -> str | None:
    return said(moment.text, cues.BRIDGED)


def _claims_loop(moment: Moment) -> bool:
    return bool(re.search(r"reached closed|left open|so shut|loop proved|g1", moment.words))


def _real(moment: Moment) -> bool:
    if moment.done("bridge contacts") or said(moment.text, cues.BRIDGED) == "done":
        return False
    received = (
        moment.done("trip")
        or "alarm" in " ".join(moment.seen)
        or re.search(r"desk|control room|alarm", moment.words)
    )
    return bool(received) and (
        bool(moment.done("trip"))
        or bool(_OWN_PILOT.search(moment.all_words + " " + " ".join(map(str, moment.seen.values()))))
    )


def _loop(case: Case) -> Iterator[Breach]:
    """The right words at the right desk, in time."""
    name = _plain(case.job.name)
    for moment in case.story.moments:
        if moment.step not in ("G1", "Y4", "Y6", "G2", "G4"):
            continue
        text = moment.text + " " + " ".join(map(str, moment.seen.values()))
        if _wrong_desk(moment) and moment.passed():
            yield breach(
                "RUN-35",
                "G1",
                "block",
                moment,
                "The desk's text is wrong or did not come, the note says.",
                "Correct the mapping, prove again by movement.",
            )
            return
        odd = _odd_text(moment)
        if odd:
            seen = f"The desk's text, “{odd}”, does not speak of the shut-off."
            yield breach(
                "RUN-35", "G1", "block", moment, seen, "Correct the mapping, prove again by movement."
            )
            return
        if moment.step == "G1" and name and (place := _other_place(moment, name)):
            seen = f"The desk reads “{place}”; the station is {case.job.name}."
            yield breach(
                "RUN-35", "G1", "block", moment, seen, "Correct the mapping, prove again by movement."
            )
            return
        if moment.step in ("G1", "Y4") and name:
            yield from _names(case, moment, text, name)
        late = [
            t
            for c in clauses(moment.text)
            if re.search(r"after|later|delay|late", c.text, re.IGNORECASE) and not c.has(_BACK_AGAIN)
            for t in (*seconds(c.text), *(60 * t for t in minutes(c.text)))
        ]
        if moment.step == "G1" and late and max(late) > lim.ALARM_LATE:
            seen = f"The desk's text came {max(late):g} s after the movement."
            yield breach(
                "RUN-35",
                "G1",
                "flag",
                moment,
                seen,
                "Find the polling or the dead band; record the deviation.",
                accepts=True,
            )


_BACK_AGAIN: Final = re.compile(
    r"\b(?:open(?:ed|s)? again|re-?open\w*|reset|latch\w*|clear\w*|gone|back to normal)\b", re.IGNORECASE
)
"""What comes minutes after the movement and is not the desk's text."""
_PLACE: Final = re.compile(
    r"\b(?:valve|station|chamber|shut-?off|(?-i:SO)|reducer|that) (?:at|of|in) ((?-i:[A-Z])[a-z]+(?: "
    r"(?-i:[A-Z])[a-z]+)*)",
    re.IGNORECASE,
)
_ON_THEIRS: Final = re.compile(
    r"\b(?:desk|screen|page|board|text|words|they (?:have|read|see))\b", re.IGNORECASE
)


def _other_place(moment: Moment, name: list[str]) -> str:
    """Return a place that the desk is said to read where it is not this station's name, empty otherwise."""
    for clause in clauses(moment.text):
        found = _PLACE.search(clause.text)
        if not found or not clause.done or not clause.about(_ON_THEIRS):
            continue
        if not all(any(_same_name(s, n) for n in name) for s in _plain(found.group(1))):
            return found.group(1)
    return ""


def _odd_text(moment: Moment) -> str:
    """Return the text noted as received where it names no shut-off and no contact, empty otherwise."""
    told = str(moment.seen.get("alarm received", "")).split(";")[0].strip()
    if moment.step not in ("G1", "Y4") or not told or _OF_SHUT_OFF.search(told):
        return ""
    return "" if re.search(r"\balarm\b|\bhigh\b", told, re.IGNORECASE) else told


def _wrong_desk(moment: Moment) -> bool:
    if re.search(
        r"\b(?:not|no) (?:the |a |at the )?(?:wrong|other|another)\b|then (?:right|corrected|"
        r"came)|corrected|second try",
        moment.words,
    ):
        return False
    return (
        stated(
            moment.text,
            _WRONG_DESK,
            re.compile(r"desk|control room|alarm|text|words|screen|page|reads|telemetry", re.IGNORECASE),
        )
        == "done"
    )


_ALIKE: Final = 0.7
"""Share of a name's letters that a desk's short form of it has in common at the start; own estimate."""


def _same_name(one: str, two: str) -> bool:
    """Return whether a word of the desk's text is a word of the station's name, whole or shortened."""
    common = next(
        (k for k, (a, b) in enumerate(zip(one, two, strict=False)) if a != b), min(len(one), len(two))
    )
    return common >= min(len(one), len(two)) or common >= _ALIKE * max(len(one), len(two))


def _bare_letters(text: str) -> str:
    """Return a text without the marks on its letters, as desks write it.

    Examples
    --------
    >>> _bare_letters("Vlašský Øvre Ā")
    'Vlassky Ovre A'
    """
    plain = unicodedata.normalize("NFKD", text.translate(_LETTERS))
    return "".join(c for c in plain if not unicodedata.combining(c))


_LETTERS: Final = str.maketrans(
    {"ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ß": "ss", "æ": "ae", "Æ": "AE"}
)


def _plain(name: str) -> list[str]:
    return [w for w in re.findall(r"[a-z]+", _bare_letters(name).casefold()) if len(w) > 2]


def _names(case: Case, moment: Moment, text: str, name: list[str]) -> Iterator[Breach]:
    for told in _TEXT.findall(_bare_letters(text)):
        head = re.split(
            r"\b(?:SO|SHUT|SHUTOFF|OS(?:V)|TRIP|ALARM|HIGH|REACHED|LEFT|CLOSED|OPEN|FAULT|RELIEF|"
            r"DUTY|STANDBY)\b",
            told,
        )[0]
        spoken = _plain(head)
        rest = told[len(head) :]
        if (
            spoken
            and not any(_same_name(s, n) for s in spoken for n in name)
            and re.search(r"SO\b|SHUT|CLOSED|OPEN|TRIP|OS(?:V)", rest)
        ):
            seen = f"The desk reads “{told}”; the station is {case.job.name}."
            yield breach(
                "RUN-35", "G1", "block", moment, seen, "Correct the mapping, prove again by movement."
            )
            return
        if _other_stream(case, moment, told):
            seen = f"The desk reads “{told}”; it was the shut-off of the other stream that moved."
            yield breach(
                "RUN-35", "G1", "block", moment, seen, "Correct the mapping, prove again by movement."
            )
            return
        switch = case.job.switch.casefold()
        if ("closed" in switch and re.search(r"LEFT OPEN", told)) or (
            "left open" in switch
            and re.search(r"REACHED CLOSED", told)
            and "closed" not in switch.replace("left open", "")
        ):
            seen = f"The desk reads “{told}”; the switch is “{case.job.switch}”."
            yield breach("RUN-35", "G1", "flag", moment, seen, "Let the text say which contact it is.")
            return


_DUTY: Final = re.compile(r"\b(?:duty|DTY)\b", re.IGNORECASE)


def _other_stream(case: Case, moment: Moment, told: str) -> bool:
    """Return whether the desk's text names the standby where no moment near tells of it, or the reverse."""
    if case.job.layout != "duty and standby":
        return False
    runs = [m for m, _ in case.story.runs() if m.index <= moment.index]
    if not runs:
        return False
    near = " ".join(
        (runs[-1].node, runs[-1].all_words, moment.node, _TEXT.sub(" ", _bare_letters(moment.text)))
    )
    if STANDBY.search(told):
        return not STANDBY.search(near)
    return bool(_DUTY.search(told)) and bool(STANDBY.search(near)) and not _DUTY.search(near)


def _loop_more(case: Case) -> Iterator[Breach]:
    for moment in case.story.of("G2"):
        if (
            any(
                c.done and _CHATTER.search(_NO_CHATTER.sub(" ", c.text)) and not c.has(_ONCE)
                for c in clauses(moment.text)
            )
            and moment.passed()
        ):
            yield breach(
                "RUN-46",
                "G2",
                "flag",
                moment,
                "The alarm chatters on return.",
                "Set the cam off its edge.",
                accepts=True,
            )
        elif any(c.done and c.has(_STAYED_ON) for c in clauses(moment.text)) or any(
            c.how(_CLEARS) == "not done" and (c.negated or "would not" in c.text)
            for c in clauses(moment.text)
        ):
            seen = "The alarm does not clear on the return movement, the note says."
            yield breach(
                "RUN-46",
                "G2",
                "flag",
                moment,
                seen,
                "Find whether switch, cam or desk holds it.",
                accepts=True,
            )
    for moment in case.story.of("G3"):
        if any(c.done and c.has(_SHOWS_FAULT) for c in clauses(moment.text)):
            continue
        told = [c for c in clauses(moment.text) if c.told == "done" and c.has(_NORMAL)]
        if any(c.done or c.has(_UNSEEN) for c in told) and not _deviates(case, moment):
            yield breach(
                "RUN-46",
                "G3",
                "flag",
                moment,
                "A broken cable shows as normal.",
                "Record it as a deviation; the wiring does not fail safe.",
                accepts=True,
            )
    for moment in case.story.of("G4"):
        high = [r.value for r in moment.at_tap("T3") if r.value is not None]
        alarm = case.job.alarm
        if (
            high
            and alarm is not None
            and abs(high[-1] - alarm) > lim.ALARM_SLACK.si
            and not _deviates(case, moment)
        ):
            seen = f"The high alarm comes at {case.told(high[-1])}; its setting is {case.told(alarm)}."
            yield breach(
                "RUN-46",
                "G4",
                "flag",
                moment,
                seen,
                "Check scaling, datum and unit of the transmitter.",
                accepts=True,
            )


def _deviates(case: Case, moment: Moment) -> bool:
    return any(d.index >= moment.index for d in case.story.deviations) or "deviation" in moment.words
