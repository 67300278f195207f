from __future__ import annotations

import json
from functools import cache

import pytest
import typst

from steadyhead.drawings.text_width import SANS, SERIF, pieces

pytestmark = pytest.mark.by_turns(2)

TEXTS = (
    "5.94 fault and normal limit: old spur, Tannery Row",
    "Inlet isolating valve",
    "0.36 bar lost, k 7.4·10⁻⁴",
    "TRIPPED, shut",
    "WARM WATER MAIN 1 200 mm",
    "12345.67890",
    "illicit jill, fit till I fall",
    "screw 7.35 turns ± 0.10",
)


@cache
def _measured(text: str, weight: int) -> float:
    """Return the width of a text in the face that the PDF engine carries, at 100 px."""
    source = (
        "#context [#metadata(measure(text("
        f'font: "Libertinus Serif", weight: {weight}, size: 100pt, {json.dumps(text, ensure_ascii=False)}'
        ")).width.pt())<w>]"
    ).encode()
    found = json.loads(typst.query(source, "<w>", field="value", one=True, ignore_system_fonts=True))
    return float(found)


@pytest.mark.source(kind="independent", ref="text measured by the PDF engine in its own face")
@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize(("weight", "strong"), [(400, False), (600, True)])
def test_the_estimate_for_paper_is_a_little_above_the_measured_width(text, weight, strong):
    estimate = SERIF.width(text, 100.0, strong=strong)
    assert _measured(text, weight) * 0.99 <= estimate <= _measured(text, weight) * 1.16


@pytest.mark.source(
    kind="measured",
    ref="advance widths of a wide condensed sans: 0.572 em a figure, 0.286 em a space; read from the face",
)
def test_the_estimate_for_the_screen_keeps_a_tenth_and_more_over_the_widest_face():
    assert SANS.width("10.92", 100.0) >= 1.1 * 100.0 * (4 * 0.572 + 0.286)
    assert SANS.width("34 of 34", 100.0) >= 1.1 * 100.0 * (4 * 0.572 + 2 * 0.286 + 0.551 + 0.317)


def test_strong_letters_are_wider():
    assert all(
        face.width(text, 14, strong=True) > face.width(text, 14) for face in (SANS, SERIF) for text in TEXTS
    )


def test_a_letter_the_table_does_not_know_counts_as_wide():
    assert SERIF.width("中", 10.0) >= 10.0


def test_lines_hold_every_word_and_keep_to_their_room():
    for room in (60.0, 90.0, 200.0):
        lines = SANS.wrap(TEXTS[0], 14.0, room)
        assert " ".join(lines).split() == TEXTS[0].split()
        assert all(SANS.width(line, 14.0) <= room or len(pieces(line)) == 1 for line in lines)


def test_a_figure_stays_with_its_unit():
    assert SANS.wrap("main reducer at 5.0 L/s", 14.0, 10.0) == ("main", "reducer", "at", "5.0 L/s")
