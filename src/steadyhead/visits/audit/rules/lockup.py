"""How the station holds: lock-up (H2, Y3) and flow test (H4)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.findings.model import flow, pressure
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.follow import valve_of
from steadyhead.visits.audit.model import Moment, Read
from steadyhead.visits.audit.notes import Clause, clauses, minutes, stated
from steadyhead.visits.audit.rules.case import Case, breach, stream_of
from steadyhead.visits.audit.rules.let_off import BEGUN_AGAIN, at_rest, opened, tries_that_count
from steadyhead.visits.audit.rules.settings import answered, last_of
from steadyhead.visits.audit.rules.told_order import spot_of

_RUNS: Final = re.compile(
    r"\b(?:TD|(?:test )?drain)\b[^,;.]{0,30}\b(?:trickl\w*|crack(?:ed)?|dripp\w*|running|open|"
    r"a little|weep\w*|not (?:quite |fully )?(?:shut|"
    r"closed))\b|"
    r"\b(?:TD|(?:test )?drain)\b[^,;.]{0,12}\bleft (?!shut|closed|off)\w+|\b(?:pencil|thread|"
    r"dribble|thin stream|hair)[^,;.]{0,20}\b(?:stream|water|"
    r"TD|drain)\b|\b(?:dribbl\w*|dripp\w*|"
    r"trickl\w*|weep\w*|running) (?:at|from|through|"
    r"out of) (?:the )?(?:TD|drain)|\b(?:TD|"
    r"drain) (?:at|on) (?:about )?0[.,]\d*[1-9]|\b(?:trickle|"
    r"drip|water) (?:left |still |kept )?(?:on|"
    r"running|going)\b|\bmeter (?:reads |shows |at |"
    r"still )?(?:0[.,]\d*[1-9]\d*|"
    r"[1-9]\d*(?:[.,]\d+)?)\b",
    re.IGNORECASE,
)
_NO_METER: Final = re.compile(
    r"\b(?:meter|flow) (?:was )?not (?:read|looked at|checked|measured)|\bno (?:flow )?meter\b|"
    r"\bflow (?:was )?(?:assumed|taken as)\b|\bmeter (?:was |"
    r"had been |already |is )*(?:out|"
    r"off|unplugged|removed|back in|taken|packed|gone)|"
    r"\bmeter (?:was |had been |already |is )+dead\b(?! still| quiet)|"
    r"\bmeter['’]?s? (?:battery|display)\b[^,;.]{0,12}\b(?:dead|flat|empty|blank)",
    re.IGNORECASE,
)


def rules(case: Case) -> Iterator[Breach]:
    """Yield what is against lock-up and flow test."""
    for stage in last_of(case, "H2"):
        yield from _lockup(case, stage, lim.LOCKUP_MINUTES, full=True)
    for stage in last_of(case, "Y3"):
        yield from _lockup(case, stage, lim.LOCKUP_MINUTES_YEARLY, full=False)
    yield from _flow_test(case)


def _lockup(case: Case, stage: tuple[Moment, ...], least: float, *, full: bool) -> Iterator[Breach]:
    last = stage[-1]
    moments = tries_that_count([m for m in stage if full or re.search(r"lock", m.all_words)])
    if not moments:
        return
    reads = [r for m in moments for r in m.at_tap("T3") if not r.mark.startswith("before")]
    if not full:
        reads = [r for one in dict.fromkeys(map(stream_of, moments)) for r in at_rest(moments, one)]
    yield from _flow_zero(case, last, reads, _told_of_flow(case, moments, full=full), full=full)
    yield from _isolated(case, moments)
    yield from opened(case, last, moments, full=full)
    yield from _watched(case, last, moments, reads, least, full=full)
    top = case.job.lockup_highest
    final = reads[-1].value if reads else None
    if (
        top is not None
        and final is not None
        and final > top + lim.LOCKUP_SLACK.si
        and full
        and not answered(case, last)
    ):
        seen = f"Lock-up stands at {case.told(final)}; {case.told(top)} is the highest of the design."
        yield Breach(
            "RUN-34",
            "H2",
            "block",
            last,
            seen,
            "Find which stream leaks; it is no pass.",
            pressure(final),
            pressure(top),
        )
    if full and case.job.layout == "low-flow stream":
        back = case.story.of("H3")
        if back and all(m.index > last.index for m in back):
            seen = "The lock-up is taken before the low-flow stream is back in service."
            yield breach("RUN-34", "H2", "block", last, seen, "Take it again with every stream in service.")


_OPENED_AFTER: Final = re.compile(
    r"\b(?:TD|(?:test )?drain)\b[^;]{0,30}\b(?:open\w*|re-?open\w*|on|runs?|running|crack\w*|trickl\w*|wet|"
    r"water)\b|\b(?:opened|reopened|cracked) (?:the )?(?:TD|drain)\b|\btrickle (?:back|again)\b",
    re.IGNORECASE,
)


def _told_of_flow(case: Case, moments: list[Moment], *, full: bool) -> str:
    """Return what the note of one of the moments says against zero flow, empty for nothing.

    Each is read for itself; one after which the lock-up was begun again is not.
    """
    for k, moment in enumerate(moments):
        if any(BEGUN_AGAIN.search(m.text) for m in moments[k + 1 :]):
            continue
        own = [r for r in moment.at_tap("T3") if not r.mark.startswith("before")]
        text = _during(case, [moment], own, moment.text)
        if told := _running_told(text, reads=bool(own), full=full):
            return told
    return ""


def _during(case: Case, moments: list[Moment], reads: list[Read], text: str) -> str:
    """Return what a note says of the lock-up itself: without the drain that is opened when it is over.

    It is over where its last figure stands, or where the acts have it shut, and then open.
    """
    spot = spot_of(text, [r.value for r in reads[-1:]], case.job.unit)
    acts = [a.do for m in moments for a in m.acts if valve_of(a.thing) == "TD"]
    then = "shut" in acts and acts[-1] in ("open", "crack", "throttle")
    if spot is None and not then:
        return text
    kept, end = [], 0
    for sentence in re.split(r"(?<=[.!?;,])\s+", text):
        start = text.find(sentence, end)
        end = start + len(sentence)
        over = (spot is not None and start > spot) or (spot is None and then)
        if not (over and _OPENED_AFTER.search(sentence) and not _left_running(sentence)):
            kept.append(sentence)
    return " ".join(kept)


def _flow_zero(case: Case, last: Moment, reads: list[Read], told: str, *, full: bool) -> Iterator[Breach]:
    remedy = "Shut drain and outlet, see the meter at zero, watch T3 and the wall temperature."
    rule = "H2" if full else "Y3"
    ran = [r.flow for r in reads if r.flow is not None and r.flow > lim.NO_FLOW.si]
    if ran:
        seen = "Water runs during the lock-up: it shows a regulating valve, no lock-up."
        yield Breach("RUN-34", rule, "block", last, seen, remedy, flow(max(ran)), flow(0.0))
        return
    if told:
        yield breach("RUN-34", rule, "block", last, told, remedy)


def _running_told(text: str, *, reads: bool, full: bool) -> str:
    """Return what a note says against zero flow, empty for nothing."""
    if stated(text, _METER) == "done" or (full and _flow_told(text)):
        return "The meter does not read zero in the lock-up, the note says."
    runs_on = stated(text, _RUNS) == "done" and not _shut_later(text)
    if (runs_on and (not reads or _left_running(text) or not _drain_shut(text))) or _dribbles(text):
        return "Water runs during the lock-up, the note says."
    return "Zero flow is not measured in the lock-up." if stated(text, _NO_METER) == "done" else ""


_DRIBBLE: Final = re.compile(
    r"\b(?:pencil|thread|dribbl\w*|dripp\w*|weep\w*|thin stream|hair)\b[^,;.]{0,25}\b(?:TD|drain|hose|"
    r"water)\b|"
    r"\b(?:TD|drain)\b[^,;.]{0,20}\b(?:dribbl\w*|dripp\w*|weep\w*|let(?:s|ting)? by|pass(?:es|ing)|"
    r"not (?:quite |fully |really |right )?(?:tight|shut|closed|dry))\b|"
    r"\b(?:taps?|cocks?|vents?|air valve|hydrants?|standpipe|spout|sample point)\b[^,;.]{0,25}\b(?:dribbl\w*|"
    r"dripp\w*|weep\w*|(?:left|kept|still|stays?|stayed) (?:\w+ )?(?:running|trickling|on))\b|"
    r"\b(?:sampl\w+|draw-?off|wash-?down|laboratory|garden|drinking)[- ](?:tap|cock|point|line|hose)\b"
    r"[^,;.]{0,20}\b(?:open|on|running|trickl\w*|flowing)\b|"
    r"\b(?:dribbl\w*|dripp\w*|weep\w*) (?:at|from|through|out of) (?:the |a |one )?(?:\w+ )?(?:tap|cock|vent|"
    r"hydrant|air valve|spout)\b",
    re.IGNORECASE,
)


def _dribbles(text: str) -> bool:
    """Return whether water is said to come at the drain with nothing that says it was stopped."""
    told = [c for c in clauses(text) if c.how(_DRIBBLE) == "done"]
    if not told:
        return False
    rest = text[text.find(told[-1].text) :]
    return not re.search(r"\b(?:shut|closed|stopped|then dry|ceased|until)\b", rest, re.IGNORECASE)


_METER: Final = re.compile(
    r"\bmeter (?:reads |shows |at |still |showed |read )*(?:0[.,]\d*[1-9]\d*|"
    r"[1-9]\d*(?:[.,]\d+)?)\b|\bstill drawing\b|"
    r"\bdrawing (?:past|through)\b|\bzero is (?:our|"
    r"a) guess\b",
    re.IGNORECASE,
)


_FLOW: Final = re.compile(r"\b(\d+(?:[.,]\d+)?)\s*(?:L/s|L/min|L/h|m3/h|m³/h|gpm)\b", re.IGNORECASE)
_NOT_THEN: Final = re.compile(
    r"limit|resol|had (?:run|been)|for H1|fell|smallest|below|less than|before|until|earlier|then shut|"
    r"drawn|down to zero|first",
    re.IGNORECASE,
)


_ASIDE: Final = re.compile(r"\b(?:earlier|at trickle|had been|was not|before)\b", re.IGNORECASE)
_FEW: Final = 3
"""Words of a clause in brackets that can only lean on what stands before it."""


def _led(clause: Clause) -> str:
    """Return the words a short clause leans on, empty for a longer one."""
    return clause.before if len(clause.text.split()) <= _FEW else ""


def _flow_told(text: str) -> bool:
    """Return whether a note gives a flow above zero for the lock-up itself."""
    return any(
        c.done and float(v.replace(",", ".")) > 0 and not c.has(_NOT_THEN) and not _ASIDE.search(_led(c))
        for c in clauses(text)
        for v in _FLOW.findall(c.text)
    )


def _left_running(text: str) -> bool:
    """Return whether a drain is said to run on, not to be opened afterwards."""
    return bool(
        re.search(
            r"\b(?:left|still|kept|stays?|stayed|keeps?|found|remained)\b[^.;]{0,25}\b(?:crack\w*|trickl\w*|"
            r"dripp\w*|running|open|on)\b|\bwith (?:the )?(?:TD|drain)\b|"
            r"\b(?:whole time|all along|all the (?:time|while)|all through|throughout|meanwhile|the while)\b|"
            r"\b(?:was|were|had been|is) (?:a |just |slightly |only )*(?:hair|little|touch|thread|slightly|"
            r"cracked|"
            r"not quite)\b|\bnot (?:quite|fully|really|right) (?:shut|closed|home)\b",
            text,
            re.IGNORECASE,
        )
    )


def _drain_shut(text: str) -> bool:
    return bool(re.search(r"\b(?:TD|drain)\b[^,;.]{0,15}\b(?:shut|closed)\b", text, re.IGNORECASE))


def _shut_later(text: str) -> bool:
    spots = [m.start() for m in _RUNS.finditer(text)]
    shut = [
        m.start()
        for m in re.finditer(
            r"\b(?:TD|drain)\b[^,;.]{0,15}\b(?:shut|closed)\b|shut (?:the )?(?:TD|drain)", text, re.IGNORECASE
        )
    ]
    return bool(spots and shut) and max(shut) > max(spots)


def _no_flow_told(moments: list[Moment], text: str) -> bool:
    """Return whether a reading or a word has the flow at zero, and no reading of the end has it above."""
    flows = [r.flow for m in moments for r in m.at_tap("T3") if r.flow is not None]
    return any(q <= lim.NO_FLOW.si for q in flows) or (not flows and bool(_ZERO_FLOW.search(text)))


_DRAIN_ACTS = ("shut", "open", "crack")


def _drain_placed(moments: list[Moment], placed: dict[str, str]) -> str:
    """Return where the drain is said to stand, empty where a moment has readings with flow and without.

    A position stands at the end of a moment: of one that has both it does not say which it belongs to. Of one
    in which the drain was shut and then opened it is where the opening left it.
    """
    acts = [a.do for m in moments for a in m.acts if valve_of(a.thing) == "TD" and a.do in _DRAIN_ACTS]
    if "shut" in acts[:-1] and acts[-1] != "shut":
        return ""
    flows = [r.flow for m in moments for r in m.at_tap("T3") if r.flow is not None]
    both = any(q <= lim.NO_FLOW.si for q in flows) and any(q > lim.NO_FLOW.si for q in flows)
    return "" if both else placed.get("TD", "")


def _isolated(case: Case, moments: list[Moment]) -> Iterator[Breach]:
    state, last = case.after(moments[-1]), moments[-1]
    acts = [(valve_of(a.thing), a.do) for m in moments for a in m.acts]
    shut_here = ("TD", "shut") in acts
    start = case.before(moments[0])
    drain = "shut" if shut_here else start.drain
    placed = {valve_of(k): v for m in moments for k, v in m.places.items()}
    stood = _drain_placed(moments, placed)
    drain = stood or drain
    text = " ".join(m.text for m in moments)
    if drain not in (None, "shut") and not re.search(r"shut|closed", str(drain)) and not _drain_shut(text):
        unsaid = _no_flow_told(moments, text) and not stood and not _runs_on(moments)
        seen = "The drain is not shut during the lock-up."
        remedy = "Shut it and begin again."
        if unsaid:
            seen = "Flow is read as zero; that the drain is shut during the lock-up is not written."
            remedy = "Say whether it was shut; if not, begin again."
        yield breach("RUN-34", "H2", "info" if unsaid else "block", last, seen, remedy)
    wide = re.compile(
        r"\b(?:IV2|outlet (?:valve|gate))\b[^,;.]{0,20}\b(?:open|cracked|ajar)\b", re.IGNORECASE
    )
    said_open = any(c.how(wide) == "done" for m in moments for c in clauses(m.text))
    outlet = "open" if said_open else placed.get("IV2")
    if (outlet and re.search(r"\bopen\b", outlet)) or (
        outlet is None and (start.outlet or 0.0) > 0 and (state.outlet or 0.0) > 0
    ):
        yield breach(
            "RUN-34",
            "H2",
            "block",
            last,
            "The outlet valve is open during the lock-up.",
            "Shut it and begin again.",
        )
    bypass = placed.get("BY")
    if bypass and re.search(r"\bopen|\bcracked", bypass):
        yield breach(
            "RUN-34",
            "H2",
            "block",
            last,
            "The bypass is open during the lock-up.",
            "Lock it shut and begin again.",
        )


_ZERO_FLOW: Final = re.compile(
    r"\bmeter\b[^,;.]{0,15}\b(?:0|zero|none|nil|nought|stopped|stands?|stood|still|dead|at rest)\b|"
    r"\b(?:no|zero|without) (?:flow|draw)\b|\bflow\b[^,;.]{0,10}\b(?:0|zero|nil|none|dead|nought)\b|"
    r"\b0 (?:L/s|L/min|"
    r"m3/h|gpm)\b|\b(?:at|measured) (?:measured )?(?:zero|rest|none)\b|\block(?:ed|s)?[- ]?up\b",
    re.IGNORECASE,
)
_OPEN_STILL: Final = re.compile(
    r"\b(?:TD|drain)\b[^,;.]{0,20}\b(?:left|still|stays?|stayed|kept|not shut|never shut|as it was)\b|"
    r"\bwith (?:the )?(?:TD|drain) (?!shut|closed|off)|\b(?:left|kept) (?:the )?(?:TD|"
    r"drain)\b(?! (?:shut|closed))",
    re.IGNORECASE,
)


def _runs_on(moments: list[Moment]) -> bool:
    """Return whether a note has the drain open through the lock-up, or the meter unread."""
    text = " ".join(m.text for m in moments)
    unread = re.compile(
        r"\b(?:nobody|no one|not|never|forgot\w*)\b[^.;]{0,25}\bmeter\b|\bmeter\b[^.;]{0,15}\bnot\b", re.I
    )
    return bool(_OPEN_STILL.search(text)) or bool(unread.search(text))


def _watched(
    case: Case, last: Moment, moments: list[Moment], reads: list[Read], least: float, *, full: bool
) -> Iterator[Breach]:
    text = " ".join(m.all_words for m in moments)
    times = [t for t in minutes(text) if t <= 240]
    span = (moments[-1].at - moments[0].at) / 60.0
    watched = max([*times, span], default=0.0)
    if times and watched < least - lim.HALF_MINUTE:
        seen = f"Lock-up is watched for {watched:g} min; {least:g} min are asked."
        yield breach("RUN-34", "H2" if full else "Y3", "flag", last, seen, "Watch it for the whole time.")
    if not full:
        return
    warm = any(r.wall is not None for r in reads) or re.search(
        r"wall|temperature|°c|\bdeg|pipe (?:temp|at)|\d ?c\b", text
    )
    if not warm or re.search(
        r"(?:temperature|wall|thermometer)[^,;.]{0,20}\bnot (?:read|taken|noted|logged|measured)|"
        r"no (?:wall )?(?:temperature|thermometer)",
        text,
    ):
        yield breach(
            "RUN-34",
            "H2",
            "flag",
            last,
            "No wall temperature stands with the lock-up.",
            "Take it with the wall temperature.",
            accepts=True,
        )
    yield from _settled(case, last, reads, text)


def _settled(case: Case, last: Moment, reads: list[Read], text: str) -> Iterator[Breach]:
    """The lock-up has stopped, with a steady wall."""
    walls = [r.wall for r in reads if r.wall is not None]
    if len(walls) > 1 and abs(walls[-1] - walls[0]) > lim.WALL_SHARE * lim.SAME_DAY_DRIFT.si:
        seen = f"The wall changes by {abs(walls[-1] - walls[0]):.1f} K during the lock-up."
        plain = (
            abs(walls[-1] - walls[0]) >= lim.WARMED
            and case.job.layout != "building"
            and "correct" not in text
        )
        yield breach(
            "RUN-34",
            "H2",
            "flag" if plain else "info",
            last,
            seen,
            "Repeat with a steady wall, or correct for it.",
        )
    rising = re.search(
        r"\b(?:still|keeps?|kept|went on) (?:on )?(?:rising|climbing|creeping)\b|\b(?:rising|"
        r"climbing|creeping) (?:yet|still|on)\b",
        text,
    )
    held = [r.value for r in reads if r.value is not None]
    climbs = (
        len(held) >= 3
        and held[-1] - held[-2] > lim.STILL_CLIMBS.si
        and held[-2] - held[-3] > lim.LOCKUP_SLACK.si
    )
    if (
        (rising or climbs)
        and not walls_moved(walls)
        and not re.search(r"stops|stays|stood|stopped|then flat|levell?ed", text)
    ):
        yield breach(
            "RUN-34",
            "H2",
            "block",
            last,
            "T3 is still rising at the end of the lock-up.",
            "It has not stopped: it is a leak, not a lock-up.",
        )
    falls = len(held) >= 2 and held[0] - held[-1] > lim.LOCKUP_FALLS.si
    if falls and last.passed() and not walls_moved(walls):
        yield breach(
            "RUN-34",
            "H2",
            "flag",
            last,
            "T3 falls during the lock-up: the section leaks.",
            "Find the leak, then take it again.",
        )


def walls_moved(walls: list[float]) -> bool:
    """Return whether the pipe wall changed enough to explain a pressure."""
    return len(walls) > 1 and abs(walls[-1] - walls[0]) > lim.SAME_DAY_DRIFT.si


def _flow_test(case: Case) -> Iterator[Breach]:
    for stage in last_of(case, "H4"):
        reads = [r for m in stage for r in m.at_tap("T3") if r.flow is not None]
        if not reads:
            continue
        down = [r for r in reads if re.search(r"down|falling", r.mark)]
        up = [r for r in reads if r not in down]
        if not down:
            peak = max(range(len(up)), key=lambda k: up[k].flow or 0.0)
            up, down = up[: peak + 1], up[peak:]
        counts = [len({round((r.flow or 0.0) / lim.SAME_POINT) for r in part}) for part in (up, down)]
        if min(counts) < lim.POINTS:
            seen = (
                f"The flow test has {counts[0]} points up and {counts[1]} down; {lim.POINTS} each are asked."
            )
            yield breach(
                "RUN-43", "H4", "flag", stage[-1], seen, "Take the points that are missing.", accepts=True
            )
        yield from _other_taps(case, stage, reads)
        yield from _curves(case, stage[-1], up, down)


def _other_taps(case: Case, stage: tuple[Moment, ...], reads: list[Read]) -> Iterator[Breach]:
    have = {r.tap.split(".")[0] for m in stage for r in m.reads if r.value is not None}
    lacks = [tap for tap in ("T0", "T1") if tap not in have]
    if lacks and case.job.layout not in ("building", "fire"):
        seen = f"The flow test has no reading at {' and '.join(lacks)}: strainer loss is not known."
        yield breach("RUN-43", "H4", "flag", stage[-1], seen, "Read every tap at every point.", accepts=True)
    top = stage[-1].expected.get("strainer loss at most")
    losses = _losses(stage)
    if isinstance(top, (int, float)) and losses and max(losses) > float(top) + lim.EXPECTED_SLACK.si:
        seen = (
            f"The strainer loses {case.told(max(losses))} at most flow; {case.told(float(top))} was expected."
        )
        if not answered(case, stage[-1]):
            yield breach("RUN-36", "H4", "flag", stage[-1], seen, "Look at the strainer and the inlet valve.")


def _losses(stage: tuple[Moment, ...]) -> list[float]:
    up = [
        (r.flow, r.value) for m in stage for r in m.at_tap("T0") if r.flow is not None and r.value is not None
    ]
    down = {r.flow: r.value for m in stage for r in m.at_tap("T1") if r.flow is not None}
    return [value - lower for q, value in up if (lower := down.get(q)) is not None]


def _curves(case: Case, last: Moment, up: list[Read], down: list[Read]) -> Iterator[Breach]:
    by_flow = {round((r.flow or 0.0) / lim.SAME_POINT): r.value or 0.0 for r in up}
    apart = [
        abs((r.value or 0.0) - by_flow[k])
        for r in down
        if (k := round((r.flow or 0.0) / lim.SAME_POINT)) in by_flow
    ]
    if apart and max(apart) > lim.AGED * lim.EXPECTED_SLACK.si and not answered(case, last):
        seen = f"Up and down lie {case.told(max(apart))} apart: friction."
        yield breach(
            "RUN-43", "H4", "flag", last, seen, "Clean and repeat, or record the deviation.", accepts=True
        )
