"""Surge studies of a station: what can be asked, what was, each with its verdict and what it is worth."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from pydantic import Field

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.studies.asked import (
    FEWEST_MEMBERS,
    FEWEST_RUNS,
    MOST_MEMBERS,
    MOST_RUNS,
    USUAL_MEMBERS,
    USUAL_RUNS,
    StudyAsk,
    StudyKind,
)
from steadyhead.services.studies.closing import closing_svg
from steadyhead.services.studies.page import (
    AskedView,
    SurgePageView,
    ask_study,
    study_row,
    study_view,
    surge_page,
)
from steadyhead.services.studies.shown import ANSWERS
from steadyhead.services.studies.surge import SurgeStudyView, surge_svg, surge_table
from steadyhead.web.answering import answer, done, wants_json
from steadyhead.web.forms import Form, Sent, Typed, takes
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.rights import needs
from steadyhead.web.saying import problems_of

router = APIRouter(tags=["studies"])
NARROWEST, WIDEST = 300, 2400
TEMPLATES = {
    "surge": "studies/surge_study.html", "proof": "studies/proof.html", "stability": "studies/stability.html",
    "chances": "studies/chances.html", "closing": "studies/closing.html",
}  # fmt: skip
LIMITS: dict[str, Any] = {
    "runs": (FEWEST_RUNS, MOST_RUNS, USUAL_RUNS), "members": (FEWEST_MEMBERS, MOST_MEMBERS, USUAL_MEMBERS),
    "answers": ANSWERS,
}  # fmt: skip


class SentStudy(Sent):
    """What is asked for; see `steadyhead.services.studies.asked.StudyAsk`."""

    kind: StudyKind
    event: str = Field("", max_length=80)
    way: str = Field("", max_length=80)
    within: str = Field("", max_length=40)
    runs: int = USUAL_RUNS
    members: int = USUAL_MEMBERS
    seed: int = 1
    twin: str = Field("", max_length=80)


@router.get("/stations/{key}/surge", responses={200: {"model": SurgePageView}})
def page(request: Request, key: str, register: Kept, reader: Asks) -> Response:
    """Show what can be studied, what was studied, and what is under way."""
    return _page(request, key, register, reader)


def _page(
    request: Request, key: str, register: Register, reader: Reader, form: Form | None = None, **more: Any
) -> Response:
    view = surge_page(register, key, reader.units)
    given = {"typed": form.texts if form is not None else {}, "problems": (), **LIMITS, **more}
    return answer(request, "studies/surge.html", view, 422 if more else 200, **given)


@router.post(
    "/stations/{key}/surge",
    responses={201: {"model": AskedView}},
    openapi_extra=takes(SentStudy),
    dependencies=[needs("engineer")],
)
def ask(request: Request, key: str, register: Kept, reader: Asks, form: Typed) -> Response:
    """Ask for a study: the finished one at once where it was worked out before, else a job."""
    try:
        sent = form.read(SentStudy)
        asked = ask_study(register, key, StudyAsk(**sent.model_dump()), reader.name)
    except NotKept:
        raise
    except (InputError, InputErrors) as error:
        if form.is_json or wants_json(request):
            raise
        return _page(request, key, register, reader, form, problems=problems_of(error))
    return done(request, asked, asked.href)


@router.get("/stations/{key}/surge/{study}", responses={200: {"model": SurgeStudyView}})
def study(
    request: Request,
    key: str,
    study: str,
    register: Kept,
    reader: Asks,
    run: Annotated[int | None, Query(ge=0, le=100_000)] = None,
    width: Annotated[int, Query(ge=NARROWEST, le=WIDEST)] = 1240,
    as_: Annotated[str, Query(alias="as", max_length=10)] = "",
) -> Response:
    """Show one study; of a surge study also one run as a drawing (``as=svg``) or a table (``as=csv``)."""
    if as_ in ("svg", "csv"):
        row, _ = study_row(register, key, study)
        if row.kind == "closing" and as_ == "svg":
            drawn = closing_svg(register, row, run or 0, reader.units, width)
            return Response(drawn, media_type="image/svg+xml")
        if row.kind != "surge":
            raise InputError("as", f"got {as_!r}.", "A surge study has drawings and tables; see its page.")
        if as_ == "svg":
            return Response(surge_svg(register, row, run, reader.units, width), media_type="image/svg+xml")
        event, table = surge_table(register, row, run, reader.units)
        name = "".join(sign if sign.isascii() and (sign.isalnum() or sign in "-_") else "-" for sign in event)
        headers = {"content-disposition": f'attachment; filename="{name}-r{row.revision}.csv"'}
        return Response(table, media_type="text/csv; charset=utf-8", headers=headers)
    view = study_view(register, key, study, reader.units, run)
    return answer(request, TEMPLATES[view.study.kind], view)
