"""What a page of entry sends: the revision it goes on from, the steps so far, and what was typed since."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from fastapi import Request, Response
from pydantic import BaseModel, ConfigDict, Field
from starlette.background import BackgroundTask

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.services.stations.anew import restated
from steadyhead.services.stations.face import prepare
from steadyhead.services.stations.fields import ProblemView, problems_of
from steadyhead.services.stations.judged import today
from steadyhead.services.stations.kept import Head, revision_file
from steadyhead.services.stations.saving import Saved, save
from steadyhead.services.stations.steps import Step, read_steps
from steadyhead.services.stations.trying import Draft, drafted, of_station
from steadyhead.services.stations.typing_in import asked_steps, typed_steps
from steadyhead.station.refusal import Refusal
from steadyhead.web.answering import done
from steadyhead.web.forms import Form, Sent
from steadyhead.web.reader import Reader
from steadyhead.web.rights import NotAllowed

VALUE, SEVERAL, SHOWN = "v:", "m:", "w:"
"""Before the place of a field in a form: what was typed; a list of words is shown; the text shown before."""
MOST_REVISION = 1_000_000
_NAMES = frozenset({"based_on", "steps", "opened", "do", "why", "width"})
_BEFORE = (VALUE, SEVERAL, SHOWN, "part:", "to:")
_ACTS = frozenset({"check", "try", "map", "save", "undo", "undo all"})
"""What a form holds beside fields, what stands before the place of a field, and buttons without a place."""
MOST_TOLD = 10
"""Most names told at once that no form of ours has. Own estimate."""


class SentSteps(Sent):
    """Steps to do after a revision.

    do: *try* them (*map*: with the capacity map), *save* them, or *check* what cannot be used; based_on: the
    revision they go on from, 0 the last one; why: reason of the saving; width: of the drawing, px.
    """

    based_on: int = Field(0, ge=0, le=MOST_REVISION)
    steps: list[Any] = Field(default_factory=list, max_length=500)
    do: Literal["check", "try", "map", "save"] = "check"
    why: str = Field("", max_length=400)
    width: int = Field(1280, ge=100, le=4000)


class SavedView(BaseModel):
    """What a saving came to; `is_new` False: the same bytes as the last revision, none was made."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: str
    revision: int
    file_hash: str
    is_new: bool


@dataclass(frozen=True, slots=True)
class Editing:
    """What was sent, the draft it makes, and what could not even be done in its text.

    opened: places whose provenance is shown although nothing is stated yet.
    """

    base: Head
    steps: tuple[Step, ...]
    draft: Draft
    do: str
    why: str
    width: int = 1280
    opened: tuple[str, ...] = ()
    refused: tuple[ProblemView, ...] = field(default=())

    @property
    def problems(self) -> tuple[ProblemView, ...]:
        """All that cannot be used."""
        return (*self.refused, *self.draft.problems)


def read_editing(form: Form, register: Register, key: str, who: str) -> Editing:
    """Return what a page of entry sent: its button is done, nothing is saved yet.

    who: of the numbers typed anew, where nobody says where they come from.

    Raises
    ------
    InputError, InputErrors
        What was sent is no form of ours.
    NotKept
        No such station or revision.
    """
    if form.is_json:
        sent = form.read(SentSteps)
        base = revision_file(register, key, sent.based_on)
        steps, refused = possible(base.source, read_steps(sent.steps), who)
        found = of_station(drafted(base.source, with_sources(base.source, steps, who)), key)
        return Editing(base, steps, found, sent.do, sent.why, sent.width, refused=refused)
    texts = form.texts
    _only_ours(texts)
    base = revision_file(register, key, _number(texts.get("based_on", "0"), "based_on"))
    steps, refused = possible(base.source, read_steps(texts.get("steps") or "[]"), who)
    do = texts.get("do", "check")
    data = _data(base, steps, who)
    typed = typed_steps(data, _values(texts), _several(form))
    opened = tuple(at for at in texts.get("opened", "").split(",") if at)[:200]
    if do in ("undo", "undo all"):
        steps = () if do == "undo all" else steps if typed else steps[:-1]
    else:
        steps, more = _possible(base.source, steps, typed, who)
        refused += more
        if do.startswith("source:"):
            opened = (*opened, do.removeprefix("source:"))
        elif do.partition(":")[1]:
            asked = asked_steps(_data(base, steps, who), do, texts)
            steps, more = _possible(base.source, steps, asked, who)
            refused += more
    width = _number(texts.get("width", "1280"), "width")
    found = of_station(drafted(base.source, with_sources(base.source, steps, who)), key)
    return Editing(base, steps, found, do, texts.get("why", "")[:400], width, opened, refused)


def _only_ours(texts: Mapping[str, str]) -> None:
    """Refuse a form with names or a button that none of ours has: what was meant by it would be lost.

    Raises
    ------
    InputErrors
        Those names, or the button.
    """
    strange = [name for name in texts if name not in _NAMES and not name.startswith(_BEFORE)]
    remedy = f"A field of the station file is sent as {VALUE} and its place, as {VALUE}supply.typical."
    told = [InputError(name[:60], "not known here.", remedy) for name in strange[:MOST_TOLD]]
    do = texts.get("do", "check")
    if do not in _ACTS and ":" not in do:
        told.append(InputError("do", f"got {do[:20]!r}.", f"It must be one of {', '.join(sorted(_ACTS))}."))
    if told:
        raise InputErrors(told)


def with_sources(source: bytes, steps: Sequence[Step], who: str) -> tuple[Step, ...]:
    """Return steps with those that say who typed a number anew, today."""
    return restated(source, steps, who, today())


def _data(base: Head, steps: Sequence[Step], who: str) -> dict[str, Any]:
    return drafted(base.source, with_sources(base.source, steps, who), judging=False).data


def _possible(
    source: bytes, before: tuple[Step, ...], steps: Sequence[Step], who: str
) -> tuple[tuple[Step, ...], tuple[ProblemView, ...]]:
    """Return the steps that can be done in the text, and what is told of the others."""
    try:
        drafted(source, with_sources(source, (*before, *steps), who), judging=False)
    except (Refusal, InputErrors) as problem:
        if len(steps) <= 1:
            errors = problem.errors if isinstance(problem, InputErrors) else (problem,)
            return before, problems_of(errors)
    else:
        return (*before, *steps), ()
    done = before
    told: tuple[ProblemView, ...] = ()
    for one in steps:
        done, more = _possible(source, done, (one,), who)
        told = (*told, *more)
    return done, told


def possible(
    source: bytes, steps: Sequence[Step], who: str
) -> tuple[tuple[Step, ...], tuple[ProblemView, ...]]:
    """Return the steps that can be done in the text of a file, and what is told of the others."""
    return _possible(source, (), steps, who)


def _number(text: str, name: str) -> int:
    if not (text.isascii() and text.isdecimal() and len(text) <= 7):
        raise InputError(name, f"got {text[:20]!r}.", "Open the page anew.")
    return int(text)


def _values(texts: Mapping[str, str]) -> dict[str, str]:
    """Return what was typed, by place; not where a form sends back what it had shown before."""
    several = {name.removeprefix(SEVERAL) for name in texts if name.startswith(SEVERAL)}
    values = {name.removeprefix(VALUE): text for name, text in texts.items() if name.startswith(VALUE)}
    return {
        at: text
        for at, text in values.items()
        if at not in several and texts.get(f"{SHOWN}{at}", text + "*") != text
    }


def _several(form: Form) -> dict[str, Sequence[str]]:
    names = [name.removeprefix(SEVERAL) for name in form.texts if name.startswith(SEVERAL)]
    return {at: form.lists.get(f"{VALUE}{at}", ()) for at in names}


def saved_answer(request: Request, register: Register, reader: Reader, saved: Saved, then: str) -> Response:
    """Answer a saving, and make the pages of the station ready once the answer is out."""
    view = SavedView(station=saved.key, revision=saved.number, file_hash=saved.file_hash, is_new=saved.is_new)
    answered = done(request, view, then, 201 if saved.is_new else 200)
    if saved.is_new:
        answered.background = BackgroundTask(prepare, register, saved.key, reader.units)
    return answered


def try_to_save(
    request: Request, register: Register, reader: Reader, form: Form, found: Editing, key: str, page: str
) -> Response | tuple[ProblemView, ...]:
    """Save what was sent, where its button says so; return the answer, or what cannot be used.

    page: of the station, to go back to.

    Raises
    ------
    NotAllowed
        The reader may not save.
    InputErrors, InputError
        What cannot be used, where a program asks.
    Conflict
        Another saved meanwhile.
    """
    if found.do != "save":
        return found.problems
    if not reader.may("engineer"):
        raise NotAllowed("engineer", reader.role)
    if found.problems:
        return found.problems
    try:
        saved = save_editing(found, register, key, reader.name)
    except (InputError, InputErrors) as error:
        if form.is_json:
            raise
        told = error.errors if isinstance(error, InputErrors) else (error,)
        return problems_of(told, found.draft.data)
    return saved_answer(request, register, reader, saved, f"/stations/{key}/{page}?saved={saved.number}")


def save_editing(found: Editing, register: Register, key: str, who: str) -> Saved:
    """Save a draft as the next revision.

    Raises
    ------
    InputErrors, InputError
        What cannot be used.
    Conflict
        Another saved meanwhile; carries both.
    """
    return save(register, found.draft.source, who, found.why, found.base.number, key)
