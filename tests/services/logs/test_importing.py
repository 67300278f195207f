"""Files of loggers are taken in with a report, asked about once, found again, undone, read back, judged."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from steadyhead.errors import InputError, InputErrors
from steadyhead.register.logs import last_profile
from steadyhead.services.archive.verifying import verify_connection
from steadyhead.services.logs.answering import Open
from steadyhead.services.logs.importing import (
    list_imports,
    look_at,
    number_of,
    period,
    read_files,
    undo_import,
)
from steadyhead.services.logs.judging import judge_period
from steadyhead.services.logs.proposing import Given, proposed
from steadyhead.services.stations.kept import NotKept
from tests.register.logs.given import lying
from tests.services.logs.files import START, dateless, open_dates, plain, rows, silent_unit, written

KEY, WHO = "DMB-01", "Ilse Marrow"
BERLIN = {"zone": "Europe/Berlin"}


def given(*files, **others):
    return Given(KEY, files, **{"answers": BERLIN} | others)


def test_a_file_is_read_and_taken_in_with_a_report_in_which_every_row_has_its_place(register, logs, tmp_path):
    told = read_files(register, logs, given(plain(tmp_path), source="kiosk"), WHO)
    assert told.number == 1
    assert told.rows.total == told.rows.used + sum(told.rows.left_out.values())
    assert told.rows.left_out == {"header": 1}
    inlet, outlet = told.channels
    assert (inlet.quantity, inlet.unit, inlet.count, inlet.first) == (
        "inlet pressure", "bar", 120, "2027-02-28T23:00:00Z"
    )  # fmt: skip
    assert [one.stated for one in outlet.shown] == [4.0, 4.01, 4.02, 4.02, 4.03, 4.04]
    assert (outlet.shown[0].row, outlet.shown[-1].row) == (2, 121)
    channels = period(register, logs, KEY)
    assert [(one.id, lazy.collect().height) for one, lazy in channels] == [
        ("inlet pressure, spot", 120), ("outlet pressure, spot", 120)
    ]  # fmt: skip
    with register.reading() as connection:
        assert verify_connection(connection).findings == []


def test_looking_keeps_nothing(register, logs, tmp_path):
    before = lying(logs)
    told = look_at(register, logs, given(plain(tmp_path)))
    assert (told.number, len(told.channels)) == (0, 2)
    assert lying(logs) == before
    assert list_imports(register, KEY).imports == ()


def test_the_same_file_given_again_is_found_and_adds_nothing(register, logs, tmp_path):
    path = plain(tmp_path)
    read_files(register, logs, given(path), WHO)
    before = lying(logs)
    again = read_files(register, logs, given(path.rename(tmp_path / "other-name.csv")), WHO)
    assert (again.number, [one.number for one in again.known]) == (0, [1])
    assert lying(logs) == before
    later = plain(tmp_path, "b.csv", start=START + timedelta(days=1))
    both = read_files(register, logs, given(tmp_path / "other-name.csv", later), WHO)
    assert (both.number, [one.name for one in both.files]) == (2, ["b.csv"])
    assert [one.count for one in list_imports(register, KEY).channels] == [240, 240]


def test_two_files_of_one_name_are_two_files(register, logs, tmp_path):
    (tmp_path / "a").mkdir()
    one, other = plain(tmp_path), plain(tmp_path / "a", start=START + timedelta(days=1))
    read_files(register, logs, given(one), WHO)
    told = read_files(register, logs, given(one, other), WHO)
    assert (told.number, [file.name for file in told.files]) == (2, ["kiosk.csv"])


def test_a_file_of_another_station_is_told(register, logs, tmp_path):
    path = plain(tmp_path)
    read_files(register, logs, given(path), WHO)
    told = read_files(register, logs, Given("FWG-03", (path,), answers=BERLIN), WHO)
    assert told.number == 2
    assert [(one.number, one.station) for one in told.elsewhere] == [(1, KEY)]


def test_overlaps_are_reported_in_words_and_the_earlier_import_is_shown(register, logs, tmp_path):
    read_files(register, logs, given(plain(tmp_path)), WHO)
    later = plain(tmp_path, "b.csv", start=START + timedelta(minutes=5 * 90), shift=1.0)
    told = read_files(register, logs, given(later), WHO)
    assert [(one.number, one.count, one.other) for one in told.overlaps] == [(1, 30, 30)] * 2
    assert "import 1 is shown" in told.overlaps[0].words
    (_, inlet), _ = period(register, logs, KEY)
    shown = inlet.collect()
    assert shown.height == 210
    assert shown["v"][119] < 8.5e5 < shown["v"][120]


def test_an_open_date_is_assumed_and_told_and_its_answer_is_remembered(register, logs, tmp_path):
    path = open_dates(tmp_path)
    told = look_at(register, logs, given(path, source="kiosk"))
    assert [(one.name, one.taken) for one in told.assumed] == [("date order", "dmy")]
    told = read_files(
        register, logs, given(path, source="kiosk", answers=BERLIN | {"date order": "mdy"}), WHO
    )
    assert (told.assumed, told.open) == ((), ())
    assert told.channels[0].first.startswith("2027-03-03T23")
    more = open_dates(tmp_path, "next.csv", day=(3, 5))
    again = read_files(register, logs, Given(KEY, (more,), "kiosk"), WHO)
    assert again.assumed == ()
    assert again.answers == BERLIN | {"date order": "mdy"}
    assert again.channels[0].first.startswith("2027-03-04T23")
    other = look_at(register, logs, Given(KEY, (open_dates(tmp_path, "x.csv", day=(3, 6)),), "elsewhere"))
    assert [one.name for one in other.assumed] == ["zone", "date order"]


def test_a_question_without_an_assumed_answer_is_asked_and_nothing_is_kept(register, logs, tmp_path):
    path, before = dateless(tmp_path), lying(logs)
    with pytest.raises(Open, match="start=2027-03-01") as refused:
        read_files(register, logs, given(path), WHO)
    assert [one.name for one in refused.value.questions] == ["start"]
    assert lying(logs) == before
    answered = given(path, answers=BERLIN | {"start": "2027-03-01T08:00:00"})
    told = read_files(register, logs, answered, WHO)
    assert told.channels[0].first == "2027-03-01T07:00:00Z"
    with register.reading() as connection:
        profile = last_profile(connection, KEY, "")
    assert profile is not None
    told = read_files(register, logs, given(plain(tmp_path)), WHO)
    assert "start" not in told.answers or told.channels[0].first == "2027-02-28T23:00:00Z"


def test_an_answered_unit_is_read_and_remembered(register, logs, tmp_path):
    path = silent_unit(tmp_path)
    asked = look_at(register, logs, given(path)).assumed
    name = asked[0].name
    answers = BERLIN | {name: "outlet pressure, m head"}
    told = read_files(register, logs, given(path, answers=answers), WHO)
    assert [(one.quantity, one.unit) for one in told.channels] == [("outlet pressure", "m head")]
    more = written(tmp_path, "next.csv", path.read_text().replace("2027-03", "2027-05").splitlines())
    told = read_files(register, logs, given(more), WHO)
    assert [(one.quantity, one.unit) for one in told.channels] == [("outlet pressure", "m head")]


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ({"colour": "red"}, "is no question"),
        ({"zone": "Atlantis/Deep"}, "is no zone"),
        ({"date order": "ddd"}, "dmy mdy ymd"),
        ({"start": "yesterday"}, "is no time"),
        ({"unit": "flow, bar"}, "m³/h"),
        ({"hour twice": "third"}, "first second"),
    ],
)
def test_an_answer_that_no_question_takes_is_refused(register, logs, tmp_path, answers, words):
    with pytest.raises(InputErrors, match=words):
        look_at(register, logs, given(plain(tmp_path), answers=answers))


def test_the_pass_of_an_hour_that_comes_twice_is_as_answered(register, logs, tmp_path):
    path = plain(tmp_path, start=datetime(2027, 10, 31, 2, 0), count=10)
    first = look_at(register, logs, given(path, answers=BERLIN | {"hour twice": "first"}))
    second = look_at(register, logs, given(path, answers=BERLIN | {"hour twice": "second"}))
    assert first.channels[0].first == "2027-10-31T00:00:00Z"
    assert second.channels[0].first == "2027-10-31T01:00:00Z"


def test_a_proposal_is_answered_step_by_step(register, logs, tmp_path):
    with proposed(register, logs, Given(KEY, (dateless(tmp_path),))) as one:
        assert [each.name for each in one.open] == ["start"]
        one.answer({"start": "2027-03-01T08:00:00Z"})
        assert one.open == ()


def test_an_import_is_undone_and_listed_as_such(register, logs, tmp_path):
    read_files(register, logs, given(plain(tmp_path)), WHO)
    gone = undo_import(register, logs, 1, "Bo", "wrong  station")
    assert (gone.undone_by, gone.reason) == ("Bo", "wrong station")
    listed = list_imports(register, KEY)
    assert [(one.number, bool(one.undone_at)) for one in listed.imports] == [(1, True)]
    assert listed.channels == ()
    assert period(register, logs, KEY) == []
    assert read_files(register, logs, given(plain(tmp_path)), WHO).number == 2


def test_what_cannot_be_taken_in_is_refused_by_name(register, logs, tmp_path):
    before = lying(logs)
    nothing = written(tmp_path, "words.txt", ["Nothing but words.", "Not one sample."])
    with pytest.raises(InputError, match="hold no samples"):
        read_files(register, logs, given(nothing), WHO)
    with pytest.raises(InputError, match="which is no file"):
        read_files(register, logs, given(tmp_path / "none.csv"), WHO)
    with pytest.raises(NotKept):
        read_files(register, logs, Given("NONE", (nothing,)), WHO)
    with pytest.raises(InputError, match="got 9"):
        undo_import(register, logs, 9, "Bo")
    with pytest.raises(InputError, match="number of an import"):
        number_of("L9")
    with pytest.raises(InputError, match="interval"):
        look_at(register, logs, given(nothing, interval=-1.0))
    assert lying(logs) == before


def test_a_period_is_judged_and_what_is_not_seen_is_not_proved(register, logs, tmp_path):
    read_files(register, logs, given(plain(tmp_path, count=600)), WHO)
    start = datetime(2027, 3, 1, tzinfo=UTC)
    told = judge_period(register, logs, KEY, start, start + timedelta(days=2))
    assert set(told.channels) == {"inlet pressure, spot", "outlet pressure, spot"}
    assert told.words
    with pytest.raises(InputError, match="holds no samples"):
        judge_period(register, logs, KEY, start + timedelta(days=90))
    with pytest.raises(InputError, match="not after"):
        judge_period(register, logs, KEY, start, start)


def _two_outlets(folder, name="two.csv", first=START):
    lines = [f"{t:%Y-%m-%d %H:%M:%S},{a:.2f},{b:.2f}" for t, a, b in rows(start=first)]
    return written(folder, name, ["Time,P outlet 1 [bar],P outlet 2 [bar]", *lines])


def test_two_columns_of_the_same_are_asked_about_once(register, logs, tmp_path):
    with proposed(register, logs, given(_two_outlets(tmp_path), source="kiosk")) as one:
        (asked,) = [each for each in one.assumed if each.name == "quantity"]
        assert asked.doubt.question == (
            "Another column is outlet pressure, too. What does 'P outlet 2 [bar]' measure?"
        )
        assert asked.doubt.taken == "outlet pressure, bar"
    answers = BERLIN | {"quantity": "other, bar"}
    told = read_files(register, logs, given(_two_outlets(tmp_path), source="kiosk", answers=answers), WHO)
    assert [one.quantity for one in told.channels] == ["outlet pressure", "other"]
    assert [one.stated for one in told.channels[1].shown[:2]] == [4.0, 4.01]
    later = _two_outlets(tmp_path, "later.csv", START + timedelta(days=3))
    again = read_files(register, logs, given(later, source="kiosk", answers={}), WHO)
    assert [one.quantity for one in again.channels] == ["outlet pressure", "other"]
    assert not [each for each in again.assumed if each.name == "quantity"]


def _days(folder, name, back):
    """Write a file whose days count from 1904, the last one `back` days before today."""
    today = (datetime.now(UTC).replace(tzinfo=None) - datetime(1904, 1, 1)).days
    lines = [f"{today - back - 1 + at / 288:.6f};{8 + at % 9 / 100:.2f}" for at in range(288)]
    return written(folder, name, ["Time (UTC);P inlet [bar]", *lines])


@pytest.mark.parametrize("is_long", [False, True])
def test_days_that_may_count_from_1904_are_asked_about_and_remembered(
    register, logs, tmp_path, monkeypatch, is_long
):
    if is_long:
        monkeypatch.setattr("steadyhead.watch.reading.proposing.LONG", 1000)
    path = _days(tmp_path, "a.csv", 10)
    with proposed(register, logs, Given(KEY, (path,), source="kiosk")) as one:
        (asked,) = [each for each in one.assumed if each.name == "days from"]
        assert asked.doubt.taken == "1900"
    told = read_files(register, logs, Given(KEY, (path,), "kiosk", {"days from": "1904"}), WHO)
    first = datetime.now(UTC) - timedelta(days=11)
    assert told.channels[0].first[:10] == f"{first:%Y-%m-%d}"
    again = read_files(register, logs, Given(KEY, (_days(tmp_path, "b.csv", 9),), "kiosk"), WHO)
    assert again.channels[0].first[:10] == f"{first + timedelta(days=1):%Y-%m-%d}"
    assert not [each for each in again.assumed if each.name == "days from"]


def test_days_that_would_lie_ahead_from_1904_are_not_asked_about(register, logs, tmp_path):
    path = _days(tmp_path, "a.csv", 10 - 1462)
    with proposed(register, logs, Given(KEY, (path,))) as one:
        assert not [each for each in one.assumed if each.name == "days from"]
    with pytest.raises(InputErrors, match="days from"):
        look_at(register, logs, Given(KEY, (path,), answers={"days from": "1899"}))


@pytest.mark.parametrize("heads", [("UTC", "Local"), ("Time UTC", "Time local"), ("Zeit (UTC)", "Ortszeit")])
@pytest.mark.parametrize("zone", ["Europe/Berlin", "UTC", ""])
@pytest.mark.parametrize("is_long", [False, True])
def test_of_a_time_in_utc_and_one_of_the_place_the_one_in_utc_is_read(
    register, logs, tmp_path, monkeypatch, heads, zone, is_long
):
    if is_long:
        monkeypatch.setattr("steadyhead.watch.reading.proposing.LONG", 1000)
    lines = [f"{t},{t + timedelta(hours=1)},{a:.2f}" for t, a, _ in rows()]
    path = written(tmp_path, "a.csv", [f"{heads[0]},{heads[1]},P inlet [bar]", *lines])
    answers = {"zone": zone} if zone else {}
    told = read_files(register, logs, Given(KEY, (path,), "kiosk", answers), WHO)
    assert told.channels[0].first == f"{START:%Y-%m-%dT%H:%M:%SZ}"
    assert not [one for one in told.assumed if one.name == "zone"]


@pytest.mark.parametrize("is_long", [False, True])
@pytest.mark.parametrize(("days", "is_told"), [(-1, False), (365, True)])
def test_stamps_later_than_the_day_of_reading_are_told(
    register, logs, tmp_path, monkeypatch, is_long, days, is_told
):
    if is_long:
        monkeypatch.setattr("steadyhead.watch.reading.proposing.LONG", 1000)
    last = datetime.now(UTC).replace(microsecond=0) + timedelta(days=days)
    lines = [
        f"{last - timedelta(minutes=5 * (287 - at)):%Y-%m-%dT%H:%M:%SZ};{8 + at % 9 / 100:.2f}"
        for at in range(288)
    ]
    path = written(tmp_path, "ahead.csv", ["Time;P inlet [bar]", *lines])
    with proposed(register, logs, Given(KEY, (path,))) as one:
        assert one.found is not None
        facts = [fact for fact in one.found.facts if fact.code == "in the future"]
    assert bool(facts) is is_told
    assert all(f"{last:%Y-%m-%d}" in fact.words for fact in facts)
