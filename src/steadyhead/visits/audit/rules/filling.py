"""How the section was filled and bled (C2 to C4)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.units import parse
from steadyhead.visits.audit import cues
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach, Level
from steadyhead.visits.audit.follow import valve_of
from steadyhead.visits.audit.model import Moment
from steadyhead.visits.audit.notes import clauses, in_figures, pascals, said, seconds, stated, turns
from steadyhead.visits.audit.rules.case import Case, breach

_SPEED: Final = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:m/s|met(?:re|er)s? (?:per|a) second|ft/s)", re.IGNORECASE)
_FILL_STEPS: Final = ("C2", "J2", "R7", "R8", "C5")
_BONNET: Final = re.compile(r"\b(?:spring bonnet|bonnet (?:breather|screw|plug)|breather)\b", re.IGNORECASE)
_BLED: Final = re.compile(r"\b(?:bled|bleeding|bleed|re-?bled|vent(?:ed)?|cracked)\b", re.IGNORECASE)
_FULL_T1: Final = re.compile(
    r"\b(?:at|under|with|on) (?:the )?(?:full )?(?:inlet|line|mains?|working|supply) pressure|"
    r"\bfull pressure\b|(?<!little )(?<!low )(?<!no )\bpressure "
    r"(?:was |is |fully )?on\b|"
    r"\biv1 (?:was |is |being )?(?:right|wide|"
    r"fully|full|all the way) (?:open|up|out)\b|\biv1 (?:at |being )?full\b|\bT1 (?:where it always|"
    r"as in service|"
    r"at (?:its|the) (?:usual|full|inlet)|as (?:always|ever|usual))",
    re.IGNORECASE,
)
_T1_SAID: Final = re.compile(r"\bT1\b[^,.;]{0,20}?(\d+(?:\.\d+)?)\s*(bar|kPa|psi|mH2O|m)\b", re.IGNORECASE)


def rules(case: Case) -> Iterator[Breach]:
    """Yield what was filled or bled as it should not be."""
    yield from _fill(case)
    yield from _bleed(case)


def _fill(case: Case) -> Iterator[Breach]:
    remedy = (
        "Fill by a cracked inlet valve with the highest vents open; inspect for what the "
        "stop of the column did."
    )
    for moment in case.story.moments:
        if moment.step not in _FILL_STEPS and "fill" not in moment.words:
            continue
        for clause in clauses(moment.text):
            feet = "ft/s" if "ft/s" in clause.text.casefold() else "m/s"
            speeds = [
                parse(f"{v.replace(',', '.')} {feet}", "velocity").si
                for v in _SPEED.findall(in_figures(clause.text))
            ]
            about_fill = (
                "fill" in clause.text.casefold() or "fill" in clause.before.casefold() or moment.step == "C2"
            )
            if (
                clause.done
                and about_fill
                and speeds
                and max(speeds) > lim.FILL_SPEED.si * lim.READ_SHARE
                and "flush" not in clause.text.casefold()
            ):
                seen = f"The section is filled at {max(speeds):.2g} m/s; {lim.FILL_SPEED.text} are the most."
                yield breach("RUN-41", "C2", "flag", moment, seen, remedy)
                break
            took = [t for t in seconds(clause.text) if t > 0]
            if clause.done and moment.step == "C2" and about_fill and took and max(took) <= lim.FILL_SECONDS:
                seen = f"The section is filled in {max(took):g} s."
                yield breach("RUN-41", "C2", "flag", moment, seen, remedy)
                break
        else:
            yield from _fill_by_words(case, moment, remedy)


_BESIDE: Final = re.compile(
    r"\b(?:lid|ladder|lorr(?:y|ies)|van|trucks?|fan|grating|door|hatch|tripod|bus|train|tractor)\b",
    re.IGNORECASE,
)
"""What rattles or bangs at a chamber and is no water."""


def _fill_by_words(case: Case, moment: Moment, remedy: str) -> Iterator[Breach]:
    full = re.compile(r"\bfill\w*\b|\bsection (?:was |is )?full\b|\bfull in\b", re.IGNORECASE)
    quick = re.compile(
        cues.FAST.pattern
        + (
            r"|\b(?:wide[- ]open|fully open|full bore|vents? (?:shut|closed)(?! (?:one|as|when|once|after|at|"
            r"in turn))|in (?:under )?(?:a|one|"
            r"two|1|2) minutes?)\b"
        ),
        re.IGNORECASE,
    )
    if any(
        c.done and (c.about(full) or moment.step == "C2") and c.has(quick) and not c.has(_BESIDE)
        for c in clauses(moment.text)
    ) and moment.step in (
        *_FILL_STEPS,
        "R9",
    ):
        yield breach("RUN-41", "C2", "flag", moment, "The section is filled fast, the note says.", remedy)
        return
    if moment.step != "C2" or case.job.raising_turns is None:
        return
    opened = [a for a in moment.done("open") if valve_of(a.thing) == "IV1"]
    if any((turns(a.detail) or (0.0,))[0] > case.job.raising_turns * lim.TURN_SLACK for a in opened):
        yield breach(
            "RUN-41", "C2", "flag", moment, "The section is filled through an inlet valve far open.", remedy
        )


def _bleed(case: Case) -> Iterator[Breach]:
    duty = case.job.duty
    remedy = "Bleed while T1 is low: inlet valve cracked, outlet shut, drain a little open."
    for moment in case.story.moments:
        bled = moment.done("bleed") or (moment.step in ("C3", "C4") and said(moment.text, _BLED))
        if (
            not bled
            and said(
                moment.text,
                _BLED,
                re.compile(r"\b(?:cover|pilot|chamber|gauge line|lines|air)\b", re.IGNORECASE),
            )
            != "done"
        ):
            continue
        if moment.step in ("B2", "D2") or _elsewhere(moment) or _told_of_before(moment):
            continue
        yield from _bonnet(moment.joined())
        t1 = _t1_at_bleeding(moment)
        low = t1 is None and _low(moment)
        if t1 is None and not low and moment.step not in ("C3", "C4") and moment.done("bleed"):
            if moment.at_tap("T1"):
                continue
            inlet = case.before(moment).inlet
            t1 = (
                case.before(moment).pressures.get("T1")
                if inlet is not None and inlet > 0 and not _low(moment)
                else None
            )
        if duty is not None and t1 is not None and t1 > duty + lim.FOLLOWS.si and not low:
            seen = f"Bled with T1 at {case.told(t1)}, which is above duty, {case.told(duty)}."
            yield breach("RUN-42", "C3", "flag", moment, seen, remedy)
        elif said(moment.text, _FULL_T1, _BLED) == "done" or (
            moment.done("bleed") and said(moment.text, _FULL_T1) == "done"
        ):
            yield breach("RUN-42", "C3", "flag", moment, "Bled at full pressure, the note says.", remedy)
        yield from _air_left(moment.joined())


_OF_THE_ZONE: Final = re.compile(
    r"^(?:the )?(?:(?:high(?:est)?|top|zone|riser|floor|main) )*(?:vents?|risers?|zone|mains?|network|"
    r"hydrants?|floors?|house|system|pipes?|ends?)(?: vents?)?$",
    re.IGNORECASE,
)
_EARLIER_ON: Final = re.compile(
    r"\b(?:having been|had been|has been|have been|since (?:being|it was|they were)|already|"
    r"after (?:being|the)|now that \w+ (?:are|is)) (?:\w+ )?(?:re-?)?(?:bled|bleeding|bleed|vented)\b",
    re.IGNORECASE,
)


def _elsewhere(moment: Moment) -> bool:
    """Return whether all that is bled is vents and pipes, no valve's cover, pilot or gauge line."""
    things = [a.thing.strip() for a in moment.done("bleed")]
    return bool(things) and all(_OF_THE_ZONE.match(t) for t in things)


def _told_of_before(moment: Moment) -> bool:
    """Return whether the bleeding is told of as of an earlier time only."""
    rest = _EARLIER_ON.sub(" ", moment.text)
    return not moment.done("bleed") and rest != moment.text and not _BLED.search(rest)


def _low(moment: Moment) -> bool:
    return bool(
        re.search(
            r"\bT1 (?:still |is |was |being |kept |brought )?(?:low|down)\b|iv1 (?:only )?cracked|"
            r"\bisolated\b",
            moment.all_words,
            re.IGNORECASE,
        )
    )


_AFTERWARDS: Final = re.compile(
    r"^(?:and |only )?(?:then(?! (?:the |its |on )?(?:main |other )?(?:reducer|shut-?off|SO|RV|LB|"
    r"cover|pilot|lines?|chamber|standby)s?\b)|afterwards|after (?:that|which|it)|next|later|now|finally)\b|"
    r"\b(?:in stages|brought up|opened (?:on|up|further)|comes? up|came up|rises?|rose)\b",
    re.IGNORECASE,
)
"""A clause that begins what was done after the bleeding."""


def _t1_at_bleeding(moment: Moment) -> float | None:
    """Return T1 while the bleeding was done, None where the record does not say. [Pa]

    What a note tells in its order goes before a list of readings; of several readings without words, and
    of one that the words place after the bleeding, none is shown to be that of the bleeding unless all are.
    """
    reads = [r.value for r in moment.at_tap("T1") if r.value is not None]
    told = _t1_told(moment)
    figures = [value for _, value in told]
    if len(reads) == 1 and not any(abs(reads[0] - f) <= lim.FOLLOWS.si for f in figures):
        return reads[0]
    if not told:
        return min(reads, default=None)
    parts = clauses(moment.text)
    bled = [k for k, c in enumerate(parts) if c.has(_BLED)]
    first = bled[0] if bled else 0
    last = bled[-1] if bled else 0
    ahead = [value for k, value in told if k <= last]
    if ahead:
        return ahead[-1]
    stop = next((k for k in range(first + 1, len(parts)) if parts[k].has(_AFTERWARDS)), len(parts))
    behind = [value for k, value in told if k < stop]
    return behind[0] if behind else None


def _t1_told(moment: Moment) -> list[tuple[int, float]]:
    """Return every figure of T1 in a note, with the number of its clause."""
    return [
        (k, pascals(found.group(1), found.group(2)))
        for k, clause in enumerate(clauses(moment.text))
        if clause.told == "done" and (found := _T1_SAID.search(clause.text))
    ]


def _bonnet(moment: Moment) -> Iterator[Breach]:
    worked = re.compile(_BLED.pattern + r"|\b(?:opened|loosened|unscrewed|undone|undid)\b", re.IGNORECASE)
    if any(c.how(worked) == "done" and c.about(_BONNET) for c in clauses(moment.text)) and any(
        c.has(_BONNET) and c.told == "done" and not c.negated for c in clauses(moment.text)
    ):
        seen = "A spring bonnet is bled; its hole is a breather and stays dry."
        yield breach(
            "RUN-42", "C3", "flag", moment, seen, "Leave spring bonnets shut; look for a torn diaphragm."
        )


def _air_left(moment: Moment) -> Iterator[Breach]:
    mood = stated(moment.text, cues.BUBBLES)
    none = re.search(
        r"\b(?:no|without|none|free of|hardly any|next to no) (?:more |further )?(?:air|bubbles?|"
        r"spitting)\b",
        _from_last(moment.text),
        re.IGNORECASE,
    )
    if mood and not none and not _then_clear(moment.text):
        level: Level = "block" if mood == "done" and moment.step in ("C3", "C4", "Y5") else "info"
        seen = "The note says air was still coming when the bleeding ended."
        yield breach(
            "RUN-46", moment.step or "C3", level, moment, seen, "Bleed until the stream is free of bubbles."
        )


def _from_last(text: str) -> str:
    """Return the last sentence that tells of bubbles, and what follows it: what was ahead is overtaken."""
    parts = re.split(r"(?<=[.!?])\s+", text)
    told = [k for k, part in enumerate(parts) if cues.BUBBLES.search(part)]
    return " ".join(parts[told[-1] :]) if told else text


def _then_clear(text: str) -> bool:
    spots = list(cues.BUBBLES.finditer(text))
    rest = text[spots[-1].end() :] if spots else text
    clear = re.compile(
        r"\b(?:bubble-?free|solid (?:water|stream)|clear(?:ed)?|until|then (?:solid|clear|bled|"
        r"none)|gone|crisp|dry of air|no more|after (?:that|"
        r"a second|another))\b",
        re.IGNORECASE,
    )
    return bool(clear.search(rest))
