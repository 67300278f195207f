"""The pressure ladder, with the numbers it rests on: change one, and the ladder moves."""

from __future__ import annotations

from fastapi import APIRouter, Query, Request, Response
from markupsafe import Markup
from pydantic import BaseModel, ConfigDict

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.services.prepared import prepared
from steadyhead.services.stations.bodies import body_of, parts_of
from steadyhead.services.stations.fields import ProblemView
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.services.stations.judged import judge_at, today
from steadyhead.services.stations.kept import Head, revision_file
from steadyhead.services.stations.pressures import LadderView, ladder_view
from steadyhead.services.stations.releasing import as_saved
from steadyhead.services.stations.steps import Step, read_steps, steps_text
from steadyhead.services.stations.trying import (
    NARROWEST,
    WIDEST,
    drafted,
    ladder_svg,
    of_station,
    without_proof,
)
from steadyhead.web.answering import answer, wants_json
from steadyhead.web.editing import (
    SavedView,
    SentSteps,
    possible,
    read_editing,
    try_to_save,
    with_sources,
)
from steadyhead.web.forms import Typed, takes
from steadyhead.web.fragments import fragment
from steadyhead.web.pages.fields import problem_words, step_words
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.rights import needs
from steadyhead.web.templating import ENVIRONMENT

router = APIRouter()
STRIDE = 20
"""Widths of the drawing are rounded down to whole strides, so that few are made. [px]"""


class PressuresView(BaseModel):
    """The ladder of a station. steps: what was changed since the revision, as JSON; None: see `ladder`."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: StationHead
    based_on: int
    steps: str = "[]"
    step_count: int = 0
    step_words: str = "as saved"
    why: str = ""
    saved: int = 0
    problem_words: str = ""
    loose: tuple[ProblemView, ...] = ()
    ladder: LadderView | None = None


@router.get("/stations/{key}/pressures", responses={200: {"model": PressuresView}})
def get_pressures(
    request: Request,
    key: str,
    reader: Asks,
    register: Kept,
    saved: int = 0,
    steps: str = Query("", max_length=20_000),
    width: int = Query(1280, ge=100, le=4000),
) -> Response:
    """Return the ladder of the last revision; as SVG with `as=svg`, with `steps` of a remedy done."""
    base = revision_file(register, key, 0)
    if request.query_params.get("as") == "svg":
        return _picture(register, base, reader, width)
    if steps:
        return _shown(
            request, register, reader, base, *possible(base.source, read_steps(steps), reader.called)
        )
    parts = parts_of(base, reader.units, today())

    def ladder() -> LadderView:
        found, judged = as_saved(base, today())
        return ladder_view(key, base.number, found, judged, 0, reader.units)

    def made() -> LadderView:
        return LadderView.model_validate_json(body_of(register, base, "pressures", parts, ladder))

    view = _view(register, base, reader, saved=saved)
    if wants_json(request):
        return answer(request, "", view.model_copy(update={"ladder": made()}))
    body = fragment(register, base, "pressures", parts, "station/pressures_body.html", ladder=made)
    return answer(request, "station/pressures.html", view, body=body)


def _picture(register: Register, base: Head, reader: Reader, width: int) -> Response:
    """Return the ladder as it stands alone, or for a page of this app."""
    wide = min(max(width // STRIDE * STRIDE, NARROWEST), WIDEST)
    parts = parts_of(base, reader.units, today(), width=str(wide))

    def make() -> bytes:
        svg, _ = ladder_svg(judge_at(base.source, today()), reader.units, wide)
        return svg.encode()

    content = prepared(register, base.key, "ladder svg", parts, make)
    if not content:
        raise InputError("picture", "this station has no ladder yet.", "Give it a duty and limits.")
    return Response(content, media_type="image/svg+xml")


def _view(register: Register, base: Head, reader: Reader, saved: int = 0) -> PressuresView:
    with register.reading() as connection:
        station = station_head(connection, register, base.key, units=reader.units)
    return PressuresView(
        station=station, based_on=base.number, saved=saved if saved == station.revision else 0
    )


@router.post(
    "/stations/{key}/pressures",
    responses={200: {"model": PressuresView}, 201: {"model": SavedView}},
    openapi_extra=takes(SentSteps),
    dependencies=[needs("look")],
)
def post_pressures(request: Request, key: str, reader: Asks, register: Kept, form: Typed) -> Response:
    """Show the ladder with a change done, or save the change as the next revision."""
    found = read_editing(form, register, key, reader.called)
    told = try_to_save(request, register, reader, form, found, key, "pressures")
    if isinstance(told, Response):
        return told
    status = 422 if told and found.do == "save" else 200
    return _shown(request, register, reader, found.base, found.steps, told, found.why, status)


def _shown(
    request: Request,
    register: Register,
    reader: Reader,
    base: Head,
    steps: tuple[Step, ...],
    problems: tuple[ProblemView, ...] = (),
    why: str = "",
    status: int = 200,
) -> Response:
    """Return the page with steps done that are not saved."""
    if steps:
        told_of = with_sources(base.source, steps, reader.called)
        found = of_station(drafted(base.source, told_of, today()), base.key)
        before = without_proof(base.source, today())
    else:
        found, before = as_saved(base, today())
    ladder = ladder_view(base.key, base.number, found, before, len(steps), reader.units)
    told = problems or ladder.tried.problems
    numbers = {one.row.at for group in ladder.numbers for one in group.numbers}
    view = _view(register, base, reader).model_copy(
        update={
            "steps": steps_text(steps),
            "step_count": len(steps),
            "step_words": step_words(len(steps)),
            "why": why,
            "problem_words": problem_words(len(told)),
            "loose": tuple(one for one in told if one.at not in numbers),
        }
    )
    if wants_json(request):
        return answer(request, "", view.model_copy(update={"ladder": ladder}), status)
    body = ENVIRONMENT.get_template("station/pressures_body.html").render(ladder=ladder)
    return answer(request, "station/pressures.html", view, status, body=Markup(body))
