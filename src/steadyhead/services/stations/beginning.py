"""Begin a station: from a template, an example, or a file; what is typed is never lost."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from pydantic import BaseModel, ConfigDict

from steadyhead.errors import InputError, InputErrors, StationError
from steadyhead.services.page_words import on_page
from steadyhead.station.examples import shelf
from steadyhead.station.limits import MOST_ERRORS
from steadyhead.station.refusal import Refusal
from steadyhead.station.templates.new import LAYOUTS, new

AROUND = 1
"""Lines shown before and after one that is not taken."""


class StartView(BaseModel):
    """A file to begin from: the name it is asked for by, and what it is."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str
    words: str


class PlacedProblem(BaseModel):
    """One thing that is not taken: field, line in the text (0: none), what was got, the remedy."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    field: str
    line: int
    column: int
    problem: str
    remedy: str


class NewView(BaseModel):
    """What a new station can begin from, the text as it stands, and what of it is not taken yet."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    templates: tuple[StartView, ...]
    examples: tuple[StartView, ...]
    began_with: str
    text: str
    why: str
    problems: tuple[PlacedProblem, ...]


@dataclass(frozen=True, slots=True)
class NumberedLine:
    """A line of the text beside its number, with what is wrong in it; number 0: lines are left out here."""

    number: int
    text: str
    problems: tuple[PlacedProblem, ...]


def new_view(
    template: str = "",
    example: str = "",
    text: str = "",
    why: str = "",
    errors: StationError | None = None,
) -> NewView:
    """Return what a new station begins from.

    template, example: what to begin from, by name; text: what was typed or given instead.

    Raises
    ------
    InputError
        A template or example that is not known.
    """
    began = template or example
    if not text and template:
        text = new(template) if template in LAYOUTS else _unknown("template", template, tuple(LAYOUTS))
    elif not text and example:
        known = shelf.names()
        text = shelf.read(example).decode() if example in known else _unknown("example", example, known)
    return NewView(
        templates=tuple(StartView(name=name, words=words) for name, words in LAYOUTS.items()),
        examples=_examples(),
        began_with=began,
        text=text,
        why=why,
        problems=placed(errors) if errors is not None else (),
    )


@lru_cache(maxsize=1)
def _examples() -> tuple[StartView, ...]:
    return tuple(StartView(name=name, words=shelf.summary(name)) for name in shelf.names())


def _unknown(field: str, name: str, known: tuple[str, ...]) -> str:
    raise InputError(field, f"got {name[:40]!r}.", f"Use one of: {', '.join(known)}.")


def placed(errors: StationError) -> tuple[PlacedProblem, ...]:
    """Return what is not taken, each with its line where it has one."""
    found = errors.errors if isinstance(errors, InputErrors) else (errors,)
    return tuple(_placed(one) for one in found[:MOST_ERRORS])


def _placed(error: StationError) -> PlacedProblem:
    if not isinstance(error, InputError):
        return PlacedProblem(field="", line=0, column=0, problem=str(error), remedy="")
    line, column = (error.line, error.column) if isinstance(error, Refusal) else (0, 0)
    return PlacedProblem(
        field=error.field, line=line, column=column, problem=error.problem, remedy=on_page(error.remedy)
    )


def numbered(text: str, problems: tuple[PlacedProblem, ...]) -> tuple[NumberedLine, ...]:
    """Return the lines in which something is not taken, with those around them."""
    lines = text.split("\n")
    by_line: dict[int, list[PlacedProblem]] = {}
    for one in problems:
        if 0 < one.line <= len(lines):
            by_line.setdefault(one.line, []).append(one)
    near = {at for line in by_line for at in range(line - AROUND, line + AROUND + 1) if 0 < at <= len(lines)}
    found: list[NumberedLine] = []
    for number in sorted(near):
        if found and found[-1].number != number - 1:
            found.append(NumberedLine(0, "", ()))
        found.append(NumberedLine(number, lines[number - 1], tuple(by_line.get(number, ()))))
    return tuple(found)


def as_bytes(text: str) -> bytes:
    """Return a typed text as the bytes of a file.

    Raises
    ------
    InputError
        Half a sign, which no file can hold.
    """
    try:
        return text.encode("utf-8")
    except UnicodeEncodeError as problem:
        got = f"holds half a sign at place {problem.start + 1}."
        raise InputError("text", got, "Type that place anew.") from None
