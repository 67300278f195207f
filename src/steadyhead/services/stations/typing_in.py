"""From what a form holds to steps: only what was typed otherwise than the draft has it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from steadyhead.errors import InputError
from steadyhead.services.stations.entry_model import (
    EXTRAS,
    PARTS,
    FieldForm,
    blank,
    form_at,
    quantity_at,
)
from steadyhead.services.stations.fields import as_text, at_words, read_at
from steadyhead.services.stations.steps import Step
from steadyhead.station.load import PLACEHOLDER
from steadyhead.station.refusal import Path

_UP, _DOWN = -1, 1


def typed_steps(
    data: Mapping[str, Any], texts: Mapping[str, str], lists: Mapping[str, Sequence[str]]
) -> tuple[Step, ...]:
    """Return the steps that bring a draft to what was typed.

    Parameters
    ----------
    data
        Plain data of the draft.
    texts
        What was typed, by place (`at_words`); empty text takes the entry out.
    lists
        Words chosen of a list, by place.
    """
    found: list[Step] = []
    gone: list[Step] = []
    plain = dict(data)
    for at, text in texts.items():
        path = read_at(at)
        step = _typed(plain, path, text)
        if step is not None:
            (gone if step.do == "remove" else found).append(step)
    for at, words in lists.items():
        path = read_at(at)
        before = value_at(plain, path)
        if [str(one) for one in before or ()] != list(words):
            if words:
                found.append(_set(path, list(words)))
            elif before is not None:
                gone.append(Step(do="remove", at=path))
    return (*found, *gone)


def _typed(data: dict[str, Any], path: Path, text: str) -> Step | None:
    """Return the step for one field; None where it says what the draft says."""
    form = form_at(path, data)
    value = value_at(data, path)
    is_extra = form is None and bool(path) and path[-1] in EXTRAS and quantity_at(path[:-1], data) is not None
    if form is None and not is_extra:
        raise InputError(at_words(path), "is no field of a station file.", "Open the form anew.")
    held = value.get("value") if _is_stated(form, value) else value
    now = " ".join(text.split()) if "\n" not in text else text.strip()
    before = as_text(held)
    if now == (" ".join(before.split()) if "\n" not in text else before.strip()):
        return None
    if not now:
        return _cleared(path, value, form)
    if form is not None and form.kind == "pairs":
        return _set(path, _pairs(now))
    return _set(path, now if "\n" not in text else text.strip())


def _is_stated(form: FieldForm | None, value: object) -> bool:
    return form is not None and form.kind == "quantity" and isinstance(value, dict)


def _cleared(path: Path, value: object, form: FieldForm | None) -> Step | None:
    if value is None:
        return None
    if _is_stated(form, value) and isinstance(value, dict) and any(value.get(name) for name in EXTRAS):
        return _set((*path, "value"), PLACEHOLDER)
    return Step(do="remove", at=path)


def _pairs(text: str) -> Any:
    """Return pairs as the file holds them; text that is none stays text, and is told so."""
    pairs = [part.split() for part in text.replace(";", ",").split(",") if part.strip()]
    return pairs if all(len(pair) == 2 for pair in pairs) else text


def _set(path: Path, value: Any) -> Step:
    return Step.model_validate({"do": "set", "at": path, "value": value})


def value_at(data: object, path: Path) -> Any:
    """Return what plain data hold at a path; None where there is nothing."""
    for step in path:
        if isinstance(data, dict):
            data = data.get(str(step))
        elif isinstance(data, list) and isinstance(step, int) and 0 <= step < len(data):
            data = data[step]
        else:
            return None
    return data


def asked_steps(data: Mapping[str, Any], do: str, chosen: Mapping[str, str]) -> tuple[Step, ...]:
    """Return the steps a button asks for, e.g. ``add:line``, ``up:line.4``.

    Parameters
    ----------
    do
        What, and where: *add* a block or an item, *remove* it, move an item *up* or *down*.
    chosen
        What was chosen beside it: ``part:AT`` which part, ``to:AT`` its place.

    Raises
    ------
    InputError
        No such button.
    """
    what, _, at = do.partition(":")
    path, plain = read_at(at), dict(data)
    if not path or what not in ("add", "remove", "up", "down"):
        raise InputError("do", f"got {do[:60]!r}.", "Use add, remove, up or down, and a place.")
    if what == "remove":
        return (Step(do="remove", at=path),)
    if what in ("up", "down"):
        return _moved(plain, path, _UP if what == "up" else _DOWN)
    return (_added(plain, path, chosen),)


def _moved(data: dict[str, Any], path: Path, by: int) -> tuple[Step, ...]:
    items = value_at(data, path[:-1])
    place = path[-1]
    if not isinstance(items, list) or not isinstance(place, int) or not 0 <= place < len(items):
        raise InputError(at_words(path), "is no item of a list.", "Open the form anew.")
    to = place + by
    return (Step(do="move", at=path, to=to),) if 0 <= to < len(items) else ()


def _added(data: dict[str, Any], path: Path, chosen: Mapping[str, str]) -> Step:
    at = at_words(path)
    form = form_at(path, data)
    if form is None or form.kind not in ("block", "list", "parts"):
        raise InputError(at, "is no place where something is added.", "Open the form anew.")
    if form.kind == "block":
        assert form.model is not None
        return _set(path, blank(form.model))
    to = chosen.get(f"to:{at}", "")
    place = {"to": int(to)} if to.isdecimal() else {}
    if form.kind == "list":
        assert form.model is not None
        return Step.model_validate({"do": "add", "at": path, "value": blank(form.model), **place})
    part = chosen.get(f"part:{at}", "")
    if part not in PARTS:
        raise InputError(at, f"got the part {part[:40]!r}.", f"Choose one of: {', '.join(PARTS)}.")
    value = blank(PARTS[part], part=part)
    value = {"part": part, **{name: inner for name, inner in value.items() if name != "part"}}
    return Step.model_validate({"do": "add", "at": path, "value": value, **place})
