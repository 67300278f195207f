"""What is due over all stations and at one; done, deferred, struck out; pieces; calendar; list to print."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Annotated, Any, Literal
from urllib.parse import quote, urlencode

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from steadyhead.errors import InputError, InputErrors
from steadyhead.services.stations.judged import today
from steadyhead.services.upkeep import calendar, doings, paper, pieces
from steadyhead.services.upkeep.all_due import SHOWS, SORTS, By, Show, UpkeepView, all_due, asked
from steadyhead.services.upkeep.of_piece import PiecesView, PieceView, of_piece, pieces_list
from steadyhead.services.upkeep.of_station import StationUpkeepView, of_station
from steadyhead.upkeep.days import later, told
from steadyhead.upkeep.history import FOUND_WORDS
from steadyhead.web.answering import answer, done, wants_json
from steadyhead.web.forms import Form, Sent, Typed, takes
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.rights import needs
from steadyhead.web.saying import problems_of

router = APIRouter(tags=["upkeep"])
SPANS = ((1.0, "1 month"), (3.0, "3 months"), (12.0, "12 months"), (60.0, "5 years"))
"""Spans to choose from. [months]"""
Q = Annotated[str, Query(max_length=400, description="Words that must all be found of the station.")]
Until = Annotated[
    str, Query(max_length=40, description="Last day of the span, as 2027-06-30; empty: 3 months on.")
]
From = Annotated[int, Query(alias="from", ge=0, le=1_000_000, description="Rows passed.")]
Short = Annotated[str, Query(max_length=60)]
FeedKey = Annotated[str, Query(max_length=400, description="Lets a calendar program in without signing in.")]


class Told(BaseModel):
    """What was kept: id of the line, its station, and what it says."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    station: str
    words: str


class Doing(Sent):
    """Something to be kept of a station's upkeep. act says what; the other fields belong to it.

    done: activity, place, on, note, found, ratio. together: lines (each ``activity@place``), on, note;
    section is for the page alone. defer: activity, place, until, reason, risk, measure, approver.
    strike: line, reason. interval: activity, place, months (0: the default again), reason.
    service: on, note. piece: place, serial, words, on, why.
    """

    act: Literal["done", "together", "defer", "strike", "interval", "service", "piece"]
    activity: str = Field("", max_length=60)
    place: str = Field("", max_length=60)
    on: str = Field("", max_length=40)
    note: str = Field("", max_length=4000)
    found: str = Field("", max_length=20)
    ratio: float | None = None
    until: str = Field("", max_length=40)
    reason: str = Field("", max_length=4000)
    risk: str = Field("", max_length=4000)
    measure: str = Field("", max_length=4000)
    approver: str = Field("", max_length=4000)
    line: str = Field("", max_length=60)
    lines: tuple[Annotated[str, Field(max_length=121)], ...] = Field((), max_length=200)
    months: float | None = Field(None, ge=0.0, le=1200.0)
    section: str = Field("", max_length=400)
    serial: str = Field("", max_length=400)
    words: str = Field("", max_length=4000)
    why: str = Field("", max_length=4000)


class Moving(Sent):
    """Where a piece goes: station and place, both empty for the store; or a line to be struck out."""

    act: Literal["move", "strike"]
    station: str = Field("", max_length=60)
    place: str = Field("", max_length=60)
    on: str = Field("", max_length=40)
    why: str = Field("", max_length=4000)
    line: str = Field("", max_length=60)
    reason: str = Field("", max_length=4000)


@router.get("/upkeep", responses={200: {"model": UpkeepView}})
def upkeep(
    request: Request, register: Kept, q: Q = "", show: Show = "work", by: By = "why", until: Until = "",
    begin: From = 0,
) -> Response:  # fmt: skip
    """List what is due in a span over all stations: why before when, grouped by isolation."""
    view = all_due(register, asked(until, q, show, by), begin)
    day = date.fromisoformat(view.day)
    return answer(
        request, "upkeep/all.html", view, shows=SHOWS, sorts=SORTS, day=told(day),
        until=told(date.fromisoformat(view.until)),
        spans=[(later(day, months).isoformat(), words) for months, words in SPANS],
        at=lambda path="/upkeep", **changed: _address(view, path, **changed),
    )  # fmt: skip


def _address(view: UpkeepView, path: str, **changed: object) -> str:
    usual = {
        "q": "",
        "show": "work",
        "by": "why",
        "until": later(date.fromisoformat(view.day), 3.0).isoformat(),
    }
    given = {"q": view.q, "show": view.show, "by": view.by, "until": view.until} | changed
    words = urlencode({name: value for name, value in given.items() if value != usual.get(name)})
    return f"{path}?{words}" if words else path


@router.get("/upkeep.ics", response_class=Response, responses={200: {"content": {"text/calendar": {}}}})
def feed(request: Request, register: Kept, station: Short = "", key: FeedKey = "") -> Response:
    """Give what is due as a calendar, all-day, for a calendar program to fetch; `station`: of one station."""
    home = str(request.base_url).rstrip("/")
    content = calendar.feed(register, station=station, home=home)
    headers = {"content-disposition": 'inline; filename="upkeep.ics"'}
    return Response(content, media_type="text/calendar; charset=utf-8", headers=headers)


@router.get("/upkeep/paper", response_class=Response, responses={200: {"content": {"application/pdf": {}}}})
def printable(
    register: Kept, q: Q = "", show: Show = "work", until: Until = "", station: Short = ""
) -> Response:
    """Give the list of what is due to be printed: PDF, with places to tick and sign."""
    content = paper.due_paper(register, asked(until, q, show, "place"), station=station)
    headers = {"content-disposition": 'inline; filename="upkeep.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)


@router.get("/upkeep/pieces", responses={200: {"model": PiecesView}})
def all_pieces(request: Request, register: Kept, q: Q = "", begin: From = 0) -> Response:
    """List the pieces with a serial number, and where each one stands."""
    view = pieces_list(register, " ".join(q.split()), begin)
    return answer(request, "upkeep/pieces.html", view)


@router.get("/upkeep/pieces/{name}", responses={200: {"model": PieceView}})
def one_piece(request: Request, register: Kept, name: str) -> Response:
    """Show a piece with its history, wherever it stood."""
    return answer(
        request, "upkeep/piece.html", of_piece(register, name), day=today().isoformat(), form={}, errors=()
    )


@router.post(
    "/upkeep/pieces/{name}", dependencies=[needs("record")], openapi_extra=takes(Moving),
    responses={201: {"model": Told}},
)  # fmt: skip
def change_piece(request: Request, reader: Asks, register: Kept, name: str, form: Typed) -> Response:
    """Move a piece to another place or the store, or strike out its last line."""
    try:
        sent = form.read(Moving)
        if sent.act == "move":
            kept = pieces.move(
                register, name, reader.name, on=sent.on, why=sent.why, key=sent.station, place=sent.place
            )
        else:
            kept = pieces.strike_fitting(register, name, reader.name, line=sent.line, reason=sent.reason)
    except (InputError, InputErrors) as found:
        if _for_program(request, form):
            raise
        view = of_piece(register, name)
        return answer(
            request, "upkeep/piece.html", view, 422, day=today().isoformat(), form=form.texts,
            errors=problems_of(found),
        )  # fmt: skip
    return done(request, _told(kept), f"/upkeep/pieces/{quote(name)}")


@router.get("/stations/{key}/upkeep", responses={200: {"model": StationUpkeepView}})
def station_upkeep(
    request: Request, reader: Asks, register: Kept, key: str, act: Short = "", activity: Short = "",
    place: Short = "", line: Short = "", section: Annotated[str, Query(max_length=400)] = "",
) -> Response:  # fmt: skip
    """Show what is due at a station and why, what was done, and which piece stands where."""
    form = {"act": act, "activity": activity, "place": place, "line": line, "section": section}
    return _station(request, reader, of_station(register, key, units=reader.units), form)


@router.post(
    "/stations/{key}/upkeep", dependencies=[needs("record")], openapi_extra=takes(Doing),
    responses={201: {"model": Told}},
)  # fmt: skip
def change_upkeep(request: Request, reader: Asks, register: Kept, key: str, form: Typed) -> Response:
    """Keep that something was done or deferred, strike a line out, set an interval, put a piece in."""
    try:
        sent = form.read(Doing)
        kept = _ACTS[sent.act](register, key, reader.name, sent)
    except (InputError, InputErrors) as found:
        if _for_program(request, form):
            raise
        view = of_station(register, key, units=reader.units)
        return _station(
            request, reader, view, form.texts, 422, problems_of(found), form.lists.get("lines", ())
        )
    return done(request, _told(kept), f"/stations/{quote(key)}/upkeep")


_ACTS: dict[str, Callable[[Any, str, str, Doing], doings.Told]] = {
    "done": lambda register, key, who, sent: doings.done(
        register, key, who, activity=sent.activity, place=sent.place, on=sent.on, note=sent.note,
        found=sent.found, ratio=sent.ratio,
    ),
    "together": lambda register, key, who, sent: doings.done_together(
        register, key, who, lines=sent.lines, on=sent.on, note=sent.note
    ),
    "defer": lambda register, key, who, sent: doings.defer(
        register, key, who, activity=sent.activity, place=sent.place, until=sent.until, reason=sent.reason,
        risk=sent.risk, measure=sent.measure, approver=sent.approver,
    ),
    "strike": lambda register, key, who, sent: doings.strike(
        register, key, who, line=sent.line, reason=sent.reason
    ),
    "interval": lambda register, key, who, sent: doings.set_interval(
        register, key, who, activity=sent.activity, place=sent.place, months=_months(sent),
        reason=sent.reason,
    ),
    "service": lambda register, key, who, sent: doings.into_service(
        register, key, who, on=sent.on, note=sent.note
    ),
    "piece": lambda register, key, who, sent: pieces.put_in_new(
        register, key, who, place=sent.place, serial=sent.serial, on=sent.on, why=sent.why, words=sent.words
    ),
}  # fmt: skip


def _months(sent: Doing) -> float:
    if sent.months is None:
        raise InputError("months", "is left out.", "Write the interval in months; 0 for the default again.")
    return sent.months


def _station(
    request: Request,
    reader: Reader,
    view: StationUpkeepView,
    form: Any,
    status: int = 200,
    errors: Any = (),
    picked: Any = (),
) -> Response:
    wanted = (form.get("activity", ""), form.get("place", ""))
    lines = [line for group in view.groups for line in group.lines]
    together = next((group for group in view.groups if group.isolation == form.get("section", "")), None)
    chosen = next((line for line in lines if (line.due.activity, line.due.place) == wanted), None)
    struck = next((line for line in view.past if line.id == form.get("line", "")), None)
    return answer(
        request, "upkeep/station.html", view, status, form=form, errors=errors, chosen=chosen, struck=struck,
        together=together, picked=picked,
        finds=FOUND_WORDS, may_record=reader.may("record"),
    )  # fmt: skip


def _for_program(request: Request, form: Form) -> bool:
    return form.is_json or wants_json(request)


def _told(kept: doings.Told) -> Told:
    return Told(id=kept.id, station=kept.station, words=kept.words)
