"""What was set and how it holds: expected readings, D3, H1 and V9, H2 (lock-up), H3, H4 (flow test), H5."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.findings.model import pressure
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit import words
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.model import Act, Moment, Read
from steadyhead.visits.audit.notes import said
from steadyhead.visits.audit.rules.case import STANDBY, Case, breach, stream_of, value_at

_TAP: Final = re.compile(r"^T[0-4][ab]?(?:\.\w+)?$")
_ABOVE: Final = re.compile(
    r"\b(?:from above|down to (?:duty|it|the duty)|lowered (?:straight |back |down )*to (?:duty|"
    r"\d)|(?:came|come|eased|brought|let|taken|wound|turned|run|backed|dropped) (?:straight |back )?down "
    r"(?:to|onto) (?:duty|it|\d))",
    re.IGNORECASE,
)
_BELOW: Final = re.compile(
    r"\b(?:from below|up to (?:duty|it|\d)|then up|and up|raised to|back up|up again|rising to)\b",
    re.IGNORECASE,
)
_EXPLAINED: Final = re.compile(
    r"\b(?:height|datum|gauge|corrected|correction|explained|agreed|because|found|deviation|"
    r"third instrument|changed|re-?read|repeat\w*|"
    r"stop(?:ped)?|not (?:go|gone) on|investigat\w*)\b",
    re.IGNORECASE,
)
_TAKEN_UP: Final = re.compile(
    r"\b(?:correct(?:ed|ion)|explained|deviation|third instrument|re-?read|repeat\w*|not (?:go|gone) on|"
    r"investigat\w*|differ(?:s|ed|ence)|off the plan|gauge height|datum|stopped (?:here|work|and))\b",
    re.IGNORECASE,
)
"""What a later note says that takes up a reading off the plan."""
_DRAINED_TO: Final = re.compile(
    r"\b(?:drained|drawn|let|bled|run|brought)(?: down)? to (?:about |some )?(\d+(?:[.,]\d+)?)", re.IGNORECASE
)
"""Level a section was drained to before something else was done at its step."""
_SAME: Final = 0.006
"""Two numbers told to two decimals are one."""
_MAIN_LEADS: Final = re.compile(
    r"\bmain (?:valve |reducer )?(?:leads|opens first|takes (?:all|the)|carries (?:all|the))|"
    r"\bLB (?:stays|stayed|remains|never|does not|"
    r"did not) (?:shut|open)",
    re.IGNORECASE,
)
_TRIPPED: Final = re.compile(
    r"\b(?:shut-?off|SO|it) (?:tripped|acted|went(?: shut| once| off)?|shut|closed)\b|"
    r"\b(?:shut-?off|SO|it) (?:did |has |had )?(?:drop\w*|fell|fall|snap\w*|slam\w*|go|gone|"
    r"went) (?:shut|closed|off|once)|(?:shut-?off|SO) (?:came|cut|kicked|dropped|went) (?:in|out|to)|"
    r"^(?:tripped|acted|dropped|went shut|shut) (?:on|at|with|after) (?:the|a|that)\b|"
    r"\b(?:made|let|had) (?:it|the shut-?off|SO) (?:trip|act|shut|go|drop)\b|\b(?:caused|"
    r"set off) (?:a trip|the shut-?off)|"
    r"(?:shut-?off|SO) went$|\bit trips\b|\bone trip\b|\btripped once\b",
    re.IGNORECASE,
)


def rules(case: Case) -> Iterator[Breach]:
    """Yield what is against settings and how they hold."""
    yield from _expected(case)
    yield from _trickle(case)
    yield from _drop_tight(case)
    yield from _no_action_at_duty(case)
    for stage in last_of(case, "H1", "Y7"):
        for part in _each_stream(case, stage):
            yield from _duty(case, part)
    yield from _low_flow(case)


_NAMES_STREAM: Final = re.compile(r"\bduty (?:stream|side|line)\b|\bstand-?by\b", re.IGNORECASE)


def last_of(case: Case, *steps: str) -> Iterator[tuple[Moment, ...]]:
    """Return the last stage of each stream at these steps; one that names no stream is of the one before."""
    last: dict[tuple[str, str], tuple[Moment, ...]] = {}
    two = case.job.layout == "duty and standby"
    for step in steps:
        now = ""
        for stage in case.story.stages(step):
            if two and any(_NAMES_STREAM.search(m.words) for m in stage):
                now = next((one for m in stage if (one := stream_of(m))), "")
            last[stage[0].node, now] = _counting(stage)
    yield from last.values()


def _each_stream(case: Case, stage: tuple[Moment, ...]) -> Iterator[tuple[Moment, ...]]:
    """Return what each stream has of a stage; what names none belongs to the one set last."""
    if case.job.layout != "duty and standby":
        yield stage
        return
    parts: dict[str, list[Moment]] = {}
    now = ""
    for moment in stage:
        now = stream_of(moment) if acts_on_it(list(moment.acts)) else now
        parts.setdefault(now, []).append(moment)
    yield from (tuple(part) for part in parts.values())


def _counting(stage: tuple[Moment, ...]) -> tuple[Moment, ...]:
    """Return what follows the last moment called not passed, the whole stage where nothing does."""
    failed = [k for k, moment in enumerate(stage) if not moment.passed()]
    return stage[failed[-1] + 1 :] or stage if failed else stage


def _slack(case: Case, read: Read, least: float) -> float:
    tool = case.story.instruments.get(read.instrument)
    return max(least, lim.GAUGES_APART * tool.error if tool is not None and tool.error is not None else 0.0)


def _expected(case: Case) -> Iterator[Breach]:
    for moment in case.story.moments:
        if moment.step in ("F1", "F2", "F3", "Y4", "Y6", "H2", "DS6"):
            continue
        for name, value in moment.expected.items():
            if not _TAP.match(str(name)):
                continue
            reads = [r for r in moment.at_tap(str(name).split(".")[0]) if not r.is_passing]
            low, high = value if isinstance(value, tuple) and len(value) == 2 else (value, value)
            if not reads or not isinstance(low, (int, float)) or not isinstance(high, (int, float)):
                continue
            running = [r for r in reads if r.flow is not None and r.flow > lim.NO_FLOW.si]
            if not any(_meets(case, r, float(low), float(high)) for r in (*running[-1:], reads[-1])):
                yield from _off(case, moment, reads[-1], float(low), float(high))


def _meets(case: Case, read: Read, low: float, high: float) -> bool:
    """Return whether a reading is as expected; of water running and at rest, one of the two is meant."""
    slack = _slack(case, read, lim.EXPECTED_SLACK.si)
    return low - slack <= (read.value or 0.0) <= high + slack


def _off(case: Case, moment: Moment, read: Read, low: float, high: float) -> Iterator[Breach]:
    value = read.value or 0.0
    if _meets(case, read, low, high):
        return
    if answered(case, moment):
        return
    middle = low if value < low else high
    seen = f"{read.tap} reads {case.told(value)}; {case.told(middle)} was expected, and the work goes on."
    yield Breach(
        "RUN-36",
        moment.step,
        "flag",
        moment,
        seen,
        "Stop; check gauge height, unit and class, then the cause.",
        pressure(value),
        pressure(middle),
    )


def answered(case: Case, moment: Moment) -> bool:
    """Return whether somebody explained, stopped at or recorded what was not as expected."""
    near = case.story.moments[moment.index : moment.index + 3]
    return (
        any(
            moment.index <= d.index <= moment.index + 3 or moment.step.casefold() in d.words.split()
            for d in case.story.deviations
        )
        or not moment.passed()
        or any(
            (_EXPLAINED if m is moment else _TAKEN_UP).search(m.text)
            and not re.search(r"went on|carried on|anyway|all the same|ignored", m.words)
            for m in near
        )
    )


def _trickle(case: Case) -> Iterator[Breach]:
    """The trickle reading where the record gives no expectation of its own."""
    for moment in case.story.of("EF1", "ES1", "DS2", "Y3", "R7"):
        asked = case.trickle_asked(moment)
        if asked is None or (
            any(_TAP.match(str(n)) for n in moment.expected)
            or case.job.trickle_flow is None
            or "standby" in moment.words
            or _drawn_down(case, moment)
        ):
            continue
        reads = [
            r
            for r in moment.at_tap("T3")
            if r.flow is not None
            and abs(r.flow - case.job.trickle_flow) <= lim.TRICKLE_SHARE * case.job.trickle_flow
        ]
        reads = [
            r for r in reads if not r.mark and "lb" not in r.tap.casefold() and not _drained(case, moment, r)
        ]
        slack = lim.EXPECTED_SLACK.si if moment.step not in ("Y3", "R7") else lim.AGED * lim.EXPECTED_SLACK.si
        if reads and "lb" not in moment.node.casefold():
            value = reads[-1].value or 0.0
            if abs(value - asked) > _slack(case, reads[-1], slack) and not answered(case, moment):
                seen = (
                    f"The trickle reading is {case.told(value)}; {case.told(asked)} "
                    "belongs to duty, and the work goes on."
                )
                yield Breach(
                    "RUN-36",
                    moment.step,
                    "flag",
                    moment,
                    seen,
                    "Stop; check the gauge, then the setting.",
                    pressure(value),
                    pressure(asked),
                )


def _drawn_down(case: Case, moment: Moment) -> bool:
    """Return whether the shut-off still stands tripped: what T3 reads then is a drained tap, no reducer."""
    return case.before(moment).tripped and not moment.done("reset") and "reset" not in moment.words


def _drained(case: Case, moment: Moment, read: Read) -> bool:
    """Return whether the words give a reading as the level its section was drained to."""
    told = float(case.told(read.value or 0.0).split()[0])
    return any(
        abs(float(number.replace(",", ".")) - told) < _SAME for number in _DRAINED_TO.findall(moment.text)
    )


def _drop_tight(case: Case) -> Iterator[Breach]:
    for stage in last_of(case, "D3"):
        reads = [r for m in stage for r in m.at_tap("T3") if (r.flow or 0.0) <= lim.NO_FLOW.si]
        if len(reads) < 2 or not stage[-1].passed():
            continue
        rise = (reads[-1].value or 0.0) - (reads[0].value or 0.0)
        walls = [r.wall for r in reads if r.wall is not None]
        warmed = len(walls) > 1 and abs(walls[-1] - walls[0]) > lim.SAME_DAY_DRIFT.si
        if (
            rise > lim.AGED * lim.EXPECTED_SLACK.si
            and not warmed
            and "leak" not in stage[-1].words
            and not answered(case, stage[-1])
        ):
            seen = (
                f"T3 climbs from {case.told(reads[0].value or 0.0)} to {case.told(reads[-1].value or 0.0)}: "
                "the reducer is not drop-tight."
            )
            yield breach(
                "RUN-46",
                "D3",
                "flag",
                stage[-1],
                seen,
                "Shut the pilot's outlet cock: stops, the pilot passes; goes on, the seat.",
            )


def _no_action_at_duty(case: Case) -> Iterator[Breach]:
    for moment in case.story.of("EF2", "H5"):
        done = said(moment.text, _TRIPPED) == "done" or (moment.done("trip") and moment.step == "EF2")
        if done and moment.passed():
            seen = "The shut-off acts at duty or on a small step, and the work goes on."
            yield breach(
                "RUN-46",
                moment.step,
                "flag",
                moment,
                seen,
                "Stop: trip too low, pilots exchanged, or a surge in the stiff section.",
            )


_KEPT: Final = re.compile(
    r"untouched|not (?:been )?(?:touched|moved|turned)|left (?:alone|as)|unchanged|never touched",
    re.IGNORECASE,
)


def acts_on_it(acts: list[Act]) -> bool:
    """Return whether any act changes a setting."""
    return any(
        a.do in ("adjust", "raise", "lower", "turn", "set", "tighten nut", "slacken nut") for a in acts
    )


def _duty(case: Case, stage: tuple[Moment, ...]) -> Iterator[Breach]:
    job, last = case.job, stage[-1]
    text = " ".join(m.all_words for m in stage)
    reads = [r for m in stage for r in m.at_tap("T3") if not r.is_trip and not r.is_peak]
    if job.layout == "injection" and not reads:
        return
    after = [r for r in reads if "after nut" in r.mark or "after the nut" in r.mark]
    before = [r for r in reads if "before nut" in r.mark or "before the nut" in r.mark]
    acts = [a for m in stage for a in m.acts]
    nut = any(a.do == "tighten nut" for a in acts) or re.search(r"\bnut\b", text) is not None
    yield from _direction(case, stage, reads, after or before, text)
    if acts_on_it(acts) or not _KEPT.search(text):
        yield from _nut(case, stage, before, after, nut=nut)
    left = after or before or reads[-1:]
    if left:
        yield from _left(case, last, left[-1], reads)


_PAST: Final = re.compile(
    r"\b(?:over|past|above|beyond|too (?:far|high))\b[^.;]{0,30}\b(?:let|brought|came|come|eased|taken|"
    r"lowered|wound|turned|dropped|went)(?: back)? down(?: again| back)? (?:onto|to|on)\b",
    re.IGNORECASE,
)


def _past_and_back(text: str) -> bool:
    """Return whether duty is said to be passed and come down onto, with no further approach from below."""
    found = _PAST.search(text)
    if found is None or words.PLANNED.search(text[: found.end()].rsplit(".", 1)[-1]):
        return False
    return not re.search(
        r"\b(?:below|up (?:again|to)|again up|upwards)\b", text[found.end() :], re.IGNORECASE
    )


def _go_below(case: Case) -> str:
    low, high = (case.told(one.si) for one in (lim.BELOW_DUTY_ASKED, lim.BELOW_DUTY_MOST))
    return f"Go {low} to {high} below with water running, then up to duty."


def _direction(
    case: Case, stage: tuple[Moment, ...], reads: list[Read], left: list[Read], text: str
) -> Iterator[Breach]:
    last = stage[-1]
    value = value_at(tuple(left)) if left else value_at(tuple(reads))
    if value is None:
        return
    lowest = min(r.value for r in reads if r.value is not None)
    changed = any(a.do in ("adjust", "raise", "lower", "turn", "set") for m in stage for a in m.acts)
    if not changed and _KEPT.search(text):
        return
    words_below = bool(_BELOW.search(text)) and not re.search(r"not (?:from|gone|taken|been) below", text)
    told = " ".join(m.text for m in stage)
    above = (said(told, _ABOVE) == "done" and not _BELOW.search(told)) or any(
        "from above" in a.detail.casefold() for m in stage for a in m.acts
    )
    dry = [r for r in reads if r.flow is not None and r.flow <= lim.NO_FLOW.si]
    if _past_and_back(told):
        seen = "Duty is passed and let down onto: the last approach is from above."
        yield breach("RUN-28", "V9", "block", last, seen, _go_below(case))
    elif above and not (lowest < value - lim.BELOW_DUTY.si):
        seen = "Duty is approached from above; spring and friction stand on the other side."
        yield breach(
            "RUN-28",
            "V9",
            "block",
            last,
            seen,
            _go_below(case),
        )
    elif lowest > value - lim.BELOW_DUTY.si and not words_below:
        seen = "No reading below duty stands ahead of it: duty is not shown to be approached from below."
        yield breach(
            "RUN-28",
            "V9",
            "block" if changed else "flag",
            last,
            seen,
            _go_below(case),
        )
    elif dry and left and left[-1] in dry:
        seen = "Duty is set with no water running: a lowered setting shows nothing."
        yield breach("RUN-28", "V9", "block", last, seen, "Set it again with water running.")


def _nut(
    case: Case, stage: tuple[Moment, ...], before: list[Read], after: list[Read], *, nut: bool
) -> Iterator[Breach]:
    last = stage[-1]
    remedy = f"Tighten the nut, read again; shifted by more than {case.told(lim.NUT_SHIFT.si)}: repeat."
    tight = [(m, k) for m in stage for k, a in enumerate(m.acts) if a.do == "tighten nut"]
    text = " ".join(m.words for m in stage)
    if not after:
        reread = re.search(
            r"re-?read|after (?:the )?nut|again after|unchanged (?:by|after)|still \d|"
            r"\bnut(?: \w+)?[;,:.] ?(?:then |now |after |and )?t?3? ?\d",
            text,
        )
        if tight or nut or before:
            if not reread:
                seen = "No reading stands after the lock nut was tightened; one before it is no as-left."
                yield breach("RUN-23", "H1", "block", last, seen, remedy)
        elif any(a.do in ("adjust", "raise", "lower") for m in stage for a in m.acts):
            yield breach(
                "RUN-23",
                "H1",
                "block",
                last,
                "The lock nut of the reducer is not tightened in the record.",
                remedy,
            )
        return
    if before and before[-1].value is not None and after[-1].value is not None:
        shift = after[-1].value - before[-1].value
        if abs(shift) > lim.NUT_SHIFT.si + lim.ROUNDING.si:
            seen = (
                f"The nut shifts the reading by {case.told(abs(shift))}; "
                f"{case.told(lim.NUT_SHIFT.si)} is the most."
            )
            yield breach("RUN-36", "H1", "flag", last, seen, remedy)


def _left(case: Case, last: Moment, read: Read, reads: list[Read]) -> Iterator[Breach]:
    job = case.job
    value = read.value or 0.0
    if (
        job.duty is None
        or "lb" in f"{last.node} {read.tap}".casefold()
        or any(STANDBY.search(m.all_words) and read in m.reads for m in (last, *case.story.of(last.step)))
    ):
        return
    wanted = [(job.duty_flow, job.duty), (job.trickle_flow, job.trickle_reading)]
    near = [
        p
        for f, p in wanted
        if f and p is not None and read.flow is not None and abs(read.flow - f) <= lim.SAME_FLOW * f
    ]
    aims = near or [p for _, p in wanted if p is not None]
    if aims and value < aims[0] and case.job.kind == "restart" and _lowered_on_purpose(case):
        return
    if aims and min(abs(value - p) for p in aims) > lim.OFF_DUTY.si:
        seen = f"Duty is left at {case.told(value)}; {case.told(aims[0])} is asked at that flow."
        yield Breach(
            "RUN-36",
            "H1",
            "flag",
            last,
            seen,
            "Set duty at its stated flow, from below.",
            pressure(value),
            pressure(aims[0]),
        )
    elif not near and read.flow is not None and read.flow > lim.NO_FLOW.si and job.duty_flow:
        yield breach(
            "RUN-36",
            "H1",
            "info",
            last,
            "Duty is read at another flow than the stated one.",
            "Read it at duty flow or trickle.",
        )


_LOWER_DUTY: Final = re.compile(
    r"\b(?:lower(?:ed)?|reduced|smaller|less) (?:\w+ )?(?:duty|outlet|pressure|setting)\b|"
    r"\bduty (?:\w+ ){0,4}?(?:lower\w*|reduced|down|less|below|taken down|let down)\b",
    re.IGNORECASE,
)


def _lowered_on_purpose(case: Case) -> bool:
    """Return whether a restart says that it goes on at a lower duty, as with a cause not understood."""
    return any(
        m.step.startswith(("R", "H", "J")) and said(m.text, _LOWER_DUTY) == "done" for m in case.story.moments
    )


def _low_flow(case: Case) -> Iterator[Breach]:
    for moment in case.story.of("H3"):
        if said(moment.text, _MAIN_LEADS) == "done" and not re.search(r"\blb leads\b", moment.words):
            seen = "The main reducer leads at low flow: settings exchanged or too close."
            yield breach(
                "RUN-46",
                "H3",
                "flag",
                moment,
                seen,
                "Set the low-flow stream above the main one, as far as its design says.",
            )
