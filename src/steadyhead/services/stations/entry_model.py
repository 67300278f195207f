"""What the model of the station file says about its fields, for whoever makes a form of them."""

from __future__ import annotations

import types
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from steadyhead.records.parts import LinePart
from steadyhead.records.quantities import CONFIDENCE, Quantity
from steadyhead.records.station import Station
from steadyhead.services.page_words import as_told
from steadyhead.station.refusal import Path

EXTRAS = ("source", "date", "confidence", "plus_minus")
"""What may stand beside a value: where it comes from."""
Kind = Literal[
    "quantity", "text", "words", "choice", "yes or no", "several", "number", "pairs", "block", "list", "parts"
]
LONG = 500
"""Texts that may be longer than this are entered in several lines. [characters]"""
PARTS: dict[str, type[BaseModel]] = {
    get_args(part.model_fields["part"].annotation)[0]: part for part in get_args(get_args(LinePart)[0])
}
"""Model of each part of a line by its name in the file."""


@dataclass(frozen=True, slots=True)
class FieldForm:
    """One field of the model.

    Parameters
    ----------
    name, purpose
        As in the file, and what it is for.
    kind
        How it is entered; *block* holds fields, *list* holds blocks, *parts* holds parts of a line.
    required
        Whether the file must have it.
    choices
        Words to choose from.
    otherwise
        What holds where it is left out, as the model says it; empty where nothing does.
    such
        How a value is written.
    measure
        Kind of quantity; empty where it is none.
    model
        Fields of a block, or of each item of a list.
    most
        Most items of a list, or characters of a text; 0: no limit stated.
    """

    name: str
    purpose: str
    kind: Kind
    required: bool
    choices: tuple[str, ...] = ()
    otherwise: str = ""
    such: str = ""
    measure: str = ""
    model: type[BaseModel] | None = None
    most: int = 0


@lru_cache(maxsize=128)
def fields_of(model: type[BaseModel]) -> tuple[FieldForm, ...]:
    """Return the fields of a model in their order."""
    return tuple(_field(name, info) for name, info in model.model_fields.items())


def model_at(path: Path, data: object) -> type[BaseModel] | None:
    """Return the model of the block at a path of a file; None where there is none."""
    model: type[BaseModel] | None = Station
    form: FieldForm | None = None
    here = data
    for step in path:
        here = _into(here, step)
        if isinstance(step, int):
            if form is None or form.kind not in ("list", "parts"):
                return None
            model, form = (part_model(here) if form.kind == "parts" else form.model), None
        else:
            form = None if model is None else _named(model, step)
            model = form.model if form is not None and form.kind == "block" else None
    return model


def form_at(path: Path, data: object) -> FieldForm | None:
    """Return the field at a path of a file; None where the model has none."""
    if not path or not isinstance(path[-1], str):
        return None
    model = model_at(path[:-1], data)
    return None if model is None else _named(model, path[-1])


def quantity_at(path: Path, data: object) -> FieldForm | None:
    """Return the field at a path where it holds a quantity; None otherwise."""
    form = form_at(path, data)
    return form if form is not None and form.kind == "quantity" else None


def part_model(item: object) -> type[BaseModel] | None:
    """Return the model of a part of a line; None where it does not say which part it is."""
    name = item.get("part") if isinstance(item, dict) else None
    return PARTS.get(name) if isinstance(name, str) else None


def blank(model: type[BaseModel], **given: str) -> dict[str, Any]:
    """Return a new block with its required fields to be filled in, as the file says it: ``?``."""
    found: dict[str, Any] = {}
    for form in fields_of(model):
        if form.name in given:
            found[form.name] = given[form.name]
        elif form.required and form.kind == "block" and form.model is not None:
            found[form.name] = blank(form.model)
        elif form.required and form.kind == "list" and form.model is not None:
            found[form.name] = [blank(form.model) for _ in range(max(1, _least(model, form.name)))]
        elif form.required and form.kind == "parts":
            found[form.name] = []
        elif form.required:
            found[form.name] = "?"
    return found


def _least(model: type[BaseModel], name: str) -> int:
    info = model.model_fields[name]
    return max((int(getattr(one, "min_length", 0) or 0) for one in info.metadata), default=0)


def _named(model: type[BaseModel], name: str) -> FieldForm | None:
    return next((form for form in fields_of(model) if form.name == name), None)


def _field(name: str, info: FieldInfo) -> FieldForm:
    core = _core(info.annotation)
    marks = [*info.metadata, *_marks(info.annotation)]
    common: dict[str, Any] = {
        "name": name,
        "purpose": as_told(info.description or "").replace("`", ""),
        "required": info.is_required(),
    }
    quantity = next((one for one in marks if isinstance(one, Quantity)), None)
    otherwise = _otherwise(info)
    if quantity is not None:
        return FieldForm(
            **common, kind="quantity", such=_such(quantity), measure=quantity.kind, otherwise=otherwise
        )
    if get_origin(core) is tuple:
        return _several(common, _core(get_args(core)[0]), marks)
    if isinstance(core, type) and issubclass(core, BaseModel):
        return FieldForm(**common, kind="block", model=core)
    if core is bool:
        return FieldForm(**common, kind="yes or no", choices=("yes", "no"), otherwise=otherwise)
    if get_origin(core) is Literal:
        return FieldForm(**common, kind="choice", choices=_words(core), otherwise=otherwise)
    if core in (float, int):
        return FieldForm(**common, kind="number", otherwise=otherwise)
    most = max((int(getattr(one, "max_length", 0) or 0) for one in marks), default=0)
    return FieldForm(**common, kind="words" if most > LONG else "text", otherwise=otherwise, most=most)


def _several(common: dict[str, Any], item: Any, marks: list[Any]) -> FieldForm:
    most = max((int(getattr(one, "max_length", 0) or 0) for one in marks), default=0)
    if get_origin(item) is Literal:
        return FieldForm(**common, kind="several", choices=_words(item))
    if get_origin(item) in (Union, types.UnionType):
        return FieldForm(**common, kind="parts", choices=tuple(PARTS), most=most)
    if isinstance(item, type) and issubclass(item, BaseModel):
        return FieldForm(**common, kind="list", model=item, most=most)
    return FieldForm(**common, kind="pairs", such="pairs, e.g. 0 0, 0.5 0.4, 1 1")


def _words(annotation: Any) -> tuple[str, ...]:
    return tuple(str(word) for word in get_args(annotation) if word != "")


def _otherwise(info: FieldInfo) -> str:
    value = info.default
    if value is PydanticUndefined or value is None or value in ("", ()):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value) if isinstance(value, str | int | float) else ""


def _such(quantity: Quantity) -> str:
    words = quantity.example.removeprefix("for example ")
    return words.partition(" (")[0].replace("'", "")


def _core(annotation: Any) -> Any:
    """Strip ``Annotated`` and None from an annotation."""
    if get_origin(annotation) is Annotated:
        return _core(get_args(annotation)[0])
    if get_origin(annotation) in (Union, types.UnionType):
        left = [one for one in get_args(annotation) if one is not type(None)]
        return _core(left[0]) if len(left) == 1 else annotation
    return annotation


def _marks(annotation: Any) -> list[Any]:
    """Return what is annotated on a type, inside an optional one too."""
    if get_origin(annotation) is Annotated:
        return [*get_args(annotation)[1:], *_marks(get_args(annotation)[0])]
    if get_origin(annotation) in (Union, types.UnionType):
        return [mark for one in get_args(annotation) for mark in _marks(one)]
    return []


def _into(here: object, step: str | int) -> object:
    if isinstance(here, dict) and isinstance(step, str):
        return here.get(step)
    if isinstance(here, list) and isinstance(step, int) and 0 <= step < len(here):
        return here[step]
    return None


__all__ = [
    "CONFIDENCE", "EXTRAS", "PARTS", "FieldForm", "Kind", "blank", "fields_of", "form_at", "model_at",
    "part_model", "quantity_at",
]  # fmt: skip
