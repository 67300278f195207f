"""Save mine anew on top of what somebody else saved meanwhile."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from steadyhead.errors import StationError
from steadyhead.services.stations.beginning import as_bytes
from steadyhead.services.stations.conflicts import conflict_again, save_merged
from steadyhead.services.stations.face import prepare
from steadyhead.services.stations.saving import Conflict
from steadyhead.web.answering import done, wants_json
from steadyhead.web.conflicting import conflict_answer
from steadyhead.web.forms import Form, Sent, Typed, takes
from steadyhead.web.reader import Asks, Kept
from steadyhead.web.rights import needs

router = APIRouter()
TAKE = "take:"
"""How the names of the choices of a form begin."""
MOST_REVISION = 1_000_000


class SentMerge(Sent):
    """What is to be saved on top of what somebody else saved.

    mine: the text that was to be saved; base, theirs: revisions it began with, and the last one now; how:
    *mine* for all that mine changed, *chosen* for what `take` says of each difference.
    """

    mine: str
    base: int = Field(ge=1, le=MOST_REVISION)
    theirs: int = Field(ge=1, le=MOST_REVISION)
    why: str = Field("", max_length=400)
    how: Literal["mine", "chosen"] = "chosen"
    take: dict[str, Literal["mine", "theirs"]] = Field(default_factory=dict, max_length=2_000)


class MergedView(BaseModel):
    """What was saved of both: station, number of the revision, hash of the file."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    key: str
    revision: int
    file_hash: str


@router.post(
    "/stations/{key}/merge",
    status_code=201,
    responses={201: {"model": MergedView}, 303: {"description": "Saved; see the revision."}},
    dependencies=[needs("engineer")],
    openapi_extra=takes(SentMerge),
)
def merge(request: Request, key: str, form: Typed, reader: Asks, register: Kept) -> Response:
    """Save mine anew on top of theirs: all of it, or field by field."""
    sent = _sent(form)
    conflict = conflict_again(register, key, as_bytes(sent.mine), sent.base, sent.theirs, sent.why)
    take = None if sent.how == "mine" else sent.take
    try:
        saved = save_merged(register, conflict, reader.name, take)
    except Conflict:
        raise
    except StationError as problem:
        if form.is_json or wants_json(request):
            raise
        return conflict_answer(request, conflict, problem)
    prepare(register, key, reader.units)
    view = MergedView(key=key, revision=saved.number, file_hash=saved.file_hash)
    return done(request, view, f"/stations/{key}/revisions")


def _sent(form: Form) -> SentMerge:
    if form.is_json:
        return form.read(SentMerge)
    take = {name.removeprefix(TAKE): text for name, text in form.texts.items() if name.startswith(TAKE)}
    bare = {name: text for name, text in form.texts.items() if not name.startswith(TAKE)}
    read = Form(texts=bare, lists=form.lists, files=form.files).read(_Bare)
    return SentMerge.model_validate({**read.model_dump(), "take": take})


class _Bare(SentMerge):
    """The same without the choices, which a form sends one by one."""
