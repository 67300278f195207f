"""V4: what was touched since which proof, in acts and in words; the dependency list of the handbook 3.3."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from steadyhead.visits.audit import cues, words
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.acting import acts_upon
from steadyhead.visits.audit.breach import Breach, Level
from steadyhead.visits.audit.model import Act, Moment
from steadyhead.visits.audit.notes import Clause, clauses
from steadyhead.visits.audit.rules.case import Case, breach, stream_of
from steadyhead.visits.audit.rules.hands import (
    before_the_proof,
    but_pictures,
    gone_by,
    mark_off,
    only_seal,
    plain_telling,
    where_it_stands,
)

Owner = Literal["shut-off", "reducer", "either", "low-flow", "switch"]
_HAND_VERBS: Final = (
    "tighten nut",
    "slacken nut",
    "turn",
    "adjust",
    "raise",
    "lower",
    "set",
    "clean",
    "bleed",
    "remove",
    "refit",
    "replace",
    "repair",
    "knock",
    "open cover",
    "close cover",
    "grease",
)
_SETTING_VERBS: Final = ("tighten nut", "slacken nut", "turn", "adjust", "raise", "lower", "set", "knock")
_SENSING: Final = re.compile(
    r"\b(?:sens(?:e|ing)|root|feed|chamber|supply|outlet|pilot|exhaust|control|bleed) ?(?:line |"
    r"root )?(?:cock|tap|tube|"
    r"line)s?\b",
    re.IGNORECASE,
)
_SWITCH: Final = re.compile(
    r"\b(?:cam|limit switch|switch (?:cam|arm|bracket|roller|lever)|micro ?switch)\b", re.IGNORECASE
)
_SWITCH_MOVED: Final = re.compile(
    r"\b(?:set|moved|shifted|adjusted|re-?set|turned|bent|replaced|slackened|tightened|rewired|"
    r"re-?mapped|changed)\b",
    re.IGNORECASE,
)
_AS_SET: Final = re.compile(r"\b(?:is|are|as) set\b", re.IGNORECASE)
_BY_NODE_SHUT_OFF: Final = (
    "F1",
    "F2",
    "F3",
    "F4",
    "F5",
    "ES4",
    "ES5",
    "ES6",
    "G1",
    "G2",
    "G3",
    "G5",
    "Y4",
    "Y6",
    "DS4",
    "DS5",
    "DS6",
)
_BY_NODE_REDUCER: Final = ("H1", "Y7", "ES1", "ES2", "ES3", "EF1", "H4", "H5", "G4")
_GAUGE_COCK: Final = re.compile(
    r"(?:gauge|test|vent|sample|logger)s?[- ](?:\w+ )?(?:cock|tap|valve)|cock (?:of|to|on|"
    r"under) (?:the )?(?:gauge|TG)",
    re.IGNORECASE,
)
_WITHOUT: Final = "Prove the trip again with three runs."


@dataclass(frozen=True, slots=True)
class Touch:
    """A hand on something a proof rests on. order: place inside the moment; sure: said plainly."""

    moment: Moment
    order: int
    owner: Owner
    what: str
    sure: bool
    setting: bool


def touches(case: Case) -> tuple[Touch, ...]:
    """Return every touch of the record, in order."""
    found = (t for m in case.story.moments for t in (*_by_acts(case, m), *_by_words(case, m)))
    return case.kept.get("touches") or case.kept.setdefault("touches", tuple(found))  # type: ignore[no-any-return]


def last_touch(case: Case) -> int:
    """Return the index of the last moment with a plain touch of the shut-off ahead of a later run, or −1.

    Touches after the last run leave no proof to judge and do not move the start.
    """
    runs = [m.index for m, _ in case.story.runs()]
    ahead = [
        t.moment.index
        for t in touches(case)
        if t.owner == "shut-off" and t.sure and any(r > t.moment.index for r in runs)
    ]
    return max(ahead, default=-1)


def _by_acts(case: Case, moment: Moment) -> Iterator[Touch]:
    for order, act in enumerate(moment.acts):
        owner = _owner_of(act, moment)
        if act.do in _HAND_VERBS and owner is not None:
            yield Touch(moment, order, owner, f"{act.thing}: {act.do}", True, act.do in _SETTING_VERBS)
        elif act.do in ("open", "shut", "crack", "throttle", "isolate") and _is_pilot_cock(case, act):
            yield Touch(moment, order, "shut-off", f"{act.thing}: {act.do}", True, False)


def _is_pilot_cock(case: Case, act: Act) -> bool:
    if case.job.layout == "injection" or case.is_injection_job:
        return False
    return bool(words.SHUT_OFF.search(act.words) and _SENSING.search(act.words)) and not _GAUGE_COCK.search(
        act.thing
    )


def _owner_of(act: Act, moment: Moment) -> Owner | None:
    thing = act.thing
    if _SWITCH.search(thing):
        return (
            "switch"
            if act.do in ("adjust", "turn", "set", "replace", "repair", "remove", "refit", "knock")
            else None
        )
    if words.LOW_FLOW.search(thing):
        return "low-flow" if act.do in _SETTING_VERBS or act.do in ("clean", "replace") else None
    if words.SHUT_OFF.search(thing):
        return "shut-off"
    if words.REDUCER.search(thing):
        return "reducer"
    if re.search(r"pilot filters?|both pilots|pilots|pilot lines|pilot, gauge", thing, re.IGNORECASE):
        return (
            "reducer"
            if words.REDUCER.search(act.detail) and not words.SHUT_OFF.search(act.detail)
            else "shut-off"
        )
    if words.HELD_PART.search(thing):
        return _by_node(moment)
    return None


def _by_node(moment: Moment) -> Owner:
    if moment.step in _BY_NODE_SHUT_OFF:
        return "shut-off"
    return "reducer" if moment.step in _BY_NODE_REDUCER else "either"


def _by_words(case: Case, moment: Moment) -> Iterator[Touch]:
    for clause in clauses(moment.text):
        if clause.mood == "not done" or before_the_proof(clause.text):
            continue
        owner = _clause_owner(case, clause, moment)
        if owner is None or _told_by_acts(moment, owner):
            continue
        yield Touch(moment, len(moment.acts), owner, f"“{clause.text}”", _sure(clause, owner), True)


def _sure(clause: Clause, owner: Owner) -> bool:
    return clause.done and (owner == "switch" or not _loose(clause))


def _told_by_acts(moment: Moment, owner: Owner) -> bool:
    return any(
        a.do in _HAND_VERBS and _owner_of(a, moment) in (owner, "shut-off" if owner == "either" else owner)
        for a in moment.acts
    )


_HEADING: Final = 5
"""Words of a heading that names the thing a clause is about: `Reducer: …`."""


def _loose(clause: Clause) -> bool:
    """Return whether the thing was named only in the clause before."""
    if words.PART.search(clause.text) or _names_thing(clause.text):
        return False
    heading = len(clause.before.split()) <= _HEADING and _names_thing(clause.before)
    by_hand = cues.HANDLED.search(clause.text) or gone_by(clause.text) or acts_upon(clause.text)
    return not heading and not (words.PART.search(clause.before) and by_hand)


def _clause_owner(case: Case, clause: Clause, moment: Moment) -> Owner | None:
    text = but_pictures(plain_telling(clause.text))
    if _SWITCH.search(text) and _SWITCH_MOVED.search(_AS_SET.sub(" ", text)):
        return "switch"
    handled = cues.HANDLED.search(where_it_stands(text))
    named = _names_thing(text)
    whole = text if named and words.PART.search(text) else f"{clause.before} {text}"
    worked = (
        cues.WORKED.search(_NAME.sub(" ", text)) and _SENSING.search(whole) and not _GAUGE_COCK.search(text)
    )
    gone = (_names_thing(text) and gone_by(text)) or (
        _its_part(clause) and (gone_by(text) or (mark_off(text) and not words.NEGATED.search(text)))
    )
    own = part_of_it(text) or (
        _its_part(clause) and words.PART.search(clause.before) and not _OF_RECORD.search(clause.before)
    )
    inside = _names_thing(text) and _OPENED_UP.search(text) and not _SWITCH.search(text)
    acted = handled is None and not _DIRT.search(text) and (gone or inside or (own and acts_upon(text)))
    if (
        (not handled and not worked and not acted)
        or (only_seal(text, clause.before) and not _amount_of_turn(text))
        or (_CAPPED.search(text) and not gone)
        or (_DIRT.search(text) and not words.HELD_PART.search(text))
        or (_OTHER_THING.search(text) and not words.PART.search(text))
    ):
        return None
    return _owner_in(case, text, whole, moment, worked_only=not handled and not acted)


_OPENED_UP: Final = re.compile(
    r"\b(?:lid|covers?|cap|hood|housing|pilot|filter|union|diaphragm)\b[^,;.]{0,40}\b(?:opened|undone|"
    r"lifted|unbolted|"
    r"taken off|came off|off)\b|\b(?:opened|undid|lifted|unbolted|took off) (?:the |its )?(?:lid|cover|cap|"
    r"hood|housing)\b",
    re.IGNORECASE,
)
"""A part that holds the inside of a valve, opened."""
_OF_RECORD: Final = re.compile(
    r"\b(?:photo\w*|pictures?|sketch\w*|list\w*|heights?|film\w*)\b", re.IGNORECASE
)
_HELD: Final = re.compile(
    r"\b(?:screws?|needles?|(?:lock[- ]?)?nuts?|springs?|settings?|pilots?|adjusters?|speed controls?|cap)\b",
    re.IGNORECASE,
)


def _its_part(clause: Clause) -> bool:
    """Return whether a clause names what holds a setting, of a valve named there or in the clause before."""
    return clause.has(_HELD) and (_names_thing(clause.text) or _names_thing(clause.before))


_NAME: Final = re.compile(r"\bshut-?off\b", re.IGNORECASE)


def part_of_it(text: str) -> bool:
    """Return whether a clause names a part of the shut-off or the reducer."""
    return _names_thing(text) and bool(words.PART.search(text)) and not _ONLY_PILOT.search(text)


_SOIL: Final = r"(?:mud|dirt|dust|cobwebs?|leaves|grass|snow|ice|water|rust)"
_DIRT: Final = re.compile(
    rf"\b{_SOIL} (?:\w+ )?(?:off|away|from)\b|\b{_SOIL} (?:was |were )?(?:washed|brushed|wiped|swept|"
    rf"rinsed|cleared|"
    rf"scraped|knocked)|\b(?:washed|brushed|wiped|swept|cleared|scraped|knocked|cleaned|took|"
    rf"taken) (?:\w+ ){{0,2}}?{_SOIL}\b",
    re.IGNORECASE,
)
_CAPPED: Final = re.compile(
    r"\b(?:caps?|hoods?|lids?|protective cover)\b[^.;]{0,30}\b(?:put|went|goes|screwed|back|"
    r"pressed) (?:back )?on\b|"
    r"\b(?:put|screwed) (?:back )?on (?:the |its )?(?:cap|hood|lid)\b",
    re.IGNORECASE,
)
_ONLY_PILOT: Final = re.compile(r"\bby its own pilot|own pilot\b", re.IGNORECASE)


def _owner_in(case: Case, text: str, whole: str, moment: Moment, *, worked_only: bool) -> Owner | None:
    part = words.PART.search(whole) is not None
    if words.LOW_FLOW.search(text):
        return "low-flow" if words.HELD_PART.search(text) or "filter" in text else None
    if re.search(
        r"pilots['’]? filters|filters of (?:the )?(?:two )?pilots|pilot filters? of both|both pilot "
        r"filters|both filters|filters of both",
        whole,
        re.IGNORECASE,
    ):
        return "shut-off"
    if words.SHUT_OFF.search(text) or (words.SHUT_OFF.search(whole) and not words.REDUCER.search(text)):
        if worked_only and case.is_injection_job and not _after_restoring(case, moment):
            return None
        return "shut-off" if part or _at_it(text) or _amount_of_turn(text) else None
    if words.REDUCER.search(whole):
        return "reducer" if part or _amount_of_turn(text) else None
    if words.HELD_PART.search(text) and not _OTHER_NUT.search(text):
        return _by_node(moment)
    return None


def _after_restoring(case: Case, moment: Moment) -> bool:
    """Return whether the sensing line was put back in service before a moment."""
    back = [m.index for m in case.story.moments if m.done("restore")]
    return bool(back) and moment.index > max(back)


_OTHER_THING: Final = re.compile(
    r"\b(?:hoses?|unions?|gland|gauges?|lids?|hydrant|logger|lamp|fan|ladder|meter|thermometer|"
    r"padlock|caps?|bolts?|gasket|label|cable|sample|bottle|"
    r"IV[12]|TD2?|test drain|outlet valve|"
    r"inlet valve|strainer|pump|van|cone)\b",
    re.IGNORECASE,
)
_OTHER_NUT: Final = re.compile(
    r"\b(?:bolts?|flange|gland|union|cover nuts?|iv\d|gate|hose|strainer|lid)\b", re.IGNORECASE
)


@lru_cache(maxsize=4096)
def _names_thing(text: str) -> bool:
    return bool(words.SHUT_OFF.search(text) or words.REDUCER.search(text) or words.LOW_FLOW.search(text))


def _amount_of_turn(text: str) -> bool:
    """Return whether a setting is said to be turned by an amount."""
    return bool(
        re.search(
            r"\b(?:in|out|up|down) (?:a|an|one|half|another) (?:\w+ )?(?:hair|touch|eighth|"
            r"quarter|turn|flat|bit|shade|notch)\b|"
            r"\b(?:last|another|further|more) (?:eighth|quarter|turn|half)s?\b|\b(?:eighths|"
            r"quarters|flats) "
            r"(?:in|out|up|down|more)\b|"
            r"\b(?:raised|lowered|set|eased|trimmed|brought)(?: up| down)?(?: from \S+)? (?:to|"
            r"by) (?:about )?\d|"
            r"\b(?:hair|touch|eighth|quarter|half|turn|flat|whisker|shade)\b[^,;.]{0,12}\b(?:in|"
            r"out|up|down|turn|more|less)\b|[½¼¾⅛]|\d\s*/\s*\d|°|"
            r"degrees",
            text,
            re.IGNORECASE,
        )
    )


def _at_it(text: str) -> bool:
    """Return whether an act is said of the shut-off itself, as in ``tweaked the shut-off a touch``."""
    return bool(
        re.search(
            r"\b(?:tweak\w*|adjust\w*|trimmed|nipped|turned|cleaned|stripped|dismantled|repaired|"
            r"replaced|greased|re-?set (?:to|at) \d)\b(?: up| out|"
            r" down)?(?: on)?(?: the)? (?:shut-?off|SO)\b|"
            r"\b(?:shut-?off|SO)\b (?:was |is |got )?(?:a touch |slightly )?(?:tweaked|adjusted|"
            r"trimmed|nipped|stripped|dismantled|cleaned|repaired|"
            r"replaced|greased)",
            text,
            re.IGNORECASE,
        )
    )


def rules(case: Case) -> Iterator[Breach]:
    """Yield what is stale because something was touched after its proof."""
    found = touches(case)
    yield from _trip(case, found)
    yield from _duty(case, found)
    yield from _switch(case, found)


def _trip(case: Case, found: tuple[Touch, ...]) -> Iterator[Breach]:
    if not case.has_shut_off:
        return
    every = [m for m, _ in case.story.runs()]
    needed = 1 if case.job.kind == "restart" else lim.RUNS
    proved = bool(every) or case.job.kind == "restart"
    told = False
    for touch in found:
        if touch.owner not in ("shut-off", "either") or told or not proved:
            continue
        own = stream_of(touch.moment) if case.job.layout == "duty and standby" else ""
        runs = every
        if case.job.layout == "duty and standby":
            runs = [m for m in every if (stream_of(m) or "duty") == (own or "duty")]
        before = [
            m for m in runs if m.index < touch.moment.index or (m is touch.moment and _after_trip(touch))
        ]
        after = [
            m for m in runs if m.index > touch.moment.index or (m is touch.moment and not _after_trip(touch))
        ]
        if (not before and case.job.kind != "restart") or len(after) >= needed:
            continue
        if touch.owner == "either" and not _late(case, touch):
            continue
        told = touch.sure
        level: Level = "block" if touch.sure else "info"
        rest = "no run" if not after else f"only {len(after)} run{'s' if len(after) > 1 else ''}"
        seen = f"The shut-off is touched after its proof, {touch.what}; {rest} follows. The proof is stale."
        yield breach("RUN-23", "V4", level, touch.moment, seen, _WITHOUT)


def _after_trip(touch: Touch) -> bool:
    trips = [k for k, act in enumerate(touch.moment.acts) if act.do == "trip"]
    return touch.order > (trips[-1] if trips else -1)


def _late(case: Case, touch: Touch) -> bool:
    """Return whether a nut of unknown valve was touched when both settings had been left."""
    settings = [m.index for m in case.story.of("H1", "Y7")]
    return bool(settings) and touch.moment.index > max(settings)


def _duty(case: Case, found: tuple[Touch, ...]) -> Iterator[Breach]:
    kind = case.job.kind
    duty = case.story.of("H1") if kind == "first" else case.story.of("Y7", "H1")
    anew = [m.index for m in case.story.moments if duty and m.index > duty[-1].index and _set_anew(m)]
    lockup = case.story.of("H2")
    for touch in found:
        if touch.owner == "either" and not _late(case, touch):
            continue
        if touch.owner not in ("reducer", "either", "low-flow"):
            continue
        if touch.owner != "low-flow" and any(k >= touch.moment.index for k in anew):
            continue
        if (
            touch.owner != "low-flow"
            and duty
            and touch.moment.index > duty[-1].index
            and not (touch.owner == "either" and case.story.runs())
        ):
            seen = (
                f"The reducer is touched after its setting was read, {touch.what}. The reading is no as-left."
            )
            yield breach(
                "RUN-23",
                "V4",
                "block" if touch.sure else "info",
                touch.moment,
                seen,
                "Set duty from below, tighten the nut, read again; then the lock-up.",
            )
            return
        if (
            lockup
            and touch.moment.index > lockup[-1].index
            and touch.setting
            and touch.moment.step not in ("H3",)
        ):
            seen = f"A setting is touched after the lock-up test, {touch.what}. The lock-up is stale."
            yield breach(
                "RUN-23",
                "V4",
                "block" if touch.sure else "info",
                touch.moment,
                seen,
                "Repeat the lock-up test.",
            )
            return


def _set_anew(moment: Moment) -> bool:
    """Return whether duty is set from below, locked and read again at this moment, whatever its step."""
    after = [r.value for r in moment.at_tap("T3") if re.search(r"after (?:the )?nut", r.mark)]
    lower = [r.value or 0.0 for r in moment.at_tap("T3")]
    return bool(after) and bool(moment.done("tighten nut")) and min(lower) < (after[-1] or 0.0)


def _switch(case: Case, found: tuple[Touch, ...]) -> Iterator[Breach]:
    loop = case.story.of("G1", "Y4")
    for touch in found:
        if (
            touch.owner == "switch"
            and loop
            and touch.moment.index >= loop[-1].index
            and touch.moment.step != "G1"
        ):
            seen = f"The limit switch is touched after its loop was proved, {touch.what}."
            yield breach(
                "RUN-23",
                "G1",
                "block" if touch.sure else "info",
                touch.moment,
                seen,
                "Prove the alarm again by real movement of the shut-off.",
            )
            return
