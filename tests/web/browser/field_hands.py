"""Hands at the field page in a real browser: opens a visit there, presses its keys, reads what it keeps."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

from steadyhead.records.entry import Entry, plain_entry
from steadyhead.station import examples
from steadyhead.station.canonical import canonical
from steadyhead.station.code import code_words, station_code
from steadyhead.station.load import load
from steadyhead.visits.signatures import plain_signature, signatures
from tests.procedure.walking import Device, clean_ways, walk
from tests.web.browser.conftest import until
from tests.web.field.field_js import PLACES, RUN, pack_of, plan_of

NAME, STREAM = "quernhollow-lane", "H4.main"
SIZES = ((390, 844), (820, 1180))
LOOK = PLACES["field"].parent
HOME = "http://127.0.0.1:9/"
PAGE = """<!doctype html><html lang="en"><meta charset="utf-8"><title>Visit</title>
<meta name="viewport" content="width=device-width,initial-scale=1">
<link rel="stylesheet" href="/look/tokens.css"><link rel="stylesheet" href="/field/field.css">
<main id="field"></main><script type="module">
import { startField } from "/field/start.js"
const given = await (await fetch("/given.json")).json()
const how = { storage: given.storage, address: "" }
window.desk = await startField(document.getElementById("field"), given.pack, how)
if (given.who) {
  await window.desk.take(given.who, { role: "technician" })
  await window.desk.keepWay({ isThrough: true })
  await window.desk.go(given.step)
}
document.body.dataset.ready = "yes"
</script></html>"""
PEOPLE = ({"name": "Tam Oduya", "role": "technician"}, {"name": "Isla Brandt", "role": "lead"})
GAUGES = (
    {
        "name": "TG-07", "what": "test gauge", "quantity": "pressure", "low": 0.0, "high": 1e6, "class": 6e-3,
        "due": "2030-09-30",
    },
)  # fmt: skip
STATION = {
    "key": NAME, "id": "QHL-01", "name": "Quernhollow Lane", "place": "in the verge by the mill gate",
    "latitude": 55.1042, "longitude": -3.221, "photo": "", "photo_data": "",
    "code": station_code("QHL-01", "Quernhollow Lane"),
    "code_words": code_words("QHL-01", "Quernhollow Lane"),
    "alike": [{"name": "Quernhollow Rise", "id": "QHR-02", "place": "1.2 km north", "why": "alike"}],
}  # fmt: skip
LATER = "{ const real = Date.now; Date.now = () => real() + %f }"
SMALL = """least => [...document.querySelectorAll('.field button, .field label.key')].filter((one) => {
  const { width, height } = one.getBoundingClientRect(), most = one.closest('.pad') ? least - 4 : least
  return one.checkVisibility() && Math.min(width, height) < most - 0.5
}).map((one) => `${one.innerText} ${JSON.stringify(one.getBoundingClientRect())}`)"""
"""What a glove misses."""
OVER = """() => [document.documentElement, document.querySelector('main')]
  .filter((one) => one.scrollHeight > one.clientHeight + 1 || one.scrollWidth > one.clientWidth + 1)
  .map((one) => `${one.tagName} ${one.scrollHeight} in ${one.clientHeight}, ${one.scrollWidth} wide`)"""
"""What would have to be scrolled."""
Opens = Callable[..., Any]


@cache
def causes() -> dict[str, Any]:
    station = load(examples.read(NAME), NAME).station
    found = signatures(station, "first", procedure=plan_of(NAME).procedure, draws=2)
    return {step: plain_signature(one) for step, one in found.items() if step in ("B2", STREAM)}


@cache
def walked() -> tuple[Entry, ...]:
    procedure = plan_of(NAME).procedure
    return tuple(walk(procedure, list(clean_ways(procedure))[-1], Device("tab-1", RUN)))


def until_step(step: str, *more: dict[str, Any]) -> list[Entry]:
    """Return a clean visit up to a step, and then readings at it."""
    entries = list(walked())
    at = next(index for index, one in enumerate(entries) if one.node == step)
    device = Device("tab-1", RUN, start=entries[at].t_mono)
    device.number = entries[at].device_seq
    made = [
        device.make("reading", {"quantity": "pressure", "instrument": "TG-1", **one}, step) for one in more
    ]
    return entries[:at] + made


@cache
def bare_pack() -> str:
    pack = pack_of(plan_of(NAME))
    more = {"station": STATION, "people": PEOPLE, "instruments": GAUGES, "causes": causes(), "as_left": []}
    return json.dumps(pack | more)


def file_of(path: str) -> Path:
    place, _, name = path.partition("/")
    return LOOK / name if place == "look" else PLACES[place] / name


@contextmanager
def opening_field(browser: Any) -> Iterator[Opens]:
    """Give what opens a visit on a device of a size, at a step; what goes wrong there fails the test.

    later: how many days the clock of the device shows after today; pack: of another visit, with its entries.
    """
    told: list[str] = []
    contexts = []

    def opened(
        step: str = "",
        entries: list[Entry] | None = None,
        size=SIZES[0],
        storage=None,
        later=0.0,
        pack: dict[str, Any] | None = None,
    ) -> Any:
        if pack is None:
            pack = json.loads(bare_pack())
            pack["entries"] = [canonical(plain_entry(one)).decode() for one in entries or []]
        given = {"pack": pack, "storage": storage, "who": PEOPLE[0]["name"] if step else "", "step": step}
        context = browser.new_context(
            viewport={"width": size[0], "height": size[1]}, reduced_motion="reduce", accept_downloads=True
        )
        contexts.append(context)
        context.add_init_script("delete globalThis.showSaveFilePicker")  # no dialog of the browser
        if later:
            context.add_init_script(LATER % (86_400_000 * later))
        page = context.new_page()
        page.on("console", lambda one: told.append(one.text))
        page.on("pageerror", lambda one: told.append(str(one)))

        def answer(route: Any) -> None:
            path = route.request.url.removeprefix(HOME)
            if path == "":
                route.fulfill(body=PAGE, content_type="text/html")
            elif path == "given.json":
                route.fulfill(body=json.dumps(given), content_type="application/json")
            elif path == "favicon.ico":
                route.fulfill(body="", content_type="image/png")
            else:
                kind = "text/css" if path.endswith(".css") else "text/javascript"
                route.fulfill(body=file_of(path).read_text("utf-8"), content_type=kind)

        page.route("**/*", answer)
        page.goto(HOME)
        until(page, "document.body?.dataset.ready === 'yes'")
        return page

    yield opened
    for context in contexts:
        context.close()
    assert told == [], told


def press(page: Any, name: str) -> None:
    page.click(f'[data-key="{name}"]')
    page.wait_for_function("() => true")


def on(page: Any) -> None:
    """Read every page of a screen to its end."""
    while page.inner_text('[data-key="right"]').startswith("Read on"):
        press(page, "right")


def type_in(page: Any, digits: str) -> None:
    for digit in digits:
        press(page, f"digit {digit}")


def seen(page: Any) -> str:
    return str(page.inner_text("main"))


def waits_for(page: Any, words: str) -> None:
    until(page, f"document.body.innerText.includes({json.dumps(words)})")


def kept(page: Any, kind: str) -> list[dict[str, Any]]:
    found = page.evaluate(f"desk.kept.entries('{RUN}').then((all) => all.map((one) => one.entry))")
    return [one for one in found if one["kind"] == kind]


def read(page: Any, digits: str) -> None:
    """Wait with the stopwatch, then type a reading, from the step on."""
    on(page)
    press(page, "right")
    if "read with" in seen(page):
        page.click("text=TG-07")
    waits_for(page, "wait until it stands")
    page.evaluate("desk.at.begun = performance.now() - 61000; desk.draw()")
    press(page, "right")
    type_in(page, digits)
