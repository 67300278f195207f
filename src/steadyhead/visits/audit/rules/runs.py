"""The runs to the trip (F1 to F5): number, band, steps and holds, closing time, hold, the stop rule."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.findings.model import pressure
from steadyhead.visits.audit import cues
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.model import Moment, Read
from steadyhead.visits.audit.notes import clauses, pascals, stated
from steadyhead.visits.audit.rules import closing
from steadyhead.visits.audit.rules.case import TRIP_STEPS, Case, breach, stream_of
from steadyhead.visits.audit.rules.settings import last_of
from steadyhead.visits.audit.rules.stale import last_touch

_STEP: Final = re.compile(
    r"steps? (?:of|about|~|up to)?\s*(?:about )?(\d+(?:[.,]\d+)?)\s*(bar|kPa|psi|mH2O|m|mbar)\b",
    re.IGNORECASE,
)
_STEP_2: Final = re.compile(r"(\d+(?:[.,]\d+)?)\s*(bar|kPa|psi|mH2O|mbar)[- ]steps?\b", re.IGNORECASE)
_HOLD: Final = re.compile(
    r"(?:holds?|held|waits?|hold of|pauses?)\s*(?:of )?(?:about )?(\d+(?:[.,]\d+)?)\s*(?:s|secs?|"
    r"seconds?)\b|"
    r"(\d+(?:[.,]\d+)?)[- ]?s(?:ec(?:ond)?s?)? (?:holds?|"
    r"waits?|pauses?)\b",
    re.IGNORECASE,
)
_FALLING: Final = re.compile(
    r"\b(?:let|brought|eased) (?:it |T3 |the outlet )?down until "
    r"(?:it|the shut-?off|SO) (?:acted|went|tripped|shut)\b|"
    r"\bby (?:letting|bringing|easing|winding|turning) (?:down )?(?:the |its )?(?:shut-?off|so|screw|setting|"
    r"spring|pilot|trip)['’s]*(?: screw| setting| spring| pilot)?(?: of the (?:shut-?off|SO))?(?: down)\b|"
    r"\b(?:falling|on the way down|coming down|while lowering|by lowering the (?:shut-?off|so)|"
    r"lowered (?:the )?(?:shut-?off|so) (?:setting|screw|"
    r"pilot) until|(?:shut-?off|so|"
    r"trip) (?:setting|screw|pilot) (?:was )?(?:lowered|"
    r"eased down|brought down|let down|"
    r"wound down)(?: \w+){0,4} until)\b",
    re.IGNORECASE,
)


_RESEATS: Final = re.compile(r"\brelief|\bre-?seat", re.IGNORECASE)
"""What is rightly told of a falling pressure: at which a relief valve shuts again."""
_OPENS: Final = re.compile(
    r"\bre-?open\w*|\bopen(?:s|ed)? again\b|\b(?:comes?|came|goes|went|springs?|lets?) (?:back )?open\b|"
    r"\bdead[- ]?band\b|\bhysteresis\b|\bre-?set(?:s|ting)? (?:value|point|pressure|itself|at|by itself)\b",
    re.IGNORECASE,
)
"""And at which a shut-off that resets of itself opens: no proof of its trip, nor told as one."""


def rules(case: Case) -> Iterator[Breach]:
    """Yield what is against the runs to the trip."""
    if not case.has_shut_off:
        return
    runs = case.story.runs()
    yield from _number(case, runs)
    first = {stream_of(moment): read for moment, read in reversed(runs)}
    for moment, read in _counted(case, runs):
        yield from _band(case, moment, read, first[stream_of(moment)])
    for moment in case.story.of(*TRIP_STEPS):
        yield from _way(case, moment)
        yield from _passed_limit(case, moment)
        yield from _kept(case, moment)
    yield from _raised_to_set(case)
    yield from closing.rules(case, runs)


def _counted(case: Case, runs: tuple[tuple[Moment, Read], ...]) -> tuple[tuple[Moment, Read], ...]:
    """Return the runs that count: those after the last touch of the shut-off, and a yearly as-found run."""
    start = last_touch(case)
    later = tuple(run for run in runs if run[0].index > start)
    if case.job.kind == "yearly":
        return (*(run for run in runs[:1] if run[0].index <= start), *later)
    return later


def _number(case: Case, runs: tuple[tuple[Moment, Read], ...]) -> Iterator[Breach]:
    if case.job.kind == "restart":
        return
    needed = lim.RUNS if case.job.kind == "first" else lim.RUNS_YEARLY
    streams = {stream_of(m) for m, _ in runs} or {""}
    for stream in sorted(streams):
        own = [run for run in runs if stream_of(run[0]) == stream]
        count = len(own)
        text = " ".join(m.words for m in case.story.of(*TRIP_STEPS))
        if count < needed and count + _told_only(text) < needed:
            where = (
                own[-1][0] if own else case.story.of("F1", "F2", "F3", "ES6", "EF3", "Y4") or case.story.last
            )
            moment = where if isinstance(where, Moment) else where[-1]
            if case.job.layout == "injection" and count and _coverage(case):
                continue
            seen = (
                f"{count} rising run{'s' if count != 1 else ''} to the trip "
                f"with readings; {needed} are a proof."
            )
            rule = "F3" if count else "F1"
            remedy = "Make the runs that are missing, rising, from duty."
            yield breach("RUN-44", rule, "block", moment, seen, remedy, absent=True)


def _told_only(text: str) -> int:
    return 0


def _coverage(case: Case) -> bool:
    return any(
        "coverage" in m.words or "partial" in m.words or "full stroke" in m.words for m in case.story.moments
    )


def _band(case: Case, moment: Moment, read: Read, first: Read) -> Iterator[Breach]:
    job, trip, value = case.job, case.trip_of(moment), read.value
    if trip is None or value is None:
        return
    as_found = job.kind == "yearly" and read is first
    band = job.tolerance_up if as_found or job.kind == "restart" else job.repeatability
    if band is None:
        return
    held = moment.hold_before(read)
    middle = value if held is None else (value + held) / 2
    off = abs(middle - trip) if value > trip else abs(value - trip)
    if off <= band + lim.ROUNDING.si:
        return
    if as_found and _finding_raised(case, moment):
        return
    seen = f"The shut-off acts at {case.told(value)}; {case.told(trip)} ± {case.told(band)} is asked."
    yield Breach(
        "RUN-38",
        "Y4" if as_found else "F3",
        "block",
        moment,
        seen,
        "Adjust, tighten the nut and prove with three runs; or record the finding and look back.",
        pressure(value),
        pressure(trip + band if value > trip else trip - band),
    )


def _finding_raised(case: Case, moment: Moment) -> bool:
    later = case.story.moments[moment.index :]
    told = any("finding" in m.words or m.done("deviation") for m in later)
    return (told or bool(case.story.deviations)) and last_touch(case) > moment.index


def _way(case: Case, moment: Moment) -> Iterator[Breach]:
    """Steps and holds near the trip."""
    job = case.job
    if (
        job.repeatability is None
        or case.is_injection(moment)
        or moment.step not in ("F1", "F3", "Y4", "Y6", "DS6", "R8")
    ):
        return
    text = f"{moment.text} {' '.join(a.detail for a in moment.done('raise'))}"
    steps = [pascals(v, u) for v, u in (*_STEP.findall(text), *_STEP_2.findall(text))]
    most = lim.STEP_SHARE.si * job.repeatability
    gaps = [t.value - held for t in moment.run_trips() if t.value and (held := moment.hold_before(t))]
    widest = max([*(s for s in steps[-1:]), *gaps], default=0.0)
    if widest > most + lim.ROUNDING.si:
        seen = f"Raised in steps of {case.told(widest)}; half the repeatability is {case.told(most)}."
        yield breach("RUN-44", "F1", "block", moment, seen, "Repeat the run in smaller steps.")
    holds = [float((a or b).replace(",", ".")) for a, b in _HOLD.findall(text)]
    holds += [r.steady for r in moment.reads if r.is_hold and r.steady is not None]
    if holds and min(holds) < lim.HOLD.si and moment.trips:
        seen = f"Held {min(holds):g} s near the trip; {lim.HOLD.text} are asked."
        yield breach("RUN-44", "F1", "block", moment, seen, "Repeat the run with longer holds.")
    yield from _swept(moment, steps)


def _swept(moment: Moment, steps: list[float]) -> Iterator[Breach]:
    """A run without steps, and one that is no rise."""
    swept = re.compile(
        r"\b(?:in|with) one (?:sweep|go|turn|pull|move)\b|\bone long turn\b|\bwithout (?:steps|"
        r"holds?|waits?|pauses?)\b|\bno (?:steps|holds?|waits?|"
        r"pauses?)\b",
        re.IGNORECASE,
    )
    raised = re.compile(r"rais|up to|screw|reducer", re.IGNORECASE)
    if (
        moment.trips
        and not steps
        and (
            stated(moment.text, swept, raised) == "done"
            or any(swept.search(a.detail) for a in moment.done("raise"))
        )
    ):
        seen = "The run is made without steps and holds."
        yield breach("RUN-44", "F1", "block", moment, seen, "Repeat the run in steps with holds.")
    told = (c for c in clauses(moment.text) if c.done and c.has(_FALLING))
    if any(not c.about(_RESEATS) and not c.has(_OPENS) for c in told) or any(
        "falling" in r.mark for r in moment.trips
    ):
        seen = "The shut-off is called proved by a falling setting, not by rising pressure."
        yield breach("RUN-28", "V9", "block", moment, seen, "Prove it by raising the pressure.")


def _raised_to_set(case: Case) -> Iterator[Breach]:
    """ES3, DS3: the outlet held at the trip pressure for two minutes before the shut-off is set there."""
    job = case.job
    if job.trip is None or not case.story.of("ES4", "DS4"):
        return
    for stage in last_of(case, "ES3", "DS3"):
        last, trip = stage[-1], case.trip_of(stage[-1]) or job.trip
        held = [r.value for m in stage for r in m.at_tap("T3") if r.value is not None]
        if not held or last.index > case.story.of("ES4", "DS4")[-1].index or not last.passed():
            continue
        yield from _at_trip(case, last, max(held), trip)
        inlet = [r.value for m in stage for r in m.at_tap("T1") if r.value is not None]
        if inlet and min(inlet) < trip + lim.INLET_OVER_TRIP.si - lim.ROUNDING.si:
            seen = f"T1 is {case.told(min(inlet))}, too little above the trip {case.told(trip)}."
            yield breach(
                "RUN-36", last.step, "flag", last, seen, "Set and prove it by injection.", accepts=True
            )


def _at_trip(case: Case, last: Moment, top: float, trip: float) -> Iterator[Breach]:
    """The highest pressure held against the trip, and against the highest of a test."""
    job, step = case.job, last.step
    if top < trip - lim.AT_TRIP.si - lim.ROUNDING.si:
        seen = f"T3 stops at {case.told(top)}, short of {case.told(trip)}, and the shut-off is set there."
        yield Breach(
            "RUN-36",
            step,
            "flag",
            last,
            seen,
            "Spring range or T1 too low: set and prove it by injection.",
            pressure(top),
            pressure(trip - lim.AT_TRIP.si),
            accepts=True,
        )
    elif job.test_limit is not None and top > job.test_limit + lim.ROUNDING.si:
        seen = f"T3 is raised to {case.told(top)}, past {case.told(job.test_limit)}, the highest of a test."
        yield Breach(
            "RUN-44",
            step,
            "block",
            last,
            seen,
            "Stop at the upper edge, open the drain, lower the reducer.",
            pressure(top),
            pressure(job.test_limit),
        )


def _passed_limit(case: Case, moment: Moment) -> Iterator[Breach]:
    trip, up = case.trip_of(moment), case.job.tolerance_up
    if trip is None or up is None or not case.job.repeatability:
        return
    edge = trip + up
    high = [r.value for r in moment.at_tap("T3") if r.value is not None and not r.is_peak]
    acted = [r.value for r in moment.trips if r.value is not None]
    over = max(high, default=0.0) > edge + lim.ROUNDING.si
    if over and not (case.job.kind == "yearly" and _finding_raised(case, moment)):
        seen = f"The outlet is raised to {case.told(max(high))}, past the upper edge {case.told(edge)}" + (
            " before the shut-off acts." if acted else ", and the shut-off does not act."
        )
        yield Breach(
            "RUN-44",
            "F1",
            "block",
            moment,
            seen,
            "Stop at the upper edge, open the drain, lower the reducer.",
            pressure(max(high)),
            pressure(edge),
        )
    peak = [r.value for r in moment.at_tap("T3") if r.is_peak and r.value is not None]
    if peak and case.job.limit is not None and max(peak) > case.job.limit + lim.ROUNDING.si:
        seen = f"The peak, {case.told(max(peak))}, is above the limit {case.told(case.job.limit)}."
        yield Breach(
            "RUN-44",
            "F4",
            "block",
            moment,
            seen,
            "Find what the peak did; slow the raise, check the closing time.",
            pressure(max(peak)),
            pressure(case.job.limit),
        )


_UNCOUNTED: Final = re.compile(
    r"\b(?:did not|didn['’]t|do not|don['’]t) count (?:it|this|that|"
    r"the (?:first|second|third|last|low|high))\b",
    re.IGNORECASE,
)


def _kept(case: Case, moment: Moment) -> Iterator[Breach]:
    """Every run counts: none is averaged away."""
    for clause in clauses(moment.text):
        only = re.search(
            r"\bonly (?:runs? )?(?:\d|two|the (?:last|second|other)).{0,20}(?:sheet|count\w*|"
            r"record|certificate|report)",
            clause.text,
            re.IGNORECASE,
        )
        mean = re.search(r"\b(?:took|take|used?) (?:the |an )?(?:average|mean)\b", clause.text, re.IGNORECASE)
        uncounted = clause.told == "done" and _UNCOUNTED.search(clause.text)
        if (
            uncounted
            or (clause.done and (only or mean))
            or (
                clause.done
                and clause.has(cues.AVERAGED)
                and not re.search(r"\blist\b|\bitems?\b|\brestor", clause.text)
                and re.search(
                    r"\brun|\btrip|\bfirst|\bhigh|\bthree|\bvalue",
                    f"{clause.before} {clause.text}",
                    re.IGNORECASE,
                )
            )
        ):
            seen = "A run is averaged or left out of the proof, the note says."
            yield breach(
                "RUN-44", "F3", "flag", moment, seen, "Record every run; judge each against the band."
            )
            return
