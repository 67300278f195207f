"""The closing-time study as a page: highest pressures over the time, and the window through them."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter
from sqlalchemy import Connection

from steadyhead.records.closing import ClosingPicture, ClosingSweep
from steadyhead.register import Register
from steadyhead.services.stations.head import StationHead
from steadyhead.services.studies.kept import StudyRow, content_of
from steadyhead.services.studies.proof import WindowView, window_of
from steadyhead.services.studies.shown import (
    DESK,
    PHONE,
    TABLET,
    Frozen,
    Picture,
    StudyHead,
    first_look,
    heads_of,
    one_of,
    piece,
    study_parts,
)
from steadyhead.units import METRIC, UnitSet, bare, say

SIDES = {
    "inlet": "Supply main", "between": "Between the valves", "outlet": "Outlet", "consumer": "Consumers",
}  # fmt: skip
NOT_COVERED = (
    "Bound by the model of the protection proof. The trip is run at its upper edge. Closing times are by "
    "stopwatch in the state of the site test; a needle that is turned is timed again. What opens an empty "
    "window is worked out with the protection proof."
)
_SWEEPS: TypeAdapter[tuple[ClosingSweep, ...]] = TypeAdapter(tuple[ClosingSweep, ...])


class SweptRow(Frozen):
    """One closing time: what each side sees, in the order of the heads, and whether a column parts."""

    time_s: float
    cells: tuple[str, ...]
    parts: bool


class SweptView(Frozen):
    """One way through the station. heads, rows: the table; limits: what bears how much, in words."""

    way: str
    shut_off: str
    stopwatch_s: float
    runs: int
    picture: Picture
    window: WindowView
    heads: tuple[str, ...]
    rows: tuple[SweptRow, ...]
    limits: tuple[str, ...]


class ClosingView(Frozen):
    """A closing-time study."""

    station: StationHead
    study: StudyHead
    unit: str
    ways: tuple[SweptView, ...]
    refused: tuple[str, ...]
    not_covered: str = NOT_COVERED


def closing_view(
    register: Register, connection: Connection, row: StudyRow, today_canonical: str, units: UnitSet = METRIC
) -> ClosingView:
    """Return a closing-time study as a page."""
    made = _made(register, row, units)
    return ClosingView(
        **heads_of(register, connection, row, today_canonical, units),
        unit=units.heading("pressure"),
        ways=tuple(SweptView.model_validate(one) for one in made["ways"]),
        refused=tuple(made["refused"]),
    )


def prepare(register: Register, key: str, study: str, units: UnitSet = METRIC) -> None:
    """Make the page of a study ready."""
    first_look(register, key, study, units, _made)


def closing_svg(register: Register, row: StudyRow, way: int, units: UnitSet, width: int) -> str:
    """Return one way as a drawing that stands alone.

    Raises
    ------
    NotKept
        No way of that number.
    """
    from steadyhead.drawings.closing import draw_closing
    from steadyhead.drawings.palette import screen

    told = content_of(register, row.content)
    return draw_closing(one_of(_pictures(told, units), way), screen(embed=True), float(width))


def _made(register: Register, row: StudyRow, units: UnitSet) -> dict[str, Any]:
    parts = study_parts(row, units)

    def make() -> dict[str, Any]:
        told = content_of(register, row.content)
        return {
            "ways": [_way(picture, units) for picture in _pictures(told, units)],
            "refused": told["refused"],
        }

    return piece(register, row.station, "closing", parts, make)


def _pictures(told: dict[str, Any], units: UnitSet) -> list[ClosingPicture]:
    who = told["station"]
    return [
        ClosingPicture(who["name"], who["datum_m"], sweep, units)
        for sweep in _SWEEPS.validate_python(told["sweeps"])
    ]


def _way(picture: ClosingPicture, units: UnitSet) -> dict[str, Any]:
    from steadyhead.drawings.closing import draw_closing
    from steadyhead.drawings.closing_facts import closing_text
    from steadyhead.drawings.palette import screen
    from steadyhead.reports.protection_tables import window_words

    sweep = picture.sweep
    shown = [side for side in SIDES if any(point.peak(side) for point in sweep.points)]  # type: ignore[arg-type]
    heads, limits = [], []
    for side in shown:
        heads += [SIDES[side], "thrown back"] if side in ("outlet", "consumer") else [SIDES[side]]
        first = next(one for point in sweep.points for one in point.peaks if one.side == side)
        if first.limit is not None:
            limits.append(f"{SIDES[side]}: {first.component} bears {say(first.limit, 'pressure', units)}")
    rows = [
        {"time_s": point.time, "cells": _cells(point, shown, units), "parts": point.parts}
        for point in sweep.points
    ]
    return {
        "way": sweep.words, "shut_off": sweep.shut_off, "stopwatch_s": sweep.stopwatch, "runs": sweep.runs,
        "picture": {
            "words": closing_text(picture),
            "desk": draw_closing(picture, screen(), DESK),
            "tablet": draw_closing(picture, screen(), TABLET),
            "phone": draw_closing(picture, screen(), PHONE),
        },
        "window": window_of(sweep, window_words(sweep.window, units)),
        "heads": heads, "rows": rows, "limits": limits,
    }  # fmt: skip


def _cells(point: Any, shown: list[str], units: UnitSet) -> list[str]:
    cells = []
    for side in shown:
        one = point.peak(side)
        cells.append("–" if one is None else bare(one.peak, "pressure", units))
        if side in ("outlet", "consumer"):
            thrown = None if one is None else one.rebound
            cells.append("–" if thrown is None else bare(thrown, "pressure", units))
    return cells
