"""Revisions of a station file: the list, two side by side, an earlier one brought back."""

from __future__ import annotations

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from steadyhead.errors import InputError
from steadyhead.services.stations.bodies import body_of, parts_of
from steadyhead.services.stations.comparing import ComparedView, compared
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.services.stations.judged import today
from steadyhead.services.stations.kept import revision_file
from steadyhead.services.stations.revisions import PAGE, RevisionsView, bring_back, revisions
from steadyhead.web.answering import answer
from steadyhead.web.editing import SavedView, saved_answer
from steadyhead.web.forms import Sent, Typed, takes
from steadyhead.web.reader import Asks, Kept
from steadyhead.web.rights import needs

router = APIRouter()
MOST = 1_000_000


class RevisionsPage(BaseModel):
    """The revisions of a station; where `one` and `other` are asked for, these two beside each other."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: StationHead
    list: RevisionsView
    before: str = ""
    after: str = ""
    one: int = 0
    other: int = 0
    compared: ComparedView | None = None


class SentBack(Sent):
    """Bring a revision back as a new one. based_on: the last one that was seen, 0: whichever it is."""

    back: int = Field(ge=1, le=MOST)
    why: str = Field("", max_length=400)
    based_on: int = Field(0, ge=0, le=MOST)


@router.get("/stations/{key}/revisions", responses={200: {"model": RevisionsPage}})
def get_revisions(
    request: Request,
    key: str,
    reader: Asks,
    register: Kept,
    one: int = Query(0, ge=0, le=MOST),
    other: int = Query(0, ge=0, le=MOST),
    start: int = Query(1, ge=1, le=MOST, alias="from"),
) -> Response:
    """Return who saved what, when and why; with `one` and `other` what lies between these two."""
    for number in (one, other):
        if number:
            revision_file(register, key, number)
    if bool(one) != bool(other):
        raise InputError(
            "one" if other else "other",
            "is left out.",
            "Name both revisions, or neither for the list.",
        )
    with register.reading() as connection:
        station = station_head(connection, register, key, units=reader.units)
    found = revisions(register, key, start)
    home = f"/stations/{key}/revisions?from="
    view = RevisionsPage(
        station=station,
        list=found,
        before=f"{home}{max(1, start - PAGE)}" if start > 1 else "",
        after=f"{home}{start + PAGE}" if found.last < found.total else "",
    )
    if one and other:
        first, second = revision_file(register, key, one), revision_file(register, key, other)
        parts = parts_of(second, reader.units, today(), beside=first.file_hash)

        def make() -> ComparedView:
            return compared(first.source, second.source, reader.units, today())

        body = ComparedView.model_validate_json(body_of(register, second, "compared", parts, make))
        view = view.model_copy(update={"one": one, "other": other, "compared": body})
    return answer(request, "station/revisions.html", view)


@router.post(
    "/stations/{key}/revisions",
    responses={201: {"model": SavedView}},
    openapi_extra=takes(SentBack),
    dependencies=[needs("engineer")],
)
def post_revisions(request: Request, key: str, reader: Asks, register: Kept, form: Typed) -> Response:
    """Save an earlier revision again, as the next one."""
    sent = form.read(SentBack)
    saved = bring_back(register, key, sent.back, reader.name, sent.why, sent.based_on or None)
    return saved_answer(request, register, reader, saved, f"/stations/{key}/revisions")
