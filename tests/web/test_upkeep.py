"""The pages of upkeep: what is shown, what is taken, what is refused without losing what was typed."""

from __future__ import annotations

import re
from calendar import month_name
from datetime import UTC, datetime, timedelta

import pytest

from steadyhead.register import Register
from steadyhead.services.upkeep.doings import into_service
from tests.web.filled import WHO, Client

MONTHS = [name for name in month_name if len(name) > 3]

HERE = "/stations/QHL-01/upkeep"
PROGRAM = {"accept": "application/json"}
TODAY = datetime.now(UTC).date()


@pytest.fixture
def used(client: Client, filled: Register) -> Client:
    """A client of a register whose first station went into service in 2020."""
    into_service(filled, "QHL-01", WHO, on="2020-05-04")
    return client


def test_the_list_says_why_before_when(used: Client):
    page = used.ask("GET", "/upkeep").text
    assert (
        page.index("No proof is on record.")
        < page.index("Prove the trip: shut-off SO")
        < page.index("overdue by")
    )
    assert "authorises no work" in page


def test_what_is_worth_doing_with_the_same_isolation_tells_days_as_all_pages_do(
    client: Client, filled: Register
):
    into_service(filled, "QHL-01", WHO, on=(datetime.now(UTC) - timedelta(days=330)).date().isoformat())
    page = client.ask("GET", "/upkeep?show=protection").text
    assert "Worth doing with the same isolation" in page
    assert not re.search(rf"\d (?:{'|'.join(MONTHS)}) \d{{4}}", page)


def test_page_and_json_tell_the_same(used: Client):
    view = used.ask("GET", "/upkeep?as=json&until=2035-01-01&show=all").json()
    page = used.ask("GET", "/upkeep?until=2035-01-01&show=all").text
    for group in view["groups"]:
        for line in group["lines"]:
            assert line["does"] in page
    assert view["total"] == view["last"] or view["after"] == 50


def test_done_is_kept_and_shown(used: Client):
    answer = used.ask(
        "POST", HERE, data={"act": "done", "activity": "trip_proof", "place": "SO", "on": "2026-01-31"}
    )
    assert (answer.status_code, answer.headers["location"]) == (303, HERE)
    line = _line(used, "trip_proof", "SO")
    assert (line["due"]["last"], line["due"]["was"]) == ("2026-01-31", "2026-07-31")
    told = used.ask(
        "POST", HERE, json={"act": "done", "activity": "look", "on": "2026-01-31"}, headers=PROGRAM
    )
    assert told.status_code == 201
    assert told.json()["words"] == "look done"


def test_a_refused_day_shows_the_form_again_with_what_was_typed(used: Client):
    given = {
        "act": "done",
        "activity": "trip_proof",
        "place": "SO",
        "on": "2027-02-30",
        "note": "went <well>",
    }
    answer = used.ask("POST", HERE, data=given)
    assert answer.status_code == 422
    assert "went &lt;well&gt;" in answer.text
    assert "no day of the calendar" in answer.text
    assert "2027-02-30" in answer.text
    refused = used.ask("POST", HERE, json=given, headers=PROGRAM)
    assert (refused.status_code, refused.json()["problems"][0]["field"]) == (422, "on")


def test_the_cautions_stand_at_the_step(used: Client):
    page = used.ask("GET", f"{HERE}?act=done&activity=trip_proof&place=SO").text
    form = page[page.index('id="form"') : page.index("Keep it")]
    for words in ("Stored pressure", "Confined space", "Raising the outlet", "come first"):
        assert words in form


def test_a_deferral_is_shown_and_not_in_date(used: Client):
    until = (TODAY + timedelta(days=40)).isoformat()
    given = {"act": "defer", "activity": "trip_proof", "place": "SO", "until": until, "reason": "no feed",
             "risk": "unproved", "measure": "watched", "approver": "R. Tamblyn"}  # fmt: skip
    assert used.ask("POST", HERE, data=given).status_code == 303
    page = used.ask("GET", HERE).text
    assert "not in date since 4\u00a0May 2020" in page
    assert "Approved by R. Tamblyn" in page
    assert "deferred to" in used.ask("GET", "/upkeep?show=deferred").text


def test_a_line_is_struck_out_by_its_form(used: Client):
    used.ask("POST", HERE, data={"act": "done", "activity": "look", "on": "2026-01-31"})
    line = next(one for one in used.ask("GET", f"{HERE}?as=json").json()["past"] if one["words"] == "look")
    assert "Strike it out" in used.ask("GET", f"{HERE}?act=strike&line={line['id']}").text
    assert (
        used.ask("POST", HERE, data={"act": "strike", "line": line["id"], "reason": "slip"}).status_code
        == 303
    )
    assert "struck out" in used.ask("GET", HERE).text
    assert (
        used.ask("POST", HERE, data={"act": "strike", "line": line["id"], "reason": "slip"}).status_code
        == 422
    )


def test_a_piece_is_put_in_moved_and_has_its_page(used: Client):
    given = {"act": "piece", "place": "SO", "serial": "44-1", "on": "2020-05-04", "why": "first"}
    told = used.ask("POST", HERE, json=given, headers=PROGRAM).json()
    at = f"/upkeep/pieces/{told['id']}"
    assert "Shut-off 44-1" in used.ask("GET", at).text
    assert "44-1" in used.ask("GET", "/upkeep/pieces?q=44").text
    given = {"act": "move", "station": "QHL-01", "place": "RV", "on": "2026-01-31", "why": "swap"}
    refused = used.ask("POST", at, data=given)
    assert refused.status_code == 422
    assert 'value="RV"' in refused.text
    assert used.ask("POST", at, data={"act": "move", "on": "2026-01-31", "why": "worn"}).status_code == 303
    assert used.ask("GET", f"{at}?as=json").json()["station"] == ""


@pytest.mark.parametrize(
    "body",
    [
        {"act": "done", "activity": "look", "on": True},
        {"act": "done", "activity": "look", "on": "2026-01-31", "ratio": True},
        {"act": "interval", "activity": "look", "months": "NaN", "reason": "x"},
        {"act": "burn"},
        {"act": "interval", "activity": "look", "reason": "x"},
        {"act": "done", "activity": "look", "on": "2026-01-31", "more": 1},
        {},
    ],
)
def test_nonsense_is_refused_by_field(used: Client, body: dict[str, object]):
    answer = used.ask("POST", HERE, json=body, headers=PROGRAM)
    assert answer.status_code == 422
    assert answer.json()["problems"]


@pytest.mark.parametrize(
    "path",
    ["/upkeep?until=x", "/upkeep?show=x", "/upkeep?by=x", "/upkeep?from=-1",
     "/upkeep?from=9999999999999999999999", f"/upkeep?q={'x' * 300}"],
)  # fmt: skip
def test_what_cannot_be_asked_is_refused(client: Client, path: str):
    assert client.ask("GET", path, headers={"accept": "application/json"}).status_code == 422


def test_what_is_not_kept_is_not_found(client: Client):
    for path in (
        "/stations/NONE/upkeep",
        "/upkeep/pieces/NONE",
        "/upkeep.ics?station=NONE",
        "/upkeep/paper?station=NONE",
    ):
        assert client.ask("GET", path).status_code == 404


def test_calendar_and_paper_come_with_their_kinds(used: Client):
    calendar = used.ask("GET", "/upkeep.ics")
    assert calendar.headers["content-type"].startswith("text/calendar")
    assert "/stations/QHL-01/upkeep" in calendar.text.replace("\r\n ", "")
    paper = used.ask("GET", "/upkeep/paper?until=2030-01-01&show=all")
    assert paper.headers["content-type"] == "application/pdf"
    assert paper.content.startswith(b"%PDF")


def test_an_empty_list_says_so_and_where_to_go(client: Client):
    page = client.ask("GET", "/upkeep?show=deferred").text
    assert "Nothing is due" in page
    assert "No piece is kept yet" in client.ask("GET", "/upkeep/pieces").text


def _line(client: Client, activity: str, place: str) -> dict[str, dict[str, str]]:
    view = client.ask("GET", f"{HERE}?as=json").json()
    lines = [line for group in view["groups"] for line in group["lines"]]
    return next(one for one in lines if (one["due"]["activity"], one["due"]["place"]) == (activity, place))


def test_several_are_kept_together_and_picks_stay_where_the_day_is_refused(used: Client):
    path = f"{HERE}?act=together&section=IV1%7CIV2"
    assert "Stored pressure" in used.ask("GET", path).text
    given = {
        "act": "together",
        "section": "IV1|IV2",
        "lines": ["strainer_clean@ST", "trip_proof@SO"],
        "on": "x",
    }
    refused = used.ask("POST", HERE, data=given)
    assert refused.status_code == 422
    assert refused.text.count(" checked") == 2
    assert used.ask("POST", HERE, data={**given, "on": "2026-01-31"}).status_code == 303
    assert _line(used, "strainer_clean", "ST")["due"]["last"] == "2026-01-31"
