"""Entry of every field of a station file, and trying a change without saving it."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, ConfigDict

from steadyhead.register import Register
from steadyhead.services.stations.bodies import body_of, parts_of
from steadyhead.services.stations.fields import FormView, GroupView, ProblemView, form_of
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.services.stations.judged import judge_at, today
from steadyhead.services.stations.kept import Head, revision_file
from steadyhead.services.stations.releasing import as_saved
from steadyhead.services.stations.steps import steps_text
from steadyhead.services.stations.trying import TryView, view_of, without_proof
from steadyhead.web.answering import answer, wants_json
from steadyhead.web.editing import Editing, SavedView, SentSteps, read_editing, try_to_save
from steadyhead.web.forms import Typed, takes
from steadyhead.web.fragments import fragment
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.rights import needs
from steadyhead.web.templating import ENVIRONMENT

router = APIRouter()


class FieldsView(BaseModel):
    """Every field of a station file as it is typed, and how far the entry is.

    steps: what was changed since the revision, as JSON; loose: what cannot be used and has no field here;
    verdict: what the design would be; saved: the revision just made.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: StationHead
    based_on: int
    steps: str
    step_count: int
    step_words: str
    opened: tuple[str, ...]
    why: str
    form: FormView
    loose: tuple[ProblemView, ...] = ()
    problem_words: str = ""
    verdict: str = ""
    saved: int = 0


@router.get("/stations/{key}/fields", responses={200: {"model": FieldsView}})
def get_fields(
    request: Request, key: str, reader: Asks, register: Kept, revision: int = 0, saved: int = 0
) -> Response:
    """Return every field of a station file, of its last revision or of an earlier one."""
    base = revision_file(register, key, revision)
    parts = parts_of(base, reader.units, today())

    def form() -> FormView:
        judged = judge_at(base.source, today())
        return form_of(judged.loaded.data, (), judged.sheet.defaults, reader.units)

    def made() -> FormView:
        return FormView.model_validate_json(body_of(register, base, "fields", parts, form))

    if wants_json(request):
        return answer(request, "", _view(register, base, reader, form=made(), saved=saved))
    body = fragment(register, base, "fields", parts, "station/form_body.html", form=made, opened=())
    view = _view(register, base, reader, form=FormView(groups=(), problems=()), saved=saved)
    return answer(request, "station/fields.html", view, body=body)


def _view(register: Register, base: Head, reader: Reader, *, form: FormView, saved: int = 0) -> FieldsView:
    with register.reading() as connection:
        station = station_head(connection, register, base.key, units=reader.units)
    return FieldsView(
        station=station,
        based_on=base.number,
        steps="[]",
        step_count=0,
        step_words="nothing changed",
        opened=(),
        why="",
        form=form,
        saved=saved if saved == station.revision else 0,
    )


@router.post(
    "/stations/{key}/fields",
    responses={201: {"model": SavedView}, 200: {"model": FieldsView}},
    openapi_extra=takes(SentSteps),
    dependencies=[needs("look")],
)
def post_fields(request: Request, key: str, reader: Asks, register: Kept, form: Typed) -> Response:
    """Do a step in the entry, or save it as the next revision. Nothing that was typed is lost."""
    found = read_editing(form, register, key, reader.called)
    told = try_to_save(request, register, reader, form, found, key, "fields")
    if isinstance(told, Response):
        return told
    return _again(request, register, reader, found, told)


def _again(
    request: Request, register: Register, reader: Reader, found: Editing, problems: tuple[ProblemView, ...]
) -> Response:
    """Return the entry with all that was typed, and what cannot be used beside its field."""
    base, draft = found.base, found.draft
    judged = draft.judged or judge_at(base.source, today())
    placed = tuple(_placed(one) for one in problems)
    form = form_of(draft.data, placed, judged.sheet.defaults, reader.units)
    count = len(found.steps)
    view = _view(register, base, reader, form=form).model_copy(
        update={
            "steps": steps_text(found.steps),
            "step_count": count,
            "step_words": step_words(count),
            "opened": found.opened,
            "why": found.why,
            "loose": tuple(one for one in placed if not _has_place(one, form)),
            "problem_words": problem_words(len(problems)),
            "verdict": "" if problems or draft.judged is None else verdict(draft.judged.sheet.findings),
        }
    )
    status = 422 if problems and found.do == "save" else 200
    if wants_json(request):
        return answer(request, "", view, status)
    body = ENVIRONMENT.get_template("station/form_body.html").render(form=form, opened=found.opened)
    return answer(request, "station/fields.html", view, status, body=_markup(body))


def _markup(html: str) -> Any:
    from markupsafe import Markup

    return Markup(html)


def _placed(one: ProblemView) -> ProblemView:
    return one if one.at or one.field != "station.id" else one.model_copy(update={"at": "station.id"})


def _has_place(one: ProblemView, form: FormView) -> bool:
    """Return whether a problem stands beside a field or at a group."""
    return bool(one.at) and any(_holds(group, one.at) for group in form.groups)


def _holds(group: GroupView, at: str) -> bool:
    return at == group.at or at.startswith(f"{group.at}.") or any(row.at == at for row in group.rows)


def step_words(count: int) -> str:
    """Return how many steps were done, in words."""
    return "nothing changed" if not count else "one change, not saved" if count == 1 else (
        f"{count} changes, not saved"
    )  # fmt: skip


def problem_words(count: int) -> str:
    """Return how much cannot be used, in words; empty where nothing."""
    if not count:
        return ""
    return "One value cannot be used yet." if count == 1 else f"{count} values cannot be used yet."


def verdict(findings: Any) -> str:
    """Return what the design would be, in one sentence."""
    counts = {word: sum(one.severity.value == word for one in findings) for word in ("stop", "ask", "heed")}
    told = [
        f"{counts['stop']} stop{'' if counts['stop'] == 1 else 's'}" if counts["stop"] else "",
        f"{counts['ask']} open question{'' if counts['ask'] == 1 else 's'}" if counts["ask"] else "",
        f"{counts['heed']} to heed" if counts["heed"] else "",
    ]
    words = ", ".join(one for one in told if one)
    return f"Every value can be used. Findings: {words}." if words else "Every value can be used. No finding."


@router.post("/stations/{key}/try", responses={200: {"model": TryView}}, openapi_extra=takes(SentSteps))
def post_try(request: Request, key: str, reader: Asks, register: Kept, form: Typed) -> Response:
    """Judge a change that is not saved: problems, findings, and the ladder as it would be."""
    found = read_editing(form, register, key, reader.called)
    if found.steps:
        draft, before = found.draft, without_proof(found.base.source, today())
    else:
        draft, before = as_saved(found.base, today())
    number, count, with_map = found.base.number, len(found.steps), found.do == "map"
    view = view_of(key, number, count, draft, before, reader.units, found.width, with_map=with_map)
    if found.refused:
        view = view.model_copy(update={"problems": found.problems})
    return Response(view.model_dump_json(), media_type="application/json")
