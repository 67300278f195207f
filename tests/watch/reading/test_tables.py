"""Tables that would be read wrongly without a word: hours across, dates turned, shares shown in per cent."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from openpyxl import Workbook

from steadyhead.errors import InputError
from steadyhead.records.logger import Context
from steadyhead.watch.reading import as_stated, propose, read
from steadyhead.watch.reading.big import read_long

START = datetime(2027, 3, 1)
UTC_TOLD = Context(zone="UTC")


def _book(folder, rows, name="a.xlsx"):
    book = Workbook()
    for row in rows:
        book.active.append(row)
    book.save(folder / name)
    return folder / name


def _days(count=40, *, is_day_first=True):
    """Yield days of which a program of another country has taken what it could for its own dates."""
    for at in range(count):
        day = START + timedelta(days=at)
        text = f"{day:%d/%m/%Y}" if is_day_first else f"{day:%m/%d/%Y}"
        yield day, day.replace(day=day.month, month=day.day) if day.day <= 12 else text


@pytest.mark.parametrize("is_day_first", [True, False])
def test_dates_of_which_some_were_turned_are_put_right_and_told(tmp_path, is_day_first):
    listed = list(_days(is_day_first=is_day_first))
    rows = [[cell, 8 + at / 100] for at, (_, cell) in enumerate(listed)]
    found = propose([_book(tmp_path, [["Date", "P inlet [bar]"], *rows])], UTC_TOLD)
    samples = found.channels[0][1].collect()
    assert samples["t"].to_list() == [day.replace(tzinfo=UTC) for day, _ in listed]
    assert next(one.words for one in found.facts if "exchanged" in one.words).startswith("19 dates")


def test_dates_that_run_on_as_they_are_stay(tmp_path):
    days = [datetime(2027, month, 1) for month in range(1, 13)] + ["13/12/2027", "14/12/2027"]
    rows = [["Date", "P inlet [bar]"], *([one, 8 + at / 100] for at, one in enumerate(days))]
    found = propose([_book(tmp_path, rows)], UTC_TOLD)
    assert found.channels[0][1].collect()["t"].dt.month().to_list() == [*range(1, 13), 12, 12]
    assert not [one for one in found.facts if "exchanged" in one.words]


@pytest.mark.parametrize("hours", [[*range(1, 25)]])
@pytest.mark.parametrize("is_book", [True, False])
def test_a_table_with_a_column_for_each_numbered_hour_is_refused(tmp_path, hours, is_book):
    """Hour 1 may begin at 0:00 or at 1:00."""
    rows = [["Date", *hours]]
    rows += [[f"2027-03-{day:02}", *(4 + at / 100 for at in range(len(hours)))] for day in range(1, 11)]
    if is_book:
        path = _book(tmp_path, rows)
    else:
        path = tmp_path / "a.csv"
        path.write_text("\n".join(";".join(map(str, row)) for row in rows) + "\n", "utf-8")
    with pytest.raises(InputError, match="a column for each"):
        propose([path], UTC_TOLD)


def test_channels_that_are_numbered_are_no_hours(tmp_path):
    rows = [["Time", *range(1, 17)]]
    rows += [[START + timedelta(hours=at), *(4 + at / 100 for _ in range(16))] for at in range(30)]
    assert len(propose([_book(tmp_path, rows)], UTC_TOLD).channels) == 16


def _travel(folder, values):
    rows: list[list[object]] = [["Time", "P inlet [bar]", "Travel [%]"]]
    rows += [[START + timedelta(hours=at), 8 + at / 100, one] for at, one in enumerate(values)]
    return _book(folder, rows, "travel.xlsx")


def _stated(found):
    channel, frame = next(one for one in found.channels if one[0].quantity == "travel")
    return channel.unit_as_found, as_stated(channel, frame).collect()["v"].to_list()


def test_a_share_shown_in_per_cent_is_asked_about_and_the_answer_kept(tmp_path):
    values = [0.2 + at / 1000 for at in range(30)]
    path = _travel(tmp_path, values)
    found = propose([path], UTC_TOLD)
    assert [(one.field, one.taken) for one in found.doubts] == [("unit", "travel, fraction")]
    assert _stated(found) == ("fraction", pytest.approx(values))
    assert found.readings[0] is not None
    again = read([path], found.readings[0], UTC_TOLD)
    assert not again.doubts
    assert _stated(again) == ("fraction", pytest.approx(values))


@pytest.mark.parametrize("values", [[20.0 + at / 10 for at in range(30)], [0.0] * 30])
def test_per_cent_that_are_per_cent_are_not_asked_about(tmp_path, values):
    found = propose([_travel(tmp_path, values)], UTC_TOLD)
    assert not found.doubts
    assert _stated(found)[0] == "%"


def test_a_limit_and_a_setting_beside_a_pressure_are_neither_marks_nor_pressures(tmp_path):
    rows: list[list[object]] = [
        ["Time", "P outlet [bar]", "P outlet high alarm [bar]", "P outlet set [bar]", "P outlet limit [bar]"]
    ]
    rows += [[START + timedelta(hours=at), 4 + at / 100, 6.0, 4.0, 7.0] for at in range(30)]
    found = propose([_book(tmp_path, rows)], UTC_TOLD)
    assert [one.quantity for one, _ in found.channels] == ["outlet pressure", "other", "other", "other"]
    assert "flagged samples" not in {one.code for one in found.facts}


@pytest.mark.parametrize(
    ("heading", "good", "bad", "marked"),
    [("Quality", 192, 0, 3), ("valid", 1, 0, 3), ("Status", 0, 0, 0)],
)
def test_a_zero_is_bad_where_others_say_that_a_sample_is_good(tmp_path, heading, good, bad, marked):
    rows = [(START + timedelta(hours=at), 8 + at / 100, bad if at % 25 == 7 else good) for at in range(75)]
    text = "".join(f"{when},{value:.2f},{flag}\n" for when, value, flag in rows)
    path = tmp_path / "a.csv"
    path.write_text(f"Time,P inlet [bar],{heading}\n{text}", "utf-8")
    found, lazily = propose([path], UTC_TOLD), read_long([path], UTC_TOLD, tmp_path)
    assert lazily is not None
    for each in (found, lazily):
        (_, frame), *_ = each.channels
        assert int((frame.collect()["flag"] > 0).sum()) == marked
