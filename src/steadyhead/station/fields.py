"""What the model knows of a path in the station file: what it is for, how it is written."""

from __future__ import annotations

import types
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from steadyhead.records.parts import LinePart
from steadyhead.records.quantities import Quantity
from steadyhead.records.station import Station
from steadyhead.station.refusal import Path

_PARTS: dict[str, type[BaseModel]] = {
    get_args(part.model_fields["part"].annotation)[0]: part for part in get_args(get_args(LinePart)[0])
}
PART_NAMES = tuple(_PARTS)
NOT_KNOWN = "not known"
MOST_CHOICES = 10
"""Most words a remedy lists for a field to choose from. Own estimate."""


@dataclass(frozen=True, slots=True)
class Place:
    """One field of the model: its purpose, how a value is written, and whether it must be there."""

    purpose: str
    such: str
    required: bool

    def ask(self) -> str:
        """Return what to write here, as the end of a sentence; empty where the model does not say."""
        words = self.purpose.rstrip(".?")
        if words[1:2].islower() or words[1:2] == " ":
            words = words[0].lower() + words[1:]
        how = self.such.partition(" (")[0]
        return ", ".join(part for part in (words, how) if part)


def place_of(path: Path, data: object) -> Place | None:
    """Return what the model says about a path, or None where it has no such field."""
    model: Any = Station
    info: FieldInfo | None = None
    here = data
    for step in path:
        here = _step(here, step)
        if isinstance(step, int):
            model = _one_of(model, here)
            info = None
        elif isinstance(model, type) and issubclass(model, BaseModel):
            info = model.model_fields.get(step)
            if info is None:
                return None
            model = _inner(info.annotation)
        else:
            return None
    if info is None:
        return None
    found = [item for item in info.metadata if isinstance(item, Quantity)] or _quantities(info.annotation)
    such = found[0].example if found else _choices(info)
    return Place(info.description or "", such, info.is_required())


def field_names(path: Path, data: object) -> tuple[str, ...]:
    """Return the fields the map at `path` may have; empty where the path is no map of the model."""
    model: Any = Station
    here = data
    for step in path:
        here = _step(here, step)
        if isinstance(step, int):
            model = _one_of(model, here)
        elif isinstance(model, type) and issubclass(model, BaseModel) and step in model.model_fields:
            model = _inner(model.model_fields[step].annotation)
        else:
            return ()
    return tuple(model.model_fields) if isinstance(model, type) and issubclass(model, BaseModel) else ()


def _step(here: object, step: str | int) -> object:
    if isinstance(here, dict):
        return here.get(step)
    if isinstance(here, list) and isinstance(step, int) and 0 <= step < len(here):
        return here[step]
    return None


def _inner(annotation: Any) -> Any:
    """Strip Annotated, None and one level of list from an annotation, down to a model or a union."""
    if get_origin(annotation) is Annotated:
        return _inner(get_args(annotation)[0])
    if get_origin(annotation) is tuple:
        return _inner(get_args(annotation)[0])
    if get_origin(annotation) in (Union, types.UnionType):
        left = [arg for arg in get_args(annotation) if arg is not type(None)]
        return _inner(left[0]) if len(left) == 1 else annotation
    return annotation


def _one_of(model: Any, item: object) -> Any:
    """Return the model of one item of a list: by its part where the list holds parts."""
    if get_origin(model) in (Union, types.UnionType):
        name = item.get("part") if isinstance(item, dict) else None
        return _PARTS.get(name) if isinstance(name, str) else None
    return model


def _choices(info: FieldInfo) -> str:
    """Return the words a field chooses from, as the end of a sentence; empty for free text."""
    if info.annotation is bool:
        return "yes or no"
    words = [str(word) for word in _literals(info.annotation) if word != NOT_KNOWN]
    if not words or len(words) > MOST_CHOICES:
        return ""
    return f"{', '.join(words[:-1])} or {words[-1]}" if len(words) > 1 else words[0]


def _literals(annotation: Any) -> list[object]:
    if get_origin(annotation) is Literal:
        return list(get_args(annotation))
    return [word for arg in get_args(annotation) for word in _literals(arg)]


def _quantities(annotation: Any) -> list[Quantity]:
    if get_origin(annotation) is Annotated:
        return [item for item in get_args(annotation)[1:] if isinstance(item, Quantity)]
    if get_origin(annotation) in (Union, types.UnionType):
        return [found for arg in get_args(annotation) for found in _quantities(arg)]
    return []
