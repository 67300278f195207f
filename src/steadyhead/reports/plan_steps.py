"""The steps of a test plan on paper: what to do, what to read, what else it may mean, how to leave."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from steadyhead.records.procedure import Choice, Expect, Expression, Input, Message, Node, Procedure
from steadyhead.reports.figures import between, unit, volume
from steadyhead.units import UnitSet, say
from steadyhead.units.table import KINDS

Speak = Callable[[Message, UnitSet], str]

_LETTERS = re.compile(r"^[A-Z]+")
GROUPS = {
    "A": "Before anything is touched",
    "B": "Isolate and clean",
    "C": "Fill and let the air out",
    "D": "Checks at rest",
    "E": "How the pilots are set",
    "EF": "Settings: the factory setting fits",
    "ES": "Settings: the pilots are set on the line",
    "DS": "Settings: shut-off behind the reducer, both pilots set on the line",
    "F": "Proof of the trip",
    "G": "Alarm and limit switch",
    "H": "Duty, lock-up and flow",
    "J": "Back into service",
    "K": "Records",
    "Y": "Yearly proof",
}
"""Headings by the letters a step's id begins with."""


def groups(procedure: Procedure, units: UnitSet, speak: Speak) -> list[dict[str, Any]]:
    """Return the steps under their headings, each choice in front of the first step it opens."""
    waiting = list(procedure.choices)
    found: list[dict[str, Any]] = []
    for node in procedure.nodes:
        heading = _heading(node.id)
        if not found or found[-1]["heading"] != heading:
            found.append({"heading": heading, "items": []})
        for choice in [c for c in waiting if _opens(c, node.id)]:
            waiting.remove(choice)
            found[-1]["items"].append(_choice(choice, units, speak))
        found[-1]["items"].append(_step(node, units, speak))
    if waiting and found:
        found[-1]["items"] += [_choice(choice, units, speak) for choice in waiting]
    return found


def course(procedure: Procedure, units: UnitSet, speak: Speak) -> list[list[str]]:
    """Return one line per step for the overview: id, title, what must be done first, minutes."""
    return [
        [node.id, speak(node.title, units), after(node.needs), _count(node.minutes)]
        for node in procedure.nodes
    ]


def restore_items(procedure: Procedure) -> list[list[str]]:
    """Return everything opened or defeated during the visit, with the steps that open and restore it."""
    opened: dict[str, list[str]] = {}
    restored: dict[str, list[str]] = {}
    for node in procedure.nodes:
        for item in node.opens:
            opened.setdefault(item, []).append(node.id)
        for item in node.restores:
            restored.setdefault(item, []).append(node.id)
    return [[item, ", ".join(ids), ", ".join(restored.get(item, []))] for item, ids in opened.items()]


def after(needs: Expression) -> str:
    """Return in words which steps must be done first; empty where none.

    Examples
    --------
    >>> after({"all": ["A2", {"any": ["EF3", "ES6"]}]})
    'A2, EF3 or ES6'
    """
    return ", ".join(_needs(needs))


def _needs(needs: object) -> Iterator[str]:
    if isinstance(needs, str):
        yield needs
    elif isinstance(needs, dict):
        for word, inner in needs.items():
            if word == "any" and isinstance(inner, list | tuple):
                yield " or ".join(" with ".join(_needs(item)) for item in inner)
            else:
                yield from _needs(inner)
    elif isinstance(needs, list | tuple):
        for item in needs:
            yield from _needs(item)


def _heading(node_id: str) -> str:
    letters = _LETTERS.match(node_id)
    return GROUPS.get(letters.group(0) if letters else "", "Further steps")


def _opens(choice: Choice, node_id: str) -> bool:
    return choice.id == node_id or any(node_id in ids for _, _, ids in choice.options)


def _choice(choice: Choice, units: UnitSet, speak: Speak) -> dict[str, Any]:
    return {
        "kind": "choice",
        "id": choice.id,
        "question": speak(choice.question, units),
        "options": [
            {"words": speak(words, units), "then": f"go on with {_span(ids)}" if ids else ""}
            for _, words, ids in choice.options
        ],
    }


def _span(ids: Iterable[str]) -> str:
    found = list(ids)
    return ", ".join(found) if len(found) < 4 else f"{found[0]} to {found[-1]}"


def _step(node: Node, units: UnitSet, speak: Speak) -> dict[str, Any]:
    return {
        "kind": "step",
        "id": node.id,
        "title": speak(node.title, units),
        "after": after(node.needs),
        "minutes": _count(node.minutes),
        "litres": volume(node.litres * 1e-3, units) if node.litres else "",
        "hazards": [[hazard.tag.capitalize(), speak(hazard.caution, units)] for hazard in node.hazards],
        "do": [speak(message, units) for message in node.do],
        "read": _readings(node, units, speak),
        "otherwise": [
            [speak(other.see, units), speak(other.meaning, units), speak(other.then, units)]
            for other in node.otherwise
        ],
        "back": [[back.state, speak(back.do, units)] for back in node.back_out],
        "opens": list(node.opens),
        "restores": list(node.restores),
        "proves": list(node.proves),
    }


def _readings(node: Node, units: UnitSet, speak: Speak) -> list[dict[str, Any]]:
    return [_reading(each, node.expect, units, speak) for each in node.inputs]


def _reading(each: Input, expect: Iterable[Expect], units: UnitSet, speak: Speak) -> dict[str, Any]:
    wanted = [e for e in expect if e.input == each.name]
    return {
        "kind": each.quantity if each.quantity in ("yes_no", "text", "photo", "time_of_day") else "reading",
        "what": _what(each),
        "with": _with(each, units),
        "expected": "; ".join(filter(None, (between(e.low, e.high, each.quantity, units) for e in wanted))),
        "why": "; ".join(speak(e.why, units) for e in wanted),
        "unit": unit(each.quantity, units),
    }


def _what(each: Input) -> str:
    name = each.name.replace("_", " ")
    return name if not each.tap or each.tap in each.name else f"{name} at {each.tap}"


def _with(each: Input, units: UnitSet) -> str:
    words = [each.instrument] if each.instrument else []
    if each.stable_for and each.stable_within and each.quantity in KINDS:
        words.append(
            f"still for {each.stable_for:.0f} s within ± {say(each.stable_within, each.quantity, units)}"
        )
    elif each.stable_for:
        words.append(f"still for {each.stable_for:.0f} s")
    return ", ".join(words)


def _count(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes else ""
