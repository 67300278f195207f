"""Papers of logger data: a window, a year."""

from __future__ import annotations

from datetime import date

from steadyhead import __version__
from steadyhead.drawings import PAPER_WIDTH, paper
from steadyhead.drawings.logger import draw_logger, says
from steadyhead.drawings.logger_year import draw_year
from steadyhead.records.logger_pictures import LoggerPicture, YearPicture
from steadyhead.reports import logger_sheet as report
from steadyhead.reports.paper import Drawing
from steadyhead.services.logs.incident_paper import shown
from steadyhead.services.logs.seen import WindowView, said
from steadyhead.services.logs.year import YearView


def window_paper(view: WindowView, picture: LoggerPicture, name: str, day: date) -> bytes:
    """Return a window as a PDF: its picture, and what is told of it. name: of the station."""
    sheet = report.LoggerSheet(
        key=view.station,
        name=name,
        title="Logger data",
        head=(f"{shown(view.start)} to", f"{shown(view.end)} UTC"),
        drawing=Drawing(draw_logger(picture, paper(), PAPER_WIDTH), says(picture)),
        words=(view.words,),
        told=[
            report.TellingLine(
                str(one.number), shown(one.start), f"{one.code.capitalize()}: {one.words}", one.confidence
            )
            for one in view.told
        ],
        more=f"{view.told_more} more are not listed: choose a shorter window." if view.told_more else "",
    )
    return report.pdf(sheet, day=day, version=__version__)


def year_paper(view: YearView, picture: YearPicture, name: str, day: date) -> bytes:
    """Return a year at a glance as a PDF. name: of the station."""
    sheet = report.LoggerSheet(
        key=view.station,
        name=name,
        title="A year at a glance",
        head=(said(f"{view.start} to {view.end}"), "days and hours are UTC"),
        drawing=Drawing(draw_year(picture, paper(), PAPER_WIDTH), " ".join(view.words)),
        words=(),
    )
    return report.pdf(sheet, day=day, version=__version__)
