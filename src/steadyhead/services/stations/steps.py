"""Changes of a station file on the way to a new revision: steps, done one after the other and taken back.

A draft is the bytes of a revision plus its steps; it is never kept by the server. Every step is put into the
very place of the text, so comments stay; what was typed stays as typed, good or bad,
until `saving` judges it.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, JsonValue, TypeAdapter, ValidationError, field_validator

from steadyhead.errors import InputError
from steadyhead.services.stations.entry_model import EXTRAS, quantity_at
from steadyhead.station.canonical import sha256
from steadyhead.station.decoding import decoded
from steadyhead.station.document import Document, insert, move, patch, patch_texts, read_document, remove
from steadyhead.station.plain import from_tree
from steadyhead.station.refusal import Path

MOST_STEPS = 500
LONGEST_TEXT = 4000
MOST_VALUES = 400
"""Most texts in one added block. Own estimate: the longest part has some sixty fields."""
AT_HAND = 64
"""Drafts kept in this process. Own estimate."""
DEEPEST = 12

Key = str | int


class Step(BaseModel):
    """One change of a station file.

    do: *set* a value, *remove* an entry, *add* an item to a list at `to`, *move* an item to the place `to`;
    at: keys and indices from the top of the file; value: text, or maps and lists of text.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    do: Literal["set", "remove", "add", "move"]
    at: tuple[Key, ...] = Field(min_length=1, max_length=DEEPEST)
    value: JsonValue = None
    to: int | None = Field(None, ge=0, le=1000)

    @field_validator("at", mode="before")
    @classmethod
    def _as_tuple(cls, given: Any) -> Any:
        return tuple(given) if isinstance(given, list) else given

    @field_validator("at")
    @classmethod
    def _plain_keys(cls, at: tuple[Key, ...]) -> tuple[Key, ...]:
        for step in at:
            if isinstance(step, bool) or (isinstance(step, int) and not 0 <= step <= 1000):
                raise ValueError("keys are words, indices are whole numbers from 0")
            if isinstance(step, str) and not (0 < len(step) <= 60 and step.isidentifier()):
                raise ValueError("keys are words of a station file")
        return at

    @field_validator("value")
    @classmethod
    def _plain_value(cls, value: JsonValue) -> JsonValue:
        if value is not None:
            _looked_through(value, 0, [0])
        return value


_STEPS = TypeAdapter(tuple[Step, ...])
_cache: OrderedDict[str, Document] = OrderedDict()
_alone = threading.Lock()


def _looked_through(value: JsonValue, depth: int, count: list[int]) -> None:
    """Refuse what a station file cannot hold: numbers without text, endless nesting, lone surrogates."""
    count[0] += 1
    if depth > DEEPEST or count[0] > MOST_VALUES:
        raise ValueError("holds too much for one step")
    if isinstance(value, str):
        if len(value) > LONGEST_TEXT:
            raise ValueError(f"texts have {LONGEST_TEXT} characters at most")
        try:
            value.encode("utf-8")
        except UnicodeEncodeError:
            raise ValueError("holds half a character") from None
    elif isinstance(value, dict):
        for key, inner in value.items():
            if not (0 < len(key) <= 60 and key.isidentifier()):
                raise ValueError("keys are words of a station file")
            _looked_through(inner, depth + 1, count)
    elif isinstance(value, list):
        for inner in value:
            _looked_through(inner, depth + 1, count)
    elif not isinstance(value, bool):
        raise ValueError("values are text, yes or no, or maps and lists of them")


def read_steps(given: object) -> tuple[Step, ...]:
    """Return steps read from plain data, or from their JSON text as a form carries it.

    Raises
    ------
    InputError
        No steps, or too many of them.
    """
    try:
        found = (
            _STEPS.validate_json(given) if isinstance(given, str | bytes) else _STEPS.validate_python(given)
        )
    except (ValidationError, RecursionError) as problem:
        what = problem.errors()[0]["msg"] if isinstance(problem, ValidationError) else "nested too deep"
        raise InputError(
            "steps",
            f"cannot be read: {str(what)[:120]}.",
            'Send a list of steps, e.g. [{"do": "set", "at": ["alarm", "pressure"], "value": "4.7 bar"}].',
        ) from None
    if len(found) > MOST_STEPS:
        raise InputError(
            "steps", f"got {len(found)} steps, more than {MOST_STEPS}.", "Save what stands, then go on."
        )
    return found


def steps_text(steps: Sequence[Step]) -> str:
    """Return steps as the JSON text a form carries."""
    return _STEPS.dump_json(tuple(steps), exclude_defaults=True).decode()


def draft(source: bytes, steps: Sequence[Step]) -> Document:
    """Return the text of a station file with steps done, one after the other.

    Raises
    ------
    Refusal
        A step whose place is not there, or stands in a style that cannot be changed in place.
    """
    names = [sha256(source)]
    for one in steps:
        names.append(sha256(names[-1].encode() + one.model_dump_json().encode()))
    document, done = None, 0
    with _alone:
        for number in range(len(steps), -1, -1):
            document = _cache.get(names[number])
            if document is not None:
                _cache.move_to_end(names[number])
                done = number
                break
    if document is None:
        document = read_document(*decoded(source))
        _hold(names[0], document)
    for run in _runs(steps[done:]):
        document = _texts(document, run) if _is_text(run[0]) else _one(document, run[0])
    _hold(names[-1], document)
    return document


def _hold(name: str, document: Document) -> None:
    with _alone:
        _cache[name] = document
        while len(_cache) > AT_HAND:
            _cache.popitem(last=False)


def _runs(steps: Sequence[Step]) -> list[list[Step]]:
    """Return the steps one by one, but texts that are set one after the other together."""
    found: list[list[Step]] = []
    for one in steps:
        if found and _is_text(one) and _is_text(found[-1][0]):
            found[-1].append(one)
        else:
            found.append([one])
    return found


def _texts(document: Document, run: Sequence[Step]) -> Document:
    """Set texts at once: of each place the last one; then those that say where a value comes from."""
    data = from_tree(document.root).data
    texts = {step.at: str(step.value) for step in run}
    beside = {path: text for path, text in texts.items() if _is_beside_text(path, data)}
    plain = {_place(path, data): text for path, text in texts.items() if path not in beside}
    document = patch_texts(document, plain)
    for path, text in beside.items():
        document = _beside(document, path, text)
    return document


def _one(document: Document, step: Step) -> Document:
    if step.do == "remove":
        return remove(document, step.at)
    if step.do == "move":
        last = step.at[-1]
        if not isinstance(last, int) or step.to is None:
            raise InputError("steps", "got a move without places.", "Name the item and its new place.")
        return move(document, step.at[:-1], last, step.to)
    value: Any = step.value
    if value is None:
        raise InputError("steps", f"got a step to {step.do} without a value.", "Give the value.")
    if step.do == "add":
        return insert(document, step.at, MOST_STEPS if step.to is None else step.to, value)
    return patch(document, step.at, value)


def _is_text(step: Step) -> bool:
    return step.do == "set" and isinstance(step.value, str)


def _place(path: Path, data: object) -> Path:
    """Return where the text of a field goes: into ``value`` where it carries where it came from."""
    here = data
    for step in path:
        here = _into(here, step)
    is_quantity = isinstance(here, dict) and "value" in here and quantity_at(path, data) is not None
    return (*path, "value") if is_quantity else path


def _is_beside_text(path: Path, data: object) -> bool:
    """Return whether a path names where a value comes from, while the file has that value as text alone."""
    if path[-1] not in EXTRAS or quantity_at(path[:-1], data) is None:
        return False
    here = data
    for step in path[:-1]:
        here = _into(here, step)
    return isinstance(here, str)


def _beside(document: Document, path: Path, text: str) -> Document:
    data = from_tree(document.root).data
    if not _is_beside_text(path, data):
        return patch(document, path, text)
    here = data
    for step in path[:-1]:
        here = _into(here, step)
    return patch(document, path[:-1], {"value": str(here), str(path[-1]): text})


def _into(here: object, step: Key) -> object:
    if isinstance(here, dict) and isinstance(step, str):
        return here.get(step)
    if isinstance(here, list) and isinstance(step, int) and 0 <= step < len(here):
        return here[step]
    return None
