"""Results of a visit typed in from its paper plan: step by step, each with the time it was read."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.services.visits_kept import judged
from steadyhead.services.visits_kept.from_paper import (
    ARRIVED,
    CHOSEN,
    DONE,
    Row,
    SheetView,
    Typed,
    sheet_view,
    spread,
    type_in,
)
from steadyhead.web.answering import answer, done, wants_json
from steadyhead.web.forms import Form, Sent, problems_in, takes
from steadyhead.web.forms import Typed as TypedForm
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.rights import needs
from steadyhead.web.saying import Problem, to_show

router = APIRouter(tags=["visits"])
Step = Annotated[str, Query(max_length=60, description="Step that is typed in; the next one where left out.")]
Zone = Annotated[str, Query(max_length=60, description="Zone of the times, e.g. Europe/Dublin.")]
COLUMNS = {
    "v": "value", "d": "day", "t": "clock", "n": "which", "w": "who", "g": "gauge", "f": "flow", "s": "stood",
    "m": "moved",
}  # fmt: skip
"""Fields of a row by the letter their names begin with in the form."""
NAMED = {ARRIVED: "Arrived on site", CHOSEN: "Chosen", DONE: "Done as it is written"}
"""What rows that are no answers are called."""


class SentRow(Sent):
    """One result as it stands on paper.

    name: what is asked, or ``@arrived``, ``@choice``, ``@done``. day, clock: when, by the clock on the wall;
    which: first or second, on the night the clocks go back. flow, stood, moved: noted beside it.
    """

    name: str = Field(max_length=60)
    value: str = Field("", max_length=400)
    day: str = Field("", max_length=20)
    clock: str = Field("", max_length=20)
    which: Literal["", "first", "second"] = ""
    who: str = Field("", max_length=120)
    gauge: str = Field("", max_length=120)
    flow: str = Field("", max_length=60)
    stood: str = Field("", max_length=60)
    moved: str = Field("", max_length=60)


class TypingIn(Sent):
    """Results of one step. zone: of the clock on site; day, who, gauge: of rows that say nothing else;
    ordered: times are right so.
    """

    step: str = Field(max_length=60)
    zone: str = Field(
        min_length=1,
        max_length=60,
        description="Zone of the clock on site; none is assumed.",
        examples=["Europe/Berlin", "UTC"],
    )
    day: str = Field("", max_length=20)
    who: str = Field("", max_length=120)
    gauge: str = Field("", max_length=120)
    ordered: bool = False
    rows: list[SentRow] = Field(default_factory=list, max_length=400)


class RowProblem(BaseModel):
    """A row that was not taken: its name, the field, what is wrong, the remedy."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    row: str
    field: str
    problem: str
    remedy: str


class TypedIn(BaseModel):
    """What was taken in: entries, rows, and what was not."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    count: int
    rows: tuple[str, ...]
    refused: tuple[RowProblem, ...]


@router.get("/stations/{key}/runs/{run}/paper", responses={200: {"model": SheetView}})
def sheet(
    request: Request, register: Kept, reader: Asks, key: str, run: str, step: Step = "", zone: Zone = "UTC"
) -> Response:
    """Show a step as the paper has it, to be typed in; `zone`: of the times."""
    return _page(request, register, reader, key, run, step, zone)


def _page(
    request: Request,
    register: Register,
    reader: Reader,
    key: str,
    run: str,
    step: str,
    zone: str,
    form: Mapping[str, str] | None = None,
    errors: Any = (),
    said: TypedIn | None = None,
    status: int = 200,
) -> Response:
    view = sheet_view(register, key, run, step, zone, reader.units)
    typed = form or {}
    return answer(
        request,
        "visits/paper.html",
        view,
        status,
        form=typed,
        errors=errors,
        said=said,
        rows={one.row: one for one in (said.refused if said else ())},
        called_=_called(view),
        query=request.query_params,
    )


@router.post(
    "/stations/{key}/runs/{run}/paper",
    dependencies=[needs("record")],
    status_code=201,
    responses={201: {"model": TypedIn}},
    openapi_extra=takes(TypingIn),
)
def typed_in(request: Request, register: Kept, reader: Asks, key: str, run: str, form: TypedForm) -> Response:
    """Take the results of a step in; a row that cannot be used is named, and stops no other."""
    texts = dict(form.texts)
    try:
        asked = _of_json(form) if form.is_json else _of_form(texts)
        view = sheet_view(register, key, run, asked.step, asked.zone, reader.units)
        pressures = {one.name for one in view.step.asked if one.kind == "pressure"}
        rows = spread(
            [Row(**one.model_dump()) for one in asked.rows], asked.day, asked.who, asked.gauge, pressures
        )
        if not rows:
            raise InputError("rows", "say nothing.", "Write at least one result with its time.")
        told = type_in(register, key, run, asked.step, rows, asked.zone, reader.name, ordered=asked.ordered)
    except (InputError, InputErrors) as problem:
        if wants_json(request) or form.is_json:
            raise
        step, zone = _kept_place(register, key, run, texts)
        shown = to_show(request, form, problem)
        return _page(request, register, reader, key, run, step, zone, texts, shown, status=422)
    if told.count:
        judged.judged_run_view(register, key, run, reader.units)
    return _answered(request, register, reader, key, run, asked, told, view, texts)


def _answered(
    request: Request,
    register: Register,
    reader: Reader,
    key: str,
    run: str,
    asked: TypingIn,
    told: Typed,
    view: SheetView,
    texts: Mapping[str, str],
) -> Response:
    refused = tuple(
        RowProblem(row=name, field=one.field, problem=one.problem, remedy=one.remedy)
        for name, one in told.refused
    )
    found = TypedIn(count=told.count, rows=told.rows, refused=refused)
    if wants_json(request):
        if not told.count:
            raise InputErrors([one for _, one in told.refused], "rows")
        return done(request, found, "")
    words = _called(view)
    problems = tuple(
        Problem(field=f"{words.get(one.row, one.row)}: {one.field}", problem=one.problem, remedy=one.remedy)
        for one in refused
    )
    kept = {name: text for name, text in texts.items() if name.partition(".")[2] not in told.rows}
    step = asked.step if refused or not view.after else view.after
    status = 422 if refused else 200
    return _page(request, register, reader, key, run, step, asked.zone, kept, problems, found, status)


def _called(view: SheetView) -> dict[str, str]:
    """Return what the rows of a step are called."""
    return {one.name: one.words for one in view.step.asked} | NAMED


def _kept_place(register: Register, key: str, run: str, texts: Mapping[str, str]) -> tuple[str, str]:
    """Return step and zone of what was typed, where both can be shown."""
    step, zone = texts.get("step", ""), texts.get("zone", "UTC") or "UTC"
    for each in ((step, zone), (step, "UTC")):
        try:
            sheet_view(register, key, run, *each)
        except InputError:
            continue
        return each
    return "", "UTC"


def _zone(texts: Mapping[str, str]) -> str:
    """Return the zone of a form; one left out is asked for: a guess would shift every time."""
    zone = texts.get("zone", "").strip()
    if not zone:
        raise _zone_missing()
    return zone


def _zone_missing() -> InputError:
    remedy = "Write the zone of the clock on site, as Europe/Berlin; UTC where it was UTC."
    return InputError("zone", "is missing.", remedy)


def _of_json(form: Form) -> TypingIn:
    """Return the rows of a JSON object; a zone left out or empty is asked for in the words of the form."""
    try:
        asked = form.read(TypingIn)
    except InputErrors as found:
        is_there = _names_zone(form.body)
        told = [_zone_missing() if one.field == "zone" and not is_there else one for one in found.errors]
        raise InputErrors(told, found.where) from None
    _zone({"zone": asked.zone})
    return asked


def _names_zone(body: bytes | None) -> bool:
    """Return whether a JSON object says a zone, usable or not."""
    try:
        given = json.loads(body or b"{}")
    except (ValueError, RecursionError):  # no JSON, or one nested deeper than can be read
        return False
    return isinstance(given, dict) and given.get("zone") not in (None, "")


def _of_form(texts: Mapping[str, str]) -> TypingIn:
    """Return the rows of a form: a field each, its name beginning with the letter of its column."""
    rows: dict[str, dict[str, str]] = {}
    for name, text in texts.items():
        letter, _, row = name.partition(".")
        if row and letter in COLUMNS:
            rows.setdefault(row, {})[COLUMNS[letter]] = text.strip()
    given = [
        {"name": name, **fields} for name, fields in rows.items() if fields.get("value") or name == ARRIVED
    ]
    listed = [one for one in given if one["name"] != ARRIVED or one.get("clock")]
    for one in listed:
        if one["name"] == DONE:
            one["value"] = ""
    head = {name: texts.get(name, "").strip() for name in ("step", "day", "who", "gauge")}
    told = {**head, "zone": _zone(texts), "ordered": bool(texts.get("ordered"))}
    try:
        return TypingIn.model_validate({**told, "rows": listed})
    except ValidationError as found:
        raise problems_in(found) from None
