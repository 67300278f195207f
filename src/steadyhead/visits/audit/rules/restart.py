"""Restart after a trip, and every reset: handbook 7.4."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import cues, words
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.follow import Step, acts, valve_of
from steadyhead.visits.audit.model import Moment
from steadyhead.visits.audit.notes import Clause, clauses, said, stated, turns
from steadyhead.visits.audit.rules import cause
from steadyhead.visits.audit.rules.case import Case, breach

_RESET: Final = re.compile(
    r"\breset\w*\b|\b(?:lever|latch|handle) (?:was |got )?(?:pulled|thrown|worked)\b|"
    r"\bpulled the (?:lever|handle)\b|"
    r"\b(?:put|pulled|lifted|pushed) (?:back )?the latch|\blatch (?:was |is |got |"
    r"had been )?(?:lifted|pulled|set|"
    r"put back|back|in again)\b|\bre-?latched\b",
    re.IGNORECASE,
)
_FULL_INLET: Final = re.compile(
    r"\b(?:at full inlet|full inlet|iv1 (?:still )?(?:fully |wide )?open|"
    r"inlet (?:valve )?(?:fully |wide )?open|iv2 (?:still |"
    r"left )?open|zone (?:still )?connected|"
    r"onto the zone|with the zone)\b",
    re.IGNORECASE,
)
_CAUSE: Final = re.compile(
    r"\b(?:cause|because|transient|creep\w*|grit|debris|scrap|sand|diaphragm|restriction|filter|"
    r"blocked|thermal|nuisance|seat|surge|pump|burst|hydrant|"
    r"drift|frozen|leak\w*|unknown|"
    r"unexplained|not (?:known|found|understood))\b",
    re.IGNORECASE,
)
_SECOND: Final = re.compile(
    r"\b(?:second|another|tripped again|trips again|again tripped|re-?trip\w*|"
    r"tripped a second)\b[^.;]{0,20}(?:trip\w*|time)?",
    re.IGNORECASE,
)


def rules(case: Case) -> Iterator[Breach]:
    """Yield unsafe resets and restarts."""
    yield from _resets(case)
    if case.job.kind == "restart":
        yield from _before_reset(case)
        yield from _cause(case)
        yield from _second_trip(case)
        yield from _reducer_test(case)
        yield from _alarm_only(case)
        yield from _consumers_high(case)


def _consumers_high(case: Case) -> Iterator[Breach]:
    """R5: consumers above their limit are relieved before anything else."""
    limit = case.job.limit
    for moment in case.story.of("R4", "R5", "R0"):
        high = [
            r.value
            for r in moment.at_tap("T4")
            if r.value is not None and limit is not None and r.value > limit
        ]
        near = case.story.moments[moment.index : moment.index + 4]
        relieved = any(
            re.search(r"relie(?:f|ved|ve)|hydrant|bled off|let down|drawn|drained|fell to|down to", m.words)
            for m in near
        )
        if high and not relieved:
            seen = (
                f"Consumers stand at {case.told(high[0])}, above "
                f"{case.told(limit or 0.0)}, and nothing relieves them."
            )
            yield breach(
                "RUN-46", "R5", "flag", moment, seen, "Relieve slowly at the drain or a hydrant first."
            )
            return


_NO_TRIP: Final = re.compile(r"\b(?:not real|no trip|never tripped|did not trip)\b", re.IGNORECASE)
_FALSE: Final = re.compile(r"\b(?:false|fault of the alarm|alarm (?:only|fault))\b", re.IGNORECASE)


def _alarm_only(case: Case) -> Iterator[Breach]:
    """R9: an alarm without a trip leaves the protection unproved until F and G are done."""
    real = [
        m
        for m in case.story.of("R1")
        if _NO_TRIP.search(m.text) or any(c.how(_FALSE) == "done" for c in clauses(m.text))
    ]
    if real and not case.story.runs() and not case.story.of("G1", "F1"):
        seen = "The alarm came without a trip, and neither the trip nor its alarm is proved afterwards."
        yield breach(
            "RUN-45",
            "R9",
            "block",
            real[0],
            seen,
            "Treat the protection as unproved until trip and alarm are proved.",
        )


def _resets(case: Case) -> Iterator[Breach]:
    remedy = (
        "IV2 shut, drain at trickle, IV1 at its opening for raising or less; then reset and "
        "refill by trickle."
    )
    told: set[int] = set()
    least = case.job.raising_turns
    for step in acts(case.followed, "reset"):
        if "alarm" in step.act.words or "meter" in step.act.words or told:
            continue
        state = step.state
        wide = (
            least is not None
            and state.inlet is not None
            and state.inlet > least * lim.TURN_SLACK + lim.TURN_READ
        )
        connected = (state.outlet or 0.0) > 0
        if wide or connected:
            told.add(step.moment.index)
            how = "the inlet valve wide open" if wide else "the outlet valve open"
            if wide and connected:
                how = "the inlet valve wide open and the zone connected"
            yield breach("RUN-40", "R7", "block", step.moment, f"The shut-off is reset with {how}.", remedy)
        elif (
            state.drain == "shut"
            and case.job.kind == "restart"
            and not re.search(r"trickl|td open|td running|drain open", step.moment.words)
        ):
            told.add(step.moment.index)
            yield breach(
                "RUN-40", "R7", "flag", step.moment, "The shut-off is reset with the drain shut.", remedy
            )
        elif _still_high(case, step):
            told.add(step.moment.index)
            yield breach(
                "RUN-40",
                "R7",
                "flag",
                step.moment,
                "The shut-off is reset while T3 stands above duty; it has not been drawn down.",
                remedy,
            )
    yield from _resets_told(case, told, remedy)


_ALL_THE_SAME: Final = re.compile(
    r"\breset\w*\b[^.;,]{0,15}\b(?:all the same|anyway|regardless|nevertheless|nonetheless)\b", re.IGNORECASE
)


def _resets_told(case: Case, told: set[int], remedy: str) -> Iterator[Breach]:
    """Resets that stand in words alone."""
    least = case.job.raising_turns
    for moment in case.story.moments:
        if moment.index in told or not moment.words:
            continue
        if any(c.done and c.about(_RESET) and c.has(_ALL_THE_SAME) for c in clauses(moment.text)):
            seen = "The shut-off is reset in spite of what was found, the note says."
            yield breach("RUN-40", "R7", "block", moment, seen, "Find the cause first; then reset.")
        elif any(c.done and c.about(_RESET) and c.has(_FULL_INLET) for c in clauses(moment.text)):
            yield breach(
                "RUN-40",
                "R7",
                "block",
                moment,
                "The shut-off is reset at full inlet or onto the zone, the note says.",
                remedy,
            )
        elif _says_turns(moment, least):
            yield breach(
                "RUN-40",
                "R7",
                "block",
                moment,
                "The shut-off is reset with the inlet valve too far open.",
                remedy,
            )


def _still_high(case: Case, step: Step) -> bool:
    if (
        step.moment.done("drain", "lower", "vent", "draw water")
        or case.job.duty is None
        or case.job.kind != "restart"
    ):
        return False
    t3 = step.state.pressures.get("T3")
    drained = any(
        s.act.do in ("drain", "vent", "draw water", "open", "crack")
        and re.search(r"t3|\btd\b|drain", s.act.words)
        for s in case.followed.steps
        if s.moment.index <= step.moment.index
    )
    return (
        t3 is not None
        and t3 > (case.job.lockup_highest or case.job.duty) * lim.READ_SHARE
        and not drained
        and not re.search(r"drain|drawn|draw", step.moment.words)
    )


def _says_turns(moment: Moment, least: float | None) -> bool:
    if least is None or not any(c.done and c.has(_RESET) for c in clauses(moment.text)):
        return False
    for clause in clauses(moment.text):
        if (
            (
                clause.done
                and clause.has(words.INLET_VALVE)
                and re.search(r"\bat\b|\bstood\b|\bwith\b|\bset\b", clause.text)
            )
            and any(
                t > least * lim.TURN_SLACK + lim.TURN_READ for t in turns(re.sub(r"of \d+ ", "", clause.text))
            )
            and moment.step in ("R7", "R3", "R4", "ES5", "F2", "F3", "Y5")
        ):
            return True
    return False


def _before_reset(case: Case) -> Iterator[Breach]:
    """R3 to R6: readings of T1, T2, T3 and T4, then the cause class, before anything is reset."""
    resets = [s.moment for s in acts(case.followed, "reset")]
    by_words = [m for m in case.story.moments if any(_says_reset(c) for c in clauses(m.text))]
    first = min([m.index for m in (*resets, *by_words)], default=None)
    remedy = "Read T1, T2, T3 and T4 with positions first: after a reset they tell nothing of the trip."
    if first is None:
        return
    moment = case.story.moments[first]
    ahead = [
        m for m in case.story.moments[: first + 1] if m.index < first or not moment.done("reset") or True
    ]
    taps = {r.tap.split(".")[0] for m in ahead[:-1] for r in m.reads if r.value is not None}
    wanted = {"T1", "T3"} if case.job.layout != "shut-off last" else {"T1", "T2", "T3"}
    text = " ".join(m.words for m in ahead[:-1])
    lacks = [
        t
        for t in sorted(wanted)
        if t not in taps and not re.search(rf"\b{t.casefold()}\b[^.;]{{0,15}}\d", text)
    ]
    visited = case.story.of("R4")
    if lacks and visited and visited[0].index < first:
        seen = f"No reading at {' and '.join(lacks)} stands in the record of the arrival on site."
        yield breach("RUN-45", "R4", "block", visited[-1], seen, remedy, absent=True)
    elif lacks:
        seen = (
            f"The shut-off is reset before {' and '.join(lacks)} {'is' if len(lacks) == 1 else 'are'} read."
        )
        yield breach("RUN-40", "R3", "block", moment, seen, remedy)
    elif stated(moment.text, cues.AT_ONCE, _RESET) == "done" and not any(
        c.negated and c.has(cues.AT_ONCE) for c in clauses(moment.text)
    ):
        yield breach("RUN-40", "R3", "block", moment, "The shut-off is reset at once, the note says.", remedy)


def _says_reset(clause: Clause) -> bool:
    """Return whether a clause says that a reset was made, by whomever and whenever since the trip."""
    if (
        not clause.has(_RESET)
        or clause.negated
        or re.search(
            r"below|alarm|not|\b(?:hold(?:ing)?|held|kept) off\b|\breset (?:is|comes|follows|waits|"
            r"later|step|value|point|key|order)\b",
            clause.text,
            re.IGNORECASE,
        )
    ):
        return False
    earlier = bool(words.EARLIER.search(f"{clause.before} {clause.text}")) and not words.PLANNED.search(
        clause.text
    )
    return clause.done or (
        earlier and clause.has(re.compile(r"\bcame\b|\balready\b|\bcrew\b", re.IGNORECASE))
    )


def _cause(case: Case) -> Iterator[Breach]:
    back = [m for m in case.story.of("J2", "R8") if m.done("open")]
    if not back:
        return
    told = [
        m
        for m in case.story.moments[: back[-1].index + 1]
        if m.step in ("R6", "R8", "R7", "R4", "R5", "R9", "R10") and _CAUSE.search(m.text)
    ]
    if not told:
        yield breach(
            "RUN-45",
            "R6",
            "flag",
            back[0],
            "The line is returned and no cause class stands in the record.",
            "Find the cause class from the readings first.",
            absent=True,
        )
        return
    yield from cause.rules(case)


_AGAIN: Final = re.compile(
    r"\btrip(?:s|ped)? again|\bsecond trip|\btripped a second|\b(?:went|goes|dropped|fell|slammed) "
    r"(?:shut|closed|off) (?:again|once more|a second)|\bacted (?:again|once more|a second)|"
    r"\b(?:it|the (?:shut-?off|valve)|SO) (?:has |had )?(?:went|gone|goes|did it|acted|fell|dropped|shut|"
    r"closed) again\b(?! (?:slowly|after|in \d|by hand|into))",
    re.IGNORECASE,
)
"""A second trip as a note tells it."""


def _second_trip(case: Case) -> Iterator[Breach]:
    trips = [
        s.moment
        for s in acts(case.followed, "trip")
        if s.moment.step not in ("F1", "F2", "F3", "F4", "R0", "R1", "R4", "R8")
    ]
    named = [
        m
        for m in case.story.of("R7", "R8", "J2", "J3")
        if any(c.done and c.has(_AGAIN) for c in clauses(m.text))
    ]
    for moment in sorted({m.index: m for m in (*trips, *named, *_reset_anew(case))}.values(), key=_index):
        later = [
            s
            for s in acts(case.followed, "reset", "open")
            if s.moment.index >= moment.index and (s.act.do == "reset" or valve_of(s.act.thing) == "IV2")
        ]
        later = [s for s in later if s.moment.index > moment.index or s.act.do == "reset"]
        again = any(c.how(_RESET) == "done" for c in clauses(moment.text))
        stopped = re.compile(
            r"\bstop(?:ped)?\b|\bstays? (?:shut|isolated|tripped)|\bleft (?:shut|isolated|tripped)",
            re.IGNORECASE,
        )
        repaired = any(
            m.done("clean", "replace", "repair", "flush") for m in case.story.moments[moment.index + 1 :]
        )
        if (
            (later or again)
            and not any(said(m.text, stopped) for m in case.story.moments[moment.index : moment.index + 2])
            and not repaired
        ):
            yield breach(
                "RUN-46",
                "R8",
                "block",
                moment,
                "The shut-off trips a second time and the restart goes on.",
                "A second unexplained trip is a stop.",
            )
            return


def _index(moment: Moment) -> int:
    return moment.index


def _reset_anew(case: Case) -> list[Moment]:
    """Return the moments that reset the shut-off again after the line had gone back to the consumers."""
    back = [
        s.moment.index
        for s in acts(case.followed, "open")
        if valve_of(s.act.thing) == "IV2" and s.moment.step.startswith("J")
    ]
    own = [s.moment for s in acts(case.followed, "reset") if re.search(r"shut-?off|\bso\b", s.act.words)]
    return [m for m in own if back and m.index > back[0]]


def _reducer_test(case: Case) -> Iterator[Breach]:
    """R7: the reducer is tested with consumers isolated before the line is returned."""
    opened = [s.moment for s in acts(case.followed, "open") if valve_of(s.act.thing) == "IV2"]
    tested = [
        m
        for m in case.story.of("R7")
        if m.reads or re.search(r"lock-?up|zero flow|no flow|t3 (?:holds|stays|\d)", m.words)
    ]
    if opened and not tested and not case.story.of("R9"):
        seen = "The outlet valve is opened and no test of the reducer stands in the record."
        yield breach(
            "RUN-45",
            "R7",
            "block",
            opened[-1],
            seen,
            "Test it at trickle and at zero flow with consumers isolated.",
            absent=True,
        )
    elif opened and tested and opened[0].index < tested[0].index:
        yield breach(
            "RUN-40",
            "R7",
            "block",
            opened[0],
            "The outlet valve is opened before the reducer was tested.",
            "Test the reducer with consumers isolated first.",
        )
    for moment in tested:
        yield from _holds(case, moment)


def _holds(case: Case, moment: Moment) -> Iterator[Breach]:
    top = case.job.lockup_highest
    reads = [r.value for r in moment.at_tap("T3") if r.value is not None]
    if top is not None and reads and reads[-1] > top + lim.EXPECTED_SLACK.si and moment.passed():
        goes_on = any(
            valve_of(s.act.thing) == "IV2"
            for s in acts(case.followed, "open")
            if s.moment.index > moment.index
        )
        again = [m for m in case.story.of("R7") if m.index > moment.index and m.at_tap("T3")]
        if goes_on and not again:
            seen = (
                f"In the reducer's test T3 stands at {case.told(reads[-1])}, "
                "above lock-up, and the line is returned."
            )
            yield breach("RUN-40", "R7", "block", moment, seen, "The reducer does not hold: repair it first.")
