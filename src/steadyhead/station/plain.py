"""Tree or JSON text to plain data: maps, lists, text, true and false; every number stays text."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from typing import Any

from steadyhead.station.limits import DEEPEST, MOST_NODES
from steadyhead.station.refusal import Path, Refusal, in_words
from steadyhead.station.tree import Node

_THOUSANDS = re.compile(r"^\d{3}(?!\d)")
_COMMA_TAIL = re.compile(r"^\d+\s*\S{0,12}$")


@dataclass(slots=True)
class Reading:
    """Plain data with what was noticed on the way.

    Parameters
    ----------
    data
        Maps, lists, text and booleans; keys without a value are left out.
    lines
        Line of each path, from 1; empty for JSON.
    blanks
        Paths of keys without a value.
    errors
        Doubled keys, keys that are no text, and the like.
    """

    data: Any = None
    lines: dict[Path, int] = field(default_factory=dict)
    blanks: list[Path] = field(default_factory=list)
    errors: list[Refusal] = field(default_factory=list)
    nodes: int = 0


def from_tree(root: Node | None) -> Reading:
    """Return the plain data of a YAML tree, with the line of each value."""
    reading = Reading()
    if root is not None:
        reading.data = _plain(root, (), reading)
    return reading


def _plain(node: Node, path: Path, reading: Reading) -> Any:
    reading.nodes += 1
    if reading.nodes > MOST_NODES:
        raise Refusal(
            "station file",
            f"holds more than {MOST_NODES} values once its aliases are written out.",
            "Write the values out where they are needed.",
            line=node.line + 1,
        )
    reading.lines[path] = node.line + 1
    if node.kind == "list":
        return [_plain(item, (*path, index), reading) for index, item in enumerate(node.items)]
    if node.kind == "map":
        return _plain_map(node, path, reading)
    if node.style or node.text not in ("true", "false", "True", "False", "TRUE", "FALSE"):
        return None if node.is_empty else node.text
    return node.text.casefold() == "true"


def _plain_map(node: Node, path: Path, reading: Reading) -> dict[str, Any]:
    found: dict[str, Any] = {}
    first: dict[str, int] = {}
    for key_node, value_node in node.entries:
        line = key_node.line + 1
        if key_node.kind != "scalar":
            reading.errors.append(_refuse(path, "has a list or map as a key.", "Keys are words.", line))
            continue
        key = key_node.text
        here = (*path, key)
        if key in first:
            problem = f"stands twice, in line {first[key]} and again here."
            reading.errors.append(_refuse(here, problem, "Delete one of the two.", line))
            continue
        if value_node.is_empty and node.flow and _COMMA_TAIL.match(key) and found:
            last = list(found)[-1]
            reading.errors.append(_comma((*path, last), str(found[last]), key, line))
            continue
        first[key] = line
        value = _plain(value_node, here, reading)
        reading.lines[here] = line
        if value is None:
            reading.blanks.append(here)
        else:
            found[key] = value
    return found


def _comma(path: Path, head: str, tail: str, line: int) -> Refusal:
    problem = f"the comma before {tail!r} ends the value inside braces."
    if _THOUSANDS.match(tail):
        remedy = f"Write {head}{tail} or {head}.{tail}."
    else:
        remedy = f"Write {head}.{tail}, or put the value in quotes."
    return _refuse(path, problem, remedy, line)


def _refuse(path: Path, problem: str, remedy: str, line: int) -> Refusal:
    return Refusal(in_words(path, None), problem, remedy, path=path, line=line)


class _Doubled(ValueError):
    """A key that stands twice in one JSON object."""


def from_json(text: str) -> Reading:
    """Return the plain data of a JSON text; numbers stay as written.

    Raises
    ------
    Refusal
        Broken JSON, a doubled key, NaN or infinity, or too deep.
    """
    try:
        raw = json.loads(
            text, object_pairs_hook=_pairs, parse_float=str, parse_int=str, parse_constant=_no_constant
        )
    except _Doubled as error:
        raise Refusal(str(error), "stands twice in one object.", "Delete one of the two.") from None
    except json.JSONDecodeError as error:
        problem = f"is no JSON: {error.msg} at column {error.colno}."
        raise Refusal("station file", problem, "Give the JSON of one station.", line=error.lineno) from None
    except (RecursionError, ValueError):
        raise Refusal(
            "station file", "is nested too deep or holds NaN or infinity.", "Give the JSON of one station."
        ) from None
    reading = Reading()
    reading.data = _strip(raw, (), reading)
    return reading


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                raise _Doubled(key)
            seen.add(key)
    return found


def _no_constant(name: str) -> Any:
    raise ValueError(name)


def _strip(raw: Any, path: Path, reading: Reading) -> Any:
    if len(path) > DEEPEST:
        problem = f"is nested more than {DEEPEST} deep."
        raise Refusal("station file", problem, "Give the JSON of one station.")
    if isinstance(raw, list):
        return [_strip(item, (*path, index), reading) for index, item in enumerate(raw)]
    if not isinstance(raw, dict):
        return raw
    found: dict[str, Any] = {}
    for key, value in raw.items():
        if value is None:
            reading.blanks.append((*path, key))
        else:
            found[key] = _strip(value, (*path, key), reading)
    return found
