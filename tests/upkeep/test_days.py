"""Months added to days of the calendar, spans in words, and which days a person may enter."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.errors import InputError
from steadyhead.upkeep.days import DAYS_OF_A_MONTH, FIRST, LAST, interval, later, latest, read_day, span, told

DAYS = st.dates(date(1950, 1, 1), date(2080, 12, 31))


@pytest.mark.parametrize(
    ("day", "months", "expected"),
    [
        (date(2027, 1, 31), 1, date(2027, 2, 28)),
        (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2028, 2, 29), 48, date(2032, 2, 29)),
        (date(2027, 8, 31), 6, date(2028, 2, 29)),
        (date(2027, 12, 15), 1, date(2028, 1, 15)),
        (date(2028, 3, 31), -1, date(2028, 2, 29)),
        (date(2100, 2, 28), 1, LAST),
        (date(2027, 1, 1), 7 / DAYS_OF_A_MONTH, date(2027, 1, 8)),
        (date(2028, 2, 25), 7 / DAYS_OF_A_MONTH, date(2028, 3, 3)),
        (date(2027, 3, 10), 0, date(2027, 3, 10)),
    ],
)
@pytest.mark.source(kind="analytic", ref="counted on a calendar")
def test_months_are_added_on_the_calendar_and_kept_inside_the_month(day, months, expected):
    assert later(day, months) == expected


@given(DAYS, st.integers(0, 120))
def test_the_month_is_the_one_counted_and_the_day_never_a_later_one(day, months):
    found = later(day, months)
    assert (found.year * 12 + found.month) - (day.year * 12 + day.month) == months
    assert found.day == day.day or (found.day < day.day and (found + timedelta(days=1)).day == 1)


@given(DAYS, st.floats(0, 120), st.floats(0, 120))
def test_a_longer_interval_never_ends_earlier(day, one, other):
    short, long = sorted((one, other))
    assert later(day, short) <= later(day, long) + timedelta(days=3)


def test_days_beyond_the_calendar_of_the_register_are_held_to_its_ends():
    assert later(date(2099, 12, 31), 12) == LAST
    assert later(date(1900, 1, 1), -1) == FIRST


@pytest.mark.parametrize(
    ("now", "expected"),
    [
        (datetime(2027, 6, 30, 9, 59, tzinfo=UTC), date(2027, 6, 30)),
        (datetime(2027, 6, 30, 10, 0, tzinfo=UTC), date(2027, 7, 1)),
        (datetime(2028, 2, 28, 23, 0, tzinfo=UTC), date(2028, 2, 29)),
        (datetime(2027, 6, 30, 23, 30, tzinfo=timezone(timedelta(hours=14))), date(2027, 6, 30)),
        (datetime(2027, 6, 29, 23, 30, tzinfo=timezone(timedelta(hours=-10))), date(2027, 6, 30)),
        (datetime(2027, 12, 31, 12, 0, tzinfo=UTC), date(2028, 1, 1)),
    ],
)
@pytest.mark.source(kind="analytic", ref="the day has begun where clocks show UTC+14")
def test_a_day_counts_as_come_as_soon_as_it_has_begun_anywhere(now, expected):
    assert latest(now) == expected


@pytest.mark.parametrize(
    "text",
    [
        "",
        "2027-02-29",
        "2027-13-01",
        "2027-00-10",
        "2027-06-31",
        "30.6.2027",
        "2027-6-3",
        "20270630",
        "2027-W26-3",
        "1899-12-31",
        "2100-01-01",
        "yesterday",
        "２０２７-06-30",
    ],
)
def test_what_is_no_day_is_refused_with_how_to_write_one(text):
    with pytest.raises(InputError) as refused:
        read_day("on", text)
    assert refused.value.field == "on"
    assert "2027-06-30" in refused.value.remedy


def test_a_day_may_be_held_between_two_others():
    first, last = date(2027, 1, 1), date(2027, 6, 30)
    assert read_day("on", " 2027-01-01 ", first=first, last=last) == first
    assert read_day("on", "2027-06-30", first=first, last=last) == last
    with pytest.raises(InputError, match="after 2027-06-30"):
        read_day("on", "2027-07-01", first=first, last=last)
    with pytest.raises(InputError, match="before 2027-01-01"):
        read_day("on", "2026-12-31", first=first, last=last)


@given(st.integers(0, 20_000))
def test_a_span_in_words_is_never_longer_than_it_is(days):
    words = span(days)
    if days == 0:
        assert words == "today"
        return
    number, unit = words.split()
    half = 0.5 if number.endswith("½") else 0.0
    length = {"day": 1, "week": 7, "month": 30.4375, "year": 365.25}[unit.rstrip("s")]
    assert (int(number.rstrip("½")) + half) * length <= days + 1.0


def test_intervals_and_days_are_told_as_people_say_them():
    assert [interval(one) for one in (7 / DAYS_OF_A_MONTH, 0.5, 1, 6, 24, 30, 120)] == [
        "1 week", "15 days", "1 month", "6 months", "2 years", "30 months", "10 years",
    ]  # fmt: skip
    assert told(date(2028, 2, 29)) == "29 February 2028"
