"""The design sheet: findings and why, answers, papers, and the release."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Literal

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from steadyhead import __version__
from steadyhead.errors import InputError, InputErrors
from steadyhead.findings import Finding, what_forbids
from steadyhead.register import Register
from steadyhead.services.names import unseen
from steadyhead.services.page_words import as_told, place_words
from steadyhead.services.planning import NoPlan
from steadyhead.services.prepared import prepared
from steadyhead.services.protection import has_something_to_prove
from steadyhead.services.release import NotReleasable
from steadyhead.services.stations.bodies import body_of, parts_of
from steadyhead.services.stations.design_view import DesignBody, answer_steps, design_body
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.services.stations.judged import FindingView, finding_view, judge_at, today
from steadyhead.services.stations.kept import Head, revision_file
from steadyhead.services.stations.proofs import old_proof
from steadyhead.services.stations.releasing import (
    MOST_RECORD,
    ReleaseView,
    file_name,
    record_of,
    release,
    releases,
    take_in,
)
from steadyhead.services.stations.saving import save
from steadyhead.services.stations.sheet_papers import FILE_NAMES, Paper, paper_of
from steadyhead.services.stations.trying import drafted
from steadyhead.web.answering import answer, done, wants_json, wants_page
from steadyhead.web.editing import SavedView, saved_answer
from steadyhead.web.forms import Sent, Typed, takes
from steadyhead.web.fragments import fragment
from steadyhead.web.giving import takes_file
from steadyhead.web.pages.plans import no_plan
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.rights import needs
from steadyhead.web.saying import Problem, problems_of

router = APIRouter()
PAPERS: dict[str, Paper] = {"pdf": "pdf", "plan": "plan"}
"""What may be asked for in place of the page."""


class DesignView(BaseModel):
    """The design sheet of the last revision. refused: findings that forbid the release asked for.

    old_proof: study of this very file that another engine made, where none of this engine is kept.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: StationHead
    layout: str
    stacking: str
    releasable: bool
    standing: str
    needs_proof: bool
    old_proof: str
    proved: str
    releases: tuple[ReleaseView, ...]
    engine: str
    problems: tuple[Problem, ...] = ()
    problem_words: str = ""
    refused: tuple[FindingView, ...] = ()
    body: DesignBody | None = None


class SentRelease(Sent):
    """Ask for a release. by: who releases; revision: the one that was looked at, 0 the last one."""

    by: str = Field("", max_length=400)
    revision: int = Field(0, ge=0, le=1_000_000)
    without_proof: bool = False
    again: bool = False


class ReleasedView(BaseModel):
    """What a release came to; `is_new` False: the file has not changed since that release."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    number: int
    file_name: str
    sha256: str
    is_new: bool
    grounds: str


class SentAnswer(Sent):
    """Settle a finding: *to* its code, *at* its subject, *value* its hash, as the finding says them."""

    to: str = Field(max_length=400)
    at: str = Field(max_length=400)
    value: str = Field(max_length=400)
    answer: str = Field(max_length=4000)
    by: str = Field(max_length=400)
    authority: str = Field("", max_length=400)
    decided: str = Field("", max_length=10)
    shut_off: Literal["", "allowed", "forbidden", "required"] = ""
    until: str = Field("", max_length=10)
    based_on: int = Field(0, ge=0, le=1_000_000)


@router.get("/stations/{key}/design", responses={200: {"model": DesignView}})
def get_design(request: Request, key: str, reader: Asks, register: Kept) -> Response:
    """Return the design sheet of the last revision; as PDF with `as=pdf`, its test plan with `as=plan`.

    Where findings forbid a plan a browser gets the page of the plans, which tells them with their remedies.
    """
    wanted = PAPERS.get(request.query_params.get("as", ""))
    base = revision_file(register, key, 0)
    if wanted is not None:
        try:
            return _paper(register, base, reader, wanted)
        except NoPlan as refused:
            if not wants_page(request):
                raise refused.told(reader.units) from None
            return no_plan(request, register, reader, key, refused.findings)
    return _shown(request, register, base, reader)


def _shown(
    request: Request,
    register: Register,
    base: Head,
    reader: Reader,
    *,
    problems: tuple[Problem, ...] = (),
    words: str = "",
    refused: tuple[FindingView, ...] = (),
    status: int = 200,
    typed_by: str = "",
    answered: Mapping[str, str] | None = None,
) -> Response:
    with register.reading() as connection:
        station = station_head(connection, register, base.key, units=reader.units)
        old = old_proof(connection, base.key, base.file_hash)
    parts = parts_of(base, reader.units, today())

    def made() -> DesignBody:
        def make() -> DesignBody:
            judged = judge_at(base.source, today())
            lacks = not judged.sheet.protection and has_something_to_prove(judged.loaded.station)
            return design_body(judged, reader.units, needs_proof=lacks)

        return DesignBody.model_validate_json(body_of(register, base, "design", parts, make))

    brief = _Brief.model_validate_json(
        prepared(register, base.key, "design brief", parts, lambda: _brief(made()).model_dump_json().encode())
    )
    view = DesignView(
        station=station,
        layout=brief.layout,
        stacking=brief.stacking,
        releasable=brief.releasable,
        standing=_standing(brief, station),
        needs_proof=brief.needs_proof,
        old_proof=old if brief.needs_proof else "",
        proved=brief.proved,
        releases=releases(register, base.key),
        engine=__version__,
        problems=problems,
        problem_words=words,
        refused=refused,
    )
    if wants_json(request):
        return answer(request, "", view.model_copy(update={"body": made()}), status)
    by = "" if reader.is_alone else reader.name
    may = reader.may("engineer")
    more = parts | {"by": by, "may": str(may), "number": str(base.number)}
    body = fragment(
        register, base, "design", more, "station/design_body.html",
        body=made, key=base.key, number=base.number, by=by, may=may,
    )  # fmt: skip
    return answer(
        request, "station/design.html", view, status, body=body, typed_by=typed_by or by, answered=answered
    )


class _Brief(BaseModel):
    layout: str
    stacking: str
    releasable: bool
    counts: dict[str, int]
    proved: str
    needs_proof: bool


def _brief(body: DesignBody) -> _Brief:
    return _Brief(
        layout=body.layout,
        stacking=body.stacking,
        releasable=body.releasable,
        counts=body.counts,
        proved=body.proved,
        needs_proof=body.needs_proof,
    )


def _standing(brief: _Brief, station: StationHead) -> str:
    words = what_forbids(brief.counts["stop"], brief.counts["ask"])
    return f"not releasable: {words}" if words else station.released


def _paper(register: Register, base: Head, reader: Reader, wanted: Paper) -> Response:
    """Return a paper of the file as PDF; the same file, day and units give the same paper."""
    day = today()
    found = next((one for one in releases(register, base.key) if one.revision == base.number), None)
    name = f"r{found.number}" if found is not None else ""
    parts = parts_of(base, reader.units, day, release=name)

    def make() -> bytes:
        return paper_of(base, wanted, day, reader.units, name)

    content = prepared(register, base.key, f"{wanted} paper", parts, make)
    title = FILE_NAMES[wanted]
    where = f'inline; filename="{base.key}-{title}.pdf"'
    return Response(content, media_type="application/pdf", headers={"content-disposition": where})


@router.post(
    "/stations/{key}/design",
    responses={201: {"model": ReleasedView}},
    openapi_extra=takes(SentRelease),
    dependencies=[needs("engineer")],
)
def post_release(request: Request, key: str, reader: Asks, register: Kept, form: Typed) -> Response:
    """Release the last revision; what forbids it is told with its findings."""
    sent = form.read(SentRelease)
    try:
        found = release(
            register,
            key,
            reader.name,
            by=sent.by,
            revision_number=sent.revision,
            without_proof=sent.without_proof,
            again=sent.again,
        )
    except (NotReleasable, InputError) as error:
        base = revision_file(register, key, 0)
        told = error.findings if isinstance(error, NotReleasable) else ()
        refused = tuple(finding_view(one, reader.units) for one in told)
        problems = () if refused else problems_of(error)
        return _shown(
            request,
            register,
            base,
            reader,
            problems=problems,
            words="Not released",
            refused=refused,
            status=422,
            typed_by=sent.by,
        )
    view = ReleasedView(
        number=found.revision,
        file_name=found.name,
        sha256=found.sha256,
        is_new=found.is_new,
        grounds=found.rests_on.grounds,
    )
    return done(request, view, f"/stations/{key}/design", 201 if found.is_new else 200)


@router.post(
    "/stations/{key}/answers",
    responses={201: {"model": SavedView}},
    openapi_extra=takes(SentAnswer),
    dependencies=[needs("engineer")],
)
def post_answer(request: Request, key: str, reader: Asks, register: Kept, form: Typed) -> Response:
    """Write an answer to a finding, or the reason for accepting it, into the file as a new revision."""
    sent = form.read(SentAnswer)
    base = revision_file(register, key, sent.based_on)
    given = {name: str(value) for name, value in sent.model_dump(exclude={"based_on"}).items()}
    judged = judge_at(base.source, today())
    existing = judged.loaded.data.get("answers") or ()
    try:
        _refuse_pointless(sent, judged.sheet.findings)
        found = drafted(base.source, answer_steps(given, existing), today())
        if found.problems:
            raise InputErrors(
                [InputError(_own(one.field), one.problem, one.remedy) for one in found.problems]
            )
        why = f"{sent.to} answered, {place_words(sent.at)}"
        saved = save(register, found.source, reader.name, why, base.number, key)
    except (InputError, InputErrors) as error:
        if form.is_json:
            raise
        words = "The answer is not taken yet"
        told = tuple(
            one.model_copy(update={"problem": as_told(one.problem), "remedy": as_told(one.remedy)})
            for one in problems_of(error)
        )
        return _shown(
            request, register, base, reader, problems=told, words=words, status=422, answered=form.texts
        )
    return saved_answer(request, register, reader, saved, f"/stations/{key}/design")


def _own(field: str) -> str:
    """Return a field of an answer as its form names it, whichever answer of the file it is of.

    Examples
    --------
    >>> _own("answers[1]: decided"), _own("SO: trip")
    ('decided', 'SO: trip')
    """
    return re.sub(r"^answers\[\d+\](?:: )?", "", field) or field


def _refuse_pointless(sent: SentAnswer, findings: Sequence[Finding]) -> None:
    """Refuse an answer to what is not asked, to another value than was looked at, or in signs nobody sees.

    Raises
    ------
    InputErrors
        What of it cannot be used.
    """
    errors = [
        InputError(
            name, f"holds a sign that cannot be seen (U+{ord(hidden):04X}).", "Type it again without it."
        )
        for name in ("answer", "by", "authority")
        if (hidden := unseen(str(getattr(sent, name)).replace("\n", " ").replace("\t", " ")))
    ]
    asked = [one.value_hash for one in findings if (one.code, one.subject) == (sent.to, sent.at)]
    where = place_words(f"{sent.at:.60}")
    if not asked:
        again = "Open the design again and answer what stands there."
        errors.append(InputError("to", f"{sent.to:.40}, {where}, is no finding of this revision.", again))
    elif sent.value not in asked:
        told = f"of {sent.to}, {where}, has changed meanwhile."
        errors.append(InputError("value", told, "Look at the finding as it is now, then answer it."))
    if errors:
        raise InputErrors(errors)


@router.get("/stations/{key}/releases/{number}", response_class=Response)
def get_release(key: str, number: int, register: Kept) -> Response:
    """Return the record of a release, byte for byte as it is kept."""
    content = record_of(register, key, min(max(number, 0), 1_000_000))
    where = f'attachment; filename="{file_name(key, number)}"'
    return Response(content, media_type="application/json", headers={"content-disposition": where})


@router.post(
    "/stations/{key}/releases",
    responses={201: {"model": ReleaseView}},
    openapi_extra=takes_file("record", "application/json"),
    dependencies=[needs("engineer")],
)
def post_record(request: Request, key: str, reader: Asks, register: Kept, form: Typed) -> Response:
    """Take in the record of a release made elsewhere, unchanged."""
    content = form.body if form.body is not None else _file(form)
    try:
        found = take_in(register, key, content, reader.name)
    except InputError as error:
        if form.is_json:
            raise
        base = revision_file(register, key, 0)
        return _shown(
            request, register, base, reader, problems=problems_of(error), words="Not taken in", status=422
        )
    return done(request, found, f"/stations/{key}/design")


def _file(form: Typed) -> bytes:
    sent = form.files.get("record")
    if sent is None or not sent.filename:
        raise InputError("record", "no file was sent.", "Choose the record of a release.")
    return sent.file.read(MOST_RECORD + 1)
