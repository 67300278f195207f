"""What is typed at a step as NAME=VALUE, as the entries it becomes: readings, observations and photos."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from steadyhead.errors import InputError, InputErrors
from steadyhead.records.procedure import Input, Node
from steadyhead.services.entering.book import Book
from steadyhead.services.entering.draft import Draft, known_name, measured, nearest, yes_or_no
from steadyhead.services.files import read_file

BESIDE: Mapping[str, str] = {
    "with": "instrument it was read with",
    "flow": "flow at that time; where the step asks for a flow itself, its answer too",
    "at_flow": "flow at that time, and nothing else",
    "flow_with": "instrument the flow was read with",
    "tap": "tap, where it is not the one of the plan",
    "stood": "how long it stood still",
    "moved": "by how much it moved meanwhile",
    "wall": "wall temperature",
    "as": "what the reading is, e.g. before nut",
    "mean": "mean, where it swings",
    "swings_by": "from peak to peak",
    "period": "of one swing",
    "read_at": "height it was read at, above datum",
    "corrected_by": "what was added to what the gauge showed, for its zero",
}
"""What may stand beside the answers of one command; each goes with every reading it fits."""
OWN = ".with"
"""Behind the name of a reading: the instrument of that reading alone."""
LARGEST_PHOTO = 500_000_000
"""Largest picture whose hash is taken; own estimate: a photo has some MB. [bytes]"""
_AMOUNTS = {"flow": "flow", "at_flow": "flow", "stood": "time", "wall": "temperature", "read_at": "length"}
_KEYS = {
    "stood": "steady_for",
    "wall": "wall_temperature",
    "read_at": "read_at_height",
    "flow": "flow",
    "at_flow": "flow",
}
_SWING = {"mean": "", "swings_by": "", "period": "time"}
_TIME_OF_DAY = re.compile(r"([01]?\d|2[0-3]):[0-5]\d(:[0-5]\d)?", re.ASCII)


def answers(book: Book, node: Node, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """Return the entries of what was typed at a step, in the order typed.

    A name of the plan goes before one of `BESIDE`: where a step asks for ``flow`` it is its answer, and goes
    with the other readings too; but beside readings of a later moment it is theirs alone. ``NAME.with`` is
    the instrument of that reading alone, where two gauges are read at one time.

    Raises
    ------
    InputErrors
        Every name and value that cannot be used.
    """
    asked = {one.name: one for one in node.inputs}
    wrong: list[InputError] = []
    found: list[Draft] = []
    given = {name: value for name, value in typed.items() if name in asked}
    beside = {name: value for name, value in typed.items() if name in BESIDE}
    own = {name: typed[key] for name in given if (key := f"{name}{OWN}") in typed}
    if _is_later(book, node, given):
        given.pop("flow")
    for name in typed:
        if name not in asked and name not in BESIDE and name.removesuffix(OWN) not in own:
            problem = f"is nothing that {node.id} asks for."
            wrong.append(InputError(name, problem, _at_that_tap(name, node) or nearest(name, asked)))
    if not given and not wrong:
        remedy = nearest("", asked) if asked else "Say that it was done: done"
        wrong.append(InputError(node.id, "got no answer.", remedy))
    for name, value in given.items():
        try:
            found.append(answer(book, node.id, asked[name], value, beside | _read_with(own.get(name))))
        except InputError as error:
            wrong.append(error)
    wrong += [] if wrong else _left_over(found, beside, asked)
    if wrong:
        raise InputErrors(list({str(one): one for one in wrong}.values()), "entry")
    return tuple(found)


def _at_that_tap(name: str, node: Node) -> str:
    """Return as what the reading of a tap is asked for, where a tap was named; empty: none is read there."""
    found = [one.name for one in node.inputs if one.tap and one.tap.casefold() == name.casefold()]
    return f"What is read at {name} is entered as {' or '.join(found)}." if found else ""


def _read_with(gauge: str | None) -> dict[str, str]:
    return {"with": gauge} if gauge else {}


def _is_later(book: Book, node: Node, given: Mapping[str, str]) -> bool:
    """Return whether a flow belongs to the readings beside it alone: those asked for after it was noted.

    A step that asks for its flow first has one flow for all its readings; others ask for it at an event.
    """
    asked = {one.name: at for at, one in enumerate(node.inputs)}
    others = [name for name in given if name != "flow"]
    if "flow" not in given or asked["flow"] == 0:
        return False
    mine = (one for one in book.ledger.standing if one.node == node.id)
    is_noted = any(one.payload.get("input") == "flow" for one in mine)
    pressures = [one for one in node.inputs if one.name in others and one.quantity == "pressure"]
    return is_noted and bool(pressures) and all(asked[name] > asked["flow"] for name in others)


def answer(book: Book, step: str, one: Input, value: str, beside: Mapping[str, str]) -> Draft:
    """Return the entry of one answer.

    Raises
    ------
    InputError
        A value of another kind than asked, or something beside it that cannot be used.
    """
    if not value:
        raise InputError(one.name, "got nothing.", "Write what was read or seen.")
    if one.quantity == "photo":
        return Draft("photo", photo(one.name, one.name, value, book.pictures), step)
    if one.quantity in ("yes_no", "text", "time_of_day"):
        return Draft("observation", {"input": one.name, "value": seen(one, value)}, step)
    return Draft("reading", reading(book, one, value, beside), step)


def seen(one: Input, value: str) -> bool | str:
    """Return an observation: yes or no, a time of day, or words."""
    if one.quantity == "yes_no":
        return yes_or_no(one.name, value)
    if one.quantity == "time_of_day" and _TIME_OF_DAY.fullmatch(value) is None:
        raise InputError(one.name, f"got {value!r:.40}, which is no time of day.", "Write 12:48 or 12:48:20.")
    return value


def reading(book: Book, one: Input, value: str, beside: Mapping[str, str]) -> dict[str, Any]:
    """Return the payload of a reading: SI, as typed, and what was noted beside it."""
    got = measured(one.name, value, one.quantity)
    payload: dict[str, Any] = {
        "input": one.name,
        "quantity": one.quantity,
        "value": got.si,
        "typed": got.typed,
        "unit": got.unit,
    }
    tap = beside.get("tap", one.tap)
    payload |= {"tap": tap} if tap else {}
    return payload | noted_beside(book, one.quantity, beside)


def noted_beside(book: Book, quantity: str, beside: Mapping[str, str]) -> dict[str, Any]:
    """Return what was noted beside a reading of that quantity; what does not fit it is left out."""
    found: dict[str, Any] = {}
    if "as" in beside:
        found["as"] = beside["as"]
    if "with" in beside and instrument_quantity(book, beside["with"]) == quantity:
        found["instrument"] = beside["with"]
    if quantity != "pressure":
        return found
    for name, key in _KEYS.items():
        if name in beside:  # at_flow stands behind flow and goes before it
            found[key] = measured(name, beside[name], _AMOUNTS[name]).si
    if "moved" in beside:
        found["steady_within"] = abs(measured("moved", beside["moved"], quantity).si)
    if "corrected_by" in beside:
        found["corrected_by"] = measured("corrected_by", beside["corrected_by"], quantity).si
    if "flow_with" in beside:
        known_name("flow_with", beside["flow_with"], book.instruments, "instrument described in this run")
        found["flow_instrument"] = beside["flow_with"]
    swing = [name for name in _SWING if name in beside]
    if swing and len(swing) < len(_SWING):
        lacking = ", ".join(name for name in _SWING if name not in beside)
        raise InputError("mean", f"a swing says three things; {lacking} is missing.", "Write all three.")
    if swing:
        kinds = {name: kind or quantity for name, kind in _SWING.items()}
        mean, by, period = (measured(name, beside[name], kinds[name]).si for name in _SWING)
        found["swing"] = {"mean": mean, "peak_to_peak": by, "period": period}
    return found


def instrument_quantity(book: Book, name: str) -> str:
    """Return what an instrument measures.

    Raises
    ------
    InputError
        It is not described in this run; the remedy names the nearest, or how to describe it.
    """
    known = book.instruments
    if name not in known:
        told = nearest(name, known) if known else ""
        remedy = f"{told} Describe it first: instrument name={name} low=… high=… class=… due=…".strip()
        raise InputError("with", f"got {name!r:.40}, which is not described in this run.", remedy)
    return str(known[name].get("quantity") or "pressure")


def photo(field: str, of: str, place: str, pictures: Mapping[str, bytes] | None = None) -> dict[str, str]:
    """Return the payload of a photo: what it shows, its name, and the hash of its bytes.

    pictures: those sent along, by name; None: place lies on this machine's disk.

    Raises
    ------
    InputError
        No such file, or one that cannot be read; a picture that was not sent.
    """
    if pictures is not None:
        if place not in pictures:
            raise InputError(field, f"{place:.60} was not sent along.", "Pick the file of the photo.")
        return {"of": of, "name": place, "sha256": hashlib.sha256(pictures[place]).hexdigest()}
    try:
        content = read_file(place, LARGEST_PHOTO)
    except InputError as error:
        raise InputError(field, f"{place} {error.problem}", "Name the file of the photo.") from None
    return {"of": of, "name": Path(place).name, "sha256": hashlib.sha256(content).hexdigest()}


def _left_over(found: list[Draft], beside: Mapping[str, str], asked: Mapping[str, Input]) -> list[InputError]:
    """Return what was typed beside the answers and fits none of them."""
    readings = [draft.payload for draft in found if draft.kind == "reading"]
    pressures = [one for one in readings if one["quantity"] == "pressure"]
    wrong = []
    for name in beside:
        fits = (
            readings
            if name in ("as", "tap")
            else [one for one in readings if "instrument" in one]
            if name == "with"
            else pressures
        )
        if found and not fits and name not in asked:
            problem = "fits none of the readings of this entry."
            wrong.append(InputError(name, problem, "Leave it out, or enter it with its reading."))
    return wrong
