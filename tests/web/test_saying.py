"""What is said where a page cannot be shown or a thing cannot be kept; and stored scripts that never run."""

from __future__ import annotations

import errno
import re
import sqlite3
from collections.abc import Callable

import httpx
import pytest
from fastapi import APIRouter
from sqlalchemy import event, text
from sqlalchemy.exc import OperationalError
from sqlalchemy.exc import TimeoutError as NoConnection

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from steadyhead.web.guarding import PICTURE_POLICY
from steadyhead.web.saying import MOST_TOLD, problems_of
from tests.web.filled import Client

SCRIPT = "<script>alert(1)</script>"
ENDS = (
    "", "/pressures", "/capacity", "/surge", "/design", "/revisions", "/runs", "/records", "/upkeep",
    "/history", "/plans", "/fields", "/file",
)  # fmt: skip
HOSTILE = '"><img src=x onerror=alert(1)>'


def _client_meeting(register: Register, fault: Callable[[], None]) -> Client:
    router = APIRouter()

    @router.get("/help/meeting")
    def meeting() -> None:
        fault()

    app = make_app(register)
    app.router.routes.insert(0, router.routes[0])
    return Client(app)


def _sqlite(code: int) -> OperationalError:
    found = sqlite3.OperationalError("told by the database: a secret place")
    found.sqlite_errorcode = code
    return OperationalError("INSERT INTO account", {}, found)


class _PostgresFull(Exception):
    sqlstate = "53100"


@pytest.mark.parametrize(
    ("fault", "status", "words"),
    [
        (_sqlite(sqlite3.SQLITE_FULL), 507, "Make room on the disk"),
        (_sqlite(sqlite3.SQLITE_READONLY), 507, "nothing more can be written"),
        (_sqlite(sqlite3.SQLITE_READONLY_DBMOVED), 507, "nothing more can be written"),
        (_sqlite(sqlite3.SQLITE_IOERR), 507, "Nothing was half kept"),
        (OSError(errno.ENOSPC, "No space left on device"), 507, "Make room on the disk"),
        (OperationalError("INSERT", {}, _PostgresFull("disk full")), 507, "Make room on the disk"),
        (_sqlite(sqlite3.SQLITE_BUSY), 503, "Send it again in a moment"),
        (
            OperationalError("SELECT", {}, Exception("connection refused")),
            503,
            "see whether its database runs",
        ),
        (NoConnection("QueuePool limit"), 503, "Send it again in a moment"),
        (_sqlite(sqlite3.SQLITE_ERROR), 500, "Report it with this mark"),
        (RuntimeError("told by the app: a secret place"), 500, "Report it with this mark"),
        (RecursionError("deep"), 500, "Report it with this mark"),
    ],
)
def test_what_is_wrong_is_said_with_what_to_do(filled: Register, fault: Exception, status: int, words: str):
    def meet() -> None:
        raise fault

    client = _client_meeting(filled, meet)
    page, data = client.get("/help/meeting"), client.get("/help/meeting?as=json")
    assert page.status_code == data.status_code == status
    assert words in page.text
    assert words in data.json()["remedy"] + data.json()["words"]
    assert "secret place" not in page.text + data.text
    assert "Traceback" not in page.text
    if status == 503:
        assert page.headers["retry-after"] == "5"


def _pad(source: bytes) -> bytes:
    """Return a station file with a long remark at its end, larger than any room left in the database."""
    return source.rstrip() + b"\n" + b"# a long remark about nothing at all\n" * 8000


def _put(client: Client, source: bytes) -> httpx.Response:
    return client.put(
        "/stations/QHL-01/file", content=source, params={"based_on": "1", "why": "a try"},
        headers={"content-type": "application/yaml"},
    )  # fmt: skip


def test_a_register_that_can_only_be_read_still_shows_its_pages(filled: Register):
    _on_connect(filled, lambda raw: raw.execute("PRAGMA query_only=ON"))
    client = Client(make_app(filled))
    assert client.get("/stations").status_code == 200
    found = _put(client, _pad(read("quernhollow-lane")))
    assert found.status_code == 507
    assert "Make room on the disk, or the right to write" in found.text
    assert client.get("/stations").status_code == 200


def test_a_full_disk_refuses_what_is_sent_and_shows_what_is_there(filled: Register):
    with filled.reading() as connection:
        pages = int(connection.execute(text("PRAGMA page_count")).scalar_one())
    _on_connect(filled, lambda raw: raw.execute(f"PRAGMA max_page_count={pages}"))
    client = Client(make_app(filled))
    found = _put(client, _pad(read("quernhollow-lane")))
    assert found.status_code == 507
    assert client.json("/stations")["total"] == 3
    assert client.json("/stations/QHL-01")["station"]["revision"] == 1


def _on_connect(register: Register, does: Callable[[sqlite3.Connection], object]) -> None:
    """Do something to every connection of a register, also instead of those at hand."""
    event.listen(register.engine, "connect", lambda raw, _: does(raw))
    register.engine.dispose()


def test_a_page_that_is_not_there_for_a_station_that_is_not_kept(client: Client):
    found = client.get("/stations/NOWHERE")
    assert found.status_code == 404
    assert "Look it up under Stations." in found.text


def test_of_very_many_problems_the_first_are_told():
    told = problems_of(InputErrors([InputError(f"field {i}", "is wrong.", "Mend it.") for i in range(5000)]))
    assert len(told) == MOST_TOLD + 1
    assert told[-1].problem == "4900 more are left out."


def test_a_script_kept_in_names_is_shown_as_text_on_every_page_and_picture(filled: Register):
    source = read("quernhollow-lane").decode()
    name = re.search(r"^  name: .*$", source, re.MULTILINE)
    assert name is not None
    hostile = source.replace(name.group(0), f"  name: '{SCRIPT} {HOSTILE}'")
    client = Client(make_app(filled))
    found = client.put(
        "/stations/QHL-01/file", content=hostile.encode(), params={"based_on": "1", "why": SCRIPT},
        headers={"content-type": "application/yaml"},
    )  # fmt: skip
    assert found.status_code in (200, 201, 303), found.text[:500]
    tried = 0
    for end in ENDS:
        page = client.get(f"/stations/QHL-01{end}", headers={"accept": "text/html"})
        if page.status_code != 200 or "html" not in page.headers["content-type"]:
            continue
        assert "<script>alert" not in page.text, end
        assert "<img src=x" not in page.text, end
        tried += 1
    assert tried >= 8
    listed = client.get("/stations").text
    assert "&lt;script&gt;alert(1)" in listed
    assert "<script>alert" not in listed


def test_a_picture_opened_by_itself_may_run_nothing(client: Client):
    found = client.get("/stations/QHL-01/capacity?as=svg")
    assert found.status_code == 200
    assert found.headers["content-security-policy"] == PICTURE_POLICY
    assert "<script" not in found.text
    mark = client.get("/help").text.split('rel="icon" href="')[1].split('"')[0]
    assert client.get(mark).headers["content-security-policy"] == PICTURE_POLICY
