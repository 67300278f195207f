"""The list of all stations: find, filter, sort."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import StreamingResponse
from markupsafe import Markup

from steadyhead.drawings.station_row import STEP, TOP, row_key, row_rule, row_shapes
from steadyhead.register import Register
from steadyhead.services.exports.cells import lines
from steadyhead.services.exports.files import MEDIA
from steadyhead.services.stations.listing import (
    COLUMNS,
    LONGEST_FIND,
    SHOWS,
    SORTS,
    By,
    Drawn,
    ListedStation,
    Show,
    StationsView,
    listed,
    rows_listed,
)
from steadyhead.services.stations.situation import say_day
from steadyhead.units import UnitSet, format_value, from_si
from steadyhead.web.answering import answer
from steadyhead.web.reader import Asks, Kept

router = APIRouter()

GROUPS = {"needs": "Need somebody", "heed": "Something to decide", "order": "In order"}
Q = Annotated[str, Query(max_length=4 * LONGEST_FIND, description="Words that must all be found.")]
From = Annotated[str, Query(alias="from", max_length=60, description="Key the page begins with.")]
To = Annotated[str, Query(alias="to", max_length=60, description="Key the page ends before.")]


@router.get("/", include_in_schema=False)
def home() -> Response:
    """Lead to the list."""
    return Response(status_code=303, headers={"location": "/stations"})


@router.get("/stations", responses={200: {"model": StationsView}})
def stations(
    request: Request,
    reader: Asks,
    register: Kept,
    q: Q = "",
    show: Show = "all",
    by: By = "need",
    begin: From = "",
    until: To = "",
) -> Response:
    """List the stations: find by words, filter, sort, turn the page by key; the whole list with `as=csv`."""
    if request.query_params.get("as") == "csv":
        return _table(register, q, show, by)
    view, drawn = listed(register, q, show, by, begin, until)
    return answer(
        request,
        "stations/list.html",
        view,
        groups=_groups(view, drawn, reader.units),
        at=lambda **changed: _address(view, **changed),
        shows=SHOWS,
        sorts=SORTS,
        rule=_rule(_key(reader.units)),
        shapes=_SHAPES,
        key=_KEY,
        alike=_alike(view.rows),
        day=say_day(view.day),
        say_day=say_day,
    )


def _table(register: Register, q: str, show: Show, by: By) -> Response:
    """Return every station of the list as CSV; a cell that begins like a formula is text."""

    def pieces() -> Iterator[bytes]:
        with register.reading() as connection:
            yield from lines(COLUMNS, rows_listed(connection, q, show, by))

    headers = {"content-disposition": 'attachment; filename="stations.csv"'}
    return StreamingResponse(pieces(), media_type=MEDIA["csv"], headers=headers)


_SHAPES, _KEY = Markup(row_shapes()), Markup(row_key())


def _groups(
    view: StationsView, drawn: tuple[Drawn, ...], units: UnitSet
) -> list[tuple[str, list[tuple[ListedStation, Markup]]]]:
    """Return the rows under their headings; sorted otherwise than by need there is one group.

    Neither are those off the list: nobody is asked to see to them.
    """
    unit, decimal = units.unit("pressure"), units.decimal
    found: list[tuple[str, list[tuple[ListedStation, Markup]]]] = []
    for row, line in zip(view.rows, drawn, strict=True):
        head = GROUPS[row.group] if view.by == "need" and view.show != "off" else ""
        if not found or found[-1][0] != head:
            found.append((head, []))
        svg = line.svg
        for index, pressure in enumerate(line.labels):
            told = format_value(pressure, "pressure", unit, LABEL_DIGITS.get(unit)).replace(".", decimal)
            svg = svg.replace(f"{{{index}}}", told, 1)
        found[-1][1].append((row, Markup(svg)))
    return found


LABEL_DIGITS = {"bar": 1, "psi": 0, "kPa": 0, "MPa": 2, "m head": 0, "ft head": 0}
"""Decimals of a label in a row; the pages of the station tell them all."""


def _key(units: UnitSet) -> tuple[str, str]:
    return units.unit("pressure"), units.decimal


@lru_cache(maxsize=32)
def _rule(key: tuple[str, str]) -> Markup:
    unit, decimal = key
    places = 1 if from_si(TOP, "pressure", unit) < len(range(round(TOP / STEP))) else 0
    figures = [
        f"{from_si(step * STEP, 'pressure', unit):.{places}f}".replace(".", decimal)
        for step in range(round(TOP / STEP) + 1)
    ]
    return Markup(row_rule(figures))


def _address(view: StationsView, **changed: str) -> str:
    """Return the address of the list with something asked for otherwise; pages begin anew then."""
    asked = {"q": view.q, "show": view.show, "by": view.by} | changed
    usual = {"q": "", "show": "all", "by": "need"}
    told = urlencode({name: value for name, value in asked.items() if value != usual.get(name)})
    return f"/stations?{told}" if told else "/stations"


MOST_ALIKE = 3


def _alike(rows: tuple[ListedStation, ...]) -> list[str]:
    """Return the names on this page that are easily taken for each other: those that begin with one word."""
    by_word: dict[str, list[ListedStation]] = {}
    for row in rows:
        word = row.name.partition(" ")[0].casefold()
        if len(word) > 4 and word != row.name.casefold():
            by_word.setdefault(word, []).append(row)
    groups = [found for found in by_word.values() if 1 < len(found) <= 4]
    return [
        " and ".join(f"{row.name} ({row.key})" for row in sorted(found, key=lambda one: one.name))
        for found in groups[:MOST_ALIKE]
    ]
