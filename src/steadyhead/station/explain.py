"""The model's complaints in the words of this house, each with its place and remedy."""

from __future__ import annotations

import re
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError

from steadyhead.records.checking import NOT_FILLED_IN
from steadyhead.station.fields import PART_NAMES, Place, field_names, place_of
from steadyhead.station.plain import Reading
from steadyhead.station.refusal import Path, Refusal, in_words

LONGEST_QUOTE = 60
ALSO_CALLED = {
    "filter": "strainer", "screen": "strainer", "reducing valve": "reducer",
    "pressure reducing valve": "reducer", "regulator": "reducer", "shutoff": "shut_off",
    "overpressure shut off": "shut_off", "slam shut": "shut_off", "shut off valve": "shut_off",
    "gate": "isolating_valve", "gate valve": "isolating_valve", "sluice valve": "isolating_valve",
    "butterfly valve": "isolating_valve", "ball valve": "isolating_valve", "valve": "isolating_valve",
    "isolation valve": "isolating_valve", "stop valve": "isolating_valve", "meter": "flow_meter",
    "water meter": "flow_meter", "flowmeter": "flow_meter", "gauge": "tap", "pressure tap": "tap",
    "tapping": "tap", "washout": "drain", "wash out": "drain", "hydrant": "drain", "test drain": "drain",
    "air valve": "vent", "air vent": "vent", "bypass": "parallel",
}  # fmt: skip
"""What the trade also calls the parts of a line; suggested, never read."""
RING_WORDS = ("joins", "joins_at", "to", "from", "connects", "connects_to", "loop", "loops", "ring")
"""What somebody writes who wants to close a ring."""
RINGS = (
    "A line has one inlet and one outlet; streams part and meet in a parallel group. Rings are not covered: "
    "their flows are not settled by one pressure at the outlet."
)
SHORTENED = ((re.compile(r"p\.?r\.?v\.?"), "reducer"), (re.compile(r"o\.?s\.?v\.?"), "shut_off"))
"""Abbreviations of the trade for its valves, with the part they stand for."""


def refusals(error: ValidationError, reading: Reading) -> list[Refusal]:
    """Return one refusal per complaint of the model, in the order of the file."""
    return [_refusal(dict(item), reading) for item in error.errors(include_url=False)]


def unknown_field(path: Path, reading: Reading) -> Refusal:
    """Return the refusal of a key that the model does not have, with what may have been meant."""
    if path[0] == "line" and str(path[-1]).casefold() in RING_WORDS:
        return refuse(path, reading, "is no field here.", RINGS)
    known = field_names(path[:-1], reading.data)
    return refuse(path, reading, "is no field here.", meant(str(path[-1]), known))


def not_filled_in(path: Path, reading: Reading) -> Refusal:
    """Return the refusal of a placeholder, with what the field is for."""
    place = place_of(path, reading.data)
    owner = place_of(path[:-1], reading.data)
    if place is None and owner is not None and path[-1] == "value":
        place = owner
    remedy = _add(place)
    if place is not None and not place.required:
        remedy += " Or leave it out."
    return refuse(path, reading, NOT_FILLED_IN, remedy)


def _add(place: Place | None) -> str:
    asked = place.ask() if place else ""
    return f"Add it: {asked}." if asked else "Add it."


def refuse(path: Path, reading: Reading, problem: str, remedy: str) -> Refusal:
    """Return a refusal at a path, with its words and its line."""
    line = 0
    for length in range(len(path), -1, -1):
        line = reading.lines.get(path[:length], 0)
        if line:
            break
    return Refusal(in_words(path, reading.data), problem, remedy, path=path, line=line)


def meant(word: str, known: tuple[str, ...]) -> str:
    """Return the remedy for a word that is not among the known ones."""
    close = get_close_matches(word.casefold(), known, n=1, cutoff=0.6)
    if close:
        return f"Did you mean {close[0]!r}?"
    return f"Known here: {', '.join(known)}." if known else "Delete it."


def _refusal(item: dict[str, Any], reading: Reading) -> Refusal:
    path = _path(item["loc"], reading.data)
    kind, context = item["type"], item.get("ctx", {})
    if kind == "extra_forbidden":
        return unknown_field(path, reading)
    if kind == "steadyhead" and context["problem"] == NOT_FILLED_IN:
        return not_filled_in(path, reading)
    if kind == "steadyhead":
        return refuse(path, reading, context["problem"], context["remedy"])
    if kind in ("union_tag_not_found", "union_tag_invalid"):
        return _part(path, item["input"], reading)
    if kind == "missing":
        return refuse(path, reading, "missing.", _add(place_of(path, reading.data)))
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        names = ", ".join(field_names(path, reading.data))
        remedy = "Write its fields below it, indented, one 'name: value' a line" + (
            f": {names}." if names else "."
        )
        return refuse(path, reading, f"got {_quote(item['input'])} where fields belong.", remedy)
    problem, remedy = _words(kind, context, item)
    return refuse(path, reading, problem, remedy)


def _part(path: Path, got: object, reading: Reading) -> Refusal:
    allowed = f"Use one of: {', '.join(PART_NAMES)}."
    if not isinstance(got, dict):
        return refuse(
            path, reading, f"got {_quote(got)} where a part belongs.", "Write '- {part: …, id: …}'."
        )
    if "part" not in got:
        return refuse((*path, "part"), reading, "missing.", allowed)
    word = str(got["part"]).casefold()
    known = ALSO_CALLED.get(" ".join(word.replace("-", " ").replace("_", " ").split())) or next(
        (part for shape, part in SHORTENED if shape.fullmatch(word)), None
    )
    close = [known] if known else get_close_matches(word.replace("-", "_"), PART_NAMES, n=1, cutoff=0.6)
    hint = f"Did you mean {close[0]!r}? {allowed}" if close else allowed
    return refuse((*path, "part"), reading, f"got {_quote(got['part'])}.", hint)


def _words(kind: str, context: dict[str, Any], item: dict[str, Any]) -> tuple[str, str]:
    got = _quote(item["input"])
    if kind == "literal_error":
        allowed = str(context.get("expected", ""))
        close = get_close_matches(str(item["input"]).casefold(), _listed(allowed), n=1, cutoff=0.6)
        hint = f"Did you mean {close[0]!r}? " if close else ""
        return f"got {got}.", f"{hint}Use one of: {allowed}."
    if kind == "string_pattern_mismatch":
        return f"got {got}.", "Write a letter, then letters, digits, '_', '.' or '-', 24 characters at most."
    if kind == "string_too_long":
        length = len(str(item["input"]))
        return f"got {length} characters.", f"Write {context.get('max_length')} characters at most."
    if kind == "string_type":
        return (
            f"got {got} where text belongs.",
            "Write text, in quotes where it could be read as something else.",
        )
    if kind in ("too_short", "too_long"):
        low, high = context.get("min_length"), context.get("max_length")
        bound = f"at least {low}" if kind == "too_short" else f"at most {high}"
        number = context.get("actual_length")
        return f"got {number} item{'' if number == 1 else 's'}.", f"Give {bound}."
    if kind in ("tuple_type", "list_type"):
        return (
            f"got {got} where a list belongs.",
            "Write a list: one line with '- ' for each item, or [a, b].",
        )
    if kind in ("greater_than_equal", "less_than_equal"):
        edge = context.get("ge", context.get("le"))
        word = "at least" if kind == "greater_than_equal" else "at most"
        return f"got {got}.", f"Write a number of {word} {edge}."
    if kind.startswith(("float_", "int_")) or kind == "finite_number":
        return f"got {got}.", "Write a plain number, e.g. 51.5."
    return f"got {got}: {item['msg']}.", "Compare it with 'steadyhead example'."


def _listed(expected: str) -> list[str]:
    return expected.replace(" or ", ", ").replace("'", "").split(", ")


def _quote(got: object) -> str:
    if isinstance(got, dict):
        return "fields"
    if isinstance(got, list | tuple):
        return "a list"
    if got is True or got is False:
        return "yes" if got else "no"
    text = repr(got)
    return text if len(text) <= LONGEST_QUOTE else text[: LONGEST_QUOTE - 1] + "…"


def _path(loc: tuple[str | int, ...], data: object) -> Path:
    """Return the place in the file of a place in the model: without the part names in between."""
    path: list[str | int] = []
    for step in loc:
        if step in PART_NAMES and path and isinstance(path[-1], int):
            continue
        path.append(step)
    return tuple(path)
