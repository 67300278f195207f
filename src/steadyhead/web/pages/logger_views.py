"""Logger data seen: a window that pans and zooms, a year at a glance, rows, and what is given out."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Annotated
from urllib.parse import parse_qsl, urlencode

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import StreamingResponse
from markupsafe import Markup
from starlette.background import BackgroundTask

from steadyhead.drawings.logger import draw_logger
from steadyhead.drawings.logger_year import draw_year
from steadyhead.drawings.palette import screen
from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.logs import logs_folder
from steadyhead.services.logs.giving import csv_pieces, parquet_file
from steadyhead.services.logs.page import head_of
from steadyhead.services.logs.rows import MomentView, RowsPage, moment_view, rows_page
from steadyhead.services.logs.seen import FEWEST, MOST, Window, WindowView, picture_of, window, window_view
from steadyhead.services.logs.sheets import window_paper, year_paper
from steadyhead.services.logs.times import moment
from steadyhead.services.logs.views import View
from steadyhead.services.logs.views import moment as iso
from steadyhead.services.logs.year import YearView, year_picture, year_view
from steadyhead.services.stations.days import today
from steadyhead.services.stations.head import StationHead
from steadyhead.web.answering import answer
from steadyhead.web.giving import file_of, headers_of
from steadyhead.web.reader import Asks, Kept, Reader

router = APIRouter(tags=["logger data"])
NARROWEST, WIDEST = 300, 2400
WIDTHS = (1180, 720, 336)
"""Widths of the pictures on a page: wide, middle, phone. [px]"""
DRAWN, STROKES = 800, 0.8
"""Most buckets of a picture of the server's, and for each px of its width."""
From = Annotated[str, Query(max_length=40, description="Begin, UTC; empty: of all data.")]
To = Annotated[str, Query(max_length=40, description="End, UTC; empty: of all data.")]
Channels = Annotated[
    list[str] | None, Query(alias="channel", max_length=20, description="Names of channels.")
]
As = Annotated[str, Query(alias="as", max_length=10, description="json, svg, or file for the paper.")]
Width = Annotated[int, Query(ge=NARROWEST, le=WIDEST)]


class SeenPage(View):
    """A window of logger data with the head of its station."""

    station: StationHead
    window: WindowView


class YearPage(View):
    """A year at a glance with the head of its station."""

    station: StationHead
    year: YearView


class RowsOf(View):
    """Rows of a channel with the head of its station."""

    station: StationHead
    rows: RowsPage


def _micros(name: str, typed: str) -> int | None:
    when = moment(name, typed)
    return None if not isinstance(when, datetime) else round(when.timestamp() * 1e6)


def _asked(register: Register, key: str, start: str, end: str, names: list[str] | None) -> Window:
    return window(register, key, _micros("start", start), _micros("end", end), names or ())


def _name(told: str, ending: str, asked: Window) -> str:
    ends = (datetime.fromtimestamp(at / 1e6, UTC) for at in (asked.start, asked.end))
    first, last = (f"{when:%Y%m%d}" for when in ends)
    return f"{told}-{first}-{last}.{ending}"


@router.get(
    "/stations/{key}/logs/see",
    responses={200: {"model": SeenPage, "content": {"application/pdf": {}, "image/svg+xml": {}}}},
)
def see(
    request: Request, register: Kept, reader: Asks, key: str,
    start: From = "", end: To = "", channel: Channels = None, as_: As = "", width: Width = 1180,
) -> Response:  # fmt: skip
    """Show a window: channels, what is told of them; `as=svg` gives its picture, `as=file` its paper."""
    asked = _asked(register, key, start, end, channel)
    view = window_view(register, logs_folder(register), key, asked, reader.units, DRAWN)
    station = head_of(register, key, reader.units)
    picture = picture_of(view, station.name, reader.units.decimal)
    if as_ == "svg":
        drawn = draw_logger(picture, screen(embed=True), width)
        return Response(drawn, media_type="image/svg+xml")
    if as_ == "file":
        paper = window_paper(view, picture, station.name, today())
        return file_of(_name(key, "pdf", asked), "application/pdf", paper)
    drawn_at = [(wide, _drawn(register, reader, key, asked, station.name, wide)) for wide in WIDTHS]
    page = SeenPage(station=station, window=view)
    names = [one.name for one in view.channels]
    return answer(
        request, "logs/see.html", page, drawings=drawn_at, query=_query(asked.start, asked.end, names),
        moves=_moves(asked, names), names=json.dumps(names), decimal=reader.units.decimal,
    )  # fmt: skip


def drawn_about(register: Register, reader: Reader, key: str, query: str, name: str) -> list[Markup]:
    """Return the picture of a window at each width; query: its address as pages give it."""
    asked = dict(parse_qsl(query))
    found = _asked(register, key, asked.get("start", ""), asked.get("end", ""), None)
    return [_drawn(register, reader, key, found, name, wide) for wide in WIDTHS]


def _drawn(register: Register, reader: Reader, key: str, asked: Window, name: str, wide: int) -> Markup:
    """Return the picture of a window for a width, with no more strokes than that shows."""
    most = min(DRAWN, max(FEWEST, int(wide * STROKES)))
    view = window_view(register, logs_folder(register), key, asked, reader.units, most)
    picture = picture_of(view, name, reader.units.decimal)
    return Markup(draw_logger(picture, screen(), wide))


def _query(start: int, end: int, names: list[str]) -> str:
    ends = [("start", iso(start)), ("end", iso(end))]
    return urlencode([*ends, *(("channel", name) for name in names)])


def _moves(asked: Window, names: list[str]) -> list[tuple[str, str, str]]:
    """Return name, words and query of the moves that links offer."""
    half, middle = (asked.end - asked.start) // 2, (asked.start + asked.end) // 2
    spans = (
        ("earlier", "Go earlier", asked.start - half, asked.end - half),
        ("later", "Go later", asked.start + half, asked.end + half),
        ("closer", "Look closer", middle - half // 2, middle + half // 2 + 1),
        ("wider", "Look wider", middle - 2 * half, middle + 2 * half),
        ("all", "Show all", asked.first, asked.last + 1_000_000),
    )
    return [(name, words, _query(start, end, names)) for name, words, start, end in spans]


@router.get("/stations/{key}/logs/window", responses={200: {"model": WindowView}})
def buckets(
    register: Kept, reader: Asks, key: str, start: From = "", end: To = "", channel: Channels = None,
    most: int = MOST,
) -> Response:  # fmt: skip
    """Give a window in buckets with least and most, gaps, how they stand, and what is told of it."""
    asked = _asked(register, key, start, end, channel)
    view = window_view(register, logs_folder(register), key, asked, reader.units, most)
    return Response(view.model_dump_json(), media_type="application/json")


@router.get(
    "/stations/{key}/logs/year",
    responses={200: {"model": YearPage, "content": {"application/pdf": {}, "image/svg+xml": {}}}},
)
def year(
    request: Request, register: Kept, reader: Asks, key: str,
    start: Annotated[str, Query(max_length=10, description="First day; empty: the last year.")] = "",
    channel: Annotated[str, Query(max_length=200)] = "", as_: As = "", width: Width = 1180,
) -> Response:  # fmt: skip
    """Show a year by day and hour: in the band, above, below, not seen; `as=svg`, `as=file`: as a window."""
    view = year_view(register, logs_folder(register), key, _day(start), channel, reader.units)
    station = head_of(register, key, reader.units)
    picture = year_picture(view, station.name)
    if as_ == "svg":
        return Response(draw_year(picture, screen(embed=True), width), media_type="image/svg+xml")
    if as_ == "file":
        paper = year_paper(view, picture, station.name, today())
        return file_of(f"{key}-year-{view.start}.pdf", "application/pdf", paper)
    drawn_at = [(wide, Markup(draw_year(picture, screen(), wide))) for wide in WIDTHS]
    page = YearPage(station=station, year=view)
    return answer(request, "logs/year.html", page, drawings=drawn_at)


def _day(typed: str) -> date | None:
    if not typed.strip():
        return None
    try:
        day = date.fromisoformat(typed.strip())
    except ValueError:
        day = date.min
    if not 1970 <= day.year <= 2200:
        raise InputError(
            "start", f"got {typed!r:.40}, which is no day from 1970 to 2200.", "Write 2027-01-01."
        )
    return day


@router.get("/stations/{key}/logs/rows", responses={200: {"model": RowsOf}})
def rows(
    request: Request, register: Kept, reader: Asks, key: str,
    channel: Annotated[str, Query(max_length=200)] = "", start: From = "",
) -> Response:  # fmt: skip
    """Show the rows of one channel from a time on: value, standing, and row of which file."""
    found = rows_page(
        register, logs_folder(register), key, channel, _micros("start", start), reader.units
    )  # fmt: skip
    page = RowsOf(station=head_of(register, key, reader.units), rows=found)
    return answer(request, "logs/rows.html", page)


@router.get("/stations/{key}/logs/moment", responses={200: {"model": MomentView}})
def at_moment(register: Kept, key: str, at: From, channel: Channels = None) -> Response:
    """Give the last sample of each channel up to a moment: value, standing, row."""
    when = _micros("at", at)
    if when is None:
        raise InputError("at", "is empty.", "Write 2027-03-06T12:00.")
    view = moment_view(register, logs_folder(register), key, when, channel or ())
    return Response(view.model_dump_json(), media_type="application/json")


@router.get("/stations/{key}/logs/export", response_class=Response)
def export(
    register: Kept, reader: Asks, key: str, start: From = "", end: To = "", channel: Channels = None,
    as_: Annotated[str, Query(alias="as", max_length=10, description="csv or parquet.")] = "csv",
) -> Response:  # fmt: skip
    """Give a window out as CSV or Parquet: values as stated, logger's marks, standing, rows."""
    asked = _asked(register, key, start, end, channel)
    logs = logs_folder(register)
    if as_ == "csv":
        pieces = _begun(csv_pieces(register, logs, key, asked))
        headers = headers_of(_name(key, "csv", asked))
        return StreamingResponse(pieces, media_type="text/csv; charset=utf-8", headers=headers)
    if as_ != "parquet":
        raise InputError("as", f"got {as_!r:.20}.", "Write csv or parquet.")
    with tempfile.NamedTemporaryFile(prefix="steadyhead-export-", suffix=".parquet", delete=False) as out:
        path = Path(out.name)
    try:
        parquet_file(register, logs, key, asked, path)
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return StreamingResponse(
        _blocks(path), media_type="application/vnd.apache.parquet",
        headers=headers_of(_name(key, "parquet", asked)),
        background=BackgroundTask(path.unlink, missing_ok=True),
    )  # fmt: skip


def _begun(pieces: Iterator[bytes]) -> Iterator[bytes]:
    """Return pieces of which the first is made now: what is wrong is said before anything is sent."""
    first = next(pieces)

    def every() -> Iterator[bytes]:
        yield first
        yield from pieces

    return every()


def _blocks(path: Path) -> Iterator[bytes]:
    with path.open("rb") as source:
        while block := source.read(1 << 20):
            yield block
