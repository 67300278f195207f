"""How things were moved: V3 (isolating valves), filling, bleeding, V11 (covers), V6 (one change)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import cues, words
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.follow import valve_of
from steadyhead.visits.audit.model import Act, Moment
from steadyhead.visits.audit.notes import clauses, minutes, said, seconds, stated, turns
from steadyhead.visits.audit.rules.case import Case, breach

_COVER: Final = re.compile(
    r"\b(?:cover|lid|plug|bonnet|strainer (?:cap|lid|cover)|blank|flange|bolts?)\b", re.IGNORECASE
)
_UNDONE: Final = re.compile(
    r"\b(?:open\w*|off|loosen\w*|slacken\w*|undid|undone|unscrew\w*|lift\w*|remov\w*|took|"
    r"crack\w*|eased|out)\b",
    re.IGNORECASE,
)
_TOGETHER: Final = re.compile(
    r"\b(?:both (?:\w+ )?(?:screws?|settings?|pilots?|together|turned|adjusted|raised|lowered|at)|"
    r"at the same time|together|simultaneously|in (?:the same|"
    r"one) (?:go|operation|move|breath|minute|moment|stroke|"
    r"turn)|"
    r"(?:and|plus) (?:also )?(?:the )?(?:needle|other pilot|shut-?off (?:pilot|screw)|"
    r"reducer (?:pilot|screw)) (?:as well|too|together|"
    r"at once|with it|while (?:we were|at it|"
    r"I was)))\b",
    re.IGNORECASE,
)


def rules(case: Case) -> Iterator[Breach]:
    """Yield what was moved, filled, bled or opened as it should not be."""
    yield from _fast(case)
    yield from _not_slow(case)
    yield from _order(case)
    yield from _covers(case)
    yield from _one_change(case)


def _fast(case: Case) -> Iterator[Breach]:
    remedy = "Move it a few per cent, wait, then in stages; look at the taps for what the surge did."
    told: set[int] = set()
    for step in case.followed.steps:
        valve = valve_of(step.act.thing)
        if valve not in ("IV1", "IV2") or step.act.do not in ("open", "shut"):
            continue
        took = _took(step.act)
        if (
            took is not None
            and took <= lim.FAST_MINUTES
            and _rate(case, step.act, took)
            and step.moment.index not in told
        ):
            told.add(step.moment.index)
            seen = f"{valve} is moved through its travel in {took * 60:g} s."
            yield breach("RUN-22", "V3", "flag", step.moment, seen, remedy)
    for moment in case.story.moments:
        if moment.index in told:
            continue
        mood = "done" if _quick_in_words(case, moment) else _said_fast(moment)
        if mood:
            yield breach(
                "RUN-22",
                "V3",
                "flag" if mood == "done" else "info",
                moment,
                "An isolating valve is moved fast, the note says.",
                remedy,
            )


_PATIENCE: Final = re.compile(
    r"\b(?:slow\w*|stages?|staged|gent\w*|eas(?:y|ed|ing)|bit by bit|little by little|step\w*|"
    r"careful\w*|patien\w*|"
    r"without haste|last (?:turns?|part|tenth|bit)|\w+ minutes?|\d+ ?(?:min|m)\b|hours?|waits?|"
    r"waited|waiting|walked|"
    r"over \d+|in \d+|equali[sz]\w*|level\w*|even\w*)\b",
    re.IGNORECASE,
)


def _not_slow(case: Case) -> Iterator[Breach]:
    """V3: a gate is shown to be moved slowly, by a time, by stages or in a word."""
    for moment in case.story.of("J2", "H4", "B1", "Y8"):
        moved = [a for a in moment.done("open", "shut") if valve_of(a.thing) in ("IV1", "IV2")]
        if not moved or _PATIENCE.search(moment.all_words) or not words.GATES.search(moment.text):
            continue
        near = case.story.moments[max(0, moment.index - 1) : moment.index + 2]
        if any(
            _PATIENCE.search(m.all_words) and words.GATES.search(m.all_words) for m in near if m is not moment
        ):
            continue
        seen = f"Nothing says that {moved[-1].thing} was moved slowly or in stages."
        remedy = "Move it a few per cent, wait, then in stages; write how long it took."
        yield breach("RUN-22", "V3", "flag", moment, seen, remedy, absent=True)


def _took(act: Act) -> float | None:
    told = minutes(act.detail)
    if told:
        return max(told)
    quick = seconds(act.detail)
    return max(quick) / 60.0 if quick else None


def _rate(case: Case, act: Act, took: float) -> bool:
    travel = turns(act.detail.split(" of ")[0])
    if "v2" in act.detail.casefold():
        moved = travel[0] if travel else case.job.raising_turns or lim.TRAVEL_TURNS
    elif travel:
        moved = travel[0]
    else:
        moved = case.job.inlet_turns or lim.TRAVEL_TURNS
    return moved / max(took * 60.0, 1.0) > lim.FAST_RATE


_EACH: Final = re.compile(r"^(?:each|both|either|the one|one|the other)\b", re.IGNORECASE)


def _quick_in_words(case: Case, moment: Moment) -> bool:
    """Return whether a note gives a whole travel of an isolating valve in a time that is too short."""
    for clause in clauses(moment.text):
        if (
            not clause.done
            or not (clause.has(words.GATES) or (clause.about(words.GATES) and _EACH.match(clause.text)))
            or not (_EACH.match(clause.text) or re.search(r"open|shut|clos|full", clause.text, re.IGNORECASE))
        ):
            continue
        took = [t / 60.0 for t in seconds(clause.text)]
        if (
            took
            and max(took) <= lim.FAST_MINUTES
            and not re.search(r"hold|wait|pause|every|each stage|per stage", clause.text, re.IGNORECASE)
        ):
            moved = max(turns(clause.text), default=case.job.inlet_turns or lim.TRAVEL_TURNS)
            return moved / max(max(took) * 60.0, 1.0) > lim.FAST_RATE
    return False


_OF_A_GAUGE: Final = re.compile(
    r"hydrant|hose|step|alarm|desk|answer|needle|gauge|reading|p-?p\b|mean|point|\bT[0-4]\b|"
    r"swung a (?:little|bit)",
    re.IGNORECASE,
)
"""What else than a gate may be quick or swing."""


def _said_fast(moment: Moment) -> str | None:
    gate = any(valve_of(a.thing) in ("IV1", "IV2") for a in moment.done("open", "shut"))
    found: str | None = None
    parts = clauses(moment.text)
    for clause in parts:
        if (
            not cues.FAST.search(_MOVES_ITSELF.sub(" ", clause.text))
            or clause.has(cues.SLOW)
            or _COMES_TO_REST.search(clause.text)
        ):
            continue
        named = clause.about(words.GATES) or (
            gate
            and re.search(
                r"\b(?:open|shut|clos|turn|w[io]nd|wound|spun|spin|swung|thrown|threw|pull|run|ran)",
                f"{clause.before} {clause.text}".casefold(),
            )
            and not re.search(r"\b(?:wr[io]t|note|read|count)", clause.text)
            and not clause.about(words.DRAIN)
            and not _OF_A_GAUGE.search(clause.text)
        )
        strong = re.search(r"\b(?:no |not |without )", clause.text, re.IGNORECASE)
        mood = (
            stated(clause.text, cues.FAST) if strong else (clause.mood if clause.mood != "not done" else None)
        )
        if strong and re.search(
            r"\b(?:not|never|nothing|no) (?:\w+ ){0,3}?(?:fast|quickly|rushed|hurried|"
            r"in one (?:go|swing|pull)|thrown|spun|snapped|banged|"
            r"slammed)\b",
            clause.text,
            re.IGNORECASE,
        ):
            mood = None
        if named and mood:
            found = "done" if mood == "done" or found == "done" else "doubtful"
    return found


_MOVES_ITSELF: Final = re.compile(
    r"\b(?:T[0-4]|needle|pointer|gauge|pressure|flow|meter|reading|shut-?off|SO)\b[^,;.]{0,12}"
    r"\b(?:swung|snapped|jumped|spun|whipped|dropped|shot)\b",
    re.IGNORECASE,
)
"""What swings or snaps beside a gate that is moved."""
_COMES_TO_REST: Final = re.compile(r"\b(?:calm|settled|steady|quiet|at rest)\b", re.IGNORECASE)
_OTHER_STREAM: Final = re.compile(r"\b(?:stand-?by|stby|sby|LB|low[- ]flow|second|other)\b", re.IGNORECASE)
"""A stream that is isolated on its own, beside the one that is worked on."""


_INLET_FIRST: Final = re.compile(
    r"\b(?:IV ?1|inlet(?: valve| gate)?) (?:was |is )?(?:shut |closed )?first\b", re.IGNORECASE
)


def _order(case: Case) -> Iterator[Breach]:
    """B1: the outlet is shut before the inlet; the zone does not run back into an open line."""
    for stage in case.story.stages("B1"):
        shut = [valve_of(a.thing) for m in stage for a in m.done("shut") if not _OTHER_STREAM.search(a.thing)]
        wrong = "IV1" in shut and "IV2" in shut and shut.index("IV1") < shut.index("IV2")
        if not shut:
            wrong = any(c.done and c.has(_INLET_FIRST) for m in stage for c in clauses(m.text))
        if wrong:
            seen = "The inlet valve is shut before the outlet valve."
            yield breach(
                "RUN-46", "B1", "flag", stage[-1], seen, "Shut the outlet valve first, then the inlet valve."
            )


_SECTIONS: Final = (
    (re.compile(r"strainer|filter basket|sieve", re.IGNORECASE), ("T1",)),
    (re.compile(r"shut-?off|\bSO\b", re.IGNORECASE), ("T1", "T2", "T3")),
    (re.compile(r"reducer|\bRV\b|main valve", re.IGNORECASE), ("T1", "T2", "T3")),
)


def _covers(case: Case) -> Iterator[Breach]:
    remedy = "Isolate, vent that very section, see zero on its own live gauge, then open."
    for moment in case.story.moments:
        opened = [a for a in moment.done("open cover", "remove") if _is_cover(a)]
        at_lid = moment.step in ("B4", "B5")
        undone = [c for c in clauses(moment.text) if c.done and (at_lid or c.has(_COVER)) and c.has(_UNDONE)]
        if not opened and not undone:
            continue
        pressed = any(
            stated(c.text, cues.PRESSED) == "done" and (at_lid or c.about(_COVER)) and not _none_of_it(c.text)
            for c in clauses(moment.text)
        )
        if pressed and (opened or undone) and not _manhole(moment):
            seen = "A cover or plug is opened on pressure, or without zero seen, the note says."
            yield breach("RUN-30", "V11", "flag", moment, seen, remedy)
        elif opened:
            yield from _zero(case, moment, opened[0], remedy)
        elif not _manhole(moment):
            by_hand = [c.text for c in undone if c.has(_UNDONE_BY_HAND)]
            yield from _undone_on_pressure(case, moment, by_hand, remedy)


def _is_cover(act: Act) -> bool:
    return act.do == "open cover" or bool(_COVER.search(act.words))


def _none_of_it(text: str) -> bool:
    return bool(
        re.search(
            r"\b(?:no|not|never|without) (?:any |a )?(?:hiss|pressure|jet|spray|spurt)|"
            r"\bnothing\b|\bno longer\b|\bhiss\w* (?:itself |all )?(?:empty|out)\b|\b(?:hiss\w*|jet|"
            r"spray\w*|pressure)\b[^;]{0,25}\b(?:end(?:ed)?|"
            r"stop(?:ped)?|"
            r"die[sd]?|dying|ceased?|over|gone|away|finish(?:ed)?)\b|\b(?:after|until|till) (?:the |all "
            r")?(?:hiss|jet|"
            r"spray|pressure)",
            text,
            re.IGNORECASE,
        )
    )


def _manhole(moment: Moment) -> bool:
    return bool(re.search(r"\b(?:manhole|chamber|road) (?:cover|lid)|lid of the chamber\b", moment.words))


def _zero(case: Case, moment: Moment, act: Act, remedy: str) -> Iterator[Breach]:
    where = next((taps for pattern, taps in _SECTIONS if pattern.search(act.words)), ())
    state, own = case.before(moment), {r.tap.split(".")[0]: r.value for r in moment.reads}
    seen_zero = set(state.zero) | {
        tap for tap, value in own.items() if value is not None and abs(value) <= lim.LIVE.si
    }
    if _own_line_at_zero(moment, act) or any(c.how(_AT_ZERO) == "done" for c in clauses(moment.text)):
        return
    if where[:1] == ("T1",) and _VENTED_TO_ZERO.search(moment.text):
        return
    pressed = [tap for tap in where if (own.get(tap) or 0.0) > lim.LIVE.si]
    if pressed:
        seen = f"{act.thing} is opened with {pressed[0]} at {case.told(own[pressed[0]] or 0.0)}."
        yield breach("RUN-30", "V11", "flag", moment, seen, remedy)
    elif where and not seen_zero & set(where):
        other = ", ".join(sorted(seen_zero)) or "no tap"
        seen = f"{act.thing} is opened; zero was seen at {other}, not at {' or '.join(where)}."
        yield breach("RUN-30", "V11", "flag", moment, seen, remedy)


_UNDONE_BY_HAND: Final = re.compile(
    r"\b(?:open(?:ed|ing|s)|loosen\w*|slacken\w*|undid|undone|unscrew\w*|unbolt\w*|lift\w*|remov\w*)\b",
    re.IGNORECASE,
)
"""Words of the act itself: *off* and *out* may be said of mud."""


def _undone_on_pressure(case: Case, moment: Moment, told: list[str], remedy: str) -> Iterator[Breach]:
    """A lid undone in words only, while the gauge of its own section, read with it, shows pressure."""
    where = {tap for text in told for pattern, taps in _SECTIONS if pattern.search(text) for tap in taps[:1]}
    own = {r.tap.split(".")[0]: r.value for r in moment.reads if r.value is not None}
    pressed = sorted(tap for tap in where if own.get(tap, 0.0) > lim.LIVE.si)
    if not pressed or set(case.before(moment).zero) & where or _AT_ZERO.search(moment.text):
        return
    seen = f"A cover or plug is undone with {pressed[0]} at {case.told(own[pressed[0]])}, the note says."
    yield breach("RUN-30", "V11", "flag", moment, seen, remedy)


_AT_ZERO: Final = re.compile(
    r"\b(?:zeros?|noughts?|nil)\b[^.;]{0,12}\b(?:seen|read|first|before|on T[123]|at T[123])\b|"
    r"\bsee(?:n|ing)? zeros?\b|\bpressure (?:was )?(?:off and )?seen off\b|"
    r"\bT1,? (?:(?:at|is|was|said|reads?|read|to|on|came to|down to|fell to) )*"
    r"(?:0|zero|nought|nil|none)\b(?!\.\d)|"
    r"\b(?:at|to) (?:nought|zero|nil)\b",
    re.IGNORECASE,
)
"""A section said to have stood at zero; what T1 shows later is not of the opening."""
_VENTED_TO_ZERO: Final = re.compile(
    r"\bT1\b[^.;]{0,25}\bvented\b[^.;]{0,10}\b(?:0|zeros?|nil) on (?:their |"
    r"the )?(?:own )?(?:live )?gauges\b",
    re.IGNORECASE,
)
_PILOT: Final = re.compile(r"pilot|relay|sensing|control|filter", re.IGNORECASE)


def _own_line_at_zero(moment: Moment, act: Act) -> bool:
    """Return whether a pilot is opened after its own line was shut off, vented and seen at zero."""
    if not _PILOT.search(act.thing):
        return False
    ahead = moment.acts[: moment.acts.index(act)]
    vented = any(a.do in ("vent", "drain") and _PILOT.search(a.thing) for a in ahead)
    zero = any(
        r.value is not None
        and abs(r.value) <= lim.LIVE.si
        and (_PILOT.search(r.mark) or r.tap.split(".")[0] in ("SO", "RV", "P"))
        for r in moment.reads
    )
    return vented and (zero or any(re.search(r"\b(?:0|zero|nil)\b", a.detail) for a in ahead))


_READ_TOGETHER: Final = re.compile(
    r"\b(?:T[0-4]|gauges?|readings?|needles|pressures?)\b[^.;,]{0,20}\b(?:together|at the same time|both)\b",
    re.IGNORECASE,
)
"""Readings that go together: no settings."""


def _one_change(case: Case) -> Iterator[Breach]:
    steps = (
        "EF3",
        "ES1",
        "ES2",
        "ES3",
        "ES4",
        "ES5",
        "DS2",
        "DS3",
        "DS4",
        "EF1",
        "EF2",
        "F1",
        "F3",
        "F5",
        "H1",
        "H3",
        "H5",
        "Y7",
    )
    for moment in case.story.of(*steps):
        moved = {_owner(a) for a in moment.done("raise", "lower", "adjust", "turn", "set") if _owner(a)}
        both = (
            moment.step not in ("H3", "F3", "F5")
            and len(moved) > 1
            and (moment.step not in ("F1", "ES5", "ES3", "ES4", "DS4") or "needle" in moved)
        )
        mood = said(
            moment.text,
            _TOGETHER,
            re.compile(r"pilot|screw|needle|setting|nut|reducer|shut-?off", re.IGNORECASE),
        )
        turned = any(
            c.done and _TOGETHER.search(_READ_TOGETHER.sub(" ", c.text)) and c.about(cues.HANDLED)
            for c in clauses(moment.text)
        )
        if both or (mood == "done" and turned) or _with_needle(moment) or _hand_each(moment, len(moved) > 1):
            seen = "Two settings are changed at once."
            yield breach("RUN-25", "V6", "flag", moment, seen, "Change one, wait, read; then the other.")


_SCREWS: Final = r"(?:['’]s)?(?: (?:pilot|screw|setting|spring|adjuster))*"
_REDUCER: Final = rf"\b(?:reducers?|reducing valve|(?-i:RV)|duty){_SCREWS}"
_SHUT_OFF: Final = rf"\b(?:shut-?off|(?-i:SO)|trip){_SCREWS}"
_MOVED_WAY: Final = (
    r"(?: (?:was|is|being|screwed|wound|turned|brought|eased|went|going|coming|let|taken|a bit|slowly))* "
    r"(?:up|down|in|out|raised|lowered|higher|lower)\b"
)
_MOVING: Final = (
    r"\b(?:rais|lower|turn|wind|eas|screw|adjust|trimm|bring|brought|wound|took|tak|work|let)\w*(?: up| "
    r"down)? "
    r"(?:the |his |her |its )?"
)
_BOTH_MOVED: Final = tuple(
    re.compile(rf"{thing}{_MOVED_WAY}|{_MOVING}{thing}", re.IGNORECASE) for thing in (_REDUCER, _SHUT_OFF)
)
_AS_ONE: Final = re.compile(
    r"\b(?:together|simultaneous\w*|concurrent\w*|in parallel|at (?:the same time|once)|(?:a|one) hand "
    r"(?:each|on "
    r"each)|each (?:hand|a screw|took one)|with (?:both|two) hands|with the other hand|one of us (?:on|"
    r"at) each|"
    r"turn (?:for|by) turn|in (?:step|one go|the same (?:go|breath|minute))|same time|while|whilst|"
    r"meanwhile)\b",
    re.IGNORECASE,
)
_AFTERWARDS: Final = re.compile(r"\b(?:then|afterwards?|once|after|next|first|one after)\b", re.IGNORECASE)


def _hand_each(moment: Moment, acted: bool) -> bool:
    """Return whether reducer and shut-off are said to be moved at one time, by acts or in a sentence."""
    if acted and any(
        _AS_ONE.search(a.detail) for a in moment.done("raise", "lower", "adjust", "turn", "set")
    ):
        return True
    return any(
        _AS_ONE.search(sentence)
        and not _AFTERWARDS.search(sentence)
        and all(moved.search(sentence) for moved in _BOTH_MOVED)
        and all(c.done for c in clauses(sentence))
        for sentence in re.split(r"(?<=[.!?])\s+", moment.text)
    )


def _with_needle(moment: Moment) -> bool:
    """Return whether a needle and a setting are both said to be changed at one moment, before one reading."""
    needle = [
        c
        for c in clauses(moment.text)
        if c.done and re.search(r"\bneedles?\b", c.text) and c.has(cues.HANDLED)
    ]
    needle += [
        c
        for c in clauses(moment.text)
        if c.done and re.search(r"\bneedles?\b[^.;]{0,20}\b(?:opened|closed|shut|moved|in|out)\b", c.text)
    ]
    setting = any(
        "pilot" in a.thing or "screw" in a.thing for a in moment.done("raise", "lower", "adjust", "turn")
    )
    each = re.search(
        r"\b(?:screw|nut|setting|pilot)s? and (?:its |the )?(?:\w+ )?(?:needle|screw|"
        r"nut)s?\b[^.;]{0,30}\b(?:each|both|together)",
        moment.words,
    )
    apart = re.search(
        r"\bneedles?\b[^.;]{0,30}\b(?:in|out|opened|closed)\b and (?:the )?(?:\w+ )?(?:screw|"
        r"setting|pilot)\b"
        r"[^.;]{0,25}\b(?:up|down|in|out|raised|lowered)\b",
        moment.words,
    )
    if apart and moment.step in ("ES1", "ES2", "ES3", "ES4", "EF1", "EF2", "H1", "H5", "Y7", "DS2", "DS4"):
        return True
    return ((bool(needle) and setting) or bool(each)) and moment.step in (
        "ES1",
        "ES3",
        "ES4",
        "EF1",
        "H1",
        "DS2",
        "DS4",
        "Y7",
    )


def _owner(act: Act) -> str:
    thing = act.thing.casefold()
    for owner in ("shut-off", "reducer", "needle", "lb", "standby"):
        if owner in thing:
            return "needle" if "needle" in thing else owner
    return ""
