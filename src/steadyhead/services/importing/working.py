"""Reading, importing and undoing as work in a process apart; see `services.works`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from steadyhead.errors import InputError
from steadyhead.register import open_register
from steadyhead.services.importing.desk import desk_of, put_report, rows_of
from steadyhead.services.importing.reporting import report
from steadyhead.services.importing.writing import undo, write
from steadyhead.work import Cancel, Progress


def report_work(
    place: str, who: str, asked: Mapping[str, Any], progress: Progress, cancel: Cancel
) -> Mapping[str, Any]:
    """Read every row, and lay on the desk what would become of each."""
    register = open_register(place)
    try:
        desk = desk_of(register, asked["desk"])
        beside = desk.ready.with_suffix(".new")
        rows = list(report(register, desk.sheet(), desk.filler(), beside, progress, cancel))
        beside.replace(desk.ready)
        put_report(desk, rows)
    finally:
        register.close()
    return {"rows": len(rows)}


def import_work(
    place: str, who: str, asked: Mapping[str, Any], progress: Progress, cancel: Cancel
) -> Mapping[str, Any]:
    """Write what the report made ready: all of it, or only the rows that can be read where that was said."""
    register = open_register(place)
    try:
        desk = desk_of(register, asked["desk"])
        rows = rows_of(desk)
        refused = sum(one.state == "refused" for one in rows)
        if refused and asked.get("only") != "good":
            raise InputError(
                "import", f"is not begun: {refused} rows are refused.",
                "Put them right in the spreadsheet, or say that only the others are to be imported.",
            )  # fmt: skip
        found = write(
            register,
            desk.ready,
            desk.file,
            who,
            total=sum(one.state in ("new", "changed") for one in rows),
            left_out=refused,
            progress=progress,
            cancel=cancel,
        )
    finally:
        register.close()
    desk.put("result", asdict(found))
    return asdict(found)


def undo_work(
    place: str, who: str, asked: Mapping[str, Any], progress: Progress, cancel: Cancel
) -> Mapping[str, Any]:
    """Bring back what an import changed."""
    register = open_register(place)
    try:
        return asdict(undo(register, asked["import"], who, progress, cancel))
    finally:
        register.close()
