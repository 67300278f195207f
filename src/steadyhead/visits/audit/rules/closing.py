"""How the shut-off closes: closing time against its window, and what is seen after it has shut (F2)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.findings.model import Amount
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.model import Moment, Read
from steadyhead.visits.audit.notes import clauses, in_figures, pascals
from steadyhead.visits.audit.rules.case import TRIP_STEPS, Case, breach
from steadyhead.visits.audit.rules.stale import last_touch
from steadyhead.visits.audit.rules.told_order import act_spot, spot_of

_NO_ACTION: Final = re.compile(
    r"\b(?:no action|without action|did not (?:act|move|trip|shut|close)|nothing (?:happened|moved|yet)|"
    r"would not (?:act|trip|shut|close)|no movement|"
    r"still (?:open|no action))\b",
    re.IGNORECASE,
)


def _held_known(case: Case, runs: tuple[tuple[Moment, Read], ...]) -> Iterator[Breach]:
    """After one closing at least, flow and T3 are watched for minutes."""
    if case.job.kind == "restart" or not runs:
        return
    near = case.story.moments[runs[0][0].index : runs[-1][0].index + 6]
    kept = re.compile(
        r"\b(?:held|holds?|hold|watched|stays?|stayed|flat|no rise)\b[^.;]{0,40}\d+ ?min|"
        r"\d+ ?min[^.;]{0,40}\b(?:flat|shut|no flow|flow (?:zero|"
        r"0|nil)|stays?|held)\b|"
        r"\bflow (?:is |was )?(?:zero|0|nil|none|stopped)\b|"
        r"\bno flow\b|\bmeter (?:\w+ )?(?:0|zero|nought|nil|stopped|stood|stands|dead|at rest)\b",
        re.IGNORECASE,
    )
    if any(
        kept.search(m.text) or any((r.steady or 0) >= lim.AFTER_CLOSING for r in m.reads if not r.is_hold)
        for m in near
    ):
        return
    seen = "No watch of flow and T3 after closing stands in the record."
    yield breach(
        "RUN-44",
        "F2",
        "flag",
        runs[0][0],
        seen,
        "Let it stand shut for 5 min in a further run: flow zero, T3 not climbing.",
        absent=True,
    )


_SECONDS: Final = re.compile(r"(?<![\d.,])(\d+(?:[.,]\d+)?)\s*(?:s|secs?|seconds?)\b", re.IGNORECASE)
_CLOSES: Final = re.compile(
    r"\b(?:[Ss]huts?|[Cc]los(?:ed|es|ing|ure)|[Ss]troke|[Tt]ravel(?:led)?|"
    r"(?<![A-Z] )(?:SHUTS?|CLOS(?:ED|ES|ING)))\b[^,;.]{0,28}$|"
    r"\b(?:closing time|stopwatch)\b.{0,20}$"
)
_SHUT_LATER: Final = re.compile(r"\b(?:shut|closed)\s*(?:about |some )?$")
_DESK: Final = re.compile(r"\b(?:desk|alarm|screen|board|control room|text)\b", re.IGNORECASE)
_TO_CLOSE: Final = re.compile(
    r"^\s*(?:to|for|from|until|till)\b[^,;.]{0,25}\b(?:shut|clos\w*|stroke|indicator|seat|home)\b|"
    r"^\s*(?:closing|stroke|closure)\b",
    re.IGNORECASE,
)
_NOT_CLOSING: Final = re.compile(
    r"^\s*(?:holds?|after|later|each|past|waits?|hold\b|delay|on the|behind)", re.IGNORECASE
)
_HELD_FOR: Final = re.compile(
    r"\b(?:holds?|held|hold of|waits?|waited|steady|every|period|desk|alarm)\b[^,;.]{0,14}$", re.IGNORECASE
)


_ALONE: Final = re.compile(
    r"^\W*(?:in |about |ca\.? |took |took it |went |ran )?(\d+(?:[.,]\d+)?)\s*(?:s|secs?|seconds?)\W*$",
    re.IGNORECASE,
)
"""A time that stands for itself between commas, as terse notes of a run have it."""


def rules(case: Case, runs: tuple[tuple[Moment, Read], ...]) -> Iterator[Breach]:
    """Yield what is against the closing of the shut-off and what followed it."""
    for moment in case.story.of(*TRIP_STEPS):
        yield from _time(case, moment)
    yield from _closing_known(case, runs)
    yield from _after_closing(case)
    yield from _held_known(case, runs)


_OTHER_SHUT: Final = re.compile(
    r"\b(?:TD2?|drain|IV ?[12]|cocks?|inlet|outlet|hydrant|relief|BY|"
    r"bypass)(?: valve| gate)?,? (?:was |is |now |"
    r"then |again )?(?:shut|closed|to|off)\b[^,;.]{0,15}$|"
    r"\b(?:shut|closed|closing) (?:the )?(?:TD2?|drain|IV ?[12]|cocks?|hydrant|relief|bypass)\b[^,;.]{0,15}$",
    re.IGNORECASE,
)
"""A valve other than the shut-off, of which a time of shutting is told."""
_OTHER_WAIT: Final = re.compile(
    r"\b(?:steps?|holds?|held|rests?|waits?|waited|each|desk|alarm|board|screen|operator|TD2?|drain\w*|"
    r"reset|latched|re-?fill\w*|filled|lowered|down|recov\w*|settle\w*|hunting|period)\b|"
    r"(?-i:\b[A-Z]{2,} [A-Z]{2,})",
    re.IGNORECASE,
)
"""What a time that stands for itself may belong to, where the clause before it says so."""


def closing_times(moment: Moment, unit: str = "bar") -> tuple[float, ...]:
    """Return every closing time that a moment states. [s]

    A time said to be one goes first. Of times that stand for themselves one is taken only where every other
    is explained: as a rest ahead of the act, as the hold of a reading, as a wait told in the clause before.
    """
    told = [moment.seen[k] for k in ("closing time", "closing_time") if k in moment.seen]
    times = [float(v) for v in told if isinstance(v, (int, float)) and not isinstance(v, bool)]
    for clause in clauses(moment.text):
        if not _OF_A_PLAN.search(clause.text):
            times.extend(_said_times(in_figures(clause.text)))
    return tuple(times) or _bare_time(moment, unit)


_OF_A_PLAN: Final = re.compile(r"window|design|plan|asked|limit|\bto be\b|\blast year\b", re.IGNORECASE)


_BESIDE_WINDOW: Final = re.compile(
    r"(?<![\d.,])(\d+(?:[.,]\d+)?)\s*s(?:ec(?:onds?|s)?)?\s*(?:\(|of|in|within|inside|for)\s*"
    r"(?:the )?\d+(?:[.,]\d+)?"
    r"\s*(?:-|–|to)\s*\d",
    re.IGNORECASE,
)
"""A time with the window it is held against."""


def _said_times(text: str) -> Iterator[float]:
    yield from (float(told.replace(",", ".")) for told in _BESIDE_WINDOW.findall(text))
    for found in _SECONDS.finditer(text):
        ahead, behind = text[: found.start()], text[found.end() :]
        if _DESK.search(ahead) or _OTHER_SHUT.search(ahead):
            continue
        after_it = _SHUT_LATER.search(ahead) and re.match(r"\s*(?:later|after)", behind)
        other = _NOT_CLOSING.search(behind) or _HELD_FOR.search(ahead)
        if after_it or (not other and (_CLOSES.search(ahead) or _TO_CLOSE.search(behind))):
            yield float(found.group(1).replace(",", "."))


def _bare_time(moment: Moment, unit: str) -> tuple[float, ...]:
    if not moment.trips:
        return ()
    holds = [r.steady for r in moment.reads if r.is_hold and r.steady]
    act, acted = act_spot(moment, unit), [r.value for r in moment.trips]
    left: set[float] = set()
    start, before = 0, ""
    for clause in clauses(moment.text):
        spot = moment.text.find(clause.text, start)
        start = spot if spot >= 0 else start
        alone = _ALONE.match(in_figures(clause.text))
        if alone and not _OF_A_PLAN.search(before) and not _HELD_FOR.search(f"{clause.before} "):
            time = float(alone.group(1).replace(",", "."))
            ahead = act is not None and 0 <= spot < act
            waits = _OTHER_WAIT.search(before) and spot_of(before, acted, unit) is None
            if not ahead and not waits and not any(abs(time - h) < 1.0 for h in holds):
                left.add(time)
        before = clause.text
    return tuple(left) if len(left) == 1 else ()


def _time(case: Case, moment: Moment) -> Iterator[Breach]:
    window = case.job.stopwatch
    if window is None or moment.step == "D4":
        return
    low, high = window
    for took in closing_times(moment, case.job.unit):
        if low - lim.STOPWATCH_READ <= took <= high + lim.STOPWATCH_READ or took > lim.STOPWATCH_MOST * high:
            continue
        if _touched_later(case, moment):
            return
        seen = f"Shut in {took:g} s; the stopwatch window at trickle is {low:g} to {high:g} s."
        if _other_conditions(case, moment):
            seen = f"Shut in {took:g} s at another flow than the window's: it cannot be judged against it."
        yield Breach(
            "RUN-37",
            "F2",
            "block",
            moment,
            seen,
            "Set the needle, then prove again with three runs.",
            Amount("time", took),
            Amount("time", high if took > high else low),
        )
        return


def _touched_later(case: Case, moment: Moment) -> bool:
    return last_touch(case) > moment.index and any(m.index > last_touch(case) for m, _ in case.story.runs())


def _other_conditions(case: Case, moment: Moment) -> bool:
    flows = [r.flow for r in moment.reads if r.is_trip and r.flow is not None]
    trickle = case.job.trickle_flow
    return bool(flows and trickle and max(flows) > 3 * trickle)


def _closing_known(case: Case, runs: tuple[tuple[Moment, Read], ...]) -> Iterator[Breach]:
    own = [m for m, _ in runs if m.step in ("F1", "F3", "Y4", "Y6", "DS6")]
    if (
        case.job.stopwatch is None
        or not own
        or case.job.kind == "restart"
        or case.job.layout in ("injection", "relief")
    ):
        return
    near = case.story.of(*TRIP_STEPS, "F2")
    rests = tuple(r.steady for m in near for r in m.reads if r.is_hold and r.steady)
    if not any(closing_times(m, case.job.unit) or _some_time(m, rests) for m in near):
        seen = "No closing time stands in the record."
        yield breach(
            "RUN-37",
            "F2",
            "block",
            own[0],
            seen,
            "Time the closing in a further run, with T1, T2, T3 and flow.",
            absent=True,
        )


_SCREEN: Final = re.compile(r"\b[A-Z]{2,} [A-Z]{2,}")
"""A text as a desk's screen has it."""


def _some_time(moment: Moment, rests: tuple[float, ...]) -> bool:
    """Return whether a note has any time in seconds that is said of no hold, wait or desk."""
    if not moment.trips and (_DESK.search(moment.text) or _SCREEN.search(moment.text)):
        return False
    for clause in clauses(moment.text):
        if _DESK.search(clause.text) or _SCREEN.search(clause.text):
            continue
        text = in_figures(clause.text)
        for found in _SECONDS.finditer(text):
            rest = any(abs(float(found.group(1).replace(",", ".")) - h) < lim.STOPWATCH_READ for h in rests)
            if rest or _NOT_CLOSING.search(text[found.end() :]) or _HELD_FOR.search(text[: found.start()]):
                continue
            return True
    return False


_GOES_UP: Final = re.compile(
    r"\b(?:climb(?:s|ed|ing)?|creep(?:s|ing)?|crept|ris(?:es|ing|en)|rose|"
    r"(?:went|goes|came|inch|edg|nudg|drift|wander|work|tick|gain|pull|mov)(?:s|es|ed|ing|"
    r"e)? (?:on )?up(?:wards)?)\b",
    re.IGNORECASE,
)
_NOT_OUTLET: Final = re.compile(
    r"\b(?:indicator|stem|flow|wall|temperature|water level|T[0124]|nothing|lever|switch|screw|live|again|"
    r"TG-?\d*|gauge|zero)\b",
    re.IGNORECASE,
)


_CLIMBS: Final = re.compile(
    r"\bT3 (?:kept|keeps) (?:on )?\w+ing (?:up|on)|\bT3 (?:keeps? (?:on )?(?:climbing|rising|"
    r"creeping)|still (?:climb\w*|ris\w*|creep\w*)|"
    r"(?:had )?(?:crept|climbed|risen) (?:on |up |on up )?to|"
    r"creeps? (?:on )?up|climbs|"
    r"went on (?:rising|climbing)|rises? slowly)\b|"
    r"\b(?:shut-?off|SO) (?:passes|is passing|"
    r"leaks|lets by)\b",
    re.IGNORECASE,
)


_SHUT_OFF_SHUT: Final = re.compile(
    r"\b(?:shuts?|closed|closes) (?:in|after|within) (?:about )?\d", re.IGNORECASE
)
_RUNS_ON: Final = re.compile(
    r"\bflow (?:of |was |still )?[\d.,]*[1-9][\d.,]* ?(?:L/s|m³/h|m3/h|L/min) (?:went|goes|runs|ran|kept) on|"
    r"\bflow [\d.,]*[1-9][\d.,]* ?(?:L/s|m³/h|m3/h|L/min) (?:continue[sd]|remain(?:s|ed)|after closing)|"
    r"\bT3 (?:was |is |then |still )?(?:slowly )?(?:rising|climbing|creeping|rose|climbed|crept)\b",
    re.IGNORECASE,
)
"""What a note tells of the outlet of a shut-off that does not close tight."""


def _goes_on(text: str) -> bool:
    """Return whether a note tells, behind how long it took to close, that water runs on or T3 climbs."""
    shut = _SHUT_OFF_SHUT.search(text)
    if shut is None:
        return False
    return any(c.how(_RUNS_ON) == "done" and c.text in text[shut.end() :] for c in clauses(text))


def _after_closing(case: Case) -> Iterator[Breach]:
    """F2: after closing the flow is zero and T3 does not climb."""
    for moment in case.story.of("F2", "F3", "F1", "Y4", "Y6"):
        flows = [
            r.flow
            for r in moment.reads
            if r.steady is not None and r.steady >= lim.AFTER_CLOSING and r.flow is not None and r.tap == "T3"
        ]
        held = [
            r.value for r in moment.at_tap("T3") if (r.steady or 0) >= lim.AFTER_CLOSING and not r.is_hold
        ]
        mood = next((c.mood for c in clauses(moment.text) if c.has(_CLIMBS)), None)
        if (
            mood is None
            and moment.step == "F2"
            and any(c.how(_GOES_UP) == "done" and not c.has(_NOT_OUTLET) for c in clauses(moment.text))
        ):
            mood = "done"
        if mood is None and _goes_on(moment.text):
            mood = "done"
        if mood == "done" and moment.passed():
            seen = "T3 goes on climbing, or water runs on, after the shut-off has closed, the note says."
            yield breach(
                "RUN-44", "F2", "block", moment, seen, "The shut-off, or another way, passes: find which."
            )
        elif moment.step == "F2" and flows and max(flows) > lim.NO_FLOW.si and held:
            seen = "Water still runs while the shut-off is called shut."
            yield breach(
                "RUN-44",
                "F2",
                "block",
                moment,
                seen,
                "The shut-off passes, or the meter is not zeroed: find which.",
            )
    yield from _no_action(case)


def _no_action(case: Case) -> Iterator[Breach]:
    """F1: no action by the upper edge is a stop."""
    for moment in case.story.of("F1", "F3", "Y4", "Y6", "F2"):
        edge, trip = case.job.tolerance_up, case.trip_of(moment)
        if (
            edge is not None
            and trip is not None
            and not moment.trips
            and any(
                c.done or c.negated
                for c in clauses(moment.text)
                if c.has(_NO_ACTION) and _beyond(c.text, trip + edge, case.job.unit)
            )
        ):
            seen = "The shut-off does not act by the upper edge, the note says."
            yield breach(
                "RUN-44", "F1", "block", moment, seen, "Stop: the shut-off does not protect. Find the cause."
            )


_BARE: Final = re.compile(
    r"(?<![\d.])(\d+(?:\.\d+)?)\b(?!\s*(?:s|sec\w*|min\w*|h|mm|%|°|turns?|l/s|gpm|m3/h|times|"
    r"runs?)\b)\s*(bar|kPa|psi|mH2O)?",
    re.IGNORECASE,
)


def _beyond(text: str, edge: float, unit: str) -> bool:
    """Return whether a text names a pressure beyond an edge; a bare figure is taken in the job's unit."""
    told = [pascals(v, u or unit) for v, u in _BARE.findall(text)]
    return any(edge + lim.ROUNDING.si < value < 3 * edge for value in told)
