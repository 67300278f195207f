"""A6: a gauge that does not show zero at no pressure is off by that much, wherever it is read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.model import Instrument, Moment
from steadyhead.visits.audit.notes import clauses, pascals
from steadyhead.visits.audit.rules.case import Case, breach
from steadyhead.visits.audit.rules.readings import PROOF_STEPS

_AT_FIRST: Final = ("A5", "A6", "A7", "B1", "B2", "Y1", "R4")
"""Steps at which gauges are seen without pressure."""
_FIGURE: Final = r"(?P<figure>[-−+]?\d+(?:[.,]\d+)?) ?(?P<unit>bar|psi|kPa|mbar|mH2O)\b(?! ?/)"
_BARE: Final = (
    r"(?:with (?:nothing|no (?:hose|pressure)|the hose off)(?: on(?: it)?)?|in (?:the )?(?:open )?air|"
    r"at (?:rest|no pressure|atmosphere)|(?:when )?vented|unconnected|with no pressure on it|"
    r"before it was screwed on)"
)
_SHOWS: Final = r"(?:reads?|shows?|showed|stands?|stood)"
_TOLD: Final = tuple(
    re.compile(way, re.IGNORECASE)
    for way in (
        r"\bzero(?:s|es)?(?: (?:now|was|is|were|checked|seen|found|read|reads|reading|shows?|showed|at|"
        rf"off|by|of|point|error|offset|a|\S*\d))*:? {_FIGURE}",
        rf"\b(?:rests?|rested|sits?|sat|returns?|returned)\b(?: \w+){{0,2}}? {_FIGURE} "
        r"(?:high|low|above|below|off)\b",
        rf"\b(?:rests|rested) (?:at|on) {_FIGURE}",
        rf"\b(?:{_SHOWS}|at|is)? ?{_FIGURE}(?: \w+)? {_BARE}\b",
        rf"\b{_BARE},? (?:[\w-]+ ){{0,3}}{_SHOWS} {_FIGURE}",
        rf"{_FIGURE} (?:out|off|high|low) at zero\b",
    )
)
"""Ways to say what a gauge shows at no pressure."""
_MENDED: Final = re.compile(
    r"\b(?:(?:set|turned|brought)(?: back)? to (?:zero|0)|(?:re-?|now )zeroed|zero(?:ed)? (?:set|adjusted|"
    r"corrected|put right)|adjusted|correct(?:ed|ion|ing)?|taken (?:off|into)|subtract\w*|deduct\w*|minus|"
    r"allowed for|not used|not read|set aside|"
    r"put (?:aside|away|back)|tagged|replaced|swapped|exchanged|left (?:out|in the (?:van|box))|out of use|"
    r"another (?:gauge|one) used)\b",
    re.IGNORECASE,
)
_NOUGHT: Final = re.compile(r"(?<![\d.,])0+(?:[.,]0+)?(?![\d]|[.,]\d)")
"""A zero that is seen after all."""
_MOST_OFF: Final = 2e5
"""Above this a reading ahead of the zeros of a tap is of before it was vented. Own estimate. [Pa]"""
_REMEDY: Final = "Put the gauge aside, or say by how much its readings were corrected; prove again."


def rules(case: Case) -> Iterator[Breach]:
    """Yield gauges that were off at no pressure by more than their class explains, and read all the same."""
    gauges = [name for name, tool in case.story.instruments.items() if name and tool.error is not None]
    off: dict[str, tuple[Moment, float]] = {}
    for moment in case.story.moments:
        if moment.step in _AT_FIRST:
            off |= {name: (moment, by) for name, by in _off(case, moment, gauges)}
        for name in list(off):
            if _mended(moment, name, gauges, own=moment is off[name][0]):
                del off[name]
    for name, (moment, by) in off.items():
        yield from _read_so(case, name, moment, by)


def _mended(moment: Moment, name: str, gauges: list[str], *, own: bool) -> bool:
    """Return whether a clause says that a gauge was put right or aside; its own note may leave out which."""
    for part in re.split(r"(?<=[.;!?])\s+" if own else r"[.;,]\s+", moment.text):
        low = part.casefold()
        others = any(one.casefold() in low for one in gauges if one != name)
        if _MENDED.search(part) and (name.casefold() in low or (own and not others)):
            return True
    return False


def _off(case: Case, moment: Moment, gauges: list[str]) -> Iterator[tuple[str, float]]:
    """Yield gauges by how much they are off at no pressure, where that is more than their class. [Pa]"""
    for name, by in (*_seen(moment), *_said(case, moment, gauges)):
        tool = case.story.instruments.get(name)
        most = _most(case, tool)
        if tool is not None and most is not None and most < abs(by):
            yield name, by


def _most(case: Case, tool: Instrument | None) -> float | None:
    error = tool.error if tool is not None and tool.error is not None else case.job.instrument_error
    return None if error is None else error * lim.CLASS_SLACK + lim.ROUNDING.si


def _seen(moment: Moment) -> Iterator[tuple[str, float]]:
    """Yield the last readings of gauges on a vented tap where another one there shows zero. [Pa]"""
    last = {(r.tap, r.instrument): (at, r.value) for at, r in enumerate(moment.reads) if r.value is not None}
    for (tap, name), (at, value) in last.items():
        beside = [(k, v) for (spot, other), (k, v) in last.items() if spot == tap and other != name]
        zeros = [k for k, v in beside if abs(v) <= lim.LIVE.si]
        vented = any(k < at for k in zeros) or abs(value) <= _MOST_OFF
        if zeros and vented and moment.step in ("B2", "R4"):
            yield name, value


def _said(case: Case, moment: Moment, gauges: list[str]) -> Iterator[tuple[str, float]]:
    """Yield gauges of which a note says what they show at no pressure, and no zero after it. [Pa]"""
    for sentence in re.split(r"(?<=[.;!?])\s+", moment.text):
        if not any(clause.told == "done" for clause in clauses(sentence)):
            continue
        listed = list(_listed(case, sentence, gauges))
        yield from listed
        for hit in () if listed else (hit for way in _TOLD for hit in way.finditer(sentence)):
            if _NOUGHT.search(sentence, hit.end()):
                continue
            ahead = sentence[: hit.end()].casefold()
            near = sorted((ahead.rfind(name.casefold()), name) for name in gauges)
            named = [name for at, name in near if at >= 0][-1:] or gauges[: len(gauges) == 1]
            sign = "-" if re.search(r"\b(?:low|below)\b", hit.group()) else ""
            by = pascals(sign + hit["figure"].lstrip("+").replace("−", "-"), hit["unit"])
            yield from ((name, by) for name in named)


def _listed(case: Case, sentence: str, gauges: list[str]) -> Iterator[tuple[str, float]]:
    """Yield the figures of a list of zeros: *Zeros: TG-1 0, TG-2 0.3*. [Pa]"""
    if not re.match(r"\s*(?:as[- ]found )?zero(?:s|es)?\b", sentence, re.IGNORECASE):
        return
    for name in gauges:
        hit = re.search(
            rf"{re.escape(name)}:? ([-−+]?\d+(?:[.,]\d+)?)(?: ?(bar|psi|kPa|mbar))?(?=[,;.]?(?:\s|$))",
            sentence,
        )
        if hit is not None:
            yield name, pascals(hit[1].lstrip("+").replace("−", "-"), hit[2] or case.job.unit)


def _read_so(case: Case, name: str, moment: Moment, by: float) -> Iterator[Breach]:
    """A gauge that was off is read for a proof afterwards, and nobody says that it was put right."""
    most = _most(case, case.story.instruments[name]) or 0.0
    used: list[tuple[bool, str]] = []
    for later in case.story.moments[moment.index + 1 :]:
        own = [r for r in later.reads if r.instrument == name and r.value is not None]
        if own and later.step in PROOF_STEPS:
            used.append((any(r.is_trip or r.is_hold for r in own), later.step))
    if not used:
        return
    trips, step = max(used, key=lambda one: one[0])
    seen = (
        f"{name} showed {case.told(by)} at no pressure, more than its class explains "
        f"({case.told(most)}), and is read at {step}."
    )
    yield breach("RUN-26", "A6", "block" if trips else "flag", moment, seen, _REMEDY)
