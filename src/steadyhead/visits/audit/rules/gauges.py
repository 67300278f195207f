"""V7: a gauge whose needle cannot move tells yesterday's pressure, and one on another tap tells another's."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import cues, words
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach, Level
from steadyhead.visits.audit.model import Moment, Read
from steadyhead.visits.audit.notes import Clause, clauses, stated
from steadyhead.visits.audit.rules.case import TRIP_STEPS, Case, breach, stream_of

_GAUGE: Final = re.compile(
    r"\b(?:gauges?|needle(?! (?:valve|of))|pointer|dial|manometer|transducer|[TPD]G-?\d*|G-\d+|"
    r"T[0-4] (?:cock|gauge|hose))\b",
    re.IGNORECASE,
)
_NOT_OURS: Final = re.compile(
    r"\b(?:fixed|station|wall|panel|owner['’]?s?|old|local|built[- ]in|spare|unused) (?:\w+ )?gauge|"
    r"\bgauge (?:of the station|on the wall|in the panel)\b",
    re.IGNORECASE,
)
_COCK: Final = re.compile(
    r"\b(?:(?:gauge |its |the |that |this |root |test )*cocks?|snubber|restrictor|damper|orifice|"
    r"gauge (?:line|hose|valve|tap)|(?:its|the) "
    r"hose|(?:its|the) tap(?:ping)?)\b",
    re.IGNORECASE,
)
_BLOCKED: Final = re.compile(
    r"\b(?:shut|closed|isolated|blocked|plugged|choked|frozen|kinked|clogged|not (?:been )?(?:open(?:ed)?|"
    r"on)|"
    r"never (?:been )?(?:open(?:ed)?|on)|turned off|pinched|crosswise|across)\b",
    re.IGNORECASE,
)
_LATE: Final = re.compile(
    r"\b(?:found|had been|has been|must have|turned out|all along|all (?:day|morning|afternoon|the time)|"
    r"still|"
    r"the whole time|throughout|since|only now|notic\w+|realis\w+|realiz\w+|discover\w+|half|nearly|almost|"
    r"partly|"
    r"quarter|see now|saw that|saw it|afterwards|later|too late|forgot\w*|never)\b",
    re.IGNORECASE,
)
_CHOKED: Final = re.compile(r"\b(?:blocked|plugged|choked|frozen|kinked|clogged)\b", re.IGNORECASE)
_NOT_BACK: Final = re.compile(
    r"\b(?:not|never|n['’]t|no longer)(?: \w+){0,2}? (?:return|come|go|fall|drop|went|came|get|"
    r"reach)\w*(?: back)?(?: down)? "
    r"(?:to|on) (?:its |the )?(?:zero|peg|stop|nought|nothing|0|rest)\b|\breads? the same (?:whether|with)\b",
    re.IGNORECASE,
)
_AT_A_FIGURE: Final = re.compile(
    r"\b(?:stays?|stayed|stands?|stood|stuck|sticks?|hangs?|hung|sits?|sat|sitting|remain(?:s|ed)?|left|parked|"
    r"keeps?|kept|holds?|still|did not (?:go|come|drop|fall))\b[^,;.\d]{0,20}?"
    r"(?<![\d.,])(?!0+(?:[.,]0+)?\b)\d+(?:[.,]\d+)? ?(?:bar|psi|kPa|mbar|mH2O|m)\b(?! ?/)",
    re.IGNORECASE,
)
"""What a gauge shows when its section was vented."""
_WHEN_TAPPED: Final = re.compile(
    r"\b(?:tapped|knocked|rapped|flicked)\b[^.;]{0,25}\b(?:dropped|jumped|fell|rose|moved|came|went|"
    r"sprang)\b",
    re.IGNORECASE,
)
_DEAD: Final = re.compile(
    r"\b(?:(?<!not )(?:stuck|dead(?! (?:level|flat|steady|still|true|even|calm|on|right))|jammed|frozen|"
    r"faulty|defective|seized)|(?:hangs?|hung|sticks?) (?:at|on|"
    r"below|"
    r"above|near|up)|out of order|(?:mechanism|tube|linkage) (?:bent|broken|slipped)|"
    r"(?:be|was|is|were|been) (?:bent|rubbing|loose)|(?:came|come|comes) (?:alive|to life)|woke up|"
    r"only moved|rapped|"
    r"fell (?:on|off|down|from)|was dropped|zero (?:now )?(?:reads?|shows?|is|has) (?:\w+ )?(?:0?[.,]?\d|"
    r"off|moved|shifted))\b",
    re.IGNORECASE,
)
_STILL: Final = re.compile(
    r"\b(?:not|never|n['’]t|hardly|nothing|without)\b(?: \w+){0,3}? (?:mov\w+|stir\w*|react\w*|follow\w*|"
    r"respond\w*|budg\w*|twitch\w*|drop\w*|f[ae]ll\w*|return\w*|come (?:back|down|off)|go (?:back|down)|"
    r"chang\w*|lift\w*|quiver\w*)\b|\b(?:went|kept|goes|still) (?:on )?(?:showing|reading|showed|shows?|"
    r"reads?)\b|"
    r"\bstood (?:quite )?still\b|\bmotionless\b",
    re.IGNORECASE,
)
_SHOULD_MOVE: Final = re.compile(
    r"\b(?:vent\w*|drain\w*|let (?:down|off|go)|bled|blew off|IV[12] (?:was |were )?(?:being )?(?:turned|"
    r"opened|"
    r"worked|moved|shut|closed)|opened (?:the )?(?:IV[12]|drain|TD)|tapped|knocked|hose (?:was )?off|off "
    r"the tap|disconnected|taken off|T[0-4] (?:was |had been )?"
    r"(?:drained|let down|at zero|down to)|with (?:the )?(?:others?|twin)|all (?:day|morning|along))\b",
    re.IGNORECASE,
)
_REPEATED: Final = re.compile(
    r"\b(?:repeat\w*|begun again|started again|from the start|anew|afresh|read again|re-?read|once more|"
    r"(?:test|run|reading|watch)s? (?:was |were )?(?:made |done |taken )?again|new test|before (?:any|the) "
    r"reading|before (?:it was |anything was |we )?(?:read|used)|did not use)\b",
    re.IGNORECASE,
)
_REMEDY: Final = "Vent it, see zero; read again with a live gauge."


def rules(case: Case) -> Iterator[Breach]:
    """Yield gauges that were not live, and readings that another place gave."""
    yield from _told(case)
    yield from _one_value(case)
    yield from _vented(case)
    yield from _elsewhere(case)


_BEFORE_COCK: Final = re.compile(
    r"\bbefore (?:the |its |a )?(?:gauge )?cock (?:was |is )?(?:shut|closed)\b", re.IGNORECASE
)
"""A cock that is shut afterwards."""


_WOULD_NOT: Final = re.compile(r"\b(?:would not|wouldn['’]t)(?= (?:go|come|drop|fall|follow))", re.IGNORECASE)
"""What a gauge refused to do is told as done."""


def _told(case: Case) -> Iterator[Breach]:
    for moment in case.story.moments:
        text = _BEFORE_COCK.sub(" ", moment.text)
        named = moment.changed(text=_WOULD_NOT.sub("did not", _as_gauges(case, text)))
        mood = stated(named.text, cues.DEAD_GAUGE, _GAUGE_OLD) or _dead(named) or _shut_since(named)
        if not mood or _cured(case, moment) or _wanted_still(moment) or not _ours(case, moment):
            continue
        level: Level = _level(case, moment) if mood == "done" else "info"
        seen = "A gauge was shut off or did not move, the note says."
        yield breach("RUN-26", "V7", level, moment, seen, _REMEDY)


def _as_gauges(case: Case, text: str) -> str:
    """Return a text in which the gauges of the record, whatever their tags, are called gauges."""
    own = [n for n, tool in case.story.instruments.items() if len(n) > 1 and tool.error is not None]
    return re.sub(rf"(?<![\w-])(?:{'|'.join(map(re.escape, own))})(?![\w-])", "TG-1", text) if own else text


_GAUGE_OLD: Final = re.compile(r"gauge|needle|TG|PG|DG|G-?\d", re.IGNORECASE)


def _shut_since(moment: Moment) -> str | None:
    """Return `done` where a gauge's cock was shut since a proof began, or a tap did not follow its drain."""
    told = [s for s in re.split(r"(?<=[.!?])\s+", moment.text) if _SINCE.search(s) or _NOT_FOLLOWS.search(s)]
    return "done" if any(not words.PLANNED.search(s) and not words.EARLIER.search(s) for s in told) else None


_NOT_FOLLOWS: Final = re.compile(
    r"\bT[1-3](?: gauge)? (?:stayed|stays|stands?|stood|remained)\b[^.;]{0,25}\b(?:even|also|though)\b"
    r"[^.;]{0,25}"
    r"\b(?:TD|TD2|drain)\b[^.;]{0,15}\bopen",
    re.IGNORECASE,
)


def _dead(moment: Moment) -> str | None:
    """Return how firmly a note tells of a gauge cut off, stuck, or still when it should have moved."""
    parts = clauses(moment.text)
    found: str | None = None
    for k, clause in enumerate(parts):
        near = f"{clause.before} {clause.text}"
        if clause.told == "not done" or not _GAUGE.search(near):
            continue
        follows = parts[k + 1].text if k + 1 < len(parts) else ""
        late = _LATE.search(f"{clause.text} {follows}") or clause.has(_CHOKED)
        cut = clause.has(_COCK) and clause.has(_BLOCKED) and late
        own = clause.has(_GAUGE) and clause.has(_DEAD)
        still_up = clause.has(_GAUGE) and (clause.has(_NOT_BACK) or clause.has(_WHEN_TAPPED))
        still_up = still_up or (moment.step == "B2" and clause.has(_AT_A_FIGURE) and _of_section(near))
        around = f"{clause.before} {clause.text} {follows}"
        still = clause.has(_STILL) and clause.has(_GAUGE) and _SHOULD_MOVE.search(around)
        if still and re.search(r"pump", f"{clause.text} {follows}", re.IGNORECASE):
            still = None
        if (cut and not _set_so(clause)) or (own and not clause.negated) or still or still_up:
            if clause.told == "done":
                return "done"
            found = "doubtful"
    return found


def _of_section(text: str) -> bool:
    """Return whether a gauge is spoken of that hangs on a section that was vented, not on the zone's side."""
    return bool(_GAUGE.search(text)) and not re.search(r"\bT4\b|\bzone\b|\bother feed\b", text)


_SET_SO: Final = re.compile(
    r"\bper\b|\brule\b|\b(?:none|no cock|not one|every|all|each)\b[^.;]{0,20}\b(?:shut|closed|open)\b|"
    r"\b(?:is|are|was|were)? ?(?:then |now )?(?:shut|closed) (?:again|after|for leaving|when|on leaving)\b",
    re.IGNORECASE,
)


def _set_so(clause: Clause) -> bool:
    """Return whether a cock is shut on purpose, as when people leave, or none was found so."""
    return clause.has(_SET_SO) or (
        clause.negated and clause.how(_BLOCKED) == "not done" and not clause.has(_OPEN)
    )


_OPEN: Final = re.compile(r"\bopen", re.IGNORECASE)


def _ours(case: Case, moment: Moment) -> bool:
    """Return whether the gauge spoken of is one that the record reads."""
    named = [n for n in case.story.instruments if n and n.casefold() in moment.words]
    if named:
        return any(r.instrument in named for m in case.story.moments for r in m.reads)
    return not _NOT_OURS.search(moment.text)


_RESTS_ON_IT: Final = ("D2", "Y2", "H2")
"""Steps whose proof rests on a gauge that should stand still, which a dead one does as well."""
_SINCE: Final = re.compile(
    r"\bcock\b[^.;]{0,40}\b(?:had been|was|were|has been) (?:shut|closed)\b[^.;]{0,12}\bsince (?:the )?"
    r"(?:forward|tightness|lock-?up|D2|H2|first run|runs?|proof)",
    re.IGNORECASE,
)


def _level(case: Case, moment: Moment) -> Level:
    """Return `block` where a proof rests on the gauge and no full one follows with a live one."""
    since = _SINCE.search(moment.text)
    if moment.step in _RESTS_ON_IT or since:
        own = (moment.step,) if not since else ("H2",) if "lock" in since.group().casefold() else ("D2", "Y2")
        if not any(m.reads for m in case.story.of(*own) if m.index > moment.index):
            return "block"
    runs = [m.index for m, _ in case.story.runs() if stream_of(m) == stream_of(moment)]
    after = [k for k in runs if k > moment.index]
    tools = {r.instrument for m, _ in case.story.runs() for r in m.reads if r.is_trip}
    named = [n for n in case.story.instruments if n and n.casefold() in moment.words]
    ours = bool(tools & set(named)) if named else moment.step in TRIP_STEPS
    late = bool(runs) and (moment.index >= runs[0] or (moment.step == "B2" and bool(named)))
    anew = len(after) >= lim.RUNS and moment.step != "B2"
    return "block" if late and ours and not anew else "flag"


_STILL_IS_WELL: Final = re.compile(
    r"\b(?:tight|flat|no leak|steady|(?<!s )holds|held|(?<!run )(?<!runs )(?<!ran )(?<!running )dry)\b",
    re.IGNORECASE,
)
_NOT_LIVE: Final = re.compile(r"\bcock\b[^.;]{0,30}\b(?:shut|closed)\b|stuck|frozen|vent", re.IGNORECASE)


_HELD_STILL: Final = ("D2", "Y2", "ES3", "DS3")
"""Steps at which a pressure is held: a needle at rest is what they look for."""
_UNMOVED: Final = re.compile(
    r"\b(?:not|never|n['’]t)\b[^.;,]{0,12}\b(?:stir\w*|mov\w*|breathe\w*|twitch\w*|budge\w*|quiver\w*|chang\w*)\b",
    re.IGNORECASE,
)


def _wanted_still(moment: Moment) -> bool:
    """Return whether stillness is what was looked for, as of a section that holds."""
    hit = [s for s in re.split(r"(?<=[.!?])\s+", moment.text) if cues.DEAD_GAUGE.search(s)]
    if moment.step in _HELD_STILL and not _NOT_LIVE.search(moment.text) and all(map(_UNMOVED.search, hit)):
        return bool(hit) or (
            not _SINCE.search(moment.text)
            and not _NOT_FOLLOWS.search(moment.text)
            and bool(_UNMOVED.search(moment.text))
        )
    return bool(hit) and all(_STILL_IS_WELL.search(s) and not _NOT_LIVE.search(s) for s in hit)


_CURED: Final = re.compile(
    r"\b(?:cock opened|opened (?:it|the cock)|then moved|comes? back|replaced|swapped|other gauge|"
    r"set aside|"
    r"read again|re-?read|put aside|tagged|third (?:gauge|instrument)|changed (?:it )?for|"
    r"took another|spare)\b",
    re.IGNORECASE,
)
_PUT_AWAY: Final = re.compile(r"\bnot used\b", re.IGNORECASE)
_AT_FIRST: Final = ("A5", "A6", "A7", "B1", "B2", "Y1", "R4")
"""Steps at which gauges are put on and proved live: what is found and mended there has read nothing yet."""


def _cured(case: Case, moment: Moment) -> bool:
    own = any(c.how(_CURED) == "done" or c.has(_PUT_AWAY) for c in clauses(moment.text))
    again = any(c.told == "done" and c.how(_REPEATED) == "done" for c in clauses(moment.text))
    if moment.step in TRIP_STEPS and _proved_anew(case, moment, own=own):
        return True
    if again and (moment.step not in TRIP_STEPS or _runs_after(case, moment) >= lim.RUNS):
        return True
    if moment.step in _AT_FIRST and (own or re.search(r"\bopened\b|\bfreed\b|\bnow\b", moment.words)):
        return True
    return own and not re.search(r"afterwards|later found|only now|had been|was found", moment.words)


def _proved_anew(case: Case, moment: Moment, *, own: bool) -> bool:
    """Return whether a full proof follows, on another gauge or after the cure."""
    later = [(m, r) for m, r in case.story.runs() if m.index > moment.index]
    old = {r.instrument for r in moment.reads if r.is_trip}
    return len(later) >= lim.RUNS and (own or not old & {r.instrument for _, r in later})


def _runs_after(case: Case, moment: Moment) -> int:
    return sum(m.index > moment.index for m, _ in case.story.runs())


def _one_value(case: Case) -> Iterator[Breach]:
    for moment in case.story.of("F1", "F3", "Y4", "Y6"):
        holds = [r.value for r in moment.reads if r.is_hold]
        if (
            moment.trips
            and holds
            and len({r.value for r in moment.reads if r.tap == "T3"}) == 1
            and len(moment.at_tap("T3")) > 2
        ):
            seen = "The gauge shows one value before, at and after the trip."
            yield breach("RUN-26", "V7", "flag", moment, seen, _REMEDY)


def _vented(case: Case) -> Iterator[Breach]:
    """A gauge that is vented and does not come to zero."""
    for moment in case.story.of("B2"):
        by_tap: dict[str, list[Read]] = {}
        for read in moment.reads:
            by_tap.setdefault(read.tap, []).append(read)
        for tap, reads in by_tap.items():
            left = [r for r in reads if r.value is not None and r.value > lim.LIVE.si * 3]
            gone = [r for r in reads if r.value is not None and abs(r.value) <= lim.LIVE.si]
            if still := _stands_alone(left, gone):
                yield from _used_on(case, moment, still)
            if left and not gone and tap in ("T1", "T2", "T3") and moment.passed():
                seen = f"{tap} still shows {case.told(left[0].value or 0.0)} after its section was vented."
                remedy = "Trapped pressure or a dead gauge: find which before a cover is opened."
                yield breach("RUN-26", "V7", "flag", moment, seen, remedy)
                return


def _stands_alone(left: list[Read], gone: list[Read]) -> Read | None:
    """Return the reading of a gauge that stands where another on the same tap has come to zero."""
    zero = {r.instrument for r in gone}
    return next((r for r in left if zero and r.instrument and r.instrument not in zero), None)


def _used_on(case: Case, moment: Moment, still: Read) -> Iterator[Breach]:
    """A gauge that did not follow, read later without having been seen at zero or beside another one."""
    if _cured(case, moment):
        return
    for later in case.story.moments[moment.index + 1 :]:
        own = [r for r in later.reads if r.instrument == still.instrument]
        beside = {(r.tap, r.value) for r in later.reads if r.instrument != still.instrument}
        near = any(o.tap == tap and _alike(o, value) for o in own for tap, value in beside)
        named = still.instrument.casefold() in later.all_words and _SEEN_LIVE.search(later.all_words)
        shown = any(r.value is not None and abs(r.value) <= lim.LIVE.si for r in own)
        if shown or near or named:
            return
        if own and (later.trips or later.step in ("D2", "Y2", "H2")):
            seen = (
                f"{still.instrument} stands at {case.told(still.value or 0.0)} with {still.tap} vented, "
                f"and is "
                f"read at {later.step} without having been seen live."
            )
            yield breach("RUN-26", "V7", "block", moment, seen, _REMEDY)
            return


_SEEN_LIVE: Final = re.compile(
    r"\b(?:compar\w*|agree\w*|zero\w*|vented|beside|against|follow\w*|live|cock (?:was |now )?opened|"
    r"mov(?:es|ed))\b",
    re.IGNORECASE,
)


def _alike(read: Read, value: float | None) -> bool:
    return read.value is not None and value is not None and abs(read.value - value) <= lim.EXPECTED_SLACK.si


_READ: Final = re.compile(
    r"\b(?:readings?|figures?|values?|gauges?|hoses?|taps?|numbers?|[TPD]G-?\d+)\b", re.IGNORECASE
)
_OTHER_PLACE: Final = re.compile(
    r"\b(?:swapped|exchanged|interchanged|mixed up|crossed|transposed|the (?:other|wrong) way (?:round|"
    r"about)|"
    r"(?:wrong|other|another) (?:tap|hose|place|side))\b",
    re.IGNORECASE,
)


def _elsewhere(case: Case) -> Iterator[Breach]:
    """A later word that a reading was taken at another place than is written."""
    for moment in case.story.moments:
        if moment.step not in _AT_FIRST and _wrong_place(moment):
            seen = "A reading was taken at another place than is written, the note says."
            yield breach("RUN-29", "V10", "flag", moment, seen, "Read again at the tap that is meant.")


_NOT_THERE: Final = re.compile(
    r"\b(?:on|at|of|from|in) T[0-4][ab]?,? (?:and )?not (?:on |at |of |from )?T[0-4]|\bnot (?:on|at|of|"
    r"from) T[0-4],? but\b",
    re.IGNORECASE,
)


def _wrong_place(moment: Moment) -> bool:
    """Return whether a note says so of a reading that was not taken again."""
    if re.search(r"put right|changed back|before (?:any|the)|correct\w*|third|agree", moment.words):
        return False
    parts = clauses(moment.text)
    if any(c.how(_REPEATED) == "done" for c in parts):
        return False
    swapped = any(c.how(_OTHER_PLACE) == "done" and c.has(_READ) for c in parts) and _LATE.search(moment.text)
    there = (
        _NOT_THERE.search(moment.text) and _READ.search(moment.text) and any(c.told == "done" for c in parts)
    )
    return bool(swapped or (there and not moment.reads))
