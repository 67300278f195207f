"""The drawings in a real browser with whatever faces this machine has."""

from __future__ import annotations

import json
import re
import shutil
import subprocess

import pytest

from steadyhead.drawings import draw_ladder, draw_strip, screen
from steadyhead.drawings.tokens import LIGHTS
from tests.conftest import BROWSERS
from tests.drawings.png import colours
from tests.drawings.samples import LADDERS, STRIPS, UPSTREAM
from tests.drawings.stream_samples import STREAM_LADDERS, STREAMS

pytestmark = pytest.mark.by_turns(2)

FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--hide-scrollbars",
)  # fmt: skip
LOOK = """
const found = []
for (const svg of document.querySelectorAll("svg")) {
  const size = svg.viewBox.baseVal
  const boxes = [...svg.querySelectorAll("text")].map(text => [text.textContent, text.getBBox()])
  boxes.forEach(([one, a], i) => {
    if (a.x < 0 || a.y < 0 || a.x + a.width > size.width || a.y + a.height > size.height)
      found.push([svg.dataset.name, one, "is cut off"])
    boxes.slice(i + 1).forEach(([other, b]) => {
      const wide = Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x)
      const high = Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y)
      if (wide > 1 && high > 0.3 * Math.min(a.height, b.height)) found.push([svg.dataset.name, one, other])
    })
  })
}
document.title = JSON.stringify(found)
"""


def browse(tmp_path, page: str, *words: str) -> subprocess.CompletedProcess[str]:
    file = tmp_path / "page.html"
    file.write_text(page, encoding="utf-8")
    program = next(path for path in map(shutil.which, BROWSERS) if path)
    command = [program, *FLAGS, f"--user-data-dir={tmp_path / 'profile'}", *words, file.as_uri()]
    return subprocess.run(command, capture_output=True, text=True, check=True, timeout=120)


def page_of(pictures: dict[str, str], script: str = "") -> str:
    named = (svg.replace("<svg ", f'<svg data-name="{name}" ', 1) for name, svg in pictures.items())
    head = '<!doctype html><meta charset="utf-8"><body style="margin:0">'
    return f"{head}{''.join(named)}<script>{script}</script>"


@pytest.mark.browser
@pytest.mark.parametrize("width", [390, 768, 1360])
def test_no_text_lies_on_another_or_is_cut_off_in_a_browser(tmp_path, width):
    pictures = {name: draw_strip(each, screen(embed=True), width) for name, each in STRIPS.items()}
    pictures |= {name: draw_strip(each, screen(embed=True), width) for name, each in STREAMS.items()}
    ladders = {**LADDERS, **STREAM_LADDERS}
    pictures |= {name: draw_ladder(each, screen(embed=True), width) for name, each in ladders.items()}
    done = browse(tmp_path, page_of(pictures, LOOK), "--dump-dom")
    title = re.search(r"<title>(\[.*?\])</title>", done.stdout)
    assert title is not None
    assert json.loads(title.group(1).replace("&amp;", "&")) == []


@pytest.mark.browser
@pytest.mark.parametrize("light", LIGHTS)
def test_every_light_shows_its_colours_in_a_browser(tmp_path, light):
    page = page_of({"strip": draw_strip(UPSTREAM, screen(embed=True, light=light), 1360)})
    picture = tmp_path / "strip.png"
    browse(tmp_path, page, "--window-size=1360,640", f"--screenshot={picture}")
    found = colours(picture.read_bytes())
    for role in ("paper", "ink", "grade", "halt", "water", "heed"):
        colour = LIGHTS[light][role]
        assert found[int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)] > 20, role
