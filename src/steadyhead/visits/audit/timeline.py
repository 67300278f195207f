"""From the entries of a run to the moments that are audited."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import isfinite
from typing import Any, Final

from steadyhead.records.entry import Entry
from steadyhead.units import UnitError, parse
from steadyhead.visits.audit.model import Act, Deviation, Instrument, Moment, Read, Sign, Story

_OF_STEP: Final = ("reading", "action", "observation", "position", "note", "choice", "photo")
_NUMBERED: Final = re.compile(r"\b(?:entry|no\.?|line|item|number)\s*(\d+)", re.IGNORECASE)


def story_of(entries: Sequence[Entry]) -> Story:
    """Return the record behind entries that are in the order of judging and stand after corrections."""
    moments: list[Moment] = []
    instruments: dict[str, Instrument] = {}
    deviations: list[Deviation] = []
    sign: Sign | None = None
    for entry in entries:
        data = entry.payload
        if entry.kind == "instrument":
            instruments[str(data.get("name", ""))] = _instrument(data)
        elif entry.kind == "deviation":
            deviations.append(_deviation(entry, len(moments)))
        elif entry.kind == "sign":
            sign = _sign(entry)
        elif entry.kind in _OF_STEP:
            if not moments or _begins(moments[-1], entry):
                moments.append(_empty(entry, len(moments)))
            moments[-1] = _with(moments[-1], entry)
    return Story(tuple(_with_notes(_with_corrections(moments))), instruments, tuple(deviations), sign)


def _begins(last: Moment, entry: Entry) -> bool:
    same = (last.node, last.who, last.at) == (entry.node, entry.who, entry.time)
    return not same or (entry.kind == "note" and bool(last.text))


def _empty(entry: Entry, index: int) -> Moment:
    return Moment(index, entry.id, entry.node, entry.time, entry.day.isoformat(), entry.who)


def _with(moment: Moment, entry: Entry) -> Moment:
    data = entry.payload
    ids = (*moment.entries, entry.id)
    if entry.kind == "note":
        return moment.changed(text=str(data.get("text", "")), entries=ids)
    if entry.kind == "reading":
        return moment.changed(reads=(*moment.reads, _read(entry)), entries=ids)
    if entry.kind == "action":
        act = Act(entry.id, _text(data, "do"), _text(data, "thing"), _detail(data))
        return moment.changed(acts=(*moment.acts, act), entries=ids)
    if entry.kind == "position":
        return moment.changed(places={**moment.places, _text(data, "thing"): _text(data, "is")}, entries=ids)
    if entry.kind == "choice":
        return moment.changed(
            choices={**moment.choices, _text(data, "choice"): _text(data, "option")}, entries=ids
        )
    if entry.kind == "observation":
        return _seen(moment, data).changed(entries=ids)
    return moment.changed(entries=ids)


def _seen(moment: Moment, data: Mapping[str, Any]) -> Moment:
    name, value = _text(data, "input"), data.get("value")
    if name == "expected" and isinstance(value, Mapping):
        return moment.changed(expected={**moment.expected, **{str(k): quantity(v) for k, v in value.items()}})
    return moment.changed(seen={**moment.seen, name: value})


def quantity(value: Any) -> Any:
    """Return a value of a record in SI: a number as it is, text with a unit parsed, else the text."""
    if isinstance(value, (list, tuple)):
        return tuple(quantity(one) for one in value)
    if isinstance(value, str):
        for kind in ("pressure", "flow", "time", "turns", "temperature"):
            try:
                return parse(value, kind).si
            except UnitError:
                continue
    return value


def _read(entry: Entry) -> Read:
    data = entry.payload
    swing = data.get("swing")
    whole = isinstance(swing, Mapping) and (
        all(swing.get(k) is not None for k in ("mean", "peak_to_peak", "period"))
        or all(p.search(_text(swing, "words")) for p in _SWING_WORDS)
    )
    return Read(
        entry.id,
        _text(data, "tap"),
        _amount(data, "value", "pressure"),
        _text(data, "instrument"),
        _amount(data, "flow", "flow"),
        _number(data.get("steady_for")),
        _mark(data),
        _amount(data, "wall_temperature", "temperature"),
        bool(swing),
        whole,
        _amount(data, "read_there", "pressure"),
        _number(data.get("read_at_height")),
    )


_SWING_WORDS: Final = tuple(
    re.compile(p, re.IGNORECASE)
    for p in (
        r"\d",
        r"p[- ]?p\b|peak|swing|between|±|\+/-|by \d|to \d",
        r"period|every|per\b|\ds\b|\d s\b|sec",
    )
)
"""What a swing told in words has: figures, how far, how often."""
_BY_INPUT: Final = {"act": "act", "hold": "last hold", "peak": "peak"}


def _mark(data: Mapping[str, Any]) -> str:
    """Return what a reading is marked as; a plan's own inputs say it by their names."""
    return _text(data, "as").casefold() or _BY_INPUT.get(_text(data, "input").split(".")[0], "")


def _amount(data: Mapping[str, Any], key: str, kind: str) -> float | None:
    """Return an amount in SI; text with its unit is parsed, a typed number stands beside `unit`."""
    value = data.get(key)
    if isinstance(value, str):
        try:
            return parse(value, kind).si
        except UnitError:
            return None
    if value is None and key == "value" and data.get("typed") is not None:
        try:
            return parse(f"{data['typed']} {data.get('unit', '')}", kind).si
        except UnitError:
            return None
    return _number(value)


def _number(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not isfinite(value):
        return None
    return float(value)


def _text(data: Mapping[str, Any], key: str) -> str:
    value = data.get(key)
    return "" if value is None else str(value).strip()


def _detail(data: Mapping[str, Any]) -> str:
    amount = data.get("amount")
    more = f"{amount:g} {data.get('unit', '')}" if isinstance(amount, (int, float)) else ""
    return " ".join(part for part in (_text(data, "detail"), _text(data, "to"), more.strip()) if part)


def _instrument(data: Mapping[str, Any]) -> Instrument:
    kind = "pressure" if _text(data, "quantity") in ("", "pressure") else _text(data, "quantity")
    low, high = (_amount(data, key, kind) for key in ("low", "high"))
    share = _number(data.get("class"))
    error = None if None in (low, high, share) else (high - low) * share  # type: ignore[operator]
    return Instrument(
        _text(data, "name"),
        _text(data, "what"),
        low,
        high,
        error,
        _text(data, "calibrated"),
        _text(data, "due"),
    )


def _deviation(entry: Entry, index: int) -> Deviation:
    data = entry.payload
    words = " ".join((entry.node, *(_text(data, k) for k in ("about", "what", "risk", "measure")))).casefold()
    return Deviation(entry.id, index, words, bool(_text(data, "owner") or _text(data, "accepted_by")))


def _sign(entry: Entry) -> Sign:
    data = entry.payload
    told = [data.get(key) for key in ("as_left", "as_found")]
    left, found = (
        {str(k): quantity(v) for k, v in one.items()} if isinstance(one, Mapping) else {} for one in told
    )
    return Sign(entry.id, _text(data, "asks") or "final", _text(data, "statement"), left, found)


def _with_corrections(moments: list[Moment]) -> list[Moment]:
    """Return the moments with what later moments say they correct; both stay in the record."""
    for moment in list(moments):
        if not moment.done("correct"):
            continue
        target = _corrected_by(moment, moments)
        if target is not None:
            moments[target] = _mended(moments[target], moment)
    return moments


def _with_notes(moments: list[Moment]) -> list[Moment]:
    """Return the moments, each with the bare notes that follow it at its own step."""
    main = -1
    for index, moment in enumerate(moments):
        bare = not (moment.reads or moment.acts or moment.places or moment.seen)
        if bare and main >= 0 and moments[main].step == moment.step and moment.step:
            moments[main] = moments[main].changed(more=f"{moments[main].more} {moment.text}".strip())
        elif not bare:
            main = index
    return moments


def _corrected_by(moment: Moment, moments: list[Moment]) -> int | None:
    named = _NUMBERED.search(moment.all_words)
    if named:
        for other in moments[: moment.index]:
            if other.entry == named.group(1) or other.entry.split(".")[0] == named.group(1):
                return other.index
    for other in reversed(moments[: moment.index]):
        if other.reads and (other.step == moment.step or f"{other.step.casefold()} " in f"{moment.words} "):
            return other.index
    return None


def _mended(target: Moment, moment: Moment) -> Moment:
    reads = list(target.reads)
    for new in moment.reads:
        places = [
            k
            for k, old in enumerate(reads)
            if old.tap == new.tap and (not new.mark or old.mark == new.mark or old.is_trip == new.is_trip)
        ]
        if places and new.value is not None:
            near = min(places, key=lambda k: reads[k].mark != new.mark)
            reads[near] = new if new.mark else _marked(new, reads[near].mark)
    return target.changed(reads=tuple(reads), corrected=True)


def _marked(read: Read, mark: str) -> Read:
    return replace(read, mark=mark)
