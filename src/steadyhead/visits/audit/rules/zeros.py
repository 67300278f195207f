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
_TOLD: Final = (
    re.compile(
        rf"\bzero(?:s|es)?(?: (?:now|was|is|were|checked|seen|found|read|reads|reading|shows?|showed|at|off|"
        rf"by|of|point))*:? {_FIGURE}",
        re.IGNORECASE,
    ),
    re.compile(
        rf"\b(?:rests?|rested|sits?|sat|returns?|returned)\b(?: \w+){{0,2}}? {_FIGURE} (?:high|low|above|"
        r"below|off)\b",
        re.IGNORECASE,
    ),
    re.compile(
        rf"\b(?:reads?|shows?|showed|stands?|stood|at|is) {_FIGURE}(?: \w+)? (?:with (?:nothing|no (?:hose|"
        r"pressure))(?: on(?: it)?)?|in (?:the )?(?:open )?air|at (?:rest|no pressure)|when vented|vented)\b",
        re.IGNORECASE,
    ),
)
"""Ways to say what a gauge shows at no pressure."""
_MENDED: Final = re.compile(
    r"\b(?:set to (?:zero|0)|(?:re-?|now )zeroed|zero(?:ed)? (?:set|adjusted|corrected|put right)|adjusted|"
    r"correct(?:ed|ion|ing)?|taken off|subtract\w*|allowed for|not used|set aside|put (?:aside|away|back)|"
    r"tagged|replaced|swapped|exchanged|left (?:out|in the (?:van|box))|out of use|"
    r"another (?:gauge|one) used)\b",
    re.IGNORECASE,
)
_REMEDY: Final = "Put the gauge aside, or say by how much its readings were corrected; prove again."


def rules(case: Case) -> Iterator[Breach]:
    """Yield gauges that were off at no pressure by more than their class explains, and read all the same."""
    off: dict[str, tuple[Moment, float]] = {}
    for moment in case.story.moments:
        if moment.step in _AT_FIRST:
            off |= {name: (moment, by) for name, by in _off(case, moment)}
        if off and _MENDED.search(moment.all_words):
            for name in [n for n in off if n.casefold() in moment.all_words or moment is off[n][0]]:
                del off[name]
    for name, (moment, by) in off.items():
        yield from _read_so(case, name, moment, by)


def _off(case: Case, moment: Moment) -> Iterator[tuple[str, float]]:
    """Yield gauges by how much they are off at no pressure, where that is more than their class. [Pa]"""
    for name, by in (*_seen(moment), *_said(case, moment)):
        tool = case.story.instruments.get(name)
        most = _most(case, tool)
        if tool is not None and most is not None and most < abs(by):
            yield name, by


def _most(case: Case, tool: Instrument | None) -> float | None:
    error = tool.error if tool is not None and tool.error is not None else case.job.instrument_error
    return None if error is None else error * lim.CLASS_SLACK + lim.ROUNDING.si


def _seen(moment: Moment) -> Iterator[tuple[str, float]]:
    """Yield readings of a gauge on a vented tap where another one there shows zero. [Pa]"""
    known = [r for r in moment.reads if r.value is not None]
    for read in known:
        beside = [r for r in known if r.tap == read.tap and r.instrument != read.instrument]
        if any(abs(r.value or 0.0) <= lim.LIVE.si for r in beside) and moment.step in ("B2", "R4"):
            yield read.instrument, read.value or 0.0


def _said(case: Case, moment: Moment) -> Iterator[tuple[str, float]]:
    """Yield gauges of which a note says what they show at no pressure. [Pa]"""
    gauges = [name for name, tool in case.story.instruments.items() if name and tool.error is not None]
    for sentence in re.split(r"(?<=[.;!?])\s+", moment.text):
        if not any(clause.told == "done" for clause in clauses(sentence)):
            continue
        for hit in (hit for way in _TOLD for hit in way.finditer(sentence)):
            ahead = sentence[: hit.end()].casefold()
            near = sorted((ahead.rfind(name.casefold()), name) for name in gauges)
            named = [name for at, name in near if at >= 0][-1:] or gauges[: len(gauges) == 1]
            sign = "-" if re.search(r"\b(?:low|below)\b", hit.group()) else ""
            by = pascals(sign + hit["figure"].lstrip("+").replace("−", "-"), hit["unit"])
            yield from ((name, by) for name in named)


def _read_so(case: Case, name: str, moment: Moment, by: float) -> Iterator[Breach]:
    """A gauge that was off is read for a proof afterwards, and nobody says that it was put right."""
    for later in case.story.moments[moment.index + 1 :]:
        own = [r for r in later.reads if r.instrument == name and r.value is not None]
        if not own or later.step not in PROOF_STEPS:
            continue
        tool = case.story.instruments[name]
        most = _most(case, tool) or 0.0
        trips = any(r.is_trip or r.is_hold for r in own)
        seen = (
            f"{name} showed {case.told(by)} at no pressure, more than its class explains "
            f"({case.told(most)}), and is read at {later.step}."
        )
        yield breach("RUN-26", "A6", "block" if trips else "flag", moment, seen, _REMEDY)
        return
