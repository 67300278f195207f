"""What a device keeps and sends, in a real browser: nothing lost, nothing twice, nothing said too early."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

import pytest

from steadyhead.procedure.ledger import Ledger, read
from steadyhead.web.app import make_app
from tests.conftest import SEED
from tests.services.field.conftest import COUNT, _begun, visit  # noqa: F401
from tests.services.field.light import KEY, RUN, Visit, line
from tests.web.field.field_js import PLACES
from tests.web.filled import HOME, Client

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]
ADDRESS = f"/stations/{KEY}/runs/{RUN}/sync"
MODULES = """
const at = (name) => import(`/field/assets/field/${name}.js`)
const names = ["kept", "making", "clock", "outbox"]
const [keeping, making, clocks, sending] = await Promise.all(names.map(at))
let clock = clocks.newClock(Date.now(), performance.now())
const drafts = (count, text = "a dry pit") => Array.from({ length: count }, (_, n) => (
  { kind: "note", payload: { text: `${text} ${n}` }, node: "" }))
window.field = {
  ...keeping,
  open: async (more = {}) => { window.kept = await keeping.openKept(more); return window.kept.device },
  add: async (count = 1, text) => {
    const { kept, why, entries } = await window.kept.add("visit-1", (last, device) =>
      making.made(drafts(count, text), { run: "visit-1", device, last, who: "Tam Oduya", clock }))
    return { kept, why, ids: entries.map((one) => one.id), numbers: entries.map((one) => one.device_seq) }
  },
  outbox: () => {
    const mine = { get: () => clock, set: (now) => { clock = now } }
    window.box = new sending.Outbox({ kept: window.kept, run: "visit-1", address: "ADDRESS",
      who: () => "Tam Oduya", clock: mine, later: () => 0, never: () => {} })
  },
  send: async () => { const { state, words } = await window.box.send(); return { state, words } },
  offset: () => clock.offset,
  here: async () => (await window.kept.entries("visit-1")).map(
    ({ id, line, isSent, isKept, refused }) => ({ id, line, isSent, isKept, refused })),
}
document.title = "ready"
""".replace("ADDRESS", ADDRESS)
FULL = """
window.room = 20
const put = IDBObjectStore.prototype.put
IDBObjectStore.prototype.put = function (...given) {
  window.room -= 1
  if (window.room < 0) throw new DOMException("no room", "QuotaExceededError")
  return put.apply(this, given)
}
true
"""
"""A storage that has room for twenty more rows: in the middle of a transaction it is full."""
PAGE = '<!doctype html><meta charset="utf-8"><title>.</title><script type="module" src="/start.js"></script>'


@dataclass
class Server:
    """The app behind a line that can be cut: what is asked of it goes wrong as `faults` says, then well."""

    visit: Visit
    faults: list[str] = field(default_factory=list)
    asked: int = 0

    def __post_init__(self) -> None:
        self.client = Client(make_app(self.visit.register))
        self.thread = ThreadPoolExecutor(1)

    def answer(self, route: Any) -> None:
        path = route.request.url.removeprefix(HOME)
        if route.request.method == "POST":
            self._sync(route, path)
        elif path.startswith("/field/assets/"):
            place, _, name = path.removeprefix("/field/assets/").partition("/")
            content = (PLACES[place] / name).read_text("utf-8")
            route.fulfill(body=content, content_type="text/javascript")
        else:
            is_script = path == "/start.js"
            route.fulfill(
                body=MODULES if is_script else PAGE,
                content_type="text/javascript" if is_script else "text/html",
            )

    def _sync(self, route: Any, path: str) -> None:
        self.asked += 1
        fault = self.faults.pop(0) if self.faults else ""
        if fault == "no line":
            route.abort("internetdisconnected")
            return
        if fault.isdigit():
            route.fulfill(status=int(fault), body='{"status": 0}', content_type="application/json")
            return
        body = route.request.post_data_buffer
        ask = self.thread.submit(
            self.client.ask, "POST", path, content=body, headers={"content-type": "application/json"}
        )
        found = ask.result(60)
        if fault == "answer lost":
            route.abort("connectionreset")
        elif fault == "answer cut":
            route.fulfill(
                status=200, body=found.text[: len(found.text) // 2], content_type="application/json"
            )
        else:
            route.fulfill(status=found.status_code, body=found.text, content_type="application/json")


Opens = Callable[..., Any]


@pytest.fixture
def server(visit: Visit) -> Server:  # noqa: F811
    """The app on the register of the visit."""
    return Server(visit)


@pytest.fixture
def opens(browser: Any, server: Server) -> Iterator[Opens]:
    """Return what opens a page of a device; each name is a device with a storage of its own."""
    contexts: dict[str, Any] = {}
    told: list[str] = []

    def opened(name: str = "tab-1", **more: Any) -> Any:
        if name not in contexts:
            contexts[name] = browser.new_context()
            contexts[name].route(f"{HOME}/**", server.answer)
        page = contexts[name].new_page()
        page.on("pageerror", lambda one: told.append(str(one)))
        page.goto(f"{HOME}/field")
        page.wait_for_function("document.title === 'ready'")
        page.evaluate("(more) => field.open(more)", more)
        page.evaluate("field.outbox()")
        return page

    yield opened
    for context in contexts.values():
        context.close()
    assert told == []


def in_register(visit: Visit) -> Ledger:  # noqa: F811
    return read(visit.kept)


def test_numbers_rise_over_reloads_and_two_tabs_and_a_page_that_is_closed_in_the_middle(opens: Opens):
    page = opens()
    first = page.evaluate("field.add(3)")
    assert (first["kept"], first["numbers"]) == (True, [1, 2, 3])
    page.evaluate("void field.add(200, 'x'.repeat(1000))")
    page.close(run_before_unload=False)
    one, other = opens(), opens()
    for page in (one, other):
        page.evaluate("window.both = Promise.all(Array.from({ length: 15 }, () => field.add()))")
    made = [each for page in (one, other) for each in page.evaluate("window.both")]
    assert all(each["kept"] for each in made)
    here = [json.loads(each["line"]) for each in one.evaluate("field.here()")]
    numbers = sorted(each["device_seq"] for each in here)
    assert len(set(numbers)) == len(numbers)
    assert numbers[:3] == [1, 2, 3]
    assert len(numbers) in (33, 233)
    assert len({each["id"] for each in here}) == len({each["device"] for each in here}) * len(here)
    assert set(first["ids"]) <= {each["id"] for each in here}


def test_storage_that_is_full_keeps_what_came_before_and_says_so_and_the_rest_is_in_the_file(opens: Opens):
    page = opens()
    kept = page.evaluate("field.add(2)")
    page.evaluate(FULL)
    full = page.evaluate("field.add(40)")
    assert (kept["kept"], full["kept"]) == (True, False)
    assert "full" in full["why"]
    counts = page.evaluate("window.kept.counts('visit-1')")
    assert (counts["all"], counts["kept"], counts["unsaved"], counts["unsent"]) == (42, 2, 40, 42)
    file = page.evaluate("window.kept.file('visit-1')")
    assert {entry.id for entry in read(file["text"].encode()).entries} == {*kept["ids"], *full["ids"]}
    page.evaluate("(keys) => window.kept.markSaved(keys)", file["keys"])
    assert page.evaluate("window.kept.counts('visit-1')")["unsaved"] == 0
    page.evaluate("window.room = Infinity")
    again = page.evaluate("field.add(1)")
    assert (again["kept"], again["numbers"]) == (True, [43])
    assert all(each["isKept"] for each in page.evaluate("field.here()"))
    page.close()
    assert len(opens().evaluate("field.here()")) == 43


def test_what_was_sent_out_of_memory_comes_back_to_the_disk_once_it_has_room(opens: Opens, server: Server):
    page = opens()
    page.evaluate(FULL.replace("20", "0"))
    lost = page.evaluate("field.add(3)")
    assert not lost["kept"]
    page.evaluate("window.room = 4")
    assert page.evaluate("field.send()")["state"] == "idle"
    page.close()
    page = opens()
    assert page.evaluate("field.send()")["state"] == "idle"
    here = page.evaluate("field.here()")
    assert all(one["isKept"] and one["isSent"] for one in here)
    assert {one["id"] for one in here} == {entry.id for entry in in_register(server.visit).entries}
    assert page.evaluate("field.add(1)")["numbers"][0] > 3


def test_no_number_is_given_twice_where_a_page_ended_with_entries_in_memory(opens: Opens, server: Server):
    page = opens()
    page.evaluate("field.add(2)")
    page.evaluate(FULL.replace("20", "0"))
    assert page.evaluate("field.add(2)")["numbers"] == [3, 4]
    other = opens()
    beside = other.evaluate("field.add(1)")
    assert beside["kept"]
    assert page.evaluate("field.send()")["state"] in ("idle", "waits")
    page.close()
    after = opens().evaluate("field.add(1)")["numbers"][0]
    assert 4 < beside["numbers"][0] < after
    assert other.evaluate("field.send()")["state"] == "idle"
    made = [entry for entry in in_register(server.visit).entries if entry.kind == "note"]
    numbers = [entry.device_seq for entry in made if entry.payload["text"].startswith("a dry pit")]
    assert len(numbers) == len(set(numbers)) == 6


def test_a_disk_that_is_full_when_the_page_opens_still_tells_what_it_took(opens: Opens):
    page = opens()
    kept = page.evaluate("field.add(2)")
    page.evaluate(FULL.replace("20", "0"))
    page.evaluate("field.open()")
    assert page.evaluate("window.kept.kind") == "stored"
    assert "full" in page.evaluate("window.kept.why")
    assert {one["id"] for one in page.evaluate("field.here()")} == set(kept["ids"])
    assert not page.evaluate("field.add(1)")["kept"]
    assert page.evaluate("window.kept.counts('visit-1')")["unsaved"] == 1


def test_a_browser_that_keeps_nothing_says_so_before_the_first_step_and_gives_a_file(opens: Opens):
    page = opens(memory=True)
    assert page.evaluate("window.kept.kind") == "memory"
    refusing = "({ open() { const asked = {}; setTimeout(() => asked.onerror()); return asked } })"
    assert page.evaluate(f"field.openKept({{ factory: {refusing} }}).then((kept) => kept.kind)") == "memory"
    told = page.evaluate("field.add(2)")
    assert (told["kept"], told["numbers"]) == (False, [1, 2])
    assert "keeps nothing" in told["why"]
    assert page.evaluate("window.kept.counts('visit-1')") == {
        "all": 2,
        "kept": 0,
        "unsent": 2,
        "refused": 0,
        "unsaved": 2,
        "unsavedPhotos": 0,
        "photos": 0,
    }
    text = page.evaluate("window.kept.file('visit-1')")["text"]
    assert text.startswith('{"format":"steadyhead/entries/1"}\n')
    assert [entry.id for entry in read(text.encode()).entries] == told["ids"]
    assert page.evaluate("field.send()")["state"] == "idle"
    assert page.evaluate("window.kept.counts('visit-1')")["unsaved"] == 0


def test_only_what_the_server_says_it_holds_is_sent_whatever_goes_wrong(opens: Opens, server: Server):
    page = opens()
    every: set[str] = set()
    rng = random.Random(SEED)
    faults = ["no line", "500", "answer lost", "answer cut", "503", "401", "403", "404", ""]
    for _ in range(14):
        every |= set(page.evaluate("field.add(2)")["ids"])
        server.faults = [rng.choice(faults)]
        fault = server.faults[0]
        told = page.evaluate("field.send()")
        words = {"401": "signed out", "403": "not allowed", "404": "gone", "": "idle"}
        words |= dict.fromkeys(("500", "503", "answer cut"), "not now")
        assert told["state"] == words.get(fault, "offline"), fault
        there = {entry.id for entry in in_register(server.visit).entries}
        sent = {one["id"] for one in page.evaluate("field.here()") if one["isSent"]}
        assert sent <= there, fault
    server.faults = []
    assert page.evaluate("field.send()")["state"] == "idle"
    here = page.evaluate("field.here()")
    ledger = in_register(server.visit)
    assert every <= {entry.id for entry in ledger.entries}
    assert len(ledger.forms) == COUNT + len(every)
    assert ledger.clashes == ()
    assert {one["id"] for one in here if one["isSent"]} == {entry.id for entry in ledger.entries}
    assert abs(page.evaluate("field.offset()")) < 5.0


def test_a_register_that_was_put_back_is_filled_again_from_the_device(opens: Opens, server: Server):
    page = opens()
    ids = set(page.evaluate("field.add(2)")["ids"])
    page.evaluate("field.send()")
    page.evaluate("window.kept.setState('seen visit-1', 999)")
    asked = server.asked
    assert page.evaluate("field.send()")["state"] == "idle"
    assert server.asked == asked + 2
    assert all(each["isSent"] for each in page.evaluate("field.here()"))
    ledger = in_register(server.visit)
    assert len(ledger.forms) == COUNT + 2
    assert ids <= {entry.id for entry in ledger.entries}


def test_two_devices_come_to_the_same_and_one_id_with_two_contents_is_kept_in_both(
    opens: Opens, server: Server
):
    one, other = opens("tab-1"), opens("tab-2")
    ids = one.evaluate("field.add(3)")["ids"] + other.evaluate("field.add(2)")["ids"]
    for page in (one, other, one):
        assert page.evaluate("field.send()")["state"] == "idle"
    both = [{each["line"] for each in page.evaluate("field.here()")} for page in (one, other)]
    assert both[0] == both[1] == {line(entry) for entry in in_register(server.visit).entries}
    assert len(both[0]) == COUNT + len(ids)
    changed = json.loads(next(each for each in both[0] if ids[0] in each)) | {"who": "Somebody Else"}
    more = json.dumps(changed)
    other.evaluate("(line) => window.kept.takeIn('visit-1', [line], 'file')", more)
    assert other.evaluate("field.send()")["state"] == "refused"
    forms = [each for each in other.evaluate("field.here()") if each["id"] == ids[0]]
    assert [each["isSent"] for each in forms].count(True) == 1
    assert [bool(each["refused"]) for each in forms].count(True) == 1
    asked = server.asked
    assert other.evaluate("field.send()")["state"] == "refused"
    assert server.asked == asked + 1
    assert len(in_register(server.visit).forms) == COUNT + len(ids)


def test_one_sender_at_a_time_and_a_clock_that_is_hours_off_is_found_out(opens: Opens, server: Server):
    one, other = opens(), opens()
    one.evaluate("field.add(1)")
    held = "() => { held(true); return new Promise((done) => { window.go = done }) }"
    lock = f"navigator.locks.request('steadyhead-field sender visit-1', {held})"
    assert one.evaluate(f"new Promise((held) => {{ void {lock} }})")
    assert other.evaluate("field.send()")["state"] == "elsewhere"
    one.evaluate("window.go()")
    other.evaluate("box.locks = null")
    one.evaluate("window.kept.hold('sender visit-1', 'somebody', Date.now() + 15000, Date.now())")
    assert other.evaluate("field.send()")["state"] == "elsewhere"
    assert server.asked == 0
    far = "window.kept.hold('sender visit-1', 'somebody', Date.now() + 7200000, Date.now() + 7190000)"
    assert one.evaluate(far)
    assert other.evaluate("field.send()")["state"] == "idle"
    one.evaluate("field.add(1)")
    one.evaluate("box.wall = () => Date.now() - 7200000")
    both = "Promise.all([field.send(), field.send()]).then(([first]) => first.state)"
    assert one.evaluate(both) == "idle"
    assert server.asked == 2
    assert 7190.0 < one.evaluate("field.offset()") < 7210.0
