"""Screws and needles that stand elsewhere than when they were proved (V4)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit import words
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.model import Moment
from steadyhead.visits.audit.notes import clauses
from steadyhead.visits.audit.rules.case import Case, breach
from steadyhead.visits.audit.rules.stale import touches

_FIGURE: Final = re.compile(r"(\d+(?:[.,]\d+)?|\d+ \d/\d)\s*(mm\b|(?:of a )?turns?\b)", re.IGNORECASE)
_TOLD: Final = re.compile(
    r"\b(?:shut-?off|(?-i:SO))\b(?: (?:pilot|closing|opening|speed|setting))*"
    r"(?: (needle|screw|setting|spring))?\b[^.;:→>]{0,24}?"
    r"(\d+(?:[.,]\d+)?|\d+ \d/\d|\d?[½¼¾⅛])\s*(mm\b|turns?\b)(?: (?:showing|from shut|out|up))?",
    re.IGNORECASE,
)
"""How high a screw, or how far out a needle, of the shut-off stands, as a note says it."""
_TURNED_BY: Final = re.compile(
    r"→|->|\b(?:raised|lowered|turned|by|another|more|further|up|down|gave|given)\b", re.IGNORECASE
)
_PARTS: Final = {"½": 0.5, "¼": 0.25, "¾": 0.75, "⅛": 0.125}


def _number(text: str) -> float:
    whole, _, part = text.partition(" ")
    if part:
        over, under = part.split("/")
        return float(whole) + float(over) / float(under)
    if text[-1] in _PARTS:
        return float(text[:-1] or 0) + _PARTS[text[-1]]
    return float(text.replace(",", "."))


def _stands(moment: Moment) -> dict[tuple[str, str], float]:
    """Return where parts of the shut-off stand as a moment lists them, by part and unit. [mm] or [turn]"""
    found: dict[tuple[str, str], float] = {}
    for clause in clauses(moment.text):
        if clause.told == "not done" or _TURNED_BY.search(clause.text):
            continue
        for part, figure, unit in _TOLD.findall(clause.text):
            mm = unit.casefold() == "mm"
            if part or mm:
                found["needle" if part.casefold() == "needle" else "screw", unit[:2].casefold()] = _number(
                    figure
                )
        if moment.step == "ES6" and (own := _FIGURE.search(clause.text)) and own.group(2).casefold() == "mm":
            found.setdefault(("screw", "mm"), _number(own.group(1)))
    for thing, place in moment.places.items():
        told = _FIGURE.search(place)
        if told and words.SHUT_OFF.search(thing) and (words.HELD_PART.search(thing) or "needle" in thing):
            found[_part_of(thing), told.group(2)[:2].casefold().replace("of", "tu")] = _number(told.group(1))
    return found


def _part_of(thing: str) -> str:
    return "needle" if "needle" in thing.casefold() else "screw"


_WAS: Final = re.compile(
    r"\b(?:shut-?off|(?-i:SO))\b[^.]{0,40}?(\d+(?:[.,]\d+)?)\s*(mm|turns?)\b[^.]{0,60}?\b(?:was|were|"
    r"had been|stood|instead of|"
    r"against|after run|at the proof|before)\b[^.]{0,20}?(\d+(?:[.,]\d+)?)\s*\2",
    re.IGNORECASE,
)


def _stood_elsewhere(moment: Moment) -> bool:
    """Return whether one note gives where a part stands and that it stood elsewhere."""
    for now, unit, was in _WAS.findall(moment.text):
        most = lim.SCREW_MM if unit.casefold() == "mm" else lim.NEEDLE_TURNS
        if abs(_number(now) - _number(was)) > most:
            return True
    return False


def rules(case: Case) -> Iterator[Breach]:
    """A part that stands elsewhere than when it was proved was turned, whoever did not write it."""
    found = touches(case)
    runs = [m.index for m, _ in case.story.runs()]
    if not runs or not case.has_shut_off:
        return
    start = max(
        (t.moment.index for t in found if t.owner == "shut-off" and t.setting and t.moment.index < runs[-1]),
        default=-1,
    )
    proved: dict[tuple[str, str], float] = {}
    for moment in case.story.moments:
        listed = _stands(moment)
        if start <= moment.index <= runs[-1]:
            proved |= listed
            continue
        if moment.index > runs[-1] and _stood_elsewhere(moment):
            seen = "A part of the shut-off stands elsewhere than it stood, the note says."
            yield breach("RUN-23", "V4", "block", moment, seen, "Prove the trip again with three runs.")
            return
        for (part, unit), value in listed.items():
            was = proved.get((part, unit))
            most = lim.SCREW_MM if unit == "mm" else lim.NEEDLE_TURNS
            if moment.index > runs[-1] and was is not None and abs(value - was) > most:
                name = "mm" if unit == "mm" else "turns"
                seen = (
                    f"The {part} of the shut-off stands at {value:g} {name}; when it "
                    f"was proved it stood at {was:g} {name}."
                )
                yield breach("RUN-23", "V4", "block", moment, seen, "Prove the trip again with three runs.")
                return
