"""The drawings through the PDF engine, in the strictest mode that the papers use."""

from __future__ import annotations

import json
import re
from io import BytesIO

import pytest
import typst
from pypdf import PdfReader

from steadyhead.drawings import (
    MARKS,
    PAPER_WIDTH,
    alt_text,
    draw_ladder,
    draw_mark,
    draw_strip,
    one_colour,
    paper,
)
from steadyhead.drawings.ladder import compose_ladder
from steadyhead.drawings.strip import compose_strip
from steadyhead.records.pictures import LadderPicture, StripPicture
from tests.drawings.png import colours
from tests.drawings.samples import LADDERS, STRIPS
from tests.drawings.stream_samples import STREAM_LADDERS, STREAMS

pytestmark = pytest.mark.by_turns(2)

PICTURES: dict[str, StripPicture | LadderPicture] = {**STRIPS, **LADDERS, **STREAMS, **STREAM_LADDERS}
SHEET = b"""
#let d = json(bytes(sys.inputs.data))
#set document(title: "drawings", date: datetime(year: 2027, month: 1, day: 1))
#set text(font: "Libertinus Serif", lang: "en")
#set page(width: 800pt, height: auto, margin: 20pt)
#for it in d { image(bytes(it.svg), format: "svg", alt: it.alt, width: 720pt); pagebreak(weak: true) }
"""


def drawn(name, palette):
    picture = PICTURES[name]
    if isinstance(picture, StripPicture):
        return draw_strip(picture, palette, PAPER_WIDTH)
    return draw_ladder(picture, palette, PAPER_WIDTH)


def composed(name, palette):
    picture = PICTURES[name]
    if isinstance(picture, StripPicture):
        return compose_strip(picture, palette, PAPER_WIDTH)
    return compose_ladder(picture, palette, PAPER_WIDTH)


def sheets(names, palette):
    return json.dumps([{"svg": drawn(name, palette), "alt": alt_text(PICTURES[name])} for name in names])


def test_no_glyph_is_missing_and_every_word_stays_text():
    data = typst.compile(
        SHEET,
        sys_inputs={"data": sheets(PICTURES, paper())},
        pdf_standards=["a-3a", "ua-1"],
        ignore_system_fonts=True,
    )
    found = "".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages)
    letters = re.sub(r"\s", "", found)
    for name in PICTURES:
        for box in composed(name, paper()).boxes:
            assert re.sub(r"\s", "", box.text) in letters, (name, box.text)


@pytest.mark.parametrize("name", ["upstream", "tripped", "worked example"])
def test_paper_prints_in_ink_and_a_few_greys(name):
    found = _rendered(name, paper())
    assert all(r == g == b for r, g, b in found)
    assert found[0, 0, 0] > 500
    assert len({grey for grey, count in found.items() if count > 400}) >= 3


@pytest.mark.parametrize("name", ["upstream", "tripped", "one tripped", "worked example"])
def test_one_colour_prints_in_black_and_white_but_for_smoothed_edges(name):
    found = _rendered(name, one_colour())
    assert all(r == g == b for r, g, b in found)
    pure = found[0, 0, 0] + found[255, 255, 255]
    assert pure > 0.93 * found.total()


def _rendered(name, palette):
    data = typst.compile(
        SHEET, sys_inputs={"data": sheets([name], palette)}, format="png", ppi=72, ignore_system_fonts=True
    )
    return colours(data[0] if isinstance(data, list) else data)


def test_state_marks_print_too():
    marks = json.dumps([{"svg": draw_mark(mark, mark, paper()), "alt": mark} for mark in MARKS])
    data = typst.compile(
        SHEET, sys_inputs={"data": marks}, pdf_standards=["a-3a", "ua-1"], ignore_system_fonts=True
    )
    assert len(PdfReader(BytesIO(data)).pages) == len(MARKS)
