"""A date on the first row of each day only: the rows below are of that day, or left out and told."""

from __future__ import annotations

import io
from datetime import datetime, timedelta

import openpyxl
import pytest

from steadyhead.records.logger import Context
from steadyhead.watch.reading import propose, sampling
from steadyhead.watch.reading.big import read_long
from tests.watch.reading.shapes_odd import table_cell

START = datetime(2027, 3, 4, 7, 10)
HEADS = ["Date", "Time", "P inlet [bar]", "P outlet [bar]"]


def _rows(count=400, step=10, start=START):
    """Return stamp and two readings of each row."""
    return [(start + timedelta(minutes=step * k), 8 + k % 7 / 100, 4 + k % 5 / 100) for k in range(count)]


def _dated(rows):
    """Return the date of each row, "" below the first one of a day."""
    last = None
    for when, _, _ in rows:
        yield "" if when.date() == last else f"{when:%d.%m.%Y}"
        last = when.date()


def _text(rows, dates):
    lines = [";".join(HEADS)]
    for (when, inlet, outlet), date in zip(rows, dates, strict=True):
        lines.append(f"{date};{when:%H:%M};{inlet:.2f};{outlet:.2f}")
    return ("\n".join(lines) + "\n").encode()


def _xlsx(rows, dates):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(HEADS)
    for (when, inlet, outlet), date in zip(rows, dates, strict=True):
        day = datetime(when.year, when.month, when.day) if date else None
        sheet.append([day, when.time(), inlet, outlet])
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def _ods(rows, dates):
    from tests.watch.reading.ods import ods, row_of

    body = [row_of([table_cell("string", "", one) for one in HEADS])]
    for (when, inlet, outlet), date in zip(rows, dates, strict=True):
        day = table_cell("date", "date-value", f"{when:%Y-%m-%d}") if date else "<table:table-cell/>"
        clock = table_cell("time", "time-value", f"PT{when:%HH%MM%SS}")
        body.append(
            row_of([day, clock, table_cell("float", "value", inlet), table_cell("float", "value", outlet)])
        )
    return ods({"A": "".join(body)})


def _read(folder, content, name="a"):
    path = folder / name
    path.write_bytes(content)
    return propose([path], Context(zone="UTC"))


def _times(found):
    return [when.replace(tzinfo=None) for when in found.channels[0][1].collect()["t"].to_list()]


def _told(found):
    return [one.words for one in found.facts if one.code == "date of the row above"]


@pytest.mark.parametrize("made", [_text, _xlsx, _ods])
def test_rows_without_a_date_are_of_the_day_of_the_row_above(made, tmp_path):
    rows = _rows()
    found = _read(tmp_path, made(rows, list(_dated(rows))))
    assert _times(found) == [when for when, _, _ in rows]
    assert found.rows_used == len(rows)
    assert _told(found) == ["Rows with a time and no date: 396. They take the date of the row above."]


def test_a_date_that_comes_once_in_many_rows_is_found(tmp_path):
    rows = _rows(5000, 1)
    found = _read(tmp_path, _text(rows, list(_dated(rows))))
    assert _times(found) == [when for when, _, _ in rows]


def test_a_midnight_without_a_new_date_goes_to_the_next_day_and_is_told(tmp_path):
    rows = _rows()
    found = _read(tmp_path, _text(rows, ["04.03.2027", *[""] * (len(rows) - 1)]))
    assert _times(found) == [when for when, _, _ in rows]
    later = sum(when.date() > START.date() for when, _, _ in rows)
    assert f"{later} of them lie past a midnight without a new date: a day further." in _told(found)[0]


def test_rows_whose_day_a_later_date_contradicts_are_left_out_and_told(tmp_path):
    rows = _rows(200, 1, datetime(2027, 3, 4, 22, 0))
    late = (datetime(2027, 3, 4, 5, 0), 8.0, 4.0)
    rows.insert(40, late)  # as a buffered record that came late: no midnight was passed
    dates = list(_dated(rows))
    found = _read(tmp_path, _text(rows, dates))
    gone = dates.index("05.03.2027") - 40
    assert found.rows_left_out["day not clear"] == gone
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    assert _told(found)[1] == (
        f"Rows with a time and no date, of a day that is not clear: {gone}. They are left out."
    )
    assert _times(found) == [when for k, (when, _, _) in enumerate(rows) if not 40 <= k < 40 + gone]


def test_rows_ahead_of_the_first_date_are_left_out_and_told(tmp_path):
    rows = _rows()
    dates = list(_dated(rows))
    dates[0] = ""
    found = _read(tmp_path, _text(rows, dates))
    second = dates.index("05.03.2027")
    assert _times(found) == [when for when, _, _ in rows[second:]]
    assert found.rows_left_out["day not clear"] == second


def test_with_the_newest_row_first_a_midnight_without_a_date_goes_to_the_day_before(tmp_path):
    rows = _rows()[::-1]
    dates = list(_dated(rows))
    dates[300:] = [""] * 100
    found = _read(tmp_path, _text(rows, dates))
    assert _times(found) == [when for when, _, _ in rows[::-1]]


def test_after_a_second_heading_the_day_goes_on(tmp_path):
    rows = _rows()
    lines = _text(rows, list(_dated(rows))).decode().splitlines()
    lines.insert(60, lines[0])
    found = _read(tmp_path, ("\n".join(lines) + "\n").encode())
    assert _times(found) == [when for when, _, _ in rows]


@pytest.mark.parametrize("is_mostly", [True, False])
def test_a_long_file_of_this_shape_is_read_alike(is_mostly, tmp_path, monkeypatch):
    """Where only some rows lack a date, which the samples do not show, it is read as a whole, too."""
    for name, size in (("HEAD", 6000), ("PIECE", 500), ("TAIL", 2000)):
        monkeypatch.setattr(sampling, name, size)
    rows = _rows(6000, 1)
    dates = list(_dated(rows))
    if not is_mostly:
        dates = ["" if 3200 <= k < 3260 else f"{when:%d.%m.%Y}" for k, (when, _, _) in enumerate(rows)]
    path = tmp_path / "a.csv"
    path.write_bytes(_text(rows, dates))
    assert read_long([path], Context(zone="UTC"), tmp_path) is None
    assert _times(propose([path], Context(zone="UTC"))) == [when for when, _, _ in rows]
