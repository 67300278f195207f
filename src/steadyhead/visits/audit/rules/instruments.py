"""Instruments on their day: in date, fine enough, inside their span, agreeing with each other (A6)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.model import Instrument, Moment, Read
from steadyhead.visits.audit.notes import said, stated
from steadyhead.visits.audit.rules.case import Case, breach
from steadyhead.visits.audit.rules.readings import PROOF_STEPS

_OUT_OF_DATE: Final = re.compile(
    r"\b(?:out of (?:date|calibration|cal)|over ?due|expired|past its (?:due|date)|due (?:last|"
    r"the month before)|"
    r"calibration (?:lapsed|ran out)|(?:was|were) due (?:in|on|by|back in|last)|ran out (?:in|on|"
    r"last)|lapsed|"
    r"no (?:calibration )?(?:label|certificate|sticker))\b",
    re.IGNORECASE,
)
_NOT_USED: Final = re.compile(
    r"\b(?:not used|put (?:aside|away|back)|set aside|left (?:in|out)|tagged|replaced|swapped|"
    r"unused|taken out|back in(?:to)? the (?:van|box)|"
    r"sent back|not in use|quarantin\w*)\b",
    re.IGNORECASE,
)


def rules(case: Case) -> Iterator[Breach]:
    """Yield what is against the instruments."""
    yield from _due(case)
    yield from _coarse(case)
    yield from _range(case)
    yield from _compared(case)
    yield from _not_proved_live(case)


def _used(case: Case) -> dict[str, list[tuple[Moment, Read]]]:
    used: dict[str, list[tuple[Moment, Read]]] = {}
    for moment in case.story.moments:
        if moment.step in ("A6", "A5", "A7", "B1", "Y1") or not moment.step:
            continue
        for read in moment.reads:
            used.setdefault(read.instrument, []).append((moment, read))
    return used


def _due(case: Case) -> Iterator[Breach]:
    for name, uses in _used(case).items():
        tool = case.story.instruments.get(name)
        if tool is None or not tool.due:
            continue
        for moment, read in sorted(uses, key=lambda use: use[0].step not in PROOF_STEPS):
            late = moment.day > tool.due[:10]
            early = bool(tool.calibrated) and moment.day < tool.calibrated[:10]
            if (late or early) and not _doubled(case, moment, read):
                proof = moment.step in PROOF_STEPS
                seen = (
                    f"{name} was due on {tool.due[:10]} and is used on {moment.day}."
                    if late
                    else (
                        f"{name} was calibrated on {tool.calibrated[:10]}, after it was used on {moment.day}."
                    )
                )
                yield breach(
                    "RUN-32",
                    "A6",
                    "block" if proof else "flag",
                    moment,
                    seen,
                    "Repeat with an instrument in date.",
                )
                break
    for moment in case.story.moments:
        if (
            said(moment.text, _OUT_OF_DATE) == "done"
            and re.search(r"gauge|meter|TG|thermo|instrument|label|sticker", moment.text, re.IGNORECASE)
            and not _NOT_USED.search(moment.text)
        ):
            named = [n for n in case.story.instruments if n and n.casefold() in moment.words]
            if (
                any(n in _used(case) for n in named)
                or (
                    not named
                    and re.search(
                        r"\bused?\b|regardless|\bstays\b|carr(?:y|ied) on|all the same|anyway|will do",
                        moment.words,
                    )
                )
            ) and not any(_is_late(case, n) for n in named):
                yield breach(
                    "RUN-32",
                    "A6",
                    "flag",
                    moment,
                    "An instrument out of date is used, the note says.",
                    "Repeat with an instrument in date.",
                )


def _is_late(case: Case, name: str) -> bool:
    tool = case.story.instruments[name]
    return bool(tool.due) and case.story.last.day > tool.due[:10]


def _doubled(case: Case, moment: Moment, read: Read) -> bool:
    """Return whether another instrument in date was read at the same tap and moment."""
    for other in moment.reads:
        tool = case.story.instruments.get(other.instrument)
        if (
            other.instrument != read.instrument
            and other.tap == read.tap
            and tool is not None
            and tool.due
            and moment.day <= tool.due[:10]
        ):
            return True
    return False


def _coarse(case: Case) -> Iterator[Breach]:
    most = case.job.instrument_error
    if most is None:
        return
    told: set[str] = set()
    for moment in case.story.moments:
        for read in moment.reads:
            tool: Instrument | None = case.story.instruments.get(read.instrument)
            if not (read.is_trip or read.is_hold) or tool is None or tool.error is None or tool.name in told:
                continue
            if tool.error > most * lim.CLASS_SLACK and not _finer(case, moment, read, most):
                told.add(tool.name)
                seen = (
                    f"{tool.name} may be {case.told(tool.error)} out; for the "
                    f"trip {case.told(most)} is the most."
                )
                yield breach("RUN-33", "A6", "block", moment, seen, "Prove the trip with a finer instrument.")


def _range(case: Case) -> Iterator[Breach]:
    """A gauge read beyond its span reads nothing."""
    told: set[str] = set()
    for moment in case.story.moments:
        for read in moment.reads:
            tool = case.story.instruments.get(read.instrument)
            if tool is None or tool.high is None or read.value is None or tool.name in told:
                continue
            if read.value > tool.high * lim.CLASS_SLACK:
                told.add(tool.name)
                seen = (
                    f"{tool.name} is read at {case.told(read.value)}; its "
                    f"span ends at {case.told(tool.high)}."
                )
                yield breach(
                    "RUN-33", "A6", "flag", moment, seen, "Use a gauge of that range; check this one."
                )


def _finer(case: Case, moment: Moment, read: Read, most: float) -> bool:
    for other in moment.reads:
        tool = case.story.instruments.get(other.instrument)
        if (
            other is not read
            and other.tap == read.tap
            and other.mark == read.mark
            and tool
            and tool.error is not None
            and tool.error <= most * lim.CLASS_SLACK
        ):
            return True
    return False


def _compared(case: Case) -> Iterator[Breach]:
    """A6: gauges on one tap agree within their classes, or one is put aside."""
    used = re.compile(
        r"\bused? (?:it )?(?:all the same|anyway|nevertheless|nonetheless|as it is)|"
        r"\bwill do\b|\bwent on with it\b|\b(?:took|kept|chose|went with|stayed with|believed|"
        r"trusted) (?:the one|ours|"
        r"the (?:first|second|better|nicer|lower|higher|newer))\b",
        re.IGNORECASE,
    )
    off = re.compile(r"\b(?:above|below|off|out|differs?|apart|disagree\w*|high|low)\b", re.IGNORECASE)
    for moment in case.story.of("A6", "Y1"):
        if stated(moment.text, used, off) == "done":
            yield breach(
                "RUN-26",
                "A6",
                "block",
                moment,
                "Gauges differ and are used all the same, the note says.",
                "Bring a third instrument, put the suspect one aside, repeat.",
            )
            continue
        by_tap: dict[str, list[Read]] = {}
        for read in moment.reads:
            if read.value is not None and read.instrument in case.story.instruments:
                by_tap.setdefault(read.tap, []).append(read)
        for reads in by_tap.values():
            for one in reads:
                for two in reads:
                    yield from _disagree(case, moment, one, two)


def _disagree(case: Case, moment: Moment, one: Read, two: Read) -> Iterator[Breach]:
    if one.instrument >= two.instrument or one.value is None or two.value is None:
        return
    first, second = case.story.instruments[one.instrument], case.story.instruments[two.instrument]
    if first.error is None or second.error is None:
        return
    apart = abs(one.value - two.value)
    if apart > first.error + second.error + lim.ROUNDING.si * 2:
        used = _used(case)
        both = one.instrument in used and two.instrument in used
        if both and not re.search(r"third|set aside|put aside|tagged|not used", moment.words):
            seen = (
                f"{one.instrument} and {two.instrument} differ by {case.told(apart)}, "
                "more than their classes together."
            )
            yield breach(
                "RUN-26",
                "A6",
                "block",
                moment,
                seen,
                "Bring a third instrument, put the suspect one aside, repeat.",
            )


_ALL: Final = re.compile(
    r"\b(?:all|both|each|every|others?|rest|the gauges|gauges|instruments|the (?:two|three|four|five)|"
    r"twins?|pair|them)\b",
    re.IGNORECASE,
)
"""Words by which a comparison speaks of more gauges than it names."""
_MADE_LIVE: Final = re.compile(
    r"\b(?:zero\w*|vent\w*|compar\w*|side by side|agree\w*|check\w*|against)\b", re.IGNORECASE
)


def _not_proved_live(case: Case) -> Iterator[Breach]:
    """V7: a gauge that a comparison by name leaves out, and nothing else shows to be live before its use."""
    gauges = [name for name, tool in case.story.instruments.items() if tool.error is not None]
    told = " ".join(m.all_words for m in case.story.of("A6"))
    if not any(n.casefold() in told for n in gauges) or _ALL.search(told):
        return
    live: set[str] = set()
    for moment in case.story.moments:
        live.update(_shown_live(moment, gauges))
        if moment.step not in PROOF_STEPS:
            continue
        for name in (r.instrument for r in moment.reads):
            if name in gauges and name not in live:
                seen = f"{name} is read and was not vented, zeroed or compared before."
                remedy = "Vent it, see zero, compare it; read again."
                yield breach("RUN-26", "V7", "flag", moment, seen, remedy, absent=True)
                return


def _shown_live(moment: Moment, gauges: list[str]) -> Iterator[str]:
    """Yield gauges read at zero, read beside another one, or said to be vented or compared."""
    for read in moment.reads:
        near = {r.instrument for r in moment.reads if r.tap == read.tap} & set(gauges)
        if (read.value is not None and abs(read.value) <= lim.LIVE.si) or len(near) > 1:
            yield read.instrument
    if moment.step == "A6" or _MADE_LIVE.search(moment.all_words):
        yield from (n for n in gauges if n.casefold() in moment.all_words)
