"""What the pages of an import show."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import BinaryIO, Literal

from pydantic import BaseModel, ConfigDict
from sqlalchemy import select

from steadyhead.errors import InputError
from steadyhead.register import Register, tables
from steadyhead.register.reading import in_order
from steadyhead.services.importing import mapping as maps
from steadyhead.services.importing.desk import Desk, begin, rows_of
from steadyhead.services.importing.in_common import InCommon, in_common
from steadyhead.services.importing.reporting import RowReport
from steadyhead.services.importing.sheet import LARGEST, Bad, Sheet, column_letters
from steadyhead.services.importing.targets import Target
from steadyhead.services.importing.writing import past
from steadyhead.services.works.asking import Work, works_of
from steadyhead.services.works.views import WorkView, work_view
from steadyhead.station.templates.new import LAYOUTS
from steadyhead.units import units_of

ROWS_A_PAGE = 50
SAMPLES = 3
MOST_STATIONS = 500
"""Most stations offered as templates; others are given by their key. Own estimate."""
Show = Literal["all", "new", "changed", "same", "refused"]


class _View(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class PastView(_View):
    """An import of the past."""

    id: str
    file: str
    at: str
    who: str
    new: int
    changed: int
    is_undone: bool


class UndoneView(_View):
    """What undoing came to."""

    brought_back: int
    off_the_list: int
    left_alone: tuple[str, ...]


class ImportsView(_View):
    """Where an import begins: what new stations may be like, mappings that are remembered, past imports."""

    layouts: tuple[tuple[str, str], ...]
    stations: tuple[str, ...]
    remembered: tuple[str, ...]
    past: tuple[PastView, ...]
    undoing: WorkView | None
    undone: UndoneView | None


class ColumnView(_View):
    """A column: its letters, heading, first values, and what it fills. trouble: cells without a value."""

    index: int
    letters: str
    heading: str
    samples: tuple[str, ...]
    at: str
    unit: str
    units: tuple[str, ...]


class TargetView(_View):
    """A field a column may fill."""

    at: str
    words: str
    purpose: str
    block: str


class CommonView(_View):
    """A problem that many rows have, told once: the field, what was got, the remedy, and in how many rows."""

    field: str
    problem: str
    remedy: str
    rows: int


class RowView(_View):
    """What becomes of a row.

    problems, left: its own alone; shared: how many problems it has of those that are told once for all rows.
    """

    row: int
    key: str
    name: str
    state: str
    problems: tuple[tuple[str, str, str], ...]
    shared: int
    severity: str
    finding: str
    left: tuple[str, ...]


class ReportView(_View):
    """The report: how many rows of each state, what many rows have in common, and one page of them.

    common: problems of at least half of the refused rows; left: what every new row leaves to the template.
    """

    counts: dict[str, int]
    common: tuple[CommonView, ...]
    left: tuple[str, ...]
    show: str
    first: int
    last: int
    total: int
    rows: tuple[RowView, ...]


class ImportedView(_View):
    """What was written."""

    id: str
    file: str
    new: int
    changed: int
    left_out: int


class ImportView(_View):
    """An import under way: the sheet, what each column fills, the report, and what was written."""

    id: str
    file: str
    template: str
    sheet: str
    sheets: tuple[str, ...]
    heading_row: int
    decimal: str
    notes: tuple[str, ...]
    rows: int
    named: str
    remembered: tuple[str, ...]
    columns: tuple[ColumnView, ...]
    targets: tuple[TargetView, ...]
    reading: WorkView | None
    writing: WorkView | None
    report: ReportView | None
    imported: ImportedView | None


def imports_view(register: Register) -> ImportsView:
    """Return where an import begins."""
    with register.reading() as connection:
        one = tables.station.c.key
        asked = select(one).order_by(*in_order(connection, one)).limit(MOST_STATIONS)
        stations = tuple(connection.execute(asked).scalars())
        found = past(connection)
    undoing = works_of(register).last("undo")
    return ImportsView(
        layouts=tuple(LAYOUTS.items()),
        stations=stations,
        remembered=tuple(maps.remembered(register)),
        past=tuple(
            PastView(
                id=one.id, file=one.file, at=one.at, who=one.who, is_undone=one.is_undone,
                new=sum(before == 0 for _, before, _ in one.stations),
                changed=sum(before != 0 for _, before, _ in one.stations),
            )
            for one in found
        ),
        undoing=work_view(undoing),
        undone=UndoneView(**undoing.result)
        if undoing is not None and undoing.state == "done"
        else None,
    )  # fmt: skip


def import_view(register: Register, desk: Desk, show: Show = "all", first: int = 0) -> ImportView:
    """Return an import under way; `first`: index of the first row of the report that is shown."""
    asked, mapping, known, sheet = desk.get("asked"), desk.mapping(), desk.known(), desk.sheet()
    writing = _mine(register, desk, "import")  # before its result: what is said to have ended has one
    result = desk.get("result")
    return ImportView(
        id=desk.id,
        file=asked["file"],
        template=asked["template"],
        sheet=sheet.name,
        sheets=sheet.names,
        heading_row=mapping.heading_row,
        decimal=mapping.decimal,
        notes=sheet.notes,
        rows=sum(number > mapping.heading_row for number, _ in sheet.rows),
        named=desk.get("named") or "",
        remembered=tuple(maps.remembered(register)),
        columns=_columns(sheet, mapping, known),
        targets=tuple(_target(one) for one in known.values()),
        reading=_mine(register, desk, "report"),
        writing=writing,
        report=_report(rows_of(desk), show, first) if desk.get("report") is not None else None,
        imported=ImportedView(**result) if result else None,
    )


def _mine(register: Register, desk: Desk, kind: str) -> WorkView | None:
    last = works_of(register).last(kind)
    return work_view(last) if last is not None and desk.get(f"work-{kind}") == last.id else None


def _columns(sheet: Sheet, mapping: maps.ColumnMap, known: Mapping[str, Target]) -> tuple[ColumnView, ...]:
    below = [cells for number, cells in sheet.rows if number > mapping.heading_row]
    found = []
    for at, one in enumerate(mapping.columns):
        values = (cells[at] for cells in below if at < len(cells) and cells[at] != "")
        samples = tuple(_sample(value) for value, _ in zip(values, range(SAMPLES), strict=False))
        target = known.get(one.at)
        units = units_of(target.quantity) if target is not None and target.quantity else ()
        found.append(
            ColumnView(index=at, letters=column_letters(at), heading=one.heading, samples=samples, at=one.at,
                       unit=one.unit, units=units)
        )  # fmt: skip
    return tuple(found)


def _sample(value: str | Bad) -> str:
    return value[:60] if isinstance(value, str) else value.problem


def _target(one: Target) -> TargetView:
    block = one.at.split(".")[1] if one.at.startswith("line.") else one.at.split(".")[0]
    return TargetView(at=one.at, words=one.words, purpose=one.purpose, block=block.replace("_", " "))


def _report(rows: Sequence[RowReport], show: Show, first: int) -> ReportView:
    counts = Counter(one.state for one in rows)
    mine = [one for one in rows if show in ("all", one.state)]
    page = mine[first : first + ROWS_A_PAGE]
    common = in_common(rows)
    told = zip(common.problems, common.rows, strict=True)
    return ReportView(
        counts={state: counts.get(state, 0) for state in ("new", "changed", "same", "refused")},
        common=tuple(
            CommonView(field=at, problem=got, remedy=remedy, rows=count) for (at, got, remedy), count in told
        ),
        left=common.left,
        show=show,
        first=first + 1 if page else 0,
        last=first + len(page),
        total=len(mine),
        rows=tuple(_row(one, common) for one in page),
    )


def _row(one: RowReport, common: InCommon) -> RowView:
    problems, shared = common.own(one)
    return RowView(
        row=one.row, key=one.key, name=one.name, state=one.state, problems=problems, shared=shared,
        severity=one.severity, finding=one.finding,
        left=tuple(words for words in one.left if words not in common.left),
    )  # fmt: skip


def take(
    register: Register, source: BinaryIO, file: str, template: str, template_source: BinaryIO | None, who: str
) -> Desk:
    """Take a spreadsheet that was handed over, and lay it on a desk.

    Raises
    ------
    InputError
        It, or the template, cannot be read.
    """
    content = source.read(LARGEST + 1)
    given = b"" if template_source is None else template_source.read(LARGEST + 1)
    return begin(register, content, file, template, given, who)


def look(register: Register, desk: Desk, who: str) -> Work:
    """Begin to read every row and to make the report.

    Raises
    ------
    InputError, InputErrors
        The mapping cannot be used, or another report is being made.
    """
    mapping = desk.mapping()
    maps.checked(mapping, maps.headings(desk.sheet(), mapping.heading_row), desk.known())
    desk.drop("report", "result")
    made = works_of(register).start("report", who, {"desk": desk.id})
    desk.put("work-report", made.id)
    return made


def carry_out(register: Register, desk: Desk, only: str, who: str) -> Work:
    """Begin to write what the report made ready.

    Raises
    ------
    InputError
        No report, rows that are refused where all are asked for, or an import is under way.
    """
    rows = rows_of(desk)
    if not rows or desk.get("result"):
        raise InputError("import", "has no report to go by.", "Read the rows again.")
    refused = sum(one.state == "refused" for one in rows)
    if refused and only != "good":
        raise InputError(
            "import", f"is not begun: {refused} rows are refused.",
            "Put them right in the spreadsheet, or import the others only.",
        )  # fmt: skip
    made = works_of(register).start("import", who, {"desk": desk.id, "only": only})
    desk.put("work-import", made.id)
    return made
