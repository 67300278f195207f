"""The fields of a station file that a column may fill, found from a template and the model."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel

from steadyhead.records.quantities import Quantity
from steadyhead.records.station import Station
from steadyhead.services.stations.entry_model import FieldForm, fields_of, part_model
from steadyhead.station.refusal import Path

KEY = "station.id"
LEFT_OUT = ("format", "answers", "papers", "events")
"""Blocks no column fills: they are the file's own, or have no fixed places."""
DEEPEST = 4
_VALUES = ("quantity", "text", "words", "choice", "yes or no", "several", "number")


@dataclass(frozen=True, slots=True)
class Target:
    """One field a column may fill.

    Parameters
    ----------
    at
        Its place as forms name it, e.g. ``line.RV.duty.pressure``; parts and items by their ids.
    path
        The same as keys and indices in the template.
    words, purpose
        As a person reads it, and what it is for.
    kind, choices
        As of a form; see `services.stations.entry_model`.
    quantity
        Kind of quantity, empty where it is none.
    """

    at: str
    path: Path
    words: str
    purpose: str
    kind: str
    quantity: str = ""
    choices: tuple[str, ...] = ()


def targets(data: Mapping[str, Any]) -> dict[str, Target]:
    """Return every field by its place, in the order of the file."""
    return {one.at: one for one in _block(Station, data, (), (), ())}


def path_in(at: str, data: Mapping[str, Any]) -> Path | None:
    """Return where a place lies in another station's file; None where it has no such part or item."""
    here: Any = data
    path: list[str | int] = []
    for step in at.split("."):
        if isinstance(here, list):
            found = next((i for i, item in enumerate(here) if _name_of(item, i) == step), None)
            if found is None:
                return None
            path.append(found)
            here = here[found]
        else:
            path.append(step)
            here = here.get(step) if isinstance(here, Mapping) else None
    return tuple(path)


def _name_of(item: Any, index: int) -> str:
    """Return how an item of a list is called: by its id, else by its number from 1."""
    if isinstance(item, Mapping) and isinstance(item.get("id"), str):
        return re.sub(r"[.\s]", "_", item["id"])
    return str(index + 1)


def _block(
    model: type[BaseModel], data: Any, path: Path, at: tuple[str, ...], words: tuple[str, ...]
) -> Iterator[Target]:
    here = data if isinstance(data, Mapping) else {}
    for form in fields_of(model):
        if not at and form.name in LEFT_OUT:
            continue
        mine = (*path, form.name), (*at, form.name), (*words, form.name.replace("_", " "))
        if form.kind in _VALUES and not (at[:1] == ("line",) and form.name in ("id", "part")):
            yield _target(model, form, *mine)
        elif form.kind == "block" and form.model is not None and len(mine[0]) < DEEPEST + 2:
            if form.name in here or len(path) < 2:
                yield from _block(form.model, here.get(form.name), *mine)
        elif form.kind in ("list", "parts") and isinstance(here.get(form.name), list):
            yield from _items(form, here[form.name], *mine)


def _items(
    form: FieldForm, items: list[Any], path: Path, at: tuple[str, ...], words: tuple[str, ...]
) -> Iterator[Target]:
    for index, item in enumerate(items):
        model = part_model(item) if form.kind == "parts" else form.model
        if model is None:
            continue
        name = _name_of(item, index)
        told = (name,) if form.kind == "parts" else (*words, name)
        yield from _block(model, item, (*path, index), (*at, name), told)


def _target(
    model: type[BaseModel], form: FieldForm, path: Path, at: tuple[str, ...], words: tuple[str, ...]
) -> Target:
    info = model.model_fields[form.name]
    quantity = next(_quantities(info.metadata, info.annotation), None)
    kind = quantity.kind if quantity else ""
    return Target(".".join(at), path, " ".join(words), form.purpose, form.kind, kind, form.choices)


def _quantities(marks: list[Any], annotation: Any) -> Iterator[Quantity]:
    yield from (one for one in marks if isinstance(one, Quantity))
    if get_origin(annotation) is Annotated:
        yield from (one for one in get_args(annotation)[1:] if isinstance(one, Quantity))
    elif get_origin(annotation) is Union or type(annotation).__name__ == "UnionType":
        for one in get_args(annotation):
            yield from _quantities([], one)
