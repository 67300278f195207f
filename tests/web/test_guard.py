"""The guard: under which name the app is asked, from which page, how much is sent, what answers carry."""

from __future__ import annotations

import asyncio
import logging
from typing import Any

import pytest
from fastapi import APIRouter, Request

from steadyhead.register import Register
from steadyhead.web.app import make_app
from steadyhead.web.guarding import MOST_FORM, POLICY, Door, host_name
from tests.web.filled import HOME, Client

PAGES = (
    "/stations", "/account", "/people", "/library", "/help", "/help/first-hour", "/help/words", "/help/keys",
    "/help/rights", "/help/backup", "/help/signing-key", "/help/api", "/sign-in", "/nothing-here",
)  # fmt: skip


@pytest.mark.parametrize(
    "host", ["stations.example", "127.0.0.1.stations.example", "169.254.1.1", "", "a" * 300]
)
def test_a_name_that_somebody_points_at_this_machine_is_refused(looker: Client, host: str):
    found = looker.get("/stations", headers={"host": host})
    assert found.status_code == 421
    assert "Open it under the address" in found.text


@pytest.mark.parametrize("host", ["127.0.0.1:8711", "localhost:9000", "LOCALHOST", "[::1]:8711", "127.0.0.1"])
def test_this_machine_is_asked_under_its_own_names(looker: Client, host: str):
    assert looker.get("/help", headers={"host": host}).status_code == 200


def test_beyond_this_machine_only_names_that_were_given_and_addresses_of_numbers_count():
    door = Door(frozenset({"stations.example"}), any_number=True)
    assert door.takes("Stations.Example:443")
    assert door.takes("stations.example.")
    assert door.takes("192.0.2.7:8711")
    assert not door.takes("other.example")
    assert host_name("[2001:db8::1]:8711") == "2001:db8::1"


def test_two_hosts_in_one_request_are_refused(filled: Register):
    sent = _raw(
        make_app(filled), "GET", "/stations", [(b"host", b"127.0.0.1"), (b"host", b"stations.example")]
    )
    assert sent[0]["status"] == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://stations.example", "sec-fetch-site": "cross-site"},
        {"origin": "http://127.0.0.1:9999", "sec-fetch-site": "same-site"},
        {"origin": "null", "sec-fetch-site": None},
        {"origin": "https://127.0.0.1:8711", "sec-fetch-site": None},
        {"origin": None, "sec-fetch-site": "none"},
        {"origin": None, "sec-fetch-site": None},
        {"origin": HOME, "sec-fetch-site": "cross-site"},
    ],
)
def test_another_page_cannot_change_anything(looker: Client, headers: dict[str, str | None]):
    found = looker.post("/account/reading", data={"units": "us", "light": "sun"}, headers=headers)
    assert found.status_code == 403
    assert "set-cookie" not in found.headers


@pytest.mark.parametrize(
    "headers", [{"origin": None}, {"sec-fetch-site": None}, {"origin": "HTTP://127.0.0.1:8711"}]
)
def test_a_page_of_the_app_may_change_things(looker: Client, headers: dict[str, str | None]):
    assert looker.post("/account/reading", data={"units": "us"}, headers=headers).status_code == 303


def test_a_way_of_asking_that_is_not_known_is_refused(looker: Client):
    assert looker.ask("TRACE", "/stations").status_code == 405
    assert looker.ask("BREW", "/stations").status_code == 405


@pytest.mark.parametrize("path", PAGES)
def test_every_page_carries_the_strict_policy_and_is_kept_nowhere(looker: Client, path: str):
    found = looker.get(path)
    assert found.headers["content-security-policy"] == POLICY
    assert "unsafe" not in POLICY
    assert found.headers["cache-control"] == "no-store"
    assert found.headers["x-content-type-options"] == "nosniff"
    assert found.headers["x-frame-options"] == "DENY"
    assert found.headers["referrer-policy"] == "same-origin"
    assert len(found.headers["x-request-id"]) == 16
    assert " style=" not in found.text
    assert "<script>" not in found.text
    assert "onclick" not in found.text


def test_behind_a_proxy_only_encrypted_pages_send_and_addresses_stay_encrypted(filled):
    door = Door(frozenset({"stations.example"}), behind_proxy=True)
    client = Client(make_app(filled, door, is_team=False))
    told = {
        origin: client.post(
            "/account/reading", data={"units": "us"}, headers={"host": "stations.example", "origin": origin}
        ).status_code
        for origin in ("https://stations.example", "http://stations.example")
    }
    assert told == {"https://stations.example": 303, "http://stations.example": 403}
    led = client.get("/help/", headers={"host": "stations.example"}).headers["location"]
    assert led == "https://stations.example/help"
    assert "https://stations.example/stations/" in client.get(
        "/upkeep.ics", headers={"host": "stations.example"}
    ).text.replace("\r\n ", "")


def test_assets_are_kept_under_the_version_of_what_they_hold(looker: Client):
    page = looker.get("/help").text
    address = page.split('rel="stylesheet" href="')[1].split('"')[0]
    found = looker.get(address)
    assert found.status_code == 200
    assert "immutable" in found.headers["cache-control"]
    assert looker.get("/assets/0/base.css").headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "name", ["../app.py", "..%2fapp.py", "%2e%2e/app.py", "....//app.py", "/etc/passwd", "..\\app.py", "%00"]
)
def test_a_path_never_leaves_the_assets(looker: Client, name: str):
    found = looker.get(f"/assets/0/{name}")
    assert found.status_code in (400, 404, 307)
    assert "make_app" not in found.text
    assert "root:" not in found.text


def test_a_path_never_leaves_the_register(looker: Client):
    for path in (
        "/stations/..%2f..%2fetc%2fpasswd",
        "/stations/%2e%2e/%2e%2e/etc/passwd/file",
        "/help/..%2fbase",
    ):
        found = looker.get(path)
        assert found.status_code in (400, 404)
        assert "root:" not in found.text


def test_too_large_a_form_is_refused_before_it_is_read(looker: Client):
    found = looker.post("/account/reading", content=b"units=" + b"u" * MOST_FORM,
                        headers={"content-type": "application/x-www-form-urlencoded"})  # fmt: skip
    assert found.status_code == 413
    assert "More than 4 MB were sent." in found.text


def test_too_large_a_body_is_stopped_while_it_comes(filled: Register):
    headers = [
        (b"host", b"127.0.0.1"), (b"origin", b"http://127.0.0.1"), (b"content-type", b"application/json"),
    ]  # fmt: skip
    for path in ("/account/reading", "/archive/import"):
        sent = _raw(make_app(filled), "POST", path, headers, pieces=[b" " * 1_000_000] * 6)
        assert sent[0]["status"] == 413


def test_head_is_answered_without_a_body(looker: Client):
    found = looker.ask("HEAD", "/help")
    assert found.status_code == 200
    assert found.content == b""


def test_an_open_line_is_refused(filled: Register):
    sent: list[Any] = []

    async def send(message: Any) -> None:
        sent.append(message)

    async def receive() -> Any:
        return {"type": "websocket.connect"}

    asyncio.run(make_app(filled)({"type": "websocket", "path": "/", "headers": []}, receive, send))
    assert sent == [{"type": "websocket.close", "code": 1008}]


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (["198.51.100.7"], "198.51.100.7"),
        (["203.0.113.9, 198.51.100.7"], "198.51.100.7"),
        (["203.0.113.9", "198.51.100.7"], "198.51.100.7"),
        (["198.51.100.7, not an address"], "192.0.2.1"),
        ([], "192.0.2.1"),
    ],
)
def test_behind_a_proxy_only_its_last_word_says_who_asks(filled: Register, lines: list[str], told: str):
    assert _address(filled, Door(frozenset({"stations.example"}), behind_proxy=True), lines) == told


def test_without_a_proxy_nobody_says_who_asks(filled: Register):
    assert _address(filled, Door(), ["198.51.100.7"]) == "192.0.2.1"


def test_a_fault_is_said_in_words_with_a_mark_and_never_shown(
    filled: Register, caplog: pytest.LogCaptureFixture
):
    router = APIRouter()

    @router.get("/faulty")
    def faulty() -> None:
        raise ZeroDivisionError("a secret detail")

    app = make_app(filled)
    app.include_router(router)
    with caplog.at_level(logging.ERROR, "steadyhead.web"):
        found = Client(app).get("/faulty")
    assert found.status_code == 500
    assert "Traceback" not in found.text
    assert "a secret detail" not in found.text
    assert found.headers["x-request-id"] in found.text
    assert found.headers["content-security-policy"] == POLICY
    assert "a secret detail" in caplog.text


def _address(register: Register, door: Door, lines: list[str]) -> str:
    router = APIRouter()
    seen: list[str] = []

    @router.get("/help/who-asks")
    def who(request: Request) -> None:
        seen.append(request.state.address)

    app = make_app(register, door)
    app.router.routes.insert(0, router.routes[0])
    headers = [(b"host", b"127.0.0.1")] + [(b"x-forwarded-for", line.encode()) for line in lines]
    _raw(app, "GET", "/help/who-asks", headers)
    return seen[0]


def _raw(
    app: Any, method: str, path: str, headers: list[tuple[bytes, bytes]], pieces: list[bytes] | None = None
) -> list[Any]:
    """Ask an app below what a client would let through; return what it sent."""
    sent: list[Any] = []
    left = list(pieces or [b""])

    async def send(message: Any) -> None:
        sent.append(message)

    async def receive() -> Any:
        if not left:
            return {"type": "http.disconnect"}
        piece = left.pop(0)
        return {"type": "http.request", "body": piece, "more_body": bool(left)}

    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "path": path,
        "raw_path": path.encode(), "query_string": b"", "headers": headers, "scheme": "http",
        "client": ("192.0.2.1", 40_000), "server": ("127.0.0.1", 8711), "root_path": "",
    }  # fmt: skip
    asyncio.run(app(scope, receive, send))
    return sent


def test_what_is_not_there_is_said_as_a_page_and_as_data(looker: Client):
    page, data = looker.get("/nothing-here"), looker.get("/nothing-here?as=json")
    assert page.status_code == data.status_code == 404
    assert "Nothing is kept under this address." in page.text
    assert data.json()["remedy"]
