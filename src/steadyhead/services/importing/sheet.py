"""A spreadsheet as rows of texts: xlsx, xls, xlsb, ods, or CSV of any kind; nothing in it is run."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any, Literal

from steadyhead.errors import InputError

LARGEST = 32_000_000
"""Largest file that is read; 5,000 rows of 40 columns take about 2 MB. Own estimate. [bytes]"""
MOST_UNPACKED = 800_000_000
"""Largest size it may unpack to. Own estimate. [bytes]"""
MOST_ROWS = 20_000
MOST_COLUMNS = 300
"""Most rows and columns that are read. Own estimates."""
LONGEST_CELL = 4_000
"""Longest text of a cell. Own estimate. [characters]"""
ERRORS = {"#REF!", "#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#VALUE!", "#GETTING_DATA", "#SPILL!"}
_ODS_ERROR = re.compile(r"Err:\d{3}")
Decimal = Literal["point", "comma"]
_SAVE = "Save it as .xlsx, .ods or .csv."


@dataclass(frozen=True, slots=True)
class Bad:
    """A cell that holds no value; says what it holds and what to do."""

    problem: str
    remedy: str


class Number(str):
    """A cell that held a number, not a text: its point is a decimal point whatever the texts do."""

    __slots__ = ()


Cell = str | Bad


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of a file.

    Parameters
    ----------
    name, names
        Which one, and all there are.
    rows
        (number as the table program counts it, cells); rows without any value are left out.
    notes
        What was noticed on reading, in words.
    decimal
        How numbers in texts are written, as it seems.
    """

    name: str
    names: tuple[str, ...]
    rows: tuple[tuple[int, tuple[Cell, ...]], ...]
    notes: tuple[str, ...]
    decimal: Decimal = "point"


def read_sheet(content: bytes, where: str, name: str = "") -> Sheet:
    """Return a sheet of a file; the first that is visible where no name is given.

    Raises
    ------
    InputError
        Too large, locked, damaged, no spreadsheet, no such sheet, or no row with a value.
    """
    if len(content) > LARGEST:
        raise InputError(
            where, f"has {len(content) / 1e6:.0f} MB; {LARGEST / 1e6:.0f} MB is read at most.",
            "Take out pictures and sheets nobody needs, or split it into several files.",
        )  # fmt: skip
    if not content:
        raise InputError(where, "is empty.", "Choose the file again.")
    is_packed, is_old = content.startswith(b"PK"), content.startswith(b"\xd0\xcf\x11\xe0")
    found = _workbook(content, where, name) if is_packed or is_old else _text(content, where)
    if name and name != found.name:
        raise InputError("sheet", f"got {name!r:.60}.", f"There is one alone: {found.name}.")
    if not found.rows:
        raise InputError(where, f"has no row with a value on the sheet {found.name!r}.", "Choose another.")
    return found


def _workbook(content: bytes, where: str, name: str) -> Sheet:
    from python_calamine import CalamineError, CalamineWorkbook, PasswordError

    notes = _looked_into(content, where) if content.startswith(b"PK") else []
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        shown = [one.name for one in book.sheets_metadata if str(one.visible).endswith("Visible")]
        names = tuple(shown or book.sheet_names)
        if not names or (name and name not in names):
            listed = ", ".join(names[:12])
            raise InputError("sheet", f"got {name!r:.60}.", f"Use one of: {listed}.")
        sheet = book.get_sheet_by_name(name or names[0])
        last = sheet.end or (0, 0)
        _refuse_size(last[0] + 1, last[1] + 1, where)
        merged = getattr(sheet, "merged_cell_ranges", None) or []
        raw = list(sheet.iter_rows())
    except PasswordError:
        raise InputError(where, "is locked by a password.", "Save a copy without one.") from None
    except (CalamineError, ValueError, OSError) as problem:
        said = str(problem).strip()[:120] or "no reason given"
        raise InputError(where, f"cannot be read as a spreadsheet: {said}.", _SAVE) from None
    wrong = _errors_in(content, name or names[0]) if content.startswith(b"PK") else {}
    if merged:
        areas = "1 merged area: its" if len(merged) == 1 else f"{len(merged)} merged areas: their"
        notes.append(f"{areas} value counts for the first cell alone.")
    left = [""] * (sheet.start or (0, 0))[1]  # columns ahead of the first value are not handed over
    rows = _rows(enumerate(([*left, *cells] for cells in raw), 1), wrong)
    return Sheet(name or names[0], names, rows, tuple(notes))


def _refuse_size(height: int, width: int, where: str) -> None:
    if height > MOST_ROWS or width > MOST_COLUMNS:
        raise InputError(
            where, f"has {height} rows and {width} columns; {MOST_ROWS} and {MOST_COLUMNS} are read at most.",
            "Delete what stands far out at the right or below, or split the file.",
        )  # fmt: skip


def _looked_into(content: bytes, where: str) -> list[str]:
    """Refuse a packed file that unpacks to far more than it is, and say what is not run."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as source:
            listed = source.infolist()
    except (zipfile.BadZipFile, ValueError, OSError):
        raise InputError(where, "is damaged: it cannot be unpacked.", _SAVE) from None
    size = sum(one.file_size for one in listed)
    if size > MOST_UNPACKED:
        raise InputError(
            where, f"unpacks to {size / 1e6:.0f} MB; {MOST_UNPACKED / 1e6:.0f} MB is read at most.",
            "Take out sheets nobody needs, or save it as .csv.",
        )  # fmt: skip
    names = {one.filename for one in listed}
    notes = []
    if any(one.endswith("vbaProject.bin") or one.startswith("Basic/") for one in names):
        notes.append("Macros are in the file; they are not run.")
    if any("externalLink" in one for one in names):
        notes.append("Cells that come from other files count as they were last worked out.")
    return notes


_CELL = re.compile(
    rb'<c\s(?=[^>]*\br="([A-Z]{1,3})(\d{1,7})")(?P<marks>[^>]*?)(?:/>|>(?P<inside>.*?)</c>)', re.DOTALL
)
_VALUE = re.compile(rb"<v>([^<]*)</v>")


def _errors_in(content: bytes, name: str) -> dict[tuple[int, int], Bad]:
    """Return cells of an xlsx sheet that hold an error, or a formula nobody has worked out."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as source:
            part = _part_of(source, name)
            if not part:
                return {}
            sheet = source.read(part)
    except (zipfile.BadZipFile, KeyError, ValueError, OSError, RuntimeError, NotImplementedError):
        return {}
    found: dict[tuple[int, int], Bad] = {}
    for cell in _CELL.finditer(sheet):
        inside = cell["inside"] or b""
        value = _VALUE.search(inside)
        place = (int(cell[2]), _column(cell[1].decode()))
        if b't="e"' in cell["marks"]:
            told = value[1].decode("utf-8", "replace") if value else "an error"
            found[place] = _error(told)
        elif b"<f" in inside and (value is None or value[1] == b"") and b"<is>" not in inside:
            found[place] = Bad(
                "holds a formula without a worked-out value.", "Open the file in a table program and save it."
            )
    return found


def _part_of(source: zipfile.ZipFile, name: str) -> str:
    """Return the part of an xlsx file that holds a sheet; empty where it is another kind of file."""
    names = set(source.namelist())
    if "xl/workbook.xml" not in names or "xl/_rels/workbook.xml.rels" not in names:
        return ""
    book = source.read("xl/workbook.xml").decode("utf-8", "replace")
    links = source.read("xl/_rels/workbook.xml.rels").decode("utf-8", "replace")
    from html import unescape

    for tag in re.findall(r"<(?:\w+:)?sheet\s[^>]*>", book):
        marks = dict(re.findall(r'([\w:]+)="([^"]*)"', tag))
        if unescape(marks.get("name", "")) == name:
            link = next((value for key, value in marks.items() if key.endswith(":id")), "")
            for relation in re.findall(r"<Relationship\s[^>]*>", links):
                told = dict(re.findall(r'(\w+)="([^"]*)"', relation))
                if told.get("Id") == link:
                    target = told.get("Target", "").lstrip("/")
                    return target if target.startswith("xl/") else f"xl/{target}"
    return ""


def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number - 1


def column_letters(index: int) -> str:
    """Return how table programs call a column, counted from 0.

    Examples
    --------
    >>> column_letters(0), column_letters(27)
    ('A', 'AB')
    """
    letters, index = "", index + 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def _error(told: str) -> Bad:
    return Bad(f"holds {told}: its formula has no value.", "Put the formula right, or type the value.")


def _rows(
    raw: Iterable[tuple[int, Sequence[Any]]], wrong: dict[tuple[int, int], Bad]
) -> tuple[tuple[int, tuple[Cell, ...]], ...]:
    found = []
    for number, cells in raw:
        read = [wrong.get((number, at)) or _cell(value) for at, value in enumerate(cells)]
        while read and read[-1] == "":
            read.pop()
        if read:
            found.append((number, tuple(read)))
    return tuple(found)


def _cell(value: Any) -> Cell:
    """Return a value as text: numbers in full, days as ISO 8601, yes and no."""
    if isinstance(value, str):
        text = value.strip(" \t\r\n\u00a0\ufeff")
        if text in ERRORS or _ODS_ERROR.fullmatch(text):
            return _error(text)
        if len(text) > LONGEST_CELL:
            return Bad(f"holds {len(text)} characters.", f"Write at most {LONGEST_CELL}.")
        if any(ord(one) < 32 and one not in "\n\r\t" for one in text):
            return Bad("holds a sign that is no text.", "Type the value again.")
        return text
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return Number(number_text(value))
    if isinstance(value, datetime):
        is_day = (value.hour, value.minute, value.second, value.microsecond) == (0, 0, 0, 0)
        return value.date().isoformat() if is_day else value.isoformat(sep=" ", timespec="minutes")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return value.isoformat(timespec="minutes")
    if isinstance(value, timedelta):
        return f"{value.total_seconds():.15g} s"
    return "" if value is None else str(value)[:LONGEST_CELL]


def number_text(value: float) -> str:
    """Return a number as a person would type it: without what binary fractions leave at the end.

    Examples
    --------
    >>> number_text(6.4), number_text(7.0), number_text(0.1 + 0.2)
    ('6.4', '7', '0.3')
    """
    return f"{value:.15g}"


# CSV ------------------------------------------------------------------------------------------------------

_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
_SEPARATORS = (";", "\t", ",", "|")
_COMMA = re.compile(r"[+-]?\d+,\d+(?:\s*\D.*)?")
_POINT = re.compile(r"[+-]?\d+\.\d+(?:\s*\D.*)?")


def _text(content: bytes, where: str) -> Sheet:
    text, encoding = _decoded(content, where)
    if "\0" in text:
        raise InputError(where, "is no spreadsheet and no text.", _SAVE)
    notes = [] if encoding.startswith("utf") else [f"Read as {encoding}: check names with accents."]
    text, stated = _stated_separator(text)
    separator = stated or _separator(text)
    names = {"\t": "tab", ";": "semicolon", ",": "comma", "|": "upright"}
    notes.append(f"Values are parted by: {names.get(separator, separator)}.")
    csv.field_size_limit(max(LONGEST_CELL * 8, 131_072))
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    raw: list[tuple[int, list[str]]] = []
    number, width = (2 if stated else 1), 0
    try:
        for cells in reader:
            line, number = number, number + 1
            width = max(width, len(cells))
            raw.append((line, cells))
            if len(raw) > MOST_ROWS or width > MOST_COLUMNS:
                _refuse_size(max(len(raw), text.count("\n")), width, where)
    except csv.Error as problem:
        raise InputError(where, f"cannot be read as CSV, row {number}: {problem}.", _SAVE) from None
    decimal = _decimal(raw)
    if decimal == "comma":
        notes.append("Numbers are read with a decimal comma.")
    return Sheet("CSV", ("CSV",), _rows(raw, {}), tuple(notes), decimal)


def _decoded(content: bytes, where: str) -> tuple[str, str]:
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            try:
                return content.decode(encoding), encoding
            except UnicodeDecodeError:
                raise InputError(where, f"is no {encoding} text.", "Save it as CSV in UTF-8.") from None
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        pass
    try:
        return content.decode("cp1252"), "Windows-1252"
    except UnicodeDecodeError:
        return content.decode("latin-1"), "ISO 8859-1"


def _stated_separator(text: str) -> tuple[str, str]:
    """Return the text after a first line ``sep=;``, and the separator it states."""
    first, _, rest = text.partition("\n")
    found = re.fullmatch(r'"?sep=(.)"?\s*', first, re.IGNORECASE)
    return (rest, found[1]) if found else (text, "")


def _separator(text: str) -> str:
    """Return what parts the values: what stands equally often on most of the first lines."""
    lines = [line for line in re.sub(r'"[^"]*"', "", text[:65536]).splitlines()[:60] if line.strip()]
    best, score = ",", 0.0
    for one in _SEPARATORS:
        counts = Counter(line.count(one) for line in lines)
        counts.pop(0, None)
        if counts:
            often, lines_so = counts.most_common(1)[0]
            mine = lines_so * (1 + 0.1 * min(often, 20))
            if mine > score:
                best, score = one, mine
    return best


def _decimal(raw: Sequence[tuple[int, Sequence[str]]]) -> Decimal:
    cells = [cell.strip() for _, row in raw[:400] for cell in row]
    commas, points = (sum(1 for cell in cells if shape.fullmatch(cell)) for shape in (_COMMA, _POINT))
    return "comma" if commas > points else "point"
