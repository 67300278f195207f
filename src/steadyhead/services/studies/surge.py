"""One surge study as a page: a line for each event, one run in words and as a drawing, its table."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection

from steadyhead.errors import InputError
from steadyhead.records.pictures import SurgePicture
from steadyhead.records.surge import SurgeRun
from steadyhead.register import Register
from steadyhead.services.stations.head import StationHead
from steadyhead.services.stations.judged import FindingView
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.studies.columns import unpack
from steadyhead.services.studies.kept import StudyRow, content_of, read_findings
from steadyhead.services.studies.shown import (
    DESK,
    PHONE,
    TABLET,
    Frozen,
    Picture,
    StudyHead,
    findings_of,
    first_look,
    heads_of,
    one_of,
    piece,
    read_views,
    study_parts,
)
from steadyhead.services.studies.twin import BY_FILE
from steadyhead.units import METRIC, UnitSet

NOT_COVERED = (
    "Not covered: air in the mains, more than one supply main, pumps that start or stop, pipes that move, "
    "and what a cavity does when it falls in."
)


class RunRow(Frozen):
    """One event of a study, or one run of it, as a row.

    Parameters
    ----------
    run
        Number of the run that is its verdict.
    event, of, happens, way, of_many
        Its name, the event it is a run of, what happens, on which way, and of how many runs it is the worst.
    cells
        As the heads of the table say.
    verdict, mark
        How it stands to its limits.
    peak_pa_at_datum, limit_pa_at_datum
        What the component nearest its limit sees and bears; None: no limit is stated.
    """

    run: int
    event: str
    of: str
    happens: str
    way: str
    of_many: int
    cells: tuple[str, ...]
    verdict: str
    mark: str
    peak_pa_at_datum: float | None
    limit_pa_at_datum: float | None


class SurgeStudyView(Frozen):
    """A surge study.

    Parameters
    ----------
    station, study
        Heads of both.
    heads, rows
        The events, a row each, by way.
    run, words, picture
        The run that is shown, in words and as a drawing.
    chances_way
        Id of the way on which it can be run within the tolerances; None: not on all streams together, and not
        as measured.
    twin
        Which values it goes by, in words.
    findings
        Of all runs.
    """

    station: StationHead
    study: StudyHead
    heads: tuple[str, ...]
    rows: tuple[RunRow, ...]
    run: RunRow
    words: str
    picture: Picture
    chances_way: str | None
    twin: str
    findings: tuple[FindingView, ...]
    not_covered: str = NOT_COVERED


MARKS = {
    "inside": "holds", "no limit": "unknown", "no verdict": "unknown", "exceeded": "struck",
    "thrown back over it": "struck", "exceeded before": "slipped",
}  # fmt: skip


def surge_study_view(
    register: Register,
    connection: Connection,
    row: StudyRow,
    today_canonical: str,
    units: UnitSet = METRIC,
    run: int | None = None,
) -> SurgeStudyView:
    """Return a surge study as a page.

    run: number of the run that is shown; None: the worst.

    Raises
    ------
    NotKept
        No run of that number.
    """
    made = _rows(register, row, units)
    wanted = made["worst"] if run is None else run
    rows = tuple(RunRow.model_validate(one) for one in made["rows"])
    shown = [one for one in made["all"] if one["run"] == wanted]
    if not shown:
        raise NotKept("run", f"{wanted} is not in this study.", "See its table.")
    told = _run(register, row, wanted, units)
    ways = made["ways"]
    return SurgeStudyView(
        **heads_of(register, connection, row, today_canonical, units),
        heads=tuple(made["heads"]),
        rows=rows,
        run=RunRow.model_validate(shown[0]),
        words=told["words"],
        picture=Picture(words=told["alt"], desk=told["desk"], tablet=told["tablet"], phone=told["phone"]),
        chances_way=None if made["twin"] else ways.get(shown[0]["way"]),
        twin=made["twin"] or BY_FILE,
        findings=read_views(made["findings"]),
    )


def prepare(register: Register, key: str, study: str, units: UnitSet = METRIC) -> None:
    """Make the first look at a study ready."""
    first_look(register, key, study, units, _worst)


def _worst(register: Register, row: StudyRow, units: UnitSet) -> None:
    _run(register, row, _rows(register, row, units)["worst"], units)


def surge_svg(register: Register, row: StudyRow, run: int | None, units: UnitSet, width: int) -> str:
    """Return one run as a drawing that stands alone; the worst where none is named."""
    from steadyhead.drawings.palette import screen
    from steadyhead.drawings.surge import draw_surge

    number = _rows(register, row, units)["worst"] if run is None else run
    parts = study_parts(row, units) | {"run": str(number), "width": str(width)}

    def make() -> dict[str, Any]:
        return {"svg": draw_surge(_picture(register, row, number, units), screen(embed=True), float(width))}

    return str(piece(register, row.station, "surge file", parts, make)["svg"])


def surge_table(register: Register, row: StudyRow, run: int | None, units: UnitSet) -> tuple[str, str]:
    """Return the name of one run and its trace as a table."""
    from steadyhead.services.surge import surge_csv

    number = _rows(register, row, units)["worst"] if run is None else run
    found = run_of(register, row, number)
    return found.event, surge_csv(found, units)


def run_of(register: Register, row: StudyRow, number: int) -> SurgeRun:
    """Return one run of a study.

    Raises
    ------
    NotKept
        No run of that number.
    """
    told = content_of(register, row.content)
    one_of(told["runs"], number)
    columns = register.content(row.columns)
    if columns is None:
        raise InputError("study", "has traces that are not kept here.", "Verify the register.")
    return unpack(told["runs"], columns, number)[0]


def _rows(register: Register, row: StudyRow, units: UnitSet) -> dict[str, Any]:
    """Return the table of a study and its findings, in a reader's units."""

    def make() -> dict[str, Any]:
        from steadyhead.services.studies.surge_rows import HEADS

        told = content_of(register, row.content)
        columns = register.content(row.columns) or b""
        runs = unpack(told["runs"], columns)
        unit = "/".join(one.unit("pressure") for one in units.each("pressure"))
        pressures = ("sees", "bears", "lowest")
        heads = [f"{head}, {unit}" if head in pressures else head for head in HEADS[1:-1]]
        many = {events[0]: len(events) for events in told["events"]}
        order = [number for events in told["events"] for number in events]
        return {
            "heads": heads,
            "rows": [_row(runs[n], n, many[n], units) for n in many],
            "all": [_row(runs[n], n, many.get(n, 1), units) for n in order],
            "worst": told["worst"],
            "twin": told.get("twin", ""),
            "ways": _ways(told, runs),
            "findings": findings_of(read_findings(told["findings"]), units),
        }

    return piece(register, row.station, "surge rows", study_parts(row, units), make)


def _ways(told: dict[str, Any], runs: tuple[SurgeRun, ...]) -> dict[str, str]:
    """Return the ids of ways by their words, without that of all streams together."""
    found = dict(told.get("ways", {}))
    return {run.way: found[run.way] for run in runs if run.way in found}


def _row(run: SurgeRun, number: int, of_many: int, units: UnitSet) -> dict[str, Any]:
    from steadyhead.services.studies.surge_rows import cells

    told = cells(run, run.event, units)
    near = run.nearest
    return {
        "run": number, "event": run.event, "of": run.group, "happens": run.happens, "way": run.way,
        "of_many": of_many, "cells": told[1:-1], "verdict": told[-1], "mark": _mark(told[-1]),
        "peak_pa_at_datum": None if near is None else near.sees_at_datum,
        "limit_pa_at_datum": None if near is None else near.limit_at_datum,
    }  # fmt: skip


def _mark(verdict: str) -> str:
    return MARKS.get(verdict, "slipped")


def _run(register: Register, row: StudyRow, number: int, units: UnitSet) -> dict[str, Any]:
    """Return one run in words and as a drawing, in a reader's units."""

    def make() -> dict[str, Any]:
        from steadyhead.drawings.palette import screen
        from steadyhead.drawings.surge import draw_surge
        from steadyhead.drawings.surge_facts import surge_text
        from steadyhead.services.studies.surge_words import PAGE, run_words

        picture = _picture(register, row, number, units)
        return {
            "words": run_words(picture.run, units, PAGE),
            "alt": surge_text(picture),
            "desk": draw_surge(picture, screen(), DESK),
            "tablet": draw_surge(picture, screen(), TABLET),
            "phone": draw_surge(picture, screen(), PHONE),
        }

    return piece(register, row.station, "surge run", study_parts(row, units) | {"run": str(number)}, make)


def _picture(register: Register, row: StudyRow, number: int, units: UnitSet) -> SurgePicture:
    told = content_of(register, row.content)
    who, twin = told["station"], told.get("twin", "")
    return SurgePicture(
        f"{who['name']}, {twin}" if twin else who["name"],
        who["datum_m"],
        run_of(register, row, number),
        units=units,
    )
