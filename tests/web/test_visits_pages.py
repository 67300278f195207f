"""Plans, visits, records and history as pages: shown, entered, refused with what was typed, given out."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from steadyhead.procedure.ledger import dump
from steadyhead.register import open_register
from steadyhead.services.example_year.clean_visit import clean_visit
from steadyhead.services.example_year.device import Device
from steadyhead.services.plan_files import read_plan_file
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept import plans, runs
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from tests.web.filled import Client

KEY, WHO, AT = "PNY-1", "Ilse Marrow", "/stations/PNY-1"


@pytest.fixture(scope="session")
def yard_made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, bytes]:
    """A station with a plan and half a visit, made once; and the entries of the whole visit."""
    folder = tmp_path_factory.mktemp("yard") / "register"
    register = open_register(folder)
    save(register, read("pinnock-yard"), WHO, "first")
    made = plans.make(register, KEY, "first", "", WHO, with_paper=False)
    stored = read_plan_file(plans.plan_content(register, KEY, made.record.id)[1])
    begun = datetime(2026, 4, 14, 7, 50, tzinfo=timezone(timedelta(hours=1)))
    device = Device("tab-1", "visit-1", WHO, begun)
    entries = clean_visit(
        stored.procedure, {"E0.RV": "fits"}, device, ((WHO, "engineer"),), plan=stored.sha256
    )
    entries.append(device.make("sign", {"asks": "final", "statement": "tested as listed"}))
    runs.begin_from(register, KEY, dump(entries[:60]), WHO)
    register.close()
    return folder, dump(entries)


@pytest.fixture
def yard(tmp_path: Path, yard_made: tuple[Path, bytes]) -> Iterator[Client]:
    shutil.copytree(yard_made[0], tmp_path / "register")
    register = open_register(tmp_path / "register")
    yield Client(make_app(register))
    register.close()


@pytest.mark.parametrize(
    "path",
    [
        "/visits", f"{AT}/plans", f"{AT}/runs", f"{AT}/runs/visit-1", f"{AT}/runs/visit-1/entries",
        f"{AT}/records", f"{AT}/history",
    ],
)  # fmt: skip
def test_each_page_is_there_with_its_twin_and_carries_no_style_of_its_own(yard: Client, path: str):
    page = yard.get(path)
    assert page.status_code == 200, page.text
    assert "style=" not in page.text
    assert "<h1>" in page.text
    assert yard.json(path)


@pytest.mark.parametrize("path", ["plans", "runs", "records", "history", "runs/no-such", "records/no-such"])
def test_what_is_not_kept_is_told_so(yard: Client, path: str):
    assert yard.get(f"/stations/NO-1/{path}").status_code == 404
    if "/" in path:
        assert yard.get(f"{AT}/{path}").status_code == 404


def test_a_visit_shows_its_picture_at_three_widths_with_one_sentence_and_a_table(yard: Client):
    page = yard.get(f"{AT}/runs/visit-1").text
    assert page.count('role="img"') == 3
    assert "Every proof as a table" in page
    assert "still to be noted" in page
    svg = yard.get(f"{AT}/runs/visit-1?as=svg&width=narrow")
    assert svg.headers["content-type"].startswith("image/svg+xml")
    assert svg.text.startswith("<svg")


def test_fields_that_begin_a_visit_have_labels_that_stay_while_one_types(yard: Client):
    main = yard.get(f"{AT}/plans").text.partition('<main id="main"')[2]
    assert "placeholder" not in main
    assert main.count('class="unseen" for=') == 0
    assert "Who does the work</label>" in main


def test_a_table_of_proofs_names_its_cells_where_it_is_too_narrow_for_heads(yard: Client):
    page = yard.get(f"{AT}/runs/visit-1").text
    assert '<table class="apart">' in page
    assert all(f'data-name="{name}"' in page for name in ("showed", "gained", "step", "rests on"))


def test_a_step_is_entered_by_its_form_and_said_what_it_means(yard: Client):
    view = yard.json(f"{AT}/runs/visit-1")
    step = view["judged"]["next"]["id"]
    told = yard.post(f"{AT}/runs/visit-1", data={"act": "enter", "words": "note weather dry"})
    assert told.status_code == 200
    assert "1 entry taken in" in told.text
    assert yard.json(f"{AT}/runs/visit-1")["run"]["entries"] == view["run"]["entries"] + 1
    refused = yard.post(f"{AT}/runs/visit-1", data={"act": "enter", "step": step, "a.nothing": "5 bar"})
    assert refused.status_code == 422
    assert "5 bar" in refused.text or "nothing" in refused.text


def test_what_was_typed_stays_where_it_cannot_be_taken(yard: Client):
    page = yard.post(f"{AT}/runs/visit-1", data={"act": "enter", "words": "A99 hold=5 bar", "at": "noon"})
    assert page.status_code == 422
    assert "A99 hold=5 bar" in page.text
    assert 'value="noon"' in page.text
    assert "Traceback" not in page.text


def test_entries_are_entered_by_json_too(yard: Client):
    told = yard.post(
        f"{AT}/runs/visit-1",
        json={"act": "enter", "words": "note seen"},
        headers={"accept": "application/json"},
    )
    assert told.status_code == 201, told.text
    assert told.json()["count"] == 1
    wrong = yard.post(
        f"{AT}/runs/visit-1", json={"act": "enter", "words": True}, headers={"accept": "application/json"}
    )
    assert wrong.status_code == 422


def test_a_visit_is_completed_from_a_file_certified_verified_and_told(yard: Client, yard_made):
    files = {"entries": ("visit.jsonl", yard_made[1])}
    assert yard.post(f"{AT}/runs/visit-1", data={"act": "take"}, files=files).status_code == 303
    assert yard.json(f"{AT}/runs/visit-1")["judged"]["is_final"]
    made = yard.post(f"{AT}/runs/visit-1", data={"act": "certify"})
    assert made.status_code == 303, made.text
    page = yard.get(made.headers["location"])
    assert "Byte for byte as signed" in page.text
    assert "The chain of this register holds link" in page.text
    settings = yard.json(made.headers["location"])["certificate"]["settings"]
    assert (settings[0]["design"], settings[0]["mark"]) == ("3.80 bar at 2.00 L/s", "holds")
    assert all(one["left"] in page.text for one in settings)
    pdf = yard.get(f"{made.headers['location']}?as=file")
    assert pdf.content.startswith(b"%PDF")
    assert pdf.headers["content-disposition"].startswith("attachment; ")
    assert "certified" in [one["state"] for one in yard.json("/visits")["runs"]]
    assert yard.json(f"{AT}/runs")["station"]["life"]["visits"]["fact"].startswith("proved 14 Apr 2026")
    kept = yard.json(f"{AT}/file")
    changed = {
        "text": kept["text"].replace("duty: {pressure: 3.8 bar", "duty: {pressure: 3.7 bar"),
        "based_on": kept["based_on"],
    }
    assert yard.post(f"{AT}/file", data=changed).status_code == 303
    for where in (f"{AT}/records", made.headers["location"], f"{AT}/runs/visit-1"):
        assert "proof of 14 Apr 2026 stale" in yard.get(where).text.partition('<main id="main"')[2]


def test_no_certificate_of_a_visit_that_is_not_signed_and_why(yard: Client):
    page = yard.post(f"{AT}/runs/visit-1", data={"act": "certify"})
    assert page.status_code == 422
    assert "No certificate, because" in page.text


def test_a_trip_is_reported_and_the_station_said_to_be_shut(yard: Client):
    wrong = yard.post(f"{AT}/runs", data={"act": "trip", "since": "last night", "words": "dark"})
    assert wrong.status_code == 422
    assert "last night" in wrong.text
    told = yard.post(
        f"{AT}/runs", data={"act": "trip", "since": "2026-04-20T02:47+01:00", "known_by": "seen"}
    )
    assert told.status_code == 303
    page = yard.get(f"{AT}/runs").text
    assert "The station is shut." in page
    assert "tripped, shut since 20\u00a0Apr 2026, 02:47" in page
    assert page.count('class="do"') == 1
    face = yard.get(AT).text
    assert "water in it not known" in face
    assert "Do not reset at full inlet pressure" in yard.get(AT).text  # on the face too
    trip = yard.json(f"{AT}/runs")["trips"][0]["id"]
    assert f'name="record" value="{trip}"' in page
    struck = yard.post(f"{AT}/records", data={"act": "strike", "record": trip, "reason": "the other station"})
    assert struck.status_code == 303
    assert "The station is shut." not in yard.get(f"{AT}/runs").text
    assert 'value="trip"' in yard.get(f"{AT}/runs?report=trip").text


def test_a_visit_begun_by_mistake_is_left_off_unless_something_was_touched(yard: Client, yard_made):
    assert "Leave this visit off" in yard.get(f"{AT}/runs/visit-1").text
    silent = yard.post(f"{AT}/runs/visit-1", data={"act": "leave"})
    assert silent.status_code == 422
    plan = yard.json(f"{AT}/plans")["plans"][0]["id"]
    told = {"act": "begin", "plan": plan, "person": "Tam Oduya", "role": "technician"}
    fresh = yard.post(f"{AT}/runs", data=told).headers["location"]
    assert yard.post(fresh, data={"act": "leave", "why": "wrong plan"}).status_code == 303
    found = next(one for one in yard.json(f"{AT}/runs")["runs"] if fresh.endswith(one["id"]))
    assert found["state"] == "left"
    assert found["words"].endswith("wrong plan")
    assert yard.post(fresh, data={"act": "leave", "why": "once more"}).status_code == 422
    yard.post(fresh, data={"act": "enter", "words": "do lower thing=RV.setting amount=1/4 turn"})
    yard.post(
        f"{AT}/runs/visit-1", data={"act": "enter", "words": "do lower thing=RV.setting amount=1/4 turn"}
    )
    touched = yard.post(f"{AT}/runs/visit-1", data={"act": "leave", "why": "no"})
    assert "something was touched in this visit" in touched.text


def test_a_file_of_another_visit_is_said_to_be_refused_at_once(yard: Client):
    content = yard.get(f"{AT}/runs/visit-1/entries.jsonl").content.replace(b'"visit-1"', b'"visit-9"')
    page = yard.post(f"{AT}/runs/visit-1", data={"act": "take"}, files={"entries": ("visit.jsonl", content)})
    assert page.status_code == 422
    assert "0 taken in" in page.text
    assert "belongs to another visit, visit-9" in page.text
    assert "on the station&#39;s page of visits" in page.text


def test_a_document_is_given_out_as_a_file_and_never_as_a_page(yard: Client):
    told = yard.post(
        f"{AT}/records",
        data={"act": "document", "title": "<b>permit</b>", "kind": "permit"},
        files={"file": ('../"a".html', b"<script>alert(1)</script>")},
    )
    assert told.status_code == 303, told.text
    one = yard.json(f"{AT}/records")["documents"][0]
    given = yard.get(f"{AT}/records/{one['id']}?as=picture")
    assert given.headers["content-disposition"].startswith("attachment; ")
    assert given.headers["x-content-type-options"] == "nosniff"
    assert given.headers["content-type"] == "application/octet-stream"
    page = yard.get(f"{AT}/records").text
    assert "<b>permit</b>" not in page
    assert "&lt;b&gt;permit&lt;/b&gt;" in page
    struck = yard.post(f"{AT}/records", data={"act": "strike", "record": one["id"], "reason": "wrong street"})
    assert struck.status_code == 303
    assert "wrong street" in yard.get(f"{AT}/records").text
    assert yard.get(f"{AT}/records/{one['id']}?as=file").content == b"<script>alert(1)</script>"


def test_a_picture_is_shown_as_one(yard: Client):
    files = {"file": ("a.png", b"\x89PNG\r\n\x1a\nrest")}
    yard.post(f"{AT}/records", data={"act": "document", "title": "gauge", "kind": "photo"}, files=files)
    one = yard.json(f"{AT}/records")["documents"][0]
    shown = yard.get(f"{AT}/records/{one['id']}?as=picture")
    assert shown.headers["content-disposition"].startswith("inline; ")
    assert shown.headers["content-type"] == "image/png"
    assert f"{one['id']}?as=picture" in yard.get(f"{AT}/records").text


def test_a_plan_is_given_out_and_a_wrong_visit_refused_beside_its_field(yard: Client):
    plan = yard.json(f"{AT}/plans")["plans"][0]
    assert yard.get(f"{AT}/plans/{plan['id']}").content.startswith(b'{"format":"steadyhead/plan-file/')
    assert b"Pinnock Yard" in yard.get(f"{AT}/plans/{plan['text']}").content
    wrong = yard.post(f"{AT}/plans", data={"visit": "after-repair", "item": "tea kettle"})
    assert wrong.status_code == 422
    assert "tea kettle" in wrong.text


def test_the_history_links_to_what_it_tells(yard: Client):
    lines = yard.json(f"{AT}/history")["lines"]
    assert lines[0]["words"] == "60 entries taken in"
    assert lines[0]["href"] == f"{AT}/runs/visit-1"
    assert lines[-1]["words"] == "station added: revision 1"


def test_a_tripped_station_without_a_visit_has_one_thing_to_do(client: Client):
    """One solid button: the plan of the restart."""
    at = "/stations/QHL-01/runs"
    told = client.post(at, data={"act": "trip", "since": "2026-04-20T02:47+01:00", "known_by": "seen"})
    assert told.status_code == 303
    page = client.get(at).text
    assert page.count('class="do"') == 1
    assert ">Plan the restart<" in page
    planning = client.get("/stations/QHL-01/plans").text
    assert '<option value="restart" selected>' in planning
    assert planning.count(" selected>") == 1
