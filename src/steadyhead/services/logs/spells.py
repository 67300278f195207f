"""How samples stand by the judgements that are kept: the latest one that covers a time decides."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import numpy.typing as npt

from steadyhead.records.logger_pictures import BELIEVED, DOUBTED, REFUSED, UNSEEN
from steadyhead.register import Register
from steadyhead.register.logs import KeptChannel
from steadyhead.services.logs.judged import JudgedView, judgement, judgements_of
from steadyhead.services.logs.views import EpisodeView
from steadyhead.watch.defects.episode import BIT, Code
from steadyhead.watch.defects.episode import REFUSED as REFUSED_BITS

WORDS = ("unseen", "believed", "doubted", "refused")
"""Words of how a sample stands, by its number."""
BETWEEN = (Code.GAP, Code.CLOCK_CHANGE)
"""Defects between samples; no sample bears their mark."""
SLACK = 1000
"""Times of a judgement are rounded to milliseconds. [µs]"""
Times = npt.NDArray[np.int64]
Marks = npt.NDArray[np.uint8]
AT_HAND = 8


@dataclass(frozen=True, slots=True)
class Spell:
    """A judged period: first and last sample [µs since 1970], what it says, imports that came since."""

    first: int
    last: int
    view: JudgedView
    since: tuple[int, ...]


def micros(text: str) -> int:
    """Return a time of a view. [µs since 1970 UTC]"""
    return round(datetime.fromisoformat(text).timestamp() * 1e6)


_KNOWN: OrderedDict[tuple[str, str], JudgedView] = OrderedDict()


def known(register: Register, key: str, id_: str) -> JudgedView:
    """Return a kept judgement; it never changes, so the last few are held at hand."""
    name = (str(register.engine.url), id_)
    found = _KNOWN.get(name)
    if found is None:
        found = _KNOWN[name] = judgement(register, key, id_)
        while len(_KNOWN) > AT_HAND:
            _KNOWN.popitem(last=False)
    return found


def spells(register: Register, key: str, start: int, end: int) -> tuple[Spell, ...]:
    """Return the judgements that meet a window, the latest one last. [µs since 1970 UTC]

    One that a later one covers as a whole, period and channels, is left out, and so is one that rests on an
    import that was undone.
    """
    out: list[Spell] = []
    for line in judgements_of(register, key):
        first, last = micros(line.first), micros(line.last)
        if last < start or first >= end or line.undone:
            continue
        judged = set(line.channels)
        if any(
            later.first <= first and last <= later.last and judged <= set(later.view.judged) for later in out
        ):
            continue
        out.append(Spell(first, last, known(register, key, line.id), line.since))
    return tuple(reversed(out))


def marks(
    told: Sequence[Spell], one: KeptChannel, begins: Times, ends: Times, high: npt.NDArray[np.float64]
) -> Marks:
    """Return how stretches of a channel stand: the worst of what touches each of them.

    begins, ends, high: times of the first and last value of each, and the highest one. [µs, SI]
    """
    out: Marks = np.full(begins.shape, UNSEEN, dtype=np.uint8)
    for spell in told:
        if one.name not in spell.view.judged:
            continue
        inside = (ends >= spell.first - SLACK) & (begins <= spell.last + SLACK)
        mine: Marks = np.full(begins.shape, BELIEVED, dtype=np.uint8)
        for episode in spell.view.episodes:
            _mark(mine, episode, one.name, begins, ends, high)
        for number, part in one.parts:
            if number in spell.since:
                mine[(ends >= part.first) & (begins <= part.last)] = UNSEEN
        out[inside] = mine[inside]
    return out


def _mark(
    out: Marks, one: EpisodeView, name: str, begins: Times, ends: Times, high: npt.NDArray[np.float64]
) -> None:
    code = Code(one.code)
    if code in BETWEEN or (one.channels and name not in one.channels):
        return
    if code is Code.CLIPPING and one.magnitude is not None:
        touched = high >= one.magnitude * (1.0 - 1e-9)
    else:
        touched = (ends >= micros(one.start) - SLACK) & (begins <= micros(one.end) + SLACK)
    mark = REFUSED if BIT[code] & REFUSED_BITS else DOUBTED
    out[touched] = np.maximum(out[touched], mark)


@dataclass(frozen=True, slots=True)
class Happened:
    """A defect or an event that stands: of which judgement, when [µs], what."""

    judgement: str
    start: int
    end: int
    is_event: bool
    one: EpisodeView


def happened(told: Sequence[Spell], start: int, end: int) -> tuple[Happened, ...]:
    """Return defects and events that meet a window, by time; a later judgement replaces an earlier one."""
    out: list[Happened] = []
    for place, spell in enumerate(told):
        judged = set(spell.view.judged)
        later = [one for one in told[place + 1 :] if judged <= set(one.view.judged)]
        for is_event, every in ((True, spell.view.happenings), (False, spell.view.episodes)):
            for one in every:
                a, b = micros(one.start), micros(one.end)
                if b < start or a >= end or any(each.first <= a <= each.last for each in later):
                    continue
                plain = one if isinstance(one, EpisodeView) else EpisodeView(**one.model_dump())
                out.append(Happened(spell.view.id, a, b, is_event, plain))
    return tuple(sorted(out, key=lambda each: (each.start, not each.is_event, each.one.code)))


def edges(told: Sequence[Spell]) -> tuple[int, int] | None:
    """Return from when to when judgements reach; None: nothing is judged."""
    if not told:
        return None
    return min(one.first for one in told), max(one.last for one in told)
