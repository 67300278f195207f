"""What is due over all stations: list, calendar, paper."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from icalendar import Calendar
from sqlalchemy import delete, insert

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.tables import due
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.upkeep import doings
from steadyhead.services.upkeep.all_due import PAGE, all_due, asked
from steadyhead.services.upkeep.calendar import event_uid, feed
from steadyhead.services.upkeep.intervals import PROOFS, proof_months
from steadyhead.services.upkeep.paper import due_paper
from tests.services.upkeep.times import CLOCK, DAY, LONE, PAIR, WHO

ALL: dict[str, Any] = {"show": "all", "until": "2040-01-01", "day": DAY}


def lines(register: Register, **more: str) -> list[tuple[str, str, str]]:
    view = all_due(register, asked(**{"day": DAY, **more}))  # type: ignore[arg-type]
    return [(line.station, line.activity, line.place) for group in view.groups for line in group.lines]


def test_protection_never_proved_comes_first_and_says_why(register: Register):
    view = all_due(register, asked(day=DAY))
    first = view.groups[0].lines[0]
    assert first.weighs == 3
    assert first.why == "No proof is on record."
    assert first.state.startswith("overdue by 7 years")
    assert "count on no protection" in first.costs
    assert "No safety integrity level is claimed" in view.no_claim


def test_pages_follow_each_other_without_a_gap_or_a_line_twice(register: Register):
    for by in ("why", "day", "place"):
        wanted = asked(by=by, **ALL)
        found, begin = [], 0
        while begin >= 0:
            view = all_due(register, wanted, begin, 7)
            found += [(ln.station, ln.activity, ln.place) for g in view.groups for ln in g.lines]
            begin = view.after
        assert len(found) == len(set(found)) == view.total
        assert len(found) <= 2 * PAGE


def test_lines_of_one_isolation_stand_together_with_what_is_worth_doing(register: Register):
    doings.done(register, LONE, WHO, activity="inside_inspection", place="SO", on="2024-12-01", clock=CLOCK)
    view = all_due(register, asked(day=DAY))
    group = next(one for one in view.groups if one.station == LONE and one.isolation == "IV1|IV2")
    assert group.isolation_words == "between IV1 and IV2"
    assert ("inside_inspection", "SO") in {(one.activity, one.place) for one in group.together}
    own = {(line.activity, line.place) for line in group.lines}
    assert not own & {(one.activity, one.place) for one in group.together}


def test_the_span_decides_what_is_shown(register: Register):
    for group in all_due(register, asked(until="2027-07-15", day=DAY)).groups:
        assert all(line.on <= "2027-07-15" for line in group.lines)
    doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2027-06-01", clock=CLOCK)
    later, sooner = lines(register, until="2027-12-01"), lines(register, until="2027-11-30")
    assert set(later) - set(sooner) == {(LONE, "trip_proof", "SO")}


def test_filters_show_what_they_say(register: Register):
    assert {key for _, key, _ in lines(register, show="protection")} <= {
        "trip_proof", "relief_lift", "fire_look", "fire_part", "fire_full",
    }  # fmt: skip
    assert {key for _, key, _ in lines(register, show="looks")} == {"look", "strainer_reading"}
    assert lines(register, show="deferred") == []
    doings.defer(
        register, LONE, WHO, activity="trip_proof", place="SO", until="2027-08-15", reason="no feed",
        risk="some", measure="watched", approver="R. Tamblyn", clock=CLOCK,
    )  # fmt: skip
    assert lines(register, show="deferred") == [(LONE, "trip_proof", "SO")]
    assert all(
        one.is_overdue for g in all_due(register, asked(show="overdue", day=DAY)).groups for one in g.lines
    )


def test_stations_are_found_by_all_words_and_signs_of_patterns_are_plain_signs(register: Register):
    assert {key for key, _, _ in lines(register, q="Veldany zone")} == {PAIR}
    assert lines(register, q="%") == []
    assert lines(register, q="nowhere") == []


@pytest.mark.parametrize(
    "given",
    [{"until": "2027-02-30"}, {"show": "none"}, {"by": "none"}, {"q": "x" * 101}, {"q": "\0"}],
)
def test_what_cannot_be_asked_is_refused(given: dict[str, str]):
    with pytest.raises(InputError):
        asked(**given)  # type: ignore[arg-type]


def test_the_total_follows_what_is_done(register: Register):
    wanted = asked(day=DAY)
    before = all_due(register, wanted).total
    doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2027-06-29", clock=CLOCK)
    assert all_due(register, wanted).total == before - 1


def events(register: Register, **more: str) -> dict[str, Any]:
    found = Calendar.from_ical(feed(register, day=DAY, **more))
    return {str(one["UID"]): one for one in found.walk("VEVENT")}


def test_the_calendar_is_all_day_and_its_names_stay_when_a_day_moves(register: Register):
    before = events(register, station=LONE)
    with register.reading() as connection:
        from sqlalchemy import select

        from steadyhead.register.tables import setting

        name = connection.execute(select(setting.c.value).where(setting.c.name == "id")).scalar_one()
    uid = event_uid(name, LONE, "SO", "trip_proof")
    assert before[uid]["DTSTART"].dt == date(2020, 5, 4)
    assert type(before[uid]["DTSTART"].dt) is date
    doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2027-06-29", clock=CLOCK)
    after = events(register, station=LONE)
    assert after[uid]["DTSTART"].dt == date(2027, 12, 29)
    assert before[uid]["UID"] == after[uid]["UID"]


def test_the_calendar_reaches_a_year_ahead_without_looks(register: Register):
    found = events(register)
    assert all(one["DTSTART"].dt <= DAY + timedelta(days=366) for one in found.values())
    assert not any(
        "Look in" in str(one["SUMMARY"]) or "look in" in str(one["SUMMARY"]) for one in found.values()
    )
    assert all("authorises no work" in str(one["DESCRIPTION"]) for one in found.values())


def test_the_same_register_gives_the_same_calendar(register: Register):
    assert feed(register, day=DAY, home="http://here") == feed(register, day=DAY, home="http://here")
    with pytest.raises(NotKept):
        feed(register, station="NONE")


def test_no_name_of_a_station_breaks_a_line_of_the_calendar(register: Register):
    content = feed(register, day=DAY)
    assert b"\r\n" in content
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))


def test_the_paper_is_a_pdf_for_one_station_and_for_all(register: Register):
    wanted = asked(by="place", **ALL)
    assert due_paper(register, wanted).startswith(b"%PDF")
    assert due_paper(register, wanted, station=LONE) == due_paper(register, wanted, station=LONE)
    assert due_paper(register, asked(q="nowhere", day=DAY)).startswith(b"%PDF")
    with pytest.raises(NotKept):
        due_paper(register, wanted, station="NONE")


def test_the_proof_of_a_station_without_a_shut_off_counts_by_the_interval_of_what_it_has(register: Register):
    with register.caching() as connection:
        for activities, months in ((PROOFS, 6.0), (("relief_lift",), 5.0), (("functional_check",), 7.0)):
            connection.execute(delete(due).where(due.c.station == LONE, due.c.activity.in_(activities)))
            row = {
                "station": LONE,
                "place": "X",
                "activity": activities[0],
                "body": f'{{"months": {months}}}',
            }
            connection.execute(insert(due).values(row))
        assert proof_months(connection, LONE) == 6.0
        for activities, left in ((PROOFS, 5.0), (("relief_lift",), 7.0), (("functional_check",), None)):
            connection.execute(delete(due).where(due.c.station == LONE, due.c.activity.in_(activities)))
            assert proof_months(connection, LONE) == left
