"""When a thing is due and why: base, factors, clamp, history, pieces, deferrals."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.upkeep.due import work_out
from steadyhead.upkeep.history import Beginning, Habit, Past, Stay
from steadyhead.upkeep.waiting import costs
from steadyhead.upkeep.words import since_words, state_words
from tests.upkeep.stations import BEGAN, deferred, done, example, task, with_changes

CALM = with_changes(
    "quillenby-row",
    station={"sensitive_consumers": "", "fire_water": False, "hazards": ()},
    demand={"fire": None},
    zone={"other_feed": True},
)
PROOF = task("trip_proof", "SO", CALM)
STRAINER = task("strainer_clean", "ST", CALM)
INSIDE = task("inside_inspection", "SO", CALM)
NEW = Stay("p-2", "shut-off 44-2", date(2026, 3, 1), date(2026, 3, 1))
MOVED = Stay("p-1", "shut-off 44-1", date(2026, 3, 1), date(2015, 6, 1))


@pytest.mark.parametrize(
    ("last", "expected"),
    [("2027-02-28", "2028-02-28"), ("2028-02-29", "2029-02-28"), ("2026-12-31", "2027-12-31")],
)
@pytest.mark.source(kind="analytic", ref="twelve months on the calendar")
def test_a_proof_is_due_twelve_months_after_the_last_one(last, expected):
    found = work_out(PROOF, Past((done("2024-01-05"), done(last))), BEGAN)
    assert found.last is not None
    assert (found.on, found.last.on) == (date.fromisoformat(expected), date.fromisoformat(last))
    assert found.because == ""


@pytest.mark.source(kind="analytic", ref="twelve months halved, month ends")
def test_a_critical_one_after_six_and_it_says_why():
    critical = task("trip_proof", "SO", example("quillenby-row"))
    found = work_out(critical, Past((done("2027-08-31"),)), BEGAN)
    assert found.on == date(2028, 2, 29)
    assert found.interval.steps[0].startswith("12 months, common practice")
    assert "× 0.5, because sensitive consumers are named" in found.interval.steps[1]
    assert found.interval.steps[-1] == "together 6 months"


def test_without_a_proof_on_record_it_is_due_at_once_and_not_a_year_later():
    found = work_out(PROOF, Past(), BEGAN)
    assert (found.on, found.because) == (BEGAN.on, "no proof is on record")
    assert costs(PROOF.activity, None, date(2027, 1, 1)).startswith("Nobody knows that it acts")


def test_other_things_never_done_count_from_the_beginning():
    found = work_out(STRAINER, Past(), BEGAN)
    assert found.on == date(2021, 5, 4)
    assert (
        found.counted_words == "never done on record; counted from 4 May 2020, the day it went into service"
    )


def test_an_interval_of_ones_own_stands_as_it_is_without_factors():
    own = Past((done("2027-01-31"),), habit=Habit(9, "nine good years of data", "R. Tamblyn"))
    found = work_out(task("trip_proof", "SO", example("quillenby-row")), own, BEGAN)
    assert (found.on, found.interval.is_own) == (date(2027, 10, 31), True)
    assert found.interval.steps == ("9 months, set by R. Tamblyn: nine good years of data",)


def test_an_interval_taken_back_gives_the_default_again():
    found = work_out(PROOF, Past((done("2027-01-31"),), habit=Habit(0, "no longer")), BEGAN)
    assert (found.on, found.interval.is_own) == (date(2028, 1, 31), False)


def test_factors_are_held_to_what_the_activity_bears_and_rounded_down():
    many = tuple(task("trip_proof", "SO", example("quillenby-row")).factors) * 4
    fields: dict[str, Any] = {**_fields(PROOF), "factors": many}
    found = work_out(type(PROOF)(**fields), Past((done("2027-01-31"),)), BEGAN)
    assert found.interval.months == 3
    assert "held to 3 months, the least for this" in found.interval.steps


def test_much_debris_halves_the_interval_and_clean_twice_running_lengthens_it():
    assert work_out(STRAINER, Past((done("2027-01-10", found="much"),)), BEGAN).on == date(2027, 7, 10)
    twice = Past((done("2026-01-10", found="clean"), done("2027-01-10", found="clean")))
    assert work_out(STRAINER, twice, BEGAN).on == date(2028, 4, 10)
    once = Past((done("2026-01-10", found="some"), done("2027-01-10", found="clean")))
    assert work_out(STRAINER, once, BEGAN).on == date(2028, 1, 10)


def test_a_strainer_whose_loss_has_doubled_is_due_the_day_it_was_read():
    read = (done("2027-03-01", ratio=1.6), done("2027-05-02", ratio=2.1), done("2027-06-02", ratio=2.6))
    found = work_out(STRAINER, Past((done("2027-01-10"),), readings=read), BEGAN)
    assert (found.on, found.because) == (date(2027, 5, 2), "its loss was 2.1 × clean on 2 May 2027")
    cleaned = work_out(STRAINER, Past((done("2027-06-10"),), readings=read), BEGAN)
    assert (cleaned.on, cleaned.because) == (date(2028, 6, 10), "")


@pytest.mark.parametrize(
    ("moved", "months"),
    [
        ((0.6,), 6),
        ((-0.7,), 6),
        ((0.4,), 12),
        ((0.1, -0.2, 0.2), 15),
        ((0.1, 0.3, 0.2), 12),
        ((0.9, 0.1), 12),
    ],
)
@pytest.mark.source(kind="own estimate", ref="design handbook 5.2: drift")
def test_drift_between_visits_halves_the_interval_and_steadiness_lengthens_it(moved, months):
    lines = tuple(done(f"202{4 + n}-03-31", moved=one) for n, one in enumerate(moved))
    assert work_out(PROOF, Past(lines), BEGAN).interval.months == months


def test_a_relief_valve_in_date_stretches_the_proof_but_no_further_than_its_own_day():
    past = (done("2027-01-31"),)
    assert work_out(PROOF, Past(past, reliefs=(date(2029, 1, 1),)), BEGAN).on == date(2028, 4, 30)
    assert work_out(PROOF, Past(past, reliefs=(date(2028, 3, 15),)), BEGAN).on == date(2028, 3, 15)
    assert work_out(PROOF, Past(past, reliefs=(date(2027, 6, 1),)), BEGAN).on == date(2028, 1, 31)
    never = work_out(PROOF, Past((), reliefs=(date(2029, 1, 1),)), BEGAN)
    assert (never.on, never.because) == (BEGAN.on, "no proof is on record")


def test_a_new_piece_makes_the_old_proof_of_its_place_count_no_more():
    found = work_out(PROOF, Past((done("2026-01-15", piece="p-1"),), stay=NEW), BEGAN)
    assert (found.on, found.last) == (NEW.since, None)
    assert found.because == "no proof since shut-off 44-2 was put in"
    again = work_out(PROOF, Past((done("2026-01-15"), done("2026-03-01")), stay=NEW), BEGAN)
    assert again.on == date(2027, 3, 1)


def test_an_inside_inspection_follows_the_piece_and_the_strainer_stays_with_its_place():
    lines = (done("2025-04-10", piece="p-1"), done("2026-02-01", piece="p-9"))
    found = work_out(INSIDE, Past(lines, stay=MOVED), BEGAN)
    assert found.last is not None
    assert found.last.on == date(2025, 4, 10)
    fresh = work_out(INSIDE, Past(lines, stay=NEW), BEGAN)
    assert (fresh.last, fresh.counted_from) == (None, NEW.first)
    strainer = work_out(STRAINER, Past((done("2026-02-01", piece="p-9"),), stay=NEW), BEGAN).last
    assert strainer is not None
    assert strainer.on == date(2026, 2, 1)


def test_an_old_valve_is_looked_at_more_often():
    aged = Stay("p-1", "shut-off 44-1", date(2010, 6, 1), date(2010, 6, 1))
    young = Stay("p-1", "shut-off 44-1", date(2015, 6, 1), date(2015, 6, 1))
    line = (done("2026-06-01", piece="p-1"),)
    assert work_out(INSIDE, Past(line, stay=aged), BEGAN).interval.months == 38
    assert work_out(INSIDE, Past(line, stay=young), BEGAN).interval.months == 48


def test_a_deferral_moves_the_day_it_comes_up_and_never_the_day_it_was_due():
    past = Past((done("2026-01-31"),), (deferred("2027-01-20", "2027-05-01"),))
    found = work_out(PROOF, past, BEGAN)
    assert (found.on, found.acts_on) == (date(2027, 1, 31), date(2027, 5, 1))
    mark, words = state_words(found.on, found.acts_on, date(2027, 3, 1))
    assert mark == "slipped"
    assert words == "deferred to 1 May 2027; not in date since 31 January 2027"
    assert "deferral ran out 1 May 2027" in state_words(found.on, found.acts_on, date(2027, 5, 2))[1]


def test_a_deferral_ends_with_the_next_time_it_is_done():
    past = Past((done("2026-01-31"), done("2027-04-01")), (deferred("2027-01-20", "2027-05-01"),))
    found = work_out(PROOF, past, BEGAN)
    assert (found.deferral, found.deferrals, found.on) == (None, 0, date(2028, 4, 1))


def test_before_its_day_a_deferral_says_both_days():
    assert state_words(date(2027, 3, 1), date(2027, 6, 1), date(2027, 2, 1)) == (
        "due",
        "deferred to 1 June 2027; due 1 March 2027",
    )


def test_overdue_is_said_in_words():
    assert state_words(date(2027, 3, 1), None, date(2027, 3, 2))[1] == "overdue by 1 day, due 1 March 2027"
    assert state_words(date(2027, 3, 1), None, date(2027, 3, 1)) == ("due", "due today, 1 March 2027")
    assert state_words(date(2027, 3, 1), None, date(2026, 12, 1))[1] == "due 1 March 2027, in 2 months"


def test_why_comes_before_when():
    day = date(2027, 3, 1)
    assert since_words("look", day, day, "", "", day) == "Last look today."
    assert since_words("look", None, date(2025, 1, 1), "", "", day) == "Never done on record, in 2 years."
    assert since_words("look", None, day, "", "", day) == "Never done on record."
    assert since_words("look", None, day, "valve 4 was put in; not done since", "", day).startswith("Valve 4")
    assert since_words("look", day, day, "", "its loss doubled", day) == "Its loss doubled."


@given(
    st.lists(st.dates(date(2020, 5, 4), date(2030, 1, 1)), max_size=6),
    st.dates(date(2020, 5, 4), date(2030, 1, 1)),
)
def test_one_more_time_done_never_makes_it_due_earlier(days, more):
    past = tuple(done(day.isoformat()) for day in days)
    before = work_out(PROOF, Past(past), BEGAN)
    after = work_out(PROOF, Past((*past, done(more.isoformat()))), BEGAN)
    assert after.on >= before.on


@given(st.dates(date(2020, 1, 1), date(2040, 1, 1)))
def test_it_may_be_pulled_in_before_it_is_due_and_not_before_it_was_done(day):
    found = work_out(STRAINER, Past((done(day.isoformat()),)), Beginning(day, "x"))
    assert day < found.pull_from < found.on


def test_an_exact_share_of_the_interval_may_be_pulled_in():
    found = work_out(INSIDE, Past((done("2024-01-31"),)), BEGAN)
    assert found.on == date(2028, 1, 31)
    assert found.pull_from == date(2026, 6, 24)  # 20 months before, and 0.8 of a month on


def _fields(one: object) -> dict[str, object]:
    return {name: getattr(one, name) for name in one.__dataclass_fields__}  # type: ignore[attr-defined]
