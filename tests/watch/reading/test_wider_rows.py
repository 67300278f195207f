"""Rows with more cells than the heading names are never read shifted: refused, left out, or told."""

from __future__ import annotations

from datetime import datetime, timedelta

import polars as pl
import pytest

from steadyhead.errors import InputError
from steadyhead.records.logger import Context
from steadyhead.register.logs.parts import AsTheyCome
from steadyhead.watch.reading import propose, sampling
from steadyhead.watch.reading.big import read_long
from steadyhead.watch.reading.wider import MOST_BROKEN

HEADS = "Time;P inlet [bar];P outlet [bar];Flow [m3/h]"


def _file(folder, wide, *, rows=300, at=2, cell="12.4", no=False):
    """Write a file; wide: whether the row with a number has a further cell, which stands at a column.

    no: a column of words, of which nothing is read, stands ahead.
    """
    lines = ["Remark;" * no + HEADS]
    for k in range(rows):
        when = datetime(2027, 3, 4) + timedelta(minutes=k)
        cells = [str(when), f"{8 + k % 7 / 100:.2f}", f"{4 + k % 5 / 100:.2f}", f"{20 + k % 9 / 10:.1f}"]
        if wide(k):
            cells.insert(at, cell)
        lines.append("by hand;" * no + ";".join(cells))
    path = folder / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


def _most(found):
    return [round(frame.select(pl.col("v").max()).collect().item(), 6) for _, frame in found.channels]


def _told(found):
    return [one.words for one in found.facts if one.code == "more cells"]


MOST = [8.06e5, 4.04e5, round(20.8 / 3600, 6)]


@pytest.mark.parametrize("at", [1, 2, 3])
def test_a_column_that_comes_in_without_a_heading_is_refused(at, tmp_path):
    path = _file(tmp_path, lambda k: k >= 150, at=at)
    with pytest.raises(InputError, match=r"^a.csv: has a cell more than its headings from row 152 on"):
        propose([path], Context(zone="UTC"))


def test_a_column_that_comes_in_behind_the_others_is_kept_and_told(tmp_path):
    found = propose([_file(tmp_path, lambda k: k >= 150, at=4)], Context(zone="UTC"))
    assert _most(found)[:3] == MOST
    assert _told(found)[0].startswith("From row 152 on there is a cell more than the headings name;")


def test_single_rows_with_a_further_number_are_left_out_and_told(tmp_path):
    found = propose([_file(tmp_path, lambda k: k in (100, 133))], Context(zone="UTC"))
    assert _most(found) == MOST
    assert found.rows_left_out == {"header": 1, "more cells": 2}
    assert _told(found) == ["2 rows with more cells than the headings name; left out."]


def test_words_behind_the_last_column_shift_nothing(tmp_path):
    found = propose([_file(tmp_path, lambda k: k % 70 == 5, at=4, cell="battery low")], Context(zone="UTC"))
    assert found.rows_used == 300
    assert not _told(found)


@pytest.mark.parametrize(("at", "used"), [(4, 300), (2, 298)])
def test_a_column_without_a_heading_that_is_blank_in_most_rows_drops_none(at, used, tmp_path):
    """All rows end in a separator: a number there is of that column where the others are what they are."""
    path = _file(tmp_path, lambda k: k in (100, 133), at=at)
    lines = path.read_text("utf-8").splitlines()
    ended = [lines[0], *(one if one.count(";") == 4 else f"{one};" for one in lines[1:])]
    path.write_text("\n".join(ended) + "\n", "utf-8")
    found = propose([path], Context(zone="UTC"))
    assert found.rows_used == used
    assert _most(found)[:3] == MOST


def test_headings_that_do_not_stand_over_the_columns_drop_no_rows(tmp_path):
    path = _file(tmp_path, lambda k: k != 200, at=4)
    found = propose([path], Context(zone="UTC"))
    assert found.rows_used == 300
    assert not _told(found)


@pytest.fixture
def _few_places(monkeypatch):
    for name, size in (("HEAD", 6000), ("PIECE", 500), ("TAIL", 2000)):
        monkeypatch.setattr(sampling, name, size)


@pytest.mark.usefixtures("_few_places")
@pytest.mark.parametrize("is_kept", [False, True])
@pytest.mark.parametrize("no", [False, True])
def test_single_rows_of_a_long_file_are_left_out_and_told(is_kept, no, tmp_path):
    path = _file(tmp_path, lambda k: k in (3200, 3210), rows=6000, no=no)
    keeper = AsTheyCome(tmp_path / "parts", "a", lambda _: None) if is_kept else None
    found = read_long([path], Context(zone="UTC"), tmp_path, keeper)
    assert found is not None
    assert _most(found) == MOST
    assert found.rows_left_out == {"header": 1, "more cells": 2}
    assert _told(found) == ["2 rows with more cells than the headings name; left out."]


@pytest.mark.usefixtures("_few_places")
@pytest.mark.parametrize("wide", [lambda k: k > 4000, lambda k: 3200 <= k < 3201 + MOST_BROKEN])
def test_a_long_file_with_many_such_rows_is_read_as_a_whole(wide, tmp_path):
    assert read_long([_file(tmp_path, wide, rows=6000)], Context(zone="UTC"), tmp_path) is None


@pytest.mark.usefixtures("_few_places")
def test_words_behind_the_last_column_of_a_long_file_shift_nothing(tmp_path):
    path = _file(tmp_path, lambda k: k in (3200, 3210), rows=6000, at=4, cell="battery low")
    found = read_long([path], Context(zone="UTC"), tmp_path)
    assert found is not None
    assert found.rows_used == 6000
    assert _most(found) == MOST
