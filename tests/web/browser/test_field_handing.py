"""Handing over in a real browser: a camera reads the code, the page goes back, papers are kept."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import zxingcpp

from steadyhead.services.field.statements import check, entries_within, read_statement
from steadyhead.services.plan_files import read_plan_file
from steadyhead.services.visits_kept.runs import read_lines
from steadyhead.station.code import code_words, station_code
from tests.procedure.walking import Device
from tests.web.browser.conftest import until
from tests.web.browser.field_hands import (
    OVER,
    SIZES,
    SMALL,
    Opens,
    opening_field,
    press,
    waits_for,
    walked,
)
from tests.web.field.field_js import RUN, pack_of, plan_of

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]
GRAY = """async (data) => {
  const image = new Image()
  image.src = "data:image/png;base64," + data
  await image.decode()
  const canvas = Object.assign(document.createElement("canvas"), { width: image.width, height: image.height })
  const pen = canvas.getContext("2d")
  pen.drawImage(image, 0, 0)
  const dots = pen.getImageData(0, 0, image.width, image.height).data
  return { wide: image.width, dots: Array.from({ length: dots.length / 4 }, (_, at) => dots[4 * at]) }
}"""
ISSUED = {
    "format": "steadyhead/issued/1", "id": "r1", "number": "QHL-01-2027-04-14", "revision": 1,
    "standing": "provisional", "day": "2027-04-14", "entries": 400, "link": 84, "head": "5e21c0ff" * 8,
    "sha256": "0" * 64, "finger": "c0ff ee21 aa07 5b11", "pdf": "/stations/Q/records/r1?as=file",
    "name": "QHL-01-2027-04-14.pdf", "is_new": True,
    "prove": ["steadyhead verify QHL-01-2027-04-14.pdf proves page, record, plan and entries.",
              "Compare the fingerprint c0ff ee21 aa07 5b11 with the owner by telephone, once.",
              "The register's own page of the certificate proves the same, and its link of the chain."],
}  # fmt: skip
AGAINST = {
    "code": "RUN-70", "severity": "stop", "subject": "sign", "title": "Not signed", "why": "",
    "statement": "The visit is not signed.", "cure": "Sign it.",
}  # fmt: skip


@pytest.fixture(scope="module")
def opens(browser: Any) -> Iterator[Opens]:
    """What opens a visit on a device."""
    with opening_field(browser) as opened:
        yield opened


def signed() -> list[Any]:
    entries = list(walked())
    device = Device("tab-1", RUN, start=entries[-1].t_mono)
    device.number = entries[-1].device_seq
    return [*entries, device.make("sign", {"asks": "provisional"}, "K1")]


def read_by_camera(page: Any) -> str:
    """Return what a reader of codes finds on the screen as it is shown."""
    shown = base64.b64encode(page.screenshot()).decode()
    gray = page.evaluate(GRAY, shown)
    picture = np.array(gray["dots"], dtype=np.uint8).reshape(-1, gray["wide"])
    (found,) = zxingcpp.read_barcodes(np.ascontiguousarray(picture))
    return str(found.text)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("light", ["sun", "lamp"])
def test_a_camera_reads_the_statement_off_the_screen_in_every_light(
    opens: Opens,
    size: tuple[int, int],
    light: str,
):
    page = opens("K1", signed(), size)
    page.evaluate(f"desk.light = '{light}'; desk.lit(); desk.show('statement')")
    waits_for(page, "It is no certificate.")
    assert page.evaluate(OVER) == []
    assert page.evaluate(SMALL, 116) == []
    told = read_statement(read_by_camera(page))
    found = page.evaluate(f"desk.kept.entries('{RUN}').then((all) => all.map((one) => one.line))")
    ledger = [made for _, made in read_lines("\n".join(found).encode()).lines]
    from steadyhead.procedure.ledger import gathered

    own = read_plan_file(pack_of(plan_of("quernhollow-lane"), said=False)["plan"]["text"].encode())
    found_so = check(told, "QHL-01", RUN, gathered(ledger), own, ("Quernhollow Lane",))
    # The entries are of a day to come, so that the hour of saying lies before them; nothing else differs.
    assert [one for one in found_so.differs if not one.startswith("Said: ")] == []
    assert told.lines["signed"].startswith("provisional")
    press(page, "choice Read it here")
    assert "Judged on the device" in page.inner_text("body") or page.evaluate("desk.page") == 0
    assert page.evaluate(OVER) == []


def test_the_page_handed_over_is_saved_in_one_touch_and_holds_every_entry(opens: Opens):
    page = opens("K1", signed())
    page.evaluate("desk.show('statement')")
    with page.expect_download() as found:
        press(page, "right")
    assert found.value.suggested_filename.endswith("-hand-over.html")
    content = Path(found.value.path()).read_bytes()
    kept = page.evaluate(f"desk.kept.file('{RUN}').then((file) => file.text)")
    assert entries_within(content).decode() == kept
    assert len(read_lines(content).lines) == len(kept.splitlines()) - 1


def test_the_certificate_is_asked_at_sync_shown_and_its_paper_kept(opens: Opens):
    page = opens("K1", signed())
    page.evaluate("desk.show('certificate')")
    waits_for(page, "This page has no server.")
    page.evaluate(
        """() => {
          desk.address = () => "/stations/Q/runs/run-1/sync"
          desk.counts = { ...desk.counts, unsent: 3 }
          desk.show("certificate")
        }"""
    )
    waits_for(page, "Not everything is sent yet.")
    press(page, "right")
    waits_for(page, "Asked for. It is issued at sync.")
    refused = {"read": True, "told": {"state": "refused", "words": "None yet.", "against": [AGAINST]}}
    page.evaluate("more => desk.show('certificate', more)", refused)
    waits_for(page, "The visit is not signed. Sign it.")
    assert page.evaluate(OVER) == []

    def answer(route: Any) -> None:
        if "as=file" in route.request.url:
            route.fulfill(body=b"%PDF-1.7 short", content_type="application/pdf")
        else:
            route.fulfill(body=json.dumps(ISSUED), content_type="application/json")

    page.route("**/stations/**", answer)
    page.evaluate("desk.counts = { ...desk.counts, unsent: 0 }; desk.granted(desk)")
    waits_for(page, "QHL-01-2027-04-14, revision 1, provisional")
    assert "5e21c0ff" * 8 in page.inner_text("main")
    until(page, "document.body.innerText.includes('The paper is on this device.')")
    assert page.evaluate(OVER) == []
    with page.expect_download() as found:
        press(page, "choice Save the paper")
    assert Path(found.value.path()).read_bytes() == b"%PDF-1.7 short"
    waits_for(page, "The paper stays on this device either way.")
    press(page, "choice It is not there")
    waits_for(page, "The paper was not written. It stays on this device. Save it again")
    picked = """() => { globalThis.showSaveFilePicker = async () => ({
      createWritable: async () => { throw new DOMException("no", "NotAllowedError") } }) }"""
    page.evaluate(picked)
    page.evaluate("desk.problem = []; desk.draw()")
    press(page, "choice Save the paper")
    waits_for(page, "The paper was not written. It stays on this device. Save it again")
    assert "Everything counts as not saved" not in page.inner_text("body")
    assert page.evaluate(OVER) == []
    assert page.evaluate(f"desk.kept.state('wish {RUN}')") is None


@pytest.mark.parametrize("size", SIZES)
def test_the_code_of_the_station_is_shown_to_be_compared_and_one_of_another_is_told(
    opens: Opens, size: tuple[int, int]
):
    page = opens(size=size)
    page.evaluate("desk.show('where')")
    press(page, "choice The code")
    assert read_by_camera(page) == station_code("QHL-01", "Quernhollow Lane")
    assert code_words("QHL-01", "Quernhollow Lane") in page.inner_text("main")
    assert page.evaluate(OVER) == []
    assert page.evaluate(SMALL, 116) == []
    other = station_code("QHR-02", "Quernhollow Rise") + "\nfile 5e21c0ffee5e"
    told = page.evaluate(
        """async ([read, code]) => {
          const { compared } = await import("/field/screens/codes.js")
          return [compared(read, code), compared(`${code}\\nfile 12`, code), compared("https://x", code)]
        }""",
        [other, station_code("QHL-01", "Quernhollow Lane")],
    )
    assert told == ["other", "same", ""]
    page.evaluate("more => desk.show('code', more)", {"read": other, "found": "other"})
    assert "another station's code: QHR-02, Quernhollow Rise. Do not go down." in page.inner_text("main")
