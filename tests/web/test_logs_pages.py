"""Logger data on pages: handed over, questioned, taken in, judged, an event told, undone; and pushed."""

from __future__ import annotations

import re
from html import unescape

import pytest
from starlette.datastructures import Headers

from steadyhead.register.logs import logs_folder
from steadyhead.services.logs import warming
from steadyhead.services.logs.example_file import example_file
from steadyhead.services.stations.days import today
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from steadyhead.web.guarding import MOST_ARCHIVE, _most
from steadyhead.web.pages import logs as logs_pages
from tests.register.servers import register
from tests.services.certificates.visits import text_of
from tests.services.logs.files import dateless, open_dates, plain
from tests.services.logs.tripped import at, seen, tripped
from tests.web.filled import Client

__all__ = ["register"]
KEY = "DMB-01"
HERE = f"/stations/{KEY}/logs"


@pytest.fixture
def client(register) -> Client:
    save(register, read("dunmarrow-bottom"), "Ilse Marrow")
    return Client(make_app(register))


def handed(client: Client, *paths, **told: str) -> str:
    """Hand files over and return where they lie."""
    files = [("files", (path.name, path.read_bytes())) for path in paths]
    sent = client.post(HERE, data=told, files=files)
    assert sent.status_code == 303, sent.text
    return sent.headers["location"]


def said(page: str) -> str:
    main = page.partition("<main")[2].partition("</main>")[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", main)).split())


def test_an_empty_page_offers_a_file_to_try_with_that_holds_a_trip(client, tmp_path):
    assert f'href="{HERE}/example"' in client.get(HERE).text
    given = client.get(f"{HERE}/example")
    assert (given.status_code, given.text) == (200, example_file())
    path = tmp_path / "kiosk.csv"
    path.write_bytes(given.content)
    assert client.post(handed(client, path, zone="UTC+1"), data={"act": "take"}).status_code == 303
    assert f'href="{HERE}/example"' not in client.get(HERE).text
    shown = client.get(f"{HERE}/event?at=2026-02-20T01:40").text
    assert [shown.count(f'class="seen-{width}"') for width in ("wide", "middle", "narrow")] == [1, 1, 1]
    told = said(shown)
    assert "The shut-off closed for 3.7 h" in told
    assert client.get("/stations/NOT-1/logs/example").status_code in (404, 422)
    paper = client.get(f"{HERE}/event?at=2026-02-20T01:40&as=file")
    pages = text_of(paper.content)
    assert "Other events of these days" in pages
    assert "Night creep, 14" in pages


def test_files_are_shown_as_read_asked_about_taken_in_and_undone(client, tmp_path):
    desk = handed(client, plain(tmp_path), plain(tmp_path, "later.csv", shift=0.1), source="kiosk")
    page = said(client.get(desk).text)
    assert "commas, decimal point" in page
    assert "First and last rows, decoded" in page
    assert page.count("121 samples") <= page.count("read as one"), "what the report says is not said again"
    assert "Nothing is kept yet." in page
    again = client.post(desk, data={"act": "look", "answer.zone": "", "own.zone": "Europe/Berlin"})
    assert again.headers["location"] == desk
    assert "zone = Europe/Berlin" in said(client.get(desk).text)
    sent = client.post(desk, data={"act": "take"})
    assert sent.headers["location"] == f"{HERE}/1"
    assert client.get(desk).status_code == 422
    headings = {one["name"]: one["heading"] for one in client.json(HERE)["list"]["channels"]}
    assert all(f"{name} {heading}" in said(client.get(HERE).text) for name, heading in headings.items())
    page = said(client.get(f"{HERE}/1").text)
    assert "242 rows" in page
    given = client.get(f"{HERE}/1/files/0")
    assert given.content == (tmp_path / "kiosk.csv").read_bytes()
    assert "attachment" in given.headers["content-disposition"]
    assert "kiosk.csv" in said(client.get(HERE).text)
    assert "none of it is judged yet" in said(client.get(HERE).text)
    undone = client.post(f"{HERE}/1/undo", data={"reason": "of another station"})
    assert undone.status_code == 303
    assert "of another station" in said(client.get(f"{HERE}/1").text)
    assert client.post(f"{HERE}/1/undo", data={}).status_code == 422
    history = client.get(f"/stations/{KEY}/history").text
    assert f'<a href="{HERE}">Logger data undone: import 1, of another station</a>' in unescape(history)


def test_an_open_question_keeps_files_on_the_desk_until_it_is_answered(client, tmp_path):
    desk = handed(client, dateless(tmp_path), zone="UTC")
    refused = client.post(desk, data={"act": "take"})
    assert refused.status_code == 422
    assert "is open" in said(refused.text)
    assert "start=2027" not in refused.text, "no answer as the command line takes it"
    assert 'href="#f-start"' in refused.text
    assert 'id="f-start"' in refused.text
    assert "Doubtful" not in said(refused.text), "its questions stand above"
    assert 'value="yesterday"' in client.post(desk, data={"act": "take", "answer.start": "yesterday"}).text
    wrong = client.post(desk, data={"act": "take", "answer.start": "yesterday"})
    assert wrong.status_code == 422
    assert "which is no time" in said(wrong.text)
    assert client.json(desk)["proposal"]["answers"] == {"zone": "UTC"}
    sent = client.post(desk, data={"act": "take", "answer.start": "2027-03-01T08:00:00"})
    assert sent.headers["location"] == f"{HERE}/1"
    assert client.json(f"{HERE}/1")["report"]["channels"][0]["first"] == "2027-03-01T08:00:00Z"


def test_defects_lead_to_their_windows_also_without_scripts(client, tmp_path):
    spiked = plain(tmp_path, count=900)
    lines = spiked.read_text("utf-8").splitlines()
    at, inlet, _ = lines[500].split(",")
    lines[500] = f"{at},{inlet},9.90"
    spiked.write_text("\n".join(lines) + "\n", "utf-8")
    client.post(handed(client, spiked, zone="UTC"), data={"act": "take"})
    page = client.get(client.post(f"{HERE}/judge", data={}).headers["location"]).text
    found = re.search(rf'<a href="({HERE}/see\?[^"]+)">Spike', page)
    assert found is not None, said(page)
    assert client.json(unescape(found[1]))["window"]["told"][0]["code"] == "spike"
    see = client.get(f"{HERE}/see").text
    told = re.search(rf'<li value="1"><a href="({HERE}/see\?[^"]+)">Spike', see)
    assert told is not None
    assert client.get(unescape(told[1])).status_code == 200


def test_after_an_import_its_pictures_are_made_ready(client, register, tmp_path, monkeypatch):
    monkeypatch.setattr(warming, "LEAST", 1)
    client.post(handed(client, plain(tmp_path), zone="UTC"), data={"act": "take"})
    made = [*(logs_folder(register).root / "buckets").glob("*/*/*.parquet")]
    assert len(made) == 4
    content = plain(tmp_path, "b.csv", shift=0.3).read_bytes().replace(b"Time,", b"Time (UTC),")
    client.put(f"{HERE}/push?source=other&name=b.csv", content=content)
    assert len([*(logs_folder(register).root / "buckets").glob("*/*/*.parquet")]) > len(made)


def test_what_cannot_be_read_leaves_no_desk_and_says_why(client, tmp_path):
    (tmp_path / "a.csv").write_bytes(b"\x00\x01nothing")
    sent = client.post(HERE, data={"interval": "no"}, files=[("files", ("a.csv", b"1,2\n"))])
    assert sent.status_code == 422
    assert client.post(HERE, data={"source": "x"}).status_code == 422
    desk = handed(client, open_dates(tmp_path), zone="UTC")
    assert said(client.get(desk).text).count("nothing in the file tells") == 1, "told once"
    assert client.post(desk, data={"act": "drop"}).headers["location"] == HERE
    assert client.get(desk).status_code == 422
    assert client.get(f"{HERE}/desk/{'0' * 32}").status_code == 422


def test_a_trip_is_judged_and_told_on_pages_as_in_json_and_on_paper(client, tmp_path):
    desk = handed(client, tripped(tmp_path), source="kiosk", zone="UTC")
    client.post(desk, data={"act": "take"})
    sent = client.post(f"{HERE}/judge", data={})
    assert sent.status_code == 303, sent.text
    page = client.get(sent.headers["location"])
    assert "Tight down to Q" in said(page.text)
    assert "17 280" in said(page.text)
    assert f'<a href="{HERE}/1">1</a>' in page.text
    assert f'href="{sent.headers["location"]}?as=json"' in page.text
    measures = re.findall(r"<details><summary>(.*?)</summary>", page.text)
    assert len(measures) == len(set(measures)), "none is told twice"
    assert "m³/h" not in said(page.text), "flows in one unit"
    found = re.search(rf'href="({HERE}/event\?at=[^"]+)"', page.text)
    assert found is not None
    link = unescape(found[1])
    told = said(client.get(link).text)
    assert "Reducer failed open: likely" in told
    assert "In which order" in told
    assert "different files" not in told
    assert f'<a href="{HERE}/rows?channel=' in client.get(link).text
    window = re.search(rf'href="({HERE}/see\?start=[^"]+)">See its window', client.get(link).text)
    assert window is not None
    about = client.json(unescape(window[1]))["window"]
    assert about["end_ms"] - about["start_ms"] < 24 * 3_600_000, "the event, not the weeks about it"
    assert client.json(link)["told"]["event"]["code"] == "trip"
    paper = client.get(link + "&as=file")
    assert paper.content.startswith(b"%PDF")
    none = client.get(f"{HERE}/event?at={at(seen()[1] - 200_000.0):%Y-%m-%dT%H:%M}")
    assert "No event is told within six hours" in said(none.text)
    assert client.get(f"{HERE}/event?at=soon").status_code == 422
    assert client.post(f"{HERE}/judge", data={"start": "2030-01-01"}).status_code == 422


def test_pages_and_paper_are_in_the_readers_units_and_json_is_as_it_was(client, tmp_path):
    old = re.compile(r"\bbar\b|\bL/s\b")
    client.post(handed(client, tripped(tmp_path), source="kiosk", zone="UTC"), data={"act": "take"})
    judged = client.post(f"{HERE}/judge", data={}).headers["location"]
    client.post(f"{HERE}/judge", data={})
    event = f"{HERE}/event?at={at(seen()[1] + 60.0):%Y-%m-%dT%H:%M}"
    metric = {one: client.json(one) for one in (judged, event)}
    assert client.post("/account/reading", data={"units": "us"}).status_code == 303
    for one in (judged, event, f"{HERE}/see", f"{HERE}/year"):
        page = said(client.get(one).text)
        assert "psi" in page
        assert not old.search(page)
    assert not old.search(text_of(client.get(f"{event}&as=file").content))
    assert client.json(judged)["judged"] == metric[judged]["judged"]
    assert client.json(event)["told"] == metric[event]["told"]
    page = client.get(HERE).text
    assert "<details><summary>1 earlier judgement of the same samples</summary>" in page
    assert page.count(f'<a href="{HERE}/judged/') == 2


def test_a_long_period_is_judged_beside_other_work_and_may_be_stopped_by_who_asked(
    client, tmp_path, monkeypatch
):
    desk = handed(client, plain(tmp_path), source="short", zone="UTC")
    client.post(desk, data={"act": "take"})
    monkeypatch.setattr(logs_pages, "AT_ONCE", 10)
    sent = client.post(f"{HERE}/judge", data={})
    assert sent.headers["location"].startswith("/jobs/"), sent.text
    page = said(client.get(sent.headers["location"]).text)
    assert "the first sample to the last one" in page
    assert "Finished days are kept" in page
    listed = client.get(HERE).text
    assert f'data-job="{sent.headers["location"]}"' in listed
    assert f'action="{sent.headers["location"]}/stop"' in listed
    assert client.json(HERE)["jobs"][0]["state"] == "asked"
    assert client.post(f"{sent.headers['location']}/stop").status_code == 303
    assert client.json(sent.headers["location"])["state"] == "stopped"
    assert client.post(f"{HERE}/judge", data={"start": "2030-01-01"}).status_code == 422


def test_what_a_logger_sends_is_taken_in_once_and_a_question_leaves_it_aside(client, tmp_path):
    content = plain(tmp_path).read_bytes().replace(b"Time,", b"Time (UTC),")
    first = client.put(f"{HERE}/push?source=kiosk&name=a.csv", content=content)
    assert first.status_code == 201, first.text
    assert (first.json()["number"], first.json()["used"]) == (1, 120)
    again = client.put(f"{HERE}/push?source=kiosk&name=b.csv", content=content)
    assert (again.status_code, again.json()["number"]) == (200, 0)
    asked = client.put(f"{HERE}/push?source=other", content=dateless(tmp_path).read_bytes())
    assert asked.status_code == 422
    assert len(client.json(HERE)["list"]["imports"]) == 1
    assert _most(f"{HERE}/push", Headers({})) == MOST_ARCHIVE  # without a content type, as loggers send
    assert _most(HERE, Headers({"content-type": "multipart/form-data; boundary=x"})) == MOST_ARCHIVE
    assert _most(f"{HERE}/judge", Headers({})) < MOST_ARCHIVE
    strange = client.put(f"{HERE}/push", content=content, headers={"origin": "https://elsewhere.example"})
    assert strange.status_code == 403


def test_a_logger_sends_with_a_key_of_its_own_for_one_station_until_it_is_ended(register, tmp_path):
    from steadyhead.services import accounts
    from steadyhead.services.archive.verifying import verify_connection

    save(register, read("dunmarrow-bottom"), "Ilse Marrow")
    save(register, read("fenwarren-gate"), "Ilse Marrow")
    alone = Client(make_app(register))
    assert alone.post(f"{HERE}/keys", data={"logger": " "}).status_code == 422
    made = alone.post(f"{HERE}/keys", data={"logger": "kiosk"})
    assert made.status_code == 201
    found = re.search(r"sh-[A-Za-z0-9_-]{43}", made.text)
    assert found is not None
    secret = found[0]
    assert secret not in alone.get(HERE).text
    assert "not used yet" in alone.get(HERE).text
    assert "steadyhead logs listen" in alone.get(HERE).text
    accounts.first_administrator(register, "Ilse Marrow")
    content = plain(tmp_path).read_bytes().replace(b"Time,", b"Time (UTC),")
    sent = {"origin": None, "authorization": f"Bearer {secret}"}
    logger = Client(make_app(register), headers={})

    def put(path=f"{HERE}/push?source=kiosk", **headers):
        return logger.ask("PUT", path, content=content, headers=sent | headers)

    assert put().status_code == 201, put().text
    assert put(authorization=f"Bearer {secret[:-1]}x").status_code == 401
    assert put(authorization=f"Bearer {secret}x").status_code == 401
    assert put("/stations/FWG-02/logs/push").status_code == 401
    assert put(authorization=None).status_code == 403
    assert logger.get(HERE, headers=sent).status_code == 303  # it shows nothing
    assert logger.post(f"{HERE}/1/undo", data={}, headers=sent).status_code == 403
    told = alone.json(HERE) if alone.get(HERE).status_code == 200 else None
    assert told is not None
    (key,) = told["keys"]
    assert key["used"] == today().isoformat()
    assert "last used" in said(alone.get(HERE).text)
    assert told["list"]["imports"][0]["who"] == f"kiosk (logger key {key['id']})"
    assert alone.post(f"{HERE}/keys/{key['id']}/end", data={}).status_code == 303
    assert alone.post(f"{HERE}/keys/{key['id']}/end", data={}).status_code == 422
    assert put().status_code == 401
    history = alone.get(f"/stations/{KEY}/history").text
    assert "Logger key made: kiosk" in unescape(history)
    assert "Logger key ended: kiosk" in unescape(history)
    with register.reading() as connection:
        assert not verify_connection(connection).findings
