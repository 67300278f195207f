"""In a real browser: the field page opens without a server, and no newer build comes under one's hands."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

from steadyhead.services.field.bundling import modules
from steadyhead.services.field.job_file import job_file
from steadyhead.station.canonical import sha256
from steadyhead.web.field_kit import PAGE, worker
from tests.web.field.field_js import RUN, pack_of, plan_of

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]
BUILDS = ("0a", "0b")
ASK = """
([which, said]) => new Promise(async (answer) => {
  const there = await navigator.serviceWorker.getRegistration("/field")
  const channel = new MessageChannel()
  channel.port1.onmessage = (event) => answer(event.data)
  there[which].postMessage(said, [channel.port2])
})
"""
REGISTER = """
async () => {
  await navigator.serviceWorker.register("/field/sw.js", { scope: "/field" })
  const there = await navigator.serviceWorker.getRegistration("/field")
  const work = there.installing ?? there.waiting ?? there.active
  if (work.state !== "activated") await new Promise((done) => {
    work.addEventListener("statechange", () => { if (work.state === "activated") done() })
  })
}
"""
UPDATE = """
async () => {
  const there = await navigator.serviceWorker.getRegistration("/field")
  await there.update()
  const work = there.installing ?? there.waiting
  if (work && work.state !== "installed") await new Promise((done) => {
    work.addEventListener("statechange", () => done())
  })
  return there.waiting !== null
}
"""


class Place:
    """A server of one build at a time, which can be cut off."""

    def __init__(self) -> None:
        self.build, self.is_cut = BUILDS[0], False
        place = self

        class Answers(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                body, media = place.found(self.path)
                self.send_response(200 if body else 503)
                self.send_header("content-type", media)
                self.send_header("service-worker-allowed", PAGE)
                self.send_header("cache-control", "no-store")
                self.send_header("content-length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, *_: Any) -> None:
                return

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Answers)
        self.thread = threading.Thread(target=self.server.serve_forever, kwargs={"poll_interval": 0.05})
        self.thread.start()
        self.address = f"http://127.0.0.1:{self.server.server_port}"

    def found(self, path: str) -> tuple[bytes, str]:
        script = f"/field/assets/{self.build}/field/start.js"
        if self.is_cut:
            return b"", "text/plain"
        if path == PAGE:
            page = f'<!doctype html><title>page {self.build}</title><script src="{script}"></script>'
            return page.encode(), "text/html"
        if path == script:
            return f'window.build = "{self.build}"'.encode(), "text/javascript"
        if path == "/field/sw.js":
            told = {one: sha256(self.found(one)[0]) for one in (PAGE, script)}
            return worker(self.build, told), "text/javascript"
        return b"", "text/plain"


@pytest.fixture
def place() -> Iterator[Place]:
    """A place to fetch the page from."""
    found = Place()
    yield found
    found.server.shutdown()
    found.thread.join()
    found.server.server_close()


def test_a_build_opens_without_a_server_and_a_newer_one_waits_until_nothing_is_unsent(
    place: Place, browser: Any
):
    old, new = BUILDS
    context = browser.new_context()
    page = context.new_page()

    def shown() -> tuple[str, str]:
        return page.title(), page.evaluate("window.build")

    page.goto(place.address + PAGE)
    page.evaluate(REGISTER)
    place.is_cut = True
    page.reload()
    assert shown() == (f"page {old}", old)
    assert page.evaluate(ASK, ["active", {"say": "build"}]) == {"shown": old, "newest": old}

    place.is_cut, place.build = False, new
    assert page.evaluate(UPDATE) is True
    assert page.evaluate(ASK, ["waiting", {"say": "take over", "unsent": 2}]) == {"is": False}
    page.reload()
    assert shown() == (f"page {old}", old)

    page.close()  # every page is gone: the newer worker begins by itself, and still shows the build of before
    page = context.new_page()
    place.is_cut = True
    page.goto(place.address + PAGE)
    assert shown() == (f"page {old}", old)
    page.wait_for_function(
        "navigator.serviceWorker.getRegistration('/field').then((one) => one.waiting === null)"
    )
    assert page.evaluate(ASK, ["active", {"say": "build"}]) == {"shown": old, "newest": new}
    assert page.evaluate(ASK, ["active", {"say": "take over"}]) == {"is": False}
    assert page.evaluate(ASK, ["active", {"say": "take over", "unsent": 0}]) == {"is": True}
    page.reload()
    assert shown() == (f"page {new}", new)
    assert page.evaluate("caches.keys()") == ["field now", f"field {new}"]
    context.close()


START = """
import { planOf, see } from "./view.js"
import { openKept } from "./kept.js"
export async function startField(root, pack, { storage, address }) {
  const kept = await openKept(storage)
  const { step } = see(pack, planOf(pack), [], null)
  root.textContent = JSON.stringify({ step: step.title, kind: kept.kind, address })
  root.dataset.ready = ""
}
"""


def test_the_job_file_runs_from_a_file_under_its_own_policy(tmp_path: Path, browser: Any):
    pack = pack_of(plan_of("quillenby-row"))
    sources = {**modules(), "field/start.js": START}
    content = job_file(json.dumps(pack).encode(), ["main { color: rgb(1, 2, 3) }"], RUN, sources=sources)
    (tmp_path / "job.html").write_bytes(content)
    context = browser.new_context()
    page = context.new_page()
    told: list[str] = []
    page.on("console", lambda one: told.append(one.text))
    page.on("pageerror", lambda one: told.append(str(one)))
    page.goto((tmp_path / "job.html").as_uri())
    page.locator("#field[data-ready]").wait_for()
    found = json.loads(page.locator("#field").text_content())
    assert found["step"] in pack["texts"].values()
    assert (found["kind"], found["address"]) == ("stored", "")
    assert page.evaluate("getComputedStyle(document.querySelector('main')).color") == "rgb(1, 2, 3)"
    page.evaluate("fetch('https://elsewhere.example/').catch(() => null)")
    assert [one for one in told if "violates" not in one] == []
    assert told
    context.close()
