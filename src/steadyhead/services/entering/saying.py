"""An entry in words, as it is listed and told back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from steadyhead.records.entry import KINDS as ENTRY_KINDS
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.units import UnitSet
from steadyhead.units import say as say_value
from steadyhead.units.table import KINDS
from steadyhead.visits.certifying.seen import in_words
from steadyhead.visits.texts import say

_AMOUNTS = {
    "low": "",
    "high": "",
    "division": "",
    "zero": "",
    "flow": "flow",
    "steady_for": "time",
    "steady_within": "",
    "wall_temperature": "temperature",
    "read_at_height": "length",
    "corrected_by": "",
    "class": "ratio",
}
"""Numbers of a payload with their kind of quantity; empty: that of the payload."""
_WORDS = {"wall_temperature": "wall", "steady_within": "within", "steady_for": "stood"}
_TOLD = ("input", "quantity", "tap", "value", "typed", "unit")
_HEAD = {"run": "run begun", "person": "person", "instrument": "instrument", "deviation": "deviation about"}


def said(entry: Entry, units: UnitSet, amends: int = 0, plan: Procedure | None = None) -> str:
    """Return what an entry says, in a few words.

    amends: number of the entry it corrects or voids. plan: what was asked is told in its words; None: by the
    names it is entered by.
    """
    payload = entry.payload
    quantity = str(payload.get("quantity") or "")
    if entry.kind in ("reading", "observation"):
        return _value(payload, quantity, units, _asked(entry, plan, units))
    if entry.kind == "action":
        return _act(payload, units)
    if entry.kind == "choice":
        return _chosen(payload, plan, units)
    if entry.kind == "position":
        return f"{payload.get('thing')} {payload.get('is')}"
    if entry.kind == "photo" and plan is not None:
        told = (_asked(entry, plan, units), str(payload.get("name") or ""))
        return ": ".join(part for part in told if part)
    if entry.kind == "photo":
        return (
            f"photo of {payload.get('of')}: {payload.get('name', '')} {str(payload.get('sha256', ''))[:12]}…"
        )
    if entry.kind == "note":
        return f"“{payload.get('text')}”"
    if entry.kind in ("correction", "void"):
        given = payload.get("payload")
        new = f": {_rest(given, quantity, units)}" if isinstance(given, Mapping) else ""
        return f"{entry.kind} of {amends or 'what is not there'}{new} ({payload.get('reason')})"
    if entry.kind == "sign":
        return f"signed as {payload.get('asks')}"
    return f"{_HEAD.get(entry.kind, entry.kind)} {_rest(payload, quantity or 'pressure', units)}"


def _asked(entry: Entry, plan: Procedure | None, units: UnitSet) -> str:
    """Return what was asked, in the words of the plan; the name it is entered by where there are none."""
    name = str(entry.payload.get("input", entry.payload.get("of", "")))
    label = plan.names.get(f"{entry.node}/{name}") if plan is not None else None
    return say(label, units) if label is not None else name


def _chosen(payload: Mapping[str, Any], plan: Procedure | None, units: UnitSet) -> str:
    """Return what was chosen, in the words of the plan where it has them."""
    choice, option = str(payload.get("choice")), str(payload.get("option"))
    told = {
        name: say(words, units)
        for one in (plan.choices if plan is not None else ())
        if one.id == choice
        for name, words, _ in one.options
    }
    return f"chosen: {told[option]}" if option in told else f"{choice}: {option}"


def _value(payload: Mapping[str, Any], quantity: str, units: UnitSet, asked: str) -> str:
    value = payload.get("value")
    shown = in_words(value, quantity, units) if isinstance(value, bool | str | int | float) else "no value"
    other = _other_unit(payload, quantity, units) and shown != f"{payload['typed']} {payload['unit']}"
    shown = f"{payload['typed']} {payload['unit']} ({shown})" if other else shown
    tap = str(payload.get("tap") or "")
    is_name = asked == str(payload.get("input"))
    at = f" at {tap}" if tap and (is_name or tap not in asked.replace(",", " ").split()) else ""
    head = asked if is_name or asked.endswith("?") else f"{asked}:"
    rest = {key: each for key, each in payload.items() if key not in _TOLD}
    more = _rest(rest, quantity, units)
    return f"{head} {shown}{at}{', ' if more else ''}{more}"


def _other_unit(payload: Mapping[str, Any], quantity: str, units: UnitSet) -> bool:
    return quantity in KINDS and bool(payload.get("typed")) and payload.get("unit") != units.unit(quantity)


def _act(payload: Mapping[str, Any], units: UnitSet) -> str:
    amount, unit = payload.get("amount"), str(payload.get("unit", ""))
    size = ""
    if isinstance(amount, int | float) and not isinstance(amount, bool):
        size = say_value(amount, unit, units) if unit in KINDS else f"{amount:g} {unit}"
    do = "done as written" if payload.get("do") == "tick" else str(payload.get("do"))
    parts = (do, payload.get("thing"), size, payload.get("to"), payload.get("detail"))
    return " ".join(str(part) for part in parts if part)


def _rest(payload: Mapping[str, Any], quantity: str, units: UnitSet) -> str:
    parts = []
    for key in sorted(payload, key=_place):
        value = payload[key]
        kind = _AMOUNTS.get(key)
        if key in ("typed", "unit", "plan"):
            continue
        word = _WORDS.get(key, key.replace("_", " "))
        if key in ("name", "instrument", "about", "kind"):
            parts.append(str(value))
        elif value is None:
            parts.append(f"{word} taken out")
        elif isinstance(value, Mapping):
            parts.append(f"{word} {_rest(value, 'time' if key == 'swing' else quantity, units)}")
        elif key == "value":
            typed = f"{payload['typed']} {payload.get('unit', '')}".strip() if "typed" in payload else ""
            parts.append(typed or in_words(value, quantity, units))
        elif kind is not None and isinstance(value, int | float):
            parts.append(f"{word} {_number(value, kind or quantity, units)}")
        else:
            parts.append(f"{word} {value}")
    return ", ".join(parts)


_ORDER = {
    key: at for at, key in enumerate(dict.fromkeys(key for keys in ENTRY_KINDS.values() for key in keys))
}


def _place(key: str) -> int:
    """Return where a key of a payload is told: in the order of the kinds of entry."""
    return _ORDER.get(key, len(_ORDER))


def _number(value: float, kind: str, units: UnitSet) -> str:
    return f"{value * 100:g} %" if kind == "ratio" else in_words(value, kind, units)
