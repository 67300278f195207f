"""What an import would do, told row by row before anything is written."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import Any, Literal

from sqlalchemy import func, select

from steadyhead.errors import InputError, InputErrors
from steadyhead.findings import Severity
from steadyhead.register import Register, tables
from steadyhead.services.importing.filling import Filler, Typed
from steadyhead.services.importing.sheet import Sheet
from steadyhead.services.importing.targets import KEY
from steadyhead.services.stations.judged import judge_at, today
from steadyhead.services.stations.kept import check_new_key, head_in
from steadyhead.services.stations.summary import Summary, summarise, summary_from, summary_plain
from steadyhead.work import Cancel, Progress

State = Literal["new", "changed", "same", "refused"]
_GRAVEST = tuple(one.value for one in Severity)
"""Weights of findings, the gravest first; questions about slips stand ahead of them on a sheet."""
MOST_ROWS = 5
"""Most other rows of one station that are named. Own estimate."""
MOST_PROBLEMS = 12
"""Most problems told of one row. Own estimate."""


@dataclass(frozen=True, slots=True)
class RowReport:
    """What becomes of one row.

    Parameters
    ----------
    row, key, name
        Its number in the table program, and which station it is.
    state
        What it would do.
    problems
        (field, what was got, remedy) of a refused row.
    severity, finding
        Weight and words of the most serious finding of the file it makes; empty: none.
    left
        What a new station takes from the template because the row's cell is empty.
    """

    row: int
    key: str
    name: str
    state: State
    problems: tuple[tuple[str, str, str], ...] = ()
    severity: str = ""
    finding: str = ""
    left: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Ready:
    """A row's file, read and judged, waiting to be written. based_on: revision it was made from; 0: new."""

    row: int
    key: str
    based_on: int
    text: str
    told: str
    facts: Mapping[str, Any]

    @property
    def source(self) -> bytes:
        """The file's bytes."""
        return self.text.encode()

    @property
    def canonical(self) -> bytes:
        """Canonical JSON of what it holds."""
        return self.told.encode()

    @property
    def summary(self) -> Summary:
        """What the list needs of it."""
        return summary_from(dict(self.facts))


class Stopped(InputError):
    """Somebody stopped it; nothing was written."""


def report(
    register: Register,
    sheet: Sheet,
    filler: Filler,
    out: Path,
    progress: Progress,
    cancel: Cancel,
    day: date | None = None,
) -> Iterator[RowReport]:
    """Yield what becomes of each row; what would be written goes to `out`, one JSON line each.

    Raises
    ------
    Stopped
        `cancel` said so.
    """
    rows = [(number, cells) for number, cells in sheet.rows if number > filler.mapping.heading_row]
    taken = _taken(filler, rows)
    with out.open("w", encoding="utf-8") as target:
        for done, (number, cells) in enumerate(rows, 1):
            told, ready = _row(register, filler, number, cells, taken, day or today())
            if ready is not None:
                target.write(json.dumps(asdict(ready), ensure_ascii=False) + "\n")
            yield told
            progress(done, len(rows), "rows")
            if cancel():
                raise Stopped("import", "was stopped.", "Nothing was written.")


def _taken(filler: Filler, rows: Sequence[tuple[int, Any]]) -> Mapping[str, list[int]]:
    """Return the rows of each station by its id, in small letters: nobody knows which is meant."""
    found: dict[str, list[int]] = {}
    for number, cells in rows:
        key = _said(filler, cells, KEY).casefold()
        if key:
            found.setdefault(key, []).append(number)
    return found


def _row(
    register: Register, filler: Filler, number: int, cells: Any, taken: Mapping[str, list[int]], day: date
) -> tuple[RowReport, Ready | None]:
    key, name = (_said(filler, cells, at) for at in (KEY, "station.name"))
    try:
        typed = filler.typed(cells)
        said = {filler.mapping.columns[at].at: one.value for at, one in typed.items()}
        key, name = str(said.get(KEY, "")), str(said.get("station.name", ""))
        if not key:
            raise InputError(KEY, "is empty.", "Write which station this row is, or clear the row.")
        others = [one for one in taken.get(key.casefold(), ()) if one != number]
        if others:
            rows = f"row{'s' if len(others) > 1 else ''} {', '.join(map(str, others[:MOST_ROWS]))}"
            more = f" and {len(others) - MOST_ROWS} more" if len(others) > MOST_ROWS else ""
            problem = f"got {key!r:.40} in row {number} and in {rows}{more}."
            raise InputError(KEY, problem, "Let one row be this station.")
        return _made(register, filler, number, key, name, typed, day)
    except InputErrors as errors:
        problems = errors.errors
    except InputError as error:
        problems = (error,)
    told = tuple((one.field, one.problem, one.remedy) for one in problems[:MOST_PROBLEMS])
    return RowReport(number, key[:40], name[:80], "refused", told), None


def _said(filler: Filler, cells: Any, at: str) -> str:
    """Return what a row says in the column of a field, whether the row can be taken or not."""
    found = next((cells[i] for i, one, _ in filler.columns() if one.at == at and i < len(cells)), "")
    return found if isinstance(found, str) else ""


def _made(
    register: Register,
    filler: Filler,
    number: int,
    key: str,
    name: str,
    typed: Mapping[int, Typed],
    day: date,
) -> tuple[RowReport, Ready | None]:
    """Return what becomes of a row whose cells can be taken.

    Raises
    ------
    InputErrors, InputError
        The file it makes cannot be used.
    """
    based_on, before, is_off = _kept(register, key)
    if before is None:
        source = filler.new(number, typed)
    else:
        source = filler.changed(before, number, typed)
    loaded = judge_at(source, day).loaded
    if loaded.station.station.id != key:
        raise InputError(KEY, f"got {key!r:.40}; the file made of it says another.", "Write it once.")
    summary = summarise(source, day)
    worst = min(summary.findings, key=lambda one: _GRAVEST.index(one.severity), default=None)
    state: State = "new" if before is None else "same" if source == before and not is_off else "changed"
    told = RowReport(
        number, key, name or summary.name, state,
        severity=worst.severity if worst else "", finding=f"{worst.title} ({worst.code})" if worst else "",
        left=filler.left_to_the_template(typed) if before is None else (),
    )  # fmt: skip
    if state == "same":
        return told, None
    return told, Ready(
        number, key, based_on, source.decode(), loaded.canonical.decode(), summary_plain(summary)
    )


def _kept(register: Register, key: str) -> tuple[int, bytes | None, bool]:
    """Return number and bytes of a station's last revision, and whether it is off the list; 0: not kept.

    Raises
    ------
    InputError
        A station is kept whose key people would take for this one, or no new one can have it.
    """
    one = tables.station.c
    with register.reading() as connection:
        there = connection.execute(select(one.key).where(func.lower(one.key) == key.lower())).scalar()
        if there is None:
            check_new_key(key)
            return 0, None, False
        if there != key:
            raise InputError(KEY, f"got {key!r}; {there} is kept here.", f"Write {there}, or another id.")
        head = head_in(connection, key)
        struck = connection.execute(select(one.struck).where(one.key == key)).scalar()
        return head.number, head.source, bool(struck)
