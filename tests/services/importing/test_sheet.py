"""Any spreadsheet is read as rows of texts, or refused in words; what is no value is said cell by cell."""

from __future__ import annotations

from contextlib import suppress
from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.errors import InputError
from steadyhead.services.importing.sheet import MOST_COLUMNS, MOST_ROWS, Bad, read_sheet
from tests.services.importing.sheets import ods, with_part, xlsx


@pytest.mark.parametrize(
    ("content", "rows", "decimal"),
    [
        ("a;b\n1,5;x\n", [("a", "b"), ("1,5", "x")], "comma"),
        ("a,b\n1.5,x\n", [("a", "b"), ("1.5", "x")], "point"),
        ("a\tb\n1,5\tx, y\n", [("a", "b"), ("1,5", "x, y")], "comma"),
        ("a|b\r\n1|x\r\n", [("a", "b"), ("1", "x")], "point"),
        ("sep=;\na;b\n1,5;x\n", [("a", "b"), ("1,5", "x")], "comma"),
        ('a;b\n"x; y";"two\nlines"\n', [("a", "b"), ("x; y", "two\nlines")], "point"),
        ("a;b\n;\n\n1;\n", [("a", "b"), ("1",)], "point"),
    ],
)
def test_csv_of_any_kind_is_read(content, rows, decimal):
    found = read_sheet(content.encode(), "a.csv")
    assert [cells for _, cells in found.rows] == rows
    assert found.decimal == decimal


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_csv_in_any_usual_encoding_is_read(encoding):
    found = read_sheet("station;name\nA-1;Grünau\n".encode(encoding), "a.csv")
    assert found.rows[1] == (2, ("A-1", "Grünau"))
    assert any("Windows-1252" in note for note in found.notes) == (encoding == "cp1252")


def test_rows_keep_the_numbers_the_table_program_shows():
    found = read_sheet(xlsx((), ("", "a", "b"), (), ("", 1, 2)), "a.xlsx")
    assert [number for number, _ in found.rows] == [2, 4]
    assert found.rows[1][1] == ("", "1", "2")


def test_numbers_days_and_yes_are_read_as_a_person_types_them():
    day, moment = date(2027, 3, 1), datetime(2027, 3, 1, 12, 30)
    found = read_sheet(xlsx((6.4, 7, 0.1 + 0.2, 1e-7, True, day, moment, " x ", None, "y")), "a.xlsx")
    assert found.rows[0][1] == (
        "6.4", "7", "0.3", "1e-07", "yes", "2027-03-01", "2027-03-01 12:30", "x", "", "y",
    )  # fmt: skip


def test_an_opendocument_file_is_read():
    found = read_sheet(ods(("id", "static (bar)"), ("A-1", 6.4), ("A-2", "Err:502")), "a.ods")
    assert found.name == "Stationen"
    assert found.rows[1] == (2, ("A-1", "6.4"))
    assert isinstance(found.rows[2][1][1], Bad)


def test_a_formula_counts_with_its_worked_out_value_and_is_refused_without_one():
    bare = xlsx(("a", "b"), ("=1+1", "x"))
    found = read_sheet(bare, "a.xlsx").rows[1][1][0]
    assert isinstance(found, Bad)
    assert "without a worked-out value" in found.problem
    worked = with_part(bare, "", b"", b"<f>1+1</f><v />", b"<f>1+1</f><v>2</v>")
    worked = with_part(worked, "", b"", b"<f>1+1</f><v></v>", b"<f>1+1</f><v>2</v>")
    assert read_sheet(worked, "a.xlsx").rows[1][1][0] == "2"


def test_an_error_of_a_formula_is_named():
    found = read_sheet(xlsx(("a", "b"), ("#REF!", "x")), "a.xlsx").rows[1][1][0]
    assert isinstance(found, Bad)
    assert found.problem == "holds #REF!: its formula has no value."
    assert isinstance(read_sheet(b"a;b\n#N/A;x\n", "a.csv").rows[1][1][0], Bad)


def test_merged_cells_and_macros_are_said():
    content = xlsx(("a", "b"), ("x", ""), merge="A2:B2")
    found = read_sheet(with_part(content, "xl/vbaProject.bin", b"macro"), "a.xlsm")
    assert any("merged" in note for note in found.notes)
    assert any("Macros" in note for note in found.notes)
    assert found.rows[1][1] == ("x",)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"x" * 32_000_001, "32 MB is read at most"),
        (b"PK\x03\x04 not one", "is damaged"),
        (b"\xd0\xcf\x11\xe0 not one", "cannot be read as a spreadsheet"),
        (b"\x00\x01\x02;\x00\n", "no spreadsheet and no text"),
        (b"\n\n;;\n", "no row with a value"),
        (("x;" * (MOST_COLUMNS + 1) + "\n").encode(), "columns; .* are read at most"),
        (b"x\n" * (MOST_ROWS + 2), "rows and .* are read at most"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(content, words):
    with pytest.raises(InputError, match=words):
        read_sheet(content, "a")


def test_a_file_that_unpacks_to_far_more_than_it_is_is_refused(monkeypatch):
    monkeypatch.setattr("steadyhead.services.importing.sheet.MOST_UNPACKED", 1_000_000)
    content = with_part(xlsx(("a",)), "xl/media/x.bin", bytes(2_000_000))
    with pytest.raises(InputError, match="unpacks to"):
        read_sheet(content, "bomb.xlsx")


def test_a_sheet_that_is_very_wide_is_refused():
    with pytest.raises(InputError, match=r"columns; .* are read at most"):
        read_sheet(xlsx(tuple(range(MOST_COLUMNS + 1))), "wide.xlsx")


@given(st.binary(max_size=300))
def test_no_bytes_are_a_fault(content):
    with suppress(InputError):
        assert read_sheet(content, "a").rows
