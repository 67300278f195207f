"""A visit taken along from its page, in a real browser: no signal, signed out, photos, the job file."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from steadyhead.register import open_register
from steadyhead.register.verifying import verify
from steadyhead.services import accounts as team
from steadyhead.services.example_year.teller import picture
from steadyhead.station.canonical import sha256
from tests.services.field.light import KEY, RUN, begun
from tests.web.browser.conftest import PATIENCE, served, until

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]
COUNT = 5
"""Entries of the office before anybody goes."""
NAME, WORDS = "Tom Pell", "wet spanner quiet lane"
HERE = f"/stations/{KEY}/runs/{RUN}"
PHONE = {"width": 390, "height": 844}
REFUSED = """Object.defineProperty(window, "indexedDB", {
  get() { throw new DOMException("not here", "SecurityError") } })"""
"""A browser that refuses a page of a file its storage outright."""
PHOTO = picture("a cock", 400, 300)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a register with one visit under way, and somebody who records."""
    found: Path = tmp_path_factory.mktemp("along") / "register"
    register = begun(found, COUNT).register
    team.set_password(register, team.add(register, NAME, "record", "this machine"), WORDS)
    register.close()
    return found


@pytest.fixture(scope="module")
def office(folder: Path) -> Iterator[str]:
    """The address of its app."""
    with served(folder) as address:
        yield address


@pytest.fixture
def device(browser: Any) -> Iterator[Any]:
    """A telephone; scripts that fail on it fail the test."""
    context = browser.new_context(viewport=PHONE, accept_downloads=True, reduced_motion="reduce")
    context.set_default_timeout(1e3 * PATIENCE)
    told: list[str] = []
    context.on("weberror", lambda one: told.append(str(one.error)))
    yield context
    context.close()
    assert told == []


def signed_in(device: Any, office: str) -> Any:
    """Return a page of somebody who has signed in."""
    page = device.new_page()
    page.goto(f"{office}/sign-in?to=/stations")
    page.fill("input[name=name]", NAME)
    page.fill("input[name=password]", WORDS)
    page.click("main form button")
    page.wait_for_url("**/stations")
    return page


def waits_for(page: Any, words: str) -> None:
    try:
        until(page, f"document.body.innerText.includes({json.dumps(words)})", 40)
    except AssertionError:
        raise AssertionError(f"{words!r} never came: {page.inner_text('body')}") from None


def press(page: Any, name: str) -> None:
    page.click(f'[data-key="{name}"]')


def on_to(page: Any, words: str) -> None:
    """Go on, page by page, until some words are there."""
    for _ in range(12):
        if words in page.inner_text("body"):
            return
        press(page, "right")
        page.wait_for_timeout(60)
    raise AssertionError(f"{words!r} never came: {page.inner_text('body')}")


def begins(page: Any, name: str = "Tam Oduya") -> None:
    """Go from the list of what is here to the first step, as somebody."""
    on_to(page, "Somebody else")
    page.get_by_text("Somebody else").click()
    page.fill("#words", name)
    press(page, "right")
    waits_for(page, "· step ")


def noted(page: Any, words: str) -> None:
    """Note something at the step that is shown."""
    press(page, "more")
    page.locator("button", has_text=re.compile("^Note")).first.click()
    page.fill("#words", words)
    press(page, "right")
    until(page, "document.querySelector('#words') === null", 40)
    waits_for(page, "· step ")


def lines_of(device: Any, office: str) -> list[dict[str, Any]]:
    found = device.request.get(f"{office}{HERE}/entries.jsonl")
    assert found.status == 200
    return [json.loads(line) for line in found.text().splitlines()[1:]]


def notes_of(device: Any, office: str) -> list[str]:
    return [str(one["payload"]["text"]) for one in lines_of(device, office) if one["kind"] == "note"]


def test_taken_along_it_works_without_a_signal_and_is_sent_photo_and_all(device: Any, office: str):
    page = signed_in(device, office)
    page.goto(f"{office}{HERE}")
    page.get_by_role("link", name="Take along").click()
    waits_for(page, "read back from this device just now")
    told = page.inner_text("main")
    for what in ("Plan", "Storage", "Script and pictures", "Without a signal", "Lettering", "Causes"):
        assert f"✓ {what}:" in told, told
    assert "Room:" in told
    assert page.url == f"{office}/field"

    device.set_offline(True)
    page.reload()
    waits_for(page, "taken along")
    page.locator(".choice button").first.click()
    waits_for(page, "read back from this device just now")
    begins(page)
    waits_for(page, "not sent")
    noted(page, "said without a signal")
    press(page, "more")
    page.locator("button", has_text=re.compile("^Photo")).first.click()
    kept = re.search(r"(\d+) entries kept", page.inner_text("header .net"))
    assert kept is not None
    page.set_input_files("input[type=file]", {"name": "cock.png", "mimeType": "image/png", "buffer": PHOTO})
    waits_for(page, f"{int(kept[1]) + 1} entries kept")  # a page closed before that was never told so
    page.close()
    page = device.new_page()
    page.goto(f"{office}/field")
    waits_for(page, "not sent")
    assert device.request.get(f"{office}{HERE}/photos/{sha256(PHOTO)}").status == 404

    assert "1 photo not sent" in page.inner_text("main")
    send = page.locator("button", has_text="Send what is not sent")
    send.click()
    waits_for(page, "No signal. Everything stays on this device.")
    device.set_offline(False)
    send.click()
    waits_for(page, "Everything is sent.")
    assert "not sent" not in page.inner_text("main")
    assert device.request.get(f"{office}{HERE}/photos/{sha256(PHOTO)}").status == 200
    page.locator(".choice button").first.click()
    waits_for(page, "· step ")
    waits_for(page, "Everything is sent.")
    assert "said without a signal" in notes_of(device, office)
    photo = device.request.get(f"{office}{HERE}/photos/{sha256(PHOTO)}")
    assert (photo.status, photo.body(), photo.headers["content-type"]) == (200, PHOTO, "image/png")
    shown = ""
    for _ in range(20):
        page.goto(f"{office}{HERE}")
        shown = page.inner_text("body")
        if "cock.png" in shown:
            break
        page.wait_for_timeout(500)
    assert "cock.png" in shown, shown
    assert "not here yet" not in shown


def test_whoever_is_signed_out_loses_nothing_is_told_and_goes_on_after_signing_in(device: Any, office: str):
    page = signed_in(device, office)
    page.goto(f"{office}/field#take={KEY}/{RUN}")
    waits_for(page, "What is on this device")
    begins(page, "Isla Brandt")
    waits_for(page, "Everything is sent.")
    device.clear_cookies()
    noted(page, "said while signed out")
    waits_for(page, "Sign in again, nothing is lost.")
    assert " not sent" in page.inner_text("header")

    page.reload()
    waits_for(page, " not sent")
    page.locator(".choice button").first.click()
    waits_for(page, "Sign in again, nothing is lost.")
    press(page, "more")
    page.get_by_text("Sign in", exact=True).click()
    page.wait_for_url("**/sign-in?to=*")
    page.fill("input[name=name]", NAME)
    page.fill("input[name=password]", WORDS)
    page.click("main form button")
    page.wait_for_url("**/field")
    waits_for(page, " not sent")
    page.locator(".choice button").first.click()
    waits_for(page, "Everything is sent.")
    assert "said while signed out" in notes_of(device, office)


def on_to_key(page: Any, words: str) -> None:
    """Press the key of those words, on whichever page of the screen it stands."""
    for _ in range(6):
        found = page.locator("main .choice button", has_text=re.compile(f"^{words}"))
        if found.count() > 0:
            found.first.click()
            return
        press(page, "right")
    raise AssertionError(f"no key {words!r}: {page.inner_text('main')}")


def test_nobody_signed_in_is_led_to_it_and_comes_back_to_take_the_visit_along(device: Any, office: str):
    page = device.new_page()
    page.goto(f"{office}/field#take={KEY}/{RUN}")
    waits_for(page, "Nobody is signed in here.")
    press(page, "right")
    page.fill("input[name=name]", NAME)
    page.fill("input[name=password]", WORDS)
    page.click("main form button")
    waits_for(page, "✓ Plan:")


def test_a_second_plan_of_a_visit_and_a_visit_that_is_not_there_are_not_taken(device: Any, office: str):
    page = signed_in(device, office)
    page.goto(f"{office}/field#take={KEY}/{RUN}")
    waits_for(page, "✓ Plan:")

    def other(route: Any) -> None:
        answer = route.fetch()
        told = answer.json()
        told["plan"]["sha256"] = "0" * 64
        route.fulfill(response=answer, body=json.dumps(told))

    page.route("**/field-pack*", other)
    page.goto(f"{office}/field#take={KEY}/{RUN}")
    waits_for(page, "This device holds the visit with another plan.")
    page.unroute("**/field-pack*")
    page.goto(f"{office}/field#take={KEY}/visit-9")
    waits_for(page, "The office has no such visit.")


def saved(page: Any) -> tuple[str, list[str]]:
    """Save the file in one touch, say that it is there; return where it lies and its lines."""
    with page.expect_download() as found:
        press(page, "save")
    waits_for(page, "Is the file there?")
    press(page, "right")
    until(page, "!document.querySelector('header').innerText.includes('not saved')")
    path = str(found.value.path())
    return path, Path(path).read_text("utf-8").splitlines()


@pytest.mark.parametrize("storage", ["allowed", "refused"])
def test_the_job_file_runs_without_a_server_and_what_it_saves_is_taken_in(
    device: Any, office: str, tmp_path: Path, storage: str
):
    page = signed_in(device, office)
    page.goto(f"{office}{HERE}")
    with page.expect_download() as found:
        page.get_by_role("link", name="Job file").click()
    assert found.value.suggested_filename.endswith(", first visit, visit-1.html"), found.value
    job = tmp_path / found.value.suggested_filename
    found.value.save_as(job)

    device.set_offline(True)
    visit = device.new_page()
    visit.add_init_script("delete globalThis.showSaveFilePicker")  # no dialog of the browser
    if storage == "refused":
        visit.add_init_script(REFUSED)
    visit.goto(job.as_uri())
    waits_for(visit, "What is on this device")
    waits_for(visit, "✓ Page: script and pictures are in this file.")
    first = "✓ Storage: a trial entry" if storage == "allowed" else "✗ Storage: This browser keeps nothing."
    assert first in visit.inner_text("main")
    begins(visit, f"Ada Fen {storage}")
    waits_for(visit, "1 entry not saved: save the file")
    assert any(f"Ada Fen {storage}" in line for line in saved(visit)[1])
    noted(visit, f"said in a file, {storage}")
    waits_for(visit, "1 entry not saved: save the file")
    press(visit, "more")
    visit.locator("button", has_text=re.compile("^Photo")).first.click()
    mine = picture(storage, 200, 100)
    visit.set_input_files("input[type=file]", {"name": "lid.png", "mimeType": "image/png", "buffer": mine})
    waits_for(visit, "2 entries, 1 photo not saved: save the file")
    path, lines = saved(visit)
    assert lines[-1].startswith('{"photo":')
    if storage == "allowed":
        visit.reload()
        waits_for(visit, "· step ")
        assert "not saved" not in visit.inner_text("header")
    visit.close()

    device.set_offline(False)
    changed = json.loads(lines[2]) | {"node": "", "kind": "note", "payload": {"text": "another"}}
    Path(path).write_text("\n".join([*lines, json.dumps(changed)]) + "\n", "utf-8")
    page.click("#take summary")
    page.set_input_files("input[name=entries]", path)
    with page.expect_navigation():
        page.get_by_role("button", name="Take them in").click()
    waits_for(page, "is here with another content; what came first stands")
    assert f"said in a file, {storage}" in notes_of(device, office)
    assert device.request.get(f"{office}{HERE}/photos/{sha256(mine)}").body() == mine


def test_the_register_of_all_that_is_whole(office: str, folder: Path):
    register = open_register(folder)
    with register.reading() as connection:
        found = verify(connection)
    register.close()
    assert (found.findings, found.links > COUNT) == ([], True)
