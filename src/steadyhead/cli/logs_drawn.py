"""What ``steadyhead logs draw`` does once its words are parsed, and how it is printed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from steadyhead.cli.commands import units_for, write_pdf
from steadyhead.cli.logs_text import FINE, opened
from steadyhead.cli.progress import watched
from steadyhead.cli.showing import paragraph, show_json
from steadyhead.cli.streams import put_file
from steadyhead.errors import InputError
from steadyhead.services.stations.days import today
from steadyhead.units import METRIC

if TYPE_CHECKING:
    from steadyhead.register import Register
    from steadyhead.register.logs import LogsFolder
    from steadyhead.services.logs.seen import WindowView

WIDTH = 1180.0
"""Width of a picture that stands alone. [px]"""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is drawn of a station, and where to: files for picture, paper, rows; empty for none.

    units: a choice as typed; rows stay as their files state them, and JSON in metric units.
    """

    station: str
    span: tuple[str, str]
    channels: tuple[str, ...]
    is_year: bool
    svg: str
    pdf: str
    csv: str
    parquet: str
    units: str = ""


def do_draw(asked: Asked, where: tuple[str, str], json: bool) -> int:
    """Draw a window of a station's logger data, or a year at a glance; give its rows out."""
    with opened(*where) as (register, logs), watched():
        if asked.is_year:
            return _year(asked, register, logs, json)
        return _window(asked, register, logs, json)


def _window(asked: Asked, register: Register, logs: LogsFolder, json: bool) -> int:
    from steadyhead.drawings.logger import draw_logger
    from steadyhead.drawings.palette import screen
    from steadyhead.services.logs.giving import csv_pieces, parquet_file
    from steadyhead.services.logs.seen import picture_of, window, window_view
    from steadyhead.services.logs.sheets import window_paper

    start, end = (_micros(name, typed) for name, typed in zip(("--from", "--to"), asked.span, strict=True))
    one = window(register, asked.station, start, end, asked.channels)
    units = units_for(asked.units)
    view = window_view(register, logs, asked.station, one, units)
    name = _name(register, asked.station)
    picture = picture_of(view, name, units.decimal)
    if asked.svg:
        _write(asked.svg, draw_logger(picture, screen(embed=True), WIDTH).encode())
    if asked.pdf:
        write_pdf("Logger data", asked.pdf, window_paper(view, picture, name, today()), "-")
    if asked.csv:
        _write(asked.csv, csv_pieces(register, logs, asked.station, one))
    if asked.parquet:
        parquet_file(register, logs, asked.station, one, Path(asked.parquet))
    if json:
        show_json(window_view(register, logs, asked.station, one, METRIC).model_dump(mode="json"))
    else:
        put_file("\n".join(_lines(view)) + "\n")
    return FINE


def _year(asked: Asked, register: Register, logs: LogsFolder, json: bool) -> int:
    from steadyhead.drawings.logger_year import draw_year
    from steadyhead.drawings.palette import screen
    from steadyhead.services.logs.sheets import year_paper
    from steadyhead.services.logs.year import year_picture, year_view

    if asked.csv or asked.parquet:
        raise InputError("--year", "gives no rows out.", "Leave --year out for rows.")
    first = _micros("--from", asked.span[0])
    day = None if first is None else date.fromordinal(date(1970, 1, 1).toordinal() + first // 86_400_000_000)
    channel = next(iter(asked.channels), "")
    view = year_view(register, logs, asked.station, day, channel, units_for(asked.units))
    name = _name(register, asked.station)
    picture = year_picture(view, name)
    if asked.svg:
        _write(asked.svg, draw_year(picture, screen(embed=True), WIDTH).encode())
    if asked.pdf:
        write_pdf("A year at a glance", asked.pdf, year_paper(view, picture, name, today()), "-")
    if json:
        show_json(year_view(register, logs, asked.station, day, channel, METRIC).model_dump(mode="json"))
    else:
        put_file("\n".join(paragraph(words, 2, "") for words in view.words) + "\n")
    return FINE


def _micros(name: str, typed: str) -> int | None:
    from steadyhead.services.logs.times import moment

    when = moment(name, typed)
    return None if not isinstance(when, datetime) else round(when.timestamp() * 1e6)


def _name(register: Register, key: str) -> str:
    from steadyhead.services.logs.page import head_of

    return head_of(register, key).name


def _write(place: str, content: bytes | Iterator[bytes]) -> None:
    pieces: Sequence[bytes] | Iterator[bytes] = [content] if isinstance(content, bytes) else content
    try:
        with Path(place).open("wb") as out:
            for piece in pieces:
                out.write(piece)
    except OSError as problem:
        reason = problem.strerror or "the name cannot be used"
        raise InputError(
            place, f"cannot be written: {reason}.", "Name a file in a folder that is there."
        ) from None


def _lines(view: WindowView) -> Iterator[str]:
    yield paragraph(view.words)
    yield paragraph(view.judged)
    for one in view.told:
        kind = "" if one.kind == "event" else "defect of the data, "
        yield paragraph(f"{one.number}. {one.start} to {one.end}: {kind}{one.code}. {one.words}", 4, "")
    if view.told_more:
        yield paragraph(f"{view.told_more} more are not listed: choose a shorter window.")
