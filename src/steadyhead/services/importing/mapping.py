"""Which column fills which field: proposed from the headings, chosen by a person, remembered by name."""

from __future__ import annotations

import json
import re
import uuid
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from sqlalchemy import Connection, func, select

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register, tables
from steadyhead.services.importing.sheet import Cell, Sheet, column_letters
from steadyhead.services.importing.targets import KEY, Target
from steadyhead.units.table import find, kinds_with

KEPT = "mapping kept"
"""What the chain calls it."""
LONGEST_NAME = 60
MOST_REMEMBERED = 50
"""Most mappings offered; the last ones. Own estimate."""
ENOUGH = 0.55
"""Least likeness of heading and field for a proposal. Own estimate. [1]"""
ALIKE = 0.8
"""Least share of a mapping's headings that must be there for it to be taken again. Own estimate. [1]"""
MOST_LOOKED_AT = 50
"""Most rows whose units are looked at for a proposal. Own estimate."""
_WITH_UNIT = re.compile(r"^[+-]?\d[\d.,\s]*?\s*([^\d\s.,].{0,11})$")
_BRACKETS = re.compile(r"^(.*?)\s*[\[(]\s*([^()\[\]]{1,20})\s*[\])]\s*$")
_BEHIND = re.compile(r"^(.*?)\s*(?:,|/|\bin\b)\s*([^\s,/]{1,12})$")
_MEANS: Final[Mapping[str, str]] = {
    "minimum": "min", "least": "min", "maximum": "highest", "max": "highest", "usual": "typical",
    "mean": "average", "upstream": "supply", "inlet": "supply", "downstream": "outlet", "reference": "id",
    "key": "id", "code": "id", "no": "id", "nr": "id", "number": "id", "title": "name", "called": "name",
    "lat": "latitude", "lon": "longitude", "long": "longitude", "lng": "longitude", "elevation": "datum",
    "flow": "demand", "consumption": "demand", "diameter": "size", "dn": "size", "district": "zone",
    "area": "zone", "operator": "owner", "notes": "directions", "where": "directions", "danger": "hazards",
    "shutoff": "trip", "trips": "trip", "outlet": "duty", "setting": "duty", "temp": "temperature",
}  # fmt: skip
"""Other words of the trade for words of the file."""
_USUAL: Final[Mapping[str, str]] = {
    "id": KEY, "station": KEY, "station id": KEY, "name": "station.name", "station name": "station.name",
    "zone": "station.zone", "latitude": "station.coordinates.latitude", "datum": "station.datum",
    "longitude": "station.coordinates.longitude", "altitude": "station.altitude",
}  # fmt: skip
"""Headings that mean one field wherever they stand."""


class Column(BaseModel):
    """One column and what it fills. at: the field, empty: none; unit: of bare numbers."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    heading: str = Field(max_length=400)
    at: str = Field("", max_length=120)
    unit: str = Field("", max_length=24)


class ColumnMap(BaseModel):
    """How a spreadsheet is read. heading_row: number of the row of headings, as the table program counts."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    columns: tuple[Column, ...]
    heading_row: int = 1
    decimal: str = "point"


def parted(heading: str) -> tuple[str, str]:
    """Return the words of a heading and the unit in it.

    Examples
    --------
    >>> parted("Inlet, lowest (bar)"), parted("Night flow / L/s"), parted("trip [psi]")
    (('Inlet, lowest', 'bar'), ('Night flow', 'L/s'), ('trip', 'psi'))
    """
    text = " ".join(heading.split())
    found = _BRACKETS.match(text)
    if found and (kinds_with(found[2]) or found[2].casefold() in ("dn", "kv", "cv")):
        return found[1].strip(), found[2].strip()
    for cut in range(len(text)):
        if text[cut] in "/," or text[cut : cut + 4] == " in ":
            words, unit = text[:cut].strip(), text[cut + (4 if text[cut] == " " else 1) :].strip()
            if words and unit and kinds_with(unit):
                return words, unit
    return text, ""


def heading_row(sheet: Sheet) -> int:
    """Return the number of the row that holds the headings, as it seems: the first of mostly words."""
    for number, cells in sheet.rows[:20]:
        words = [one for one in cells if isinstance(one, str) and one and not _is_number(one)]
        if len(words) >= 2 and len(words) >= 0.6 * sum(one != "" for one in cells):
            return number
    return sheet.rows[0][0]


def headings(sheet: Sheet, row: int) -> tuple[str, ...]:
    """Return the headings; a column without one is called by its letters.

    Raises
    ------
    InputError
        No such row.
    """
    cells = next((cells for number, cells in sheet.rows if number == row), None)
    if cells is None:
        raise InputError("heading_row", f"got {row}, a row without a value.", "Give the row of the headings.")
    width = max(len(one) for _, one in sheet.rows)
    return tuple(_heading(cells[at] if at < len(cells) else "", at) for at in range(width))


def _heading(cell: Cell, at: int) -> str:
    return cell[:400] if isinstance(cell, str) and cell else f"column {column_letters(at)}"


def _is_number(text: str) -> bool:
    return re.fullmatch(r"[+-]?[\d.,\s]+", text) is not None


def units_in_cells(sheet: Sheet, row: int, width: int) -> tuple[str, ...]:
    """Return the unit that most cells of each column are written with, below the headings; empty: none."""
    below = [cells for number, cells in sheet.rows if number > row][:MOST_LOOKED_AT]
    return tuple(_common_unit([cells[at] for cells in below if at < len(cells)]) for at in range(width))


def _common_unit(cells: Sequence[Cell]) -> str:
    found = [one for one in cells if isinstance(one, str) and one]
    written = [match[1] for one in found if (match := _WITH_UNIT.match(one)) and kinds_with(match[1])]
    unit, count = Counter(written).most_common(1)[0] if written else ("", 0)
    return unit if 2 * count >= len(found) else ""


def propose(
    names: Sequence[str], known: Mapping[str, Target], decimal: str, row: int, written: Sequence[str] = ()
) -> ColumnMap:
    """Return a mapping as the headings suggest it; each field once, nothing where no heading is like it.

    written: unit of the cells of each column; where the heading has none, a field of another kind is not
    proposed. Of fields that are as like, the first of the file is.
    """
    asked = [parted(name) for name in names]
    kinds = [unit or (written[at] if at < len(written) else "") for at, (_, unit) in enumerate(asked)]
    words = _words_of(known)
    ranked = sorted(
        (-score, column, order, at)
        for column, (heading, _) in enumerate(asked)
        for order, (at, target) in enumerate(known.items())
        if (score := _likeness(heading, kinds[column], target, words[at])) >= ENOUGH
    )
    chosen: dict[int, str] = {}
    for _, column, _, at in ranked:
        if column not in chosen and at not in chosen.values():
            chosen[column] = at
    return ColumnMap(
        columns=tuple(
            Column(
                heading=name, at=chosen.get(at, ""), unit=_unit(asked[at][1], known.get(chosen.get(at, "")))
            )
            for at, name in enumerate(names)
        ),
        heading_row=row,
        decimal=decimal,
    )


def _unit(unit: str, target: Target | None) -> str:
    """Return a heading's unit where the field knows it."""
    if target is None or not target.quantity:
        return ""
    return unit if find(target.quantity, unit) is not None or unit.casefold() in ("dn", "kv", "cv") else ""


def _words_of(known: Mapping[str, Target]) -> dict[str, list[frozenset[str]]]:
    """Return the sets of words each field answers to; without its part where it alone has such a one."""
    ends: dict[str, int] = {}
    for one in known.values():
        if one.at.startswith("line."):
            end = one.at.split(".", 2)[2]
            ends[end] = ends.get(end, 0) + 1
    found = {}
    for at in known:
        sets = [_tokens(at.replace(".", " ").replace("line ", ""))]
        if at.startswith("line."):
            end = at.split(".", 2)[2]
            if ends[end] == 1:
                sets.append(_tokens(end.replace(".", " ")))
        found[at] = sets
    return found


def _tokens(words: str) -> frozenset[str]:
    parts = re.findall(r"[a-z]+\d*|\d+", words.casefold().replace("_", " "))
    return frozenset(_MEANS.get(part, part) for part in parts if part not in ("of", "the", "at", "in", "a"))


def _likeness(heading: str, unit: str, target: Target, sets: Iterable[frozenset[str]]) -> float:
    """Return how well a heading names a field, 0 to 1; 0 where its unit is of another kind."""
    plain = " ".join(heading.casefold().replace("_", " ").split())
    if unit and (not target.quantity or (find(target.quantity, unit) is None and unit.casefold() != "dn")):
        return 0.0
    if heading.strip() == target.at or _USUAL.get(plain) == target.at:
        return 1.0
    mine = _tokens(heading)
    best = 0.0
    for words in sets:
        shared = len(mine & words)
        if shared:
            best = max(best, 2 * shared / (len(mine) + len(words)))
    return min(0.99, best + 0.05) if unit and best else best


def checked(mapping: ColumnMap, names: Sequence[str], known: Mapping[str, Target]) -> None:
    """Refuse a mapping that cannot be used.

    Raises
    ------
    InputErrors
        Every column that cannot be taken, and where no column names the station.
    """
    wrong: list[InputError] = []
    if len(mapping.columns) > len(names):
        wrong.append(
            InputError("columns", f"are {len(mapping.columns)}; the sheet has {len(names)}.", "Look again.")
        )
    taken: dict[str, str] = {}
    for at, one in enumerate(mapping.columns):
        if not one.at:
            continue
        place = f"columns.{at}"
        target = known.get(one.at)
        if target is None:
            wrong.append(
                InputError(place, f"{one.heading!r:.60} goes to {one.at!r}, which the template has not.",
                           "Choose another field, or a template with this part.")
            )  # fmt: skip
            continue
        if one.at in taken:
            problem = f"{one.heading!r:.60} goes to {one.at}, as {taken[one.at]!r:.60} does."
            wrong.append(InputError(place, problem, "Let one column fill it."))
        taken[one.at] = one.heading
        if one.unit and target.quantity and not _knows(target.quantity, one.unit):
            problem = f"{one.heading!r:.60}: {one.unit!r} is no unit of {target.quantity.replace('_', ' ')}."
            wrong.append(InputError(place, problem, "Choose the unit its numbers are in."))
    if KEY not in taken:
        problem = "no column says which station a row is."
        wrong.append(InputError("columns", problem, f"Let one column fill {KEY}."))
    if wrong:
        raise InputErrors(wrong)


def _knows(kind: str, unit: str) -> bool:
    return find(kind, unit) is not None or unit.casefold() in ("dn", "nps", "kv", "cv")


# Remembered ------------------------------------------------------------------------------------------------


def remember(register: Register, name: str, mapping: ColumnMap, who: str) -> None:
    """Keep a mapping under a name; the last one of a name holds.

    Raises
    ------
    InputError
        A name that is empty or too long.
    """
    words = " ".join(name.split())
    if not words or len(words) > LONGEST_NAME:
        raise InputError("name", f"got {name!r:.80}.", f"Give a name of 1 to {LONGEST_NAME} characters.")
    body = mapping.model_dump_json()
    if remembered(register).get(words) == mapping:
        return
    with register.writing(who) as writing:
        row = {"id": str(uuid.uuid4()), "name": words, "body": body, "at": writing.at, "who": who}
        writing.add(tables.mapping, row, KEPT, words)


def remembered(register: Register) -> dict[str, ColumnMap]:
    """Return the mappings that are kept, the last one of each name, the latest first."""
    with register.reading() as connection:
        return _remembered(connection)


def _remembered(connection: Connection) -> dict[str, ColumnMap]:
    one, told = tables.mapping.c, tables.audit.c
    by_name = (
        select(told.subject, func.max(told.seq).label("seq"))
        .where(told.subject.in_(select(one.name)), told.act == KEPT)
        .group_by(told.subject)
        .order_by(func.max(told.seq).desc())
        .limit(MOST_REMEMBERED)
        .subquery()
    )
    links = connection.execute(
        select(told.body).join(by_name, told.seq == by_name.c.seq).order_by(told.seq.desc())
    ).scalars()
    ids = [str(json.loads(body)["key"][0]) for body in links]
    kept = {
        row.id: row for row in connection.execute(select(one.id, one.name, one.body).where(one.id.in_(ids)))
    }
    found: dict[str, ColumnMap] = {}
    for name, body in ((kept[each].name, kept[each].body) for each in ids if each in kept):
        try:
            found.setdefault(name, ColumnMap.model_validate(json.loads(body)))
        except (ValidationError, ValueError):
            continue
    return found


def taken_again(names: Sequence[str], kept: Mapping[str, ColumnMap]) -> tuple[str, ColumnMap] | None:
    """Return the remembered mapping these headings are read by, and its name; None: none is like it."""
    mine = {_plain(name) for name in names}
    best: tuple[float, str, ColumnMap] | None = None
    for name, one in kept.items():
        used = [column for column in one.columns if column.at]
        share = sum(_plain(column.heading) in mine for column in used) / max(len(used), 1)
        if share >= ALIKE and (best is None or share > best[0]):
            best = (share, name, one)
    return None if best is None else (best[1], best[2])


def fitted(kept: ColumnMap, names: Sequence[str], row: int, decimal: str) -> ColumnMap:
    """Return a remembered mapping for the columns of another file, wherever they stand in it."""
    by_heading = {_plain(column.heading): column for column in kept.columns}
    columns = []
    for name in names:
        found = by_heading.get(_plain(name))
        columns.append(Column(heading=name, at=found.at if found else "", unit=found.unit if found else ""))
    return ColumnMap(columns=tuple(columns), heading_row=row, decimal=decimal)


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())
