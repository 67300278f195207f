"""Archive, tables and import in the browser: what leaves, what comes in, and who may."""

from __future__ import annotations

import html
import io
import json
import os
import re
import threading
import time
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from steadyhead.cli.app import run
from steadyhead.errors import InputError
from steadyhead.register import open_register
from steadyhead.services import accounts as team
from steadyhead.services.archive.verifying import verify_place
from steadyhead.services.works import __main__ as doing
from steadyhead.services.works.asking import works_of
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from steadyhead.work import no_progress
from tests.web.filled import Client

SHEET = b"station;name;static (bar)\nN-1;one;9.1\nN-2;two;=\nN-3;=cmd;9.2\n"


@pytest.fixture(autouse=True)
def desks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Lay every desk into the test's own folder."""
    (tmp_path / "desks").mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "desks"))


class Here:
    """Stands for the process of a work, and does it in a thread of this one: so it costs no second start."""

    def __init__(self, *_: Any, **__: Any) -> None:
        asked, asks = os.pipe()
        told, tells = os.pipe()
        self.stdin, self.stdout = os.fdopen(asks, "wb"), os.fdopen(told, "rb")
        self._thread = threading.Thread(target=self._do, args=(asked, tells), daemon=True)
        self._thread.start()

    def _do(self, asked: int, tells: int) -> None:
        with os.fdopen(asked, "rb") as asking, os.fdopen(tells, "wb") as telling:
            told = doing._answer(json.loads(asking.readline()), threading.Event())
            telling.write(json.dumps(told).encode() + b"\n")

    def wait(self) -> None:
        self._thread.join()

    def kill(self) -> None:
        """Nothing is left to end."""


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Do works in this process."""
    monkeypatch.setattr("steadyhead.services.works.asking.subprocess.Popen", Here)
    monkeypatch.setattr(doing, "_teller", lambda: no_progress)


def until(look: Callable[[], Any], of: str) -> Any:
    """Return a page's JSON when a work of it has ended."""
    end = time.monotonic() + 120
    while time.monotonic() < end:
        found = look()
        if found[of]["state"] != "running":
            return found
        time.sleep(0.1)
    pytest.fail(f"{of} did not end")


def test_the_archive_leaves_as_one_file_that_is_whole(client, tmp_path):
    assert client.get("/archive").status_code == 200
    found = client.get("/archive/archive.zip")
    assert found.headers["content-type"] == "application/zip"
    assert zipfile.ZipFile(io.BytesIO(found.content)).testzip() is None
    (tmp_path / "all.zip").write_bytes(found.content)
    assert verify_place(str(tmp_path / "all.zip")).is_whole


@pytest.mark.parametrize(
    ("address", "kind"),
    [("stations.csv?mark=yes", "text/csv"), ("stations.geojson", "geo+json"), ("history.parquet", "parquet")],
)
def test_lists_leave_as_tables(client, address, kind):
    found = client.get(f"/archive/tables/{address}")
    assert found.status_code == 200
    assert kind in found.headers["content-type"]
    assert "attachment" in found.headers["content-disposition"]


def test_the_report_of_an_import_says_what_can_be_written_and_marks_what_is_shown(client, here):
    sheet = b"id;name;static (bar)\nN-1;one;9.1\nN-2;two;abc\n"
    files = {"sheet": ("a.csv", sheet), "template_file": ("like.yaml", read("quillenby-row"))}
    found = client.post("/stations/import", files=files)
    at = found.headers["location"]
    fills = [{"at": "station.id"}, {"at": "station.name"}, {"at": "supply.static", "unit": "bar"}]
    chosen = {"columns": fills, "do": "look"}
    asked = client.post(f"{at}/columns", json=chosen, headers={"accept": "application/json"})
    assert asked.status_code == 201, asked.text
    until(lambda: client.json(at), "reading")
    page = client.get(f"{at}?show=refused").text
    assert "1 row is refused and cannot be written. Mend the sheet and import it anew; or write only" in page
    assert "Write only 1 station, without the refused" in page
    assert re.findall(r'aria-current="true">([a-z ]+) <span class="num">(\d+)', page) == [("refused", "1")]
    client.post(f"{at}/write", data={"only": "good"})
    until(lambda: client.json(at), "writing")
    page = client.get(at).text
    assert "1 station is new, 0 were changed; 1 refused row was left out." in page


@pytest.mark.parametrize("address", ["nope.csv", "stations.exe", "..%2Fx.csv", "visits.geojson"])
def test_a_list_that_is_not_there_is_said(client, address):
    assert client.get(f"/archive/tables/{address}").status_code in (404, 422)


def test_a_filled_register_says_that_no_archive_comes_in(client):
    found = client.post(
        "/archive/import", files={"archive": ("a.zip", b"PK")}, headers={"accept": "application/json"}
    )
    assert found.status_code == 422
    assert "is not empty" in found.text


def test_where_people_are_but_no_stations_the_page_says_the_way_and_the_way_works(register, client, tmp_path):
    """Refused with what to do: the archive into a new folder, then the first person there."""
    team.add(register, "Ilse Marrow", "administer", "this machine")
    mine = Client(make_app(register, is_team=False))
    page = mine.get("/archive").text
    assert "This one holds no stations and 1 person." in page
    commands = re.findall(r"<code>steadyhead ([^<]*)</code>", page)
    refused = mine.post("/archive/import", files={"archive": ("a.zip", b"PK")})
    assert refused.status_code == 422
    for command in commands:
        assert command in html.unescape(refused.text)
    content = client.get("/archive/archive.zip").content
    (tmp_path / "all.zip").write_bytes(content)
    said = {"ARCHIVE.zip": str(tmp_path / "all.zip"), "NEW-FOLDER": str(tmp_path / "new")}
    words = [said.get(word, word) for word in commands[0].split()]
    assert run(words) == 0
    made = open_register(tmp_path / "new")
    assert team.first_administrator(made, "Ilse Marrow").role == "administer"
    assert Client(make_app(made, is_team=False)).json("/archive")["stations"] == 3
    assert commands[1].startswith("serve NEW-FOLDER --administrator ")
    made.close()


def test_an_archive_comes_into_an_empty_register_and_is_verified(register, client, here):
    content = client.get("/archive/archive.zip").content
    mine = Client(make_app(register))
    assert mine.post("/archive/import", files={"archive": ("a.zip", content)}).status_code == 303
    found = until(lambda: mine.json("/archive"), "taking_in")
    assert found["taken"]["stations"] == 3
    assert mine.post("/archive/verify").status_code == 303
    found = until(lambda: mine.json("/archive"), "verifying")
    assert found["last"]["verified"]["is_whole"] is True
    assert "whole on" in mine.get("/archive").text


def test_a_work_runs_in_a_process_apart_and_is_over_when_that_is_ended(filled):
    works = works_of(filled)
    one = works.start("verify", "Bo", {})
    with pytest.raises(InputError, match="is under way already"):
        works.start("verify", "Bo", {})
    ended = works.wait(one.id, 120)
    assert ended is not None
    assert (ended.state, ended.result["verified"]["is_whole"]) == ("done", True)
    killed = works.start("verify", "Bo", {})
    works.close()
    ended = works.wait(killed.id, 60)
    assert ended is not None
    assert (ended.state, ended.problems[0][2]) == ("failed", "Nothing was half done. Begin again.")


def test_a_spreadsheet_is_mapped_reported_written_and_undone(client, here):
    sent = client.post("/stations/import", files={"sheet": ("a.csv", SHEET)}, data={"template": "FWG-03"})
    at = sent.headers["location"]
    page = client.get(at)
    assert "supply.static" in page.text
    columns = [{"at": one["at"], "unit": one["unit"]} for one in client.json(at)["columns"]]
    sent = client.post(f"{at}/columns", json={"columns": columns, "do": "look"})
    assert sent.status_code == 303
    found = until(lambda: client.json(at), "reading")
    assert found["report"]["counts"] == {"new": 2, "changed": 0, "same": 0, "refused": 1}
    assert "is refused" in client.get(f"{at}?show=refused").text
    assert client.post(f"{at}/write", data={"only": "all"}).status_code == 422
    assert client.post(f"{at}/write", data={"only": "good"}).status_code == 303
    found = until(lambda: client.json(at), "writing")
    assert found["imported"]["new"] == 2
    made = found["imported"]["id"]
    assert client.get("/archive/tables/stations.csv").text.count('"\'=cmd"') == 1
    assert client.post("/stations/import/not-one/undo").status_code == 404
    assert client.post(f"/stations/import/{made}/undo").status_code == 303
    found = until(lambda: client.json("/stations/import"), "undoing")
    assert found["undone"]["off_the_list"] == 2
    assert "undone" in client.get("/stations/import").text


@pytest.mark.parametrize(
    ("files", "data", "words"),
    [
        ({}, {"template": "FWG-03"}, "got no file"),
        ({"sheet": ("a.csv", b"")}, {"template": "FWG-03"}, "is empty"),
        ({"sheet": ("a.csv", SHEET)}, {"template": ""}, "is missing"),
        ({"sheet": ("<script>.xlsx", b"PK")}, {"template": "FWG-03"}, "is damaged"),
        ({"sheet": ("a.csv", SHEET), "template_file": ("t.yaml", b"&a [*a]")}, {}, "template"),
    ],
)
def test_what_cannot_be_taken_is_said_on_the_form(client, files, data, words):
    sent = client.post("/stations/import", files=files or {"x": ("", b"")}, data=data)
    assert sent.status_code == 422
    assert words in sent.text
    assert "<script>.xlsx" not in sent.text


@pytest.mark.parametrize(
    "body",
    [
        {"columns": [{"at": "station.id", "unit": "x", "more": 1}]},
        {"columns": [True]},
        {"heading_row": -1},
        {"heading_row": True},
        {"heading_row": 99_999},
        {"sheet": "nope"},
        {"named": "nope"},
        {"decimal": "dot"},
        {"columns": [{"at": "line.XX.trip"}], "do": "look"},
        {"remember_as": "x" * 61},
    ],
)
def test_nonsense_about_columns_is_refused(client, body):
    sent = client.post("/stations/import", files={"sheet": ("a.csv", SHEET)}, data={"template": "FWG-03"})
    at = sent.headers["location"]
    found = client.post(f"{at}/columns", content=json.dumps(body), headers={
        "content-type": "application/json", "accept": "application/json"})  # fmt: skip
    assert found.status_code == 422, found.text


def test_an_import_nobody_knows_is_not_there(client):
    assert client.get("/stations/import/0123456789abcdef0123456789abcdef").status_code == 404
    assert client.get("/stations/import/..%2f..%2fetc").status_code == 404
