"""The steps of a test plan on paper: what to do, what to read, what else it may mean, how to leave."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from steadyhead.records.procedure import Choice, Expect, Expression, Input, Message, Node, Procedure
from steadyhead.reports.figures import between, site_unit, volume
from steadyhead.units import UnitSet, say
from steadyhead.units.table import KINDS
from steadyhead.visits.dials import PlanUnits
from steadyhead.visits.text import is_restart
from steadyhead.visits.texts import is_known

Speak = Callable[[Message, UnitSet], str]

_LETTERS = re.compile(r"^[A-Z]+")
_NUMBERED = re.compile(r"^(.+)\.(\d+)$")
GROUPS = {
    "A": "Before anything is touched",
    "B": "Isolate and clean",
    "C": "Fill and let the air out",
    "D": "Checks at rest",
    "E": "Settings",
    "EF": "Settings",
    "ES": "Settings",
    "DS": "Settings: shut-off behind the reducer, both pilots set on the line",
    "F": "Proof of the trip",
    "IN": "Proof of the trip by hand pump",
    "TS": "Proof that the second reducer holds alone",
    "R": "Relief valve",
    "RS": "Restart after a trip",
    "MN": "Monitor",
    "G": "Alarm and limit switch",
    "H": "Duty, lock-up and flow",
    "S": "Streams one by one and together",
    "J": "Back into service",
    "K": "Records",
    "Y": "Yearly proof",
}
"""Headings by the letters a step's id begins with."""


ALONE = "Alone, the others isolated"
"""Heading of the steps that leave one stream alone in service."""


@dataclass(frozen=True, slots=True)
class Teller:
    """How the steps of one plan are put into words."""

    procedure: Procedure
    by_tap: PlanUnits
    speak: Speak

    @property
    def units(self) -> UnitSet:
        """The units of sentences."""
        return self.by_tap.words

    def __call__(self, message: Message) -> str:
        """Return the words of a message."""
        return self.speak(message, self.units)

    def name(self, thing: str) -> str:
        """Return what people call a thing, a proof or a restore item."""
        message = self.procedure.names.get(thing)
        return thing if message is None else self(message)

    def state(self, state: str) -> str:
        """Return the words for a state of the station from which a step can be left."""
        for known in (f"state.{state}", f"state.{state.removesuffix('_between')}"):
            if is_known(known):
                return self(Message(known))
        return state


def groups(tell: Teller, names: Mapping[str, str] | None = None) -> list[dict[str, Any]]:
    """Return the steps under their headings, each choice beside the first step it concerns.

    `names`: of the streams by id; a step of one stream carries it in its heading.
    """
    waiting = list(tell.procedure.choices)
    found: list[dict[str, Any]] = []
    for node in tell.procedure.nodes:
        heading = _of_stream(tell.procedure.streams.get(node.id, ""), names or {}, _heading(node.id))
        if not found or found[-1]["heading"] != heading:
            found.append({"heading": heading, "items": []})
        items = found[-1]["items"]
        mine = [choice for choice in waiting if choice.id == node.id]
        before = [choice for choice in waiting if choice not in mine and _opens(choice, node.id)]
        items += [_choice(choice, tell) for choice in before]
        items.append(_step(node, tell))
        items += [_choice(choice, tell) for choice in mine]
        waiting = [choice for choice in waiting if choice not in (*mine, *before)]
    if waiting and found:
        found[-1]["items"] += [_choice(choice, tell) for choice in waiting]
    return found


def course(tell: Teller) -> list[list[str]]:
    """Return one line per step for the overview: id, title, what must be done first, minutes."""
    return [
        [node.id, tell(node.title), after(node.needs), _count(node.minutes)] for node in tell.procedure.nodes
    ]


def restore_items(tell: Teller) -> list[list[str]]:
    """Return everything opened or defeated during the visit, with the steps that open and restore it."""
    opened: dict[str, list[str]] = {}
    restored: dict[str, list[str]] = {}
    for node in tell.procedure.nodes:
        for item in node.opens:
            opened.setdefault(item, []).append(node.id)
        for item in node.restores:
            restored.setdefault(item, []).append(node.id)
    return [
        [tell.name(item), ", ".join(ids), ", ".join(restored.get(item, []))] for item, ids in opened.items()
    ]


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
    if is_restart(node_id):
        return GROUPS["RS"]
    letters = _LETTERS.match(node_id)
    return GROUPS.get(letters.group(0) if letters else "", "Further steps")


def _of_stream(stream: str, names: Mapping[str, str], heading: str) -> str:
    """Return a heading with the name of its stream in front, where it has one."""
    if stream and heading == GROUPS["S"]:
        heading = ALONE
    return f"{names.get(stream, stream)}: {heading[:1].lower()}{heading[1:]}" if stream else heading


def _opens(choice: Choice, node_id: str) -> bool:
    return any(node_id in ids for _, _, ids in choice.options)


def _choice(choice: Choice, tell: Teller) -> dict[str, Any]:
    return {
        "kind": "choice",
        "id": choice.id,
        "question": tell(choice.question),
        "options": [
            {"words": tell(words).rstrip("."), "then": f"go on with {', '.join(ids)}" if ids else ""}
            for _, words, ids in choice.options
        ],
    }


def _step(node: Node, tell: Teller) -> dict[str, Any]:
    numbered = [each for each in node.inputs if _NUMBERED.match(each.name)]
    return {
        "kind": "step",
        "id": node.id,
        "title": tell(node.title),
        "after": after(node.needs),
        "minutes": _count(node.minutes),
        "litres": volume(node.litres * 1e-3, tell.units) if node.litres else "",
        "hazards": [[hazard.tag.capitalize(), tell(hazard.caution)] for hazard in node.hazards],
        "do": [tell(message) for message in node.do],
        "points": _points(node, numbered, tell),
        "read": [_reading(node, each, tell) for each in node.inputs if each not in numbered],
        "otherwise": [[tell(other.see), tell(other.meaning), tell(other.then)] for other in node.otherwise],
        "back": [[tell.state(back.state), tell(back.do)] for back in node.back_out],
        "opens": [tell.name(item) for item in node.opens],
        "restores": [tell.name(item) for item in node.restores],
        "proves": [tell.name(item) for item in node.proves],
    }


def _points(node: Node, inputs: list[Input], tell: Teller) -> dict[str, Any] | None:
    """Return numbered readings (``T3.1``, ``T3.2``, …) as a table: a row per point, a column per reading."""
    points: dict[str, dict[str, str]] = {}
    columns: dict[str, str] = {}
    for each in inputs:
        match = _NUMBERED.match(each.name)
        if match is not None:
            columns[match.group(1)] = site_unit(each.quantity, tell.by_tap.at(each.tap))
            points.setdefault(match.group(2), {})[match.group(1)] = _bare(node, each, tell)
    if not points:
        return None
    return {
        "columns": [[stem, sign] for stem, sign in columns.items()],
        "rows": [[point, [cells.get(stem) for stem in columns]] for point, cells in points.items()],
    }


def _bare(node: Node, each: Input, tell: Teller) -> str:
    """Return the bands of one reading without their unit, which stands at the head of the column."""
    words = "; ".join(_band(e, each, tell) for e in node.expect if e.input == each.name)
    return words.replace(f" {site_unit(each.quantity, tell.by_tap.at(each.tap))}", "")


def _reading(node: Node, each: Input, tell: Teller) -> dict[str, Any]:
    plain = each.quantity in ("yes_no", "text", "photo", "time_of_day")
    label = f"{node.id}/{each.name}"
    return {
        "kind": each.quantity if plain else "reading",
        "what": tell.name(label) if label in tell.procedure.names else _what(each),
        "with": _with(each, tell.by_tap.at(each.tap)),
        "bands": [[_band(e, each, tell), tell(e.why)] for e in node.expect if e.input == each.name],
        "unit": site_unit(each.quantity, tell.by_tap.at(each.tap)),
    }


def _band(expect: Expect, each: Input, tell: Teller) -> str:
    """Return one expectation; where it holds on one way only, the way stands in front."""
    words = between(expect.low, expect.high, each.quantity, tell.by_tap.at(each.tap))
    return words if expect.where is None else f"{' '.join(expect.where)}: {words}"


def _what(each: Input) -> str:
    name = each.name.replace("_", " ")
    return name if not each.tap or each.tap in each.name else f"{name} at {each.tap}"


def _with(each: Input, units: UnitSet) -> str:
    words = [each.instrument] if each.instrument not in ("", "eye") else []
    if each.stable_for:
        still = f"still {each.stable_for:.0f} s"
        if each.stable_within and each.quantity in KINDS:
            still += f" ± {say(each.stable_within, each.quantity, units)}"
        words.append(still)
    return ", ".join(words)


def _count(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes else ""
