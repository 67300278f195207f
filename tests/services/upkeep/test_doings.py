"""Done, deferred, struck out, an interval of one's own: what is taken, what is refused, what follows."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import delete, select, update
from sqlalchemy.exc import DatabaseError

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.register.tables import audit, doing, station
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.upkeep import doings
from steadyhead.services.upkeep.next_due import next_due
from steadyhead.services.upkeep.of_station import of_station
from tests.services.upkeep.times import CLOCK, DAY, LONE, PAIR, WHO, Fixed, row

DEFERRAL = {
    "reason": "the other main is dug up",
    "risk": "an unproved shut-off for a dialysis chair",
    "measure": "telemetry watched by day and night",
    "approver": "R. Tamblyn",
}


def problems(refused: pytest.ExceptionInfo[Exception]) -> dict[str, str]:
    error = refused.value
    found: Any = error.errors if isinstance(error, InputErrors) else [error]
    return {one.field: f"{one.problem} {one.remedy}" for one in found}


def test_a_proof_done_by_hand_moves_its_day_and_says_who_told(register: Register):
    assert row(register, "trip_proof", "SO")["body"]["because"] == "no proof is on record"
    doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2027-02-28", clock=CLOCK)
    found = row(register, "trip_proof", "SO")
    assert found["on"] == "2027-08-28"
    assert (found["body"]["last"], found["body"]["source"]) == ("2027-02-28", f"entered by {WHO}")


def test_the_list_of_stations_follows_in_the_same_transaction(register: Register):
    doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2027-06-01", clock=CLOCK)
    with register.reading() as connection:
        found = connection.execute(select(station).where(station.c.key == LONE)).one()
        next_ = next_due(connection, LONE, DAY)
    assert (found.next_due, found.due_words) == (next_.on, next_.words)
    assert next_.words.startswith("fire service inspection")
    assert next_.overdue_days == (DAY - DAY.fromisoformat(next_.on)).days


@pytest.mark.parametrize(
    ("on", "told"),
    [
        ("2027-07-02", "after 2027-06-30"),
        ("2027-02-29", "no day of the calendar"),
        ("30.06.2027", "no day written year first. Write it as 2027-06-30"),
        ("2020-05-03", "before 2020-05-04, the day it went into service"),
        ("", "got no day"),
    ],
)
def test_days_to_come_before_its_time_and_impossible_ones_are_refused(register: Register, on: str, told: str):
    with pytest.raises(InputErrors) as refused:
        doings.done(register, LONE, WHO, activity="look", on=on, clock=CLOCK)
    assert told in problems(refused)["on"]


def test_a_day_that_has_begun_in_the_far_east_is_taken(register: Register):
    evening = Fixed(datetime(2027, 6, 30, 10, 30, tzinfo=UTC))
    doings.done(register, LONE, WHO, activity="look", on="2027-07-01", clock=evening)
    west = Fixed((evening.moment + timedelta(days=1)).astimezone(tz=None))
    doings.done(register, LONE, WHO, activity="look", on="2027-07-02", clock=west)
    assert row(register, "look")["body"]["last"] == "2027-07-02"


def test_a_station_not_told_to_be_in_service_takes_nothing_of_before_it_was_kept(register: Register):
    view = of_station(register, LONE, DAY)
    line = next(one for one in view.past if one.words == "went into service")
    doings.strike(register, LONE, WHO, line=line.id, reason="another station was meant", clock=CLOCK)
    with pytest.raises(InputErrors) as refused:
        doings.done(register, LONE, WHO, activity="look", on="2021-01-01", clock=CLOCK)
    assert "Tell first when the station went into service" in problems(refused)["on"]
    doings.into_service(register, LONE, WHO, on="2020-12-01", clock=CLOCK)
    doings.done(register, LONE, WHO, activity="look", on="2021-01-01", clock=CLOCK)


def test_a_day_of_going_into_service_after_something_was_done_is_refused(register: Register):
    view = of_station(register, LONE, DAY)
    doings.done(register, LONE, WHO, activity="look", on="2021-01-01", clock=CLOCK)
    with pytest.raises(InputErrors) as refused:
        doings.into_service(register, LONE, WHO, on="2022-01-01", clock=CLOCK)
    assert "told already" in str(refused.value)
    line = next(one for one in view.past if one.words == "went into service")
    doings.strike(register, LONE, WHO, line=line.id, reason="slip", clock=CLOCK)
    with pytest.raises(InputErrors) as refused:
        doings.into_service(register, LONE, WHO, on="2022-01-01", clock=CLOCK)
    assert "something was done 2021-01-01" in str(refused.value)


def test_what_a_station_has_not_is_refused_by_name(register: Register):
    with pytest.raises(InputError) as refused:
        doings.done(register, LONE, WHO, activity="trip_proof", place="RV", on="2027-01-01", clock=CLOCK)
    assert refused.value.field == "place"
    with pytest.raises(InputError) as refused:
        doings.done(register, LONE, WHO, activity="polish", on="2027-01-01", clock=CLOCK)
    assert refused.value.field == "activity"
    with pytest.raises(NotKept):
        doings.done(register, "NONE", WHO, activity="look", on="2027-01-01", clock=CLOCK)


def test_the_same_line_is_not_kept_twice(register: Register):
    doings.done(register, LONE, WHO, activity="look", on="2027-06-01", clock=CLOCK)
    with pytest.raises(InputError, match="kept as done already"):
        doings.done(register, LONE, WHO, activity="look", on="2027-06-01", clock=CLOCK)


def test_a_strainer_says_what_it_held_and_its_reading_can_call_for_it(register: Register):
    doings.done(
        register, LONE, WHO, activity="strainer_clean", place="ST", on="2027-01-10", found="much", clock=CLOCK
    )
    assert row(register, "strainer_clean", "ST")["on"] == "2027-07-10"
    doings.done(
        register, LONE, WHO, activity="strainer_reading", place="ST", on="2027-03-01", ratio=2.4, clock=CLOCK
    )
    found = row(register, "strainer_clean", "ST")
    assert (found["on"], found["body"]["because"]) == (
        "2027-03-01",
        "its loss was 2.4 × clean on 1 March 2027",
    )
    with pytest.raises(InputErrors) as refused:
        doings.done(
            register, LONE, WHO, activity="strainer_clean", place="ST", on="2027-04-01", found="mud",
            ratio=1e9, clock=CLOCK,
        )  # fmt: skip
    assert set(problems(refused)) == {"found", "ratio"}


def test_a_deferral_moves_the_day_and_never_puts_a_proof_in_date(register: Register):
    doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2026-11-30", clock=CLOCK)
    doings.defer(
        register, LONE, WHO, activity="trip_proof", place="SO", until="2027-08-15", clock=CLOCK, **DEFERRAL
    )
    found = row(register, "trip_proof", "SO")
    assert (found["on"], found["until"], found["body"]["was"]) == ("2027-08-15", "2027-08-15", "2027-05-30")
    line = next(
        one for group in of_station(register, LONE, DAY).groups for one in group.lines
        if one.due.activity == "trip_proof"
    )  # fmt: skip
    assert line.due.state == "deferred to 15 August 2027; not in date since 30 May 2027"
    assert line.due.is_overdue
    assert "Approved by R. Tamblyn" in line.deferral


@pytest.mark.parametrize(
    ("until", "told"),
    [
        ("2027-06-30", "not to come"),
        ("2026-01-01", "not to come"),
        ("2027-12-31", "the latest is 30\xa0Sep 2027, half the interval of 6 months"),
        ("2027-02-30", "no day of the calendar"),
    ],
)
def test_a_deferral_is_limited(register: Register, until: str, told: str):
    doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2026-11-30", clock=CLOCK)
    with pytest.raises(InputErrors) as refused:
        doings.defer(
            register, LONE, WHO, activity="trip_proof", place="SO", until=until, clock=CLOCK, **DEFERRAL
        )
    assert told in problems(refused)["until"]


def test_a_deferral_before_its_day_is_refused(register: Register):
    doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2027-06-01", clock=CLOCK)
    with pytest.raises(InputErrors, match="2027; it is due 1\xa0Dec 2027 anyway"):
        doings.defer(
            register,
            LONE,
            WHO,
            activity="trip_proof",
            place="SO",
            until="2027-08-01",
            clock=CLOCK,
            **DEFERRAL,
        )


def test_a_deferral_needs_reason_risk_measure_and_approver(register: Register):
    given = dict.fromkeys(DEFERRAL, " … ")
    with pytest.raises(InputErrors) as refused:
        doings.defer(
            register, LONE, WHO, activity="trip_proof", place="SO", until="2027-08-01", clock=CLOCK, **given
        )
    assert set(problems(refused)) == set(DEFERRAL)


def test_two_deferrals_in_a_row_are_the_most(register: Register):
    doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2026-11-30", clock=CLOCK)
    for until in ("2027-07-15", "2027-08-15"):
        doings.defer(
            register, LONE, WHO, activity="trip_proof", place="SO", until=until, clock=CLOCK, **DEFERRAL
        )
    with pytest.raises(InputErrors, match="2 times in a row"):
        doings.defer(
            register,
            LONE,
            WHO,
            activity="trip_proof",
            place="SO",
            until="2027-09-01",
            clock=CLOCK,
            **DEFERRAL,
        )
    doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2027-06-29", clock=CLOCK)
    assert row(register, "trip_proof", "SO")["until"] == ""


def test_a_wrong_line_is_struck_out_and_stays_to_be_read(register: Register):
    told = doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2027-06-01", clock=CLOCK)
    doings.strike(register, LONE, WHO, line=told.id, reason="was the stream next door", clock=CLOCK)
    assert row(register, "trip_proof", "SO")["body"]["last"] == ""
    lines = {one.id: one for one in of_station(register, LONE, DAY).past}
    assert lines[told.id].is_struck
    with pytest.raises(InputErrors, match="struck out already"):
        doings.strike(register, LONE, WHO, line=told.id, reason="again", clock=CLOCK)
    with pytest.raises(InputErrors, match="no line of this station"):
        doings.strike(register, PAIR, WHO, line=told.id, reason="wrong station", clock=CLOCK)
    with pytest.raises(InputErrors) as refused:
        doings.strike(register, LONE, WHO, line="none", reason="", clock=CLOCK)
    assert set(problems(refused)) == {"line", "reason"}


def test_the_database_itself_refuses_to_change_or_remove_a_line(register: Register):
    for words in (update(doing).values(on="2027-01-01"), delete(doing)):
        with pytest.raises(DatabaseError, match="never changed"), register.caching() as connection:
            connection.execute(words)


def test_every_line_is_told_in_the_chain(register: Register):
    doings.done(register, LONE, WHO, activity="look", on="2027-06-01", clock=CLOCK)
    with register.reading() as connection:
        last = connection.execute(select(audit).order_by(audit.c.seq.desc()).limit(1)).one()
    assert (last.act, last.subject, last.who) == ("look done", LONE, WHO)


def test_an_interval_of_ones_own_needs_a_reason_and_has_limits(register: Register):
    doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2027-06-01", clock=CLOCK)
    doings.set_interval(
        register,
        LONE,
        WHO,
        activity="trip_proof",
        place="SO",
        months=9,
        reason="nine years of data",
        clock=CLOCK,
    )
    found = row(register, "trip_proof", "SO")
    assert (found["on"], found["body"]["steps"]) == (
        "2028-03-01",
        [f"9 months, set by {WHO}: nine years of data"],
    )
    with pytest.raises(InputErrors) as refused:
        doings.set_interval(
            register, LONE, WHO, activity="trip_proof", place="SO", months=60, reason="", clock=CLOCK
        )
    assert set(problems(refused)) == {"months", "reason"}
    doings.set_interval(
        register,
        LONE,
        WHO,
        activity="trip_proof",
        place="SO",
        months=0,
        reason="back to practice",
        clock=CLOCK,
    )
    assert row(register, "trip_proof", "SO")["on"] == "2027-12-01"


def test_a_long_note_is_refused_with_its_limit(register: Register):
    with pytest.raises(InputErrors) as refused:
        doings.done(register, LONE, WHO, activity="look", on="2027-06-01", note="x" * 401, clock=CLOCK)
    assert "400 are taken" in problems(refused)["note"]


def test_a_relief_valve_in_date_stretches_the_proof_of_the_register_too(register: Register):
    doings.done(register, PAIR, WHO, activity="trip_proof", place="SOA", on="2027-06-01", clock=CLOCK)
    assert row(register, "trip_proof", "SOA", PAIR)["on"] == "2027-12-01"
    doings.done(register, PAIR, WHO, activity="relief_lift", place="RL", on="2027-06-20", clock=CLOCK)
    found = row(register, "trip_proof", "SOA", PAIR)
    assert found["on"] == "2027-12-20"
    assert "no longer than that one is in date" in found["body"]["steps"][-1]


def test_several_things_are_kept_together_or_not_at_all(register: Register):
    lines = ("strainer_clean@ST", "pilot_filter@SO", "pilot_filter@RV")
    doings.done_together(register, LONE, WHO, lines=lines, on="2027-06-01", note="one visit", clock=CLOCK)
    assert row(register, "pilot_filter", "RV")["body"]["last"] == "2027-06-01"
    with pytest.raises(InputError, match="kept as done on 2027-06-01 already"):
        doings.done_together(
            register, LONE, WHO, lines=("isolating_travel@IV1", *lines), on="2027-06-01", clock=CLOCK
        )
    assert row(register, "isolating_travel", "IV1")["body"]["last"] == ""
    with pytest.raises(InputErrors) as refused:
        doings.done_together(register, LONE, WHO, lines=(), on="2027-02-30", clock=CLOCK)
    assert set(problems(refused)) == {"on", "lines"}
    with pytest.raises(InputError, match="which this station has not"):
        doings.done_together(register, LONE, WHO, lines=("polish@SO",), on="2027-06-01", clock=CLOCK)
