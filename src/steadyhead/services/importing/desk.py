"""The desk an import lies on between its pages: file, template, mapping, report; no part of what is kept."""

from __future__ import annotations

import json
import re
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.services.importing import mapping as maps
from steadyhead.services.importing.filling import Filler
from steadyhead.services.importing.mapping import ColumnMap
from steadyhead.services.importing.reporting import RowReport
from steadyhead.services.importing.sheet import Sheet, read_sheet
from steadyhead.services.importing.targets import Target, targets
from steadyhead.services.staging import clear_left, staging
from steadyhead.services.stations.kept import NotKept, head_file
from steadyhead.station.document import read_document
from steadyhead.station.plain import from_tree
from steadyhead.station.templates.new import LAYOUTS, new

PREFIX = "steadyhead-import-"
_ID = re.compile(r"[0-9a-f]{32}")
LONGEST_FILE_NAME = 120


@dataclass(frozen=True, slots=True)
class Desk:
    """One import under way. id: nobody can guess it."""

    id: str
    folder: Path

    def get(self, name: str) -> Any:
        """Return what lies under a name, plain data; None where nothing does."""
        place = self.folder / f"{name}.json"
        return json.loads(place.read_text(encoding="utf-8")) if place.exists() else None

    def put(self, name: str, told: Any) -> None:
        """Lay plain data under a name, whole or not at all."""
        place = self.folder / f"{name}.json"
        beside = place.with_suffix(".new")
        beside.write_text(json.dumps(told, ensure_ascii=False), encoding="utf-8")
        beside.replace(place)

    def drop(self, *names: str) -> None:
        """Take away what lies under names."""
        for name in names:
            (self.folder / f"{name}.json").unlink(missing_ok=True)

    @property
    def file(self) -> str:
        """Name of the spreadsheet."""
        return str(self.get("asked")["file"])

    @property
    def ready(self) -> Path:
        """Where the files lie that a report made ready."""
        return self.folder / "ready.jsonl"

    def sheet(self) -> Sheet:
        """Return the sheet that was chosen.

        Raises
        ------
        InputError
            It cannot be read.
        """
        content = (self.folder / "file").read_bytes()
        return read_sheet(content, self.file, str((self.get("asked") or {}).get("sheet", "")))

    def template(self) -> tuple[str, str, dict[str, Any]]:
        """Return the template's text, what it is called, and its plain data."""
        text = (self.folder / "template.yaml").read_text(encoding="utf-8")
        return text, str(self.get("asked")["template"]), from_tree(read_document(text).root).data

    def known(self) -> dict[str, Target]:
        """Return the fields a column may fill."""
        return targets(self.template()[2])

    def mapping(self) -> ColumnMap:
        """Return the mapping as it is chosen."""
        return ColumnMap.model_validate(self.get("mapping"))

    def filler(self) -> Filler:
        """Return what makes files of rows."""
        text, name, data = self.template()
        return Filler(text, name, self.mapping(), targets(data), self.file)


def begin(
    register: Register, content: bytes, file: str, template: str, template_file: bytes = b"", who: str = ""
) -> Desk:
    """Lay a spreadsheet on a desk and propose a mapping, one that is remembered where it fits.

    template: ``layout:NAME`` of a layout, or the key of a station that is kept; `template_file`: instead, a
    station file as it was given.

    Raises
    ------
    InputError
        A spreadsheet or template that cannot be read.
    """
    name = _plain_name(file)
    text, called = _template(register, template, template_file)
    data = _data_of(text, called)
    sheet = read_sheet(content, name)
    clear_left(register)
    number = secrets.token_hex(16)
    made = Desk(number, staging(register) / f"{PREFIX}{number}")
    made.folder.mkdir(mode=0o700)
    (made.folder / "file").write_bytes(content)
    (made.folder / "template.yaml").write_text(text, encoding="utf-8", newline="")
    asked = {"file": name, "template": called, "sheet": sheet.name, "who": who}
    made.put("asked", asked)
    _propose(register, made, sheet, data)
    return made


def _plain_name(file: str) -> str:
    """Return the name of a file without its folders and without signs that show nothing."""
    last = file.replace("\\", "/").rpartition("/")[2]
    return "".join(one for one in last if one.isprintable()).strip()[:LONGEST_FILE_NAME] or "spreadsheet"


def _propose(register: Register, desk: Desk, sheet: Sheet, data: Mapping[str, Any], row: int = 0) -> None:
    row = row or maps.heading_row(sheet)
    names = maps.headings(sheet, row)
    kept = maps.taken_again(names, maps.remembered(register))
    if kept is None:
        written = maps.units_in_cells(sheet, row, len(names))
        desk.put("mapping", maps.propose(names, targets(data), sheet.decimal, row, written).model_dump())
        desk.put("named", "")
        return
    desk.put("mapping", maps.fitted(kept[1], names, row, sheet.decimal).model_dump())
    desk.put("named", kept[0])


def choose(
    register: Register,
    desk: Desk,
    *,
    sheet: str = "",
    heading_row: int = 0,
    named: str = "",
    columns: Sequence[tuple[str, str]] | None = None,
    decimal: str = "",
    remember_as: str = "",
    who: str = "",
) -> None:
    """Choose another sheet, row of headings or remembered mapping, or what each column fills.

    columns: (field, unit) of each column in its order.

    Raises
    ------
    InputError, InputErrors
        No such sheet, row or mapping, or columns that cannot be taken; what was chosen before holds.
    """
    asked = desk.get("asked")
    if sheet and sheet != asked["sheet"]:
        read_sheet((desk.folder / "file").read_bytes(), desk.file, sheet)
        desk.put("asked", asked | {"sheet": sheet})
        heading_row, columns = 0, None
    read, now = desk.sheet(), desk.mapping()
    row = heading_row or (now.heading_row if sheet in ("", asked["sheet"]) else 0)
    desk.drop("report", "result", "undone")
    if columns is None or row != now.heading_row:
        _propose(register, desk, read, desk.template()[2], row)
    if named:
        kept = maps.remembered(register).get(named)
        if kept is None:
            raise InputError("named", f"got {named!r:.60}.", "Choose one of the list.")
        now = desk.mapping()
        names = maps.headings(read, now.heading_row)
        desk.put("mapping", maps.fitted(kept, names, now.heading_row, now.decimal).model_dump())
        desk.put("named", named)
    elif columns is not None and row == now.heading_row:
        _choose_columns(register, desk, read, columns, decimal, remember_as, who)


def _choose_columns(
    register: Register, desk: Desk, sheet: Sheet, columns: Sequence[tuple[str, str]], decimal: str,
    remember_as: str, who: str,
) -> None:  # fmt: skip
    now = desk.mapping()
    names = maps.headings(sheet, now.heading_row)
    if decimal not in ("", "point", "comma"):
        raise InputError("decimal", f"got {decimal!r:.20}.", "Choose point or comma.")
    made = ColumnMap(
        columns=tuple(
            maps.Column(heading=name, at=columns[at][0] if at < len(columns) else "",
                        unit=columns[at][1] if at < len(columns) else "")
            for at, name in enumerate(names)
        ),
        heading_row=now.heading_row,
        decimal=decimal or now.decimal,
    )  # fmt: skip
    desk.put("mapping", made.model_dump())
    maps.checked(made, names, desk.known())
    if remember_as:
        maps.remember(register, remember_as, made, who)
        desk.put("named", " ".join(remember_as.split()))


def desk_of(register: Register, import_id: str) -> Desk:
    """Return a desk by its id.

    Raises
    ------
    NotKept
        None of that id; a desk is cleared away after two days.
    """
    folder = staging(register) / f"{PREFIX}{import_id}"
    if not _ID.fullmatch(import_id) or not (folder / "asked.json").exists():
        raise NotKept("import", "is not known here any more.", "Choose the spreadsheet again.")
    return Desk(import_id, folder)


def _template(register: Register, template: str, given: bytes) -> tuple[str, str]:
    if given:
        try:
            return given.decode("utf-8-sig"), "the file given"
        except UnicodeDecodeError:
            raise InputError("template", "is no UTF-8 text.", "Give a station file.") from None
    if template.startswith("layout:"):
        layout = template.removeprefix("layout:")
        return new(layout), f"a new {LAYOUTS.get(layout, layout)}"
    if not template:
        raise InputError(
            "template",
            "is missing.",
            "Choose a station or a layout that new stations are like, or give a file.",
        )
    return head_file(register, template).source.decode("utf-8-sig"), template


def _data_of(text: str, called: str) -> dict[str, Any]:
    """Return the plain data of a template; what is not filled in may stand in it."""
    try:
        data = from_tree(read_document(text).root).data
    except InputError as error:
        raise InputError("template", f"{called}: {error.problem}", error.remedy) from None
    if not isinstance(data, dict) or "line" not in data:
        raise InputError("template", f"{called} is no station file.", "Give a station file.")
    return data


def rows_of(desk: Desk) -> list[RowReport]:
    """Return the report, row by row; empty where none was made."""
    told = desk.get("report") or {"rows": []}
    return [
        RowReport(
            **{**row, "problems": tuple(map(tuple, row["problems"])), "left": tuple(row.get("left", ()))}
        )
        for row in told["rows"]
    ]


def put_report(desk: Desk, rows: Sequence[RowReport]) -> None:
    """Lay a report on the desk."""
    desk.put("report", {"rows": [asdict(one) for one in rows]})
