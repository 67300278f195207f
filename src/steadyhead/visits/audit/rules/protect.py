"""Who is protected while the line is raised: V1 (outlet shut and tight), V2 (inlet opening, drain)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.units import UnitError, parse
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit import words
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.follow import key_of, match, valve_of
from steadyhead.visits.audit.model import Moment
from steadyhead.visits.audit.notes import clauses, minutes, stated, turns
from steadyhead.visits.audit.rules import drain
from steadyhead.visits.audit.rules.case import STANDBY, Case, breach, stream_of
from steadyhead.visits.audit.rules.outlet import moved_between, not_home, text_open

_BACKWARDS: Final = re.compile(r"\bbackwards?\b", re.IGNORECASE)
_FORWARDS: Final = re.compile(r"\bforwards?\b|\bpump", re.IGNORECASE)
_NOT_TIGHT: Final = re.compile(
    r"\b(?:IV2|outlet (?:valve|gate)) (?:passes|passing|leaks|leaking|weeps|not tight)\b|"
    r"\bT4 (?:had |has |was |did )?(?:follow\w*|rose|risen|rises|(?:com|gon|go|inch|edg|creep|crept|cam|"
    r"went)\w* (?:up|"
    r"along|with)|went up|climb\w*|creeps|crept|came up)",
    re.IGNORECASE,
)
_PERIOD: Final = re.compile(
    r"(?:\bin|over|for|after|within|held|during)\s+(?:the )?(\d+(?:\.\d+)?)\s*min", re.IGNORECASE
)
_TO_RAISE: Final = "Shut the outlet valve, prove it tight forwards at test pressure, then raise again."


def rules(case: Case) -> Iterator[Breach]:
    """Yield what is against V1 and V2 while the line is raised."""
    raised = case.raises()
    proofs = [s for s in case.story.stages("D2", "Y2", "D2b") if _claims(s)]
    proofs += [
        (m,)
        for m in case.story.moments
        if m.step not in ("D2", "Y2") and (_proves(m) or (m.step == "R8" and _proved_in_words(m)))
    ]
    proofs.sort(key=lambda stage: stage[0].index)
    if raised:
        found = tuple(_outlet(case, raised, proofs))
        yield from found or moved_between(case, raised, proofs, _TO_RAISE)
    for stage in proofs:
        yield from _tightness(case, stage)
    yield from _beyond(case, raised)
    yield from _opening(case)
    yield from _filled_wide(case)
    yield from drain.rules(case)


_T4_GOES: Final = re.compile(
    r"\bT4\b[^.;]{0,25}\b(?:went|rose|rises|crept|creeps|came|moved|climbed|goes|"
    r"up)\b[^.;]{0,25}?(\d+(?:\.\d+)?)\D{1,12}(?:to|->|"
    r"→)\s*(\d+(?:\.\d+)?)",
    re.IGNORECASE,
)
_T4_UP: Final = re.compile(
    r"\b(?:T4|(?:the )?zone|consumers?|network|town side|far side)\b[^.;,]{0,25}\b(?:rose|rises|rising|"
    r"risen|crept|"
    r"creeps|creeping|climbed|climbs|climbing|follow\w*|(?:came|come|coming|went|gone|going|inched|inching|"
    r"edged|"
    r"edging|wandered|wandering|drifted|drifting|moved|moving) (?:up|along|with)\w*|up by)\b",
    re.IGNORECASE,
)


def _beyond(case: Case, raised: tuple[Moment, ...]) -> Iterator[Breach]:
    """T4 moves while the line is raised: the outlet valve passes, whatever was proved before."""
    if not raised:
        return
    for moment in case.story.moments[raised[0].index : raised[-1].index + 1]:
        for clause in clauses(moment.text):
            told = _T4_GOES.search(clause.text)
            rose = told is not None and float(told.group(2)) > float(told.group(1)) * lim.T4_SHARE
            if (
                clause.done
                and (rose or (told is None and clause.has(_T4_UP)))
                and moment.step not in ("H4", "J2")
            ):
                seen = "T4 rises while the line is raised: the outlet valve passes."
                yield breach(
                    "RUN-20",
                    "V1",
                    "block",
                    moment,
                    seen,
                    "Stop, open the drain, lower the reducer; prove the valve again.",
                )
                return


def _proves(moment: Moment) -> bool:
    return any(valve_of(a.thing) == "IV2" for a in moment.done("prove tight"))


_PROVED: Final = re.compile(
    r"\b(?:IV2|outlet (?:valve|gate))(?:'s)? (?:(?:was|is|had|has|been) )*(?:tight\w* )?(?:then )?"
    r"(?:tight|proved|proven|tested|forwards?)\b|\bproved tight\b",
    re.IGNORECASE,
)
_HELD_TIGHT: Final = re.compile(
    r"^\W*(?:it |IV2 |that |all )?(?:is |was )?(?:tight|proved|holds)\b", re.IGNORECASE
)
_SHOWN: Final = re.compile(r"\bpump|\bforward|\bproven\b|\bproved\b|\d/\d", re.IGNORECASE)


def _proved_in_words(moment: Moment) -> bool:
    """Return whether a note says that the outlet valve was proved forwards, by pump or with figures."""
    if not _SHOWN.search(moment.text):
        return False
    tight = moment.step in ("D2", "Y2") and "pump" in moment.words
    return any(
        c.how(_PROVED) == "done" or (tight and c.how(_HELD_TIGHT) == "done") for c in clauses(moment.text)
    )


def _claims(stage: tuple[Moment, ...]) -> bool:
    """Return whether a stage of D2 or Y2 is a forward test of the outlet valve."""
    if any(_proves(m) or _proved_in_words(m) for m in stage):
        return True
    return any(m.at_tap("T3") and (m.done("pump") or "forward" in m.words) for m in stage)


def _outlet(case: Case, raised: tuple[Moment, ...], proofs: list[tuple[Moment, ...]]) -> Iterator[Breach]:
    first = raised[0]
    ahead = [s for s in proofs if s[0].index < first.index and any(m.passed() for m in s)]
    if first.step == "R8" and _proved_in_words(first):
        ahead.append((first,))
    if not ahead:
        seen = "The outlet is raised, and the outlet valve was not proved tight forwards before."
        yield breach("RUN-20", "V1", "block", first, seen, _TO_RAISE)
    told = False
    for moment in raised:
        state = case.before(moment)
        moved = state.outlet_moved
        last = max((s[-1].index for s in proofs if s[0].index < moment.index), default=None)
        if not told and (state.outlet or 0.0) > 0.0 and not _shuts(moment):
            told = True
            yield breach(
                "RUN-20", "V1", "block", moment, "The outlet is raised with the outlet valve open.", _TO_RAISE
            )
        elif (
            not told
            and ahead
            and last is not None
            and _opened_since(case, last, moment.index)
            and moved > last
        ):
            told = True
            seen = "The outlet valve was opened after it was proved tight, and is not proved again."
            yield breach("RUN-20", "V1", "block", moment, seen, _TO_RAISE)
        elif not told and (not_home(moment.joined()) or text_open(moment)):
            told = True
            seen = "The outlet valve was open, or not home, while the outlet is raised, the note says."
            yield breach("RUN-20", "V1", "block", moment, seen, _TO_RAISE)


def _shuts(moment: Moment) -> bool:
    return any(valve_of(a.thing) == "IV2" for a in moment.done("shut"))


def _opened_since(case: Case, start: int, end: int) -> bool:
    return any(
        start < s.moment.index < end and valve_of(s.act.thing) == "IV2" and s.act.do in ("open", "crack")
        for s in case.followed.steps
    ) or any((case.after(m).outlet or 0.0) > 0 for m in case.story.moments[start:end])


def _tightness(case: Case, stage: tuple[Moment, ...]) -> Iterator[Breach]:
    last = stage[-1]
    text = " ".join(m.all_words for m in stage)
    if _BACKWARDS.search(text) and not _FORWARDS.search(text):
        seen = "The outlet valve is called tight on a backward test; forwards nothing was shown."
        yield breach("RUN-20", "V1", "block", last, seen, _TO_RAISE)
        return
    yield from _height(case, stage)
    yield from _held(case, stage)
    times = [float(t) for t in _PERIOD.findall(text)]
    times += [t for m in stage for a in m.done("prove tight") for t in minutes(a.detail)]
    if times and max(times) < lim.TIGHT_MINUTES:
        seen = f"The outlet valve was watched for {max(times):g} min; {lim.TIGHT_MINUTES:g} min are asked."
        yield breach("RUN-20", "D2", "flag", last, seen, "Watch T3 and T4 for the whole time.")
    open_drain = [
        s
        for s in case.followed.steps
        if s.moment in stage and s.act.do == "pump" and s.state.drain not in (None, "shut")
    ]
    if open_drain:
        yield breach(
            "RUN-20",
            "D2",
            "flag",
            last,
            "The section was pumped with its drain open.",
            "Shut the drain first.",
        )


def _height(case: Case, stage: tuple[Moment, ...]) -> Iterator[Breach]:
    """Compare the pressure reached with what the test must reach."""
    job, last = case.job, stage[-1]
    reached = [r.value for m in stage for r in m.at_tap("T3") if r.value is not None]
    test_limit, lower_edge = _edges(case, stage[0])
    if not reached or test_limit is None or lower_edge is None or job.layout == "injection":
        return
    top = max(reached)
    defeated = _out_of_the_way(case, stage)
    if not defeated and _scaled(stage) and _at_first_edge(case, top):
        return
    least = lower_edge - lim.TIGHT_SHORT_OF.si if not defeated else min(test_limit, job.limit or test_limit)
    if (
        defeated
        and top < least - lim.TIGHT_SLACK.si
        and top >= lower_edge - lim.TIGHT_SHORT_OF.si - lim.TIGHT_SLACK.si
    ):
        scaled = "scal" in " ".join(m.words for m in stage)
        if not scaled:
            seen = f"The outlet valve was tested at {case.told(top)}; the test goes to {case.told(least)}."
            yield breach(
                "RUN-20", "D2", "flag", last, seen, "Test at the pressure the line will be raised to."
            )
    elif top < least - lim.TIGHT_SLACK.si:
        seen = f"The outlet valve was tested at {case.told(top)}, which is less than {case.told(least)}."
        yield breach("RUN-20", "V1", "block", last, seen, "Test at the pressure the line will be raised to.")
    elif (
        not defeated
        and top > lower_edge + lim.TIGHT_SLACK.si
        and case.has_shut_off
        and not _for_the_standby(case, stage, top)
    ):
        seen = (
            f"The pump went to {case.told(top)} with the shut-off in service; it may act from "
            f"{case.told(lower_edge)}."
        )
        yield breach("RUN-20", "D2", "flag", last, seen, "Stop below its lower edge and scale the leak.")


def _edges(case: Case, moment: Moment) -> tuple[float | None, float | None]:
    """Return how far a test goes and where the shut-off in service may act, by what serves at that time."""
    job, trip = case.job, case.trip_of(moment)
    if trip is None or job.tolerance_up is None:
        return None, None
    if stream_of(moment) or trip != job.trip or job.standby_trip is None:
        return trip + job.tolerance_up, trip - job.tolerance_up
    return job.test_limit, job.lower_edge


_SCALED: Final = re.compile(
    r"(?<!not )(?<!never )(?<!nothing )(?<!without )\bscal(?:ed|ing)\b", re.IGNORECASE
)
"""The leak of a test that stopped short, carried on to the test pressure."""


def _scaled(stage: tuple[Moment, ...]) -> bool:
    return any(_SCALED.search(m.text) for m in stage)


def _at_first_edge(case: Case, top: float) -> bool:
    """Return whether a pump stopped just short of where the first of two shut-offs may act.

    With the leak scaled it serves both streams, whichever of them the words are of.
    """
    if case.job.standby_trip is None or case.job.lower_edge is None:
        return False
    stop = case.job.lower_edge - lim.TIGHT_SHORT_OF.si
    return abs(top - stop) <= lim.TIGHT_SLACK.si


def _for_the_standby(case: Case, stage: tuple[Moment, ...], top: float) -> bool:
    """Return whether a test that speaks of the standby stays below the standby's own lower edge."""
    trip, band = case.job.standby_trip, case.job.tolerance_up
    if trip is None or band is None or not any(STANDBY.search(m.all_words) for m in stage):
        return False
    return top <= trip - band + lim.TIGHT_SLACK.si


_TO_TOP: Final = re.compile(
    r"\btop\b|out of the way|\bhighest\b|\bend of\b|\bfully\b|\bup\b|raised", re.IGNORECASE
)


def _out_of_the_way(case: Case, stage: tuple[Moment, ...]) -> bool:
    """Return whether the shut-off is defeated, or its setting raised, when the section is pumped."""
    steps = case.followed.steps
    pumped = [k for k, s in enumerate(steps) if s.moment in stage and s.act.do in ("pump", "prove tight")]
    state = steps[pumped[0]].state if pumped else case.before(stage[0])
    if match("shut-off pilot", state.defeated) in state.defeated:
        return True
    end = pumped[0] if pumped else 0
    own = [s.act for s in steps[:end] if "shut-off pilot" in key_of(s.act.thing)]
    moved = [a for a in own if a.do in ("raise", "lower", "adjust", "turn", "set", "restore")]
    return bool(moved) and moved[-1].do in ("raise", "turn") and bool(_TO_TOP.search(moved[-1].detail))


def _held(case: Case, stage: tuple[Moment, ...]) -> Iterator[Breach]:
    last = stage[-1]
    outlet = [r.value for m in stage for r in m.at_tap("T4") if r.value is not None]
    held = [r.value for m in stage for r in m.at_tap("T3") if r.value is not None]
    passed = last.passed()
    if (
        len(outlet) > 1
        and outlet[-1] - outlet[0] >= lim.FOLLOWS.si
        and passed
        and held
        and max(held) > outlet[0]
    ):
        seen = (
            f"T4 goes from {case.told(outlet[0])} to {case.told(outlet[-1])} "
            "while T3 is raised: the valve passes."
        )
        yield breach("RUN-20", "V1", "block", last, seen, "Use another boundary, or injection.")
        return
    top = max(range(len(held)), key=lambda k: held[k]) if held else 0
    if len(held) > 1 and outlet and passed:
        excess, lost = held[top] - outlet[0], held[top] - held[-1]
        if excess > 0 and lost > max(lim.LOST_SHARE.si * excess, lim.FOLLOWS.si * 2) and len(held) - top > 1:
            seen = (
                f"T3 falls from {case.told(held[top])} to {case.told(held[-1])}: the section does not hold."
            )
            yield breach(
                "RUN-20", "V1", "block", last, seen, "Find the leak; use another boundary, or injection."
            )
            return
    if outlet and any(_goes_up(m.text, outlet[0], case.job.unit) for m in stage) and passed:
        seen = "T4 goes up while T3 is raised, the note says: the valve passes."
        yield breach("RUN-20", "V1", "block", last, seen, "Use another boundary, or injection.")
        return
    if any(stated(m.text, _NOT_TIGHT) == "done" and m.passed() and not _denied(m) for m in stage):
        yield breach(
            "RUN-20",
            "V1",
            "block",
            last,
            "The note says the outlet valve passes.",
            "Use another boundary, or injection.",
        )


_PAIR: Final = re.compile(r"(\d+(?:\.\d+)?)\D{1,14}?(?:to|->|→)\s*(\d+(?:\.\d+)?)")


def _goes_up(text: str, start: float, unit: str) -> bool:
    """Return whether a sentence on T4 gives a pair of figures that starts at its reading and rises."""
    for sentence in re.split(r"(?<=[.!?])\s+", text):
        spot = sentence.find("T4")
        for found in _PAIR.finditer(sentence, spot) if spot >= 0 else ():
            try:
                low, high = (parse(f"{found.group(k)} {unit}", "pressure").si for k in (1, 2))
            except UnitError:
                continue
            if (
                abs(low - start) <= lim.FOLLOWS.si
                and high - low >= lim.FOLLOWS.si
                and "T3" not in sentence[spot : found.start()]
            ):
                return True
    return False


def _denied(moment: Moment) -> bool:
    return any(c.negated and c.has(_NOT_TIGHT) for c in clauses(moment.text))


def _opening(case: Case) -> Iterator[Breach]:
    """V2: the inlet valve stands at its opening for raising while the line is raised."""
    least = case.job.raising_turns
    told: set[str] = set()
    for moment in case.raises():
        state = drain.at_raise(case, moment)
        key = "inlet"
        if (
            key not in told
            and least is not None
            and state.inlet is not None
            and state.inlet > least * lim.TURN_SLACK + lim.TURN_READ
        ):
            told.add(key)
            seen = (
                f"The line is raised with the inlet valve at {_turns(case, state.inlet)}; "
                f"{least:g} turns are the most."
            )
            yield breach(
                "RUN-21",
                "V2",
                "block",
                moment,
                seen,
                "Bring the inlet valve to its opening for raising first.",
            )
        elif key not in told and least is not None and _says_wide(moment, least):
            told.add(key)
            seen = f"The note has the inlet valve further open than {least:g} turns while the line is raised."
            yield breach(
                "RUN-21",
                "V2",
                "block",
                moment,
                seen,
                "Bring the inlet valve to its opening for raising first.",
            )


def _filled_wide(case: Case) -> Iterator[Breach]:
    """Until the flow test the inlet valve is never further open than for raising."""
    least, steps = case.job.raising_turns, ("C2", "C3", "C4", "C5", "D2", "D3", "D4", "DS1")
    if least is None or case.job.kind != "first":
        return
    for moment in case.story.of(*steps):
        state = case.after(moment)
        if state.inlet is not None and state.inlet > least * lim.TURN_SLACK + lim.TURN_READ:
            seen = (
                f"The inlet valve is brought to {_turns(case, state.inlet)}; {least:g} "
                "turns are the most before the flow test."
            )
            yield breach("RUN-21", "V2", "flag", moment, seen, "Bring it back to its opening for raising.")
            return


def _turns(case: Case, opening: float) -> str:
    whole = case.job.inlet_turns
    return "full opening" if whole is None or opening >= whole else f"{opening:g} turns"


def _says_wide(moment: Moment, least: float) -> bool:
    moment = moment.joined()
    wide = re.compile(
        r"\b(?:iv1|inlet valve|inlet gate)\b[^,;.]{0,30}\b(?:fully open|wide open|full open|"
        r"open(?:ed)? (?:right )?(?:up|out)|full bore)\b|"
        r"(?:fully open|wide open) (?:iv1|inlet)",
        re.IGNORECASE,
    )
    for clause in clauses(moment.text):
        if not clause.done or not clause.has(words.INLET_VALVE):
            continue
        if clause.has(wide) or any(
            t > least * lim.TURN_SLACK + lim.TURN_READ for t in turns(re.sub(r"of \d+ ", "", clause.text))
        ):
            return True
    return False
