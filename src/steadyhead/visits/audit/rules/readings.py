"""Whether readings count: V5 (steady) and V10 (circumstances); live gauges are in `gauges`."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import cues
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach, Level
from steadyhead.visits.audit.model import Moment, Read
from steadyhead.visits.audit.notes import clauses, pascals, said, seconds, stated
from steadyhead.visits.audit.rules.case import Case, breach

PROOF_STEPS: Final = (
    "C5",
    "D2",
    "D3",
    "EF1",
    "ES1",
    "ES2",
    "ES3",
    "DS2",
    "DS3",
    "DS5",
    "F1",
    "F2",
    "F3",
    "F4",
    "H1",
    "H2",
    "H3",
    "H4",
    "H5",
    "Y2",
    "Y3",
    "Y4",
    "Y6",
    "Y7",
    "R7",
    "R8",
)
_TRIP_STEPS: Final = ("F1", "F2", "F3", "F4", "Y4", "Y6", "DS6", "R8")
_SWINGS: Final = re.compile(
    r"\b(?:swing\w*|swung|still on the move|(?:not|never|n['’]t)(?: \w+){0,2}? (?:come|came|be|"
    r"been)? ?(?:to rest|at rest|stood still)|"
    r"(?:still|yet) (?:going|coming|creeping|edging|on its way) (?:up|down)|swaying|(?:not|never|"
    r"n['’]t)(?: \w+){1,2}? settled|danc\w*|jitter\w*|"
    r"trembl\w*|oscillat\w*|pulsat\w*|hunt\w*|wander\w*|"
    r"bounc\w*|flutter\w*|unsteady|not (?:yet )?(?:steady|"
    r"settled|"
    r"stable)|never settled|jump\w* between|still (?:moving|"
    r"rising|falling|settling|drifting|"
    r"climbing))\b|"
    r"\b(?:needle|pointer|hand|pressure|reading|gauge|T[0-4])\b[^.;,]{0,25}\b(?:to and fro|back and forth|"
    r"walking|restless|(?:would|will|did|does) not (?:settle|rest|stand still|hold still)|"
    r"(?:wouldn|won|didn|doesn)['’]t (?:settle|rest|stand still|hold still))\b",
    re.IGNORECASE,
)
_SWING_TOLD: Final = re.compile(r"\b(?:p-?p|peak[- ]to[- ]peak|period|every \d+ s|mean)\b", re.IGNORECASE)
_NOT_WAITED: Final = re.compile(
    r"\b(?:in passing|on the (?:fly|move|run)|did not wait|"
    r"not waited|"
    r"no wait\w*|without waiting|(?:taken|read|written|noted|put down) (?:as soon as|the moment|right after|"
    r"before it (?:had|was)|while it)|on its way (?:up|down)|read (?:at once|"
    r"straight ?away|"
    r"on the move|in passing|off quickly)|"
    r"caught (?:in passing|on the way)|"
    r"waited (?:only )?(?:a few|5|ten|10|five) s\w*)\b",
    re.IGNORECASE,
)

_MIDDLE: Final = re.compile(
    r"\b(?:average|middle|mean)(?: of (?:it|the \w+|its \w+))? (?:(?:was|is|were) )?(?:put|what|written|"
    r"taken|noted|read|entered)\b|\b(?:took|put down|wrote|noted|entered|taking) (?:the|its|a) "
    r"(?:middle|mean|average)\b",
    re.IGNORECASE,
)
"""A figure made of a needle that did not rest."""
_SWING_MEASURED: Final = re.compile(
    r"\b(?:p-?p|peak[- ]to[- ]peak|period|every \d+ s|swing\w* (?:of )?\d)", re.I
)
"""How far and how fast it swings: with its mean it is a reading (V5)."""


def rules(case: Case) -> Iterator[Breach]:
    """Yield readings that do not count."""
    yield from _steady(case)
    yield from _circumstances(case)
    yield from _height(case)
    yield from _memory(case)


def _steady(case: Case) -> Iterator[Breach]:
    for moment in (m.joined() for m in case.story.of(*PROOF_STEPS)):
        short = _short(case, moment)
        swinging = [r for r in moment.reads if r.swing and not r.swing_whole and not r.is_passing]
        if _not_counted(case, moment):
            continue
        if short:
            seen = f"{short[0].tap} stood still for {short[0].steady:g} s; {lim.STEADY.text} are asked."
            yield breach(
                "RUN-24",
                "V5",
                "flag",
                moment,
                seen,
                "Wait until it stands still, or record mean, swing and period.",
            )
        elif swinging or (_swings(moment) and not _SWING_TOLD.search(moment.text)):
            if not swinging and moment.step in ("ES2", "H5", "EF2") and not moment.reads:
                continue
            seen = (
                f"{(swinging or moment.reads)[0].tap if moment.reads else 'The reading'} "
                "was not steady when it was taken."
            )
            yield breach(
                "RUN-24",
                "V5",
                "flag",
                moment,
                seen,
                "Wait until it stands still, or record mean, swing and period.",
            )
        elif stated(moment.text, _NOT_WAITED) == "done" or _read_after(moment) or _middle_taken(moment):
            yield breach(
                "RUN-24",
                "V5",
                "flag",
                moment,
                "The note says nobody waited for a steady reading.",
                "Read again when it stands still.",
            )


_PROOF_RESTS: Final = ("D2", "D3", "EF1", "ES1", "ES3", "DS2", "DS3", "H1", "DS5", "Y2", "Y3", "Y7", "R7")
"""Steps whose proof rests on the reading taken last at a tap and a flow; H2 and H4 on what is told below."""
_ON_THE_WAY: Final = re.compile(
    r"\b(?:before (?!(?:the )?nut)|not counted|not steady|not used|start|first|begin|low|dip|below|"
    r"drain|fill|settling|passing|on the way|hunting|swing|while|during)",
    re.IGNORECASE,
)
"""What a reading is marked as that no proof rests on."""


def _short(case: Case, moment: Moment) -> list[Read]:
    """Return readings that a proof rests on and that were plainly not waited for.

    That is the last one at its tap and its flow, unless the step was read again later, and every point
    of a flow test. A value on the way, at zero, or told with its swing rests nothing.
    """
    if moment.trips or moment.step not in (*_PROOF_RESTS, "H2", "H4") or _SWING_TOLD.search(moment.text):
        return []
    last = {(r.tap, r.mark, _flowing(r)): r for r in moment.reads if r.value is not None}
    return [
        r
        for r in (moment.reads if moment.step == "H4" else last.values())
        if r.steady is not None
        and r.steady < lim.STEADY_CLEARLY_SHORT.si
        and not (r.is_passing or r.is_hold or r.swing or _ON_THE_WAY.search(r.mark))
        and abs(r.value or 0.0) > lim.LIVE.si
        and not _read_again(case, moment, r)
    ]


def _flowing(read: Read) -> bool:
    return (read.flow or 0.0) > lim.NO_FLOW.si


def _read_again(case: Case, moment: Moment, read: Read) -> bool:
    """Return whether the same step has a later reading at the same tap, with or without flow as this one."""
    return any(
        r.tap == read.tap and _flowing(r) == _flowing(read) and r is not read and r.value is not None
        for m in case.story.of(moment.step)
        if m.index > moment.index
        for r in m.reads
    )


_NOT_COUNTED: Final = re.compile(
    r"\bnot (?:yet )?(?:counted|taken|used|a reading|written as)|\b(?:void|discarded|does not count)\b|"
    r"\bnot (?:the|our) reading\b",
    re.IGNORECASE,
)


def _not_counted(case: Case, moment: Moment) -> bool:
    """Return whether the record itself sets this reading aside and the step is read again later."""
    aside = _NOT_COUNTED.search(f"{moment.text} {' '.join(r.mark for r in moment.reads)}")
    return bool(aside) and any(m.index > moment.index and m.reads for m in case.story.of(moment.step))


def _middle_taken(moment: Moment) -> bool:
    """Return whether the middle of a swing was written down, and the swing itself was not."""
    if _SWING_MEASURED.search(moment.text) or any(r.swing for r in moment.reads):
        return False
    return stated(moment.text, _MIDDLE) == "done"


_TAKEN: Final = re.compile(r"\b(?:took|taken|read|wrote|written|noted)\b[^.;]{0,25}\bafter\b", re.IGNORECASE)


def _read_after(moment: Moment) -> bool:
    """Return whether a note gives a wait before the reading that is plainly too short."""
    return bool(moment.reads) and any(
        c.how(_TAKEN) == "done" and (took := seconds(c.text)) and max(took) < lim.STEADY_CLEARLY_SHORT.si
        for c in clauses(moment.text)
    )


def _swings(moment: Moment) -> bool:
    for clause in clauses(moment.text):
        found = _SWINGS.search(clause.text)
        if not found or re.search(
            r"\b(?:no|without|never any|not any) (?:\w+ )?(?:swing|hunt|wander|bounc)|"
            r"needle swing|swings? dies|until|died|gone|calm",
            clause.text,
            re.IGNORECASE,
        ):
            continue
        if (
            (_STILL_GOES.search(clause.text) or _OF_READING.search(f"{clause.before} {clause.text}"))
            and clause.mood != "doubtful"
        ) and (
            clause.mood == "done"
            or re.search(
                r"\b(?:not|never|n['’]t)\b[^.;,]{0,15}\b(?:steady|settled|stable|rest|still)",
                clause.text,
                re.IGNORECASE,
            )
        ):
            rest = moment.text[max(0, moment.text.find(clause.text)) + found.start() :]
            return bool(moment.reads) and not _STOOD.search(rest)
    return False


_OF_READING: Final = re.compile(r"\bT[0-4]\b|gauge|needle|pointer|pressure|reading|outlet", re.IGNORECASE)
_STILL_GOES: Final = re.compile(
    r"\b(?:not|never|n['’]t)\b(?: \w+){0,2}? to rest\b|"
    r"\b(?:still|yet) (?:going|coming|creeping|edging|on its way|rising|falling|climbing|settling|"
    r"drifting)\b",
    re.IGNORECASE,
)
_STOOD: Final = re.compile(
    r"re-?read|read (?:again|once more)|wait\w*|then (?:steady|still|flat)|steady (?:after|from|before)|"
    r"settled (?:after|at|to|within)|came to rest|stood (?:still|a|the|for)|repeated|minute still|"
    r"flat (?:after|from|then)|[.;] ?(?:stable|steady|calm)\b",
    re.IGNORECASE,
)
"""What a note says after a swing that ended before the reading."""


def _circumstances(case: Case) -> Iterator[Breach]:
    steps = tuple(s for s in PROOF_STEPS if s not in ("C5",))
    for moment in case.story.of(*steps):
        for read in moment.reads:
            lacks = _lack(read, moment)
            if lacks:
                level: Level = (
                    "block"
                    if moment.step in ("F1", "F3", "Y4", "H1", "H2") and read.tap.startswith("T3")
                    else "flag"
                )
                if lacks == "flow" and (read.tap in ("T0", "T1", "T2", "T4") or read.is_peak):
                    continue
                seen = f"{read.tap or 'A pressure'} at {moment.node} is written without {lacks}."
                yield breach(
                    "RUN-29", "V10", level, moment, seen, "Read it again with tap, instrument, time and flow."
                )
                break
        else:
            yield from _no_figures(case, moment)


def _lack(read: Read, moment: Moment) -> str:
    if not read.tap or read.tap in ("?", "-"):
        return "its tap"
    if not read.instrument or read.instrument.casefold() in ("?", "-", "none", "unknown"):
        return "its instrument"
    if read.value is None:
        return "a value"
    return "flow" if read.flow is None else ""


def _no_figures(case: Case, moment: Moment) -> Iterator[Breach]:
    if (
        moment.step in ("F1", "F3", "Y4", "Y6")
        and moment.done("trip")
        and not moment.trips
        and not moment.corrected
    ):
        seen = "A run is written without the reading at which the shut-off acted."
        yield breach("RUN-29", "V10", "block", moment, seen, "Make the run again and read it.")


def _height(case: Case) -> Iterator[Breach]:
    """A reading carried to datum: a gauge above datum reads less than the datum would."""
    for moment in case.story.moments:
        for read in moment.reads:
            if (
                read.there is None
                or read.height is None
                or read.value is None
                or abs(read.height) < lim.HEIGHT_TOLD.si
            ):
                continue
            head = pascals(read.height, "m")
            right = read.there + head
            if abs(read.value - right) > lim.SIGN_SLACK.si + lim.HEIGHT_SHARE * abs(head):
                seen = (
                    f"{read.tap} is carried to datum as {case.told(read.value)}; "
                    f"from {case.told(read.there)} at {read.height:g} m it is {case.told(right)}."
                )
                yield breach(
                    "RUN-36",
                    "V10",
                    "block" if moment.step in PROOF_STEPS else "flag",
                    moment,
                    seen,
                    "Correct the height, judge again.",
                )
                break


def _denied_memory(moment: Moment) -> bool:
    if re.search(r"\b(?:read|taken|looked at) again\b|\bre-?read\b", moment.words):
        return True
    return bool(
        re.search(
            r"\b(?:not|nothing|never|none)\b[^.;]{0,20}\b(?:from memory|guess\w*|copied|later)\b",
            moment.words,
        )
    )


_FROM_ELSEWHERE: Final = re.compile(
    r"\b(?:runs?|readings?|figures?|values?|points?|entr(?:y|ies)|numbers?)(?: \d| two| three)? (?:is|are|"
    r"was|were|comes?|"
    r"came|taken|stands?) (?:taken |copied )?(?:from|of) (?:last|yesterday|another|an earlier|an old|"
    r"the (?:plan|trial|last|"
    r"previous|other|old|year|week|day))",
    re.IGNORECASE,
)


def _from_elsewhere(moment: Moment) -> bool:
    """Return whether a figure of this record is said to come from another day."""
    return any(
        c.has(_FROM_ELSEWHERE) and not c.negated and not c.text.endswith("?") for c in clauses(moment.text)
    )


_OF_PAPERS: Final = ("A1", "A2", "A3", "A8")
"""Steps whose numbers are of permits, calls and papers: none is a reading."""


def _memory(case: Case) -> Iterator[Breach]:
    for moment in case.story.moments:
        if _from_elsewhere(moment):
            seen = "A figure comes from another day or from paper, the note says."
            level: Level = "block" if re.search(r"\bruns?\b", moment.words) else "flag"
            yield breach("RUN-29", "V10", level, moment, seen, "Read it, or say that it is not there.")
        elif (
            stated(moment.text, cues.FROM_MEMORY) == "done"
            and not _denied_memory(moment)
            and moment.step not in _OF_PAPERS
            and (
                moment.reads
                or re.search(r"reading|value|figure|number|run|bar|psi|kpa|flow|photo|cock", moment.words)
            )
        ):
            made_up = moment.trips and re.search(
                r"\bcopied\b|\binvented\b|\bmade up\b|\bfilled in\b", moment.words
            )
            yield breach(
                "RUN-29",
                "V10",
                "block" if made_up else "flag",
                moment,
                "Numbers are written from memory or copied, the note says.",
                "Read them again.",
            )
        elif said(moment.text, cues.RUBBED) == "done":
            seen = "An entry is written over; the first figure is no longer to be seen."
            yield breach(
                "RUN-29",
                "V10",
                "flag",
                moment,
                seen,
                "Correct by a further entry with its reason; the first one stays.",
            )
