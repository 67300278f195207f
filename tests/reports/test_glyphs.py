from __future__ import annotations

import json
import unicodedata

import pytest
import typst
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.reports.glyphs import BREAK_HERE, LONGEST_WORD, covered, is_covered, printable
from steadyhead.reports.paper import STANDARDS

SAMPLE = b"""
#let d = json(bytes(sys.inputs.data))
#set document(title: "glyphs", date: datetime(year: 2026, month: 1, day: 1))
#set text(font: ("Libertinus Serif", "DejaVu Sans Mono"), lang: "en", size: 8pt)
#d.text
#text(weight: 600, d.text)
#text(weight: 700, d.text)
#for s in d.svg { image(bytes(s), format: "svg", alt: d.text.slice(0, 5)) }
"""
EVERY = "".join(chr(code) for code in range(0x20, 0x11000) if is_covered(chr(code)))


def _compile(text: str) -> bytes:
    lines = [text[start : start + 60] for start in range(0, len(text), 60)]
    svg = [
        '<svg xmlns="http://www.w3.org/2000/svg" width="500" height="20">'
        f'<text x="0" y="15" font-size="8" font-family="Libertinus Serif" font-weight="{weight}">'
        f"{_escaped(line)}</text></svg>"
        for line in lines
        for weight in (400, 600)
    ]
    inputs = {"data": json.dumps({"text": text, "svg": svg})}
    return typst.compile(SAMPLE, sys_inputs=inputs, pdf_standards=list(STANDARDS), ignore_system_fonts=True)


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;")


def test_every_character_let_through_is_shown_by_the_shipped_faces_in_text_and_pictures():
    spaced = " ".join(EVERY[start : start + 20] for start in range(0, len(EVERY), 20))
    assert _compile(spaced).startswith(b"%PDF")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("中", "[U+4E2D]"),
        ("\x07", "[U+0007]"),
        ("\ue000", "[U+E000]"),
        ("\u202e", "[U+202E]"),
        ("e\ufe0f", "e[U+FE0F]"),
        ("👩\u200d", "[U+1F469][U+200D]"),
        ("\ud800", "[U+D800]"),
        ("q\u0303", "q[U+0303]"),
    ],
)
def test_a_character_without_a_glyph_is_printed_as_its_code_point(text, shown):
    assert covered(text) == shown


def test_accents_are_composed_before_they_are_looked_up():
    assert covered("Gru\u0308nau") == "Grünau"


def test_line_ends_tabs_and_odd_spaces_become_plain_spaces_and_narrow_ones_stay_together():
    assert covered("a\nb\tc\u3000d") == "a b c d"
    assert covered("1\u2009450") == "1\u00a0450"


def test_an_over_long_word_may_be_broken_and_loses_nothing():
    word = "W" * 300
    assert printable(word).replace(BREAK_HERE, "") == word
    assert all(len(piece) <= LONGEST_WORD for piece in printable(word).split(BREAK_HERE))


def test_ordinary_words_stay_as_they_are():
    text = "Schieberschacht 4.2 bar ± 0.05, σ₁ ≥ 1.8 → “yes”; Łódź, Ελλάδα, Київ"
    assert printable(text) == text


@given(st.text(st.characters(codec=None), max_size=40))
def test_whatever_is_typed_only_covered_characters_reach_a_paper(text):
    shown = printable(text)
    assert all(is_covered(c) or c in (BREAK_HERE, "\u00a0") for c in shown)


def test_no_control_or_lone_accent_is_let_through():
    assert not [c for c in EVERY if unicodedata.category(c)[0] in "CM"]
