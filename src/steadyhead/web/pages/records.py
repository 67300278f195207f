"""Certificates, papers, baselines and documents of a station: verified, struck out, never deleted."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from steadyhead.errors import InputError, InputErrors
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.services.visits_kept import baselines, certificates, documents
from steadyhead.services.visits_kept.filing import DOCUMENTS, content_of, one_filed
from steadyhead.services.visits_kept.showing import certificate_view, filed_view, records_view
from steadyhead.services.visits_kept.views import CertificateView, FiledView, RecordsView
from steadyhead.web.answering import answer, done
from steadyhead.web.forms import Form, Sent, Typed
from steadyhead.web.giving import file_of, given_out, takes_both
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.rights import NotAllowed, needs
from steadyhead.web.saying import to_show

router = APIRouter(tags=["records"])
As = Annotated[str, Query(alias="as", max_length=10, description="json, or file for the bytes.")]
AS = ("json", "file", "picture")
"""What a record is given as; without one, as a page."""

STRUCK_BY_RECORD = (*DOCUMENTS, "trip")
"""Kinds that whoever records may strike out; a certificate, a plan, a baseline is an engineer's."""


class Laying(Sent):
    """Something about a station's records. act says what; the other fields belong to it.

    document: a file in a form, with title and kind. certificate: a file in a form, with the fingerprint
    compared. strike: record, reason. twin: baseline, empty for the station file alone.
    """

    act: Literal["document", "certificate", "strike", "twin"]
    title: str = Field("", max_length=400)
    kind: str = Field("document", max_length=40)
    run: str = Field("", max_length=60)
    compared: str = Field("", max_length=80)
    record: str = Field("", max_length=60)
    reason: str = Field("", max_length=4000)
    baseline: str = Field("", max_length=60)


class Laid(BaseModel):
    """What was kept or struck out: id of the record."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str


class OneView(BaseModel):
    """One record; a certificate with what is proved of it now."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: StationHead
    filed: FiledView
    certificate: CertificateView | None


@router.get("/stations/{key}/records", responses={200: {"model": RecordsView}})
def of_station(request: Request, register: Kept, reader: Asks, key: str) -> Response:
    """List certificates, baselines, papers and documents of a station."""
    return _list(request, register, reader, key)


def _list(
    request: Request,
    register: Kept,
    reader: Reader,
    key: str,
    form: Form | None = None,
    errors: Any = (),
    status: int = 200,
) -> Response:
    view = records_view(register, key, units=reader.units)
    typed = dict(form.texts) if form is not None else {}
    own = STRUCK_BY_RECORD
    return answer(request, "records/records.html", view, status, form=typed, errors=errors, own=own)


@router.post(
    "/stations/{key}/records",
    dependencies=[needs("record")],
    status_code=201,
    responses={201: {"model": Laid}},
    openapi_extra=takes_both(Laying, "file"),
)
def lay(request: Request, register: Kept, reader: Asks, key: str, form: Typed) -> Response:
    """Lay a document here, take a certificate in, strike a record out, choose the twin's baseline."""
    here = f"/stations/{key}/records"
    try:
        asked = form.read(Laying)
        if asked.act == "document":
            name, content = form.file("file")
            kept = documents.take_document(
                register, key, name, content, reader.name, title=asked.title, kind=asked.kind, run=asked.run
            )
            return done(request, Laid(id=kept.id), f"{here}#documents")
        if asked.act == "certificate":
            taken = certificates.take_certificate(
                register, key, form.file("file")[1], reader.name, compared=asked.compared
            )
            return done(request, Laid(id=taken.filed.id), f"{here}/{taken.filed.id}")
        if asked.act == "twin":
            _may(reader)
            baselines.choose_for_twin(register, key, asked.baseline, reader.name)
            return done(request, Laid(id=asked.baseline), f"{here}#baselines")
        with register.reading() as connection:
            may_record = one_filed(connection, key, asked.record).kind in STRUCK_BY_RECORD
        if not may_record:
            _may(reader)
        struck = documents.strike(register, key, asked.record, asked.reason, reader.name)
        return done(request, Laid(id=struck.id), here)
    except (InputError, InputErrors) as problem:
        return _list(request, register, reader, key, form, to_show(request, form, problem), 422)


def _may(reader: Reader) -> None:
    if not reader.may("engineer"):
        raise NotAllowed("engineer", reader.role)


@router.get("/stations/{key}/records/{record}", responses={200: {"model": OneView}})
def one(request: Request, register: Kept, reader: Asks, key: str, record: str, as_: As = "") -> Response:
    """Show a record, a certificate verified again; `as=file`: its bytes, `as=picture`: a picture."""
    if as_ not in ("", *AS):
        raise InputError("as", f"got {as_!r}.", "A record is given as json, file or picture.")
    with register.reading() as connection:
        kept = one_filed(connection, key, record)
        head = station_head(connection, register, key, units=reader.units)
    if as_ in ("file", "picture"):
        inline = as_ == "picture" and documents.is_picture(kept)
        return given_out(kept, content_of(register, kept), inline=inline)
    proved = certificate_view(register, key, record, reader.units) if kept.kind == "certificate" else None
    view = OneView(station=head, filed=filed_view(kept), certificate=proved)
    return answer(request, "records/record.html", view, form={}, errors=())


@router.get("/stations/{key}/records/{record}/handover", response_class=Response)
def handover(register: Kept, reader: Asks, key: str, record: str) -> Response:
    """Give the handover pack of a certificate: papers and all data in open formats, in one file."""
    name, content = certificates.handover(register, key, record, reader.units)
    return file_of(name, "application/zip", content)


@router.get("/stations/{key}/card", response_class=Response)
def card(
    register: Kept, reader: Asks, key: str, record: Annotated[str, Query(max_length=60)] = ""
) -> Response:
    """Give the station card, filled in by a certificate where one is named."""
    name, content = certificates.card(register, key, record, reader.units)
    return file_of(name, "application/pdf", content)
