"""Steps left out, and steps whose own record says that they were not passed (handbook 3.2, 3.3, 8.2)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit import words
from steadyhead.visits.audit.breach import Breach, Level
from steadyhead.visits.audit.model import Moment
from steadyhead.visits.audit.notes import clauses, stated
from steadyhead.visits.audit.rules.case import Case, breach

_FIRST: Final[tuple[tuple[tuple[str, ...], Level, str], ...]] = (
    (("A6",), "block", "the comparison of the gauges"),
    (("C3", "C4"), "block", "the bleeding"),
    (("D3",), "flag", "the reducer's tightness"),
    (("EF1", "ES1", "DS2"), "flag", "the trickle reading before anything is raised"),
    (("G1",), "block", "the alarm by real movement"),
    (("H1", "DS5"), "block", "duty set from below and read after the nut"),
    (("H2",), "block", "the lock-up of the station"),
    (("H4",), "block", "the flow test"),
    (("J5",), "flag", "the end of test mode"),
    (("A4",), "flag", "the gas test"),
    (("A1",), "info", "the released design"),
    (("A2",), "info", "the permits"),
    (("A3",), "info", "the notices"),
    (("A5",), "info", "the identity of the station"),
    (("A7",), "info", "the as-found positions"),
    (("A8",), "info", "the alarm set to test"),
    (("B1",), "info", "the isolation"),
    (("B2",), "info", "the venting of each section"),
    (("B3",), "info", "the flush"),
    (("B4",), "info", "the strainer"),
    (("E0",), "info", "the decision on the settings"),
    (("C1", "DS0"), "info", "the rest positions"),
    (("C2",), "info", "the filling"),
    (("C3",), "info", "the bleeding of each valve"),
    (("C4",), "info", "the second bleed"),
    (("C5",), "info", "the inlet valve brought to its opening for raising"),
    (("G2",), "info", "the alarm clearing on the return movement"),
    (("G3",), "info", "the broken cable told apart"),
    (("G4",), "info", "the high outlet alarm"),
    (("J1",), "info", "the flush to clear"),
    (("J2",), "info", "the return to service"),
    (("J3",), "info", "the watch in demand"),
    (("J4",), "info", "seals, covers and cocks"),
    (("J6",), "info", "the logger"),
)
_YEARLY: Final[tuple[tuple[tuple[str, ...], Level, str], ...]] = (
    (("Y1",), "flag", "the station as found"),
    (("Y3",), "flag", "trickle reading and lock-up as found"),
    (("Y4", "F1"), "block", "the first run of the day"),
    (("Y7", "H1"), "flag", "duty from below and read after the nut"),
    (("Y8", "J4", "J2"), "flag", "the return to service"),
)
_RESTART: Final[tuple[tuple[tuple[str, ...], Level, str], ...]] = (
    (("R4",), "block", "the readings before anything is moved"),
    (("R6",), "flag", "the cause class"),
    (("R7",), "block", "the test of the reducer with consumers isolated"),
    (("R0",), "info", "the report of the trip"),
    (("R10",), "info", "the close-out"),
    (("J3",), "info", "the watch in demand"),
)
_RETURN: Final = ("R0", "R1", "R2", "R4", "R5", "R6", "R7", "R8", "R10", "J2", "J3", "J4", "J5")
"""Steps of a restart that ends in service; a stop has none of the last."""
_AFTER: Final = {
    "A6": "B1",
    "C3": "C2",
    "A4": "A3",
    "D3": "D2",
    "EF1": "D4",
    "G1": "F3",
    "H1": "G1",
    "H2": "H1",
    "H4": "H2",
    "J5": "J4",
    "A1": "A2",
    "A2": "A1",
    "A3": "A2",
    "A5": "A4",
    "A7": "A6",
    "A8": "A7",
    "B1": "A8",
    "B2": "B1",
    "B3": "B2",
    "B4": "B3",
    "E0": "B6",
    "C1": "E0",
    "C2": "C1",
    "C4": "C3",
    "C5": "C4",
    "G2": "G1",
    "G3": "G2",
    "G4": "G3",
    "J1": "H5",
    "J2": "J1",
    "J3": "J2",
    "J4": "J3",
    "J6": "J5",
}
_GAS: Final = re.compile(
    r"\bO2\s*(?:at\s*)?(\d+(?:[.,]\d+)?)|\b(?:oxygen|O₂)\D{0,8}(\d+(?:[.,]\d+)?)", re.IGNORECASE
)
_GAS_ALARM: Final = re.compile(
    r"\b(?:alarm(?! (?:was |is )?(?:test\w*|check\w*|tried|set|proved|works?|limits?|points?))(?:ed)?|"
    r"alarming|sounded|beeped|beeping|flammable [1-9]\d*|h2s [1-9]\d*|lel [1-9]\d*)\b",
    re.IGNORECASE,
)
_NO_GAS: Final = re.compile(
    r"\b(?:went|down|in|entered|climbed) (?:down |in )?before (?:the )?(?:meter|monitor|gas|test|"
    r"detector)\b|"
    r"\b(?:gas (?:test|monitor|meter|detector)|monitor)\b[^.;]{0,40}\b(?:left|not|flat|forgotten|"
    r"skipped|in the van|without)\b|\bwithout (?:a )?(?:gas|"
    r"monitor)|\bno (?:gas )?(?:monitor|"
    r"meter|detector|test)\b|\bsmelt (?:fine|ok|clean|"
    r"all right)",
    re.IGNORECASE,
)
_REFUSED: Final = re.compile(
    r"\b(?:not (?:yet )?(?:granted|issued|signed|released|answered|reached)|refused|no answer|"
    r"could not (?:be )?reach\w*|draft|unreleased|pending|"
    r"nobody (?:told|answered))\b",
    re.IGNORECASE,
)
_NOT_DONE: Final = re.compile(
    r"\b(?:not done|skipped|left out|omitted|no time|n/?a|not carried out|not (?:made|run|taken|"
    r"tested|tried|repeated))\b",
    re.IGNORECASE,
)


def rules(case: Case) -> Iterator[Breach]:
    """Yield steps left out and steps that say themselves that they did not pass."""
    yield from _left_out(case)
    yield from _skipped(case)
    yield from _preconditions(case)
    yield from _not_vented(case)
    yield from _failed(case)
    yield from _fire(case)


def _fire(case: Case) -> Iterator[Breach]:
    """A fire line is shut only as an impairment that is opened, told and lifted."""
    if case.job.layout != "fire" or not case.story.of("B1", "Y2", "R7"):
        return
    told = any("impair" in m.all_words for m in case.story.moments)
    if not told:
        where = case.story.of("A2", "A3", "B1", "Y1", "Y2", "R7")[0]
        yield breach(
            "RUN-46",
            "A2",
            "flag",
            where,
            "A fire line is shut and no impairment stands in the record.",
            "Open it with the fire service, and lift it at the end.",
            absent=True,
        )


def _needed(case: Case) -> tuple[tuple[tuple[str, ...], Level, str], ...]:
    table = {"first": _FIRST, "yearly": _YEARLY, "restart": _RESTART}[case.job.kind]
    layout = case.job.layout
    off: set[str] = set()
    if layout == "relief" and not case.has_shut_off:
        off |= {"G1"}
    if layout == "injection" or case.is_injection_job:
        off |= {"D3", "EF1", "H4", "H1", "DS5", "C3", "C4", "H2"}
    if layout == "fire":
        off |= {"H4"}
    return tuple(row for row in table if not set(row[0]) & off)


def _left_out(case: Case) -> Iterator[Breach]:
    present = {m.step for m in case.story.moments}
    told = " ".join(m.words for m in case.story.moments)
    full = _names_each(case, present)
    for steps, level, what in _needed(case):
        if present & set(steps) or (steps[0] == "G1" and _alarm_elsewhere(case)):
            continue
        if level == "info" and full:
            level = "flag"
        if (
            steps[0] == "J5"
            and "test" not in told
            and not any(m.done("alarm to test") for m in case.story.moments)
        ):
            level = "info"
        if steps == ("C3", "C4") and any(
            "vent" not in a.thing for m in case.story.moments for a in m.done("bleed")
        ):
            continue
        if steps[0] == "H1" and any(
            re.search(r"after (?:the )?nut", r.mark) for m in case.story.moments for r in m.reads
        ):
            continue
        yield breach(
            "RUN-45",
            steps[0],
            level,
            _place(case, steps[0]),
            f"{steps[0]}, {what}, is not in the record.",
            "Do it, or sign provisionally with a recorded deviation.",
            accepts=steps[0] in ("H4", "D3", "J5"),
            absent=True,
        )


def _names_each(case: Case, present: set[str]) -> bool:
    """Return whether a record names every step as it goes, so that one that is missing was left out."""
    needed = _needed(case)
    if case.job.kind == "restart":
        return sum(step in present for step in _RETURN) >= lim.FULL_RECORD * len(_RETURN)
    if case.job.kind != "first":
        return False
    return sum(bool(present & set(row[0])) for row in needed) >= lim.FULL_RECORD * len(needed)


def _alarm_elsewhere(case: Case) -> bool:
    return any(
        (m.done("trip") or m.trips or "own pilot" in m.words)
        and re.search(r"\bdesk\b|control room|alarm (?:text|reads|came)", m.words)
        for m in case.story.moments
    ) or any("alarm received" in m.seen for m in case.story.moments)


def _place(case: Case, step: str) -> Moment:
    ahead = [m for m in case.story.moments if m.step == _AFTER.get(step, "")]
    if ahead:
        return ahead[-1]
    same = [m for m in case.story.moments if m.step[:1] <= step[:1] and m.step]
    return same[-1] if same and case.job.kind == "first" else case.story.last


def _skipped(case: Case) -> Iterator[Breach]:
    """A step that is in the record only to say that it was not done."""
    hard = {s for row in _needed(case) if row[1] == "block" for s in row[0]} | {
        "F1",
        "F2",
        "F3",
        "D2",
        "Y2",
        "Y4",
        "Y6",
        "R7",
        "D3",
        "ES6",
        "V12",
    }
    for moment in case.story.moments:
        if moment.step not in hard or moment.reads or moment.acts:
            continue
        mood = stated(moment.text, _NOT_DONE)
        if mood and not deviates(case, moment) and not _later(case, moment):
            yield breach(
                "RUN-45",
                moment.step,
                "block" if mood == "done" else "info",
                moment,
                f"{moment.step} is not done, the note says.",
                "Do it, or sign provisionally with a recorded deviation.",
                accepts=True,
            )


def _later(case: Case, moment: Moment) -> bool:
    return any(m.step == moment.step and (m.reads or m.acts) for m in case.story.moments if m is not moment)


def deviates(case: Case, moment: Moment) -> bool:
    """Return whether a deviation was recorded at a moment, or of its step."""
    return (
        any(
            moment.step.casefold() in d.words.split() or d.index == moment.index + 1
            for d in case.story.deviations
        )
        or "deviation" in moment.words
    )


def _preconditions(case: Case) -> Iterator[Breach]:
    for moment in case.story.of("A4", "Y1", "R4"):
        for one, two in _GAS.findall(moment.text):
            value = float((one or two).replace(",", "."))
            if not lim.OXYGEN[0] <= value <= lim.OXYGEN[1] and value > 5:
                seen = (
                    f"Oxygen is {value:g} %; {lim.OXYGEN[0]:g} to {lim.OXYGEN[1]:g} "
                    "% are the band of an entry."
                )
                if not re.search(r"fan|vented|ventilat\w*|left|out again|then|waited|again", moment.words):
                    yield breach("RUN-46", "A4", "flag", moment, seen, "Leave, ventilate, test again.")
        if (
            any(c.done and c.has(_GAS_ALARM) for c in clauses(moment.text))
            and moment.step == "A4"
            and not re.search(r"left|out again|ventilat|then|after|clear", moment.words)
        ):
            yield breach(
                "RUN-46",
                "A4",
                "flag",
                moment,
                "The gas monitor alarms and the work goes on.",
                "Leave, ventilate, test again.",
            )
    for moment in case.story.moments[:12]:
        kit = moment.step in ("A4", "Y1", "R4") and _kit_away(moment.text)
        if (kit or stated(moment.text, _NO_GAS) == "done") and not re.search(
            r"dry|plant room|not a confined|fetched|spare", moment.words
        ):
            yield breach(
                "RUN-46",
                "A4",
                "flag",
                moment,
                "The chamber is entered without a gas test, the note says.",
                "Test before and during every entry.",
            )
            break
    for moment in case.story.of("A1", "A2", "A3"):
        if any((c.done or c.negated) and c.has(_REFUSED) for c in clauses(moment.text)) and not _resolved(
            moment
        ):
            yield breach(
                "RUN-46",
                moment.step,
                "flag",
                moment,
                f"{moment.step} is open, the note says, and the work goes on.",
                "No start before it is there.",
                accepts=True,
            )


_KIT_AWAY: Final = re.compile(
    r"\b(?:fan|(?<!flow )meter|monitor|detector|sniffer|gas (?:tester|kit|box)|tester)s?\b[^.;,]{0,25}\b"
    r"(?:still|left|stayed|back|behind|forgotten|remained|on (?:its|their|the) way|up top|"
    r"unpacked|uncharged)\b"
    r"[^.;,]{0,15}\b(?:in|at|on|up|behind|under|way|top|coming)\b"
    r"|\b(?:without|no) (?:the )?(?:(?:gas )?meter|monitor|detector|sniffer)s?\b(?! (?:\w+ )?"
    r"(?:needed|read\w*|alarm\w*|beep\w*|sound\w*|trouble|flow|mov\w*))",
    re.IGNORECASE,
)
_GAS_FIGURES: Final = re.compile(
    r"\b(?:19[.,][5-9]|2[0-3][.,]\d|20[.,]\d|0/0|O2)\b|\bzeros?\b|"
    r"\b(?:air|gas|atmosphere)\b[^.;]{0,12}\b(?:good|fine|ok|OK|clear|clean|normal)\b"
)


def _kit_away(text: str) -> bool:
    """Return whether the gas test's own kit is said to be elsewhere on arrival, and no figure is told."""
    told = any(c.told == "done" and c.has(_KIT_AWAY) for c in clauses(text))
    return told and not _GAS_FIGURES.search(text)


def _resolved(moment: Moment) -> bool:
    return bool(
        re.search(
            r"\bthen\b|\blater\b|\bsecond\b|\bagain\b|\bafter that\b|\bduty man\b|\bnow\b|\bcame\b|"
            r"\brang back\b|"
            r"\bcalled back\b|\bat \d{1,2}[:.]\d\d\b",
            moment.words,
        )
    )


_VENTED: Final = re.compile(r"\b(?:vent(?:ed|ing)?|drain(?:ed)?|opened|let off)\b", re.IGNORECASE)


def _not_vented(case: Case) -> Iterator[Breach]:
    """B2: a section that the note says was not vented."""
    for moment in case.story.of("B2"):
        if any(
            c.told == "done"
            and c.negated
            and c.how(_VENTED) == "not done"
            and re.search(r"\bT[123]\b|section", c.text)
            for c in clauses(moment.text)
        ):
            seen = "A section is not vented at its own drain, the note says."
            yield breach("RUN-46", "B2", "flag", moment, seen, "Vent it, see zero on its own live gauge.")


def _failed(case: Case) -> Iterator[Breach]:
    """A step called failed and neither repeated nor recorded as a deviation."""
    for moment in case.story.moments:
        if moment.passed() or deviates(case, moment):
            continue
        again = any(
            m.step == moment.step and m.index > moment.index and m.passed() for m in case.story.moments
        )
        if not again and moment.step and words.PART is not None:
            yield breach(
                "RUN-46",
                moment.step,
                "flag",
                moment,
                f"{moment.step} is called not passed and is not repeated.",
                "Repeat it, or record the deviation.",
                accepts=True,
            )
