"""A station from its first line to the archive: by mouse, by keyboard alone, without script."""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from steadyhead.station.examples import read
from tests.web.browser.hands import Keyboard, Mouse

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(3)]
TYPICAL = '[id="v-supply.typical"]'


@dataclass(frozen=True)
class Way:
    """A person's way: which hands, whether the browser runs script, which example the station is like."""

    hands: type[Mouse]
    has_script: bool
    example: str
    key: str
    name: str


WAYS = (
    Way(Mouse, True, "quillenby-row", "QUR-02", "Quillenby Row"),
    Way(Keyboard, True, "dunmarrow-bottom", "DMB-01", "Dunmarrow Bottom"),
    Way(Mouse, False, "orrowby-mill", "ORM-1", "Orrowby Mill"),
)


@pytest.mark.parametrize("way", WAYS, ids=("by mouse", "by keyboard", "without script"))
def test_create_refuse_edit_release_compare_export(opens, way: Way, tmp_path: Path):
    page = opens("/stations", misses=(422,), java_script_enabled=way.has_script)
    person = way.hands(page)
    text = read(way.example).decode()
    _create(page, person, text, way)
    was, now = _edit(page, person, way)
    _release(page, person)
    _compare(page, person, was, now)
    _export(page, person, way, text, was, now, tmp_path)


def _create(page: Any, person: Mouse, text: str, way: Way) -> None:
    person.follow("Add a station")
    spoilt = text.replace("°C", "ducks", 1)
    assert spoilt != text
    person.write("#text", spoilt)
    person.press("Add this station")
    page.wait_for_selector("#problems-head")
    assert "ducks" in page.inner_text(".file-problems .problem >> nth=0")
    assert page.input_value("#text") == spoilt
    person.write("#text", text)
    person.press("Add this station")
    page.wait_for_url(f"**/stations/{way.key}")
    assert page.inner_text("h1") == way.name


def _edit(page: Any, person: Mouse, way: Way) -> tuple[str, str]:
    """Change the usual inlet pressure, wrongly first; return how it was and how it is."""
    person.follow("Change the file")
    person.unfold("#g-supply")
    was = page.input_value(TYPICAL)
    number, _, unit = was.partition(" ")
    now = f"{float(number) + 0.1:.1f} {unit}"
    person.write(TYPICAL, f"{number} ducks")
    person.press("Check")
    problem = page.locator('[data-at="supply.typical"] .problem')
    problem.first.wait_for()
    assert "ducks" in problem.first.inner_text()
    assert page.input_value(TYPICAL) == f"{number} ducks"
    if not way.has_script:
        assert page.get_attribute("#g-supply", "open") is not None
    person.write(TYPICAL, now)
    person.write("#why", "read again at the chamber")
    person.press("Save as revision 2")
    page.wait_for_url("**/fields?saved=2")
    assert "Saved as revision 2." in page.inner_text("#said")
    return was, now


def _release(page: Any, person: Mouse) -> None:
    person.go('.life a[href$="/design"]')
    page.wait_for_url("**/design")
    person.write("#by", "Ilse Marrow")
    if page.get_by_label("Release it without the proof").count():
        person.tick("Release it without the proof")
    person.press("Release revision 2")
    page.wait_for_selector("text=Revision 2 is released as r1")


def _compare(page: Any, person: Mouse, was: str, now: str) -> None:
    person.follow("Revisions")
    page.wait_for_url("**/revisions")
    person.press("Put both side by side")
    page.wait_for_selector("#values-head")
    assert {"one=1", "other=2"} <= set(page.url.partition("?")[2].split("&"))
    row = page.locator("tr", has=page.get_by_role("rowheader", name="typical"))
    told = row.first.inner_text()
    assert was in told, told
    assert now in told, told


def _export(page: Any, person: Mouse, way: Way, text: str, was: str, now: str, folder: Path) -> None:
    person.go('.where nav a[href="/stations"]')
    person.follow("Everything kept, as an archive")
    page.wait_for_url("**/archive")
    with page.expect_download() as coming:
        person.follow("Write an archive")
    kept = folder / "archive.zip"
    coming.value.save_as(kept)
    with zipfile.ZipFile(io.BytesIO(kept.read_bytes())) as archive:
        inside = {name: archive.read(name) for name in archive.namelist()}
    assert text.encode() in inside.values()
    assert any(f"typical: {now}".encode() in one and way.key.encode() in one for one in inside.values())
