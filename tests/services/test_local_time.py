"""A time from paper is what the clock showed; what daylight saving leaves open is asked, not guessed."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from steadyhead.errors import InputError
from steadyhead.services.entering.local_time import comes_twice, local, zone_of, zone_words

DUBLIN, HOWE = "Europe/Dublin", "Australia/Lord_Howe"


@pytest.mark.parametrize(
    ("day", "clock", "zone", "expected"),
    [
        ("2027-01-15", "12:55", DUBLIN, "2027-01-15T12:55:00+00:00"),
        ("2027-07-15", "12:55:20", DUBLIN, "2027-07-15T12:55:20+01:00"),
        ("2027-07-15", "07.05", "america/new_york", "2027-07-15T07:05:00-04:00"),
        ("2027-03-28", "00:59", DUBLIN, "2027-03-28T00:59:00+00:00"),
        ("2027-03-28", "02:00", DUBLIN, "2027-03-28T02:00:00+01:00"),
        ("2027-07-15", "12:00", HOWE, "2027-07-15T12:00:00+10:30"),
        ("2027-07-15", "12:00", "UTC", "2027-07-15T12:00:00+00:00"),
    ],
)
def test_a_time_carries_the_offset_that_held_there(day: str, clock: str, zone: str, expected: str):
    assert local(day, clock, zone).isoformat() == expected


def test_an_hour_that_was_left_out_is_refused_and_one_that_came_twice_is_asked():
    with pytest.raises(InputError, match="clocks of Europe/Dublin went forward"):
        local("2027-03-28", "01:30", DUBLIN)
    with pytest.raises(InputError, match=r"came twice .* Choose the first or the second one"):
        local("2027-10-31", "01:30", DUBLIN)
    first, second = (local("2027-10-31", "01:30", DUBLIN, which) for which in ("first", "second"))
    assert (first.isoformat(), second.isoformat()) == (
        "2027-10-31T01:30:00+01:00",
        "2027-10-31T01:30:00+00:00",
    )
    assert (second - first).total_seconds() == 3600.0


@pytest.mark.parametrize(
    ("day", "clock", "zone", "problem"),
    [
        ("14.4.", "12:55", "UTC", "no day"),
        ("2027-02-30", "12:55", "UTC", "no day"),
        ("2027-04-14", "noon", "UTC", "no time of day"),
        ("2027-04-14", "25:00", "UTC", "no time of day"),
        ("2027-04-14", "12:55", "Europe/Dubln", "Did you mean Europe/Dublin"),
        ("2027-04-14", "12:55", "../etc/passwd", "no zone"),
    ],
)
def test_what_is_no_time_is_named_with_a_remedy(day: str, clock: str, zone: str, problem: str):
    with pytest.raises(InputError, match=problem):
        local(day, clock, zone)


def test_a_day_on_which_an_hour_comes_twice_is_known_the_day_before_too():
    days = (date(2027, 10, 29), date(2027, 10, 30), date(2027, 10, 31), date(2027, 3, 28))
    assert [comes_twice(one, DUBLIN) for one in days] == [False, True, True, False]
    assert not comes_twice(date(2027, 10, 31), "UTC")


def test_daylight_saving_is_told_in_words():
    summer = datetime.fromisoformat("2027-07-15T12:55+01:00")
    assert zone_words(summer, DUBLIN) == "UTC+01:00, daylight saving time"
    assert zone_words(summer, "UTC") == "UTC+00:00"
    assert zone_of("pacific/auckland").key == "Pacific/Auckland"
