"""What a spreadsheet holds beside values: formulas without results, hidden sheets, sheets counted alike."""

from __future__ import annotations

import io
from datetime import datetime, timedelta

import openpyxl
import pytest

from steadyhead.errors import InputError
from steadyhead.records.logger import Context
from steadyhead.watch.reading import propose
from steadyhead.watch.reading.formulas import in_ods, in_xlsx
from tests.watch.reading.ods import ods, row_of
from tests.watch.reading.shapes_odd import table_cell

TIMES = [datetime(2027, 3, 4) + timedelta(minutes=10 * k) for k in range(60)]


def _book(**sheets):
    """Return a book; each sheet: its rows. A name that ends in _ is hidden."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name.rstrip("_"))
        for row in rows:
            sheet.append(row)
        if name.endswith("_"):
            sheet.sheet_state = "hidden"
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def _column(heading, values):
    return [["Time", heading], *([when, value] for when, value in zip(TIMES, values, strict=True))]


def _read(folder, content):
    path = folder / "a.xlsx"
    path.write_bytes(content)
    return propose([path], Context(zone="UTC"))


def _values(found, quantity):
    return next(frame.collect()["v"] for one, frame in found.channels if one.quantity == quantity)


def _told(found, code):
    return [one for one in found.facts if one.code == code]


def test_a_formula_without_a_result_is_no_value_and_told(tmp_path):
    values = [4.0 if k % 3 else f"=1+{k}" for k in range(60)]
    found = _read(tmp_path, _book(A=_column("P outlet [bar]", values)))
    assert _values(found, "outlet pressure").null_count() == 20
    told = _told(found, "formulas")
    assert told[0].words == "20 cells hold a formula whose result the file does not keep; read as no value."
    assert told[0].rows[:2] == (2, 5)


def test_a_column_of_such_formulas_is_a_channel_without_values(tmp_path):
    rows: list[list[object]] = [["Time", "P inlet [bar]", "P outlet [bar]"]]
    rows += [[when, 8.0, f"=B{at}/2"] for at, when in enumerate(TIMES, 2)]
    found = _read(tmp_path, _book(A=rows))
    assert _values(found, "outlet pressure").to_list() == [None] * 60
    assert found.rows_used == 60


def test_a_sheet_whose_times_are_such_formulas_is_refused(tmp_path):
    rows = [["Time", "P outlet [bar]"], [TIMES[0], 4.0], *([f"=A{at}+1/144", 4.0] for at in range(2, 61))]
    with pytest.raises(
        InputError, match=r"^a.xlsx: holds formulas for its times .*'Time' of sheet 'A', 59 cells"
    ):
        _read(tmp_path, _book(A=rows))


def test_a_book_with_results_tells_of_no_formulas(tmp_path):
    found = _read(tmp_path, _book(A=_column("P outlet [bar]", [4.0] * 60)))
    assert not _told(found, "formulas")


def test_an_open_document_with_a_formula_without_a_result_is_told(tmp_path):
    body = [row_of([table_cell("string", "", one) for one in ("Time", "P outlet [bar]")])]
    for k, when in enumerate(TIMES):
        value = table_cell("float", "value", 4.0)
        if k in (7, 9):
            value = '<table:table-cell table:formula="of:=1+1"/>'
        if k == 8:
            value = '<table:table-cell table:formula="of:=2+2" office:value-type="float" office:value="4"/>'
        body.append(row_of([table_cell("date", "date-value", f"{when:%Y-%m-%dT%H:%M:%S}"), value]))
    path = tmp_path / "a.ods"
    path.write_bytes(ods({"A": "".join(body)}))
    found = propose([path], Context(zone="UTC"))
    assert [k for k, v in enumerate(_values(found, "outlet pressure")) if v is None] == [7, 9]
    assert _told(found, "formulas")[0].rows == (9, 11)


def test_cells_are_found_by_their_places():
    sheet = b'<c r="AB12"><f>A1</f><v></v></c><c r="C3"><f>A1</f><v>2</v></c>'
    sheet += b'<c r="D4" t="str"><f>A1</f><v></v></c>'
    assert in_xlsx(sheet) == {12: {27}}
    assert in_xlsx(b'<c r="A1"><v>2</v></c>') == {}
    rows = '<table:table-row table:number-rows-repeated="3"/><table:table-row><table:table-cell '
    rows += 'table:number-columns-repeated="2"/><table:table-cell table:formula="of:=1"/></table:table-row>'
    assert in_ods(rows.encode()) == {4: {2}}


def test_each_fact_names_its_sheet_where_several_hold_samples(tmp_path):
    outlet = _column("P outlet [bar]", [4.0] * 60)
    outlet.insert(20, ["Battery changed", None])
    marks = _column("P inlet [bar]", [8.0, "Err", *[8.0] * 58])
    found = _read(tmp_path, _book(Inlet=marks, Outlet=outlet))
    assert _told(found, "missing marks")[0].words == "Sheet 'Inlet': Read as no value: Err (1)."
    assert _told(found, "event rows")[0].words == "Sheet 'Outlet': 1 row of words between the samples."


def test_rows_of_another_value_are_not_numbered_where_two_sheets_count_alike(tmp_path):
    inlet = _column("P inlet [bar]", [8.0] * 60)
    inlet.append([TIMES[-1], 8.5])
    found = _read(tmp_path, _book(Inlet=inlet, Outlet=_column("P outlet [bar]", [4.0] * 60)))
    assert [one.rows for one in _told(found, "same stamp, other value")] == [()]


def test_a_hidden_sheet_is_told_read_or_not(tmp_path):
    found = _read(
        tmp_path,
        _book(
            A=_column("P outlet [bar]", [4.0] * 60), Old_=_column("P inlet [bar]", [8.0] * 60),
            Notes_=[["Battery changed"], ["=1+1"]],
        ),
    )  # fmt: skip
    assert [one.words for one in _told(found, "hidden sheet")] == [
        "The sheet 'Old' is hidden in the spreadsheet; it is read like the others.",
        "The sheet 'Notes' is hidden in the spreadsheet; it holds no samples.",
    ]
    assert len(found.channels) == 2


def test_a_hidden_sheet_of_an_open_document_is_told(tmp_path):
    def table(heading):
        body = [row_of([table_cell("string", "", one) for one in ("Time", heading)])]
        for when in TIMES:
            cells = [
                table_cell("date", "date-value", f"{when:%Y-%m-%dT%H:%M:%S}"),
                table_cell("float", "value", 4.0),
            ]
            body.append(row_of(cells))
        return "".join(body)

    path = tmp_path / "a.ods"
    path.write_bytes(ods({"A": table("P outlet [bar]"), "B": table("P inlet [bar]")}, hidden=["B"]))
    found = propose([path], Context(zone="UTC"))
    assert [one.words for one in _told(found, "hidden sheet")] == [
        "The sheet 'B' is hidden in the spreadsheet; it is read like the others."
    ]
