"""Results typed in from paper keep the time they were read; what cannot be used stays and stops no other."""

from __future__ import annotations

import json
from datetime import datetime, timedelta, timezone
from types import SimpleNamespace
from typing import Any

import pytest

from steadyhead.procedure.ledger import read
from steadyhead.records.entry import Entry, clock_micros
from steadyhead.services.visits_kept.from_paper import Row, spread, type_in
from steadyhead.services.visits_kept.judged import entry_views
from steadyhead.services.visits_kept.run_rows import files_of, one_run
from steadyhead.web.app import make_app
from steadyhead.web.pages.paper import TypingIn
from tests.services.field.conftest import COUNT, _begun, visit  # noqa: F401
from tests.services.field.light import KEY, RUN, WHO, Visit
from tests.web.filled import Client

ADDRESS = f"/stations/{KEY}/runs/{RUN}/paper"
JSON = {"accept": "application/json"}
DAY, ZONE = "2027-04-14", "Europe/Berlin"
NOW = datetime(2027, 4, 15, 9, 0, tzinfo=timezone(timedelta(hours=2)))
STEP = "B2"
pytestmark = pytest.mark.by_turns(2)


@pytest.fixture
def client(visit: Visit, monkeypatch: pytest.MonkeyPatch) -> Client:  # noqa: F811
    """The app, on the day after the visit."""
    from steadyhead.services.visits_kept import from_paper

    def later(tz: Any = None) -> datetime:
        return NOW if tz is None else NOW.astimezone(tz)

    monkeypatch.setattr(from_paper, "datetime", SimpleNamespace(now=later))
    return Client(make_app(visit.register, rooms=("account", "hand_over", "paper", "runs", "interface")))


def added(visit: Visit) -> list[Entry]:  # noqa: F811
    return [one for one in read(visit.kept).entries if one.device.startswith("paper")]


def rows(*given: dict[str, str]) -> dict[str, Any]:
    return {"step": STEP, "zone": ZONE, "day": DAY, "who": WHO, "rows": list(given)}


def test_each_reading_keeps_when_it_was_read_by_whom_with_which_gauge_and_when_it_was_typed(
    client: Client,
    visit: Visit,  # noqa: F811
):
    sent = rows(
        {"name": "T1", "value": "8.6 bar", "clock": "19:55", "gauge": "TG-1", "stood": "60 s"},
        {"name": "T3", "value": "4.0 bar", "clock": "19:57:30"},
        {"name": "leak", "value": "0 mL/min", "clock": ""},
    )
    found = client.post(ADDRESS, json=sent, headers=JSON)
    assert found.status_code == 201, found.text
    assert found.json() == {"count": 3, "rows": ["T1", "T3", "leak"], "refused": []}
    one, two, three = added(visit)
    assert [each.t_device for each in (one, two, three)] == [
        "2027-04-14T19:55:00+02:00",
        "2027-04-14T19:57:30+02:00",
        "2027-04-14T19:57:30+02:00",
    ]
    assert (one.payload["instrument"], one.payload["steady_for"], one.who) == ("TG-1", 60.0, WHO)
    assert (one.node, one.by_hand, one.clock_within, two.clock_within) == (STEP, True, 60.0, 5.0)
    assert one.more["typed_by"] == "local"
    assert one.written == clock_micros(str(one.more["typed_at"]))
    with visit.register.reading() as connection:
        views = list(entry_views(*files_of(connection, one_run(connection, KEY, RUN)), visit_units()))
    told = next(each for each in views if each.number == COUNT + 1)
    assert told.at == "14 Apr 2027 19:55:00"
    assert told.typed.startswith("typed 20")
    assert " by " in told.typed


def visit_units() -> Any:
    from steadyhead.units import METRIC

    return METRIC


def test_times_before_the_visit_in_the_future_or_out_of_order_are_named_and_the_rest_is_taken(
    client: Client,
    visit: Visit,  # noqa: F811
):
    sent = rows(
        {"name": "T1", "value": "8.6 bar", "clock": "02:10"},
        {"name": "T2", "value": "8.5 bar", "clock": "19:55"},
        {"name": "T3", "value": "4.0 bar", "clock": "19:50"},
        {"name": "leak", "value": "0 mL/min", "day": "2027-04-16", "clock": "08:00"},
    )
    found = client.post(ADDRESS, json=sent, headers=JSON)
    assert found.status_code == 201
    told = {one["row"]: one for one in found.json()["refused"]}
    assert "before the visit's begin" in told["T1"]["problem"]
    assert "arrived" in told["T1"]["remedy"]
    assert told["T3"]["problem"] == "19:50:00 lies 5 min before the row above."
    assert "in the future" in told["leak"]["problem"]
    assert [one.payload["input"] for one in added(visit)] == ["T2"]
    ordered = rows(sent["rows"][2]) | {"ordered": True}
    assert client.post(ADDRESS, json=ordered, headers=JSON).status_code == 201
    none = client.post(ADDRESS, json=rows(sent["rows"][0]), headers=JSON)
    assert none.status_code == 422
    assert "before the visit" in none.json()["problems"][0]["problem"]


def test_who_arrived_before_the_visit_was_begun_here_says_so_first(client: Client, visit: Visit):  # noqa: F811
    sent = rows(
        {"name": "@arrived", "clock": "02:00"},
        {"name": "T1", "value": "8.6 bar", "clock": "02:10"},
        {"name": "@done", "clock": "02:20"},
    )
    found = client.post(ADDRESS, json=sent, headers=JSON)
    assert found.status_code == 201, found.text
    assert found.json()["refused"] == []
    assert [one.payload.get("do", one.payload.get("input")) for one in added(visit)] == [
        "arrive",
        "T1",
        "tick",
    ]


def test_half_a_page_loses_nothing_what_is_refused_stays_in_its_row(client: Client, visit: Visit):  # noqa: F811
    form = {
        "step": STEP, "zone": ZONE, "day": DAY, "who": WHO, "gauge": "TG-1",
        "v.T1": "8.6 bar", "t.T1": "19:55", "v.T2": "8.5 barr", "t.T2": "19:56", "v.T3": "", "t.T3": "",
    }  # fmt: skip
    page = client.post(ADDRESS, data=form)
    assert page.status_code == 422
    assert "1 entry taken in; 1 stays with you" in page.text
    assert 'value="8.5 barr"' in page.text
    assert 'value="8.6 bar"' not in page.text
    (one,) = added(visit)
    assert (one.payload["input"], one.payload["instrument"]) == ("T1", "TG-1")
    wrong = client.post(ADDRESS, data={**form, "zone": "Europe/Berln"})
    assert wrong.status_code == 422
    assert "Did you mean Europe/Berlin?" in wrong.text
    assert 'value="8.5 barr"' in wrong.text
    assert len(added(visit)) == 1
    done = client.post(ADDRESS, data={**form, "v.T1": "", "t.T1": "", "v.T2": "8.5 bar"})
    assert done.status_code == 200
    assert "1 entry taken in" in done.text


def test_the_page_shows_the_steps_of_the_paper_and_how_clocks_stood(client: Client):
    page = client.get(f"{ADDRESS}?step={STEP}&zone={ZONE}")
    assert page.status_code == 200
    assert "UTC+02:00, daylight saving time" in page.text
    twin = client.get(f"{ADDRESS}?step={STEP}&zone={ZONE}", headers=JSON).json()
    assert (twin["step"]["id"], twin["zone"], twin["begun_day"]) == (STEP, ZONE, DAY)
    assert (twin["persons"], twin["instruments"]) == ([], ["TG-1", "TG-2"])
    assert len(twin["steps"]) > 30
    for address in (f"{ADDRESS}?step=Q9", f"{ADDRESS}?zone=Nowhere"):
        assert client.get(address, headers=JSON).status_code == 422


def test_the_judge_goes_by_the_time_it_happened(visit: Visit):  # noqa: F811
    row = Row("T3", "4.0 bar", DAY, "19:55", who=WHO, gauge="TG-1")
    later = NOW + timedelta(days=30)
    told = type_in(visit.register, KEY, RUN, STEP, [row], ZONE, "the office", now=later)
    assert (told.count, told.refused) == (1, ())
    (one,) = added(visit)
    assert one.day.isoformat() == DAY
    assert json.dumps(dict(one.more)).count("the office") == 1


def test_what_is_left_empty_follows_the_head_and_the_row_above():
    given = [
        Row("T1", "1 bar", "", "08:00", "first"),
        Row("T3", "2 bar", "", ""),
        Row("leak", "no", "2027-04-15", "09:00", who="Tam Oduya"),
    ]
    one, two, three = spread(given, DAY, WHO, "TG-1", {"T1", "T3"})
    assert (two.day, two.clock, two.which, two.who, two.gauge) == (DAY, "08:00", "first", WHO, "TG-1")
    assert (three.day, three.clock, three.which, three.who, three.gauge) == (
        "2027-04-15",
        "09:00",
        "",
        "Tam Oduya",
        "",
    )
    assert one.gauge == "TG-1"


def test_on_the_page_rows_and_days_bear_their_words(client: Client, visit: Visit):  # noqa: F811
    sent = {"step": "A5", "zone": ZONE, "day": DAY, "who": WHO, "v.match": "yes", "t.match": "3:10"}
    page = client.post(ADDRESS, data=sent)
    assert page.status_code == 422
    assert ">All as in the file?: time</a>" in page.text
    assert 'id="f-All-as-in-the-file?:-time"' in page.text
    assert "On 14 Apr 2027 clocks of Europe/Berlin stood at" in page.text
    later = client.get(f"{ADDRESS}?step=J4&zone={ZONE}", headers={"accept": "text/html"})
    assert "Work began earlier than 14 Apr 2027, " in later.text


def test_the_zone_of_the_times_is_asked_before_anything_is_taken_in(client: Client, visit: Visit):  # noqa: F811
    page = client.get(f"{ADDRESS}?step={STEP}", headers={"accept": "text/html"}).text
    assert page.index('name="zone"') < page.index('name="day"')
    assert "clocks of UTC stood" not in page
    sent = {
        "step": STEP,
        "zone": "",
        "day": DAY,
        "who": WHO,
        "gauge": "TG-1",
        "v.T1": "8.6 bar",
        "t.T1": "19:55",
    }
    asked = client.post(ADDRESS, data=sent)
    assert asked.status_code == 422
    assert "Write the zone of the clock on site" in asked.text
    assert 'value="8.6 bar"' in asked.text
    assert added(visit) == []


def test_results_sent_as_json_name_their_zone_too(client: Client, visit: Visit):  # noqa: F811
    given = {
        "step": STEP,
        "day": DAY,
        "who": WHO,
        "rows": [{"name": "leak", "value": "0 mL/min", "clock": "19:55"}],
    }
    for sent in (given, {**given, "zone": ""}, {**given, "zone": " "}, {**given, "zone": None}):
        found = client.post(ADDRESS, json=sent, headers=JSON)
        assert found.status_code == 422, sent
        (told,) = found.json()["problems"]
        assert (told["field"], told["problem"]) == ("zone", "is missing.")
        assert "as Europe/Berlin; UTC where it was UTC" in told["remedy"]
    (told,) = client.post(ADDRESS, json={**given, "zone": 2}, headers=JSON).json()["problems"]
    assert told["problem"] == "got 2."
    assert added(visit) == []
    assert client.post(ADDRESS, json={**given, "zone": "UTC"}, headers=JSON).status_code == 201


def test_the_description_says_that_the_zone_is_required():
    schema = TypingIn.model_json_schema()
    assert "zone" in schema["required"]
    assert schema["properties"]["zone"]["examples"] == ["Europe/Berlin", "UTC"]
